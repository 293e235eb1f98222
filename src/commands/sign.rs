//! `locknut sign`: accepts the drift of all sheets, or of named ones, into the register, with initials and a reason.
//!
//! The register is written whole, beside the old one, and put in its place by one rename; nothing else is written.

use super::drift::figures;
use super::line::{Line, OptionOf};
use super::press::{HELP, LIBRARY};
use super::terminal::{self, write_hanging, write_options, write_wrapped};
use super::{Exit, open, print, refuse};
use crate::fault::{Fault, id};
use crate::library::Library;
use crate::library::date::{Date, bad_date};
use crate::press::Figures;
use crate::register::drift::{Difference, SheetDrift};
use crate::register::sign::{Signed, Signing, sign};
use crate::register::{self, Register};
use crate::text::{Mapped, count};
use serde_json::json;
use std::fs;
use std::io::{self, Write};
use std::path::Path;
use std::sync::Arc;

/// What the command takes.
pub const OPTIONS: &[OptionOf] = &[
    OptionOf { name: "--by", value: Some("AB"), about: "the initials of who signs" },
    OptionOf {
        name: "--with",
        value: Some("CD"),
        about: "the initials of a second person, where a figure stands under a safety notice",
    },
    OptionOf { name: "--because", value: Some("TEXT"), about: "the reason, which goes into the revision table" },
    OptionOf { name: "--on", value: Some("DATE"), about: "the day of signing; today where it is left out" },
    LIBRARY,
    OptionOf { name: "--json", value: None, about: "gives what was signed, or the faults, as data" },
    HELP,
];

/// Runs the command.
#[must_use]
pub fn run(arguments: &[String]) -> Exit {
    let line = match open("sign", arguments, OPTIONS, help) {
        Ok(line) => line,
        Err(exit) => return exit,
    };
    let json = line.has("--json");
    let signing = match signing(&line) {
        Ok(signing) => signing,
        Err(faults) => return refuse(&faults, &line.source, json),
    };
    let mut proof = match figures(&line, json) {
        Ok(proof) => proof,
        Err(exit) => return exit,
    };
    let drift = std::mem::take(&mut proof.figures.drift);
    let chosen = match choose(&line, &proof.figures, &drift) {
        Ok(chosen) => chosen,
        Err(faults) => return refuse(&faults, &line.source, json),
    };
    if let Some(fault) = second_pair(&line, &signing, &chosen) {
        return refuse(&[fault], &line.source, json);
    }
    if let Some(fault) = proof.library.as_ref().and_then(|library| too_early(&line, &signing, &chosen, library)) {
        return refuse(&[fault], &line.source, json);
    }
    let sheets = proof.figures.sheets;
    let mut register = proof.library.map(|library| Arc::unwrap_or_clone(library.register)).unwrap_or_default();
    let read = register.source.as_ref().map(|source| source.text.clone());
    let signed = sign(&mut register, &chosen, &sheets, &signing);
    let root = line.library();
    if !chosen.is_empty()
        && let Err(error) = write(&root.join(register::FILE), &register, read.as_deref())
    {
        super::complain(&format!(
            "can't write {}: {error}\n  Do:      check the disk and your rights there, and sign again; the register is as it was",
            register::FILE
        ));
        return Exit::Machine;
    }
    report(&signed, &register, json);
    Exit::Done
}

/// Who signs, when and why, as the line says.
fn signing(line: &Line) -> Result<Signing, Vec<Fault>> {
    let mut faults = Vec::new();
    let mut need = |name: &str, what: &str, cure: &str| {
        let text = line.value(name).filter(|text| !text.text().trim().is_empty());
        if text.is_none() {
            let span = line.value(name).map_or(line.whole(), Mapped::whole);
            faults.push(Fault::new(id::MISSING_OPTION, span, format!("nothing says {what}")).cure(cure));
        }
        text
    };
    let by = need("--by", "who signs", "add --by and your initials: --by AB");
    let because =
        need("--because", "why the figures may change", "add the reason: --because \"new marking on the stem\"");
    let with = line.value("--with");
    faults.extend([by, with].into_iter().flatten().filter_map(initials));
    let on = match line.value("--on").map(|text| (text, Date::parse(text.text().trim()))) {
        None => Date::today().to_string(),
        Some((_, Some(date))) => date.to_string(),
        Some((text, None)) => {
            faults.push(bad_date(text.text(), text.whole()));
            String::new()
        }
    };
    let said = |text: Option<&Mapped>| text.map(|text| text.text().split_whitespace().collect::<Vec<_>>().join(" "));
    if let (Some(one), Some(other)) = (by, with)
        && one.text().trim() == other.text().trim()
    {
        faults.push(
            Fault::new(id::OPTION_VALUE, other.whole(), "the second pair of initials is the first one again")
                .found(other.text())
                .cure("let somebody else read the figures, and write their initials"),
        );
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    Ok(Signing { on, by: said(by).unwrap_or_default(), with: said(with), because: said(because).unwrap_or_default() })
}

fn initials(text: &Mapped) -> Option<Fault> {
    let word = text.text().trim();
    let fits = (2..=4).contains(&word.chars().count()) && word.chars().all(char::is_uppercase);
    (!fits).then(|| {
        Fault::new(id::OPTION_VALUE, text.whole(), "these are no initials")
            .found(if word.is_empty() { "nothing" } else { word })
            .allowed("two to four capital letters, such as AB")
            .cure("write the first letters of your names")
    })
}

/// The sheets that the line names, all that drifted where it names none.
fn choose<'d>(line: &Line, figures: &Figures, drift: &'d [SheetDrift]) -> Result<Vec<&'d SheetDrift>, Vec<Fault>> {
    if line.words.is_empty() {
        return Ok(drift.iter().collect());
    }
    let mut faults = Vec::new();
    let mut chosen: Vec<&SheetDrift> = Vec::new();
    let drifted = || drift.iter().map(|sheet| sheet.sheet.as_str());
    for word in &line.words {
        let number = word.text().trim();
        if let Some(sheet) = drift.iter().find(|sheet| sheet.sheet == number) {
            if !chosen.contains(&sheet) {
                chosen.push(sheet);
            }
        } else if !figures.sheets.iter().any(|sheet| sheet.number == number) {
            let fault = Fault::new(id::UNKNOWN_SHEET, word.whole(), format!("no sheet has the number {number}"));
            let known = drifted().chain(figures.sheets.iter().map(|sheet| sheet.number.as_str()));
            faults.push(fault.found(number).nearest(
                number,
                known,
                "locknut drift lists the sheets that can be signed",
            ));
        }
    }
    if faults.is_empty() { Ok(chosen) } else { Err(faults) }
}

/// The fault of a figure under a safety notice that one person alone would sign.
fn second_pair(line: &Line, signing: &Signing, chosen: &[&SheetDrift]) -> Option<Fault> {
    if signing.with.is_some() {
        return None;
    }
    let guarded = chosen.iter().flat_map(|sheet| &sheet.differences).filter(|one| one.is_guarded());
    let named: Vec<String> = guarded.map(|one: &Difference| format!("{} {}", one.sheet, one.name)).collect();
    if named.is_empty() {
        return None;
    }
    let more = named.len().saturating_sub(3);
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let message = "figures under a safety notice are signed by two people";
    Some(
        Fault::new(id::SECOND_INITIALS, line.value("--by").map_or(line.whole(), Mapped::whole), message)
            .found(format!("{}{more}", named[..named.len().min(3)].join(", ")))
            .cure("let a second person read them and add --with and their initials"),
    )
}

/// The fault of a day before that of the revision that a sheet has already: the title block shows the later of the two,
/// so the new figures would stand under the old letter, and the next signing would give the same letter again.
fn too_early(line: &Line, signing: &Signing, chosen: &[&SheetDrift], library: &Library) -> Option<Fault> {
    let revised =
        chosen.iter().filter(|sheet| sheet.differences.iter().any(|one| one.was.is_some() && one.is.is_some()));
    let (number, stamp) = revised
        .filter_map(|sheet| Some((&sheet.sheet, library.stamp_of_number(&sheet.sheet)?)))
        .find(|(_, stamp)| signing.on < stamp.issued)?;
    let span = line.value("--on").map_or(line.whole(), Mapped::whole);
    let message = format!("sheet {number} has a later revision already: {}, of {}", stamp.revision, stamp.issued);
    let fault =
        Fault::new(id::BAD_DATE, span, message).found(&*signing.on).allowed(format!("{} or later", stamp.issued));
    Some(fault.cure(match line.value("--on") {
        Some(_) => "sign on that day or after it; --on left out takes today",
        None => "see that the day under issued is right, or wait for it",
    }))
}

/// Writes the register beside the old one and puts it in its place.
fn write(path: &Path, register: &Register, read: Option<&str>) -> io::Result<()> {
    let now = match fs::read_to_string(path) {
        Ok(text) => Some(text),
        Err(error) if error.kind() == io::ErrorKind::NotFound => None,
        Err(error) => return Err(error),
    };
    if now.as_deref() != read {
        return Err(io::Error::other("somebody else wrote it in the meantime"));
    }
    let beside = path.with_file_name(format!(".register-{}.tmp", std::process::id()));
    let mut file = fs::File::create(&beside)?;
    let written = file.write_all(register::text(register).as_bytes()).and_then(|()| file.sync_all());
    let placed = written.and_then(|()| fs::rename(&beside, path));
    if placed.is_err() {
        let _ = fs::remove_file(&beside);
    }
    placed
}

fn report(signed: &[Signed], register: &Register, json: bool) {
    if json {
        let sheets =
            signed.iter().map(|one| json!({ "sheet": one.sheet, "revision": one.revision, "accepted": one.accepted }));
        print(&format!("{}\n", json!({ "signed": sheets.collect::<Vec<_>>() })));
        return;
    }
    let width = terminal::width();
    let mut out = String::new();
    for one in signed {
        let revision = one
            .revision
            .as_ref()
            .map_or_else(|| "keeps its revision".to_owned(), |letter| format!("is revision {letter} now"));
        let words = format!("{revision}, {} accepted", count(one.accepted, "figure"));
        write_hanging(&mut out, &format!("{} ", one.sheet), &words, 0, width);
    }
    let all = count(register.signed.len(), "figure");
    out.push_str(&if signed.is_empty() {
        format!("Nothing differs from the register, so nothing was signed: {all}.\n")
    } else {
        format!("Signed: {all} in {}.\n", register::FILE)
    });
    print(&out);
}

fn help() -> String {
    let width = terminal::width();
    let mut out = String::from("locknut sign [SHEET ...] --by AB --because TEXT\n\n");
    write_wrapped(
        &mut out,
        "Accepts the figures that differ from the register, on all sheets or on those that are named. A signed figure \
         that changes gives its sheet the next revision and a line in its revision table. locknut drift shows first what \
         would be signed.",
        0,
        width,
    );
    out.push('\n');
    write_options(&mut out, OPTIONS, width);
    out.push_str("\n  locknut sign --by AB --because \"the stem is marked otherwise since May\"\n");
    out.push_str("  locknut sign FT-003 BR-012 --by AB --with CD --because \"new pads\"\n");
    out
}
