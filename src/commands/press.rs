//! `locknut press` and `locknut proof`: the library evaluated and set, and for `press` written as a site.

use super::line::OptionOf;
use super::terminal::{self, write_options, write_wrapped};
use super::{Exit, all_to_json, draw_all, open, outside, print, refuse, sarif};
use crate::editions::{TakeAway, single};
use crate::evaluate::Drafts;
use crate::fault::{Fault, Severity, id};
use crate::library::date::{Date, bad_date};
use crate::library::shop::Edition;
use crate::press::{self, PressProblem, Proof};
use crate::text::count;
use serde_json::json;
use std::io::IsTerminal;
use std::path::{Path, PathBuf};

pub(super) const LIBRARY: OptionOf =
    OptionOf { name: "--library", value: Some("DIR"), about: "the library's folder; this one where it is left out" };
const JSON: OptionOf = OptionOf { name: "--json", value: None, about: "gives what was found as data" };
pub(super) const HELP: OptionOf = OptionOf { name: "--help", value: None, about: "says how the command is used" };

/// What `press` takes.
pub const PRESS: &[OptionOf] = &[
    LIBRARY,
    OptionOf {
        name: "--into",
        value: Some("DIR"),
        about: "where the site goes; pressed/ in the library where it is left out",
    },
    JSON,
    HELP,
];

/// What `proof` takes.
pub const PROOF: &[OptionOf] = &[
    LIBRARY,
    OptionOf {
        name: "--on",
        value: Some("DATE"),
        about: "the day by which sources are stale; today where it is left out",
    },
    OptionOf {
        name: "--outside",
        value: None,
        about: "also asks the web about links that leave the library; needs curl and a network",
    },
    OptionOf { name: "--sarif", value: None, about: "gives what was found as SARIF 2.1.0, for code hosts" },
    JSON,
    HELP,
];

/// Runs `press`.
#[must_use]
pub fn press(arguments: &[String]) -> Exit {
    run("press", PRESS, arguments, true)
}

/// Runs `proof`.
#[must_use]
pub fn proof(arguments: &[String]) -> Exit {
    run("proof", PROOF, arguments, false)
}

fn run(command: &str, options: &[OptionOf], arguments: &[String], writes: bool) -> Exit {
    let line = match open(command, arguments, options, || help(command, options)) {
        Ok(line) => line,
        Err(exit) => return exit,
    };
    let json = line.has("--json");
    if let Some(fault) = line.no_words(command) {
        return refuse(&[fault], &line.source, json);
    }
    let root = line.library();
    let target = line.value("--into").map_or_else(|| root.join("pressed"), |text| PathBuf::from(text.text()));
    if let Some(text) = line.value("--into")
        && let Some(folder) = own_folder(&root, &target)
    {
        let fault =
            Fault::new(id::OPTION_VALUE, text.whole(), format!("the library's own {folder}/ is no place for a site"))
                .found(text.text())
                .cure("name a folder beside it, or leave --into out: pressed/ in the library is taken");
        return refuse(&[fault], &line.source, json);
    }
    let on = match line.value("--on").map(|text| (text, Date::parse(text.text().trim()))) {
        // A press depends on no clock, so it asks none.
        None => (!writes).then(Date::today),
        Some((_, Some(date))) => Some(date),
        Some((text, None)) => return refuse(&[bad_date(text.text(), text.whole())], &line.source, json),
    };
    let progress = Progress::begin("Working every figure …");
    let done = work(&root, &target, writes, on);
    progress.end();
    match done {
        Ok((mut proof, exit)) => {
            if line.has("--outside")
                && let Err(problem) = outside::check(&mut proof)
            {
                super::complain(&problem);
                return Exit::Machine;
            }
            if line.has("--sarif") {
                print(&format!("{}\n", sarif::log(&proof.faults, &proof.sources)));
            } else {
                report(&proof, exit, writes.then_some(target.as_path()), json);
            }
            exit
        }
        Err(problem) => {
            super::complain(&say(&problem));
            Exit::Machine
        }
    }
}

/// The folder of the library's own in which a target lies: a site there would be read as part of the library.
fn own_folder(root: &Path, target: &Path) -> Option<&'static str> {
    let root = root.canonicalize().ok()?;
    let target = std::path::absolute(target).ok()?;
    // Of what isn't there yet, the nearest folder that is says where it will be.
    let (there, above) = target.ancestors().find_map(|above| Some((above.canonicalize().ok()?, above)))?;
    let target = there.join(target.strip_prefix(above).ok()?);
    ["content", "themes", "diagrams"].into_iter().find(|folder| target.starts_with(root.join(folder)))
}

/// One line on a terminal while something takes its time; nothing in a pipe.
struct Progress {
    shown: bool,
}

impl Progress {
    fn begin(what: &str) -> Self {
        let shown = std::io::stderr().is_terminal();
        if shown {
            eprint!("{what}");
        }
        Self { shown }
    }

    fn end(self) {
        if self.shown {
            eprint!("\r\u{1b}[K");
        }
    }
}

fn work(root: &Path, target: &Path, writes: bool, on: Option<Date>) -> Result<(Proof, Exit), PressProblem> {
    let drafts = if writes { Drafts::LeftOut } else { Drafts::Proved };
    let mut proof = press::proof(root, drafts, on)?;
    if writes && !proof.has_faults() {
        press::write(&mut proof, target)?;
    } else {
        press::prove_photos(&mut proof, target);
    }
    let exit = if proof.has_faults() { Exit::Faults } else { Exit::Done };
    Ok((proof, exit))
}

fn report(proof: &Proof, exit: Exit, target: Option<&Path>, json: bool) {
    if json {
        let faults = all_to_json(&proof.faults, &proof.sources);
        let away: Vec<&str> = proof.site.away.iter().filter(|_| target.is_some()).map(TakeAway::path).collect();
        let said = json!({"faults": faults, "guides": proof.guides, "edition": proof.site.edition, "editions": away});
        print(&format!("{said}\n"));
        return;
    }
    draw_all(&proof.faults, &proof.sources);
    say_following(proof.following);
    let faults = proof.faults.iter().filter(|one| one.fault.severity == Severity::Fault).count();
    match (exit, target) {
        (Exit::Done, Some(target)) => {
            let target = target.strip_prefix(".").unwrap_or(target).display();
            let pages = count(proof.guides, "page");
            print(&format!("Pressed {pages} into {target}, edition {}.\n", proof.site.edition));
            print(&taken_away(proof, &target.to_string()));
            print(&format!("Open {target}/index.html in a browser.\n"));
        }
        (Exit::Done, None) => {
            let notes = proof.faults.len();
            let notes = if notes == 0 { "no notes".to_owned() } else { count(notes, "note") };
            print(&format!("{} proved, nothing written: no faults, {notes}.\n", count(proof.guides, "page")));
        }
        (_, Some(_)) => {
            eprintln!("{}: nothing was pressed, and the last good site is as it was.", count(faults, "fault"));
        }
        (_, None) => eprintln!("{}, {}.", count(faults, "fault"), count(proof.faults.len() - faults, "note")),
    }
}

/// Says how many faults are not told of, since they only follow from others.
pub(super) fn say_following(following: usize) {
    if following > 0 {
        let it = if following == 1 { "it follows" } else { "they follow" };
        eprintln!("{} left out: {it} from those above.", count(following, "more fault"));
    }
}

/// A line for each edition that is taken away.
fn taken_away(proof: &Proof, target: &str) -> String {
    let of = |edition: Edition| proof.site.away.iter().filter(move |away| away.edition() == edition);
    let sheets = of(Edition::Sheets).count();
    let mut lines = String::new();
    for away in of(Edition::Book) {
        lines.push_str(&format!("The book:      {target}/{}\n", away.path()));
    }
    if sheets > 0 {
        lines.push_str(&format!("Single sheets: {target}/{}/, {}\n", single::FOLDER, count(sheets, "file")));
    }
    for away in of(Edition::Zip) {
        lines.push_str(&format!("Site as a zip: {target}/{}\n", away.path()));
    }
    lines
}

fn say(problem: &PressProblem) -> String {
    match problem {
        PressProblem::Library(problem) => problem.to_string(),
        PressProblem::NotOurs(path) => format!(
            "{} holds something that was not pressed, so it is left alone\n  Do:      name an empty or a new folder with --into DIR",
            path.display()
        ),
        PressProblem::Busy(path) => {
            format!("another press is at work on {}\n  Do:      wait until it is done, and press again", path.display())
        }
        PressProblem::Write(path, error) => format!(
            "can't write {}: {error}\n  Do:      check the disk and your rights there; the last good site is as it was",
            path.display()
        ),
    }
}

fn help(command: &str, options: &[OptionOf]) -> String {
    let width = terminal::width();
    let about = if command == "press" {
        "Works everything out and makes the site, all or nothing: a fault leaves the last good site untouched."
    } else {
        "Works everything out and writes nothing: every fault of every page in one run."
    };
    let mut out = format!("locknut {command}\n\n");
    write_wrapped(&mut out, about, 0, width);
    out.push('\n');
    write_options(&mut out, options, width);
    out
}
