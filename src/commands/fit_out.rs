//! `locknut fit-out DIR`: the starter library laid down in a new folder, under the shop's own name.
//!
//! Of the bundled files only `shop.yaml` is changed, line by line: what belongs to the invented shop (its address, hours
//! and site) goes where a name was given, and how it publishes stays.

use super::ask::ask;
use super::line::{Line, OptionOf, for_a_shell};
use super::terminal::{self, write_options, write_wrapped};
use super::{Exit, open, print, refuse};
use crate::bundled::CONTENT;
use crate::fault::{Fault, id};
use crate::text::{Mapped, count};
use crate::yaml::scalar;
use std::path::Path;
use std::{fs, io};

/// What `fit-out` takes.
pub const FIT_OUT: &[OptionOf] = &[
    OptionOf { name: "--name", value: Some("WORDS"), about: "the shop's name; asked for on a terminal" },
    OptionOf { name: "--place", value: Some("WORDS"), about: "the shop's town; may be left out" },
    OptionOf { name: "--phone", value: Some("NUMBER"), about: "the number to ring; may be left out" },
    super::press::HELP,
];

/// Whose library it is to be.
#[derive(Debug, Default)]
struct Whose {
    name: String,
    place: Option<String>,
    phone: Option<String>,
}

/// Runs `fit-out`.
#[must_use]
pub fn run(arguments: &[String]) -> Exit {
    let line = match open("fit-out", arguments, FIT_OUT, help) {
        Ok(line) => line,
        Err(exit) => return exit,
    };
    let folder = match folder_of(&line) {
        Ok(text) => Path::new(text.text()),
        Err(fault) => return refuse(&[fault], &line.source, false),
    };
    // What can't be looked into may hold anything; only a folder that isn't there or is empty is written to.
    let is_free = match folder.read_dir() {
        Ok(mut entries) => entries.next().is_none(),
        Err(error) => error.kind() == io::ErrorKind::NotFound && folder.symlink_metadata().is_err(),
    };
    if folder.exists() && !folder.is_dir() {
        super::complain(&format!(
            "{} is a file, and a folder is wanted\n  Do:      name a new or an empty folder",
            folder.display()
        ));
        return Exit::Machine;
    }
    if !is_free {
        super::complain(&format!(
            "{} holds something already, so it is left alone\n  Do:      name a new or an empty folder",
            folder.display()
        ));
        return Exit::Machine;
    }
    let whose = match whose(&line) {
        Ok(Answered::Shop(whose)) => Some(whose),
        Ok(Answered::Demo) => None,
        Ok(Answered::Left) => {
            eprintln!("Left before all was answered: nothing was laid down.");
            return Exit::Words;
        }
        Err(fault) => return refuse(&[fault], &line.source, false),
    };
    match lay_down(folder, whose.as_ref()) {
        Ok(()) => {
            print(&said(folder, whose.as_ref()));
            Exit::Done
        }
        Err(error) => {
            super::complain(&format!(
                "can't write {}: {error}\n  Do:      check the disk and your rights there",
                folder.display()
            ));
            Exit::Machine
        }
    }
}

fn folder_of(line: &Line) -> Result<&Mapped, Fault> {
    let (span, message) = match &line.words[..] {
        [folder] if folder.text().trim().is_empty() => (folder.whole(), "this names no folder"),
        [folder] => return Ok(folder),
        [_, second, ..] => (second.whole(), "fit-out takes one folder"),
        [] => (line.whole(), "fit-out needs a folder"),
    };
    Err(Fault::new(id::NOT_A_WORD, span, message)
        .allowed("locknut fit-out DIR")
        .cure("name the folder of the new library"))
}

/// What became of the questions.
enum Answered {
    /// A shop was named.
    Shop(Whose),
    /// The demo shop stays.
    Demo,
    /// Somebody left before the last.
    Left,
}

/// What the options say, and what somebody at the terminal adds.
fn whose(line: &Line) -> Result<Answered, Fault> {
    if let Some(name) = line.value("--name").filter(|name| name.text().trim().is_empty()) {
        let fault = Fault::new(id::OPTION_VALUE, name.whole(), "--name holds no name");
        return Err(fault.cure("write the shop's name, or leave --name out to keep the demo shop"));
    }
    let given =
        |option: &str| line.value(option).map(|text| text.text().trim().to_owned()).filter(|text| !text.is_empty());
    let told = |option: &str, question: &str| match given(option) {
        Some(text) => Ok(Some(text)),
        None => ask(question),
    };
    let Ok(name) = told("--name", "What is the shop called? (nothing keeps the demo shop)") else {
        return Ok(Answered::Left);
    };
    let Some(name) = name else {
        let alone = ["--place", "--phone"].into_iter().find_map(|option| Some((option, line.value(option)?)));
        return match alone {
            None => Ok(Answered::Demo),
            Some((option, text)) => {
                let fault =
                    Fault::new(id::MISSING_OPTION, text.whole(), format!("{option} is given, and no shop's name"));
                Err(fault.allowed("--name WORDS").cure("write --name and the shop's name too"))
            }
        };
    };
    let Ok(place) = told("--place", "In which town? (may be left empty)") else { return Ok(Answered::Left) };
    let Ok(phone) = told("--phone", "Which number is rung? (may be left empty)") else { return Ok(Answered::Left) };
    Ok(Answered::Shop(Whose { name, place, phone }))
}

fn lay_down(folder: &Path, whose: Option<&Whose>) -> io::Result<()> {
    for (path, bytes) in CONTENT {
        let to = folder.join("content").join(path);
        if let Some(parent) = to.parent() {
            fs::create_dir_all(parent)?;
        }
        match (whose, *path) {
            (Some(whose), "shop.yaml") => fs::write(to, shop(&String::from_utf8_lossy(bytes), whose))?,
            _ => fs::write(to, bytes)?,
        }
    }
    Ok(())
}

/// The shop's file with another name: its keys in their order, what is another shop's own left out.
fn shop(text: &str, whose: &Whose) -> String {
    let mut out = String::from("# The shop that this library belongs to.\n");
    let mut is_dropped = false;
    for line in text.lines() {
        // What is set in belongs to the key above it.
        if line.starts_with(' ') {
            if !is_dropped {
                out.push_str(&format!("{line}\n"));
            }
            continue;
        }
        let key = line.split(':').next().unwrap_or_default();
        let own = match key {
            "name" => Some(format!("name: {}\n", scalar(&whose.name))),
            "place" => Some(whose.place.as_ref().map_or(String::new(), |place| format!("place: {}\n", scalar(place)))),
            "contact" => Some(
                whose.phone.as_ref().map_or(String::new(), |phone| format!("contact:\n  phone: {}\n", scalar(phone))),
            ),
            "site" => Some(String::new()),
            _ if line.starts_with('#') => Some(String::new()),
            _ => None,
        };
        is_dropped = own.is_some();
        out.push_str(&own.unwrap_or_else(|| format!("{line}\n")));
    }
    out
}

fn said(folder: &Path, whose: Option<&Whose>) -> String {
    let files = count(CONTENT.len(), "file");
    let folder = folder.display();
    let next = match whose {
        None => format!("Put your shop into {folder}/content/shop.yaml"),
        Some(whose) => format!(
            "They name {} as the shop. The people who prepared and approved the guides are invented: read each guide, \
             then put your own names there",
            whose.name
        ),
    };
    let mut out = format!("Laid down {files} in {folder}/content.\n");
    write_wrapped(&mut out, &format!("{next}."), 0, terminal::width());
    out.push_str(&format!("Next: locknut stand --library {}\n", for_a_shell(&folder.to_string())));
    out
}

fn help() -> String {
    let width = terminal::width();
    let mut out = String::from("locknut fit-out DIR\n\n");
    let about = "Lays down a starter library in a new folder: guides, replies, parts and stated figures of an invented \
                 shop, to be changed into your own. Theme and drawings come with the program; a file of the same name \
                 under DIR/themes or DIR/diagrams stands in for one.";
    write_wrapped(&mut out, about, 0, width);
    out.push('\n');
    write_options(&mut out, FIT_OUT, width);
    out.push_str("\n  locknut fit-out guides --name \"Tollgate Cycle Works\" --place Ennismouth\n");
    out
}

#[cfg(test)]
mod tests {
    use super::{Whose, shop};

    #[test]
    fn nothing_of_the_other_shop_is_left() {
        let text = "# The other shop.\nname: Old\nplace: There\ncontact:\n  phone: 1\n  hours: 9 to 5\nsite: https://a.example\nunits: {torque: N·m}\n";
        let whose = Whose { name: "Cycles: old & new".to_owned(), ..Whose::default() };
        assert_eq!(
            shop(text, &whose),
            "# The shop that this library belongs to.\nname: \"Cycles: old & new\"\nunits: {torque: N·m}\n"
        );
        let whose = Whose { name: "N".to_owned(), place: Some("P".to_owned()), phone: Some("2".to_owned()) };
        assert_eq!(
            shop(text, &whose),
            "# The shop that this library belongs to.\nname: N\nplace: P\ncontact:\n  phone: 2\nunits: {torque: N·m}\n"
        );
    }
}
