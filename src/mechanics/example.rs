//! The worked examples of a formula, run: what it gives for each is what the example says, or a fault at its place.
//!
//! Bundled formulas are held to their examples by the tests; a shop's own formulas by the press, since nobody else
//! would.

use super::formula::{Example, Formula};
use super::working::{read_inputs, work};
use super::written::parse_written;
use crate::fault::{Fault, id};
use crate::text::{Span, Spanned};

/// The faults of all examples of a formula.
#[must_use]
pub fn check(formula: &Formula) -> Vec<Fault> {
    formula.examples.iter().flat_map(|example| check_one(formula, example)).collect()
}

fn check_one(formula: &Formula, example: &Example) -> Vec<Fault> {
    let name = |name: &String| Spanned::new(name.clone(), example.span);
    let given: Vec<_> = example.given.iter().map(|(of, text)| (name(of), text.clone())).collect();
    let readings = match read_inputs(formula, &given, example.span) {
        Ok(readings) => readings,
        Err(faults) => return faults,
    };
    let out = |span: Span, found: String| {
        Fault::new(id::EXAMPLE_OUT, span, "this example is not what the formula works out")
            .found(found)
            .cure("work it by hand once more; mend the steps, or the example")
    };
    let working = match work(formula, readings) {
        Ok(working) if !working.stopped => working,
        Ok(_) => return vec![out(example.span, "no answer: a limit stops it".to_owned())],
        Err(gap) => return vec![out(example.span, format!("no answer: it comes to {}", gap.why))],
    };
    let mut faults = Vec::new();
    for (of, text) in &example.gives {
        let (Some(output), Ok(wanted)) = (formula.output(of), parse_written(text)) else {
            faults.push(
                Fault::new(id::UNKNOWN_OUTPUT, text.whole(), format!("the formula gives no {of} written so"))
                    .found(text.text())
                    .cure("name one of its outputs, with a number and its unit"),
            );
            continue;
        };
        let Some(value) = working.value(output) else { continue };
        let unit = &wanted.unit;
        let is_difference = output.style.kind.name == "temperature_difference";
        let found = if is_difference { unit.from_base_difference(value) } else { unit.from_base(value) };
        let tolerance = example.tolerance.iter().find(|(name, _)| name == of).map_or(0.0, |(_, size)| *size);
        let allowed = tolerance.max(1e-9 * wanted.number.abs());
        if !output.style.kind.takes(unit) || (found - wanted.number).abs() > allowed {
            faults.push(out(
                text.whole(),
                format!("{of} is {}, and the example says {}", super::digits::plain(found), text.text()),
            ));
        }
    }
    faults
}
