//! A value as somebody writes it down: `410 mm ± 2 mm`, `9/16 in`, `50 teeth`, `8 %`, `20 °C`.
//!
//! ```text
//! written = [ "-" ] amount [ unit ] [ ("±" | "+/-") amount [ unit ] ]
//! amount  = number | whole "/" whole | whole " " whole "/" whole       fractions only before a length unit
//! ```
//! Where only the tolerance carries a unit, both share it. What the value is for isn't known here; `reading` holds
//! it to an input. Arithmetic and names are the parser's.

use super::digits;
use super::dimension::Dimension;
use super::interval::Interval;
use super::number::read_digits;
use super::parser::unknown_unit;
use super::unit_reader;
use super::units::{Unit, phrase};
use crate::fault::{Fault, id};
use crate::text::{Mapped, Span};

/// A value as written.
#[derive(Clone, Debug, PartialEq)]
pub struct Written {
    /// The number in its unit.
    pub number: f64,
    /// Its unit; plain where none was written.
    pub unit: Unit,
    /// The tolerance as a difference in `tolerance_unit`, 0 where none was written.
    pub tolerance: Option<(f64, Unit)>,
    /// The whole text.
    pub span: Span,
}

impl Written {
    /// The value in base units.
    #[must_use]
    pub fn base(&self) -> f64 {
        self.unit.to_base(self.number)
    }

    /// Where the value lies for sure, in base units: a point without a tolerance, or with one of 0.
    #[must_use]
    pub fn bounds(&self) -> Interval {
        let base = self.base();
        let size = self.tolerance.as_ref().map_or(0.0, |(size, own)| own.to_base_difference(*size));
        if size > 0.0 { ends(base, size) } else { Interval::point(base) }
    }
}

/// What lies within `size` of a value.
///
/// One step outward on each end covers the rounding of the sum, and the size is widened for its own, but where no
/// rounding is: whole numbers, and an end at 0. Otherwise `20 mm ± 20 mm` would reach below 0 by the last digit.
fn ends(value: f64, size: f64) -> Interval {
    let is_exact = value.fract() == 0.0 && size.fract() == 0.0;
    let about = if is_exact { Interval::point(size) } else { Interval::around(size) };
    let Interval { lo, hi } = Interval::point(value) + Interval::new(-about.hi, about.hi);
    let lo = if value - size == 0.0 { 0.0 } else { lo };
    let hi = if value + size == 0.0 { 0.0 } else { hi };
    Interval::new(lo, hi)
}

/// Spaces that people and programs put between a number and its unit.
const SPACES: [char; 4] = [' ', '\u{A0}', '\u{202F}', '\u{2009}'];

/// True where the text begins like a value as written, so that its faults are those of a value.
#[must_use]
pub fn begins_written(text: &str) -> bool {
    let bare = text.trim_start().trim_start_matches(['-', '\u{2212}', '+', ' ']);
    bare.starts_with(|c: char| c.is_ascii_digit() || c == '.')
}

/// Reads a whole text as one value.
///
/// # Errors
/// The first thing in it that no value has.
pub fn parse_written(text: &Mapped) -> Result<Written, Fault> {
    let mut reader = Reader { mapped: text, text: text.text(), at: 0 };
    reader.written()
}

struct Reader<'a> {
    mapped: &'a Mapped,
    text: &'a str,
    at: usize,
}

impl Reader<'_> {
    fn written(&mut self) -> Result<Written, Fault> {
        self.skip();
        let negative = self.take("-") || self.take("\u{2212}");
        self.skip();
        let (size, fraction) = self.amount()?;
        let mut unit = self.unit()?;
        self.skip();
        let tolerance = if self.take("±") || self.take("+/-") { Some(self.tolerance(&mut unit)?) } else { None };
        self.skip();
        if self.at < self.text.len() {
            return Err(self.left_over());
        }
        self.check_fraction(fraction, &unit, size)?;
        let number = if negative { -size } else { size };
        Ok(Written { number, unit, tolerance, span: self.mapped.span(self.trimmed()) })
    }

    fn trimmed(&self) -> std::ops::Range<usize> {
        let start = self.text.len() - self.text.trim_start().len();
        start..self.text.trim_end().len().max(start)
    }

    fn tolerance(&mut self, unit: &mut Unit) -> Result<(f64, Unit), Fault> {
        self.skip();
        let start = self.at;
        let (size, fraction) = self.amount()?;
        let own = self.unit()?;
        self.check_fraction(fraction, &own, size)?;
        if unit.text.is_empty() && !own.text.is_empty() {
            *unit = own.clone();
        }
        if own.dimension == unit.dimension && own.text.is_empty() == unit.text.is_empty() {
            return Ok((size, own));
        }
        let span = self.mapped.span(start..self.at);
        let wanted = if unit.text.is_empty() { "a plain number".to_owned() } else { phrase(unit.dimension) };
        Err(Fault::new(id::INCOMPATIBLE_UNITS, span, format!("the tolerance must be {wanted} too"))
            .found(self.text[start..self.at].to_owned())
            .cure(format!(
                "give it in {}",
                if unit.text.is_empty() { "the same plain numbers".to_owned() } else { unit.shown(false) }
            )))
    }

    fn check_fraction(&self, fraction: Option<Span>, unit: &Unit, size: f64) -> Result<(), Fault> {
        match fraction {
            Some(span) if unit.dimension != Dimension::LENGTH => {
                Err(Fault::new(id::BAD_NUMBER, span, "a fraction stands only before a unit of length")
                    .found(self.text.trim().to_owned())
                    .cure(format!("write {} instead", digits::plain(size))))
            }
            _ => Ok(()),
        }
    }

    /// A number or a fraction, and where the fraction stands if it is one.
    fn amount(&mut self) -> Result<(f64, Option<Span>), Fault> {
        let start = self.at;
        let first = self.number()?;
        if self.text[start..self.at].contains('.') {
            return Ok((first, None));
        }
        if let Some(under) = self.fraction_tail() {
            return Ok((first / under, Some(self.mapped.span(start..self.at))));
        }
        let before = self.at;
        if self.take(" ")
            && self.rest().starts_with(|c: char| c.is_ascii_digit())
            && let Some((over, length)) = whole_number(self.rest())
        {
            self.at += length;
            if let Some(under) = self.fraction_tail() {
                let over: f64 = over.parse().unwrap_or(0.0);
                return Ok((first + over / under, Some(self.mapped.span(start..self.at))));
            }
        }
        self.at = before;
        Ok((first, None))
    }

    /// The `/16` of a fraction.
    fn fraction_tail(&mut self) -> Option<f64> {
        let after = self.rest().strip_prefix('/')?;
        let (under, length) = whole_number(after)?;
        let under: f64 = under.parse().ok()?;
        if under == 0.0 {
            return None;
        }
        self.at += 1 + length;
        Some(under)
    }

    fn number(&mut self) -> Result<f64, Fault> {
        match read_digits(self.rest()) {
            Ok((digits, length)) => {
                self.at += length;
                Ok(digits.parse().unwrap_or(f64::MAX))
            }
            Err(problem) if self.rest().starts_with(|c: char| c.is_ascii_digit() || c == '.') => {
                let (message, cure, length) = problem.words(self.rest());
                let span = self.mapped.span(self.at..self.at + length);
                Err(Fault::new(id::BAD_NUMBER, span, message).found(self.rest()[..length].to_owned()).cure(cure))
            }
            Err(_) => Err(self.left_over()),
        }
    }

    fn unit(&mut self) -> Result<Unit, Fault> {
        let gap = self.rest().len() - self.rest().trim_start_matches(SPACES).len();
        let behind = &self.rest()[gap..];
        if let Some((unit, length)) = unit_reader::read(behind) {
            self.at += gap + length;
            return Ok(unit);
        }
        let length = unit_reader::sign_length(behind);
        if length == 0 {
            return Ok(Unit::none());
        }
        let start = self.at + gap;
        Err(unknown_unit(&behind[..length], self.mapped.span(start..start + length)))
    }

    fn left_over(&self) -> Fault {
        let rest = self.rest();
        let span = self.mapped.span(self.at..self.text.trim_end().len().max(self.at));
        let fault = Fault::new(id::BAD_VALUE, span, "this can't be read as a number with its unit");
        let fault = if rest.trim().is_empty() { fault.found("nothing") } else { fault.found(rest.trim()) };
        fault
            .allowed("a number with its unit, and a tolerance where there is one: 410 mm ± 2 mm")
            .cure("write the number first, then its unit, with no other words")
    }

    fn rest(&self) -> &str {
        &self.text[self.at..]
    }

    fn take(&mut self, sign: &str) -> bool {
        let found = self.rest().starts_with(sign);
        if found {
            self.at += sign.len();
        }
        found
    }

    fn skip(&mut self) {
        self.at = self.text.len() - self.rest().trim_start().len();
    }
}

/// The digits at the front where they are a whole number, as both parts of a fraction are.
fn whole_number(text: &str) -> Option<(String, usize)> {
    read_digits(text).ok().filter(|(digits, _)| !digits.contains('.'))
}
