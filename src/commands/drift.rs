//! `locknut drift`: which published figures differ from the signed register, old and new, and why.

use super::line::{Line, OptionOf};
use super::press::{HELP, LIBRARY, say_following};
use super::terminal::{self, write_hanging, write_options, write_wrapped};
use super::{Exit, all_to_json, complain, draw_all, open, print, refuse};
use crate::press::{self, Figures, Proof};
use crate::register::Published;
use crate::register::Register;
use crate::register::drift::{Difference, SheetDrift, revisions_with, summary, to_json};
use crate::text::{capital, count};
use serde_json::json;

/// What the command takes.
pub const OPTIONS: &[OptionOf] =
    &[LIBRARY, OptionOf { name: "--json", value: None, about: "gives every difference, or the faults, as data" }, HELP];

/// Runs the command.
#[must_use]
pub fn run(arguments: &[String]) -> Exit {
    let line = match open("drift", arguments, OPTIONS, help) {
        Ok(line) => line,
        Err(exit) => return exit,
    };
    let json = line.has("--json");
    if let Some(fault) = line.no_words("drift") {
        return refuse(&[fault], &line.source, json);
    }
    let proof = match figures(&line, json) {
        Ok(proof) => proof,
        Err(exit) => return exit,
    };
    let Proof { figures, library, .. } = &proof;
    let none = Register::default();
    let register = library.as_ref().map_or(&none, |library| &library.register);
    if json {
        let all: usize = figures.sheets.iter().map(|sheet| sheet.lines.len()).sum();
        let said = json!({ "sheets": to_json(register, &figures.drift), "figures": all });
        print(&format!("{said}\n"));
    } else {
        print(&text(register, figures, terminal::width()));
    }
    if figures.drift.is_empty() { Exit::Done } else { Exit::Faults }
}

/// The figures of the library that the line names; with its faults told where it has any but drift.
pub(super) fn figures(line: &Line, json: bool) -> Result<Proof, Exit> {
    let root = line.library();
    let proof = press::figures(&root).map_err(|problem| {
        complain(&problem.to_string());
        Exit::Machine
    })?;
    let faults: Vec<_> = proof.faults.iter().filter(|one| one.is_of_content()).cloned().collect();
    if faults.is_empty() {
        return Ok(proof);
    }
    if json {
        print(&format!("{}\n", json!({ "faults": all_to_json(&faults, &proof.sources) })));
    } else {
        draw_all(&faults, &proof.sources);
        say_following(proof.following);
        eprintln!("{}: figures can be compared once these are mended.", count(faults.len(), "fault"));
    }
    Err(Exit::Faults)
}

fn text(register: &Register, figures: &Figures, width: usize) -> String {
    let mut out = String::new();
    if figures.drift.is_empty() {
        let all: usize = figures.sheets.iter().map(|sheet| sheet.lines.len()).sum();
        let (figures, sheets) = (count(all, "figure"), count(figures.sheets.len(), "sheet"));
        write_wrapped(&mut out, &format!("Nothing differs from the signed register: {figures} on {sheets}."), 0, width);
        return out;
    }
    for sheet in &figures.drift {
        write_sheet(&mut out, register, sheet, width);
    }
    let guarded = figures.drift.iter().any(|sheet| sheet.differences.iter().any(Difference::is_guarded));
    let with = if guarded { " --with CD" } else { "" };
    let all = capital(&summary(&figures.drift));
    write_wrapped(&mut out, &format!("{all}. locknut sign --by AB{with} --because \"…\" accepts it."), 0, width);
    out
}

fn write_sheet(out: &mut String, register: &Register, sheet: &SheetDrift, width: usize) {
    let what = count(sheet.differences.len(), "figure");
    let head = match (sheet.is_new, sheet.file.is_empty()) {
        (true, _) => format!("not signed yet, {what}, {}", sheet.file),
        (false, true) => format!("no longer pressed, was signed with {what}"),
        (false, false) => sheet.file.clone(),
    };
    write_hanging(out, &format!("{} ", sheet.sheet), &head, 0, width);
    // Of a sheet that is new or gone every figure differs, and none of them from anything.
    if !sheet.is_new && !sheet.file.is_empty() {
        for one in &sheet.differences {
            write_difference(out, register, sheet, one, width);
        }
    }
    out.push('\n');
}

fn write_difference(out: &mut String, register: &Register, sheet: &SheetDrift, one: &Difference, width: usize) {
    let says =
        |published: &Option<Published>| published.as_ref().map_or_else(|| "nothing".to_owned(), |one| one.says.clone());
    let (was, is) = (says(&one.was), says(&one.is));
    out.push_str(&format!("  {}\n", one.name));
    write_hanging(out, "    signed", &was, 12, width);
    write_hanging(out, "    now", &if was == is { format!("{is}, with other contents") } else { is }, 12, width);
    write_hanging(out, "    why", &one.why.join("; "), 12, width);
    if one.was.is_some() && one.is.is_some() {
        let held = revisions_with(register, one, &sheet.held);
        let word = if held.len() == 1 { "revision" } else { "revisions" };
        write_hanging(out, "    issued", &format!("with the signed figure: {word} {}", held.join(", ")), 12, width);
    }
    if one.is_guarded() {
        write_hanging(out, "    safety", "stands under a safety notice: a second pair of initials signs it", 12, width);
    }
}

fn help() -> String {
    let width = terminal::width();
    let mut out = String::from("locknut drift\n\n");
    write_wrapped(
        &mut out,
        "Shows which published figures differ from the signed register: as signed, as they are now, why, and which \
         issued revisions hold the signed figure. Exit status 1 where any differs.",
        0,
        width,
    );
    out.push('\n');
    write_options(&mut out, OPTIONS, width);
    out
}
