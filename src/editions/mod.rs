//! Sheets in, files of one form of the library out; each form resolves the links of sheets in its own way.
//!
//! In a sheet's markup a link to another file of the library is written `sheet:PATH#place`, whatever the form.

/// What a host serves besides pages: offline reading, the check for a newer edition, what stands on a home screen.
pub mod hosted;
/// The site: one page a sheet, opened from the disk.
pub mod site;
/// The list of addresses for those who look for pages.
mod sitemap;

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
            if let Some(address) = value[..length].strip_prefix(SYMBOL) {
                out.push_str(&markup[copied..at]);
                out.push_str(&resolve(address));
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
        let markup = r#"<p title="a > b" class='"'>"sheet:x" ="sheet:y" <a href="sheet:guides/a.html#op-20">a</a> <img src="sheet:b.png"/></p>"#;
        let wanted = r#"<p title="a > b" class='"'>"sheet:x" ="sheet:y" <a href="../guides/a.html#op-20">a</a> <img src="../b.png"/></p>"#;
        assert_eq!(resolve_links(markup, |address| format!("../{address}")), wanted);
    }
}
