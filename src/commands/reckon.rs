//! `locknut reckon`: one formula worked at the counter, or the list of formulas.
//!
//! Words in: a formula's id and its values as `name=value`. Out: the figure, how sure it is, how it was worked out
//! and what it rests on, for people or as JSON. What it says is put together in `reckon_text`.

use super::known::{Known, Refusal};
use super::line::{Line, OptionOf};
use super::press::{HELP, LIBRARY};
use super::reckon_text as say;
use super::{Exit, print, refuse, terminal};
use crate::fault::{Fault, id};
use crate::mechanics::bundle::Card;
use crate::mechanics::compute::NoAnswer;
use crate::mechanics::formula::Formula;
use crate::mechanics::reading::Reading;
use crate::mechanics::working::{Working, read_inputs, work};
use crate::text::Span;
use serde_json::{Map, Value, json};

/// What the command takes.
pub const OPTIONS: &[OptionOf] = &[
    OptionOf { name: "--working", value: None, about: "shows every step with its numbers" },
    OptionOf { name: "--reply", value: None, about: "gives a paragraph to send to the rider" },
    OptionOf { name: "--json", value: None, about: "gives the answer, or the faults, as data" },
    LIBRARY,
    OptionOf { name: "--find", value: Some("WORDS"), about: "lists the formulas that these words find" },
    HELP,
];

/// Runs the command.
#[must_use]
pub fn run(arguments: &[String]) -> Exit {
    let line = match Line::read("locknut reckon", arguments, OPTIONS) {
        Ok(line) => line,
        Err((source, faults)) => return refuse(&faults, &source, arguments.iter().any(|word| word == "--json")),
    };
    let json = line.has("--json");
    if line.has("--help") {
        print(&say::help(terminal::width()));
        return Exit::Done;
    }
    let known = match Known::read(line.value("--library")) {
        Ok(known) => known,
        Err(problem) => {
            eprintln!("locknut: {problem}");
            return Exit::Machine;
        }
    };
    match answer(&line, &known) {
        Ok(text) => {
            print(&text);
            if !json {
                known.tell_of_faults(&line);
            }
            Exit::Done
        }
        Err(Refusal::Words(faults)) => refuse(&faults, &line.source, json),
        Err(Refusal::Formulas) => {
            known.print_faults(json);
            Exit::Faults
        }
    }
}

fn answer(line: &Line, known: &Known) -> Result<String, Refusal> {
    let (json, width) = (line.has("--json"), terminal::width());
    let listed = |formulas: &[Card]| if json { say::list_json(formulas) } else { say::list(formulas, width) };
    if let Some(words) = line.value("--find") {
        return Ok(listed(&known.find(words)?));
    }
    let Some(word) = line.words.first() else { return Ok(listed(&known.all())) };
    let formula = known.formula(word)?;
    let pairs = line.pairs(1)?;
    if pairs.is_empty() && !json && formula.inputs.iter().any(|input| input.default.is_none()) {
        return Ok(say::datasheet(&formula, width));
    }
    let readings = read_inputs(&formula, &pairs, word.whole())?;
    let working = work(&formula, readings).map_err(|gap| vec![no_answer(&formula, &gap, line.whole())])?;
    Ok(match (json, line.has("--reply"), line.has("--working")) {
        (true, ..) => format!("{}\n", to_json(&working)),
        (_, true, _) => say::reply(&working, width),
        (.., steps) => say::answer(&working, steps, width),
    })
}

fn no_answer(formula: &Formula, gap: &NoAnswer, whole: Span) -> Fault {
    Fault::new(id::NO_ANSWER, whole, format!("{} has no answer for these values: it comes to {}", formula.id, gap.why))
        .cure("check the values against each other")
}

/// The answer as data, in the shape that the contract lays down.
fn to_json(working: &Working<'_>) -> Value {
    let formula = working.formula;
    let mut inputs = Map::new();
    for (input, reading) in formula.inputs.iter().zip(&working.readings) {
        inputs.insert(input.name.clone(), input_json(&input.style(), reading));
    }
    let mut outputs = Map::new();
    for output in &formula.outputs {
        if let Some(value) = working.value(output) {
            let bounds = working.bounds(output);
            let (low, high) = bounds.map_or((None, None), |bounds| outward(&output.style, value, bounds.lo, bounds.hi));
            outputs.insert(
                output.name.clone(),
                json!({"value": output.style.number(value), "unit": output.style.unit.text, "low": low, "high": high,
                       "text": output.style.text(value)}),
            );
        }
    }
    let spoken = working.spoken.iter().filter(|spoken| spoken.stated && (!working.stopped || spoken.limit.stops));
    let limits: Vec<_> =
        spoken.map(|spoken| json!({"name": spoken.limit.name, "message": spoken.limit.message})).collect();
    json!({"formula": formula.id, "inputs": inputs, "outputs": outputs, "limits": limits,
           "cautions": formula.cautions, "sources": formula.sources()})
}

fn input_json(style: &crate::mechanics::figure::Style, reading: &Reading) -> Value {
    let (low, high) = outward(style, reading.value, reading.bounds.lo, reading.bounds.hi);
    json!({"value": style.number(reading.value), "unit": style.unit.text, "low": low, "high": high})
}

/// Both ends in the style's unit, a step outward for the rounding of the conversion; the value where they are it.
#[expect(clippy::float_cmp, reason = "an end without a tolerance is the value itself")]
fn outward(style: &crate::mechanics::figure::Style, value: f64, low: f64, high: f64) -> (Option<f64>, Option<f64>) {
    let step = |end: f64, outer: fn(f64) -> f64| {
        let number = style.number(end);
        let exact = end == value || number.fract() == 0.0;
        if exact { number } else { outer(number) }
    };
    (Some(step(low, f64::next_down)), Some(step(high, f64::next_up)))
}
