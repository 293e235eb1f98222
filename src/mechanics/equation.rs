//! An equation of somebody's own as a formula: named values and lines in, a `Formula` without a datasheet out.
//!
//! It has no ranges, limits or examples; names, units and dimensions are held to the same rules as those of a
//! formula file. What it is called and what it rests on is said by whoever asks.

use super::figure::Style;
use super::formula::{Formula, Input, Output, Step};
use super::parser::{Names, parse_expression, unknown_unit};
use super::program::Program;
use super::term::{BALANCE_PLACES, Scope, resolve};
use super::units::{KINDS, Kind, Unit, phrase};
use crate::fault::{Fault, id};
use crate::text::{Mapped, Spanned};

/// One line of an equation.
#[derive(Clone, Copy, Debug)]
pub struct Line<'a> {
    /// What it gives.
    pub name: &'a Spanned<String>,
    /// The right side, over the inputs and the lines before it.
    pub is: &'a Mapped,
    /// The unit of the result; of a plain number none.
    pub unit: Option<&'a Mapped>,
    /// Decimals of the result.
    pub decimals: i32,
}

/// The kind that a unit measures: the first that takes it, a ratio for plain numbers.
#[must_use]
pub fn kind_of(unit: &Unit) -> &'static Kind {
    let plain = unit.text.is_empty();
    KINDS.iter().find(|kind| kind.takes(unit) && !(plain && kind.name == "count")).unwrap_or(&KINDS[1])
}

/// Makes a formula of inputs and lines.
///
/// # Errors
/// Every name, unit or dimension that doesn't fit, at its place.
pub fn build(inputs: Vec<(Spanned<String>, Style)>, lines: &[Line<'_>], source: &str) -> Result<Formula, Vec<Fault>> {
    let mut faults = Vec::new();
    let mut scope = Scope::default();
    let mut taken: Vec<String> = Vec::new();
    let mut hash = blake3::Hasher::new();
    let inputs: Vec<Input> = inputs
        .into_iter()
        .map(|(name, style)| {
            claim(&name, &mut taken, &mut faults);
            scope.add(name.value.clone(), style.kind.dimension);
            Input {
                symbol: name.value.clone(),
                name: name.value,
                kind: style.kind,
                unit: style.unit,
                low: f64::NEG_INFINITY,
                high: f64::INFINITY,
                default: None,
                about: String::new(),
            }
        })
        .collect();
    let (mut terms, mut steps, mut outputs) = (Vec::new(), Vec::new(), Vec::new());
    for line in lines {
        if inputs.len() + terms.len() >= BALANCE_PLACES {
            faults.push(
                Fault::new(id::TOO_MANY_STEPS, line.name.span, "an equation has too many values and lines")
                    .allowed(format!("{BALANCE_PLACES} in all"))
                    .cure("split it into two workings"),
            );
            break;
        }
        hash.update(line.name.value.as_bytes()).update(b"=").update(line.is.text().as_bytes()).update(b"\n");
        claim(line.name, &mut taken, &mut faults);
        let parsed = parse_expression(line.is, Names::OfSteps).and_then(|tree| Ok((resolve(&tree, &mut scope)?, tree)));
        let ((term, dimension), expression) = match parsed {
            Ok(parsed) => parsed,
            Err(fault) => {
                faults.push(fault);
                // What the later lines make of this name can't be told.
                break;
            }
        };
        let unit = match line.unit.map(|text| Unit::parse(text.text().trim())) {
            None => Unit::none(),
            Some(Ok(unit)) => unit,
            Some(Err(word)) => {
                faults.push(unknown_unit(&word, line.unit.map_or(line.name.span, Mapped::whole)));
                break;
            }
        };
        if unit.dimension != dimension {
            let span = line.unit.map_or(line.name.span, Mapped::whole);
            let shown = if unit.text.is_empty() { "no unit".to_owned() } else { unit.shown(false) };
            faults.push(
                Fault::new(
                    id::UNIT_OF_ANOTHER_KIND,
                    span,
                    format!("wrong unit: {} is {}", line.name.value, phrase(dimension)),
                )
                .found(shown)
                .cure("give the unit of what the equation comes to"),
            );
            break;
        }
        scope.add(line.name.value.clone(), dimension);
        let symbol = line.name.value.clone();
        let style = Style { kind: kind_of(&unit), unit, decimals: Some(line.decimals) };
        let (name, about, step) = (line.name.value.clone(), String::new(), terms.len());
        outputs.push(Output { name: name.clone(), symbol: symbol.clone(), style, about, step });
        steps.push(Step { name, symbol: Some(symbol), expression });
        terms.push(term);
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    Ok(Formula {
        id: "the equation".to_owned(),
        title: "An equation of this sheet".to_owned(),
        topic: String::new(),
        question: String::new(),
        program: Program::new(inputs.len(), terms),
        inputs,
        outputs,
        steps,
        tables: Vec::new(),
        limits: Vec::new(),
        cautions: Vec::new(),
        valid: String::new(),
        source: source.to_owned(),
        examples: Vec::new(),
        replaces: None,
        version: hash.finalize().to_hex()[..12].to_owned(),
        scope,
    })
}

/// Notes a name that the language can't read, that has a meaning already, or that stands twice.
fn claim(name: &Spanned<String>, taken: &mut Vec<String>, faults: &mut Vec<Fault>) {
    faults.extend(super::load::check_name(name, taken));
    taken.push(name.value.clone());
}
