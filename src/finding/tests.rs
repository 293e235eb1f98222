//! The whole script: its size, its order, and what stands in it.

use super::{Entry, Kind, Synonyms, generated, index, script};
use std::fs;

/// What a script for two thousand sheets may come to, finder and all.
const MOST_INDEX: usize = 1_500_000;
/// What the finder and its rows may come to by themselves.
const MOST_FINDER: usize = 9_000;

fn entry(number: &str, href: &str) -> Entry {
    Entry {
        number: number.to_owned(),
        title: "Size a chain".to_owned(),
        href: href.to_owned(),
        kind: Kind::Guide,
        topic: "drivetrain".to_owned(),
        asks: vec!["do I need a longer chain".to_owned()],
        symptoms: vec!["gears jam".to_owned()],
        operations: vec![("#op-10".to_owned(), "Count `links` and ${teeth}".to_owned())],
        parts: vec!["4 mm hex key".to_owned()],
        summary: "Work out \\ whether the chain reaches.".to_owned(),
        figures: vec![("links to cut".to_owned(), "110\u{a0}links".to_owned())],
        answer: Some("110\u{a0}links".to_owned()),
    }
}

#[test]
fn the_order_of_the_entries_is_of_no_weight() {
    let (one, two) = (entry("A-1", "a.html"), entry("B-1", "b.html"));
    let synonyms = Synonyms::bundled();
    assert_eq!(script(&[one.clone(), two.clone()], &synonyms), script(&[two, one], &synonyms));
}

#[test]
fn texts_stand_in_it_once_and_inert() {
    let text = index(&[entry("A-1", "a.html"), entry("A-2", "b.html")], &Synonyms::bundled());
    assert_eq!(text.matches("110\u{a0}links").count(), 1);
    assert!(text.contains("!\\`links\\`"));
    assert!(text.contains("\\${teeth}"));
    assert!(text.contains("4 mm"));
    assert!(!text.contains("</"), "nothing in it may end a script");
}

#[test]
fn an_empty_library_is_a_script_too() {
    let text = script(&[], &Synonyms::default());
    assert!(text.starts_with("var locknutFinding={"));
}

#[test]
fn two_thousand_sheets_keep_their_limit() {
    let text = script(&generated::library(2000), &Synonyms::bundled());
    println!("{} bytes of index and finder for 2000 sheets", text.len());
    assert!(text.len() <= MOST_INDEX, "{} bytes", text.len());
    // The browser's test opens this one.
    if let Ok(path) = std::env::var("LOCKNUT_FINDING_LARGE") {
        fs::write(path, text).unwrap();
    }
}

#[test]
fn the_finder_keeps_its_limit() {
    let synonyms = Synonyms::default();
    let size = script(&[], &synonyms).len() - index(&[], &synonyms).len();
    println!("{size} bytes of finder and rows");
    assert!(size <= MOST_FINDER, "{size} bytes");
}
