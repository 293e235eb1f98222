//! The typefaces of a stylesheet: which of them a text needs, by the ranges of characters that their rules give.
//!
//! Nothing is read here. A face whose rule gives no range stands for all characters that the others lack.

use std::collections::HashSet;
use std::ops::RangeInclusive;

/// A typeface as a stylesheet declares it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Face<'s> {
    /// The whole rule.
    pub rule: &'s str,
    /// Where its file stands, as written.
    pub address: &'s str,
    is_italic: bool,
    ranges: Vec<RangeInclusive<u32>>,
}

/// What a text asks of typefaces.
#[derive(Clone, Default, Debug)]
pub struct Wanted {
    characters: HashSet<char>,
    italic: bool,
}

impl Wanted {
    /// What this markup asks for.
    #[must_use]
    pub fn by(markup: &str) -> Self {
        let leaning = ["<em", "<i>", "<i ", "<cite", "<dfn", "<var", "class=\"c-note\""];
        Self { characters: markup.chars().collect(), italic: leaning.iter().any(|tag| markup.contains(tag)) }
    }

    /// What one of the two asks for.
    #[must_use]
    pub fn or(mut self, other: Self) -> Self {
        self.characters.extend(other.characters);
        Self { italic: self.italic || other.italic, ..self }
    }
}

const RULE: &str = "@font-face";

/// The typefaces that a stylesheet declares, and the stylesheet without them.
#[must_use]
pub fn split(stylesheet: &str) -> (Vec<Face<'_>>, String) {
    let (mut faces, mut rest, mut copied) = (Vec::new(), String::new(), 0);
    for (begins, _) in stylesheet.match_indices(RULE) {
        let rule = stylesheet[begins..].find('}').map(|length| &stylesheet[begins..=begins + length]);
        if let Some(face) = rule.and_then(face) {
            rest.push_str(&stylesheet[copied..begins]);
            copied = begins + face.rule.len();
            faces.push(face);
        }
    }
    rest.push_str(&stylesheet[copied..]);
    (faces, rest)
}

fn face(rule: &str) -> Option<Face<'_>> {
    let (_, after) = rule.split_once("url(")?;
    let address = after.split_once(')')?.0.trim_matches(['"', '\'', ' ']);
    let body = &rule[rule.find('{')? + 1..];
    let value = |key: &str| {
        let declarations = body.trim_end_matches('}').split(';').filter_map(|one| one.split_once(':'));
        declarations.into_iter().find(|(name, _)| name.trim() == key).map(|(_, value)| value.trim())
    };
    let ranges = value("unicode-range").unwrap_or_default().split(',').filter_map(|text| range(text.trim()));
    Some(Face { rule, address, is_italic: value("font-style") == Some("italic"), ranges: ranges.collect() })
}

/// `U+20AC` or `U+2020-2022`.
fn range(text: &str) -> Option<RangeInclusive<u32>> {
    let digits = text.strip_prefix("U+")?;
    let (from, to) = digits.split_once('-').unwrap_or((digits, digits));
    Some(u32::from_str_radix(from, 16).ok()?..=u32::from_str_radix(to, 16).ok()?)
}

/// Those of the typefaces that a text needs, in their order.
#[must_use]
pub fn needed<'f, 's>(faces: &'f [Face<'s>], wanted: &Wanted) -> Vec<&'f Face<'s>> {
    let holds = |face: &Face<'_>, c: char| face.ranges.iter().any(|range| range.contains(&u32::from(c)));
    let lacks = |c: &char| !c.is_control() && !faces.iter().any(|face| holds(face, *c));
    let some_lack = wanted.characters.iter().any(lacks);
    let is_needed = |face: &&Face<'_>| {
        let asked = if face.ranges.is_empty() { some_lack } else { wanted.characters.iter().any(|c| holds(face, *c)) };
        asked && (wanted.italic || !face.is_italic)
    };
    // A second rule for a file, under another name, is meant for pages that a host serves.
    let mut files = HashSet::new();
    faces.iter().filter(is_needed).filter(|face| files.insert(face.address)).collect()
}

#[cfg(test)]
mod tests {
    use super::{Wanted, needed, split};

    const SHEET: &str = "/* a */\n@font-face{font-family:A;src:url(type/a.woff2) format(\"woff2\");unicode-range:U+0-FF,U+2212}\n\
        @font-face{font-family:A;font-style:italic;src:url(\"type/i.woff2\");unicode-range:U+0-FF}\n\
        @font-face{font-family:A;src:url(type/e.woff2);unicode-range:U+100-17F}\n\
        @font-face{font-family:S;src:url(type/s.woff2)}\n@font-face{font-family:T;src:url(type/s.woff2)}\np{margin:0}";

    #[test]
    fn a_text_brings_the_faces_that_it_needs() {
        let (faces, rest) = split(SHEET);
        assert_eq!(rest.trim(), "/* a */\n\n\n\n\n\np{margin:0}");
        for (markup, files) in [
            ("<p>5 \u{2212} 3</p>", "type/a.woff2"),
            ("<p><em>so</em></p>", "type/a.woff2 type/i.woff2"),
            ("<p>Łódź</p>", "type/a.woff2 type/e.woff2"),
            ("<p>⌀ 5\n</p>", "type/a.woff2 type/s.woff2"),
        ] {
            let found: Vec<&str> = needed(&faces, &Wanted::by(markup)).iter().map(|face| face.address).collect();
            assert_eq!(found.join(" "), files, "{markup}");
        }
    }
}
