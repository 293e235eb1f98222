//! Faults that only follow from a file that can't be read, or from a part that a build sheet doesn't find: one slip there
//! would be told of on every page that uses it.
//!
//! A name, a part, a bike, a formula or a page that such a file would have given is not wrong where it is used. Its
//! fault is left out until the file is mended, and whoever reports says how many were. Of a figure by way of a bike's
//! part, any file of the shelf may be the cause, so that a slip in such a name waits until the shelf can be read.

use super::links::join;
use crate::diagnostic::{Diagnostic, Source};
use crate::fault::{Severity, id};
use crate::library::Faults;
use std::collections::HashMap;
use std::sync::Arc;

/// The files of a library with a fault of reading, by name, each with its text.
pub(crate) struct Unread<'a>(HashMap<&'a str, &'a str>);

impl<'a> Unread<'a> {
    /// Those of `sources` in which reading found one of the `faults`.
    pub(crate) fn of(faults: &[Diagnostic], sources: &'a [Arc<Source>]) -> Self {
        let is_bad = |name: &str| faults.iter().any(|one| one.file == name && one.fault.severity == Severity::Fault);
        let bad = sources.iter().filter(|source| is_bad(&source.name));
        Self(bad.map(|source| (source.name.as_str(), source.text.as_str())).collect())
    }

    /// Takes the faults that only follow from these files out of those that were found later, and says how many.
    pub(crate) fn leave_out(&self, later: &mut Faults) -> usize {
        let all = later.len();
        // A build sheet that names a part which isn't there gives none of its figures either.
        let lacking: Vec<String> = later.iter().filter_map(lacks_a_part).collect();
        let of_lacking = |one: &Diagnostic| {
            let found = one.fault.found.as_deref().filter(|_| one.fault.id == id::UNKNOWN_NAME);
            let mut names = found.unwrap_or_default().split('.');
            let (first, part, attribute) = (names.next().unwrap_or_default(), names.next(), names.next());
            part.is_some() && attribute.is_some() && lacking.iter().any(|bike| first == bike || first == "bike")
        };
        later.retain(|one| !self.explains(one) && !of_lacking(one));
        all - later.len()
    }

    fn explains(&self, one: &Diagnostic) -> bool {
        let Some(found) = one.fault.found.as_deref() else { return false };
        let is_unread =
            |folder: &str, name: &str| self.0.contains_key(format!("content/{folder}/{name}.yaml").as_str());
        match one.fault.id {
            id::UNKNOWN_NAME => found.split_once('.').is_some_and(|(first, after)| {
                is_unread("stated", first)
                    || is_unread("bikes", first)
                    || first == "bike" && self.is_any("bikes")
                    // A bike's part, or a part by its own name.
                    || after.contains('.') && self.is_any("shelf")
                    || self.has_part(first)
            }),
            id::UNKNOWN_BIKE => is_unread("bikes", found),
            id::UNKNOWN_PART => self.has_part(found),
            id::UNKNOWN_FORMULA => is_unread("formulas", found),
            id::BROKEN_LINK => {
                let path = found.split_once('#').map_or(found, |(path, _)| path);
                join(&one.file, path).is_some_and(|file| self.0.contains_key(file.as_str()))
            }
            _ => false,
        }
    }

    fn is_any(&self, folder: &str) -> bool {
        self.0.keys().any(|file| file.strip_prefix("content/").is_some_and(|file| file.starts_with(folder)))
    }

    /// True where a file of the shelf has a line that begins a part of this name.
    fn has_part(&self, name: &str) -> bool {
        let begins = |line: &str| line.trim_start().strip_prefix(name).is_some_and(|after| after.starts_with(':'));
        self.0.iter().any(|(file, text)| file.starts_with("content/shelf/") && text.lines().any(begins))
    }
}

/// The bike whose build sheet names a part that isn't there.
fn lacks_a_part(one: &Diagnostic) -> Option<String> {
    let bike = one.file.strip_prefix("content/bikes/")?.strip_suffix(".yaml")?;
    (one.fault.id == id::UNKNOWN_PART).then(|| bike.to_owned())
}

#[cfg(test)]
mod tests {
    use super::Unread;
    use crate::diagnostic::{Diagnostic, Source};
    use crate::fault::{Fault, id};
    use crate::text::Span;
    use std::sync::Arc;

    fn fault(file: &str, id: &'static str, found: &str) -> Diagnostic {
        Diagnostic { file: file.to_owned(), fault: Fault::new(id, Span::at(0), "wrong").found(found) }
    }

    #[test]
    fn only_what_a_file_would_have_given_is_left_out() {
        let sources = [
            ("content/stated/torque.yaml", "stem: ["),
            ("content/bikes/roadster.yaml", "title: ["),
            ("content/shelf/cassette.yaml", "parts:\n  cassette-11-34:\n    title: ["),
            ("content/guides/wheels/true.md", "---\n"),
            ("content/stated/stock.yaml", "longest_chain: {}"),
        ];
        let sources = sources.map(|(name, text)| Arc::new(Source::new(name, text)));
        let mut read: Vec<Diagnostic> =
            sources[..4].iter().map(|source| fault(&source.name, id::YAML_SYNTAX, "[")).collect();
        let note = Fault::note(id::UNUSED, Span::at(0), "a note hides nothing");
        read.push(Diagnostic { file: "content/stated/stock.yaml".to_owned(), fault: note });
        let unread = Unread::of(&read, &sources);
        let page = "content/guides/fit/page.md";
        let follow = [
            (id::UNKNOWN_NAME, "torque.stem"),
            (id::UNKNOWN_NAME, "roadster.cassette.largest"),
            (id::UNKNOWN_NAME, "bike.chainstay"),
            (id::UNKNOWN_NAME, "cassette-11-34.largest"),
            (id::UNKNOWN_BIKE, "roadster"),
            (id::UNKNOWN_PART, "cassette-11-34"),
            (id::BROKEN_LINK, "../wheels/true.md#op-20"),
        ];
        let stay = [
            (id::UNKNOWN_NAME, "stock.longest"),
            (id::UNKNOWN_NAME, "chain.link"),
            (id::UNKNOWN_BIKE, "roadstr"),
            (id::UNKNOWN_PART, "cassette-11"),
            (id::UNKNOWN_FORMULA, "roadster"),
            (id::BROKEN_LINK, "true.md"),
            (id::CLAIM_OUT, "torque.stem"),
        ];
        let mut later: Vec<Diagnostic> = follow.iter().chain(&stay).map(|(id, found)| fault(page, id, found)).collect();
        assert_eq!(unread.leave_out(&mut later), follow.len());
        let left: Vec<&str> = later.iter().filter_map(|one| one.fault.found.as_deref()).collect();
        assert_eq!(left, stay.map(|(_, found)| found));
    }

    #[test]
    fn a_bike_without_a_part_is_told_of_once() {
        let bike = fault("content/bikes/roadster.yaml", id::UNKNOWN_PART, "crank-99");
        let page = "content/guides/fit/page.md";
        let names = ["roadster.crank.largest", "bike.crank.length", "roadster.chainstay", "road.crank.largest"];
        let mut later = vec![bike];
        later.extend(names.map(|name| fault(page, id::UNKNOWN_NAME, name)));
        assert_eq!(Unread::of(&[], &[]).leave_out(&mut later), 2);
        let left: Vec<&str> = later.iter().filter_map(|one| one.fault.found.as_deref()).collect();
        assert_eq!(left, ["crank-99", "roadster.chainstay", "road.crank.largest"]);
    }
}
