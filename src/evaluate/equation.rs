//! A page's own equation: its given values worked, then its lines made into a formula of its own.
//!
//! The values come first, since what a line measures follows from what goes into it.

use super::names::Names;
use super::page_expression;
use super::workings::shown_decimals;
use crate::fault::Fault;
use crate::library::block::WorkingBlock;
use crate::mechanics::equation::{Line, build, kind_of};
use crate::mechanics::figure::Style;
use crate::mechanics::formula::Formula;
use crate::mechanics::reading::Reading;
use crate::mechanics::units::{KINDS, Unit};
use crate::mechanics::written::{begins_written, parse_written};
use crate::text::Mapped;

/// What a sheet says that its own equation rests on.
const SOURCE: &str = "this sheet's own equation";

/// The formula of an equation with its readings; `None` with the faults noted where it has one.
pub(super) fn evaluate(
    block: &WorkingBlock,
    names: &Names,
    read: &mut Vec<String>,
    faults: &mut Vec<Fault>,
) -> Option<(Formula, Vec<Reading>)> {
    let mut inputs = Vec::with_capacity(block.given.len());
    let mut readings = Vec::with_capacity(block.given.len());
    for (name, text) in &block.given {
        match value(text, names, read) {
            Ok((style, reading)) => {
                inputs.push((name.clone(), style));
                readings.push(reading);
            }
            Err(fault) => faults.extend(fault.map(|fault| *fault)),
        }
    }
    if readings.len() < block.given.len() {
        return None;
    }
    let lines: Vec<Line<'_>> = block
        .equation
        .iter()
        .map(|line| Line { name: &line.name, is: &line.is, unit: line.unit.as_ref(), decimals: line.decimals })
        .collect();
    match build(inputs, &lines, SOURCE) {
        Ok(formula) => Some((formula, readings)),
        Err(found) => {
            faults.extend(found);
            None
        }
    }
}

/// A value as written, in the unit in which it was written, or arithmetic over names.
fn value(text: &Mapped, names: &Names, read: &mut Vec<String>) -> Result<(Style, Reading), page_expression::Failure> {
    let whole = text.text().trim();
    if begins_written(whole)
        && let Ok(written) = parse_written(text)
    {
        let reading = Reading::within(written.base(), written.bounds());
        let style = Style { kind: kind_of(&written.unit), unit: written.unit, decimals: None };
        return Ok((style, reading));
    }
    let result = page_expression::work(text, names)?;
    read.extend(result.names);
    // A name alone keeps its own unit; a sum is shown in the usual one.
    let style = names.get(whole).map_or_else(
        || {
            let kind = KINDS.iter().filter(|kind| kind.name != "count").find(|kind| kind.dimension == result.dimension);
            let unit = kind.and_then(|kind| Unit::parse(kind.units[0]).ok());
            let unit = unit.unwrap_or_else(|| Unit::of_base(result.dimension));
            Style { kind: kind_of(&unit), unit, decimals: None }
        },
        |named| Style { decimals: None, ..named.style.clone() },
    );
    let decimals = shown_decimals(&style, result.reading.value, names.get(whole));
    Ok((style, Reading { decimals, ..result.reading }))
}
