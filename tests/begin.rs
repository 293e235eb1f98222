//! What `begin` and `fit-out` write proofs clean as it stands: a guide of every topic, a reply of every formula, a reply to
//! a question, a library under another shop's name.
//!
//! Also that numbers are taken once, and that nothing on the disk is written over.

use locknut::library::begun::{Begun, working_name};
use locknut::library::date::Date;
use locknut::library::guide::TOPICS;
use locknut::mechanics::bundle;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::atomic::{AtomicUsize, Ordering};

/// A folder of the test's own, gone when dropped.
struct Folder(PathBuf);

impl Folder {
    fn new() -> Self {
        static NEXT: AtomicUsize = AtomicUsize::new(0);
        let name = format!("locknut-begin-{}-{}", std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed));
        let folder = Self(std::env::temp_dir().join(name));
        fs::create_dir_all(&folder.0).expect("a folder for the test");
        folder
    }

    /// A copy of the starter library.
    fn with_library() -> Self {
        let folder = Self::new();
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        for entry in walkdir::WalkDir::new(root.join("content")) {
            let entry = entry.expect("an entry");
            let to = folder.0.join(entry.path().strip_prefix(root).expect("below"));
            if entry.file_type().is_dir() {
                fs::create_dir_all(to).expect("a folder");
            } else {
                fs::copy(entry.path(), to).expect("a copy");
            }
        }
        folder
    }

    fn run(&self, words: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_locknut")).args(words).current_dir(&self.0).output().expect("it runs")
    }

    /// Runs what must be done, and gives what it says.
    fn done(&self, words: &[&str]) -> String {
        let output = self.run(words);
        let err = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(0), "{words:?}: {err}");
        String::from_utf8_lossy(&output.stdout).into_owned()
    }

    fn text(&self, path: &str) -> String {
        fs::read_to_string(self.0.join(path)).expect("a page")
    }

    /// Holds that the proof finds no fault, and of pages notes nothing but that drafts are drafts.
    fn proofs_clean(&self) {
        let output = self.run(&["proof", "--on", "2026-11-26", "--json"]);
        let said: Value = serde_json::from_slice(&output.stdout).expect("JSON");
        let told = said["faults"].as_array().expect("a list").iter().filter(|fault| {
            let is_page = fault["file"].as_str().is_some_and(|file| file.strip_suffix(".md").is_some());
            fault["severity"] == "fault" || is_page && fault["id"] != "not-approved"
        });
        let told: Vec<String> =
            told.map(|fault| format!("{}: {} {}", fault["file"], fault["message"], fault["found"])).collect();
        assert!(told.is_empty() && output.status.code() == Some(0), "{}", told.join("\n"));
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
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
    numbers(&Path::new(env!("CARGO_MANIFEST_DIR")).join("content"), series).into_iter().max().expect("a sheet")
}

#[test]
fn a_guide_of_every_topic_proofs_clean() {
    let folder = Folder::with_library();
    for (topic, _) in TOPICS {
        let title = "Clean \"it\": a # sign, and (=no.mark)";
        let said =
            folder.done(&["begin", "guide", topic, "begun", "--title", title, "--by", "R. Pell", "--on", "2026-11-26"]);
        assert!(said.contains("a draft until somebody approves it"), "{said}");
        let text = folder.text(&format!("content/guides/{topic}/begun.md"));
        assert!(text.contains("issued: 2026-11-26\n") && text.contains("prepared_by: R. Pell\n"), "{text}");
        assert!(!text.contains("\napproved_by"), "a draft: {text}");
    }
    let drivetrain = folder.text("content/guides/drivetrain/begun.md");
    assert!(
        drivetrain.contains(&format!("number: DT-{:03}\n", highest("DT") + 1)),
        "the next of its series: {drivetrain}"
    );
    folder.proofs_clean();
}

#[test]
fn a_series_begins_where_a_topic_has_no_sheet() {
    let folder = Folder::with_library();
    fs::remove_dir_all(folder.0.join("content/guides/care")).expect("the topic");
    fs::remove_file(folder.0.join("content/register.yaml")).expect("its signed figures");
    folder.done(&["begin", "guide", "care", "begun", "--title", "Begun", "--by", "R. Pell"]);
    assert!(folder.text("content/guides/care/begun.md").contains("number: CA-001\n"));
}

#[test]
fn a_reply_of_every_formula_proofs_clean() {
    let folder = Folder::with_library();
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
        fs::write(folder.0.join(format!("content/replies/of-{id}.md")), begun.text()).expect("a page");
    }
    folder.proofs_clean();
}

#[test]
fn a_question_finds_its_formula_and_numbers_go_on() {
    let folder = Folder::with_library();
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
    let register = folder.text("content/register.yaml");
    let signed = format!("{register}  \"RP-740 chain.links\": {{\"says\": \"110 links\"}}\n");
    fs::write(folder.0.join("content/register.yaml"), signed).expect("a register");
    let fourth = folder.done(&["begin", "reply", "--formula", "gear", "--by", "R. Pell"]);
    assert!(fourth.contains("sheet RP-741"), "{fourth}");
    fs::write(folder.0.join("content/register.yaml"), register).expect("a register");
    folder.proofs_clean();
}

#[test]
fn nothing_is_written_over() {
    let folder = Folder::with_library();
    let words = ["begin", "guide", "drivetrain", "chain-wear", "--title", "Chain wear", "--by", "R. Pell"];
    let before = folder.text("content/guides/drivetrain/chain-wear.md");
    assert_eq!(folder.run(&words).status.code(), Some(2));
    assert_eq!(folder.text("content/guides/drivetrain/chain-wear.md"), before);
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
        let folder = Folder::new();
        let said = folder.done(&[&["fit-out", "."][..], words].concat());
        assert!(said.contains(words[1]), "{said}");
        let shop = folder.text("content/shop.yaml");
        for theirs in ["Tollgate", "Quay Steps", "960 188", "tollgate.example"] {
            assert!(!shop.contains(theirs), "{theirs} is the demo shop's:\n{shop}");
        }
        folder.proofs_clean();
        // Its other editions take time, and are tried elsewhere.
        let alone = shop.replace("editions: [site, book, sheets, zip]", "editions: [site]");
        fs::write(folder.0.join("content/shop.yaml"), alone).expect("the shop");
        folder.done(&["press"]);
        let front = folder.text("pressed/index.html");
        assert!(front.contains(line), "the front page names the shop");
        assert!(words.len() > 2 || !front.contains("repairs, "), "no place stands empty");
    }
}

#[test]
fn without_a_name_the_demo_shop_stays() {
    let folder = Folder::new();
    folder.done(&["fit-out", "."]);
    let demo = include_str!("../content/shop.yaml");
    assert_eq!(folder.text("content/shop.yaml"), demo);
}
