//! What the program says without a command: what it does, and its commands.

use super::terminal::{write_hanging, write_wrapped};
use crate::fault::{Fault, id};
use crate::text::Mapped;

/// The commands that run, and what each does.
pub const COMMANDS: &[(&str, &str)] = &[
    ("press", "works everything out and makes the site, all or nothing"),
    ("proof", "works everything out and writes nothing: every fault in one run"),
    ("stand", "keeps the library open in a browser while somebody edits"),
    ("reckon", "works one formula at the counter; without a formula it lists them"),
    ("pair", "asks whether parts on the shelf go together; without parts it lists the shelf"),
    ("where-used", "says which sheets and figures rest on a figure, a part, a formula, a page"),
    ("drift", "shows which published figures differ from the signed register, and why"),
    ("sign", "accepts the drift into the register, with initials and a reason"),
    ("fit-out", "lays down a starter library in a new folder"),
];

/// The overview.
#[must_use]
pub fn text(width: usize) -> String {
    let mut out = String::from("locknut COMMAND ...\n\n");
    write_wrapped(
        &mut out,
        "Publishes a bicycle workshop's own service guides, every figure worked out at each press.",
        0,
        width,
    );
    out.push('\n');
    for (name, about) in COMMANDS {
        write_hanging(&mut out, &format!("  {name}"), about, 12, width);
    }
    out.push_str("\nlocknut COMMAND --help says more of one.\n");
    out
}

/// The fault of a word that is no command.
#[must_use]
pub fn unknown(word: &Mapped) -> Fault {
    let names = || COMMANDS.iter().map(|(name, _)| *name);
    let fault = Fault::new(id::UNKNOWN_COMMAND, word.whole(), format!("there is no command {}", word.text()))
        .found(word.text())
        .allowed(names().collect::<Vec<_>>().join(", "));
    fault.nearest(word.text(), names(), "use one of these")
}
