//! `locknut pair`: the rules asked about parts on the shelf, at the counter.
//!
//! Words in: names of parts, with `front=` or `rear=` before them where the end of the bicycle matters. Out: the
//! verdict, every rule that spoke with what it compared, and what to measure where something is not known.

use super::ask::at_terminal;
use super::bench::{Bench, Need};
use super::known::Refusal;
use super::line::{Line, OptionOf};
use super::press::{HELP, LIBRARY};
use super::reckon_text::PRECEDENCE;
use super::save::{self, BY, ON, Plan, SAVE};
use super::terminal::{self, write_hanging, write_options, write_wrapped};
use super::{Exit, draft, open, print, reply};
use crate::evaluate::beside::Units;
use crate::evaluate::pairing::{Chosen, Measure, Reason, ToldPairing, ask, check_count};
use crate::fault::{Fault, Severity, id};
use crate::library::files::FileProblem;
use crate::library::shelf::Shelf;
use crate::library::{ReadShelf, read_shelf};
use crate::mechanics::figure::NO_BREAK;
use crate::mechanics::pairing::{Place, Verdict};
use crate::text::{Mapped, capital, count};
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::path::Path;

/// What the command takes.
pub const OPTIONS: &[OptionOf] = &[
    OptionOf { name: "--working", value: None, about: "shows every number that was compared, and on whose word" },
    OptionOf { name: "--reply", value: None, about: "gives a paragraph to send to the rider" },
    SAVE,
    BY,
    ON,
    OptionOf { name: "--json", value: None, about: "gives the verdict, or the faults, as data" },
    LIBRARY,
    HELP,
];

/// Runs the command.
#[must_use]
pub fn run(arguments: &[String]) -> Exit {
    let line = match open("pair", arguments, OPTIONS, || help(terminal::width())) {
        Ok(line) => line,
        Err(exit) => return exit,
    };
    let json = line.has("--json");
    match answer(&line, json) {
        Ok(text) => {
            print(&text);
            Exit::Done
        }
        Err(refusal) => refusal.tell(&line, json),
    }
}

fn answer(line: &Line, json: bool) -> Result<String, Refusal> {
    let width = terminal::width();
    let saves = line.has(SAVE.name);
    let need = match (saves, line.has("--reply") && !json) {
        (true, _) => Need::Library,
        (false, true) => Need::IfThere,
        (false, false) => Need::Units,
    };
    // A part that can't be read may be the one that is asked about.
    let ReadShelf { shelf, sources, faults } = shelf_of(line).map_err(Refusal::Machine)?;
    if faults.iter().any(|one| one.fault.severity == Severity::Fault) {
        return Err(Refusal::Files(faults, sources));
    }
    if line.words.is_empty() {
        return Ok(if json { list_json(&shelf) } else { list(&shelf, width) });
    }
    let parts = choose(line, &shelf)?;
    let bench = Bench::read(line, need)?;
    let asks = !json && terminal::has_somebody();
    let plan = Plan::of(line, &bench, asks)?;
    let told = ask(&shelf, &parts);
    if let (Some(plan), Some(library)) = (&plan, &bench.library) {
        let who = save::prepared_by(plan, || at_terminal().ask_words(save::WHO, "prepared_by"))?;
        plan.write(&draft::of_pairing(&told, &shelf, library), &who)?;
    }
    let text = match (json, line.has("--reply")) {
        (true, _) => format!("{}\n", with_saved(to_json(&told), plan.as_ref())),
        (_, true) => reply::paired(&told, &shelf, bench.library.as_ref(), &bench.units, width),
        (..) => text(&told, &bench.units, line.has("--working"), width),
    };
    if let Some(plan) = plan.filter(|_| !json) {
        eprint!("{}", plan.done());
    }
    Ok(text)
}

/// Adds to an answer as data which page was saved.
pub(super) fn with_saved(mut answer: Value, plan: Option<&Plan>) -> Value {
    if let (Some(plan), Some(answer)) = (plan, answer.as_object_mut()) {
        answer.insert("saved".to_owned(), json!({"file": plan.file, "number": plan.number}));
    }
    answer
}

fn shelf_of(line: &Line) -> Result<ReadShelf, FileProblem> {
    let library = line.value("--library");
    let root = Path::new(library.map_or(".", Mapped::text));
    if library.is_some() && !root.join("content").is_dir() {
        return Err(FileProblem::NoShop(root.join("content").join("shop.yaml")));
    }
    read_shelf(root)
}

/// The parts that the words name, each with its place.
fn choose<'s>(line: &Line, shelf: &'s Shelf) -> Result<Vec<Chosen<'s>>, Vec<Fault>> {
    let mut faults = Vec::new();
    let mut chosen = Vec::new();
    for word in &line.words {
        let (place, name) = Place::split(word.text(), '=');
        let start = word.text().len() - name.len();
        let span = word.span(start..word.text().len());
        match shelf.part(name) {
            Some(part) if place.is_some() && !shelf.family_of(part).is_some_and(|family| family.places) => faults.push(
                Fault::new(id::ONE_END, word.span(0..start), "a bicycle has one of these, not one at each end")
                    .found(word.text())
                    .cure(format!("write {name} alone")),
            ),
            Some(part)
                if chosen.iter().any(|known: &Chosen<'_>| known.part.name == part.name && known.place == place) =>
            {
                faults.push(
                    Fault::new(id::GIVEN_TWICE, span, format!("{name} is named twice"))
                        .cure("leave one of the two out, or write front= and rear= before them"),
                );
            }
            Some(part) => chosen.push(Chosen { part, place }),
            None if name.trim().is_empty() => faults.push(
                Fault::new(id::UNKNOWN_PART, word.whole(), "no part is named here")
                    .found(word.text())
                    .cure("write a part's name; locknut pair alone lists the shelf"),
            ),
            None if name.contains('=') => {
                let end = name.split('=').next().unwrap_or_default();
                let message = format!("a bicycle has no end called {end}");
                let fault = Fault::new(id::UNKNOWN_PART, word.whole(), message).found(word.text());
                faults
                    .push(fault.allowed("front=PART, rear=PART").cure("write one of these, or the part's name alone"));
            }
            None => faults.push(shelf.unknown(name, span)),
        }
    }
    if faults.is_empty() && chosen.len() < 2 {
        faults.push(
            Fault::new(id::MISSING_INPUT, line.whole(), "one part alone leaves nothing to compare")
                .allowed("two parts or more")
                .cure("name another part; locknut pair alone lists the shelf"),
        );
    }
    faults.extend(check_count(&chosen, line.whole()));
    if faults.is_empty() { Ok(chosen) } else { Err(faults) }
}

fn help(width: usize) -> String {
    let mut out = String::from("locknut pair PART PART ...\n\n");
    write_wrapped(
        &mut out,
        "Asks the rules whether parts on the shelf go together. Without parts it lists the shelf. Write front=PART or \
         rear=PART where the end of the bicycle matters.",
        0,
        width,
    );
    out.push('\n');
    write_options(&mut out, OPTIONS, width);
    out.push_str("\n  locknut pair cassette-11-34 derailleur-long crank-50-34\n");
    out.push_str("  locknut pair front=tyre-25 rear=tyre-28\n");
    out
}

/// The shelf by family.
fn list(shelf: &Shelf, width: usize) -> String {
    if shelf.parts.is_empty() {
        return String::from("The shelf is empty: put parts into content/shelf/FAMILY.yaml.\n");
    }
    let longest = shelf.parts.iter().map(|part| part.name.value.chars().count()).max().unwrap_or(0);
    let mut out = String::new();
    for family in &shelf.rules.families {
        let mut parts = shelf.of_family(&family.id).peekable();
        if parts.peek().is_none() {
            continue;
        }
        if !out.is_empty() {
            out.push('\n');
        }
        out.push_str(&family.title);
        out.push('\n');
        for part in parts {
            write_hanging(&mut out, &format!("  {}", part.name.value), &part.title, longest + 4, width);
        }
    }
    out
}

fn list_json(shelf: &Shelf) -> String {
    let part = |part: &crate::library::shelf::Part| {
        let family = shelf.family_of(part);
        let has: serde_json::Map<String, Value> = part
            .values
            .iter()
            .filter_map(|(name, value)| Some((name.clone(), json!(value.text(family?.attribute(name)?)))))
            .collect();
        json!({"part": part.name.value, "family": part.family, "title": part.title, "has": has})
    };
    format!("{}\n", json!({ "parts": shelf.parts.iter().map(part).collect::<Vec<_>>() }))
}

/// The verdict and its reasons for people: what is to be heeded in full, what fits in a line; the numbers where asked.
fn text(told: &ToldPairing, units: &Units, working: bool, width: usize) -> String {
    let mut out = String::new();
    let titles: Vec<&str> = told.parts.iter().map(|part| part.title.as_str()).collect();
    write_wrapped(&mut out, &titles.join(" + "), 0, width);
    let (heeded, plain) = heed(once(told));
    let notices = heeded.iter().filter(|reason| reason.notice).count();
    let verdict = told.verdict.words().to_uppercase();
    let verdict = if notices > 0 { format!("{verdict}, {}", count(notices, "notice")) } else { verdict };
    let _ = write!(out, "\n  {verdict}\n");
    let (open, settled): (Vec<&Reason>, Vec<&Reason>) = heeded.iter().partition(|reason| !reason.measure.is_empty());
    for reason in &settled {
        out.push('\n');
        write_reason(&mut out, reason, units, working, width);
    }
    if !open.is_empty() {
        let titles: Vec<&str> = open.iter().map(|reason| reason.title.as_str()).collect();
        out.push('\n');
        write_wrapped(&mut out, &format!("Not known yet: {}.", titles.join("; ")), 0, width);
    }
    for line in &told.unjoined {
        out.push('\n');
        write_wrapped(&mut out, line, 0, width);
    }
    write_measures(&mut out, told, width);
    if !plain.is_empty() {
        out.push_str(if heeded.is_empty() && told.unjoined.is_empty() { "\n" } else { "\nAnd besides\n" });
        for reason in &plain {
            if working {
                write_reason(&mut out, reason, units, true, width);
            } else {
                write_hanging(&mut out, "  - ", &units.sentence(&reason.message), 4, width);
            }
        }
    }
    write_cautions(&mut out, &heeded, width);
    out.push('\n');
    write_wrapped(&mut out, PRECEDENCE, 0, width);
    out.replace(NO_BREAK, " ")
}

/// What is to be heeded, and what fits without a word of warning.
pub(super) fn heed(reasons: Vec<&Reason>) -> (Vec<&Reason>, Vec<&Reason>) {
    reasons.into_iter().partition(|reason| reason.verdict < Verdict::Fits || reason.notice)
}

/// The reasons, each once: what is said alike of front and rear is told once.
pub(super) fn once(told: &ToldPairing) -> Vec<&Reason> {
    let mut reasons: Vec<&Reason> = Vec::new();
    for reason in &told.reasons {
        if !reasons.iter().any(|known| known.title == reason.title && known.message == reason.message) {
            reasons.push(reason);
        }
    }
    reasons
}

/// What to find out, each once, with where that is shown.
fn write_measures(out: &mut String, told: &ToldPairing, width: usize) {
    let mut seen: Vec<(&str, &str)> = Vec::new();
    for measure in told.reasons.iter().flat_map(|reason| &reason.measure) {
        let one = (measure.part.as_str(), measure.attribute.as_str());
        if seen.contains(&one) {
            continue;
        }
        out.push_str(if seen.is_empty() { "\nTo find out\n" } else { "" });
        seen.push(one);
        write_hanging(out, "  - ", &to_measure(measure), 4, width);
        if let Some((file, place)) = &measure.guide {
            let place = place.as_ref().map(|place| format!(", {place}")).unwrap_or_default();
            write_wrapped(out, &format!("Shown in {file}{place}"), 4, width);
        }
    }
}

/// The cautions of what is to be heeded, each once.
fn write_cautions(out: &mut String, heeded: &[&Reason], width: usize) {
    let mut cautions: Vec<&str> = Vec::new();
    for caution in heeded.iter().flat_map(|reason| &reason.cautions) {
        if !cautions.contains(&caution.as_str()) {
            cautions.push(caution);
        }
    }
    if !cautions.is_empty() {
        out.push_str("\nCautions\n");
        for caution in cautions {
            write_hanging(out, "  - ", caution, 4, width);
        }
    }
}

fn write_reason(out: &mut String, reason: &Reason, units: &Units, working: bool, width: usize) {
    let verdict = if reason.notice { "notice" } else { reason.verdict.words() };
    write_wrapped(out, &format!("{}: {verdict}", reason.title), 0, width);
    write_wrapped(out, &units.sentence(&reason.message), 2, width);
    if !working {
        return;
    }
    for (about, text) in &reason.compared {
        write_hanging(out, "    ", &format!("{about}: {}", units.figure(text)), 4, width);
    }
    write_wrapped(out, &format!("Source: {}", reason.source), 4, width);
}

fn to_measure(measure: &Measure) -> String {
    format!("{} ({}): {}.", capital(&measure.about), measure.of, measure.how)
}

/// The verdict and its reasons as data.
fn to_json(told: &ToldPairing) -> Value {
    let parts = told
        .parts
        .iter()
        .map(|part| json!({"part": part.name, "title": part.title, "place": part.place.map(Place::word)}));
    let reasons = told.reasons.iter().map(|reason| {
        let compared = reason.compared.iter().map(|(about, text)| json!({"about": about, "text": text}));
        let measure = reason.measure.iter().map(|measure| {
            json!({"part": measure.part, "attribute": measure.attribute, "about": measure.about, "how": measure.how,
                   "guide": measure.guide.as_ref().map(|(file, _)| file)})
        });
        json!({"rule": reason.rule, "title": reason.title, "verdict": reason.verdict.words(), "message": reason.message,
               "notice": reason.notice, "parts": reason.parts, "compared": compared.collect::<Vec<_>>(),
               "measure": measure.collect::<Vec<_>>(), "cautions": reason.cautions, "source": reason.source})
    });
    json!({"verdict": told.verdict.words(), "parts": parts.collect::<Vec<_>>(), "reasons": reasons.collect::<Vec<_>>(),
           "unjoined": told.unjoined})
}
