//! Tree to term: names become places, units become base units, and dimensions are checked, before any number.
//!
//! A `Term` can be worked without looking anything up and without asking what a value measures: that was settled
//! here, once, when the formula was loaded. Constants are folded by the same operations that working them would
//! use. Faults point at the characters of the formula; nothing is worked for a reader here.

use super::dimension::Dimension;
use super::expression::{Balance, Comparison, Expression, Form, Number, Operator};
use super::functions::{Dimensions, Function};
use super::interval::{Interval, point};
use super::table::Table;
use super::units::phrase;
use crate::fault::{Fault, id};
use crate::text::Span;
use std::sync::Arc;

/// An expression ready to be worked: values in base units, names as places.
#[derive(Clone, Debug)]
pub enum Term {
    /// A number and the bounds of what was written (a decimal is rarely a double).
    Constant(f64, Interval),
    /// The input or step with this place.
    Slot(usize),
    /// The opposite.
    Negate(Box<Term>),
    /// `a + b`
    Add(Box<[Term; 2]>),
    /// `a - b`
    Subtract(Box<[Term; 2]>),
    /// `a * b`
    Multiply(Box<[Term; 2]>),
    /// `a / b`, and where it stands.
    Divide(Box<[Term; 2]>, Span),
    /// A whole power, worked as repeated multiplication.
    WholePower(Box<Term>, i32, Span),
    /// Any other power.
    Power(Box<[Term; 2]>, Span),
    /// A row of the table of functions.
    Call(&'static Function, Box<[Term]>, Span),
    /// The first value where the condition holds, else the second.
    If(Box<(Condition, Term, Term)>),
    /// The place at which two values are equal.
    Balance(Box<BalanceTerm>),
    /// The row of a table.
    Lookup(Arc<Table>, Box<Term>, Span),
}

impl Term {
    /// Every place that the term reads, unknowns of balances included, however often.
    pub fn each_slot(&self, told: &mut dyn FnMut(usize)) {
        match self {
            Self::Constant(..) => {}
            Self::Slot(place) => told(*place),
            Self::Negate(inner) | Self::WholePower(inner, ..) | Self::Lookup(_, inner, _) => inner.each_slot(told),
            Self::Add(two) | Self::Subtract(two) | Self::Multiply(two) | Self::Divide(two, _) | Self::Power(two, _) => {
                two.iter().for_each(|term| term.each_slot(told));
            }
            Self::Call(_, arguments, _) => arguments.iter().for_each(|term| term.each_slot(told)),
            Self::If(three) => {
                three.0.sides.iter().for_each(|term| term.each_slot(told));
                three.1.each_slot(told);
                three.2.each_slot(told);
            }
            Self::Balance(parts) => {
                for term in [&parts.low, &parts.high, &parts.left, &parts.right] {
                    term.each_slot(told);
                }
            }
        }
    }
}

/// A chain of comparisons, ready to be worked.
#[derive(Clone, Debug)]
pub struct Condition {
    /// The values, one more than signs.
    pub sides: Vec<Term>,
    /// The signs between them.
    pub signs: Vec<Comparison>,
}

/// `balance(…)`, ready to be worked.
#[derive(Clone, Debug)]
pub struct BalanceTerm {
    /// The place of the value that is looked for.
    pub slot: usize,
    /// One end of the search.
    pub low: Term,
    /// The other end.
    pub high: Term,
    /// One side.
    pub left: Term,
    /// The other side.
    pub right: Term,
    /// Where it stands.
    pub span: Span,
}

/// The names that an expression may read: their dimensions by place, and the tables.
#[derive(Clone, Debug, Default)]
pub struct Scope {
    names: Vec<(String, Dimension)>,
    tables: Vec<Arc<Table>>,
    /// Names of balances in progress, innermost last, with their places.
    unknowns: Vec<(String, usize, Dimension)>,
}

impl Scope {
    /// Adds a name; its place is how many were there before.
    pub fn add(&mut self, name: impl Into<String>, dimension: Dimension) {
        self.names.push((name.into(), dimension));
    }

    /// Adds a table for `lookup`.
    pub fn add_table(&mut self, table: Arc<Table>) {
        self.tables.push(table);
    }

    /// The place of a name.
    #[must_use]
    pub fn place(&self, name: &str) -> Option<usize> {
        self.names.iter().position(|(known, _)| known == name)
    }

    /// What the name with this place measures.
    #[must_use]
    pub fn dimension(&self, place: usize) -> Option<Dimension> {
        self.names.get(place).map(|(_, dimension)| *dimension)
    }

    /// How many names there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.names.len()
    }

    /// True before the first name.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.names.is_empty()
    }

    fn find(&self, name: &str) -> Option<(usize, Dimension)> {
        let unknown = self.unknowns.iter().rev().find(|(known, ..)| known == name);
        unknown.map(|&(_, place, dimension)| (place, dimension)).or_else(|| {
            let place = self.place(name)?;
            Some((place, self.names[place].1))
        })
    }
}

/// A term and what it measures.
pub type Measured = (Term, Dimension);

type Resolved<T> = Result<T, Fault>;

/// Resolves an expression that gives a value.
///
/// # Errors
/// The first name that isn't known, or place at which dimensions disagree.
pub fn resolve(expression: &Expression, scope: &mut Scope) -> Resolved<Measured> {
    let span = expression.span;
    match &expression.form {
        Form::Number(number) => Ok(resolve_number(number)),
        Form::Pi => Ok((Term::Constant(std::f64::consts::PI, Interval::around(std::f64::consts::PI)), Dimension::NONE)),
        Form::Name(name) => resolve_name(name, span, scope),
        Form::Negate(inner) => resolve(inner, scope).map(|(term, dimension)| (negate(term), dimension)),
        Form::Binary(Operator::Power, base, exponent) => resolve_power(base, exponent, span, scope),
        Form::Binary(operator, left, right) => resolve_binary(*operator, left, right, span, scope),
        Form::Call(function, arguments) => resolve_call(function, arguments, span, scope),
        Form::If(three) => resolve_if(three, scope),
        Form::Balance(parts) => resolve_balance(parts, span, scope),
        Form::Lookup(table, value) => {
            let table = find_table(&table.value, table.span, scope)?;
            let (term, dimension) = resolve(value, scope)?;
            check_same(dimension, table.by.dimension, value.span, "what the table is read by")?;
            let gives = table.gives.dimension;
            Ok((Term::Lookup(table, Box::new(term), span), gives))
        }
        Form::Word(_) | Form::List(_) => {
            Err(Fault::new(id::INCOMPATIBLE_UNITS, span, "words are no values to reckon with")
                .allowed("==, !=, among and shares between words and lists")
                .cure("compare the word by itself"))
        }
        Form::Compare(..) | Form::Join(..) | Form::Not(_) | Form::Belong(..) | Form::Unknown => {
            Err(Fault::new(id::INCOMPATIBLE_UNITS, span, "a comparison is true or false, not a value")
                .allowed("comparisons in if, when and must only")
                .cure("write if(condition, value, other value)"))
        }
    }
}

/// Resolves a condition: a chain of comparisons.
///
/// # Errors
/// As [`resolve`], and where the two sides of a sign don't measure the same.
pub fn resolve_condition(expression: &Expression, scope: &mut Scope) -> Resolved<Condition> {
    let Form::Compare(sides, signs) = &expression.form else {
        return Err(Fault::new(id::NO_COMPARISON, expression.span, "nothing is compared here")
            .cure("write a sign, such as <=, and what this is compared with"));
    };
    let mut terms = Vec::with_capacity(sides.len());
    let mut first = None;
    for side in sides {
        let (term, dimension) = resolve(side, scope)?;
        check_same(dimension, *first.get_or_insert(dimension), side.span, "the other side")?;
        terms.push(term);
    }
    Ok(Condition { sides: terms, signs: signs.clone() })
}

fn resolve_number(number: &Number) -> Measured {
    let value = number.unit.to_base(number.value);
    let whole = number.value.fract() == 0.0 && value.fract() == 0.0 && value.abs() < 1e15 && number.value.abs() < 1e15;
    // Whole numbers in base units are exact; of anything else the double is only the nearest.
    let bounds = if whole { Interval::point(value) } else { Interval::around(value) };
    (Term::Constant(value, bounds), number.unit.dimension)
}

fn resolve_name(name: &str, span: Span, scope: &Scope) -> Resolved<Measured> {
    if let Some((place, dimension)) = scope.find(name) {
        return Ok((Term::Slot(place), dimension));
    }
    let fault = Fault::new(id::UNKNOWN_NAME, span, format!("nothing here is called {name}")).found(name);
    let known = scope.names.iter().map(|(known, _)| known.as_str());
    Err(fault.nearest(name, known, "use an input, or a step that was worked before this one"))
}

fn negate(term: Term) -> Term {
    match term {
        Term::Constant(value, bounds) => Term::Constant(-value, -bounds),
        other => Term::Negate(Box::new(other)),
    }
}

fn resolve_binary(
    operator: Operator,
    left: &Expression,
    right: &Expression,
    span: Span,
    scope: &mut Scope,
) -> Resolved<Measured> {
    let (one, one_dimension) = resolve(left, scope)?;
    let (other, other_dimension) = resolve(right, scope)?;
    let dimension = match operator {
        Operator::Multiply => one_dimension.times(other_dimension),
        Operator::Divide => one_dimension.over(other_dimension),
        _ => {
            check_sum(operator, one_dimension, other_dimension, span)?;
            one_dimension
        }
    };
    Ok((fold(operator, one, other, span), dimension))
}

/// Puts two terms together; two constants become one where there is an answer.
fn fold(operator: Operator, left: Term, right: Term, span: Span) -> Term {
    if let (Term::Constant(a, in_a), Term::Constant(b, in_b)) = (&left, &right) {
        let folded = match operator {
            Operator::Add => Some((a + b, *in_a + *in_b)),
            Operator::Subtract => Some((a - b, *in_a - *in_b)),
            Operator::Multiply => Some((a * b, *in_a * *in_b)),
            Operator::Divide => in_a.divide(*in_b).map(|bounds| (a / b, bounds)),
            Operator::Power => None,
        };
        if let Some((value, bounds)) = folded.filter(|(value, _)| value.is_finite()) {
            return Term::Constant(value, bounds);
        }
    }
    let pair = Box::new([left, right]);
    match operator {
        Operator::Add => Term::Add(pair),
        Operator::Subtract => Term::Subtract(pair),
        Operator::Multiply => Term::Multiply(pair),
        Operator::Divide => Term::Divide(pair, span),
        Operator::Power => Term::Power(pair, span),
    }
}

fn check_sum(operator: Operator, left: Dimension, right: Dimension, span: Span) -> Resolved<()> {
    if left == right {
        return Ok(());
    }
    let (verb, joint) = if operator == Operator::Add { ("add", "to") } else { ("take", "from") };
    let (what, whence) = if operator == Operator::Add { (left, right) } else { (right, left) };
    Err(Fault::new(id::INCOMPATIBLE_UNITS, span, format!("can't {verb} {} {joint} {}", phrase(what), phrase(whence)))
        .found(format!("{} and {}", phrase(left), phrase(right)))
        .allowed("two values that measure the same")
        .cure("check the units: write one that was left out, or multiply by what is missing"))
}

fn check_same(found: Dimension, wanted: Dimension, span: Span, against: &str) -> Resolved<()> {
    if found == wanted {
        return Ok(());
    }
    Err(Fault::new(
        id::INCOMPATIBLE_UNITS,
        span,
        format!("this is {}, but {against} is {}", phrase(found), phrase(wanted)),
    )
    .found(phrase(found))
    .allowed(phrase(wanted))
    .cure("check the units of both"))
}

fn resolve_power(base: &Expression, exponent: &Expression, span: Span, scope: &mut Scope) -> Resolved<Measured> {
    let (term, dimension) = resolve(base, scope)?;
    let (power, power_dimension) = resolve(exponent, scope)?;
    check_same(power_dimension, Dimension::NONE, exponent.span, "a power")?;
    let Term::Constant(value, bounds) = power else {
        if dimension.is_none() {
            return Ok((fold(Operator::Power, term, power, span), dimension));
        }
        return Err(Fault::new(id::POWER_NOT_FIXED, exponent.span, "a power of a value with a unit must be a number")
            .allowed("^2, ^3, ^-1 and their like")
            .cure("divide by the unit first, or write the power as a number"));
    };
    let Some(raised) = dimension.power(value) else {
        return Err(Fault::new(
            id::POWER_WITHOUT_UNIT,
            span,
            format!("no unit measures this power of {}", phrase(dimension)),
        )
        .found(format!("power {value}"))
        .cure("raise plain numbers only, or use a whole power"));
    };
    if value.fract() == 0.0 && value.abs() <= 32.0 {
        #[expect(clippy::cast_possible_truncation, reason = "whole and at most 32, checked just above")]
        let whole = value as i32;
        return Ok((fold_power(term, whole, span), raised));
    }
    Ok((Term::Power(Box::new([term, Term::Constant(value, bounds)]), span), raised))
}

fn fold_power(base: Term, power: i32, span: Span) -> Term {
    if let Term::Constant(value, bounds) = base {
        let raised = point::powi(value, power);
        if let Some(bounds) = bounds.powi(power).filter(|_| raised.is_finite()) {
            return Term::Constant(raised, bounds);
        }
    }
    Term::WholePower(Box::new(base), power, span)
}

fn resolve_call(
    function: &'static Function,
    arguments: &[Expression],
    span: Span,
    scope: &mut Scope,
) -> Resolved<Measured> {
    let mut terms = Vec::with_capacity(arguments.len());
    let mut dimensions = Vec::with_capacity(arguments.len());
    for argument in arguments {
        let (term, dimension) = resolve(argument, scope)?;
        let wanted = match function.dimensions {
            Dimensions::Plain | Dimensions::ToAngle => Dimension::NONE,
            Dimensions::OfAngle => Dimension::ANGLE,
            Dimensions::Root => dimension,
            Dimensions::Same | Dimensions::Direction => *dimensions.first().unwrap_or(&dimension),
        };
        check_same(dimension, wanted, argument.span, &format!("what {} takes", function.name))?;
        terms.push(term);
        dimensions.push(dimension);
    }
    let first = dimensions[0];
    let gives = match function.dimensions {
        Dimensions::Plain | Dimensions::OfAngle => Dimension::NONE,
        Dimensions::ToAngle | Dimensions::Direction => Dimension::ANGLE,
        Dimensions::Same => first,
        Dimensions::Root => first.power(0.5).ok_or_else(|| {
            Fault::new(id::POWER_WITHOUT_UNIT, span, format!("no unit measures the square root of {}", phrase(first)))
                .cure("check the units under the root")
        })?,
    };
    Ok((Term::Call(function, terms.into(), span), gives))
}

fn resolve_if(three: &[Expression; 3], scope: &mut Scope) -> Resolved<Measured> {
    let [condition, yes, no] = three;
    let condition = resolve_condition(condition, scope)?;
    let (yes, dimension) = resolve(yes, scope)?;
    let (no_term, no_dimension) = resolve(no, scope)?;
    check_same(no_dimension, dimension, no.span, "the other value")?;
    Ok((Term::If(Box::new((condition, yes, no_term))), dimension))
}

fn resolve_balance(parts: &Balance, span: Span, scope: &mut Scope) -> Resolved<Measured> {
    let name = &parts.unknown;
    if scope.find(&name.value).is_some() {
        return Err(Fault::new(id::NAME_TWICE, name.span, format!("{} has a meaning already", name.value))
            .allowed("a new name, known in the two sides only")
            .cure("choose another name for the value that is looked for"));
    }
    let (low, dimension) = resolve(&parts.low, scope)?;
    let (high, high_dimension) = resolve(&parts.high, scope)?;
    check_same(high_dimension, dimension, parts.high.span, "the low end of the search")?;
    let slot = BALANCE_PLACES + scope.unknowns.len();
    scope.unknowns.push((name.value.clone(), slot, dimension));
    let sides = resolve_sides(parts, scope);
    scope.unknowns.pop();
    let (left, right) = sides?;
    Ok((Term::Balance(Box::new(BalanceTerm { slot, low, high, left, right, span })), dimension))
}

/// Names take the places below this one; the unknowns of balances take those from here on. A formula has a few
/// dozen names, and the loader refuses more.
pub const BALANCE_PLACES: usize = 120;

/// All the places that working a term can need: names, then a few unknowns one inside the other.
pub const PLACES: usize = 128;

fn resolve_sides(parts: &Balance, scope: &mut Scope) -> Resolved<(Term, Term)> {
    let (left, dimension) = resolve(&parts.left, scope)?;
    let (right, right_dimension) = resolve(&parts.right, scope)?;
    check_same(right_dimension, dimension, parts.right.span, "the left side of the balance")?;
    if scope.unknowns.len() > PLACES - BALANCE_PLACES {
        return Err(Fault::new(id::TOO_DEEP, parts.unknown.span, "balances stand inside one another too deeply")
            .cure("work the inner one in a step of its own"));
    }
    Ok((left, right))
}

fn find_table(name: &str, span: Span, scope: &Scope) -> Resolved<Arc<Table>> {
    if let Some(table) = scope.tables.iter().find(|table| table.name == name) {
        return Ok(Arc::clone(table));
    }
    let known = scope.tables.iter().map(|table| table.name.as_str());
    Err(Fault::new(id::UNKNOWN_TABLE, span, format!("there is no table called {name}")).nearest(
        name,
        known,
        "add the table to the formula, under tables",
    ))
}
