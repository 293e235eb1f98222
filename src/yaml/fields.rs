//! Reading one mapping strictly: every key known, every value of the right
//! shape, every fault reported at its place.
//!
//! What the values mean is for the caller; nothing is filled in here.

use super::keys::Keys;
use super::{Entry, Node, NodeKind};
use crate::fault::{Fault, did_you_mean, id};
use crate::text::{Mapped, Span};

/// One mapping, read key by key.
#[derive(Clone, Debug)]
pub struct Fields<'a> {
    node: &'a Node,
    entries: &'a [Entry],
    what: String,
    /// The table of its keys, where it is read by one.
    table: Option<&'static Keys>,
    /// Keys that a misspelt one was probably meant to be: they are not missed as well.
    meant: Vec<String>,
}

impl<'a> Fields<'a> {
    /// Takes a node as a mapping. `what` names it in messages with its article
    /// ("a guide's front matter"); keys that aren't in `known` are faults. A
    /// node that is no mapping is one fault and gives nothing.
    pub fn new(node: &'a Node, what: &str, known: &[&str], faults: &mut Vec<Fault>) -> Option<Fields<'a>> {
        let Some(entries) = node.as_map() else {
            faults.push(wrong_shape(node, what, "keys, each with a colon and a value"));
            return None;
        };
        let meant = entries.iter().filter_map(|entry| check_known(entry, what, known, faults)).collect();
        Some(Fields { node, entries, what: what.to_owned(), table: None, meant })
    }

    /// Takes a node as a mapping with the keys of a table, as `new` does. A reader that then asks for a key which the
    /// table lacks, or needs one which the table lets go, is wrong, and a build for tests says so.
    pub fn of(node: &'a Node, table: &'static Keys, faults: &mut Vec<Fault>) -> Option<Fields<'a>> {
        let fields = Self::new(node, table.what, &table.names(), faults)?;
        Some(Fields { table: Some(table), ..fields })
    }

    /// The mapping itself.
    #[must_use]
    pub fn node(&self) -> &'a Node {
        self.node
    }

    /// The value of a key, if it is there.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<&'a Node> {
        self.entry(key).map(|entry| &entry.value)
    }

    /// The value of a key that must be there.
    pub fn need(&self, key: &str, faults: &mut Vec<Fault>) -> Option<&'a Node> {
        debug_assert!(
            self.table.is_none_or(|table| table.may_need(key)),
            "{key} is needed, and its row says otherwise"
        );
        let value = self.get(key);
        if value.is_none() && !self.meant.iter().any(|meant| meant == key) {
            let message = format!("{key} is missing from {}", self.what);
            let cure = format!("add {key}: and its value");
            faults.push(Fault::new(id::MISSING_KEY, self.head(), message).cure(cure));
        }
        value
    }

    /// The characters of a single value, if the key is there. A list, a
    /// mapping or nothing after the colon is a fault.
    pub fn text(&self, key: &str, faults: &mut Vec<Fault>) -> Option<&'a Mapped> {
        let entry = self.entry(key)?;
        if entry.value.is_blank() {
            faults.push(missing_value(entry));
            return None;
        }
        let text = entry.value.text();
        if text.is_none() {
            let cure =
                "write one value after the colon, without brackets or hyphens; put quotes round a text with a colon";
            faults.push(wrong_shape(&entry.value, key, "a single value").cure(cure));
        }
        text
    }

    /// The characters of a single value that must be there.
    pub fn need_text(&self, key: &str, faults: &mut Vec<Fault>) -> Option<&'a Mapped> {
        self.need(key, faults)?;
        self.text(key, faults)
    }

    /// The items of a list; none if the key is not there. Anything but a list
    /// is a fault.
    pub fn list(&self, key: &str, faults: &mut Vec<Fault>) -> Vec<&'a Node> {
        let Some(entry) = self.entry(key) else {
            return Vec::new();
        };
        if entry.value.is_blank() {
            faults.push(missing_value(entry));
            return Vec::new();
        }
        if let Some(items) = entry.value.as_list() {
            return items.iter().collect();
        }
        let cure = "write one item to a line, each with a hyphen and a space before it";
        faults.push(wrong_shape(&entry.value, key, "a list").cure(cure));
        Vec::new()
    }

    /// The items of a list that are single values; any other is a fault.
    pub fn texts(&self, key: &str, faults: &mut Vec<Fault>) -> Vec<&'a Mapped> {
        let items = self.list(key, faults);
        for item in items.iter().filter(|item| item.text().is_none()) {
            let cure = "write one value for each item, without brackets or keys of its own";
            faults.push(wrong_shape(item, &format!("an item of {key}"), "a single value").cure(cure));
        }
        items.into_iter().filter_map(Node::text).collect()
    }

    /// A value that is true or false, if the key is there.
    pub fn flag(&self, key: &str, faults: &mut Vec<Fault>) -> Option<bool> {
        let entry = self.entry(key)?;
        let flag = entry.value.as_scalar().and_then(|scalar| scalar.value.as_bool());
        if entry.value.is_blank() {
            faults.push(missing_value(entry));
        } else if flag.is_none() {
            faults.push(wrong_shape(&entry.value, key, "true or false").cure("write one of these two words"));
        }
        flag
    }

    fn entry(&self, key: &str) -> Option<&'a Entry> {
        debug_assert!(self.table.is_none_or(|table| table.key(key).is_some()), "{key} has no row in the table");
        self.entries.iter().find(|entry| entry.key.value == key)
    }

    /// Where to point when something is missing: the first key, or the whole.
    fn head(&self) -> Span {
        self.entries.first().map_or(self.node.span, |entry| entry.key.span)
    }
}

/// Reports a key that isn't known, and gives the one that was probably meant.
fn check_known(entry: &Entry, what: &str, known: &[&str], faults: &mut Vec<Fault>) -> Option<String> {
    let key = entry.key.value.as_str();
    if known.contains(&key) {
        return None;
    }
    let mut fault = Fault::new(id::UNKNOWN_KEY, entry.key.span, format!("{what} has no key of this name"))
        .found(key)
        .allowed(known.join(", "));
    let meant = did_you_mean(key, known.iter().copied()).map(str::to_owned);
    fault = match &meant {
        Some(meant) => fault.cure(format!("did you mean {meant}?")),
        None => fault.cure("use one of these keys, or leave it out"),
    };
    faults.push(fault);
    meant
}

fn missing_value(entry: &Entry) -> Fault {
    let key = &entry.key.value;
    Fault::new(id::MISSING_VALUE, entry.key.span, format!("{key} has nothing after it"))
        .cure("write the value after the colon, or leave the key out")
}

fn wrong_shape(node: &Node, what: &str, wanted: &str) -> Fault {
    Fault::new(id::WRONG_SHAPE, node.span, format!("{what} can't be written like this"))
        .found(shape(node))
        .allowed(wanted)
}

/// What a node is, in words.
fn shape(node: &Node) -> String {
    match &node.kind {
        NodeKind::List(_) => "a list".to_owned(),
        NodeKind::Map(_) => "keys with values".to_owned(),
        NodeKind::Scalar(_) if node.is_blank() => "nothing".to_owned(),
        NodeKind::Scalar(scalar) => scalar.text.text().chars().take(60).collect(),
    }
}
