//! The starter library's shelf, bikes and tables, held to what a shop is promised on its first day.
//!
//! Counts are those that the project promises; verdicts are what a mechanic wants of bikes that the shop looks after.

use crate::folder::root;
use locknut::drawing::Drawings;
use locknut::evaluate::build::WorkedBuild;
use locknut::evaluate::formulas::Formulas;
use locknut::evaluate::pairing::{Chosen, ask};
use locknut::evaluate::{Drafts, Worked, WorkedPiece, evaluate};
use locknut::library::{self, Library};
use locknut::mechanics::pairing::{Place, Verdict};
use std::collections::BTreeSet;

fn library() -> Library {
    let read = library::read(root()).expect("the starter library");
    read.library.expect("a library without a fault")
}

/// Runs a check on the worked starter library.
fn worked(check: impl FnOnce(&Library, &Worked<'_>)) {
    let library = library();
    let formulas = Formulas::of(&library);
    let (drawings, bad) = Drawings::of(root()).expect("the drawings");
    assert!(bad.is_empty());
    let (worked, _) = evaluate(&library, &formulas, &drawings, Drafts::LeftOut);
    check(&library, &worked);
}

#[test]
fn the_shelf_is_stocked() {
    let library = library();
    let families: BTreeSet<&str> = library.shelf.parts.iter().map(|part| part.family.as_str()).collect();
    println!("{} parts over {} families, {} bikes", library.shelf.parts.len(), families.len(), library.bikes.len());
    assert!(library.shelf.parts.len() >= 60, "{} parts", library.shelf.parts.len());
    assert!(families.len() >= 20, "{} families", families.len());
    assert!(library.bikes.len() >= 3, "{} bikes", library.bikes.len());
}

#[test]
fn the_bikes_fit_and_are_drawn() {
    worked(|_, worked| {
        let find = |name: &str| worked.builds.iter().find(|build| build.bike.name == name).expect("a bike");
        for build in &worked.builds {
            let told: Vec<&str> = build.pairing.unjoined.iter().map(String::as_str).collect();
            assert!(build.pairing.verdict >= Verdict::FitsWithLimits, "{}: {told:?}", build.bike.name);
            assert!(build.view.is_some(), "{} is drawn", build.bike.name);
            assert!(!build.torques.is_empty() && !build.wear.is_empty() && !build.gears.is_empty());
            assert_eq!(build.pressures.len(), build.bike.riders.len(), "{}", build.bike.name);
            assert!(build.workings.iter().any(|page| page.name == "chain"), "{} has a chain", build.bike.name);
            assert!(build.speeds.as_ref().is_some_and(|sweep| sweep.plot.is_some()));
        }
        let rings = |build: &WorkedBuild<'_>| build.development.as_ref().expect("gears").rows.len();
        assert_eq!((rings(find("road")), rings(find("mountain"))), (2, 1), "two chainrings, and one");
        let has =
            |build: &WorkedBuild<'_>, family: &str| build.parts.iter().any(|part| part.family.starts_with(family));
        let roadster = find("roadster");
        assert!(
            has(roadster, "Rack") && has(roadster, "Mudguard") && !has(roadster, "Fluid"),
            "loaded, on cable brakes"
        );
    });
}

/// Pressures rise with the rider, front and rear, and stay within what tyre and rim are marked with.
#[test]
fn pressures_are_those_of_the_riders() {
    worked(|_, worked| {
        for build in &worked.builds {
            let bar =
                |text: &str| text.split('\u{A0}').next().and_then(|number| number.parse::<f64>().ok()).expect("bar");
            for place in 0..2 {
                let all: Vec<f64> = build.pressures.iter().map(|rider| bar(&rider.wheels[place].pressure)).collect();
                assert!(all.windows(2).all(|pair| pair[0] <= pair[1]), "{}: {all:?}", build.bike.name);
            }
        }
    });
}

/// Every development is teeth by teeth by the way round the wheel, worked here by hand: 16 CFR 1512.5 defines it so.
#[test]
fn developments_are_worked_by_hand_too() {
    worked(|_, worked| {
        let mut count = 0;
        for build in &worked.builds {
            let sweep = build.development.as_ref().expect("gears");
            let number = |text: &str| {
                text.split('\u{A0}').next().and_then(|number| number.parse::<f64>().ok()).expect("a number")
            };
            let rollout = number(&sweep.given.iter().find(|(name, _)| name == "rollout").expect("a rollout").1);
            for row in &sweep.rows {
                for (head, cell) in sweep.head.iter().zip(&row.cells) {
                    let by_hand = number(&row.label) / number(head) * rollout / 1000.0;
                    let (shown, text) = (cell.value.expect("a value"), number(cell.text.as_deref().expect("a text")));
                    // The roll-out is printed to whole millimetres, the development to a hundredth of a metre.
                    assert!((shown - by_hand).abs() <= by_hand * 0.5 / rollout + 1e-9, "{shown} and {by_hand}");
                    assert!((shown - text).abs() <= 0.005 + 1e-9, "{shown} and {text}");
                    count += 1;
                }
            }
        }
        println!("{count} developments");
        assert!(count > 30);
    });
}

/// The tables that a shop is promised: derailleur by cassette, lever by caliper, tyre by rim.
#[test]
fn the_fit_tables_are_there() {
    worked(|_, worked| {
        let mut found: Vec<(String, Vec<Verdict>)> = Vec::new();
        for guide in &worked.guides {
            let pieces = guide.lead.iter().chain(guide.operations.iter().flat_map(|operation| &operation.body));
            for piece in pieces {
                if let WorkedPiece::FitTable(table) = piece {
                    let cells = table.cells.iter().flatten().map(|place| table.answers[*place].verdict);
                    found.push((table.down_title.clone(), cells.collect()));
                }
            }
        }
        for title in ["Cassette", "Brake lever", "Tyre"] {
            let (_, cells) =
                found.iter().find(|(down, _)| down == title).unwrap_or_else(|| panic!("a table of {title}"));
            let sorts: BTreeSet<Verdict> = cells.iter().copied().collect();
            println!("{title}: {} cells, {} sorts of verdict", cells.len(), sorts.len());
            assert!(cells.len() >= 20 && sorts.len() >= 3, "{title}: {sorts:?}");
        }
    });
}

/// The cases of the trade once more, on parts of the shelf.
#[test]
fn the_shelf_answers_as_the_trade_does() {
    let library = library();
    let shelf = &library.shelf;
    let verdict = |parts: &[(&str, Option<Place>)]| {
        let chosen: Vec<Chosen<'_>> = parts
            .iter()
            .map(|(name, place)| Chosen {
                part: shelf.part(name).unwrap_or_else(|| panic!("no part {name}")),
                place: *place,
            })
            .collect();
        ask(shelf, &chosen)
    };
    let (front, rear) = (Some(Place::Front), Some(Place::Rear));
    let right = verdict(&[("tyre-25", front), ("tyre-28", rear)]);
    assert!(right.verdict == Verdict::Fits && !right.reasons.iter().any(|reason| reason.notice), "{right:?}");
    let reverse = verdict(&[("tyre-28", front), ("tyre-25", rear)]);
    assert!(reverse.verdict == Verdict::Fits && reverse.reasons.iter().any(|reason| reason.notice), "{reverse:?}");
    let largest = |derailleur: &str| {
        let told = verdict(&[("cassette-11-34", None), (derailleur, None), ("crank-50-34", None)]);
        told.reasons.iter().filter(|reason| reason.rule == "largest-sprocket").map(|reason| reason.verdict).min()
    };
    assert_eq!(largest("derailleur-long"), Some(Verdict::Fits), "the longer one takes it");
    assert_eq!(largest("derailleur-short"), Some(Verdict::DoesNotFit), "the short one does not");
}

/// Every cell of a table says what the question says when it is asked by itself.
#[test]
fn a_table_says_what_the_question_says() {
    worked(|library, worked| {
        let shelf = &library.shelf;
        let by_title = |title: &str| shelf.parts.iter().find(|part| part.title == title).expect("a part");
        let mut count = 0;
        for guide in &worked.guides {
            let pieces = guide.lead.iter().chain(guide.operations.iter().flat_map(|operation| &operation.body));
            for piece in pieces {
                let WorkedPiece::FitTable(table) = piece else { continue };
                for (down, cells) in table.down.iter().zip(&table.cells) {
                    for (across, cell) in table.across.iter().zip(cells) {
                        let mut names = vec![down.as_str(), across];
                        names.extend(table.with.iter().map(String::as_str));
                        let chosen: Vec<Chosen<'_>> =
                            names.iter().map(|title| Chosen { part: by_title(title), place: None }).collect();
                        let told = ask(shelf, &chosen);
                        // What the parts beside say of one another is not what the table asks.
                        let of_two = told.reasons.iter().filter(|reason| reason.places.iter().any(|place| *place < 2));
                        let worst = of_two.map(|reason| reason.verdict).min().unwrap_or(Verdict::NotKnown);
                        let verdict = table.answers[*cell].verdict;
                        assert!(verdict == worst || verdict == Verdict::NotKnown, "{down} with {across}: {verdict:?}");
                        if told.unjoined.is_empty() {
                            assert_eq!(verdict, worst, "{down} with {across}");
                        }
                        count += 1;
                    }
                }
            }
        }
        println!("{count} cells say what the question says");
        assert!(count > 60);
    });
}
