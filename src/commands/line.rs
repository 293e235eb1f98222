//! The command line as text with places, so that a fault can point into the very argument.
//!
//! Options may stand anywhere; `--name value` and `--name=value` mean the same; `--` ends the options. What an
//! option or word means is the command's own business. (Argument libraries draw their own messages and give no
//! places, so this small reader is our own.)

use crate::diagnostic::{COMMAND_LINE, Source};
use crate::fault::{Fault, id};
use crate::text::{Mapped, Span, Spanned};

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
            if ended || !argument.text().starts_with("--") {
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
    /// Every word without an equals sign, and every name given twice.
    pub fn pairs(&self, first: usize) -> Result<Vec<(Spanned<String>, Mapped)>, Vec<Fault>> {
        let mut pairs: Vec<(Spanned<String>, Mapped)> = Vec::new();
        let mut faults = Vec::new();
        for word in self.words.iter().skip(first) {
            match split_pair(word) {
                Ok((name, value)) => {
                    if pairs.iter().any(|(known, _)| known.value == name.value) {
                        faults.push(
                            Fault::new(id::GIVEN_TWICE, name.span, format!("{} is given twice", name.value))
                                .cure("leave one of the two out"),
                        );
                    }
                    pairs.push((name, value));
                }
                Err(fault) => faults.push(fault),
            }
        }
        if faults.is_empty() { Ok(pairs) } else { Err(faults) }
    }
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
            .filter(|next| !next.text().starts_with("--"))
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
    fault.nearest(name, names(), "leave it out; --help lists what the command takes")
}

fn split_pair(word: &Mapped) -> Result<(Spanned<String>, Mapped), Fault> {
    let text = word.text();
    match text.split_once('=') {
        Some((name, value)) if !name.trim().is_empty() => {
            let name_span = word.span(0..name.len());
            let value = word.slice(text.len() - value.len()..text.len());
            Ok((Spanned::new(name.trim().to_owned(), name_span), value))
        }
        _ => Err(Fault::new(id::NOT_A_PAIR, word.whole(), "a value is given as name=value")
            .found(text)
            .allowed("chainstay=410mm, or in quotes 'chainstay=410 mm ± 2 mm'")
            .cure("write the name, an equals sign and the value with no spaces, or put quotes round all three")),
    }
}
