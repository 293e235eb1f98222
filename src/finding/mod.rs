//! Finding a sheet: one classic script that holds the library's lines and the finder that reads them.
//!
//! Pages are opened from the disk, where nothing can be fetched, so that the whole index comes as one script that
//! assigns one name. It holds the titles, asks, symptoms, operations, parts, figures and summaries themselves, word by
//! word as numbers: the lines are the index. A browser reads them all through in a few thousandths of a second, so that
//! no postings are needed beside them, and what a word may mean is decided in one place, `finder.js`. Pages, guides and
//! files are not known here; whoever sets the site fills in the entries.

mod coding;
#[cfg(test)]
mod generated;
mod short;
mod synonyms;

pub use synonyms::{Synonyms, SynonymsProblem};

use crate::mechanics::javascript::bare;
use coding::{Vocabulary, chunks, front_coded, literal};
use std::fmt::Write;

/// What a sheet is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// One job, start to finish.
    Guide,
    /// One rider's question.
    Reply,
    /// One bike's parts and measurements.
    BuildSheet,
    /// A fault-finding chart.
    Chart,
    /// A chapter of the handbook.
    Handbook,
    /// One formula of the handbook.
    Formula,
}

impl Kind {
    /// The word for it, as the finder compares and shows it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Guide => "guide",
            Self::Reply => "reply",
            Self::BuildSheet => "build sheet",
            Self::Chart => "chart",
            Self::Handbook => "handbook",
            Self::Formula => "formula",
        }
    }
}

/// What can be found of one sheet. Every text is plain: marks are set, markup is gone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// The sheet's number; a formula's own name.
    pub number: String,
    /// The title as readers see it.
    pub title: String,
    /// The address, relative to the root of the site.
    pub href: String,
    /// What the sheet is.
    pub kind: Kind,
    /// The topic's word; empty where there is none.
    pub topic: String,
    /// Questions that the sheet answers.
    pub asks: Vec<String>,
    /// What the bicycle does.
    pub symptoms: Vec<String>,
    /// The place on the page (`op-20`) and the heading of each operation.
    pub operations: Vec<(String, String)>,
    /// Parts, tools and consumables.
    pub parts: Vec<String>,
    /// The sheet's summary.
    pub summary: String,
    /// What a figure is, and its text with the unit.
    pub figures: Vec<(String, String)>,
    /// The figure that answers, as it is shown.
    pub answer: Option<String>,
}

/// The marks that stand before a line. Their order is that of `FIELDS` in `finder.js`.
const HEAD: u8 = 0;
const TITLE: u8 = 1;
const ASK: u8 = 2;
const SYMPTOM: u8 = 3;
const OPERATION: u8 = 4;
const PART: u8 = 5;
const FIGURE: u8 = 6;
const SUMMARY: u8 = 7;

/// Words that say little in a question, without their apostrophes.
const SMALL: &str = "a about all am an and any are arent as at be but by can cant could did do does doesnt \
    dont for from get gets go goes got had has have how i if im in into is isnt it its ive just keep keeps me \
    may much must my need no not of off on one onto or our please really should so some than that the their them \
    then there these they this those to too up very want was we what when where which who why will with without \
    wont would you your";

/// One line of a sheet: its mark and its words.
type Line = (u8, Vec<String>);

/// The whole script: the index, the finder and its rows. The same entries give the same bytes, in whatever order they
/// come.
#[must_use]
pub fn script(entries: &[Entry], synonyms: &Synonyms) -> String {
    let mut out = index(entries, synonyms);
    out.push_str(&short::shorten(&(bare(include_str!("finder.js")) + &bare(include_str!("rows.js")))));
    out
}

/// The index alone: the assignment of the one name.
fn index(entries: &[Entry], synonyms: &Synonyms) -> String {
    let mut entries: Vec<&Entry> = entries.iter().collect();
    entries.sort_by(|a, b| (&a.href, &a.number, &a.title).cmp(&(&b.href, &b.number, &b.title)));
    let sheets: Vec<Vec<Line>> = entries.iter().map(|entry| lines(entry)).collect();
    let words = sheets.iter().flatten().flat_map(|(_, words)| words.iter().map(String::as_str));
    let vocabulary = Vocabulary::of(words);
    let coded: Vec<String> = sheets.iter().map(|lines| coded(lines, &vocabulary)).collect();
    let mut out = String::from("var locknutFinding={");
    let _ = writeln!(out, "units:\"{}\",{},", coding::UNITS.join("|"), coding::widths());
    let _ = writeln!(out, "minor:\"{SMALL}\",");
    let _ = writeln!(out, "synonyms:`{}`,", literal(&synonyms.text()));
    let _ = writeln!(out, "vocabulary:`{}`,", literal(&front_coded(vocabulary.in_order())));
    let _ = writeln!(out, "hrefs:`{}`,", literal(&front_coded(entries.iter().map(|entry| entry.href.as_str()))));
    let _ = writeln!(out, "library:`{}`}};", coded.join("\n"));
    out
}

/// The lines of a sheet, head first. An operation begins with its place, a figure ends with its text.
fn lines(entry: &Entry) -> Vec<Line> {
    let whole = |text: &str| coding::whole(text);
    let mut head = vec![whole(&entry.number), entry.kind.word().to_owned(), whole(&entry.topic)];
    head.extend(entry.answer.as_deref().map(whole));
    let mut lines = vec![(HEAD, head), (TITLE, chunks(&entry.title))];
    lines.extend(entry.asks.iter().map(|text| (ASK, chunks(text))));
    lines.extend(entry.symptoms.iter().map(|text| (SYMPTOM, chunks(text))));
    for (place, heading) in &entry.operations {
        let place = vec![whole(place.trim_start_matches('#'))];
        lines.push((OPERATION, [place, chunks(heading)].concat()));
    }
    lines.extend(entry.parts.iter().map(|text| (PART, chunks(text))));
    for (about, text) in &entry.figures {
        lines.push((FIGURE, [chunks(about), vec![whole(text)]].concat()));
    }
    lines.push((SUMMARY, chunks(&entry.summary)));
    // A line without words has no share in any question.
    lines.retain(|(_, words)| !words.is_empty());
    lines
}

fn coded(lines: &[Line], vocabulary: &Vocabulary) -> String {
    let mut out = String::new();
    for (mark, words) in lines {
        out.push(char::from(b'0' + mark));
        for word in words {
            vocabulary.write(&mut out, word);
        }
    }
    out
}

#[cfg(test)]
mod tests;
