//! The workings of one page: each formula with its given values, whatever order they stand in.
//!
//! A working may use another's inputs and outputs; those that wait for each other in a circle are a fault that names
//! the circle. A working with a fault gives no names, and what uses it is left alone, so that one slip is one fault.

use super::PageWorking;
use super::equation;
use super::formulas::Formulas;
use super::holding;
use super::names::{Named, Names};
use super::page_expression;
use crate::fault::{Fault, id};
use crate::library::block::WorkingBlock;
use crate::mechanics::compute::NoAnswer;
use crate::mechanics::digits;
use crate::mechanics::figure::Style;
use crate::mechanics::formula::{Formula, Input};
use crate::mechanics::reading::Reading;
use crate::mechanics::working::{self, Working, check_known};
use crate::mechanics::written::{begins_written, parse_written};
use crate::text::Mapped;
use std::collections::{BTreeSet, HashMap, HashSet};

/// Evaluates the blocks of a page; the workings come back in the order of the page.
pub fn evaluate<'a>(
    blocks: &[&'a WorkingBlock],
    file: &str,
    formulas: &'a Formulas,
    names: &mut Names,
    faults: &mut Vec<Fault>,
) -> Vec<PageWorking<'a>> {
    check_twice(blocks, names, faults);
    let mut order = Order::of(blocks);
    let mut done: Vec<Option<PageWorking<'a>>> = blocks.iter().map(|_| None).collect();
    while let Some(place) = order.ready.pop_first() {
        let block = blocks[place];
        done[place] = if block.sound { evaluate_one(block, file, formulas, names, faults) } else { None };
        if done[place].is_none() {
            names.add_failed(&block.name.value);
        }
        order.free(place);
    }
    let waiting: Vec<&WorkingBlock> =
        blocks.iter().zip(&order.awaited).filter(|(_, awaited)| **awaited > 0).map(|(block, _)| *block).collect();
    faults.extend(circles(&waiting));
    for block in waiting {
        names.add_failed(&block.name.value);
    }
    done.into_iter().flatten().collect()
}

/// Which workings can be worked now, and what each still waits for.
struct Order {
    /// By place on the page: how many others come first.
    awaited: Vec<usize>,
    /// By place: who waits for it.
    waiting: Vec<Vec<usize>>,
    /// Those that wait for none, and have not been worked.
    ready: BTreeSet<usize>,
}

impl Order {
    fn of(blocks: &[&WorkingBlock]) -> Self {
        let mut places: HashMap<&str, Vec<usize>> = HashMap::new();
        for (place, block) in blocks.iter().enumerate() {
            places.entry(&block.name.value).or_default().push(place);
        }
        let mut order =
            Self { awaited: vec![0; blocks.len()], waiting: vec![Vec::new(); blocks.len()], ready: BTreeSet::new() };
        for (place, block) in blocks.iter().enumerate() {
            let used: BTreeSet<String> = uses(block).into_iter().collect();
            for first in used.iter().filter_map(|name| places.get(name.as_str())).flatten() {
                order.awaited[place] += 1;
                order.waiting[*first].push(place);
            }
        }
        order.ready = (0..blocks.len()).filter(|place| order.awaited[*place] == 0).collect();
        order
    }

    /// Frees those that waited for a working.
    fn free(&mut self, place: usize) {
        for next in std::mem::take(&mut self.waiting[place]) {
            self.awaited[next] -= 1;
            if self.awaited[next] == 0 {
                self.ready.insert(next);
            }
        }
    }
}

fn check_twice(blocks: &[&WorkingBlock], names: &Names, faults: &mut Vec<Fault>) {
    let of_library: HashSet<&str> =
        names.iter().filter_map(|(known, _)| known.split_once('.')).map(|(first, _)| first).collect();
    let mut own: HashSet<&str> = HashSet::new();
    for block in blocks {
        let name = &block.name;
        let taken = !own.insert(&name.value);
        if taken || of_library.contains(name.value.as_str()) {
            let owner = if taken { "another working" } else { "a bike or a file of stated figures" };
            faults.push(
                Fault::new(id::NAME_TWICE, name.span, format!("{} is the name of {owner} already", name.value))
                    .found(name.value.clone())
                    .cure("choose another name for this working"),
            );
        }
    }
}

/// The workings that a block's given values name.
fn uses(block: &WorkingBlock) -> Vec<String> {
    let mut used = Vec::new();
    for (_, text) in &block.given {
        for word in text.text().split(|c: char| !(c.is_ascii_alphanumeric() || "_-.".contains(c))) {
            if let Some((first, _)) = word.split_once('.')
                && first.starts_with(|c: char| c.is_ascii_alphabetic())
            {
                used.push(first.to_owned());
            }
        }
    }
    used
}

/// A circle with more names than this is told by its first ones.
const MOST_TOLD: usize = 12;

/// One fault for each working that waits in a circle, with the path round it.
fn circles(waiting: &[&WorkingBlock]) -> Vec<Fault> {
    let names: HashSet<&str> = waiting.iter().map(|block| block.name.value.as_str()).collect();
    let next: HashMap<&str, String> = waiting
        .iter()
        .filter_map(|block| {
            let used = uses(block).into_iter().find(|used| names.contains(used.as_str()))?;
            Some((block.name.value.as_str(), used))
        })
        .collect();
    let mut faults = Vec::new();
    for block in waiting {
        let begins = block.name.value.as_str();
        let mut path = vec![begins];
        let mut seen = HashSet::from([begins]);
        let closes = loop {
            match next.get(path[path.len() - 1]).map(String::as_str) {
                Some(used) if used == begins => break true,
                Some(used) if seen.insert(used) => path.push(used),
                _ => break false,
            }
        };
        if closes {
            let more = path.len().saturating_sub(MOST_TOLD);
            path.truncate(MOST_TOLD);
            let more = if more > 0 { format!(" and {more} more") } else { String::new() };
            faults.push(
                Fault::new(id::WORKING_CIRCLE, block.name.span, format!("{begins} needs its own result"))
                    .found(format!("{}{more}, which needs {begins}", path.join(", which needs ")))
                    .cure("break the circle: give one of these values as a figure of its own"),
            );
        }
    }
    faults
}

fn evaluate_one<'a>(
    block: &'a WorkingBlock,
    file: &str,
    formulas: &'a Formulas,
    names: &mut Names,
    faults: &mut Vec<Fault>,
) -> Option<PageWorking<'a>> {
    let before = faults.len();
    let mut read = Vec::new();
    let (formula, readings) = if block.equation.is_empty() {
        let formula = formulas.find(&block.formula).map_err(|fault| faults.push(fault)).ok()?;
        faults.extend(block.given.iter().filter_map(|(name, _)| check_known(formula, name)));
        faults.extend(block.show.iter().filter_map(|name| check_output(formula, name)));
        (formula, read_given(block, formula, names, &mut read, faults))
    } else {
        let (formula, readings) = equation::evaluate(block, names, &mut read, faults)?;
        let formula = formulas.keep(file, block, formula)?;
        faults.extend(block.show.iter().filter_map(|name| check_output(formula, name)));
        (formula, Some(readings))
    };
    if faults.len() > before {
        return None;
    }
    let worked = working::work(formula, readings?).map_err(|gap| faults.push(no_answer(block, formula, &gap))).ok()?;
    if worked.stopped {
        faults.extend(worked.spoken.iter().map(|spoken| {
            Fault::new(id::LIMIT_STOPS, block.formula.span, format!("{} has no answer for these values", formula.id))
                .found(spoken.limit.message.clone())
                .cure("check the values given against each other")
        }));
        return None;
    }
    names.add_working(&block.name.value, &worked, &read);
    holding::check_claims(block, &worked, faults);
    holding::check_musts(block, names, faults);
    Some(PageWorking {
        name: block.name.value.clone(),
        show: block.show.iter().map(|name| name.value.clone()).collect(),
        given: block.given.iter().map(|(name, _)| name.value.clone()).collect(),
        written: block.written.clone(),
        working: worked,
    })
}

/// The readings of all inputs; `None` where one has a fault, or waits on a working that has one.
fn read_given(
    block: &WorkingBlock,
    formula: &Formula,
    names: &Names,
    read: &mut Vec<String>,
    faults: &mut Vec<Fault>,
) -> Option<Vec<Reading>> {
    let meant: Vec<&str> = block.given.iter().filter_map(|(name, _)| working::meant(formula, &name.value)).collect();
    let mut readings = Vec::with_capacity(formula.inputs.len());
    for input in &formula.inputs {
        let given = block.given.iter().find(|(name, _)| name.value == input.name);
        let reading = match given {
            Some((_, text)) => read_one(input, text, names, read),
            // The misspelt name has its fault already.
            None if meant.contains(&input.name.as_str()) => Err(None),
            None => input
                .default_reading()
                .unwrap_or_else(|| Err(working::missing(formula, &input.name, block.formula.span)))
                .map_err(|fault| Some(Box::new(fault))),
        };
        match reading {
            Ok(reading) => readings.push(reading),
            Err(fault) => faults.extend(fault.map(|fault| *fault)),
        }
    }
    (readings.len() == formula.inputs.len()).then_some(readings)
}

/// A value as written, or arithmetic over names.
pub(super) fn read_one(
    input: &Input,
    text: &Mapped,
    names: &Names,
    read: &mut Vec<String>,
) -> Result<Reading, page_expression::Failure> {
    let found = text.text().trim();
    if begins_written(found) {
        match parse_written(text) {
            Ok(written) => return input.take(&written, found).map_err(|fault| Some(Box::new(fault))),
            // `2 * chain.links` begins like a value; what begins so and is no expression either has a value's fault.
            Err(fault)
                if crate::mechanics::parser::parse_expression(text, crate::mechanics::parser::Names::OfPages)
                    .is_err() =>
            {
                return Err(Some(Box::new(fault)));
            }
            Err(_) => {}
        }
    }
    let result = page_expression::work(text, names)?;
    read.extend(result.names);
    let reading = input.accept(result.reading, result.dimension, text.whole(), found);
    let reading = reading.map_err(|fault| Some(Box::new(fault)))?;
    Ok(Reading { decimals: shown_decimals(&input.style(), reading.value, names.get(found)), ..reading })
}

/// A value that was worked elsewhere shows no more digits than anybody could use: those of the name that it is, or so many
/// in all.
pub(super) fn shown_decimals(style: &Style, value: f64, named: Option<&Named>) -> Option<i32> {
    const MOST: i32 = 4;
    if let Some(named) = named
        && named.style.decimals.is_some()
        && named.style.kind.dimension == style.kind.dimension
    {
        return named.style.converted(style.unit.clone()).decimals.map(|decimals| decimals.max(0));
    }
    let number = style.number(value).abs();
    if number == 0.0 || !number.is_finite() {
        return None;
    }
    #[expect(clippy::cast_possible_truncation, reason = "the size of a finite number")]
    let size = number.log10().floor() as i32;
    let most = (MOST - 1 - size).max(0);
    let plain = digits::plain(number);
    (plain.split_once('.').map_or(0, |(_, after)| after.len()) > usize::try_from(most).unwrap_or(0)).then_some(most)
}

pub(super) fn check_output(formula: &Formula, name: &crate::text::Spanned<String>) -> Option<Fault> {
    if formula.output(&name.value).is_some() {
        return None;
    }
    let outputs = || formula.outputs.iter().map(|output| output.name.as_str());
    let fault = Fault::new(id::UNKNOWN_OUTPUT, name.span, format!("{} gives no {}", formula.id, name.value))
        .found(name.value.clone())
        .allowed(outputs().collect::<Vec<_>>().join(", "));
    Some(fault.nearest(&name.value, outputs(), "use one of these names"))
}

pub(super) fn unknown_output(working: &Working<'_>, name: &crate::text::Spanned<String>) -> Option<Fault> {
    check_output(working.formula, name)
}

fn no_answer(block: &WorkingBlock, formula: &Formula, gap: &NoAnswer) -> Fault {
    Fault::new(
        id::NO_ANSWER,
        block.formula.span,
        format!("{} has no answer for these values: it comes to {}", formula.id, gap.why),
    )
    .cure("check the values given against each other")
}
