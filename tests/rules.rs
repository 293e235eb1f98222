//! Every rule about parts is held to its own examples, and to what a rule must never do.
//!
//! The families and rules are read from their files, and an example's verdict comes from the trade or a publication,
//! named beside it. Besides: each outcome has an example; each attribute of an example decides, so that without it the
//! verdict is not known; and every pair of families is joined by a rule or listed as apart, with a reason.

use crate::folder::root;
use locknut::mechanics::pairing::rule::{Rule, RuleExample};
use locknut::mechanics::pairing::shelf::Rules;
use locknut::mechanics::pairing::value::Values;
use locknut::mechanics::pairing::{Verdict, ask::Asked, ask::Asking};

/// Files below a folder, by path from there.
fn files(folder: &str) -> Vec<(String, Vec<u8>)> {
    let root = root().join("src/mechanics").join(folder);
    let mut all: Vec<(String, Vec<u8>)> = walkdir::WalkDir::new(&root)
        .sort_by_file_name()
        .into_iter()
        .map(|entry| entry.expect("a folder that can be read"))
        .filter(|entry| entry.file_type().is_file())
        .map(|entry| {
            let path = entry.path().strip_prefix(&root).expect("below its root").to_string_lossy().into_owned();
            (path, std::fs::read(entry.path()).expect("a file that can be read"))
        })
        .collect();
    all.sort();
    all
}

fn borrowed(list: &[(String, Vec<u8>)]) -> Vec<(&str, &[u8])> {
    list.iter().map(|(path, bytes)| (path.as_str(), bytes.as_slice())).collect()
}

fn rules() -> Rules {
    let (families, rules) = (files("families"), files("rules"));
    let (read, faulty) = Rules::read(&borrowed(&families), &borrowed(&rules));
    let text = |path: &str| {
        let all = families.iter().chain(&rules);
        all.filter(|(known, _)| known == path).map(|(_, bytes)| String::from_utf8_lossy(bytes).into_owned()).next()
    };
    let told: Vec<String> = faulty
        .iter()
        .flat_map(|(path, faults)| {
            let text = text(path).unwrap_or_default();
            let place = move |at: usize| text[..at.min(text.len())].matches('\n').count() + 1;
            faults.iter().map(move |fault| {
                let found = fault.found.as_deref().unwrap_or("-");
                let cure = fault.cure.as_deref().unwrap_or("-");
                format!("{path}:{}: {} ({}) found {found}; {cure}", place(fault.span.start), fault.message, fault.id)
            })
        })
        .collect();
    assert!(told.is_empty(), "{}", told.join("\n"));
    read
}

/// Families and rules bear the names of their files.
#[test]
fn names_are_those_of_the_files() {
    let all = rules();
    for (path, _) in files("families") {
        let id = path.trim_end_matches(".yaml");
        assert!(all.family(id).is_some(), "families/{path} holds a family called {id}");
    }
    for (path, _) in files("rules") {
        if let Some((topic, file)) = path.split_once('/') {
            let id = file.trim_end_matches(".yaml");
            let rule = all.rules.iter().find(|rule| rule.id == id);
            let rule = rule.unwrap_or_else(|| panic!("rules/{path} holds a rule called {id}"));
            assert_eq!(rule.topic, topic, "rules/{path} has the topic of its folder");
        }
    }
}

/// What the binary carries is what was just read.
#[test]
fn the_program_carries_them_all() {
    let (read, carried) = (rules(), Rules::bundled());
    let versions =
        |all: &Rules| all.rules.iter().map(|rule| (rule.id.clone(), rule.version.clone())).collect::<Vec<_>>();
    assert_eq!(versions(&read), versions(carried));
    assert_eq!(read.families.len(), carried.families.len());
}

#[test]
fn every_example_of_every_rule() {
    let all = rules();
    let mut wrong = Vec::new();
    let mut count = 0;
    for rule in &all.rules {
        let mut seen = vec![false; rule.outcomes.len()];
        for example in &rule.examples {
            count += 1;
            wrong.extend(check(rule, example, &mut seen));
        }
        let unseen = seen.iter().enumerate().filter(|(_, seen)| !**seen);
        wrong.extend(unseen.map(|(place, _)| format!("{}: no example gives outcome {}", rule.id, place + 1)));
    }
    println!("{count} examples of {} rules agree", all.rules.len());
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(count > 0);
}

fn check(rule: &Rule, example: &RuleExample, seen: &mut [bool]) -> Vec<String> {
    let parts: Vec<&Values> = example.parts.iter().collect();
    let name = format!("{}: the example {:?}", rule.id, example.parts);
    let spoken = rule.put(&parts);
    let verdict = spoken.as_ref().map(|spoken| spoken.verdict);
    let mut wrong = Vec::new();
    if verdict != example.gives {
        wrong.push(format!("{name} gives {}, not {}: {spoken:?}", said(verdict), said(example.gives)));
        return wrong;
    }
    if let Some(place) = spoken.as_ref().and_then(|spoken| spoken.outcome) {
        seen[place] = true;
    }
    let message = spoken.map(|spoken| spoken.message.replace('\u{A0}', " ")).unwrap_or_default();
    for words in example.says.iter().filter(|words| !message.contains(words.as_str())) {
        wrong.push(format!("{name} does not say {words:?} but: {message}"));
    }
    if message.contains("(not known)") {
        wrong.push(format!("{name} has a message with a hole: {message}"));
    }
    wrong
}

fn said(verdict: Option<Verdict>) -> &'static str {
    verdict.map_or("silent", Verdict::words)
}

/// A missing attribute never yields *fits*, nor any other settled verdict: what an example gives is what decides.
#[test]
fn without_an_attribute_nothing_is_known() {
    let mut wrong = Vec::new();
    let mut count = 0;
    for rule in &rules().rules {
        for example in rule.examples.iter().filter(|example| example.gives != Some(Verdict::NotKnown)) {
            for (join, values) in example.parts.iter().enumerate() {
                for name in values.keys() {
                    let mut parts = example.parts.clone();
                    parts[join].remove(name);
                    let spoken = rule.put(&parts.iter().collect::<Vec<_>>());
                    count += 1;
                    let known = spoken.as_ref().map(|spoken| spoken.verdict);
                    if known != Some(Verdict::NotKnown) {
                        wrong.push(format!(
                            "{}: without {} of {} it is still {}, in the example {:?}",
                            rule.id,
                            name,
                            rule.joins[join].name,
                            said(known),
                            example.parts
                        ));
                    } else if spoken.is_some_and(|spoken| !spoken.missing.contains(&(join, name.clone()))) {
                        wrong.push(format!("{}: without {name} nobody is told to measure it", rule.id));
                    }
                }
            }
        }
    }
    println!("{count} attributes were taken away");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The same through the whole question: no set of parts fits while something that decides is missing.
#[test]
fn the_whole_question_is_not_known_either() {
    let all = rules();
    for rule in &all.rules {
        for example in rule.examples.iter().filter(|example| example.gives == Some(Verdict::Fits)) {
            let families = || rule.joins.iter().map(|joined| joined.family.as_str());
            let asking = Asking::of(&all, families());
            let empty = Values::new();
            let asked: Vec<Asked<'_>> = rule
                .joins
                .iter()
                .zip(&example.parts)
                .enumerate()
                .map(|(join, (joined, values))| {
                    let values = if join == 0 { &empty } else { values };
                    Asked { family: &joined.family, place: joined.place, values }
                })
                .collect();
            let reads_first = rule.known.reads.iter().any(|read| read.join == 0);
            if reads_first {
                let pairing = asking.ask(&asked);
                assert!(pairing.verdict <= Verdict::NotKnown, "{}: {:?}", rule.id, pairing.verdict);
            }
        }
    }
}

/// Every pair of families has a rule, or a reason why it needs none.
#[test]
fn no_pair_of_families_is_forgotten() {
    let all = rules();
    let mut forgotten = Vec::new();
    let mut both = Vec::new();
    for (place, one) in all.families.iter().enumerate() {
        for other in &all.families[place..] {
            // Two of one family are compared only where a bicycle has one at each end.
            if one.id == other.id && !one.places {
                continue;
            }
            let apart = all.apart(&one.id, &other.id).is_some();
            if !apart && !all.joins(&one.id, &other.id) {
                forgotten.push(format!("{} and {}", one.id, other.id));
            }
            // A rule of three families may join two that have no bearing on each other without the third.
            if apart && all.joins_both(&one.id, &other.id) {
                both.push(format!("{} and {}", one.id, other.id));
            }
        }
    }
    assert!(forgotten.is_empty(), "neither a rule nor a reason: {}", forgotten.join("; "));
    assert!(both.is_empty(), "a rule joins them, and they are listed as apart: {}", both.join("; "));
}
