//! `locknut fit-out DIR`: the starter library laid down in a new folder.

use super::line::{Line, OptionOf};
use super::terminal::{self, write_options, write_wrapped};
use super::{Exit, print, refuse};
use crate::bundled::CONTENT;
use crate::fault::{Fault, id};
use crate::text::count;
use std::path::Path;
use std::{fs, io};

/// What `fit-out` takes.
pub const FIT_OUT: &[OptionOf] = &[super::press::HELP];

/// Runs `fit-out`.
#[must_use]
pub fn run(arguments: &[String]) -> Exit {
    let line = match Line::read("locknut fit-out", arguments, FIT_OUT) {
        Ok(line) => line,
        Err((source, faults)) => return refuse(&faults, &source, false),
    };
    if line.has("--help") {
        print(&help());
        return Exit::Done;
    }
    let [folder] = &line.words[..] else {
        let (span, message) = match line.words.get(1) {
            Some(second) => (second.whole(), "fit-out takes one folder"),
            None => (line.whole(), "fit-out needs a folder"),
        };
        let fault = Fault::new(id::NOT_A_WORD, span, message)
            .allowed("locknut fit-out DIR")
            .cure("name the folder of the new library");
        return refuse(&[fault], &line.source, false);
    };
    let folder = Path::new(folder.text());
    if folder.read_dir().is_ok_and(|mut entries| entries.next().is_some()) || folder.is_file() {
        eprintln!(
            "locknut: {} holds something already, so it is left alone\n  Do:      name a new or an empty folder",
            folder.display()
        );
        return Exit::Machine;
    }
    match lay_down(folder) {
        Ok(()) => {
            let files = count(CONTENT.len(), "file");
            let folder = folder.display();
            print(&format!(
                "Laid down {files} in {folder}/content.\nPut your shop into {folder}/content/shop.yaml, then: locknut stand --library {folder}\n"
            ));
            Exit::Done
        }
        Err(error) => {
            eprintln!(
                "locknut: can't write {}: {error}\n  Do:      check the disk and your rights there",
                folder.display()
            );
            Exit::Machine
        }
    }
}

fn lay_down(folder: &Path) -> io::Result<()> {
    for (path, bytes) in CONTENT {
        let path = folder.join("content").join(path);
        if let Some(parent) = path.parent() {
            fs::create_dir_all(parent)?;
        }
        fs::write(path, bytes)?;
    }
    Ok(())
}

fn help() -> String {
    let width = terminal::width();
    let mut out = String::from("locknut fit-out DIR\n\n");
    let about = "Lays down a starter library in a new folder: an invented shop with guides, replies and stated figures \
                 to be changed into your own. Theme and drawings come with the program; a file of the same name under \
                 DIR/themes or DIR/diagrams stands in for one.";
    write_wrapped(&mut out, about, 0, width);
    out.push('\n');
    write_options(&mut out, FIT_OUT, width);
    out
}
