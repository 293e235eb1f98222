//! YAML to rule: reads a rule file and checks all of it against the families, before any part is put to it.

use super::family::{Attribute, Family};
use super::keys;
use super::question::{Known, Question, Read, check_names, resolve_question};
use super::rule::{Joined, Outcome, Rule, RuleExample, Told};
use super::value::{read_all, unknown_attribute};
use super::{Place, Verdict};
use crate::fault::{Fault, id};
use crate::mechanics::bundle;
use crate::mechanics::expression::Expression;
use crate::mechanics::figure::Style;
use crate::mechanics::formula::Formula;
use crate::mechanics::load::check_name;
use crate::mechanics::load_parts::{measure, number, sentence};
use crate::mechanics::mark::{TextPiece, split_marks};
use crate::mechanics::parser::{Names, parse_expression, parse_question};
use crate::mechanics::term::{BALANCE_PLACES, Term, resolve};
use crate::mechanics::working::check_known;
use crate::text::{Mapped, Spanned};
use crate::yaml::{Fields, Node};

/// Reads a rule from its node; `file` is the whole text.
pub(super) fn read(node: &Node, file: &str, families: &[Family], faults: &mut Vec<Fault>) -> Option<Rule> {
    let before = faults.len();
    let fields = Fields::of(node, &keys::RULE, faults)?;
    let joins = joins(&fields, families, faults)?;
    let parts = Parts::of(&fields, file, faults);
    let mut loader = Loader {
        known: Known::default(),
        steps: Vec::new(),
        figures: Vec::new(),
        ranges: Vec::new(),
        failed: Vec::new(),
        faults,
    };
    loader.reads(&parts, &joins, families);
    loader.steps(&parts);
    loader.told(&fields);
    let ask = |loader: &mut Loader<'_>, tree: &Expression| {
        resolve_question(tree, &mut loader.known).map_err(|fault| loader.refuse(fault)).ok()
    };
    let applies: Option<Question> = parts.applies.as_ref().and_then(|tree| ask(&mut loader, tree));
    let mut outcomes = Vec::new();
    for one in &parts.outcomes {
        let when = one.when.as_ref().and_then(|tree| ask(&mut loader, tree));
        loader.check_message(&one.message);
        outcomes.push(Outcome { when, verdict: one.verdict, message: one.message.clone(), notice: one.notice });
    }
    let Loader { known, steps, figures, ranges, .. } = loader;
    check_last(&parts.outcomes, node, faults);
    let examples = examples(&fields, &joins, families, faults);
    let text = file.get(node.span.start..node.span.end).unwrap_or(file);
    let rule = Rule {
        id: sentence(&fields, "id", faults)?,
        title: sentence(&fields, "title", faults)?,
        topic: sentence(&fields, "topic", faults)?,
        together: fields.flag("together", faults).unwrap_or(false),
        tells_with: tells_with(&fields, &joins, faults),
        instead: instead(&fields, families, faults),
        alike: fields.flag("alike", faults).unwrap_or(false),
        cautions: fields
            .list("cautions", faults)
            .into_iter()
            .filter_map(|node| Some(node.text()?.text().trim().to_owned()))
            .collect(),
        source: sentence(&fields, "source", faults)?,
        version: blake3::hash(text.as_bytes()).to_hex()[..12].to_owned(),
        joins,
        applies,
        steps,
        ranges,
        known,
        figures,
        outcomes,
        examples,
    };
    (faults.len() == before).then_some(rule)
}

fn joins(fields: &Fields<'_>, families: &[Family], faults: &mut Vec<Fault>) -> Option<Vec<Joined>> {
    let node = fields.need("joins", faults)?;
    let entries = node.as_map().filter(|entries| entries.len() >= 2);
    let Some(entries) = entries else {
        faults.push(
            Fault::new(id::WRONG_SHAPE, node.span, "joins names two parts or more, each with its family")
                .allowed("joins: {derailleur: rear_derailleur, cassette: cassette}")
                .cure("write a name, a colon and a family for each part"),
        );
        return None;
    };
    let mut joined: Vec<Joined> = Vec::new();
    for entry in entries {
        let taken: Vec<String> = joined.iter().map(|one| one.name.clone()).collect();
        faults.extend(check_name(&entry.key, &taken));
        let text = entry.value.text().map(Mapped::text).unwrap_or_default();
        let (place, family) = Place::split(text, ' ');
        let Some(known) = families.iter().find(|known| known.id == family) else {
            faults.push(unknown_family(family, entry.value.span, families));
            continue;
        };
        if place.is_some() && !known.places {
            faults.push(
                Fault::new(id::ONE_END, entry.value.span, format!("a bicycle has one {family}, not one at each end"))
                    .cure("leave the place out"),
            );
        }
        joined.push(Joined { name: entry.key.value.clone(), family: family.to_owned(), place });
    }
    (joined.len() == entries.len()).then_some(joined)
}

/// The places of the joined parts that must be there.
fn tells_with(fields: &Fields<'_>, joins: &[Joined], faults: &mut Vec<Fault>) -> Vec<usize> {
    let mut places = Vec::new();
    for node in fields.list("tells_with", faults) {
        let name = node.text().map(Mapped::text).unwrap_or_default();
        match joins.iter().position(|joined| joined.name == name) {
            Some(place) => places.push(place),
            None => faults.push(
                Fault::new(id::UNKNOWN_NAME, node.span, format!("the rule joins no {name}"))
                    .found(name)
                    .cure("use the names under joins"),
            ),
        }
    }
    places
}

/// Families that stand in for one of the rule's own.
fn instead(fields: &Fields<'_>, families: &[Family], faults: &mut Vec<Fault>) -> Vec<String> {
    let mut names = Vec::new();
    for node in fields.list("instead", faults) {
        let name = node.text().map(Mapped::text).unwrap_or_default();
        if !families.iter().any(|family| family.id == name) {
            faults.push(unknown_family(name, node.span, families));
        }
        names.push(name.to_owned());
    }
    names
}

/// The fault of a family that nothing has.
#[must_use]
pub fn unknown_family(name: &str, span: crate::text::Span, families: &[Family]) -> Fault {
    let names = || families.iter().map(|family| family.id.as_str());
    Fault::new(id::UNKNOWN_FAMILY, span, format!("there is no family of parts called {name}"))
        .found(name)
        .allowed(names().collect::<Vec<_>>().join(", "))
        .nearest(name, names(), "use one of these, or add a family to the shelf")
}

/// The expressions of a rule, parsed.
struct Parts {
    applies: Option<Expression>,
    given: Vec<(Spanned<String>, Expression)>,
    formula: Option<Formula>,
    steps: Vec<(Spanned<String>, Expression)>,
    outcomes: Vec<DraftOutcome>,
    trees: Vec<Expression>,
}

struct DraftOutcome {
    when: Option<Expression>,
    verdict: Verdict,
    message: Vec<TextPiece>,
    notice: bool,
}

impl Parts {
    fn of(fields: &Fields<'_>, file: &str, faults: &mut Vec<Fault>) -> Self {
        let question =
            |text: &Mapped, faults: &mut Vec<Fault>| parse_question(text).map_err(|fault| faults.push(fault)).ok();
        let applies = fields.text("applies", faults).and_then(|text| question(text, faults));
        let formula = fields.text("by", faults).and_then(|text| formula(text, faults));
        let given = fields.get("given").and_then(Node::as_map).unwrap_or_default().iter().filter_map(|entry| {
            let tree =
                parse_expression(entry.value.text()?, Names::OfRules).map_err(|fault| faults.push(fault)).ok()?;
            Some((entry.key.clone(), tree))
        });
        let given: Vec<_> = given.collect();
        let steps = fields.list("steps", faults).into_iter().filter_map(|node| step(node, faults)).collect();
        let outcomes: Vec<DraftOutcome> =
            fields.list("outcomes", faults).into_iter().filter_map(|node| outcome(node, file, faults)).collect();
        let mut parts = Self { applies, given, formula, steps, outcomes, trees: Vec::new() };
        parts.trees.extend(parts.applies.clone());
        parts.trees.extend(parts.given.iter().map(|(_, tree)| tree.clone()));
        parts.trees.extend(parts.steps.iter().map(|(_, tree)| tree.clone()));
        parts.trees.extend(parts.outcomes.iter().filter_map(|one| one.when.clone()));
        parts
    }
}

/// The bundled formula of this name.
fn formula(text: &Mapped, faults: &mut Vec<Fault>) -> Option<Formula> {
    if let Some(Ok(formula)) = bundle::formula(text.text()) {
        return Some(formula);
    }
    let ids = bundle::ids().map(|(id, _)| id);
    let fault = Fault::new(id::UNKNOWN_FORMULA, text.whole(), format!("there is no formula {}", text.text()));
    faults.push(fault.found(text.text()).nearest(text.text(), ids, "locknut reckon lists them"));
    None
}

fn step(node: &Node, faults: &mut Vec<Fault>) -> Option<(Spanned<String>, Expression)> {
    let text = node.text();
    let Some((text, left)) = text.and_then(|text| Some((text, text.text().split_once('=')?.0))) else {
        faults.push(
            Fault::new(id::BAD_STEP, node.span, "a step is a name, an equals sign and a sum")
                .allowed("name = sum")
                .cure("name what this step gives"),
        );
        return None;
    };
    let name = Spanned::new(left.trim().to_owned(), text.span(0..left.trim_end().len()));
    let tree = parse_expression(&text.slice(left.len() + 1..text.text().len()), Names::OfRules);
    Some((name, tree.map_err(|fault| faults.push(fault)).ok()?))
}

fn outcome(node: &Node, file: &str, faults: &mut Vec<Fault>) -> Option<DraftOutcome> {
    let fields = Fields::of(node, &keys::OUTCOME, faults)?;
    let when = match fields.text("when", faults) {
        Some(text) => Some(parse_question(text).map_err(|fault| faults.push(fault)).ok()?),
        None => None,
    };
    let verdict = verdict(fields.need_text("verdict", faults)?, faults)?;
    let message = split_marks(fields.need_text("message", faults)?, file, faults);
    Some(DraftOutcome { when, verdict, message, notice: fields.flag("notice", faults).unwrap_or(false) })
}

fn verdict(text: &Mapped, faults: &mut Vec<Fault>) -> Option<Verdict> {
    let word = text.text().trim();
    let verdict = Verdict::named(word);
    if verdict.is_none() {
        let fault = Fault::new(id::UNKNOWN_WORD, text.whole(), format!("no verdict is called {word}")).found(word);
        let all = || Verdict::ALL.into_iter().map(Verdict::words);
        faults.push(fault.allowed(all().collect::<Vec<_>>().join(", ")).nearest(word, all(), "use one of these"));
    }
    verdict
}

/// The last outcome has no question, and only the last.
fn check_last(outcomes: &[DraftOutcome], node: &Node, faults: &mut Vec<Fault>) {
    let open = outcomes.iter().position(|one| one.when.is_none());
    if open.is_none_or(|place| place + 1 != outcomes.len()) {
        faults.push(
            Fault::new(id::WRONG_SHAPE, node.span, "the last outcome, and no other, stands without a question")
                .cure("put what holds in all other cases last, without when"),
        );
    }
}

fn too_much(span: crate::text::Span) -> Fault {
    Fault::new(id::TOO_MANY_STEPS, span, "a rule reads and works too much")
        .allowed(format!("{BALANCE_PLACES} attributes and steps"))
        .cure("split it into two rules")
}

struct Loader<'a> {
    known: Known,
    steps: Vec<Term>,
    figures: Vec<Told>,
    ranges: Vec<(usize, f64, f64)>,
    /// Names with a fault of their own: what uses them is left alone.
    failed: Vec<String>,
    faults: &'a mut Vec<Fault>,
}

impl Loader<'_> {
    /// Notes a fault, unless it follows from another.
    fn refuse(&mut self, fault: Fault) {
        let follows =
            fault.id == id::UNKNOWN_NAME && fault.found.as_ref().is_some_and(|name| self.failed.contains(name));
        if !follows {
            self.faults.push(fault);
        }
    }

    /// The attributes that the rule's expressions and messages name; the numbers among them take the first places.
    fn reads(&mut self, parts: &Parts, joins: &[Joined], families: &[Family]) {
        for tree in &parts.trees {
            for name in tree.names() {
                self.read(name.value, name.span, joins, families);
            }
        }
        for piece in parts.outcomes.iter().flat_map(|one| &one.message) {
            if let TextPiece::Mark(mark) = piece {
                self.read(&mark.name.value, mark.name.span, joins, families);
            }
        }
    }

    fn read(&mut self, name: &str, span: crate::text::Span, joins: &[Joined], families: &[Family]) {
        let Some((join, attribute)) = name.split_once('.') else { return };
        if self.known.reads.iter().any(|read| read.name == name) || self.failed.iter().any(|failed| failed == name) {
            return;
        }
        let Some(join) = joins.iter().position(|one| one.name == join) else { return };
        let Some(family) = families.iter().find(|family| family.id == joins[join].family) else { return };
        let Some(attribute) = family.attribute(attribute) else {
            self.faults.push(unknown_attribute(family, attribute, span));
            self.failed.push(name.to_owned());
            return;
        };
        let attribute: Attribute = attribute.clone();
        let place = match attribute.number() {
            Some(_) if !attribute.many && self.known.scope.len() >= BALANCE_PLACES => {
                self.faults.push(too_much(span));
                self.failed.push(name.to_owned());
                return;
            }
            Some(input) if !attribute.many => {
                self.known.scope.add(name, input.kind.dimension);
                Some(self.known.scope.len() - 1)
            }
            _ => None,
        };
        self.known.reads.push(Read { name: name.to_owned(), join, attribute, place });
    }

    /// The values given to the formula, the formula's own steps, then the rule's.
    fn steps(&mut self, parts: &Parts) {
        for (name, tree) in &parts.given {
            let input = parts.formula.as_ref().and_then(|formula| formula.input(&name.value));
            if let (None, Some(formula)) = (input, &parts.formula) {
                self.faults.extend(check_known(formula, name));
                continue;
            }
            let place = self.known.scope.len();
            self.step(&name.value, tree);
            if let Some(input) = input {
                self.ranges.push((place, input.unit.to_base(input.low), input.unit.to_base(input.high)));
                if self.known.scope.dimension(place).is_some_and(|found| found != input.kind.dimension) {
                    self.faults.push(
                        Fault::new(
                            id::INCOMPATIBLE_UNITS,
                            tree.span,
                            format!("{} is {}", name.value, input.kind.phrase),
                        )
                        .cure("give what the formula asks for"),
                    );
                }
            }
        }
        if let Some(formula) = &parts.formula {
            let mut missing = Vec::new();
            for input in &formula.inputs {
                if !parts.given.iter().any(|(name, _)| name.value == input.name) {
                    let default = input.default.as_ref().and_then(|text| parse_expression(text, Names::OfSteps).ok());
                    match default {
                        Some(tree) => self.step(&input.name, &tree),
                        None => missing.push(input.name.as_str()),
                    }
                }
            }
            if !missing.is_empty() {
                let span = parts.trees.first().map_or(crate::text::Span::at(0), |tree| tree.span);
                let message = format!("{} needs {}", formula.id, missing.join(", "));
                self.faults.push(Fault::new(id::MISSING_INPUT, span, message).cure("add these under given"));
                self.failed.extend(formula.steps.iter().map(|step| step.name.clone()));
            }
            for table in &formula.tables {
                self.known.scope.add_table(table.clone());
            }
            for step in formula.steps.iter().filter(|_| missing.is_empty()) {
                self.step(&step.name, &step.expression);
            }
            for output in &formula.outputs {
                if let Some(place) = self.known.scope.place(&output.name) {
                    let (name, about) = (output.name.clone(), output.about.clone());
                    self.figures.push(Told { name, place, style: output.style.clone(), about });
                }
            }
        }
        for (name, tree) in &parts.steps {
            let taken: Vec<String> =
                self.known.scope.place(&name.value).map(|_| name.value.clone()).into_iter().collect();
            self.faults.extend(check_name(name, &taken));
            self.step(&name.value, tree);
        }
    }

    fn step(&mut self, name: &str, tree: &Expression) {
        if self.known.scope.len() >= BALANCE_PLACES {
            self.faults.push(too_much(tree.span));
            return;
        }
        let resolved = check_names(tree, &self.known).and_then(|()| resolve(tree, &mut self.known.scope));
        match resolved {
            Ok((term, dimension)) => {
                self.known.scope.add(name, dimension);
                self.steps.push(term);
            }
            Err(fault) => {
                self.refuse(fault);
                self.failed.push(name.to_owned());
            }
        }
    }

    /// The steps of the rule's own that are told.
    fn told(&mut self, fields: &Fields<'_>) {
        for node in fields.list("figures", self.faults) {
            let told = self.figure(node);
            // A figure of the rule's own stands in for the formula's of that name.
            if let Some(told) = told {
                self.figures.retain(|known| known.name != told.name);
                self.figures.push(told);
            }
        }
    }

    fn figure(&mut self, node: &Node) -> Option<Told> {
        let fields = Fields::of(node, &keys::FIGURE, self.faults)?;
        let name = fields.need_text("name", self.faults)?;
        let (kind, unit) = measure(&fields, self.faults)?;
        let decimals = number(fields.need("decimals", self.faults)?, self.faults)?;
        let about = sentence(&fields, "about", self.faults)?;
        let Some(place) = self.known.scope.place(name.text()) else {
            self.faults.push(
                Fault::new(id::OUTPUT_WITHOUT_STEP, name.whole(), format!("no step works out {}", name.text()))
                    .cure("give a step this name, or take the figure away"),
            );
            return None;
        };
        if self.known.scope.dimension(place) != Some(kind.dimension) {
            self.faults.push(
                Fault::new(id::INCOMPATIBLE_UNITS, name.whole(), format!("the step is no {}", kind.phrase))
                    .cure("check the step, or the kind of the figure"),
            );
        }
        #[expect(clippy::cast_possible_truncation, reason = "clamped to a few places just here")]
        let decimals = Some(decimals.clamp(-6.0, 12.0) as i32);
        Some(Told { name: name.text().to_owned(), place, style: Style { kind, unit, decimals }, about })
    }

    /// Every mark of a message names an attribute or a step that is told.
    fn check_message(&mut self, pieces: &[TextPiece]) {
        for piece in pieces {
            let TextPiece::Mark(mark) = piece else { continue };
            let name = mark.name.value.as_str();
            let of_read = self.known.reads.iter().find(|read| read.name == name);
            let of_step = self.figures.iter().find(|told| told.name == name);
            let kind = of_read.and_then(|read| read.attribute.number().map(|input| input.kind));
            if let (Some(unit), Some(kind)) = (&mark.unit, kind.or(of_step.map(|told| told.style.kind)))
                && !kind.takes(&unit.value)
            {
                self.faults.push(
                    Fault::new(id::WRONG_KIND, unit.span, format!("{name} is {}", kind.phrase))
                        .found(unit.value.text.clone())
                        .allowed(kind.units.join(", "))
                        .cure("choose one of these units"),
                );
            }
            let known = of_read.is_some() || of_step.is_some();
            if !known && !self.failed.iter().any(|failed| failed == name) {
                let names = self.known.reads.iter().map(|read| read.name.as_str());
                let names = names.chain(self.figures.iter().map(|told| told.name.as_str()));
                let fault = Fault::new(id::UNKNOWN_NAME, mark.name.span, format!("nothing here is called {name}"));
                let fault = fault.found(name).nearest(name, names, "name an attribute, or a step listed in figures");
                self.faults.push(fault);
            }
        }
    }
}

fn examples(fields: &Fields<'_>, joins: &[Joined], families: &[Family], faults: &mut Vec<Fault>) -> Vec<RuleExample> {
    let nodes = fields.list("examples", faults);
    nodes.into_iter().filter_map(|node| example(node, joins, families, faults)).collect()
}

fn example(node: &Node, joins: &[Joined], families: &[Family], faults: &mut Vec<Fault>) -> Option<RuleExample> {
    let fields = Fields::of(node, &keys::EXAMPLE, faults)?;
    let parts = fields.need("parts", faults)?;
    let entries = parts.as_map().unwrap_or_default();
    for entry in entries.iter().filter(|entry| !joins.iter().any(|one| one.name == entry.key.value)) {
        faults.push(
            Fault::new(id::UNKNOWN_NAME, entry.key.span, format!("the rule joins no {}", entry.key.value))
                .cure("use the names under joins"),
        );
    }
    let values = joins.iter().map(|one| {
        let family = families.iter().find(|family| family.id == one.family);
        let entry = entries.iter().find(|entry| entry.key.value == one.name);
        match (family, entry.and_then(|entry| entry.value.as_map())) {
            (Some(family), Some(given)) => {
                read_all(family, given.iter().map(|entry| (&entry.key, &entry.value)), faults)
            }
            _ => super::value::Values::new(),
        }
    });
    let values = values.collect();
    let gives = fields.need_text("gives", faults)?;
    let gives = if gives.text() == "silent" { None } else { Some(verdict(gives, faults)?) };
    let says =
        fields.list("says", faults).into_iter().filter_map(|node| Some(node.text()?.text().to_owned())).collect();
    Some(RuleExample { parts: values, gives, says, source: sentence(&fields, "source", faults)?, span: node.span })
}
