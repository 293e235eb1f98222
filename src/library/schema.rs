//! Tables of keys in, JSON Schemas (draft 2020-12) out, so that an editor can help while a file is written.
//!
//! A schema says no more than the reader holds: what it refuses is a fault, and what rests on other files or on the
//! sense of a value is left to `proof`. Each file stands by itself, with nothing to be fetched.

use super::forms::{FORMS, Form};
use crate::yaml::keys::{Holds, Key, Keys};
use serde_json::{Map, Value, json};

/// The version of JSON Schema.
pub const DRAFT: &str = "https://json-schema.org/draft/2020-12/schema";

/// The schemas with their file names, in the order of the places.
#[must_use]
pub fn files() -> Vec<(String, Value)> {
    let with_schema = FORMS.iter().filter(|form| form.has_schema);
    with_schema.map(|form| (format!("{}.schema.json", form.name), of_form(form))).collect()
}

fn of_form(form: &Form) -> Value {
    let mut schema = Map::new();
    schema.insert("$schema".into(), json!(DRAFT));
    schema.insert("title".into(), json!(title(form)));
    schema.insert("description".into(), json!(format!("Stands in {}.", form.place)));
    extend(&mut schema, of(&form.holds));
    Value::Object(schema)
}

/// What stands there, with a capital and without its article.
fn title(form: &Form) -> String {
    let what = match form.holds {
        Holds::Keys(keys) => keys.what,
        _ => "a file of stated figures",
    };
    let what = what.strip_prefix("a ").or_else(|| what.strip_prefix("an ")).unwrap_or(what);
    if what.contains('.') { what.to_owned() } else { crate::text::capital(what) }
}

/// The schema of a value.
#[must_use]
pub fn of(holds: &Holds) -> Value {
    match holds {
        // A reader takes the characters as they stand, so that a number or a yes is text too.
        Holds::Text(_) => json!({"type": ["string", "number", "boolean"]}),
        Holds::Formed(_, form) => json!({"type": ["string", "number", "boolean"], "pattern": form}),
        Holds::Date => {
            json!({"type": "string", "format": "date", "pattern": "^\\s*[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])\\s*$"})
        }
        Holds::Flag => json!({"type": "boolean"}),
        Holds::Number => json!({"type": ["number", "string"], "pattern": "^\\s*[-\u{2212}]?[0-9]+(\\.[0-9]+)?\\s*$"}),
        Holds::OneOf(words) => json!({"enum": words().iter().map(|(word, _)| *word).collect::<Vec<_>>()}),
        Holds::List(each) => json!({"type": "array", "items": of(each)}),
        Holds::Sized(inner, least, most) => sized(inner, *least, *most),
        Holds::Map(_, each) => json!({"type": "object", "additionalProperties": of(each)}),
        Holds::Keys(keys) => of_keys(keys),
        Holds::Either(forms) => json!({"anyOf": forms.iter().map(of).collect::<Vec<_>>()}),
    }
}

fn sized(inner: &Holds, least: usize, most: Option<usize>) -> Value {
    let mut schema = of(inner);
    let (low, high) =
        if matches!(inner, Holds::List(_)) { ("minItems", "maxItems") } else { ("minProperties", "maxProperties") };
    schema[low] = json!(least);
    if let Some(most) = most {
        schema[high] = json!(most);
    }
    schema
}

fn of_keys(keys: &Keys) -> Value {
    let mut properties = Map::new();
    for key in keys.keys {
        let mut schema = Map::new();
        schema.insert("description".into(), json!(described(key)));
        extend(&mut schema, of(&key.holds));
        properties.insert(key.name.to_owned(), Value::Object(schema));
    }
    let needed: Vec<&str> = keys.keys.iter().filter(|key| key.is_needed()).map(|key| key.name).collect();
    let mut schema = Map::new();
    schema.insert("type".into(), json!("object"));
    schema.insert("additionalProperties".into(), json!(false));
    schema.insert("required".into(), json!(needed));
    if !keys.ways.is_empty() {
        schema
            .insert("oneOf".into(), json!(keys.ways.iter().map(|way| json!({"required": [way]})).collect::<Vec<_>>()));
    }
    schema.insert("properties".into(), Value::Object(properties));
    Value::Object(schema)
}

/// The sentence that an editor shows beside a key, with the words that may stand there and an example.
fn described(key: &Key) -> String {
    let words = key.holds.words();
    let told: Vec<String> = words
        .iter()
        .filter(|(word, about)| !about.is_empty() && about.to_lowercase() != *word)
        .map(|(word, about)| format!("{word}: {about}"))
        .collect();
    let told = if told.is_empty() { String::new() } else { format!("\n{}", told.join("\n")) };
    format!("{}{told}\n\n{}", key.about, key.example)
}

fn extend(schema: &mut Map<String, Value>, more: Value) {
    if let Value::Object(more) = more {
        schema.extend(more);
    }
}
