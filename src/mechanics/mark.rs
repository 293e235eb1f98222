//! Marks in text: `(=chain.links)` stands for a figure.
//!
//! ```text
//! mark = "(=" name [ "in" unit [ "to" step ] ] [ "bare" ] ")"
//! ```
//! Text in, words and marks out, each mark with the places of its parts. `\(=` is itself. What a name means is found
//! when the page is evaluated.

use super::digits;
use super::parser::page_name_length;
use super::units::Unit;
use crate::fault::{Fault, id};
use crate::text::{Mapped, Span, Spanned};

/// One mark.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// The figure's name.
    pub name: Spanned<String>,
    /// The unit that it is converted to.
    pub unit: Option<Spanned<Unit>>,
    /// Decimals, where the mark says how fine.
    pub decimals: Option<i32>,
    /// True where the number is set alone.
    pub bare: bool,
    /// The whole mark.
    pub span: Span,
}

/// A stretch of text.
#[derive(Clone, Debug, PartialEq)]
pub enum TextPiece {
    /// Words as they are.
    Words(String),
    /// A figure.
    Mark(Mark),
}

/// Splits text into words and marks; `file` is the whole file, to see what was escaped.
pub fn split_marks(text: &Mapped, file: &str, faults: &mut Vec<Fault>) -> Vec<TextPiece> {
    let mut pieces = Vec::new();
    let mut words = String::new();
    let mut rest = 0;
    while let Some(found) = text.text()[rest..].find("(=") {
        let at = rest + found;
        words.push_str(&text.text()[rest..at]);
        if is_escaped(text, at, file) {
            // In YAML the backslash is still there; in Markdown it has gone already.
            if words.ends_with('\\') {
                words.pop();
            }
            words.push_str("(=");
            rest = at + 2;
            continue;
        }
        let length = text.text()[at..].find(')').map_or(text.text().len() - at, |end| end + 1);
        match parse_mark(&text.slice(at..at + length)) {
            Ok(mark) => {
                if !words.is_empty() {
                    pieces.push(TextPiece::Words(std::mem::take(&mut words)));
                }
                pieces.push(TextPiece::Mark(mark));
            }
            Err(fault) => faults.push(fault),
        }
        rest = at + length;
    }
    words.push_str(&text.text()[rest..]);
    if !words.is_empty() {
        pieces.push(TextPiece::Words(words));
    }
    pieces
}

fn is_escaped(text: &Mapped, at: usize, file: &str) -> bool {
    let start = text.span(at..at + 1).start;
    text.text()[..at].ends_with('\\') || start > 0 && file.as_bytes().get(start - 1) == Some(&b'\\')
}

/// Reads one mark, from its `(=` to its `)`.
fn parse_mark(text: &Mapped) -> Result<Mark, Fault> {
    let whole = text.text();
    let bad = |range: std::ops::Range<usize>, message: &str, cure: &str| {
        Fault::new(id::BAD_MARK, text.span(range), message)
            .found(whole)
            .allowed("(=name), (=name in unit), (=name in unit to 0.01), (=name bare)")
            .cure(cure)
    };
    if !whole.ends_with(')') {
        return Err(bad(
            0..whole.len(),
            "this mark is never closed",
            "close it with ), or write \\(= where no figure is meant",
        ));
    }
    let length = page_name_length(&whole[2..]);
    if length == 0 {
        return Err(bad(0..whole.len(), "this mark names nothing", "write the name of a figure right after (="));
    }
    let mut mark = Mark {
        name: Spanned::new(whole[2..2 + length].to_owned(), text.span(2..2 + length)),
        unit: None,
        decimals: None,
        bare: false,
        span: text.whole(),
    };
    let end = whole.len() - 1;
    let mut at = 2 + length;
    while let Some((word, range)) = next_word(whole, at, end) {
        at = range.end;
        match word {
            "bare" => mark.bare = true,
            "in" if mark.unit.is_none() => {
                let Some((sign, range)) = next_word(whole, at, end) else {
                    return Err(bad(
                        range,
                        "a unit is missing after the word in",
                        "write the unit after it, as in mm, or take the word out",
                    ));
                };
                at = range.end;
                let unit =
                    Unit::parse(sign).map_err(|word| super::parser::unknown_unit(&word, text.span(range.clone())))?;
                mark.unit = Some(Spanned::new(unit, text.span(range)));
            }
            "to" if mark.unit.is_some() => {
                let step = next_word(whole, at, end);
                let places = step.as_ref().and_then(|(step, _)| digits::places(step));
                let (Some((_, range)), Some(places)) = (step, places) else {
                    return Err(bad(
                        range,
                        "a number such as 0.1 is missing after the word to",
                        "write 1, 0.1, 0.01 or 10 after it, to round to that, or take the word out",
                    ));
                };
                at = range.end;
                mark.decimals = Some(places);
            }
            _ => {
                return Err(bad(
                    range,
                    "this word has no meaning in a mark",
                    "take it out; only in, to and bare may follow the name",
                ));
            }
        }
    }
    Ok(mark)
}

fn next_word(text: &str, at: usize, end: usize) -> Option<(&str, std::ops::Range<usize>)> {
    let rest = &text[at..end];
    let start = at + rest.len() - rest.trim_start().len();
    let word = text[start..end].split_whitespace().next()?;
    Some((word, start..start + word.len()))
}
