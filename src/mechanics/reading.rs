//! Written value to reading: holds what somebody wrote to the input that it is for.
//!
//! A reading is in base units, with its interval where a tolerance was given. Kind, label, percent sign, whole
//! numbers, range: each has its own fault, with what was found, what is allowed and what to do, in the words of a
//! workshop. Values that come from elsewhere (another working, a stated figure) pass the same gate.

use super::digits;
use super::dimension::Dimension;
use super::enclose::Spread;
use super::figure::Style;
use super::formula::Input;
use super::interval::{Interval, whole};
use super::units::{phrase, phrase_of};
use super::written::{Written, parse_written};
use crate::fault::{Fault, id};
use crate::text::{Mapped, Span};

/// The value of an input, in base units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// The stated value.
    pub value: f64,
    /// Where it lies for sure; a point where no tolerance was given.
    pub bounds: Interval,
    /// True where the formula's own default was taken.
    pub by_default: bool,
    /// The most decimals with which it is shown in the input's own unit, where it was written in another.
    pub decimals: Option<i32>,
}

impl Reading {
    /// A value without a tolerance.
    #[must_use]
    pub fn exact(value: f64) -> Self {
        Self::within(value, Interval::point(value))
    }

    /// A value that lies within these bounds for sure.
    #[must_use]
    pub fn within(value: f64, bounds: Interval) -> Self {
        Self { value, bounds, by_default: false, decimals: None }
    }

    /// The stated value alone.
    #[must_use]
    pub fn without_tolerance(self) -> Self {
        Self { bounds: Interval::point(self.value), ..self }
    }

    /// The value and its tolerance as text, all the digits that were given: `410 mm ± 2 mm`.
    #[must_use]
    pub fn text(&self, style: &Style) -> String {
        let value = match self.decimals {
            Some(most) => style.with_unit(&digits::at_most(style.number(self.value), most)),
            None => style.text(self.value),
        };
        if self.bounds.is_point() {
            return value;
        }
        let (below, above) = (self.value - self.bounds.lo, self.bounds.hi - self.value);
        let even = (below - above).abs() <= 1e-9 * above.abs().max(below.abs()).max(1e-12);
        if even {
            let size = match self.decimals {
                Some(most) => style.with_unit(&digits::at_most(style.unit.from_base_difference(above), most)),
                None => style.difference(above),
            };
            return format!("{value} ± {size}");
        }
        if let Some(most) = self.decimals {
            let style = Style { decimals: Some(most), ..style.clone() };
            let spread = style.spread(self.value, &Spread::Within(self.bounds));
            return spread.map_or(value.clone(), |spread| format!("{value}, {spread}"));
        }
        format!("{value}, from {} to {}", style.bare(self.bounds.lo), style.text(self.bounds.hi))
    }
}

impl Input {
    /// Reads a value as written for this input.
    ///
    /// # Errors
    /// What is wrong with it, pointing at its characters.
    pub fn read(&self, text: &Mapped) -> Result<Reading, Fault> {
        self.take(&parse_written(text)?, text.text().trim())
    }

    /// The value that is taken where nothing is given.
    ///
    /// # Errors
    /// The default's own fault, where a formula file carries a bad one.
    #[must_use]
    pub fn default_reading(&self) -> Option<Result<Reading, Fault>> {
        let text = self.default.as_ref()?;
        Some(self.read(text).map(|reading| Reading { by_default: true, ..reading }))
    }

    /// Holds a value as written to this input; `found` is its text, for messages.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn take(&self, written: &Written, found: &str) -> Result<Reading, Fault> {
        self.check_unit(written, found)?;
        let unit = &written.unit;
        let value = unit.to_base(written.number);
        let bounds = match &written.tolerance {
            None => Interval::point(value),
            Some(_) => self.tolerated(written, found)?,
        };
        let reading = Reading { decimals: self.decimals_of(written, found), ..Reading::within(value, bounds) };
        self.check_value(&reading, written.span, found)?;
        Ok(reading)
    }

    /// Holds a value that was worked elsewhere to this input.
    ///
    /// # Errors
    /// A wrong dimension, or a value out of range.
    pub fn accept(&self, reading: Reading, dimension: Dimension, span: Span, found: &str) -> Result<Reading, Fault> {
        if dimension != self.kind.dimension {
            return Err(Fault::new(
                id::WRONG_KIND,
                span,
                format!("{} is {}, not {}", self.name, self.kind.phrase, phrase(dimension)),
            )
            .found(found)
            .allowed(self.allowed())
            .cure(self.advised()));
        }
        self.check_value(&reading, span, found)?;
        Ok(reading)
    }

    /// A value in another unit is shown one digit finer than it was written, so that nothing which was given is lost, and
    /// at least as fine as its tolerance. A fraction says nothing of how coarse it is.
    fn decimals_of(&self, written: &Written, found: &str) -> Option<i32> {
        let unit = &written.unit;
        if unit.text.is_empty()
            || unit.text == self.unit.text
            || unit.is_label()
            || found.contains('/') && !found.contains("+/-")
        {
            return None;
        }
        let after = |number: &str| {
            number.split_once('.').map_or(0, |(_, after)| after.bytes().take_while(u8::is_ascii_digit).count())
        };
        let finest = found.split(['±', '/']).map(after).max().and_then(|most| i32::try_from(most).ok())?;
        Some(digits::decimals_after(finest, self.unit.factor() / unit.factor()) + 1)
    }

    fn tolerated(&self, written: &Written, found: &str) -> Result<Interval, Fault> {
        if self.kind.name == "count" {
            return Err(Fault::new(
                id::COUNT_WITH_TOLERANCE,
                written.span,
                format!("{} is a count and takes no ±", self.name),
            )
            .found(found)
            .allowed("a whole number")
            .cure("count it, and write the number alone"));
        }
        Ok(written.bounds())
    }

    fn check_unit(&self, written: &Written, found: &str) -> Result<(), Fault> {
        let unit = &written.unit;
        let own = &self.unit;
        let wrong = |id, message: String, cure: String| {
            Err(Fault::new(id, written.span, message).found(found).allowed(self.allowed()).cure(cure))
        };
        if unit.text.is_empty() && !own.text.is_empty() && !own.is_label() {
            if self.kind.name == "percent" {
                return wrong(
                    id::PERCENT_SIGN_MISSING,
                    format!("{} needs a % sign", self.name),
                    format!("did you mean {found} %?"),
                );
            }
            let cure = format!("write the unit: {found} {}", own.shown(false));
            return wrong(id::UNIT_MISSING, format!("{} has no unit", self.name), cure);
        }
        if self.kind.dimension.is_none() {
            let fits = unit.text.is_empty() || unit.text == own.text;
            if fits {
                return Ok(());
            }
            let message = if unit.is_label() || own.is_label() {
                format!("{} is not counted in {}", self.name, unit.shown(false))
            } else {
                format!("{} is {}, not {}", self.name, self.kind.phrase, phrase_of(unit))
            };
            let id = if unit.is_label() { id::WRONG_LABEL } else { id::WRONG_KIND };
            return wrong(id, message, self.advised());
        }
        if self.kind.takes(unit) {
            return Ok(());
        }
        wrong(id::WRONG_KIND, format!("{} is {}, not {}", self.name, self.kind.phrase, phrase_of(unit)), self.advised())
    }

    fn check_value(&self, reading: &Reading, span: Span, found: &str) -> Result<(), Fault> {
        if self.kind.name == "count" && !is_whole(reading) {
            return Err(Fault::new(id::NOT_WHOLE, span, format!("{} is counted in whole numbers", self.name))
                .found(found)
                .allowed(self.allowed())
                .cure(self.advised()));
        }
        let style = self.style();
        let (low, high) = (style.number(reading.bounds.lo), style.number(reading.bounds.hi));
        let below = low < self.low && !whole::near(low, self.low);
        let above = high > self.high && !whole::near(high, self.high);
        if !below && !above {
            return Ok(());
        }
        let stated = style.number(reading.value);
        let itself = |limit: f64, out: bool| out && !whole::near(stated, limit);
        let message = if itself(self.low, stated < self.low) || itself(self.high, stated > self.high) {
            format!("{} is out of range", self.name)
        } else {
            format!("{} with its tolerance is out of range", self.name)
        };
        Err(Fault::new(id::OUT_OF_RANGE, span, message).found(found).allowed(self.allowed()).cure(self.advised()))
    }

    /// The range in words: `150 mm to 1500 mm`.
    #[must_use]
    pub fn allowed(&self) -> String {
        let style = self.style();
        let end = |number: f64| style.with_unit(&super::digits::plain(number));
        format!("{} to {}", end(self.low), end(self.high)).replace(super::figure::NO_BREAK, " ")
    }

    /// What to do again, and what that is of.
    pub(super) fn advice(&self) -> (&'static str, &str) {
        let first = self.about.split(',').next().unwrap_or_default();
        // What already tells how it is found needs no other word before it.
        if ["measure ", "count ", "read "].iter().any(|word| first.starts_with(word)) {
            return ("", &self.about);
        }
        let again = match self.kind.name {
            "count" if first.is_empty() => "count again",
            "count" => "count again:",
            "length" if first.contains(" to ") => "measure from",
            "length" | "angle" if first.is_empty() => "measure again",
            "length" | "angle" => "measure again:",
            _ if first.is_empty() => "check it again",
            _ => "check it again:",
        };
        (again, &self.about)
    }

    /// The advice as a sentence.
    fn advised(&self) -> String {
        let (again, about) = self.advice();
        format!("{again} {about}").trim().to_owned()
    }
}

fn is_whole(reading: &Reading) -> bool {
    let whole_within = |x: f64| whole::near(x.round(), x) || x == 0.0;
    whole_within(reading.value) && reading.bounds.lo.fract() == 0.0 && reading.bounds.hi.fract() == 0.0
        || reading.bounds.is_point() && whole_within(reading.value)
}
