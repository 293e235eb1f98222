//! Holds the markup of expressions and of whole formulas to the cases in `tests/mathml`, and every bundled formula to
//! being well-formed.
//!
//! A case gives an expression (`is`), a condition (`when`) or a formula with the name of a step (`formula`, `step`),
//! perhaps with numbers (`given`), and the markup that should come of it. `LOCKNUT_REWRITE=1` writes the markup that
//! came of it into the cases, for `git diff` to be read by somebody; CI never sets it.

use crate::folder::root;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::PathBuf;

use locknut::mechanics::bundle;
use locknut::mechanics::compute;
use locknut::mechanics::dimension::Dimension;
use locknut::mechanics::formula::Formula;
use locknut::mechanics::load::load;
use locknut::mechanics::mathml::{formula_lines, inline, number_lines, symbol, table_rows};
use locknut::mechanics::parser::{Names, parse_condition, parse_expression};
use locknut::mechanics::term::{PLACES, Scope, resolve};
use locknut::mechanics::working::{read_inputs, work};
use locknut::text::{Mapped, Span, Spanned};
use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    /// What the case shows.
    shows: String,
    is: Option<String>,
    when: Option<String>,
    #[serde(default)]
    symbols: BTreeMap<String, String>,
    symbol: Option<String>,
    formula: Option<String>,
    step: Option<String>,
    given: Option<BTreeMap<String, String>>,
    mathml: String,
}

const EXPECTED: &str = "\nmathml: |-\n";

fn case_files() -> Vec<PathBuf> {
    let folder = root().join("tests/mathml");
    let mut files: Vec<PathBuf> =
        fs::read_dir(folder).expect("the folder of cases").map(|entry| entry.expect("a file").path()).collect();
    files.sort();
    files
}

/// One tag a line, so that a difference can be read; nothing else changes.
fn spread_out(markup: &str) -> String {
    markup.replace("><", ">\n<")
}

fn markup_of(case: &Case) -> String {
    if let Some(letters) = &case.symbol {
        return symbol(letters);
    }
    if let Some(text) = &case.formula {
        return step_of(case, text);
    }
    let tree = match (&case.is, &case.when) {
        (Some(text), None) => parse_expression(&Mapped::verbatim(text.as_str(), 0), Names::OfSteps),
        (None, Some(text)) => parse_condition(&Mapped::verbatim(text.as_str(), 0), Names::OfSteps),
        _ => panic!("a case has one of is, when, symbol, formula: {}", case.shows),
    };
    inline(&tree.unwrap_or_else(|fault| panic!("{}: {fault:?}", case.shows)), &|name| case.symbols.get(name).cloned())
}

/// The line of one step of a formula; with numbers where the case gives any.
fn step_of(case: &Case, text: &str) -> String {
    let formula = match bundle::formula(text) {
        Some(bundled) => bundled,
        None => load(&Mapped::verbatim(text, 0)),
    };
    let formula = formula.unwrap_or_else(|faults| panic!("{}: {faults:#?}", case.shows));
    let name = case.step.as_deref().expect("a step");
    let place = formula.steps.iter().position(|step| step.name == name).expect("a step of the formula");
    match &case.given {
        None => formula_lines(&formula)[place].clone(),
        Some(given) => numbers_of(&formula, given.iter())[place].clone(),
    }
}

fn numbers_of<'a>(formula: &Formula, given: impl Iterator<Item = (&'a String, &'a String)>) -> Vec<String> {
    let given: Vec<_> = given
        .map(|(name, text)| (Spanned::new(name.clone(), Span::default()), Mapped::verbatim(text.as_str(), 0)))
        .collect();
    let readings =
        read_inputs(formula, &given, Span::default()).unwrap_or_else(|faults| panic!("{}: {faults:#?}", formula.id));
    let working = work(formula, readings).unwrap_or_else(|gap| panic!("{}: {gap:?}", formula.id));
    number_lines(&working)
}

fn check_well_formed(markup: &str) {
    let document = roxmltree::Document::parse(markup).unwrap_or_else(|error| panic!("{error} in {markup}"));
    assert_eq!(document.root_element().tag_name().name(), "math", "{markup}");
    for element in document.descendants().filter(roxmltree::Node::is_element) {
        assert!(element.attribute("id").is_none(), "an id in {markup}");
        let children = element.children().filter(roxmltree::Node::is_element).count();
        let wanted = match element.tag_name().name() {
            "mfrac" | "msup" | "msub" => Some(2),
            "msubsup" => Some(3),
            "mn" | "mi" | "mo" | "mtext" => Some(0),
            _ => None,
        };
        assert!(
            wanted.is_none_or(|wanted| wanted == children),
            "<{}> has {children} parts: {markup}",
            element.tag_name().name()
        );
    }
    assert!(!markup.contains("NaN") && !markup.contains('\u{2014}'), "no figure in {markup}");
    assert!(!markup.contains('_'), "a name as the file writes it: {markup}");
}

#[test]
fn every_case_gives_its_markup() {
    let rewrite = std::env::var_os("LOCKNUT_REWRITE").is_some_and(|value| value == "1");
    assert!(!rewrite || std::env::var_os("CI").is_none(), "CI never rewrites");
    let files = case_files();
    assert!(files.len() >= 20, "only {} cases were read", files.len());
    let mut wrong = Vec::new();
    let mut shown = BTreeSet::new();
    for file in files {
        let text = fs::read_to_string(&file).expect("a case");
        let case: Case = serde_yaml::from_str(&text).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
        assert!(shown.insert(case.shows.clone()), "two cases show the same: {}", case.shows);
        let markup = markup_of(&case);
        check_well_formed(&markup);
        let found = spread_out(&markup);
        if found != case.mathml && rewrite {
            let (before, _) = text.split_once(EXPECTED).expect("a case ends with its markup");
            let lines: String = found.lines().map(|line| format!("  {line}\n")).collect();
            fs::write(&file, format!("{before}{EXPECTED}{lines}")).expect("a case can be written");
        } else if found != case.mathml {
            wrong.push(format!("{}: {}\n{found}\nis not\n{}", file.display(), case.shows, case.mathml));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

fn bundled() -> Vec<Formula> {
    let formula =
        |(id, _)| bundle::formula(id).expect("a listed formula").unwrap_or_else(|faults| panic!("{id}: {faults:#?}"));
    bundle::ids().map(formula).collect()
}

#[test]
fn every_bundled_formula_is_well_formed_in_symbols_and_in_numbers() {
    let mut lines = 0;
    for formula in bundled() {
        let symbols = formula_lines(&formula);
        assert_eq!(symbols.len(), formula.steps.len(), "{}: one line a step", formula.id);
        for line in &symbols {
            check_well_formed(line);
        }
        for example in &formula.examples {
            let given: Vec<(String, String)> =
                example.given.iter().map(|(name, text)| (name.clone(), text.text().to_owned())).collect();
            let numbers = numbers_of(&formula, given.iter().map(|(name, text)| (name, text)));
            assert_eq!(numbers.len(), formula.steps.len(), "{}: one line a step", formula.id);
            for line in &numbers {
                check_well_formed(line);
                check_result(&formula, line);
            }
            lines += numbers.len();
        }
    }
    assert!(lines >= 100, "only {lines} lines were checked");
}

/// A line in numbers ends with a figure and names no input.
fn check_result(formula: &Formula, line: &str) {
    let (_, result) = line.rsplit_once("<mo form=\"infix\">=</mo>").expect("a sign before the result");
    assert!(result.contains("<mn>"), "no figure at the end of {line}");
    let (_, right) = line.split_once("<mo form=\"infix\">=</mo>").expect("a sign after the name");
    for input in &formula.inputs {
        let markup = symbol(&input.symbol).replace("<math>", "").replace("</math>", "");
        assert!(!right.contains(&markup), "{} is still a symbol in {line}", input.name);
    }
}

/// Markup read back as the formula language: what a reader would take it for.
fn read_back(node: roxmltree::Node<'_, '_>) -> String {
    let parts: Vec<String> = node.children().filter(roxmltree::Node::is_element).map(read_back).collect();
    let text = node.text().unwrap_or_default();
    match node.tag_name().name() {
        "mfrac" => format!("(({})/({}))", parts[0], parts[1]),
        "msup" if parts[0] == "e" => format!("exp({})", parts[1]),
        "msup" => format!("{}^({})", parts[0], parts[1]),
        "msqrt" => format!("sqrt({})", parts.concat()),
        "mo" => sign_read_back(text, node.attribute("form")),
        "mi" | "mn" => text.replace('π', "pi"),
        _ => parts.concat(),
    }
}

fn sign_read_back(sign: &str, form: Option<&str>) -> String {
    match (sign, form) {
        ("·" | "\u{2062}", _) => "*",
        ("\u{2061}", _) => "",
        (",", _) => ", ",
        ("\u{2212}", _) => "-",
        ("|", Some("prefix")) => "abs(",
        ("⌈", _) => "ceil(",
        ("⌊", _) => "floor(",
        ("|" | "⌉" | "⌋", _) => ")",
        (other, _) => other,
    }
    .to_owned()
}

/// An expression over plain numbers, with brackets wherever two parts meet.
fn random_expression(random: &mut fastrand::Rng, depth: usize) -> String {
    if depth == 0 || random.u8(..6) == 0 {
        return random.choice(["a", "b", "c", "2", "0.5", "pi"]).unwrap_or("a").to_owned();
    }
    let mut part = || format!("({})", random_expression(random, depth - 1));
    let (left, right) = (part(), part());
    match random.u8(..12) {
        0..=1 => format!("{left} + {right}"),
        2..=3 => format!("{left} - {right}"),
        4..=5 => format!("{left} * {right}"),
        6..=7 => format!("{left} / {right}"),
        8 => format!("{left}^{}", random.u8(2..4)),
        9 => format!("-{left}"),
        10 => format!("sqrt(abs({left}))"),
        _ => format!("{}({left}, {right})", random.choice(["min", "max"]).unwrap_or("min")),
    }
}

fn value_of(text: &str) -> Option<f64> {
    let tree = parse_expression(&Mapped::verbatim(text, 0), Names::OfSteps)
        .unwrap_or_else(|fault| panic!("{text}: {fault:?}"));
    let mut scope = Scope::default();
    let mut slots = [0.0; PLACES];
    for (place, (name, number)) in [("a", 1.7), ("b", -0.6), ("c", 3.1)].into_iter().enumerate() {
        scope.add(name, Dimension::NONE);
        slots[place] = number;
    }
    let (term, _) = resolve(&tree, &mut scope).unwrap_or_else(|fault| panic!("{text}: {fault:?}"));
    compute::value(&term, &mut slots).ok()
}

#[test]
fn brackets_keep_the_meaning_of_random_expressions() {
    let mut random = fastrand::Rng::with_seed(17);
    let mut compared = 0;
    for _ in 0..4_000 {
        let text = random_expression(&mut random, 4);
        let tree = parse_expression(&Mapped::verbatim(text.as_str(), 0), Names::OfSteps).expect("a good expression");
        let markup = inline(&tree, &|name| Some(name.to_owned()));
        check_well_formed(&markup);
        let document = roxmltree::Document::parse(&markup).expect("well-formed");
        let back = read_back(document.root_element());
        assert!(!back.contains("--") && !back.contains("*-") && !back.contains("+-"), "two signs meet: {back}");
        let (Some(value), Some(again)) = (value_of(&text), value_of(&back)) else { continue };
        assert!((value - again).abs() <= 1e-6 * value.abs().max(1e-6), "{text} = {value} is read as {back} = {again}");
        compared += 1;
    }
    assert!(compared > 2_000, "only {compared} were compared");
}

#[test]
fn a_table_says_where_each_row_ends() {
    let tables: Vec<_> = bundled().into_iter().flat_map(|formula| formula.tables).collect();
    let table = tables.iter().find(|table| table.name == "hookless_pressure").expect("a table");
    let rows = table_rows(table);
    assert_eq!(rows.len(), table.rows.len());
    assert_eq!(rows[0], ("18 to under 25\u{A0}mm".to_owned(), "550\u{A0}kPa".to_owned()));
    assert_eq!(rows[rows.len() - 1], ("75 to 84\u{A0}mm, included".to_owned(), "150\u{A0}kPa".to_owned()));
}
