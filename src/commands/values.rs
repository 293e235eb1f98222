//! The values of a formula at the counter: typed, named, lent by a bike, asked for, or the formula's own.
//!
//! Words of the command line in, one value an input out, each with where it came from. What the line gives wins over
//! what the bike lends, and that over what the formula takes where nothing is given. What is wrong is told in one go.

use super::lend::{Lender, Loan};
use crate::evaluate::figure::Origin;
use crate::evaluate::names::Names;
use crate::evaluate::page_expression;
use crate::fault::{Fault, id};
use crate::mechanics::formula::{Formula, Input};
use crate::mechanics::parser::{Names as Spelling, parse_expression};
use crate::mechanics::reading::Reading;
use crate::mechanics::working::{check_known, meant, missing};
use crate::mechanics::written::begins_written;
use crate::text::{Mapped, Span, Spanned};

/// A word of the line, `name=value`, taken apart.
pub(super) type Pair = (Spanned<String>, Mapped);

/// The value of one input.
#[derive(Clone, Debug)]
pub(super) struct Value {
    /// The value.
    pub(super) reading: Reading,
    /// How a page writes it; nothing of what the formula takes by itself.
    pub(super) written: Option<String>,
    /// Where it comes from, of what a library knows: `measured on the town roadster, build sheet BS-001`.
    pub(super) told: Option<String>,
    /// True where the bike lent it, unasked.
    pub(super) lent: bool,
}

/// The values of a formula, in the order of its inputs; those that are still to be asked for are missing.
#[derive(Debug)]
pub(super) struct Values<'a> {
    /// The formula.
    pub(super) formula: &'a Formula,
    /// One for each input.
    pub(super) given: Vec<Option<Value>>,
    /// What the library knows, where it was read.
    pub(super) names: Option<&'a Names>,
    /// The bike that lends.
    pub(super) lender: Option<&'a Lender<'a>>,
}

/// What values are read from.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sources<'a> {
    /// What was typed.
    pub(super) pairs: &'a [Pair],
    /// What the library knows, where it was read.
    pub(super) names: Option<&'a Names>,
    /// The bike that lends, and where the line names it.
    pub(super) lender: Option<(&'a Lender<'a>, Span)>,
    /// The formula's name on the line, at which a missing value is told.
    pub(super) whole: Span,
    /// True where somebody can be asked for what is missing.
    pub(super) asks: bool,
}

impl<'a> Values<'a> {
    /// Reads what the line gives and the bike lends.
    ///
    /// # Errors
    /// Everything that is wrong with it, what is missing included where nobody can be asked.
    pub(super) fn read(formula: &'a Formula, from: Sources<'a>) -> Result<Self, Vec<Fault>> {
        let mut faults: Vec<Fault> = from.pairs.iter().filter_map(|(name, _)| check_known(formula, name)).collect();
        let slips: Vec<&str> = from.pairs.iter().filter_map(|(name, _)| meant(formula, &name.value)).collect();
        let lender = from.lender.map(|(lender, _)| lender);
        let mut values = Self { formula, given: Vec::new(), names: from.names, lender };
        for input in &formula.inputs {
            let typed = from.pairs.iter().find(|(name, _)| name.value == input.name);
            let value = match typed {
                Some((_, text)) => read_value(input, text, from.names).map(Some),
                None => values.lend(input, from.lender.map_or(from.whole, |(_, span)| span)),
            };
            match value {
                // A misspelt name is one slip, not an unknown name and a missing one.
                Ok(None) if input.default.is_none() && !from.asks && !slips.contains(&input.name.as_str()) => {
                    faults.push(values.missing(input, from.whole));
                }
                Ok(_) => {}
                Err(ref fault) => faults.push(fault.clone()),
            }
            values.given.push(value.ok().flatten());
        }
        faults.sort_by_key(|fault| fault.span);
        if faults.is_empty() { Ok(values) } else { Err(faults) }
    }

    /// What the bike lends an input.
    fn lend(&self, input: &Input, span: Span) -> Result<Option<Value>, Fault> {
        let (Some(lender), Some(names)) = (self.lender, self.names) else { return Ok(None) };
        let Loan::One(name) = lender.loan(input, names) else { return Ok(None) };
        let text = names.get(&name).map_or(String::new(), |named| format!("{name}, {}", named.text));
        let value = named_value(input, &Mapped::verbatim(name.as_str(), 0), names);
        value.map(|value| Some(Value { lent: true, ..value })).map_err(|fault| {
            let cure = format!("give {} yourself, or mend {}", input.name, lender.bike.source.name);
            Fault { span, ..fault }.found(text).cure(cure)
        })
    }

    /// The fault of a value that was not given; where the bike has some that could be meant, it says which.
    fn missing(&self, input: &Input, whole: Span) -> Fault {
        let fault = missing(self.formula, &input.name, whole);
        match self.perhaps(input) {
            Some(perhaps) => fault.cure(format!("give {}: {}; {perhaps}", input.name, input.about)),
            None => fault,
        }
    }

    /// What is said where a bike has values that could be meant.
    pub(super) fn perhaps(&self, input: &Input) -> Option<String> {
        let (lender, names) = (self.lender?, self.names?);
        let Loan::Perhaps(meant) = lender.loan(input, names) else { return None };
        let told = meant.iter().filter_map(|name| Some(format!("{name} ({})", names.get(name)?.text)));
        let told: Vec<String> = told.collect();
        Some(format!("of the {} it could be {}", in_a_sentence(&lender.bike.title), told.join(" or ")))
    }

    /// The inputs that have neither a value nor one that the formula takes by itself.
    pub(super) fn lacking(&self) -> impl Iterator<Item = usize> {
        let inputs = self.formula.inputs.iter().zip(&self.given).enumerate();
        inputs.filter(|(_, (input, value))| value.is_none() && input.default.is_none()).map(|(place, _)| place)
    }

    /// The readings of all inputs, the formula's own where nothing was given.
    ///
    /// # Errors
    /// What is still missing, and the fault of a formula file that carries a bad value of its own.
    pub(super) fn readings(&self, whole: Span) -> Result<Vec<Reading>, Vec<Fault>> {
        let mut faults = Vec::new();
        let mut readings = Vec::with_capacity(self.given.len());
        for (input, value) in self.formula.inputs.iter().zip(&self.given) {
            let own = || input.default_reading().unwrap_or_else(|| Err(self.missing(input, whole)));
            match value.as_ref().map_or_else(own, |value| Ok(value.reading)) {
                Ok(reading) => readings.push(reading),
                Err(fault) => faults.push(fault),
            }
        }
        if faults.is_empty() { Ok(readings) } else { Err(faults) }
    }
}

/// Reads a value for an input: as written, or arithmetic over what a library knows.
pub(super) fn read_value(input: &Input, text: &Mapped, names: Option<&Names>) -> Result<Value, Fault> {
    let written = Some(text.text().trim().to_owned());
    match (names_something(text), names) {
        (false, _) => Ok(Value { reading: input.read(text)?, written, told: None, lent: false }),
        (true, Some(names)) => named_value(input, text, names),
        (true, None) => {
            let found = text.text().trim();
            Err(Fault::new(id::UNKNOWN_NAME, text.whole(), format!("no library is within reach that knows {found}"))
                .found(found)
                .cure("run this in a library's folder, or name one with --library DIR"))
        }
    }
}

/// A value that a library knows, or arithmetic over such values.
fn named_value(input: &Input, text: &Mapped, names: &Names) -> Result<Value, Fault> {
    let found = text.text().trim();
    let worked = page_expression::work(text, names).map_err(|fault| {
        let plain = || Fault::new(id::UNKNOWN_NAME, text.whole(), format!("nothing is known of {found}")).found(found);
        let fault = fault.map_or_else(plain, |fault| *fault);
        let knows_bike = names.iter().any(|(name, _)| name.starts_with("bike."));
        if found.contains("bike.") && !knows_bike { fault.cure("say which bike: add --bike NAME") } else { fault }
    })?;
    let reading = input.accept(worked.reading, worked.dimension, text.whole(), found)?;
    let told = match names.get(found) {
        Some(named) => origin(&named.reads.origin),
        None => format!("from {found}"),
    };
    Ok(Value { reading, written: Some(found.to_owned()), told: Some(told), lent: false })
}

/// True of a text that is no plain value and names a figure, with a dot in its name.
pub(super) fn names_something(text: &Mapped) -> bool {
    let is_plain = begins_written(text.text()) && crate::mechanics::written::parse_written(text).is_ok();
    let names_one = || {
        let tree = parse_expression(text, Spelling::OfPages);
        tree.is_ok_and(|tree| tree.names().iter().any(|name| name.value.contains('.')))
    };
    !is_plain && names_one()
}

/// Where a value comes from, in a few words.
fn origin(origin: &Origin) -> String {
    match origin {
        Origin::Measured { bike, sheet } => format!("measured on the {}, build sheet {sheet}", in_a_sentence(bike)),
        Origin::Shelf { part, source, checked, about } => {
            format!("{about}, of {}: {source}, checked {checked}", in_a_sentence(part))
        }
        Origin::Stated { source, checked, .. } => format!("stated: {source}, checked {checked}"),
        Origin::Worked { working, .. } => format!("from {working}"),
    }
}

/// A title as it stands within a sentence: `Town roadster` begins small there, `BMX` does not.
pub(super) fn in_a_sentence(title: &str) -> String {
    let mut chars = title.chars();
    match (chars.next(), chars.next()) {
        (Some(first), Some(second)) if second.is_lowercase() || second == ' ' => {
            format!("{}{}", first.to_lowercase(), &title[first.len_utf8()..])
        }
        _ => title.to_owned(),
    }
}
