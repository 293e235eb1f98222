//! The feed of figures that changed, for readers' programs: Atom (RFC 4287), one entry for each revision that changed figures.
//!
//! Register and pages in, text out. An entry's name is a tag (RFC 4151) of host, day, sheet and revision, so that it stays
//! when a page is renamed. Days are all that the register knows, so each stands for its midnight, UTC.

use crate::evaluate::SheetOf;
use crate::register::{Change, Register, told};
use crate::text::escape;
use std::fmt::Write as _;

/// Where the feed stands.
pub const PATH: &str = "changed-figures.atom";

/// So many of the latest entries are in the feed.
const MOST: usize = 60;

/// What the feed says of itself.
pub(super) struct About<'a> {
    /// The site's address, without a slash at its end.
    pub(super) site: &'a str,
    pub(super) shop: &'a str,
    pub(super) language: &'a str,
    /// The day of the edition, for a feed in which nothing has changed yet.
    pub(super) day: &'a str,
}

/// The feed; `page` finds a sheet by its number, and what is no longer pressed is left out.
pub(super) fn feed(about: &About<'_>, register: &Register, page: impl Fn(&str) -> Option<SheetOf>) -> String {
    let About { site, shop, language, day } = about;
    let groups: Vec<(&[Change], SheetOf)> =
        register.lately().into_iter().filter_map(|group| Some((group, page(&group[0].sheet)?))).take(MOST).collect();
    let latest = groups.first().map_or(*day, |(group, _)| group[0].on.as_str());
    let (site_text, shop) = (escape(site), escape(shop));
    let mut out = format!(
        "<?xml version=\"1.0\" encoding=\"utf-8\"?>\n<feed xmlns=\"http://www.w3.org/2005/Atom\" xml:lang=\"{}\">\n\
<title>Figures that changed: {shop}</title>\n<id>{site_text}/{PATH}</id>\n<updated>{}</updated>\n\
<link rel=\"self\" type=\"application/atom+xml\" href=\"{site_text}/{PATH}\"/>\n<link rel=\"alternate\" type=\"text/html\" href=\"{site_text}/\"/>\n\
<author><name>{shop}</name></author>\n",
        escape(language),
        at(latest)
    );
    for (group, page) in &groups {
        write_entry(&mut out, site, group, page);
    }
    out.push_str("</feed>\n");
    out
}

fn write_entry(out: &mut String, site: &str, group: &[Change], page: &SheetOf) {
    let first = &group[0];
    let said: Vec<String> = group.iter().map(told).collect();
    let address = escape(&format!("{site}/{}", page.page));
    // The host may have a port, and a tag none.
    let host = site.split("//").nth(1).unwrap_or(site).split(['/', ':']).next().unwrap_or_default();
    let tag = format!("tag:{host},{}:{}/{}", first.on, first.sheet, first.revision);
    let _ = write!(
        out,
        "<entry>\n<title>{}</title>\n<id>{}</id>\n<updated>{}</updated>\n\
<link rel=\"alternate\" type=\"text/html\" href=\"{address}\"/>\n<content type=\"text\">{}</content>\n</entry>\n",
        escape(&format!("{} revision {}: {}", first.sheet, first.revision, page.title)),
        escape(&tag),
        at(&first.on),
        escape(&format!("{}. {}.", said.join("; "), first.because.trim_end_matches('.'))),
    );
}

/// A day as a time of RFC 3339.
fn at(day: &str) -> String {
    let day = if day.is_empty() { "1970-01-01" } else { day };
    format!("{day}T00:00:00Z")
}
