//! Every rule of the formula language has a case: files of cases under `tests/language/`, one runner.
//!
//! A case names the rule that it shows and says what is read, resolved or worked and what must come of it, or which
//! fault, at which characters and with which cure. The formulas of some cases stand in the case itself.

use locknut::fault::Fault;
use locknut::mechanics::bundle;
use locknut::mechanics::compute;
use locknut::mechanics::figure::Style;
use locknut::mechanics::formula::Formula;
use locknut::mechanics::load::load;
use locknut::mechanics::parser::{Names, parse_condition, parse_expression};
use locknut::mechanics::print::line_of;
use locknut::mechanics::settle::settling;
use locknut::mechanics::term::{PLACES, Scope, resolve, resolve_condition};
use locknut::mechanics::units::{Kind, Unit};
use locknut::mechanics::working::{Working, read_inputs, work};
use locknut::text::{Mapped, Span, Spanned};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

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

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/language")
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
    let text = case.formula.as_deref().ok_or("the case asks for nothing")?;
    let formula = match load(&Mapped::verbatim(text, 0)) {
        Err(faults) => return check_fault(case, &faults[0], text),
        Ok(formula) => formula,
    };
    if case.fault.is_some() && case.given.is_empty() {
        return Err("a fault was wanted, and it loads".to_owned());
    }
    if case.given.is_empty() { Ok(()) } else { work_formula(case, &formula) }
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
