//! Accepting a drift: the register as it is after somebody has put initials and a reason to what differs.
//!
//! A published figure that became another gives its sheet the next revision; what is new or gone is signed under the
//! revision that the sheet has. Nothing is written here.

use super::drift::{Difference, SheetDrift};
use super::{Change, Register, next, order};
use crate::evaluate::published::PublishedSheet;
use crate::text::Span;

/// Who signs, when and why.
#[derive(Clone, Debug)]
pub struct Signing {
    /// The day.
    pub on: String,
    /// Initials.
    pub by: String,
    /// The second pair.
    pub with: Option<String>,
    /// The reason.
    pub because: String,
}

/// What a signing did to one sheet.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Signed {
    /// The sheet's number.
    pub sheet: String,
    /// The revision that it got; nothing where it keeps the one it had.
    pub revision: Option<String>,
    /// How many things were accepted.
    pub accepted: usize,
}

/// Accepts what differs on these sheets.
pub fn sign(
    register: &mut Register,
    drift: &[&SheetDrift],
    sheets: &[PublishedSheet],
    signing: &Signing,
) -> Vec<Signed> {
    let mut done = Vec::with_capacity(drift.len());
    for one in drift {
        let sheet = sheets.iter().find(|sheet| sheet.number == one.sheet);
        done.push(accept(register, one, sheet, signing));
    }
    register.changes.sort_by(|one, other| {
        (&one.sheet, &one.on, order(&one.revision)).cmp(&(&other.sheet, &other.on, order(&other.revision)))
    });
    done
}

fn accept(register: &mut Register, drift: &SheetDrift, sheet: Option<&PublishedSheet>, signing: &Signing) -> Signed {
    let now = revision_now(register, &drift.sheet, sheet);
    let becomes = |one: &Difference| one.was.is_some() && one.is.is_some();
    let given = drift.differences.iter().any(becomes).then(|| next(&now));
    let change = |figure: &str, revision: &str, was: String, is: String| Change {
        sheet: drift.sheet.clone(),
        on: signing.on.clone(),
        revision: revision.to_owned(),
        figure: figure.to_owned(),
        was,
        is,
        by: signing.by.clone(),
        with: signing.with.clone(),
        because: signing.because.clone(),
        span: Span::default(),
    };
    let mut changes = Vec::new();
    if drift.is_new {
        let is = crate::text::count(drift.differences.len(), "figure");
        changes.push(change("", &now, String::new(), is));
    } else if sheet.is_none() {
        let was = crate::text::count(drift.differences.len(), "figure");
        changes.push(change("", &now, was, String::new()));
    }
    for one in &drift.differences {
        let key = (drift.sheet.clone(), one.name.clone());
        match &one.is {
            Some(is) => {
                register.signed.insert(key, (is.clone(), Span::default()));
            }
            None => {
                register.signed.remove(&key);
            }
        }
        if drift.is_new || sheet.is_none() {
            continue;
        }
        let said = |published: &Option<crate::register::Published>| {
            published.as_ref().map(|one| one.says.clone()).unwrap_or_default()
        };
        let letter = given.as_deref().filter(|_| becomes(one)).unwrap_or(&now);
        changes.push(change(&one.name, letter, said(&one.was), said(&one.is)));
    }
    register.changes.extend(changes);
    Signed { sheet: drift.sheet.clone(), revision: given, accepted: drift.differences.len() }
}

/// The revision that a sheet has now.
fn revision_now(register: &Register, number: &str, sheet: Option<&PublishedSheet>) -> String {
    match sheet {
        Some(sheet) => {
            let own = sheet.own_revision.as_str();
            // The later of the two by its letter: whatever the days say, no letter is given twice.
            let given = register.given(number).map(|(letter, _)| letter);
            given.filter(|given| order(given) > order(own)).unwrap_or(own).to_owned()
        }
        None => register.changes_of(number).last().map_or_else(|| "A".to_owned(), |change| change.revision.clone()),
    }
}
