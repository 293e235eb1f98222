//! `bikes/NAME.yaml`: a build sheet, one bike's measurements by name, used in any working as `NAME.measure`.
//!
//! The same values and tolerances as stated figures have. `parts` names parts of the shelf; which they are is looked
//! up where pairings are asked.

use super::date::check_date;
use super::stated::{Amount, check_entry_name, read_amount};
use crate::diagnostic::Source;
use crate::fault::{Fault, id};
use crate::text::{Mapped, Span, Spanned};
use crate::yaml::{self, Fields};

/// One bike.
#[derive(Clone, Debug)]
pub struct BuildSheet {
    /// The file's path.
    pub file: String,
    /// The file's name without its ending: the word before the dot.
    pub name: String,
    /// What the bike is called.
    pub title: String,
    /// The sheet's number.
    pub number: Spanned<String>,
    /// The sheet's own revision.
    pub revision: String,
    /// When that was issued.
    pub issued: String,
    /// What was measured on it.
    pub measured: Vec<Measure>,
}

/// One measurement.
#[derive(Clone, Debug)]
pub struct Measure {
    /// The word after the dot.
    pub name: String,
    /// The value.
    pub amount: Amount,
    /// Where it stands.
    pub span: Span,
}

const KEYS: &[&str] = &["title", "number", "revision", "issued", "prepared_by", "approved_by", "parts", "measured"];

/// Reads one build sheet.
pub fn parse(source: &Source, file: &str, faults: &mut Vec<Fault>) -> Option<BuildSheet> {
    let text = Mapped::verbatim(source.text.as_str(), 0);
    let node = yaml::parse(&text).map_err(|found| faults.extend(found)).ok()?;
    let fields = Fields::new(&node, "a build sheet", KEYS, faults)?;
    let mut word = |key: &str| fields.need_text(key, faults).map(|text| text.text().trim().to_owned());
    let (title, revision, issued, prepared) = (word("title"), word("revision"), word("issued"), word("prepared_by"));
    let number =
        fields.need_text("number", faults).map(|text| Spanned::new(text.text().trim().to_owned(), text.whole()));
    if let Some(date) = fields.get("issued").and_then(|node| node.text()) {
        check_date(date, faults);
    }
    fields.text("approved_by", faults);
    if let Some(parts) = fields.get("parts") {
        check_parts(parts, faults);
    }
    let measured = fields.get("measured").map(|node| measures(node, faults)).unwrap_or_default();
    let sheet = BuildSheet {
        file: source.name.clone(),
        name: file.trim_end_matches(".yaml").to_owned(),
        title: title?,
        number: number?,
        revision: revision?,
        issued: issued?,
        measured,
    };
    prepared.map(|_| sheet)
}

/// Parts are names of the shelf, one each.
fn check_parts(node: &yaml::Node, faults: &mut Vec<Fault>) {
    let Some(entries) = node.as_map() else {
        faults.push(
            Fault::new(id::WRONG_SHAPE, node.span, "parts holds families, each with the name of a part")
                .allowed("parts: {cassette: cassette-11-34}")
                .cure("write each family with a colon and one name"),
        );
        return;
    };
    faults.extend(entries.iter().filter(|entry| entry.value.text().is_none()).map(|entry| {
        Fault::new(id::WRONG_SHAPE, entry.value.span, format!("{} is the name of one part", entry.key.value))
            .cure("write one name after the colon")
    }));
}

fn measures(node: &yaml::Node, faults: &mut Vec<Fault>) -> Vec<Measure> {
    let Some(entries) = node.as_map() else {
        faults.push(
            Fault::new(id::WRONG_SHAPE, node.span, "measured holds names, each with its value")
                .allowed("measured: {chainstay: 410 mm ± 2 mm}")
                .cure("write each name with a colon and what was measured"),
        );
        return Vec::new();
    };
    let mut measured = Vec::with_capacity(entries.len());
    for entry in entries {
        check_entry_name(&entry.key, faults);
        let Some(text) = entry.value.text() else {
            faults.push(
                Fault::new(id::WRONG_SHAPE, entry.value.span, format!("{} takes a single value", entry.key.value))
                    .cure("write one value after the colon"),
            );
            continue;
        };
        match read_amount(text) {
            Ok(amount) => measured.push(Measure { name: entry.key.value.clone(), amount, span: entry.key.span }),
            Err(fault) => faults.push(fault),
        }
    }
    measured
}
