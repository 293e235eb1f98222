//! Single sheets: a guide or a reply as one HTML file that needs no other, to be mailed to a rider.
//!
//! Stylesheet, scripts and photos go into it, and of the typefaces those whose characters it has. A link to another
//! sheet leads to the site's address on the web; a shop without one has the other sheet's number there instead.

use super::faces::{self, Wanted};
use super::markup::{Put, Tag, rewrite};
use super::{NotMade, Reader, SYMBOL};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use std::collections::HashMap;
use std::io;
use std::sync::Arc;

/// The folder of single sheets in the site.
pub const FOLDER: &str = "editions/sheets";

/// Where the sheet of this number stands as one file. Whatever a number holds, its file's name is one everywhere.
#[must_use]
pub fn path(number: &str) -> String {
    let plain: String = number.chars().map(|c| if c.is_ascii_alphanumeric() || c == '_' { c } else { '-' }).collect();
    if plain == number {
        return format!("{FOLDER}/{plain}.html");
    }
    let hash = blake3::hash(number.as_bytes()).to_hex();
    format!("{FOLDER}/{plain}-{}.html", &hash[..6])
}

/// What a single sheet knows of the other pages.
#[derive(Clone, Default, Debug)]
pub struct Others {
    /// Where the site stands on the web.
    pub site: Option<String>,
    /// The numbers of sheets by their pages.
    pub numbers: HashMap<String, String>,
}

/// A single sheet, to be made when it is written.
#[derive(Clone, Debug)]
pub struct Single {
    /// Its path in the site.
    pub path: String,
    /// Its markup, links still symbolic.
    pub markup: String,
    /// What it knows of the other pages.
    pub others: Arc<Others>,
}

impl Single {
    /// Puts everything that the sheet needs into it; `read` gives the files of the site.
    ///
    /// # Errors
    /// What `read` says.
    pub fn make(&self, read: &Reader<'_>) -> Result<Vec<u8>, NotMade> {
        let mut failed = None;
        let mut style = None;
        let page = rewrite(&self.markup, |tag| {
            if is_stylesheet(tag) {
                style = symbolic(tag, "href").map(|address| (tag.text, address));
                return Put::AsItIs;
            }
            self.put(tag, read).unwrap_or_else(|error| {
                failed = Some(error);
                Put::AsItIs
            })
        });
        if let Some(error) = failed {
            return Err(error.into());
        }
        let Some((link, address)) = style else { return Ok(page.into_bytes()) };
        let style = stylesheet(address, Wanted::by(&page), read)?;
        Ok(page.replacen(link, &format!("<style>/*<![CDATA[*/\n{style}\n/*]]>*/</style>"), 1).into_bytes())
    }

    fn put(&self, tag: Tag<'_>, read: &Reader<'_>) -> io::Result<Put> {
        Ok(match tag.name {
            "a" => symbolic(tag, "href").map_or(Put::AsItIs, |address| self.link(tag, address)),
            "script" => match symbolic(tag, "src") {
                Some(address) => Put::Instead(script(&String::from_utf8_lossy(&read(address)?))),
                None => Put::AsItIs,
            },
            "img" => match symbolic(tag, "src") {
                Some(address) => Put::Tag(tag.photo_at(&as_data(address, &read(address)?))),
                None => Put::AsItIs,
            },
            // Anything else that asks for a file of the site can do nothing for a sheet by itself.
            "link" | "meta" if tag.text.contains(&format!("\"{SYMBOL}")) => Put::Instead(String::new()),
            _ => Put::AsItIs,
        })
    }

    fn link(&self, tag: Tag<'_>, address: &str) -> Put {
        let page = address.split('#').next().unwrap_or_default();
        if page.starts_with("drawings/") {
            // The drawing itself stands right above.
            return Put::Instead(String::new());
        }
        match (&self.others.site, self.others.numbers.get(page)) {
            (Some(site), _) => Put::Tag(tag.with("href", &on_the_web(site, address))),
            (None, Some(number)) => Put::Words(format!(" ({})", crate::text::escape(number))),
            (None, None) => Put::Words(String::new()),
        }
    }
}

/// The address of a file of the site on the web, as it stands in markup.
pub(super) fn on_the_web(site: &str, address: &str) -> String {
    format!("{}/{address}", crate::text::escape(site.trim_end_matches('/')))
}

/// The symbolic address in an attribute, without what shows that it is one.
pub(super) fn symbolic<'m>(tag: Tag<'m>, attribute: &str) -> Option<&'m str> {
    tag.attribute(attribute)?.strip_prefix(SYMBOL)
}

/// True of the tag that names the sheet's stylesheet.
pub(super) fn is_stylesheet(tag: Tag<'_>) -> bool {
    tag.name == "link" && tag.attribute("rel") == Some("stylesheet")
}

/// A script within its page; the page stays well-formed XHTML, and no text of the script can end it.
fn script(text: &str) -> String {
    let text = text.replace("</", "<\\/").replace("<!--", "<\\!--").replace("]]>", "]] >");
    format!("<script>//<![CDATA[\n{text}\n//]]></script>")
}

/// A stylesheet with what it loads in it; only those typefaces that are wanted.
fn stylesheet(address: &str, wanted: Wanted, read: &Reader<'_>) -> io::Result<String> {
    let text = String::from_utf8_lossy(&read(address)?).into_owned();
    let folder = address.rsplit_once('/').map_or("", |(folder, _)| folder);
    let (faces, rest) = faces::split(&text);
    // A stylesheet sets signs of its own too.
    let wanted = wanted.or(Wanted::by(&rest));
    let mut out = String::with_capacity(text.len() * 4);
    for face in faces::needed(&faces, &wanted) {
        if face.address.contains(':') {
            out.push_str(face.rule);
            continue;
        }
        let file = format!("{folder}/{}", face.address);
        out.push_str(&face.rule.replacen(face.address, &as_data(&file, &read(&file)?), 1));
        out.push('\n');
    }
    out.push_str(rest.trim());
    Ok(out)
}

/// A file as an address that holds it.
fn as_data(path: &str, bytes: &[u8]) -> String {
    format!("data:{};base64,{}", super::media_type(path), STANDARD.encode(bytes))
}

#[cfg(test)]
mod tests {
    use super::{Others, Single, path};
    use std::collections::HashMap;
    use std::sync::Arc;

    #[test]
    fn a_file_is_named_by_its_number() {
        assert_eq!(path("DT-014"), "editions/sheets/DT-014.html");
        assert!(path("../DT 14").starts_with("editions/sheets/---DT-14-"));
        assert_ne!(path("DT/14"), path("DT:14"));
    }

    #[test]
    fn everything_goes_in_and_links_lead_on() {
        let markup = "<link rel=\"stylesheet\" href=\"sheet:theme/s.css\"/><p><a href=\"sheet:guides/b.html#op-10\">b</a> \
            <a href=\"sheet:index.html\">all</a> <a href=\"sheet:drawings/x.png\">As a picture</a> \
            <a href=\"#op-20\">here</a></p><script src=\"sheet:f.js\"></script>";
        let read = |path: &str| {
            Ok(match path {
                "theme/s.css" => "@font-face{font-family:A;src:url(type/a.woff2)}\np{margin:0}".as_bytes().to_vec(),
                "f.js" => "say('</script>')".as_bytes().to_vec(),
                "theme/type/a.woff2" => vec![1, 2, 3],
                other => panic!("{other} is asked for"),
            })
        };
        let numbers = HashMap::from([("guides/b.html".to_owned(), "DT-2".to_owned())]);
        let made = |site: Option<&str>| {
            let others = Others { site: site.map(str::to_owned), numbers: numbers.clone() };
            let single = Single { path: String::new(), markup: markup.to_owned(), others: Arc::new(others) };
            String::from_utf8(single.make(&read).expect("it is made")).expect("text")
        };
        let head = "<style>/*<![CDATA[*/\n@font-face{font-family:A;src:url(data:font/woff2;base64,AQID)}\np{margin:0}\n/*]]>*/</style>";
        let tail = "<a href=\"#op-20\">here</a></p><script>//<![CDATA[\nsay('<\\/script>')\n//]]></script>";
        assert_eq!(made(None), format!("{head}<p>b (DT-2) all  {tail}"));
        let links = "<a href=\"https://a.example/g/guides/b.html#op-10\">b</a> <a href=\"https://a.example/g/index.html\">all</a>";
        assert_eq!(made(Some("https://a.example/g/")), format!("{head}<p>{links}  {tail}"));
    }
}
