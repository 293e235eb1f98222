//! Every bundled formula is held to its own examples, each of which names its source.
//!
//! An example's numbers come from a publication or were computed twice by other means before this program existed;
//! the formula files carry them with their tolerances. Nothing here knows what a formula should give.

use locknut::mechanics::bundle;
use locknut::mechanics::formula::{Example, Formula};
use locknut::mechanics::working::{read_inputs, work};
use locknut::mechanics::written::parse_written;
use locknut::text::{Span, Spanned};

fn formulas() -> Vec<Formula> {
    bundle::ids()
        .map(|(id, topic)| {
            let formula =
                bundle::formula(id).expect("a listed formula").unwrap_or_else(|faults| panic!("{id}: {faults:#?}"));
            assert_eq!(
                (formula.id.as_str(), formula.topic.as_str()),
                (id, topic),
                "id and topic are those of the file"
            );
            formula
        })
        .collect()
}

/// A list shows what the formula's file says.
#[test]
fn cards_are_those_of_the_formulas() {
    let cards: Vec<bundle::Card> = bundle::cards().collect();
    let loaded: Vec<bundle::Card> = formulas().iter().map(bundle::Card::of).collect();
    assert_eq!(cards, loaded);
}

/// The formulas that the engine promises, a topic and an id to a line.
const CATALOGUE: &str = include_str!("catalogue.txt");

#[test]
fn no_formula_of_the_catalogue_is_missing() {
    let bundled: Vec<String> = bundle::ids().map(|(id, topic)| format!("{topic} {id}")).collect();
    let missing: Vec<&str> = CATALOGUE.lines().filter(|line| !bundled.iter().any(|known| known == line)).collect();
    assert!(missing.is_empty(), "{missing:?}");
    assert_eq!(CATALOGUE.lines().count(), 96);
}

#[test]
fn every_example_of_every_bundled_formula() {
    let mut count = 0;
    for formula in formulas() {
        assert!(formula.examples.len() >= 3, "{} has few examples", formula.id);
        for example in &formula.examples {
            assert!(!example.source.is_empty(), "{}: an example names its source", formula.id);
            count += check_example(&formula, example);
        }
    }
    println!("{count} figures of examples agree");
    assert!(count >= 20, "examples were run");
}

fn check_example(formula: &Formula, example: &Example) -> usize {
    let given: Vec<_> =
        example.given.iter().map(|(name, text)| (Spanned::new(name.clone(), Span::default()), text.clone())).collect();
    let readings =
        read_inputs(formula, &given, example.span).unwrap_or_else(|faults| panic!("{}: {faults:#?}", formula.id));
    let working = work(formula, readings).unwrap_or_else(|gap| panic!("{}: {gap:?}", formula.id));
    assert!(!working.stopped, "{}: {:?}", formula.id, example.given);
    for (name, text) in &example.gives {
        let output = formula.output(name).unwrap_or_else(|| panic!("{} has no output {name}", formula.id));
        let wanted = parse_written(text).unwrap_or_else(|fault| panic!("{}: {fault:?}", formula.id));
        let value = working.value(output).expect("a value");
        let found = if output.style.kind.name == "temperature_difference" {
            wanted.unit.from_base_difference(value)
        } else {
            wanted.unit.from_base(value)
        };
        let (_, tolerance) = example.tolerance.iter().find(|(of, _)| of == name).expect("a tolerance for each output");
        let allowed = tolerance.max(1e-9 * wanted.number.abs());
        assert!(
            (found - wanted.number).abs() <= allowed,
            "{} {:?}: {name} is {found}, wanted {} within {allowed} ({})",
            formula.id,
            example.given,
            wanted.number,
            example.source
        );
    }
    example.gives.len()
}

/// Tables of one name in several formulas are copies of one published table.
#[test]
fn tables_of_one_name_are_the_same() {
    let formulas = formulas();
    let mut pairs = 0;
    for (place, one) in formulas.iter().enumerate() {
        for other in &formulas[place + 1..] {
            for table in one.tables.iter().filter(|table| other.tables.iter().any(|their| their.name == table.name)) {
                pairs += 1;
                assert!(one.shares_table(other, &table.name), "{} of {} and {}", table.name, one.id, other.id);
            }
        }
    }
    assert!(pairs > 0, "some tables are copies");
}
