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
    fn root(walk: &mut Walk<Self>, parts: &BalanceTerm, root: Interval) -> Result<Self, Doubt>;
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
pub struct Walk<C> {
    /// The values by place; `None` is doubtful.
    pub slots: [Option<C>; PLACES],
    /// How whole numbers are chosen.
    pub chooser: Chooser,
    /// The roots that were found already, by the balance that has them. A balance is met first with nothing cut by a
    /// condition, so what was found then holds wherever the walk meets it again.
    pub roots: Vec<(*const BalanceTerm, Interval)>,
    /// How many balances the walk stands in; the roots of an inner one change with the unknown of the outer one.
    inside: usize,
}

impl<C: Carried> Walk<C> {
    /// A walk that begins with the inputs known, and keeps the hull of whole numbers.
    pub fn over(inputs: impl Iterator<Item = C>) -> Self {
        let mut slots = [None; PLACES];
        for (slot, input) in slots.iter_mut().zip(inputs) {
            *slot = Some(input);
        }
        Self { slots, chooser: Chooser::hull(), roots: Vec::new(), inside: 0 }
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
        let of = std::ptr::from_ref(parts);
        let known = self.roots.iter().find(|(known, _)| *known == of && self.inside == 0).map(|(_, root)| *root);
        let root = known.map_or_else(|| self.find_root(parts), Ok)?;
        if self.inside == 0 && known.is_none() {
            self.roots.push((of, root));
        }
        self.inside += 1;
        let carried = C::root(self, parts, root);
        self.inside -= 1;
        carried
    }

    /// Slopes have no part in finding a root, so plain intervals look for it.
    fn find_root(&mut self, parts: &BalanceTerm) -> Result<Interval, Doubt> {
        let low = self.bounds(&parts.low)?.range();
        let high = self.bounds(&parts.high)?.range();
        let slots = self.slots.map(|slot| slot.map(Carried::range));
        let mut plain = Walk::<Interval> { slots, chooser: Chooser::hull(), roots: Vec::new(), inside: 1 };
        plain.enclose_root(parts, low, high)
    }
}

/// Balances over a box.
impl Walk<Interval> {
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
        let mut from = Push::new(low.lo, at_low, high.lo, rises);
        let mut to = Push::new(high.hi, at_high, low.hi, !rises);
        for _ in 0..60 {
            let last_digits = 1e-14 * from.sure.abs().max(to.sure.abs());
            let small = last_digits.max(1e-4 * (to.sure - from.sure).abs());
            let (from_done, to_done) = (from.left() <= small, to.left() <= small);
            if from_done && to_done {
                break;
            }
            if !from_done {
                self.push(parts, &mut from, small)?;
            }
            if !to_done {
                self.push(parts, &mut to, small)?;
            }
        }
        // The bisection of the values stops at neighbouring doubles of a difference that is itself rounded.
        let slack = 1e-12 * from.sure.abs().max(to.sure.abs());
        let root = Interval::new(from.sure.min(to.sure) - slack, from.sure.max(to.sure) + slack);
        // It never leaves the ends of its search.
        Ok(root.intersect(low.hull(high)).unwrap_or(root))
    }

    /// Tries one place between the last that is sure and where it may not be sure.
    fn push(&mut self, parts: &BalanceTerm, end: &mut Push, small: f64) -> Result<(), Doubt> {
        let place = end.next(small);
        let range = self.difference(parts, Interval::point(place))?;
        end.take(place, range);
        Ok(())
    }

    fn difference(&mut self, parts: &BalanceTerm, at: Interval) -> Result<Interval, Doubt> {
        self.slots[parts.slot] = Some(at);
        Ok(self.bounds(&parts.left)? - self.bounds(&parts.right)?)
    }
}

/// One end of a root's bounds: the last place that is sure, and one beyond which nothing is known.
///
/// What decides is the end of the difference's bounds that comes to 0 first, turned so that below 0 is sure. Its own
/// root is closed in on by a chord between the two places, the weight of one that stays halved (the Illinois rule),
/// and every third time by halving, so that no shape of the difference can hold it up.
struct Push {
    sure: f64,
    at_sure: f64,
    beyond: f64,
    at_beyond: Option<f64>,
    before: bool,
    tries: u32,
    /// Which place stayed at the last try.
    sure_stayed: Option<bool>,
}

impl Push {
    fn new(sure: f64, at_sure: Interval, beyond: f64, before: bool) -> Self {
        let mut push = Self { sure, at_sure: 0.0, beyond, at_beyond: None, before, tries: 0, sure_stayed: None };
        push.at_sure = push.deciding(at_sure);
        push
    }

    fn deciding(&self, range: Interval) -> f64 {
        if self.before { range.hi } else { -range.lo }
    }

    fn left(&self) -> f64 {
        (self.beyond - self.sure).abs()
    }

    /// The place to try: beyond itself first, since all may be sure.
    fn next(&mut self, small: f64) -> f64 {
        let Some(at_beyond) = self.at_beyond else { return self.beyond };
        self.tries += 1;
        let chord = self.at_sure / (self.at_sure - at_beyond);
        let share = if self.tries.is_multiple_of(3) || !chord.is_finite() { 0.5 } else { chord };
        let edge = (0.5 * small / self.left()).min(0.5);
        self.sure + (self.beyond - self.sure) * share.clamp(edge, 1.0 - edge)
    }

    fn take(&mut self, place: f64, range: Interval) {
        let at = self.deciding(range);
        let is_sure = at < 0.0;
        if is_sure {
            (self.sure, self.at_sure) = (place, at);
        } else {
            (self.beyond, self.at_beyond) = (place, Some(at));
        }
        let stayed = !is_sure;
        if self.sure_stayed == Some(stayed) {
            if stayed { self.at_sure /= 2.0 } else { self.at_beyond = self.at_beyond.map(|at| at / 2.0) }
        }
        self.sure_stayed = Some(stayed);
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
    fn root(_: &mut Walk<Self>, _: &BalanceTerm, root: Interval) -> Result<Self, Doubt> {
        Ok(root)
    }
}
