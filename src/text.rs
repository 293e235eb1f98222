//! Byte spans, and text that knows where in the file it came from.
//!
//! A guide's front matter, a fenced block in a list and an escape in a quoted
//! value all reach the parsers as decoded text. [`Mapped`] carries that text
//! together with the bytes of the original file behind every piece of it, so
//! that a fault can point at the very characters that somebody typed. Nobody
//! adds offsets by hand. Line and column are not known here: `diagnostic`
//! counts them when a fault is drawn.

use std::ops::Range;

/// A run of bytes of the original file: `start` is the first byte, `end` the
/// byte after the last. An empty span marks a place between two characters.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash, PartialOrd, Ord)]
pub struct Span {
    /// The first byte.
    pub start: usize,
    /// The byte after the last.
    pub end: usize,
}

impl Span {
    /// The span from `start` to `end`. Ends given the wrong way round make an
    /// empty span at `start`.
    #[must_use]
    pub fn new(start: usize, end: usize) -> Self {
        Self { start, end: end.max(start) }
    }

    /// The empty span at a place.
    #[must_use]
    pub fn at(pos: usize) -> Self {
        Self { start: pos, end: pos }
    }

    /// The smallest span that holds both this one and the other.
    #[must_use]
    pub fn to(self, other: Self) -> Self {
        Self { start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    /// The number of bytes.
    #[must_use]
    pub fn len(self) -> usize {
        self.end.saturating_sub(self.start)
    }

    /// Whether the span marks a place rather than characters.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.end <= self.start
    }
}

/// A value together with the characters of the file from which it was read.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
pub struct Spanned<T> {
    /// What was read.
    pub value: T,
    /// Where it stands in the original file.
    pub span: Span,
}

impl<T> Spanned<T> {
    /// Joins a value to its place.
    #[must_use]
    pub fn new(value: T, span: Span) -> Self {
        Self { value, span }
    }

    /// Gives another value the same place.
    #[must_use]
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Spanned<U> {
        Spanned { value: change(self.value), span: self.span }
    }
}

/// One stretch of a mapped text: it begins at byte `at` of the text and ends
/// where the next one begins.
#[derive(Clone, Copy, PartialEq, Debug)]
struct Piece {
    at: usize,
    span: Span,
    verbatim: bool,
}

/// Decoded text that knows where in the file each piece of it came from.
///
/// A verbatim piece stands in the file byte for byte and maps exactly; a
/// decoded piece (an escape, a folded line) maps as a whole to what was
/// written. An empty text still knows its place, once something empty has been
/// pushed to it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mapped {
    text: String,
    pieces: Vec<Piece>,
}

impl Mapped {
    /// Text that stands in the file byte for byte from byte `start` on.
    #[must_use]
    pub fn verbatim(text: impl Into<String>, start: usize) -> Self {
        let text = text.into();
        let span = Span::new(start, start + text.len());
        Self { text, pieces: vec![Piece { at: 0, span, verbatim: true }] }
    }

    /// Appends text that stands in the file byte for byte from `start` on.
    pub fn push_verbatim(&mut self, text: &str, start: usize) {
        self.push_piece(text, Span::new(start, start + text.len()), true);
    }

    /// Appends text that was written otherwise; all of it maps to `span`.
    pub fn push_decoded(&mut self, text: &str, span: Span) {
        self.push_piece(text, span, false);
    }

    /// Appends another mapped text with its places.
    pub fn push_mapped(&mut self, other: &Self) {
        for (index, piece) in other.pieces.iter().enumerate() {
            let text = other.text.get(piece.at..other.end_of(index)).unwrap_or_default();
            self.push_piece(text, piece.span, piece.verbatim);
        }
    }

    /// The decoded text.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Whether there are no characters.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.text.is_empty()
    }

    /// The bytes of the file behind a byte range of the text. An empty range
    /// gives an empty span, but for one inside a decoded piece, which has no
    /// place of its own and gives the whole piece. A range beyond the text is
    /// cut to it.
    #[must_use]
    pub fn span(&self, range: Range<usize>) -> Span {
        let start = range.start.min(self.text.len());
        let end = range.end.clamp(start, self.text.len());
        let Some(first) = self.piece_at(start) else {
            return Span::default();
        };
        if start == end {
            return self.place_between(first, start);
        }
        let last = self.piece_at(end - 1).unwrap_or(first);
        Span::new(self.place(first, start).start, self.place(last, end).end)
    }

    /// The bytes of the file from the first piece to the last.
    #[must_use]
    pub fn whole(&self) -> Span {
        match (self.pieces.first(), self.pieces.last()) {
            (Some(first), Some(last)) => first.span.to(last.span),
            _ => Span::default(),
        }
    }

    /// A part of the text with its places. Range ends inside a character are
    /// moved back to its start, and a range beyond the text is cut to it.
    #[must_use]
    pub fn slice(&self, range: Range<usize>) -> Self {
        let start = self.text.floor_char_boundary(range.start);
        let end = self.text.floor_char_boundary(range.end).max(start);
        let mut part = Self::default();
        if start == end {
            part.push_decoded("", self.span(start..end));
            return part;
        }
        let first = self.piece_at(start).unwrap_or(0);
        for (index, piece) in self.pieces.iter().enumerate().skip(first) {
            if piece.at >= end {
                break;
            }
            let (from, to) = (piece.at.max(start), self.end_of(index).min(end));
            let text = self.text.get(from..to).unwrap_or_default();
            part.push_piece(text, self.span(from..to), piece.verbatim);
        }
        part
    }

    /// The place in the file of a byte of the text that lies in, or just
    /// after, the numbered piece.
    fn place(&self, index: usize, pos: usize) -> Span {
        let Some(piece) = self.pieces.get(index) else {
            return Span::default();
        };
        if piece.verbatim { Span::at(piece.span.start + (pos - piece.at)) } else { piece.span }
    }

    /// As `place`, for an empty range: the edges of a decoded piece are places.
    fn place_between(&self, index: usize, pos: usize) -> Span {
        let place = self.place(index, pos);
        if self.text.is_empty() {
            place
        } else if pos == self.text.len() {
            Span::at(place.end)
        } else if self.pieces.get(index).is_some_and(|piece| piece.at == pos) {
            Span::at(place.start)
        } else {
            place
        }
    }

    /// The number of the piece that holds a byte of the text; at the end of
    /// the text, the last piece.
    fn piece_at(&self, pos: usize) -> Option<usize> {
        let after = self.pieces.partition_point(|piece| piece.at <= pos);
        if self.pieces.is_empty() { None } else { Some(after.saturating_sub(1)) }
    }

    fn end_of(&self, index: usize) -> usize {
        self.pieces.get(index + 1).map_or(self.text.len(), |next| next.at)
    }

    fn push_piece(&mut self, text: &str, span: Span, verbatim: bool) {
        if self.text.is_empty() {
            self.pieces.clear();
        } else if text.is_empty() {
            return;
        }
        let at = self.text.len();
        self.text.push_str(text);
        match self.pieces.last_mut() {
            Some(last) if verbatim && last.verbatim && last.span.end == span.start => {
                last.span.end = span.end;
            }
            _ => self.pieces.push(Piece { at, span, verbatim }),
        }
    }
}

/// A sign that no page can hold (XML 1.0, 2.2): a control sign other than a tab or the end of a line. YAML may write one
/// in quotes, and Markdown by its number.
#[must_use]
pub fn is_invisible(c: char) -> bool {
    c < ' ' && !['\t', '\n', '\r'].contains(&c) || ['\u{FFFE}', '\u{FFFF}'].contains(&c)
}

/// A text as it may stand in markup, within quotes too.
#[must_use]
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 16);
    let mut rest = text;
    while let Some(at) = rest.find(|c: char| matches!(c, '&' | '<' | '>' | '"') || is_invisible(c)) {
        out.push_str(&rest[..at]);
        let mut signs = rest[at..].chars();
        out.push_str(match signs.next() {
            Some('&') => "&amp;",
            Some('<') => "&lt;",
            Some('>') => "&gt;",
            Some('"') => "&quot;",
            _ => "\u{FFFD}",
        });
        rest = signs.as_str();
    }
    out.push_str(rest);
    out
}

/// A text with a capital at its front.
#[must_use]
pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |first| first.to_uppercase().chain(chars).collect())
}

/// A number with its word: `1 fault`, `3 faults`.
#[must_use]
pub fn count(number: usize, word: &str) -> String {
    if number == 1 { format!("1 {word}") } else { format!("{number} {word}s") }
}

#[cfg(test)]
mod tests {
    use super::{Mapped, Span};

    /// The text `aébc`, of which the é was written as an escape of four bytes;
    /// it stands from byte 10 on.
    fn escaped() -> Mapped {
        let mut text = Mapped::verbatim("a", 10);
        text.push_decoded("é", Span::new(11, 15));
        text.push_verbatim("b", 15);
        text.push_verbatim("c", 16);
        text
    }

    #[test]
    fn pieces_map_to_what_was_written() {
        let text = escaped();
        assert_eq!(text.text(), "aébc");
        assert_eq!(text.span(0..1), Span::new(10, 11));
        assert_eq!(text.span(1..3), Span::new(11, 15));
        assert_eq!(text.span(3..5), Span::new(15, 17));
        assert_eq!(text.span(4..5), Span::new(16, 17));
        assert_eq!(text.span(0..5), text.whole());
        assert_eq!(text.pieces.len(), 3, "neighbours in the file are one piece");
    }

    #[test]
    fn empty_ranges_are_places() {
        let text = escaped();
        assert_eq!(text.span(0..0), Span::at(10));
        assert_eq!(text.span(1..1), Span::at(11));
        assert_eq!(text.span(4..4), Span::at(16));
        assert_eq!(text.span(5..5), Span::at(17));
        assert_eq!(text.span(90..99), Span::at(17));
        assert_eq!(Mapped::verbatim("", 7).span(0..0), Span::at(7));
        assert_eq!(Mapped::default().span(0..3), Span::default());
    }

    #[test]
    fn a_slice_keeps_its_places() {
        let text = escaped();
        let part = text.slice(1..4);
        assert_eq!((part.text(), part.whole()), ("éb", Span::new(11, 16)));
        assert_eq!(part.span(2..3), Span::new(15, 16));
        assert_eq!(text.slice(4..4).span(0..0), Span::at(16));
        let mut joined = text.slice(0..3);
        joined.push_mapped(&text.slice(3..5));
        assert_eq!(joined, text);
    }
}
