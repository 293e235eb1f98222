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
    let raw = source.text().get(inner.clone()).unwrap_or_default();
    if raw == decoded {
        return source.slice(inner);
    }
    Aligner::new(source, raw, inner.start, style).run(decoded).unwrap_or_else(|| {
        let mut whole = Mapped::default();
        whole.push_decoded(decoded, source.span(range));
        whole
    })
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
    fn new(source: &'a Mapped, raw: &'a str, base: usize, style: ScalarStyle) -> Self {
        let before = source.text().get(..base).unwrap_or_default();
        let indent = before.len() - before.trim_end_matches(' ').len();
        Self { source, raw, base, style, indent, at: 0, out: Mapped::default() }
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
    /// escape or a fold.
    fn equal_length(&self, left: &str) -> usize {
        let mut length = 0;
        for (written, decoded) in self.rest().chars().zip(left.chars()) {
            let special = matches!(written, '\\' | '\'' | ' ' | '\t' | '\r' | '\n');
            if written != decoded || (special && length > 0) {
                break;
            }
            length += written.len_utf8();
        }
        length
    }

    /// One escape, for one decoded character; of a line break, for none.
    fn step_escape(&mut self, left: &str) -> Option<usize> {
        let rest = self.rest();
        let mark = rest.chars().nth(1)?;
        if matches!(mark, '\n' | '\r') {
            let after = rest.get(1..)?.trim_start_matches([' ', '\t', '\r', '\n']);
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
        let mut length = 1 + mark.len_utf8() + digits;
        if mark == 'u' && u32::from(character) > 0xFFFF {
            // Two halves of one character, as JSON writes it.
            length *= 2;
        }
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
            let spaces = after.len() - after.trim_start_matches(' ').len();
            length += spaces.min(self.indent);
            if self.style == ScalarStyle::Literal {
                break;
            }
        }
        (breaks > 0).then_some((length, breaks))
    }

    /// A fold stands for one space or for its line breaks.
    fn step_fold(&mut self, left: &str, (length, breaks): (usize, usize)) -> Option<usize> {
        let lines = left.len() - left.trim_start_matches('\n').len();
        let used = if lines > 0 { lines.min(breaks) } else { usize::from(left.starts_with(' ')) };
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
