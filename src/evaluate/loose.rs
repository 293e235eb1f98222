//! Loose figures: numbers with a unit that are neither worked, stated nor nominal.
//!
//! Looked at is what readers see: body text outside code and blocks, and the sentences of front matter and blocks.
//! ```text
//! figure = amount { ("–" | "to" | "×" | "±") amount } [ space | "-" ] unit
//! amount = number | whole "/" whole | whole " " whole "/" whole
//! ```
//! `in` counts only before punctuation, a bracket or the end, since it is a word as well. Phrases that the page
//! declares nominal are passed over whole.

use super::names::Names;
use crate::fault::{Fault, Severity, id};
use crate::mechanics::unit_reader;
use crate::mechanics::units::Unit;
use crate::text::Mapped;
use std::ops::Range;

/// A loose figure in a text.
#[derive(Clone, Debug, PartialEq)]
pub struct Loose {
    /// Where it stands in the text.
    pub range: Range<usize>,
    /// Its last number.
    pub number: f64,
    /// How many decimals that is written with.
    pub decimals: i32,
    /// Its unit.
    pub unit: Unit,
}

/// Notes every loose figure of a text, with a name of the page that has its value where one has.
pub(super) fn check(text: &Mapped, nominal: &[String], severity: Severity, names: &Names, faults: &mut Vec<Fault>) {
    for loose in find(text.text(), nominal) {
        let written = &text.text()[loose.range.clone()];
        let message = "this figure has no working or source";
        let fault = Fault::note(id::LOOSE_FIGURE, text.span(loose.range.clone()), message).found(written.trim());
        let cure = match same_value(&loose, names) {
            Some(name) => format!("write (={name}), which has this value"),
            None => "work it out on the page, quote it from a file in content/stated/, or, if it only names a size, \
                     list the phrase under nominal"
                .to_owned(),
        };
        faults.push(Fault { severity, ..fault.cure(cure) });
    }
}

/// A name whose value, as coarse as the figure is written, is the figure's.
fn same_value<'n>(loose: &Loose, names: &'n Names) -> Option<&'n str> {
    let half = 0.5 * 10f64.powi(-loose.decimals);
    let fits = |unit: &Unit| {
        unit.dimension == loose.unit.dimension && (!unit.dimension.is_none() || unit.text == loose.unit.text)
    };
    names
        .iter()
        .filter(|(_, named)| fits(&named.style.unit))
        .map(|(name, named)| (name, (loose.unit.from_base(named.value) - loose.number).abs()))
        .filter(|(_, off)| *off <= half * (1.0 + 1e-9))
        .min_by(|one, other| one.1.total_cmp(&other.1))
        .map(|(name, _)| name)
}

/// Every loose figure of a text; marks are passed over.
#[must_use]
pub fn find(text: &str, nominal: &[String]) -> Vec<Loose> {
    let covered = covered(text, nominal);
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(next) = text[at..].find(|c: char| c.is_ascii_digit()) {
        let start = at + next;
        if let Some(skip) = covered.iter().find(|range| range.contains(&start)) {
            at = skip.end;
            continue;
        }
        if begins_within_a_word(&text[..start]) {
            at = start + word_length(&text[start..]);
            continue;
        }
        let (end, number, decimals) = group(text, start);
        match unit_behind(text, end) {
            Some((unit, end)) => {
                found.push(Loose { range: start..end, number, decimals, unit });
                at = end;
            }
            None => at = end.max(start + 1),
        }
    }
    found
}

/// The stretches that are no figure: marks, and phrases that are names; the longest first.
fn covered(text: &str, nominal: &[String]) -> Vec<Range<usize>> {
    let mut covered: Vec<Range<usize>> = Vec::new();
    let mut at = 0;
    while let Some(found) = text[at..].find("(=") {
        let start = at + found;
        let end = text[start..].find(')').map_or(text.len(), |length| start + length + 1);
        covered.push(start..end);
        at = end;
    }
    let lower = text.to_ascii_lowercase();
    let mut phrases: Vec<String> = nominal.iter().map(|phrase| phrase.to_ascii_lowercase()).collect();
    phrases.sort_by_key(|phrase| std::cmp::Reverse(phrase.len()));
    for phrase in phrases.iter().filter(|phrase| !phrase.is_empty()) {
        for (start, _) in lower.match_indices(phrase.as_str()) {
            let end = start + phrase.len();
            let apart = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric());
            let whole = apart(text[..start].chars().next_back()) && apart(text[end..].chars().next());
            if whole && !covered.iter().any(|range| range.start < end && start < range.end) {
                covered.push(start..end);
            }
        }
    }
    covered
}

/// True after a letter or a digit, a hyphen after one, or a decimal point: `M5`, `DT-014`, `4.2.1`.
fn begins_within_a_word(before: &str) -> bool {
    let bare = before.strip_suffix(['-', '.', ',', '/', ':']).unwrap_or(before);
    let last = bare.chars().next_back();
    last.is_some_and(|c| c.is_alphabetic() || c == '_') && bare.len() == before.len()
        || bare.len() < before.len() && last.is_some_and(char::is_alphanumeric)
}

fn word_length(text: &str) -> usize {
    let length = text.find(|c: char| !(c.is_alphanumeric() || c == '-' || c == '.'));
    length.unwrap_or(text.len()).max(1)
}

/// Numbers that share one unit: where they end, and the last of them with its decimals.
fn group(text: &str, start: usize) -> (usize, f64, i32) {
    let (mut end, mut number, mut decimals) = amount(text, start).unwrap_or((start + 1, 0.0, 0));
    loop {
        let rest = &text[end..];
        let bare = rest.trim_start_matches([' ', '\u{A0}', '\n']);
        let Some(sign) = ["–", "to ", "×", "±", "+/-"].into_iter().find(|sign| bare.starts_with(sign)) else {
            break;
        };
        let behind = bare[sign.len()..].trim_start_matches([' ', '\u{A0}', '\n']);
        let Some((next, last, places)) = amount(text, text.len() - behind.len()) else { break };
        end = next;
        if sign != "±" && sign != "+/-" {
            (number, decimals) = (last, places);
        }
    }
    (end, number, decimals)
}

/// One number or fraction from a place on.
fn amount(text: &str, start: usize) -> Option<(usize, f64, i32)> {
    let digits = |from: usize| {
        let length = text[from..].bytes().take_while(u8::is_ascii_digit).count();
        (length > 0).then_some(from + length)
    };
    let end = digits(start)?;
    let fraction = |from: usize, whole: f64| {
        let over = digits(from)?;
        let under = text[over..].strip_prefix('/').and_then(|_| digits(over + 1))?;
        let (top, bottom): (f64, f64) = (text[from..over].parse().ok()?, text[over + 1..under].parse().ok()?);
        (bottom > 0.0).then_some((under, whole + top / bottom, 6))
    };
    if let Some(found) = fraction(start, 0.0) {
        return Some(found);
    }
    if text[end..].starts_with(' ')
        && let Some(found) = fraction(end + 1, text[start..end].parse().ok()?)
    {
        return Some(found);
    }
    // A full stop that ends a sentence is no decimal point.
    let point = text[end..].starts_with('.').then(|| digits(end + 1)).flatten();
    let last = point.unwrap_or(end);
    let decimals = point.map_or(0, |last| i32::try_from(last - end - 1).unwrap_or(0));
    Some((last, text[start..last].parse().ok()?, decimals))
}

/// The unit behind a number, and where it ends.
fn unit_behind(text: &str, at: usize) -> Option<(Unit, usize)> {
    let rest = &text[at..];
    let gap =
        rest.chars().next().filter(|c| [' ', '\u{A0}', '\u{202F}', '\u{2009}', '-', '\u{2011}', '\n'].contains(c));
    let start = at + gap.map_or(0, char::len_utf8);
    let (unit, length) = unit_reader::read(&text[start..])?;
    let end = start + length;
    let behind = text[end..].chars().next();
    if unit.text.is_empty() || behind.is_some_and(|c| c.is_alphanumeric() || c == '_') {
        return None;
    }
    let is_word = &text[start..end] == "in";
    let closes = behind.is_none_or(|c| ".,;:!?()[]–—…’\"".contains(c));
    (!is_word || closes).then_some((unit, end))
}

#[cfg(test)]
mod tests {
    use super::find;

    /// What product.md counts as a figure, and what not.
    #[test]
    fn figures_are_found_and_names_are_not() {
        let figures = |text: &str, nominal: &[&str]| {
            let nominal: Vec<String> = nominal.iter().map(|phrase| (*phrase).to_owned()).collect();
            find(text, &nominal).into_iter().map(|loose| text[loose.range].to_owned()).collect::<Vec<_>>()
        };
        assert_eq!(figures("Tighten to 5 N·m, then turn 90° on.", &[]), ["5 N·m", "90°"]);
        assert_eq!(figures("cut 1 1/8 in, or 9/16 in.", &[]), ["1 1/8 in", "9/16 in"]);
        assert_eq!(figures("5 in the morning", &[]), Vec::<String>::new());
        assert_eq!(
            figures("a 2-inch gap; 5 to 6 N·m; 11–34 teeth; 700 × 28 mm", &[]),
            ["2-inch", "5 to 6 N·m", "11–34 teeth", "700 × 28 mm"]
        );
        assert_eq!(
            figures("On 2026-05-03, ISO 4210-2, DT-014, M5, two pairs, 3 of them, 7.", &[]),
            Vec::<String>::new()
        );
        assert_eq!(figures("410 mm ± 2 mm", &[]), ["410 mm", "2 mm"]);
        assert_eq!(figures("the 4 mm hex key turns 4 mm", &["4 mm hex key"]), ["4 mm"]);
        assert_eq!(figures("M5 × 20 mm and M5", &["M5 × 20 mm"]), Vec::<String>::new());
        assert_eq!(figures("(=chain.length in inch to 0.01) and 8 %", &[]), ["8 %"]);
        assert_eq!(figures("410mm", &[]), ["410mm"]);
    }
}
