//! The list of a site's addresses for programs that look for pages, in the form of sitemaps.org: each page with the
//! date on which it was issued. Pages that only lead on, and the one for missing addresses, are not in it.

use crate::text::escape;

/// How many addresses one file may hold.
const MOST: usize = 50_000;

/// Where the list stands.
const PATH: &str = "sitemap.xml";

/// The files of the list, from pages' addresses and dates: one file, or several and the list of them.
pub(super) fn files(address: impl Fn(&str) -> String, pages: &[(String, String)]) -> Vec<(String, String)> {
    files_of(address, pages, MOST)
}

fn files_of(address: impl Fn(&str) -> String, pages: &[(String, String)], most: usize) -> Vec<(String, String)> {
    let parts: Vec<&[(String, String)]> = pages.chunks(most).collect();
    if let [all] = parts[..] {
        return vec![(PATH.to_owned(), list("urlset", "url", all))];
    }
    let mut files = Vec::with_capacity(parts.len() + 1);
    let mut named = Vec::with_capacity(parts.len());
    for (place, part) in (1..).zip(parts) {
        let path = format!("sitemap-{place}.xml");
        let latest = part.iter().map(|(_, date)| date.as_str()).max().unwrap_or_default();
        named.push((address(&path), latest.to_owned()));
        files.push((path, list("urlset", "url", part)));
    }
    files.push((PATH.to_owned(), list("sitemapindex", "sitemap", &named)));
    files
}

fn list(root: &str, item: &str, lines: &[(String, String)]) -> String {
    let mut out = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<{root} xmlns=\"http://www.sitemaps.org/schemas/sitemap/0.9\">\n"
    );
    for (address, date) in lines {
        let date = if date.is_empty() { String::new() } else { format!("<lastmod>{date}</lastmod>") };
        out.push_str(&format!("<{item}><loc>{}</loc>{date}</{item}>\n", escape(address).replace('\'', "&apos;")));
    }
    out.push_str(&format!("</{root}>\n"));
    out
}

#[cfg(test)]
mod tests {
    use super::files_of;

    #[test]
    fn more_addresses_than_a_file_may_hold_go_into_several() {
        let page = |name: &str, date: &str| (format!("https://tollgate.example/{name}?a&b"), date.to_owned());
        let pages = [page("a", "2026-05-03"), page("b", "2026-06-01"), page("c", "")];
        let address = |path: &str| format!("https://tollgate.example/{path}");
        let one = files_of(address, &pages, 3);
        assert_eq!(one.len(), 1);
        assert!(
            one[0].1.contains("<url><loc>https://tollgate.example/b?a&amp;b</loc><lastmod>2026-06-01</lastmod></url>")
        );
        let several = files_of(address, &pages, 2);
        let names: Vec<&str> = several.iter().map(|(path, _)| path.as_str()).collect();
        assert_eq!(names, ["sitemap-1.xml", "sitemap-2.xml", "sitemap.xml"]);
        assert!(
            several[2].1.contains("<sitemap><loc>https://tollgate.example/sitemap-1.xml</loc><lastmod>2026-06-01<")
        );
        assert!(several[1].1.contains("<url><loc>https://tollgate.example/c?a&amp;b</loc></url>"));
    }
}
