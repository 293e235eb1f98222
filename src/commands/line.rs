//! The command line as text with places, so that a fault can point into the very argument.
//!
//! Options may stand anywhere; `--name value` and `--name=value` mean the same; `--` ends the options. What an
//! option or word means is the command's own business. (Argument libraries draw their own messages and give no
//! places, so this small reader is our own.)

use crate::diagnostic::{COMMAND_LINE, Source};
use crate::fault::{Fault, id};
use crate::text::{Mapped, Span, Spanned};
use std::path::PathBuf;

/// An option that a command takes.
#[derive(Clone, Copy, Debug)]
pub struct OptionOf {
    /// With its hyphens: `--json`.
    pub name: &'static str,
    /// What its value is called, for options that have one.
    pub value: Option<&'static str>,
    /// What it does, for the help.
    pub about: &'static str,
}

/// What was typed after the command's name, sorted into words and options.
#[derive(Clone, Debug)]
pub struct Line {
    /// The whole line as one text.
    pub source: Source,
    /// The words that are no options.
    pub words: Vec<Mapped>,
    options: Vec<(&'static str, Mapped)>,
}

impl Line {
    /// Sorts the arguments; `command` stands before them in the drawn line.
    ///
    /// # Errors
    /// Every option that the command doesn't take, and every option without its value.
    pub fn read(command: &str, arguments: &[String], known: &[OptionOf]) -> Result<Self, (Source, Vec<Fault>)> {
        let mut source = Source::new(COMMAND_LINE, command);
        let placed: Vec<Mapped> = arguments.iter().map(|argument| place(&mut source.text, argument)).collect();
        let mut line = Self { source, words: Vec::new(), options: Vec::new() };
        let mut faults = Vec::new();
        let mut rest = placed.into_iter();
        let mut ended = false;
        while let Some(argument) = rest.next() {
            if ended || !looks_like_an_option(argument.text()) {
                line.words.push(argument);
            } else if argument.text() == "--" {
                ended = true;
            } else {
                match take_option(&argument, known, &mut rest) {
                    Ok((name, _)) if line.has(name) => faults.push(
                        Fault::new(id::GIVEN_TWICE, argument.whole(), format!("{name} is given twice"))
                            .cure("leave one of the two out"),
                    ),
                    Ok(option) => line.options.push(option),
                    Err(fault) => faults.push(fault),
                }
            }
        }
        if faults.is_empty() { Ok(line) } else { Err((line.source, faults)) }
    }

    /// The arguments as one text, and the first of them with its place, whatever it is.
    #[must_use]
    pub fn first(command: &str, arguments: &[String]) -> (Source, Mapped) {
        let mut source = Source::new(COMMAND_LINE, command);
        let mut placed = arguments.iter().map(|argument| place(&mut source.text, argument)).collect::<Vec<_>>();
        let first = if placed.is_empty() { Mapped::verbatim("", source.text.len()) } else { placed.swap_remove(0) };
        (source, first)
    }

    /// True where a flag was given.
    #[must_use]
    pub fn has(&self, name: &str) -> bool {
        self.value(name).is_some()
    }

    /// The value of an option, if it was given.
    #[must_use]
    pub fn value(&self, name: &str) -> Option<&Mapped> {
        self.options.iter().rev().find(|(option, _)| *option == name).map(|(_, value)| value)
    }

    /// The library's folder: the one named, or this one.
    #[must_use]
    pub fn library(&self) -> PathBuf {
        self.value("--library").map_or_else(|| PathBuf::from("."), |text| PathBuf::from(text.text()))
    }

    /// Where an option's value stands, if it was given.
    #[must_use]
    pub fn place_of(&self, name: &str) -> Option<Span> {
        self.value(name).map(Mapped::whole)
    }

    /// The line as it can be typed again, with more words and without some options.
    #[must_use]
    pub fn again(&self, command: &str, more: &[String], without: &[&str]) -> String {
        let words = self.words.iter().map(Mapped::text).chain(more.iter().map(String::as_str)).map(for_a_shell);
        let options = self.options.iter().filter(|(name, _)| !without.contains(name)).map(|(name, value)| {
            if value.is_empty() { (*name).to_owned() } else { format!("{name} {}", for_a_shell(value.text())) }
        });
        std::iter::once(command.to_owned()).chain(words).chain(options).collect::<Vec<_>>().join(" ")
    }

    /// The whole line's place.
    #[must_use]
    pub fn whole(&self) -> Span {
        Span::new(0, self.source.text.len())
    }

    /// The fault of a word where a command takes options alone.
    #[must_use]
    pub fn no_words(&self, command: &str) -> Option<Fault> {
        let word = self.words.first()?;
        Some(
            Fault::new(id::NOT_A_WORD, word.whole(), format!("{command} takes no words, only options"))
                .found(word.text())
                .cure("leave it out; for another library write --library DIR"),
        )
    }

    /// The words of the form `name=value` from the `first` on.
    ///
    /// # Errors
    /// Every word without an equals sign, those that stand together as one, and every name given twice.
    pub fn pairs(&self, first: usize) -> Result<Vec<(Spanned<String>, Mapped)>, Vec<Fault>> {
        let mut pairs: Vec<(Spanned<String>, Mapped)> = Vec::new();
        let mut faults = Vec::new();
        let words: Vec<&Mapped> = self.words.iter().skip(first).collect();
        for (place, run) in runs(&words) {
            let Some((name, value)) = split_pair(run[0]) else {
                let before = place.checked_sub(1).map(|before| words[before].text());
                faults.push(not_a_pair(run, before));
                continue;
            };
            if pairs.iter().any(|(known, _)| known.value == name.value) {
                faults.push(
                    Fault::new(id::GIVEN_TWICE, name.span, format!("{} is given twice", name.value))
                        .cure("leave one of the two out"),
                );
            }
            pairs.push((name, value));
        }
        if faults.is_empty() { Ok(pairs) } else { Err(faults) }
    }
}

/// Pairs one by one, and what lies between two of them together; each with its place.
fn runs<'w>(words: &'w [&'w Mapped]) -> impl Iterator<Item = (usize, &'w [&'w Mapped])> {
    let mut at = 0;
    std::iter::from_fn(move || {
        let start = at;
        let loose = words[start..].iter().take_while(|word| split_pair(word).is_none()).count();
        at += loose.max(1).min(words.len() - start);
        (at > start).then(|| (start, &words[start..at]))
    })
}

/// Appends an argument to the line, in quotes where it needs them, and says where it stands.
fn place(line: &mut String, argument: &str) -> Mapped {
    let quoted =
        argument.is_empty() || argument.contains(|c: char| c.is_whitespace() || "\"'|&;<>()$`\\*?".contains(c));
    line.push_str(if quoted { " '" } else { " " });
    let start = line.len();
    line.push_str(argument);
    if quoted {
        line.push('\'');
    }
    Mapped::verbatim(argument, start)
}

/// True for two hyphens, and for one with a letter behind it, as other programs shorten their options.
fn looks_like_an_option(text: &str) -> bool {
    text.starts_with("--") || text.strip_prefix('-').is_some_and(|after| after.starts_with(|c: char| c.is_alphabetic()))
}

/// A word as a shell takes it: in single quotes where a sign in it has a meaning of its own.
#[must_use]
pub fn for_a_shell(word: &str) -> String {
    let is_plain = |c: char| c.is_ascii_alphanumeric() || "=._-/,:@%+".contains(c);
    if !word.is_empty() && word.chars().all(is_plain) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', "'\\''"))
    }
}

fn take_option(
    argument: &Mapped,
    known: &[OptionOf],
    rest: &mut impl Iterator<Item = Mapped>,
) -> Result<(&'static str, Mapped), Fault> {
    let text = argument.text();
    let (name, inline) = match text.split_once('=') {
        Some((name, _)) => (name, Some(argument.slice(name.len() + 1..text.len()))),
        None => (text, None),
    };
    let span = argument.span(0..name.len());
    let name = if name == "-h" { "--help" } else { name };
    let Some(option) = known.iter().find(|option| option.name == name) else {
        return Err(unknown_option(name, span, known));
    };
    match (option.value, inline) {
        (None, None) => Ok((option.name, Mapped::verbatim("", span.end))),
        (None, Some(value)) => Err(Fault::new(id::OPTION_VALUE, value.whole(), format!("{name} takes no value"))
            .found(value.text())
            .cure(format!("write {name} alone"))),
        (Some(_), Some(value)) => Ok((option.name, value)),
        // What looks like an option is no value; `--name=--value` gives one all the same.
        (Some(what), None) => rest
            .next()
            .filter(|next| !looks_like_an_option(next.text()))
            .map(|value| (option.name, value))
            .ok_or_else(|| {
                Fault::new(id::OPTION_VALUE, span, format!("{name} has no value")).cure(format!("write {name} {what}"))
            }),
    }
}

fn unknown_option(name: &str, span: Span, known: &[OptionOf]) -> Fault {
    let names = || known.iter().map(|option| option.name);
    let fault = Fault::new(id::UNKNOWN_OPTION, span, format!("this command has no option {name}"))
        .found(name)
        .allowed(names().collect::<Vec<_>>().join(", "));
    if name.starts_with("--") {
        return fault.nearest(name, names(), "leave it out; --help lists what the command takes");
    }
    let mut whole = names().filter(|known| known.trim_start_matches('-').starts_with(name.trim_start_matches('-')));
    match (whole.next(), whole.next()) {
        (Some(one), None) => fault.cure(format!("did you mean {one}?")),
        _ => fault.cure("write an option in full, with two hyphens; --help lists what the command takes"),
    }
}

fn split_pair(word: &Mapped) -> Option<(Spanned<String>, Mapped)> {
    let text = word.text();
    let (name, value) = text.split_once('=').filter(|(name, _)| !name.trim().is_empty())?;
    let span = word.span(0..name.len());
    let value = word.slice(text.len() - value.len()..text.len());
    Some((Spanned::new(name.trim().to_owned(), span), value))
}

/// The fault of words that stand where `name=value` is wanted, with the pair `before` them: spaces round the equals
/// sign, no sign at all, or a value that was cut at its spaces.
fn not_a_pair(run: &[&Mapped], before: Option<&str>) -> Fault {
    let texts: Vec<&str> = run.iter().map(|word| word.text()).collect();
    let span = run.iter().fold(run[0].whole(), |span, word| span.to(word.whole()));
    let fault = Fault::new(id::NOT_A_PAIR, span, "a value is given as name=value").found(texts.join(" "));
    let begins = |text: &str, like: fn(char) -> bool| text.starts_with(like);
    let value = match &texts[..] {
        [name, "=", value @ ..] | [name, value @ ..] if begins(name, char::is_alphabetic) => {
            Some((*name, value.join(" ")))
        }
        _ => None,
    };
    let value = value.map(|(name, value)| (name, value.trim_start_matches('=').to_owned()));
    match (value, before) {
        (Some((name, value)), _) if begins(&value, |c| c.is_ascii_digit()) => {
            fault.cure(format!("write {}", for_a_shell(&format!("{name}={value}"))))
        }
        (_, Some(before)) if before.ends_with('=') || goes_on(before, texts[0]) => {
            let whole = format!("{before}{}{}", if before.ends_with('=') { "" } else { " " }, texts.join(" "));
            fault.cure(format!("put a value that has spaces in quotes: {}", for_a_shell(&whole)))
        }
        _ => fault
            .allowed("chainstay=410mm, or in quotes 'chainstay=410 mm ± 2 mm'")
            .cure("write the name, an equals sign and the value with no spaces, or put quotes round all three"),
    }
}

/// True where a value was cut at a space: a number before it, and a unit, a sign or a fraction behind.
fn goes_on(before: &str, next: &str) -> bool {
    let is_digit = |c: char| c.is_ascii_digit();
    before.ends_with(is_digit) && (!next.starts_with(is_digit) || next.contains('/'))
}
