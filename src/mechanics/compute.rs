//! Term to number: the value at one point, in base units.
//!
//! Every back-end follows these steps in this order: whole powers are repeated multiplication, comparisons and
//! rounding forgive 1e-9, `balance` is the one bisection written here. Where there is no answer the result is a
//! `NoAnswer` with its place; a number that comes out is never infinite and never "not a number".

use super::expression::Comparison;
use super::functions::Function;
use super::interval::{point, whole};
use super::term::{BalanceTerm, Condition, Term};
use crate::text::Span;

/// Where and why a working has no answer.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NoAnswer {
    /// The characters of the formula that have none.
    pub span: Span,
    /// What was asked for, such as `a division by 0`.
    pub why: &'static str,
}

/// A value in base units, or the reason why there is none.
pub type Value = Result<f64, NoAnswer>;

/// Works a term with the values that stand in `slots`.
///
/// # Errors
/// The place that has no answer.
pub fn value(term: &Term, slots: &mut [f64]) -> Value {
    Ok(match term {
        Term::Constant(number, _) => *number,
        Term::Slot(place) => slots[*place],
        Term::Negate(inner) => -value(inner, slots)?,
        Term::Add(two) => value(&two[0], slots)? + value(&two[1], slots)?,
        Term::Subtract(two) => value(&two[0], slots)? - value(&two[1], slots)?,
        Term::Multiply(two) => value(&two[0], slots)? * value(&two[1], slots)?,
        Term::Divide(two, span) => {
            let (over, under) = (value(&two[0], slots)?, value(&two[1], slots)?);
            check(over / under, *span, "a division by 0")?
        }
        Term::WholePower(base, power, span) => {
            check(point::powi(value(base, slots)?, *power), *span, "a division by 0, or a power too large")?
        }
        Term::Power(two, span) => {
            let (base, power) = (value(&two[0], slots)?, value(&two[1], slots)?);
            check(point::pow(base, power), *span, "this power of this number")?
        }
        Term::Call(function, arguments, span) => call(function, arguments, *span, slots)?,
        Term::If(three) => {
            let branch = if holds(&three.0, slots)? { &three.1 } else { &three.2 };
            value(branch, slots)?
        }
        Term::Balance(parts) => balance(parts, slots)?,
        Term::Lookup(table, inner, span) => {
            let row = table.row(value(inner, slots)?);
            row.ok_or(NoAnswer { span: *span, why: "a value outside the table" })?.value
        }
    })
}

/// True where every comparison of the chain holds.
///
/// # Errors
/// The place on either side that has no answer.
pub fn holds(condition: &Condition, slots: &mut [f64]) -> Result<bool, NoAnswer> {
    let mut left = value(&condition.sides[0], slots)?;
    for (sign, side) in condition.signs.iter().zip(&condition.sides[1..]) {
        let right = value(side, slots)?;
        if !compare(left, *sign, right) {
            return Ok(false);
        }
        left = right;
    }
    Ok(true)
}

/// One comparison; two values within 1e-9 of the larger are the same.
#[must_use]
pub fn compare(left: f64, sign: Comparison, right: f64) -> bool {
    let same = whole::near(left, right);
    match sign {
        Comparison::Less => left < right && !same,
        Comparison::AtMost => left <= right || same,
        Comparison::More => left > right && !same,
        Comparison::AtLeast => left >= right || same,
        Comparison::Same => same,
        Comparison::Other => !same,
    }
}

fn check(number: f64, span: Span, why: &'static str) -> Value {
    if number.is_finite() { Ok(number) } else { Err(NoAnswer { span, why }) }
}

/// Functions with many values are few and short: this many are worked without an allocation.
pub(super) const MOST_ARGUMENTS: usize = 8;

fn call(function: &Function, arguments: &[Term], span: Span, slots: &mut [f64]) -> Value {
    let mut given = [0.0; MOST_ARGUMENTS];
    for (place, argument) in given.iter_mut().zip(arguments) {
        *place = value(argument, slots)?;
    }
    let why = if function.no_answer.is_empty() { "a number too large" } else { function.no_answer };
    check((function.value)(&given[..arguments.len()]), span, why)
}

/// How often the search is halved at most: enough to tell neighbouring doubles apart from any start.
const HALVINGS: usize = 200;

/// The one bisection: ends first, then halves, until no double lies between the ends.
fn balance(parts: &BalanceTerm, slots: &mut [f64]) -> Value {
    let mut low = value(&parts.low, slots)?;
    let mut high = value(&parts.high, slots)?;
    let at_low = difference(parts, low, slots)?;
    if at_low == 0.0 {
        return Ok(low);
    }
    let at_high = difference(parts, high, slots)?;
    if at_high == 0.0 {
        return Ok(high);
    }
    if (at_low < 0.0) == (at_high < 0.0) {
        return Err(NoAnswer { span: parts.span, why: "a balance without a change of sign between its ends" });
    }
    for _ in 0..HALVINGS {
        let middle = low + (high - low) / 2.0;
        let at_middle = difference(parts, middle, slots)?;
        if at_middle == 0.0 {
            return Ok(middle);
        }
        let before = (at_middle < 0.0) == (at_low < 0.0);
        let end = if before { &mut low } else { &mut high };
        if middle.to_bits() == end.to_bits() {
            break;
        }
        *end = middle;
    }
    Ok(low + (high - low) / 2.0)
}

fn difference(parts: &BalanceTerm, at: f64, slots: &mut [f64]) -> Value {
    slots[parts.slot] = at;
    Ok(value(&parts.left, slots)? - value(&parts.right, slots)?)
}
