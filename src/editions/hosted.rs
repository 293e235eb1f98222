//! What a site has besides its pages when a host serves it: the edition's mark in a file of its own, the service
//! worker that keeps one whole edition on the reader's device, the script that asks whether there is a newer one, the
//! manifest and the sign for a home screen, and the list of addresses.
//!
//! Nothing here works from the disk, and nothing there needs it. The two scripts are written by hand beside this file.

use super::feed::{self, About};
use super::site::Content;
use super::{EDITION, fill_in, sitemap};
use crate::evaluate::Worked;
use crate::mechanics::javascript;
use crate::setting::{MISSING, Setting, Shows};
use rayon::prelude::*;
use serde_json::json;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::LazyLock;

/// The files of a site by path.
type Files = BTreeMap<String, Content>;

/// The edition's mark as data, for those who ask whether there is a newer one.
const MARK: &str = "edition.json";
/// The service worker; what it keeps lies in its own folder and below.
const WORKER: &str = "service-worker.js";
const MANIFEST: &str = "library.webmanifest";

/// Path and text of the script that every page has.
static SCRIPT: LazyLock<(String, String)> = LazyLock::new(|| {
    let text = javascript::bare(include_str!("edition.js"));
    let hash = blake3::hash(text.as_bytes()).to_hex();
    (format!("theme/edition.{}.js", &hash[..8]), text)
});

/// Path and text of the script that every page has.
#[must_use]
pub fn script() -> &'static (String, String) {
    &SCRIPT
}

/// When the pages of a site were issued.
#[derive(Debug, Default)]
pub struct Issued {
    /// By path.
    pub dates: BTreeMap<String, String>,
    /// The latest of them, which pages that list others take.
    pub latest: String,
    /// Pages that only lead on.
    pub moved: BTreeSet<String>,
}

/// Adds what the edition's mark is made from too: script, manifest, signs and the list of addresses.
pub(super) fn add(files: &mut Files, setting: &Setting<'_>, issued: &Issued, worked: &Worked<'_>) {
    let (path, text) = script();
    files.insert(path.clone(), bytes(text));
    for icon in setting.theme.icons.all() {
        files.insert(icon.path.clone(), Content::Picture(Shows::Plate(icon.svg.clone())));
    }
    files.insert(MANIFEST.to_owned(), bytes(&manifest(setting)));
    if let Some(site) = &setting.shop.site {
        let (shop, language) = (setting.shop.name.as_str(), setting.shop.language.as_str());
        let about = About { site, shop, language, day: &issued.latest };
        files.insert(
            feed::PATH.to_owned(),
            bytes(&feed::feed(&about, setting.register, |number| worked.sheet_of(number))),
        );
        let address = |path: &str| setting.shop.address(path).unwrap_or_default();
        let listed = files.keys().filter(|path| is_page(path) && *path != MISSING && !issued.moved.contains(*path));
        let pages: Vec<(String, String)> =
            listed.map(|path| (address(path), issued.dates.get(path).unwrap_or(&issued.latest).clone())).collect();
        for (path, text) in sitemap::files(address, &pages) {
            files.insert(path, bytes(&text));
        }
    }
}

/// Puts the edition's mark into all pages, and adds what holds it as data.
pub(super) fn mark(files: &mut Files, edition: &str) {
    let marked: BTreeSet<String> = files
        .par_iter_mut()
        .filter(|(path, _)| is_page(path))
        .filter_map(|(path, content)| fill(content, edition).then(|| path.clone()))
        .collect();
    let (pages, others): (Vec<&String>, Vec<&String>) =
        files.keys().filter(|path| is_kept(path)).partition(|path| marked.contains(*path));
    let head = format!("const EDITION={},PAGES={},FILES={};\n", json!(edition), json!(pages), json!(others));
    let worker = head + &javascript::bare(include_str!("service-worker.js"));
    files.insert(WORKER.to_owned(), bytes(&worker));
    files.insert(MARK.to_owned(), bytes(&format!("{}\n", json!({ "edition": edition }))));
}

/// Fills the mark in where a page has a place for it; true where it does.
fn fill(content: &mut Content, edition: &str) -> bool {
    let Content::Bytes(bytes) = content else { return false };
    let Ok(text) = std::str::from_utf8(bytes) else { return false };
    if !text.contains(EDITION) {
        return false;
    }
    *bytes = fill_in(text, edition).into_bytes();
    true
}

fn is_page(path: &str) -> bool {
    ends_in(path, "html") && !path.starts_with("editions/")
}

/// What a device keeps for reading without a network: all but other forms of the library, drawings as pictures, the
/// pictures of links, licences, and what is asked of the network each time.
fn is_kept(path: &str) -> bool {
    let left_out = ["editions/", "drawings/", "previews/", "sitemap"].iter().any(|begins| path.starts_with(begins));
    !left_out && !ends_in(path, "txt") && ![MARK, WORKER].contains(&path)
}

fn ends_in(path: &str, ending: &str) -> bool {
    path.rsplit_once('.').is_some_and(|(_, found)| found == ending)
}

/// How the library stands on a home screen (W3C, Web Application Manifest).
fn manifest(setting: &Setting<'_>) -> String {
    let icons = &setting.theme.icons;
    let icon = |icon: &crate::drawing::mark::Icon, purpose: &str| {
        let size = format!("{0}x{0}", icon.pixels);
        json!({"src": icon.path, "sizes": size, "type": "image/png", "purpose": purpose})
    };
    let paper = &setting.theme.colours.paper;
    let manifest = json!({
        "id": "./",
        "name": format!("{}: service guides", setting.shop.name),
        "short_name": setting.shop.name,
        "lang": setting.shop.language,
        "start_url": "index.html",
        "scope": "./",
        "display": "minimal-ui",
        "background_color": paper,
        "theme_color": paper,
        "icons": [icon(&icons.small, "any"), icon(&icons.large, "any"), icon(&icons.to_cut, "maskable")],
    });
    format!("{manifest:#}\n")
}

fn bytes(text: &str) -> Content {
    Content::Bytes(text.as_bytes().to_vec())
}

#[cfg(test)]
mod tests {
    use super::{Content, EDITION, Files, bytes, is_kept, mark};

    #[test]
    fn a_page_is_held_to_its_mark_and_what_needs_a_network_is_not_kept() {
        let mut files = Files::new();
        for path in ["index.html", "drawings/chain.0.png", "editions/book.epub", "theme/type/licence.txt"] {
            files.insert(path.to_owned(), bytes(&format!("<p>{EDITION}</p>")));
        }
        files.insert("own.html".to_owned(), bytes("<p>no mark</p>"));
        mark(&mut files, "2026-05-03-aaaaaaaa");
        let text = |path: &str| match &files[path] {
            Content::Bytes(bytes) => String::from_utf8_lossy(bytes).into_owned(),
            Content::Picture(_) => String::new(),
        };
        assert_eq!(text("index.html"), "<p>2026-05-03-aaaaaaaa</p>");
        assert_eq!(text("edition.json"), "{\"edition\":\"2026-05-03-aaaaaaaa\"}\n");
        let head = "const EDITION=\"2026-05-03-aaaaaaaa\",PAGES=[\"index.html\"],FILES=[\"own.html\"];\n";
        assert!(text("service-worker.js").starts_with(head), "{}", text("service-worker.js"));
        assert!(is_kept("theme/sheet.0.css") && is_kept("photos/a.0.jpg") && !is_kept("service-worker.js"));
    }
}
