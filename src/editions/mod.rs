//! Sheets in, files of one form of the library out; each form resolves the links of sheets in its own way.
//!
//! In a sheet's markup a link to another file of the library is written `sheet:PATH#place`, whatever the form.

/// The site: one page a sheet, opened from the disk.
pub mod site;

/// How the address of another file begins in a sheet's markup.
pub const SYMBOL: &str = "sheet:";

/// How an attribute with such an address begins.
const BEGINS: &str = "=\"sheet:";

/// The markup with each symbolic address put into a form by `resolve`.
///
/// Addresses are looked for in the attributes of tags alone: in text a `<` is always escaped, so that what an author
/// writes is never taken for one.
#[must_use]
pub fn resolve_links(markup: &str, resolve: impl Fn(&str) -> String) -> String {
    let mut out = String::with_capacity(markup.len());
    let mut rest = markup;
    while let Some(start) = rest.find('<') {
        let length = tag_length(&rest[start..]);
        out.push_str(&rest[..start]);
        write_tag(&mut out, &rest[start..start + length], &resolve);
        rest = &rest[start + length..];
    }
    out.push_str(rest);
    out
}

/// How long the tag at the front is; a `>` within quotes doesn't end it.
fn tag_length(text: &str) -> usize {
    let mut quote = None;
    for (at, byte) in text.bytes().enumerate() {
        match (quote, byte) {
            (None, b'>') => return at + 1,
            (None, b'"' | b'\'') => quote = Some(byte),
            (Some(open), byte) if open == byte => quote = None,
            _ => {}
        }
    }
    text.len()
}

fn write_tag(out: &mut String, tag: &str, resolve: &impl Fn(&str) -> String) {
    let mut rest = tag;
    while let Some(at) = rest.find(BEGINS) {
        let address = &rest[at + BEGINS.len()..];
        let end = address.find('"').unwrap_or(address.len());
        out.push_str(&rest[..at]);
        out.push_str("=\"");
        out.push_str(&resolve(&address[..end]));
        rest = &address[end..];
    }
    out.push_str(rest);
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
