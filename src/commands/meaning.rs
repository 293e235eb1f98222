//! `locknut meaning`: what a word means, and what is made from the same tables: schemas for editors, completion for
//! shells, the manual page.

use super::completion::SHELLS;
use super::line::{Line, OptionOf};
use super::press::{HELP, LIBRARY};
use super::terminal::{self, write_options, write_wrapped};
use super::{Exit, lists, man, open, print, refuse};
use crate::fault::{Fault, id};
use crate::library::schema;
use crate::meaning::{self, Reach};
use crate::text::{Mapped, count};
use serde_json::json;
use std::fs;
use std::path::Path;

/// What `meaning` takes.
pub const OPTIONS: &[OptionOf] = &[
    OptionOf { name: "--json", value: None, about: "gives the meanings, or the faults, as data" },
    LIBRARY,
    OptionOf { name: "--list", value: Some("SORT"), about: "lists the words of one sort, one a line" },
    OptionOf {
        name: "--schemas",
        value: Some("DIR"),
        about: "writes a JSON Schema for each sort of file and block, for editors",
    },
    OptionOf { name: "--completion", value: Some("SHELL"), about: "prints the completion for bash, zsh or fish" },
    OptionOf { name: "--man", value: None, about: "prints the manual page, for man" },
    HELP,
];

/// Runs `meaning`.
#[must_use]
pub fn run(arguments: &[String]) -> Exit {
    let line = match open("meaning", arguments, OPTIONS, help) {
        Ok(line) => line,
        Err(exit) => return exit,
    };
    if line.has("--man") {
        print(&man::page());
        return Exit::Done;
    }
    if let Some(folder) = line.value("--schemas") {
        return write_schemas(Path::new(folder.text()));
    }
    let json = line.has("--json");
    let reach = Reach::of(line.library());
    match answer(&line, &reach, json) {
        Ok(text) => {
            print(&text);
            Exit::Done
        }
        Err(fault) => refuse(&[fault], &line.source, json),
    }
}

fn answer(line: &Line, reach: &Reach, json: bool) -> Result<String, Fault> {
    if let Some(shell) = line.value("--completion") {
        return completion(shell);
    }
    if let Some(sort) = line.value("--list") {
        let words = lists::words(reach, sort, line.words.first())?;
        return Ok(if json {
            format!("{}\n", json!({ "words": words }))
        } else {
            words.iter().map(|word| format!("{word}\n")).collect()
        });
    }
    let [first, rest @ ..] = &line.words[..] else {
        return Ok(if json {
            format!("{}\n", json!({ "words": reach.all_words() }))
        } else {
            meaning::overview(reach, terminal::width())
        });
    };
    // Some words are several: `fits with limits`.
    let word = rest.iter().fold(first.text().trim().to_owned(), |all, word| format!("{all} {}", word.text().trim()));
    let found = reach.meanings(&word);
    if found.is_empty() {
        let span = rest.last().map_or(first.whole(), |last| first.whole().to(last.whole()));
        let words = reach.all_words();
        let fault = Fault::new(id::NO_MEANING, span, format!("nothing here is called {word}")).found(word.as_str());
        let cure = "locknut meaning alone lists what can be asked";
        return Err(fault.nearest(&word, words.iter().map(String::as_str), cure));
    }
    Ok(if json { format!("{}\n", meaning::data(&word, &found)) } else { meaning::text(&found, terminal::width()) })
}

/// The script for a shell.
fn completion(shell: &Mapped) -> Result<String, Fault> {
    let name = shell.text().trim();
    let names = || SHELLS.iter().map(|(name, _)| *name);
    if let Some((_, script)) = SHELLS.iter().find(|(known, _)| *known == name) {
        return Ok(script());
    }
    let fault = Fault::new(id::OPTION_VALUE, shell.whole(), format!("there is no completion for {name}")).found(name);
    Err(fault.allowed(names().collect::<Vec<_>>().join(", ")).nearest(name, names(), "name one of these shells"))
}

fn write_schemas(folder: &Path) -> Exit {
    let files = schema::files();
    let written = fs::create_dir_all(folder).and_then(|()| {
        files.iter().try_for_each(|(name, schema)| fs::write(folder.join(name), format!("{schema:#}\n")))
    });
    if let Err(error) = written {
        super::complain(&format!(
            "can't write {}: {error}\n  Do:      check the disk and your rights there",
            folder.display()
        ));
        return Exit::Machine;
    }
    print(&format!("Wrote {} into {}.\n", count(files.len(), "schema"), folder.display()));
    Exit::Done
}

fn help() -> String {
    let width = terminal::width();
    let mut out = String::from("locknut meaning WORD\n\n");
    let about = "Says what a word means: a key of any file, a block, a formula or its inputs, a kind, a unit, a \
                 function, a family of parts, an attribute, a rule, a drawing, a hazard, a topic, a command or a fault. \
                 Where a word has several meanings all are told. Without a word it lists what can be asked.";
    write_wrapped(&mut out, about, 0, width);
    out.push('\n');
    write_options(&mut out, OPTIONS, width);
    out.push_str("\n  locknut meaning hazards\n  locknut meaning out-of-range\n  locknut meaning psi\n");
    out
}
