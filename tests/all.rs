//! All tests in one program, so that it is linked once and its tests share the processors to the last one.
//!
//! `cargo test mistakes::` runs those of one file. What stands in no line here would never be run, so a test holds
//! this list to the folder.

mod folder;

// The language and the engine.
mod blind;
mod boxes;
mod digits;
mod formulas;
mod hostile;
mod interval;
mod language;
mod mathml;
mod pairings;
mod published;
mod questions;
mod reads;
mod rules;
mod twin;
mod units;

// Libraries, and what becomes of them.
mod editions;
mod mistakes;
mod press;
mod register;
mod shelf;
mod tolerances;

// The program as people use it.
mod begin;
mod commands;
mod counter;
mod meaning;
mod shell;
mod stand;

#[test]
fn every_file_of_tests_is_listed() {
    let here = include_str!("all.rs");
    for entry in std::fs::read_dir(folder::root().join("tests")).expect("the tests") {
        let name = entry.expect("an entry").file_name().to_string_lossy().into_owned();
        let listed =
            name.strip_suffix(".rs").is_none_or(|name| name == "all" || here.contains(&format!("\nmod {name};\n")));
        assert!(listed, "tests/{name} stands in no line of tests/all.rs");
    }
}
