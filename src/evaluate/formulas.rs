//! The formulas that a library uses: each loaded once, however many pages use it.

use crate::fault::{Fault, id};
use crate::library::Library;
use crate::library::block::Block;
use crate::mechanics::bundle;
use crate::mechanics::formula::Formula;
use crate::text::Spanned;
use std::collections::BTreeMap;

/// Formulas by id.
#[derive(Debug, Default)]
pub struct Formulas(BTreeMap<String, Formula>);

impl Formulas {
    /// Loads every formula that a working of the library names and that there is.
    #[must_use]
    pub fn of(library: &Library) -> Self {
        let mut formulas = BTreeMap::new();
        for block in library.guides.iter().flat_map(|guide| guide.blocks()) {
            let Block::Working(working) = block else { continue };
            let id = working.formula.value.as_str();
            if !formulas.contains_key(id)
                && let Some(Ok(formula)) = bundle::formula(id)
            {
                formulas.insert(id.to_owned(), formula);
            }
        }
        Self(formulas)
    }

    /// The formula with this id.
    ///
    /// # Errors
    /// A fault at the id, where there is none.
    pub fn find(&self, id: &Spanned<String>) -> Result<&Formula, Fault> {
        if let Some(formula) = self.0.get(&id.value) {
            return Ok(formula);
        }
        let fault = Fault::new(id::UNKNOWN_FORMULA, id.span, format!("there is no formula called {}", id.value))
            .found(id.value.clone());
        Err(fault.nearest(&id.value, bundle::ids().map(|(id, _)| id), "locknut reckon lists the formulas"))
    }
}
