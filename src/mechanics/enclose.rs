//! Bounds of every step of a formula over a box of inputs, tight enough to print.
//!
//! Natural interval arithmetic first; then the slope of every step against every uncertain input shows which corner
//! of the box holds the smallest and the largest value, and the step is worked at just those corners; inputs whose
//! slope keeps no sign are halved, and boxes with doubt in them too, up to a fixed number of parts. Last, where a
//! step was rounded, each whole number that is possible is followed through the later steps by itself. Everything
//! is a proof, where a balance has the one root that its formula promises; a point is tried only to find one without an
//! answer where a proof fails.

use super::bounds::{Chooser, MOST_CHOICES, Walk};
use super::compute::NoAnswer;
use super::interval::{Interval, whole};
use super::program::{Places, Program, work};
use super::rise::Rise;

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

const LEVEL: Interval = Interval { lo: 0.0, hi: 0.0 };

/// Bounds of all steps over the box.
///
/// # Errors
/// A point of the box at which a step has no answer, where one was found.
pub fn enclose(program: &Program, inputs: &[Interval]) -> Result<Vec<Spread>, NoAnswer> {
    let uncertain: Vec<usize> = (0..inputs.len()).filter(|&place| !inputs[place].is_point()).collect();
    let whole_box = Part::of(program, inputs.to_vec(), &uncertain);
    let split = whole_box.split;
    let hulls = subdivide(program, whole_box, &uncertain)?;
    let chosen = if split { follow_choices(program, inputs, &uncertain, &hulls) } else { None };
    let spread = |step: usize| match (&chosen, hulls[step]) {
        (_, None) => Spread::NotBounded,
        (Some(lists), Some(hull)) => lists[step].clone().map_or(Spread::Within(hull), Spread::OneOf),
        (None, Some(hull)) => Spread::Within(hull),
    };
    Ok((0..program.steps.len()).map(spread).collect())
}

fn set_of(inputs: &[usize]) -> Places {
    inputs.iter().fold(Places::default(), |set, &input| set.with(Places::one(input)))
}

/// One part of the box with the bounds of all steps over it.
#[derive(Default)]
struct Part {
    inputs: Vec<Interval>,
    hulls: Hulls,
    /// For each uncertain input the slope of every step.
    slopes: Vec<Vec<Interval>>,
    /// Which uncertain inputs have a slope without a sign in some step.
    open: Vec<usize>,
    /// True where any rounding gave more than one whole number.
    split: bool,
}

impl Part {
    /// The whole box.
    fn of(program: &Program, inputs: Vec<Interval>, uncertain: &[usize]) -> Self {
        Self { inputs, ..Self::default() }.work(program, uncertain, None)
    }

    /// This part with other bounds of one input: what doesn't rest on that input stays as it is.
    fn with(&self, program: &Program, uncertain: &[usize], input: usize, range: Interval) -> Self {
        let mut inputs = self.inputs.clone();
        inputs[input] = range;
        let half = Self { inputs, split: self.split, ..Self::default() };
        half.work(program, uncertain, Some((self, Places::one(input))))
    }

    /// Works the steps in order, each from the bounds to which those before it were tightened.
    fn work(mut self, program: &Program, uncertain: &[usize], known: Option<(&Self, Places)>) -> Self {
        let loose = set_of(uncertain);
        let mut natural = Walk::<Interval>::over(self.inputs.iter().copied());
        let mut rising: Vec<Walk<Rise>> = uncertain
            .iter()
            .map(|&input| {
                let slope = |place| Interval::point(if place == input { 1.0 } else { 0.0 });
                let inputs = self.inputs.iter().enumerate();
                Walk::over(inputs.map(|(place, range)| Rise { range: *range, slope: slope(place) }))
            })
            .collect();
        let mut corners = Corners { program, inputs: &self.inputs, uncertain, loose, done: Vec::new() };
        self.slopes = vec![Vec::with_capacity(program.steps.len()); uncertain.len()];
        for (step, term) in program.steps.iter().enumerate() {
            let place = program.inputs + step;
            let kept = known.filter(|(_, changed)| !program.rests_on(step, *changed)).map(|(part, _)| part);
            let hull = if let Some(part) = kept {
                self.slopes.iter_mut().zip(&part.slopes).for_each(|(slopes, kept)| slopes.push(kept[step]));
                part.hulls[step]
            } else {
                let hull = natural.bounds(term).ok().filter(|range| range.is_bounded());
                for ((slopes, &input), rising) in self.slopes.iter_mut().zip(uncertain).zip(&mut rising) {
                    slopes.push(if program.rests_on(step, Places::one(input)) {
                        rising.roots.clone_from(&natural.roots);
                        let rise = rising.bounds(term).ok().filter(|rise| rise.range.is_bounded());
                        rise.map_or(Interval::WHOLE, |rise| rise.slope)
                    } else {
                        LEVEL
                    });
                }
                let steep: Vec<Interval> = self.slopes.iter().map(|slopes| slopes[step]).collect();
                let rests = program.rests_on(step, loose);
                hull.map(|hull| if rests { corners.tighten(step, &steep, hull, &self.hulls) } else { hull })
            };
            for ((slopes, &input), rising) in self.slopes.iter().zip(uncertain).zip(&mut rising) {
                let slope = slopes[step];
                if Way::of(slope) == Way::Open && !self.open.contains(&input) {
                    self.open.push(input);
                }
                rising.slots[place] = hull.map(|range| Rise { range, slope });
            }
            natural.slots[place] = hull;
            self.hulls.push(hull);
        }
        self.split |= natural.chooser.split;
        self
    }

    fn in_doubt(&self) -> bool {
        self.hulls.iter().any(Option::is_none)
    }
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

/// Works the steps at corners of the box, each corner once, and of each just the steps that are asked for.
struct Corners<'a> {
    program: &'a Program,
    inputs: &'a [Interval],
    uncertain: &'a [usize],
    loose: Places,
    done: Vec<Corner>,
}

struct Corner {
    ends: Vec<End>,
    walk: Walk<Interval>,
    /// The steps that were worked, with an answer or without.
    worked: Places,
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
    /// Bounds of a step from the corners at which it is least and greatest, as its slopes say; `hulls` are those of
    /// the steps before it over the whole part.
    fn tighten(&mut self, step: usize, slopes: &[Interval], natural: Interval, hulls: &[Option<Interval>]) -> Interval {
        let toward: Vec<Way> = slopes.iter().map(|slope| Way::of(*slope)).collect();
        let mut hull = natural;
        if toward.iter().any(|way| *way != Way::Open) {
            let end = |way: &Way, up: End, down: End| match way {
                Way::Up => up,
                Way::Down => down,
                Way::Level => End::Low,
                Way::Open => End::All,
            };
            let lowest = toward.iter().map(|way| end(way, End::Low, End::High)).collect();
            let highest = toward.iter().map(|way| end(way, End::High, End::Low)).collect();
            if let Some(lowest) = self.at(lowest, step, hulls)
                && let Some(highest) = self.at(highest, step, hulls)
            {
                hull = Interval::new(lowest.lo, highest.hi).intersect(natural).unwrap_or(natural);
            }
        }
        if toward.contains(&Way::Open) { self.mean_value(step, slopes, hull, hulls) } else { hull }
    }

    /// The value in the middle, and as far from it as the slopes can lead (the mean value theorem).
    fn mean_value(&mut self, step: usize, slopes: &[Interval], hull: Interval, hulls: &[Option<Interval>]) -> Interval {
        if slopes.iter().any(|slope| !slope.is_bounded()) {
            return hull;
        }
        let Some(mut range) = self.at(vec![End::Middle; self.uncertain.len()], step, hulls) else { return hull };
        for (slope, &place) in slopes.iter().zip(self.uncertain) {
            let input = self.inputs[place];
            range = range + *slope * (input - Interval::point(input.mid()));
        }
        range.intersect(hull).unwrap_or(hull)
    }

    fn at(&mut self, ends: Vec<End>, step: usize, hulls: &[Option<Interval>]) -> Option<Interval> {
        let place = self.done.iter().position(|corner| corner.ends == ends).unwrap_or_else(|| {
            let mut inputs = self.inputs.to_vec();
            for (&place, end) in self.uncertain.iter().zip(&ends) {
                let range = inputs[place];
                inputs[place] = match end {
                    End::Low => Interval::point(range.lo),
                    End::High => Interval::point(range.hi),
                    End::Middle => Interval::point(range.mid()),
                    End::All => range,
                };
            }
            let walk = Walk::over(inputs.into_iter());
            self.done.push(Corner { ends, walk, worked: Places::default() });
            self.done.len() - 1
        });
        let corner = &mut self.done[place];
        for needed in self.program.needed(step) {
            let own = Places::one(self.program.inputs + needed);
            if corner.worked.meets(own) {
                continue;
            }
            corner.worked = corner.worked.with(own);
            // The step that is asked for has no bounds over the part yet.
            let over_part = hulls.get(needed).copied().flatten();
            let bounds = if self.program.rests_on(needed, self.loose) {
                let bounds = corner.walk.bounds(&self.program.steps[needed]).ok().filter(|range| range.is_bounded());
                bounds.map(|bounds| over_part.and_then(|part| bounds.intersect(part)).unwrap_or(bounds))
            } else {
                over_part
            };
            corner.walk.slots[self.program.inputs + needed] = bounds;
        }
        corner.walk.slots[self.program.inputs + step]
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
    let half = |low: f64, high: f64| part.with(program, uncertain, place, Interval::new(low, high));
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

/// Follows each whole number that rounding can give; for every step the list of its values, where it has one.
fn follow_choices(
    program: &Program,
    inputs: &[Interval],
    uncertain: &[usize],
    hulls: &Hulls,
) -> Option<Vec<Option<Vec<f64>>>> {
    let mut lists: Vec<Option<Vec<f64>>> = vec![Some(Vec::new()); program.steps.len()];
    let mut walk = Walk::<Interval>::over(inputs.iter().copied());
    walk.chooser = Chooser::first();
    for _ in 0..MOST_CHOICES * MOST_CHOICES {
        follow_one(program, set_of(uncertain), hulls, &mut walk, &mut lists);
        if walk.chooser.overflow {
            return None;
        }
        if !walk.chooser.turn() {
            return Some(lists.into_iter().map(|list| list.and_then(settle)).collect());
        }
    }
    None
}

fn follow_one(
    program: &Program,
    loose: Places,
    hulls: &Hulls,
    walk: &mut Walk<Interval>,
    lists: &mut [Option<Vec<f64>>],
) {
    walk.roots.clear();
    let mut values = Vec::with_capacity(program.steps.len());
    for (step, term) in program.steps.iter().enumerate() {
        let place = program.inputs + step;
        walk.slots[place] = None;
        let is_known = |hull: &Interval| !program.rests_on(step, loose) && is_narrow(*hull);
        let value = match hulls[step] {
            Some(hull) if is_known(&hull) => Some(hull),
            // A whole number that no point of the box reaches is dropped, with all that follows from it.
            Some(hull) => match walk.bounds(term) {
                Ok(range) => match range.intersect(eased(hull)) {
                    Some(range) => Some(range),
                    None => return,
                },
                Err(_) => None,
            },
            None => None,
        };
        walk.slots[place] = value;
        values.push(value);
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
