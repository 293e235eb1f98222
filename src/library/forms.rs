//! Every place where YAML stands in a library, with the table of its keys.
//!
//! One row a place: the readers, `locknut meaning` and the schemas for editors all go by the tables that stand here.

use super::{bike, block, chart, front, shelf, shop, stated};
use crate::drawing::head;
use crate::mechanics::keys::FORMULA;
use crate::yaml::keys::{Holds, Key, Keys};

/// One place where YAML stands.
#[derive(Debug)]
pub struct Form {
    /// Its short name, which is its schema's: `guide`.
    pub name: &'static str,
    /// Where it stands.
    pub place: &'static str,
    /// What stands there.
    pub holds: Holds,
    /// Whether an editor can be given a schema for it.
    pub has_schema: bool,
}

/// All places, files first.
pub static FORMS: &[Form] = &[
    form("shop", "content/shop.yaml", Holds::Keys(&shop::KEYS)),
    form("guide", "content/guides/TOPIC/NAME.md, between the lines of hyphens", Holds::Keys(&front::GUIDE)),
    form("reply", "content/replies/NAME.md, between the lines of hyphens", Holds::Keys(&front::REPLY)),
    form("stated", "content/stated/SUBJECT.yaml", stated::FIGURES),
    form("bike", "content/bikes/NAME.yaml", Holds::Keys(&bike::KEYS)),
    form("shelf", "content/shelf/FAMILY.yaml", Holds::Keys(&shelf::KEYS)),
    form("chart", "content/faults/NAME.yaml", Holds::Keys(&chart::KEYS)),
    form("formula", "content/formulas/NAME.yaml", Holds::Keys(&FORMULA)),
    form("working", "a working block of a guide or a reply", Holds::Keys(&block::WORKING)),
    form("pairing", "a pairing block of a guide or a reply", Holds::Keys(&super::block_shelf::PAIRING)),
    form("fit-table", "a fit-table block of a guide or a reply", Holds::Keys(&super::block_shelf::FIT_TABLE)),
    form("sweep", "a sweep block of a guide or a reply", Holds::Keys(&super::block_sweep::SWEEP)),
    form("drawing", "a drawing block of a guide or a reply", Holds::Keys(&block::DRAWING)),
    Form {
        has_schema: false,
        ..form("drawing-head", "diagrams/NAME.svg, in the comment at its head", Holds::Keys(&head::HEAD))
    },
];

const fn form(name: &'static str, place: &'static str, holds: Holds) -> Form {
    Form { name, place, holds, has_schema: true }
}

/// A key with its place.
#[derive(Clone, Debug)]
pub struct Placed {
    /// The form in which it stands.
    pub form: &'static Form,
    /// The table that it stands in.
    pub table: &'static Keys,
    /// The keys on the way to it: `contact` for `phone`.
    pub way: Vec<&'static str>,
    /// The key.
    pub key: &'static Key,
}

/// Every key of every place, in the order of the tables. A table that stands in several places is met in each.
#[must_use]
pub fn all_keys() -> Vec<Placed> {
    let mut found = Vec::new();
    for form in FORMS {
        for table in form.holds.tables() {
            write_keys(&mut found, form, table, &[]);
        }
    }
    found
}

fn write_keys(found: &mut Vec<Placed>, form: &'static Form, table: &'static Keys, way: &[&'static str]) {
    for key in table.keys {
        found.push(Placed { form, table, way: way.to_vec(), key });
        let mut further = way.to_vec();
        further.push(key.name);
        for inner in key.holds.tables() {
            write_keys(found, form, inner, &further);
        }
    }
}
