//! The cases of the trade: whole questions about parts, as riders ask them, with what a good mechanic answers.
//!
//! Each file of `tests/pairings/` is a question: parts with all that the rules ask of them, the verdict, and words that
//! the reasons must hold. The answers are customs of the trade or of the publication that each file names.

use crate::folder::root;
use locknut::mechanics::pairing::ask::{Asked, Asking, Pairing};
use locknut::mechanics::pairing::shelf::Rules;
use locknut::mechanics::pairing::value::{Values, read_all};
use locknut::mechanics::pairing::{Place, Verdict};
use locknut::text::Mapped;
use locknut::yaml::{self, Fields, Node};
use std::path::Path;

const KEYS: &[&str] = &["about", "source", "parts", "gives", "says", "measure"];

struct Case {
    name: String,
    parts: Vec<(String, Option<Place>, Values)>,
    gives: Verdict,
    says: Vec<String>,
    measure: Vec<String>,
}

fn cases(rules: &Rules) -> Vec<Case> {
    let folder = root().join("tests/pairings");
    let mut files: Vec<_> =
        std::fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").path()).collect();
    files.sort();
    files.iter().map(|file| case(rules, file)).collect()
}

fn case(rules: &Rules, file: &Path) -> Case {
    let name = file.file_stem().expect("a name").to_string_lossy().into_owned();
    let text = std::fs::read_to_string(file).expect("a file that can be read");
    let node = yaml::parse(&Mapped::verbatim(text, 0)).unwrap_or_else(|faults| panic!("{name}: {faults:?}"));
    let mut faults = Vec::new();
    let fields = Fields::new(&node, "a case", KEYS, &mut faults).unwrap_or_else(|| panic!("{name}: no keys"));
    for key in ["about", "source", "gives"] {
        fields.need_text(key, &mut faults);
    }
    let texts = |key: &str| -> Vec<String> {
        fields
            .get(key)
            .and_then(Node::as_list)
            .unwrap_or_default()
            .iter()
            .map(|node| text_of(node).to_owned())
            .collect()
    };
    let parts = fields.list("parts", &mut faults);
    let parts: Vec<_> = parts
        .into_iter()
        .map(|node| {
            let family = node.get("family").map(text_of).unwrap_or_default().to_owned();
            let place = node.get("place").map(text_of).map(|word| {
                let place = Place::ALL.into_iter().find(|place| place.word() == word);
                place.unwrap_or_else(|| panic!("{name}: no place is called {word}"))
            });
            let known = rules.family(&family).unwrap_or_else(|| panic!("{name}: no family is called {family}"));
            let has = node.get("has").and_then(Node::as_map).unwrap_or_default();
            let values = read_all(known, has.iter().map(|entry| (&entry.key, &entry.value)), &mut faults);
            (family, place, values)
        })
        .collect();
    assert!(faults.is_empty(), "{name}: {faults:#?}");
    let gives = node.get("gives").map(text_of).unwrap_or_default();
    let gives = Verdict::named(gives).unwrap_or_else(|| panic!("{name}: no verdict is called {gives}"));
    Case { parts, gives, says: texts("says"), measure: texts("measure"), name }
}

fn text_of(node: &Node) -> &str {
    node.text().map(Mapped::text).unwrap_or_default()
}

fn ask<'r>(rules: &'r Rules, parts: &[(String, Option<Place>, Values)]) -> Pairing<'r> {
    let asked: Vec<Asked<'_>> =
        parts.iter().map(|(family, place, values)| Asked { family, place: *place, values }).collect();
    Asking::of(rules, asked.iter().map(|one| one.family)).ask(&asked)
}

/// What the reasons say, in one text; what is not known is named by its attributes.
fn said(pairing: &Pairing<'_>) -> String {
    let lines: Vec<String> = pairing
        .findings
        .iter()
        .map(|finding| {
            let missing: Vec<&str> = finding.spoken.missing.iter().map(|(_, name)| name.as_str()).collect();
            let notice = if finding.spoken.notice { " (notice)" } else { "" };
            let verdict = finding.spoken.verdict.words();
            format!("  {}: {verdict}{notice}. {} {}", finding.rule.id, finding.spoken.message, missing.join(", "))
        })
        .collect();
    lines.join("\n").replace('\u{A0}', " ")
}

#[test]
fn every_case_of_the_trade() {
    let rules = Rules::bundled();
    let cases = cases(rules);
    let mut wrong = Vec::new();
    for case in &cases {
        let pairing = ask(rules, &case.parts);
        let said = said(&pairing);
        if pairing.verdict != case.gives {
            let unjoined = pairing.unjoined.iter().filter(|pair| pair.apart.is_none());
            let unjoined: Vec<String> = unjoined
                .map(|pair| format!("{} and {}", case.parts[pair.parts[0]].0, case.parts[pair.parts[1]].0))
                .collect();
            wrong.push(format!(
                "{}: {}, not {}; unjoined: {}\n{said}",
                case.name,
                pairing.verdict.words(),
                case.gives.words(),
                unjoined.join(", ")
            ));
            continue;
        }
        for words in case.says.iter().filter(|words| !said.contains(words.as_str())) {
            wrong.push(format!("{}: nothing says {words:?}\n{said}", case.name));
        }
        let asks =
            |name: &String| pairing.findings.iter().any(|one| one.spoken.missing.iter().any(|(_, own)| own == name));
        for name in case.measure.iter().filter(|name| !asks(name)) {
            wrong.push(format!("{}: nobody is asked to measure {name}\n{said}", case.name));
        }
    }
    println!("{} cases of the trade", cases.len());
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(cases.len() >= 10, "the cases were found");
}

/// Whatever is taken away from a case, it never comes to fit better than it did.
#[test]
fn less_knowledge_never_fits_better() {
    let rules = Rules::bundled();
    let mut count = 0;
    for case in cases(rules) {
        let before = ask(rules, &case.parts).verdict;
        for place in 0..case.parts.len() {
            for name in case.parts[place].2.clone().keys() {
                let mut parts = case.parts.clone();
                parts[place].2.remove(name);
                let after = ask(rules, &parts).verdict;
                count += 1;
                assert!(
                    after <= before.max(Verdict::NotKnown),
                    "{}: without {name} it is {}",
                    case.name,
                    after.words()
                );
            }
        }
    }
    println!("{count} attributes were taken away");
}

/// Parts of families with nothing known of them.
fn bare(families: &[&str]) -> Vec<(String, Option<Place>, Values)> {
    families.iter().map(|family| ((*family).to_owned(), None, Values::new())).collect()
}

/// A rule that needs a third part and keeps quiet joins nothing of the two that are there: alone they are not known.
#[test]
fn a_rule_that_keeps_quiet_joins_nothing() {
    let rules = Rules::bundled();
    let pairing = ask(rules, &bare(&["cassette", "crank", "pedal"]));
    assert!(pairing.unjoined.iter().any(|pair| pair.parts == [0, 1]), "{:?}", pairing.unjoined);
    assert_eq!(ask(rules, &bare(&["cassette", "crank"])).verdict, Verdict::NotKnown);
    // With the derailleur there, the rule of capacity speaks up.
    let pairing = ask(rules, &bare(&["rear_derailleur", "crank"]));
    assert!(said(&pairing).contains("total-capacity: not known"), "{}", said(&pairing));
}

/// Two families that nothing joins are not known, and so is a part beside itself.
#[test]
fn without_a_rule_nothing_is_known() {
    let rules = Rules::bundled();
    for families in [["tyre", "pedal"], ["stem", "valve"], ["tyre", "tyre"]] {
        assert_eq!(ask(rules, &bare(&families)).verdict, Verdict::NotKnown, "{families:?}");
    }
}
