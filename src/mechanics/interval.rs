//! Numbers with guaranteed bounds: every operation turns intervals into an
//! interval that holds each result a number inside the operands can have.
//!
//! The four rules of arithmetic and the root are correctly rounded by IEEE 754,
//! so one step outward on each end is a proof; the step is left out where the
//! result is known to be exact. The other functions come from `libm`, whose
//! bits are the same everywhere; [`WIDENING`] says how far they are widened.
//! No dimensions, units or faults here: `None` says only that an answer is
//! missing somewhere inside.

#![allow(clippy::float_cmp, reason = "bounds are compared as the exact numbers they are")]

use std::f64::consts::{FRAC_PI_2, PI, TAU};
use std::ops::{Add, Mul, Neg, Sub};

/// How many steps to the neighbouring double the result of a `libm` function
/// is moved outward on each end.
///
/// `libm` states an error below 1 ulp for exp and log and nothing for the rest.
/// Measured on 60 000 arguments for each function against 220-bit arithmetic
/// (next to multiples of π/2, up to 1e18, next to ±1): `atan2` at most 1.31
/// ulp, all others at most 0.84. Two of the four steps cover the error at an
/// end, the other two that of a value worked inside, which also lies within.
/// The error stays relative near the zeros of sin and cos, because arguments
/// are reduced with more than 150 bits of π; so no absolute part is added.
pub const WIDENING: u32 = 4;

/// 2^53: a whole result below this size, from whole operands, wasn't rounded.
const WHOLE_LIMIT: f64 = 9_007_199_254_740_992.0;

/// A closed interval of real numbers. The ends are ordered, never NaN, and
/// may be infinite; an infinite end means "not bounded on this side".
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Interval {
    /// The lower bound.
    pub lo: f64,
    /// The upper bound.
    pub hi: f64,
}

impl Interval {
    /// All real numbers.
    pub const WHOLE: Self = Self { lo: f64::NEG_INFINITY, hi: f64::INFINITY };

    /// The interval between two numbers, given in either order. A NaN is the
    /// caller's error; it gives [`Interval::WHOLE`], which is never wrong.
    #[must_use]
    pub fn new(one: f64, other: f64) -> Self {
        if one.is_nan() || other.is_nan() {
            return Self::WHOLE;
        }
        // Adding 0 turns −0 into +0, which would otherwise decide a branch of atan2.
        Self { lo: one.min(other) + 0.0, hi: one.max(other) + 0.0 }
    }

    /// The interval that holds exactly one number.
    #[must_use]
    pub fn point(x: f64) -> Self {
        Self::new(x, x)
    }

    /// The double and its two neighbours: for a decimal literal or a converted
    /// value, whose true number lies within one rounding of `x`.
    #[must_use]
    pub fn around(x: f64) -> Self {
        Self::new(x.next_down(), x.next_up())
    }

    /// True if the interval holds exactly one number.
    #[must_use]
    pub fn is_point(self) -> bool {
        self.lo == self.hi
    }

    /// True if both ends are finite.
    #[must_use]
    pub fn is_bounded(self) -> bool {
        self.lo.is_finite() && self.hi.is_finite()
    }

    /// True if `x` lies in the interval, ends included; false for a NaN.
    #[must_use]
    pub fn contains(self, x: f64) -> bool {
        self.lo <= x && x <= self.hi
    }

    /// The distance between the ends, rounded up; infinite if not bounded.
    #[must_use]
    pub fn width(self) -> f64 {
        if self.is_point() {
            return 0.0;
        }
        upper(sum(self.hi, -self.lo))
    }

    /// A finite number inside, the middle where there is one: 0 for all real
    /// numbers, the largest double on the open side for a half line.
    #[must_use]
    pub fn mid(self) -> f64 {
        if self.is_point() {
            return self.lo;
        }
        match (self.lo.is_finite(), self.hi.is_finite()) {
            (true, true) => (self.lo / 2.0 + self.hi / 2.0).clamp(self.lo, self.hi),
            (true, false) => f64::MAX,
            (false, true) => f64::MIN,
            (false, false) => 0.0,
        }
    }

    /// What both intervals hold, or `None` if they have no number in common.
    #[must_use]
    pub fn intersect(self, other: Self) -> Option<Self> {
        let lo = self.lo.max(other.lo);
        let hi = self.hi.min(other.hi);
        (lo <= hi).then_some(Self { lo, hi })
    }

    /// The smallest interval that holds both.
    #[must_use]
    pub fn hull(self, other: Self) -> Self {
        Self { lo: self.lo.min(other.lo), hi: self.hi.max(other.hi) }
    }
}

/// A rounded result of one IEEE operation, and whether it is the exact one.
#[derive(Clone, Copy)]
struct Rounded {
    value: f64,
    exact: bool,
}

/// The greatest double that is surely not above the true result.
fn lower(result: Rounded) -> f64 {
    match result {
        Rounded { value, .. } if value.is_nan() => f64::NEG_INFINITY,
        Rounded { value, exact: true } => value,
        Rounded { value, .. } => value.next_down(),
    }
}

/// The smallest double that is surely not below the true result.
fn upper(result: Rounded) -> f64 {
    match result {
        Rounded { value, .. } if value.is_nan() => f64::INFINITY,
        Rounded { value, exact: true } => value,
        Rounded { value, .. } => value.next_up(),
    }
}

/// True for a whole number below [`WHOLE_LIMIT`] in size.
fn is_small_whole(x: f64) -> bool {
    x.abs() < WHOLE_LIMIT && x.trunc() == x
}

fn all_small_whole(a: f64, b: f64, result: f64) -> bool {
    is_small_whole(a) && is_small_whole(b) && is_small_whole(result)
}

fn sum(a: f64, b: f64) -> Rounded {
    let value = a + b;
    let exact = a == 0.0 || b == 0.0 || all_small_whole(a, b, value);
    Rounded { value, exact }
}

/// The product, with 0 × ∞ = 0: the infinity stands for numbers as large as
/// you like, each of which gives 0.
fn product(a: f64, b: f64) -> Rounded {
    if a == 0.0 || b == 0.0 {
        return Rounded { value: 0.0, exact: true };
    }
    let value = a * b;
    let exact = a.abs() == 1.0 || b.abs() == 1.0 || all_small_whole(a, b, value);
    Rounded { value, exact }
}

/// The quotient by a number that isn't 0. Anything over ∞ is 0, the bound that
/// the quotients come near; the other ends' quotients bound the rest.
fn quotient(a: f64, b: f64) -> Rounded {
    if a == 0.0 || b.is_infinite() {
        return Rounded { value: 0.0, exact: true };
    }
    let value = a / b;
    let exact = b.abs() == 1.0 || (all_small_whole(a, b, value) && value * b == a);
    Rounded { value, exact }
}

/// The hull of the four corner results of an operation that is monotone in
/// each operand.
fn over_corners(a: Interval, b: Interval, operation: impl Fn(f64, f64) -> Rounded) -> Interval {
    let corners = [operation(a.lo, b.lo), operation(a.lo, b.hi), operation(a.hi, b.lo), operation(a.hi, b.hi)];
    let lo = corners.map(lower).into_iter().fold(f64::INFINITY, f64::min);
    let hi = corners.map(upper).into_iter().fold(f64::NEG_INFINITY, f64::max);
    Interval::new(lo, hi)
}

impl Add for Interval {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self::new(lower(sum(self.lo, other.lo)), upper(sum(self.hi, other.hi)))
    }
}

impl Neg for Interval {
    type Output = Self;

    fn neg(self) -> Self {
        Self::new(-self.hi, -self.lo)
    }
}

impl Sub for Interval {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

impl Mul for Interval {
    type Output = Self;

    fn mul(self, other: Self) -> Self {
        over_corners(self, other, product)
    }
}

impl Interval {
    /// The quotient, or `None` if the divisor's interval holds 0.
    #[must_use]
    pub fn divide(self, other: Self) -> Option<Self> {
        (!other.contains(0.0)).then(|| over_corners(self, other, quotient))
    }

    /// The square root, or `None` if the interval holds negative numbers.
    #[must_use]
    pub fn sqrt(self) -> Option<Self> {
        let root = |x: f64| {
            let value = x.sqrt();
            let exact = x.is_infinite() || (all_small_whole(x, x, value) && value * value == x);
            Rounded { value, exact }
        };
        (self.lo >= 0.0).then(|| Self::new(lower(root(self.lo)), upper(root(self.hi))))
    }

    /// The distance from 0.
    #[must_use]
    pub fn abs(self) -> Self {
        let (one, other) = (self.lo.abs(), self.hi.abs());
        if self.contains(0.0) {
            return Self::new(0.0, one.max(other));
        }
        Self::new(one, other)
    }

    /// The smaller of a number from each.
    #[must_use]
    pub fn min(self, other: Self) -> Self {
        Self::new(self.lo.min(other.lo), self.hi.min(other.hi))
    }

    /// The larger of a number from each.
    #[must_use]
    pub fn max(self, other: Self) -> Self {
        Self::new(self.lo.max(other.lo), self.hi.max(other.hi))
    }

    /// The number times itself; never below 0, which a product of two
    /// intervals around 0 would be.
    #[must_use]
    pub fn square(self) -> Self {
        let size = self.abs();
        size * size
    }

    /// The whole power ((x·x)·x)…, the work growing with `n`; `n` = 0 gives 1.
    /// A negative `n` is 1 over the power, `None` if that power's interval
    /// holds 0.
    #[must_use]
    pub fn powi(self, n: i32) -> Option<Self> {
        let power = self.repeated_product(n.unsigned_abs());
        if n < 0 {
            return Self::point(1.0).divide(power);
        }
        Some(power)
    }

    /// A power is monotone in an even exponent's |x| and in an odd one's x, so
    /// the ends are enough.
    fn repeated_product(self, n: u32) -> Self {
        let base = if n.is_multiple_of(2) { self.abs() } else { self };
        let end = |x: f64| {
            let factor = Self::point(x);
            (1..n).fold(factor, |so_far, _| so_far * factor)
        };
        if n == 0 {
            return Self::point(1.0);
        }
        end(base.lo).hull(end(base.hi))
    }

    /// The power with an exact exponent; `None` if the base's interval holds a
    /// negative number, or 0 with an exponent that isn't above 0.
    #[must_use]
    pub fn powf(self, exponent: f64) -> Option<Self> {
        self.pow(Self::point(exponent))
    }

    /// The power with an uncertain exponent; `None` as for [`Interval::powf`].
    #[must_use]
    pub fn pow(self, exponent: Self) -> Option<Self> {
        let defined = self.lo > 0.0 || (self.lo == 0.0 && exponent.lo > 0.0);
        if !defined {
            return None;
        }
        let corners = [(self.lo, exponent.lo), (self.lo, exponent.hi), (self.hi, exponent.lo), (self.hi, exponent.hi)];
        let powers = corners.map(|(base, power)| {
            let exact = base == 0.0 || base == 1.0 || power == 0.0 || power == 1.0;
            widened(point::pow(base, power), exact)
        });
        Some(hull_of(powers).at_least(0.0))
    }

    /// The sine of an angle in radians.
    #[must_use]
    pub fn sin(self) -> Self {
        self.wave(point::sin, FRAC_PI_2)
    }

    /// The cosine of an angle in radians.
    #[must_use]
    pub fn cos(self) -> Self {
        self.wave(point::cos, 0.0)
    }

    /// A wave of period 2π between −1 and 1 with a crest at `crest` and a
    /// trough half a turn on; between them it is monotone.
    fn wave(self, function: fn(f64) -> f64, crest: f64) -> Self {
        if !self.is_bounded() {
            return Self::new(-1.0, 1.0);
        }
        let ends = self.enclose_ends(function, 0.0);
        let crossed = |place: f64| !self.is_point() && self.may_hold(place, TAU);
        Self {
            lo: if crossed(crest + PI) { -1.0 } else { ends.lo.max(-1.0) },
            hi: if crossed(crest) { 1.0 } else { ends.hi.min(1.0) },
        }
    }

    /// True if one of the places `first` + k·`period` may lie inside; false
    /// only if surely none does. The margin covers the rounding of `first`,
    /// `period`, the difference and the quotient, a few parts in 2^53 each.
    fn may_hold(self, first: f64, period: f64) -> bool {
        let turns = |x: f64| (x - first) / period;
        let margin = |x: f64| 4e-15 * (1.0 + turns(x).abs());
        let from = turns(self.lo) - margin(self.lo);
        let to = turns(self.hi) + margin(self.hi);
        from.ceil() <= to
    }

    /// The tangent of an angle in radians, or `None` if a right angle may lie
    /// inside, or so near that the angle's rounding can't tell.
    #[must_use]
    pub fn tan(self) -> Option<Self> {
        let safe = self.is_bounded() && !self.may_hold(FRAC_PI_2, PI);
        safe.then(|| self.enclose_ends(point::tan, 0.0))
    }

    /// The angle in radians, −π/2 to π/2, with this sine; `None` if the
    /// interval reaches beyond −1 or 1.
    #[must_use]
    pub fn asin(self) -> Option<Self> {
        self.is_sine().then(|| self.enclose_ends(point::asin, 0.0))
    }

    /// The angle in radians, 0 to π, with this cosine; `None` if the interval
    /// reaches beyond −1 or 1.
    #[must_use]
    pub fn acos(self) -> Option<Self> {
        self.is_sine().then(|| self.enclose_ends(point::acos, 1.0).at_least(0.0))
    }

    fn is_sine(self) -> bool {
        self.lo >= -1.0 && self.hi <= 1.0
    }

    /// The angle in radians, −π/2 to π/2, with this tangent.
    #[must_use]
    pub fn atan(self) -> Self {
        self.enclose_ends(point::atan, 0.0)
    }

    /// The angle in radians, −π to π, of the direction (x, y), `self` being y.
    /// `None` if the box holds the origin or touches the half line where the
    /// angle jumps (y = 0 with x ≤ 0).
    #[must_use]
    pub fn atan2(self, x: Self) -> Option<Self> {
        if self.contains(0.0) && x.lo <= 0.0 {
            return None;
        }
        let corners = [(self.lo, x.lo), (self.lo, x.hi), (self.hi, x.lo), (self.hi, x.hi)];
        Some(hull_of(corners.map(|(y, x)| widened(point::atan2(y, x), y == 0.0))))
    }

    /// e to this power.
    #[must_use]
    pub fn exp(self) -> Self {
        self.enclose_ends(point::exp, 0.0).at_least(0.0)
    }

    /// The natural logarithm, or `None` if the interval isn't wholly above 0.
    #[must_use]
    pub fn ln(self) -> Option<Self> {
        (self.lo > 0.0).then(|| self.enclose_ends(point::ln, 1.0))
    }

    /// The whole number at or below, in the sense of [`whole::floor`].
    #[must_use]
    pub fn floor(self) -> Self {
        Self::new(whole::floor(self.lo), whole::floor(self.hi))
    }

    /// The whole number at or above, in the sense of [`whole::ceil`].
    #[must_use]
    pub fn ceil(self) -> Self {
        Self::new(whole::ceil(self.lo), whole::ceil(self.hi))
    }

    /// The nearest whole number, in the sense of [`whole::round`].
    #[must_use]
    pub fn round(self) -> Self {
        Self::new(whole::round(self.lo), whole::round(self.hi))
    }

    /// The widened hull of a function at both ends, enough where it is
    /// monotone. At `exact_at` the function's result is exact.
    fn enclose_ends(self, function: fn(f64) -> f64, exact_at: f64) -> Self {
        let end = |x: f64| widened(function(x), x == exact_at);
        end(self.lo).hull(end(self.hi))
    }

    /// Cuts off what widening added below a bound that no result passes.
    fn at_least(self, bound: f64) -> Self {
        Self { lo: self.lo.max(bound), hi: self.hi.max(bound) }
    }
}

/// A result of a `libm` function with its neighbours, [`WIDENING`] each way.
fn widened(value: f64, exact: bool) -> Interval {
    if exact {
        return Interval::point(value);
    }
    let down = (0..WIDENING).fold(value, |x, _| x.next_down());
    let up = (0..WIDENING).fold(value, |x, _| x.next_up());
    Interval::new(down, up)
}

fn hull_of(parts: [Interval; 4]) -> Interval {
    let [first, rest @ ..] = parts;
    rest.into_iter().fold(first, Interval::hull)
}

/// The same functions on single numbers, as every value is worked: bits that
/// don't depend on the system's own mathematics library. Angles are in
/// radians; outside a function's domain the result is NaN or infinite.
pub mod point {
    /// The sine.
    #[must_use]
    pub fn sin(x: f64) -> f64 {
        libm::sin(x)
    }

    /// The cosine.
    #[must_use]
    pub fn cos(x: f64) -> f64 {
        libm::cos(x)
    }

    /// The tangent; very large, not infinite, at the double nearest π/2.
    #[must_use]
    pub fn tan(x: f64) -> f64 {
        libm::tan(x)
    }

    /// The angle from −π/2 to π/2 with this sine.
    #[must_use]
    pub fn asin(x: f64) -> f64 {
        libm::asin(x)
    }

    /// The angle from 0 to π with this cosine.
    #[must_use]
    pub fn acos(x: f64) -> f64 {
        libm::acos(x)
    }

    /// The angle from −π/2 to π/2 with this tangent.
    #[must_use]
    pub fn atan(x: f64) -> f64 {
        libm::atan(x)
    }

    /// The angle from −π to π of the direction (x, y).
    #[must_use]
    pub fn atan2(y: f64, x: f64) -> f64 {
        libm::atan2(y, x)
    }

    /// e to the power x.
    #[must_use]
    pub fn exp(x: f64) -> f64 {
        libm::exp(x)
    }

    /// The natural logarithm.
    #[must_use]
    pub fn ln(x: f64) -> f64 {
        libm::log(x)
    }

    /// The square root, correctly rounded by IEEE 754.
    #[must_use]
    pub fn sqrt(x: f64) -> f64 {
        x.sqrt()
    }

    /// The power with any exponent; whole exponents belong to [`powi`].
    #[must_use]
    pub fn pow(base: f64, exponent: f64) -> f64 {
        libm::pow(base, exponent)
    }

    /// The whole power by repeated multiplication from the left, ((x·x)·x)…;
    /// a negative `n` is 1 over the power, 0 gives 1. Every back-end multiplies
    /// in this order, so that they agree to the bit.
    #[must_use]
    pub fn powi(x: f64, n: i32) -> f64 {
        let times = n.unsigned_abs();
        if times == 0 {
            return 1.0;
        }
        let power = (1..times).fold(x, |so_far, _| so_far * x);
        if n < 0 { 1.0 / power } else { power }
    }
}

/// Whole numbers and sameness with a little play, so that rounding dust from
/// a unit conversion doesn't add a link to a chain.
pub mod whole {
    /// The play: absolute around a whole number or a half, relative in
    /// [`near`].
    pub const PLAY: f64 = 1e-9;

    /// From this size on every double is a whole number.
    const ALL_WHOLE: f64 = 4_503_599_627_370_496.0;

    /// The whole number at or below; anything within 1e-9 of a whole number is
    /// that number.
    #[must_use]
    pub fn floor(x: f64) -> f64 {
        let nearest = (x + 0.5).floor();
        if (x - nearest).abs() <= PLAY {
            return nearest;
        }
        x.floor()
    }

    /// The whole number at or above; anything within 1e-9 of a whole number is
    /// that number.
    #[must_use]
    pub fn ceil(x: f64) -> f64 {
        // Adding 0 turns −0 into +0.
        -floor(-x) + 0.0
    }

    /// The nearest whole number; anything within 1e-9 of a half is that half,
    /// and halves go away from zero.
    #[must_use]
    pub fn round(x: f64) -> f64 {
        let size = x.abs();
        if size >= ALL_WHOLE {
            return x;
        }
        let rounded = floor(size + 0.5);
        if x < 0.0 { -rounded + 0.0 } else { rounded }
    }

    /// True if two values are the same within 1e-9 of the larger in size.
    /// Infinities are the same only as themselves, a NaN as nothing.
    #[must_use]
    pub fn near(a: f64, b: f64) -> bool {
        let larger = a.abs().max(b.abs());
        a == b || (larger.is_finite() && (a - b).abs() <= PLAY * larger)
    }
}
