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
use super::units::{Kind, Unit};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::fmt::Write;

/// What all formulas share: numbers as text, comparing and rounding, balances, tables, and the table of functions.
#[must_use]
pub fn engine() -> String {
    let rows: Vec<String> = FUNCTIONS
        .iter()
        .map(|row| format!("{}:[function(x){{return {}}},{}]", row.name, row.javascript, text(why(row.no_answer))))
        .collect();
    bare(&include_str!("engine.js").replace("/*FUNCTIONS*/", &rows.join(",\n")))
}

/// A script without what only its authors read: indents, and lines that are notes.
#[must_use]
pub fn bare(script: &str) -> String {
    let lines = script.lines().map(str::trim_start);
    let lines = lines.filter(|line| !line.is_empty() && !line.starts_with("//") && !line.starts_with("/**"));
    lines.flat_map(|line| [line, "\n"]).collect()
}

/// When a call has no answer, for rows that say nothing themselves.
fn why(of_row: &str) -> &str {
    if of_row.is_empty() { "a number too large" } else { of_row }
}

/// One formula, as a call that makes it known to the engine under a name.
#[must_use]
pub fn script(formula: &Formula, name: &str) -> String {
    let mut out = String::from("locknut.add(");
    let inputs: Vec<Value> = formula.inputs.iter().map(input).collect();
    let outputs: Vec<Value> = formula
        .outputs
        .iter()
        .map(|output| {
            let style = &output.style;
            json!({"name": output.name, "about": output.about, "step": output.step, "unit": unit(&style.unit),
                "decimals": style.decimals, "kind": style.kind.name})
        })
        .collect();
    let kinds =
        formula.inputs.iter().map(|input| input.kind).chain(formula.outputs.iter().map(|output| output.style.kind));
    let units: BTreeMap<&str, Vec<Value>> = kinds.map(|kind| (kind.name, units(kind))).collect();
    let said = json!({
        "units": units, "id": name, "inputs": inputs, "outputs": outputs, "cautions": formula.cautions,
    });
    out.push_str(&said.to_string());
    out.push_str(",[");
    for term in &formula.program.steps {
        out.push_str("\nfunction(v){return ");
        write_term(&mut out, term);
        out.push_str("},");
    }
    out.push_str("\n],[");
    for limit in &formula.limits {
        write_limit(&mut out, limit);
    }
    out.push_str("]);\n");
    out
}

fn input(input: &Input) -> Value {
    json!({
        "name": input.name, "about": input.about, "kind": input.kind.name, "unit": unit(&input.unit),
        "low": input.low, "high": input.high, "advice": input.advice(),
    })
}

/// The units of a kind, in which a reader may type a value or see one.
fn units(kind: &Kind) -> Vec<Value> {
    kind.units.iter().filter_map(|text| Unit::parse(text).ok()).map(|own| unit(&own)).collect()
}

/// A unit: as it is written in files, as it is shown with one and with many, and the three numbers that convert it.
fn unit(unit: &Unit) -> Value {
    let (num, den, shift) = unit.parts();
    json!([unit.text, unit.shown(true), unit.shown(false), num, den, shift])
}

fn write_limit(out: &mut String, limit: &Limit) {
    let said = json!({"name": limit.name, "message": limit.message, "stops": limit.stops, "after": limit.after});
    let _ = write!(out, "\n[{said},function(v){{return ");
    write_condition(out, &limit.when);
    out.push_str("}],");
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
        out.push_str(if place > 0 { ",function(){return " } else { "function(){return " });
        write_term(out, side);
        out.push('}');
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
