//! Sheets in, files of one form of the library out; each form resolves the links of sheets in its own way.
//!
//! In a sheet's markup a link to another file of the library is written `sheet:PATH#place`, whatever the form.

/// Figures that changed, for readers' programs.
pub mod feed;
/// What a host serves besides pages: offline reading, the check for a newer edition, what stands on a home screen.
pub mod hosted;
/// The site: one page a sheet, opened from the disk.
pub mod site;
/// The list of addresses for those who look for pages.
mod sitemap;

/// Files into one archive.
pub mod archive;
/// The whole library as one book.
pub mod book;
/// Which typefaces a text needs.
pub mod faces;
/// Sheets put together to the editions that are taken away.
mod gather;
/// Markup tag by tag, for forms that keep less of it than the site.
pub mod markup;
/// What a book tells of itself.
pub mod package;
/// Each guide and reply as one file.
pub mod single;
/// The site in one file.
pub mod zip;

use crate::diagnostic::Diagnostic;
use crate::library::shop::Edition;
use std::io::{self, Write};

/// How the address of another file begins in a sheet's markup.
pub const SYMBOL: &str = "sheet:";

/// What stands for the edition's mark in all that is set, since the mark is known only when everything was: digits of
/// the content's hash are in it. Its signs are from a range that no typeface of a sheet has.
pub const EDITION: &str = "\u{E0ED}edition\u{E0ED}";

/// The text with the edition's mark in it.
#[must_use]
pub fn fill_in(text: &str, edition: &str) -> String {
    text.replace(EDITION, edition)
}

/// Gives the bytes of a file of the site that is being written, by its path.
pub type Reader<'r> = dyn Fn(&str) -> io::Result<Vec<u8>> + Sync + 'r;

/// Why an edition couldn't be made.
#[derive(Debug)]
pub enum NotMade {
    /// The disk's or the system's fault.
    Disk(io::Error),
    /// A fault of the theme.
    Fault(Box<Diagnostic>),
}

impl From<io::Error> for NotMade {
    fn from(error: io::Error) -> Self {
        Self::Disk(error)
    }
}

/// A file of the library that is taken away, to be made from the site once that is written.
#[derive(Clone, Debug)]
pub enum TakeAway {
    /// The book.
    Book(Box<book::Book>),
    /// One sheet.
    Sheet(single::Single),
    /// The site in one file.
    Zip(zip::Zip),
}

impl TakeAway {
    /// Where it stands in the site.
    #[must_use]
    pub fn path(&self) -> &str {
        match self {
            Self::Book(_) => book::PATH,
            Self::Sheet(sheet) => &sheet.path,
            Self::Zip(_) => zip::PATH,
        }
    }

    /// The edition that it belongs to.
    #[must_use]
    pub fn edition(&self) -> Edition {
        match self {
            Self::Book(_) => Edition::Book,
            Self::Sheet(_) => Edition::Sheets,
            Self::Zip(_) => Edition::Zip,
        }
    }

    /// Writes it; `read` gives the files of the site.
    ///
    /// # Errors
    /// What `read` or `out` says, or a fault of the theme.
    pub fn write(&self, read: &Reader<'_>, out: &mut dyn Write) -> Result<(), NotMade> {
        match self {
            Self::Book(book) => book.write(read, out),
            Self::Sheet(sheet) => Ok(out.write_all(&sheet.make(read)?)?),
            Self::Zip(zip) => zip.write(read, out),
        }
    }
}

/// What a file is, by the ending of its name (IANA's names).
#[must_use]
pub fn media_type(path: &str) -> &'static str {
    match path.rsplit('.').next().unwrap_or_default() {
        "css" => "text/css",
        "html" => "text/html",
        "xhtml" => "application/xhtml+xml",
        "jpg" | "jpeg" => "image/jpeg",
        "png" => "image/png",
        "svg" => "image/svg+xml",
        "webp" => "image/webp",
        "woff2" => "font/woff2",
        "txt" => "text/plain",
        _ => "application/octet-stream",
    }
}

/// The markup with each symbolic address put into a form by `resolve`.
///
/// Addresses are looked for in the attributes of tags alone: in text a `<` is always escaped, so that what an author
/// writes is never taken for one.
#[must_use]
pub fn resolve_links(markup: &str, resolve: impl Fn(&str) -> String) -> String {
    let mut out = String::with_capacity(markup.len() + markup.len() / 16);
    let mut copied = 0;
    let mut at = 0;
    while let Some(tag) = markup[at..].find('<') {
        at += tag + 1;
        // A `>` within quotes doesn't end the tag.
        while let Some(sign) = markup[at..].find(['>', '"', '\'']) {
            at += sign + 1;
            let quote = match &markup.as_bytes()[at - 1] {
                b'>' => break,
                quote => char::from(*quote),
            };
            let value = &markup[at..];
            let length = value.find(quote).unwrap_or(value.len());
            let value = &value[..length];
            if let Some(address) = value.strip_prefix(SYMBOL) {
                out.push_str(&markup[copied..at]);
                // The widths of a photo are several addresses in one attribute.
                let several = markup[..at - 1].ends_with("srcset=");
                let one = |one: &str| one.strip_prefix(SYMBOL).map_or_else(|| one.to_owned(), &resolve);
                let resolved =
                    if several { value.split(", ").map(one).collect::<Vec<_>>().join(", ") } else { resolve(address) };
                out.push_str(&resolved);
                copied = at + length;
            }
            at = (at + length + 1).min(markup.len());
        }
    }
    out.push_str(&markup[copied..]);
    out
}

#[cfg(test)]
mod tests {
    use super::resolve_links;

    #[test]
    fn only_addresses_in_tags_are_resolved() {
        let markup = r#"<p title="a > b" class='"'>"sheet:x" ="sheet:y" <a href="sheet:guides/a.html#op-20">a</a> <img src="sheet:b.png" srcset="sheet:b.png 1w, sheet:c.png 2w"/></p>"#;
        let wanted = r#"<p title="a > b" class='"'>"sheet:x" ="sheet:y" <a href="../guides/a.html#op-20">a</a> <img src="../b.png" srcset="../b.png 1w, ../c.png 2w"/></p>"#;
        assert_eq!(resolve_links(markup, |address| format!("../{address}")), wanted);
    }
}
