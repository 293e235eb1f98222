//! The shop's first unit for torques and pressures, and the unit beside it for those who know the other.
//!
//! Printed text in, printed text out: what stands on a sheet is converted, so that the two numbers of a figure agree. A
//! converted number is as fine as the gauges of a workshop read (1 psi, 1 lbf·in, 0.1 bar, 0.1 N·m), or as fine as it was given where that
//! is finer. It is rounded to its safe side: `at most 6 N·m` is `at most 53 lbf·in`, and a single number is rounded down
//! too, since it may stand where no more is allowed.
//! A stress in MPa, and all that is no torque and no pressure, stays as it is.

use crate::library::shop::Shop;
use crate::mechanics::digits;
use crate::mechanics::figure::NO_BREAK;
use crate::mechanics::units::{Kind, Unit};

/// What a shop shows first and beside, for each kind that it chooses units for.
#[derive(Debug, Default)]
pub struct Units(Vec<Choice>);

#[derive(Debug)]
struct Choice {
    first: Option<Unit>,
    beside: Option<Unit>,
    /// The units of the kind by their signs, the longest first.
    known: Vec<(String, Unit)>,
}

/// A figure as it is shown.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Shown {
    /// In the shop's first unit.
    pub text: String,
    /// In the unit beside it.
    pub beside: Option<String>,
}

/// A printed figure, taken apart.
struct Printed<'t> {
    /// `at most`, `at least`, `from`, or nothing.
    before: &'t str,
    /// The numbers, and what stands between two: `to`, `or` or `±`.
    numbers: Vec<&'t str>,
    between: &'t str,
    sign: &'t str,
}

impl Units {
    /// The units that a shop chooses.
    #[must_use]
    pub fn of(shop: &Shop) -> Self {
        let chosen = |list: &[(String, Unit)], kind: &str| {
            list.iter().find(|(name, _)| name == kind).map(|(_, unit)| unit.clone())
        };
        let choice = |kind: &&str| {
            let (first, beside) = (chosen(&shop.units, kind), chosen(&shop.beside, kind));
            let named = Kind::named(kind).filter(|_| first.is_some() || beside.is_some())?;
            // A pressure in pascals is a stress, or nothing that a gauge reads.
            let units = named.units.iter().filter(|name| !name.ends_with("Pa") || **name == "kPa");
            let units = units.filter_map(|name| Unit::parse(name).ok());
            let mut known: Vec<(String, Unit)> = units.map(|unit| (unit.shown(false), unit)).collect();
            known.sort_by_key(|(sign, _)| std::cmp::Reverse(sign.len()));
            Some(Choice { first, beside, known })
        };
        Self(["torque", "pressure"].iter().filter_map(choice).collect())
    }

    /// The unit beside a figure that was asked for in the shop's first unit; nothing for one that was asked for in another.
    #[must_use]
    pub fn beside(&self, text: &str) -> Option<String> {
        let shown = self.show(text);
        if shown.text == text { shown.beside } else { None }
    }

    /// A printed figure in the shop's units; one that is no torque and no pressure as it is.
    #[must_use]
    pub fn show(&self, text: &str) -> Shown {
        for choice in &self.0 {
            let Some((printed, unit)) = choice.take(text) else { continue };
            let other = |wanted: &Option<Unit>| {
                wanted.as_ref().filter(|wanted| wanted.text != unit.text).and_then(|to| printed.converted(unit, to))
            };
            let first = other(&choice.first);
            let stands = if first.is_some() { choice.first.as_ref() } else { Some(unit) };
            let same = choice.beside.as_ref().map(|unit| &unit.text) == stands.map(|unit| &unit.text);
            // Where the figure was given in the unit beside, that is what was given.
            let given = choice.beside.as_ref().filter(|beside| beside.text == unit.text).map(|_| text.to_owned());
            let beside = if same { None } else { given.or_else(|| other(&choice.beside)) };
            return Shown { text: first.unwrap_or_else(|| text.to_owned()), beside };
        }
        Shown { text: text.to_owned(), beside: None }
    }

    /// A figure in the shop's first unit, with the one beside it in brackets.
    #[must_use]
    pub fn figure(&self, text: &str) -> String {
        let shown = self.show(text);
        match shown.beside {
            Some(beside) => format!("{} ({beside})", shown.text),
            None => shown.text,
        }
    }

    /// A sentence with every figure that was worked into it shown so. A worked figure is known by its no-break space:
    /// a number that somebody wrote into a rule has an ordinary one, and stays as that person wrote it.
    #[must_use]
    pub fn sentence(&self, text: &str) -> String {
        let mut out = String::with_capacity(text.len());
        let mut rest = text;
        while let Some(at) = rest.find(NO_BREAK) {
            let end = end_of_sign(rest, at + NO_BREAK.len_utf8());
            let is_changed = |start: &usize| self.figure(&rest[*start..end]) != rest[*start..end];
            match starts(&rest[..at]).into_iter().rev().find(is_changed) {
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
}

/// Words before a number that belong to a figure: `from 5.2 to 6.3 bar`, `at most 6 N·m`.
const WORDS_BEFORE: usize = 4;

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

impl Choice {
    fn take<'t>(&self, text: &'t str) -> Option<(Printed<'t>, &Unit)> {
        let (sign, unit) = self.known.iter().find(|(sign, _)| text.ends_with(sign.as_str()))?;
        let sign = &text[text.len() - sign.len()..];
        let before = ["at most ", "at least ", "from "].into_iter().find(|word| text.starts_with(word)).unwrap_or("");
        let middle = &text[before.len()..];
        let between = [" to ", " or ", " ± "].into_iter().find(|word| middle.contains(word));
        let parts: Vec<&str> = between.map_or_else(|| vec![middle], |word| middle.split(word).collect());
        let bare = |part: &'t str| part.strip_suffix(sign).unwrap_or(part).trim_end_matches([' ', NO_BREAK]);
        let numbers: Vec<&str> = parts.into_iter().map(bare).collect();
        let are_numbers = numbers.len() <= 2 && numbers.iter().all(|number| parse(number).is_some());
        let printed = Printed { before, numbers, between: between.unwrap_or(""), sign };
        // What ends in another unit of the same letters is no number before them.
        (are_numbers && !printed.sign.is_empty()).then_some((printed, unit))
    }
}

impl Printed<'_> {
    fn converted(&self, from: &Unit, to: &Unit) -> Option<String> {
        let ratio = from.factor() / to.factor();
        let given =
            self.numbers.iter().map(|number| number.split_once('.').map_or(0, |(_, after)| after.len())).max()?;
        let given = digits::decimals_after(i32::try_from(given).ok()?, to.factor() / from.factor());
        let decimals = given.max(gauge(to));
        let step = libm::pow(10.0, f64::from(-decimals));
        let mut texts = Vec::with_capacity(2);
        for (place, number) in self.numbers.iter().enumerate() {
            let steps = parse(number)? * ratio / step;
            // What is a whole number of steps but for the last bits is that number.
            let near = steps.round();
            let settled = |way: fn(f64) -> f64| if (near - steps).abs() < 1e-6 { near } else { way(steps) };
            let rounded = match (self.before.trim_end(), self.between.trim(), place) {
                // Limits stay on their side, a range that is allowed is not made wider, and neither is a tolerance; where a
                // figure may lie (from … to), it may lie outward of what is printed.
                ("at most", ..) | ("from", _, 0) | ("", "to" | "±", 1) | ("", "", _) => settled(f64::floor),
                ("at least", ..) | ("from", _, 1) | ("", "to", 0) => settled(f64::ceil),
                // The middle of a tolerance, and what lies on either side of an `or`.
                _ => near,
            };
            texts.push(digits::fixed(rounded * step, decimals));
        }
        Some(format!("{}{}{NO_BREAK}{}", self.before, texts.join(self.between), to.shown(false)))
    }
}

/// A printed number.
fn parse(number: &str) -> Option<f64> {
    let number = number.replace('\u{2212}', "-");
    number.parse::<f64>().ok().filter(|number| number.is_finite())
}

/// The decimals to which a workshop's gauge of this unit reads.
fn gauge(unit: &Unit) -> i32 {
    match unit.text.as_str() {
        "N·m" | "bar" | "lbf·ft" | "kgf·m" => 1,
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::Units;
    use crate::diagnostic::Source;
    use crate::library::shop;

    fn units(units: &str, beside: &str) -> Units {
        let text = format!("name: A\nplace: B\nunits: {units}\nbeside: {beside}\n");
        let shop = shop::parse(&Source::new("content/shop.yaml", text), &mut Vec::new()).expect("a shop");
        Units::of(&shop)
    }

    /// 1 N·m is 8.8507 lbf·in and 1 bar 14.5038 psi (NIST SP 811, appendix B; from memory, and by the unit table's own check).
    #[test]
    fn the_other_unit_is_as_fine_as_a_gauge_and_keeps_to_the_safe_side() {
        let metric = units("{torque: N·m, pressure: bar}", "{torque: lbf·in, pressure: psi}");
        let cases = [
            ("5\u{A0}N·m", "44\u{A0}lbf·in"),
            ("5\u{A0}N·m ± 0.5\u{A0}N·m", "44 ± 4\u{A0}lbf·in"),
            ("8 to 10\u{A0}N·m", "71 to 88\u{A0}lbf·in"),
            ("at most 6\u{A0}N·m", "at most 53\u{A0}lbf·in"),
            ("at least 6\u{A0}N·m", "at least 54\u{A0}lbf·in"),
            ("6\u{A0}bar", "87\u{A0}psi"),
            ("3.5\u{A0}bar", "50\u{A0}psi"),
            ("5\u{A0}bar", "72\u{A0}psi"),
            ("2.25\u{A0}bar", "32.6\u{A0}psi"),
            ("9\u{A0}N·m", "79\u{A0}lbf·in"),
            ("from 5.2 to 6.3\u{A0}bar", "from 75 to 92\u{A0}psi"),
        ];
        for (text, beside) in cases {
            let shown = metric.show(text);
            assert_eq!((shown.text.as_str(), shown.beside.as_deref()), (text, Some(beside)));
        }
        for text in ["640\u{A0}MPa", "410\u{A0}mm", "110\u{A0}links", "toolbar", "not bounded"] {
            assert_eq!(metric.show(text).beside, None, "{text}");
        }
    }

    #[test]
    fn a_shop_may_put_the_other_unit_first() {
        let pounds = units("{torque: lbf·in}", "{torque: N·m}");
        let shown = pounds.show("5\u{A0}N·m");
        assert_eq!((shown.text.as_str(), shown.beside.as_deref()), ("44\u{A0}lbf·in", Some("5\u{A0}N·m")));
        let shown = pounds.show("88\u{A0}lbf·in");
        assert_eq!((shown.text.as_str(), shown.beside.as_deref()), ("88\u{A0}lbf·in", Some("9.9\u{A0}N·m")));
        assert_eq!(units("{torque: N·m}", "{}").show("5\u{A0}N·m").beside, None);
    }

    #[test]
    fn a_sentence_shows_the_unit_beside_each_worked_figure() {
        let units = units("{torque: N·m, pressure: bar}", "{torque: lbf·in, pressure: psi}");
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
            assert_eq!(Units::default().sentence(text), text, "without a shop nothing is changed");
        }
    }
}
