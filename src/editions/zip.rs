//! The site in one file: a ZIP archive with all files of the site but the editions, below one folder named after the shop.
//!
//! Pages in it have no links to the other editions, which aren't there: such a link leads to the site on the web, and
//! where the shop has no address it stands as words.

use super::archive::{self, Item, Pack};
use super::markup::{Put, rewrite};
use super::single::on_the_web;
use super::{NotMade, Reader, media_type};
use std::io::{self, Write};

/// Where the archive stands in the site.
pub const PATH: &str = "editions/site.zip";

/// The archive, to be made when it is written.
#[derive(Clone, Debug)]
pub struct Zip {
    /// The folder in it.
    pub folder: String,
    /// Where the site stands on the web.
    pub site: Option<String>,
    /// The files of the site, by path.
    pub files: Vec<String>,
}

impl Zip {
    /// Writes the archive; `read` gives the files of the site.
    ///
    /// # Errors
    /// What `read` or `out` says, or a site that is too large.
    pub fn write(&self, read: &Reader<'_>, out: &mut dyn Write) -> Result<(), NotMade> {
        let names: Vec<String> = self.files.iter().map(|path| format!("{}/{path}", self.folder)).collect();
        let items: Vec<Item<'_, &str>> = names
            .iter()
            .zip(&self.files)
            .map(|(name, path)| Item { name, pack: Pack::for_name(name), from: path.as_str() })
            .collect();
        archive::write(&items, |path| self.file(path, read), out).map_err(NotMade::Disk)
    }

    fn file(&self, path: &str, read: &Reader<'_>) -> io::Result<Vec<u8>> {
        let bytes = read(path)?;
        if media_type(path) != "text/html" {
            return Ok(bytes);
        }
        let page = String::from_utf8_lossy(&bytes);
        let up = "../".repeat(path.matches('/').count());
        Ok(rewrite(&page, |tag| {
            let address = tag.attribute("href").and_then(|address| address.strip_prefix(&up));
            match (address.filter(|address| address.starts_with("editions/")), &self.site) {
                (Some(address), Some(site)) => Put::Tag(tag.with("href", &on_the_web(site, address))),
                (Some(_), None) => Put::Words(String::new()),
                (None, _) => Put::AsItIs,
            }
        })
        .into_bytes())
    }
}

/// The shop's name as a folder has it: small letters, digits and hyphens.
#[must_use]
pub fn folder_of(name: &str) -> String {
    let mut out = String::new();
    for c in name.chars().flat_map(char::to_lowercase) {
        if c.is_alphanumeric() {
            out.push(c);
        } else if !out.is_empty() && !out.ends_with('-') {
            out.push('-');
        }
    }
    // A name that any disk can take.
    let end = out.char_indices().nth(60).map_or(out.len(), |(end, _)| end);
    let out = out[..end].trim_end_matches('-');
    if out.is_empty() { "library".to_owned() } else { out.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::{Zip, folder_of};

    #[test]
    fn a_folder_is_named_after_the_shop() {
        assert_eq!(folder_of("Tollgate Cycle Works"), "tollgate-cycle-works");
        assert_eq!(folder_of(" Kühn & Söhne (North)"), "kühn-söhne-north");
        assert_eq!(folder_of("*"), "library");
    }

    #[test]
    fn links_to_editions_lead_out_of_it() {
        let page = r#"<a href="../editions/site.zip">zip</a> <a href="../editions.html">e</a> <a href="x.html">x</a>"#;
        let made = |site: Option<&str>| {
            let zip = Zip { folder: String::new(), site: site.map(str::to_owned), files: Vec::new() };
            String::from_utf8(zip.file("guides/a.html", &|_| Ok(page.into())).expect("a page")).expect("text")
        };
        let rest = r#" <a href="../editions.html">e</a> <a href="x.html">x</a>"#;
        assert_eq!(made(None), format!("zip{rest}"));
        assert_eq!(
            made(Some("https://a.example")),
            format!(r#"<a href="https://a.example/editions/site.zip">zip</a>{rest}"#)
        );
    }
}
