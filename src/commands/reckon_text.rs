//! What `reckon` says to people: the list, a formula's datasheet, an answer, its steps. The reply to a rider is `reply`'s.

use super::further::answers;
use super::line::for_a_shell;
use super::reckon::OPTIONS;
use super::terminal::{pad, write_hanging, write_options, write_wrapped};
use super::values::Values;
use crate::evaluate::beside::Units;
use crate::mechanics::bundle::Card;
use crate::mechanics::digits;
use crate::mechanics::enclose::Spread;
use crate::mechanics::figure::NO_BREAK;
use crate::mechanics::formula::{Formula, Input, Output};
use crate::mechanics::print::{line_of, step_text, words};
use crate::mechanics::settle::{rounded_down, settling};
use crate::mechanics::working::Working;
use serde_json::json;
use std::fmt::Write as _;

/// The sentence that goes with every figure that leaves the shop.
pub(super) const PRECEDENCE: &str = "The marking on the part and the maker's instructions come before any figure here; if in \
                              doubt, ask a qualified mechanic.";

/// Help for the command.
#[must_use]
pub(super) fn help(width: usize) -> String {
    let mut out = String::from("locknut reckon FORMULA name=value ...\n\n");
    write_wrapped(
        &mut out,
        "Works one formula at the counter. Without a formula it lists them. At a terminal it asks for the values that are \
         missing; in a pipe a formula without any says what it asks for.",
        0,
        width,
    );
    out.push('\n');
    write_options(&mut out, OPTIONS, width);
    out.push_str("\n  locknut reckon chain-length chainstay=410mm chainring=50 sprocket=34\n");
    out.push_str("  locknut reckon chain-length 'chainstay=410 mm ± 2 mm' chainring=50 sprocket=34\n");
    out.push_str("  locknut reckon chain-length --bike roadster chainring=50 sprocket=bike.cassette.largest\n");
    out
}

/// The formulas by topic, each with the question that it answers.
#[must_use]
pub(super) fn list(formulas: &[Card], width: usize) -> String {
    let mut topics: Vec<&str> = Vec::new();
    for formula in formulas {
        if !topics.contains(&formula.topic.as_str()) {
            topics.push(&formula.topic);
        }
    }
    let longest = formulas.iter().map(|formula| formula.id.len()).max().unwrap_or(0);
    let mut out = String::new();
    for (place, topic) in topics.iter().enumerate() {
        let gap = if place == 0 { "" } else { "\n" };
        let _ = writeln!(out, "{gap}{topic}");
        for formula in formulas.iter().filter(|formula| formula.topic == *topic) {
            write_hanging(&mut out, &format!("  {}", formula.id), &formula.question, longest + 4, width);
        }
    }
    out
}

/// The same as data.
#[must_use]
pub(super) fn list_json(formulas: &[Card]) -> String {
    let list: Vec<_> = formulas
        .iter()
        .map(|formula| json!({"formula": formula.id, "topic": formula.topic, "title": formula.title, "question": formula.question}))
        .collect();
    format!("{}\n", json!({ "formulas": list }))
}

/// What a formula asks for and gives.
#[must_use]
pub(super) fn datasheet(formula: &Formula, width: usize) -> String {
    let mut out = head(formula, width);
    out.push_str("\nAsks for\n");
    for input in &formula.inputs {
        let default = usual(input).map_or(String::new(), |text| format!("; {text} if left out"));
        let label = format!("  {}", input.name);
        write_hanging(&mut out, &label, &format!("{}: {}{default}", input.allowed(), input.about), 22, width);
    }
    out.push_str("\nGives\n");
    for output in &formula.outputs {
        let sign = output.style.unit.shown(false);
        let unit = if sign.is_empty() { String::new() } else { format!(" ({sign})") };
        write_hanging(&mut out, &format!("  {}", output.name), &format!("{}{unit}", output.about), 22, width);
    }
    out.push('\n');
    write_hanging(&mut out, "Holds for", &formula.valid, 12, width);
    write_sources(&mut out, formula, width);
    let examples: Vec<String> = formula
        .examples
        .first()
        .map_or(Vec::new(), |example| example.given.iter().map(|(name, text)| typed(name, text.text())).collect());
    let _ = write!(out, "\nFor example\n  locknut reckon {} {}\n", formula.id, examples.join(" "));
    out
}

/// `'chainstay=410 mm'`, as a shell takes it.
fn typed(name: &str, value: &str) -> String {
    for_a_shell(&format!("{name}={value}"))
}

/// What the formula takes where nothing is given, as text.
pub(super) fn usual(input: &Input) -> Option<String> {
    let reading = input.default_reading()?.ok()?;
    Some(plain(&reading.text(&input.style())))
}

/// Text for a terminal, where a no-break space would keep nothing together.
pub(super) fn plain(text: &str) -> String {
    text.replace(NO_BREAK, " ")
}

/// Title and question.
pub(super) fn head(formula: &Formula, width: usize) -> String {
    let mut out = format!("{}\n", formula.title);
    write_wrapped(&mut out, &formula.question, 0, width);
    out
}

/// The answer: figures with how sure they are, what was put in, limits, cautions, sources; the steps where asked.
#[must_use]
pub(super) fn answer(working: &Working<'_>, values: &Values<'_>, units: &Units, steps: bool, width: usize) -> String {
    let formula = working.formula;
    let mut out = head(formula, width);
    out.push('\n');
    if working.stopped {
        out.push_str("No answer\n");
    } else {
        write_outputs(&mut out, working, units, width);
    }
    write_limits(&mut out, working, width);
    out.push_str("\nWorked from\n");
    for ((input, reading), value) in formula.inputs.iter().zip(&working.readings).zip(&values.given) {
        let taken = if value.is_none() { " (taken, as nothing was given)" } else { "" };
        let text = format!("{}{taken}", units.figure(&reading.text(&input.style())));
        let told: Vec<String> = value.as_ref().and_then(|value| value.told.clone()).into_iter().collect();
        write_row(&mut out, &input.name, &text, &told, &input.about, width);
    }
    for (input, _) in formula.inputs.iter().zip(&values.given).filter(|(_, value)| value.is_none()) {
        if let Some(perhaps) = values.perhaps(input) {
            write_hanging(&mut out, "", &plain(&format!("{} is not lent: {perhaps}.", input.name)), 2, width);
        }
    }
    if steps && !working.stopped {
        write_steps(&mut out, working, width);
    }
    out.push('\n');
    if !steps && !working.stopped {
        write_hanging(&mut out, "Steps", "--working shows how each figure was worked out", 12, width);
    }
    write_hanging(&mut out, "Holds for", &formula.valid, 12, width);
    write_sources(&mut out, formula, width);
    write_cautions(&mut out, formula, width);
    out
}

fn write_outputs(out: &mut String, working: &Working<'_>, units: &Units, width: usize) {
    // What the question asks for comes first.
    let asked: Vec<&str> = answers(working.formula, None).iter().map(|output| output.name.as_str()).collect();
    let mut outputs: Vec<&Output> = working.formula.outputs.iter().collect();
    outputs.sort_by_key(|output| !asked.contains(&output.name.as_str()));
    for output in outputs {
        let Some(text) = working.text(output) else { continue };
        let mut below: Vec<String> = working.spread_text(output).map(|text| units.figure(&text)).into_iter().collect();
        below.extend(settle_lines(working, output));
        write_row(out, &output.name, &units.figure(&text), &below, &output.about, width);
    }
    out.push('\n');
    write_wrapped(out, sureness(working), 0, width);
}

/// Which input decides an open figure, and what would settle it.
fn settle_lines(working: &Working<'_>, output: &Output) -> Vec<String> {
    settling(working, output)
        .into_iter()
        .map(|settling| {
            let input = &working.formula.inputs[settling.input];
            let name = words(&input.name);
            match settling.tolerance {
                Some(size) => format!("{name} alone decides it; ± {} would settle it", tolerance_text(input, size)),
                None => format!("{name} alone leaves it open, and so do others"),
            }
        })
        .collect()
}

pub(super) fn tolerance_text(input: &Input, size: f64) -> String {
    let style = input.style();
    let number = rounded_down(style.unit.from_base_difference(size));
    style.with_unit(&digits::plain(number))
}

fn sureness(working: &Working<'_>) -> &'static str {
    let open = |output: &Output| working.spread_text(output).is_some();
    match (working.spreads.is_empty(), working.formula.outputs.iter().any(open)) {
        (true, _) => "No tolerance was given: the figures are as sure as the numbers put in.",
        (false, false) => "Anywhere in the tolerances given, the figures are the same.",
        (false, true) if working.spreads.contains(&Spread::NotBounded) => {
            "The bounds hold anywhere in the tolerances given; of a figure that is not bounded nothing sure is known."
        }
        (false, true) => "The bounds hold anywhere in the tolerances given.",
    }
}

/// Name, figure and meaning in three columns; the meaning goes below where it would leave too little room.
fn write_row(out: &mut String, name: &str, text: &str, below: &[String], about: &str, width: usize) {
    const ABOUT: usize = 40;
    // The longest names leave no room of their own.
    let label = format!("{} ", pad(&format!("  {name}"), 21));
    let text = text.replace(NO_BREAK, " ");
    if below.is_empty() && text.chars().count() + 24 <= ABOUT && width >= 72 {
        write_hanging(out, &pad(&format!("{label}{text}"), ABOUT), about, ABOUT, width);
        return;
    }
    write_hanging(out, &label, &text, 22, width);
    for line in below {
        write_hanging(out, "", &line.replace(NO_BREAK, " "), 22, width);
    }
    write_hanging(out, "", about, ABOUT.min(width / 2), width);
}

fn write_limits(out: &mut String, working: &Working<'_>, width: usize) {
    for spoken in &working.spoken {
        let label = if spoken.stated { "Limit" } else { "May be" };
        let tail = if spoken.stated && spoken.open { " (In one part of the tolerances only.)" } else { "" };
        write_hanging(out, label, &format!("{}{tail}", spoken.limit.message), 12, width);
    }
}

fn write_steps(out: &mut String, working: &Working<'_>, width: usize) {
    out.push_str("\nSteps\n");
    for (place, step) in working.formula.steps.iter().enumerate() {
        let line = format!("{} = {}", line_of(&step.expression), step_text(working, place).replace(NO_BREAK, " "));
        write_hanging(out, &format!("  {} =", step.name), &line, 22.max(step.name.len() + 5), width);
    }
}

fn write_sources(out: &mut String, formula: &Formula, width: usize) {
    for (place, source) in formula.sources().iter().enumerate() {
        write_hanging(out, if place == 0 { "Rests on" } else { "" }, source, 12, width);
    }
}

fn write_cautions(out: &mut String, formula: &Formula, width: usize) {
    for (place, caution) in formula.cautions.iter().chain(std::iter::once(&PRECEDENCE.to_owned())).enumerate() {
        write_hanging(out, if place == 0 { "Caution" } else { "" }, caution, 12, width);
    }
}
