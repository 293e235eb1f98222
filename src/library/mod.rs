//! What the shop wrote, read and parsed: the shop itself, its guides, its stated figures.
//!
//! Files in, `Library` out, with every fault of reading beside it, each with its file. Nothing is worked and no name
//! is looked up here; a guide is kept as written, with its places.

/// The block words and what stands in each block.
pub mod block;
/// Files below the library's folder, read once.
pub mod files;
/// A guide as written.
pub mod guide;
/// Hazards and their standing cautions.
pub mod hazards;
/// Marks in text: `(=chain.links)`.
pub mod mark;
/// Markdown to pieces with places.
pub mod markdown;
/// `shop.yaml`.
pub mod shop;
/// `stated/*.yaml`.
pub mod stated;

use crate::diagnostic::{Diagnostic, Source};
use crate::fault::{Fault, id};
use crate::text::Span;
use files::{FileProblem, Files};
use guide::Guide;
use shop::Shop;
use stated::StatedSubject;
use std::path::Path;
use std::sync::Arc;

/// A shop's library as written.
#[derive(Debug)]
pub struct Library {
    /// The shop.
    pub shop: Shop,
    /// The guides, in the order of their paths.
    pub guides: Vec<Guide>,
    /// The stated figures, by subject.
    pub stated: Vec<StatedSubject>,
}

/// Faults with the files they stand in, in the order of the files.
pub type Faults = Vec<Diagnostic>;

/// What reading a library's folder gave.
#[derive(Debug)]
pub struct Read {
    /// The library; nothing where its shop can't be read.
    pub library: Option<Library>,
    /// Every file that was read, for drawing faults.
    pub sources: Vec<Arc<Source>>,
    /// All that is wrong so far.
    pub faults: Faults,
}

/// Reads a library.
///
/// # Errors
/// A folder or file that the machine can't read.
pub fn read(root: &Path) -> Result<Read, FileProblem> {
    let files = Files::read(root)?;
    let mut faults = files.faults.clone();
    let mut shop = None;
    let mut guides = Vec::new();
    let mut stated = Vec::new();
    for source in &files.sources {
        // A file that is no text has its fault already.
        if files.faults.iter().any(|one| one.file == source.name) {
            continue;
        }
        let mut found = Vec::new();
        let parts: Vec<&str> = source.name.split('/').collect();
        match parts[..] {
            ["content", "shop.yaml"] => shop = shop::parse(source, &mut found),
            ["content", "stated", file] => stated.extend(stated::parse(source, file, &mut found)),
            ["content", "guides", topic, _] => guides.extend(guide::parse(source, topic, &mut found)),
            ["content", "guides", ..] => found.push(misplaced()),
            _ => {}
        }
        faults.extend(in_file(source, found));
    }
    if shop.is_none() && !files.sources.iter().any(|source| source.name == "content/shop.yaml") {
        return Err(FileProblem::NoShop(root.join("content").join("shop.yaml")));
    }
    guide::check_numbers(&guides, &mut faults);
    let sources = files.sources;
    let library = shop.map(|shop| Library { shop, guides, stated });
    Ok(Read { library, sources, faults })
}

/// The fault of a guide that would otherwise be passed over.
fn misplaced() -> Fault {
    Fault::new(id::TOPIC_AND_FOLDER, Span::at(0), "this guide does not stand in a topic's own folder")
        .allowed("content/guides/TOPIC/NAME.md")
        .cure("move it into the folder of its topic")
}

/// Joins faults to the name of their file.
#[must_use]
pub fn in_file(source: &Source, faults: Vec<Fault>) -> Faults {
    faults.into_iter().map(|fault| Diagnostic { file: source.name.clone(), fault }).collect()
}
