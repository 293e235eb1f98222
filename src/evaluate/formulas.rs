//! The formulas that a library uses, the shop's own before the bundled ones: each loaded once, however many pages use it.

use super::build;
use crate::fault::{Fault, id};
use crate::library::Library;
use crate::library::block::{Block, WorkingBlock};
use crate::mechanics::bundle;
use crate::mechanics::formula::Formula;
use crate::text::Spanned;
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// Formulas by id, and a place for every equation of a page.
#[derive(Debug, Default)]
pub struct Formulas {
    by_name: BTreeMap<String, Formula>,
    /// By file and the first byte of the block; filled once its values are known.
    equations: BTreeMap<(String, usize), OnceLock<Formula>>,
    /// The ids of the shop's own formulas, used or not.
    own: Vec<String>,
}

impl Formulas {
    /// Loads every formula that a working or a sweep of the library names and that there is.
    #[must_use]
    pub fn of(library: &Library) -> Self {
        Self::of_pages(library, &|_| true)
    }

    /// Loads those that the pages with these files name.
    #[must_use]
    pub fn of_pages(library: &Library, wanted: &dyn Fn(&str) -> bool) -> Self {
        let mut by_name = BTreeMap::new();
        let mut equations = BTreeMap::new();
        let find = |id: &str| {
            let own = library.formulas.iter().find(|own| own.answers_to(id)).map(|own| own.formula.clone());
            own.or_else(|| bundle::formula(id)?.ok())
        };
        if library.bikes.iter().any(|bike| wanted(&bike.source.name)) {
            by_name.extend(build::FORMULAS.iter().filter_map(|id| Some(((*id).to_owned(), find(id)?))));
        }
        let guides = library.guides.iter().filter(|guide| wanted(&guide.source.name));
        let blocks = guides.flat_map(|guide| guide.blocks().into_iter().map(move |block| (guide, block)));
        for (guide, block) in blocks {
            let id = match block {
                Block::Working(working) if !working.equation.is_empty() => {
                    equations.insert((guide.source.name.clone(), working.span.start), OnceLock::new());
                    continue;
                }
                Block::Working(working) => working.formula.value.as_str(),
                Block::Sweep(sweep) => sweep.formula.value.as_str(),
                _ => continue,
            };
            if by_name.contains_key(id) {
                continue;
            }
            if let Some(formula) = find(id) {
                by_name.insert(id.to_owned(), formula);
            }
        }
        let own = library.formulas.iter().map(|own| own.formula.id.clone()).collect();
        Self { by_name, equations, own }
    }

    /// Keeps the formula of a page's own equation.
    #[must_use]
    pub fn keep(&self, file: &str, block: &WorkingBlock, formula: Formula) -> Option<&Formula> {
        let place = self.equations.get(&(file.to_owned(), block.span.start))?;
        Some(place.get_or_init(|| formula))
    }

    /// The formula with this id.
    ///
    /// # Errors
    /// A fault at the id, where there is none.
    pub fn find(&self, id: &Spanned<String>) -> Result<&Formula, Fault> {
        if let Some(formula) = self.by_name.get(&id.value) {
            return Ok(formula);
        }
        let fault = Fault::new(id::UNKNOWN_FORMULA, id.span, format!("there is no formula called {}", id.value))
            .found(id.value.clone());
        Err(fault.nearest(
            &id.value,
            self.own.iter().map(String::as_str).chain(bundle::ids().map(|(id, _)| id)),
            "locknut reckon lists the formulas",
        ))
    }
}
