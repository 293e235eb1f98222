//! The engine is blind: nothing under `src/mechanics/` knows a guide, a file, a page or the command line.
//!
//! Every path that begins with `crate::`, and every outside package in a `use` line, is held to a short list. The
//! table of functions is held to its own rows: names unique, every row explained, every example true.

use locknut::mechanics::compute;
use locknut::mechanics::functions::FUNCTIONS;
use locknut::mechanics::parser::{Names, parse_expression};
use locknut::mechanics::term::{PLACES, Scope, resolve};
use locknut::text::Mapped;
use std::collections::BTreeSet;
use std::path::Path;
use walkdir::WalkDir;

/// What the engine may know of the rest of the crate: places, faults, YAML, and the list of its own files.
const CRATE: [&str; 5] = ["text", "fault", "yaml", "bundled", "mechanics"];
/// The packages that it may use.
const PACKAGES: [&str; 6] = ["std", "super", "crate", "self", "libm", "blake3"];

#[test]
fn the_engine_knows_no_guide_file_or_page() {
    let mut files = 0;
    for entry in WalkDir::new(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/mechanics")) {
        let entry = entry.expect("a file of the engine");
        if entry.path().extension().is_some_and(|ending| ending == "rs") {
            files += 1;
            let text = std::fs::read_to_string(entry.path()).expect("a file of the engine");
            check_file(&entry.path().display().to_string(), &text);
        }
    }
    assert!(files > 15, "the engine was found");
}

fn check_file(name: &str, text: &str) {
    for line in text.lines().map(str::trim).filter(|line| !line.starts_with("//")) {
        for (at, _) in line.match_indices("crate::") {
            let word = first_word(&line[at + "crate::".len()..]);
            assert!(CRATE.contains(&word), "{name} reaches for crate::{word}: {line}");
        }
        let used = line.strip_prefix("pub use ").or_else(|| line.strip_prefix("use "));
        if let Some(path) = used {
            let package = first_word(path);
            let own = package.chars().next().is_some_and(char::is_lowercase) && !PACKAGES.contains(&package);
            assert!(!own || is_own_module(package), "{name} uses {package}: {line}");
        }
        for outward in ["std::fs", "std::env", "std::process", "std::net", "std::io"] {
            assert!(!line.contains(outward), "{name} reaches for {outward}: {line}");
        }
    }
}

fn is_own_module(name: &str) -> bool {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("src/mechanics/mathml").join(format!("{name}.rs")).is_file()
}

fn first_word(path: &str) -> &str {
    let path = path.trim_start_matches([':', '{', ' ']);
    path.split(|c: char| !(c.is_alphanumeric() || c == '_')).next().unwrap_or_default()
}

#[test]
fn a_planted_reach_is_seen() {
    for line in
        ["use crate::press::write;", "let x = crate::library::read(root);", "use minijinja::Value;", "use std::fs;"]
    {
        assert!(std::panic::catch_unwind(|| check_file("planted", line)).is_err(), "{line} went unseen");
    }
}

#[test]
fn every_function_is_explained_and_its_example_true() {
    let mut names = BTreeSet::new();
    for row in FUNCTIONS {
        assert!(names.insert(row.name), "{} twice", row.name);
        assert!(row.about.ends_with('.') && !row.parameters.is_empty(), "{} is explained", row.name);
        let (text, wanted) = row.example;
        let tree = parse_expression(&Mapped::verbatim(text, 0), Names::OfSteps)
            .unwrap_or_else(|fault| panic!("{text}: {fault:?}"));
        let (term, _) = resolve(&tree, &mut Scope::default()).unwrap_or_else(|fault| panic!("{text}: {fault:?}"));
        let found = compute::value(&term, &mut [0.0; PLACES]).unwrap_or_else(|gap| panic!("{text}: {}", gap.why));
        assert!((found - wanted).abs() <= 1e-12 * wanted.abs(), "{text} is {found}, wanted {wanted}");
    }
}
