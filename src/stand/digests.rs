//! Digits that tell whether what a page rests on is still the same: of its own file, and of everything that it uses.
//!
//! The uses come from `evaluate::uses`, the record that `where-used` reads. What every page rests on, the shop and the
//! names that a working must not have, is in each page's digits. Where it is not sure what a page rests on, the digits
//! hold more than that: a page worked once too often costs a millisecond, one that was not worked shows a wrong figure.

use crate::diagnostic::Source;
use crate::evaluate::names;
use crate::evaluate::uses::{Thing, Use, of_build, of_chart, of_guide};
use crate::library::Library;
use crate::register::Own;
use crate::text::Spanned;
use std::collections::hash_map::DefaultHasher;
use std::collections::{BTreeMap, HashMap};
use std::fmt::Debug;
use std::hash::{Hash, Hasher};
use std::path::Path;
use std::sync::Arc;

/// What pages use, kept by file as long as that is the same.
pub(super) type KeptUses = HashMap<String, (u64, Vec<Use>)>;

/// The digits of everything that pages may use.
pub(super) struct Digests<'a> {
    library: &'a Library,
    root: &'a Path,
    /// What every page rests on.
    all: u64,
    /// The shared names.
    names: BTreeMap<String, u64>,
    /// The whole shelf, with the guides that show its measurements.
    shelf: u64,
    /// Where pages are, what they are called and which places they have.
    structure: u64,
    drawings: u64,
}

fn digest(of: impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    of.hash(&mut hasher);
    hasher.finish()
}

fn digest_of_debug(of: &impl Debug) -> u64 {
    digest(format!("{of:?}"))
}

impl<'a> Digests<'a> {
    /// Works out the digits; `drawings` are those of the folder of drawings, `sources` the files of the library.
    pub(super) fn of(library: &'a Library, root: &'a Path, sources: &[Arc<Source>], drawings: u64) -> Self {
        let shared = names::shared(library);
        let names = shared.iter().map(|(name, named)| (name.clone(), digest_of_debug(named))).collect();
        let firsts: Vec<&str> = {
            let stated = library.stated.iter().map(|subject| subject.name.as_str());
            let bikes = library.bikes.iter().map(|bike| bike.name.as_str());
            stated.chain(bikes).chain(library.shelf.parts.iter().map(|part| part.name.value.as_str())).collect()
        };
        let titles: Vec<&str> = library.shelf.parts.iter().map(|part| part.title.as_str()).collect();
        let own: Vec<&str> = library.formulas.iter().map(|own| own.formula.id.as_str()).collect();
        let structure = structure(library);
        let of_shelf = sources.iter().filter(|source| source.name.starts_with("content/shelf/"));
        let shelf: Vec<(&str, &str)> = of_shelf.map(|source| (source.name.as_str(), source.text.as_str())).collect();
        Self {
            library,
            root,
            all: digest((digest_of_debug(&library.shop), firsts, titles, own)),
            names,
            shelf: digest((shelf, structure)),
            structure,
            drawings,
        }
    }

    /// The digits of every page, by file.
    pub(super) fn pages(&self, kept: &mut KeptUses) -> HashMap<String, u64> {
        let mut pages = HashMap::with_capacity(self.library.guides.len());
        let mut add = |file: &str, text: &str, own: Own<'_>, uses: &dyn Fn() -> Vec<Use>, more: u64| {
            let source = digest(text);
            let known = kept.get(file).is_some_and(|(before, _)| *before == source);
            if !known {
                kept.insert(file.to_owned(), (source, uses()));
            }
            let uses: Vec<u64> = kept[file].1.iter().map(|one| self.thing(&one.thing)).collect();
            let stamp = digest_of_debug(&self.library.register.stamp(own));
            pages.insert(file.to_owned(), digest((source, uses, stamp, more, self.all)));
        };
        for guide in &self.library.guides {
            add(&guide.source.name, &guide.source.text, guide.as_ref().into(), &|| of_guide(guide), 0);
        }
        for bike in &self.library.bikes {
            add(&bike.source.name, &bike.source.text, bike.into(), &|| of_build(bike), self.shelf);
        }
        // A chart shows the titles of the pages that it leads to.
        let titles = digest_of_debug(&self.library.guides.iter().map(|guide| &guide.title).collect::<Vec<_>>());
        for chart in &self.library.charts {
            add(
                &chart.source.name,
                &chart.source.text,
                chart.into(),
                &|| of_chart(chart),
                digest((titles, self.structure)),
            );
        }
        pages
    }

    fn thing(&self, thing: &Thing) -> u64 {
        match thing {
            Thing::Name(name) => self.names.get(name).copied().unwrap_or_default(),
            Thing::Formula(id) => {
                let own = self.library.formulas.iter().find(|own| own.answers_to(id));
                own.map(|own| digest_of_debug(&own.formula)).unwrap_or_default()
            }
            Thing::Part(_) | Thing::Family(_) => self.shelf,
            Thing::Bike(name) => {
                let bike = self.library.bikes.iter().find(|bike| bike.name == *name);
                digest((bike.map(|bike| bike.source.text.as_str()), self.shelf))
            }
            Thing::Drawing(_) => self.drawings,
            Thing::Photo(file) => {
                let about = std::fs::metadata(self.root.join(file));
                digest(about.ok().map(|about| (about.len(), about.modified().ok())))
            }
            Thing::Page(_) => self.structure,
        }
    }
}

/// Where all pages are, what they are numbered, and which places links can lead to.
fn structure(library: &Library) -> u64 {
    let mut hasher = DefaultHasher::new();
    let mut page =
        |file: &str, number: &Spanned<String>, approved: bool| (file, &number.value, approved).hash(&mut hasher);
    for guide in &library.guides {
        page(&guide.source.name, &guide.number, guide.approved_by.is_some());
    }
    for bike in &library.bikes {
        page(&bike.source.name, &bike.number, bike.approved_by.is_some());
    }
    for chart in &library.charts {
        page(&chart.source.name, &chart.number, chart.approved_by.is_some());
    }
    for check in library.charts.iter().flat_map(|chart| &chart.checks) {
        check.name.value.hash(&mut hasher);
    }
    for guide in &library.guides {
        guide.operations.iter().for_each(|operation| operation.number.hash(&mut hasher));
        for block in guide.blocks() {
            if let crate::library::block::Block::Working(working) = block {
                working.name.value.hash(&mut hasher);
            }
        }
    }
    hasher.finish()
}
