//! `locknut stand`: the library open in a browser while somebody edits.

use super::line::{Line, OptionOf};
use super::terminal::{self, write_options, write_wrapped};
use super::{Exit, print, refuse};
use crate::fault::{Fault, id};
use crate::stand::{StandProblem, stand};
use std::path::PathBuf;

/// The port that is taken where none is named.
const PORT: u16 = 4207;

/// What `stand` takes.
pub const STAND: &[OptionOf] = &[
    super::press::LIBRARY,
    OptionOf {
        name: "--port",
        value: Some("N"),
        about: "the port on this machine; 4207 where it is left out, 0 for any",
    },
    super::press::HELP,
];

/// Runs `stand`.
#[must_use]
pub fn run(arguments: &[String]) -> Exit {
    let line = match Line::read("locknut stand", arguments, STAND) {
        Ok(line) => line,
        Err((source, faults)) => return refuse(&faults, &source, false),
    };
    if line.has("--help") {
        print(&help());
        return Exit::Done;
    }
    if let Some(fault) = line.no_words("stand") {
        return refuse(&[fault], &line.source, false);
    }
    let port = match line.value("--port").map(|text| (text, text.text().parse::<u16>())) {
        None => PORT,
        Some((_, Ok(port))) => port,
        Some((text, Err(_))) => {
            let fault = Fault::new(id::OPTION_VALUE, text.whole(), "this is no port")
                .found(text.text())
                .allowed("a whole number from 0 to 65535")
                .cure("leave --port out, or choose another number");
            return refuse(&[fault], &line.source, false);
        }
    };
    let root = line.value("--library").map_or(PathBuf::from("."), |text| PathBuf::from(text.text()));
    if !root.join("content").is_dir() {
        eprintln!("locknut: {}", crate::library::files::FileProblem::NoShop(root.join("content/shop.yaml")));
        return Exit::Machine;
    }
    match stand(root, port, terminal::width(), print) {
        Ok(()) => Exit::Done,
        Err(StandProblem::Watch(error)) => {
            eprintln!(
                "locknut: can't watch the library's folders: {error}\n  Do:      check your rights there; a machine that watches too many folders already needs a higher limit"
            );
            Exit::Machine
        }
        Err(StandProblem::Port(error)) => {
            eprintln!("locknut: can't stand at port {port}: {error}\n  Do:      name another port with --port N");
            Exit::Machine
        }
    }
}

fn help() -> String {
    let width = terminal::width();
    let mut out = String::from("locknut stand\n\n");
    let about = "Keeps the library open in a browser on this machine; the page on screen follows each save. Pages that \
                 nobody has approved are shown too, and nothing is written.";
    write_wrapped(&mut out, about, 0, width);
    out.push('\n');
    write_options(&mut out, STAND, width);
    out
}
