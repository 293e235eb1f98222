//! Lists of words, one a line, for shells that complete what is typed: the words of each sort that `meaning` knows, and
//! the names of a library, read off its files without working anything.

use crate::fault::{Fault, id};
use crate::library::Kept;
use crate::library::begun::sheet_numbers;
use crate::library::files::Files;
use crate::meaning::{Reach, SORTS};
use crate::text::Mapped;
use crate::yaml::{self, Node};
use std::path::Path;

/// A name for a list, and what makes it.
type List = (&'static str, fn(&Reach) -> Vec<String>);

/// Lists besides those of the sorts.
const MORE: &[List] = &[
    ("all", Reach::all_words),
    ("sorts", |_| names().map(str::to_owned).collect()),
    ("parts", |reach| parts(reach.root())),
    ("bikes", |reach| stems(reach.root(), "bikes")),
    ("subjects", |reach| stems(reach.root(), "stated")),
    ("pages", |reach| pages(reach.root())),
    ("sheets", |reach| sheets(reach.root())),
    ("names", names_of_library),
];

fn names() -> impl Iterator<Item = &'static str> {
    SORTS.iter().map(|sort| sort.name).chain(MORE.iter().map(|(name, _)| *name))
}

/// The words of a list in the order of their letters; of `inputs` those of one formula, where it is named.
///
/// # Errors
/// A list that there isn't.
pub(super) fn words(reach: &Reach, list: &Mapped, of: Option<&Mapped>) -> Result<Vec<String>, Fault> {
    let name = list.text().trim();
    if let ("inputs", Some(formula)) = (name, of) {
        return Ok(reach.inputs_of(formula.text().trim()));
    }
    let sort = SORTS.iter().find(|sort| sort.name == name).map(|sort| sort.words);
    let Some(words) = sort.or_else(|| MORE.iter().find(|(known, _)| *known == name).map(|(_, words)| *words)) else {
        let fault =
            Fault::new(id::OPTION_VALUE, list.whole(), format!("no sort of words is called {name}")).found(name);
        return Err(fault.allowed(names().collect::<Vec<_>>().join(", ")).nearest(name, names(), "use one of these"));
    };
    let mut words = words(reach);
    words.sort();
    words.dedup();
    Ok(words)
}

/// What `where-used` can be asked about: parts, bikes, formulas, stated figures, pages.
fn names_of_library(reach: &Reach) -> Vec<String> {
    let formulas = SORTS.iter().filter(|sort| sort.name == "formulas").flat_map(|sort| (sort.words)(reach));
    let root = reach.root();
    let mut names: Vec<String> = formulas.chain(parts(root)).chain(stems(root, "bikes")).chain(sheets(root)).collect();
    for subject in stems(root, "stated") {
        let text =
            std::fs::read_to_string(root.join("content/stated").join(format!("{subject}.yaml"))).unwrap_or_default();
        let tree = yaml::parse(&Mapped::verbatim(text, 0)).ok();
        let entries = tree.as_ref().and_then(Node::as_map).unwrap_or_default();
        names.extend(entries.iter().map(|entry| format!("{subject}.{}", entry.key.value)));
    }
    names
}

/// The numbers of the sheets.
fn sheets(root: &Path) -> Vec<String> {
    let Ok(files) = Files::read(root, &mut Kept::default()) else { return Vec::new() };
    files
        .sources
        .iter()
        .filter(|source| source.name != "content/register.yaml")
        .flat_map(|source| sheet_numbers(source))
        .collect()
}

/// The names of files of a folder of the library, without their ending.
fn stems(root: &Path, folder: &str) -> Vec<String> {
    let entries = root.join("content").join(folder).read_dir().into_iter().flatten().flatten();
    let names = entries.map(|entry| entry.file_name().to_string_lossy().into_owned());
    names.filter_map(|name| name.strip_suffix(".yaml").map(str::to_owned)).collect()
}

/// The parts on the shelf, as their files name them.
fn parts(root: &Path) -> Vec<String> {
    let Ok(files) = Files::below(root, &root.join("content").join("shelf"), &mut Kept::default()) else {
        return Vec::new();
    };
    let trees = files.sources.iter().filter_map(|source| yaml::parse(&Mapped::verbatim(source.text.as_str(), 0)).ok());
    let of = |tree: Node| -> Vec<String> {
        let entries = tree.get("parts").and_then(Node::as_map).unwrap_or_default();
        entries.iter().map(|entry| entry.key.value.clone()).collect()
    };
    trees.flat_map(of).collect()
}

/// The pages, by their source files below `content`.
fn pages(root: &Path) -> Vec<String> {
    let Ok(files) = Files::read(root, &mut Kept::default()) else { return Vec::new() };
    let names = files.sources.iter().filter_map(|source| source.name.strip_prefix("content/"));
    let is_page =
        |name: &&str| ["guides/", "replies/", "faults/", "bikes/"].iter().any(|folder| name.starts_with(folder));
    names.filter(is_page).map(str::to_owned).collect()
}
