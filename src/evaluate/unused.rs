//! What lies in a library and is used by nothing: stated figures, photos, parts.
//!
//! Notes, and only for who asks for a proof. Parts are also there to be asked about at the counter, so those that no page
//! uses are told together.

use super::uses::{self, Thing};
use crate::diagnostic::Diagnostic;
use crate::fault::{Fault, id};
use crate::library::shelf::Part;
use crate::library::{Faults, Library};
use crate::text::{Span, count};
use std::collections::HashSet;

/// So many parts are named.
const MOST_NAMED: usize = 12;

/// A note for each stated figure and photo that no page uses, and one for the parts that none does.
#[must_use]
pub fn check(library: &Library) -> Faults {
    let pages = uses::of_library(library);
    let used: HashSet<&Thing> = pages.iter().flat_map(|page| &page.uses).map(|one| &one.thing).collect();
    let mut notes = Faults::new();
    for subject in &library.stated {
        for stated in &subject.figures {
            let name = format!("{}.{}", subject.name, stated.name);
            if !used.contains(&Thing::Name(name.clone())) {
                let fault = Fault::note(id::UNUSED, stated.span, format!("{name} is used by no sheet"))
                    .cure("use it where its figure stands, or take it out");
                notes.push(Diagnostic { file: subject.file.clone(), fault });
            }
        }
    }
    let mut photos: Vec<&str> = library.photos.names().collect();
    photos.sort_unstable();
    for photo in photos.into_iter().filter(|photo| !used.contains(&Thing::Photo((*photo).to_owned()))) {
        let fault = Fault::note(id::UNUSED, Span::default(), "this photo is shown by no sheet")
            .cure("show it with ![what it shows](path), or move it out of content/photos/");
        notes.push(Diagnostic { file: photo.to_owned(), fault });
    }
    notes.extend(parts(library, &used));
    notes
}

/// One note for all of them: a list that is there every day would soon be read by nobody.
fn parts(library: &Library, used: &HashSet<&Thing>) -> Option<Diagnostic> {
    let read: HashSet<&str> = used
        .iter()
        .filter_map(|thing| match thing {
            Thing::Name(name) => name.split_once('.').map(|(first, _)| first),
            Thing::Part(name) => Some(name.as_str()),
            _ => None,
        })
        .collect();
    let is_used =
        |part: &Part| read.contains(part.name.value.as_str()) || used.contains(&Thing::Family(part.family.clone()));
    let unused: Vec<&Part> = library.shelf.parts.iter().filter(|part| !is_used(part)).collect();
    let first = unused.first()?;
    let names: Vec<&str> = unused.iter().take(MOST_NAMED).map(|part| part.name.value.as_str()).collect();
    let more = unused.len() - names.len();
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let verb = if unused.len() == 1 { "is" } else { "are" };
    let message = format!("{} of the shelf {verb} used by no sheet", count(unused.len(), "part"));
    let fault = Fault::note(id::UNUSED, first.name.span, message)
        .found(format!("{}{more}", names.join(", ")))
        .cure("leave them for the counter, or take out what the shop no longer has");
    Some(Diagnostic { file: first.file.clone(), fault })
}
