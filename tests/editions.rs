//! The editions that are taken away: the same bytes each time, whole by themselves, and no link in them that breaks.
//!
//! The starter library is pressed with all of them. Archives are read here by their directories, as readers do, and not
//! by the code that writes them.

use crate::folder::{Folder, MARKER, files};
use flate2::read::DeflateDecoder;
use roxmltree::{Document, Node, ParsingOptions};
use std::collections::{BTreeMap, BTreeSet};
use std::io::{Cursor, Read};
use std::sync::LazyLock;

const BOOK: &str = "editions/library.epub";
const ZIP: &str = "editions/site.zip";
const SHEETS: &str = "editions/sheets/";

/// A photo on a page, a link to another sheet, words in italics, and signs that the first faces lack.
const GUIDE: &str = "---
title: Everything that can be taken
summary: A photo, links, a drawing.
topic: care
number: CA/900
revision: A
issued: 2026-05-03
prepared_by: R. Pell
approved_by: M. Oduya
done_by: rider
---

A rim of ⌀ *large*. See [the chain](../drivetrain/chain-after-chainring.md#op-10).

![A red square](../../photos/red.png \"Red.\")
";

/// The starter library with one guide and one photo more, and its `shop.yaml` changed.
fn library(name: &str, change: impl Fn(&str) -> String) -> Folder {
    let library = Folder::laid_down(&format!("editions-{name}"));
    library.write("content/guides/care/everything.md", GUIDE);
    let mut photo = Cursor::new(Vec::new());
    let red = image::RgbImage::from_pixel(30, 30, image::Rgb([200, 0, 0]));
    red.write_to(&mut photo, image::ImageFormat::Png).expect("a photo");
    library.write("content/photos/red.png", photo.get_ref());
    library.write("content/shop.yaml", change(&library.read("content/shop.yaml")));
    library
}

/// Presses, and gives every file by its path.
fn press(library: &Folder, into: &str) -> BTreeMap<String, Vec<u8>> {
    library.done(&["press", "--into", into]);
    files(&library.0.join(into))
}

/// The starter library with all editions, pressed once for all tests.
static PRESSED: LazyLock<BTreeMap<String, Vec<u8>>> = LazyLock::new(|| press(&library("all", all_editions), "one"));

fn all_editions(shop: &str) -> String {
    let others = shop.lines().filter(|line| !line.starts_with("editions:"));
    others.map(|line| format!("{line}\n")).collect::<String>() + "editions: [site, book, sheets, zip]\n"
}

/// What an archive's directory says of a file (APPNOTE 4.3.12), and the file.
struct Entry {
    name: String,
    method: u16,
    time_and_day: u32,
    bytes: Vec<u8>,
}

/// All files of an archive in the order of its directory.
fn unpack(archive: &[u8]) -> Vec<Entry> {
    let two = |at: usize| u16::from_le_bytes([archive[at], archive[at + 1]]);
    let four = |at: usize| u32::from_le_bytes(archive[at..at + 4].try_into().expect("four bytes"));
    let place = |at: usize| usize::try_from(four(at)).expect("a place");
    let end = archive.len() - 22;
    assert_eq!(&archive[end..end + 4], b"PK\x05\x06", "it ends as an archive does");
    let mut at = place(end + 16);
    let mut entries = Vec::new();
    for _ in 0..two(end + 10) {
        assert_eq!(&archive[at..at + 4], b"PK\x01\x02");
        let (method, sum, packed, size) = (two(at + 10), four(at + 16), place(at + 20), place(at + 24));
        let [name, extra, comment] = [28, 30, 32].map(|place| usize::from(two(at + place)));
        let text = String::from_utf8(archive[at + 46..at + 46 + name].to_vec()).expect("a name");
        let local = place(at + 42);
        assert_eq!(&archive[local..local + 4], b"PK\x03\x04", "{text}");
        assert_eq!(&archive[local + 6..local + 26], &archive[at + 8..at + 28], "{text}: both headers agree");
        let data = local + 30 + usize::from(two(local + 26)) + usize::from(two(local + 28));
        let mut bytes = archive[data..data + packed].to_vec();
        if method == 8 {
            let mut plain = Vec::new();
            DeflateDecoder::new(bytes.as_slice()).read_to_end(&mut plain).expect("it unpacks");
            bytes = plain;
        }
        let mut crc = flate2::Crc::new();
        crc.update(&bytes);
        assert_eq!((crc.sum(), bytes.len()), (sum, size), "{text}");
        entries.push(Entry { name: text, method, time_and_day: four(at + 12), bytes });
        at += 46 + name + extra + comment;
    }
    entries
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).expect("text")
}

fn parsed<'t>(name: &str, markup: &'t str) -> Document<'t> {
    let options = ParsingOptions { allow_dtd: true, ..ParsingOptions::default() };
    Document::parse_with_options(markup, options).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// Every address in a document: of links, pictures, scripts and stylesheets.
fn addresses<'d>(document: &'d Document<'_>) -> Vec<(&'d str, &'d str)> {
    let of = |node: Node<'d, '_>| {
        let names = ["href", "src", "srcset", "action", "data"];
        let values = names.into_iter().filter_map(move |name| node.attribute(name));
        values.map(move |value| (node.tag_name().name(), value)).collect::<Vec<_>>()
    };
    document.descendants().filter(Node::is_element).flat_map(of).collect()
}

#[test]
fn the_same_library_gives_the_same_bytes() {
    let library = library("twice", all_editions);
    let again = press(&library, "two");
    assert_eq!(again.keys().collect::<Vec<_>>(), PRESSED.keys().collect::<Vec<_>>());
    for (path, bytes) in &again {
        assert!(*bytes == PRESSED[path], "{path} differs");
    }
    // Over a press that is there, pictures are kept and the editions come to the same.
    assert!(press(&library, "two") == again, "the second press differs");
    println!("{} files alike in three presses", again.len());
}

#[test]
fn only_what_is_wanted_is_made() {
    let library = library("wanted", |shop| all_editions(shop).replace("editions: [site, book, sheets, zip]\n", ""));
    let pressed = press(&library, "none");
    assert!(!pressed.keys().any(|path| path.starts_with("editions/")), "none are named");
    let front = text(&pressed["index.html"]);
    assert!(!front.contains("editions/") && !front.contains("Take it with you"));
    library.write("content/shop.yaml", library.read("content/shop.yaml") + "editions: [sheets]\n");
    let pressed = press(&library, "sheets");
    assert!(!pressed.contains_key(BOOK) && !pressed.contains_key(ZIP));
    assert!(pressed.keys().any(|path| path.starts_with(SHEETS)));
    assert!(pressed.contains_key("index.html"), "the site is always made");
}

#[test]
fn the_marker_names_every_file() {
    let named: BTreeSet<&str> =
        text(&PRESSED[MARKER]).lines().skip(1).map(|line| line.split_once("  ").expect("a hash").1).collect();
    let there: BTreeSet<&str> = PRESSED.keys().map(String::as_str).filter(|path| *path != MARKER).collect();
    assert_eq!(named, there);
    for path in [BOOK, ZIP, "editions/sheets/DT-014.html"] {
        assert!(there.contains(path), "{path}");
    }
}

#[test]
fn the_zip_holds_the_site() {
    let entries = unpack(&PRESSED[ZIP]);
    let site: BTreeMap<&str, &Vec<u8>> = PRESSED
        .iter()
        .map(|(path, bytes)| (path.as_str(), bytes))
        .filter(|(path, _)| *path != MARKER && !path.starts_with("editions/"))
        .collect();
    let names: Vec<&str> = entries
        .iter()
        .map(|entry| entry.name.strip_prefix("tollgate-cycle-works/").expect("one folder for all"))
        .collect();
    assert_eq!(names, site.keys().copied().collect::<Vec<_>>(), "in their order");
    for (entry, (path, bytes)) in entries.iter().zip(&site) {
        assert_eq!(entry.time_and_day, 0x0021_0000, "{path}: 1 January 1980");
        if path.rsplit('.').next() == Some("html") {
            // Links to other editions, which aren't in it, lead to the site on the web.
            let page = text(&entry.bytes);
            assert!(!page.contains("\"editions/") && !page.contains("/../editions/"), "{path}");
            assert!(page.len() > bytes.len() / 2, "{path} is whole");
        } else {
            assert!(entry.bytes == **bytes, "{path} differs");
        }
    }
    let front = text(&entries[names.iter().position(|name| *name == "index.html").expect("a front page")].bytes);
    assert!(front.contains("href=\"https://tollgate.example/guides/editions/library.epub\""), "{front}");
    println!("{} files in the zip", entries.len());
}

#[test]
fn a_single_sheet_needs_no_other_file() {
    let mut sheets = 0;
    for (path, bytes) in PRESSED.iter().filter(|(path, _)| path.starts_with(SHEETS)) {
        let markup = text(bytes);
        let page = parsed(path, markup);
        for (tag, address) in addresses(&page) {
            let leads_out = ["#", "tel:", "mailto:"].iter().any(|begin| address.starts_with(begin))
                || (tag == "a" && address.starts_with("https://"));
            assert!(leads_out || address.starts_with("data:"), "{path}: {address}");
        }
        let style = page.descendants().find(|node| node.has_tag_name("style")).and_then(|node| node.text());
        let style = style.unwrap_or_else(|| panic!("{path} has its stylesheet"));
        for (_, after) in style.match_indices("url(").map(|(at, _)| style.split_at(at + 4)) {
            assert!(after.trim_start_matches('"').starts_with("data:"), "{path}: {}", &after[..40]);
        }
        if markup.contains("data-formula=") {
            assert!(
                page.descendants().filter(|node| node.has_tag_name("script")).count() > 1,
                "{path}: works with its script"
            );
        }
        assert!(!markup.contains("This sheet as one file") && !markup.contains("As a picture"), "{path}");
        sheets += 1;
    }
    let is_sheet = |path: &&String| path.starts_with("guides/") || path.starts_with("replies/");
    // Where a sheet stood before is a page that only leads on.
    let leads_on = |path: &&String| text(&PRESSED[*path]).contains("http-equiv=\"refresh\"");
    let guides = PRESSED.keys().filter(is_sheet).filter(|path| !leads_on(path)).count();
    assert_eq!(sheets, guides, "each guide and reply is one");
    println!("{sheets} single sheets");
}

#[test]
fn a_single_sheet_holds_photos_and_the_faces_that_it_needs() {
    let named = |begins: &str| PRESSED.iter().find(|(path, _)| path.starts_with(begins)).expect("a sheet").1;
    let all = text(named("editions/sheets/CA-900-"));
    assert!(all.contains("<img src=\"data:image/png;base64,"), "its photo");
    assert!(
        all.contains("href=\"https://tollgate.example/guides/guides/drivetrain/chain-after-chainring.html#op-10\"")
    );
    let faces = |page: &str| page.matches("src:url(data:font/woff2").count();
    let plain = faces(text(named("editions/sheets/DT-014")));
    // Six typefaces there are; each is in a file once at most.
    assert!(faces(all) > 3 && plain > 3 && faces(all) <= 6, "{} and {plain} faces", faces(all));
    assert!(all.contains("font-style:italic;font-display"), "words in italics bring their face");
}

#[test]
fn without_an_address_links_become_numbers() {
    let library = library("offline", |shop| {
        let lines = all_editions(shop);
        lines.lines().filter(|line| !line.starts_with("site:")).map(|line| format!("{line}\n")).collect()
    });
    let pressed = press(&library, "site");
    let sheet = pressed.iter().find(|(path, _)| path.starts_with("editions/sheets/CA-900-")).expect("the sheet").1;
    assert!(text(sheet).contains("See the chain (DT-014)."), "{}", text(sheet));
    for (path, bytes) in pressed.iter().filter(|(path, _)| path.starts_with(SHEETS)) {
        let page = parsed(path, text(bytes));
        for (tag, address) in addresses(&page).into_iter().filter(|(tag, _)| *tag == "a") {
            assert!(["#", "tel:", "mailto:"].iter().any(|begin| address.starts_with(begin)), "{path}: {tag} {address}");
        }
    }
    let zip = unpack(&pressed[ZIP]);
    let front = zip.iter().find(|entry| entry.name.ends_with("/index.html")).expect("a front page");
    assert!(!text(&front.bytes).contains("library.epub"));
}

/// The path that an address in a file of the book leads to, and the place in it.
fn target(from: &str, address: &str) -> (String, Option<String>) {
    let (path, place) = address.split_once('#').map_or((address, None), |(path, place)| (path, Some(place.to_owned())));
    if path.is_empty() {
        return (from.to_owned(), place);
    }
    let mut parts: Vec<&str> = from.split('/').collect();
    parts.pop();
    for part in path.split('/') {
        if part == ".." {
            parts.pop().expect("inside the book");
        } else {
            parts.push(part);
        }
    }
    (parts.join("/"), place)
}

#[test]
fn the_book_is_whole_by_itself() {
    let entries = unpack(&PRESSED[BOOK]);
    let first = &entries[0];
    assert_eq!(
        (first.name.as_str(), first.method, first.bytes.as_slice()),
        ("mimetype", 0, &b"application/epub+zip"[..])
    );
    assert!(PRESSED[BOOK].starts_with(b"PK\x03\x04"), "it can be told by its first bytes");
    assert_eq!(&PRESSED[BOOK][30..58], b"mimetypeapplication/epub+zip");
    let files: BTreeMap<&str, &[u8]> =
        entries.iter().map(|entry| (entry.name.as_str(), entry.bytes.as_slice())).collect();
    assert_eq!(files.len(), entries.len(), "each file once");
    let opf = parsed("package.opf", text(files["EPUB/package.opf"]));
    let items: BTreeMap<String, &str> = opf
        .descendants()
        .filter(|node| node.tag_name().name() == "item")
        .map(|item| {
            let path = format!("EPUB/{}", item.attribute("href").expect("an address"));
            (path, item.attribute("media-type").expect("a type"))
        })
        .collect();
    let apart = ["mimetype", "META-INF/container.xml", "EPUB/package.opf"];
    let there: BTreeSet<&str> = files.keys().copied().filter(|path| !apart.contains(path)).collect();
    assert_eq!(items.keys().map(String::as_str).collect::<BTreeSet<_>>(), there, "the manifest names every file");
    let spine = opf.descendants().filter(|node| node.tag_name().name() == "itemref").count();
    let pages: Vec<&str> =
        items.iter().filter(|(_, kind)| **kind == "application/xhtml+xml").map(|(path, _)| path.as_str()).collect();
    assert_eq!(spine, pages.len(), "every page is read in its turn");
    let documents: BTreeMap<&str, Document<'_>> =
        pages.iter().map(|path| (*path, parsed(path, text(files[path])))).collect();
    let mut links = 0;
    for (path, page) in &documents {
        for (tag, address) in addresses(page) {
            if tag == "a" && ["https://", "tel:", "mailto:"].iter().any(|begin| address.starts_with(begin)) {
                continue;
            }
            let (file, place) = target(path, address);
            assert!(files.contains_key(file.as_str()), "{path}: {address} is not in the book");
            if let (Some(place), Some(document)) = (place, documents.get(file.as_str())) {
                let found = document.descendants().any(|node| node.attribute("id") == Some(&place));
                assert!(found, "{path}: {address} has no such place");
            }
            links += 1;
        }
        let names: BTreeSet<&str> =
            page.descendants().filter(Node::is_element).map(|node| node.tag_name().name()).collect();
        for name in ["script", "form", "input", "button", "output"] {
            assert!(!names.contains(name), "{path}: a book has no {name}");
        }
        let item =
            opf.descendants().find(|node| node.attribute("href").is_some_and(|href| format!("EPUB/{href}") == **path));
        let properties = item.and_then(|item| item.attribute("properties")).unwrap_or_default();
        for (name, property) in [("math", "mathml"), ("svg", "svg")] {
            assert_eq!(properties.split(' ').any(|word| word == property), names.contains(name), "{path}: {property}");
        }
    }
    println!("{} files in the book, {} pages, {links} links inside", files.len(), pages.len());
}

#[test]
fn the_book_tells_how_it_can_be_read() {
    let entries = unpack(&PRESSED[BOOK]);
    let file = |name: &str| &entries.iter().find(|entry| entry.name == name).unwrap_or_else(|| panic!("{name}")).bytes;
    let opf = text(file("EPUB/package.opf"));
    for part in [
        "<dc:publisher>Tollgate Cycle Works</dc:publisher>",
        "<dc:language>en-GB</dc:language>",
        "<meta property=\"schema:accessMode\">textual</meta>",
        "<meta property=\"schema:accessModeSufficient\">textual</meta>",
        "<meta property=\"schema:accessibilityFeature\">MathML</meta>",
        "<meta property=\"schema:accessibilityHazard\">none</meta>",
        "properties=\"cover-image\"",
        "urn:uuid:",
    ] {
        assert!(opf.contains(part), "{part} in\n{opf}");
    }
    // The date of the latest sheet, and never that of the press.
    let marker = text(&PRESSED[MARKER]);
    assert!(opf.contains(&format!("<meta property=\"dcterms:modified\">{}T00:00:00Z</meta>", &marker[..10])), "{opf}");
    let contents = parsed("contents", text(file("EPUB/contents.xhtml")));
    let kinds: Vec<_> = contents
        .descendants()
        .filter(|node| node.tag_name().name() == "nav")
        .filter_map(|node| node.attribute(("http://www.idpf.org/2007/ops", "type")))
        .collect();
    assert_eq!(kinds, ["toc", "landmarks"]);
    let cover = image::load_from_memory(file("EPUB/cover.png")).expect("a picture");
    assert_eq!((cover.width(), cover.height()), (1400, 1986));
}
