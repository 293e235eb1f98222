//! Which guide of the library to read about an answer: the one that uses its formula, or asks about such parts.
//!
//! Only what a rider can open counts: pages that somebody has approved, and none of the manual for the shop itself.

use crate::evaluate::pairing::ToldPairing;
use crate::library::Library;
use crate::library::block::Block;
use crate::library::guide::Guide;
use crate::library::shelf::Shelf;
use crate::mechanics::formula::{Formula, Output};
use crate::mechanics::mark::TextPiece;
use crate::mechanics::print::words;
use crate::mechanics::working::Working;

/// The guide that uses a formula, best as what it is about; then one that works it at all; then one that runs it over
/// a range.
pub(super) fn guide_of_formula<'l>(library: &'l Library, formula: &Formula) -> Option<&'l Guide> {
    let rank = |guide: &&Guide| {
        let blocks = guide.blocks();
        let works =
            |block: &&Block| matches!(block, Block::Working(working) if is_meant(formula, &working.formula.value));
        let sweeps = |block: &&Block| matches!(block, Block::Sweep(sweep) if is_meant(formula, &sweep.formula.value));
        if key_output(guide, formula).is_some() {
            return 0;
        }
        if blocks.iter().any(works) {
            return 1;
        }
        if blocks.iter().any(sweeps) { 2 } else { 3 }
    };
    readable(library).filter(|guide| rank(guide) < 3).min_by_key(rank)
}

/// The figures of a formula that answer its question: those that it names, where it asks one thing; else those that its
/// guide shows; else all, those that it names first.
pub(super) fn answers<'f>(formula: &'f Formula, guide: Option<&Guide>) -> Vec<&'f Output> {
    let question = formula.question.to_lowercase();
    let asked: Vec<&str> = question.split(|c: char| !c.is_alphanumeric()).collect();
    let is_named = |output: &&Output| output.name.split('_').all(|part| asked.contains(&part));
    let (named, others): (Vec<&Output>, Vec<&Output>) = formula.outputs.iter().partition(is_named);
    // `How much is used, and how far will the rest go?` names only the first of what it asks for.
    if !named.is_empty() && !question.contains(", and ") {
        return named;
    }
    let shown = guide.map(|guide| shown(guide, formula)).unwrap_or_default();
    if shown.is_empty() { [named, others].concat() } else { shown }
}

/// What a guide shows of a formula, what stands at its head first.
fn shown<'f>(guide: &Guide, formula: &'f Formula) -> Vec<&'f Output> {
    let key = guide.key_figure.as_ref().and_then(|key| key.value.split_once('.'));
    let blocks = guide.blocks();
    let workings = blocks.iter().filter_map(|block| match block {
        Block::Working(working) if is_meant(formula, &working.formula.value) => Some(working),
        _ => None,
    });
    let is_key = |name: &str| key.is_some_and(|(working, _)| working == name);
    let Some(working) = workings.min_by_key(|working| !is_key(&working.name.value)) else { return Vec::new() };
    let head = key.filter(|_| is_key(&working.name.value)).map(|(_, output)| output);
    let show = working.show.iter().map(|name| name.value.as_str());
    let mut shown: Vec<&Output> = Vec::new();
    for output in head.into_iter().chain(show).filter_map(|name| formula.output(name)) {
        if !shown.iter().any(|known| known.name == output.name) {
            shown.push(output);
        }
    }
    shown
}

/// The figures to tell of a working: those that answer its question, then those that a limit which speaks refers to.
pub(super) fn told<'f>(working: &Working<'f>, guide: Option<&Guide>) -> Vec<&'f Output> {
    let mut told = answers(working.formula, guide);
    for spoken in &working.spoken {
        let message = spoken.limit.message.to_lowercase();
        let message: Vec<&str> =
            message.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
        let message = format!(" {} ", message.join(" "));
        let is_named = |output: &&Output| message.contains(&format!(" {} ", words(&output.name)));
        for output in working.formula.outputs.iter().filter(is_named) {
            if !told.iter().any(|known| known.name == output.name) {
                told.push(output);
            }
        }
    }
    told
}

/// The output of a formula that a guide sets at its head.
fn key_output<'f>(guide: &Guide, formula: &'f Formula) -> Option<&'f Output> {
    let (name, output) = guide.key_figure.as_ref()?.value.split_once('.')?;
    let is_it = |block: &&Block| matches!(block, Block::Working(working) if working.name.value == name && is_meant(formula, &working.formula.value));
    guide.blocks().iter().any(is_it).then(|| formula.output(output))?
}

/// True where a page that names this formula means it.
fn is_meant(formula: &Formula, name: &str) -> bool {
    formula.id == name || formula.replaces.as_ref().is_some_and(|(replaced, _)| replaced == name)
}

/// The guide that shows what is to be measured; else the one that asks about the most of these families.
pub(super) fn guide_of_pairing<'l>(library: &'l Library, shelf: &Shelf, told: &ToldPairing) -> Option<&'l Guide> {
    let shown = told.reasons.iter().flat_map(|reason| &reason.measure).filter_map(|measure| measure.guide.as_ref());
    let mut shown = shown.filter_map(|(file, _)| readable(library).find(|guide| guide.source.name == *file));
    if let Some(guide) = shown.next() {
        return Some(guide);
    }
    let family = |name: &str| shelf.part(name).map(|part| part.family.clone());
    let asked: Vec<String> = told.parts.iter().filter_map(|part| family(&part.name)).collect();
    let shared = |guide: &&Guide| {
        let of_block = |block: &&Block| match block {
            Block::Pairing(pairing) => {
                let mut met: Vec<String> = pairing.parts.iter().filter_map(|part| family(&part.name.value)).collect();
                met.sort();
                met.dedup();
                met.iter().filter(|family| asked.contains(family)).count()
            }
            _ => 0,
        };
        guide.blocks().iter().map(of_block).max().unwrap_or(0)
    };
    // One part alone of those that were asked about makes no question of this sort.
    let best = readable(library).map(|guide| (shared(&guide), guide)).filter(|(shared, _)| *shared >= 2);
    best.max_by_key(|(shared, guide)| (*shared, std::cmp::Reverse(guide.page.as_str()))).map(|(_, guide)| guide)
}

/// The guides that a rider can open.
fn readable(library: &Library) -> impl Iterator<Item = &Guide> {
    library.guides.iter().map(AsRef::as_ref).filter(|guide: &&Guide| {
        !guide.is_reply
            && guide.approved_by.is_some()
            && guide.topic.value != "library"
            && !guide.number.value.is_empty()
    })
}

/// A line of front matter that holds no figure.
pub(super) fn plain_words(words: &[TextPiece]) -> Option<&str> {
    match words {
        [TextPiece::Words(text)] => Some(text.as_str()),
        _ => None,
    }
}
