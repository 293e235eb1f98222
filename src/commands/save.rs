//! `--save NAME`: an answer of the counter kept as a draft reply, `content/replies/NAME.md`.
//!
//! A page's parts in, one new file out: written beside its place and moved there by one rename that never replaces. The
//! draft has the next free number of a reply and nobody's approval, so no press takes it along before somebody has read it.

use super::ask::Left;
use super::bench::Bench;
use super::known::Refusal;
use super::line::{Line, OptionOf};
use super::terminal::{self, write_wrapped};
use crate::fault::{Fault, id};
use crate::library::begun::next_number;
use crate::library::date::{Date, bad_date};
use crate::library::files::FileProblem;
use crate::text::{Mapped, Span};
use rustix::fs::{CWD, RenameFlags, renameat_with};
use std::fmt::Write as _;
use std::fs::{self, File};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

/// What commands that save take besides.
pub(super) const SAVE: OptionOf =
    OptionOf { name: "--save", value: Some("NAME"), about: "keeps it as a draft reply, content/replies/NAME.md" };
/// Who prepares the draft.
pub(super) const BY: OptionOf =
    OptionOf { name: "--by", value: Some("WHO"), about: "who prepared the draft; asked for at a terminal" };
/// The day of the draft.
pub(super) const ON: OptionOf =
    OptionOf { name: "--on", value: Some("DATE"), about: "the draft's day; today where it is left out" };

/// What is asked for where the line doesn't say who prepared the draft.
pub(super) const WHO: &str = "Whose name stands on the draft as the one who prepared it?";

/// Where a draft goes, and what of it is known before the answer is.
#[derive(Debug)]
pub(super) struct Plan {
    /// The page's path below the library's folder.
    pub(super) file: String,
    /// Its number.
    pub(super) number: String,
    /// Who prepares it, where that was said.
    pub(super) prepared_by: Option<String>,
    path: PathBuf,
    issued: Date,
    /// Where the line names the page.
    name: Span,
}

/// What stands on a draft.
#[derive(Debug, Default)]
pub(super) struct Page {
    /// The question.
    pub(super) title: String,
    /// The answer in a sentence.
    pub(super) summary: String,
    /// Its topic; empty where it has none.
    pub(super) topic: String,
    /// The hazards that bring standing cautions.
    pub(super) hazards: Vec<&'static str>,
    /// Names that only look like figures.
    pub(super) nominal: Vec<String>,
    /// The bike that `bike.…` stands for.
    pub(super) bike: Option<String>,
    /// All below the front matter.
    pub(super) body: String,
}

impl Plan {
    /// What the line asks to be saved; nothing where it doesn't.
    ///
    /// # Errors
    /// A name that is no page's or is taken, a day that is none, and nobody named where nobody can be asked.
    pub(super) fn of(line: &Line, bench: &Bench, asks: bool) -> Result<Option<Self>, Vec<Fault>> {
        let Some(name) = line.value(SAVE.name) else {
            let alone = [BY, ON].into_iter().filter_map(|option| Some((option.name, line.place_of(option.name)?)));
            let faults: Vec<Fault> = alone.map(|(option, span)| goes_with_save(option, span)).collect();
            return if faults.is_empty() { Ok(None) } else { Err(faults) };
        };
        let mut faults = Vec::new();
        let stem = name.text().trim();
        let stem = stem.strip_suffix(".md").unwrap_or(stem);
        faults.extend(check_name(stem, name));
        let file = format!("content/replies/{stem}.md");
        let path = bench.root.join("content").join("replies").join(format!("{stem}.md"));
        if faults.is_empty() && path.symlink_metadata().is_ok() {
            faults.push(taken(&file, name.whole()));
        }
        let issued = line.value(ON.name).map_or(Some(Date::today()), |text| Date::parse(text.text().trim()));
        if let (None, Some(text)) = (issued, line.value(ON.name)) {
            faults.push(bad_date(text.text(), text.whole()));
        }
        let prepared_by = line.value(BY.name).map(|text| text.text().trim().to_owned()).filter(|who| !who.is_empty());
        if prepared_by.is_none() && !asks {
            let fault = Fault::new(id::MISSING_OPTION, name.whole(), "a draft names whoever prepared it");
            faults.push(fault.allowed("--by 'R. Pell'").cure("add --by with a name"));
        }
        match issued {
            Some(issued) if faults.is_empty() => {
                let number = next_number(&bench.sources, None);
                Ok(Some(Self { file, number, prepared_by, path, issued, name: name.whole() }))
            }
            _ => Err(faults),
        }
    }

    /// Writes the draft.
    ///
    /// # Errors
    /// A page that has come there meanwhile, and what the machine can't do.
    pub(super) fn write(&self, page: &Page, prepared_by: &str) -> Result<(), Refusal> {
        let text = self.text(page, prepared_by);
        match write_new(&self.path, &text) {
            Ok(true) => Ok(()),
            Ok(false) => Err(Refusal::Words(vec![taken(&self.file, self.name)])),
            Err(error) => Err(Refusal::Machine(FileProblem::Unreadable(self.path.clone(), error))),
        }
    }

    /// What is said of a draft that was written.
    pub(super) fn done(&self) -> String {
        let text = format!(
            "Saved as {}, a draft of {}. Read it, make it your own, and add approved_by: when it may go out.",
            self.file, self.number
        );
        let mut out = String::new();
        write_wrapped(&mut out, &text, 0, terminal::width());
        out
    }

    fn text(&self, page: &Page, prepared_by: &str) -> String {
        let mut out = String::from("---\n");
        let mut key = |key: &str, value: &str| {
            let _ = writeln!(out, "{key}: {value}");
        };
        key("title", &quoted(&page.title));
        key("summary", &quoted(&page.summary));
        if !page.topic.is_empty() {
            key("topic", &page.topic);
        }
        key("number", &self.number);
        key("revision", "A");
        key("issued", &self.issued.to_string());
        key("prepared_by", &quoted(prepared_by));
        if let Some(bike) = &page.bike {
            key("bike", bike);
        }
        if !page.hazards.is_empty() {
            key("hazards", &format!("[{}]", page.hazards.join(", ")));
        }
        if !page.nominal.is_empty() {
            key("nominal", "");
            for name in &page.nominal {
                let _ = writeln!(out, "  - {}", quoted(name));
            }
        }
        format!("{}---\n\n{}", out.replace("nominal: \n", "nominal:\n"), page.body)
    }
}

/// Who prepared the draft: as the line says, or as somebody answers.
pub(super) fn prepared_by(plan: &Plan, ask: impl FnOnce() -> Result<String, Left>) -> Result<String, Refusal> {
    match &plan.prepared_by {
        Some(who) => Ok(who.clone()),
        None => ask().map_err(|Left(at)| Refusal::Left(at)),
    }
}

fn goes_with_save(option: &str, span: Span) -> Fault {
    Fault::new(id::MISSING_OPTION, span, format!("{option} says something of a draft, and none is saved"))
        .allowed("--save NAME with it")
        .cure(format!("add --save NAME, or leave {option} out"))
}

fn taken(file: &str, span: Span) -> Fault {
    Fault::new(id::FILE_TAKEN, span, "there is a page of this name already, and it is left as it is")
        .found(file)
        .cure("choose another name")
}

/// A page's name stands in its address.
fn check_name(stem: &str, name: &Mapped) -> Option<Fault> {
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-' || c == '_';
    let fits = stem.starts_with(|c: char| c.is_ascii_alphanumeric()) && stem.chars().all(plain);
    (!fits).then(|| {
        Fault::new(id::FILE_NAME, name.whole(), "this name can't be part of an address")
            .found(name.text())
            .allowed("small letters, digits and hyphens, such as longer-chain")
            .cure("write such a name, without a folder before it")
    })
}

/// A text in the quotes of YAML.
pub(super) fn quoted(text: &str) -> String {
    let text: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

/// Writes a new file whole, by one rename; false where something is there already.
pub(super) fn write_new(path: &Path, text: &str) -> io::Result<bool> {
    let folder = path.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder)?;
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    // A hidden name is none of the library's while the file is still being written.
    let beside = folder.join(format!(".{name}.{}.tmp", std::process::id()));
    let written = File::create(&beside).and_then(|mut file| {
        file.write_all(text.as_bytes())?;
        file.sync_all()
    });
    let moved = written.and_then(|()| move_new(&beside, path));
    if !matches!(moved, Ok(true)) {
        let _ = fs::remove_file(&beside);
    }
    moved
}

fn move_new(from: &Path, to: &Path) -> io::Result<bool> {
    match renameat_with(CWD, from, CWD, to, RenameFlags::NOREPLACE) {
        Ok(()) => Ok(true),
        Err(rustix::io::Errno::EXIST) => Ok(false),
        // Not every file system can refuse to replace.
        Err(rustix::io::Errno::INVAL | rustix::io::Errno::NOSYS | rustix::io::Errno::NOTSUP) => {
            if to.symlink_metadata().is_ok() {
                return Ok(false);
            }
            fs::rename(from, to).map(|()| true)
        }
        Err(error) => Err(error.into()),
    }
}

#[cfg(test)]
mod tests {
    use super::{quoted, write_new};
    use std::fs;

    #[test]
    fn what_is_there_is_never_replaced() {
        let folder = std::env::temp_dir().join(format!("locknut-save-{}", std::process::id()));
        let path = folder.join("replies/a.md");
        assert!(write_new(&path, "one\n").expect("it is written"));
        assert!(!write_new(&path, "two\n").expect("it is refused"));
        assert_eq!(fs::read_to_string(&path).expect("the page"), "one\n");
        assert_eq!(fs::read_dir(folder.join("replies")).expect("the folder").count(), 1, "nothing is left beside it");
        fs::remove_dir_all(&folder).expect("nothing is left");
    }

    #[test]
    fn a_quoted_text_is_read_back_as_it_was() {
        for text in ["is it: \"so\"?", "a \\ b # c", "(=answer.links)"] {
            let yaml = format!("title: {}\n", quoted(text));
            let node = crate::yaml::parse(&crate::text::Mapped::verbatim(yaml.as_str(), 0)).expect("YAML");
            let entry = &node.as_map().expect("a map")[0];
            assert_eq!(entry.value.text().expect("a text").text(), text);
        }
    }
}
