//! YAML to formula: reads a formula file and checks all of it before any number is worked.
//!
//! The form stands at the head of `formula`. Faults are collected: one reading reports every unknown key, name that
//! isn't known and pair of units that don't go together, each at its place in the file. Examples are read as text
//! and run elsewhere.

use super::dimension::Dimension;
use super::expression::Expression;
use super::figure::Style;
use super::formula::{Example, Formula, Input, Limit, Output, Step};
use super::functions;
use super::keys;
use super::load_parts::{Part, load_tables, number, range, sentence};
use super::parser::{Names, parse_condition, parse_expression};
use super::program::Program;
use super::term::{BALANCE_PLACES, Scope, resolve, resolve_condition};
use super::units::{KINDS, Kind, Unit, phrase};
use crate::fault::{Fault, id};
use crate::text::{Mapped, Span, Spanned};
use crate::yaml::{self, Fields, Node};

/// Reads a formula from the text of its file.
///
/// # Errors
/// All that is wrong with it, in the order of reading.
pub fn load(text: &Mapped) -> Result<Formula, Vec<Fault>> {
    let node = yaml::parse(text)?;
    let mut faults = Vec::new();
    let formula = load_node(&node, text.text(), &mut faults);
    match formula {
        Some(formula) if faults.is_empty() => Ok(formula),
        _ => {
            faults.sort_by_key(|fault| fault.span);
            Err(faults)
        }
    }
}

fn load_node(node: &Node, text: &str, faults: &mut Vec<Fault>) -> Option<Formula> {
    let fields = Fields::of(node, &keys::FORMULA, faults)?;
    let mut loader = Loader { faults, scope: Scope::default(), names: Vec::new(), failed: Vec::new(), more: false };
    let inputs = loader.inputs(&fields);
    let tables = load_tables(&fields, loader.faults);
    for table in &tables {
        loader.scope.add_table(table.clone());
    }
    let drafts = loader.steps(&fields, inputs.len());
    let outputs = loader.outputs(&fields, &drafts);
    let limits = loader.limits(&fields, inputs.len(), &drafts);
    let steps = name_symbols(&drafts, &outputs);
    let Loader { faults, scope, .. } = loader;
    Some(Formula {
        id: sentence(&fields, "id", faults)?,
        title: sentence(&fields, "title", faults)?,
        topic: sentence(&fields, "topic", faults)?,
        question: sentence(&fields, "question", faults)?,
        valid: sentence(&fields, "valid", faults)?,
        source: sentence(&fields, "source", faults)?,
        cautions: fields.list("cautions", faults).into_iter().filter_map(|node| caution(node, faults)).collect(),
        examples: load_examples(&fields, faults),
        replaces: load_replaces(&fields, faults),
        version: blake3::hash(text.as_bytes()).to_hex()[..12].to_owned(),
        program: Program::new(inputs.len(), drafts.into_iter().map(|draft| draft.term).collect()),
        scope,
        inputs,
        outputs,
        steps,
        tables,
        limits,
    })
}

struct Loader<'a> {
    faults: &'a mut Vec<Fault>,
    scope: Scope,
    names: Vec<String>,
    /// Inputs and steps with a fault of their own: what uses them is left alone.
    failed: Vec<String>,
    /// True where a step could not be read, so that its name is not known.
    more: bool,
}

/// A step with what it measures, before it is known which output it is.
struct Draft {
    name: Spanned<String>,
    symbol: Option<String>,
    expression: Expression,
    term: super::term::Term,
    dimension: Dimension,
}

impl Loader<'_> {
    fn inputs(&mut self, fields: &Fields<'_>) -> Vec<Input> {
        let nodes = fields.list("inputs", self.faults);
        nodes.into_iter().filter_map(|node| self.input(node)).collect()
    }

    fn input(&mut self, node: &Node) -> Option<Input> {
        let fields = Fields::of(node, &keys::INPUT, self.faults)?;
        let Some(part) = Part::read(&fields, self.faults) else {
            self.failed.extend(fields.get("name").and_then(Node::text).map(|name| name.text().to_owned()));
            return None;
        };
        self.claim_name(&part.name);
        self.scope.add(part.name.value.clone(), part.kind.dimension);
        let Some((low, high)) = range(&fields, &part.name.value, self.faults) else {
            self.failed.push(part.name.value);
            return None;
        };
        let default = fields.text("default", self.faults).cloned();
        let about = sentence(&fields, "about", self.faults)?;
        Some(Input {
            name: part.name.value,
            symbol: part.symbol,
            kind: part.kind,
            unit: part.unit,
            low,
            high,
            default,
            about,
        })
    }

    fn steps(&mut self, fields: &Fields<'_>, inputs: usize) -> Vec<Draft> {
        let mut drafts = Vec::new();
        fields.need("steps", self.faults);
        for node in fields.list("steps", self.faults) {
            if inputs + drafts.len() >= BALANCE_PLACES {
                self.faults.push(
                    Fault::new(id::TOO_MANY_STEPS, node.span, "a formula has too many inputs and steps")
                        .allowed(format!("{BALANCE_PLACES} in all"))
                        .cure("split it into two formulas"),
                );
                self.more = true;
                break;
            }
            let Some((name, symbol, text)) = self.step_parts(node) else {
                self.more = true;
                continue;
            };
            match parse_expression(&text, Names::OfSteps).and_then(|tree| Ok((resolve(&tree, &mut self.scope)?, tree)))
            {
                Ok(((term, dimension), expression)) => {
                    self.claim_name(&name);
                    self.scope.add(name.value.clone(), dimension);
                    drafts.push(Draft { name, symbol, expression, term, dimension });
                }
                Err(fault) => {
                    let follows = fault.id == id::UNKNOWN_NAME
                        && fault.found.as_ref().is_some_and(|name| self.failed.contains(name));
                    if !follows {
                        self.faults.push(fault);
                    }
                    self.failed.push(name.value);
                }
            }
        }
        drafts
    }

    /// Name, symbol and expression of a step in either form.
    fn step_parts(&mut self, node: &Node) -> Option<(Spanned<String>, Option<String>, Mapped)> {
        if let Some(text) = node.text() {
            let Some((left, _)) = text.text().split_once('=') else {
                self.faults.push(
                    Fault::new(id::BAD_STEP, node.span, "a step is a name, an equals sign and a sum")
                        .found(text.text().to_owned())
                        .allowed("name = sum, such as twice = 2 * stay")
                        .cure("name what this step gives"),
                );
                return None;
            };
            let name = left.trim().to_owned();
            let span = text.span(0..left.trim_end().len());
            let expression = text.slice(left.len() + 1..text.text().len());
            return Some((Spanned { value: name, span }, None, expression));
        }
        let fields = Fields::of(node, &keys::LONG_STEP, self.faults)?;
        let name = fields.need_text("name", self.faults)?;
        let symbol = fields.text("symbol", self.faults).map(|symbol| symbol.text().to_owned());
        let expression = fields.need_text("is", self.faults)?.clone();
        Some((Spanned { value: name.text().to_owned(), span: name.whole() }, symbol, expression))
    }

    fn claim_name(&mut self, name: &Spanned<String>) {
        let found = check_name(name, &self.names);
        if found.iter().any(|fault| fault.id == id::BAD_NAME) {
            self.failed.push(in_small_letters(&name.value));
        }
        self.faults.extend(found);
        self.names.push(name.value.clone());
    }

    fn outputs(&mut self, fields: &Fields<'_>, drafts: &[Draft]) -> Vec<Output> {
        fields.need("outputs", self.faults);
        let nodes = fields.list("outputs", self.faults);
        nodes.into_iter().filter_map(|node| self.output(node, drafts)).collect()
    }

    fn output(&mut self, node: &Node, drafts: &[Draft]) -> Option<Output> {
        let fields = Fields::of(node, &keys::OUTPUT, self.faults)?;
        let part = Part::read(&fields, self.faults)?;
        let decimals = number(fields.need("decimals", self.faults)?, self.faults)?;
        let about = sentence(&fields, "about", self.faults)?;
        let step = drafts.iter().position(|draft| draft.name.value == part.name.value);
        if step.is_none() && (self.more || self.failed.contains(&part.name.value)) {
            return None;
        }
        let Some(step) = step else {
            self.faults.push(
                Fault::new(id::OUTPUT_WITHOUT_STEP, part.name.span, format!("no step works out {}", part.name.value))
                    .found(part.name.value)
                    .cure("give a step this name, or take the output away"),
            );
            return None;
        };
        if drafts[step].dimension != part.kind.dimension {
            self.faults.push(
                Fault::new(
                    id::INCOMPATIBLE_UNITS,
                    drafts[step].name.span,
                    format!(
                        "the step gives {}, but the output is {}",
                        phrase(drafts[step].dimension),
                        part.kind.phrase
                    ),
                )
                .found(phrase(drafts[step].dimension))
                .allowed(part.kind.phrase)
                .cure("check the step, or the kind of the output"),
            );
        }
        #[expect(clippy::cast_possible_truncation, reason = "clamped to a few places just here")]
        let decimals = Some(decimals.clamp(-6.0, 12.0) as i32);
        let style = Style { kind: part.kind, unit: part.unit, decimals };
        Some(Output { name: part.name.value, symbol: part.symbol, style, about, step })
    }

    fn limits(&mut self, fields: &Fields<'_>, inputs: usize, drafts: &[Draft]) -> Vec<Limit> {
        let nodes = fields.list("limits", self.faults);
        nodes.into_iter().filter_map(|node| self.limit(node, inputs, drafts)).collect()
    }

    fn limit(&mut self, node: &Node, inputs: usize, drafts: &[Draft]) -> Option<Limit> {
        let fields = Fields::of(node, &keys::LIMIT, self.faults)?;
        let name = sentence(&fields, "name", self.faults)?;
        let message = sentence(&fields, "message", self.faults)?;
        let stops = fields.flag("stops", self.faults).unwrap_or(false);
        let text = fields.need_text("when", self.faults)?;
        let tree = parse_condition(text, Names::OfSteps).map_err(|fault| self.faults.push(fault)).ok()?;
        let when = resolve_condition(&tree, &mut self.scope).map_err(|fault| self.faults.push(fault)).ok()?;
        let places = tree.names().into_iter().filter_map(|name| self.scope.place(name.value));
        let after = places.map(|place| (place + 1).saturating_sub(inputs)).max().unwrap_or(0).min(drafts.len());
        Some(Limit { name, when, message, stops, after })
    }
}

/// The faults of a name of an input or a step: one that can't be read, has a meaning already, or is taken.
pub(super) fn check_name(name: &Spanned<String>, taken: &[String]) -> Vec<Fault> {
    let mut faults = Vec::new();
    let fault = |id, message: String| Fault::new(id, name.span, message).found(name.value.clone());
    let good = name.value.starts_with(|c: char| c.is_ascii_lowercase())
        && name.value.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
    if !good {
        let again = in_small_letters(&name.value);
        faults.push(
            fault(id::BAD_NAME, format!("{} is no name for an input or a step", name.value))
                .allowed("small letters, digits and _, beginning with a letter")
                .cure(if again.is_empty() { "choose a word".to_owned() } else { format!("write it as {again}") }),
        );
    }
    if Unit::symbol(&name.value).is_some_and(|unit| unit.text == name.value) || is_reserved(&name.value) {
        faults.push(
            fault(id::RESERVED_NAME, format!("{} is a unit or has a meaning of its own", name.value))
                .cure("choose a longer name, that no unit, function or constant has"),
        );
    }
    if taken.contains(&name.value) {
        faults.push(
            fault(id::NAME_TWICE, format!("{} is the name of two things", name.value))
                .cure("give each input and each step a name of its own"),
        );
    }
    faults
}

/// A name in the letters that the language reads: `Stay length` is `stay_length`.
fn in_small_letters(name: &str) -> String {
    let letters: String =
        name.chars().map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '_' }).collect();
    letters.trim_matches(|c: char| c == '_' || c.is_ascii_digit()).to_owned()
}

fn is_reserved(name: &str) -> bool {
    functions::WORDS.iter().any(|word| word.word == name) || functions::named(name).is_some()
}

/// A step takes its output's symbol where it has none of its own.
fn name_symbols(drafts: &[Draft], outputs: &[Output]) -> Vec<Step> {
    let step = |(place, draft): (usize, &Draft)| {
        let of_output = outputs.iter().find(|output| output.step == place).map(|output| output.symbol.clone());
        Step {
            name: draft.name.value.clone(),
            symbol: draft.symbol.clone().or(of_output),
            expression: draft.expression.clone(),
        }
    };
    drafts.iter().enumerate().map(step).collect()
}

/// A caution must not be lost for a colon in it.
fn caution(node: &Node, faults: &mut Vec<Fault>) -> Option<String> {
    if node.text().is_none() {
        faults.push(
            Fault::new(id::WRONG_SHAPE, node.span, "a caution is one sentence")
                .cure("put quotes round a sentence that holds a colon"),
        );
    }
    node.text().map(|text| text.text().trim().to_owned())
}

fn load_replaces(fields: &Fields<'_>, faults: &mut Vec<Fault>) -> Option<(String, String)> {
    let inner = Fields::of(fields.get("replaces")?, &keys::REPLACES, faults)?;
    Some((sentence(&inner, "formula", faults)?, sentence(&inner, "why", faults)?))
}

fn load_examples(fields: &Fields<'_>, faults: &mut Vec<Fault>) -> Vec<Example> {
    let nodes = fields.list("examples", faults);
    nodes.into_iter().filter_map(|node| load_example(node, faults)).collect()
}

fn load_example(node: &Node, faults: &mut Vec<Fault>) -> Option<Example> {
    let fields = Fields::of(node, &keys::EXAMPLE, faults)?;
    let given = pairs(fields.need("given", faults)?, "given", faults);
    let gives = pairs(fields.need("gives", faults)?, "gives", faults);
    let allowed = fields.need("tolerance", faults)?;
    let tolerance = if let Some(entries) = allowed.as_map() {
        entries.iter().filter_map(|entry| Some((entry.key.value.clone(), number(&entry.value, faults)?))).collect()
    } else {
        let same = number(allowed, faults)?;
        gives.iter().map(|(name, _)| (name.clone(), same)).collect()
    };
    Some(Example { given, gives, tolerance, source: sentence(&fields, "source", faults)?, span: node.span })
}

fn pairs(node: &Node, key: &str, faults: &mut Vec<Fault>) -> Vec<(String, Mapped)> {
    let shape = |span: Span| {
        Fault::new(id::WRONG_SHAPE, span, format!("{key} holds names with their values"))
            .allowed(format!("{key}: {{name: value}}"))
            .cure("write each name with a colon and one value")
    };
    let Some(entries) = node.as_map() else {
        faults.push(shape(node.span));
        return Vec::new();
    };
    faults.extend(entries.iter().filter(|one| one.value.text().is_none()).map(|one| shape(one.value.span)));
    entries.iter().filter_map(|entry| Some((entry.key.value.clone(), entry.value.text()?.clone()))).collect()
}

/// The fault of a kind that isn't in the table.
#[must_use]
pub fn unknown_kind(word: &str, span: Span) -> Fault {
    let names = || KINDS.iter().map(|kind: &Kind| kind.name);
    let fault = Fault::new(id::UNKNOWN_KIND, span, format!("there is no kind called {word}")).found(word);
    let fault = fault.allowed(names().collect::<Vec<_>>().join(", "));
    fault.nearest(word, names(), "choose the kind that says what is measured")
}
