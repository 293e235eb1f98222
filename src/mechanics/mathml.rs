//! Tree to MathML Core: a formula in symbols, and the same with its numbers put in.
//!
//! One line a step. Fractions are fractions, roots are roots, units stand upright, degrees are degrees; a step without
//! a symbol is called by its name in upright words; `if` is a brace of cases, `balance` says in words what is looked
//! for, a table is named and shown apart. Brackets stand only where the reading needs them. How pieces of markup are
//! joined is in `part`; a long sum is broken here, as MathML Core breaks no lines. No element carries an id.

mod part;

use self::part::{LOOSE, Look, Part, SLASHED, SUM};
use super::expression::{Balance, Comparison, Expression, Form, Number, Operator};
use super::figure::{NO_BREAK, Style};
use super::formula::{Formula, Step};
use super::functions::{Function, Notation};
use super::print::{line_of, step_text, words};
use super::table::{Table, TableRow};
use super::units::{KINDS, Unit};
use super::working::Working;

/// Each step in symbols, as a `math` element of its own.
#[must_use]
pub fn formula_lines(formula: &Formula) -> Vec<String> {
    let writer = Writer { names: &|name| symbol_of(formula, name), dots: false, slash: false };
    formula
        .steps
        .iter()
        .map(|step| equation(&symbol_of(formula, &step.name), writer.lines(&step.expression), None))
        .collect()
}

/// Each step that was worked, with its numbers put in, and what it comes to. Counts stand without their labels
/// inside an expression; a value is shown as fine as its own output shows it.
#[must_use]
pub fn number_lines(working: &Working<'_>) -> Vec<String> {
    let formula = working.formula;
    let writer = Writer {
        names: &|name| value_of(working, name).unwrap_or_else(|| symbol_of(formula, name)),
        dots: true,
        slash: false,
    };
    let line = |(place, step): (usize, &Step)| {
        let result = figure(&step_text(working, place));
        equation(&symbol_of(formula, &step.name), writer.lines(&step.expression), Some(result))
    };
    formula.steps.iter().take(working.steps.len()).enumerate().map(line).collect()
}

/// An expression or a condition by itself, inline; `symbol` gives the symbol of a name, where it has one.
#[must_use]
pub fn inline(expression: &Expression, symbol: &dyn Fn(&str) -> Option<String>) -> String {
    let names = |name: &str| symbol(name).map_or_else(|| part::words(name), |symbol| part::letters(&symbol));
    format!("<math>{}</math>", Writer { names: &names, dots: false, slash: false }.write(expression).row())
}

/// A symbol by itself, inline: all after the first `_` is its index.
#[must_use]
pub fn symbol(symbol: &str) -> String {
    format!("<math>{}</math>", part::letters(symbol).markup)
}

/// The rows of a table as text: where each runs, and what it gives. A row ends under its last number; only the last
/// row has its end included.
#[must_use]
pub fn table_rows(table: &Table) -> Vec<(String, String)> {
    let style = |unit: &Unit| Style { kind: &KINDS[1], unit: unit.clone(), decimals: None };
    let (by, gives) = (style(&table.by), style(&table.gives));
    let last = table.rows.len().saturating_sub(1);
    let row = |(place, row): (usize, &TableRow)| {
        let (from, to) = (by.bare(row.from), by.text(row.to));
        let range = if place == last { format!("{from} to {to}, included") } else { format!("{from} to under {to}") };
        (range, gives.text(row.value))
    };
    table.rows.iter().enumerate().map(row).collect()
}

/// Writes trees: `names` says what stands for a name.
#[derive(Clone, Copy)]
struct Writer<'a> {
    names: &'a dyn Fn(&str) -> Part,
    /// True where numbers stand for the names, so that every product shows its sign.
    dots: bool,
    /// True within a fraction or a power, where a division is written with a slash.
    slash: bool,
}

impl Writer<'_> {
    fn write(self, expression: &Expression) -> Part {
        match &expression.form {
            Form::Number(number) => constant(number),
            Form::Pi => Part::element("<mi>π</mi>".to_owned(), part::ATOM, Look::Symbol, 1),
            Form::Name(name) => (self.names)(name),
            Form::Negate(inner) => self.write(inner).negated(),
            Form::Binary(operator, left, right) => self.binary(*operator, left, right),
            Form::Compare(sides, signs) => self.compare(sides, signs),
            Form::Call(function, arguments) => self.call(function, arguments),
            Form::If(three) => self.cases(three),
            Form::Balance(parts) => {
                let lines = self.balance(parts).into_iter();
                lines.reduce(|line, next| line.beside(&next, LOOSE)).unwrap_or_else(nothing)
            }
            Form::Lookup(table, value) => {
                let value = part::fenced("(", &self.write(value), ")");
                part::words(&table.value).spaced(&value, part::POWER)
            }
            // Rules about parts are told in words, never in signs.
            Form::Word(_) | Form::List(_) | Form::Join(..) | Form::Not(_) | Form::Belong(..) | Form::Unknown => {
                part::words(&line_of(expression))
            }
        }
    }

    fn binary(self, operator: Operator, left: &Expression, right: &Expression) -> Part {
        let rank = part::rank(operator);
        let small = Self { slash: true, ..self };
        let (left_writer, right_writer) = match operator {
            Operator::Divide => (small, small),
            Operator::Power => (self, small),
            _ => (self, self),
        };
        let (left, right) = (left_writer.write(left), right_writer.write(right));
        match operator {
            Operator::Add => left.leading(SUM).joined("+", &right.following(SUM), rank),
            Operator::Subtract => left.leading(SUM).joined("\u{2212}", &right.following(SLASHED), rank),
            Operator::Multiply => part::product(left, right, self.dots),
            Operator::Divide if self.slash => part::slashed(left, right),
            Operator::Divide => part::fraction(&left, &right),
            Operator::Power => part::power(left, &right),
        }
    }

    fn compare(self, sides: &[Expression], signs: &[Comparison]) -> Part {
        let first = self.write(&sides[0]);
        let chain = signs.iter().zip(&sides[1..]);
        chain.fold(first, |left, (sign, side)| left.joined(comparison(*sign), &self.write(side), LOOSE))
    }

    fn call(self, function: &Function, arguments: &[Expression]) -> Part {
        let slash = self.slash || function.notation == Notation::Exponential;
        let writer = Self { slash, ..self };
        let inside = part::listed(arguments.iter().map(|argument| writer.write(argument)).collect());
        match function.notation {
            Notation::Root => part::root(&inside),
            Notation::Fenced(open, close) => part::fenced(open, &inside, close),
            Notation::Exponential => {
                let e = Part::element("<mi mathvariant=\"normal\">e</mi>".to_owned(), part::ATOM, Look::Symbol, 1);
                part::power(e, &inside)
            }
            Notation::Named(name) => part::applied(name, &inside),
        }
    }

    /// A brace of cases; an `if` in the place of "otherwise" goes on in the same brace.
    fn cases(self, three: &[Expression; 3]) -> Part {
        let mut rows = Vec::new();
        let mut rest = three;
        loop {
            let [condition, yes, no] = rest;
            let when = part::text_part("if ").beside(&self.write(condition), LOOSE);
            rows.push((self.write(yes), when));
            match &no.form {
                Form::If(next) => rest = next,
                _ => break rows.push((self.write(no), part::text_part("otherwise"))),
            }
        }
        let width = rows.iter().map(|(value, when)| value.width + when.width + 3).max().unwrap_or(0);
        let row = |(value, when): &(Part, Part)| table_row(&[value, when]);
        let rows: String = rows.iter().map(row).collect();
        let brace = "<mo form=\"prefix\" fence=\"true\" stretchy=\"true\">{</mo>";
        let table = format!("<mtable class=\"cases\" displaystyle=\"true\">{rows}</mtable>");
        let markup = format!("<mrow>{brace}{table}</mrow>");
        Part::tall_element(markup, LOOSE, Look::Fence, width)
    }

    /// What is looked for, one side, the other, and between which ends: the pieces of one or of several lines.
    fn balance(self, parts: &Balance) -> Vec<Part> {
        let unknown = parts.unknown.value.as_str();
        let own = |name: &str| if name == unknown { part::words(name) } else { (self.names)(name) };
        let inside = Writer { names: &own, ..self };
        let side = |side: &Expression| {
            let whole = inside.write(side);
            if whole.width > WIDEST { inside.lines(side) } else { vec![whole] }
        };
        let mut right = side(&parts.right);
        right[0] = after_sign("=", &right[0]);
        let between = part::text_part(" between ")
            .beside(&self.write(&parts.low), LOOSE)
            .beside(&part::text_part(" and "), LOOSE)
            .beside(&self.write(&parts.high), LOOSE);
        let mut pieces = vec![part::text_part(&format!("the {} at which ", words(unknown)))];
        pieces.extend(side(&parts.left));
        pieces.extend(right);
        pieces.push(between);
        pieces
    }

    /// The lines on which an expression may be broken: the terms of a sum, each with its sign; else one line.
    fn lines(self, expression: &Expression) -> Vec<Part> {
        if let Form::Balance(parts) = &expression.form {
            return self.balance(parts);
        }
        let mut rest = expression;
        let mut lines = Vec::new();
        while let Form::Binary(operator @ (Operator::Add | Operator::Subtract), left, right) = &rest.form {
            let (sign, least) = if *operator == Operator::Add { ("+", SUM) } else { ("\u{2212}", SLASHED) };
            lines.push(after_sign(sign, &self.write(right).following(least)));
            rest = left;
        }
        let first = self.write(rest);
        lines.push(if lines.is_empty() { first } else { first.leading(SUM) });
        lines.reverse();
        lines
    }
}

fn nothing() -> Part {
    Part::element(String::new(), LOOSE, Look::Words, 0)
}

fn after_sign(sign: &str, right: &Part) -> Part {
    let markup = part::infix(sign);
    Part::element(markup, LOOSE, Look::Symbol, 3).beside(right, LOOSE)
}

fn comparison(sign: Comparison) -> &'static str {
    match sign {
        Comparison::Less => "<",
        Comparison::AtMost => "≤",
        Comparison::More => ">",
        Comparison::AtLeast => "≥",
        Comparison::Same => "=",
        Comparison::Other => "≠",
    }
}

/// A line as wide as this fits the column of a sheet; a wider one is broken before its signs (ISO 80000-2, 7.1.3).
const WIDEST: usize = 58;

/// As many terms as stand on one line, however short they are.
const MOST_TERMS: usize = 4;

/// `name = lines = result` on one line, or one line each, aligned after the first sign.
fn equation(name: &Part, lines: Vec<Part>, result: Option<Part>) -> String {
    let terms = lines.len();
    let lines: Vec<Part> = lines.into_iter().chain(result.map(|result| after_sign("=", &result))).collect();
    let width = name.width + 3 + lines.iter().map(|line| line.width).sum::<usize>();
    let broken = lines.len() > 1 && (width > WIDEST || terms > MOST_TERMS);
    if !broken {
        let right: String = lines.iter().map(|line| line.markup.as_str()).collect();
        return format!("<math display=\"block\"><mrow>{}{}{right}</mrow></math>", name.markup, part::infix("="));
    }
    let left = name.clone().beside(&Part::element(part::infix("="), LOOSE, Look::Symbol, 3), LOOSE);
    let mut rows = String::new();
    for (place, line) in lines.iter().enumerate() {
        rows.push_str(&table_row(&[if place == 0 { left.clone() } else { nothing() }, line.clone()].each_ref()));
    }
    format!("<math display=\"block\"><mtable class=\"broken\" displaystyle=\"true\">{rows}</mtable></math>")
}

fn table_row(cells: &[&Part]) -> String {
    let cells: String = cells.iter().map(|cell| format!("<mtd>{}</mtd>", cell.row())).collect();
    format!("<mtr>{cells}</mtr>")
}

/// The symbol of a name, or the name in upright words.
fn symbol_of(formula: &Formula, name: &str) -> Part {
    formula.symbol(name).map_or_else(|| part::words(name), part::letters)
}

/// What an input or step comes to; counts stand without their labels.
fn value_of(working: &Working<'_>, name: &str) -> Option<Part> {
    let formula = working.formula;
    let bare = |style: &Style, value: f64| style.unit.is_label().then(|| style.bare(value));
    if let Some(place) = formula.inputs.iter().position(|input| input.name == name) {
        let (style, value) = (formula.inputs[place].style(), working.readings.get(place)?.value);
        return Some(figure(&bare(&style, value).unwrap_or_else(|| style.text(value))));
    }
    let step = formula.steps.iter().position(|step| step.name == name)?;
    let value = *working.steps.get(step)?;
    let bare = formula.step_style(step).and_then(|style| bare(style, value));
    Some(figure(&bare.unwrap_or_else(|| step_text(working, step))))
}

/// A figure's text as markup: the number and its upright unit.
fn figure(text: &str) -> Part {
    match text.split_once(NO_BREAK) {
        Some((digits, unit)) => part::quantity(digits, unit),
        None => match text.strip_suffix('°') {
            Some(digits) => part::quantity(digits, "°"),
            None => part::quantity(text, ""),
        },
    }
}

/// A number of the formula itself; a label is left away, as it is worth 1.
fn constant(number: &Number) -> Part {
    let unit = if number.unit.is_label() { String::new() } else { number.unit.shown(number.text == "1") };
    part::quantity(&number.text, &unit)
}
