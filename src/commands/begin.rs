//! `locknut begin`: a guide or a reply started, with its front matter filled in and the next sheet number taken.
//!
//! Words in, one new file out. Nothing that stands on the disk is ever written over.

use super::ask::ask;
use super::known::{Known, Refusal};
use super::line::{Line, OptionOf, for_a_shell};
use super::press::{HELP, LIBRARY};
use super::save::write_new;
use super::terminal::{self, write_options, write_wrapped};
use super::{Exit, open, print, refuse};
use crate::fault::{Fault, id};
use crate::library::Kept;
use crate::library::begun::{Begun, next_number, working_name};
use crate::library::check_topic;
use crate::library::date::{Date, bad_date};
use crate::library::files::{FileProblem, Files};
use crate::mechanics::formula::Formula;
use crate::text::{Mapped, Span, Spanned};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// What `begin` takes.
pub const OPTIONS: &[OptionOf] = &[
    OptionOf { name: "--title", value: Some("WORDS"), about: "what the guide is called" },
    OptionOf { name: "--formula", value: Some("FORMULA"), about: "a reply with a working of this formula" },
    OptionOf {
        name: "--question",
        value: Some("WORDS"),
        about: "a reply to this question; its words find the formula where none is named",
    },
    OptionOf { name: "--by", value: Some("NAME"), about: "who writes it; asked for on a terminal" },
    OptionOf { name: "--on", value: Some("DATE"), about: "the day of issue; today where it is left out" },
    LIBRARY,
    HELP,
];

/// Why nothing was begun.
enum Problem {
    Words(Vec<Fault>),
    Refused(Refusal),
    File(FileProblem),
    Write(PathBuf, io::Error),
}

impl From<Fault> for Problem {
    fn from(fault: Fault) -> Self {
        Self::Words(vec![fault])
    }
}

impl From<FileProblem> for Problem {
    fn from(problem: FileProblem) -> Self {
        Self::File(problem)
    }
}

/// Runs `begin`.
#[must_use]
pub fn run(arguments: &[String]) -> Exit {
    let line = match open("begin", arguments, OPTIONS, help) {
        Ok(line) => line,
        Err(exit) => return exit,
    };
    let root = line.library();
    let known = match Known::read(line.value("--library")) {
        Ok(known) => known,
        Err(problem) => return machine(&Problem::File(problem)),
    };
    match begin(&line, &root, &known) {
        Ok(said) => {
            print(&said);
            Exit::Done
        }
        Err(Problem::Words(faults)) => refuse(&faults, &line.source, false),
        Err(Problem::Refused(refusal)) => refusal.tell(&line, false),
        Err(problem) => machine(&problem),
    }
}

fn machine(problem: &Problem) -> Exit {
    match problem {
        Problem::File(problem) => super::complain(&problem.to_string()),
        Problem::Write(path, error) => {
            super::complain(&format!(
                "can't write {}: {error}\n  Do:      check the disk and your rights there",
                path.display()
            ));
        }
        Problem::Words(_) | Problem::Refused(_) => {}
    }
    Exit::Machine
}

fn begin(line: &Line, root: &Path, known: &Known) -> Result<String, Problem> {
    match line.words.first().map(|word| (word, word.text())) {
        Some((_, "guide")) => begin_guide(line, root),
        Some((_, "reply")) => begin_reply(line, root, known),
        Some((word, text)) => {
            let fault =
                Fault::new(id::UNKNOWN_WORD, word.whole(), format!("begin starts a guide or a reply, no {text}"));
            Err(fault
                .found(text)
                .allowed("guide, reply")
                .nearest(text, ["guide", "reply"], "write one of these")
                .into())
        }
        None => Err(not_told(line, "begin has to be told what to start", "guide TOPIC NAME, or reply").into()),
    }
}

fn begin_guide(line: &Line, root: &Path) -> Result<String, Problem> {
    let [_, topic, name] = &line.words[..] else {
        return Err(
            not_told(line, "a guide has a topic and a name", "locknut begin guide drivetrain clean-the-cage").into()
        );
    };
    let mut faults = Vec::new();
    check_topic(&Spanned::new(topic.text().to_owned(), topic.whole()), &mut faults);
    faults.extend(check_name(name));
    for key in ["--formula", "--question"] {
        let of_replies = |text: &Mapped| {
            Fault::new(id::UNKNOWN_OPTION, text.whole(), format!("{key} is for replies"))
                .found(text.text())
                .cure("leave it out, or begin a reply")
        };
        faults.extend(line.value(key).map(of_replies));
    }
    if !faults.is_empty() {
        return Err(Problem::Words(faults));
    }
    let path = format!("content/guides/{}/{}.md", topic.text(), name.text());
    check_free(root, &path, name.whole())?;
    let files = Files::read(root, &mut Kept::default())?;
    let on = day(line)?;
    let title = told(line, "--title", "What is the guide called?", "a guide needs a title")?;
    let by = told(line, "--by", "Who writes it?", "nobody is said to write it")?;
    let number = next_number(&files.sources, Some(topic.text()));
    let begun = Begun { is_reply: false, title: &title, topic: topic.text(), number, by: &by, on, working: None };
    write(root, &path, &begun, name.whole())?;
    Ok(said(line, &path, &begun, ""))
}

fn begin_reply(line: &Line, root: &Path, known: &Known) -> Result<String, Problem> {
    if let Some(title) = line.value("--title") {
        let fault =
            Fault::new(id::UNKNOWN_OPTION, title.whole(), "the title of a reply is its question").found(title.text());
        return Err(fault.cure("write --question in place of --title").into());
    }
    if let Some(word) = line.words.get(2) {
        let fault = Fault::new(id::NOT_A_WORD, word.whole(), "a reply takes one name").found(word.text());
        return Err(fault.cure("put the question in quotes after --question").into());
    }
    let mut question = line.value("--question").cloned();
    if question.is_none() && !line.has("--formula") {
        let typed = ask("What does the rider ask?").ok().flatten();
        question = typed.map(|words| Mapped::verbatim(words, line.whole().end));
    }
    let (formula, how) = formula_of(line, question.as_ref(), known)?;
    let question = question.map(|text| text.text().trim().to_owned());
    let title = match (&question, &formula) {
        (Some(question), _) if !question.is_empty() => question.clone(),
        (_, Some(formula)) => formula.question.clone(),
        _ => {
            return Err(missing(
                line,
                "a reply needs a question or a formula",
                "--question WORDS or --formula FORMULA",
            )
            .into());
        }
    };
    let (name, span) = match line.words.get(1) {
        Some(word) => {
            if let Some(fault) = check_name(word) {
                return Err(fault.into());
            }
            (word.text().to_owned(), word.whole())
        }
        None => (name_of(&title, formula.as_ref().filter(|_| question.is_none())), line.whole()),
    };
    let path = format!("content/replies/{name}.md");
    check_free(root, &path, span)?;
    let files = Files::read(root, &mut Kept::default())?;
    let on = day(line)?;
    let by = told(line, "--by", "Who writes it?", "nobody is said to write it")?;
    let taken = names_taken(&files);
    let topic = formula.as_ref().map_or("", |formula| topic_of(formula));
    let working = formula.as_ref().map(|formula| (formula, working_name(formula, &taken)));
    let number = next_number(&files.sources, None);
    let begun = Begun { is_reply: true, title: &title, topic, number, by: &by, on, working };
    write(root, &path, &begun, span)?;
    Ok(said(line, &path, &begun, &how))
}

/// The formula that a reply works: the one that is named, or the best of those that the question's words find; with what
/// is to be said about it.
fn formula_of(line: &Line, question: Option<&Mapped>, known: &Known) -> Result<(Option<Formula>, String), Problem> {
    let refused = Problem::Refused;
    if let Some(word) = line.value("--formula") {
        return Ok((Some(known.formula(word).map_err(refused)?), String::new()));
    }
    let Some(words) = question else { return Ok((None, String::new())) };
    let Ok(found) = known.find(words) else {
        let none = "No formula holds these words, so the page has no working yet; locknut reckon lists the formulas.\n";
        return Ok((None, none.to_owned()));
    };
    let best = Mapped::verbatim(found[0].id.as_str(), words.whole().start);
    let formula = known.formula(&best).map_err(refused)?;
    let mut how = format!("It works {}: {}\n", formula.id, formula.question);
    let others: Vec<&str> = found.iter().skip(1).take(3).map(|card| card.id.as_str()).collect();
    if !others.is_empty() {
        how.push_str(&format!("If that is not what was asked: {}.\n", others.join(", ")));
    }
    Ok((Some(formula), how))
}

/// A formula's topic, where it is one of the library's.
fn topic_of(formula: &Formula) -> &str {
    let topics = crate::library::guide::TOPICS;
    if topics.iter().any(|(topic, _)| *topic == formula.topic) { &formula.topic } else { "" }
}

/// The names that no working may have: subjects of stated figures, and bikes.
fn names_taken(files: &Files) -> Vec<String> {
    let stem = |name: &str| Some(Path::new(name).file_stem()?.to_string_lossy().into_owned());
    let named = |name: &&str| name.starts_with("content/stated/") || name.starts_with("content/bikes/");
    files.sources.iter().map(|source| source.name.as_str()).filter(named).filter_map(stem).collect()
}

/// A file's name, held to what an address can be.
fn check_name(name: &Mapped) -> Option<Fault> {
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-' || c == '_';
    let fits = !name.text().is_empty() && name.text().chars().all(plain);
    (!fits).then(|| {
        let fault =
            Fault::new(id::FILE_NAME, name.whole(), "the name of this file can't be an address").found(name.text());
        let slug = slug(name.text());
        let cure =
            if slug.is_empty() { "write a few words, joined by hyphens".to_owned() } else { format!("write {slug}") };
        fault.allowed("small letters, digits and hyphens, such as chain-wear").cure(cure)
    })
}

/// A reply's own name: its formula's, or the first words of its question.
fn name_of(title: &str, formula: Option<&Formula>) -> String {
    let name = formula.map_or_else(|| slug(title), |formula| formula.id.clone());
    if name.is_empty() { "reply".to_owned() } else { name }
}

/// The first words of a text, as an address has them.
fn slug(text: &str) -> String {
    let lower = text.to_lowercase();
    let words = lower.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty());
    words.take(MOST_WORDS).collect::<Vec<_>>().join("-")
}

/// A longer name helps nobody.
const MOST_WORDS: usize = 7;

/// A page that stands there already is left as it is.
fn check_free(root: &Path, path: &str, span: Span) -> Result<(), Problem> {
    if fs::symlink_metadata(root.join(path)).is_err() {
        return Ok(());
    }
    Err(taken(path, span).into())
}

fn taken(path: &str, span: Span) -> Fault {
    Fault::new(id::FILE_TAKEN, span, "this page is there already, and stays as it is")
        .found(path)
        .cure("give the new one another name")
}

fn day(line: &Line) -> Result<Date, Fault> {
    match line.value("--on") {
        None => Ok(Date::today()),
        Some(text) => Date::parse(text.text().trim()).ok_or_else(|| bad_date(text.text(), text.whole())),
    }
}

/// What an option says, or somebody at the terminal.
fn told(line: &Line, option: &str, question: &str, missing: &str) -> Result<String, Fault> {
    let given = line.value(option).map(|text| text.text().trim().to_owned()).filter(|text| !text.is_empty());
    let what = OPTIONS.iter().find(|known| known.name == option).and_then(|known| known.value).unwrap_or_default();
    given
        .or_else(|| ask(question).ok().flatten())
        .ok_or_else(|| self::missing(line, missing, &format!("{option} {what}")))
}

/// The fault of an option that is not given, and that nobody can be asked for.
fn missing(line: &Line, message: &str, wanted: &str) -> Fault {
    Fault::new(id::MISSING_OPTION, line.whole(), message).cure(format!("write {wanted}"))
}

/// The fault of words that are missing.
fn not_told(line: &Line, message: &str, wanted: &str) -> Fault {
    Fault::new(id::NOT_A_WORD, line.whole(), message).cure(format!("write {wanted}"))
}

fn write(root: &Path, path: &str, begun: &Begun<'_>, span: Span) -> Result<(), Problem> {
    let file = root.join(path);
    match write_new(&file, &begun.text()) {
        Ok(true) => Ok(()),
        // Somebody else began the same page just now.
        Ok(false) => Err(taken(path, span).into()),
        Err(error) => Err(Problem::Write(file, error)),
    }
}

fn said(line: &Line, path: &str, begun: &Begun<'_>, how: &str) -> String {
    let library =
        line.value("--library").map_or(String::new(), |text| format!(" --library {}", for_a_shell(text.text())));
    let mut out = String::new();
    let began = format!("Began {path}, sheet {}:\na draft until somebody approves it.", begun.number);
    for text in began.lines().chain(how.lines()) {
        write_wrapped(&mut out, text, 0, terminal::width());
    }
    out.push_str(&format!("Next: locknut stand{library}\n"));
    out
}

fn help() -> String {
    let width = terminal::width();
    let mut out = String::from("locknut begin guide TOPIC NAME\nlocknut begin reply [NAME]\n\n");
    let about = "Starts a page: front matter filled in, the next sheet number of the topic's series taken. A reply is begun \
                 from a formula, with a working of its example, or from a rider's question. Nothing that is there is \
                 written over.";
    write_wrapped(&mut out, about, 0, width);
    out.push('\n');
    write_options(&mut out, OPTIONS, width);
    out.push_str("\n  locknut begin guide drivetrain clean-the-cage --title \"Clean the cage\" --by \"R. Pell\"\n");
    out.push_str("  locknut begin reply --formula chain-length --by \"R. Pell\"\n");
    out.push_str("  locknut begin reply --question \"Is my chain worn?\" --by \"R. Pell\"\n");
    out
}
