//! What is known of a part's attribute: a number with its tolerance, words, or yes and no.

use super::family::{Attribute, Family, Sort};
use crate::fault::{Fault, id};
use crate::mechanics::interval::whole;
use crate::mechanics::reading::Reading;
use crate::text::{Mapped, Spanned};
use crate::yaml::Node;
use std::collections::BTreeMap;

/// The value of an attribute.
#[derive(Clone, PartialEq, Debug)]
pub enum Value {
    /// Numbers in base units, one unless the attribute has many.
    Numbers(Vec<Reading>),
    /// Words, one unless the attribute has many.
    Words(Vec<String>),
    /// Yes or no.
    YesNo(bool),
}

/// The attributes of a part that are known, by name.
pub type Values = BTreeMap<String, Value>;

/// What is known of a part that nobody named.
pub static NOTHING: Values = Values::new();

impl Value {
    /// The value as readers see it.
    #[must_use]
    pub fn text(&self, attribute: &Attribute) -> String {
        match self {
            Self::Numbers(readings) => match attribute.number() {
                Some(input) => {
                    let style = input.style();
                    readings.iter().map(|reading| reading.text(&style)).collect::<Vec<_>>().join(", ")
                }
                None => String::new(),
            },
            Self::Words(words) => words.join(", "),
            Self::YesNo(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        }
    }

    /// The one number, in base units.
    #[must_use]
    pub fn number(&self) -> Option<Reading> {
        if let Self::Numbers(readings) = self { readings.first().copied() } else { None }
    }
}

/// Reads an attribute's value as written on a shelf or in an example.
///
/// # Errors
/// What is wrong with it, at its place.
pub fn read(attribute: &Attribute, node: &Node) -> Result<Value, Fault> {
    let name = &attribute.name;
    let shape = |wanted: &str| {
        Fault::new(id::WRONG_SHAPE, node.span, format!("{name} can't be written like this"))
            .allowed(wanted.to_owned())
            .cure(format!("{}: {}", attribute.about, attribute.how))
    };
    let texts: Vec<&Mapped> = match (node.as_list(), node.text()) {
        (Some(items), _) if attribute.many => {
            let texts: Vec<&Mapped> = items.iter().filter_map(Node::text).collect();
            if texts.len() < items.len() {
                return Err(shape("single values, with commas between them"));
            }
            texts
        }
        (_, Some(text)) if !text.text().trim().is_empty() => vec![text],
        (Some(_), _) => return Err(shape("a single value")),
        _ => return Err(shape("a value after the colon")),
    };
    if texts.is_empty() {
        return Err(shape("at least one value"));
    }
    match &attribute.sort {
        Sort::Number(input) => {
            texts.into_iter().map(|text| input.read(text)).collect::<Result<_, _>>().map(Value::Numbers)
        }
        Sort::Word(known) => {
            texts.into_iter().map(|text| word(name, known, text)).collect::<Result<_, _>>().map(Value::Words)
        }
        Sort::YesNo => match texts[0].text().trim() {
            "yes" => Ok(Value::YesNo(true)),
            "no" => Ok(Value::YesNo(false)),
            _ => Err(shape("yes or no")),
        },
    }
}

fn word(name: &str, known: &[String], text: &Mapped) -> Result<String, Fault> {
    let word = text.text().trim();
    if known.is_empty() || known.iter().any(|one| one == word) {
        return Ok(word.to_owned());
    }
    let fault = Fault::new(id::UNKNOWN_WORD, text.whole(), format!("{name} has no {word}"))
        .found(word)
        .allowed(known.join(", "));
    Err(fault.nearest(word, known.iter().map(String::as_str), "use one of these words"))
}

/// Reads the attributes of one part; keys that its family doesn't have are faults.
pub fn read_all<'n>(
    family: &Family,
    entries: impl IntoIterator<Item = (&'n Spanned<String>, &'n Node)>,
    faults: &mut Vec<Fault>,
) -> Values {
    let mut values = Values::new();
    for (key, node) in entries {
        match family.attribute(&key.value) {
            Some(attribute) => match read(attribute, node) {
                Ok(value) => {
                    values.insert(key.value.clone(), value);
                }
                Err(fault) => faults.push(fault),
            },
            None => faults.push(unknown_attribute(family, &key.value, key.span)),
        }
    }
    values
}

/// The fault of an attribute that a family doesn't have.
#[must_use]
pub fn unknown_attribute(family: &Family, name: &str, span: crate::text::Span) -> Fault {
    let names = || family.attributes.iter().map(|attribute| attribute.name.as_str());
    let title = family.title.to_lowercase();
    Fault::new(id::UNKNOWN_ATTRIBUTE, span, format!("a {title} has no attribute {name}"))
        .found(name)
        .allowed(names().collect::<Vec<_>>().join(", "))
        .nearest(name, names(), "use one of these names")
}

/// True where two numbers count as the same.
#[must_use]
pub fn same(one: f64, other: f64) -> bool {
    whole::near(one, other)
}
