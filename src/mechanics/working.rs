//! A formula worked once: readings in, steps, outputs with their bounds, limits that spoke.
//!
//! Stated numbers first: steps in order, each limit that stops tried as soon as the steps that it names are worked,
//! so that no division by 0 is reported in its place. Then, where a tolerance was given, bounds of every step and
//! whether each limit speaks anywhere in the box. Text and JSON are made from this elsewhere.

use super::bounds::{Truth, Walk};
use super::compute::{self, NoAnswer};
use super::enclose::{Spread, enclose};
use super::formula::{Formula, Limit, Output};
use super::interval::{Interval, whole};
use super::program::Places;
use super::reading::Reading;
use super::term::PLACES;
use crate::fault::{Fault, did_you_mean, id};
use crate::text::{Mapped, Span, Spanned};

/// One formula with its numbers.
#[derive(Clone, Debug)]
pub struct Working<'f> {
    /// The formula.
    pub formula: &'f Formula,
    /// The inputs, in the formula's order.
    pub readings: Vec<Reading>,
    /// The steps in base units; those that were worked before a limit stopped.
    pub steps: Vec<f64>,
    /// What is known of every step over the tolerances; empty where none was given.
    pub spreads: Vec<Spread>,
    /// The limits that speak, or may.
    pub spoken: Vec<Spoken<'f>>,
    /// True where a limit means that there is no answer.
    pub stopped: bool,
}

/// A limit that speaks.
#[derive(Clone, Copy, Debug)]
pub struct Spoken<'f> {
    /// The limit.
    pub limit: &'f Limit,
    /// True where it speaks at the stated numbers; otherwise it only may, somewhere in the tolerances.
    pub stated: bool,
    /// True where it speaks in one part of the tolerances and not in another.
    pub open: bool,
}

/// Reads values as written, by name.
///
/// # Errors
/// Every unknown name, missing input and bad value; each points at its characters, a missing one at `whole`.
pub fn read_inputs(
    formula: &Formula,
    given: &[(Spanned<String>, Mapped)],
    whole: Span,
) -> Result<Vec<Reading>, Vec<Fault>> {
    let mut faults: Vec<Fault> = given.iter().filter_map(|(name, _)| check_known(formula, name)).collect();
    let meant: Vec<&str> = given.iter().filter_map(|(name, _)| meant(formula, &name.value)).collect();
    let mut readings = Vec::with_capacity(formula.inputs.len());
    for input in &formula.inputs {
        let written = given.iter().find(|(name, _)| name.value == input.name);
        let reading = match written {
            Some((_, text)) => input.read(text),
            // A misspelt name is one slip, not an unknown name and a missing one.
            None if meant.contains(&input.name.as_str()) => continue,
            None => input.default_reading().unwrap_or_else(|| Err(missing(formula, &input.name, whole))),
        };
        match reading {
            Ok(reading) => readings.push(reading),
            Err(fault) => faults.push(fault),
        }
    }
    faults.sort_by_key(|fault| fault.span);
    if faults.is_empty() { Ok(readings) } else { Err(faults) }
}

/// The input that a name which the formula doesn't take was probably meant to be.
#[must_use]
pub fn meant<'f>(formula: &'f Formula, name: &str) -> Option<&'f str> {
    let known = formula.input(name).is_some();
    did_you_mean(name, formula.inputs.iter().map(|input| input.name.as_str())).filter(|_| !known)
}

/// The fault of a name that the formula doesn't take.
#[must_use]
pub fn check_known(formula: &Formula, name: &Spanned<String>) -> Option<Fault> {
    if formula.input(&name.value).is_some() {
        return None;
    }
    let names = || formula.inputs.iter().map(|input| input.name.as_str());
    let fault = Fault::new(id::UNKNOWN_INPUT, name.span, format!("{} takes no {}", formula.id, name.value))
        .found(name.value.clone())
        .allowed(names().collect::<Vec<_>>().join(", "));
    Some(match meant(formula, &name.value) {
        Some(near) => fault.cure(format!("did you mean {near}?")),
        None => fault.cure("use one of these names, or leave it out"),
    })
}

/// The fault of an input that was not given and has no default.
#[must_use]
pub fn missing(formula: &Formula, name: &str, whole: Span) -> Fault {
    let fault = Fault::new(id::MISSING_INPUT, whole, format!("{} needs {name}", formula.id));
    match formula.input(name) {
        Some(input) => fault.allowed(input.allowed()).cure(format!("give {name}: {}", input.about)),
        None => fault.cure(format!("give {name}")),
    }
}

/// Works a formula with its readings.
///
/// # Errors
/// A step that has no answer, at the stated numbers or at a point found within the tolerances.
pub fn work(formula: &Formula, readings: Vec<Reading>) -> Result<Working<'_>, NoAnswer> {
    let mut slots = [0.0; PLACES];
    for (place, reading) in readings.iter().enumerate() {
        slots[place] = reading.value;
    }
    let mut working =
        Working { formula, readings, steps: Vec::new(), spreads: Vec::new(), spoken: Vec::new(), stopped: false };
    for done in 0..=formula.program.steps.len() {
        working.try_limits(done, true, &mut slots)?;
        if working.stopped {
            return Ok(working);
        }
        if let Some(term) = formula.program.steps.get(done) {
            let value = compute::value(term, &mut slots)?;
            if !value.is_finite() {
                return Err(NoAnswer { span: Span::default(), why: "a number too large" });
            }
            slots[formula.program.inputs + done] = value;
            working.steps.push(value);
        }
    }
    for done in 0..=formula.program.steps.len() {
        working.try_limits(done, false, &mut slots)?;
    }
    if working.readings.iter().any(|reading| !reading.bounds.is_point()) {
        working.enclose()?;
    }
    working.spoken.sort_by_key(|spoken| formula.limits.iter().position(|limit| std::ptr::eq(limit, spoken.limit)));
    Ok(working)
}

impl<'f> Working<'f> {
    fn try_limits(&mut self, done: usize, stops: bool, slots: &mut [f64]) -> Result<(), NoAnswer> {
        let formula: &'f Formula = self.formula;
        for limit in formula.limits.iter().filter(|limit| limit.after == done && limit.stops == stops) {
            if compute::holds(&limit.when, slots)? {
                self.spoken.push(Spoken { limit, stated: true, open: false });
                self.stopped |= stops;
            }
        }
        Ok(())
    }

    /// Bounds of all steps, and what the limits say over the whole box.
    fn enclose(&mut self) -> Result<(), NoAnswer> {
        let box_of: Vec<Interval> = self.readings.iter().map(|reading| reading.bounds).collect();
        let formula: &'f Formula = self.formula;
        self.spreads = match enclose(&formula.program, &box_of) {
            Ok(spreads) => spreads,
            Err(gap) if self.may_stop(&box_of) => {
                // Where a limit may stop the working there is no answer to bound; the limit says so.
                debug_assert!(!gap.why.is_empty(), "a gap says why");
                vec![Spread::NotBounded; formula.program.steps.len()]
            }
            Err(gap) => return Err(gap),
        };
        self.drop_broken();
        let mut over = walk_over(&box_of, &self.spreads);
        for limit in &formula.limits {
            let stated = self.spoken.iter_mut().find(|spoken| std::ptr::eq(spoken.limit, limit));
            let open = over.truth(&limit.when).unwrap_or(Truth::Open) == Truth::Open;
            match stated {
                Some(spoken) => spoken.open = open,
                None if open => self.spoken.push(Spoken { limit, stated: false, open: true }),
                None => {}
            }
        }
        Ok(())
    }

    /// A value outside its own bounds shows that a balance has another root than the one which was enclosed, against what
    /// its formula promises: that step, and all that rests on it, is not bounded.
    fn drop_broken(&mut self) {
        let program = &self.formula.program;
        for (step, value) in self.steps.iter().enumerate() {
            let is_held = match &self.spreads[step] {
                Spread::Within(range) => {
                    [range.lo, range.hi].iter().any(|end| whole::near(*end, *value)) || range.contains(*value)
                }
                Spread::OneOf(list) => list.iter().any(|one| whole::near(*one, *value)),
                Spread::NotBounded => true,
            };
            if !is_held {
                let place = Places::one(program.inputs + step);
                for later in step..program.steps.len() {
                    if later == step || program.rests_on(later, place) {
                        self.spreads[later] = Spread::NotBounded;
                    }
                }
            }
        }
    }

    fn may_stop(&self, box_of: &[Interval]) -> bool {
        let formula = self.formula;
        formula.limits.iter().filter(|limit| limit.stops).any(|limit| {
            // Only the steps before the limit are sure to have an answer.
            let program = formula.program.first(limit.after);
            enclose(&program, box_of).is_ok_and(|spreads| {
                walk_over(box_of, &spreads).truth(&limit.when).unwrap_or(Truth::Open) != Truth::Never
            })
        })
    }

    /// The value of an output in base units.
    #[must_use]
    pub fn value(&self, output: &Output) -> Option<f64> {
        if self.stopped { None } else { self.steps.get(output.step).copied() }
    }

    /// The output with this name as a reading for another formula, which measures it in the same unit.
    #[must_use]
    pub fn value_named(&self, name: &str) -> Option<Reading> {
        let output = self.formula.output(name)?;
        let reading = Reading::within(self.value(output)?, self.bounds(output)?);
        Some(Reading { decimals: output.style.decimals, ..reading })
    }

    /// What is known of an output over the tolerances.
    #[must_use]
    pub fn spread(&self, output: &Output) -> Option<&Spread> {
        self.spreads.get(output.step)
    }

    /// The bounds of an output: its value where no tolerance was given; `None` where it has none.
    #[must_use]
    pub fn bounds(&self, output: &Output) -> Option<Interval> {
        let value = self.value(output)?;
        match self.spread(output) {
            None => Some(Interval::point(value)),
            Some(Spread::Within(range)) => Some(range.hull(Interval::point(value))),
            Some(Spread::OneOf(list)) => Some(Interval::new(list[0], list[list.len() - 1])),
            Some(Spread::NotBounded) => None,
        }
    }

    /// The output as text at the stated numbers: `110 links`.
    #[must_use]
    pub fn text(&self, output: &Output) -> Option<String> {
        self.value(output).map(|value| output.style.text(value))
    }

    /// What the tolerances do to an output, where they do anything: `108 or 110 links`.
    #[must_use]
    pub fn spread_text(&self, output: &Output) -> Option<String> {
        output.style.spread(self.value(output)?, self.spread(output)?)
    }
}

/// What stands in each place over a box, given what is known of the steps.
fn walk_over(inputs: &[Interval], spreads: &[Spread]) -> Walk<Interval> {
    let mut walk = Walk::over(inputs.iter().copied());
    for (step, spread) in spreads.iter().enumerate() {
        walk.slots[inputs.len() + step] = match spread {
            Spread::Within(range) => Some(*range),
            Spread::OneOf(list) => Some(Interval::new(list[0], list[list.len() - 1])),
            Spread::NotBounded => None,
        };
    }
    walk
}
