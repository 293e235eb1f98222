//! What of a library lies on the counter: the shop alone for its units, or the whole library where a question needs it.
//!
//! A folder in, what could be read of it out. Values come from build sheets, parts and stated figures: a fault in one of
//! those files stops what would use them. A fault in a guide stops nothing here; `proof` tells of it.

use super::known::Refusal;
use super::line::Line;
use crate::diagnostic::{Diagnostic, Source};
use crate::evaluate::beside::Units;
use crate::evaluate::names::{Names, shared};
use crate::fault::Severity;
use crate::library::files::FileProblem;
use crate::library::shop::Shop;
use crate::library::{self, Library, Read, read_shop};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// How much of the library a question needs.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Need {
    /// The shop's units, where there is a shop.
    Units,
    /// The whole library, where there is one.
    IfThere,
    /// The whole library; without one there is no answer.
    Library,
}

/// What was read.
#[derive(Debug)]
pub(super) struct Bench {
    /// The library's folder.
    pub(super) root: PathBuf,
    /// The units that its shop shows.
    pub(super) units: Units,
    /// The library, where it was wanted and is there.
    pub(super) library: Option<Library>,
    /// The files of the library.
    pub(super) sources: Vec<Arc<Source>>,
    faults: Vec<Diagnostic>,
}

impl Bench {
    /// Reads what a question needs of the library that the line names, or of this folder where it is one.
    ///
    /// # Errors
    /// A library that is needed and isn't there, or whose shop has a fault; a folder that the machine can't read.
    pub(super) fn read(line: &Line, need: Need) -> Result<Self, Refusal> {
        let root = line.library();
        let is_there = root.join("content").join("shop.yaml").is_file();
        if need == Need::Units || need == Need::IfThere && !is_there {
            let shop = if is_there { shop_alone(&root).map_err(Refusal::Machine)? } else { None };
            let units = shop.as_ref().map(Units::of).unwrap_or_default();
            return Ok(Self { root, units, library: None, sources: Vec::new(), faults: Vec::new() });
        }
        let Read { library, sources, faults } = library::read(&root).map_err(Refusal::Machine)?;
        let units = library.as_ref().map(|library| Units::of(&library.shop)).unwrap_or_default();
        let bench = Self { root, units, library, sources, faults };
        if need == Need::Library && bench.library.is_none() {
            return Err(bench.refusal(|file| file == "content/shop.yaml"));
        }
        if bench.library.is_none() {
            tell_of_shop();
        }
        Ok(bench)
    }

    /// The names of the library's figures, with those of one bike under `bike.…`.
    pub(super) fn names(&self, bike: Option<&str>) -> Option<Names> {
        let library = self.library.as_ref()?;
        let units = crate::evaluate::beside::Units::of(&library.shop);
        let mut names = Names::of(&shared(library), &Arc::new(units));
        if let Some(bike) = bike {
            names.add_bike(bike);
        }
        Some(names)
    }

    /// Holds the files that values come from to be without a fault.
    ///
    /// # Errors
    /// The faults of build sheets, of the shelf and of stated figures.
    pub(super) fn check_values(&self) -> Result<(), Refusal> {
        const FOLDERS: [&str; 3] = ["content/bikes/", "content/shelf/", "content/stated/"];
        let holds_values = |file: &str| FOLDERS.iter().any(|folder| file.starts_with(folder));
        let is_fault = |one: &Diagnostic| one.fault.severity == Severity::Fault && holds_values(&one.file);
        if self.faults.iter().any(is_fault) { Err(self.refusal(holds_values)) } else { Ok(()) }
    }

    fn refusal(&self, of: impl Fn(&str) -> bool) -> Refusal {
        let faults = self.faults.iter().filter(|one| of(&one.file)).cloned().collect();
        Refusal::Files(faults, self.sources.clone())
    }
}

/// The shop without the rest of its library; nothing where its file has a fault, which a line tells of.
fn shop_alone(root: &Path) -> Result<Option<Shop>, FileProblem> {
    let (shop, faults) = read_shop(root)?;
    if faults.iter().any(|one| one.fault.severity == Severity::Fault) {
        tell_of_shop();
        return Ok(None);
    }
    Ok(shop)
}

fn tell_of_shop() {
    eprintln!("note: content/shop.yaml has a fault and is left out of the answer; locknut proof says which");
}
