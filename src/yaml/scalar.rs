//! A text written as a value of YAML, so that a reader gets the very words again.

use super::parse;
use crate::text::Mapped;

/// A text on one line: as it is where a reader takes it so, else in quotes. White space becomes single spaces.
#[must_use]
pub fn scalar(text: &str) -> String {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let plain = format!("key: {text}");
    let reads_same = parse(&Mapped::verbatim(plain.as_str(), 0))
        .ok()
        .and_then(|node| node.get("key").and_then(|value| value.text().map(|read| read.text() == text)));
    if reads_same == Some(true) && !text.is_empty() {
        return text;
    }
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

#[cfg(test)]
mod tests {
    use super::scalar;

    #[test]
    fn texts_are_written_so_that_they_are_read_again() {
        for (text, written) in [
            ("a plain line", "a plain line"),
            ("one: two", "\"one: two\""),
            ("a \"word\" # and", "\"a \\\"word\\\" # and\""),
            ("&c", "\"&c\""),
            ("  set   in\nlines ", "set in lines"),
            ("", "\"\""),
        ] {
            assert_eq!(scalar(text), written);
        }
    }
}
