//! Tree to a line of text, in the formula language itself, and the value of each step as text.
//!
//! Printing and parsing again gives the same tree. Brackets stand only where the reading needs them. MathML is the
//! face for pages; this one serves terminals and messages.

use super::digits;
use super::dimension::Dimension;
use super::expression::{Expression, Form, Junction, Operator};
use super::figure::Style;
use super::formula::Formula;
use super::units::{KINDS, Kind, Unit};
use super::working::Working;

/// The name of an input, step or table as words.
#[must_use]
pub fn words(name: &str) -> String {
    name.replace('_', " ")
}

/// An expression as one line of the formula language.
#[must_use]
pub fn line_of(expression: &Expression) -> String {
    match &expression.form {
        Form::Number(number) if number.unit.text.is_empty() => number.text.clone(),
        Form::Number(number) => format!("{} {}", number.text, number.unit.text),
        Form::Pi => "pi".to_owned(),
        Form::Name(name) => name.clone(),
        Form::Negate(inner) => format!("-{}", bracketed(inner, 3)),
        Form::Binary(operator, left, right) => binary(*operator, left, right),
        Form::Compare(sides, signs) => {
            let mut line = line_of(&sides[0]);
            for (sign, side) in signs.iter().zip(&sides[1..]) {
                line = format!("{line} {} {}", sign.sign(), line_of(side));
            }
            line
        }
        Form::Call(function, arguments) => call(function.name, &arguments.iter().map(line_of).collect::<Vec<_>>()),
        Form::If(three) => call("if", &three.each_ref().map(line_of)),
        Form::Balance(parts) => {
            let sides = [&parts.low, &parts.high, &parts.left, &parts.right];
            let mut all = vec![parts.unknown.value.clone()];
            all.extend(sides.into_iter().map(line_of));
            call("balance", &all)
        }
        Form::Lookup(table, value) => call("lookup", &[table.value.clone(), line_of(value)]),
        Form::Word(word) => format!("\"{word}\""),
        Form::List(items) => format!("[{}]", items.iter().map(line_of).collect::<Vec<_>>().join(", ")),
        Form::Join(junction, parts) => {
            let least = if *junction == Junction::And { -1 } else { -2 };
            let lines: Vec<String> = parts.iter().map(|part| bracketed(part, least)).collect();
            lines.join(&format!(" {} ", junction.word()))
        }
        Form::Not(inner) => format!("not {}", bracketed(inner, -1)),
        Form::Belong(word, two) => format!("{} {} {}", line_of(&two[0]), word.word(), line_of(&two[1])),
        Form::Unknown => "unknown".to_owned(),
    }
}

fn call(name: &str, arguments: &[String]) -> String {
    format!("{name}({})", arguments.join(", "))
}

fn binary(operator: Operator, left: &Expression, right: &Expression) -> String {
    let rank = operator.rank();
    // A power reads from the right, everything else from the left.
    let (left_rank, right_rank) = if operator == Operator::Power { (rank + 1, rank - 1) } else { (rank, rank + 1) };
    // `slope / 180 deg` reads the same with and without brackets, but people stumble over it.
    let with_unit = matches!(&right.form, Form::Number(number) if !number.unit.text.is_empty());
    let right_rank = if operator == Operator::Divide && with_unit { 4 } else { right_rank };
    let (left, right) = (bracketed(left, left_rank), bracketed(right, right_rank));
    if operator == Operator::Power { format!("{left}^{right}") } else { format!("{left} {} {right}", operator.sign()) }
}

fn bracketed(part: &Expression, least: i8) -> String {
    let line = line_of(part);
    if rank(part) < least { format!("({line})") } else { line }
}

/// How tightly a node binds; a number with a unit binds less than a power, so that the unit is not raised.
fn rank(part: &Expression) -> i8 {
    match &part.form {
        Form::Binary(operator, ..) => operator.rank(),
        Form::Negate(_) => 3,
        Form::Number(number) if !number.unit.text.is_empty() => 3,
        Form::Compare(..) | Form::Belong(..) => 0,
        Form::Not(_) => -1,
        Form::Join(Junction::And, _) => -2,
        Form::Join(Junction::Or, _) => -3,
        _ => 9,
    }
}

/// The value of a step with its unit: in its output's style, or five digits in a unit that suits it.
#[must_use]
pub fn step_text(working: &Working<'_>, step: usize) -> String {
    let Some(&value) = working.steps.get(step) else { return String::new() };
    match working.formula.step_style(step) {
        Some(style) => style.text(value),
        None => rough(value, &fitting_unit(working.formula, step)),
    }
}

fn rough(value: f64, unit: &Unit) -> String {
    let number = unit.from_base_difference(value);
    #[expect(clippy::cast_possible_truncation, reason = "the exponent of a double")]
    let places = if number == 0.0 { 0 } else { 4 - number.abs().log10().floor() as i32 };
    let style = Style { kind: &KINDS[1], unit: unit.clone(), decimals: None };
    let text = digits::fixed(number, places.clamp(-12, 12));
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text };
    style.with_unit(&text)
}

/// A unit for a step that is no output: that of an input which measures the same, else the first of its kind.
fn fitting_unit(formula: &Formula, step: usize) -> Unit {
    let dimension = formula.scope.dimension(formula.program.inputs + step).unwrap_or(Dimension::NONE);
    if dimension.is_none() {
        return Unit::none();
    }
    let of_input =
        formula.inputs.iter().find(|input| input.kind.dimension == dimension).map(|input| input.unit.clone());
    let of_kind = || {
        KINDS.iter().find(|kind: &&Kind| kind.dimension == dimension).and_then(|kind| Unit::parse(kind.units[0]).ok())
    };
    of_input.filter(|unit| !unit.has_offset()).or_else(of_kind).unwrap_or_else(|| Unit::of_base(dimension))
}
