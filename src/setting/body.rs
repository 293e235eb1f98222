//! A body's pieces to markup: what the Markdown parser found is written by its own writer, figures, workings, drawings
//! and notices by the theme's templates.

use super::theme::ThemeFault;
use super::{Setting, safe, working};
use crate::evaluate::figure::Figure;
use crate::evaluate::{Target, WorkedDrawing, WorkedGuide, WorkedPiece, WorkedText};
use crate::text::escape;
use minijinja::context;
use pulldown_cmark::{CowStr, Event, Tag, TagEnd, html};
use std::cell::Cell;

/// One guide's body with what setting it needs.
pub(super) struct Body<'a> {
    pub(super) setting: &'a Setting<'a>,
    pub(super) guide: &'a WorkedGuide<'a>,
    /// From the page to the site's top.
    pub(super) root: &'a str,
    /// How many tables were set: each box that scrolls has a name of its own.
    pub(super) tables: Cell<usize>,
}

type Set<T> = Result<T, ThemeFault>;

impl Body<'_> {
    /// Text with figures.
    pub(super) fn text(&self, pieces: &[WorkedText]) -> Set<String> {
        let mut out = String::new();
        for piece in pieces {
            match piece {
                WorkedText::Words(words) => out.push_str(&escape(words)),
                WorkedText::Figure(figure) => out.push_str(&self.figure(figure)?),
            }
        }
        Ok(out)
    }

    /// A figure in running text.
    fn figure(&self, figure: &Figure) -> Set<String> {
        self.setting.theme.render(
            "figure.html",
            context! {
                html => safe(escape(&figure.text)),
                target => figure.working().map(|working| format!("#w-{working}")),
                title => figure.rests_on(),
            },
        )
    }

    /// Pieces within one line: a heading.
    pub(super) fn inline(&self, pieces: &[WorkedPiece]) -> Set<String> {
        self.flow(pieces).map(|html| html.trim_end().to_owned())
    }

    /// Pieces of a body, tables with their captions.
    pub(super) fn flow(&self, pieces: &[WorkedPiece]) -> Set<String> {
        let mut out = String::new();
        let mut run: Vec<Event<'static>> = Vec::new();
        let mut rest = pieces;
        while let Some((piece, after)) = rest.split_first() {
            if let Some((caption, table, after)) = split_table(rest) {
                html::push_html(&mut out, run.drain(..));
                out.push_str(&self.table(caption, table)?);
                rest = after;
                continue;
            }
            run.push(self.event(piece)?);
            rest = after;
        }
        html::push_html(&mut out, run.drain(..));
        Ok(out)
    }

    /// A piece by itself, as markup.
    pub(super) fn piece(&self, piece: &WorkedPiece) -> Set<String> {
        let mut out = String::new();
        html::push_html(&mut out, std::iter::once(self.event(piece)?));
        Ok(out)
    }

    fn event(&self, piece: &WorkedPiece) -> Set<Event<'static>> {
        let block = |html: String| Event::Html(CowStr::from(html));
        Ok(match piece {
            WorkedPiece::Event(event) => event.clone(),
            WorkedPiece::Link(target) => {
                Event::InlineHtml(CowStr::from(format!(r#"<a href="{}">"#, escape(&self.href(target)))))
            }
            WorkedPiece::Figure(figure) => Event::InlineHtml(CowStr::from(self.figure(figure)?)),
            WorkedPiece::Working(place) => block(working::set(self.setting, &self.guide.workings[*place])?),
            WorkedPiece::Drawing(drawing) => block(self.drawing(drawing)?),
            WorkedPiece::Safety(signal, body) => block(
                self.setting
                    .theme
                    .render("safety.html", context! { signal => *signal, body_html => safe(self.flow(body)?) })?,
            ),
        })
    }

    fn href(&self, target: &Target) -> String {
        let page =
            if target.page == self.guide.guide.page { String::new() } else { format!("{}{}", self.root, target.page) };
        match &target.fragment {
            Some(fragment) => format!("{page}#{fragment}"),
            None if page.is_empty() => "#work".to_owned(),
            None => page,
        }
    }

    fn drawing(&self, drawing: &WorkedDrawing) -> Set<String> {
        let id = format!("d-{}", drawing.name);
        let svg =
            self.setting.drawings.render(&drawing.name, &drawing.filled, &drawing.alt, &id).map_err(|refused| {
                ThemeFault {
                    file: format!("diagrams/{}.svg", drawing.name),
                    line: refused.line,
                    written: refused.written,
                    message: refused.message,
                }
            })?;
        let caption = self.text(&drawing.caption)?;
        self.setting.theme.render("drawing.html", context! { id, svg_html => safe(svg), caption_html => safe(caption) })
    }

    /// A table in a box of its own, so that a wide one scrolls by itself.
    fn table(&self, caption: &[WorkedPiece], table: &[WorkedPiece]) -> Set<String> {
        let events = table.iter().map(|piece| self.event(piece)).collect::<Set<Vec<_>>>()?;
        let mut markup = String::new();
        html::push_html(&mut markup, events.into_iter());
        let caption = self.inline(caption)?;
        let caption = caption.trim_start_matches("Table:").trim();
        let opened =
            if caption.is_empty() { "<table>".to_owned() } else { format!("<table><caption>{caption}</caption>") };
        self.tables.set(self.tables.get() + 1);
        let label = format!("Table {}: {}", self.tables.get(), escape(&words_of(table)));
        let markup = markup.replacen("<table>", &opened, 1);
        Ok(format!(
            "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"{label}\">{}</div>\n",
            markup.trim_end()
        ))
    }
}

/// The words of a table's head, for those who don't see the table.
fn words_of(table: &[WorkedPiece]) -> String {
    let head = table.iter().take_while(|piece| !matches!(piece, WorkedPiece::Event(Event::End(TagEnd::TableHead))));
    let words: Vec<&str> = head
        .filter_map(|piece| match piece {
            WorkedPiece::Event(Event::Text(words)) => Some(words.as_ref()),
            _ => None,
        })
        .collect();
    words.join(", ")
}

/// The pieces of a caption, of its table, and what comes after.
type Split<'p> = (&'p [WorkedPiece], &'p [WorkedPiece], &'p [WorkedPiece]);

/// A table at the front, with the paragraph `Table: …` before it if there is one.
fn split_table(pieces: &[WorkedPiece]) -> Option<Split<'_>> {
    let (caption, rest) = match pieces {
        [WorkedPiece::Event(Event::Start(Tag::Paragraph)), WorkedPiece::Event(Event::Text(words)), ..]
            if words.starts_with("Table:") =>
        {
            let end =
                pieces.iter().position(|piece| matches!(piece, WorkedPiece::Event(Event::End(TagEnd::Paragraph))))?;
            (&pieces[1..end], &pieces[end + 1..])
        }
        _ => (&pieces[..0], pieces),
    };
    if !matches!(rest.first(), Some(WorkedPiece::Event(Event::Start(Tag::Table(_))))) {
        return None;
    }
    let end = rest.iter().position(|piece| matches!(piece, WorkedPiece::Event(Event::End(TagEnd::Table))))?;
    Some((caption, &rest[..=end], &rest[end + 1..]))
}
