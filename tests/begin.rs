//! What `begin` and `fit-out` write proofs clean as it stands: a guide of every topic, a reply of every formula, a reply to
//! a question, a library under another shop's name.
//!
//! Also that numbers are taken once, and that nothing on the disk is written over.

use crate::folder::{Folder, root};
use locknut::library::begun::{Begun, working_name};
use locknut::library::date::Date;
use locknut::library::guide::TOPICS;
use locknut::mechanics::bundle;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};

/// Holds that the proof finds no fault, and of pages notes nothing but that drafts are drafts.
fn proofs_clean(folder: &Folder) {
    let output = folder.run(&["proof", "--on", "2026-11-26", "--json"]);
    let said: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let told = said["faults"].as_array().expect("a list").iter().filter(|fault| {
        let is_page = fault["file"].as_str().is_some_and(|file| file.strip_suffix(".md").is_some());
        fault["severity"] == "fault" || is_page && fault["id"] != "not-approved"
    });
    let told: Vec<String> =
        told.map(|fault| format!("{}: {} {}", fault["file"], fault["message"], fault["found"])).collect();
    assert!(told.is_empty() && output.status.code() == Some(0), "{}", told.join("\n"));
}

/// The highest number of a series in the starter library.
fn highest(series: &str) -> u32 {
    fn numbers(folder: &Path, series: &str) -> Vec<u32> {
        let paths = fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").path());
        let of = |path: PathBuf| match fs::read_to_string(&path) {
            Ok(text) => {
                let begins = format!("number: {series}-");
                text.lines().filter_map(|line| line.strip_prefix(begins.as_str())?.parse().ok()).collect()
            }
            Err(_) if path.is_dir() => numbers(&path, series),
            Err(_) => Vec::new(),
        };
        paths.flat_map(of).collect()
    }
    numbers(&root().join("content"), series).into_iter().max().expect("a sheet")
}

#[test]
fn a_guide_of_every_topic_proofs_clean() {
    let folder = Folder::starter("begin");
    for (topic, _) in TOPICS {
        let title = "Clean \"it\": a # sign, and (=no.mark)";
        let said =
            folder.done(&["begin", "guide", topic, "begun", "--title", title, "--by", "R. Pell", "--on", "2026-11-26"]);
        assert!(said.contains("a draft until somebody approves it"), "{said}");
        let text = folder.read(&format!("content/guides/{topic}/begun.md"));
        assert!(text.contains("issued: 2026-11-26\n") && text.contains("prepared_by: R. Pell\n"), "{text}");
        assert!(!text.contains("\napproved_by"), "a draft: {text}");
    }
    let drivetrain = folder.read("content/guides/drivetrain/begun.md");
    assert!(
        drivetrain.contains(&format!("number: DT-{:03}\n", highest("DT") + 1)),
        "the next of its series: {drivetrain}"
    );
    proofs_clean(&folder);
}

#[test]
fn a_series_begins_where_a_topic_has_no_sheet() {
    let folder = Folder::starter("begin");
    fs::remove_dir_all(folder.0.join("content/guides/care")).expect("the topic");
    fs::remove_file(folder.0.join("content/register.yaml")).expect("its signed figures");
    folder.done(&["begin", "guide", "care", "begun", "--title", "Begun", "--by", "R. Pell"]);
    assert!(folder.read("content/guides/care/begun.md").contains("number: CA-001\n"));
}

#[test]
fn a_reply_of_every_formula_proofs_clean() {
    let folder = Folder::starter("begin");
    let on = Date::parse("2026-11-26").expect("a day");
    let stems = |below: &str| {
        let entries = fs::read_dir(folder.0.join("content").join(below)).expect("a folder");
        entries.map(|entry| entry.expect("an entry").path().file_stem().expect("a name").to_string_lossy().into_owned())
    };
    let taken: Vec<String> = stems("stated").chain(stems("bikes")).collect();
    for (place, (id, topic)) in bundle::ids().enumerate() {
        let formula = bundle::formula(id).expect("a formula").expect("sound");
        let number = format!("RP-{}", 500 + place);
        let working = Some((&formula, working_name(&formula, &taken)));
        let begun = Begun { is_reply: true, title: &formula.question, topic, number, by: "R. Pell", on, working };
        folder.write(&format!("content/replies/of-{id}.md"), begun.text());
    }
    proofs_clean(&folder);
}

#[test]
fn a_question_finds_its_formula_and_numbers_go_on() {
    let folder = Folder::starter("begin");
    let first = folder.done(&["begin", "reply", "--formula", "chain-length", "--by", "R. Pell"]);
    let last = highest("RP");
    assert!(first.contains(&format!("content/replies/chain-length.md, sheet RP-{:03}", last + 1)), "{first}");
    let second =
        folder.done(&["begin", "reply", "--question", "How many links does a new chain need?", "--by", "R. Pell"]);
    assert!(
        second.contains(&format!("sheet RP-{:03}", last + 2)) && second.contains("It works chain-length"),
        "{second}"
    );
    let third = folder.done(&["begin", "reply", "odd", "--question", "Zounds?", "--by", "R. Pell"]);
    assert!(third.contains("No formula holds these words"), "{third}");
    // A sheet that was signed and is gone keeps its number.
    let register = folder.read("content/register.yaml");
    let signed = format!("{register}  \"RP-740 chain.links\": {{\"says\": \"110 links\"}}\n");
    folder.write("content/register.yaml", signed);
    let fourth = folder.done(&["begin", "reply", "--formula", "gear", "--by", "R. Pell"]);
    assert!(fourth.contains("sheet RP-741"), "{fourth}");
    folder.write("content/register.yaml", register);
    proofs_clean(&folder);
}

#[test]
fn nothing_is_written_over() {
    let folder = Folder::starter("begin");
    let words = ["begin", "guide", "drivetrain", "chain-wear", "--title", "Chain wear", "--by", "R. Pell"];
    let before = folder.read("content/guides/drivetrain/chain-wear.md");
    assert_eq!(folder.run(&words).status.code(), Some(2));
    assert_eq!(folder.read("content/guides/drivetrain/chain-wear.md"), before);
    let elsewhere =
        folder.run(&["begin", "reply", "--formula", "gear", "--by", "R. Pell", "--library", "content/photos"]);
    assert_eq!(elsewhere.status.code(), Some(3), "there is no library");
    assert!(!folder.0.join("content/photos/content").exists());
}

#[test]
fn a_library_of_another_shop_proofs_clean() {
    for (words, line) in [
        (&["--name", "Cranks & Co: repairs"][..], "Cranks &amp; Co: repairs</"),
        (
            &["--name", "Quay Repairs", "--place", "Ennismouth", "--phone", "01632 960 001"],
            "Quay Repairs, Ennismouth</",
        ),
    ] {
        let folder = Folder::new("begin");
        let said = folder.done(&[&["fit-out", "."][..], words].concat());
        assert!(said.contains(words[1]), "{said}");
        let shop = folder.read("content/shop.yaml");
        for theirs in ["Tollgate", "Quay Steps", "960 188", "tollgate.example"] {
            assert!(!shop.contains(theirs), "{theirs} is the demo shop's:\n{shop}");
        }
        proofs_clean(&folder);
        // Its other editions take time, and are tried elsewhere.
        let alone = shop.replace("editions: [site, book, sheets, zip]", "editions: [site]");
        folder.write("content/shop.yaml", alone);
        folder.done(&["press"]);
        let front = folder.read("pressed/index.html");
        assert!(front.contains(line), "the front page names the shop");
        assert!(words.len() > 2 || !front.contains("repairs, "), "no place stands empty");
    }
}

#[test]
fn without_a_name_the_demo_shop_stays() {
    let folder = Folder::laid_down("begin");
    let demo = include_str!("../content/shop.yaml");
    assert_eq!(folder.read("content/shop.yaml"), demo);
}
