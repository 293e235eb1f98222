//! One guide evaluated: workings first, then every text, block and link.

use super::beside::Units;
use super::figure::{plain, resolve, resolve_text};
use super::formulas::Formulas;
use super::links::{self, Link};
use super::loose;
use super::names::{Names, Shared};
use super::spelling;
use super::{
    Drafts, WorkedDrawing, WorkedGuide, WorkedOperation, WorkedPhoto, WorkedPiece, WorkedText, parts, sweeps, workings,
};
use crate::drawing::Drawings;
use crate::fault::{Fault, Severity, id};
use crate::library::Library;
use crate::library::block::{Block, DrawingBlock};
use crate::library::guide::{Guide, Words};
use crate::library::hazards;
use crate::library::markdown::{PhotoPiece, Piece};
use crate::mechanics::mark::{Mark, TextPiece};
use crate::text::{Span, Spanned};
use pulldown_cmark::{Event, Tag};
use std::sync::Arc;

/// What every page is evaluated against.
pub(super) struct Around<'a, 'd> {
    pub(super) library: &'a Library,
    pub(super) formulas: &'a Formulas,
    pub(super) drawings: &'d Drawings,
    pub(super) shared: Shared,
    pub(super) units: Arc<Units>,
    pub(super) drafts: Drafts,
    /// The titles of parts that hold a size: it names them, and is no loose figure.
    pub(super) sizes: Vec<String>,
}

/// The titles of parts on the shelf that would be loose figures if they did not name a part.
pub(super) fn sizes(library: &Library) -> Vec<String> {
    let titles = library.shelf.parts.iter().map(|part| &part.title);
    titles.filter(|title| !loose::find(title, &[]).is_empty()).cloned().collect()
}

/// Evaluates a guide; `None` where it has a fault.
pub(super) fn evaluate<'a>(
    guide: &'a Guide,
    around: &Around<'a, '_>,
    faults: &mut Vec<Fault>,
) -> Option<WorkedGuide<'a>> {
    let mut names = Names::of(&around.shared, &around.units);
    if let Some(bike) = &guide.bike {
        if around.library.bikes.iter().any(|known| known.name == bike.value) {
            names.add_bike(&bike.value);
        } else {
            faults.push(unknown_bike(bike, around.library));
            names.add_failed("bike");
        }
    }
    if guide.pieces().any(|piece| matches!(piece, Piece::Unread)) {
        names.expect_more();
    }
    let blocks = guide.blocks();
    let working_blocks: Vec<_> = blocks
        .into_iter()
        .filter_map(|block| match block {
            Block::Working(working) => Some(working),
            _ => None,
        })
        .collect();
    let worked = workings::evaluate(&working_blocks, &guide.source.name, around.formulas, &mut names, faults);
    check_loose(guide, around, &names, faults);
    let order = worked.iter().map(|working| working.name.clone()).collect();
    let mut page = Page { guide, around, names, order, faults };
    let operation = |page: &mut Page<'_, '_>, operation: &crate::library::guide::Operation| WorkedOperation {
        number: operation.number,
        heading: page.pieces(&operation.heading),
        body: page.pieces(&operation.body),
    };
    let lead = page.pieces(&guide.lead);
    let operations: Vec<WorkedOperation> = guide.operations.iter().map(|one| operation(&mut page, one)).collect();
    let cautions = cautions(guide, &worked, lead.iter().chain(operations.iter().flat_map(|one| &one.body)));
    let result = WorkedGuide {
        guide,
        stamp: around.library.stamp_of(guide),
        title: page.words(&guide.title),
        summary: page.words(&guide.summary),
        tools: page.lines(&guide.tools),
        consumables: page.lines(&guide.consumables),
        symptoms: page.lines(&guide.symptoms),
        asks: page.lines(&guide.asks),
        right_when: page.lines(&guide.right_when),
        stop_when: page.lines(&guide.stop_when),
        key_figure: page.key_figure(),
        lead,
        operations,
        cautions,
        workings: worked,
    };
    faults.sort_by_key(|fault| fault.span);
    faults.iter().all(|fault| fault.severity == Severity::Note).then_some(result)
}

pub(super) fn unknown_bike(bike: &Spanned<String>, library: &Library) -> Fault {
    let known = || library.bikes.iter().map(|bike| bike.name.as_str());
    let fault = Fault::new(id::UNKNOWN_BIKE, bike.span, format!("there is no build sheet called {}", bike.value))
        .found(bike.value.clone());
    let names = known().collect::<Vec<_>>().join(", ");
    let fault = if names.is_empty() { fault } else { fault.allowed(names) };
    fault.nearest(&bike.value, known(), "write its build sheet, content/bikes/NAME.yaml, or leave bike out")
}

/// Notes the loose figures of a page in whatever text readers see.
fn check_loose(guide: &Guide, around: &Around<'_, '_>, names: &Names, faults: &mut Vec<Fault>) {
    let phrase = |words: &Words| {
        words
            .iter()
            .map(|piece| if let TextPiece::Words(words) = piece { words.as_str() } else { "" })
            .collect::<String>()
    };
    let sizes = around.sizes.iter().filter(|title| guide.source.text.contains(title.as_str()));
    let nominal: Vec<String> = guide
        .tools
        .iter()
        .chain(&guide.consumables)
        .map(phrase)
        .chain(guide.nominal.iter().map(|phrase| phrase.value.clone()))
        .chain(sizes.cloned())
        .collect();
    let blocks = guide.blocks();
    let of_blocks = blocks.iter().flat_map(|block| match block {
        Block::Working(working) => &working.prose[..],
        Block::Drawing(drawing) => &drawing.prose[..],
        Block::FitTable(table) => &table.prose[..],
        Block::Sweep(sweep) => &sweep.prose[..],
        Block::Pairing(_) | Block::Safety(_) => &[],
    });
    let notices = blocks.iter().filter_map(|block| match block {
        Block::Safety(safety) => Some(&safety.body),
        _ => None,
    });
    let of_body = guide.pieces().chain(notices.flatten()).filter_map(|piece| match piece {
        Piece::Prose(text) => Some(text),
        _ => None,
    });
    for text in guide.prose.iter().chain(of_body).chain(of_blocks) {
        loose::check(text, &nominal, around.library.shop.loose_figures, names, faults);
        spelling::check(text, faults);
    }
}

/// Standing cautions: those of the hazards, then those of formulas and rules, each once.
fn cautions<'p>(
    guide: &Guide,
    worked: &[super::PageWorking<'_>],
    pieces: impl Iterator<Item = &'p WorkedPiece>,
) -> Vec<String> {
    let of_hazards = hazards::cautions_of(&guide.hazards);
    let of_formulas = worked.iter().flat_map(|working| working.working.formula.cautions.iter().cloned());
    let mut cautions: Vec<String> = Vec::new();
    for caution in of_hazards.chain(of_formulas) {
        if !cautions.contains(&caution) {
            cautions.push(caution);
        }
    }
    add_cautions_of(pieces, &mut cautions);
    cautions
}

/// The cautions of rules that spoke and of formulas that were run, those within notices included.
fn add_cautions_of<'p>(pieces: impl Iterator<Item = &'p WorkedPiece>, cautions: &mut Vec<String>) {
    for piece in pieces {
        let more: Vec<&String> = match piece {
            WorkedPiece::Pairing(pairing) => pairing.told.reasons.iter().flat_map(|reason| &reason.cautions).collect(),
            WorkedPiece::FitTable(table) => table.cautions.iter().collect(),
            WorkedPiece::Sweep(sweep) => sweep.cautions.iter().collect(),
            WorkedPiece::Safety(_, body) => {
                add_cautions_of(body.iter(), cautions);
                continue;
            }
            _ => continue,
        };
        for caution in more {
            if !cautions.contains(caution) {
                cautions.push(caution.clone());
            }
        }
    }
}

struct Page<'p, 'a> {
    guide: &'p Guide,
    around: &'p Around<'a, 'p>,
    names: Names,
    /// The names of the workings that were worked, in their order.
    order: Vec<String>,
    faults: &'p mut Vec<Fault>,
}

impl Page<'_, '_> {
    fn words(&mut self, words: &Words) -> Vec<WorkedText> {
        resolve_text(words, &self.names, self.faults)
    }

    fn lines(&mut self, lines: &[Words]) -> Vec<Vec<WorkedText>> {
        lines.iter().map(|line| self.words(line)).collect()
    }

    fn key_figure(&mut self) -> Option<super::figure::Figure> {
        let name = self.guide.key_figure.clone()?;
        let mark = Mark { span: name.span, name, unit: None, decimals: None, bare: false };
        resolve(&mark, &self.names, self.faults)
    }

    fn pieces(&mut self, pieces: &[Piece]) -> Vec<WorkedPiece> {
        pieces.iter().filter_map(|piece| self.piece(piece)).collect()
    }

    fn piece(&mut self, piece: &Piece) -> Option<WorkedPiece> {
        match piece {
            Piece::Event(Event::Start(Tag::Link { dest_url, .. }), span) => self.link(piece, dest_url, *span),
            Piece::Event(event, _) => Some(WorkedPiece::Event(event.clone())),
            Piece::Mark(mark) => resolve(mark, &self.names, self.faults).map(WorkedPiece::Figure),
            Piece::Photo(photo) => self.photo(photo).map(WorkedPiece::Photo),
            Piece::Unread | Piece::Prose(_) => None,
            Piece::Block(block) => match block.as_ref() {
                Block::Working(working) => {
                    let place = self.order.iter().position(|name| *name == working.name.value)?;
                    Some(WorkedPiece::Working(place))
                }
                Block::Pairing(pairing) => {
                    parts::pairing(pairing, &self.around.library.shelf, self.faults).map(WorkedPiece::Pairing)
                }
                Block::FitTable(table) => {
                    let caption = self.words(&table.caption);
                    let worked = parts::fit_table(table, &self.around.library.shelf, self.faults)?;
                    Some(WorkedPiece::FitTable(parts::WorkedFitTable { caption, ..worked }))
                }
                Block::Sweep(sweep) => {
                    let caption = self.words(&sweep.caption);
                    let worked = sweeps::sweep(sweep, self.around.formulas, &self.names, self.faults)?;
                    Some(WorkedPiece::Sweep(Box::new(sweeps::WorkedSweep { caption, ..worked })))
                }
                Block::Drawing(drawing) => self.drawing(drawing).map(WorkedPiece::Drawing),
                Block::Safety(safety) => {
                    let signal =
                        ["danger", "warning", "caution", "notice"].into_iter().find(|word| *word == safety.signal)?;
                    Some(WorkedPiece::Safety(signal, self.pieces(&safety.body)))
                }
            },
        }
    }

    fn link(&mut self, piece: &Piece, destination: &str, span: Span) -> Option<WorkedPiece> {
        match links::resolve(self.guide.into(), destination, span, self.around.library, self.around.drafts) {
            Ok(Link::Page(target)) => Some(WorkedPiece::Link(target)),
            Ok(Link::Elsewhere) => match piece {
                Piece::Event(event, _) => Some(WorkedPiece::Event(event.clone())),
                _ => None,
            },
            Err(fault) => {
                self.faults.push(fault);
                None
            }
        }
    }

    fn photo(&mut self, written: &PhotoPiece) -> Option<WorkedPhoto> {
        let photo = links::photo(self.guide, &written.path, written.span, self.around.library);
        let photo = photo.map_err(|fault| self.faults.push(fault)).ok();
        let alt = plain(&resolve_text(&written.alt, &self.names, self.faults));
        if alt.trim().is_empty() {
            let message = "no words say what this photo shows";
            let cure = "say it between the square brackets, for a reader who can't see it: ![in a sentence](…)";
            self.faults.push(Fault::new(id::PHOTO_WITHOUT_ALT, written.span, message).cure(cure));
        }
        let caption = resolve_text(&written.caption, &self.names, self.faults);
        Some(WorkedPhoto { photo: photo?, alt, caption, span: written.span })
    }

    fn drawing(&mut self, block: &DrawingBlock) -> Option<WorkedDrawing> {
        let drawing = self.around.drawings.find(&block.of).map_err(|fault| self.faults.extend(fault)).ok()?;
        let filled = drawing.fill(block, &self.names, self.faults);
        let alt = plain(&resolve_text(&block.alt, &self.names, self.faults));
        let caption = resolve_text(&block.caption, &self.names, self.faults);
        Some(WorkedDrawing { name: block.of.value.clone(), filled: filled?, alt, caption })
    }
}
