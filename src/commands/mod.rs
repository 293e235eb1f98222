//! One file per command, thin: words of the command line in, output and an exit status out.

/// Lays down a starter library.
pub mod fit_out;
/// The words after the program's name, with their places.
pub mod line;
/// What the program says without a command.
pub mod overview;
/// Makes the site, or only proves it.
pub mod press;
/// Works one formula at the counter.
pub mod reckon;
mod reckon_text;
/// Keeps a library open in a browser.
pub mod stand;
/// Text for a terminal: wrapping and columns.
pub mod terminal;

use crate::diagnostic::{Source, draw, to_json};
use crate::fault::Fault;
use std::io::Write;

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

/// Writes to standard output; a reader that has gone away is no fault of ours.
pub fn print(text: &str) {
    let mut out = std::io::stdout().lock();
    let written = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    if let Err(error) = written
        && error.kind() != std::io::ErrorKind::BrokenPipe
    {
        eprintln!("locknut: can't write to standard output: {error}");
    }
}
