//! The engine's words: formulas with what they take and give, kinds, units, functions and the words of the language.

use super::{Meaning, Reach, and, once, sentence, some_of};
use crate::mechanics::bundle;
use crate::mechanics::digits::plain;
use crate::mechanics::figure::{NO_BREAK, Style};
use crate::mechanics::formula::{Formula, Input, Output};
use crate::mechanics::functions::{FUNCTIONS, WORDS};
use crate::mechanics::units::{KINDS, Kind, UNITS, Unit};

/// More formulas than this are counted.
const MOST: usize = 8;

pub(super) fn formulas(reach: &Reach) -> Vec<String> {
    let own = reach.formulas().iter().map(|own| own.formula.id.clone());
    once(own.chain(bundle::ids().map(|(id, _)| id.to_owned())))
}

pub(super) fn formula(reach: &Reach, word: &str) -> Vec<Meaning> {
    let own = reach
        .formulas()
        .iter()
        .filter(|own| own.answers_to(word))
        .map(|own| of_formula(&own.formula, "a formula of the shop's own"));
    let mut found: Vec<Meaning> = own.collect();
    if found.is_empty() {
        let bundled = bundle::formula(word).and_then(Result::ok);
        found.extend(bundled.map(|formula| of_formula(&formula, "a formula")));
    }
    found
}

/// The names of what a formula takes.
pub(super) fn inputs_of(reach: &Reach, id: &str) -> Vec<String> {
    let names = |formula: &Formula| formula.inputs.iter().map(|input| input.name.clone()).collect();
    let own = reach.formulas().iter().find(|own| own.answers_to(id)).map(|own| names(&own.formula));
    own.or_else(|| bundle::formula(id)?.ok().as_ref().map(names)).unwrap_or_default()
}

fn of_formula(formula: &Formula, what: &str) -> Meaning {
    let takes = formula.inputs.iter().map(|input| match &input.default {
        Some(text) => format!("{} ({} if left out)", input.name, text.text()),
        None => input.name.clone(),
    });
    let gives: Vec<String> = formula.outputs.iter().map(|output| output.name.clone()).collect();
    let mut says = vec![sentence(&formula.title), formula.question.clone()];
    says.push(format!("It takes {}.", and(&takes.collect::<Vec<_>>())));
    says.push(format!("It gives {}.", and(&gives)));
    says.push(sentence(&format!("it holds for: {}", formula.valid)));
    says.push(sentence(&format!("it rests on: {}", formula.source)));
    let given = formula.examples.first().map(|example| {
        let pair = |(name, text): &(String, crate::text::Mapped)| {
            let pair = format!("{name}={}", text.text());
            if pair.contains(' ') { format!("'{pair}'") } else { pair }
        };
        example.given.iter().map(pair).collect::<Vec<_>>().join(" ")
    });
    Meaning {
        word: formula.id.clone(),
        what: format!("{what}, topic {}", formula.topic),
        says,
        example: given.map(|given| format!("locknut reckon {} {given}", formula.id)).into_iter().collect(),
        used: vec!["working and sweep blocks, rules about parts, reckon".to_owned()],
        helps: vec![
            format!("locknut reckon {} says what each value is, and its range", formula.id),
            format!("locknut begin reply --formula {} starts a reply with it", formula.id),
        ],
    }
}

/// Every formula, those of the shop first.
fn all(reach: &Reach, holding: &str) -> Vec<Formula> {
    let own = reach.formulas().iter().map(|own| own.formula.clone());
    let bundled = bundle::ids().filter(|(id, _)| bundle::text(id).is_some_and(|text| text.contains(holding)));
    own.chain(bundled.filter_map(|(id, _)| bundle::formula(id)?.ok())).collect()
}

/// The names of inputs and results, read off the lines of the formula files: loading them all would take too long.
pub(super) fn values(reach: &Reach) -> Vec<String> {
    let own = reach.formulas().iter().flat_map(|own| names_of(&own.formula));
    let texts = bundle::ids().filter_map(|(id, _)| bundle::text(id));
    once(own.chain(texts.flat_map(written_names).map(str::to_owned)))
}

/// The names below `inputs:` and `outputs:` of a formula's file.
fn written_names(text: &str) -> Vec<&str> {
    let mut is_within = false;
    let mut names = Vec::new();
    for line in text.lines() {
        if !line.starts_with([' ', '#']) {
            is_within = line.starts_with("inputs:") || line.starts_with("outputs:");
        }
        let name = line.trim_start().strip_prefix("- {name: ").and_then(|rest| rest.split([',', '}']).next());
        names.extend(name.filter(|_| is_within));
    }
    names
}

fn names_of(formula: &Formula) -> Vec<String> {
    let inputs = formula.inputs.iter().map(|input| input.name.clone());
    inputs.chain(formula.outputs.iter().map(|output| output.name.clone())).collect()
}

/// What formulas take, or give, under this name; where it is the same in several they are told together.
pub(super) fn value(reach: &Reach, word: &str) -> Vec<Meaning> {
    let mut takes: Vec<(Input, Vec<String>)> = Vec::new();
    let mut gives: Vec<(Output, Vec<String>)> = Vec::new();
    for formula in all(reach, &format!("name: {word},")) {
        if let Some(input) = formula.input(word) {
            match takes.iter_mut().find(|(known, _)| known.about == input.about) {
                Some((_, ids)) => ids.push(formula.id.clone()),
                None => takes.push((input.clone(), vec![formula.id.clone()])),
            }
        }
        if let Some(output) = formula.output(word) {
            match gives.iter_mut().find(|(known, _)| known.about == output.about) {
                Some((_, ids)) => ids.push(formula.id.clone()),
                None => gives.push((output.clone(), vec![formula.id.clone()])),
            }
        }
    }
    let takes = takes.iter().map(|(input, ids)| of_input(input, ids));
    takes.chain(gives.iter().map(|(output, ids)| of_output(output, ids))).collect()
}

fn of_input(input: &Input, ids: &[String]) -> Meaning {
    let left_out = input.default.as_ref().map(|text| format!("Where it is left out, {} is taken.", text.text()));
    let mut says = vec![sentence(&input.about)];
    says.push(format!("It is {}, from {}.", input.kind.phrase, input.allowed()));
    says.extend(left_out);
    Meaning {
        word: input.name.clone(),
        what: format!("what {} {}", some_of(ids, MOST), if ids.len() == 1 { "takes" } else { "take" }),
        says,
        helps: vec![format!("locknut reckon {} says what else it takes", ids[0])],
        ..Meaning::default()
    }
}

fn of_output(output: &Output, ids: &[String]) -> Meaning {
    let sign = output.style.unit.shown(false);
    let unit = if sign.is_empty() { String::new() } else { format!(", in {sign}") };
    Meaning {
        word: output.name.clone(),
        what: format!("what {} {}", some_of(ids, MOST), if ids.len() == 1 { "gives" } else { "give" }),
        says: vec![sentence(&output.about), format!("It is {}{unit}.", output.style.kind.phrase)],
        helps: vec![format!("locknut reckon {} says what it takes", ids[0])],
        ..Meaning::default()
    }
}

pub(super) fn kinds(_: &Reach) -> Vec<String> {
    KINDS.iter().map(|kind| kind.name.to_owned()).collect()
}

pub(super) fn kind(_: &Reach, word: &str) -> Vec<Meaning> {
    Kind::named(word).map(of_kind).into_iter().collect()
}

fn of_kind(kind: &Kind) -> Meaning {
    let units: Vec<String> =
        kind.units.iter().map(|unit| if unit.is_empty() { "none".to_owned() } else { (*unit).to_owned() }).collect();
    let first = kind.units.first().copied().unwrap_or_default();
    let first = if first.is_empty() { "\"\"" } else { first };
    Meaning {
        word: kind.name.to_owned(),
        what: "a kind of figure".to_owned(),
        says: vec![
            format!("Such a figure is {}.", kind.phrase),
            format!("Its units: {}.", units.join(", ")),
            "A value of another kind in its place is a fault, so that no length can stand for a mass.".to_owned(),
        ],
        example: vec![format!("kind: {}", kind.name), format!("unit: {first}")],
        used: vec!["the key kind of inputs, outputs, tables, attributes and drawings".to_owned()],
        helps: vec!["locknut meaning UNIT says what a unit is worth".to_owned()],
    }
}

/// The signs of the table and the units that kinds are given in.
pub(super) fn units(_: &Reach) -> Vec<String> {
    let listed = KINDS.iter().flat_map(|kind| kind.units).filter(|unit| !unit.is_empty());
    let signs = UNITS.iter().map(|row| row.symbol);
    once(listed.copied().chain(signs).map(str::to_owned))
}

pub(super) fn unit(_: &Reach, word: &str) -> Vec<Meaning> {
    let listed = KINDS.iter().any(|kind| kind.units.contains(&word) && !word.is_empty());
    let unit = Unit::symbol(word).or_else(|| Unit::parse(word).ok().filter(|_| listed));
    unit.map(|unit| of_unit(word, &unit)).into_iter().collect()
}

fn of_unit(word: &str, unit: &Unit) -> Meaning {
    let kinds: Vec<&'static Kind> = KINDS.iter().filter(|kind| kind.units.contains(&unit.text.as_str())).collect();
    let row = UNITS.iter().find(|row| row.symbol == unit.text);
    let names: Vec<String> = kinds.iter().map(|kind| kind.name.to_owned()).collect();
    let mut says = Vec::new();
    says.push(match &names[..] {
        [] => {
            let measured = crate::mechanics::units::phrase(unit.dimension);
            format!("It measures {measured}; other units are put together from it.")
        }
        [name] => format!("It stands with figures of kind {name}."),
        names => format!("It stands with figures of the kinds {}.", and(names)),
    });
    let shown = unit.shown(false);
    let also: Vec<String> = row.map(|row| row.also.iter().map(|sign| (*sign).to_owned()).collect()).unwrap_or_default();
    if !also.is_empty() {
        says.push(format!("It may be written {} too.", and(&also)));
    }
    if shown != word {
        says.push(format!("Pages show it as {shown}."));
    }
    says.extend(row.map(|row| sentence(&format!("it is laid down by: {}", row.source))));
    Meaning {
        word: word.to_owned(),
        what: "a unit".to_owned(),
        says,
        example: worth(unit, &kinds).into_iter().collect(),
        used: vec!["values with a unit, wherever one stands".to_owned()],
        helps: kinds
            .iter()
            .map(|kind| format!("locknut meaning {} says which other units the kind has", kind.name))
            .collect(),
    }
}

/// What one of it is worth in another unit of its kind: `1 in = 25.4 mm`.
fn worth(unit: &Unit, kinds: &[&'static Kind]) -> Option<String> {
    let (kind, other) = kinds.iter().find_map(|kind| {
        let others = kind.units.iter().filter(|other| **other != unit.text).filter_map(|other| Unit::parse(other).ok());
        Some((*kind, others.into_iter().find(|other| !other.is_label() && !other.text.is_empty())?))
    })?;
    if unit.is_label() {
        return None;
    }
    // A temperature is no multiple of another: a warm day shows both.
    let number = if unit.has_offset() || other.has_offset() { 20.0 } else { 1.0 };
    let style = |unit: &Unit| Style { kind, unit: unit.clone(), decimals: None };
    let text = |unit: &Unit, number: f64| style(unit).with_unit(&plain(number)).replace(NO_BREAK, " ");
    Some(format!("{} = {}", text(unit, number), text(&other, other.from_base(unit.to_base(number)))))
}

pub(super) fn functions(_: &Reach) -> Vec<String> {
    let words = WORDS.iter().map(|word| word.word);
    FUNCTIONS.iter().map(|row| row.name).chain(words).map(str::to_owned).collect()
}

pub(super) fn function(_: &Reach, word: &str) -> Vec<Meaning> {
    let rows = FUNCTIONS.iter().filter(|row| row.name == word).map(|row| {
        let more = if row.repeats { ", …" } else { "" };
        let mut says =
            vec![row.about.to_owned(), format!("It is written {}({}{more}).", row.name, row.parameters.join(", "))];
        if !row.no_answer.is_empty() {
            says.push(format!("There is no answer for {}.", row.no_answer));
        }
        Meaning {
            word: row.name.to_owned(),
            what: "a function".to_owned(),
            says,
            example: vec![format!("{} = {}", row.example.0, plain(row.example.1))],
            used: vec![SUMS.to_owned()],
            helps: Vec::new(),
        }
    });
    let words = WORDS.iter().filter(|known| known.word == word).map(|known| Meaning {
        word: known.word.to_owned(),
        what: "a word of the formula language".to_owned(),
        says: vec![known.about.to_owned()],
        example: vec![known.example.to_owned()],
        used: vec![SUMS.to_owned()],
        helps: Vec::new(),
    });
    rows.chain(words).collect()
}

const SUMS: &str = "steps of formulas, values under given, equations and limits of pages, rules about parts";
