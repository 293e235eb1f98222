//! What a page uses of the library, with the place of each use: names, formulas, parts, drawings, photos, other pages.
//!
//! Read off the page as it is written, so that a page with a fault has uses too. This one record says where something is
//! used, what would break without it, what nobody uses, and which pages to work again after a save. It may name more than
//! a figure reads at one press, and never less.

use super::links::join;
use crate::diagnostic::Source;
use crate::library::Library;
use crate::library::bike::BuildSheet;
use crate::library::block::{Block, NamedText};
use crate::library::block_shelf::{NamedPart, Side};
use crate::library::chart::{Chart, Then};
use crate::library::guide::{Guide, Words};
use crate::library::markdown::Piece;
use crate::mechanics::mark::TextPiece;
use crate::text::{Mapped, Span, Spanned};
use pulldown_cmark::{Event, Tag};
use std::sync::Arc;

/// Something of the library that a page may use.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Thing {
    /// A figure by its name: `torque.stem`, `roadster.chainstay`, `cassette-11-34.largest`; of the page's own too.
    Name(String),
    /// A formula.
    Formula(String),
    /// A part of the shelf.
    Part(String),
    /// All parts of a family.
    Family(String),
    /// A bike.
    Bike(String),
    /// A drawing.
    Drawing(String),
    /// A photo by its file.
    Photo(String),
    /// A page by its source file.
    Page(String),
}

/// What uses something on a page.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum By {
    /// A figure in the text, as its mark is written.
    Figure,
    /// The working of this name.
    Working(String),
    /// A pairing.
    Pairing,
    /// A fit table.
    FitTable,
    /// A sweep.
    Sweep,
    /// The drawing of this name.
    Drawing(String),
    /// A link.
    Link,
    /// A photo of the page.
    Photo,
    /// A key of front matter or of a build sheet.
    Key(&'static str),
}

impl By {
    /// In words.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Figure => "a figure in the text".to_owned(),
            Self::Working(name) => format!("working {name}"),
            Self::Pairing => "a pairing".to_owned(),
            Self::FitTable => "a fit table".to_owned(),
            Self::Sweep => "a sweep".to_owned(),
            Self::Drawing(name) => format!("drawing {name}"),
            Self::Link => "a link".to_owned(),
            Self::Photo => "a photo".to_owned(),
            Self::Key(key) => format!("the key {key}"),
        }
    }
}

/// One use.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Use {
    /// What is used.
    pub thing: Thing,
    /// What uses it.
    pub by: By,
    /// Where, in the page's file.
    pub span: Span,
}

/// A page with all that it uses.
#[derive(Clone, Debug)]
pub struct PageUses {
    /// The sheet's number.
    pub number: String,
    /// Its file.
    pub source: Arc<Source>,
    /// What it uses.
    pub uses: Vec<Use>,
}

/// What each page of a library uses, with the page: guides and replies, build sheets, charts.
#[must_use]
pub fn of_library(library: &Library) -> Vec<PageUses> {
    let page = |number: &Spanned<String>, source: &Arc<Source>, uses: Vec<Use>| PageUses {
        number: number.value.clone(),
        source: Arc::clone(source),
        uses,
    };
    let guides = library.guides.iter().map(|one| page(&one.number, &one.source, of_guide(one)));
    let bikes = library.bikes.iter().map(|one| page(&one.number, &one.source, of_build(one)));
    let charts = library.charts.iter().map(|one| page(&one.number, &one.source, of_chart(one)));
    guides.chain(bikes).chain(charts).collect()
}

/// What a guide or a reply uses.
#[must_use]
pub fn of_guide(guide: &Guide) -> Vec<Use> {
    let mut uses = Uses { file: &guide.source.name, bike: None, found: Vec::new() };
    if let Some(bike) = &guide.bike {
        uses.add(Thing::Bike(bike.value.clone()), &By::Key("bike"), bike.span);
        uses.bike = Some(&bike.value);
    }
    if let Some(figure) = &guide.key_figure {
        uses.name(&figure.value, &By::Key("key_figure"), figure.span);
    }
    let lists = [&guide.tools, &guide.consumables, &guide.symptoms, &guide.asks, &guide.right_when, &guide.stop_when];
    for words in [&guide.title, &guide.summary].into_iter().chain(lists.into_iter().flatten()) {
        uses.words(words, &By::Figure);
    }
    for piece in guide.pieces() {
        uses.piece(piece);
    }
    uses.found
}

/// What a fault-finding chart uses.
#[must_use]
pub fn of_chart(chart: &Chart) -> Vec<Use> {
    let mut uses = Uses { file: &chart.source.name, bike: None, found: Vec::new() };
    for words in [&chart.title, &chart.summary].into_iter().chain(&chart.symptoms).chain(&chart.asks) {
        uses.words(words, &By::Figure);
    }
    for check in &chart.checks {
        uses.words(&check.act, &By::Figure);
        uses.words(&check.question, &By::Figure);
        for answer in &check.answers {
            uses.words(&answer.words, &By::Figure);
            uses.words(&answer.because, &By::Figure);
            match &answer.then {
                Then::Read(path) => uses.link(&path.value, path.span),
                Then::BringItIn(why) => uses.words(why, &By::Figure),
                Then::GoOn(_) => {}
            }
        }
    }
    uses.found
}

/// What a build sheet uses: its parts, and the formulas that every build sheet works.
#[must_use]
pub fn of_build(bike: &BuildSheet) -> Vec<Use> {
    let mut uses = Uses { file: &bike.source.name, bike: None, found: Vec::new() };
    for fitted in &bike.parts {
        uses.add(Thing::Part(fitted.name.value.clone()), &By::Key("parts"), fitted.name.span);
    }
    for measure in &bike.measured {
        uses.add(Thing::Name(format!("{}.{}", bike.name, measure.name)), &By::Key("measured"), measure.span);
    }
    for formula in super::build::FORMULAS {
        uses.add(Thing::Formula((*formula).to_owned()), &By::Key("parts"), bike.number.span);
    }
    uses.add(Thing::Drawing(super::build::VIEW.to_owned()), &By::Key("parts"), bike.number.span);
    uses.found
}

struct Uses<'a> {
    file: &'a str,
    /// The bike that `bike.…` stands for.
    bike: Option<&'a str>,
    found: Vec<Use>,
}

impl Uses<'_> {
    fn add(&mut self, thing: Thing, by: &By, span: Span) {
        self.found.push(Use { thing, by: by.clone(), span });
    }

    /// A name of the page's own working is kept too: whether something is a working's is for who asks.
    fn name(&mut self, name: &str, by: &By, span: Span) {
        let own = name.strip_prefix("bike.").zip(self.bike).map(|(rest, bike)| format!("{bike}.{rest}"));
        self.add(Thing::Name(own.unwrap_or_else(|| name.to_owned())), by, span);
    }

    fn words(&mut self, words: &Words, by: &By) {
        for piece in words {
            if let TextPiece::Mark(mark) = piece {
                self.name(&mark.name.value, by, mark.name.span);
            }
        }
    }

    /// Every dotted name of an expression.
    fn expression(&mut self, text: &Mapped, by: &By) {
        let is_of_name = |c: char| c.is_ascii_alphanumeric() || "_-.".contains(c);
        let mut at = 0;
        for word in text.text().split(|c: char| !is_of_name(c)) {
            let begins = at + text.text()[at..].find(word).unwrap_or(0);
            at = begins + word.len();
            let name = word.trim_matches(['-', '.']);
            if name.contains('.') && name.starts_with(|c: char| c.is_ascii_lowercase()) {
                let start = begins + word.find(name).unwrap_or(0);
                self.name(name, by, text.span(start..start + name.len()));
            }
        }
    }

    fn expressions(&mut self, given: &[NamedText], by: &By) {
        for (_, text) in given {
            self.expression(text, by);
        }
    }

    fn parts(&mut self, parts: &[NamedPart], by: &By) {
        for part in parts {
            self.add(Thing::Part(part.name.value.clone()), by, part.name.span);
        }
    }

    fn side(&mut self, side: &Side) {
        match side {
            Side::Parts(parts) => self.parts(parts, &By::FitTable),
            Side::Family(family) => {
                self.add(Thing::Family(family.name.value.clone()), &By::FitTable, family.name.span);
            }
        }
    }

    fn link(&mut self, destination: &str, span: Span) {
        let path = destination.split_once('#').map_or(destination, |(path, _)| path);
        if !path.is_empty()
            && let Some(file) = join(self.file, path)
        {
            self.add(Thing::Page(file), &By::Link, span);
        }
    }

    fn piece(&mut self, piece: &Piece) {
        match piece {
            Piece::Mark(mark) => self.name(&mark.name.value, &By::Figure, mark.name.span),
            Piece::Event(Event::Start(Tag::Link { dest_url, .. }), span) => {
                if !dest_url.contains(':') {
                    self.link(dest_url, *span);
                }
            }
            Piece::Photo(photo) => {
                if let Some(file) = join(self.file, &photo.path) {
                    self.add(Thing::Photo(file), &By::Photo, photo.span);
                }
                self.words(&photo.alt, &By::Photo);
                self.words(&photo.caption, &By::Photo);
            }
            Piece::Block(block) => self.block(block),
            Piece::Event(..) | Piece::Prose(_) | Piece::Unread => {}
        }
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Working(working) => {
                let by = By::Working(working.name.value.clone());
                if working.equation.is_empty() {
                    self.add(Thing::Formula(working.formula.value.clone()), &by, working.formula.span);
                }
                self.expressions(&working.given, &by);
                for must in &working.must {
                    self.expression(&must.when, &by);
                    self.words(&must.message, &by);
                }
            }
            Block::Pairing(pairing) => self.parts(&pairing.parts, &By::Pairing),
            Block::FitTable(table) => {
                self.side(&table.down);
                self.side(&table.across);
                self.parts(&table.with, &By::FitTable);
                self.words(&table.caption, &By::FitTable);
            }
            Block::Sweep(sweep) => {
                self.add(Thing::Formula(sweep.formula.value.clone()), &By::Sweep, sweep.formula.span);
                self.expressions(&sweep.given, &By::Sweep);
                let runs = [Some(&sweep.across), sweep.down.as_ref(), sweep.saw_tooth.as_ref()];
                for value in runs.into_iter().flatten().flat_map(|run| &run.values) {
                    self.expression(value, &By::Sweep);
                }
                self.words(&sweep.caption, &By::Sweep);
            }
            Block::Drawing(drawing) => {
                let by = By::Drawing(drawing.of.value.clone());
                self.add(Thing::Drawing(drawing.of.value.clone()), &by, drawing.of.span);
                self.expressions(&drawing.set, &by);
                self.words(&drawing.alt, &by);
                self.words(&drawing.caption, &by);
            }
            Block::Safety(safety) => {
                for piece in &safety.body {
                    self.piece(piece);
                }
            }
        }
    }
}
