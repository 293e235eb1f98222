//! One file per command, thin: words of the command line in, output and an exit status out.

mod ask;
/// Starts a page.
pub mod begin;
mod bench;
mod completion;
mod draft;
/// Published figures against the signed register.
pub mod drift;
/// Lays down a starter library.
pub mod fit_out;
mod further;
mod known;
mod lend;
/// The words after the program's name, with their places.
pub mod line;
mod lists;
mod man;
/// Says what a word means.
pub mod meaning;
mod outside;
/// What the program says without a command.
pub mod overview;
/// Asks the rules about parts on the shelf.
pub mod pair;
/// Makes the site, or only proves it.
pub mod press;
/// Works one formula at the counter.
pub mod reckon;
mod reckon_text;
mod reply;
mod sarif;
mod save;
/// Accepts drift into the register.
pub mod sign;
/// Keeps a library open in a browser.
pub mod stand;
/// Text for a terminal: wrapping and columns.
pub mod terminal;
mod values;
/// What rests on something of the library.
pub mod where_used;

use crate::diagnostic::{Diagnostic, Source, draw, to_json};
use crate::fault::{Fault, id};
use line::{Line, OptionOf};
use std::io::Write;
use std::sync::Arc;

/// How a command ended; the number is the exit status.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Exit {
    /// Done; notes alone are no fault.
    Done = 0,
    /// Faults in the library, or drift.
    Faults = 1,
    /// Wrong words or values on the command line.
    Words = 2,
    /// The machine's fault, or a folder that isn't ours.
    Machine = 3,
}

/// Every exit status, and what it says.
pub const EXITS: &[(Exit, &str)] = &[
    (Exit::Done, "Done. Notes alone are no fault; pair ends so whatever the verdict."),
    (Exit::Faults, "Faults in the library, or drift."),
    (Exit::Words, "Wrong words or values on the command line."),
    (
        Exit::Machine,
        "The machine's fault, such as a full disk or a missing permission, or a target folder that is not a pressed one.",
    ),
];

/// The words of a command, read; or how it has ended already: with wrong options told of, or with its help printed.
///
/// # Errors
/// The exit status, where nothing is left to do.
fn open(
    command: &str,
    arguments: &[String],
    options: &[OptionOf],
    help: impl FnOnce() -> String,
) -> Result<Line, Exit> {
    let line = Line::read(&format!("locknut {command}"), arguments, options).map_err(|(source, faults)| {
        // What was meant by a line that can't be read is only guessed at; data asked for anywhere in it is data.
        let json =
            options.iter().any(|option| option.name == "--json") && arguments.iter().any(|word| word == "--json");
        refuse(&faults, &source, json)
    })?;
    if line.has("--help") {
        print(&help());
        return Err(Exit::Done);
    }
    // A shell that knows no such variable puts nothing in its place.
    let folders = options.iter().filter(|option| option.value == Some("DIR"));
    if let Some((name, text)) = folders
        .filter_map(|option| Some((option.name, line.value(option.name)?)))
        .find(|(_, text)| text.text().trim().is_empty())
    {
        let fault = Fault::new(id::OPTION_VALUE, text.whole(), format!("{name} names no folder"))
            .cure(format!("write {name} DIR, or leave it out"));
        return Err(refuse(&[fault], &line.source, line.has("--json")));
    }
    Ok(line)
}

/// Prints faults that point into the command line: as data on standard output or drawn on standard error.
#[must_use]
pub fn refuse(faults: &[Fault], source: &Source, json: bool) -> Exit {
    if json {
        let list: Vec<_> = faults.iter().map(|fault| to_json(fault, source)).collect();
        print(&format!("{}\n", serde_json::json!({ "faults": list })));
    } else {
        for fault in faults {
            eprint!("{}", draw(fault, source, terminal::width()));
        }
    }
    Exit::Words
}

/// Says on standard error what the machine has to have mended; its numbers for errors mean nothing to a reader.
pub fn complain(problem: &str) {
    eprint!("{}", complaint(problem, terminal::width()));
}

fn complaint(problem: &str, width: usize) -> String {
    let (what, cure) = problem.split_once(DO).unwrap_or((problem, ""));
    let what = what.find(" (os error ").map_or(what, |end| &what[..end]);
    let mut out = format!("locknut: {}\n", what.replace(" ./", " "));
    if !cure.is_empty() {
        terminal::write_hanging(&mut out, "  Do:", cure, 11, width);
    }
    out
}

/// What stands between a problem and its cure.
const DO: &str = "\n  Do:      ";

/// Draws faults of a library's files on standard error.
pub(crate) fn draw_all(faults: &[Diagnostic], sources: &[Arc<Source>]) {
    for one in faults {
        eprint!("{}", draw(&one.fault, source_of(one, sources), terminal::width()));
    }
}

/// The same as data.
pub(crate) fn all_to_json(faults: &[Diagnostic], sources: &[Arc<Source>]) -> Vec<serde_json::Value> {
    faults.iter().map(|one| to_json(&one.fault, source_of(one, sources))).collect()
}

/// The file that a fault stands in, empty where it was not read.
fn source_of<'s>(one: &Diagnostic, sources: &'s [Arc<Source>]) -> &'s Source {
    static UNKNOWN: std::sync::LazyLock<Source> = std::sync::LazyLock::new(Source::default);
    sources.iter().find(|source| source.name == one.file).map_or(&UNKNOWN, |source| source.as_ref())
}

/// Writes to standard output; a reader that has gone away is no fault of ours.
pub fn print(text: &str) {
    let mut out = std::io::stdout().lock();
    let written = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    if let Err(error) = written
        && error.kind() != std::io::ErrorKind::BrokenPipe
    {
        complain(&format!("can't write to standard output: {error}"));
    }
}

#[cfg(test)]
mod tests {
    use super::complaint;

    #[test]
    fn a_problem_keeps_to_the_terminal() {
        let error = std::io::Error::from_raw_os_error(2);
        let drawn = complaint(&format!("can't write x: {error}\n  Do:      check the disk, and your rights there"), 40);
        let expected = "locknut: can't write x: No such file or directory
  Do:      check the disk, and your
           rights there
";
        assert_eq!(drawn, expected);
        assert_eq!(complaint("nothing more", 40), "locknut: nothing more\n");
    }
}
