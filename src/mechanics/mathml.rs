//! Tree to MathML Core: a formula in symbols, and the same with its numbers put in.
//!
//! One line a step. Fractions are fractions, roots are roots, units stand upright, degrees are degrees; a step without
//! a symbol is called by its name in upright words; `if` is a brace of cases, `balance` says in words what is looked
//! for, a table is named and shown apart. Brackets stand only where the reading needs them.

use super::expression::{Balance, Comparison, Expression, Form, Operator};
use super::figure::{NO_BREAK, Style};
use super::formula::Formula;
use super::functions::{Function, Notation};
use super::print::step_text;
use super::table::Table;
use super::units::{KINDS, Unit, pretty};
use super::working::Working;

/// Each step in symbols, as a `math` element of its own.
#[must_use]
pub fn formula_lines(formula: &Formula) -> Vec<String> {
    let names = |name: &str| Part::atom(symbol_of(formula, name));
    let line =
        |step: &super::formula::Step| equation(&symbol_of(formula, &step.name), &terms(&step.expression, &names), None);
    formula.steps.iter().map(line).collect()
}

/// Each step with its numbers put in, and what it comes to.
#[must_use]
pub fn number_lines(working: &Working<'_>) -> Vec<String> {
    let names = |name: &str| value_of(working, name).unwrap_or_else(|| Part::atom(symbol_of(working.formula, name)));
    let line = |(place, step): (usize, &super::formula::Step)| {
        let result = quantity(&step_text(working, place)).markup;
        equation(&symbol_of(working.formula, &step.name), &terms(&step.expression, &names), Some(&result))
    };
    working.formula.steps.iter().take(working.steps.len()).enumerate().map(line).collect()
}

/// A symbol by itself: all after the first `_` is its index.
#[must_use]
pub fn symbol(symbol: &str) -> String {
    format!("<math>{}</math>", letters(symbol))
}

/// The rows of a table as text: where each runs, and what it gives.
#[must_use]
pub fn table_rows(table: &Table) -> Vec<(String, String)> {
    let style = |unit: &Unit| Style { kind: &KINDS[1], unit: unit.clone(), decimals: None };
    let (by, gives) = (style(&table.by), style(&table.gives));
    let last = table.rows.len().saturating_sub(1);
    let row = |(place, row): (usize, &super::table::TableRow)| {
        let end = if place == last { "up to and with" } else { "to under" };
        (format!("{} {end} {}", by.bare(row.from), by.text(row.to)), gives.text(row.value))
    };
    table.rows.iter().enumerate().map(row).collect()
}

/// Markup with how tightly it binds, and whether it begins with a number or is a word.
struct Part {
    markup: String,
    rank: u8,
    look: Look,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Look {
    /// A number, perhaps with a unit.
    Number,
    /// A symbol of one letter with its index, or something in brackets.
    Symbol,
    /// Words, which would run into their neighbours.
    Words,
}

const SUM: u8 = 1;
const PRODUCT: u8 = 2;
const FRACTION: u8 = 8;
const ATOM: u8 = 9;

impl Part {
    fn atom(markup: String) -> Self {
        let look = if markup.starts_with("<mtext>") { Look::Words } else { Look::Symbol };
        Self { markup, rank: ATOM, look }
    }

    fn of(markup: String, rank: u8) -> Self {
        Self { markup, rank, look: Look::Symbol }
    }

    /// The markup, in brackets where it binds less than it has to.
    fn at_least(self, rank: u8) -> Self {
        if self.rank >= rank { self } else { Self::of(fenced("(", &self.markup, ")"), ATOM) }
    }
}

type NameWriter<'a> = &'a dyn Fn(&str) -> Part;

fn write(expression: &Expression, names: NameWriter<'_>) -> Part {
    match &expression.form {
        Form::Number(number) => with_unit(&number.text, &number.unit.text),
        Form::Pi => Part::atom("<mi>π</mi>".to_owned()),
        Form::Name(name) => names(name),
        Form::Negate(inner) => {
            let inner = write(inner, names).at_least(PRODUCT);
            Part::of(format!("<mrow><mo>\u{2212}</mo>{}</mrow>", inner.markup), SUM)
        }
        Form::Binary(operator, left, right) => binary(*operator, write(left, names), write(right, names)),
        Form::Compare(sides, signs) => compare(sides, signs, names),
        Form::Call(function, arguments) => call(function, arguments, names),
        Form::If(three) => cases(three, names),
        Form::Balance(parts) => balance(parts, names),
        Form::Lookup(table, value) => {
            let value = fenced("(", &write(value, names).markup, ")");
            Part { markup: format!("<mrow>{}{value}</mrow>", words(&table.value)), rank: ATOM, look: Look::Words }
        }
    }
}

fn binary(operator: Operator, left: Part, right: Part) -> Part {
    match operator {
        Operator::Add => sum(&left, "+", &right.at_least(SUM)),
        Operator::Subtract => sum(&left, "\u{2212}", &right.at_least(PRODUCT)),
        Operator::Multiply => product(&left.at_least(PRODUCT), &right.at_least(PRODUCT)),
        Operator::Divide => {
            Part::of(format!("<mfrac><mrow>{}</mrow><mrow>{}</mrow></mfrac>", left.markup, right.markup), FRACTION)
        }
        Operator::Power => {
            let base = left.at_least(ATOM);
            Part::of(format!("<msup><mrow>{}</mrow><mrow>{}</mrow></msup>", base.markup, right.markup), ATOM)
        }
    }
}

fn sum(left: &Part, sign: &str, right: &Part) -> Part {
    Part { markup: format!("{}<mo>{sign}</mo>{}", left.markup, right.markup), rank: SUM, look: left.look }
}

/// A sign stands between numbers and words; symbols and brackets stand side by side.
fn product(left: &Part, right: &Part) -> Part {
    let apart = right.look != Look::Symbol || left.look == Look::Words || left.look == Look::Number && left.rank < ATOM;
    let sign = if apart { "<mo>·</mo>" } else { "<mo>\u{2062}</mo>" };
    Part { markup: format!("{}{sign}{}", left.markup, right.markup), rank: PRODUCT, look: left.look }
}

fn call(function: &Function, arguments: &[Expression], names: NameWriter<'_>) -> Part {
    let inside: Vec<String> = arguments.iter().map(|argument| write(argument, names).markup).collect();
    let listed = inside.join("<mo separator=\"true\">,</mo>");
    match function.notation {
        Notation::Root => Part::of(format!("<msqrt><mrow>{listed}</mrow></msqrt>"), ATOM),
        Notation::Fenced(open, close) => Part::of(fenced(open, &listed, close), ATOM),
        Notation::Exponential => {
            Part::of(format!("<msup><mi mathvariant=\"normal\">e</mi><mrow>{listed}</mrow></msup>"), ATOM)
        }
        Notation::Named(name) => {
            let listed = fenced("(", &listed, ")");
            Part {
                markup: format!("<mrow><mi>{name}</mi><mo>\u{2061}</mo>{listed}</mrow>"),
                rank: ATOM,
                look: Look::Symbol,
            }
        }
    }
}

fn compare(sides: &[Expression], signs: &[Comparison], names: NameWriter<'_>) -> Part {
    let mut markup = write(&sides[0], names).markup;
    for (sign, side) in signs.iter().zip(&sides[1..]) {
        let sign = match sign {
            Comparison::Less => "&lt;",
            Comparison::AtMost => "≤",
            Comparison::More => "&gt;",
            Comparison::AtLeast => "≥",
            Comparison::Same => "=",
            Comparison::Other => "≠",
        };
        markup = format!("{markup}<mo>{sign}</mo>{}", write(side, names).markup);
    }
    Part::of(markup, 0)
}

fn cases(three: &[Expression; 3], names: NameWriter<'_>) -> Part {
    let [condition, yes, no] = three;
    let row = |value: &Expression, when: String| {
        format!("<mtr><mtd>{}</mtd><mtd>{when}</mtd></mtr>", write(value, names).markup)
    };
    let when = format!("<mtext>where{NO_BREAK}</mtext>{}", write(condition, names).markup);
    let rows = format!("{}{}", row(yes, when), row(no, "<mtext>elsewhere</mtext>".to_owned()));
    Part::of(format!("<mrow><mo stretchy=\"true\">{{</mo><mtable>{rows}</mtable></mrow>"), SUM)
}

fn balance(parts: &Balance, names: NameWriter<'_>) -> Part {
    let unknown = words(&parts.unknown.value);
    let own = |name: &str| {
        if name == parts.unknown.value { Part { look: Look::Words, ..Part::atom(words(name)) } } else { names(name) }
    };
    let side = |side: &Expression| write(side, &own).markup;
    let markup = format!(
        "<mrow><mtext>the{NO_BREAK}</mtext>{unknown}<mtext>{NO_BREAK}from{NO_BREAK}</mtext>{}<mtext>{NO_BREAK}to{NO_BREAK}</mtext>{}\
         <mtext>{NO_BREAK}at which{NO_BREAK}</mtext>{}<mo>=</mo>{}</mrow>",
        side(&parts.low),
        side(&parts.high),
        side(&parts.left),
        side(&parts.right),
    );
    Part { markup, rank: 0, look: Look::Words }
}

fn fenced(open: &str, inside: &str, close: &str) -> String {
    format!("<mrow><mo stretchy=\"true\">{open}</mo>{inside}<mo stretchy=\"true\">{close}</mo></mrow>")
}

/// The terms of a sum, each with its sign; anything else is one term.
fn terms(expression: &Expression, names: NameWriter<'_>) -> Vec<(&'static str, String)> {
    let mut rest = expression;
    let mut terms = Vec::new();
    while let Form::Binary(operator @ (Operator::Add | Operator::Subtract), left, right) = &rest.form {
        let (sign, least) = if *operator == Operator::Add { ("+", SUM) } else { ("\u{2212}", PRODUCT) };
        terms.push((sign, write(right, names).at_least(least).markup));
        rest = left;
    }
    terms.push(("", write(rest, names).markup));
    terms.reverse();
    terms
}

/// A line of this many characters is as wide as a sheet's column; a longer sum is broken before its signs.
const WIDEST: usize = 52;

/// `left = terms = result` on one line, or broken before the signs where it is too wide (ISO 80000-2, 7.1.3).
fn equation(left: &str, terms: &[(&str, String)], result: Option<&str>) -> String {
    let sign = |sign: &str| if sign.is_empty() { String::new() } else { format!("<mo form=\"infix\">{sign}</mo>") };
    let width: usize =
        terms.iter().map(|(_, term)| visible(term)).sum::<usize>() + result.map_or(0, visible) + visible(left);
    let result = result.map(|result| format!("<mo form=\"infix\">=</mo>{result}"));
    if width <= WIDEST || terms.len() == 1 && result.is_none() {
        let sum: String = terms.iter().map(|(before, term)| format!("{}{term}", sign(before))).collect();
        return format!(
            "<math display=\"block\"><mrow>{left}<mo>=</mo>{sum}{}</mrow></math>",
            result.unwrap_or_default()
        );
    }
    let row = |first: &str, second: &str| {
        format!("<mtr><mtd><mrow>{first}</mrow></mtd><mtd><mrow>{second}</mrow></mtd></mtr>")
    };
    let mut rows = String::new();
    for (place, (before, term)) in terms.iter().enumerate() {
        let first = if place == 0 { format!("{left}<mo form=\"infix\">=</mo>") } else { String::new() };
        rows.push_str(&row(&first, &format!("{}{term}", sign(before))));
    }
    rows.extend(result.map(|result| row("", &result)));
    format!("<math display=\"block\"><mtable class=\"broken\" displaystyle=\"true\">{rows}</mtable></math>")
}

/// About how many characters wide markup is: what stands outside its tags, less a little for each fraction.
fn visible(markup: &str) -> usize {
    let mut inside = false;
    let mut count = 0usize;
    for c in markup.chars() {
        match c {
            '<' => inside = true,
            '>' => inside = false,
            _ if !inside => count += 1,
            _ => {}
        }
    }
    count.saturating_sub(2 * markup.matches("<mfrac>").count())
}

/// The symbol of a name, or the name in upright words.
fn symbol_of(formula: &Formula, name: &str) -> String {
    formula.symbol(name).map_or_else(|| words(name), letters)
}

fn letters(symbol: &str) -> String {
    let letter = |text: &str| {
        if text.chars().count() == 1 {
            format!("<mi>{}</mi>", escape(text))
        } else {
            format!("<mi mathvariant=\"normal\">{}</mi>", escape(text))
        }
    };
    match symbol.split_once('_') {
        Some((base, index)) => format!("<msub>{}{}</msub>", letter(base), letter(index)),
        None => letter(symbol),
    }
}

fn words(name: &str) -> String {
    format!("<mtext>{}</mtext>", escape(&name.replace('_', "\u{A0}")))
}

/// What an input or step comes to; counts stand without their labels.
fn value_of(working: &Working<'_>, name: &str) -> Option<Part> {
    let formula = working.formula;
    if let Some(place) = formula.inputs.iter().position(|input| input.name == name) {
        let style = formula.inputs[place].style();
        let value = working.readings[place].value;
        return Some(quantity(&if style.unit.is_label() { style.bare(value) } else { style.text(value) }));
    }
    let step = formula.steps.iter().position(|step| step.name == name)?;
    let value = *working.steps.get(step)?;
    let bare = formula.step_style(step).filter(|style| style.unit.is_label()).map(|style| style.bare(value));
    Some(quantity(&bare.unwrap_or_else(|| step_text(working, step))))
}

/// A figure's text as markup: number and upright unit.
fn quantity(text: &str) -> Part {
    let (digits, unit) = match text.split_once(NO_BREAK) {
        Some((digits, unit)) => (digits, unit),
        None => text.strip_suffix('°').map_or((text, ""), |digits| (digits, "°")),
    };
    with_unit(digits, unit)
}

fn with_unit(digits: &str, unit: &str) -> Part {
    let (sign, digits) = match digits.strip_prefix('\u{2212}') {
        Some(digits) => ("<mo>\u{2212}</mo>", digits),
        None => ("", digits),
    };
    let unit = match unit {
        "" | "tooth" | "link" => String::new(),
        "deg" | "°" => "<mtext>°</mtext>".to_owned(),
        unit => format!("<mtext>{NO_BREAK}{}</mtext>", escape(&pretty(unit))),
    };
    let number = format!("{sign}<mn>{}</mn>{unit}", escape(digits));
    let rank = if !sign.is_empty() {
        SUM
    } else if unit.is_empty() {
        ATOM
    } else {
        FRACTION
    };
    let markup = if rank == ATOM { number } else { format!("<mrow>{number}</mrow>") };
    Part { markup, rank, look: Look::Number }
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
