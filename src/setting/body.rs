//! A body's pieces to markup: what the Markdown parser found is written by its own writer, figures, workings, drawings
//! and notices by the theme's templates.

use super::theme::ThemeFault;
use super::{Picture, Setting, Shows, code, safe, working};
use crate::drawing::raster;
use crate::editions::SYMBOL;
use crate::evaluate::figure::Figure;
use crate::evaluate::{PageWorking, Target, WorkedDrawing, WorkedPhoto, WorkedPiece, WorkedText};
use crate::text::escape;
use minijinja::context;
use pulldown_cmark::{CodeBlockKind, CowStr, Event, Tag, TagEnd, html};
use std::cell::{Cell, RefCell};
use std::sync::Arc;

/// One sheet's body with what setting it needs.
pub(super) struct Body<'a> {
    pub(super) setting: &'a Setting<'a>,
    /// The path of the sheet, its number, and the file that it was written in.
    pub(super) page: &'a str,
    pub(super) number: &'a str,
    pub(super) file: &'a str,
    /// The workings of the sheet.
    pub(super) workings: &'a [PageWorking<'a>],
    /// How many tables and examples were set: each box that scrolls has a name of its own.
    pub(super) tables: Cell<usize>,
    /// True where a figure stands in two units, which a switch of the sheet turns.
    pub(super) beside: Cell<bool>,
    /// How many pairings, fit tables and sweeps were set: each has an id of its own.
    pub(super) blocks: Cell<usize>,
    /// The drawings and photos that were set; each use of a drawing has an id of its own.
    pub(super) pictures: RefCell<Vec<Picture>>,
    /// The notes in the order in which they are first asked for: label, and what stands in it once it is set.
    pub(super) notes: RefCell<Vec<(String, Option<String>)>>,
}

type Set<T> = Result<T, ThemeFault>;

impl<'a> Body<'a> {
    /// A sheet of which nothing has been set yet.
    pub(super) fn of(
        setting: &'a Setting<'a>,
        page: &'a str,
        number: &'a str,
        file: &'a str,
        workings: &'a [PageWorking<'a>],
    ) -> Self {
        Self {
            setting,
            page,
            number,
            file,
            workings,
            tables: Cell::new(0),
            beside: Cell::new(false),
            blocks: Cell::new(0),
            pictures: RefCell::default(),
            notes: RefCell::default(),
        }
    }
}

impl Body<'_> {
    /// Text with figures.
    pub(super) fn text(&self, pieces: &[WorkedText]) -> Set<String> {
        let mut out = String::new();
        for piece in pieces {
            match piece {
                WorkedText::Words(words) => out.push_str(&escape(words)),
                WorkedText::Figure(figure) => {
                    let set = self.figure(figure, out.ends_with('('))?;
                    out.push_str(&set);
                }
            }
        }
        Ok(out)
    }

    /// A figure in running text; one right after a bracket stands close to it.
    fn figure(&self, figure: &Figure, tight: bool) -> Set<String> {
        if figure.beside.is_some() {
            self.beside.set(true);
        }
        self.setting.theme.render(
            "figure.html",
            context! {
                html => safe(escape(&figure.text)),
                beside => figure.beside.as_deref(),
                target => figure.working().map(|working| format!("#w-{working}")),
                title => figure.rests_on(),
                tight,
            },
        )
    }

    /// An example, in a box of its own that scrolls by itself and can be reached by keyboard.
    fn code(&self, language: &str, written: &str) -> String {
        self.tables.set(self.tables.get() + 1);
        let label = format!("Example {}", self.tables.get());
        let html = code::coloured(written.trim_end(), language);
        format!("<pre class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"{label}\"><code>{html}</code></pre>\n")
    }

    /// An id for a block that has no name of its own.
    pub(super) fn next_id(&self, word: &str) -> String {
        self.blocks.set(self.blocks.get() + 1);
        format!("{word}-{}", self.blocks.get())
    }

    /// The name of a box that scrolls, for those who don't see it.
    pub(super) fn next_label(&self, words: &str) -> String {
        self.tables.set(self.tables.get() + 1);
        format!("Table {}: {words}", self.tables.get())
    }

    /// The mark of a note in the text; the first one of each note is where the note leads back to.
    fn note_mark(&self, label: &str) -> String {
        let mut notes = self.notes.borrow_mut();
        let (place, first) = note_place(&mut notes, label);
        let id = if first { format!(r#" id="note-{place}-at""#) } else { String::new() };
        format!(r##"<sup class="note-mark"><a{id} href="#note-{place}">{place}</a></sup>"##)
    }

    /// Sets a note aside; `pieces` are what stands in it.
    fn keep_note(&self, label: &str, pieces: &[WorkedPiece]) -> Set<()> {
        let html = self.flow(pieces)?;
        let mut notes = self.notes.borrow_mut();
        let (place, _) = note_place(&mut notes, label);
        notes[place - 1].1 = Some(html);
        Ok(())
    }

    /// All notes of the page as a list.
    pub(super) fn footnotes(&self) -> String {
        let notes = self.notes.borrow();
        let item = |(at, (_, html)): (usize, &(String, Option<String>))| {
            let (place, html) = (at + 1, html.as_deref().unwrap_or_default().trim_end());
            format!(
                "<li id=\"note-{place}\">{html} <a href=\"#note-{place}-at\" aria-label=\"back to note {place} in the text\">↑</a></li>\n"
            )
        };
        let items: String = notes.iter().enumerate().map(item).collect();
        if items.is_empty() { items } else { format!("<ol>\n{items}</ol>") }
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
            if let [
                WorkedPiece::Event(Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(language)))),
                WorkedPiece::Event(Event::Text(written)),
                WorkedPiece::Event(Event::End(TagEnd::CodeBlock)),
                ..,
            ] = rest
            {
                run.push(Event::Html(CowStr::from(self.code(language, written))));
                rest = &rest[3..];
                continue;
            }
            // A photo with a paragraph to itself stands alone, with its caption.
            if let [
                WorkedPiece::Event(Event::Start(Tag::Paragraph)),
                WorkedPiece::Photo(photo),
                WorkedPiece::Event(Event::End(TagEnd::Paragraph)),
                ..,
            ] = rest
            {
                run.push(Event::Html(CowStr::from(self.photo(photo, true)?)));
                rest = &rest[3..];
                continue;
            }
            if let WorkedPiece::Event(Event::Start(Tag::FootnoteDefinition(label))) = piece {
                let ends =
                    |piece: &WorkedPiece| matches!(piece, WorkedPiece::Event(Event::End(TagEnd::FootnoteDefinition)));
                let length = after.iter().position(ends).unwrap_or(after.len());
                self.keep_note(label, &after[..length])?;
                rest = &after[(length + 1).min(after.len())..];
                continue;
            }
            let tight = matches!(run.last(), Some(Event::Text(words)) if words.ends_with('('));
            run.push(self.event(piece, tight)?);
            rest = after;
        }
        html::push_html(&mut out, run.drain(..));
        Ok(out)
    }

    fn event(&self, piece: &WorkedPiece, tight: bool) -> Set<Event<'static>> {
        let block = |html: String| Event::Html(CowStr::from(html));
        Ok(match piece {
            WorkedPiece::Event(Event::FootnoteReference(label)) => {
                Event::InlineHtml(CowStr::from(self.note_mark(label)))
            }
            WorkedPiece::Event(event) => event.clone(),
            WorkedPiece::Link(target) => {
                let number = match &target.number {
                    number if *number == self.number => String::new(),
                    number => format!(r#" data-number="{}""#, escape(number)),
                };
                let href = escape(&self.href(target));
                Event::InlineHtml(CowStr::from(format!(r#"<a href="{href}"{number}>"#)))
            }
            WorkedPiece::Figure(figure) => Event::InlineHtml(CowStr::from(self.figure(figure, tight)?)),
            WorkedPiece::Photo(photo) => Event::InlineHtml(CowStr::from(self.photo(photo, false)?)),
            WorkedPiece::Working(place) => {
                block(working::set(self.setting, &self.workings[*place], working::Stands::OnPage)?)
            }
            WorkedPiece::Pairing(pairing) => block(self.pairing(pairing)?),
            WorkedPiece::FitTable(table) => block(self.fit_table(table)?),
            WorkedPiece::Sweep(sweep) => block(self.sweep(sweep)?),
            WorkedPiece::Drawing(drawing) => block(self.drawing(drawing, true)?),
            WorkedPiece::Safety(signal, body) => block(
                self.setting
                    .theme
                    .render("safety.html", context! { signal => *signal, body_html => safe(self.flow(body)?) })?,
            ),
        })
    }

    pub(super) fn href(&self, target: &Target) -> String {
        let page = if target.page == self.page { String::new() } else { format!("{SYMBOL}{}", target.page) };
        match &target.fragment {
            Some(fragment) => format!("{page}#{fragment}"),
            None if page.is_empty() => "#work".to_owned(),
            None => page,
        }
    }

    pub(super) fn drawing(&self, drawing: &WorkedDrawing, with_key: bool) -> Set<String> {
        let begins = format!("drawings/{}.", drawing.name);
        let id = match self.pictures.borrow().iter().filter(|picture| picture.path.starts_with(&begins)).count() {
            0 => format!("d-{}", drawing.name),
            before => format!("d-{}-{}", drawing.name, before + 1),
        };
        let svg = drawn(self.setting, drawing, &id)?;
        let caption = self.text(&drawing.caption)?;
        let path = format!("{begins}{}.png", &raster::digits(&svg, &self.setting.theme.inks));
        let key: Vec<_> = drawing.filled.items.iter().filter(|_| with_key).collect();
        let key: Vec<_> =
            key.into_iter().map(|item| context! { balloon => &item.balloon, name => &item.name }).collect();
        let html = self.setting.theme.render(
            "drawing.html",
            context! { id, svg_html => safe(svg.as_str()), caption_html => safe(caption), key, picture_href => format!("{SYMBOL}{path}") },
        );
        self.pictures
            .borrow_mut()
            .push(Picture { path, shows: Shows::Drawing(svg, Arc::clone(&self.setting.theme.inks)) });
        html
    }

    /// A photo, alone or within a line.
    fn photo(&self, shown: &WorkedPhoto, alone: bool) -> Set<String> {
        let photo = &shown.photo;
        let widths: Vec<u32> = photo.widths().collect();
        let sources = widths.iter().map(|width| context! { href => format!("{SYMBOL}{}", photo.path(*width)), width });
        let html = self.setting.theme.render(
            "photo.html",
            context! {
                alone,
                picture_href => format!("{SYMBOL}{}", photo.path(photo.width)),
                sources => if widths.len() > 1 { sources.collect::<Vec<_>>() } else { Vec::new() },
                alt => shown.alt.as_str(),
                width => photo.width,
                height => photo.height,
                caption_html => safe(self.text(&shown.caption)?),
            },
        );
        for width in widths {
            let shows = Shows::Photo { photo: Arc::clone(photo), width, file: self.file.to_owned(), span: shown.span };
            self.pictures.borrow_mut().push(Picture { path: photo.path(width), shows });
        }
        html
    }

    /// A table in a box of its own, so that a wide one scrolls by itself.
    fn table(&self, caption: &[WorkedPiece], table: &[WorkedPiece]) -> Set<String> {
        let mut events: Vec<Event<'static>> = Vec::with_capacity(table.len());
        for piece in table {
            let tight = matches!(events.last(), Some(Event::Text(words)) if words.ends_with('('));
            events.push(self.event(piece, tight)?);
        }
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

/// A drawing as SVG.
pub(super) fn drawn(setting: &Setting<'_>, drawing: &WorkedDrawing, id: &str) -> Set<String> {
    setting.drawings.render(&drawing.name, &drawing.filled, &drawing.alt, id).map_err(|refused| ThemeFault {
        file: format!("diagrams/{}.svg", drawing.name),
        line: refused.line,
        written: refused.written,
        message: refused.message,
    })
}

/// The number of a note, and whether it is asked for here first.
fn note_place(notes: &mut Vec<(String, Option<String>)>, label: &str) -> (usize, bool) {
    if let Some(at) = notes.iter().position(|(known, _)| known == label) {
        return (at + 1, false);
    }
    notes.push((label.to_owned(), None));
    (notes.len(), true)
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
