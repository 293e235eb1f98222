//! The book: the whole library as one EPUB 3.3 file, with MathML, drawings, photos and typefaces in it.
//!
//! Every sheet is a content document of its own; links lead to other sheets of the book, and a link to what the book
//! lacks stands as words. Nothing in it is a script or a form. What is told of the library as a whole stands in
//! `package.rs`; how pages look is the theme's: `book-*.html`, `book.css` and the frame of every sheet.

use super::archive::{self, Item, Pack};
use super::faces::{self, Wanted};
use super::markup::{Put, Tag, rewrite};
use super::package::{self, About, Listed};
use super::single::{is_stylesheet, symbolic};
use super::{NotMade, Reader, SYMBOL};
use crate::diagnostic::Diagnostic;
use crate::drawing::raster;
use crate::fault::{Fault, id};
use crate::text::Span;
use rayon::prelude::*;
use std::collections::HashSet;
use std::io::{self, Write};
use std::sync::Arc;

/// Where the book stands in the site.
pub const PATH: &str = "editions/library.epub";

/// The folder of everything but the container's own files.
const FOLDER: &str = "EPUB";
/// The picture on the cover.
const COVER: &str = "cover.png";

/// A page of the book.
#[derive(Clone, Debug)]
pub struct Page {
    /// Its path in the site; in the book it ends in `.xhtml`.
    pub path: String,
    /// Its markup, links still symbolic.
    pub markup: String,
}

/// The book, to be made when it is written.
#[derive(Clone, Debug)]
pub struct Book {
    /// What is told of it.
    pub about: About,
    /// The cover, the contents and every sheet, in their order.
    pub pages: Vec<Page>,
    /// The photos on its pages, by path.
    pub photos: Vec<String>,
    /// The cover's picture as SVG, and the inks for it.
    pub cover: (String, Arc<str>),
    /// The book's stylesheet: where it stands, and what it says.
    pub stylesheet: (String, String),
    /// The site's stylesheet, whose typefaces the book has too.
    pub site_stylesheet: String,
    /// The licences of typefaces, by path.
    pub licences: Vec<String>,
}

/// What a file of the book is made from.
enum Source<'b> {
    Text(String),
    Page(&'b Page),
    /// A file of the site.
    Site(String),
    Cover,
}

impl Book {
    /// Writes the book; `read` gives the files of the site.
    ///
    /// # Errors
    /// What `read` or `out` says, a book that is too large, or a cover that can't be drawn.
    pub fn write(&self, read: &Reader<'_>, out: &mut dyn Write) -> Result<(), NotMade> {
        let files = self.files(read)?;
        let listed: Vec<Listed> = files.iter().map(|(path, source)| listed(path, source)).collect();
        let fixed = [
            // The format wants this file first, and neither packed nor flagged.
            ("mimetype".to_owned(), Source::Text(package::MEDIA_TYPE.to_owned())),
            ("META-INF/container.xml".to_owned(), Source::Text(package::container(FOLDER))),
            (format!("{FOLDER}/package.opf"), Source::Text(package::document(&self.about, &listed))),
        ];
        let inside = files.into_iter().map(|(path, source)| (format!("{FOLDER}/{path}"), source));
        let all: Vec<(String, Source<'_>)> = fixed.into_iter().chain(inside).collect();
        let items: Vec<Item<'_, &Source<'_>>> = all
            .iter()
            .map(|(name, from)| {
                let pack = if name == "mimetype" { Pack::Stored } else { Pack::for_name(name) };
                Item { name, pack, from }
            })
            .collect();
        let inside: HashSet<&str> = self.pages.iter().map(|page| page.path.as_str()).collect();
        archive::write(&items, |source| self.bytes(source, &inside, read), out)
    }

    /// Every file of the book by its path, the pages first.
    fn files(&self, read: &Reader<'_>) -> io::Result<Vec<(String, Source<'_>)>> {
        let mut files: Vec<(String, Source<'_>)> =
            self.pages.iter().map(|page| (in_book(&page.path), Source::Page(page))).collect();
        files.push((COVER.to_owned(), Source::Cover));
        let site_style = String::from_utf8_lossy(&read(&self.site_stylesheet)?).into_owned();
        let (faces, _) = faces::split(&site_style);
        let wanted = self.pages.par_iter().map(|page| Wanted::by(&page.markup)).reduce(Wanted::default, Wanted::or);
        let wanted = wanted.or(Wanted::by(&self.stylesheet.1));
        let folder = self.site_stylesheet.rsplit_once('/').map_or("", |(folder, _)| folder);
        let mut rules = String::new();
        let mut types = self.licences.clone();
        for face in faces::needed(&faces, &wanted) {
            rules.extend([face.rule, "\n"]);
            if face.address.contains(':') {
                continue;
            }
            types.push(format!("{folder}/{}", face.address));
        }
        files.push((self.stylesheet.0.clone(), Source::Text(rules + &self.stylesheet.1)));
        types.sort_unstable();
        types.dedup();
        files.extend(
            types.into_iter().chain(self.photos.iter().cloned()).map(|path| (path.clone(), Source::Site(path))),
        );
        Ok(files)
    }

    fn bytes(&self, source: &Source<'_>, inside: &HashSet<&str>, read: &Reader<'_>) -> Result<Vec<u8>, NotMade> {
        Ok(match source {
            Source::Text(text) => text.clone().into_bytes(),
            Source::Page(page) => rewrite(&page.markup, |tag| put(tag, &page.path, inside)).into_bytes(),
            Source::Site(path) => read(path)?,
            Source::Cover => raster::png(&self.cover.0, &self.cover.1).map_err(|why| no_cover(&why))?,
        })
    }
}

fn no_cover(why: &str) -> NotMade {
    let fault = Fault::new(id::THEME, Span::default(), format!("the book's cover can't be made into a picture: {why}"));
    let fault = fault.cure("mend it, or take the file away: the one that came with the program then stands in for it");
    NotMade::Fault(Box::new(Diagnostic { file: "themes/sheet/book-cover.svg".to_owned(), fault }))
}

/// The path of a page in the book.
#[must_use]
pub fn in_book(path: &str) -> String {
    path.strip_suffix(".html").map_or_else(|| path.to_owned(), |stem| format!("{stem}.xhtml"))
}

/// How a file is told of in the package.
fn listed(path: &str, source: &Source<'_>) -> Listed {
    let (mut properties, mut in_spine) = (Vec::new(), false);
    match source {
        Source::Page(page) => {
            in_spine = true;
            let holds = |tag: &str, property| page.markup.contains(tag).then_some(property);
            properties.extend((page.path == package::CONTENTS).then_some("nav"));
            properties.extend(holds("<math", "mathml"));
            properties.extend(holds("<svg", "svg"));
        }
        Source::Cover => properties.push("cover-image"),
        Source::Text(_) | Source::Site(_) => {}
    }
    Listed { path: path.to_owned(), properties, in_spine }
}

/// What becomes of a tag in the book.
fn put(tag: Tag<'_>, page: &str, inside: &HashSet<&str>) -> Put {
    let up = || "../".repeat(page.matches('/').count());
    let gone = || Put::Instead(String::new());
    match tag.name {
        // A book has neither scripts nor what only a script can fill.
        "script" | "form" => gone(),
        "div" if tag.attribute("hidden").is_some() && tag.text.contains("own-numbers") => gone(),
        "math" if tag.attribute("xmlns").is_none() => {
            Put::Tag(tag.and(r#"xmlns="http://www.w3.org/1998/Math/MathML""#))
        }
        "svg" if tag.attribute("xmlns").is_none() => Put::Tag(tag.and(r#"xmlns="http://www.w3.org/2000/svg""#)),
        "a" => symbolic(tag, "href").map_or(Put::AsItIs, |address| link(tag, address, &up(), inside)),
        "img" => {
            symbolic(tag, "src").map_or(Put::AsItIs, |address| Put::Tag(tag.photo_at(&format!("{}{address}", up()))))
        }
        "link" if is_stylesheet(tag) => symbolic(tag, "href")
            .map_or(Put::AsItIs, |address| Put::Tag(tag.with("href", &format!("{}{address}", up())))),
        "link" | "meta" if tag.text.contains(&format!("\"{SYMBOL}")) => gone(),
        _ => Put::AsItIs,
    }
}

fn link(tag: Tag<'_>, address: &str, up: &str, inside: &HashSet<&str>) -> Put {
    let (path, place) = address.split_once('#').map_or((address, None), |(path, place)| (path, Some(place)));
    if path.starts_with("drawings/") {
        // The drawing itself stands right above.
        return Put::Instead(String::new());
    }
    if !inside.contains(path) {
        return Put::Words(String::new());
    }
    let place = place.map(|place| format!("#{place}")).unwrap_or_default();
    Put::Tag(tag.with("href", &format!("{up}{}{place}", in_book(path))))
}

#[cfg(test)]
mod tests {
    use super::put;
    use crate::editions::markup::rewrite;
    use std::collections::HashSet;

    #[test]
    fn links_stay_inside_and_scripts_go() {
        let inside = HashSet::from(["guides/b.html"]);
        let markup = r#"<a href="sheet:guides/b.html#op-10">b</a> <a href="sheet:search.html">find</a> <a href="sheet:drawings/x.png">As a picture</a><math><mi>x</mi></math><div class="own-numbers" data-given="[1]" hidden="hidden"></div><form><p>f</p></form><script src="sheet:a.js"></script>"#;
        let wanted = r#"<a href="../guides/b.xhtml#op-10">b</a> find <math xmlns="http://www.w3.org/1998/Math/MathML"><mi>x</mi></math>"#;
        assert_eq!(rewrite(markup, |tag| put(tag, "guides/a.html", &inside)), wanted);
    }
}
