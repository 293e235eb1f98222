//! The finder's own names, cut to a letter or two at the press.
//!
//! Every page that finds loads the finder, and names that read well are a quarter of it. Only the names listed here are
//! cut, the same name everywhere, whether it is a variable or a property; a name of the browser's own is never listed.
//! Texts between quotes stay as they are. Removing notes and spaces is for `bare`.

use std::collections::BTreeSet;

/// Names that `finder.js` and `rows.js` alone use. The commonest come first and get the shortest.
const NAMES: &str = "word one field place line starts list tokens chunks asked best found hits sheet other stem \
    shown most count told least more fields key score worth rated letters sheets query number data make row \
    firsts element part edits telling keyList pieces addresses known before last low kind title runs fragment \
    figure marks also factor places groups group phrase typing whole share cover close exact meet away keyFor \
    keyOf stems memo parts worths wholes little unit WORTH BEHIND apart code signs sign extra first unfold work \
    ready until begun wrong like plan said mark chunk hit begin end sure met read missing nearest near cut same \
    instead weigh rate sum top head tells token text show inside marked link titles look none button ask go \
    steps STEP kept form pressed event run unpacking out all";

/// True for what a name is made of.
fn in_name(c: char) -> bool {
    c.is_ascii_alphanumeric() || c == '_' || c == '$'
}

/// The script in pieces: names and numbers, texts between double quotes, and single signs.
fn pieces(script: &str) -> Vec<&str> {
    let mut out = Vec::new();
    let mut rest = script;
    while let Some(c) = rest.chars().next() {
        let end = if in_name(c) {
            rest.find(|c| !in_name(c)).unwrap_or(rest.len())
        } else if c == '"' {
            end_of_text(rest)
        } else {
            c.len_utf8()
        };
        out.push(&rest[..end]);
        rest = &rest[end..];
    }
    out
}

/// Where a text that opens at the start closes.
fn end_of_text(text: &str) -> usize {
    let mut escaped = false;
    for (place, c) in text.char_indices().skip(1) {
        match c {
            '"' if !escaped => return place + 1,
            _ => escaped = c == '\\' && !escaped,
        }
    }
    text.len()
}

/// Letters in order, then pairs of them.
fn candidates() -> impl Iterator<Item = String> {
    let letters = || ('a'..='z').chain('A'..='Z');
    let pairs = letters().flat_map(move |one| letters().map(move |two| format!("{one}{two}")));
    letters().map(String::from).chain(pairs)
}

/// The script with its own names cut.
pub(super) fn shorten(script: &str) -> String {
    let pieces = pieces(script);
    let taken: BTreeSet<&str> = pieces.iter().copied().collect();
    let mut free = candidates()
        .filter(|name| !taken.contains(name.as_str()) && !["do", "if", "in", "of"].contains(&name.as_str()));
    let mut cut: Vec<(&str, String)> = Vec::new();
    for name in NAMES.split_whitespace() {
        if taken.contains(name)
            && !cut.iter().any(|known| known.0 == name)
            && let Some(short) = free.next()
        {
            cut.push((name, short));
        }
    }
    let short =
        |piece: &&str| cut.iter().find(|known| known.0 == *piece).map_or((*piece).to_owned(), |known| known.1.clone());
    pieces.iter().map(short).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_cut_everywhere_but_in_texts() {
        assert_eq!(
            shorten("var word=one.word;f(\"a word \\\" word\",words)"),
            "var a=b.a;f(\"a word \\\" word\",words)"
        );
    }

    #[test]
    fn every_name_is_listed_once_and_used() {
        let both = concat!(include_str!("finder.js"), include_str!("rows.js"));
        let used: BTreeSet<&str> = pieces(both).into_iter().collect();
        let names: Vec<&str> = NAMES.split_whitespace().collect();
        for (place, name) in names.iter().enumerate() {
            assert!(used.contains(name), "{name} is used nowhere");
            assert!(!names[..place].contains(name), "{name} is listed twice");
        }
    }

    #[test]
    fn a_name_in_use_is_not_given() {
        assert_eq!(shorten("a=b+word"), "a=b+c");
    }
}
