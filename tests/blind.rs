//! The engine is blind: nothing under `src/mechanics/` knows a guide, a file, a page or the command line.
//!
//! Every path that begins with `crate::`, every path upward out of the engine, and every outside package, in a `use`
//! line or named in full, is held to a short list; the packages come from `Cargo.toml`. The table of functions is held
//! to its own rows: names unique, every row explained, every example true. Units and kinds are held by `units.rs`, the
//! faults of the engine by `language.rs`.

use crate::folder::root;
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
/// The packages that it may use besides the standard library.
const PACKAGES: [&str; 3] = ["libm", "blake3", "serde_json"];

#[test]
fn the_engine_knows_no_guide_file_or_page() {
    let (mut files, mut paths) = (0, 0);
    let engine = root().join("src/mechanics");
    for entry in WalkDir::new(&engine) {
        let entry = entry.expect("a file of the engine");
        if entry.path().extension().is_some_and(|ending| ending == "rs") {
            files += 1;
            let text = std::fs::read_to_string(entry.path()).expect("a file of the engine");
            let inside = entry.path().strip_prefix(&engine).expect("a path in the engine");
            let reaches = reaches(&text, levels(inside));
            assert!(reaches.is_empty(), "{}: {}", inside.display(), reaches.join("; "));
            paths += text.matches("crate::").count();
        }
    }
    println!("{files} files of the engine, {paths} paths into the rest of the crate, all of the list");
    assert!(files > 15 && paths > 10, "the engine was found");
}

/// How often `super::` may stand in a file before it leaves the engine: once in `bounds.rs`, twice in `mathml/row.rs`.
fn levels(file: &Path) -> usize {
    if file.ends_with("mod.rs") { file.components().count() - 1 } else { file.components().count() }
}

/// The packages of `Cargo.toml` and the crate's own outer name, as they stand in a path.
fn packages() -> Vec<String> {
    let text = std::fs::read_to_string(root().join("Cargo.toml")).expect("the manifest");
    let mut packages = vec!["locknut".to_owned(), "core".to_owned(), "alloc".to_owned()];
    let mut inside = false;
    for line in text.lines() {
        if line.starts_with('[') {
            inside = line.contains("dependencies]");
        } else if let Some((name, _)) = line.split_once('=').filter(|_| inside) {
            packages.push(name.trim().replace('-', "_"));
        }
    }
    packages
}

/// What a file names outside the engine that is on no list.
fn reaches(text: &str, levels: usize) -> Vec<String> {
    let mut reaches = Vec::new();
    let outside: Vec<String> = packages().into_iter().filter(|package| !PACKAGES.contains(&package.as_str())).collect();
    for line in text.lines().map(str::trim).filter(|line| !line.starts_with("//")) {
        for after in line.split("crate::").skip(1) {
            let words = if after.starts_with('{') {
                after.trim_matches(['{', '}', ';']).split(',').collect()
            } else {
                vec![after]
            };
            for word in words.into_iter().map(first_word).filter(|word| !CRATE.contains(word)) {
                reaches.push(format!("reaches for crate::{word}: {line}"));
            }
        }
        if line.contains(&"super::".repeat(levels + 1)) || levels == 1 && line.contains("super::super") {
            reaches.push(format!("goes up out of the engine: {line}"));
        }
        for package in &outside {
            if names_path(line, package) {
                reaches.push(format!("names {package}: {line}"));
            }
        }
        for outward in ["fs", "env", "process", "net", "io", "thread", "path"] {
            let whole = format!("std::{outward}");
            let grouped = line
                .split_once("std::{")
                .is_some_and(|(_, group)| group.split([',', '}', '{', ' ', ':']).any(|word| word == outward));
            if grouped || line.contains(&whole) {
                reaches.push(format!("reaches for {whole}: {line}"));
            }
        }
    }
    reaches
}

/// True where a path of the line begins with this package, or a `use` line takes it whole.
fn names_path(line: &str, package: &str) -> bool {
    let begins = |at: usize| !line[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_' || c == ':');
    let path = line.match_indices(&format!("{package}::")).any(|(at, _)| begins(at));
    let whole = line.strip_prefix("use ").or_else(|| line.strip_prefix("extern crate "));
    path || whole.is_some_and(|rest| first_word(rest) == package && !rest.contains("::"))
}

fn first_word(path: &str) -> &str {
    let path = path.trim_start_matches([':', '{', ' ']);
    path.split(|c: char| !(c.is_alphanumeric() || c == '_')).next().unwrap_or_default()
}

/// The check sees what it is for, and leaves alone what is allowed.
#[test]
fn a_planted_reach_is_seen() {
    for line in [
        "use crate::press::write;",
        "use crate::{fault, press};",
        "let x = crate::library::read(root);",
        "pub(super) use crate::setting::Theme;",
        "use minijinja::Value;",
        "use rayon;",
        "let text = rayon::join(one, other);",
        "use locknut::press;",
        "use super::super::press::write;",
        "let x = super::super::library::read(root);",
        "use std::fs;",
        "use std::{fmt, fs::File};",
        "std::process::exit(1);",
    ] {
        assert!(!reaches(line, 1).is_empty(), "{line} went unseen");
    }
    for line in [
        "use crate::fault::{Fault, id};",
        "use super::bounds::Walk;",
        "use std::collections::BTreeMap;",
        "use std::sync::Arc;",
        "let x = libm::exp(1.0);",
        "//! Like `minijinja::Value`.",
        "let own_serde_json::x;",
    ] {
        assert!(reaches(line, 1).is_empty(), "{line} is allowed: {:?}", reaches(line, 1));
    }
    assert!(reaches("use super::super::units::Unit;", 2).is_empty(), "two levels stay in the engine");
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

/// Nothing pressed depends on the clock: one file asks for the day, four commands pass it on, what is kept knows when a
/// file was written, and `stand` measures how long it is quiet.
#[test]
fn only_a_command_asks_what_day_it_is() {
    let root = root().join("src");
    let mut asked = Vec::new();
    for entry in WalkDir::new(&root).sort_by_file_name() {
        let entry = entry.expect("an entry");
        if entry.file_type().is_file() {
            let text = std::fs::read_to_string(entry.path()).unwrap_or_default();
            let name = entry.path().strip_prefix(&root).expect("below").to_string_lossy().into_owned();
            for word in ["SystemTime", "Instant::now", "Date::today"] {
                if text.contains(word) {
                    asked.push(format!("{name}: {word}"));
                }
            }
        }
    }
    assert_eq!(
        asked,
        [
            "commands/begin.rs: Date::today",
            "commands/press.rs: Date::today",
            "commands/save.rs: Date::today",
            "commands/sign.rs: Date::today",
            "library/date.rs: SystemTime",
            "library/kept.rs: SystemTime",
            "stand/watch.rs: Instant::now"
        ]
    );
}
