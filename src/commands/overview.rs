//! The table of commands: what the program says without one, and what completion and the manual page are made from.

use super::line::OptionOf;
use super::terminal::{write_hanging, write_wrapped};
use super::{begin, drift, fit_out, meaning, pair, press, reckon, sign, stand, where_used};
use crate::fault::{Fault, id};
use crate::text::Mapped;

/// A command.
#[derive(Debug)]
pub struct Command {
    /// The word after `locknut`.
    pub name: &'static str,
    /// What it does, in a line.
    pub about: &'static str,
    /// The words that it takes.
    pub takes: Takes,
    /// Its options.
    pub options: &'static [OptionOf],
}

/// What the words after a command are.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Takes {
    /// There are none.
    Nothing,
    /// A formula, then its values.
    Formula,
    /// Parts on the shelf.
    Parts,
    /// A folder.
    Folder,
    /// A word that has a meaning.
    Word,
    /// Things of a library, each by its name.
    Names,
    /// Sheets, by their numbers.
    Sheets,
    /// What is begun: a guide in a topic, or a reply.
    Page,
}

/// The commands that run.
pub const COMMANDS: &[Command] = &[
    command("press", "works everything out and makes the site, all or nothing", Takes::Nothing, press::PRESS),
    command("proof", "works everything out and writes nothing: every fault in one run", Takes::Nothing, press::PROOF),
    command("stand", "keeps the library open in a browser while somebody edits", Takes::Nothing, stand::STAND),
    command(
        "reckon",
        "works one formula at the counter; without a formula it lists them",
        Takes::Formula,
        reckon::OPTIONS,
    ),
    command(
        "pair",
        "asks whether parts on the shelf go together; without parts it lists the shelf",
        Takes::Parts,
        pair::OPTIONS,
    ),
    command(
        "where-used",
        "says which sheets and figures rest on a figure, a part, a formula, a page",
        Takes::Names,
        where_used::OPTIONS,
    ),
    command(
        "drift",
        "shows which published figures differ from the signed register, and why",
        Takes::Nothing,
        drift::OPTIONS,
    ),
    command("sign", "accepts the drift into the register, with initials and a reason", Takes::Sheets, sign::OPTIONS),
    command("begin", "starts a guide or a reply, with the next sheet number", Takes::Page, begin::OPTIONS),
    command("fit-out", "lays down a starter library in a new folder", Takes::Folder, fit_out::FIT_OUT),
    command(
        "meaning",
        "says what a key, block, formula, kind, unit, part or fault id means",
        Takes::Word,
        meaning::OPTIONS,
    ),
];

const fn command(name: &'static str, about: &'static str, takes: Takes, options: &'static [OptionOf]) -> Command {
    Command { name, about, takes, options }
}

impl Command {
    /// How it is written: `locknut reckon FORMULA name=value ...`.
    #[must_use]
    pub fn form(&self) -> String {
        let words = self.takes.words();
        format!("locknut {}{}{words}", self.name, if words.is_empty() { "" } else { " " })
    }
}

impl Takes {
    /// The words as they stand in a form.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Nothing => "",
            Self::Formula => "FORMULA name=value ...",
            Self::Parts => "PART PART ...",
            Self::Folder => "DIR",
            Self::Word => "WORD",
            Self::Names => "NAME ...",
            Self::Sheets => "[SHEET ...]",
            Self::Page => "guide TOPIC NAME | reply [NAME]",
        }
    }
}

/// What the program is for.
pub const PURPOSE: &str = "Publishes a bicycle workshop's own service guides, every figure worked out at each press.";

/// The overview.
#[must_use]
pub fn text(width: usize) -> String {
    let mut out = String::from("locknut COMMAND ...\n\n");
    write_wrapped(&mut out, PURPOSE, 0, width);
    out.push('\n');
    let longest = COMMANDS.iter().map(|command| command.name.len()).max().unwrap_or(0);
    for command in COMMANDS {
        write_hanging(&mut out, &format!("  {}", command.name), command.about, longest + 4, width);
    }
    out.push('\n');
    let more = "locknut COMMAND --help says more of one; locknut meaning WORD says what a word means.";
    write_wrapped(&mut out, more, 0, width);
    out
}

/// The fault of a word that is no command.
#[must_use]
pub fn unknown(word: &Mapped) -> Fault {
    let names = || COMMANDS.iter().map(|command| command.name);
    let fault = Fault::new(id::UNKNOWN_COMMAND, word.whole(), format!("there is no command {}", word.text()))
        .found(word.text())
        .allowed(names().collect::<Vec<_>>().join(", "));
    let cure =
        if word.text().starts_with('-') { "write the command first, then its options" } else { "use one of these" };
    fault.nearest(word.text(), names(), cure)
}
