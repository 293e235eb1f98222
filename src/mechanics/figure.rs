//! Figures as text: a value with its unit, its bounds, its whole numbers.
//!
//! One routine writes every number that a reader sees: rounded to the decimals of the output, a no-break space, the
//! sign of the unit. It holds no value itself and converts without changing how coarse a figure is.

use super::digits;
use super::enclose::Spread;
use super::interval::Interval;
use super::units::{Kind, Unit};

/// The space that keeps a number and its unit on one line.
pub const NO_BREAK: char = '\u{A0}';

/// How a figure is written: what it is, in which unit, how fine.
#[derive(Clone, Debug, PartialEq)]
pub struct Style {
    /// What kind of figure it is.
    pub kind: &'static Kind,
    /// The unit that follows the number.
    pub unit: Unit,
    /// Decimals after the point, or `None` for as many as the number has.
    pub decimals: Option<i32>,
}

impl Style {
    /// A base value in this style's unit, as a bare number.
    #[must_use]
    pub fn number(&self, base: f64) -> f64 {
        // A difference of temperatures has no zero of its own, whatever its unit is called.
        if self.kind.name == "temperature_difference" {
            self.unit.from_base_difference(base)
        } else {
            self.unit.from_base(base)
        }
    }

    /// The digits of a base value, without the unit.
    #[must_use]
    pub fn bare(&self, base: f64) -> String {
        self.digits(self.number(base))
    }

    /// A base value with its unit: `110 links`, `72.0°`, `0.50 %`.
    #[must_use]
    pub fn text(&self, base: f64) -> String {
        self.with_unit(&self.bare(base))
    }

    /// A difference with its unit; °C and °F add no offset.
    #[must_use]
    pub fn difference(&self, base: f64) -> String {
        self.with_unit(&digits::plain(self.unit.from_base_difference(base)))
    }

    /// The same figure in another unit, as coarse as before: decimals move by the nearest power of ten.
    #[must_use]
    pub fn converted(&self, unit: Unit) -> Self {
        let ratio = unit.factor() / self.unit.factor();
        let decimals = self.decimals.map(|decimals| digits::decimals_after(decimals, ratio));
        Self { kind: self.kind, unit, decimals }
    }

    /// What a value's bounds say, where they say more than the value: `108 or 110 links`, `from 5.2 to 6.3 bar`.
    #[must_use]
    pub fn spread(&self, base: f64, spread: &Spread) -> Option<String> {
        match spread {
            Spread::NotBounded => Some("not bounded".to_owned()),
            Spread::OneOf(list) => self.list(list),
            Spread::Within(range) => self.range(base, *range),
        }
    }

    fn list(&self, list: &[f64]) -> Option<String> {
        let mut texts: Vec<String> = list.iter().map(|&value| self.bare(value)).collect();
        texts.dedup();
        let last = texts.pop()?;
        if texts.is_empty() {
            return None;
        }
        Some(format!("{} or {}", texts.join(", "), self.with_unit(&last)))
    }

    fn range(&self, base: f64, range: Interval) -> Option<String> {
        let (low, high) = (self.number(range.lo), self.number(range.hi));
        let same = self.digits(low) == self.bare(base) && self.digits(high) == self.bare(base);
        if same {
            return None;
        }
        let (low, high) = (self.outward(low, false), self.outward(high, true));
        Some(format!("from {low} to {}", self.with_unit(&high)))
    }

    /// An end of an interval, rounded away from the middle so that the printed bounds hold too.
    fn outward(&self, number: f64, up: bool) -> String {
        let Some(decimals) = self.decimals else { return digits::plain(number) };
        let step = 10f64.powi(-decimals);
        let nearest = (number / step).round() * step;
        let inside = if up { nearest < number } else { nearest > number };
        // Within the last digits, its own or of what is printed, a rounded end counts as the end itself.
        let off = (nearest - number).abs() > (1e-12 * number.abs()).max(1e-9 * step);
        let moved = if up { nearest + step } else { nearest - step };
        self.digits(if inside && off { moved } else { nearest })
    }

    fn digits(&self, number: f64) -> String {
        match self.decimals {
            Some(decimals) => digits::fixed(number, decimals),
            None => digits::plain(number),
        }
    }

    /// A number already in digits with the unit behind it.
    #[must_use]
    pub fn with_unit(&self, digits: &str) -> String {
        let sign = self.unit.shown(matches!(digits, "1" | "\u{2212}1"));
        if sign.is_empty() {
            return digits.to_owned();
        }
        // ISO 80000-1: no space before the degree sign of an angle.
        if self.unit.text == "deg" { format!("{digits}{sign}") } else { format!("{digits}{NO_BREAK}{sign}") }
    }
}
