//! Links between pages, and the way to photos: written to the source file, relative to the page; resolved to the page
//! and a place on it, or to the photo.

use super::{Drafts, Target};
use crate::diagnostic::{Diagnostic, Source};
use crate::fault::{Fault, did_you_mean, id};
use crate::library::bike::BuildSheet;
use crate::library::block::Block;
use crate::library::chart::Chart;
use crate::library::guide::Guide;
use crate::library::photo::{Photo, Unusable};
use crate::library::{Faults, Library};
use crate::text::Span;
use percent_encoding::percent_decode_str;
use std::sync::Arc;

/// A link as it is to be set.
pub(super) enum Link {
    /// To a page of the library.
    Page(Target),
    /// To the web, a telephone or a mailbox.
    Elsewhere,
}

/// The page that a link stands on.
#[derive(Clone, Copy)]
pub(super) struct Writer<'a> {
    /// Its file.
    pub(super) source: &'a Source,
    /// True where somebody has approved it.
    pub(super) approved: bool,
}

impl<'a> From<&'a Guide> for Writer<'a> {
    fn from(guide: &'a Guide) -> Self {
        Self { source: &guide.source, approved: guide.approved_by.is_some() }
    }
}

impl<'a> From<&'a Chart> for Writer<'a> {
    fn from(chart: &'a Chart) -> Self {
        Self { source: &chart.source, approved: chart.approved_by.is_some() }
    }
}

/// Resolves a link's destination.
///
/// # Errors
/// A page or a place on it that doesn't exist, or isn't pressed.
pub(super) fn resolve(
    from: Writer<'_>,
    destination: &str,
    span: Span,
    library: &Library,
    drafts: Drafts,
) -> Result<Link, Fault> {
    let span = written_place(from, destination, span);
    let scheme = destination.split_once(':').map(|(scheme, _)| scheme);
    if matches!(scheme, Some("http" | "https" | "mailto" | "tel")) {
        return Ok(Link::Elsewhere);
    }
    let (path, fragment) = match destination.split_once('#') {
        Some((path, fragment)) => (path, Some(fragment)),
        None => (destination, None),
    };
    let file = if path.is_empty() { Some(from.source.name.clone()) } else { join(&from.source.name, path) };
    if let Some(bike) = library.bikes.iter().find(|bike| Some(&bike.source.name) == file.as_ref()) {
        return to_bike(bike, from, destination, span, drafts).map(Link::Page);
    }
    if let Some(chart) = library.charts.iter().find(|chart| Some(&chart.source.name) == file.as_ref()) {
        return to_chart(chart, from, destination, span, drafts).map(Link::Page);
    }
    let guide = file.as_ref().and_then(|file| library.guides.iter().find(|guide| guide.source.name == *file));
    let Some(guide) = guide else {
        let others = library.guides.iter().map(|guide| guide.source.name.as_str());
        let others = others.chain(library.bikes.iter().map(|bike| bike.source.name.as_str()));
        let others = others.chain(library.charts.iter().map(|chart| chart.source.name.as_str()));
        let others = others.filter(|name| *name != from.source.name);
        let near = file.as_deref().and_then(|file| nearest_file(file, others));
        let fault = Fault::new(id::BROKEN_LINK, span, "this link leads to no page of the library").found(destination);
        let place = fragment.map(|fragment| format!("#{fragment}")).unwrap_or_default();
        // A page that tells where it stood before is that page, however like another's name its old one is.
        if let Some(moved) = file.as_deref().and_then(|file| moved_from(file, library)) {
            return Err(fault.cure(format!("the page has moved: write {}{place}", relative(&from.source.name, moved))));
        }
        return Err(match near {
            Some(near) => fault.cure(format!("did you mean {}{place}?", relative(&from.source.name, near))),
            None => {
                fault.cure("write the path to the page's .md file from this file's folder, such as ../wheels/NAME.md")
            }
        });
    };
    if guide.approved_by.is_none() && from.approved && drafts != Drafts::Shown {
        return Err(unapproved(span, destination, &guide.number.value));
    }
    let fragment = fragment.map(|fragment| place(guide, fragment, destination, span)).transpose()?;
    Ok(Link::Page(Target { page: guide.page.clone(), number: guide.number.value.clone(), fragment }))
}

/// The page of a build sheet, which has no places of its own to link to.
fn to_bike(
    bike: &BuildSheet,
    from: Writer<'_>,
    destination: &str,
    span: Span,
    drafts: Drafts,
) -> Result<Target, Fault> {
    let number = bike.number.value.clone();
    if bike.approved_by.is_none() && from.approved && drafts != Drafts::Shown {
        return Err(unapproved(span, destination, &number));
    }
    if destination.contains('#') {
        return Err(Fault::new(id::BROKEN_LINK, span, "a build sheet has no places to link to")
            .found(destination)
            .cure("take away the part from the # on"));
    }
    Ok(Target { page: bike.page(), number, fragment: None })
}

/// The page of a fault-finding chart, perhaps with the name of a check behind the #.
fn to_chart(chart: &Chart, from: Writer<'_>, destination: &str, span: Span, drafts: Drafts) -> Result<Target, Fault> {
    let number = chart.number.value.clone();
    if chart.approved_by.is_none() && from.approved && drafts != Drafts::Shown {
        return Err(unapproved(span, destination, &number));
    }
    let place = destination.split_once('#').map(|(_, place)| place);
    let is_check = |name: &str| chart.checks.iter().any(|check| check.name.value == name);
    if let Some(name) = place.filter(|name| !is_check(name)) {
        let names = || chart.checks.iter().map(|check| check.name.value.as_str());
        return Err(Fault::new(id::BROKEN_LINK, span, "there is no such check on that chart")
            .found(destination)
            .allowed(names().collect::<Vec<_>>().join(", "))
            .nearest(name, names(), "check the part after the #"));
    }
    Ok(Target { page: chart.page.clone(), number, fragment: place.map(|name| format!("check-{name}")) })
}

fn unapproved(span: Span, destination: &str, number: &str) -> Fault {
    Fault::new(id::UNAPPROVED_LINK, span, "this link leads to an unapproved page")
        .found(destination)
        .cure(format!("approve sheet {number} with approved_by, or take the link out until then"))
}

/// The photo that stands at a path written from a page.
///
/// # Errors
/// A path that leads to no photo, or a photo that can't be used.
pub(super) fn photo(from: &Guide, path: &str, span: Span, library: &Library) -> Result<Arc<Photo>, Fault> {
    let span = written_place(from.into(), path, span);
    if path.contains("://") || path.starts_with("//") || path.starts_with("data:") {
        let message = "this photo is not a file of the library";
        let cure = "readers may have no network: if you may use it, save it in content/photos/ \
                    and write the path to it from this file's folder";
        return Err(Fault::new(id::PHOTO_ELSEWHERE, span, message).found(path).cure(cure));
    }
    let file = join(&from.source.name, path);
    let known = file.as_deref().and_then(|file| library.photos.find(file));
    match known {
        Some(Ok(photo)) => Ok(photo),
        Some(Err(unusable)) => Err(unusable_photo(&unusable, file.as_deref().unwrap_or(path), span)),
        None => {
            let near = file.as_deref().and_then(|file| nearest_file(file, library.photos.names()));
            let cure = match near {
                Some(near) => format!("did you mean {}?", relative(&from.source.name, near)),
                None => format!(
                    "put the file into content/photos/, and write {}",
                    relative(&from.source.name, "content/photos/NAME")
                ),
            };
            Err(Fault::new(id::PHOTO_MISSING, span, "there is no such photo").found(path).cure(cure))
        }
    }
}

/// The fault of a photo that can't be used.
pub(crate) fn unusable_photo(unusable: &Unusable, file: &str, span: Span) -> Fault {
    let fault = Fault::new(id::PHOTO_UNREADABLE, span, unusable.why.clone())
        .found(file)
        .cure("open it in a program for photos, save it again, and press again");
    match &unusable.allowed {
        Some(allowed) => fault.allowed(allowed.clone()),
        None => fault,
    }
}

/// Where a link's destination stands in the file: the last place within the link where it is written as it is.
fn written_place(from: Writer<'_>, destination: &str, link: Span) -> Span {
    let written = from.source.text.get(link.start..link.end).unwrap_or_default();
    match written.rfind(destination).filter(|_| !destination.is_empty()) {
        Some(at) => Span::new(link.start + at, link.start + at + destination.len()),
        None => link,
    }
}

/// The path from one file's folder to another file of the library.
fn relative(from: &str, to: &str) -> String {
    let (from, to): (Vec<&str>, Vec<&str>) = (from.split('/').collect(), to.split('/').collect());
    let folders = from.len() - 1;
    let shared = from.iter().zip(&to).take(folders).take_while(|(one, other)| one == other).count();
    let mut parts = vec![".."; folders - shared];
    parts.extend(&to[shared..]);
    parts.join("/")
}

/// A path relative to a file, within the library; an address may write a space as `%20`.
pub(super) fn join(from: &str, path: &str) -> Option<String> {
    let path = percent_decode_str(path).decode_utf8().ok()?;
    let mut parts: Vec<&str> = from.split('/').collect();
    parts.pop();
    for part in path.split('/') {
        match part {
            "." | "" => {}
            ".." => {
                parts.pop()?;
            }
            part => parts.push(part),
        }
    }
    Some(parts.join("/"))
}

/// The file of the page that stood at this path before, as it says itself.
fn moved_from<'l>(file: &str, library: &'l Library) -> Option<&'l str> {
    let former = file.strip_prefix("content/")?.strip_suffix(".md")?;
    let says = |guide: &&Arc<Guide>| guide.formerly.iter().any(|one| one.value == former);
    library.guides.iter().find(says).map(|guide| guide.source.name.as_str())
}

/// The file that was probably meant: of this name in another folder, or else of a name like it. The folders are left
/// out of the comparison, since they would make files alike that have nothing in common but where they stand.
fn nearest_file<'a>(file: &str, others: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let name = |path: &str| path.rsplit('/').next().unwrap_or_default().to_owned();
    let others: Vec<(String, &str)> = others.map(|other| (name(other), other)).collect();
    let wanted = name(file);
    let near = match others.iter().find(|(other, _)| *other == wanted) {
        Some((same, _)) => same.as_str(),
        None => did_you_mean(&wanted, others.iter().map(|(other, _)| other.as_str()))?,
    };
    others.iter().find(|(other, _)| other == near).map(|(_, path)| *path)
}

/// The guides that show measurements are there, with the places in them.
pub(super) fn check_measured_in(library: &Library, drafts: Drafts) -> Faults {
    let mut faults = Faults::new();
    for shown in library.shelf.measured_in.values() {
        let (path, fragment) = match shown.path.value.split_once('#') {
            Some((path, fragment)) => (path, Some(fragment)),
            None => (shown.path.value.as_str(), None),
        };
        let file = join(&shown.file, path);
        let guide = library.guides.iter().find(|guide| Some(&guide.source.name) == file.as_ref());
        let fault = match guide {
            None => Some(
                Fault::new(id::BROKEN_LINK, shown.path.span, "this path leads to no guide of the library")
                    .found(path)
                    .cure("write the path to the guide's .md file from this file's folder, such as ../guides/wheels/NAME.md"),
            ),
            Some(guide) if guide.approved_by.is_none() && drafts != Drafts::Shown => Some(
                Fault::new(id::UNAPPROVED_LINK, shown.path.span, "this path leads to an unapproved page")
                    .found(path)
                    .cure("have the guide approved, or leave the path out"),
            ),
            Some(guide) => fragment.and_then(|fragment| place(guide, fragment, path, shown.path.span).err()),
        };
        faults.extend(fault.map(|fault| Diagnostic { file: shown.file.clone(), fault }));
    }
    faults
}

/// The id of a place on a page: `op-20`, or a working's name.
fn place(guide: &Guide, fragment: &str, destination: &str, span: Span) -> Result<String, Fault> {
    let operation = guide.operations.iter().any(|operation| fragment == format!("op-{}", operation.number));
    if operation {
        return Ok(fragment.to_owned());
    }
    let blocks = guide.blocks();
    let mut workings = blocks.iter().filter_map(|block| match block {
        Block::Working(working) => Some(working.name.value.as_str()),
        _ => None,
    });
    if workings.any(|name| name == fragment) {
        return Ok(format!("w-{fragment}"));
    }
    Err(Fault::new(id::BROKEN_LINK, span, "there is no such place on that page")
        .found(destination)
        .allowed("an operation such as #op-20, or the name of a working")
        .cure("check the part after the #"))
}
