//! YAML texts in, trees and faults out: where each key, value and character
//! stands, and what is refused.

use serde_yaml::Value;

use super::{DEEPEST, Fields, LARGEST, Node, NodeKind, parse};
use crate::fault::{Fault, id};
use crate::text::Mapped;

/// Bytes before the text in its file, so that a forgotten offset shows.
const BEFORE: usize = 100;

fn read(text: &str) -> Node {
    parse(&Mapped::verbatim(text, BEFORE)).unwrap_or_else(|faults| panic!("{text:?}: {faults:?}"))
}

/// The ids of the faults, each with the characters that it points at.
fn faults(text: &str) -> Vec<(&'static str, String)> {
    let faults = parse(&Mapped::verbatim(text, BEFORE)).expect_err(text);
    faults.iter().map(|fault| (fault.id, pointed(text, fault))).collect()
}

fn pointed(text: &str, fault: &Fault) -> String {
    text[fault.span.start - BEFORE..fault.span.end - BEFORE].to_owned()
}

/// What each decoded character of the value of `key` was written as.
fn written(text: &str) -> Vec<String> {
    let node = read(text);
    let mapped = node.get("key").and_then(Node::text).expect("a scalar");
    let places = mapped.text().char_indices().map(|(at, c)| mapped.span(at..at + c.len_utf8()));
    places.map(|span| text[span.start - BEFORE..span.end - BEFORE].to_owned()).collect()
}

#[test]
fn numbers_keep_their_own_characters() {
    let node = read("key: [1.10, 0x10, 5e3, '7', true, no, ~]\nother:\n");
    let items = node.get("key").and_then(Node::as_list).expect("a list");
    let texts: Vec<&str> = items.iter().filter_map(Node::text).map(Mapped::text).collect();
    assert_eq!(texts, ["1.10", "0x10", "5e3", "7", "true", "no", "~"]);
    let values: Vec<&Value> = items.iter().filter_map(Node::as_scalar).map(|s| &s.value).collect();
    assert_eq!(values[0].as_f64(), Some(1.1));
    assert_eq!(values[1].as_u64(), Some(16));
    assert_eq!(values[3].as_str(), Some("7"));
    assert_eq!(values[4].as_bool(), Some(true));
    assert_eq!(values[5].as_str(), Some("no"));
    assert!(values[6].is_null());
    assert!(node.get("other").is_some_and(Node::is_blank));
}

#[test]
fn every_node_knows_its_place() {
    let text = "é: {a: \"x\", b: [1, 2]} # remark\nlist:\n  - one\n  - k: v\n\nlast: 'q'\n";
    let node = read(text);
    let of = |node: &Node| text[node.span.start - BEFORE..node.span.end - BEFORE].to_owned();
    let at = |key| of(node.get(key).expect(key));
    assert_eq!(at("é"), "{a: \"x\", b: [1, 2]}");
    assert_eq!(of(node.get("é").and_then(|n| n.get("a")).expect("a")), "\"x\"");
    assert!(at("list").ends_with("one\n  - k: v"));
    assert_eq!(at("last"), "'q'");
    assert_eq!(of(&node), text.trim_end());
}

#[test]
fn decoded_characters_map_to_what_was_written() {
    assert_eq!(written("key: ab"), ["a", "b"]);
    assert_eq!(written("key: 'a''b'"), ["a", "''", "b"]);
    let escapes = ["a", "\\t", "b", "\\u00e9", "\\U0001d11e", "\\x41"];
    assert_eq!(written(r#"key: "a\tb\u00e9\U0001d11e\x41""#), escapes);
    assert_eq!(written("key: \"a\\\n   b\""), ["a", "b"]);
    assert_eq!(written("key: |\n  a\n   b\n"), ["a", "\n  ", " ", "b", "\n"]);
    assert_eq!(written("key: |\n\n  a\n"), ["\n  ", "a", "\n"]);
    assert_eq!(written("key: >-\n  a\n  b\n"), ["a", "\n  ", "b"]);
    assert_eq!(written("key: |-\r\n  a\r\n  b\r\n"), ["a", "\r\n  ", "b"]);
    // One break is a space; two are one line break, and both stand for it.
    assert_eq!(written("key: a\n  b\n\n  c"), ["a", "\n  ", "b", "\n\n  ", "c"]);
}

#[test]
fn a_text_in_pieces_keeps_its_places() {
    // A fence in a quotation: the marks before each line are no part of it.
    let mut source = Mapped::verbatim("key: |\n", 2);
    source.push_verbatim("  a\n", 11);
    source.push_verbatim("  b\n", 17);
    let node = parse(&source).expect("a mapping");
    let text = node.get("key").and_then(Node::text).expect("a scalar");
    assert_eq!(text.text(), "a\nb\n");
    assert_eq!((text.span(0..1).start, text.span(2..3).start), (13, 19));
}

#[test]
fn what_could_grow_or_hide_is_refused() {
    let cases: [(&str, &[(&str, &str)]); 10] = [
        ("a: &x 1\nb: *x\n", &[(id::YAML_ANCHOR, "&x"), (id::YAML_ALIAS, "*x")]),
        ("a: *none\n", &[(id::YAML_ALIAS, "*none")]),
        ("a: !t 1\nb: !!str 2\n", &[(id::YAML_TYPE_MARK, "!t"), (id::YAML_TYPE_MARK, "!!str")]),
        ("<<: {a: 1}\n", &[(id::YAML_MERGE_KEY, "<<")]),
        ("a: 1\n---\nb: 2\n", &[(id::YAML_SECOND_DOCUMENT, "---")]),
        ("a: {[b]: c}\n", &[(id::YAML_KEY_NOT_A_WORD, "[b]")]),
        ("a: 1\n'a': 3\na: 4\n", &[(id::DUPLICATE_KEY, "'a'"), (id::DUPLICATE_KEY, "a")]),
        (r#"a: "\ud83d\ude00""#, &[(id::YAML_TWO_READINGS, "d")]),
        ("a: b\u{2028}c\n", &[(id::YAML_SYNTAX, "\u{2028}")]),
        ("%YAML 1.2\n---\na: 1\n", &[(id::YAML_SYNTAX, "%")]),
    ];
    for (text, expected) in cases {
        let found = faults(text);
        let found: Vec<_> = found.iter().map(|(id, text)| (*id, text.as_str())).collect();
        assert_eq!(found, expected, "{text:?}");
    }
}

#[test]
fn syntax_is_reported_at_its_place() {
    assert_eq!(faults("a: Size: a chain\n"), [(id::YAML_SYNTAX, ":".into())]);
    assert_eq!(faults("a: 'open\nb: 1\n"), [(id::YAML_SYNTAX, "'".into())]);
    assert_eq!(faults("a: @x\n"), [(id::YAML_SYNTAX, "@".into())]);
    assert_eq!(faults(": x\n"), [(id::YAML_SYNTAX, String::new())]);
    assert_eq!(faults("a: [1, 2\n")[0].0, id::YAML_SYNTAX);
    assert_eq!(faults("a:\n\tb: 1\n")[0].0, id::YAML_SYNTAX);
}

#[test]
fn size_and_depth_are_capped() {
    let nested = |levels: usize| format!("{}{}", "[".repeat(levels), "]".repeat(levels));
    read(&nested(DEEPEST));
    assert_eq!(faults(&nested(DEEPEST + 1))[0].0, id::YAML_TOO_DEEP);
    assert_eq!(faults(&nested(5_000))[0].0, id::YAML_TOO_DEEP);
    assert_eq!(faults(&"- ".repeat(5_000))[0].0, id::YAML_TOO_DEEP);
    let long = |bytes: usize| format!("a: {}", "x".repeat(bytes - 3));
    read(&long(LARGEST));
    assert_eq!(faults(&long(LARGEST + 1)), [(id::YAML_TOO_LARGE, String::new())]);
}

#[test]
fn an_empty_text_is_null() {
    for text in ["", "\n", "# only a remark\n"] {
        assert!(read(text).is_blank(), "{text:?}");
    }
}

#[test]
fn fields_are_read_strictly() {
    let text = "titel: Chain\nlist: one\nflag: yes\nmap: {a: 1}\nblank:\n";
    let node = read(text);
    let mut faults = Vec::new();
    let known = ["title", "list", "flag", "map", "blank"];
    let fields = Fields::new(&node, "a guide", &known, &mut faults).expect("a mapping");
    assert!(fields.need_text("title", &mut faults).is_none());
    assert!(fields.list("list", &mut faults).is_empty());
    assert_eq!(fields.flag("flag", &mut faults), None);
    assert!(fields.text("map", &mut faults).is_none());
    assert!(fields.text("blank", &mut faults).is_none());
    assert!(fields.text("absent", &mut faults).is_none());
    let found: Vec<_> = faults.iter().map(|fault| (fault.id, pointed(text, fault))).collect();
    let expected = [
        (id::UNKNOWN_KEY, "titel"),
        (id::WRONG_SHAPE, "one"),
        (id::WRONG_SHAPE, "yes"),
        (id::WRONG_SHAPE, "{a: 1}"),
        (id::MISSING_VALUE, "blank"),
    ];
    assert_eq!(found, expected.map(|(id, text)| (id, text.to_owned())));
    assert_eq!(faults[0].cure.as_deref(), Some("did you mean title?"));
}

#[test]
fn both_readers_agree_about_all_that_comes_with_the_program() {
    fn flags_alone(node: &mut Node) {
        match &mut node.kind {
            NodeKind::Scalar(scalar) if scalar.value.is_bool() => {}
            NodeKind::Scalar(scalar) => scalar.value = Value::Null,
            NodeKind::List(items) => items.iter_mut().for_each(flags_alone),
            NodeKind::Map(entries) => entries.iter_mut().for_each(|entry| flags_alone(&mut entry.value)),
        }
    }
    let files = crate::bundled::FAMILIES.iter().chain(crate::bundled::RULES);
    for (path, bytes) in files {
        let text = std::str::from_utf8(bytes).expect("text");
        let mut strict = read(text);
        flags_alone(&mut strict);
        let once = super::parse_bundled(&Mapped::verbatim(text, BEFORE)).expect("it is read");
        assert!(strict == once, "{path} is read otherwise");
    }
}
