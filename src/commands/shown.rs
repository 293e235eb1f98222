//! The figures of the counter in the shop's units, as its sheets show them: `3.4 bar (49 psi)`.
//!
//! Printed text in, printed text out; what is converted, and how, is `evaluate::beside`'s. Without a library, or where
//! the shop chooses no units, every text stays as it is.

use crate::evaluate::beside::Units;
use crate::library::shop::Shop;
use crate::mechanics::figure::NO_BREAK;

/// The units that a shop shows, or none.
#[derive(Debug, Default)]
pub(super) struct ShopUnits(Units);

/// Words before a number that belong to a figure: `from 5.2 to 6.3 bar`, `at most 6 N·m`.
const WORDS_BEFORE: usize = 4;

impl ShopUnits {
    /// The units of a shop; none without one.
    pub(super) fn of(shop: Option<&Shop>) -> Self {
        Self(shop.map(Units::of).unwrap_or_default())
    }

    /// A figure in the shop's first unit, with the one beside it in brackets.
    pub(super) fn figure(&self, text: &str) -> String {
        let shown = self.0.show(text);
        match shown.beside {
            Some(beside) => format!("{} ({beside})", shown.text),
            None => shown.text,
        }
    }

    /// A sentence with every figure that was worked into it shown so. A worked figure is known by its no-break space:
    /// a number that somebody wrote into a rule has an ordinary one, and stays as that person wrote it.
    pub(super) fn sentence(&self, text: &str) -> String {
        let mut out = String::with_capacity(text.len());
        let mut rest = text;
        while let Some(at) = rest.find(NO_BREAK) {
            let end = end_of_sign(rest, at + NO_BREAK.len_utf8());
            let start = starts(&rest[..at]).into_iter().rev().find(|start| self.is_changed(&rest[*start..end]));
            match start {
                Some(start) => {
                    out.push_str(&rest[..start]);
                    out.push_str(&self.figure(&rest[start..end]));
                }
                None => out.push_str(&rest[..end]),
            }
            rest = &rest[end..];
        }
        out.push_str(rest);
        out
    }

    fn is_changed(&self, text: &str) -> bool {
        self.figure(text) != text
    }
}

/// Where the sign of a unit ends that begins at a place.
fn end_of_sign(text: &str, from: usize) -> usize {
    let ends = |c: char| c.is_whitespace() || ",;:.!?()".contains(c);
    text[from..].find(ends).map_or(text.len(), |length| from + length)
}

/// Where the last words of a text begin, the nearest first.
fn starts(text: &str) -> Vec<usize> {
    let after_space = |(at, c): (usize, char)| [' ', '(', '\n'].contains(&c).then(|| at + c.len_utf8());
    let mut starts: Vec<usize> = text.char_indices().rev().filter_map(after_space).take(WORDS_BEFORE).collect();
    if starts.len() < WORDS_BEFORE {
        starts.push(0);
    }
    starts
}

#[cfg(test)]
mod tests {
    use super::ShopUnits;
    use crate::diagnostic::Source;
    use crate::library::shop;

    fn units() -> ShopUnits {
        let text = "name: A\nplace: B\nunits: {torque: N·m, pressure: bar}\nbeside: {torque: lbf·in, pressure: psi}\n";
        ShopUnits::of(shop::parse(&Source::new("content/shop.yaml", text), &mut Vec::new()).as_ref())
    }

    #[test]
    fn a_sentence_shows_the_unit_beside_each_worked_figure() {
        let units = units();
        let cases = [
            (
                "the rim allows 5\u{A0}bar, the tyre 6\u{A0}bar.",
                "the rim allows 5\u{A0}bar (72\u{A0}psi), the tyre 6\u{A0}bar (87\u{A0}psi).",
            ),
            ("at most 6\u{A0}N·m here", "at most 6\u{A0}N·m (at most 53\u{A0}lbf·in) here"),
            ("it takes 28\u{A0}mm and 34\u{A0}teeth", "it takes 28\u{A0}mm and 34\u{A0}teeth"),
            ("more than 8 bar", "more than 8 bar"),
            ("5\u{A0}bar", "5\u{A0}bar (72\u{A0}psi)"),
            ("", ""),
        ];
        for (text, shown) in cases {
            assert_eq!(units.sentence(text), shown);
            assert_eq!(ShopUnits::default().sentence(text), text, "without a shop nothing is changed");
        }
    }
}
