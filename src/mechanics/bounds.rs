//! Term to interval: bounds that surely hold the value at every point of a box, and bounds of its slopes.
//!
//! One walk over the term serves both: `Interval` alone gives natural interval arithmetic, `Rise` adds the slope
//! against one input, from which `enclose` sees which corner of the box holds the largest value. Doubt, an answer
//! that may be missing somewhere in the box, is an error here and is settled by `enclose`. A condition that is open
//! gives the hull of both branches, each cut to where its condition can hold.

use super::compute::{MOST_ARGUMENTS, compare};
use super::expression::Comparison;
use super::functions::Function;
use super::interval::{Interval, whole};
use super::table::Table;
use super::term::{BalanceTerm, Condition, PLACES, Term};

/// An answer may be missing somewhere in the box.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Doubt;

/// Whether a condition holds over a whole box.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Truth {
    /// Everywhere.
    Always,
    /// Nowhere.
    Never,
    /// Perhaps in one part and not in another.
    Open,
}

/// What the walk carries from term to term.
pub trait Carried: Copy {
    /// A value that depends on no input.
    fn fixed(range: Interval) -> Self;
    /// The bounds of the value.
    fn range(self) -> Interval;
    /// The same value, known to lie in `range` besides.
    #[must_use]
    fn within(self, range: Interval) -> Self;
    /// The opposite.
    #[must_use]
    fn negate(self) -> Self;
    /// A sum.
    #[must_use]
    fn add(self, other: Self) -> Self;
    /// A product.
    #[must_use]
    fn multiply(self, other: Self) -> Self;
    /// A quotient; `None` where the divisor may be 0.
    fn divide(self, other: Self) -> Option<Self>;
    /// A whole power.
    fn whole_power(self, power: i32) -> Option<Self>;
    /// Any other power.
    fn power(self, other: Self) -> Option<Self>;
    /// A row of the table of functions.
    fn call(function: &Function, arguments: &[Self]) -> Option<Self>;
    /// Either of two values, decided by a condition that is open.
    #[must_use]
    fn either(self, other: Self) -> Self;
    /// The value of the row of a table.
    fn read(table: &Table, by: Self) -> Option<Self>;
    /// The root of a balance that is known to lie in `root`.
    ///
    /// # Errors
    /// `Doubt` where a side may have no answer there.
    fn root(walk: &mut Walk<'_, Self>, parts: &BalanceTerm, root: Interval) -> Result<Self, Doubt>;
}

/// Picks one whole number where rounding over a box gives several, so that each can be followed by itself.
#[derive(Debug, Default)]
pub struct Chooser {
    /// What to take at each rounding, and of how many; `None` keeps the hull of all.
    script: Option<Vec<(usize, usize)>>,
    /// How many roundings were met.
    met: usize,
    /// True once a rounding had more whole numbers than are kept.
    pub overflow: bool,
    /// True once any rounding gave more than one whole number.
    pub split: bool,
}

/// A rounding step keeps at most this many whole numbers; so do all roundings of a formula together.
pub const MOST_CHOICES: usize = 8;

impl Chooser {
    /// Keeps the hull of all whole numbers.
    #[must_use]
    pub fn hull() -> Self {
        Self::default()
    }

    /// Takes the first whole number everywhere; `turn` goes on from there.
    #[must_use]
    pub fn first() -> Self {
        Self { script: Some(Vec::new()), ..Self::default() }
    }

    /// Turns to the next way of choosing; false when all were taken.
    pub fn turn(&mut self) -> bool {
        self.met = 0;
        let Some(script) = &mut self.script else { return false };
        while let Some((taken, of)) = script.pop() {
            if taken + 1 < of {
                script.push((taken + 1, of));
                return true;
            }
        }
        false
    }

    #[expect(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "at most eight"
    )]
    fn pick(&mut self, range: Interval) -> Interval {
        self.split = true;
        let Some(script) = &mut self.script else { return range };
        let many = range.hi - range.lo + 1.0;
        if many > MOST_CHOICES as f64 {
            self.overflow = true;
            return range;
        }
        if self.met == script.len() {
            script.push((0, many as usize));
        }
        let taken = script[self.met].0;
        self.met += 1;
        Interval::point((range.lo + taken as f64).min(range.hi))
    }
}

/// One walk over the terms of a formula: what stands in each place, and how rounding is followed.
#[derive(Debug)]
pub struct Walk<'a, C> {
    /// The values by place; `None` is doubtful.
    pub slots: [Option<C>; PLACES],
    /// How whole numbers are chosen.
    pub chooser: &'a mut Chooser,
}

impl<'a, C: Carried> Walk<'a, C> {
    /// A walk that begins with nothing known.
    pub fn new(chooser: &'a mut Chooser) -> Self {
        Self { slots: [None; PLACES], chooser }
    }

    /// Bounds of a term.
    ///
    /// # Errors
    /// `Doubt` where an answer may be missing somewhere in the box.
    pub fn bounds(&mut self, term: &Term) -> Result<C, Doubt> {
        match term {
            Term::Constant(_, range) => Ok(C::fixed(*range)),
            Term::Slot(place) => self.slots[*place].ok_or(Doubt),
            Term::Negate(inner) => Ok(self.bounds(inner)?.negate()),
            Term::Add(two) => Ok(self.bounds(&two[0])?.add(self.bounds(&two[1])?)),
            Term::Subtract(two) => Ok(self.bounds(&two[0])?.add(self.bounds(&two[1])?.negate())),
            Term::Multiply(two) => Ok(self.bounds(&two[0])?.multiply(self.bounds(&two[1])?)),
            Term::Divide(two, _) => self.bounds(&two[0])?.divide(self.bounds(&two[1])?).ok_or(Doubt),
            Term::WholePower(base, power, _) => self.bounds(base)?.whole_power(*power).ok_or(Doubt),
            Term::Power(two, _) => self.bounds(&two[0])?.power(self.bounds(&two[1])?).ok_or(Doubt),
            Term::Call(function, arguments, _) => self.call(function, arguments),
            Term::If(three) => self.choose(&three.0, &three.1, &three.2),
            Term::Balance(parts) => self.balance(parts),
            Term::Lookup(table, inner, _) => C::read(table, self.bounds(inner)?).ok_or(Doubt),
        }
    }

    /// Whether a condition holds over the whole box.
    ///
    /// # Errors
    /// `Doubt` where a side may have no answer.
    pub fn truth(&mut self, condition: &Condition) -> Result<Truth, Doubt> {
        let mut all = Truth::Always;
        let mut left = self.bounds(&condition.sides[0])?.range();
        for (sign, side) in condition.signs.iter().zip(&condition.sides[1..]) {
            let right = self.bounds(side)?.range();
            match truth_of(left, *sign, right) {
                Truth::Never => return Ok(Truth::Never),
                Truth::Open => all = Truth::Open,
                Truth::Always => {}
            }
            left = right;
        }
        Ok(all)
    }

    fn call(&mut self, function: &Function, arguments: &[Term]) -> Result<C, Doubt> {
        let mut given = [C::fixed(Interval::WHOLE); MOST_ARGUMENTS];
        for (place, argument) in given.iter_mut().zip(arguments) {
            *place = self.bounds(argument)?;
        }
        let result = C::call(function, &given[..arguments.len()]).ok_or(Doubt)?;
        let range = result.range();
        if function.rounds && !range.is_point() {
            return Ok(result.within(self.chooser.pick(range)));
        }
        Ok(result)
    }

    fn choose(&mut self, condition: &Condition, yes: &Term, no: &Term) -> Result<C, Doubt> {
        match self.truth(condition)? {
            Truth::Always => self.bounds(yes),
            Truth::Never => self.bounds(no),
            Truth::Open => {
                let one = self.within_branch(condition, true, yes)?;
                let other = self.within_branch(condition, false, no)?;
                match (one, other) {
                    (Some(one), Some(other)) => Ok(one.either(other)),
                    (Some(only), None) | (None, Some(only)) => Ok(only.either(only)),
                    (None, None) => Err(Doubt),
                }
            }
        }
    }

    /// A branch with the names of its condition cut to where it can be taken; `None` where it never is.
    fn within_branch(&mut self, condition: &Condition, holds: bool, branch: &Term) -> Result<Option<C>, Doubt> {
        let before = self.slots;
        let reached = self.cut(condition, holds)?;
        let result = if reached { self.bounds(branch).map(Some) } else { Ok(None) };
        self.slots = before;
        result
    }

    fn cut(&mut self, condition: &Condition, holds: bool) -> Result<bool, Doubt> {
        // That a chain of several does not hold says nothing of any one of them.
        if !holds && condition.signs.len() > 1 {
            return Ok(true);
        }
        for (place, sign) in condition.signs.iter().enumerate() {
            let sign = if holds { *sign } else { opposite(*sign) };
            let (left, right) = (&condition.sides[place], &condition.sides[place + 1]);
            if !self.cut_side(left, sign, right)? || !self.cut_side(right, turned(sign), left)? {
                return Ok(false);
            }
        }
        Ok(true)
    }

    fn cut_side(&mut self, side: &Term, sign: Comparison, other: &Term) -> Result<bool, Doubt> {
        let Term::Slot(place) = side else { return Ok(true) };
        let limit = self.bounds(other)?.range();
        let allowed = match sign {
            Comparison::Less | Comparison::AtMost => Interval { lo: f64::NEG_INFINITY, hi: eased(limit.hi, 1.0) },
            Comparison::More | Comparison::AtLeast => Interval { lo: eased(limit.lo, -1.0), hi: f64::INFINITY },
            Comparison::Same => Interval { lo: eased(limit.lo, -1.0), hi: eased(limit.hi, 1.0) },
            Comparison::Other => Interval::WHOLE,
        };
        let Some(now) = self.slots[*place] else { return Err(Doubt) };
        let Some(range) = now.range().intersect(allowed) else { return Ok(false) };
        self.slots[*place] = Some(now.within(range));
        Ok(true)
    }

    fn balance(&mut self, parts: &BalanceTerm) -> Result<C, Doubt> {
        let low = self.bounds(&parts.low)?.range();
        let high = self.bounds(&parts.high)?.range();
        // Slopes have no part in finding the root, so plain intervals look for it.
        let mut chooser = Chooser::hull();
        let mut plain = Walk::<Interval>::new(&mut chooser);
        plain.slots = self.slots.map(|slot| slot.map(Carried::range));
        let root = plain.enclose_root(parts, low, high)?;
        C::root(self, parts, root)
    }
}

/// Balances over a box.
impl Walk<'_, Interval> {
    /// Bounds of the root: pushed inward from both ends while the sign of the difference is sure.
    ///
    /// A place below every `high` at which the difference surely has the sign of the low end lies below the root,
    /// and so does a place below `low`; likewise from above. The ends are moved until what is left to gain is a
    /// small part of the bounds, or the last digits.
    fn enclose_root(&mut self, parts: &BalanceTerm, low: Interval, high: Interval) -> Result<Interval, Doubt> {
        // Where the ends are not sure to lie on either side of 0, there may be points without an answer. A difference
        // of 0 at an end is one, so 0 counts for both sides here.
        let at_low = self.difference(parts, low)?;
        let at_high = self.difference(parts, high)?;
        let rises = at_low.hi <= 0.0 && at_high.lo >= 0.0;
        let falls = at_low.lo >= 0.0 && at_high.hi <= 0.0;
        if !rises && !falls {
            return Err(Doubt);
        }
        let before = rises;
        let mut from = Push { sure: low.lo, beyond: high.lo };
        let mut to = Push { sure: high.hi, beyond: low.hi };
        for _ in 0..60 {
            let last_digits = 1e-14 * from.sure.abs().max(to.sure.abs());
            let small = last_digits.max(1e-4 * (to.sure - from.sure).abs());
            let (from_done, to_done) = (from.left() <= small, to.left() <= small);
            if from_done && to_done {
                break;
            }
            if !from_done {
                self.push(parts, &mut from, before)?;
            }
            if !to_done {
                self.push(parts, &mut to, !before)?;
            }
        }
        // The bisection of the values stops at neighbouring doubles of a difference that is itself rounded.
        let slack = 1e-12 * from.sure.abs().max(to.sure.abs());
        let root = Interval::new(from.sure.min(to.sure) - slack, from.sure.max(to.sure) + slack);
        // It never leaves the ends of its search.
        Ok(root.intersect(low.hull(high)).unwrap_or(root))
    }

    /// Halves what is left between the last sure place and where it may not be sure.
    fn push(&mut self, parts: &BalanceTerm, end: &mut Push, sign: bool) -> Result<(), Doubt> {
        let middle = end.sure + (end.beyond - end.sure) / 2.0;
        let place =
            if self.sign(parts, Interval::point(middle))? == Some(sign) { &mut end.sure } else { &mut end.beyond };
        *place = middle;
        Ok(())
    }

    fn difference(&mut self, parts: &BalanceTerm, at: Interval) -> Result<Interval, Doubt> {
        self.slots[parts.slot] = Some(at);
        Ok(self.bounds(&parts.left)? - self.bounds(&parts.right)?)
    }

    /// True where left − right is surely below 0, false where surely above, nothing where it may be either.
    fn sign(&mut self, parts: &BalanceTerm, at: Interval) -> Result<Option<bool>, Doubt> {
        let range = self.difference(parts, at)?;
        Ok(if range.hi < 0.0 {
            Some(true)
        } else if range.lo > 0.0 {
            Some(false)
        } else {
            None
        })
    }
}

/// One end of a root's bounds: the last place that is sure, and one beyond which nothing is known.
struct Push {
    sure: f64,
    beyond: f64,
}

impl Push {
    fn left(&self) -> f64 {
        (self.beyond - self.sure).abs()
    }
}

/// One comparison over two intervals, with the same 1e-9 as at a point.
#[must_use]
pub fn truth_of(left: Interval, sign: Comparison, right: Interval) -> Truth {
    let decide = |worst: bool, best: bool| match (worst, best) {
        (true, _) => Truth::Always,
        (false, true) => Truth::Open,
        (false, false) => Truth::Never,
    };
    match sign {
        Comparison::Less | Comparison::AtMost => {
            decide(compare(left.hi, sign, right.lo), compare(left.lo, sign, right.hi))
        }
        Comparison::More | Comparison::AtLeast => {
            decide(compare(left.lo, sign, right.hi), compare(left.hi, sign, right.lo))
        }
        Comparison::Same => decide(all_near(left, right), can_be_near(left, right)),
        Comparison::Other => decide(!can_be_near(left, right), !all_near(left, right)),
    }
}

fn all_near(left: Interval, right: Interval) -> bool {
    whole::near(left.lo, right.hi) && whole::near(left.hi, right.lo)
}

fn can_be_near(left: Interval, right: Interval) -> bool {
    left.intersect(right).is_some() || whole::near(left.hi, right.lo) || whole::near(left.lo, right.hi)
}

fn opposite(sign: Comparison) -> Comparison {
    match sign {
        Comparison::Less => Comparison::AtLeast,
        Comparison::AtMost => Comparison::More,
        Comparison::More => Comparison::AtMost,
        Comparison::AtLeast => Comparison::Less,
        Comparison::Same => Comparison::Other,
        Comparison::Other => Comparison::Same,
    }
}

fn turned(sign: Comparison) -> Comparison {
    match sign {
        Comparison::Less => Comparison::More,
        Comparison::AtMost => Comparison::AtLeast,
        Comparison::More => Comparison::Less,
        Comparison::AtLeast => Comparison::AtMost,
        same => same,
    }
}

/// A limit moved outward by the 1e-9 that comparisons forgive.
fn eased(limit: f64, way: f64) -> f64 {
    limit + way * 1.1e-9 * limit.abs()
}

impl Carried for Interval {
    fn fixed(range: Interval) -> Self {
        range
    }
    fn range(self) -> Interval {
        self
    }
    fn within(self, range: Interval) -> Self {
        range
    }
    fn negate(self) -> Self {
        -self
    }
    fn add(self, other: Self) -> Self {
        self + other
    }
    fn multiply(self, other: Self) -> Self {
        self * other
    }
    fn divide(self, other: Self) -> Option<Self> {
        Interval::divide(self, other)
    }
    fn whole_power(self, power: i32) -> Option<Self> {
        self.powi(power)
    }
    fn power(self, other: Self) -> Option<Self> {
        self.pow(other)
    }
    fn call(function: &Function, arguments: &[Self]) -> Option<Self> {
        (function.bounds)(arguments)
    }
    fn either(self, other: Self) -> Self {
        self.hull(other)
    }
    fn read(table: &Table, by: Self) -> Option<Self> {
        table.span(by).map(|(hull, _)| hull)
    }
    fn root(_: &mut Walk<'_, Self>, _: &BalanceTerm, root: Interval) -> Result<Self, Doubt> {
        Ok(root)
    }
}
