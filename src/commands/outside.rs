//! Links that leave the library, asked of the web: `proof --outside`, and never otherwise.
//!
//! The machine's own `curl` asks, since a program that works offline has no need of a client for encrypted connections
//! of its own. Each address is asked once, eight at a time. What can't be reached from here is a note, and stops nothing.

use crate::diagnostic::Diagnostic;
use crate::fault::{Fault, id};
use crate::library::guide::Guide;
use crate::library::markdown::Piece;
use crate::press::Proof;
use crate::text::Span;
use pulldown_cmark::{Event, Tag};
use std::collections::BTreeMap;
use std::process::{Command, Stdio};

/// So many addresses are asked at a time.
const AT_ONCE: usize = 8;
/// Seconds after which an address counts as dead.
const LONGEST: &str = "20";

/// Asks about every link to the web, and adds a note for each that leads nowhere.
///
/// # Errors
/// In words, where there is no `curl`.
pub(super) fn check(proof: &mut Proof) -> Result<(), String> {
    let Some(library) = &proof.library else { return Ok(()) };
    let mut links: BTreeMap<String, Vec<(String, Span)>> = BTreeMap::new();
    for guide in &library.guides {
        for (address, span) in links_of(guide) {
            links.entry(address).or_default().push((guide.source.name.clone(), span));
        }
    }
    let addresses: Vec<&String> = links.keys().collect();
    let mut notes = Vec::new();
    for some in addresses.chunks(AT_ONCE) {
        let asked: Vec<_> = some.iter().map(|address| ask(address)).collect::<Result<_, _>>()?;
        for (address, child) in some.iter().zip(asked) {
            let output = child.wait_with_output().map_err(|error| format!("can't wait for curl: {error}"))?;
            let code = String::from_utf8_lossy(&output.stdout).trim().to_owned();
            if output.status.success() && code.starts_with(['2', '3']) {
                continue;
            }
            let why = if code.is_empty() || code == "000" {
                "nobody answers".to_owned()
            } else {
                format!("the answer is {code}")
            };
            for (file, span) in &links[*address] {
                let fault = Fault::note(id::DEAD_LINK, *span, format!("this link leads nowhere: {why}"))
                    .found((*address).clone())
                    .cure("look whether the page has moved, and write its address as it is now, or leave the link out");
                notes.push(Diagnostic { file: file.clone(), fault });
            }
        }
    }
    proof.add_faults(notes);
    Ok(())
}

fn ask(address: &str) -> Result<std::process::Child, String> {
    let words =
        ["--silent", "--location", "--output", "/dev/null", "--max-time", LONGEST, "--write-out", "%{http_code}", "--"];
    let child = Command::new("curl")
        .args(words)
        .arg(address)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn();
    child.map_err(|error| format!("can't ask the web: {error}\n  Do:      install curl, or leave --outside out"))
}

fn links_of(guide: &Guide) -> impl Iterator<Item = (String, Span)> + '_ {
    guide.pieces().filter_map(|piece| match piece {
        Piece::Event(Event::Start(Tag::Link { dest_url, .. }), span) if dest_url.starts_with("http") => {
            Some((dest_url.to_string(), *span))
        }
        _ => None,
    })
}
