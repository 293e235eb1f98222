//! A figure as it stands in text: what it says, where its working is, and what it read.

use super::beside::Shown;
use super::names::{Named, Names};
use super::{WorkedPiece, WorkedText};
use crate::fault::{Fault, id};
use crate::mechanics::digits;
use crate::mechanics::figure::Style;
use crate::mechanics::mark::{Mark, TextPiece};
use crate::text::Span;
use pulldown_cmark::Event;

/// What a figure read: drift, incremental work and `where-used` go by this alone.
#[derive(Clone, PartialEq, Debug)]
pub struct Reads {
    /// The figure's own name first, then the names that its working used.
    pub names: Vec<String>,
    /// Where the value comes from.
    pub origin: Origin,
}

/// Where a value comes from.
#[derive(Clone, PartialEq, Debug)]
pub enum Origin {
    /// A working of the page.
    Worked {
        /// The working's name.
        working: String,
        /// The formula's id.
        formula: String,
        /// The formula's version.
        version: String,
    },
    /// Measured on a bike of the shop.
    Measured {
        /// What the bike is called.
        bike: String,
        /// The number of its build sheet.
        sheet: String,
    },
    /// An attribute of a part on the shelf.
    Shelf {
        /// What the part is called.
        part: String,
        /// Who says so.
        source: String,
        /// When it was last looked up.
        checked: String,
        /// What the attribute is.
        about: String,
    },
    /// A stated figure.
    Stated {
        /// Who says so.
        source: String,
        /// When it was last looked up.
        checked: String,
        /// What it is.
        about: String,
    },
}

/// A figure.
#[derive(Clone, PartialEq, Debug)]
pub struct Figure {
    /// Number and unit as readers see them.
    pub text: String,
    /// The same in the unit that the shop shows beside it.
    pub beside: Option<String>,
    /// What it read.
    pub reads: Reads,
    /// The span of the mark.
    pub span: Span,
}

impl Figure {
    /// The working on the page that gives it.
    #[must_use]
    pub fn working(&self) -> Option<&str> {
        match &self.reads.origin {
            Origin::Worked { working, .. } => Some(working),
            Origin::Stated { .. } | Origin::Measured { .. } | Origin::Shelf { .. } => None,
        }
    }

    /// What it rests on, in a few words.
    #[must_use]
    pub fn rests_on(&self) -> String {
        match &self.reads.origin {
            Origin::Worked { .. } => "Worked out on this sheet".to_owned(),
            Origin::Measured { bike, sheet } => format!("Measured on the {bike}, build sheet {sheet}"),
            Origin::Shelf { part, source, checked, about } => {
                format!("{part}, {about}: {source}, checked {checked}")
            }
            Origin::Stated { source, checked, about } => format!("{about}; stated: {source}, checked {checked}"),
        }
    }
}

/// Resolves a mark; `None` where it names nothing, with the fault noted.
pub fn resolve(mark: &Mark, names: &Names, faults: &mut Vec<Fault>) -> Option<Figure> {
    let Some(named) = names.get(&mark.name.value) else {
        faults.extend(names.unknown(&mark.name.value, mark.name.span));
        return None;
    };
    let as_asked = |text: String| Shown { beside: names.units().beside(&text).filter(|_| !mark.bare), text };
    let shown = match style_of(mark, named) {
        // Who asks for a unit gets that, with the other beside it where it is the shop's first; who asks for none, none.
        Ok(Some(style)) => as_asked(written(named, &style, mark.bare)),
        Ok(None) if mark.bare => as_asked(named.style.bare(named.value)),
        Ok(None) => names.units().show(named.open.as_ref().unwrap_or(&named.text)),
        Err(fault) => {
            faults.push(*fault);
            return None;
        }
    };
    Some(Figure { text: shown.text, beside: shown.beside, reads: named.reads.clone(), span: mark.span })
}

/// The style that a mark asks for, where it asks for one.
fn style_of(mark: &Mark, named: &Named) -> Result<Option<Style>, Box<Fault>> {
    let Some(unit) = &mark.unit else { return Ok(None) };
    if !named.style.kind.takes(&unit.value) {
        let fault = Fault::new(
            id::WRONG_KIND,
            unit.span,
            format!("{} is {} and can't be shown in {}", mark.name.value, named.style.kind.phrase, unit.value.text),
        )
        .found(unit.value.text.clone())
        .allowed(named.style.kind.units.join(", "))
        .cure("choose one of these units");
        return Err(Box::new(fault));
    }
    let coarse = Style {
        decimals: Some(named.style.decimals.unwrap_or_else(|| decimals_in(&named.style.bare(named.value)))),
        ..named.style.clone()
    };
    let mut style = coarse.converted(unit.value.clone());
    if mark.decimals.is_some() {
        style.decimals = mark.decimals;
    }
    Ok(Some(style))
}

fn decimals_in(digits: &str) -> i32 {
    digits.split_once('.').map_or(0, |(_, after)| i32::try_from(after.len()).unwrap_or(0))
}

fn written(named: &Named, style: &Style, bare: bool) -> String {
    if bare {
        return style.bare(named.value);
    }
    let value = style.text(named.value);
    let is_even =
        named.bounds.is_bounded() && !named.bounds.is_point() && style.decimals.is_some() && named.text.contains('±');
    if is_even {
        let size = style.unit.from_base_difference(named.bounds.hi - named.value);
        return format!("{value} ± {}", style.with_unit(&digits::fixed(size, style.decimals.unwrap_or(0))));
    }
    value
}

/// Resolves text with marks; a mark with a fault is left out.
pub fn resolve_text(pieces: &[TextPiece], names: &Names, faults: &mut Vec<Fault>) -> Vec<WorkedText> {
    let mut worked = Vec::with_capacity(pieces.len());
    for piece in pieces {
        match piece {
            TextPiece::Words(words) => worked.push(WorkedText::Words(words.clone())),
            TextPiece::Mark(mark) => worked.extend(resolve(mark, names, faults).map(WorkedText::Figure)),
        }
    }
    worked
}

/// A heading's or a paragraph's pieces as plain characters: words and figures, without what links and marks do to them.
#[must_use]
pub fn plain_pieces(pieces: &[WorkedPiece]) -> String {
    let part = |piece: &WorkedPiece| match piece {
        WorkedPiece::Event(Event::Text(words) | Event::Code(words)) => words.to_string(),
        WorkedPiece::Event(Event::SoftBreak | Event::HardBreak) => " ".to_owned(),
        WorkedPiece::Figure(figure) => figure.text.clone(),
        _ => String::new(),
    };
    pieces.iter().map(part).collect()
}

/// Text with its figures as plain characters.
#[must_use]
pub fn plain(pieces: &[WorkedText]) -> String {
    let part = |piece: &WorkedText| match piece {
        WorkedText::Words(words) => words.clone(),
        WorkedText::Figure(figure) => figure.text.clone(),
    };
    pieces.iter().map(part).collect()
}
