//! Intervals that can be trusted: for every bundled formula, what is worked at points lies inside what is proved.
//!
//! Ten thousand random boxes of inputs within each formula's ranges, and random points and corners of each: every
//! output at every point must lie in its spread. Then boxes of ±1 %, against the true width, which is estimated from
//! below by sampling, so that the ratios printed are never better than the truth. Boxes come from a fixed seed.

use fastrand::Rng;
use locknut::mechanics::bundle;
use locknut::mechanics::enclose::{self, Spread};
use locknut::mechanics::formula::{Formula, Input};
use locknut::mechanics::interval::Interval;
use locknut::mechanics::reading::Reading;
use locknut::mechanics::working::{Working, work};
use std::collections::BTreeMap;
use std::sync::Mutex;

const BOXES: usize = 10_000;
const POINTS: usize = 4;

fn formulas() -> Vec<Formula> {
    bundle::ids().map(|(id, _)| bundle::formula(id).expect("listed").expect("loads")).collect()
}

/// Runs a job for each formula on as many threads as there are cores; jobs that panic fail the test.
fn for_each_formula(job: impl Fn(&Formula, &mut Rng) -> String + Sync) -> Vec<String> {
    let formulas = formulas();
    let next = Mutex::new(formulas.iter().enumerate());
    let lines = Mutex::new(BTreeMap::new());
    let threads = std::thread::available_parallelism().map_or(2, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let Some((place, formula)) = next.lock().expect("no thread panics with it").next() else { break };
                    let line = job(formula, &mut Rng::with_seed(1_000 + place as u64));
                    lines.lock().expect("no thread panics with it").insert(place, line);
                }
            });
        }
    });
    lines.into_inner().expect("no thread panicked").into_values().collect()
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
    Reading { value: input.unit.to_base(value), bounds: ends, by_default: false }
}

/// A point of the box: anywhere, at a corner, or somewhere on an edge.
fn random_point(readings: &[Reading], rng: &mut Rng) -> Vec<f64> {
    let corners = rng.u8(..3);
    let pick = |reading: &Reading, rng: &mut Rng| {
        let Interval { lo, hi } = reading.bounds;
        match (corners, rng.u8(..4)) {
            (0, 0 | 1) | (1, 0) => lo,
            (0, _) | (1, 1) => hi,
            _ => (lo + (hi - lo) * rng.f64()).clamp(lo, hi),
        }
    };
    readings.iter().map(|reading| pick(reading, rng)).collect()
}

fn is_inside(spread: &Spread, value: f64) -> bool {
    match spread {
        Spread::Within(range) => range.contains(value),
        Spread::OneOf(list) => list.iter().any(|one| (one - value).abs() <= 1e-9 * one.abs()),
        Spread::NotBounded => true,
    }
}

#[derive(Default)]
struct Tally {
    checked: usize,
    not_bounded: usize,
    stopped: usize,
    no_answer: usize,
    outside: Vec<String>,
}

#[test]
fn what_is_worked_at_points_lies_inside_what_is_proved() {
    let wrong = Mutex::new(Vec::new());
    let lines = for_each_formula(|formula, rng| {
        let mut tally = Tally::default();
        for _ in 0..BOXES {
            check_box(formula, rng, &mut tally);
        }
        for one in tally.outside.iter().take(2) {
            wrong.lock().expect("no thread panics with it").push(format!(
                "{}: {} outside, such as {one}",
                formula.id,
                tally.outside.len()
            ));
        }
        let has_boxes = formula.inputs.iter().any(|input| input.kind.name != "count");
        if has_boxes && tally.checked < BOXES / 2 {
            wrong
                .lock()
                .expect("no thread panics with it")
                .push(format!("{}: only {} figures to check", formula.id, tally.checked));
        }
        format!(
            "{:<20} {:>8} figures inside, {:>6} not bounded, {:>6} boxes stopped, {:>6} without an answer",
            formula.id, tally.checked, tally.not_bounded, tally.stopped, tally.no_answer
        )
    });
    println!("{}", lines.join("\n"));
    let wrong = wrong.into_inner().expect("no thread panicked");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn check_box(formula: &Formula, rng: &mut Rng, tally: &mut Tally) {
    let readings: Vec<Reading> = formula.inputs.iter().map(|input| random_reading(input, rng)).collect();
    let Ok(working) = work(formula, readings.clone()) else {
        tally.no_answer += 1;
        return;
    };
    if working.stopped {
        tally.stopped += 1;
        return;
    }
    if working.spreads.is_empty() {
        return;
    }
    for _ in 0..POINTS {
        let point = random_point(&readings, rng);
        let Some(values) = answer_at(formula, &point) else { continue };
        check_point(formula, &working, &point, &values, tally);
    }
}

/// The steps at a point; nothing where a limit stops the working there, or where there is no answer.
fn answer_at(formula: &Formula, point: &[f64]) -> Option<Vec<f64>> {
    let at = point.iter().map(|value| Reading::exact(*value)).collect();
    let working = work(formula, at).ok()?;
    (!working.stopped).then_some(working.steps)
}

fn check_point(formula: &Formula, working: &Working<'_>, point: &[f64], values: &[f64], tally: &mut Tally) {
    for output in &formula.outputs {
        let spread = working.spread(output).expect("a box has spreads");
        if *spread == Spread::NotBounded {
            tally.not_bounded += 1;
            continue;
        }
        tally.checked += 1;
        if !is_inside(spread, values[output.step]) {
            let box_of: Vec<Interval> = working.readings.iter().map(|reading| reading.bounds).collect();
            tally.outside.push(format!(
                "{} = {:e} at {point:?} of {box_of:?}, proved {spread:?}",
                output.name, values[output.step]
            ));
        }
    }
}

/// Boxes of ±1 % whose ratio of proved to true width is taken.
const NARROW: usize = 200;
const SAMPLES: usize = 300;
/// The project's line: this many times the true width, for nine formulas in ten.
const WIDEST: f64 = 3.0;

#[test]
fn narrow_boxes_are_bounded_tightly() {
    let results = Mutex::new(Vec::new());
    let lines = for_each_formula(|formula, rng| {
        let mut ratios = Vec::new();
        for _ in 0..NARROW {
            ratios.extend(worst_ratio(formula, rng));
        }
        if ratios.is_empty() {
            return format!("{:<20} goes by steps: no width to compare", formula.id);
        }
        ratios.sort_by(f64::total_cmp);
        let (middle, high) = (ratios[ratios.len() / 2], ratios[ratios.len() * 9 / 10]);
        results.lock().expect("no thread panics with it").push(high);
        format!("{:<20} width over true width: median {middle:>6.2}, nine in ten under {high:>7.2}", formula.id)
    });
    println!("{}", lines.join("\n"));
    let results = results.into_inner().expect("no thread panicked");
    let tight = results.iter().filter(|ratio| **ratio <= WIDEST).count();
    println!("{tight} of {} formulas within {WIDEST} times", results.len());
    assert!(tight * 10 >= results.len() * 9, "only {tight} of {} formulas are tight", results.len());
}

fn worst_ratio(formula: &Formula, rng: &mut Rng) -> Option<f64> {
    let readings: Vec<Reading> = formula.inputs.iter().map(|input| narrow_reading(input, rng)).collect();
    let working =
        work(formula, readings.clone()).ok().filter(|working| !working.stopped && !working.spreads.is_empty())?;
    let mut seen: Vec<Option<Interval>> = vec![None; formula.outputs.len()];
    for _ in 0..SAMPLES {
        let point = random_point(&readings, rng);
        let values = enclose::work(&formula.program, &point).ok()?;
        for (place, output) in seen.iter_mut().zip(&formula.outputs) {
            let value = Interval::point(values[output.step]);
            *place = Some(place.map_or(value, |before| before.hull(value)));
        }
    }
    let ratio = |(output, seen): (&locknut::mechanics::formula::Output, &Option<Interval>)| {
        let seen = (*seen)?;
        let proved = working.bounds(output)?;
        // A figure that the box doesn't move, or only in its last digits, has no width to compare.
        (seen.width() > 1e-9 * seen.mid().abs()).then(|| proved.width() / seen.width())
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
