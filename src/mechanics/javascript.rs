//! Formula to JavaScript: the same steps for a reader's own numbers, in the reader's browser.
//!
//! Written from the very terms that the press works, so that the two can't disagree: places become a list, + − × ÷ and
//! whole powers stand in the same order, every function is a row of the table, and whatever has no answer says so in
//! the same words. What all formulas share is `engine`; what one formula adds is `script`. Forms and pages are not
//! known here. A browser works points; tolerances are the press's.

use super::expression::Comparison;
use super::formula::{Formula, Input, Limit};
use super::functions::FUNCTIONS;
use super::table::Table;
use super::term::{BalanceTerm, Condition, Term};
use super::units::{KINDS, Kind, UNITS, Unit};
use serde_json::{Value, json};
use std::fmt::Write;
use std::sync::LazyLock;

/// What all formulas share: numbers as text, comparing and rounding, balances, tables, the tables of functions and of
/// units, and the reading of what somebody types.
#[must_use]
pub fn engine() -> String {
    let rows: Vec<String> = FUNCTIONS
        .iter()
        .map(|row| format!("{}:[x=>{},{}]", row.name, row.javascript, text(why(row.no_answer))))
        .collect();
    let units: Vec<String> = TABLE.iter().map(unit_row).collect();
    let kinds: Vec<String> = KINDS.iter().map(kind_row).collect();
    let script = include_str!("engine.js")
        .replace("/*FUNCTIONS*/", &rows.join(",\n"))
        .replace("/*UNITS*/", &units.join(";"))
        .replace("/*KINDS*/", &kinds.join(";"));
    bare(&script) + &bare(include_str!("reading.js"))
}

/// Every unit that a form knows: the symbols, then those that kinds put together from them.
static TABLE: LazyLock<Vec<Unit>> = LazyLock::new(|| {
    let mut table: Vec<Unit> = Vec::new();
    let of_kinds = KINDS.iter().flat_map(|kind| kind.units.iter().copied());
    for text in UNITS.iter().map(|row| row.symbol).chain(of_kinds) {
        if let Ok(unit) = Unit::parse(text)
            && !table.iter().any(|known| known.text == unit.text)
        {
            table.push(unit);
        }
    }
    table
});

/// A unit as it is written, the numbers that convert it and, where they differ, how it is shown and also written.
fn unit_row(unit: &Unit) -> String {
    let (num, den, shift) = unit.parts();
    let also = UNITS.iter().find(|row| row.symbol == unit.text).map_or(&[][..], |row| row.also);
    let (one, many) = (unit.shown(true), unit.shown(false));
    let mut row = vec![unit.text.clone(), short(num).to_string(), short(den).to_string()];
    if shift != 0.0 || one != unit.text || many != unit.text || !also.is_empty() {
        row.extend([short(shift).to_string(), one, many]);
        row.extend(also.iter().map(|&spelling| spelling.to_owned()));
    }
    row.join(",")
}

/// A whole number without the point that says nothing in a browser.
fn short(number: f64) -> Value {
    #[expect(clippy::cast_possible_truncation, reason = "whole and below 2^53, checked just here")]
    if number.fract() == 0.0 && number.abs() < 9e15 { json!(number as i64) } else { json!(number) }
}

/// A kind: its name, what it is called, the units that people use for it, and what it takes besides.
fn kind_row(kind: &Kind) -> String {
    let takes = TABLE.iter().filter(|unit| kind.takes(unit)).map(|unit| unit.text.as_str());
    let besides: Vec<&str> = takes.filter(|text| !kind.units.contains(text)).collect();
    format!("{},{},{},{}", kind.name, kind.phrase, kind.units.join(" "), besides.join(" "))
}

/// A script without what only its authors read: indents, lines that are notes, and spaces beside signs.
#[must_use]
pub fn bare(script: &str) -> String {
    let lines = script.lines().map(str::trim_start);
    let lines = lines.filter(|line| !line.is_empty() && !line.starts_with("//") && !line.starts_with("/**"));
    let mut out = String::with_capacity(script.len());
    for line in lines {
        squeeze(&mut out, line);
        // After these signs a line's end says nothing; what a value's last bracket ends has its own semicolon.
        if !out.ends_with(['{', '}', ';', ',', '(', '[']) {
            out.push('\n');
        }
    }
    out
}

/// Writes a line without the spaces beside its signs; texts and patterns are left as they are.
fn squeeze(out: &mut String, line: &str) {
    const SIGNS: &str = "=+-*/<>!&|?:;,(){}[]";
    let mut quote = None;
    let mut chars = line.chars().peekable();
    let mut before = ' ';
    while let Some(c) = chars.next() {
        let after = chars.peek().copied().unwrap_or(' ');
        // Two signs that would become one keep their space.
        let needless = (SIGNS.contains(before) || SIGNS.contains(after)) && !(before == after && "+-".contains(before));
        if c == ' ' && quote.is_none() && needless {
            continue;
        }
        match quote {
            None if "\"'`".contains(c) => quote = Some(c),
            // A slash after one of these begins a pattern, elsewhere it divides.
            None if c == '/' && (out.ends_with(['(', '=', '|', '?', ',', '&', '!']) || out.ends_with("return")) => {
                quote = Some(c);
            }
            Some(open) if c == open && before != '\\' => quote = None,
            _ => {}
        }
        out.push(c);
        before = c;
    }
}

/// When a call has no answer, for rows that say nothing themselves.
fn why(of_row: &str) -> &str {
    if of_row.is_empty() { "a number too large" } else { of_row }
}

/// One formula, as a call that makes it known to the engine under a name.
#[must_use]
pub fn script(formula: &Formula, name: &str) -> String {
    let inputs: Vec<Value> = formula.inputs.iter().map(input).collect();
    let outputs: Vec<Value> = formula
        .outputs
        .iter()
        .map(|output| {
            let style = &output.style;
            json!([output.name, output.about, style.kind.name, unit(&style.unit), output.step, style.decimals])
        })
        .collect();
    let said = [json!(name), json!(inputs), json!(outputs)];
    let mut out = format!("locknut.add({}", said.map(|part| part.to_string()).join(",\n"));
    out.push_str(",[");
    for term in &formula.program.steps {
        out.push_str("\nv=>");
        write_term(&mut out, term);
        out.push(',');
    }
    out.push_str("\n],[");
    for limit in &formula.limits {
        write_limit(&mut out, limit);
    }
    out.push_str("]);\n");
    out
}

fn input(input: &Input) -> Value {
    let (low, high, again) = (short(input.low), short(input.high), input.advice().0);
    json!([input.name, input.about, input.kind.name, unit(&input.unit), low, high, again])
}

/// A unit of the engine's table by its text; another one whole, as the engine keeps them.
fn unit(unit: &Unit) -> Value {
    if TABLE.iter().any(|known| known.text == unit.text) {
        return json!(unit.text);
    }
    let (num, den, shift) = unit.parts();
    json!([unit.text, unit.shown(true), unit.shown(false), num, den, shift, []])
}

fn write_limit(out: &mut String, limit: &Limit) {
    let _ = write!(out, "\n[{},{},{},{},v=>", text(&limit.name), text(&limit.message), limit.stops, limit.after);
    write_condition(out, &limit.when);
    out.push_str("],");
}

/// Text as JavaScript has it.
fn text(text: &str) -> String {
    json!(text).to_string()
}

/// A double, so that reading it gives the same double.
fn number(value: f64) -> String {
    if value < 0.0 || value.is_sign_negative() { format!("({value:?})") } else { format!("{value:?}") }
}

fn write_term(out: &mut String, term: &Term) {
    match term {
        Term::Constant(value, _) => out.push_str(&number(*value)),
        Term::Slot(place) => {
            let _ = write!(out, "v[{place}]");
        }
        Term::Negate(inner) => write_call(out, "(-", &[inner], ")"),
        Term::Add(two) => write_between(out, &two[0], "+", &two[1]),
        Term::Subtract(two) => write_between(out, &two[0], "-", &two[1]),
        Term::Multiply(two) => write_between(out, &two[0], "*", &two[1]),
        Term::Divide(two, _) => write_call(out, "E.over(", &[&two[0], &two[1]], ")"),
        Term::WholePower(base, power, _) => write_call(out, "E.whole(", &[base], &format!(",{power})")),
        Term::Power(two, _) => write_call(out, "E.power(", &[&two[0], &two[1]], ")"),
        Term::Call(function, arguments, _) => {
            let arguments: Vec<&Term> = arguments.iter().collect();
            write_call(out, &format!("E.call(\"{}\",[", function.name), &arguments, "])");
        }
        Term::If(three) => {
            out.push('(');
            write_condition(out, &three.0);
            write_call(out, "?", &[&three.1], ":");
            write_call(out, "", &[&three.2], ")");
        }
        Term::Balance(parts) => write_balance(out, parts),
        Term::Lookup(table, inner, _) => {
            out.push_str("E.lookup(");
            write_table(out, table);
            write_call(out, ",", &[inner], ")");
        }
    }
}

fn write_call(out: &mut String, opens: &str, arguments: &[&Term], closes: &str) {
    out.push_str(opens);
    for (place, argument) in arguments.iter().enumerate() {
        if place > 0 {
            out.push(',');
        }
        write_term(out, argument);
    }
    out.push_str(closes);
}

fn write_between(out: &mut String, left: &Term, sign: &str, right: &Term) {
    out.push('(');
    write_term(out, left);
    out.push_str(sign);
    write_term(out, right);
    out.push(')');
}

/// A chain of comparisons; a side after one that doesn't hold is not worked.
fn write_condition(out: &mut String, condition: &Condition) {
    out.push_str("E.holds([");
    for (place, side) in condition.sides.iter().enumerate() {
        out.push_str(if place > 0 { ",()=>" } else { "()=>" });
        write_term(out, side);
    }
    let signs: Vec<&str> = condition.signs.iter().map(|sign| sign_of(*sign)).collect();
    let _ = write!(out, "],{})", json!(signs));
}

fn sign_of(sign: Comparison) -> &'static str {
    match sign {
        Comparison::Less => "<",
        Comparison::AtMost => "<=",
        Comparison::More => ">",
        Comparison::AtLeast => ">=",
        Comparison::Same => "==",
        Comparison::Other => "!=",
    }
}

fn write_balance(out: &mut String, parts: &BalanceTerm) {
    write_call(out, "E.balance(", &[&parts.low, &parts.high], ",function(x){");
    let _ = write!(out, "v[{}]=x;return ", parts.slot);
    write_between(out, &parts.left, "-", &parts.right);
    out.push_str("})");
}

fn write_table(out: &mut String, table: &Table) {
    out.push('[');
    for (place, row) in table.rows.iter().enumerate() {
        let comma = if place > 0 { "," } else { "" };
        let _ = write!(out, "{comma}[{},{},{}]", number(row.from), number(row.to), number(row.value));
    }
    out.push(']');
}
