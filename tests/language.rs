//! Every rule of the formula language has a case: files of cases under `tests/language/`, one runner.
//!
//! A case names the rule that it shows and says what is read, resolved or worked and what must come of it, or which
//! fault, at which characters and with which cure. The formulas of some cases stand in the case itself.

use crate::folder::root;
use locknut::fault::{Fault, id};
use locknut::mechanics::bundle;
use locknut::mechanics::compute;
use locknut::mechanics::figure::Style;
use locknut::mechanics::formula::Formula;
use locknut::mechanics::load::load;
use locknut::mechanics::parser::{Names, parse_condition, parse_expression};
use locknut::mechanics::print::line_of;
use locknut::mechanics::settle::{Settling, rounded_down, settling};
use locknut::mechanics::term::{PLACES, Scope, resolve, resolve_condition};
use locknut::mechanics::units::{Kind, Unit};
use locknut::mechanics::working::{Working, read_inputs, work};
use locknut::text::{Mapped, Span, Spanned};
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    /// The rule of the language that the case shows.
    rule: String,
    /// A value for the input `for` of a bundled formula, `formula.input`.
    read: Option<String>,
    #[serde(rename = "for")]
    input: Option<String>,
    /// An expression without names.
    expression: Option<String>,
    /// A condition without names.
    condition: Option<String>,
    /// A bundled formula that is worked.
    work: Option<String>,
    /// The text of a formula file that is loaded, and worked where values are given.
    formula: Option<String>,
    /// The plain formula file with each of these pieces, which stands there once, put in place of another.
    plain: Option<BTreeMap<String, String>>,
    #[serde(default)]
    given: BTreeMap<String, String>,
    /// A figure that is shown.
    show: Option<Show>,
    /// What is read, worked or shown.
    gives: Option<serde_yaml::Value>,
    /// Outputs as text at the stated numbers.
    #[serde(default)]
    text: BTreeMap<String, String>,
    /// What the tolerances do to outputs; empty where they do nothing.
    #[serde(default)]
    spread: BTreeMap<String, String>,
    /// The limits that speak, and those that may.
    limits: Option<Vec<String>>,
    may: Option<Vec<String>>,
    /// The inputs whose tolerance alone decides an output.
    #[serde(default)]
    decides: BTreeMap<String, Vec<String>>,
    /// For an output, the inputs that settle it and the tolerance of each that would.
    #[serde(default)]
    settles: BTreeMap<String, BTreeMap<String, String>>,
    #[serde(default)]
    stopped: bool,
    /// Why there is no answer.
    no_answer: Option<String>,
    fault: Option<Wanted>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Show {
    base: f64,
    kind: String,
    unit: String,
    decimals: Option<i32>,
    #[serde(rename = "in")]
    other: Option<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Wanted {
    id: String,
    /// The characters that are to blame.
    at: String,
    /// Words of the cure.
    cure: Option<String>,
}

/// A formula file without a fault, for cases that change one thing in it.
const PLAIN: &str = "\
id: twice
title: Twice
topic: drivetrain
question: What is twice the stay?
inputs:
  - {name: stay, symbol: C, kind: length, unit: mm, range: [150, 1500], about: a stay}
outputs:
  - {name: twice, symbol: D, kind: length, unit: mm, decimals: 0, about: twice the stay}
steps:
  - twice = 2 * stay
valid: a case
source: made for this case
";

fn folder() -> PathBuf {
    root().join("tests/language")
}

fn cases() -> Vec<(String, Case)> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder())
        .expect("the folder of cases")
        .map(|entry| entry.expect("an entry").path())
        .collect();
    files.sort();
    let mut cases = Vec::new();
    for file in files {
        let text = std::fs::read_to_string(&file).expect("a file of cases");
        let name = file.file_name().expect("a name").to_string_lossy().into_owned();
        let list: Vec<Case> = serde_yaml::from_str(&text).unwrap_or_else(|error| panic!("{name}: {error}"));
        cases.extend(list.into_iter().enumerate().map(|(place, case)| (format!("{name}, case {}", place + 1), case)));
    }
    cases
}

#[test]
fn every_case_of_the_language() {
    let cases = cases();
    let mut wrong = Vec::new();
    for (name, case) in &cases {
        if let Err(problem) = run(case) {
            wrong.push(format!("{name} ({}): {problem}", case.rule));
        }
    }
    println!("{} cases of the language", cases.len());
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

type Outcome = Result<(), String>;

fn run(case: &Case) -> Outcome {
    if let Some(text) = &case.read {
        return read_value(case, text);
    }
    if let Some(text) = &case.expression {
        return work_expression(case, text);
    }
    if let Some(text) = &case.condition {
        return hold_condition(case, text);
    }
    if let Some(show) = &case.show {
        return same("shown", &show_figure(show), case);
    }
    if let Some(id) = &case.work {
        let formula = bundle::formula(id).ok_or("no such formula")?.map_err(|faults| format!("{faults:?}"))?;
        return work_formula(case, &formula);
    }
    let text = match &case.plain {
        Some(changes) => changed(changes)?,
        None => case.formula.clone().ok_or("the case asks for nothing")?,
    };
    let formula = match load(&Mapped::verbatim(text.as_str(), 0)) {
        Err(faults) => return check_faults(case, &faults, &text),
        Ok(formula) => formula,
    };
    if case.fault.is_some() && case.given.is_empty() {
        return Err("a fault was wanted, and it loads".to_owned());
    }
    if case.given.is_empty() { Ok(()) } else { work_formula(case, &formula) }
}

fn changed(changes: &BTreeMap<String, String>) -> Result<String, String> {
    let mut text = PLAIN.to_owned();
    for (from, to) in changes {
        if text.matches(from.as_str()).count() != 1 {
            return Err(format!("{from:?} doesn't stand once in the plain formula"));
        }
        text = text.replace(from.as_str(), to);
    }
    Ok(text)
}

/// One slip may have more than one fault; the wanted one must be among them.
fn check_faults(case: &Case, faults: &[Fault], text: &str) -> Outcome {
    let wanted = case.fault.as_ref().map(|wanted| wanted.id.as_str());
    let found = faults.iter().find(|fault| Some(fault.id) == wanted).unwrap_or(&faults[0]);
    check_fault(case, found, text)
}

fn same(what: &str, found: &str, case: &Case) -> Outcome {
    let wanted = case.gives.as_ref().and_then(serde_yaml::Value::as_str).unwrap_or_default().replace(' ', "\u{A0}");
    let found = found.replace(' ', "\u{A0}");
    if found == wanted { Ok(()) } else { Err(format!("{what} {found:?}, wanted {wanted:?}")) }
}

fn check_fault(case: &Case, fault: &Fault, text: &str) -> Outcome {
    let Some(wanted) = &case.fault else { return Err(format!("an unwanted fault: {fault:?}")) };
    let at = text.get(fault.span.start..fault.span.end).unwrap_or("?");
    if fault.id != wanted.id || at.trim() != wanted.at {
        return Err(format!("fault {} at {at:?}, wanted {} at {:?}", fault.id, wanted.id, wanted.at));
    }
    let cure = fault.cure.as_deref().unwrap_or_default();
    match &wanted.cure {
        Some(words) if !cure.contains(words.as_str()) => Err(format!("the cure is {cure:?}, wanted {words:?} in it")),
        _ => Ok(()),
    }
}

fn read_value(case: &Case, text: &str) -> Outcome {
    let of = case.input.as_deref().unwrap_or("chain-length.chainstay");
    let (id, name) = of.split_once('.').ok_or("for: formula.input")?;
    let formula = bundle::formula(id).ok_or("no such formula")?.map_err(|faults| format!("{faults:?}"))?;
    let input = formula.input(name).ok_or("no such input")?;
    match input.read(&Mapped::verbatim(text, 0)) {
        Ok(_) if case.fault.is_some() => Err("a fault was wanted, and it reads".to_owned()),
        Ok(reading) => same("read", &reading.text(&input.style()), case),
        Err(fault) => check_fault(case, &fault, text),
    }
}

fn work_expression(case: &Case, text: &str) -> Outcome {
    let mapped = Mapped::verbatim(text, 0);
    let tree = match parse_expression(&mapped, Names::OfSteps) {
        Ok(tree) => tree,
        Err(fault) => return check_fault(case, &fault, text),
    };
    let again = line_of(&tree);
    let reread = parse_expression(&Mapped::verbatim(again.as_str(), 0), Names::OfSteps)
        .map_err(|fault| format!("printed as {again:?}: {fault:?}"))?;
    let mut value = Err("nothing worked".to_owned());
    for tree in [&tree, &reread] {
        let (term, _) = match resolve(tree, &mut Scope::default()) {
            Ok(resolved) => resolved,
            Err(fault) => return check_fault(case, &fault, text),
        };
        value = compute::value(&term, &mut [0.0; PLACES]).map_err(|gap| gap.why.to_owned());
        if let (Err(why), Some(wanted)) = (&value, &case.no_answer) {
            return if why == wanted { Ok(()) } else { Err(format!("no answer for {why:?}, wanted {wanted:?}")) };
        }
        let wanted = case.gives.as_ref().and_then(serde_yaml::Value::as_f64).ok_or("a number is wanted under gives")?;
        let found = value.clone()?;
        if (found - wanted).abs() > 1e-12 * wanted.abs() {
            return Err(format!("worked {found}, wanted {wanted} ({})", line_of(tree)));
        }
    }
    value.map(|_| ())
}

fn hold_condition(case: &Case, text: &str) -> Outcome {
    let mapped = Mapped::verbatim(text, 0);
    let resolved =
        parse_condition(&mapped, Names::OfSteps).and_then(|tree| resolve_condition(&tree, &mut Scope::default()));
    match resolved {
        Err(fault) => check_fault(case, &fault, text),
        Ok(condition) => {
            let found = compute::holds(&condition, &mut [0.0; PLACES]).map_err(|gap| gap.why.to_owned())?;
            let wanted = case
                .gives
                .as_ref()
                .and_then(serde_yaml::Value::as_bool)
                .ok_or("true or false is wanted under gives")?;
            if found == wanted { Ok(()) } else { Err(format!("it is {found}")) }
        }
    }
}

fn show_figure(show: &Show) -> String {
    let kind = Kind::named(&show.kind).expect("a kind");
    let style = Style { kind, unit: Unit::parse(&show.unit).expect("a unit"), decimals: show.decimals };
    match &show.other {
        Some(unit) => style.converted(Unit::parse(unit).expect("a unit")).text(show.base),
        None => style.text(show.base),
    }
}

fn work_formula(case: &Case, formula: &Formula) -> Outcome {
    let line: Vec<String> = case.given.iter().map(|(name, value)| format!("{name}={value}")).collect();
    let line = line.join(" ");
    let mut given = Vec::new();
    for (name, value) in &case.given {
        let start = line.find(&format!("{name}={value}")).ok_or("a value of the line")?;
        let place = start + name.len() + 1;
        given.push((
            Spanned::new(name.clone(), Span::new(start, start + name.len())),
            Mapped::verbatim(value.as_str(), place),
        ));
    }
    let readings = match read_inputs(formula, &given, Span::new(0, line.len())) {
        Ok(readings) => readings,
        Err(faults) => return check_fault(case, &faults[0], &line),
    };
    if case.fault.is_some() {
        return Err("a fault was wanted, and it works".to_owned());
    }
    match work(formula, readings) {
        Err(gap) if case.no_answer.as_deref() == Some(gap.why) => Ok(()),
        Err(gap) => Err(format!("no answer: {}", gap.why)),
        Ok(_) if case.no_answer.is_some() => Err("it has an answer".to_owned()),
        Ok(working) => check_working(case, &working),
    }
}

fn check_working(case: &Case, working: &Working<'_>) -> Outcome {
    if working.stopped != case.stopped {
        return Err(format!("stopped is {}", working.stopped));
    }
    for (name, wanted) in &case.text {
        let output = working.formula.output(name).ok_or("no such output")?;
        let found = working.text(output).unwrap_or_default().replace('\u{A0}', " ");
        if found != *wanted {
            return Err(format!("{name} is {found:?}, wanted {wanted:?}"));
        }
    }
    for (name, wanted) in &case.spread {
        let output = working.formula.output(name).ok_or("no such output")?;
        let found = working.spread_text(output).unwrap_or_default().replace('\u{A0}', " ");
        if found != *wanted {
            return Err(format!("{name} is spread {found:?}, wanted {wanted:?}"));
        }
    }
    for (name, wanted) in &case.decides {
        let output = working.formula.output(name).ok_or("no such output")?;
        let found: Vec<&str> =
            settling(working, output).iter().map(|one| working.formula.inputs[one.input].name.as_str()).collect();
        if found != wanted.iter().map(String::as_str).collect::<Vec<_>>() {
            return Err(format!("{name} is decided by {found:?}, wanted {wanted:?}"));
        }
    }
    check_settling(case, working)?;
    if working.stopped {
        let set = working.formula.outputs.iter().find(|output| working.text(output).is_some());
        if let Some(output) = set {
            return Err(format!("a limit stops, and {} is set all the same", output.name));
        }
    }
    let spoken = |stated: bool| -> Vec<&str> {
        working.spoken.iter().filter(|one| one.stated == stated).map(|one| one.limit.name.as_str()).collect()
    };
    for (wanted, found) in [(&case.limits, spoken(true)), (&case.may, spoken(false))] {
        if wanted.as_ref().is_some_and(|wanted| *wanted != found) {
            return Err(format!("the limits that speak are {found:?}, wanted {wanted:?}"));
        }
    }
    Ok(())
}

fn check_settling(case: &Case, working: &Working<'_>) -> Outcome {
    for (name, wanted) in &case.settles {
        let output = working.formula.output(name).ok_or("no such output")?;
        let text = |one: &Settling| {
            let input = &working.formula.inputs[one.input];
            let size = one.tolerance.map(|size| input.style().unit.from_base_difference(size));
            let size = size.map_or_else(|| "none".to_owned(), |size| format!("{:.2}", rounded_down(size)));
            (input.name.clone(), size)
        };
        let found: BTreeMap<String, String> = settling(working, output).iter().map(text).collect();
        if found != *wanted {
            return Err(format!("{name} is settled by {found:?}, wanted {wanted:?}"));
        }
    }
    Ok(())
}

/// Every fault that the engine can raise is shown by a case, so that none is without a rule.
#[test]
fn every_fault_of_the_engine_has_a_case() {
    let shown: BTreeSet<String> = cases().into_iter().filter_map(|(_, case)| Some(case.fault?.id)).collect();
    let mut raised = BTreeSet::new();
    for entry in walkdir::WalkDir::new(root().join("src/mechanics")) {
        let entry = entry.expect("a file of the engine");
        // What examples, rules about parts and marks in text raise is about a file, and is shown in tests/mistakes.
        let is_of_files = entry.path().ends_with("example.rs")
            || entry.path().ends_with("mark.rs")
            || entry.path().parent().is_some_and(|folder| folder.ends_with("pairing"));
        if !is_of_files && entry.path().extension().is_some_and(|ending| ending == "rs") {
            let text = std::fs::read_to_string(entry.path()).expect("a file of the engine");
            raised.extend(constants(&text));
        }
    }
    let known: BTreeSet<&str> = id::ALL.iter().map(|(id, ..)| *id).collect();
    assert!(raised.len() > 30 && raised.iter().all(|id| known.contains(id.as_str())), "{raised:?}");
    let without: Vec<&String> = raised.difference(&shown).collect();
    println!("{} faults of the engine, each with a case", raised.len());
    assert!(without.is_empty(), "no case shows {without:?}");
    let unknown: Vec<&String> = shown.iter().filter(|id| !known.contains(id.as_str())).collect();
    assert!(unknown.is_empty(), "cases want faults that aren't in the table: {unknown:?}");
}

/// The ids behind the constants that a text names, such as `id::BAD_NUMBER`.
fn constants(text: &str) -> impl Iterator<Item = String> {
    let names = text.split("id::").skip(1).map(|after| {
        let end = after.find(|c: char| !(c.is_ascii_uppercase() || c.is_ascii_digit() || c == '_'));
        &after[..end.unwrap_or(after.len())]
    });
    names.filter(|name| name.len() > 2).map(|name| name.to_lowercase().replace('_', "-"))
}
