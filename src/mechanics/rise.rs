//! Bounds together with bounds of the slope against one input.
//!
//! A slope here is any difference quotient between two points of the box that differ in that input alone, so that
//! steps (rounding, tables) and corners (`abs`, `min`) have one as well: a step that only rises has a slope between
//! 0 and infinity. Where the slope surely keeps one sign over the box, the value is largest at one end of the input.

use super::bounds::{Carried, Doubt, Walk};
use super::functions::Function;
use super::interval::Interval;
use super::table::Table;
use super::term::BalanceTerm;

/// A value's bounds and the bounds of its slope against one input.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Rise {
    /// The value.
    pub range: Interval,
    /// Its slope.
    pub slope: Interval,
}

const LEVEL: Interval = Interval { lo: 0.0, hi: 0.0 };
const RISING: Interval = Interval { lo: 0.0, hi: f64::INFINITY };
const FALLING: Interval = Interval { lo: f64::NEG_INFINITY, hi: 0.0 };

impl Carried for Rise {
    fn fixed(range: Interval) -> Self {
        Self { range, slope: LEVEL }
    }

    fn range(self) -> Interval {
        self.range
    }

    fn within(self, range: Interval) -> Self {
        Self { range, ..self }
    }

    fn negate(self) -> Self {
        Self { range: -self.range, slope: -self.slope }
    }

    fn add(self, other: Self) -> Self {
        Self { range: self.range + other.range, slope: self.slope + other.slope }
    }

    fn multiply(self, other: Self) -> Self {
        let slope = self.slope * other.range + self.range * other.slope;
        Self { range: self.range * other.range, slope }
    }

    fn divide(self, other: Self) -> Option<Self> {
        let range = self.range.divide(other.range)?;
        // (a/b)' = (a' - (a/b) b') / b
        let slope = (self.slope - range * other.slope).divide(other.range)?;
        Some(Self { range, slope })
    }

    fn whole_power(self, power: i32) -> Option<Self> {
        let range = self.range.powi(power)?;
        if power == 0 {
            return Some(Self::fixed(range));
        }
        let steep = self.range.powi(power - 1)? * Interval::point(f64::from(power));
        Some(Self { range, slope: steep * self.slope })
    }

    fn power(self, other: Self) -> Option<Self> {
        let range = self.range.pow(other.range)?;
        let by_base = range * other.range.divide(self.range).unwrap_or(Interval::WHOLE) * self.slope;
        let by_power = if other.slope == LEVEL { LEVEL } else { range * self.range.ln()? * other.slope };
        Some(Self { range, slope: by_base + by_power })
    }

    fn call(function: &Function, arguments: &[Self]) -> Option<Self> {
        let mut ranges = [Interval::WHOLE; super::compute::MOST_ARGUMENTS];
        for (place, argument) in ranges.iter_mut().zip(arguments) {
            *place = argument.range;
        }
        let ranges = &ranges[..arguments.len()];
        let range = (function.bounds)(ranges)?;
        // What is the same all over the box has no slope there, whatever a step may have elsewhere.
        if range.is_point() {
            return Some(Self::fixed(range));
        }
        let mut slope = LEVEL;
        for (index, argument) in arguments.iter().enumerate() {
            if argument.slope != LEVEL {
                slope = slope + (function.slope)(ranges, index) * argument.slope;
            }
        }
        Some(Self { range, slope })
    }

    fn either(self, other: Self) -> Self {
        // Between the branches the value may jump either way.
        Self { range: self.range.hull(other.range), slope: Interval::WHOLE }
    }

    fn read(table: &Table, by: Self) -> Option<Self> {
        let (range, way) = table.span(by.range)?;
        let steep = match way {
            Some(0) => LEVEL,
            Some(1) => RISING,
            Some(_) => FALLING,
            None => Interval::WHOLE,
        };
        Some(Self { range, slope: steep * by.slope })
    }

    /// With F = left − right and F = 0 at the root, the root's slope is −F' by the input over F' by the unknown.
    fn root(walk: &mut Walk<Self>, parts: &BalanceTerm, root: Interval) -> Result<Self, Doubt> {
        walk.slots[parts.slot] = Some(Self::fixed(root));
        let by_input = walk.bounds(&parts.left)?.slope - walk.bounds(&parts.right)?.slope;
        let before = walk.slots;
        for slot in walk.slots.iter_mut().flatten() {
            slot.slope = LEVEL;
        }
        walk.slots[parts.slot] = Some(Self { range: root, slope: Interval::point(1.0) });
        let sides = (walk.bounds(&parts.left), walk.bounds(&parts.right));
        walk.slots = before;
        let by_unknown = sides.0?.slope - sides.1?.slope;
        let slope = (-by_input).divide(by_unknown).unwrap_or(Interval::WHOLE);
        Ok(Self { range: root, slope })
    }
}
