//! The package document of the book (EPUB 3.3, Package Documents) and its container file.
//!
//! What is told of the book comes from the library alone: no clock, no random name. Access to it is told in the words of
//! schema.org. Nothing here claims that the book conforms to EPUB Accessibility 1.1: that is for a person to judge, and
//! to sign.

use super::media_type;
use crate::text::escape;

/// What an EPUB file is.
pub const MEDIA_TYPE: &str = "application/epub+zip";
/// The page of contents, by its path in the site.
pub const CONTENTS: &str = "contents.html";
/// The page with the cover, by its path in the site.
pub const COVER_PAGE: &str = "cover.html";

/// What is told of a book.
#[derive(Clone, Default, Debug)]
pub struct About {
    /// Its title.
    pub title: String,
    /// The shop that publishes it.
    pub publisher: String,
    /// What it is about.
    pub description: String,
    /// Its language.
    pub language: String,
    /// Where the site stands on the web.
    pub site: Option<String>,
    /// The latest date of issue of its sheets, as `2026-05-03`.
    pub issued: String,
    /// The mark of the edition, which holds digits of the hash of what is in it.
    pub edition: String,
    /// Digits of the hash of what the book holds and the site does not.
    pub digits: String,
}

/// A file of the book, as the package tells of it.
#[derive(Clone, Debug)]
pub struct Listed {
    /// Its path beside the package document.
    pub path: String,
    /// What a reading system has to know of it.
    pub properties: Vec<&'static str>,
    /// True where it is read in its turn.
    pub in_spine: bool,
}

/// The file that leads to the package document.
#[must_use]
pub fn container(folder: &str) -> String {
    format!(
        r#"<?xml version="1.0" encoding="UTF-8"?>
<container version="1.0" xmlns="urn:oasis:names:tc:opendocument:xmlns:container">
<rootfiles><rootfile full-path="{folder}/package.opf" media-type="application/oebps-package+xml"/></rootfiles>
</container>
"#
    )
}

/// The package document.
#[must_use]
pub fn document(about: &About, files: &[Listed]) -> String {
    let mut manifest = String::new();
    let mut spine = String::new();
    for (place, file) in files.iter().enumerate() {
        let properties = match file.properties.join(" ") {
            none if none.is_empty() => none,
            some => format!(r#" properties="{some}""#),
        };
        let (path, media_type) = (escape(&address(&file.path)), media_type(&file.path));
        manifest
            .push_str(&format!("<item id=\"f{place}\" href=\"{path}\" media-type=\"{media_type}\"{properties}/>\n"));
        if file.in_spine {
            spine.push_str(&format!("<itemref idref=\"f{place}\"/>\n"));
        }
    }
    let language = escape(&about.language);
    format!(
        r#"<?xml version="1.0" encoding="UTF-8"?>
<package xmlns="http://www.idpf.org/2007/opf" version="3.0" unique-identifier="id" xml:lang="{language}">
<metadata xmlns:dc="http://purl.org/dc/elements/1.1/">
{}</metadata>
<manifest>
{manifest}</manifest>
<spine>
{spine}</spine>
</package>
"#,
        metadata(about)
    )
}

/// Dublin Core first, then what helps a reader to choose a book that they can use.
fn metadata(about: &About) -> String {
    let mut out = format!("<dc:identifier id=\"id\">{}</dc:identifier>\n", identifier(about));
    let mut dublin = |name: &str, value: &str| {
        out.push_str(&format!("<dc:{name}>{}</dc:{name}>\n", escape(value)));
    };
    dublin("title", &about.title);
    dublin("language", &about.language);
    dublin("creator", &about.publisher);
    dublin("publisher", &about.publisher);
    dublin("description", &about.description);
    dublin("date", day(about));
    if let Some(site) = &about.site {
        dublin("source", site);
    }
    let mut meta = |property: &str, value: &str| {
        out.push_str(&format!("<meta property=\"{property}\">{}</meta>\n", escape(value)));
    };
    meta("dcterms:modified", &format!("{}T00:00:00Z", day(about)));
    meta("schema:version", &about.edition);
    for (property, value) in ACCESS {
        meta(property, value);
    }
    out
}

/// How the book can be read; each line is true of every book that is made here.
const ACCESS: &[(&str, &str)] = &[
    ("schema:accessMode", "textual"),
    ("schema:accessMode", "visual"),
    // A photo or a drawing without a text is a fault of its page.
    ("schema:accessModeSufficient", "textual"),
    ("schema:accessModeSufficient", "textual,visual"),
    ("schema:accessibilityFeature", "MathML"),
    ("schema:accessibilityFeature", "alternativeText"),
    ("schema:accessibilityFeature", "displayTransformability"),
    ("schema:accessibilityFeature", "readingOrder"),
    ("schema:accessibilityFeature", "structuralNavigation"),
    ("schema:accessibilityFeature", "tableOfContents"),
    ("schema:accessibilityFeature", "unlocked"),
    ("schema:accessibilityHazard", "none"),
    (
        "schema:accessibilitySummary",
        "The text flows and can be set in any size and colour. Formulas are MathML; every drawing and photo has a text \
         that says what it shows. Headings, lists and tables are marked as such, and the contents lead to every sheet. \
         No person has certified the book against EPUB Accessibility.",
    ),
];

/// The day of the latest issue; a library in which nothing is issued yet has the first day that files can tell.
fn day(about: &About) -> &str {
    if about.issued.is_empty() { "1980-01-01" } else { &about.issued }
}

/// A UUID (RFC 9562, version 8) from shop, address and content: the same library has the same one on every machine.
fn identifier(about: &About) -> String {
    let mut hasher = blake3::Hasher::new();
    for part in [about.publisher.as_str(), about.site.as_deref().unwrap_or_default(), &about.edition, &about.digits] {
        hasher.update(part.as_bytes()).update(&[0]);
    }
    let mut bytes = [0_u8; 16];
    bytes.copy_from_slice(&hasher.finalize().as_bytes()[..16]);
    bytes[6] = (bytes[6] & 0x0f) | 0x80;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    let digits: String = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
    let groups = [&digits[..8], &digits[8..12], &digits[12..16], &digits[16..20], &digits[20..]];
    format!("urn:uuid:{}", groups.join("-"))
}

/// A path as an address: whatever isn't plain in one is written in its bytes.
fn address(path: &str) -> String {
    let is_plain = |byte: u8| byte.is_ascii_alphanumeric() || b"/-._~".contains(&byte);
    let written = |byte: u8| if is_plain(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") };
    path.bytes().map(written).collect()
}
