//! A decoded scalar in, the same text out with the bytes behind each piece.
//!
//! The decoded characters are laid beside the written ones, greedily: equal
//! characters are verbatim pieces; an escape, a doubled quote and a fold are
//! decoded pieces that map to what was written. Where the two don't run side
//! by side the whole text maps to the whole scalar. Nothing is decoded here:
//! the text comes from the YAML reader.

use std::ops::Range;

use granit_parser::ScalarStyle;

use crate::text::{Mapped, Span};

/// The range that a scalar covers as written. A block scalar's own range runs
/// on over the blank lines after it; these are left out.
pub(super) fn written(text: &str, style: ScalarStyle, range: Range<usize>) -> Range<usize> {
    if !matches!(style, ScalarStyle::Literal | ScalarStyle::Folded) {
        return range;
    }
    let raw = text.get(range.clone()).unwrap_or_default();
    let length = raw.trim_end_matches([' ', '\t', '\r', '\n']).len();
    range.start..range.start + length
}

/// Maps a decoded scalar to its characters in `range` of the source's text.
pub(super) fn align(source: &Mapped, decoded: &str, style: ScalarStyle, range: Range<usize>) -> Mapped {
    let inner = match style {
        ScalarStyle::SingleQuoted | ScalarStyle::DoubleQuoted if range.len() >= 2 => range.start + 1..range.end - 1,
        _ => range.clone(),
    };
    if !inner.is_empty() && source.text().get(inner.clone()) == Some(decoded) {
        return source.slice(inner);
    }
    Aligner::new(source, decoded, style, inner).run(decoded).unwrap_or_else(|| {
        let mut whole = Mapped::default();
        whole.push_decoded(decoded, source.span(written(source.text(), style, range)));
        whole
    })
}

/// Where a block scalar's lines begin: its own range begins with the first
/// written character, after the blank lines and the spaces that come first.
fn block_start(text: &str, start: usize, indent: usize, blank_lines: usize) -> usize {
    let mut begin = start - indent;
    for _ in 0..blank_lines {
        let Some(before) = text.get(..begin).and_then(|text| text.strip_suffix('\n')) else {
            return start;
        };
        begin = before.rfind('\n').map_or(0, |at| at + 1);
    }
    let is_blank = text.get(begin..start).is_some_and(|lines| lines.trim().is_empty());
    if is_blank && blank_lines > 0 { begin } else { start }
}

struct Aligner<'a> {
    source: &'a Mapped,
    /// The written characters, without quotes.
    raw: &'a str,
    /// Where they begin in the source's text.
    base: usize,
    style: ScalarStyle,
    /// The spaces before each line of a block scalar.
    indent: usize,
    /// How far the written characters are used up.
    at: usize,
    out: Mapped,
}

impl<'a> Aligner<'a> {
    fn new(source: &'a Mapped, decoded: &str, style: ScalarStyle, range: Range<usize>) -> Self {
        let text = source.text();
        let before = text.get(..range.start).unwrap_or_default();
        let indent = before.len() - before.trim_end_matches(' ').len();
        let base = if matches!(style, ScalarStyle::Literal | ScalarStyle::Folded) {
            let blank_lines = decoded.len() - decoded.trim_start_matches('\n').len();
            block_start(text, range.start, indent, blank_lines)
        } else {
            range.start
        };
        let raw = text.get(base..range.end).unwrap_or_default();
        let mut aligner = Self { source, raw, base, style, indent, at: 0, out: Mapped::default() };
        if base < range.start {
            aligner.at = aligner.indent_length(raw);
        }
        aligner
    }

    /// The spaces before a line of a block scalar that are no part of it.
    fn indent_length(&self, line: &str) -> usize {
        (line.len() - line.trim_start_matches(' ').len()).min(self.indent)
    }

    fn is_block(&self) -> bool {
        matches!(self.style, ScalarStyle::Literal | ScalarStyle::Folded)
    }

    fn rest(&self) -> &'a str {
        self.raw.get(self.at..).unwrap_or_default()
    }

    fn run(mut self, decoded: &str) -> Option<Mapped> {
        let mut left = decoded;
        while !left.is_empty() {
            let used = self.step(left)?;
            left = left.get(used..)?;
        }
        Some(self.out)
    }

    /// Lays the next decoded characters beside the next written ones; says how
    /// many bytes of the decoded text that used.
    fn step(&mut self, left: &str) -> Option<usize> {
        if self.style == ScalarStyle::DoubleQuoted && self.rest().starts_with('\\') {
            return self.step_escape(left);
        }
        if self.style == ScalarStyle::SingleQuoted && self.rest().starts_with("''") {
            return left.starts_with('\'').then(|| self.take(&left[..1], 2));
        }
        if let Some(breaks) = self.fold() {
            return self.step_fold(left, breaks);
        }
        self.step_equal(left)
    }

    /// A stretch of characters that stand there as they are.
    fn step_equal(&mut self, left: &str) -> Option<usize> {
        let length = self.equal_length(left);
        if length == 0 {
            // The line break after a block scalar's last line lies outside it.
            let ends = self.rest().is_empty() && self.is_block();
            return (ends && left.trim_matches('\n').is_empty()).then(|| self.take(left, 0));
        }
        let start = self.base + self.at;
        self.out.push_mapped(&self.source.slice(start..start + length));
        self.at += length;
        Some(length)
    }

    /// How many bytes are equal, up to the next character that may begin an
    /// escape or a fold. Blanks that begin the stretch begin no fold.
    fn equal_length(&self, left: &str) -> usize {
        let mut length = 0;
        let mut blanks = true;
        for (written, decoded) in self.rest().chars().zip(left.chars()) {
            let blank = matches!(written, ' ' | '\t');
            let special = matches!(written, '\\' | '\'' | '\r' | '\n') || (blank && !blanks);
            if written != decoded || (special && length > 0) {
                break;
            }
            blanks &= blank;
            length += written.len_utf8();
        }
        length
    }

    /// One escape, for one decoded character; of a line break, for none.
    fn step_escape(&mut self, left: &str) -> Option<usize> {
        let rest = self.rest();
        let mark = rest.chars().nth(1)?;
        if matches!(mark, '\n' | '\r') {
            let after = without_break(rest.get(1..)?)?.trim_start_matches([' ', '\t']);
            self.at += rest.len() - after.len();
            return Some(0);
        }
        let digits = match mark {
            'x' => 2,
            'u' => 4,
            'U' => 8,
            _ => 0,
        };
        let character = left.chars().next()?;
        let length = 1 + mark.len_utf8() + digits;
        rest.get(..length)?;
        Some(self.take(left.get(..character.len_utf8())?, length))
    }

    /// The length of the white space with line breaks that comes next, and how
    /// many breaks it has; nothing if there is no break in it.
    fn fold(&self) -> Option<(usize, usize)> {
        let rest = self.rest();
        if !self.is_block() {
            let length = rest.len() - rest.trim_start_matches([' ', '\t', '\r', '\n']).len();
            let breaks = rest.get(..length)?.matches('\n').count();
            return (breaks > 0).then_some((length, breaks));
        }
        let (mut length, mut breaks) = (0, 0);
        while let Some(after) = rest.get(length..).and_then(without_break) {
            length = rest.len() - after.len();
            breaks += 1;
            length += self.indent_length(after);
            if self.style == ScalarStyle::Literal {
                break;
            }
        }
        (breaks > 0).then_some((length, breaks))
    }

    /// A fold stands for one space or for its line breaks.
    fn step_fold(&mut self, left: &str, (length, breaks): (usize, usize)) -> Option<usize> {
        let lines = left.bytes().take(breaks).take_while(|byte| *byte == b'\n').count();
        let used = if lines > 0 { lines } else { usize::from(left.starts_with(' ')) };
        (used > 0).then(|| self.take(&left[..used], length))
    }

    /// Pushes a decoded piece that was written in `length` bytes.
    fn take(&mut self, decoded: &str, length: usize) -> usize {
        let start = self.base + self.at;
        let span: Span = self.source.span(start..start + length);
        self.out.push_decoded(decoded, span);
        self.at += length;
        decoded.len()
    }
}

fn without_break(text: &str) -> Option<&str> {
    text.strip_prefix('\n').or_else(|| text.strip_prefix("\r\n"))
}
