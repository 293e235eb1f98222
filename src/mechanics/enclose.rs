//! Bounds of every step of a formula over a box of inputs, tight enough to print.
//!
//! Natural interval arithmetic first; then the slope of every step against every uncertain input shows which corner
//! of the box holds the smallest and the largest value, and the step is worked at just those corners; inputs whose
//! slope keeps no sign are halved, and boxes with doubt in them too, up to a fixed number of parts. Last, where a
//! step was rounded, each whole number that is possible is followed through the later steps by itself. Everything
//! is a proof: nothing is sampled, but to find a point without an answer where a proof fails.

use super::bounds::{Carried, Chooser, MOST_CHOICES, Walk};
use super::compute::{self, NoAnswer};
use super::interval::{Interval, whole};
use super::rise::Rise;
use super::term::{PLACES, Term};

/// The steps of a formula in order; step `i` stands in place `inputs + i`.
#[derive(Clone, Debug, Default)]
pub struct Program {
    /// How many inputs come before the steps.
    pub inputs: usize,
    /// The steps, in order.
    pub steps: Vec<Term>,
}

/// What is known of a step over a box.
#[derive(Clone, PartialEq, Debug)]
pub enum Spread {
    /// Every value lies in here.
    Within(Interval),
    /// The value is one of these, rising; more than one.
    OneOf(Vec<f64>),
    /// An answer may be missing somewhere, and no subdivision could tell.
    NotBounded,
}

/// A box is cut into this many parts at most before an answer is called not bounded.
pub const MOST_PARTS: usize = 64;

/// Where there is no doubt, a box is cut into this many parts at most to tighten its bounds.
const PARTS_TO_TIGHTEN: usize = 8;

type Hulls = Vec<Option<Interval>>;

/// Bounds of all steps over the box.
///
/// # Errors
/// A point of the box at which a step has no answer, where one was found.
pub fn enclose(program: &Program, inputs: &[Interval]) -> Result<Vec<Spread>, NoAnswer> {
    let uncertain: Vec<usize> = (0..inputs.len()).filter(|&place| !inputs[place].is_point()).collect();
    let mut chooser = Chooser::hull();
    let whole_box = Part::of(program, inputs.to_vec(), &uncertain, &mut chooser);
    let hulls = subdivide(program, whole_box, &uncertain)?;
    let chosen = if chooser.split { follow_choices(program, inputs, &hulls) } else { None };
    let spread = |step: usize| match (&chosen, hulls[step]) {
        (_, None) => Spread::NotBounded,
        (Some(lists), Some(hull)) => lists[step].clone().map_or(Spread::Within(hull), Spread::OneOf),
        (None, Some(hull)) => Spread::Within(hull),
    };
    Ok((0..program.steps.len()).map(spread).collect())
}

/// One part of the box with the bounds of all steps over it.
struct Part {
    inputs: Vec<Interval>,
    hulls: Hulls,
    /// Which uncertain inputs have a slope without a sign in some step.
    open: Vec<usize>,
}

impl Part {
    fn of(program: &Program, inputs: Vec<Interval>, uncertain: &[usize], chooser: &mut Chooser) -> Self {
        let natural = walk(program, &inputs, chooser);
        let slopes: Vec<Vec<Interval>> = uncertain.iter().map(|&input| slopes(program, &inputs, input)).collect();
        let mut corners = Corners { program, inputs: &inputs, uncertain, done: Vec::new() };
        let mut open = Vec::new();
        let mut hulls = Vec::with_capacity(natural.len());
        for (step, natural) in natural.iter().enumerate() {
            let toward: Vec<Way> = slopes.iter().map(|slopes| Way::of(slopes[step])).collect();
            for (way, &input) in toward.iter().zip(uncertain) {
                if *way == Way::Open && !open.contains(&input) {
                    open.push(input);
                }
            }
            let steep = slopes.iter().map(|slopes| slopes[step]);
            hulls.push(natural.map(|hull| {
                let hull = corners.tighten(step, &toward, hull);
                if toward.contains(&Way::Open) { corners.mean_value(step, steep, hull) } else { hull }
            }));
        }
        Self { inputs, hulls, open }
    }

    fn in_doubt(&self) -> bool {
        self.hulls.iter().any(Option::is_none)
    }
}

/// Natural bounds of all steps over a box.
fn walk(program: &Program, inputs: &[Interval], chooser: &mut Chooser) -> Hulls {
    let mut walk = Walk::<Interval>::new(chooser);
    for (place, input) in inputs.iter().enumerate() {
        walk.slots[place] = Some(*input);
    }
    let mut hulls = Vec::with_capacity(program.steps.len());
    for (step, term) in program.steps.iter().enumerate() {
        let bounds = walk.bounds(term).ok().filter(|range| range.is_bounded());
        walk.slots[program.inputs + step] = bounds;
        hulls.push(bounds);
    }
    hulls
}

/// Which way a step goes as one input grows.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Way {
    Level,
    Up,
    Down,
    Open,
}

impl Way {
    fn of(slope: Interval) -> Self {
        match slope {
            level if level.lo == 0.0 && level.hi == 0.0 => Self::Level,
            rising if rising.lo >= 0.0 => Self::Up,
            falling if falling.hi <= 0.0 => Self::Down,
            _ => Self::Open,
        }
    }
}

/// Bounds of the slope of every step against one input; anything where a step is in doubt.
fn slopes(program: &Program, inputs: &[Interval], input: usize) -> Vec<Interval> {
    let mut chooser = Chooser::hull();
    let mut walk = Walk::<Rise>::new(&mut chooser);
    for (place, range) in inputs.iter().enumerate() {
        let slope = if place == input { Interval::point(1.0) } else { Interval::point(0.0) };
        walk.slots[place] = Some(Rise { range: *range, slope });
    }
    let mut slopes = Vec::with_capacity(program.steps.len());
    for (step, term) in program.steps.iter().enumerate() {
        let rise = walk.bounds(term).ok().filter(|rise| rise.range().is_bounded());
        walk.slots[program.inputs + step] = rise;
        slopes.push(rise.map_or(Interval::WHOLE, |rise| rise.slope));
    }
    slopes
}

/// Works the steps at corners of the box, each corner once.
struct Corners<'a> {
    program: &'a Program,
    inputs: &'a [Interval],
    uncertain: &'a [usize],
    done: Vec<(Vec<End>, Hulls)>,
}

/// What a corner takes of an input.
#[derive(Clone, Copy, PartialEq, Eq)]
enum End {
    Low,
    High,
    Middle,
    All,
}

impl Corners<'_> {
    /// The value in the middle, and as far from it as the slopes can lead (the mean value theorem).
    fn mean_value(&mut self, step: usize, slopes: impl Iterator<Item = Interval>, hull: Interval) -> Interval {
        let Some(mut range) = self.at(vec![End::Middle; self.uncertain.len()], step) else { return hull };
        for (slope, &place) in slopes.zip(self.uncertain) {
            let input = self.inputs[place];
            range = range + slope * (input - Interval::point(input.mid()));
        }
        range.intersect(hull).unwrap_or(hull)
    }

    fn tighten(&mut self, step: usize, toward: &[Way], natural: Interval) -> Interval {
        if toward.iter().all(|way| *way == Way::Open) {
            return natural;
        }
        let end = |way: &Way, up: End, down: End| match way {
            Way::Up => up,
            Way::Down => down,
            Way::Level => End::Low,
            Way::Open => End::All,
        };
        let lowest = toward.iter().map(|way| end(way, End::Low, End::High)).collect();
        let highest = toward.iter().map(|way| end(way, End::High, End::Low)).collect();
        let lowest = self.at(lowest, step);
        let highest = self.at(highest, step);
        match (lowest, highest) {
            (Some(lowest), Some(highest)) => Interval::new(lowest.lo, highest.hi).intersect(natural).unwrap_or(natural),
            _ => natural,
        }
    }

    fn at(&mut self, corner: Vec<End>, step: usize) -> Option<Interval> {
        if let Some((_, hulls)) = self.done.iter().find(|(done, _)| *done == corner) {
            return hulls[step];
        }
        let mut inputs = self.inputs.to_vec();
        for (&place, end) in self.uncertain.iter().zip(&corner) {
            inputs[place] = match end {
                End::Low => Interval::point(inputs[place].lo),
                End::High => Interval::point(inputs[place].hi),
                End::Middle => Interval::point(inputs[place].mid()),
                End::All => inputs[place],
            };
        }
        let hulls = walk(self.program, &inputs, &mut Chooser::hull());
        let bounds = hulls[step];
        self.done.push((corner, hulls));
        bounds
    }
}

/// Cuts the box where something is open or in doubt, and joins what the parts give.
fn subdivide(program: &Program, whole_box: Part, uncertain: &[usize]) -> Result<Hulls, NoAnswer> {
    let mut parts = vec![whole_box];
    loop {
        let doubt = parts.iter().any(Part::in_doubt);
        find_gap(program, &parts)?;
        let most = if doubt { MOST_PARTS } else { PARTS_TO_TIGHTEN };
        let wanting = |part: &Part| if doubt { part.in_doubt() } else { !part.open.is_empty() };
        let count = parts.iter().filter(|part| wanting(part)).count();
        if count == 0 || parts.len() + count > most || uncertain.is_empty() {
            break;
        }
        parts = parts
            .into_iter()
            .flat_map(|part| if wanting(&part) { halve(program, part, uncertain) } else { vec![part] })
            .collect();
    }
    Ok((0..program.steps.len()).map(|step| join(&parts, step)).collect())
}

fn join(parts: &[Part], step: usize) -> Option<Interval> {
    parts.iter().map(|part| part.hulls[step]).reduce(|one, other| Some(one?.hull(other?))).flatten()
}

/// Halves the input that is widest for its size, of those that are open if any are.
fn halve(program: &Program, part: Part, uncertain: &[usize]) -> Vec<Part> {
    let candidates = if part.open.is_empty() { uncertain } else { &part.open };
    let share = |place: usize| {
        let range = part.inputs[place];
        range.width() / range.lo.abs().max(range.hi.abs()).max(f64::MIN_POSITIVE)
    };
    let Some(&place) = candidates.iter().max_by(|&&a, &&b| share(a).total_cmp(&share(b))) else { return vec![part] };
    let range = part.inputs[place];
    let middle = range.mid();
    let half = |low: f64, high: f64| {
        let mut inputs = part.inputs.clone();
        inputs[place] = Interval::new(low, high);
        Part::of(program, inputs, uncertain, &mut Chooser::hull())
    };
    vec![half(range.lo, middle), half(middle, range.hi)]
}

/// Looks for a point without an answer in the parts that are in doubt: their middles and their ends.
fn find_gap(program: &Program, parts: &[Part]) -> Result<(), NoAnswer> {
    for part in parts.iter().filter(|part| part.in_doubt()) {
        let picks: [fn(&Interval) -> f64; 3] = [|range| range.mid(), |range| range.lo, |range| range.hi];
        for pick in picks {
            let point: Vec<f64> = part.inputs.iter().map(pick).collect();
            work(program, &point)?;
        }
    }
    Ok(())
}

/// The values of all steps at a point.
///
/// # Errors
/// The first step that has no answer.
pub fn work(program: &Program, inputs: &[f64]) -> Result<Vec<f64>, NoAnswer> {
    let mut slots = [0.0; PLACES];
    slots[..inputs.len()].copy_from_slice(inputs);
    for (step, term) in program.steps.iter().enumerate() {
        slots[program.inputs + step] = compute::value(term, &mut slots)?;
    }
    Ok(slots[program.inputs..program.inputs + program.steps.len()].to_vec())
}

/// Follows each whole number that rounding can give; for every step the list of its values, where it has one.
fn follow_choices(program: &Program, inputs: &[Interval], hulls: &Hulls) -> Option<Vec<Option<Vec<f64>>>> {
    let mut lists: Vec<Option<Vec<f64>>> = vec![Some(Vec::new()); program.steps.len()];
    let mut chooser = Chooser::first();
    for _ in 0..MOST_CHOICES * MOST_CHOICES {
        follow_one(program, inputs, hulls, &mut chooser, &mut lists);
        if chooser.overflow {
            return None;
        }
        if !chooser.turn() {
            return Some(lists.into_iter().map(|list| list.and_then(settle)).collect());
        }
    }
    None
}

fn follow_one(
    program: &Program,
    inputs: &[Interval],
    hulls: &Hulls,
    chooser: &mut Chooser,
    lists: &mut [Option<Vec<f64>>],
) {
    let mut walk = Walk::<Interval>::new(chooser);
    for (place, input) in inputs.iter().enumerate() {
        walk.slots[place] = Some(*input);
    }
    let mut values = Vec::with_capacity(program.steps.len());
    for (step, term) in program.steps.iter().enumerate() {
        let Some(hull) = hulls[step] else {
            values.push(None);
            continue;
        };
        let Ok(range) = walk.bounds(term) else {
            values.push(None);
            continue;
        };
        // A whole number that no point of the box reaches is dropped, with all that follows from it.
        let Some(range) = range.intersect(eased(hull)) else { return };
        walk.slots[program.inputs + step] = Some(range);
        values.push(Some(range));
    }
    for (list, value) in lists.iter_mut().zip(values) {
        match (value, list.as_mut()) {
            (Some(range), Some(known)) if is_narrow(range) => known.push(range.mid()),
            _ => *list = None,
        }
    }
}

/// A hull with room for the last digits, so that a whole number at its very end is kept.
fn eased(hull: Interval) -> Interval {
    let room = 1e-9 * hull.lo.abs().max(hull.hi.abs());
    Interval::new(hull.lo - room, hull.hi + room)
}

/// True where only the last digits are unknown.
fn is_narrow(range: Interval) -> bool {
    range.width() <= 1e-11 * range.lo.abs().max(range.hi.abs())
}

/// The list in rising order, each number once; nothing where it has only one or too many.
fn settle(mut list: Vec<f64>) -> Option<Vec<f64>> {
    list.sort_by(f64::total_cmp);
    list.dedup_by(|a, b| whole::near(*a, *b));
    (2..=MOST_CHOICES).contains(&list.len()).then_some(list)
}
