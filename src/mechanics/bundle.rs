//! The bundled formulas: found by id, parsed when asked for.
//!
//! The files stand under `formulas/TOPIC/ID.yaml`; the build lists them. A cold start parses only the formula that
//! is asked for; the whole set is parsed where all are listed, and by the tests, which also run every example.

use super::formula::Formula;
use super::load::load;
use crate::bundled::FORMULAS;
use crate::fault::Fault;
use crate::text::Mapped;

/// The ids of all bundled formulas with their topics, by topic and id.
pub fn ids() -> impl Iterator<Item = (&'static str, &'static str)> {
    FORMULAS.iter().filter_map(|(path, _)| {
        let (topic, file) = path.split_once('/')?;
        Some((file.strip_suffix(".yaml")?, topic))
    })
}

/// The file of a bundled formula; `None` where no formula has this id.
#[must_use]
pub fn text(id: &str) -> Option<&'static str> {
    let (_, bytes) = FORMULAS
        .iter()
        .find(|(path, _)| path.split_once('/').is_some_and(|(_, file)| file.strip_suffix(".yaml") == Some(id)))?;
    std::str::from_utf8(bytes).ok()
}

/// Loads a bundled formula; `None` where no formula has this id.
///
/// # Errors
/// The faults of its file, which the tests keep empty.
#[must_use]
pub fn formula(id: &str) -> Option<Result<Formula, Vec<Fault>>> {
    text(id).map(|text| load(&Mapped::verbatim(text, 0)))
}
