//! `shelf/FAMILY.yaml`: the parts shelf, each part once with the attributes that fit depends on.
//!
//! ```yaml
//! measured_in: {capacity: ../guides/drivetrain/chain-longer-cage.md#op-20}   # where a guide shows how
//! family: {…}                 # a family of the shop's own, in the form of the bundled ones
//! rules: [{…}]                # and what joins it to others
//! apart: [{these: [bell], and: [tyre, chain], why: neither touches the other}]   # or why nothing needs to
//! parts:
//!   cassette-11-34:
//!     title: Cassette, 11 to 34
//!     source: marked on the part
//!     checked: 2026-04-02
//!     has:
//!       largest: 34 teeth
//!       spacing: {value: 3.95 mm, source: the shop's own measurement, checked: 2026-04-10}
//! ```
//! Files are read one by one; families of all of them are known before a part or a rule is read.

use super::Faults;
use super::date::check_date;
use super::stated::check_entry_name;
use crate::diagnostic::{Diagnostic, Source};
use crate::fault::{Fault, id};
use crate::mechanics::pairing::family::{self, Family};
use crate::mechanics::pairing::keys::{APART, FAMILY, RULE};
use crate::mechanics::pairing::rule::Rule;
use crate::mechanics::pairing::shelf::{Rules, unknown_family};
use crate::mechanics::pairing::value::{Values, read, unknown_attribute};
use crate::text::{Mapped, Span, Spanned};
use crate::yaml::keys::{Holds, Keys, keys};
use crate::yaml::{self, Entry, Fields, Node};
use std::borrow::Cow;
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

/// The shelf of a shop.
#[derive(Debug)]
pub struct Shelf {
    /// Families and rules: those that come with the program, and the shop's own.
    pub rules: Cow<'static, Rules>,
    /// The parts, in the order of files and lines.
    pub parts: Vec<Part>,
    /// Which guide shows how an attribute is measured, by family and attribute.
    pub measured_in: BTreeMap<(String, String), Shown>,
    by_name: HashMap<String, usize>,
}

/// One part.
#[derive(Clone, Debug)]
pub struct Part {
    /// The name by which it is asked for.
    pub name: Spanned<String>,
    /// Its family.
    pub family: String,
    /// What it is called.
    pub title: String,
    /// What is known of it.
    pub values: Values,
    /// By attribute: who says so, and when that was last looked up.
    pub word: BTreeMap<String, Word>,
    /// The file.
    pub file: String,
}

/// Who says so, and when that was last looked up.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Word {
    /// The marking, the maker's sheet, a measurement.
    pub source: String,
    /// The day.
    pub checked: Spanned<String>,
}

/// The guide that shows a measurement.
#[derive(Clone, Debug)]
pub struct Shown {
    /// The shelf file.
    pub file: String,
    /// The path to the guide, from that file.
    pub path: Spanned<String>,
}

/// A shelf file, read as far as one can read it alone.
#[derive(Debug)]
pub(super) struct ShelfFile {
    source: Arc<Source>,
    node: Node,
    /// The file's name without its ending.
    family: String,
    own: Option<Family>,
}

/// A file of the shelf.
pub static KEYS: Keys = Keys::new(
    "a file of the shelf",
    keys! {
        "measured_in" free Holds::Map("attributes", &Holds::Text("the path to a guide, from this file")), "The guide that shows how an attribute is measured. A verdict of not known leads to it.",
            "measured_in: {capacity: ../guides/drivetrain/chain-longer-cage.md#op-20}";
        "family" free Holds::Keys(&FAMILY), "A family of the shop's own, called as the file.",
            "family: {id: bell, title: Bell, about: warns people on the way, attributes: []}";
        "rules" free Holds::List(&Holds::Keys(&RULE)), "Rules of the shop's own, that join families.",
            "rules: []";
        "apart" free APART, "Pairs of families that have no bearing on each other, and why.",
            "apart: [{these: [bell], and: [tyre, chain], why: neither touches the other}]";
        "parts" free Holds::Map("parts", &Holds::Keys(&PART)), "The parts of this family, each once. Pages, bikes and pair ask for them by these names.",
            "parts: {cassette-11-34: {title: \"Cassette, 11 to 34\", source: marked on the part, checked: 2026-04-02, has: {largest: 34 teeth}}}";
    },
);

static PART: Keys = Keys::new(
    "a part",
    keys! {
        "title" needed Holds::Text("words"), "What the part is called. No maker is named.",
            "title: Cassette, 11 to 34";
        "source" needed Holds::Text("words that name the source"), "Who says what the part has: the marking, the maker's sheet, a measurement.",
            "source: marked on the part";
        "checked" needed Holds::Date, "The day on which that was last looked up.",
            "checked: 2026-04-02";
        "has" needed Holds::Map("attributes of the family", &VALUE), "What is known of the part. What is not known is left out: the verdict then says what to measure.",
            "has: {largest: 34 teeth, smallest: 11 teeth}";
    },
);

const SINGLE: Holds = Holds::Text("a value with its unit, a word, yes or no");
const VALUE: Holds = Holds::Either(&[SINGLE, Holds::List(&SINGLE), Holds::Keys(&OF_ITS_OWN)]);

static OF_ITS_OWN: Keys = Keys::new(
    "an attribute of a part",
    keys! {
        "value" needed Holds::Either(&[SINGLE, Holds::List(&SINGLE)]), "The attribute's value.",
            "value: 3.95 mm";
        "source" needed Holds::Text("words that name the source"), "Who says so, where it is not who vouches for the whole part.",
            "source: the shop's own measurement";
        "checked" needed Holds::Date, "The day on which that was last looked up.",
            "checked: 2026-04-10";
    },
);

/// Reads a shelf file's YAML, and the family that it may add.
pub(super) fn parse(source: &Arc<Source>, file: &str, faults: &mut Vec<Fault>) -> Option<ShelfFile> {
    let text = Mapped::verbatim(source.text.as_str(), 0);
    let node = yaml::parse(&text).map_err(|found| faults.extend(found)).ok()?;
    let family = file.trim_end_matches(".yaml").to_owned();
    let fields = Fields::of(&node, &KEYS, faults)?;
    let own = fields.get("family").and_then(|node| {
        let own = family::read(node, faults)?;
        if Rules::bundled().family(&own.id).is_some() || own.id != family {
            let message = format!("{} is no name for the family of this file", own.id);
            let fault = Fault::new(id::NAME_TWICE, node.get("id").map_or(node.span, |id| id.span), message);
            faults.push(
                fault
                    .found(own.id.clone())
                    .cure("a family of the shop's own is called as its file, and as no family that is there already"),
            );
            return None;
        }
        Some(own)
    });
    Some(ShelfFile { source: Arc::clone(source), node, family, own })
}

/// Reads the parts and rules of all shelf files.
pub(super) fn build(files: &[Arc<ShelfFile>], faults: &mut Faults) -> Shelf {
    let mut rules: Cow<'static, Rules> = Cow::Borrowed(Rules::bundled());
    let families: Vec<Family> = files.iter().filter_map(|file| file.own.clone()).collect();
    if !families.is_empty() {
        rules.to_mut().families.extend(families);
    }
    for file in files {
        let mut found = Vec::new();
        for (key, wanted) in
            [("rules", "a list of rules"), ("measured_in", "attributes, each with the path to a guide")]
        {
            let wrong = |node: &&Node| if key == "rules" { node.as_list().is_none() } else { node.as_map().is_none() };
            found.extend(file.node.get(key).filter(wrong).map(|node| {
                Fault::new(id::WRONG_SHAPE, node.span, format!("{key} can't be written like this"))
                    .allowed(wanted)
                    .cure("see the manual's page on parts")
            }));
        }
        for node in file.node.get("rules").and_then(Node::as_list).unwrap_or_default() {
            if let Some(own) = rules.read_rule(node, &file.source.text, &mut found) {
                found.extend(check_own(&own, node, &rules));
                rules.to_mut().rules.push(own);
            }
        }
        if file.node.get("apart").is_some()
            && let Some(fields) = Fields::of(&file.node, &KEYS, &mut Vec::new())
        {
            rules.to_mut().add_apart(&fields, &mut found);
        }
        add(file, found, faults);
    }
    let mut shelf = Shelf { rules, parts: Vec::new(), measured_in: BTreeMap::new(), by_name: HashMap::new() };
    for file in files {
        let mut found = Vec::new();
        shelf.add(file, &mut found);
        add(file, found, faults);
    }
    shelf
}

/// A rule of the shop's own has a name of its own, and an example that it gives: nobody else would see that it is wrong.
fn check_own(own: &Rule, node: &Node, rules: &Rules) -> Vec<Fault> {
    let mut found = own.check_examples();
    let span = node.get("id").map_or(node.span, |id| id.span);
    if own.examples.is_empty() {
        found.push(
            Fault::new(id::EXAMPLE_OUT, span, "a rule of the shop's own needs an example that was thought through")
                .allowed("examples: [{parts: {…}, gives: fits, source: …}]")
                .cure("write one for each outcome, with whoever says so"),
        );
    }
    if rules.rules.iter().any(|known| known.id == own.id) {
        found.push(
            Fault::new(id::NAME_TWICE, span, format!("{} is a rule already", own.id))
                .found(own.id.clone())
                .cure("give it another id"),
        );
    }
    found
}

fn add(file: &ShelfFile, found: Vec<Fault>, faults: &mut Faults) {
    faults.extend(found.into_iter().map(|fault| Diagnostic { file: file.source.name.clone(), fault }));
}

impl Shelf {
    /// The part with this name.
    #[must_use]
    pub fn part(&self, name: &str) -> Option<&Part> {
        self.by_name.get(name).map(|place| &self.parts[*place])
    }

    /// The family of a part.
    #[must_use]
    pub fn family_of(&self, part: &Part) -> Option<&Family> {
        self.rules.family(&part.family)
    }

    /// The parts of a family, in their order.
    pub fn of_family<'s>(&'s self, family: &'s str) -> impl Iterator<Item = &'s Part> {
        self.parts.iter().filter(move |part| part.family == family)
    }

    /// The fault of a part that isn't there.
    #[must_use]
    pub fn unknown(&self, name: &str, span: Span) -> Fault {
        let names = self.parts.iter().map(|part| part.name.value.as_str());
        Fault::new(id::UNKNOWN_PART, span, format!("there is no part called {name} on the shelf")).found(name).nearest(
            name,
            names,
            "put it on the shelf, content/shelf/FAMILY.yaml, or name another",
        )
    }

    fn add(&mut self, file: &ShelfFile, faults: &mut Vec<Fault>) {
        let Some(family) = self.rules.family(&file.family).cloned() else {
            // A family with faults of its own is not missing as well.
            if file.node.get("family").is_none() {
                faults.push(unknown_family(&file.family, Span::at(0), &self.rules.families));
            }
            return;
        };
        for entry in file.node.get("measured_in").and_then(Node::as_map).unwrap_or_default() {
            match (family.attribute(&entry.key.value), entry.value.text()) {
                (None, _) => faults.push(unknown_attribute(&family, &entry.key.value, entry.key.span)),
                (Some(_), None) => faults.push(
                    Fault::new(id::WRONG_SHAPE, entry.value.span, "this is the path to one guide")
                        .allowed("measured_in: {capacity: ../guides/drivetrain/NAME.md}")
                        .cure("write one path after the colon"),
                ),
                (Some(attribute), Some(text)) => {
                    let path = Spanned::new(text.text().trim().to_owned(), text.whole());
                    let shown = Shown { file: file.source.name.clone(), path };
                    self.measured_in.insert((family.id.clone(), attribute.name.clone()), shown);
                }
            }
        }
        let Some(parts) = file.node.get("parts") else { return };
        let Some(entries) = parts.as_map() else {
            faults.push(
                Fault::new(id::WRONG_SHAPE, parts.span, "each part begins with its name")
                    .allowed("parts: {cassette-11-34: {title, source, checked, has}}")
                    .cure("write the name and a colon first, without a hyphen"),
            );
            return;
        };
        for entry in entries {
            self.add_part(&family, file, entry, faults);
        }
    }

    fn add_part(&mut self, family: &Family, file: &ShelfFile, entry: &Entry, faults: &mut Vec<Fault>) {
        check_entry_name(&entry.key, faults);
        if let Some(first) = self.part(&entry.key.value) {
            faults.push(
                Fault::new(id::NAME_TWICE, entry.key.span, format!("{} is a part already", entry.key.value))
                    .found(first.file.clone())
                    .cure("give one of the two another name"),
            );
            return;
        }
        let Some(part) = part(family, file, entry, faults) else { return };
        self.by_name.insert(part.name.value.clone(), self.parts.len());
        self.parts.push(part);
    }
}

fn part(family: &Family, file: &ShelfFile, entry: &Entry, faults: &mut Vec<Fault>) -> Option<Part> {
    let fields = Fields::of(&entry.value, &PART, faults)?;
    let title = fields.need_text("title", faults)?.text().trim().to_owned();
    let source = fields.need_text("source", faults)?.text().trim().to_owned();
    let checked = day(fields.need_text("checked", faults)?, faults);
    let of_part = Word { source, checked };
    let mut values = Values::new();
    let mut word = BTreeMap::new();
    let has = fields.need("has", faults)?;
    let Some(entries) = has.as_map() else {
        faults.push(
            Fault::new(id::WRONG_SHAPE, has.span, "has holds attributes, each with its value")
                .allowed("has: {largest: 34 teeth}")
                .cure("write each attribute with a colon and its value"),
        );
        return None;
    };
    for entry in entries {
        let Some(attribute) = family.attribute(&entry.key.value) else {
            faults.push(unknown_attribute(family, &entry.key.value, entry.key.span));
            continue;
        };
        let (node, own) = match entry.value.as_map() {
            None => (&entry.value, None),
            Some(_) => match of_its_own(&entry.value, faults) {
                Some((node, word)) => (node, Some(word)),
                None => continue,
            },
        };
        match read(attribute, node) {
            Ok(value) => {
                values.insert(attribute.name.clone(), value);
                word.insert(attribute.name.clone(), own.unwrap_or_else(|| of_part.clone()));
            }
            Err(fault) => faults.push(fault),
        }
    }
    let (name, family, file) = (entry.key.clone(), family.id.clone(), file.source.name.clone());
    Some(Part { name, family, title, values, word, file })
}

/// An attribute with a source and a day of its own.
fn of_its_own<'n>(node: &'n Node, faults: &mut Vec<Fault>) -> Option<(&'n Node, Word)> {
    let fields = Fields::of(node, &OF_ITS_OWN, faults)?;
    let value = fields.need("value", faults)?;
    let source = fields.need_text("source", faults)?.text().trim().to_owned();
    Some((value, Word { source, checked: day(fields.need_text("checked", faults)?, faults) }))
}

fn day(text: &Mapped, faults: &mut Vec<Fault>) -> Spanned<String> {
    check_date(text, faults);
    Spanned::new(text.text().trim().to_owned(), text.whole())
}
