//! Guide and library in, worked guide out: every name looked up, every figure worked, every limit held.
//!
//! The rules of a `WorkedGuide`: no name is left to look up, no unit to convert, no value missing, no link broken;
//! every figure is text and remembers what it read. Setting it needs no error path for content. Faults are collected
//! for all guides; a guide with a fault gives none.

/// The shop's units, and those beside them.
pub mod beside;
/// Build sheets.
pub mod build;
/// Fault-finding charts.
mod chart;
/// Equations of pages.
mod equation;
/// Figures as they stand in text.
pub mod figure;
/// Addresses at which pages stood before.
mod formerly;
/// Formulas that a library uses, loaded once.
pub mod formulas;
/// A whole guide.
mod guide;
/// Claims and limits, held to what was worked.
mod holding;
/// Links between pages, and the way to photos.
mod links;
/// Figures that are neither worked, stated nor nominal.
pub mod loose;
/// The names that a page knows, with their values.
pub mod names;
/// Expressions of pages, with values and bounds.
pub mod page_expression;
/// Questions about parts, answered.
pub mod pairing;
/// Blocks that ask about parts.
pub mod parts;
/// What worked pages publish.
pub mod published;
/// Units spelled otherwise than on sheets.
mod spelling;
/// Formulas run over one or two inputs.
pub mod sweeps;
/// What only follows from files that can't be read.
pub(crate) mod unread;
/// What nothing uses.
pub mod unused;
/// What pages use of the library.
pub mod uses;
/// The workings of one page.
pub mod workings;

pub use chart::{WorkedAnswer, WorkedChart, WorkedCheck, WorkedThen};
pub(crate) use links::unusable_photo;

use crate::diagnostic::{Diagnostic, Source};
use crate::drawing::Drawings;
use crate::fault::Fault;
use crate::library::photo::Photo;
use crate::library::{Faults, Library, in_file};
use crate::mechanics::working::Working;
use crate::register::Stamp;
use crate::text::Span;
use beside::Units;
use figure::Figure;
use formulas::Formulas;
use pulldown_cmark::Event;
use rayon::prelude::*;
use std::sync::Arc;

/// A guide with everything resolved.
#[derive(Debug)]
pub struct WorkedGuide<'a> {
    /// The guide as written.
    pub guide: &'a crate::library::guide::Guide,
    /// Its title block and revision table.
    pub stamp: Stamp,
    /// Its title.
    pub title: Vec<WorkedText>,
    /// Its summary.
    pub summary: Vec<WorkedText>,
    /// What is needed.
    pub tools: Vec<Vec<WorkedText>>,
    /// What is used up.
    pub consumables: Vec<Vec<WorkedText>>,
    /// What a rider notices.
    pub symptoms: Vec<Vec<WorkedText>>,
    /// What a rider asks.
    pub asks: Vec<Vec<WorkedText>>,
    /// How to know that it is right.
    pub right_when: Vec<Vec<WorkedText>>,
    /// When to stop.
    pub stop_when: Vec<Vec<WorkedText>>,
    /// The figure at the head, with the working that it comes from.
    pub key_figure: Option<Figure>,
    /// The workings, in the order of the page.
    pub workings: Vec<PageWorking<'a>>,
    /// What stands before the first operation.
    pub lead: Vec<WorkedPiece>,
    /// The operations.
    pub operations: Vec<WorkedOperation>,
    /// Standing cautions of hazards and formulas, each once.
    pub cautions: Vec<String>,
}

/// A stretch of text with its figures.
#[derive(Clone, Debug)]
pub enum WorkedText {
    /// Words.
    Words(String),
    /// A figure.
    Figure(Figure),
}

/// One operation.
#[derive(Debug)]
pub struct WorkedOperation {
    /// Its number.
    pub number: u32,
    /// Its heading.
    pub heading: Vec<WorkedPiece>,
    /// What stands below it.
    pub body: Vec<WorkedPiece>,
}

/// A piece of a body.
#[derive(Debug)]
pub enum WorkedPiece {
    /// What the Markdown parser found; never the start of a link.
    Event(Event<'static>),
    /// A link to a page of the library.
    Link(Target),
    /// A figure.
    Figure(Figure),
    /// The working with this place among the page's workings.
    Working(usize),
    /// A question about parts, answered.
    Pairing(parts::WorkedPairing),
    /// Parts crossed with parts.
    FitTable(parts::WorkedFitTable),
    /// A formula over one or two inputs.
    Sweep(Box<sweeps::WorkedSweep>),
    /// A photo.
    Photo(WorkedPhoto),
    /// A drawing, resolved.
    Drawing(WorkedDrawing),
    /// A notice.
    Safety(&'static str, Vec<WorkedPiece>),
}

/// Where a link leads: a page of the site, and perhaps a place on it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Target {
    /// The page's path: `guides/drivetrain/chain.html`.
    pub page: String,
    /// Its sheet number.
    pub number: String,
    /// The id on it.
    pub fragment: Option<String>,
}

/// A working of a page.
#[derive(Debug)]
pub struct PageWorking<'a> {
    /// Its name on the page.
    pub name: String,
    /// What was worked.
    pub working: Working<'a>,
    /// The outputs that the block asks to show.
    pub show: Vec<String>,
    /// The inputs that the block gives itself, for the note at the head of the sheet.
    pub given: Vec<String>,
    /// The block as written.
    pub written: String,
}

/// A drawing with its figures in it.
#[derive(Clone, Debug)]
pub struct WorkedDrawing {
    /// Which drawing.
    pub name: String,
    /// Values for its template.
    pub filled: crate::drawing::Filled,
    /// What it shows.
    pub alt: String,
    /// What stands below it.
    pub caption: Vec<WorkedText>,
}

/// A photo with what stands for it and below it.
#[derive(Clone, Debug)]
pub struct WorkedPhoto {
    /// The photo.
    pub photo: Arc<Photo>,
    /// What it shows.
    pub alt: String,
    /// What stands below it.
    pub caption: Vec<WorkedText>,
    /// Where it is asked for.
    pub span: Span,
}

/// What is done with pages that nobody has approved.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Drafts {
    /// Left out, and links to them are faults: `press`.
    LeftOut,
    /// Evaluated like the others, and still not to be linked to from approved pages: `proof`.
    Proved,
    /// Shown like the others: `stand`.
    Shown,
}

/// A library with everything resolved.
#[derive(Debug, Default)]
pub struct Worked<'a> {
    /// Guides and replies.
    pub guides: Vec<WorkedGuide<'a>>,
    /// Build sheets.
    pub builds: Vec<build::WorkedBuild<'a>>,
    /// Fault-finding charts.
    pub charts: Vec<WorkedChart<'a>>,
}

/// A sheet by its number.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SheetOf {
    /// The path of its page.
    pub page: String,
    /// Its title in plain characters.
    pub title: String,
}

impl Worked<'_> {
    /// The sheet with this number, where it is pressed.
    #[must_use]
    pub fn sheet_of(&self, number: &str) -> Option<SheetOf> {
        let guide = self.guides.iter().find(|one| one.guide.number.value == number);
        let guide = guide.map(|one| (one.guide.page.clone(), figure::plain(&one.title)));
        let build = || self.builds.iter().find(|one| one.bike.number.value == number);
        let build = || build().map(|one| (one.bike.page(), one.bike.title.clone()));
        let chart = || self.charts.iter().find(|one| one.chart.number.value == number);
        let chart = || chart().map(|one| (one.chart.page.clone(), figure::plain(&one.title)));
        guide.or_else(build).or_else(chart).map(|(page, title)| SheetOf { page, title })
    }
}

/// Evaluates all pages of a library, in the order of their paths, on all processors.
#[must_use]
pub fn evaluate<'a>(
    library: &'a Library,
    formulas: &'a Formulas,
    drawings: &Drawings,
    drafts: Drafts,
) -> (Worked<'a>, Faults) {
    let mut faults = evaluate_whole(library, drafts);
    let (worked, found) = evaluate_pages(library, formulas, drawings, drafts, &|_| true);
    faults.extend(found);
    (worked, faults)
}

/// What is wrong with a library as a whole, with no page evaluated.
#[must_use]
pub fn evaluate_whole(library: &Library, drafts: Drafts) -> Faults {
    let mut faults = formerly::check(library);
    faults.extend(check_arrangement(library));
    faults.extend(links::check_measured_in(library, drafts));
    faults
}

/// Evaluates the pages whose files are wanted, in the order of their paths, on all processors.
#[must_use]
pub fn evaluate_pages<'a>(
    library: &'a Library,
    formulas: &'a Formulas,
    drawings: &Drawings,
    drafts: Drafts,
    wanted: &(dyn Fn(&str) -> bool + Sync),
) -> (Worked<'a>, Faults) {
    let shared = names::shared(library);
    let around = guide::Around {
        library,
        formulas,
        drawings,
        shared,
        units: Arc::new(Units::of(&library.shop)),
        drafts,
        sizes: guide::sizes(library),
    };
    let pressed = |approved: &Option<String>, source: &Source| {
        (approved.is_some() || drafts != Drafts::LeftOut) && wanted(&source.name)
    };
    let mut faults = Faults::new();
    let guides = library.guides.iter().map(Arc::as_ref);
    let pages: Vec<_> = guides.filter(|one| pressed(&one.approved_by, &one.source)).collect();
    let guides = each(pages, &mut faults, |one, found| (guide::evaluate(one, &around, found), one.source.as_ref()));
    let bikes: Vec<_> = library.bikes.iter().filter(|one| pressed(&one.approved_by, &one.source)).collect();
    let builds = each(bikes, &mut faults, |one, found| {
        (build::evaluate(one, library, formulas, drawings, found), one.source.as_ref())
    });
    let charts: Vec<_> = library.charts.iter().filter(|one| pressed(&one.approved_by, &one.source)).collect();
    let charts = each(charts, &mut faults, |one, found| (chart::evaluate(one, &around, found), one.source.as_ref()));
    (Worked { guides, builds, charts }, faults)
}

/// The build sheet that the front page is to draw is one of the library's.
fn check_arrangement(library: &Library) -> Option<Diagnostic> {
    let wanted = library.shop.arrangement.as_ref()?;
    if library.bikes.iter().any(|bike| bike.name == wanted.value) {
        return None;
    }
    Some(Diagnostic { file: "content/shop.yaml".to_owned(), fault: guide::unknown_bike(wanted, library) })
}

/// Works each page on all processors; results and faults keep the order of the pages.
fn each<'a, P: Sync + 'a, W: Send>(
    pages: Vec<&'a P>,
    faults: &mut Faults,
    work: impl Fn(&'a P, &mut Vec<Fault>) -> (Option<W>, &'a Source) + Sync,
) -> Vec<W> {
    let results: Vec<_> = pages
        .into_par_iter()
        .map(|page| {
            let mut found = Vec::new();
            let (worked, source) = work(page, &mut found);
            (worked, in_file(source, found))
        })
        .collect();
    let mut worked = Vec::with_capacity(results.len());
    for (result, found) in results {
        worked.extend(result);
        faults.extend(found);
    }
    worked
}
