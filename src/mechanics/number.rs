//! The digits of a number: one decimal point, no exponent, no thousands mark, and what to say otherwise.
//!
//! Steps, values and the plain numbers of formula files are all read here, so that a comma is told in the same words
//! everywhere. Signs, units and fractions are their readers' own.

/// What can be wrong with the characters of a number.
#[derive(Clone, Copy, Debug)]
pub(super) enum NumberProblem {
    Comma,
    Exponent,
    Point,
    Digits,
    Long,
}

impl NumberProblem {
    /// Message, cure and how many bytes to underline of the text that begins with the number.
    pub(super) fn words(self, text: &str) -> (&'static str, String, usize) {
        let length = text.find(|c: char| !(c.is_ascii_alphanumeric() || ".,".contains(c))).unwrap_or(text.len());
        let run = &text[..length.max(1).min(text.len())];
        match self {
            Self::Comma => {
                // The unit behind it is right, and no part of what is to be written otherwise.
                let digits = run.find(|c: char| !(c.is_ascii_digit() || ".,".contains(c))).unwrap_or(run.len());
                let cure = format!("write {}", comma_cure(&run[..digits]));
                ("a number takes a decimal point, never a comma", cure, digits)
            }
            Self::Exponent => (
                "a number takes no e for a power of ten",
                "write the number out, or choose a larger or smaller unit".to_owned(),
                run.len(),
            ),
            Self::Point => (
                "a digit must stand on each side of the decimal point",
                "write 0.5, not .5 or 5.".to_owned(),
                run.len(),
            ),
            Self::Long => (
                "no number of a workshop has so many digits",
                "write fewer digits, or choose a larger unit".to_owned(),
                run.len(),
            ),
            Self::Digits => {
                ("this is not written as a number", "write digits with one decimal point".to_owned(), run.len())
            }
        }
    }
}

/// The comma as a decimal comma where it can be one, left out where it marks thousands.
fn comma_cure(digits: &str) -> String {
    match digits.split_once(',') {
        Some((_, after)) if after.len() == 3 || after.contains([',', '.']) => {
            format!("{} or {}", digits.replace(',', ""), digits.replacen(',', ".", 1).replace(',', ""))
        }
        _ => digits.replace(',', "."),
    }
}

/// Beyond so many digits before its point a number says nothing, and might be too large to be worked with.
const MOST_DIGITS: usize = 30;

/// The digits at the front of a text and how many bytes they take.
pub(super) fn read_digits(text: &str) -> Result<(String, usize), NumberProblem> {
    let whole = digit_run(text);
    if whole == 0 {
        return Err(NumberProblem::Point);
    }
    let mut end = whole;
    if let Some(after) = text[whole..].strip_prefix('.') {
        match digit_run(after) {
            // `5.` at the end of a sentence is no number's point, but in an expression nothing else can follow.
            0 => return Err(NumberProblem::Point),
            places => end += 1 + places,
        }
    }
    check_tail(&text[end..])?;
    if text[..whole].trim_start_matches('0').len() > MOST_DIGITS {
        return Err(NumberProblem::Long);
    }
    Ok((text[..end].to_owned(), end))
}

/// The text up to a comma, where commas part values.
pub(super) fn until_comma(text: &str) -> &str {
    text.split_once(',').map_or(text, |(before, _)| before)
}

fn check_tail(tail: &str) -> Result<(), NumberProblem> {
    let mut chars = tail.chars();
    match chars.next() {
        Some(',') if chars.next().is_some_and(|c| c.is_ascii_digit()) => Err(NumberProblem::Comma),
        Some('.') if chars.next().is_some_and(|c| c.is_ascii_digit()) => Err(NumberProblem::Digits),
        Some('e' | 'E') if tail[1..].trim_start_matches(['+', '-']).starts_with(|c: char| c.is_ascii_digit()) => {
            Err(NumberProblem::Exponent)
        }
        _ => Ok(()),
    }
}

fn digit_run(text: &str) -> usize {
    text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len())
}
