//! The manual page, made from the table of commands: roff for `man`, one page for the whole program.

use super::line::OptionOf;
use super::overview::COMMANDS;
use super::{EXITS, overview};
use std::fmt::Write as _;

/// The page.
#[must_use]
pub(super) fn page() -> String {
    let version = env!("CARGO_PKG_VERSION");
    // No date: what is printed depends on no clock.
    let mut out =
        format!(".\\\" Made by `locknut meaning --man`.\n.TH LOCKNUT 1 \"\" \"locknut {version}\" \"Locknut\"\n");
    let _ = write!(out, ".SH NAME\nlocknut \\- {}\n", escaped(&lower(overview::PURPOSE)));
    out.push_str(".SH SYNOPSIS\n");
    for (place, command) in COMMANDS.iter().enumerate() {
        if place > 0 {
            out.push_str(".br\n");
        }
        let _ = writeln!(out, ".B locknut {}", escaped(command.name));
        if !command.takes.words().is_empty() {
            let _ = writeln!(out, ".I {}", argument(command.takes.words()));
        }
    }
    let _ = write!(out, ".SH DESCRIPTION\n{}\n.PP\n{}\n", escaped(overview::PURPOSE), escaped(FILES));
    out.push_str(".SH COMMANDS\n");
    for command in COMMANDS {
        let about = format!("{}.", crate::text::capital(command.about));
        let _ = write!(out, ".SS {}\n{}\n", argument(&command.form()), escaped(&about));
        for option in command.options {
            write_option(&mut out, option);
        }
    }
    out.push_str(".SH EXIT STATUS\n");
    for (exit, about) in EXITS {
        let _ = write!(out, ".TP\n.B {}\n{}\n", *exit as u8, escaped(about));
    }
    out.push_str(".SH ENVIRONMENT\n.TP\n.B COLUMNS\n");
    let _ = writeln!(out, "{}", escaped("How wide text is set, from 40 to 120 characters; 80 where it is not set."));
    out.push_str(".SH EXAMPLES\n");
    for (line, about) in EXAMPLES {
        let _ = write!(out, ".PP\n{}\n.PP\n.RS\n.nf\n{}\n.fi\n.RE\n", escaped(about), escaped(line));
    }
    out
}

const FILES: &str = "A library is a folder with content/shop.yaml, guides, replies, build sheets, parts and stated figures. \
                     The manual is part of the starter library: locknut fit-out DIR lays it down.";

const EXAMPLES: &[(&str, &str)] = &[
    ("locknut fit-out shop && locknut stand --library shop", "A first library, open in a browser while you change it:"),
    ("locknut reckon chain-length 'chainstay=410 mm ± 2 mm' chainring=50 sprocket=34", "How long a chain is:"),
    ("locknut meaning out-of-range", "What a fault means:"),
];

fn write_option(out: &mut String, option: &OptionOf) {
    let _ =
        writeln!(out, ".TP\n.BI {} {}", argument(option.name), argument(&form_after(option.value.unwrap_or_default())));
    let _ = writeln!(out, "{}", escaped(&format!("{}.", crate::text::capital(option.about))));
}

/// Words with a space before them, or nothing.
fn form_after(words: &str) -> String {
    if words.is_empty() { String::new() } else { format!(" {words}") }
}

/// A text as one argument of a request.
fn argument(text: &str) -> String {
    format!("\"{}\"", escaped(text).replace('"', "\\(dq"))
}

/// A text in which nothing is a request: no line begins with a point or a quotation mark, and signs beyond ASCII are
/// named by their numbers, so that any roff sets them.
fn escaped(text: &str) -> String {
    let mut out = String::new();
    if text.starts_with(['.', '\'']) {
        out.push_str("\\&");
    }
    for sign in text.chars() {
        match sign {
            '\\' => out.push_str("\\e"),
            '-' => out.push_str("\\-"),
            '\'' => out.push_str("\\(aq"),
            '`' => out.push_str("\\(ga"),
            '~' => out.push_str("\\(ti"),
            '^' => out.push_str("\\(ha"),
            sign if sign.is_ascii() => out.push(sign),
            sign => out.push_str(&format!("\\[u{:04X}]", u32::from(sign))),
        }
    }
    out
}

fn lower(text: &str) -> String {
    let mut signs = text.trim_end_matches('.').chars();
    signs.next().map_or(String::new(), |first| first.to_lowercase().chain(signs).collect())
}
