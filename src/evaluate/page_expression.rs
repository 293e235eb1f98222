//! Expressions of pages: a value, or arithmetic over names, worked with values and bounds.

use super::names::Names;
use crate::fault::{Fault, id};
use crate::mechanics::bounds::{Truth, Walk};
use crate::mechanics::compute;
use crate::mechanics::dimension::Dimension;
use crate::mechanics::expression::Expression;
use crate::mechanics::interval::Interval;
use crate::mechanics::parser::{Names as Spelling, parse_condition, parse_expression};
use crate::mechanics::reading::Reading;
use crate::mechanics::term::{PLACES, Scope, resolve, resolve_condition};
use crate::text::{Mapped, Span};

/// What an expression comes to.
#[derive(Clone, Debug)]
pub struct Result {
    /// Value and bounds.
    pub reading: Reading,
    /// What it measures.
    pub dimension: Dimension,
    /// The names that it used.
    pub names: Vec<String>,
}

/// Whether a condition holds, everywhere in the bounds of its names, and what both sides come to.
#[derive(Clone, Debug)]
pub struct Held {
    /// Over the whole box.
    pub truth: Truth,
    /// At the stated numbers.
    pub stated: bool,
}

/// Why an expression gave nothing: its fault, unless that is another's.
pub type Failure = Option<Box<Fault>>;

/// Works an expression that gives a value.
///
/// # Errors
/// Its fault; nothing where it uses a working that has a fault of its own.
pub fn work(text: &Mapped, names: &Names) -> std::result::Result<Result, Failure> {
    let tree = parse_expression(text, Spelling::OfPages).map_err(|fault| Some(Box::new(fault)))?;
    let mut page = Page::of(&tree, names)?;
    let (term, dimension) = resolve(&tree, &mut page.scope).map_err(|fault| Some(Box::new(fault)))?;
    let value = compute::value(&term, &mut page.values).map_err(|gap| Some(no_answer(gap.span, gap.why)))?;
    if !value.is_finite() {
        return Err(Some(no_answer(tree.span, "a number too large")));
    }
    let bounds = page
        .walk()
        .bounds(&term)
        .map_err(|_| Some(no_answer(tree.span, "a value with no least or most in the tolerances")))?;
    // An exact value stays exact: the last digits of its bounds come from rounding alone.
    let bounds = if page.exact { Interval::point(value) } else { bounds.hull(Interval::point(value)) };
    Ok(Result { reading: Reading::within(value, bounds), dimension, names: page.names })
}

/// Works a condition.
///
/// # Errors
/// As [`work`].
pub fn hold(text: &Mapped, names: &Names) -> std::result::Result<Held, Failure> {
    let tree = parse_condition(text, Spelling::OfPages).map_err(|fault| Some(Box::new(fault)))?;
    let mut page = Page::of(&tree, names)?;
    page.take_ends();
    let condition = resolve_condition(&tree, &mut page.scope).map_err(|fault| Some(Box::new(fault)))?;
    let stated = compute::holds(&condition, &mut page.values).map_err(|gap| Some(no_answer(gap.span, gap.why)))?;
    let truth = page.walk().truth(&condition).unwrap_or(Truth::Open);
    let truth = if page.exact && stated { Truth::Always } else { truth };
    Ok(Held { truth, stated })
}

fn no_answer(span: Span, why: &str) -> Box<Fault> {
    Box::new(
        Fault::new(id::NO_ANSWER, span, format!("this has no answer: it comes to {why}"))
            .cure("check the values that go into it"),
    )
}

/// The names of one expression with their values.
struct Page {
    scope: Scope,
    values: [f64; PLACES],
    bounds: Vec<Interval>,
    names: Vec<String>,
    exact: bool,
}

impl Page {
    fn of(tree: &Expression, names: &Names) -> std::result::Result<Self, Failure> {
        let mut page =
            Self { scope: Scope::default(), values: [0.0; PLACES], bounds: Vec::new(), names: Vec::new(), exact: true };
        for name in tree.names() {
            if page.names.iter().any(|known| known == name.value) {
                continue;
            }
            let Some(named) = names.get(name.value) else {
                return Err(names.unknown(name.value, name.span).map(Box::new));
            };
            page.exact &= named.bounds.is_point();
            page.values[page.names.len()] = named.value;
            page.bounds.push(named.bounds);
            page.scope.add(name.value, named.style.kind.dimension);
            page.names.push(name.value.to_owned());
            if page.names.len() == crate::mechanics::term::BALANCE_PLACES {
                break;
            }
        }
        Ok(page)
    }

    /// What is stated as `at most` or `at least` is a limit itself: something is held to the end that is given.
    fn take_ends(&mut self) {
        for (bounds, value) in self.bounds.iter_mut().zip(self.values) {
            if bounds.lo.is_infinite() != bounds.hi.is_infinite() {
                *bounds = Interval::point(value);
            }
        }
        self.exact = self.bounds.iter().all(|bounds| bounds.is_point());
    }

    fn walk(&self) -> Walk<Interval> {
        Walk::over(self.bounds.iter().copied())
    }
}
