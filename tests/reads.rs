//! Each figure remembers what it read: its own name, the names that its working used, the formula and its version.

use crate::folder::root;
use locknut::drawing::Drawings;
use locknut::evaluate::figure::{Figure, Origin};
use locknut::evaluate::formulas::Formulas;
use locknut::evaluate::{Drafts, WorkedPiece, WorkedText, evaluate};
use locknut::library;

#[test]
fn figures_of_the_bundled_guide_remember_what_they_read() {
    let root = root();
    let read = library::read(root).expect("the library that comes with the program");
    let library = read.library.expect("a shop");
    let (drawings, bad) = Drawings::of(root).expect("drawings");
    assert!(bad.is_empty());
    let formulas = Formulas::of(&library);
    let (guides, faults) = evaluate(&library, &formulas, &drawings, Drafts::LeftOut);
    assert!(faults.is_empty(), "{faults:?}");
    let guide =
        guides.guides.iter().find(|guide| guide.guide.number.value == "DT-014").expect("the guide of the chain");

    let key = guide.key_figure.as_ref().expect("a key figure");
    assert_eq!(key.reads.names, ["chain.links"]);
    let Origin::Worked { formula, version, .. } = &key.reads.origin else { panic!("{key:?} is worked") };
    assert_eq!(formula, "chain-length");
    assert_eq!(*version, guide.workings.iter().find(|one| one.name == "chain").expect("chain").working.formula.version);

    let mut figures: Vec<&Figure> = Vec::new();
    for operation in &guide.operations {
        figures.extend(operation.body.iter().filter_map(|piece| match piece {
            WorkedPiece::Figure(figure) => Some(figure),
            _ => None,
        }));
    }
    let of = |name: &str| {
        figures.iter().find(|figure| figure.reads.names[0] == name).unwrap_or_else(|| panic!("{name} is in the prose"))
    };
    assert_eq!(
        of("change.slack_left").reads.names,
        ["change.slack_left", "chain.chainstay", "chain.chainring", "chain.sprocket"]
    );
    let Origin::Stated { source, checked, .. } = &of("stock.longest_chain").reads.origin else {
        panic!("it is stated")
    };
    assert_eq!((source.as_str(), checked.as_str()), ("marked on the box", "2026-04-02"));

    // The span of a use is that of the mark in the guide's own file.
    for figure in &figures {
        let mark = &guide.guide.source.text[figure.span.start..figure.span.end];
        assert!(mark.starts_with("(=") && mark.contains(&figure.reads.names[0]) && mark.ends_with(')'), "{mark}");
    }
    assert!(guide.title.iter().all(|piece| matches!(piece, WorkedText::Words(_))));
}
