//! Turns a number into decimal text, by one routine for pages, messages and
//! data. It rounds on the decimal digits of the exact number, never on the
//! binary one: first to twelve significant digits, which drops the dust of
//! arithmetic, then to the decimals asked for, halves away from zero both
//! times. A twin in JavaScript prints the same text; `tests/text/digits.yaml`
//! holds both to it. No units, thousands marks or exponents are written here.

/// Significant digits that a number keeps before anything else happens.
const SIGNIFICANT: usize = 12;

/// No double has digits beyond 10^±324; more places would print only zeros.
const FARTHEST_PLACE: i32 = 400;

/// The sign of negative numbers, U+2212.
const MINUS: char = '\u{2212}';

/// What a number that isn't finite prints as, should one get this far.
const NO_FIGURE: &str = "\u{2014}";

/// The number with `decimals` digits after the point; a negative count rounds
/// to tens (−1), hundreds (−2) and so on. Never a negative zero. A number that
/// isn't finite is the caller's error and prints as a dash.
#[must_use]
pub fn fixed(value: f64, decimals: i32) -> String {
    let decimals = decimals.clamp(-FARTHEST_PLACE, FARTHEST_PLACE);
    let Some(mut number) = Decimal::of(value) else {
        return NO_FIGURE.to_owned();
    };
    number.round_to_places(decimals);
    number.text(usize::try_from(decimals).unwrap_or(0))
}

/// The number with at most `decimals` digits after the point, without trailing
/// zeros there. A number that isn't finite prints as a dash.
#[must_use]
pub fn at_most(value: f64, decimals: i32) -> String {
    let text = fixed(value, decimals);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// The number at twelve significant digits without trailing zeros: 410, 12.7,
/// 0.5. A number that isn't finite is the caller's error and prints as a dash.
#[must_use]
pub fn plain(value: f64) -> String {
    let Some(mut number) = Decimal::of(value) else {
        return NO_FIGURE.to_owned();
    };
    number.trim();
    let decimals = number.places_used();
    number.text(decimals)
}

/// The decimals of a converted figure that is to stay as coarse as the first.
/// `ratio` is the new unit's factor over the old one's (mm to in: 25.4); the
/// decimals move by the whole number nearest its decimal logarithm. A ratio
/// that isn't a positive number is the caller's error and moves nothing.
#[must_use]
pub fn decimals_after(decimals: i32, ratio: f64) -> i32 {
    debug_assert!(ratio.is_finite() && ratio > 0.0, "a ratio of units is positive");
    if !(ratio.is_finite() && ratio > 0.0) {
        return decimals;
    }
    let shift = libm::log10(ratio).round();
    #[allow(clippy::cast_possible_truncation, reason = "between −324 and 308")]
    decimals.saturating_add(shift as i32)
}

/// The decimals that a step of a power of ten asks for: `0.01` gives 2, `1`
/// gives 0, `10` gives −1. `None` for any other text or number.
#[must_use]
pub fn places(step: &str) -> Option<i32> {
    let (before, after) = match step.split_once('.') {
        Some((before, after)) if !after.is_empty() => (before, after),
        Some(_) => return None,
        None => (step, ""),
    };
    if before.is_empty() {
        return None;
    }
    let digits = format!("{before}{after}");
    let one = digits.find('1')?;
    let rest_is_zero = digits.bytes().enumerate().all(|(at, digit)| at == one || digit == b'0');
    let place = i32::try_from(one + 1).ok()? - i32::try_from(before.len()).ok()?;
    rest_is_zero.then_some(place)
}

/// A decimal number 0.d₁d₂d₃… × 10^`point`, its digits as values 0 to 9.
struct Decimal {
    negative: bool,
    digits: Vec<u8>,
    point: i32,
}

impl Decimal {
    /// The double's exact expansion, rounded to twelve significant digits;
    /// `None` if it isn't finite.
    fn of(value: f64) -> Option<Self> {
        debug_assert!(value.is_finite(), "only a finite number has digits");
        if !value.is_finite() {
            return None;
        }
        // Digits beyond those that stay tell how to round, but for exactly a
        // half, which may itself have been rounded. Then 767 significant
        // digits, which write any double exactly, tell.
        let mut number = Self::read(value < 0.0, &format!("{:.*e}", SIGNIFICANT + 5, value.abs()))?;
        let rest = number.digits.get(SIGNIFICANT..).unwrap_or_default();
        if rest.first() == Some(&5) && rest[1..].iter().all(|digit| *digit == 0) {
            number = Self::read(value < 0.0, &format!("{:.766e}", value.abs()))?;
        }
        number.keep(SIGNIFICANT);
        Some(number)
    }

    /// Reads what the standard library writes: one digit, a point, digits, an
    /// exponent of ten.
    fn read(negative: bool, written: &str) -> Option<Self> {
        let (mantissa, exponent) = written.split_once('e')?;
        let digits = mantissa.bytes().filter(u8::is_ascii_digit).map(|digit| digit - b'0').collect();
        Some(Self { negative, digits, point: exponent.parse::<i32>().ok()? + 1 })
    }

    /// Rounds to this many digits after the point, or before it if negative.
    fn round_to_places(&mut self, decimals: i32) {
        if let Ok(count) = usize::try_from(self.point + decimals) {
            self.keep(count);
        } else {
            // Below a tenth of the last place kept: nothing is left to round.
            self.digits.clear();
            self.point = 0;
        }
    }

    /// Keeps the first `count` digits, the rest rounded, halves away from zero.
    fn keep(&mut self, count: usize) {
        let up = self.digits.get(count).is_some_and(|&next| next >= 5);
        self.digits.truncate(count);
        if up {
            self.carry();
        } else if self.digits.is_empty() {
            self.point = 0;
        }
    }

    /// Adds one in the last digit; 999 becomes 1000, one place further left.
    fn carry(&mut self) {
        for digit in self.digits.iter_mut().rev() {
            if *digit < 9 {
                *digit += 1;
                return;
            }
            *digit = 0;
        }
        self.digits.insert(0, 1);
        self.point += 1;
    }

    /// Drops zeros at the end.
    fn trim(&mut self) {
        while self.digits.last() == Some(&0) {
            self.digits.pop();
        }
    }

    /// Digits after the point that are there to be written.
    fn places_used(&self) -> usize {
        let length = i32::try_from(self.digits.len()).unwrap_or(i32::MAX);
        usize::try_from(length.saturating_sub(self.point)).unwrap_or(0)
    }

    /// The digit that counts 10^`place`.
    fn digit_at(&self, place: i32) -> char {
        let index = usize::try_from(self.point - 1 - place).ok();
        let digit = index.and_then(|at| self.digits.get(at)).copied().unwrap_or(0);
        char::from(b'0' + digit)
    }

    /// Writes the number with `decimals` digits after the point.
    fn text(&self, decimals: usize) -> String {
        let mut text = String::new();
        if self.negative && self.digits.iter().any(|&digit| digit != 0) {
            text.push(MINUS);
        }
        let first = self.point.max(1) - 1;
        text.extend((0..=first).rev().map(|place| self.digit_at(place)));
        if decimals > 0 {
            text.push('.');
            text.extend((1..).take(decimals).map(|place: i32| self.digit_at(-place)));
        }
        text
    }
}
