//! Lines as numbers and numbers as signs: the compact form in which a browser gets the index.
//!
//! Each word of the library, as it is written, has one number; the commonest words have the smallest and take one sign,
//! most take two. The list of words is sorted within each width and front-coded. `finder.js` unpacks it with the same
//! widths. What two words mean to one another is not known here.

use std::collections::{BTreeMap, HashMap};

/// Units that stay with the number before them, in small letters and without the point of a product. Longer ones come
/// first where one begins another.
pub(super) const UNITS: &[&str] = &[
    "mm", "cm", "km", "m", "inch", "in", "kg", "g", "lbf", "lb", "kn", "nm", "n", "bar", "psi", "kpa", "mpa", "kwh",
    "wh", "kw", "w", "mah", "ah", "v", "ml", "l", "min", "h", "s", "deg", "c", "f", "%",
];

/// How many first signs begin a number of one, two, three and four signs.
const WIDTHS: [usize; 4] = [34, 38, 7, 1];
/// How many signs there are: printable ASCII without digits, which are marks, and without ``< ` \ $``.
const SIGNS: usize = 80;

/// The sign of a digit of the code.
fn sign(digit: usize) -> char {
    let signs = (b'!'..=b'~').filter(|c| !c.is_ascii_digit() && !b"<`\\$".contains(c));
    char::from(signs.into_iter().nth(digit).unwrap_or(b'!'))
}

/// The widths as the finder needs them: where each width's first signs end, and the number that it begins with.
pub(super) fn widths() -> String {
    let (mut end, mut base, mut many) = (0, 0, 1);
    let (mut ends, mut bases) = (Vec::new(), Vec::new());
    for width in WIDTHS {
        end += width;
        ends.push(end.to_string());
        bases.push(base.to_string());
        base += width * many;
        many *= SIGNS;
    }
    format!("ends:[{}],bases:[{}]", ends.join(","), bases.join(","))
}

/// A space that parts words; one that holds a number to its unit doesn't.
fn parts_words(c: char) -> bool {
    c.is_whitespace() && !matches!(c, '\u{a0}' | '\u{202f}' | '\u{2007}' | '\u{2009}')
}

/// A text that stays in one piece, with single spaces.
pub(super) fn whole(text: &str) -> String {
    text.split(parts_words).filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

/// The words of a text as they are written, punctuation and all. A number keeps its unit, and sizes their sign between.
pub(super) fn chunks(text: &str) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for word in text.split(parts_words).filter(|word| !word.is_empty()) {
        match out.last_mut() {
            Some(last) if belongs(last, word) => {
                last.push(' ');
                last.push_str(word);
            }
            _ => out.push(word.to_owned()),
        }
    }
    out
}

fn belongs(last: &str, word: &str) -> bool {
    let number = last.ends_with(|c: char| c.is_ascii_digit());
    (number && (word == "×" || is_unit(word)))
        || (last.ends_with('×') && word.starts_with(|c: char| c.is_ascii_digit()))
}

fn is_unit(word: &str) -> bool {
    let bare: String = word.trim_end_matches(['.', ',', ';', ':', ')', '?']).to_lowercase();
    let bare: String = bare.chars().filter(|c| !matches!(c, '·' | '⋅' | '°')).collect();
    UNITS.contains(&bare.as_str())
}

/// Every word of the library with its number.
pub(super) struct Vocabulary<'a> {
    order: Vec<&'a str>,
    numbers: HashMap<&'a str, usize>,
}

impl<'a> Vocabulary<'a> {
    /// Gives numbers: the more often a word stands somewhere, the fewer signs it takes; in one width, by the alphabet.
    pub(super) fn of(words: impl Iterator<Item = &'a str>) -> Self {
        let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
        for word in words {
            *counts.entry(word).or_default() += 1;
        }
        let mut order: Vec<&str> = counts.keys().copied().collect();
        order.sort_by_key(|word| (std::cmp::Reverse(counts[word]), *word));
        let (mut from, mut many) = (0, 1);
        for width in WIDTHS {
            let to = (from + width * many).min(order.len());
            order[from..to].sort_unstable();
            (from, many) = (to, many * SIGNS);
        }
        let numbers = order.iter().enumerate().map(|(number, word)| (*word, number)).collect();
        Self { order, numbers }
    }

    /// The words, by their numbers.
    pub(super) fn in_order(&self) -> impl Iterator<Item = &'a str> {
        self.order.iter().copied()
    }

    /// Writes a word's number in signs.
    ///
    /// # Panics
    /// A word that the vocabulary was not made of.
    pub(super) fn write(&self, out: &mut String, word: &str) {
        let mut number = self.numbers[word];
        let (mut first, mut many, mut signs) = (0, 1, 1);
        for width in WIDTHS {
            if number < width * many {
                break;
            }
            number -= width * many;
            (first, many, signs) = (first + width, many * SIGNS, signs + 1);
        }
        for place in (0..signs).rev() {
            let digit = number / SIGNS.pow(place);
            number %= SIGNS.pow(place);
            out.push(sign(if place + 1 == signs { first + digit } else { digit }));
        }
    }
}

/// Texts one a line: a sign for how many letters are those of the line before, then the rest.
pub(super) fn front_coded<'a>(texts: impl Iterator<Item = &'a str>) -> String {
    let mut before: Vec<u16> = Vec::new();
    let lines: Vec<String> = texts
        .map(|text| {
            // A browser counts in UTF-16; a pair of halves is never parted.
            let mut kept = 0;
            let mut rest = text;
            for c in text.chars() {
                let next = kept + c.len_utf16();
                if next >= SIGNS || before.get(kept..next) != Some(c.encode_utf16(&mut [0; 2])) {
                    break;
                }
                kept = next;
                rest = &rest[c.len_utf8()..];
            }
            before = text.encode_utf16().collect();
            format!("{}{rest}", sign(kept))
        })
        .collect();
    lines.join("\n")
}

/// Text as it stands between backticks.
pub(super) fn literal(text: &str) -> String {
    text.replace('\\', "\\\\").replace('`', "\\`").replace("${", "\\${")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_their_units() {
        assert_eq!(chunks("a 4 mm hex key"), ["a", "4 mm", "hex", "key"]);
        assert_eq!(chunks("tyre 700 × 28 mm, 11-34"), ["tyre", "700 × 28 mm,", "11-34"]);
        assert_eq!(chunks("set  5\u{a0}N·m\n twice"), ["set", "5\u{a0}N·m", "twice"]);
        assert_eq!(chunks("5 N·m; 2 bolts"), ["5 N·m;", "2", "bolts"]);
    }

    #[test]
    fn every_width_reads_back() {
        let words: Vec<String> = (0..60_000).map(|n| format!("w{n:05}")).collect();
        let vocabulary = Vocabulary::of(words.iter().map(String::as_str));
        let mut widths = std::collections::BTreeSet::new();
        let mut written = std::collections::HashSet::new();
        for word in &words {
            let mut out = String::new();
            vocabulary.write(&mut out, word);
            widths.insert(out.len());
            assert!(written.insert(out), "{word} is written like another");
        }
        assert_eq!(widths.into_iter().collect::<Vec<_>>(), [1, 2, 3, 4]);
    }

    #[test]
    fn common_words_take_fewest_signs() {
        let many: Vec<String> = (0..100).map(|n| format!("rare{n}")).collect();
        let common = ["the", "the", "the", "chain", "chain"];
        let vocabulary = Vocabulary::of(many.iter().map(String::as_str).chain(common));
        let mut out = String::new();
        vocabulary.write(&mut out, "the");
        vocabulary.write(&mut out, "chain");
        assert_eq!(out.len(), 2);
    }

    #[test]
    fn front_coding_counts_as_a_browser_does() {
        assert_eq!(front_coded(["chain", "chains", "chair", "x"].into_iter()), "!chain\n's\n&r\n!x");
        // Two signs beyond the first plane begin alike; the pair is not parted.
        assert_eq!(front_coded(["\u{1f6b2}a", "\u{1f6b4}b"].into_iter()), "!\u{1f6b2}a\n!\u{1f6b4}b");
    }

    #[test]
    fn a_literal_is_inert() {
        assert_eq!(literal("a`b\\c${d}"), "a\\`b\\\\c\\${d}");
    }
}
