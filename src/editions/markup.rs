//! Markup of ours, tag by tag: a form of the library says what becomes of each tag, and the text between stays as it is.
//!
//! It takes the well-formed markup that setting makes, and nothing else: attributes stand in quotes, and in text a `<`
//! is always escaped. What stands in a script or a stylesheet is passed over.

/// An opening tag.
#[derive(Clone, Copy, Debug)]
pub struct Tag<'m> {
    /// The element's name.
    pub name: &'m str,
    /// The whole tag, from `<` to `>`.
    pub text: &'m str,
}

/// What becomes of an element.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Put {
    /// It stays as it is.
    AsItIs,
    /// Its opening tag becomes this one.
    Tag(String),
    /// Its tags go, and what stands in it stays, with this after it. Such an element holds none of its own name.
    Words(String),
    /// This stands in its place.
    Instead(String),
}

impl<'m> Tag<'m> {
    /// The place of an attribute's value in the tag.
    fn place(&self, name: &str) -> Option<(usize, usize)> {
        let mut at = self.name.len() + 1;
        loop {
            let equals = at + self.text[at..].find('=')?;
            let quote = char::from(*self.text.as_bytes().get(equals + 1)?);
            // A theme of a shop's own may leave the quotes out; nothing of ours stands behind such an attribute.
            if quote != '"' && quote != '\'' {
                return None;
            }
            let begins = equals + 2;
            let ends = begins + self.text[begins..].find(quote)?;
            // An attribute without a value may stand before.
            if self.text[at..equals].split_whitespace().next_back() == Some(name) {
                return Some((begins, ends));
            }
            at = ends + 1;
        }
    }

    /// An attribute's value, as it stands in the markup.
    #[must_use]
    pub fn attribute(&self, name: &str) -> Option<&'m str> {
        self.place(name).map(|(begins, ends)| &self.text[begins..ends])
    }

    /// The tag with another value of an attribute that it has.
    #[must_use]
    pub fn with(&self, name: &str, value: &str) -> String {
        match self.place(name) {
            Some((begins, ends)) => [&self.text[..begins], value, &self.text[ends..]].concat(),
            None => self.text.to_owned(),
        }
    }

    /// The tag without an attribute.
    #[must_use]
    pub fn without(&self, name: &str) -> String {
        match self.place(name) {
            Some((begins, ends)) => {
                let head = self.text[..begins].trim_end_matches(['"', '\'']).trim_end_matches('=');
                [head.trim_end_matches(name).trim_end(), &self.text[ends + 1..]].concat()
            }
            None => self.text.to_owned(),
        }
    }

    /// The tag of a photo that stands at one address alone, whatever other widths of it there are.
    #[must_use]
    pub fn photo_at(&self, address: &str) -> String {
        let mut text = self.with("src", address);
        for name in ["srcset", "sizes", "loading"] {
            text = Tag { name: self.name, text: &text }.without(name);
        }
        text
    }

    /// The tag with one attribute more.
    #[must_use]
    pub fn and(&self, attribute: &str) -> String {
        let (head, rest) = self.text.split_at(self.name.len() + 1);
        format!("{head} {attribute}{rest}")
    }

    /// True where the element ends with its tag.
    fn is_whole(&self) -> bool {
        self.text.ends_with("/>")
    }
}

/// The markup with each element put as `put` says.
#[must_use]
pub fn rewrite<'m>(markup: &'m str, mut put: impl FnMut(Tag<'m>) -> Put) -> String {
    let mut out = String::with_capacity(markup.len() + markup.len() / 16);
    // An element whose tags go: its name, and what stands after it.
    let mut opened: Vec<(&str, String)> = Vec::new();
    let mut copied = 0;
    let mut at = 0;
    while let Some((begins, tag)) = next_tag(markup, at) {
        let ends = begins + tag.text.len();
        at = ends;
        if let Some(name) = tag.name.strip_prefix('/') {
            if opened.last().is_some_and(|(opened, _)| *opened == name) {
                out.push_str(&markup[copied..begins]);
                out.push_str(&opened.pop().unwrap_or_default().1);
                copied = ends;
            }
            continue;
        }
        let is_raw = !tag.is_whole() && (tag.name == "script" || tag.name == "style");
        let put = put(tag);
        if put != Put::AsItIs {
            out.push_str(&markup[copied..begins]);
            copied = ends;
        }
        match put {
            Put::AsItIs => {}
            Put::Tag(text) => out.push_str(&text),
            Put::Words(after) if tag.is_whole() => out.push_str(&after),
            Put::Words(after) => opened.push((tag.name, after)),
            Put::Instead(text) => {
                out.push_str(&text);
                at = end_of(markup, tag, ends);
                copied = at;
                continue;
            }
        }
        if is_raw {
            at = end_of(markup, tag, ends);
        }
    }
    out.push_str(&markup[copied..]);
    out
}

/// The next tag, opening or closing, and where it begins; comments and declarations are passed over.
fn next_tag(markup: &str, from: usize) -> Option<(usize, Tag<'_>)> {
    let mut from = from;
    loop {
        let begins = from + markup[from..].find('<')?;
        let text = &markup[begins..];
        if text.starts_with("<!--") {
            from = begins + text.find("-->")? + 3;
        } else if text[1..].starts_with(['!', '?']) {
            from = begins + text.find('>')? + 1;
        } else {
            let text = &text[..length(text)?];
            let name = text[1..].trim_end_matches('>').split([' ', '\n', '\t']).next()?;
            let name = if name.starts_with('/') { name } else { name.trim_end_matches('/') };
            return Some((begins, Tag { name, text }));
        }
    }
}

/// The length of the tag at the front; a `>` in quotes doesn't end it.
fn length(text: &str) -> Option<usize> {
    let mut at = 1;
    loop {
        at += text[at..].find(['>', '"', '\''])? + 1;
        match text.as_bytes()[at - 1] {
            b'>' => return Some(at),
            quote => at += text[at..].find(char::from(quote))? + 1,
        }
    }
}

/// Where the element ends whose opening tag ended at `from`.
fn end_of(markup: &str, tag: Tag<'_>, from: usize) -> usize {
    if tag.is_whole() {
        return from;
    }
    if tag.name == "script" || tag.name == "style" {
        let close = format!("</{}>", tag.name);
        return markup[from..].find(&close).map_or(markup.len(), |length| from + length + close.len());
    }
    let (mut depth, mut at) = (1_usize, from);
    while let Some((begins, next)) = next_tag(markup, at) {
        at = begins + next.text.len();
        if next.name.strip_prefix('/') == Some(tag.name) {
            depth -= 1;
            if depth == 0 {
                return at;
            }
        } else if next.name == tag.name && !next.is_whole() {
            depth += 1;
        }
    }
    markup.len()
}

#[cfg(test)]
mod tests {
    use super::{Put, Tag, rewrite};

    fn put(tag: Tag<'_>) -> Put {
        match (tag.name, tag.attribute("href")) {
            ("a", Some("gone")) => Put::Instead(String::new()),
            ("a", Some("words")) => Put::Words(" (DT-014)".to_owned()),
            ("a", Some(_)) => Put::Tag(tag.with("href", "there")),
            ("div", _) => Put::Instead("[div]".to_owned()),
            ("math", _) => Put::Tag(tag.and("xmlns=\"m\"")),
            ("script", _) if tag.attribute("src").is_some() => Put::Instead(String::new()),
            _ => Put::AsItIs,
        }
    }

    #[test]
    fn a_photo_stands_at_one_address() {
        let text = r#"<img src="sheet:a.jpg" srcset="sheet:b.jpg 400w, sheet:a.jpg 800w" sizes="9rem" alt="A" loading="lazy" />"#;
        assert_eq!(Tag { name: "img", text }.photo_at("a.jpg"), r#"<img src="a.jpg" alt="A" />"#);
    }

    #[test]
    fn each_element_is_put_as_it_is_said() {
        for (markup, wanted) in [
            ("<p>a</p>", "<p>a</p>"),
            ("<!DOCTYPE html>\n<p>a<br/>b</p>", "<!DOCTYPE html>\n<p>a<br/>b</p>"),
            (r#"<p><a title="x > y" href="here">a</a></p>"#, r#"<p><a title="x > y" href="there">a</a></p>"#),
            (r#"<p><a href="gone">a <b>b</b></a>c</p>"#, "<p>c</p>"),
            (r#"<p><a href="words">a <b>b</b></a>.</p>"#, "<p>a <b>b</b> (DT-014).</p>"),
            (r"<p><div>a<div>b</div><div/>c</div>d</p>", "<p>[div]d</p>"),
            (r"<math><mi>x</mi></math><math/>", r#"<math xmlns="m"><mi>x</mi></math><math xmlns="m"/>"#),
            (r#"<script src="a"></script><script>"<div>"</script>"#, r#"<script>"<div>"</script>"#),
            (r#"<!-- <a href="gone"> --><p>a</p>"#, r#"<!-- <a href="gone"> --><p>a</p>"#),
        ] {
            assert_eq!(rewrite(markup, put), wanted);
        }
    }
}
