//! The register as text: comments, then one line a figure and one line a change, sorted, so that versions compare and merge well.
//!
//! Every line is YAML in its strict form (JSON's, as YAML 1.2 has it), which `read` relies on. Spaces that don't break
//! stand in published texts as plain ones already, so that a line can be searched for as it is typed.

use super::{Change, Published, Register};
use serde_json::{Map, Value, json};

/// What stands at the head of the file.
const HEAD: &str = "\
# The published figures of this library as they were last signed, one a line, by sheet number and name.
# `locknut sign` writes this file and people read it. After a merge: keep the lines of both sides, then ask `locknut drift`.
";

/// The text of a register.
#[must_use]
pub fn text(register: &Register) -> String {
    let mut out = HEAD.to_owned();
    out.push_str(if register.signed.is_empty() { "figures: {}\n" } else { "figures:\n" });
    for ((sheet, name), (published, _)) in &register.signed {
        out.push_str(&format!("  {}: {}\n", json!(format!("{sheet} {name}")), line(published)));
    }
    out.push_str(if register.changes.is_empty() { "changes: []\n" } else { "changes:\n" });
    for change in &register.changes {
        out.push_str(&format!("  - {}\n", spaced(&of_change(change))));
    }
    out
}

fn line(published: &Published) -> String {
    let mut said = Map::new();
    said.insert("says".to_owned(), json!(published.says));
    let more = [("digest", &published.digest), ("formula", &published.formula), ("source", &published.source)];
    for (name, text) in more {
        if let Some(text) = text {
            said.insert(name.to_owned(), json!(text));
        }
    }
    if !published.from.is_empty() {
        let from: Map<String, Value> = published.from.iter().map(|(name, text)| (name.clone(), json!(text))).collect();
        said.insert("from".to_owned(), Value::Object(from));
    }
    if published.guarded {
        said.insert("guarded".to_owned(), json!(true));
    }
    spaced(&Value::Object(said))
}

fn of_change(change: &Change) -> Value {
    let mut said = Map::new();
    let words = [
        ("sheet", &change.sheet),
        ("on", &change.on),
        ("revision", &change.revision),
        ("figure", &change.figure),
        ("was", &change.was),
        ("is", &change.is),
        ("by", &change.by),
    ];
    for (name, text) in words {
        said.insert(name.to_owned(), json!(text));
    }
    if let Some(with) = &change.with {
        said.insert("with".to_owned(), json!(with));
    }
    said.insert("because".to_owned(), json!(change.because));
    Value::Object(said)
}

/// JSON with a space after each comma and colon, so that a line reads as YAML does.
fn spaced(value: &Value) -> String {
    match value {
        Value::Object(fields) => {
            let fields: Vec<String> =
                fields.iter().map(|(name, value)| format!("{}: {}", json!(name), spaced(value))).collect();
            format!("{{{}}}", fields.join(", "))
        }
        other => other.to_string(),
    }
}
