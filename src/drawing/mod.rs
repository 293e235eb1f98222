//! Parametric drawings: an SVG template and figures in, a resolved SVG out.
//!
//! A drawing is one file: a comment at its head whose YAML declares title, inputs and items, then the template.
//! What a page sets is held to the declaration (every input given, each of its kind) before the template runs; the
//! result is parsed and held to an allow-list of elements and attributes, so that nothing in a drawing can run a
//! script, load a file or take the page's ids.

/// What may stand in a drawing.
mod allowed;
/// The keys of a drawing's head.
pub mod head;
/// The site's sign: a locknut in plan view.
pub mod mark;
/// Plots.
pub mod plot;
/// The picture that stands for a sheet where its address is passed on.
pub mod preview;
/// Drawings as pictures.
pub mod raster;
/// Shapes that templates ask for: toothed wheels, dimensions, balloons.
pub mod shapes;
/// An address as a code that a telephone reads off paper.
pub mod square;

use crate::bundled::DIAGRAMS;
use crate::diagnostic::Source;
use crate::evaluate::names::Names;
use crate::evaluate::page_expression;
use crate::fault::{Fault, did_you_mean, id};
use crate::library::block::DrawingBlock;
use crate::library::check_topic;
use crate::library::files::FileProblem;
use crate::mechanics::figure::Style;
use crate::mechanics::load::unknown_kind;
use crate::mechanics::reading::Reading;
use crate::mechanics::units::{Kind, Unit, phrase};
use crate::mechanics::written::{begins_written, parse_written};
use crate::text::{Mapped, Spanned};
use crate::yaml::{self, Fields, Node};
use minijinja::{Environment, ErrorKind, UndefinedBehavior, Value, context};
use std::collections::BTreeMap;
use std::path::Path;

/// All drawings that a library can use, by name.
#[derive(Debug, Default)]
pub struct Drawings {
    drawings: BTreeMap<String, Drawing>,
    /// Drawings with a fault of their own: pages that set them are left alone.
    bad: Vec<String>,
}

/// One drawing, read.
#[derive(Clone, Debug)]
pub struct Drawing {
    /// What it is called for those who don't see it.
    pub title: String,
    /// What it draws, and what it leaves out.
    pub about: String,
    /// What goes in.
    pub inputs: Vec<DrawingInput>,
    /// What its balloons point at.
    pub items: Vec<Item>,
    template: String,
    /// How many lines the declaration takes.
    lines_before: usize,
}

/// One input of a drawing.
#[derive(Clone, Debug)]
pub struct DrawingInput {
    /// Its name.
    pub name: String,
    /// What kind of figure it is.
    pub kind: &'static Kind,
    /// The unit that the template reckons in.
    pub unit: Unit,
    /// What it means.
    pub about: String,
}

/// What a balloon points at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// The number in the balloon.
    pub balloon: String,
    /// The part.
    pub name: String,
    /// The topic of a library that it belongs to, where the drawing says it.
    pub topic: Option<String>,
    /// What else it is called.
    pub also: Vec<String>,
}

/// The values of a drawing's inputs.
#[derive(Clone, Debug)]
pub struct Filled {
    /// By name: the number in the declared unit, the figure's text, and that text without its unit.
    pub values: Vec<(String, f64, String, String)>,
    /// What the balloons point at.
    pub items: Vec<Item>,
}

/// Why a template gives no drawing.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Refused {
    /// What is wrong, in words.
    pub message: String,
    /// The line of the drawing's file, where it is known.
    pub line: Option<usize>,
    /// What is to blame as it stands in that line, where it is known.
    pub written: Option<String>,
}

/// The name that a template uses and nothing has.
#[must_use]
pub fn blamed(error: &minijinja::Error) -> Option<String> {
    error.detail().and_then(|detail| detail.strip_suffix(" is undefined")).map(|name| name.replace('`', ""))
}

/// What a template's error is, in words for somebody who mends it.
#[must_use]
pub fn said(error: &minijinja::Error) -> String {
    let what = match error.kind() {
        ErrorKind::UndefinedError => "a name in the template is not known".to_owned(),
        ErrorKind::SyntaxError => "the template can't be read".to_owned(),
        ErrorKind::TemplateNotFound => "a template is missing".to_owned(),
        ErrorKind::OutOfFuel => "the template never comes to an end".to_owned(),
        other => other.to_string(),
    };
    let detail = error.detail().map_or(String::new(), |detail| format!(": {}", detail.replace('`', "")));
    format!("{what}{detail}")
}

/// A drawing's file that can't be used, with what is wrong in it.
#[derive(Debug)]
pub struct BadDrawing {
    /// The file.
    pub source: Source,
    /// Its faults.
    pub faults: Vec<Fault>,
}

impl Drawings {
    /// The drawings of a library: its own files first, then those of the binary.
    ///
    /// # Errors
    /// A file of the library's own that can't be read.
    pub fn of(root: &Path) -> Result<(Self, Vec<BadDrawing>), FileProblem> {
        let mut drawings = BTreeMap::new();
        let mut bad = Vec::new();
        for (file, text) in texts(root)? {
            let name = file.trim_end_matches(".svg");
            match parse(&text) {
                Ok(drawing) => {
                    drawings.insert(name.to_owned(), drawing);
                }
                Err(faults) => {
                    bad.push(BadDrawing { source: Source::new(format!("diagrams/{file}"), text), faults });
                }
            }
        }
        let names =
            |one: &BadDrawing| one.source.name.trim_start_matches("diagrams/").trim_end_matches(".svg").to_owned();
        Ok((Self { drawings, bad: bad.iter().map(names).collect() }, bad))
    }

    /// The names of all drawings, those with faults of their own too.
    #[must_use]
    pub fn names(&self) -> Vec<String> {
        self.drawings.keys().chain(&self.bad).cloned().collect()
    }

    /// The drawing that is called so.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&Drawing> {
        self.drawings.get(name)
    }

    /// The drawing with this name.
    ///
    /// # Errors
    /// A fault at the name, where there is none; nothing where the drawing has a fault of its own.
    pub fn find(&self, name: &Spanned<String>) -> Result<&Drawing, Option<Fault>> {
        if let Some(drawing) = self.drawings.get(&name.value) {
            return Ok(drawing);
        }
        if self.bad.contains(&name.value) {
            return Err(None);
        }
        let fault = Fault::new(id::UNKNOWN_DRAWING, name.span, format!("there is no drawing called {}", name.value))
            .found(name.value.clone());
        let fault = fault.allowed(self.drawings.keys().cloned().collect::<Vec<_>>().join(", "));
        Err(Some(fault.nearest(
            &name.value,
            self.drawings.keys().map(String::as_str),
            "use one of these, or add diagrams/NAME.svg",
        )))
    }

    /// What the balloons of a drawing point at; nothing where there is no such drawing.
    #[must_use]
    pub fn items(&self, name: &str) -> &[Item] {
        self.drawings.get(name).map_or(&[], |drawing| &drawing.items)
    }

    /// Draws a filled drawing; `id` begins every id in it.
    ///
    /// # Errors
    /// What the template or its result does wrong, in words.
    pub fn render(&self, name: &str, filled: &Filled, alt: &str, id: &str) -> Result<String, Refused> {
        let missing = || Refused { message: format!("there is no drawing called {name}"), line: None, written: None };
        let drawing = self.drawings.get(name).ok_or_else(missing)?;
        let mut environment = Environment::new();
        environment.set_undefined_behavior(UndefinedBehavior::Strict);
        environment.set_auto_escape_callback(|_| minijinja::AutoEscape::Html);
        environment.set_fuel(Some(2_000_000));
        shapes::add_to(&mut environment);
        let mut values: BTreeMap<String, Value> = BTreeMap::new();
        for (name, value, text, number) in &filled.values {
            values.insert(name.clone(), context! { value, text, number });
        }
        values.insert("id".to_owned(), Value::from(id));
        values.insert("alt".to_owned(), Value::from(alt));
        values.insert("title".to_owned(), Value::from(drawing.title.as_str()));
        let svg = environment.render_str(&drawing.template, values).map_err(|error| Refused {
            message: said(&error),
            line: error.line().map(|line| line + drawing.lines_before),
            written: blamed(&error),
        })?;
        let svg = svg.trim().to_owned();
        allowed::check(&svg, id).map_err(|bad| Refused {
            line: drawing.line_of(bad.written.as_deref()),
            message: bad.message,
            written: bad.written,
        })?;
        Ok(svg)
    }
}

/// The text of every drawing by file name: the library's own first, the binary's where the library has none of that name.
fn texts(root: &Path) -> Result<BTreeMap<String, String>, FileProblem> {
    let bundled = DIAGRAMS.iter().filter(|(file, _)| is_drawing(file));
    let mut texts: BTreeMap<String, String> =
        bundled.map(|(file, bytes)| ((*file).to_owned(), String::from_utf8_lossy(bytes).into_owned())).collect();
    let folder = root.join("diagrams");
    if !folder.is_dir() {
        return Ok(texts);
    }
    let unreadable = |path: &Path, error| FileProblem::Unreadable(path.to_owned(), error);
    for entry in std::fs::read_dir(&folder).map_err(|error| unreadable(&folder, error))? {
        let path = entry.map_err(|error| unreadable(&folder, error))?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if is_drawing(&name) && path.is_file() {
            let bytes = std::fs::read(&path).map_err(|error| unreadable(&path, error))?;
            texts.insert(name, String::from_utf8_lossy(&bytes).into_owned());
        }
    }
    Ok(texts)
}

fn is_drawing(file: &str) -> bool {
    !file.contains('/') && Path::new(file).extension().is_some_and(|ending| ending == "svg")
}

/// Reads a drawing's file.
fn parse(text: &str) -> Result<Drawing, Vec<Fault>> {
    let opened = text.strip_prefix("{#-").or_else(|| text.strip_prefix("{#"));
    let head = opened.and_then(|rest| rest.split_once("#}"));
    let Some((head, template)) = head else {
        return Err(vec![
            Fault::new(id::DRAWING_HEAD, crate::text::Span::at(0), "the drawing doesn't begin with its head")
                .allowed("{# name:, title:, inputs: and items: #}, then the drawing itself")
                .cure("begin the file with {#"),
        ]);
    };
    let start = text.len() - template.len() - "#}".len() - head.len();
    let head = head.trim_end_matches('-');
    let node = yaml::parse(&Mapped::verbatim(head, start))?;
    let mut faults = Vec::new();
    let drawing = parse_head(&node, template, &mut faults);
    let lines_before = text[..text.len() - template.len()].matches('\n').count();
    drawing.filter(|_| faults.is_empty()).map(|drawing| Drawing { lines_before, ..drawing }).ok_or(faults)
}

fn parse_head(node: &Node, template: &str, faults: &mut Vec<Fault>) -> Option<Drawing> {
    let fields = Fields::of(node, &head::HEAD, faults)?;
    let title = fields.need_text("title", faults)?.text().to_owned();
    let inputs = fields.list("inputs", faults).into_iter().filter_map(|node| parse_input(node, faults)).collect();
    let items = fields.list("items", faults).into_iter().filter_map(|node| parse_item(node, faults)).collect();
    let about = fields.text("about", faults).map(|about| about.text().trim().to_owned()).unwrap_or_default();
    Some(Drawing { title, about, inputs, items, template: template.to_owned(), lines_before: 0 })
}

fn parse_input(node: &Node, faults: &mut Vec<Fault>) -> Option<DrawingInput> {
    let fields = Fields::of(node, &head::INPUT, faults)?;
    let name = fields.need_text("name", faults)?;
    if shapes::is_taken(name.text().trim()) {
        let message = format!("{} has a meaning of its own in a drawing", name.text().trim());
        faults.push(Fault::new(id::RESERVED_NAME, name.whole(), message).cure("choose another name for the input"));
        return None;
    }
    let name = name.text().to_owned();
    let about = fields.need_text("about", faults)?.text().to_owned();
    let word = fields.need_text("kind", faults)?;
    fields.need("unit", faults)?;
    // A plain number has no sign, so an empty one is no fault.
    let unit = match fields.get("unit").and_then(Node::text) {
        Some(unit) => unit,
        None => fields.text("unit", faults)?,
    };
    let kind = Kind::named(word.text());
    if kind.is_none() {
        faults.push(unknown_kind(word.text(), word.whole()));
        return None;
    }
    let parsed = Unit::parse(unit.text()).ok();
    match (kind, parsed) {
        (Some(kind), Some(unit)) if kind.takes(&unit) => Some(DrawingInput { name, kind, unit, about }),
        _ => {
            faults.push(
                Fault::new(id::UNIT_OF_ANOTHER_KIND, unit.whole(), "kind and unit of this input don't go together")
                    .found(format!("{} in {}", word.text(), unit.text()))
                    .cure("choose a unit that measures this kind, or the kind that this unit measures"),
            );
            None
        }
    }
}

fn parse_item(node: &Node, faults: &mut Vec<Fault>) -> Option<Item> {
    let fields = Fields::of(node, &head::ITEM, faults)?;
    let balloon = fields.need_text("balloon", faults)?.text().to_owned();
    let name = fields.need_text("name", faults)?.text().to_owned();
    let topic = fields.text("topic", faults);
    if let Some(topic) = topic {
        check_topic(&Spanned::new(topic.text().trim().to_owned(), topic.whole()), faults);
    }
    let also = fields.texts("also", faults).into_iter().map(|text| text.text().trim().to_owned());
    Some(Item { balloon, name, topic: topic.map(|topic| topic.text().trim().to_owned()), also: also.collect() })
}

impl Drawing {
    /// The line of the file in which something is written as it is.
    fn line_of(&self, written: Option<&str>) -> Option<usize> {
        let at = self.template.find(written?)?;
        Some(self.lines_before + self.template[..at].matches('\n').count() + 1)
    }

    /// Holds what a page sets to the declaration; `None` with the faults noted where it doesn't fit.
    pub fn fill(&self, block: &DrawingBlock, names: &Names, faults: &mut Vec<Fault>) -> Option<Filled> {
        let before = faults.len();
        for (name, _) in &block.set {
            if !self.inputs.iter().any(|input| input.name == name.value) {
                faults.push(self.unknown_input(name, &block.of.value));
            }
        }
        let mut values = Vec::with_capacity(self.inputs.len());
        for input in &self.inputs {
            match block.set.iter().find(|(name, _)| name.value == input.name) {
                Some((_, text)) => values.extend(fill_one(input, text, names, faults)),
                // A misspelt name has its fault already.
                None if block.set.iter().any(|(name, _)| self.meant(&name.value) == Some(&input.name)) => {}
                None => faults.push(
                    Fault::new(id::MISSING_INPUT, block.of.span, format!("{} needs {}", block.of.value, input.name))
                        .cure(format!("add {} under set: {}", input.name, input.about)),
                ),
            }
        }
        (faults.len() == before && values.len() == self.inputs.len())
            .then(|| Filled { values, items: self.items.clone() })
    }

    /// The input that an unknown name was probably meant to be.
    fn meant(&self, name: &str) -> Option<&str> {
        let known = self.inputs.iter().any(|input| input.name == name);
        did_you_mean(name, self.inputs.iter().map(|input| input.name.as_str())).filter(|_| !known)
    }

    fn unknown_input(&self, name: &Spanned<String>, of: &str) -> Fault {
        let names = || self.inputs.iter().map(|input| input.name.as_str());
        let fault = Fault::new(id::UNKNOWN_INPUT, name.span, format!("{of} takes no {}", name.value))
            .found(name.value.clone())
            .allowed(names().collect::<Vec<_>>().join(", "));
        match self.meant(&name.value) {
            Some(near) => fault.cure(format!("did you mean {near}?")),
            None => fault.cure("use one of these names"),
        }
    }
}

type Set = (String, f64, String, String);

fn fill_one(input: &DrawingInput, text: &Mapped, names: &Names, faults: &mut Vec<Fault>) -> Option<Set> {
    let name = text.text().trim();
    if let Some(named) = names.get(name) {
        if !same_kind(&named.style, input) {
            faults.push(wrong_kind(input, text, &phrase(named.style.kind.dimension)));
            return None;
        }
        let style = Style { unit: input.unit.clone(), ..named.style.clone() };
        return Some((
            input.name.clone(),
            style.number(named.value),
            named.open.as_ref().unwrap_or(&named.text).clone(),
            without_units(named.open.as_ref().unwrap_or(&named.text), &named.style),
        ));
    }
    let (reading, dimension) = if begins_written(name) && parse_written(text).is_ok() {
        let written = parse_written(text).map_err(|fault| faults.push(fault)).ok()?;
        (Reading::within(written.base(), written.bounds()), written.unit.dimension)
    } else {
        let result =
            page_expression::work(text, names).map_err(|fault| faults.extend(fault.map(|fault| *fault))).ok()?;
        (result.reading, result.dimension)
    };
    if dimension != input.kind.dimension {
        faults.push(wrong_kind(input, text, &phrase(dimension)));
        return None;
    }
    let style = Style { kind: input.kind, unit: input.unit.clone(), decimals: None };
    let shown = reading.text(&style);
    let bare = without_units(&shown, &style);
    Some((input.name.clone(), style.number(reading.value), shown, bare))
}

fn same_kind(style: &Style, input: &DrawingInput) -> bool {
    style.kind.dimension == input.kind.dimension && (!style.unit.is_label() || style.unit.text == input.unit.text)
}

fn wrong_kind(input: &DrawingInput, text: &Mapped, found: &str) -> Fault {
    let unit = input.unit.shown(false);
    let wanted =
        if unit.is_empty() { input.kind.phrase.to_owned() } else { format!("{} in {unit}", input.kind.phrase) };
    Fault::new(id::WRONG_KIND, text.whole(), format!("{} is {wanted}, and this is not", input.name))
        .found(format!("{}, {found}", text.text()))
        .allowed(format!("{wanted}: {}", input.about))
        .cure("set a figure of this kind")
}

/// `410 mm ± 2 mm` as `410 ± 2`: a drawing says its unit once.
fn without_units(text: &str, style: &Style) -> String {
    [style.unit.shown(false), style.unit.shown(true)]
        .iter()
        .filter(|sign| !sign.is_empty())
        .fold(text.to_owned(), |text, sign| text.replace(&format!("\u{A0}{sign}"), ""))
}
