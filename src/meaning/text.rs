//! Meanings for people: paragraphs and lists, wrapped to the terminal.

use super::{Meaning, Reach, SORTS};
use crate::commands::terminal::{write_hanging, write_wrapped};
use crate::text::count;

/// All meanings of a word, one below the other.
#[must_use]
pub fn text(meanings: &[Meaning], width: usize) -> String {
    let mut out = String::new();
    if meanings.len() > 1 {
        out.push_str(&format!("{} has {}.\n\n", meanings[0].word, count(meanings.len(), "meaning")));
    }
    for (place, meaning) in meanings.iter().enumerate() {
        if place > 0 {
            out.push('\n');
        }
        write_meaning(&mut out, meaning, width);
    }
    out
}

fn write_meaning(out: &mut String, meaning: &Meaning, width: usize) {
    write_wrapped(out, &format!("{}: {}", meaning.word, meaning.what), 0, width);
    for paragraph in &meaning.says {
        write_wrapped(out, paragraph, 2, width);
    }
    if !meaning.example.is_empty() {
        out.push('\n');
        for line in &meaning.example {
            out.push_str(format!("    {line}").trim_end());
            out.push('\n');
        }
        out.push('\n');
    }
    for (label, lines) in [("  Used in:", &meaning.used), ("  See:", &meaning.helps)] {
        for (place, line) in lines.iter().enumerate() {
            write_hanging(out, if place == 0 { label } else { "" }, line, 12, width);
        }
    }
}

/// Beyond this many, the words of a sort are counted and not listed.
const MOST_LISTED: usize = 160;

/// What can be asked.
#[must_use]
pub fn overview(reach: &Reach, width: usize) -> String {
    let mut out = String::from("locknut meaning WORD says what a word means. It knows\n\n");
    for sort in SORTS {
        let words = super::once((sort.words)(reach));
        let head = format!("  {}", sort.name);
        write_hanging(&mut out, &head, &format!("{}, {}", words.len(), sort.about), 14, width);
        if words.len() <= MOST_LISTED {
            write_wrapped(&mut out, &words.join(" · "), 14, width);
        } else {
            write_wrapped(&mut out, &format!("locknut meaning --list {} lists them", sort.name), 14, width);
        }
    }
    out
}
