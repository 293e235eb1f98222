//! What is published now against what was signed: each difference, old and new, with the reason.
//!
//! Printed texts decide whether there is a difference; what a figure was worked from tells why. Nothing is judged here.

use super::{Published, Register, spelled};
use crate::diagnostic::Diagnostic;
use crate::evaluate::published::PublishedSheet;
use crate::fault::{Fault, Severity, id};
use crate::library::{Faults, Library};
use crate::text::{Span, count};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// One difference.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Difference {
    /// The sheet's number.
    pub sheet: String,
    /// The name of what differs on it.
    pub name: String,
    /// As it was signed; nothing where it is new.
    pub was: Option<Published>,
    /// As it is; nothing where it is gone.
    pub is: Option<Published>,
    /// Why, in words.
    pub why: Vec<String>,
}

impl Difference {
    /// True where a second pair of initials is asked for: it stands, or stood, under a safety notice.
    #[must_use]
    pub fn is_guarded(&self) -> bool {
        [&self.was, &self.is].into_iter().flatten().any(|one| one.guarded)
    }
}

/// What differs on one sheet.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SheetDrift {
    /// The sheet's number.
    pub sheet: String,
    /// Its file; empty where there is none any more.
    pub file: String,
    /// True where nothing of it was ever signed.
    pub is_new: bool,
    /// What differs.
    pub differences: Vec<Difference>,
    /// The revisions that were issued with the figures as they were signed.
    pub held: Vec<String>,
}

/// Everything that differs, by sheet.
#[must_use]
pub fn drift(register: &Register, sheets: &[PublishedSheet]) -> Vec<SheetDrift> {
    let now: BTreeMap<&str, &PublishedSheet> = sheets.iter().map(|sheet| (sheet.number.as_str(), sheet)).collect();
    let mut found: Vec<SheetDrift> = now.values().filter_map(|sheet| of_sheet(register, sheet)).collect();
    let mut gone: Vec<&str> = register.signed.keys().map(|(sheet, _)| sheet.as_str()).collect();
    gone.dedup();
    for sheet in gone.into_iter().filter(|sheet| !now.contains_key(sheet)) {
        let differences = register.of_sheet(sheet).map(|(name, was)| Difference {
            sheet: sheet.to_owned(),
            name: name.to_owned(),
            was: Some(was.clone()),
            is: None,
            why: vec![format!("sheet {sheet} is no longer pressed")],
        });
        let differences = differences.collect();
        found.push(SheetDrift {
            sheet: sheet.to_owned(),
            file: String::new(),
            is_new: false,
            differences,
            held: held(register, sheet, None),
        });
    }
    found.sort_by(|one, other| one.sheet.cmp(&other.sheet));
    found
}

fn of_sheet(register: &Register, sheet: &PublishedSheet) -> Option<SheetDrift> {
    let signed: BTreeMap<&str, &Published> = register.of_sheet(&sheet.number).collect();
    let is_new = signed.is_empty();
    let mut differences = Vec::new();
    for (name, is) in &sheet.lines {
        let was = signed.get(name.as_str()).copied();
        if was.is_some_and(|was| was.is_same(is)) {
            continue;
        }
        let why = match was {
            Some(was) => why(was, is),
            None if is_new => vec![format!("sheet {} is new", sheet.number)],
            None if name.starts_with("limit ") => vec!["this limit began to speak".to_owned()],
            None => vec!["new on this sheet".to_owned()],
        };
        differences.push(Difference {
            sheet: sheet.number.clone(),
            name: name.clone(),
            was: was.cloned(),
            is: Some(is.clone()),
            why,
        });
    }
    for (name, was) in signed.iter().filter(|(name, _)| !sheet.lines.contains_key(**name)) {
        let why = if name.starts_with("limit ") { "this limit no longer speaks" } else { "no longer on this sheet" };
        differences.push(Difference {
            sheet: sheet.number.clone(),
            name: (*name).to_owned(),
            was: Some((*was).clone()),
            is: None,
            why: vec![why.to_owned()],
        });
    }
    differences.sort_by(|one, other| one.name.cmp(&other.name));
    let held = held(register, &sheet.number, Some(&sheet.stamp.revision));
    (!differences.is_empty()).then(|| SheetDrift {
        sheet: sheet.number.clone(),
        file: sheet.file.clone(),
        is_new,
        differences,
        held,
    })
}

/// The revisions of a sheet that were issued with what is signed now: from the one that last changed a figure on.
fn held(register: &Register, sheet: &str, now: Option<&str>) -> Vec<String> {
    let changes = register.changes_of(sheet).filter(|change| change.is_revision() || change.figure.is_empty());
    let mut held: Vec<String> = changes.map(|change| change.revision.clone()).collect();
    held.extend(now.map(str::to_owned));
    held.dedup();
    held
}

/// The revisions that held the figure as it is signed: those since it was last changed.
#[must_use]
pub fn revisions_with(register: &Register, difference: &Difference, now: &[String]) -> Vec<String> {
    let changes = register.changes_of(&difference.sheet);
    let since = changes.filter(|change| change.figure == difference.name && !change.is.is_empty()).last();
    let first = since.map(|change| change.revision.as_str());
    let begins = first.and_then(|first| now.iter().position(|letter| letter == first)).unwrap_or(0);
    now[begins..].to_vec()
}

/// Why a published figure differs from what was signed.
fn why(was: &Published, is: &Published) -> Vec<String> {
    let mut reasons = Vec::new();
    if was.formula != is.formula {
        reasons.push(match (&was.formula, &is.formula) {
            (Some(was), Some(is)) => formula_changed(was, is),
            (None, Some(is)) => format!("it is worked by {is} now, and was quoted before"),
            (Some(was), None) => format!("it is quoted now, and was worked by {was} before"),
            (None, None) => String::new(),
        });
    }
    if was.source != is.source {
        let said = |source: &Option<String>| source.clone().unwrap_or_else(|| "no source".to_owned());
        reasons.push(format!("source: {}, now {}", said(&was.source), said(&is.source)));
    }
    let old: BTreeMap<&str, &str> = was.from.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    for (name, text) in &is.from {
        match old.get(name.as_str()) {
            Some(before) if before != text => reasons.push(format!("{}: {before}, now {text}", spelled(name))),
            Some(_) => {}
            None => reasons.push(format!("{} is {text}, and was not asked for before", spelled(name))),
        }
    }
    let new: Vec<&str> = is.from.iter().map(|(name, _)| name.as_str()).collect();
    let left = was.from.iter().filter(|(name, _)| !new.contains(&name.as_str()));
    reasons.extend(left.map(|(name, text)| format!("{} was {text}, and is no longer asked for", spelled(name))));
    reasons.retain(|reason| !reason.is_empty());
    if reasons.is_empty() {
        reasons.push(if is.formula.is_some() || is.digest.is_some() {
            "nothing that it is worked from: the shop's units, the page's wording of it, or the program".to_owned()
        } else {
            "the figure itself: it is quoted or measured".to_owned()
        });
    }
    reasons
}

/// `chain-length 1` and `chain-length 2`: another version, or another formula.
fn formula_changed(was: &str, is: &str) -> String {
    let (old, new) = (was.rsplit_once(' '), is.rsplit_once(' '));
    match (old, new) {
        (Some((formula, version)), Some((same, now))) if formula == same => {
            format!("formula {formula}: version {version}, now {now}")
        }
        _ => format!("formula: {was}, now {is}"),
    }
}

/// So many sheets that were never signed are told one by one.
const MOST_NEW: usize = 3;

/// What a library's own checks say of its drift: by the shop's word a note or a fault of each sheet, or nothing where
/// nothing was ever signed and the shop doesn't ask for it.
#[must_use]
pub fn check(library: &Library, found: &[SheetDrift], sheets: &[PublishedSheet]) -> Faults {
    let severity = library.shop.unsigned_drift.unwrap_or(Severity::Note);
    let shop = "content/shop.yaml";
    let say = |file: &str, span: Span, message: String| {
        let fault = Fault { severity, ..Fault::new(id::UNSIGNED_DRIFT, span, message) };
        (file.to_owned(), fault)
    };
    if found.is_empty() || (library.register.is_empty() && library.shop.unsigned_drift.is_none()) {
        return Faults::new();
    }
    let told = if library.register.is_empty() {
        let cure = "read them through, then accept them: locknut sign --by AB --because \"first issue\"";
        let (file, fault) = say(shop, Span::at(0), "no figure of this library has been signed yet".to_owned());
        vec![(file, fault.found(summary(found)).cure(cure))]
    } else {
        let one = |sheet: &SheetDrift| {
            let of_sheet = sheets.iter().find(|one| one.number == sheet.sheet);
            let register = library.register.source.as_ref().map_or(super::FILE, |source| source.name.as_str());
            let (file, span) = of_sheet.map_or((register, Span::at(0)), |one| (one.file.as_str(), one.number_span));
            let count = count(sheet.differences.len(), "figure");
            let message = match (sheet.is_new, of_sheet) {
                (true, _) => format!("sheet {} is not signed: {count}", sheet.sheet),
                (false, Some(_)) => {
                    let differ = if sheet.differences.len() == 1 { "differs" } else { "differ" };
                    format!("{count} of sheet {} {differ} from what was signed", sheet.sheet)
                }
                (false, None) => format!("sheet {} was signed with {count}, and is no longer pressed", sheet.sheet),
            };
            let (file, fault) = say(file, span, message);
            let first = sheet.differences.iter().find(|one| one.was.is_some() && one.is.is_some());
            let fault = match first.map(said) {
                Some(said) => fault.found(said),
                None => fault,
            };
            (file, fault.cure("locknut drift shows what differs and why; locknut sign accepts it"))
        };
        // Sheets that were never signed are many when a library grows: beyond a few they are told together.
        let (new, others): (Vec<&SheetDrift>, Vec<&SheetDrift>) = found.iter().partition(|sheet| sheet.is_new);
        let mut told: Vec<_> = others.into_iter().map(&one).collect();
        if new.len() <= MOST_NEW {
            told.extend(new.into_iter().map(one));
        } else {
            let numbers: Vec<&str> = new.iter().map(|sheet| sheet.sheet.as_str()).collect();
            let (file, fault) = say(super::FILE, Span::at(0), format!("{} are not signed", count(new.len(), "sheet")));
            let cure = "locknut drift lists their figures; locknut sign accepts them";
            told.push((file, fault.found(numbers.join(", ")).cure(cure)));
        }
        told
    };
    told.into_iter().map(|(file, fault)| Diagnostic { file, fault }).collect()
}

/// A difference in one line.
fn said(one: &Difference) -> String {
    let text = |published: &Option<Published>| published.as_ref().map_or("nothing", |one| one.says.as_str()).to_owned();
    let (was, is) = (text(&one.was), text(&one.is));
    if was == is {
        return format!("{}: its contents are others", spelled(&one.name));
    }
    format!("{}: {was} signed, {is} now", spelled(&one.name))
}

/// The whole drift in one line.
#[must_use]
pub fn summary(found: &[SheetDrift]) -> String {
    let new = found.iter().filter(|sheet| sheet.is_new).count();
    let all: usize = found.iter().map(|sheet| sheet.differences.len()).sum();
    let new_words = if new > 0 { format!(", {new} of them never signed before") } else { String::new() };
    format!("{} on {}{new_words}", count(all, "difference"), count(found.len(), "sheet"))
}

/// The drift as data.
#[must_use]
pub fn to_json(register: &Register, found: &[SheetDrift]) -> Value {
    let sheets = found.iter().map(|sheet| {
        let differences = sheet.differences.iter().map(|one| {
            json!({
                "name": one.name,
                "was": one.was.as_ref().map(|was| was.says.clone()),
                "is": one.is.as_ref().map(|is| is.says.clone()),
                "why": one.why,
                "second_initials": one.is_guarded(),
                "issued_with_the_old": if one.was.is_some() { revisions_with(register, one, &sheet.held) } else { Vec::new() },
            })
        });
        json!({ "sheet": sheet.sheet, "file": sheet.file, "new": sheet.is_new, "differences": differences.collect::<Vec<_>>() })
    });
    Value::Array(sheets.collect())
}
