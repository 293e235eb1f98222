//! `bikes/NAME.yaml`: a build sheet, one bike's parts and measurements, used in any working as `NAME.measure` and
//! `NAME.family.attribute`.
//!
//! ```yaml
//! title, number, revision, issued, prepared_by, approved_by, summary
//! parts: {cassette: cassette-11-34, front_tyre: tyre-25, cable_outer: [outer-brake, outer-gear]}
//! measured: {chainstay: 410 mm ± 2 mm}      # the same values and tolerances as stated figures have
//! riders: [55 kg, 70 kg, 85 kg]             # for whom tyre pressures are set
//! cadence: [70 rpm, 100 rpm]                # between which gears are set against speed
//! ```
//! A key of `parts` is a family, with `front_` or `rear_` before it where a bicycle has one at each end. Which parts
//! they are is looked up on the shelf when the sheet is evaluated.

use super::date::check_date;
use super::front::{check_revision, shared};
use super::stated::{Amount, check_entry_name, read_amount};
use crate::diagnostic::Source;
use crate::fault::{Fault, id};
use crate::mechanics::pairing::Place;
use crate::mechanics::pairing::shelf::Rules;
use crate::mechanics::units::Unit;
use crate::text::{Mapped, Span, Spanned};
use crate::yaml::keys::{Holds, Key, Keys, keys};
use crate::yaml::{self, Fields};
use std::sync::Arc;

/// One bike.
#[derive(Clone, Debug)]
pub struct BuildSheet {
    /// The file.
    pub source: Arc<Source>,
    /// The file's name without its ending: the word before the dot.
    pub name: String,
    /// What the bike is called.
    pub title: String,
    /// The sheet's number.
    pub number: Spanned<String>,
    /// The sheet's own revision.
    pub revision: Spanned<String>,
    /// When that was issued.
    pub issued: String,
    /// Who wrote it.
    pub prepared_by: String,
    /// Who let it out; without it the sheet is not pressed.
    pub approved_by: Option<String>,
    /// What it is for, in a sentence.
    pub summary: Option<String>,
    /// Its parts.
    pub parts: Vec<Fitted>,
    /// What was measured on it.
    pub measured: Vec<Measure>,
    /// Riders for whom pressures are set.
    pub riders: Vec<Amount>,
    /// The least and the most cadence for its gears.
    pub cadence: Option<[Amount; 2]>,
}

/// A part of a bike.
#[derive(Clone, Debug)]
pub struct Fitted {
    /// The key: a family, or one end of a bicycle and a family, as in `front_tyre`.
    pub key: Spanned<String>,
    /// The part's name on the shelf.
    pub name: Spanned<String>,
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

/// A build sheet.
pub static KEYS: Keys = Keys::new("a build sheet", ROWS);

const ROWS: &[Key] = &[
    shared("title").but("What the bike is called.", "title: Town roadster"),
    shared("number").but("The sheet's number, which no other sheet has.", "number: BS-001"),
    shared("revision"),
    shared("issued"),
    shared("prepared_by"),
    shared("approved_by"),
    shared("summary").spared().but("What the bike is for.", "summary: A bike for short ways with two bags."),
    OWN[0],
    OWN[1],
    OWN[2],
    OWN[3],
];

const OWN: &[Key; 4] = keys! {
    "parts" free Holds::Map("families, with front_ or rear_ before them where there is one at each end", &NAMES), "The bike's parts, by their names on the shelf. The sheet then tells whether they go together.",
        "parts: {cassette: cassette-11-34, front_tyre: tyre-25, cable_outer: [outer-brake, outer-gear]}";
    "measured" free Holds::Map("measurements", &Holds::Text("a value with its unit")), "What was measured on the bike. Any working can use it as NAME.measurement; it comes before what the parts say.",
        "measured: {chainstay: 410 mm ± 2 mm}";
    "riders" free Holds::List(&Holds::Text("a mass")), "The riders for whom tyre pressures are set.",
        "riders: [55 kg, 70 kg]";
    "cadence" free Holds::Sized(&Holds::List(&Holds::Text("a rate of turning")), 2, Some(2)), "The least and the most cadence between which gears are set against speed.",
        "cadence: [70 rpm, 100 rpm]";
};
const NAMES: Holds =
    Holds::Either(&[Holds::Text("a part on the shelf"), Holds::List(&Holds::Text("a part on the shelf"))]);

/// Reads one build sheet.
pub fn parse(source: &Arc<Source>, file: &str, faults: &mut Vec<Fault>) -> Option<BuildSheet> {
    let text = Mapped::verbatim(source.text.as_str(), 0);
    let node = yaml::parse(&text).map_err(|found| faults.extend(found)).ok()?;
    let fields = Fields::of(&node, &KEYS, faults)?;
    let mut word = |key: &str| fields.need_text(key, faults).map(|text| text.text().trim().to_owned());
    let (title, issued, prepared) = (word("title"), word("issued"), word("prepared_by"));
    let mut spanned =
        |key: &str| fields.need_text(key, faults).map(|text| Spanned::new(text.text().trim().to_owned(), text.whole()));
    let (number, revision) = (spanned("number"), spanned("revision"));
    faults.extend(revision.as_ref().and_then(check_revision));
    if let Some(date) = fields.get("issued").and_then(|node| node.text()) {
        check_date(date, faults);
    }
    let mut maybe = |key: &str| fields.text(key, faults).map(|text| text.text().trim().to_owned());
    let (approved_by, summary) = (maybe("approved_by"), maybe("summary"));
    let parts = fields.get("parts").map(|node| fitted(node, faults)).unwrap_or_default();
    let measured = fields.get("measured").map(|node| measures(node, faults)).unwrap_or_default();
    let riders = amounts(&fields, "riders", "kg", faults);
    let cadence = cadence(&fields, faults);
    Some(BuildSheet {
        source: Arc::clone(source),
        name: file.trim_end_matches(".yaml").to_owned(),
        title: title?,
        number: number?,
        revision: revision?,
        issued: issued?,
        prepared_by: prepared?,
        approved_by,
        summary,
        parts,
        measured,
        riders,
        cadence,
    })
}

impl BuildSheet {
    /// The path of its page.
    #[must_use]
    pub fn page(&self) -> String {
        format!("bikes/{}.html", self.name)
    }

    /// What was measured under this name.
    #[must_use]
    pub fn measure(&self, name: &str) -> Option<&Amount> {
        self.measured.iter().find(|measure| measure.name == name).map(|measure| &measure.amount)
    }
}

impl Fitted {
    /// The end of the bicycle, where the key says it, and the family. A family whose own name begins with an end, such as
    /// `rear_derailleur`, comes first.
    #[must_use]
    pub fn sort<'f>(&'f self, rules: &Rules) -> (Option<Place>, &'f str) {
        let key = self.key.value.as_str();
        if rules.family(key).is_some() { (None, key) } else { Place::split(key, '_') }
    }
}

/// The parts: a family, perhaps with a place before it, and one name or several.
fn fitted(node: &yaml::Node, faults: &mut Vec<Fault>) -> Vec<Fitted> {
    let Some(entries) = node.as_map() else {
        faults.push(
            Fault::new(id::WRONG_SHAPE, node.span, "parts holds families, each with the name of a part")
                .allowed("parts: {cassette: cassette-11-34, front_tyre: tyre-25}")
                .cure("write each family with a colon and one name"),
        );
        return Vec::new();
    };
    let mut parts = Vec::new();
    for entry in entries {
        let nodes = entry.value.as_list().unwrap_or(std::slice::from_ref(&entry.value));
        for node in nodes {
            let Some(text) = node.text().filter(|_| !node.is_blank()) else {
                let message = format!("{} is the name of one part, or a list of names", entry.key.value);
                faults.push(
                    Fault::new(id::WRONG_SHAPE, node.span, message).cure("write the names as they are on the shelf"),
                );
                continue;
            };
            let name = Spanned::new(text.text().trim().to_owned(), text.whole());
            parts.push(Fitted { key: entry.key.clone(), name });
        }
    }
    parts
}

/// A list of values that a unit measures.
fn amounts(fields: &Fields<'_>, key: &str, unit: &str, faults: &mut Vec<Fault>) -> Vec<Amount> {
    let texts = fields.texts(key, faults);
    let mut amounts = Vec::with_capacity(texts.len());
    for text in texts {
        match read_amount(text) {
            Ok(amount) if Unit::parse(unit).is_ok_and(|unit| unit.dimension == amount.unit.dimension) => {
                amounts.push(amount);
            }
            Ok(_) => faults.push(
                Fault::new(id::WRONG_KIND, text.whole(), format!("{key} are values in {unit}"))
                    .found(text.text())
                    .allowed(format!("{key}: [60 {unit}, 80 {unit}]"))
                    .cure("write the unit after each number"),
            ),
            Err(fault) => faults.push(fault),
        }
    }
    amounts
}

fn cadence(fields: &Fields<'_>, faults: &mut Vec<Fault>) -> Option<[Amount; 2]> {
    let node = fields.get("cadence")?;
    let ends = amounts(fields, "cadence", "rpm", faults);
    let ends = <[Amount; 2]>::try_from(ends).ok().filter(|[low, high]| low.value < high.value);
    if ends.is_none() {
        faults.push(
            Fault::new(id::WRONG_SHAPE, node.span, "cadence holds the least and the most")
                .allowed("cadence: [70 rpm, 100 rpm]")
                .cure("write two values, the smaller first"),
        );
    }
    ends
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
