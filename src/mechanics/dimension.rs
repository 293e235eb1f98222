//! Dimensions: what kind of thing a number measures, as powers of the base units.
//!
//! Six bases: metre, kilogram, second, ampere, kelvin, radian. An angle is a dimension of its own, so that
//! degrees and plain numbers cannot be mixed unseen. Powers are kept in halves, because a square root of an
//! area is a length and nothing finer occurs in the trade. This file knows no unit and no number.

use std::fmt;

/// Powers of m, kg, s, A, K and rad, each counted in halves (a length is `2` in the first place).
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
pub struct Dimension([i8; 6]);

const BASES: [&str; 6] = ["m", "kg", "s", "A", "K", "rad"];

impl Dimension {
    /// A plain number: count, ratio or percent.
    pub const NONE: Self = Self([0; 6]);
    /// A length, in metres.
    pub const LENGTH: Self = Self::of(1, 0, 0, 0, 0, 0);
    /// An angle, in radians.
    pub const ANGLE: Self = Self::of(0, 0, 0, 0, 0, 1);
    /// A temperature, in kelvin.
    pub const TEMPERATURE: Self = Self::of(0, 0, 0, 0, 1, 0);

    /// The dimension with these whole powers of m, kg, s, A, K and rad.
    #[must_use]
    pub const fn of(m: i8, kg: i8, s: i8, a: i8, k: i8, rad: i8) -> Self {
        Self([2 * m, 2 * kg, 2 * s, 2 * a, 2 * k, 2 * rad])
    }

    /// True for a plain number.
    #[must_use]
    pub fn is_none(self) -> bool {
        self == Self::NONE
    }

    /// The dimension of a product.
    #[must_use]
    pub fn times(self, other: Self) -> Self {
        self.zip(other, i8::saturating_add)
    }

    /// The dimension of a quotient.
    #[must_use]
    pub fn over(self, other: Self) -> Self {
        self.zip(other, i8::saturating_sub)
    }

    /// The dimension of a power; `None` where a power would not be a whole number of halves.
    #[must_use]
    pub fn power(self, exponent: f64) -> Option<Self> {
        let mut powers = [0; 6];
        for (place, &half) in powers.iter_mut().zip(&self.0) {
            let scaled = f64::from(half) * exponent;
            if scaled.fract() != 0.0 || scaled.abs() > 100.0 {
                return None;
            }
            #[expect(clippy::cast_possible_truncation, reason = "whole and at most 100, checked just above")]
            let whole = scaled as i8;
            *place = whole;
        }
        Some(Self(powers))
    }

    fn zip(self, other: Self, join: fn(i8, i8) -> i8) -> Self {
        let mut powers = self.0;
        for (place, &right) in powers.iter_mut().zip(&other.0) {
            *place = join(*place, right);
        }
        Self(powers)
    }
}

impl fmt::Display for Dimension {
    /// The base units and their powers, such as `kg·m^2/s^2`; `1` for a plain number.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let side = |sign: i8| {
            let terms: Vec<String> = BASES
                .iter()
                .zip(self.0)
                .filter(|(_, half)| half.signum() == sign)
                .map(|(base, half)| match half.abs() {
                    2 => (*base).to_owned(),
                    even if even % 2 == 0 => format!("{base}^{}", even / 2),
                    odd => format!("{base}^({odd}/2)"),
                })
                .collect();
            terms
        };
        let (over, under) = (side(1), side(-1));
        out.write_str(&if over.is_empty() { "1".to_owned() } else { over.join("·") })?;
        match under.len() {
            0 => Ok(()),
            1 => write!(out, "/{}", under[0]),
            _ => write!(out, "/({})", under.join("·")),
        }
    }
}
