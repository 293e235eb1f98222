//! Which tolerance decides a rounded figure, and how small it would have to be to settle it.
//!
//! Where the answer is `108 or 110 links`, a mechanic wants to know what to measure better. For each input with a
//! tolerance this asks whether it alone, all others at their stated values, leaves the figure open; and, the others
//! as given, how small its own tolerance would have to be for a single answer.

use super::enclose::{Spread, enclose};
use super::formula::Output;
use super::interval::Interval;
use super::working::Working;

/// An input whose tolerance alone decides a figure.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Settling {
    /// Which input, by its place.
    pub input: usize,
    /// The tolerance that settles the figure, a difference in base units; `None` where the others leave it open too.
    pub tolerance: Option<f64>,
}

/// The inputs that alone decide an output which has several whole answers; none where it has one.
#[must_use]
pub fn settling(working: &Working<'_>, output: &Output) -> Vec<Settling> {
    if !matches!(working.spread(output), Some(Spread::OneOf(_))) {
        return Vec::new();
    }
    let given: Vec<Interval> = working.readings.iter().map(|reading| reading.bounds).collect();
    let stated: Vec<Interval> = working.readings.iter().map(|reading| Interval::point(reading.value)).collect();
    let open = |inputs: &[Interval]| {
        enclose(&working.formula.program, inputs)
            .map_or(true, |spreads| matches!(spreads[output.step], Spread::OneOf(_) | Spread::NotBounded))
    };
    let alone = |input: usize| {
        let mut inputs = stated.clone();
        inputs[input] = given[input];
        open(&inputs)
    };
    let deciding = (0..given.len()).filter(|&input| !given[input].is_point() && alone(input));
    deciding.map(|input| Settling { input, tolerance: tolerance_for(input, &given, stated[input].lo, &open) }).collect()
}

/// The largest tolerance of one input at which the figure has a single answer, found by halving.
fn tolerance_for(input: usize, given: &[Interval], stated: f64, open: &impl Fn(&[Interval]) -> bool) -> Option<f64> {
    let mut inputs = given.to_vec();
    let mut settles = |size: f64| {
        inputs[input] = Interval::new(stated - size, stated + size);
        !open(&inputs)
    };
    let widest = (given[input].hi - stated).max(stated - given[input].lo);
    let (mut small, mut large) = (0.0, widest);
    if !settles(small) {
        return None;
    }
    for _ in 0..24 {
        let middle = small + (large - small) / 2.0;
        if settles(middle) {
            small = middle;
        } else {
            large = middle;
        }
    }
    (small > 1e-6 * widest).then_some(small)
}

/// A tolerance as text, two figures rounded down, so that it surely settles: `1.3` for 1.37.
#[must_use]
pub fn rounded_down(size: f64) -> f64 {
    if size <= 0.0 {
        return 0.0;
    }
    let step = 10f64.powf(size.log10().floor() - 1.0);
    (size / step * (1.0 + 1e-12)).floor() * step
}
