//! The steps of a formula in order, and what each of them rests on.
//!
//! Over a box most steps are known already: those that no uncertain input reaches, and at a corner of the box those
//! that the step asked for doesn't need. Which they are is found once, when the formula is loaded.

use super::compute::{self, NoAnswer};
use super::term::{BALANCE_PLACES, PLACES, Term};

/// The steps of a formula in order; step `i` stands in place `inputs + i`.
#[derive(Clone, Debug, Default)]
pub struct Program {
    /// How many inputs come before the steps.
    pub inputs: usize,
    /// The steps, in order.
    pub steps: Vec<Term>,
    /// For every step the places that it rests on, its own and those of steps before it.
    reach: Vec<Places>,
}

/// A set of places, a bit each: a formula has fewer names than that.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Places(u128);

impl Places {
    /// The set of one place; empty for the unknown of a balance, which is no name.
    #[must_use]
    pub fn one(place: usize) -> Self {
        if place < BALANCE_PLACES { Self(1 << place) } else { Self(0) }
    }

    /// All that either holds.
    #[must_use]
    pub fn with(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// True where both hold a place.
    #[must_use]
    pub fn meets(self, other: Self) -> bool {
        self.0 & other.0 != 0
    }
}

impl Program {
    /// Steps after so many inputs.
    #[must_use]
    pub fn new(inputs: usize, steps: Vec<Term>) -> Self {
        let mut reach: Vec<Places> = Vec::with_capacity(steps.len());
        for term in &steps {
            let mut own = Places::default();
            term.each_slot(&mut |place| {
                own = own.with(Places::one(place));
                if let Some(earlier) = place.checked_sub(inputs).and_then(|step| reach.get(step)) {
                    own = own.with(*earlier);
                }
            });
            reach.push(own);
        }
        Self { inputs, steps, reach }
    }

    /// The first steps alone.
    #[must_use]
    pub fn first(&self, steps: usize) -> Self {
        Self { inputs: self.inputs, steps: self.steps[..steps].to_vec(), reach: self.reach[..steps].to_vec() }
    }

    /// True where a step rests on one of these places.
    #[must_use]
    pub fn rests_on(&self, step: usize, places: Places) -> bool {
        self.reach[step].meets(places)
    }

    /// The steps that a step rests on and the step itself, in order.
    pub fn needed(&self, step: usize) -> impl Iterator<Item = usize> + '_ {
        let is_needed =
            move |earlier: &usize| *earlier == step || self.rests_on(step, Places::one(self.inputs + earlier));
        (0..=step).filter(is_needed)
    }
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
