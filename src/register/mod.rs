//! The published figures as they were last signed, what differs from them now, and accepting that.
//!
//! `content/register.yaml` in, a `Register` out (`read`); published figures and register in, differences with their
//! reasons out (`drift`); differences and initials in, the next register out (`sign`), which `write` makes text of, one line a figure.
//! Figures are keyed by sheet number and name, so that a renamed file is no drift. Printed texts are compared, never values.

/// What differs, and why.
pub mod drift;
mod read;
/// Accepting what differs.
pub mod sign;
mod write;

pub use read::parse;
pub use write::text;

use crate::diagnostic::Source;
use crate::text::Span;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Where the register stands in a library.
pub const FILE: &str = "content/register.yaml";

/// The number of a sheet, and the name of something that is published on it.
pub type Key = (String, String);

/// Something that a sheet publishes, as it is printed, and what it was worked from.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Published {
    /// As it is printed, the unit beside it in brackets.
    pub says: String,
    /// Digits of the hash of all that it says, where that is more than a text.
    pub digest: Option<String>,
    /// The formula with its version.
    pub formula: Option<String>,
    /// On whose word, of a figure that is quoted or measured.
    pub source: Option<String>,
    /// What it was worked from: names and printed texts.
    pub from: Vec<(String, String)>,
    /// True where it stands under a safety notice.
    pub guarded: bool,
    /// The first place where it stands in its file.
    pub span: Span,
}

impl Published {
    /// True where a reader sees the same.
    #[must_use]
    pub fn is_same(&self, other: &Self) -> bool {
        self.says == other.says && self.digest == other.digest
    }
}

/// The register.
#[derive(Clone, Debug, Default)]
pub struct Register {
    /// The file that it was read from; nothing where there is none yet.
    pub source: Option<Arc<Source>>,
    /// What was signed, with its place in the file.
    pub signed: BTreeMap<Key, (Published, Span)>,
    /// What was signed when, by whom and why: by sheet, then as it happened.
    pub changes: Vec<Change>,
}

/// One thing that a signing accepted.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Change {
    /// The sheet's number.
    pub sheet: String,
    /// The day.
    pub on: String,
    /// The revision that the sheet has since.
    pub revision: String,
    /// The figure's name on the sheet; empty where the whole sheet was signed for the first time, or went.
    pub figure: String,
    /// What was published before; empty where nothing was.
    pub was: String,
    /// What is published now; empty where nothing is.
    pub is: String,
    /// Initials of who signed.
    pub by: String,
    /// Initials of who signed with them.
    pub with: Option<String>,
    /// Why.
    pub because: String,
    /// Where it stands in the file.
    pub span: Span,
}

impl Change {
    /// True where a published figure became another: this makes a revision.
    #[must_use]
    pub fn is_revision(&self) -> bool {
        !self.was.is_empty() && !self.is.is_empty()
    }
}

/// What a sheet says of itself in its front matter.
#[derive(Clone, Copy, Debug)]
pub struct Own<'a> {
    /// Its number.
    pub number: &'a str,
    /// Its own revision.
    pub revision: &'a str,
    /// When that was issued.
    pub issued: &'a str,
    /// Who wrote it.
    pub prepared_by: &'a str,
}

/// What stands in a sheet's title block and in its revision table.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Stamp {
    /// The revision: the sheet's own, or the one that the register gave, whichever is later.
    pub revision: String,
    /// Its date.
    pub issued: String,
    /// The revision table, newest first.
    pub revisions: Vec<Revision>,
}

/// A line of a revision table.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Revision {
    /// The letter.
    pub letter: String,
    /// The day.
    pub date: String,
    /// What changed.
    pub change: String,
    /// By whom.
    pub by: String,
}

/// So many figures are named in a line of a revision table; the others are counted.
const MOST_NAMED: usize = 4;
/// So many of the latest revisions stand in a table.
const MOST_REVISIONS: usize = 8;

impl Register {
    /// True where nothing was ever signed.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.signed.is_empty() && self.changes.is_empty()
    }

    /// What was signed of a sheet.
    pub fn of_sheet<'r>(&'r self, sheet: &'r str) -> impl Iterator<Item = (&'r str, &'r Published)> + 'r {
        let from = (sheet.to_owned(), String::new());
        let lines = self.signed.range(from..).take_while(move |((number, _), _)| number == sheet);
        lines.map(|((_, name), (published, _))| (name.as_str(), published))
    }

    /// The changes of a sheet, as they happened.
    pub fn changes_of<'r>(&'r self, sheet: &'r str) -> impl Iterator<Item = &'r Change> + 'r {
        let begins = self.changes.partition_point(|change| change.sheet.as_str() < sheet);
        self.changes[begins..].iter().take_while(move |change| change.sheet == sheet)
    }

    /// The last revision that the register gave a sheet, with its day: by its letter, since lines that were merged by hand
    /// may have their days in another order.
    #[must_use]
    pub fn given<'r>(&'r self, sheet: &'r str) -> Option<(&'r str, &'r str)> {
        let given = self.changes_of(sheet).filter(|change| change.is_revision());
        given
            .map(|change| (change.revision.as_str(), change.on.as_str()))
            .max_by_key(|(letter, on)| (order(letter), *on))
    }

    /// What stands in the title block and the revision table of a sheet.
    #[must_use]
    pub fn stamp(&self, own: Own<'_>) -> Stamp {
        let mut revisions = vec![Revision {
            letter: own.revision.to_owned(),
            date: own.issued.to_owned(),
            change: "issued".to_owned(),
            by: own.prepared_by.to_owned(),
        }];
        let given: Vec<&Change> = self.changes_of(own.number).filter(|change| change.is_revision()).collect();
        revisions.extend(given.chunk_by(|one, other| one.revision == other.revision).map(revision));
        revisions.sort_by(|one, other| (&other.date, order(&other.letter)).cmp(&(&one.date, order(&one.letter))));
        revisions.truncate(MOST_REVISIONS);
        let (revision, issued) = (revisions[0].letter.clone(), revisions[0].date.clone());
        Stamp { revision, issued, revisions }
    }

    /// The latest day on which anything was signed; empty where nothing was.
    #[must_use]
    pub fn latest(&self) -> &str {
        self.changes.iter().map(|change| change.on.as_str()).max().unwrap_or_default()
    }

    /// The figures that changed, latest first, each signing of a sheet in one group.
    #[must_use]
    pub fn lately(&self) -> Vec<&[Change]> {
        let together = |one: &Change, other: &Change| {
            (&one.sheet, &one.on, &one.revision, one.is_revision())
                == (&other.sheet, &other.on, &other.revision, other.is_revision())
        };
        let groups = self.changes.chunk_by(together).filter(|group| group[0].is_revision());
        let mut groups: Vec<&[Change]> = groups.collect();
        groups.sort_by(|one, other| {
            (&other[0].on, order(&other[0].revision))
                .cmp(&(&one[0].on, order(&one[0].revision)))
                .then_with(|| one[0].sheet.cmp(&other[0].sheet))
        });
        groups
    }
}

/// One line of a revision table: every figure that changed with it, and why.
fn revision(group: &[&Change]) -> Revision {
    let named: Vec<String> = group.iter().take(MOST_NAMED).map(|change| told(change)).collect();
    let more = group.len().saturating_sub(MOST_NAMED);
    let more = if more > 0 { format!("; and {more} more") } else { String::new() };
    let first = group[0];
    let by = first.with.as_ref().map_or_else(|| first.by.clone(), |with| format!("{}, {with}", first.by));
    let because = first.because.trim_end_matches('.');
    Revision {
        letter: first.revision.clone(),
        date: first.on.clone(),
        change: format!("{}{more}. {because}.", named.join("; ")),
        by,
    }
}

/// A change in words: `chain links: 108 links, now 110 links`.
#[must_use]
pub fn told(change: &Change) -> String {
    let Change { figure, was, is, .. } = change;
    // Of a table, or of a verdict's reasons, only digits tell that they changed.
    if was == is {
        format!("{}: its contents changed", spelled(figure))
    } else {
        format!("{}: {was}, now {is}", spelled(figure))
    }
}

/// A figure's name as readers see it: the working and the value in words.
#[must_use]
pub fn spelled(figure: &str) -> String {
    figure.replace(['_', '.'], " ")
}

/// The order of revisions: A to Z, then AA; numbers by their size.
#[must_use]
pub fn order(letter: &str) -> (usize, &str) {
    (letter.len(), letter)
}

/// True of what a revision is written as: one to three capital letters, or a whole number.
#[must_use]
pub fn is_revision(text: &str) -> bool {
    let letters = (1..=3).contains(&text.len()) && text.bytes().all(|c| c.is_ascii_uppercase());
    let number = (1..=6).contains(&text.len()) && text.bytes().all(|c| c.is_ascii_digit()) && !text.starts_with('0');
    letters || number
}

/// The revision after this one: B after A, AA after Z, 10 after 9.
#[must_use]
pub fn next(revision: &str) -> String {
    if let Ok(number) = revision.parse::<u32>() {
        return (number + 1).to_string();
    }
    let mut letters: Vec<u8> = revision.bytes().collect();
    for letter in letters.iter_mut().rev() {
        if *letter < b'Z' {
            *letter += 1;
            return String::from_utf8(letters).unwrap_or_default();
        }
        *letter = b'A';
    }
    letters.insert(0, b'A');
    String::from_utf8(letters).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::{Change, Register, is_revision, next, order};

    #[test]
    fn revisions_follow_one_another() {
        for (before, after) in [("A", "B"), ("Z", "AA"), ("AZ", "BA"), ("ZZ", "AAA"), ("1", "2"), ("9", "10")] {
            assert_eq!(next(before), after);
            assert!(order(before) < order(after), "{before} comes before {after}");
            assert!(is_revision(before) && is_revision(after));
        }
        for wrong in ["", "a", "A1", "01", "AAAA", "Rev. B"] {
            assert!(!is_revision(wrong), "{wrong}");
        }
    }

    /// Whatever the days say after two registers were merged, the next signing must not give the same letter again.
    #[test]
    fn the_last_letter_goes_by_the_letters() {
        let change = |on: &str, revision: &str| Change {
            sheet: "DT-014".to_owned(),
            on: on.to_owned(),
            revision: revision.to_owned(),
            figure: "chain.links".to_owned(),
            was: "108 links".to_owned(),
            is: "110 links".to_owned(),
            by: "AB".to_owned(),
            with: None,
            because: "another chain".to_owned(),
            span: crate::text::Span::default(),
        };
        let changes = vec![change("2026-05-06", "C"), change("2026-05-10", "B")];
        let register = Register { changes, ..Register::default() };
        assert_eq!(register.given("DT-014"), Some(("C", "2026-05-06")));
    }
}
