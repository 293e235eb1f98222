//! `locknut reckon`: one formula worked at the counter, or the list of formulas.
//!
//! Words in: a formula's id and its values as `name=value`, what a bike lends, what somebody answers. Out: the figure, how
//! sure it is, how it was worked out and what it rests on, for people or as JSON, or as a draft reply. What it says is put
//! together in `reckon_text` and `reply`.

use super::ask::{Left, at_terminal};
use super::bench::{Bench, Need};
use super::known::{Known, Refusal};
use super::lend::Lender;
use super::line::{Line, OptionOf};
use super::pair::with_saved;
use super::press::{HELP, LIBRARY};
use super::reckon_text as say;
use super::save::{self, BY, ON, Plan, SAVE};
use super::values::{Pair, Sources, Value, Values, names_something};
use super::{Exit, draft, open, print, reply, terminal};
use crate::fault::{Fault, id};
use crate::mechanics::bundle::Card;
use crate::mechanics::compute::NoAnswer;
use crate::mechanics::formula::{Formula, Input};
use crate::mechanics::reading::Reading;
use crate::mechanics::working::{Working, work};
use crate::text::{Mapped, Span};
use serde_json::{Map, Value as Json, json};

/// The bike whose values stand in for those that are not given.
const BIKE: OptionOf =
    OptionOf { name: "--bike", value: Some("NAME"), about: "lends what a build sheet has: content/bikes/NAME.yaml" };

/// What the command takes.
pub const OPTIONS: &[OptionOf] = &[
    OptionOf { name: "--working", value: None, about: "shows every step with its numbers" },
    OptionOf { name: "--reply", value: None, about: "gives a paragraph to send to the rider" },
    OptionOf { name: "--json", value: None, about: "gives the answer, or the faults, as data" },
    BIKE,
    SAVE,
    BY,
    ON,
    LIBRARY,
    OptionOf { name: "--find", value: Some("WORDS"), about: "lists the formulas that these words find" },
    HELP,
];

/// Runs the command.
#[must_use]
pub fn run(arguments: &[String]) -> Exit {
    let line = match open("reckon", arguments, OPTIONS, || say::help(terminal::width())) {
        Ok(line) => line,
        Err(exit) => return exit,
    };
    let json = line.has("--json");
    let known = match Known::read(line.value("--library")) {
        Ok(known) => known,
        Err(problem) => {
            super::complain(&problem.to_string());
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
        Err(refusal) => refusal.tell(&line, json),
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
    let asks = !json && terminal::has_somebody();
    let is_bare = pairs.is_empty() && ![BIKE.name, SAVE.name].iter().any(|option| line.has(option));
    if is_bare && !json && !asks && formula.inputs.iter().any(|input| input.default.is_none()) {
        return Ok(say::datasheet(&formula, width));
    }
    let bench = Bench::read(line, need(line, &pairs))?;
    if line.has(BIKE.name) || pairs.iter().any(|(_, text)| names_something(text)) {
        bench.check_values()?;
    }
    Job { line, formula: &formula, bench: &bench, asks }.answer(&pairs)
}

/// How much of a library the line needs.
fn need(line: &Line, pairs: &[Pair]) -> Need {
    if line.has(BIKE.name) || line.has(SAVE.name) {
        Need::Library
    } else if line.has("--reply") && !line.has("--json") || pairs.iter().any(|(_, text)| names_something(text)) {
        Need::IfThere
    } else {
        Need::Units
    }
}

/// One formula to be worked, with all that is within reach.
struct Job<'j> {
    line: &'j Line,
    formula: &'j Formula,
    bench: &'j Bench,
    asks: bool,
}

impl Job<'_> {
    fn answer(&self, pairs: &[Pair]) -> Result<String, Refusal> {
        let Self { line, formula, bench, .. } = *self;
        let (json, width) = (line.has("--json"), terminal::width());
        let plan = Plan::of(line, bench, self.asks)?;
        let bike = line.value(BIKE.name);
        let lender = match (bike, &bench.library) {
            (Some(bike), Some(library)) => Some(Lender::of(bike, library).map_err(|fault| vec![fault])?),
            _ => None,
        };
        let names = bench.names(lender.as_ref().map(|lender| lender.bike.name.as_str()));
        let whole = line.words.first().map_or(line.whole(), Mapped::whole);
        let lends = lender.as_ref().zip(bike.map(Mapped::whole));
        let from = Sources { pairs, names: names.as_ref(), lender: lends, whole, asks: self.asks };
        let mut values = Values::read(formula, from)?;
        let asked = self.ask(&mut values)?;
        let readings = values.readings(whole)?;
        let working = work(formula, readings).map_err(|gap| vec![no_answer(formula, &gap, line.whole())])?;
        if let Some(plan) = &plan {
            self.save(plan, &working, &values)?;
        }
        let mut text = match (json, line.has("--reply"), line.has("--working")) {
            (true, ..) => format!("{}\n", with_saved(lent_too(to_json(&working), &values), plan.as_ref())),
            (_, true, _) => reply::reckoned(&working, &values, bench.library.as_ref(), &bench.units, width),
            (.., steps) => say::answer(&working, &values, &bench.units, steps, width),
        };
        if !asked.is_empty() {
            let again = line.again("locknut reckon", &asked, &[SAVE.name, BY.name, ON.name]);
            text.push_str(&format!("\nThe same again\n  {again}\n"));
        }
        if let Some(plan) = plan.filter(|_| !json) {
            eprint!("{}", plan.done());
        }
        Ok(text)
    }

    /// Asks for what is missing, where somebody is there; gives the words that would have said it.
    fn ask(&self, values: &mut Values<'_>) -> Result<Vec<String>, Refusal> {
        if !self.asks || values.lacking().next().is_none() {
            return Ok(Vec::new());
        }
        let before: Vec<bool> = values.given.iter().map(Option::is_none).collect();
        at_terminal().ask_values(values).map_err(|Left(at)| Refusal::Left(at))?;
        let asked = values.formula.inputs.iter().zip(&values.given).zip(before).filter(|(_, was_open)| *was_open);
        let word = |((input, value), _): ((&Input, &Option<Value>), bool)| {
            Some(format!("{}={}", input.name, value.as_ref()?.written.as_deref()?))
        };
        Ok(asked.filter_map(word).collect())
    }

    /// Keeps the answer as a draft reply.
    fn save(&self, plan: &Plan, working: &Working<'_>, values: &Values<'_>) -> Result<(), Refusal> {
        let Some(library) = &self.bench.library else { return Ok(()) };
        if let Some(spoken) = working.spoken.iter().find(|spoken| working.stopped && spoken.limit.stops) {
            let span = self.line.place_of(SAVE.name).unwrap_or(self.line.whole());
            let fault = Fault::new(id::LIMIT_STOPS, span, "there is no answer to save for these values");
            return Err(
                vec![fault.found(spoken.limit.message.clone()).cure("check the values against each other")].into()
            );
        }
        let who = save::prepared_by(plan, || at_terminal().ask_words(save::WHO, "prepared_by"))?;
        plan.write(&draft::of_working(working, values, library, self.line.value(BIKE.name).map(Mapped::text)), &who)
    }
}

/// Adds to an answer as data what a bike has lent.
fn lent_too(mut answer: Json, values: &Values<'_>) -> Json {
    let Some(lender) = values.lender else { return answer };
    let inputs = values.formula.inputs.iter().zip(&values.given);
    let lent = inputs.filter_map(|(input, value)| {
        let value = value.as_ref().filter(|value| value.lent)?;
        Some((input.name.clone(), json!({"name": value.written, "told": value.told})))
    });
    let lent: Map<String, Json> = lent.collect();
    let bike =
        json!({"name": lender.bike.name, "title": lender.bike.title, "number": lender.bike.number.value, "lent": lent});
    if let Some(answer) = answer.as_object_mut() {
        answer.insert("bike".to_owned(), bike);
    }
    answer
}

fn no_answer(formula: &Formula, gap: &NoAnswer, whole: Span) -> Fault {
    Fault::new(id::NO_ANSWER, whole, format!("{} has no answer for these values: it comes to {}", formula.id, gap.why))
        .cure("check the values against each other")
}

/// The answer as data, in the shape that the contract lays down.
fn to_json(working: &Working<'_>) -> Json {
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

fn input_json(style: &crate::mechanics::figure::Style, reading: &Reading) -> Json {
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
