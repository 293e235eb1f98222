//! `formulas/*.yaml`: the shop's own formulas, in the form of the bundled ones and under the same checks.
//!
//! A file in, one formula with all its faults out: what its steps get wrong, an example that it doesn't give, a name
//! that a bundled formula has already. It may stand in for a bundled one where it says which and why.

use crate::diagnostic::Source;
use crate::fault::{Fault, id};
use crate::mechanics::formula::Formula;
use crate::mechanics::{bundle, example, load};
use crate::text::{Mapped, Span};

/// A formula of the shop.
#[derive(Clone, Debug)]
pub struct OwnFormula {
    /// The file.
    pub file: String,
    /// The formula.
    pub formula: Formula,
}

impl OwnFormula {
    /// True where pages that name this formula mean it.
    #[must_use]
    pub fn answers_to(&self, name: &str) -> bool {
        self.formula.id == name || self.formula.replaces.as_ref().is_some_and(|(replaced, _)| replaced == name)
    }
}

/// True where a formula of the shop stands in the place of the bundled one with this id.
#[must_use]
pub fn is_replaced(own: &[OwnFormula], id: &str) -> bool {
    own.iter().any(|own| own.answers_to(id))
}

/// Reads a formula of the shop.
pub fn parse(source: &Source, faults: &mut Vec<Fault>) -> Option<OwnFormula> {
    let formula = load::load(&Mapped::verbatim(source.text.as_str(), 0)).map_err(|found| faults.extend(found)).ok()?;
    let before = faults.len();
    let top = Span::at(0);
    let known = |name: &str| bundle::ids().any(|(id, _)| id == name);
    match &formula.replaces {
        Some((replaced, _)) if !known(replaced) => {
            let fault = Fault::new(id::UNKNOWN_FORMULA, top, format!("there is no formula {replaced} to be replaced"))
                .found(replaced.clone());
            faults.push(fault.nearest(replaced, bundle::ids().map(|(id, _)| id), "leave replaces out"));
        }
        None if known(&formula.id) => faults.push(
            Fault::new(id::FORMULA_TAKEN, top, format!("{} is a formula that comes with the program", formula.id))
                .allowed(format!("replaces: {{formula: {}, why: a sentence}}", formula.id))
                .cure("give it another id, or say that it stands in for that one, and why"),
        ),
        _ => {}
    }
    if formula.examples.is_empty() {
        faults.push(
            Fault::new(id::EXAMPLE_OUT, top, "a formula of the shop's own needs an example that was worked by hand")
                .allowed("examples: [{given: {…}, gives: {…}, tolerance: 0, source: …}]")
                .cure("work one by hand, and write it down with who worked it"),
        );
    }
    faults.extend(example::check(&formula));
    (faults.len() == before).then(|| OwnFormula { file: source.name.clone(), formula })
}
