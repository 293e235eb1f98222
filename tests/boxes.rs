//! Intervals that can be trusted: for every bundled formula, what is worked at points lies inside what is proved.
//!
//! Two thousand random boxes of inputs within each formula's ranges, and random points and corners of each: every
//! output at every point must lie in its spread, a limit that speaks at a point must be one that may speak over the
//! box, a box that is bounded must have an answer everywhere, and one that is a fault must hold a point without one.
//! Then boxes of ±1 %, against the true width, which is estimated from below by sampling, so that the ratios printed
//! are never better than the truth. Boxes come from fixed seeds.

use fastrand::Rng;
use locknut::mechanics::bundle;
use locknut::mechanics::compute::NoAnswer;
use locknut::mechanics::enclose::{Spread, enclose};
use locknut::mechanics::formula::{Formula, Input};
use locknut::mechanics::interval::Interval;
use locknut::mechanics::reading::Reading;
use locknut::mechanics::working::{Working, work};
use std::collections::BTreeMap;
use std::sync::Mutex;
use std::time::Instant;

const BOXES: usize = 2_000;
/// `LOCKNUT_BOXES` asks for another number, for a long look by hand; always a whole number of lots.
fn boxes() -> usize {
    let asked = std::env::var("LOCKNUT_BOXES").ok().and_then(|text| text.parse::<usize>().ok());
    asked.unwrap_or(BOXES).next_multiple_of(LOTS)
}

/// Points anywhere in each box, and corners of it.
const INSIDE: usize = 3;
const CORNERS: usize = 3;
/// Each formula's boxes are shared out in this many lots, so that a slow formula keeps no core waiting.
const LOTS: usize = 8;
/// How many points are tried to show that a box that is a fault holds one without an answer.
const SEARCH: usize = 20_000;

fn formulas() -> Vec<Formula> {
    bundle::ids().map(|(id, _)| bundle::formula(id).expect("listed").expect("loads")).collect()
}

/// Runs a job for each lot of each formula on as many threads as there are cores; jobs that panic fail the test.
/// Gives what each formula's lots gave, in the order of the formulas.
fn for_each_formula<T: Send>(lots: usize, job: impl Fn(&Formula, &mut Rng) -> T + Sync) -> Vec<(String, Vec<T>)> {
    let formulas = formulas();
    let next = Mutex::new((0..formulas.len() * lots).rev().collect::<Vec<_>>());
    let done = Mutex::new(BTreeMap::new());
    let threads = std::thread::available_parallelism().map_or(2, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let Some(place) = next.lock().expect("no thread panics with it").pop() else { break };
                    let given = job(&formulas[place / lots], &mut Rng::with_seed(1_000 + place as u64));
                    done.lock().expect("no thread panics with it").insert(place, given);
                }
            });
        }
    });
    let mut given = done.into_inner().expect("no thread panicked").into_values();
    formulas.iter().map(|formula| (formula.id.clone(), given.by_ref().take(lots).collect())).collect()
}

/// A reading within an input's range: counts are points, the rest points or boxes of every width.
fn random_reading(input: &Input, rng: &mut Rng) -> Reading {
    let at = |share: f64| input.low + (input.high - input.low) * share;
    if input.kind.name == "count" {
        return Reading::exact(input.unit.to_base((at(rng.f64())).round().clamp(input.low.ceil(), input.high.floor())));
    }
    let middle = at(rng.f64());
    if rng.u8(..4) == 0 {
        return Reading::exact(input.unit.to_base(middle));
    }
    let half = (input.high - input.low) * 10f64.powf(-6.0 * rng.f64());
    reading(input, (middle - half).max(input.low), middle, (middle + half).min(input.high))
}

fn reading(input: &Input, low: f64, value: f64, high: f64) -> Reading {
    let ends = Interval::new(input.unit.to_base(low), input.unit.to_base(high));
    Reading::within(input.unit.to_base(value), ends)
}

/// A point anywhere in the box.
fn point_inside(readings: &[Reading], rng: &mut Rng) -> Vec<f64> {
    let within = |Interval { lo, hi }: Interval, share: f64| (lo + (hi - lo) * share).clamp(lo, hi);
    readings.iter().map(|reading| within(reading.bounds, rng.f64())).collect()
}

/// A corner of the box.
fn corner(readings: &[Reading], rng: &mut Rng) -> Vec<f64> {
    readings.iter().map(|reading| if rng.bool() { reading.bounds.lo } else { reading.bounds.hi }).collect()
}

/// A corner in some inputs, anywhere in the others.
fn point_on_an_edge(readings: &[Reading], rng: &mut Rng) -> Vec<f64> {
    let (inside, corner) = (point_inside(readings, rng), corner(readings, rng));
    inside.into_iter().zip(corner).map(|(inside, end)| if rng.bool() { inside } else { end }).collect()
}

fn is_inside(spread: &Spread, value: f64) -> bool {
    match spread {
        Spread::Within(range) => range.contains(value),
        Spread::OneOf(list) => list.iter().any(|one| (one - value).abs() <= 1e-9 * one.abs()),
        Spread::NotBounded => true,
    }
}

/// What came of the boxes of one lot.
#[derive(Default)]
struct Tally {
    boxes: usize,
    exact: usize,
    stopped: usize,
    faults: usize,
    points: usize,
    points_stopped: usize,
    points_without_answer: usize,
    checked: usize,
    not_bounded: usize,
    limits: usize,
    seconds: f64,
    wrong: Vec<String>,
}

impl Tally {
    fn join(mut self, other: Self) -> Self {
        self.boxes += other.boxes;
        self.exact += other.exact;
        self.stopped += other.stopped;
        self.faults += other.faults;
        self.points += other.points;
        self.points_stopped += other.points_stopped;
        self.points_without_answer += other.points_without_answer;
        self.checked += other.checked;
        self.not_bounded += other.not_bounded;
        self.limits += other.limits;
        self.seconds += other.seconds;
        self.wrong.extend(other.wrong);
        self
    }

    fn line(&self, id: &str) -> String {
        format!(
            "{id:<25} {:>5} {:>5} {:>5} {:>5} | {:>6} {:>6} {:>6} | {:>7} {:>6} {:>7} | {:>6.2}",
            self.boxes,
            self.exact,
            self.stopped,
            self.faults,
            self.points,
            self.points_stopped,
            self.points_without_answer,
            self.checked,
            self.not_bounded,
            self.limits,
            self.seconds
        )
    }
}

#[test]
fn what_is_worked_at_points_lies_inside_what_is_proved() {
    let lots = for_each_formula(LOTS, |formula, rng| {
        let mut tally = Tally::default();
        let began = Instant::now();
        for _ in 0..boxes() / LOTS {
            check_box(formula, rng, &mut tally);
        }
        tally.seconds = began.elapsed().as_secs_f64();
        tally
    });
    println!(
        "formula                   boxes exact  stop fault | points   stop no-ans | figures  open  limits | seconds"
    );
    let mut wrong = Vec::new();
    for (id, lots) in lots {
        let tally = lots.into_iter().fold(Tally::default(), Tally::join);
        println!("{}", tally.line(&id));
        if let Some(one) = tally.wrong.first() {
            wrong.push(format!("{id}: {} wrong, such as {one}", tally.wrong.len()));
        }
        let wanted = boxes();
        let bounded = tally.boxes - tally.exact - tally.stopped - tally.faults;
        if tally.boxes != wanted || tally.checked < bounded {
            wrong.push(format!("{id}: {} boxes and only {} figures to check", tally.boxes, tally.checked));
        }
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

fn check_box(formula: &Formula, rng: &mut Rng, tally: &mut Tally) {
    let readings: Vec<Reading> = formula.inputs.iter().map(|input| random_reading(input, rng)).collect();
    tally.boxes += 1;
    match work(formula, readings.clone()) {
        Err(gap) => {
            tally.faults += 1;
            if !holds_a_gap(formula, &readings, gap.why, rng) {
                tally.wrong.push(format!(
                    "no point found without an answer ({}) in {:?}",
                    gap.why,
                    bounds_of(&readings)
                ));
            }
        }
        Ok(working) if working.stopped => tally.stopped += 1,
        Ok(working) if working.spreads.is_empty() => tally.exact += 1,
        Ok(working) => {
            for nth in 0..INSIDE + CORNERS {
                let pick = if nth < INSIDE { point_inside } else { corner };
                check_point(&working, &pick(&readings, rng), tally);
            }
        }
    }
}

fn bounds_of(readings: &[Reading]) -> Vec<Interval> {
    readings.iter().map(|reading| reading.bounds).collect()
}

/// Looks for a point of the box that has no answer for this reason: the stated one, any, and then by halving the box
/// wherever the engine is in doubt. Whatever leads there, the point itself is worked and must have none.
fn holds_a_gap(formula: &Formula, readings: &[Reading], why: &str, rng: &mut Rng) -> bool {
    let is_gap = |point: Vec<f64>| at(formula, &point).is_err_and(|gap| gap.why == why);
    let stated = readings.iter().map(|reading| reading.value).collect();
    let mut picks = (0..SEARCH).map(|nth| match nth % 3 {
        0 => corner(readings, rng),
        1 => point_on_an_edge(readings, rng),
        _ => point_inside(readings, rng),
    });
    is_gap(stated) || picks.any(is_gap) || gap_in_doubt(formula, bounds_of(readings), &is_gap)
}

/// Follows the doubt of the engine down to a point.
fn gap_in_doubt(formula: &Formula, whole: Vec<Interval>, is_gap: &impl Fn(Vec<f64>) -> bool) -> bool {
    let mut parts = vec![whole];
    for _ in 0..SEARCH {
        let Some(part) = parts.pop() else { break };
        let picks: [fn(&Interval) -> f64; 3] = [|side| side.mid(), |side| side.lo, |side| side.hi];
        if picks.iter().any(|pick| is_gap(part.iter().map(pick).collect())) {
            return true;
        }
        let share = |side: &Interval| side.width() / side.lo.abs().max(side.hi.abs()).max(f64::MIN_POSITIVE);
        let widest = (0..part.len()).max_by(|&a, &b| share(&part[a]).total_cmp(&share(&part[b]))).unwrap_or(0);
        let (middle, side) = (part[widest].mid(), part[widest]);
        if middle <= side.lo || middle >= side.hi {
            continue;
        }
        for half in [Interval::new(side.lo, middle), Interval::new(middle, side.hi)] {
            let mut inputs = part.clone();
            inputs[widest] = half;
            let sure = enclose(&formula.program, &inputs).is_ok_and(|all| !all.contains(&Spread::NotBounded));
            if !sure {
                parts.push(inputs);
            }
        }
    }
    false
}

/// The formula at a point.
fn at<'f>(formula: &'f Formula, point: &[f64]) -> Result<Working<'f>, NoAnswer> {
    work(formula, point.iter().map(|value| Reading::exact(*value)).collect())
}

fn check_point(working: &Working<'_>, point: &[f64], tally: &mut Tally) {
    tally.points += 1;
    let of = || format!("at {point:?} of {:?}", bounds_of(&working.readings));
    let there = match at(working.formula, point) {
        Ok(there) => there,
        Err(gap) => {
            tally.points_without_answer += 1;
            if !working.spreads.contains(&Spread::NotBounded) {
                tally.wrong.push(format!("all is bounded, and there is no answer ({}) {}", gap.why, of()));
            }
            return;
        }
    };
    tally.limits += working.formula.limits.len();
    if let Some(name) = limit_missed(working, &there) {
        tally.wrong.push(format!("the limit {name} over the box is not what it is {}", of()));
    }
    if there.stopped {
        tally.points_stopped += 1;
        return;
    }
    for output in &working.formula.outputs {
        let spread = working.spread(output).expect("a box has spreads");
        if *spread == Spread::NotBounded {
            tally.not_bounded += 1;
            continue;
        }
        tally.checked += 1;
        let value = there.steps[output.step];
        if !is_inside(spread, value) {
            tally.wrong.push(format!("{} = {value:e} {}, proved {spread:?}", output.name, of()));
        }
    }
}

/// A limit that speaks at the point and can't over the box, or must over the box and doesn't at the point.
fn limit_missed<'f>(over: &Working<'f>, there: &Working<'_>) -> Option<&'f str> {
    let limits = over.formula.limits.iter().filter(|limit| limit.stops || !there.stopped);
    let missed = limits.filter(|limit| {
        let here = there.spoken.iter().any(|spoken| spoken.limit.name == limit.name);
        match over.spoken.iter().find(|spoken| spoken.limit.name == limit.name) {
            None => here,
            Some(spoken) => !spoken.open && !here,
        }
    });
    missed.map(|limit| limit.name.as_str()).next()
}

/// Boxes of ±1 % whose ratio of proved to true width is taken.
const NARROW: usize = 200;
/// Points and corners of each by which the true width is estimated from below.
const SAMPLES: usize = 300;
/// So many boxes are tried to find those that have an answer at every sample.
const TRIED: usize = 20_000;
/// The project's line: this many times the true width, for nine formulas in ten.
const WIDEST: f64 = 3.0;

#[test]
fn narrow_boxes_are_bounded_tightly() {
    let results = for_each_formula(1, |formula, rng| {
        let mut ratios = Vec::new();
        for _ in 0..TRIED {
            ratios.extend(worst_ratio(formula, rng));
            if ratios.len() == NARROW {
                break;
            }
        }
        ratios.sort_by(f64::total_cmp);
        ratios
    });
    println!("width over true width, worst output: boxes, median, nine in ten under, widest");
    let (mut compared, mut by_median, mut by_most) = (0, 0, 0);
    for (id, lots) in results {
        let ratios = &lots[0];
        if ratios.is_empty() {
            println!("{id:<25} goes by steps: no width to compare");
            continue;
        }
        // Figures out of a table move in few boxes only; every other formula has its full number.
        let steps = bundle::formula(&id).is_some_and(|formula| formula.is_ok_and(|formula| !formula.tables.is_empty()));
        let boxes = ratios.len();
        assert!(boxes == NARROW || steps, "{id}: only {boxes} boxes to compare");
        let (middle, most) = (ratios[boxes / 2], ratios[boxes * 9 / 10]);
        println!("{id:<25} {boxes:>5} {middle:>8.3} {most:>8.3} {:>8.3}", ratios[boxes - 1]);
        compared += 1;
        by_median += usize::from(middle <= WIDEST);
        by_most += usize::from(most <= WIDEST);
    }
    println!("{by_median} of {compared} within {WIDEST} times by the median, {by_most} in nine boxes of ten");
    assert!(by_most * 10 >= compared * 9, "only {by_most} of {compared} formulas are tight");
}

/// The worst output's proved width over the width that samples show; endless where it is not bounded. Nothing where
/// some sample has no answer, so that there is no width, or where every output stands still.
fn worst_ratio(formula: &Formula, rng: &mut Rng) -> Option<f64> {
    let readings: Vec<Reading> = formula.inputs.iter().map(|input| narrow_reading(input, rng)).collect();
    let working =
        work(formula, readings.clone()).ok().filter(|working| !working.stopped && !working.spreads.is_empty())?;
    let mut seen: Vec<Option<Interval>> = vec![None; formula.outputs.len()];
    for nth in 0..SAMPLES {
        let point = if nth % 3 == 0 { point_inside(&readings, rng) } else { corner(&readings, rng) };
        let there = at(formula, &point).ok().filter(|there| !there.stopped)?;
        for (place, output) in seen.iter_mut().zip(&formula.outputs) {
            let value = Interval::point(there.steps[output.step]);
            *place = Some(place.map_or(value, |before| before.hull(value)));
        }
    }
    let ratio = |(output, seen): (&locknut::mechanics::formula::Output, &Option<Interval>)| {
        let seen = (*seen)?;
        // A figure that the box doesn't move, or only in its last digits, has no width to compare; nor has one that
        // goes by steps and whose step the samples may have missed.
        let moves = seen.width() > 1e-9 * seen.mid().abs();
        let steps = matches!(working.spread(output), Some(Spread::OneOf(_)));
        if !moves || steps {
            return None;
        }
        Some(working.bounds(output).map_or(f64::INFINITY, |proved| proved.width() / seen.width()))
    };
    formula.outputs.iter().zip(&seen).filter_map(ratio).reduce(f64::max)
}

/// ±1 % round a value that leaves room for it; the range's decades are all as likely.
fn narrow_reading(input: &Input, rng: &mut Rng) -> Reading {
    if input.kind.name == "count" {
        return random_reading(input, rng);
    }
    let (low, high) = (input.low.max(input.high / 1e4), input.high / 1.01);
    let middle =
        if input.low > 0.0 { low * (high / low).powf(rng.f64()) } else { input.low + (high - input.low) * rng.f64() };
    let half = 0.01 * middle.abs();
    reading(input, (middle - half).max(input.low), middle, (middle + half).min(input.high))
}
