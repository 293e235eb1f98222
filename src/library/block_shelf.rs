//! The blocks that ask about parts of the shelf: `pairing` and `fit-table`.
//!
//! ```yaml
//! parts: [cassette-11-34, derailleur-long, crank-50-34]     # `front tyre-25` where the end of the bicycle matters
//! claim: fits
//! ```
//! ```yaml
//! down: cassette                  # a family of the shelf, or a list of parts
//! across: rear_derailleur
//! with: [crank-50-34]             # parts that every question is asked with
//! caption: Which cassette with which derailleur
//! ```
//! Names are found when the page is evaluated.

use super::block::spanned;
use crate::fault::{Fault, id};
use crate::mechanics::mark::{TextPiece, split_marks};
use crate::mechanics::pairing::keys::verdicts;
use crate::mechanics::pairing::{Place, Verdict};
use crate::text::{Mapped, Span, Spanned};
use crate::yaml::keys::{Holds, Keys, keys};
use crate::yaml::{self, Fields, Node};

/// A part that a block names, and the end of the bicycle.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NamedPart {
    /// The end, where the block says which.
    pub place: Option<Place>,
    /// The part's name.
    pub name: Spanned<String>,
}

/// A `pairing` block as written.
#[derive(Clone, Debug)]
pub struct PairingBlock {
    /// The parts.
    pub parts: Vec<NamedPart>,
    /// What the technician believes.
    pub claim: Option<Spanned<Verdict>>,
    /// The block's own lines.
    pub written: String,
    /// Where it stands.
    pub span: Span,
}

/// One side of a fit table.
#[derive(Clone, Debug)]
pub enum Side {
    /// All parts of a family, at one end of the bicycle where that is said.
    Family(NamedPart),
    /// These parts.
    Parts(Vec<NamedPart>),
}

/// A `fit-table` block as written.
#[derive(Clone, Debug)]
pub struct FitTableBlock {
    /// The rows.
    pub down: Side,
    /// The columns.
    pub across: Side,
    /// Parts that every question is asked with.
    pub with: Vec<NamedPart>,
    /// What stands above it.
    pub caption: Vec<TextPiece>,
    /// Its words, looked at for loose figures.
    pub prose: Vec<Mapped>,
    /// Where it stands.
    pub span: Span,
}

/// Names of parts, with the end of the bicycle before them where it matters.
const PARTS: Holds = Holds::List(&Holds::Text("a part on the shelf, with front or rear before it"));

/// A `pairing`.
pub static PAIRING: Keys = Keys::new(
    "a pairing",
    keys! {
        "parts" needed Holds::Sized(&PARTS, 2, None), "The parts that are asked about together.",
            "parts: [cassette-11-34, derailleur-long, crank-50-34]";
        "claim" free Holds::OneOf(verdicts), "The verdict that you believe. The press fails when it turns.",
            "claim: fits";
    },
);

/// A `fit-table`.
pub static FIT_TABLE: Keys = Keys::new(
    "a fit table",
    keys! {
        "down" needed SIDE, "The rows: a family, whose parts are all taken, or a list of parts.",
            "down: cassette";
        "across" needed SIDE, "The columns: a family or a list of parts. Five of them fill a sheet.",
            "across: [derailleur-short, derailleur-long]";
        "with" free PARTS, "Parts that go into every question.",
            "with: [crank-50-34]";
        "caption" needed Holds::Text("a sentence"), "What stands above it.",
            "caption: Which cassette with which derailleur";
    },
);

const SIDE: Holds = Holds::Either(&[Holds::Text("the name of a family"), PARTS]);

/// Reads a `pairing` block.
pub(super) fn pairing(body: &Mapped, faults: &mut Vec<Fault>) -> Option<PairingBlock> {
    let node = yaml::parse(body).map_err(|found| faults.extend(found)).ok()?;
    let fields = Fields::of(&node, &PAIRING, faults)?;
    fields.need("parts", faults)?;
    let parts = named_parts(&fields, "parts", faults);
    if parts.len() < 2 && fields.get("parts").is_some_and(|node| node.as_list().is_some()) {
        faults.push(
            Fault::new(id::WRONG_SHAPE, body.whole(), "a pairing asks about two parts or more")
                .allowed("parts: [cassette-11-34, derailleur-long]")
                .cure("name another part"),
        );
        return None;
    }
    let claim = fields.text("claim", faults).and_then(|text| claim(text, faults));
    Some(PairingBlock { parts, claim, written: body.text().to_owned(), span: body.whole() })
}

fn claim(text: &Mapped, faults: &mut Vec<Fault>) -> Option<Spanned<Verdict>> {
    let word = text.text().trim();
    let all = || Verdict::ALL.into_iter().map(Verdict::words);
    if let Some(verdict) = Verdict::named(word) {
        return Some(Spanned::new(verdict, text.whole()));
    }
    let fault = Fault::new(id::UNKNOWN_WORD, text.whole(), format!("no verdict is called {word}")).found(word);
    faults.push(fault.allowed(all().collect::<Vec<_>>().join(", ")).nearest(word, all(), "use one of these"));
    None
}

/// Reads a `fit-table` block.
pub(super) fn fit_table(body: &Mapped, file: &str, faults: &mut Vec<Fault>) -> Option<FitTableBlock> {
    let node = yaml::parse(body).map_err(|found| faults.extend(found)).ok()?;
    let fields = Fields::of(&node, &FIT_TABLE, faults)?;
    let (down, across) = (side(&fields, "down", faults), side(&fields, "across", faults));
    let with = named_parts(&fields, "with", faults);
    let caption = fields.need_text("caption", faults);
    let prose = caption.into_iter().cloned().collect();
    let caption = caption.map(|text| split_marks(text, file, faults)).unwrap_or_default();
    Some(FitTableBlock { down: down?, across: across?, with, caption, prose, span: body.whole() })
}

fn side(fields: &Fields<'_>, key: &str, faults: &mut Vec<Fault>) -> Option<Side> {
    let node = fields.need(key, faults)?;
    if node.as_list().is_some() {
        return Some(Side::Parts(named_parts(fields, key, faults)));
    }
    fields.text(key, faults).map(|text| Side::Family(named_part(text)))
}

/// The parts of a list.
fn named_parts(fields: &Fields<'_>, key: &str, faults: &mut Vec<Fault>) -> Vec<NamedPart> {
    let nodes = fields.list(key, faults);
    let named = nodes.into_iter().filter_map(|node: &Node| {
        let text = node.text();
        if text.is_none() {
            faults.push(
                Fault::new(id::WRONG_SHAPE, node.span, "each item is the name of one part")
                    .allowed("[cassette-11-34, derailleur-long], or [front tyre-25, rear tyre-28]")
                    .cure("write the names alone, with commas between them"),
            );
        }
        text.map(named_part)
    });
    named.collect()
}

/// `front tyre-25`: a name, perhaps with a place before it.
pub(super) fn named_part(text: &Mapped) -> NamedPart {
    let (place, name) = Place::split(text.text().trim(), ' ');
    let whole = spanned(text);
    let start = text.text().len() - text.text().trim_start().len() + whole.value.len() - name.len();
    let name = Spanned::new(name.trim().to_owned(), text.span(start..start + name.len()));
    NamedPart { place, name }
}
