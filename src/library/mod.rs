//! What the shop wrote, read and parsed: the shop itself, its guides and replies, its parts, bikes and stated figures.
//!
//! Files in, `Library` out, with every fault of reading beside it, each with its file. Nothing is worked and no name
//! is looked up here; a guide is kept as written, with its places.

/// A page as it is begun.
pub mod begun;
/// `bikes/*.yaml`.
pub mod bike;
/// The block words and what stands in each block.
pub mod block;
/// The blocks that ask about parts.
pub mod block_shelf;
/// The block that runs a formula over inputs.
pub mod block_sweep;
/// `faults/*.yaml`.
pub mod chart;
/// Days of the calendar.
pub mod date;
/// Files below the library's folder, read once.
pub mod files;
/// Every place where YAML stands, with its keys.
pub mod forms;
/// `formulas/*.yaml`.
pub mod formula;
/// Front matter of guides and replies.
pub(crate) mod front;
/// A guide as written.
pub mod guide;
/// Hazards and their standing cautions.
pub mod hazards;
/// What was read last time.
mod kept;
/// Markdown to pieces with places.
pub mod markdown;
/// Photos, made ready for sheets.
pub mod photo;
/// Tables of keys as JSON Schemas, for editors.
pub mod schema;
/// `shelf/*.yaml`.
pub mod shelf;
/// `shop.yaml`.
pub mod shop;
/// What has not been looked at for too long.
pub mod stale;
/// `stated/*.yaml`.
pub mod stated;

pub(crate) use front::check_topic;
pub use kept::Kept;

use crate::diagnostic::{Diagnostic, Source};
use crate::fault::{Fault, id};
use crate::register::{self, Own, Register, Stamp};
use crate::text::{Span, Spanned};
use bike::BuildSheet;
use chart::Chart;
use files::{FileProblem, Files};
use formula::OwnFormula;
use guide::{Form, Guide};
use photo::Photos;
use rayon::prelude::*;
use shelf::{Shelf, ShelfFile};
use shop::Shop;
use stated::StatedSubject;
use std::collections::{HashMap, HashSet};
use std::path::Path;
use std::sync::Arc;

/// A shop's library as written.
#[derive(Debug)]
pub struct Library {
    /// The shop.
    pub shop: Shop,
    /// The guides and replies, in the order of their paths.
    pub guides: Vec<Arc<Guide>>,
    /// The stated figures, by subject.
    pub stated: Vec<StatedSubject>,
    /// The build sheets.
    pub bikes: Vec<BuildSheet>,
    /// The fault-finding charts.
    pub charts: Vec<Chart>,
    /// The parts.
    pub shelf: Arc<Shelf>,
    /// The shop's own formulas.
    pub formulas: Vec<OwnFormula>,
    /// The photos.
    pub photos: Photos,
    /// What was signed.
    pub register: Arc<Register>,
}

impl Library {
    /// The title block and the revision table of a page.
    #[must_use]
    pub fn stamp_of<'p>(&self, page: impl Into<Own<'p>>) -> Stamp {
        self.register.stamp(page.into())
    }

    /// The title block and the revision table of the sheet with this number.
    #[must_use]
    pub fn stamp_of_number(&self, number: &str) -> Option<Stamp> {
        let guide = self.guides.iter().find(|one| one.number.value == number).map(|one| self.stamp_of(one.as_ref()));
        let bike = || self.bikes.iter().find(|one| one.number.value == number).map(|one| self.stamp_of(one));
        let chart = || self.charts.iter().find(|one| one.number.value == number).map(|one| self.stamp_of(one));
        guide.or_else(bike).or_else(chart)
    }
}

/// Every kind of page tells the same of itself.
macro_rules! own {
    ($page:ty) => {
        impl<'p> From<&'p $page> for Own<'p> {
            fn from(page: &'p $page) -> Self {
                Self {
                    number: &page.number.value,
                    revision: &page.revision.value,
                    issued: &page.issued,
                    prepared_by: &page.prepared_by,
                }
            }
        }
    };
}
own!(Guide);
own!(BuildSheet);
own!(Chart);

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
    read_again(root, &mut Kept::default())
}

/// Reads a library of which some is kept from the last time.
///
/// # Errors
/// A folder or file that the machine can't read.
pub fn read_again(root: &Path, kept: &mut Kept) -> Result<Read, FileProblem> {
    let files = Files::read(root, kept)?;
    let mut faults = files.faults.clone();
    let mut shop = None;
    let mut guides = Vec::new();
    let mut stated = Vec::new();
    let mut bikes = Vec::new();
    let mut charts = Vec::new();
    let mut formulas: Vec<OwnFormula> = Vec::new();
    let mut shelves: Vec<Arc<ShelfFile>> = Vec::new();
    let mut register = Arc::default();
    let unreadable: HashSet<&str> = files.faults.iter().map(|one| one.file.as_str()).collect();
    // A file that is no text has its fault already.
    let readable = files.sources.par_iter().filter(|source| !unreadable.contains(source.name.as_str()));
    let parts: Vec<(&Arc<Source>, Part, Faults, bool)> = readable
        .map(|source| {
            if let Some((part, found)) = kept.part(source) {
                return (source, part, found, true);
            }
            let mut found = Vec::new();
            let part = parse(source, &mut found);
            (source, part, in_file(source, found), false)
        })
        .collect();
    for (source, part, found, is_kept) in parts {
        if !is_kept {
            kept.keep_part(source, part.clone(), found.clone());
        }
        match part {
            Part::Shop(read) => shop = Some(Shop::clone(&read)),
            Part::Guide(guide) => guides.push(guide),
            Part::Stated(subject) => stated.push(StatedSubject::clone(&subject)),
            Part::Bike(bike) => bikes.push(BuildSheet::clone(&bike)),
            Part::Chart(chart) => charts.push(Chart::clone(&chart)),
            Part::Formula(formula) => formulas.push(OwnFormula::clone(&formula)),
            Part::Shelf(file) => shelves.push(file),
            Part::Register(read) => register = read,
            Part::Nothing => {}
        }
        faults.extend(found);
    }
    kept.forget_all_but(&files.sources);
    if shop.is_none() && !files.sources.iter().any(|source| source.name == "content/shop.yaml") {
        return Err(FileProblem::NoShop(root.join("content").join("shop.yaml")));
    }
    let shelf = kept.shelf(shelves, &mut faults);
    check_numbers(&guides, &bikes, &charts, &mut faults);
    check_names(&stated, &bikes, &shelf, &mut faults);
    check_formulas(&formulas, &mut faults);
    check_revisions(&register, &guides, &bikes, &charts, &mut faults);
    let Files { sources, photos, .. } = files;
    let library = shop.map(|shop| Library {
        shop,
        guides,
        stated,
        bikes,
        charts,
        shelf,
        formulas,
        photos: Photos::of(root, photos),
        register,
    });
    Ok(Read { library, sources, faults })
}

/// The formulas of a library's own, without the rest of it, for the counter.
#[derive(Debug, Default)]
pub struct ReadFormulas {
    /// Those without a fault.
    pub formulas: Vec<OwnFormula>,
    /// Their files.
    pub sources: Vec<Arc<Source>>,
    /// What is wrong with the others.
    pub faults: Faults,
}

/// Reads the formulas of a library alone; none where it has no folder for them.
///
/// # Errors
/// A folder or file that the machine can't read.
pub fn read_formulas(root: &Path) -> Result<ReadFormulas, FileProblem> {
    let folder = root.join("content").join("formulas");
    if !folder.is_dir() {
        return Ok(ReadFormulas::default());
    }
    let Files { sources, mut faults, .. } = Files::below(root, &folder, &mut Kept::default())?;
    let mut formulas = Vec::new();
    for source in &sources {
        let mut found = Vec::new();
        if !faults.iter().any(|one| one.file == source.name)
            && let Part::Formula(formula) = parse(source, &mut found)
        {
            formulas.push(OwnFormula::clone(&formula));
        }
        faults.extend(in_file(source, found));
    }
    check_formulas(&formulas, &mut faults);
    Ok(ReadFormulas { formulas, sources, faults })
}

/// The shelf of a library alone, for the counter.
#[derive(Debug)]
pub struct ReadShelf {
    /// The parts, families and rules.
    pub shelf: Shelf,
    /// Their files.
    pub sources: Vec<Arc<Source>>,
    /// What is wrong with them.
    pub faults: Faults,
}

/// Reads the shelf of a library alone; an empty one where it has no folder for it.
///
/// # Errors
/// A folder or file that the machine can't read.
pub fn read_shelf(root: &Path) -> Result<ReadShelf, FileProblem> {
    let folder = root.join("content").join("shelf");
    let (sources, mut faults) = if folder.is_dir() {
        let Files { sources, faults, .. } = Files::below(root, &folder, &mut Kept::default())?;
        (sources, faults)
    } else {
        (Vec::new(), Faults::new())
    };
    let mut shelves = Vec::new();
    for source in &sources {
        let mut found = Vec::new();
        if !faults.iter().any(|one| one.file == source.name)
            && let Part::Shelf(file) = parse(source, &mut found)
        {
            shelves.push(file);
        }
        faults.extend(in_file(source, found));
    }
    let shelf = shelf::build(&shelves, &mut faults);
    Ok(ReadShelf { shelf, sources, faults })
}

/// The shop of a library alone, for the counter, with what is wrong with its file; none where it has no such file.
///
/// # Errors
/// A file that the machine can't read.
pub fn read_shop(root: &Path) -> Result<(Option<Shop>, Faults), FileProblem> {
    let file = root.join("content").join("shop.yaml");
    if !file.is_file() {
        return Ok((None, Faults::new()));
    }
    let Files { sources, mut faults, .. } = Files::below(root, &file, &mut Kept::default())?;
    let Some(source) = sources.first().filter(|_| faults.is_empty()) else { return Ok((None, faults)) };
    let mut found = Vec::new();
    let shop = shop::parse(source, &mut found);
    faults.extend(in_file(source, found));
    Ok((shop, faults))
}

/// What a file of a library holds.
#[derive(Clone, Debug)]
enum Part {
    Shop(Arc<Shop>),
    Guide(Arc<Guide>),
    Stated(Arc<StatedSubject>),
    Bike(Arc<BuildSheet>),
    Chart(Arc<Chart>),
    Formula(Arc<OwnFormula>),
    Shelf(Arc<ShelfFile>),
    Register(Arc<Register>),
    Nothing,
}

/// Parses a file by its place in the library.
fn parse(source: &Arc<Source>, found: &mut Vec<Fault>) -> Part {
    let parts: Vec<&str> = source.name.split('/').collect();
    if let ["content", "guides" | "replies" | "faults" | "bikes", .., file] = parts[..] {
        check_file_name(file, found);
    }
    let guide =
        |form, found: &mut Vec<Fault>| guide::parse(source, form, found).map(|guide| Part::Guide(Arc::new(guide)));
    let part = match parts[..] {
        ["content", "shop.yaml"] => shop::parse(source, found).map(|shop| Part::Shop(Arc::new(shop))),
        ["content", "stated", file] if is(file, "yaml") => {
            stated::parse(source, file, found).map(|subject| Part::Stated(Arc::new(subject)))
        }
        ["content", "bikes", file] if is(file, "yaml") => {
            bike::parse(source, file, found).map(|bike| Part::Bike(Arc::new(bike)))
        }
        ["content", "faults", file] if is(file, "yaml") => {
            chart::parse(source, found).map(|chart| Part::Chart(Arc::new(chart)))
        }
        ["content", "formulas", file] if is(file, "yaml") => {
            formula::parse(source, found).map(|formula| Part::Formula(Arc::new(formula)))
        }
        ["content", "shelf", file] if is(file, "yaml") => {
            shelf::parse(source, file, found).map(|file| Part::Shelf(Arc::new(file)))
        }
        ["content", "guides", topic, file] if is(file, "md") => guide(Form::Guide(topic), found),
        ["content", "replies", file] if is(file, "md") => guide(Form::Reply, found),
        ["content", "register.yaml"] => {
            register::parse(source, found).map(|register| Part::Register(Arc::new(register)))
        }
        _ => {
            found.push(match parts[..] {
                ["content", "guides", ..] => misplaced(),
                _ => stray(&source.name),
            });
            None
        }
    };
    part.unwrap_or(Part::Nothing)
}

/// A page's file name stands in its address, in links, on paper and in the book.
fn check_file_name(file: &str, found: &mut Vec<Fault>) {
    let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-' || c == '_';
    if !stem.chars().all(plain) {
        found.push(
            Fault::new(id::FILE_NAME, Span::at(0), "the name of this file can't be an address")
                .found(file)
                .allowed("small letters, digits and hyphens, such as chain-wear.md")
                .cure("give the file such a name; a guide can keep its old address under formerly"),
        );
    }
}

fn is(file: &str, ending: &str) -> bool {
    Path::new(file).extension().is_some_and(|own| own == ending)
}

/// Sheet numbers are unique in the library.
fn check_numbers(guides: &[Arc<Guide>], bikes: &[BuildSheet], charts: &[Chart], faults: &mut Faults) {
    let pages = guides.iter().map(|guide| (&guide.number, guide.source.name.as_str()));
    let sheets = bikes.iter().map(|bike| (&bike.number, bike.source.name.as_str()));
    let finding = charts.iter().map(|chart| (&chart.number, chart.source.name.as_str()));
    let mut taken: HashMap<&str, &str> = HashMap::new();
    let mut all: Vec<_> = pages.chain(sheets).chain(finding).filter(|(number, _)| !number.value.is_empty()).collect();
    all.sort_by_key(|(_, file)| *file);
    for (number, file) in all {
        if let Some(first) = taken.get(number.value.as_str()) {
            let fault = Fault::new(id::NUMBER_TWICE, number.span, format!("sheet number {} is taken", number.value))
                .found(number.value.clone())
                .cure(format!("{first} has it; take the next free number"));
            faults.push(Diagnostic { file: file.to_owned(), fault });
        } else {
            taken.insert(&number.value, file);
        }
    }
}

/// A sheet's own revision comes after every letter that the register has given it, or was there before.
fn check_revisions(
    register: &Register,
    guides: &[Arc<Guide>],
    bikes: &[BuildSheet],
    charts: &[Chart],
    faults: &mut Faults,
) {
    let pages = guides.iter().map(|page| (Own::from(page.as_ref()), page.revision.span, &page.source));
    let sheets = bikes.iter().map(|page| (Own::from(page), page.revision.span, &page.source));
    let finding = charts.iter().map(|page| (Own::from(page), page.revision.span, &page.source));
    for (own, span, source) in pages.chain(sheets).chain(finding) {
        let Some((letter, on)) = register.given(own.number) else { continue };
        let taken = register.changes_of(own.number).find(|one| one.is_revision() && one.revision == own.revision);
        let is_behind = own.issued > on && register::order(own.revision) < register::order(letter);
        let message = match taken {
            Some(taken) => {
                format!("revision {} is given already: figures of this sheet changed on {}", own.revision, taken.on)
            }
            None if is_behind => {
                format!("revision {} is issued after {letter}, which figures of this sheet got on {on}", own.revision)
            }
            None => continue,
        };
        let fault = Fault::new(id::REVISION_TAKEN, span, message).found(own.revision).cure(format!(
            "write the next letter, {}, with the day on which the words changed after issued",
            register::next(letter)
        ));
        faults.push(Diagnostic { file: source.name.clone(), fault });
    }
}

/// The word before the dot is one bike's, one subject's or one part's, and means nothing else.
fn check_names(stated: &[StatedSubject], bikes: &[BuildSheet], shelf: &Shelf, faults: &mut Faults) {
    let subjects = stated.iter().map(|subject| (subject.name.as_str(), subject.file.as_str()));
    let all: Vec<(&str, &str)> =
        subjects.chain(bikes.iter().map(|bike| (bike.name.as_str(), bike.source.name.as_str()))).collect();
    for (place, (name, file)) in all.iter().enumerate() {
        let written = Spanned::new((*name).to_owned(), Span::at(0));
        let mut found = Vec::new();
        block::check_name(&written, "a file", &mut found);
        if let Some((_, first)) = all[..place].iter().find(|(other, _)| other == name) {
            found.push(
                Fault::new(id::NAME_TWICE, Span::at(0), format!("{name} is the name of another file already"))
                    .found(*first)
                    .cure("give one of the two another name"),
            );
        }
        if let Some(part) = shelf.part(name) {
            let message = format!("{name} is the name of a file of stated figures or of a bike already");
            let fault = Fault::new(id::NAME_TWICE, part.name.span, message).found(*file);
            faults.push(Diagnostic { file: part.file.clone(), fault: fault.cure("give the part another name") });
        }
        faults.extend(found.into_iter().map(|fault| Diagnostic { file: (*file).to_owned(), fault }));
    }
}

/// No two formulas of the shop answer to one name.
fn check_formulas(formulas: &[OwnFormula], faults: &mut Faults) {
    for (place, own) in formulas.iter().enumerate() {
        let names = [Some(&own.formula.id), own.formula.replaces.as_ref().map(|(replaced, _)| replaced)];
        for name in names.into_iter().flatten() {
            if let Some(first) = formulas[..place].iter().find(|first| first.answers_to(name)) {
                let fault =
                    Fault::new(id::FORMULA_TAKEN, Span::at(0), format!("{name} is another formula of the shop"))
                        .found(first.file.clone())
                        .cure("give one of the two another id, or leave one out");
                faults.push(Diagnostic { file: own.file.clone(), fault });
                break;
            }
        }
    }
}

/// The folders that files of a library stand in.
const PLACES: &str = "shop.yaml, guides/TOPIC/NAME.md, replies/NAME.md, bikes/NAME.yaml, shelf/FAMILY.yaml, stated/SUBJECT.yaml, faults/NAME.yaml, formulas/NAME.yaml, photos/";

fn stray(name: &str) -> Fault {
    const FOLDERS: [&str; 8] = ["guides", "replies", "bikes", "shelf", "stated", "faults", "formulas", "photos"];
    let folder = name.split('/').nth(1).unwrap_or_default();
    Fault::note(id::STRAY_FILE, Span::at(0), "this file has no place here and is left aside").allowed(PLACES).nearest(
        folder,
        FOLDERS,
        "move it where it belongs, or out of content/",
    )
}

/// The fault of a guide that would otherwise be passed over.
fn misplaced() -> Fault {
    Fault::new(id::TOPIC_AND_FOLDER, Span::at(0), "this guide is in no topic's own folder")
        .allowed("content/guides/TOPIC/NAME.md")
        .cure("move it into the folder of its topic")
}

/// Joins faults to the name of their file.
#[must_use]
pub fn in_file(source: &Source, faults: Vec<Fault>) -> Faults {
    faults.into_iter().map(|fault| Diagnostic { file: source.name.clone(), fault }).collect()
}
