//! A fault and the file it stands in, in; the lines that people read, out.
//!
//! The first line is that of the GNU coding standards, so that editors can
//! jump to it; below it stand the written line with `~` under the characters
//! to blame and what was found, is allowed and is to be done. Line and column
//! are counted here and nowhere else. Nothing is coloured, and nothing that a
//! terminal would obey is passed on.

use serde_json::{Value, json};
use std::sync::OnceLock;

use crate::fault::{Fault, Severity, id};
use crate::text::Span;

/// The name of a source that is no file but what somebody typed after the
/// program's name.
pub const COMMAND_LINE: &str = "command line";

/// A file as read: its name as it is to be printed, and its text.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Source {
    /// The path below the library, with forward slashes.
    pub name: String,
    /// The whole text; a span's bytes are counted in it.
    pub text: String,
    /// Where its lines and characters are, counted when first asked for.
    places: OnceLock<Places>,
}

/// What makes a line and a column quick to find, however many faults a file has and however long its lines are.
#[derive(Clone, PartialEq, Eq, Debug)]
struct Places {
    /// The byte at which each line begins.
    lines: Vec<usize>,
    /// How many characters begin before each block of bytes.
    characters: Vec<usize>,
}

/// Bytes to a block.
const BLOCK: usize = 1024;

impl Places {
    fn of(text: &str) -> Self {
        let starts = text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n').map(|(at, _)| at + 1);
        let mut characters = vec![0];
        let mut count = 0;
        for block in text.as_bytes().chunks(BLOCK) {
            count += characters_in(block);
            characters.push(count);
        }
        Self { lines: std::iter::once(0).chain(starts).collect(), characters }
    }

    /// How many characters begin before a byte.
    fn characters_before(&self, text: &str, pos: usize) -> usize {
        let block = pos / BLOCK;
        self.characters[block] + characters_in(&text.as_bytes()[block * BLOCK..pos])
    }
}

/// How many characters begin in a stretch of UTF-8.
fn characters_in(bytes: &[u8]) -> usize {
    bytes.iter().filter(|byte| **byte & 0xC0 != 0x80).count()
}

/// A fault together with the name of the file it stands in.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Diagnostic {
    /// The name of the file, as in [`Source::name`].
    pub file: String,
    /// What is wrong there.
    pub fault: Fault,
}

impl Diagnostic {
    /// True of a fault that something in the library has, and not of what only differs from the register.
    #[must_use]
    pub fn is_of_content(&self) -> bool {
        self.fault.severity == Severity::Fault && self.fault.id != id::UNSIGNED_DRIFT
    }
}

impl Source {
    /// A file of this name with this text.
    #[must_use]
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        Self { name: name.into(), text: text.into(), places: OnceLock::new() }
    }

    /// The line and the column of a byte, both from 1 on; columns are counted
    /// in characters. A byte beyond the text counts as its end.
    #[must_use]
    pub fn line_column(&self, pos: usize) -> (usize, usize) {
        let pos = self.before(pos).len();
        let places = self.places.get_or_init(|| Places::of(&self.text));
        let line = places.lines.partition_point(|start| *start <= pos);
        let before = |pos| places.characters_before(&self.text, pos);
        (line, before(pos) - before(places.lines[line - 1]) + 1)
    }

    fn before(&self, pos: usize) -> &str {
        &self.text[..self.text.floor_char_boundary(pos)]
    }

    /// The characters of the line before a byte, from the nearest on, and
    /// those from it on, without the line's end.
    fn line_at(&self, pos: usize) -> (impl Iterator<Item = char>, impl Iterator<Item = char>) {
        let before = self.before(pos);
        let after = &self.text[before.len()..];
        let mut rest = after.chars().peekable();
        let line = std::iter::from_fn(move || {
            let next = rest.next().filter(|c| *c != '\n')?;
            let ends = next == '\r' && rest.peek().is_none_or(|c| *c == '\n');
            (!ends).then_some(next)
        });
        (before.chars().rev().take_while(|c| *c != '\n'), line.fuse())
    }

    fn spanned(&self, span: Span) -> &str {
        let start = self.text.floor_char_boundary(span.start);
        &self.text[start..self.text.floor_char_boundary(span.end).max(start)]
    }
}

/// Draws a fault for a reader whose lines hold `width` characters; ends with a
/// line break. The first line is never broken, so that programs can read it.
#[must_use]
pub fn draw(fault: &Fault, source: &Source, width: usize) -> String {
    let (line, column) = source.line_column(fault.span.start);
    let note = if fault.severity == Severity::Note { "note: " } else { "" };
    let message = printable(&fault.message);
    let mut out = format!("{}:{line}:{column}: {note}{message} ({})\n", printable(&source.name), fault.id);
    // Of a file that was not read, or is empty, there is no line to show.
    if !source.text.is_empty() {
        write_excerpt(&mut out, fault.span, source, line, width);
    }
    let notes = [("Found:", &fault.found), ("Allowed:", &fault.allowed), ("Do:", &fault.cure)];
    for (label, text) in notes {
        if let Some(text) = text {
            write_note(&mut out, label, text, width);
        }
    }
    out
}

/// A fault as data: `id`, `severity` (`fault` or `note`), `file`, `line`,
/// `column`, `length` (in characters), `message`, `found`, `allowed` and `do`;
/// the last three are null where there is nothing to say.
#[must_use]
pub fn to_json(fault: &Fault, source: &Source) -> Value {
    let (line, column) = source.line_column(fault.span.start);
    let severity = match fault.severity {
        Severity::Fault => "fault",
        Severity::Note => "note",
    };
    json!({
        "id": fault.id,
        "severity": severity,
        "file": source.name,
        "line": line,
        "column": column,
        "length": source.spanned(fault.span).chars().count(),
        "message": fault.message,
        "found": fault.found,
        "allowed": fault.allowed,
        "do": fault.cure,
    })
}

/// The column of a line's number: wide enough for six digits.
const NUMBER: usize = 6;
/// Between the number and the line.
const RULE: &str = " | ";
/// However narrow the reader's window, so much of a line is shown.
const NARROWEST: usize = 16;

fn write_excerpt(out: &mut String, span: Span, source: &Source, line: usize, width: usize) {
    let number = if source.name == COMMAND_LINE { String::new() } else { line.to_string() };
    let gutter = number.len().max(NUMBER);
    let room = width.saturating_sub(gutter + RULE.len()).max(NARROWEST);
    let window = Window::new(span, source, room);
    out.push_str(format!("{number:>gutter$}{RULE}{}", window.text).trim_end());
    out.push('\n');
    out.push_str(&" ".repeat(gutter));
    out.push_str(RULE);
    out.push_str(&" ".repeat(window.before));
    out.push_str(&"~".repeat(window.marks));
    out.push('\n');
}

/// The part of a line that is shown, and where the marks go under it.
struct Window {
    text: String,
    before: usize,
    marks: usize,
}

impl Window {
    /// Cuts the line to `room` characters round the start of the span. Only
    /// the part near it is looked at, as a line may be megabytes long.
    fn new(span: Span, source: &Source, room: usize) -> Self {
        let (before, after) = source.line_at(span.start);
        let left: Vec<char> = before.take(room + 1).collect();
        let left: String = left.into_iter().rev().map(shown).collect();
        let after: Vec<char> = after.take(room + 1).collect();
        let right: String = after.iter().copied().map(shown).collect();
        let marked = source.spanned(span).chars().take(room).count().min(after.len());
        let marks = cells(&right.chars().take(marked).collect::<String>()).len().max(1);
        Self::cut(cells(&left), &cells(&right), marks, room)
    }

    fn cut(mut text: Vec<char>, right: &[char], marks: usize, room: usize) -> Self {
        let before = text.len();
        text.extend(right);
        if text.len() <= room {
            return Self { text: text.into_iter().collect(), before, marks };
        }
        let aside = room.saturating_sub(marks) / 2;
        let from = before.saturating_sub(aside).min(text.len() - room.min(text.len()));
        let to = (from + room).min(text.len());
        let mut shown = text[from..to].to_vec();
        if let (true, Some(first)) = (from > 0, shown.first_mut()) {
            *first = '…';
        }
        if let (true, Some(last)) = (to < text.len(), shown.last_mut()) {
            *last = '…';
        }
        let before = before - from;
        let marks = marks.min(shown.len().saturating_sub(before)).max(1);
        Self { text: shown.into_iter().collect(), before, marks }
    }
}

/// The characters of a text with each tab as four spaces.
fn cells(text: &str) -> Vec<char> {
    text.replace('\t', "    ").chars().collect()
}

fn printable(text: &str) -> String {
    cells(text).into_iter().map(shown).collect()
}

/// A character as it may be printed: a terminal must not obey it, and it must
/// not turn the reading direction.
fn shown(character: char) -> char {
    match character {
        '\t' => '\t',
        '\u{061C}' | '\u{200E}' | '\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2066}'..='\u{2069}' => '\u{FFFD}',
        c if c.is_control() => '\u{FFFD}',
        c => c,
    }
}

/// The width of a label with its colon and the spaces round it.
const LABEL: usize = 11;

fn write_note(out: &mut String, label: &str, text: &str, width: usize) {
    let room = width.saturating_sub(LABEL).max(NARROWEST);
    for (index, line) in wrap(text, room).iter().enumerate() {
        let label = if index == 0 { label } else { "" };
        out.push_str(format!("  {label:<8} {line}").trim_end());
        out.push('\n');
    }
}

/// Breaks a text between words into lines of `room` characters; a line break
/// in the text stays one. A longer word has a line to itself.
fn wrap(text: &str, room: usize) -> Vec<String> {
    let mut lines = Vec::new();
    for paragraph in text.split('\n') {
        let mut line = String::new();
        let mut length = 0;
        // Only plain spaces part words: a no-break space holds a figure to its unit.
        for word in paragraph.split([' ', '\t', '\r']).filter(|word| !word.is_empty()) {
            let word = printable(word);
            let letters = word.chars().count();
            if length > 0 && length + 1 + letters > room {
                lines.push(std::mem::take(&mut line));
                length = 0;
            }
            if length > 0 {
                line.push(' ');
                length += 1;
            }
            line.push_str(&word);
            length += letters;
        }
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::{Source, draw, to_json};
    use crate::fault::{Fault, id};
    use crate::text::Span;

    fn source(text: &str) -> Source {
        Source::new("content/a.md", text)
    }

    #[test]
    fn draws_the_form_of_the_contract() {
        let text = format!("{}  chainstay: 41 mm\n", "x\n".repeat(23));
        let start = text.find("41").unwrap_or_default();
        let fault = Fault::new(id::WRONG_SHAPE, Span::new(start, start + 5), "chainstay is out of range")
            .found("41 mm")
            .allowed("150 mm to 1500 mm")
            .cure("measure from bottom bracket centre to rear axle centre, along the stay");
        let expected = "\
content/a.md:24:14: chainstay is out of range (wrong-shape)
    24 |   chainstay: 41 mm
       |              ~~~~~
  Found:   41 mm
  Allowed: 150 mm to 1500 mm
  Do:      measure from bottom bracket centre to rear axle
           centre, along the stay
";
        assert_eq!(draw(&fault, &source(&text), 60), expected);
    }

    #[test]
    fn windows_a_long_line() {
        let text = format!("{}WRONG{}", "é".repeat(5_000), "z".repeat(5_000));
        let fault = Fault::note(id::WRONG_SHAPE, Span::new(10_000, 10_005), "wrong");
        let drawn = draw(&fault, &source(&text), 40);
        let lines: Vec<&str> = drawn.lines().collect();
        assert_eq!(lines[0], "content/a.md:1:5001: note: wrong (wrong-shape)");
        assert_eq!(lines[1].chars().count(), 40);
        let at = lines[2].find('~').unwrap_or_default();
        let marked: String = lines[1].chars().skip(at).take(lines[2].len() - at).collect();
        assert_eq!(marked, "WRONG");
        assert!(lines[1].contains("| …é") && lines[1].ends_with("z…"), "{drawn}");
    }

    #[test]
    fn nothing_a_terminal_would_obey_is_passed_on() {
        let fault = Fault::new(id::WRONG_SHAPE, Span::at(0), "\u{1b}[31m").found("\u{202E}a\rb\u{7}");
        let drawn = draw(&fault, &source("\ta\u{1b}b\r\nc"), 80);
        assert!(drawn.chars().all(|c| c == '\n' || !c.is_control()), "{drawn:?}");
        assert!(!drawn.contains('\u{202E}'));
    }

    #[test]
    fn counts_columns_in_characters() {
        let source = source("é𝄞\nab");
        assert_eq!(source.line_column(6), (1, 3));
        assert_eq!(source.line_column(7), (2, 1));
        assert_eq!(source.line_column(4), (1, 2));
        assert_eq!(source.line_column(usize::MAX), (2, 3));
        let fault = Fault::new(id::WRONG_SHAPE, Span::new(0, 6), "wrong");
        assert_eq!(to_json(&fault, &source)["length"], 2);
    }
}
