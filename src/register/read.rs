//! The register's text to what was signed: line by line, as `write` makes it, each line a strict piece of YAML.
//!
//! A file of thousands of lines is read at every press, so no general reader goes over it. A line that `sign` doesn't write
//! is a fault; the marks of a merge that came to no end are explained with both sides' figures.

use super::{Change, Key, Published, Register, order};
use crate::diagnostic::Source;
use crate::fault::{Fault, id};
use crate::library::date::Date;
use crate::text::Span;
use serde_json::{Map, Value};
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::sync::Arc;

/// Reads the register; a file with a fault gives none of it, so that nothing is signed over what could not be read.
#[must_use]
pub fn parse(source: &Arc<Source>, faults: &mut Vec<Fault>) -> Option<Register> {
    let before = faults.len();
    if let Some(fault) = conflict(&source.text) {
        faults.push(fault);
        return None;
    }
    let mut reader = Reader { register: Register { source: Some(Arc::clone(source)), ..Register::default() }, faults };
    let mut part = Part::Head;
    let mut at = 0;
    for line in source.text.split_inclusive('\n') {
        let words = line.trim_end();
        let span = Span::new(at, at + words.len());
        at += line.len();
        match words {
            _ if words.is_empty() || words.starts_with('#') => {}
            "figures:" | "figures: {}" => part = Part::Figures,
            "changes:" | "changes: []" => part = Part::Changes,
            _ => reader.line(part, words, span),
        }
    }
    let mut register = reader.register;
    register.changes.sort_by(|one, other| {
        (&one.sheet, &one.on, order(&one.revision)).cmp(&(&other.sheet, &other.on, order(&other.revision)))
    });
    check_given(&register, faults);
    (faults.len() == before).then_some(register)
}

#[derive(Clone, Copy)]
enum Part {
    Head,
    Figures,
    Changes,
}

struct Reader<'f> {
    register: Register,
    faults: &'f mut Vec<Fault>,
}

impl Reader<'_> {
    fn line(&mut self, part: Part, line: &str, span: Span) {
        let read = match part {
            Part::Head => None,
            Part::Figures => self.figure(line, span),
            Part::Changes => self.change(line, span),
        };
        if read.is_none() {
            self.faults.push(
                Fault::new(id::REGISTER_LINE, span, "this is no line of a register")
                    .allowed("a line as sign writes it, whole and on a line of its own")
                    .cure("bring back the last version of content/register.yaml that was signed, and sign again"),
            );
        }
    }

    fn figure(&mut self, line: &str, span: Span) -> Option<()> {
        let line = line.strip_prefix("  ")?;
        let mut values = serde_json::Deserializer::from_str(line).into_iter::<String>();
        let key = values.next()?.ok()?;
        let rest = line[values.byte_offset()..].strip_prefix(": ")?;
        let (sheet, name) = key.split_once(' ')?;
        let published = published(&serde_json::from_str(rest).ok()?)?;
        match self.register.signed.entry((sheet.to_owned(), name.to_owned())) {
            Entry::Vacant(place) => {
                place.insert((published, span));
            }
            Entry::Occupied(first) => {
                let fault = twice(first.key(), &first.get().0, &published, span);
                self.faults.push(fault);
            }
        }
        Some(())
    }

    fn change(&mut self, line: &str, span: Span) -> Option<()> {
        let fields: Map<String, Value> = serde_json::from_str(line.strip_prefix("  - ")?).ok()?;
        let text = |name: &str| fields.get(name)?.as_str().map(str::to_owned);
        let change = Change {
            sheet: text("sheet")?,
            on: text("on").filter(|day| Date::parse(day).is_some())?,
            revision: text("revision").filter(|letter| super::is_revision(letter))?,
            figure: text("figure")?,
            was: text("was")?,
            is: text("is")?,
            by: text("by")?,
            with: text("with"),
            because: text("because")?,
            span,
        };
        self.register.changes.push(change);
        Some(())
    }
}

fn published(fields: &Map<String, Value>) -> Option<Published> {
    let text = |name: &str| fields.get(name).and_then(Value::as_str).map(str::to_owned);
    let from = fields.get("from").and_then(Value::as_object);
    let from = from.into_iter().flatten().filter_map(|(name, text)| Some((name.clone(), text.as_str()?.to_owned())));
    Some(Published {
        says: text("says")?,
        digest: text("digest"),
        formula: text("formula"),
        source: text("source"),
        from: from.collect(),
        guarded: fields.get("guarded").and_then(Value::as_bool).unwrap_or(false),
        span: Span::default(),
    })
}

/// The fault of a figure with two lines, as a merge leaves them that kept both.
fn twice(key: &Key, first: &Published, second: &Published, span: Span) -> Fault {
    let (sheet, name) = key;
    Fault::new(id::REGISTER_TWICE, span, format!("{name} of sheet {sheet} stands here twice"))
        .found(format!("{} and {}", first.says, second.says))
        .cure("leave one of the two lines, whichever; locknut drift then says whether it is what the library works out")
}

/// The fault of a merge that came to no end, with the figures that the two sides disagree about.
fn conflict(text: &str) -> Option<Fault> {
    const MARKS: [&str; 4] = ["<<<<<<< ", "||||||| ", "=======", ">>>>>>> "];
    let mut at = 0;
    let mut begins = None;
    let mut side = 0;
    let mut sides: [BTreeMap<String, String>; 2] = [BTreeMap::new(), BTreeMap::new()];
    for line in text.split_inclusive('\n') {
        let words = line.trim_end();
        if let Some(mark) = MARKS.iter().position(|mark| words.starts_with(mark)) {
            begins.get_or_insert(Span::new(at, at + words.len()));
            // What both sides began with is neither's.
            side = [1, 0, 2, 0][mark];
        } else if side > 0
            && let Some((key, rest)) = words.trim_start().split_once(": {")
        {
            let says = serde_json::from_str::<Map<String, Value>>(&format!("{{{rest}")).ok();
            let says = says.as_ref().and_then(|fields| fields.get("says")).and_then(Value::as_str);
            sides[side - 1].insert(key.trim_matches('"').to_owned(), says.unwrap_or_default().to_owned());
        }
        at += line.len();
    }
    let begins = begins?;
    let [ours, theirs] = &sides;
    let differ = ours.iter().filter_map(|(key, one)| {
        let other = theirs.get(key).filter(|other| *other != one)?;
        Some(format!("{key} is {one} on one side and {other} on the other"))
    });
    let differ: Vec<String> = differ.collect();
    let fault = Fault::new(
        id::REGISTER_CONFLICT,
        begins,
        "two versions of the register were merged and the merge is not finished",
    );
    let fault = if differ.is_empty() { fault } else { fault.found(differ.join("; ")) };
    Some(fault.cure(
        "take out the lines that git put in (<<<<<<<, =======, >>>>>>>), keep one line for each figure and all lines \
under changes, then ask locknut drift: what the library works out now decides, and sign accepts it",
    ))
}

/// The same letter given twice to one sheet, on two days or for two reasons: two branches that each signed.
fn check_given(register: &Register, faults: &mut Vec<Fault>) {
    let mut given: BTreeMap<(&str, &str), &Change> = BTreeMap::new();
    for change in register.changes.iter().filter(|change| change.is_revision()) {
        let first = given.entry((&change.sheet, &change.revision)).or_insert(change);
        if (&first.on, &first.by, &first.because) != (&change.on, &change.by, &change.because) {
            let (sheet, letter) = (&change.sheet, &change.revision);
            faults.push(
                Fault::new(
                    id::REGISTER_TWICE,
                    change.span,
                    format!("revision {letter} of sheet {sheet} was given twice"),
                )
                .found(format!("by {} on {} and by {} on {}", first.by, first.on, change.by, change.on))
                .cure(format!(
                    "two branches signed this sheet: write the next letter, {}, in the lines of the later one",
                    super::next(letter)
                )),
            );
        }
    }
}
