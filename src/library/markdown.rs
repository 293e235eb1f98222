//! Markdown to pieces: events of the Markdown parser with their places, marks split out of the text, blocks read.
//!
//! CommonMark with tables, footnotes and definition lists. Comments are dropped; any other raw HTML is kept as text,
//! so that nothing but our own templates writes markup. Code spans and fences of a language are literal. Headings
//! and operations are the guide's affair; links are resolved when the page is evaluated.

use super::block::{self, Block};
use super::files::invisible;
use crate::fault::{Fault, id};
use crate::mechanics::mark::{Mark, TextPiece, split_marks};
use crate::text::{Mapped, Span, Spanned, is_invisible};
use pulldown_cmark::{CodeBlockKind, CowStr, Event, Options, Parser, Tag, TagEnd};
use std::ops::Range;

/// A piece of a page's body.
#[derive(Clone, Debug)]
pub enum Piece {
    /// What the Markdown parser found, text without marks.
    Event(Event<'static>, Span),
    /// A figure in the text.
    Mark(Mark),
    /// A photo.
    Photo(Box<PhotoPiece>),
    /// A fenced block of ours.
    Block(Box<Block>),
    /// The plain text of a paragraph, heading or cell, marks as written: what is looked at for loose figures.
    Prose(Mapped),
    /// A block with a fault of its own, which may have named anything.
    Unread,
}

/// A photo as written: `![what it shows](../../photos/hanger.jpg "a caption")`.
#[derive(Clone, Debug)]
pub struct PhotoPiece {
    /// The path from the page's file.
    pub path: String,
    /// What stands for it where it can't be seen.
    pub alt: Vec<TextPiece>,
    /// What stands below it.
    pub caption: Vec<TextPiece>,
    /// All of it.
    pub span: Span,
}

/// Parses a text.
pub fn parse(text: &Mapped, file: &str, faults: &mut Vec<Fault>) -> Vec<Piece> {
    let options = Options::ENABLE_TABLES | Options::ENABLE_FOOTNOTES | Options::ENABLE_DEFINITION_LIST;
    let mut reader =
        Reader { text, file, faults, pieces: Vec::new(), run: Mapped::default(), prose: Mapped::default() };
    let mut events = Parser::new_ext(text.text(), options).into_offset_iter();
    while let Some((event, range)) = events.next() {
        reader.check_signs(&event, &range);
        match event {
            Event::Text(words) => reader.add_text(&words, range),
            Event::Start(Tag::CodeBlock(kind)) => reader.read_fence(&kind, range, &mut events),
            Event::Start(Tag::Image { dest_url, title, .. }) => {
                reader.read_photo(&dest_url, &title, range, &mut events);
            }
            Event::Start(Tag::HtmlBlock) => reader.read_html(&mut events),
            Event::InlineHtml(html) if is_comment(&html) => {}
            Event::InlineHtml(html) => reader.add_literal(html.into_string(), range),
            other => reader.add(other.into_static(), range),
        }
    }
    reader.end_text();
    reader.end_prose();
    reader.pieces
}

struct Reader<'a> {
    text: &'a Mapped,
    file: &'a str,
    faults: &'a mut Vec<Fault>,
    pieces: Vec<Piece>,
    /// Text that has not been searched for marks yet: the parser cuts it at escapes and brackets.
    run: Mapped,
    /// The text of the paragraph so far, across emphasis and links.
    prose: Mapped,
}

impl Reader<'_> {
    fn add(&mut self, event: Event<'static>, range: Range<usize>) {
        self.end_text();
        match &event {
            Event::SoftBreak | Event::HardBreak => self.prose.push_decoded(" ", self.text.span(range.clone())),
            Event::Code(_) => self.prose.push_decoded("\u{FFFC}", self.text.span(range.clone())),
            Event::Start(tag) if !is_inline(tag.to_end()) => self.end_prose(),
            Event::End(tag) if !is_inline(*tag) => self.end_prose(),
            _ => {}
        }
        self.pieces.push(Piece::Event(event, self.text.span(range)));
    }

    /// What Markdown writes by a number, `&#1;`, stands in no file and still can't stand on a page.
    fn check_signs(&mut self, event: &Event<'_>, range: &Range<usize>) {
        let texts: [&str; 2] = match event {
            Event::Text(words) => [words, ""],
            Event::Start(Tag::Link { dest_url, title, .. } | Tag::Image { dest_url, title, .. }) => [dest_url, title],
            Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(info))) => [info, ""],
            _ => return,
        };
        if texts.iter().any(|text| text.contains(is_invisible)) {
            self.faults.push(invisible(self.text.span(range.clone())));
        }
    }

    fn end_prose(&mut self) {
        let prose = std::mem::take(&mut self.prose);
        if !prose.is_empty() {
            self.pieces.push(Piece::Prose(prose));
        }
    }

    fn add_literal(&mut self, text: String, range: Range<usize>) {
        append(&mut self.prose, &text, self.text, range.clone());
        self.add(Event::Text(CowStr::from(text)), range);
    }

    fn add_text(&mut self, words: &str, range: Range<usize>) {
        append(&mut self.run, words, self.text, range.clone());
        append(&mut self.prose, words, self.text, range);
    }

    fn end_text(&mut self) {
        let run = std::mem::take(&mut self.run);
        if run.is_empty() {
            return;
        }
        for piece in split_marks(&run, self.file, self.faults) {
            self.pieces.push(match piece {
                TextPiece::Words(words) => Piece::Event(Event::Text(CowStr::from(words)), run.whole()),
                TextPiece::Mark(mark) => Piece::Mark(mark),
            });
        }
    }

    fn read_fence<'e>(
        &mut self,
        kind: &CodeBlockKind<'e>,
        range: Range<usize>,
        events: &mut impl Iterator<Item = (Event<'e>, Range<usize>)>,
    ) {
        self.end_text();
        self.end_prose();
        let mut body = Mapped::default();
        for (event, inner) in events.by_ref() {
            match event {
                Event::Text(words) => append(&mut body, &words, self.text, inner),
                _ => break,
            }
        }
        if body.is_empty() {
            body = Mapped::verbatim("", self.text.span(range.clone()).end);
        }
        let info = match kind {
            CodeBlockKind::Fenced(info) => self.info(info, &range),
            CodeBlockKind::Indented => Spanned::new(String::new(), self.text.span(range.clone())),
        };
        let before = self.faults.len();
        if matches!(kind, CodeBlockKind::Fenced(_)) && !is_closed(&self.text.text()[range.clone()]) {
            self.faults.push(self.unclosed(&range, info.span));
            self.pieces.push(Piece::Unread);
            return;
        }
        if let Some(block) = block::parse(&info, &body, self.file, self.faults) {
            self.pieces.push(Piece::Block(Box::new(block)));
            return;
        }
        if self.faults.len() > before {
            self.pieces.push(Piece::Unread);
            return;
        }
        let span = self.text.span(range);
        let code = Tag::CodeBlock(CodeBlockKind::Fenced(CowStr::from(info.value)));
        self.pieces.push(Piece::Event(Event::Start(code), span));
        self.pieces.push(Piece::Event(Event::Text(CowStr::from(body.text().to_owned())), span));
        self.pieces.push(Piece::Event(Event::End(TagEnd::CodeBlock), span));
    }

    /// A photo: what is written in its brackets stands for it and takes no form, so only words and marks are kept.
    fn read_photo<'e>(
        &mut self,
        path: &str,
        title: &str,
        range: Range<usize>,
        events: &mut impl Iterator<Item = (Event<'e>, Range<usize>)>,
    ) {
        self.end_text();
        let mut alt = Mapped::default();
        let mut inside = 1;
        for (event, inner) in events.by_ref() {
            match event {
                Event::Start(Tag::Image { .. }) => inside += 1,
                Event::End(TagEnd::Image) => inside -= 1,
                Event::Text(words) | Event::InlineHtml(words) => append(&mut alt, &words, self.text, inner),
                Event::Code(words) => alt.push_decoded(&words, self.text.span(inner)),
                Event::SoftBreak | Event::HardBreak => alt.push_decoded(" ", self.text.span(inner)),
                _ => {}
            }
            if inside == 0 {
                break;
            }
        }
        let caption = self.caption(title, &range);
        let split = |words: &Mapped, faults: &mut Vec<Fault>| split_marks(words, self.file, faults);
        let photo = PhotoPiece {
            path: path.to_owned(),
            alt: split(&alt, self.faults),
            caption: split(&caption, self.faults),
            span: self.text.span(range),
        };
        self.pieces.push(Piece::Photo(Box::new(photo)));
        self.pieces.extend([alt, caption].into_iter().filter(|words| !words.is_empty()).map(Piece::Prose));
    }

    /// A photo's caption, with its place where it is written as it is read.
    fn caption(&self, title: &str, range: &Range<usize>) -> Mapped {
        let mut caption = Mapped::default();
        match self.text.text()[range.clone()].rfind(title).filter(|_| !title.is_empty()) {
            Some(at) => caption.push_mapped(&self.text.slice(range.start + at..range.start + at + title.len())),
            None => caption.push_decoded(title, self.text.span(range.clone())),
        }
        caption
    }

    /// The fault of a fence that swallows the rest of the page.
    fn unclosed(&self, range: &Range<usize>, info: Span) -> Fault {
        let block = &self.text.text()[range.clone()];
        let start = range.end - block.trim_start().len();
        let fence: String = block.trim_start().chars().take_while(|c| matches!(c, '`' | '~')).collect();
        let opened = self.text.span(start..start + fence.len()).to(info);
        Fault::new(id::UNCLOSED_FENCE, opened, "this block is opened and never closed")
            .cure(format!("end it with a line of {fence} alone, in line with the one that opens it"))
    }

    fn info(&self, info: &str, range: &Range<usize>) -> Spanned<String> {
        let word = info.trim();
        let first = self.text.text()[range.clone()].lines().next().unwrap_or_default();
        let at = range.start + first.rfind(word).unwrap_or(0);
        Spanned::new(word.to_owned(), self.text.span(at..at + word.len()))
    }

    /// Raw HTML as a paragraph of text, but for the comments that it begins with.
    fn read_html<'e>(&mut self, events: &mut impl Iterator<Item = (Event<'e>, Range<usize>)>) {
        let mut html = String::new();
        let mut whole: Option<Range<usize>> = None;
        for (event, range) in events.by_ref() {
            match event {
                Event::Html(text) => {
                    html.push_str(&text);
                    whole = Some(whole.map_or(range.clone(), |before| before.start..range.end));
                }
                _ => break,
            }
        }
        let Some(range) = whole else { return };
        let Some(rest) = after_comments(&html) else {
            let start = range.start + self.text.text()[range.clone()].find(OPENS).unwrap_or(0);
            let fault =
                Fault::new(id::UNCLOSED_COMMENT, self.text.span(start..start + OPENS.len()), "this comment never ends");
            self.faults
                .push(fault.cure("end it with --> where the page goes on; all that stands behind it is left out"));
            self.pieces.push(Piece::Unread);
            return;
        };
        // The last line of a comment is one piece with what stands behind it.
        if rest.is_empty() {
            return;
        }
        let behind = range.end - rest.len().min(range.len())..range.end;
        let range = if self.text.text().get(behind.clone()) == Some(rest) { behind } else { range };
        self.add(Event::Start(Tag::Paragraph), range.clone());
        self.add_literal(rest.to_owned(), range.clone());
        self.add(Event::End(TagEnd::Paragraph), range);
    }
}

/// What a comment begins with.
const OPENS: &str = "<!--";

/// What stands behind the comments that raw HTML begins with; nothing where one of them never ends.
fn after_comments(html: &str) -> Option<&str> {
    let mut rest = html;
    while rest.trim_start().starts_with(OPENS) {
        let comment = rest.trim_start();
        // `<!-->` is a whole one.
        let inside = &comment["<!".len()..];
        rest = &inside[inside.find("-->")? + "-->".len()..];
    }
    Some(if rest.trim().is_empty() { "" } else { rest })
}

/// Whether the last line of a fenced block is a fence like its first, whatever list or quotation it stands in.
fn is_closed(block: &str) -> bool {
    let mut lines = block.trim_end().lines();
    let opened = lines.next().unwrap_or_default().trim_start();
    let sign = opened.chars().next().unwrap_or('`');
    let length = |line: &str| line.chars().take_while(|c| *c == sign).count();
    let last = lines.next_back().unwrap_or_default().trim_start_matches([' ', '\t', '>']);
    length(last) >= length(opened) && last.chars().all(|c| c == sign)
}

/// Tags within a line: they don't part what is read as one.
fn is_inline(tag: TagEnd) -> bool {
    matches!(tag, TagEnd::Emphasis | TagEnd::Strong | TagEnd::Link | TagEnd::Image)
}

fn is_comment(html: &str) -> bool {
    html.trim_start().starts_with(OPENS)
}

/// Appends words that the parser took from `range`; where they aren't what stands there, they map to all of it.
fn append(run: &mut Mapped, words: &str, text: &Mapped, range: Range<usize>) {
    if text.text().get(range.clone()) == Some(words) {
        run.push_mapped(&text.slice(range));
    } else {
        run.push_decoded(words, text.span(range));
    }
}
