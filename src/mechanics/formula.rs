//! A formula as a datasheet: what goes in, what comes out, the steps between, limits, cautions, source, examples.
//!
//! ```yaml
//! id: kebab-case              # the word after `locknut reckon`
//! title, topic, question, valid, source: sentences
//! inputs:   [{name, symbol, kind, unit, range: [low, high], default, about}]    default: may be left out
//! outputs:  [{name, symbol, kind, unit, decimals, about}]                       each is the name of a step
//! steps:    [name = expression, or {name, symbol, is: expression}]              worked in order
//! tables:   {name: {by: {kind, unit}, gives: {kind, unit}, rows: [[from, to, value]], source}}
//! limits:   [{name, when, message, stops}]      stops: true means that there is no answer
//! cautions: [sentence]
//! examples: [{given: {input: value}, gives: {output: value}, tolerance, source}]
//! replaces: {formula, why}    # a shop's own formula in place of a bundled one
//! ```
//! Everything is checked when it is loaded (`load`): names, kinds, dimensions, tables. A loaded formula can only
//! fail on its numbers. Working it is `working`; this file holds the types.

use super::expression::Expression;
use super::figure::Style;
use super::program::Program;
use super::table::Table;
use super::term::{Condition, Scope};
use super::units::{Kind, Unit};
use crate::text::{Mapped, Span};
use std::sync::Arc;

/// One formula, checked.
#[derive(Clone, Debug)]
pub struct Formula {
    /// The word after `locknut reckon`.
    pub id: String,
    /// Its name for people.
    pub title: String,
    /// The topic under which it is listed.
    pub topic: String,
    /// The question that it answers.
    pub question: String,
    /// What goes in.
    pub inputs: Vec<Input>,
    /// What comes out.
    pub outputs: Vec<Output>,
    /// How.
    pub steps: Vec<Step>,
    /// The published tables that it reads.
    pub tables: Vec<Arc<Table>>,
    /// Where it speaks up.
    pub limits: Vec<Limit>,
    /// What goes wherever the formula goes.
    pub cautions: Vec<String>,
    /// Where it holds.
    pub valid: String,
    /// What it rests on.
    pub source: String,
    /// Worked examples, unread until they are run.
    pub examples: Vec<Example>,
    /// The bundled formula that a shop's own one stands in for, and why.
    pub replaces: Option<(String, String)>,
    /// Digits of a hash of the file: another version has others.
    pub version: String,
    /// The steps, ready to be worked.
    pub program: Program,
    /// The names, for conditions that are resolved later.
    pub scope: Scope,
}

/// What goes into a formula.
#[derive(Clone, Debug)]
pub struct Input {
    /// The name, in `snake_case`.
    pub name: String,
    /// The symbol; all after the first `_` is its index.
    pub symbol: String,
    /// What kind of figure it is.
    pub kind: &'static Kind,
    /// The unit of the range and of what is printed.
    pub unit: Unit,
    /// The least that is allowed, in `unit`.
    pub low: f64,
    /// The most that is allowed, in `unit`.
    pub high: f64,
    /// What is taken where nothing is given.
    pub default: Option<Mapped>,
    /// What to measure, and where.
    pub about: String,
}

/// What comes out of a formula.
#[derive(Clone, Debug)]
pub struct Output {
    /// The name of the step.
    pub name: String,
    /// The symbol.
    pub symbol: String,
    /// Kind, unit and decimals.
    pub style: Style,
    /// What it is.
    pub about: String,
    /// Which step gives it.
    pub step: usize,
}

/// One step as written.
#[derive(Clone, Debug)]
pub struct Step {
    /// The name.
    pub name: String,
    /// The symbol, where the step or its output has one.
    pub symbol: Option<String>,
    /// The right side.
    pub expression: Expression,
}

/// Where a formula speaks up.
#[derive(Clone, Debug)]
pub struct Limit {
    /// The name, in `snake_case`.
    pub name: String,
    /// The condition, ready to be worked.
    pub when: Condition,
    /// What it says, in sentences.
    pub message: String,
    /// True where it means that there is no answer.
    pub stops: bool,
    /// How many steps are worked before it can be tried.
    pub after: usize,
}

/// A worked example: values as written, and what should come of them.
#[derive(Clone, Debug)]
pub struct Example {
    /// The inputs.
    pub given: Vec<(String, Mapped)>,
    /// The outputs.
    pub gives: Vec<(String, Mapped)>,
    /// How far each output may be off, in the unit in which `gives` is written.
    pub tolerance: Vec<(String, f64)>,
    /// Who worked it or printed it.
    pub source: String,
    /// Where it stands in the file.
    pub span: Span,
}

impl Formula {
    /// The input with this name.
    #[must_use]
    pub fn input(&self, name: &str) -> Option<&Input> {
        self.inputs.iter().find(|input| input.name == name)
    }

    /// The output with this name.
    #[must_use]
    pub fn output(&self, name: &str) -> Option<&Output> {
        self.outputs.iter().find(|output| output.name == name)
    }

    /// What it rests on: its own source, then those of its tables, each once and none that another names already;
    /// a formula that stands in for another says why.
    #[must_use]
    pub fn sources(&self) -> Vec<String> {
        let mut sources = vec![self.source.clone()];
        for table in &self.tables {
            if !sources.iter().any(|known| known.contains(&table.source)) {
                sources.push(table.source.clone());
            }
        }
        if let Some((replaced, why)) = &self.replaces {
            sources.push(format!("the shop's own formula, in place of {replaced}: {why}"));
        }
        sources
    }

    /// The symbol and the words of a name of this formula: input, step or output.
    #[must_use]
    pub fn symbol(&self, name: &str) -> Option<&str> {
        let input = self.input(name).map(|input| input.symbol.as_str());
        input.or_else(|| self.steps.iter().find(|step| step.name == name)?.symbol.as_deref())
    }

    /// The style in which a step's value is shown: its output's, or the usual unit of its dimension.
    #[must_use]
    pub fn step_style(&self, step: usize) -> Option<&Style> {
        self.outputs.iter().find(|output| output.step == step).map(|output| &output.style)
    }
}

impl Input {
    /// The style in which its value is shown: all the digits that were given.
    #[must_use]
    pub fn style(&self) -> Style {
        Style { kind: self.kind, unit: self.unit.clone(), decimals: None }
    }
}
