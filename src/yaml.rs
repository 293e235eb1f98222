//! YAML text in, a tree out in which every key and value knows its place.
//!
//! Two readers work over the same text. The first gives events with exact byte
//! ranges; from these comes the tree, and they decide what is refused: anchors,
//! aliases, type marks, merge keys, second documents, doubled keys, and texts
//! beyond the caps on size and depth, so that no text can grow while it is
//! read. The second, `serde_yaml`, says what each scalar is; its values are
//! joined to the tree, and a disagreement is a fault. No key has a meaning
//! here: what a guide or a formula may hold is said by those who read it with
//! [`Fields`].

mod align;
mod fields;
/// Tables of keys.
pub mod keys;
mod scalar;
mod words;

use std::collections::HashSet;
use std::ops::Range;

use granit_parser::{ErrorKind, Event, Parser, ScalarStyle, ScanError, Span as Place};
use serde_yaml::Value;

use crate::fault::{Fault, id};
use crate::text::{Mapped, Span, Spanned};

pub use fields::Fields;
pub use scalar::scalar;

/// The largest text that is read, in bytes: 256 KiB, some fifty times the
/// longest front matter that anybody would write.
pub const LARGEST: usize = 256 * 1024;

/// How many lists and mappings may stand inside one another.
pub const DEEPEST: usize = 32;

/// One value of a YAML text, with its place in the file.
#[derive(Clone, PartialEq, Debug)]
pub struct Node {
    /// What was written: of a scalar with its quotes, of a list or mapping in
    /// brackets with these, else from the first item to the last.
    pub span: Span,
    /// What it is.
    pub kind: NodeKind,
}

/// The three things that a YAML value can be.
#[derive(Clone, PartialEq, Debug)]
pub enum NodeKind {
    /// A single value.
    Scalar(Scalar),
    /// A list, in its order.
    List(Vec<Node>),
    /// Keys with their values, in the order of writing; no key comes twice.
    Map(Vec<Entry>),
}

/// A single value: its own characters and what YAML takes them for.
#[derive(Clone, PartialEq, Debug)]
pub struct Scalar {
    /// The decoded characters: of `"a\tb"` the tab, of `1.10` all four. A key
    /// with nothing after it has the empty text.
    pub text: Mapped,
    /// Whether it was written without quotes and not as a block.
    pub plain: bool,
    /// YAML's reading: null, true or false, a number, or text.
    pub value: Value,
}

/// A key of a mapping with its value.
#[derive(Clone, PartialEq, Debug)]
pub struct Entry {
    /// The key, decoded; its span covers the quotes, if there are any.
    pub key: Spanned<String>,
    /// The value.
    pub value: Node,
}

impl Node {
    /// The entries, if this is a mapping.
    #[must_use]
    pub fn as_map(&self) -> Option<&[Entry]> {
        if let NodeKind::Map(entries) = &self.kind { Some(entries) } else { None }
    }

    /// The items, if this is a list.
    #[must_use]
    pub fn as_list(&self) -> Option<&[Node]> {
        if let NodeKind::List(items) = &self.kind { Some(items) } else { None }
    }

    /// The scalar, if this is one.
    #[must_use]
    pub fn as_scalar(&self) -> Option<&Scalar> {
        if let NodeKind::Scalar(scalar) = &self.kind { Some(scalar) } else { None }
    }

    /// The decoded characters, if this is a scalar.
    #[must_use]
    pub fn text(&self) -> Option<&Mapped> {
        self.as_scalar().map(|scalar| &scalar.text)
    }

    /// The value of a key, if this is a mapping that has it.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<&Node> {
        self.as_map()?.iter().find(|entry| entry.key.value == key).map(|entry| &entry.value)
    }

    /// Whether nothing at all was written where a value could stand.
    #[must_use]
    pub fn is_blank(&self) -> bool {
        self.as_scalar().is_some_and(|scalar| scalar.plain && scalar.text.is_empty())
    }

    fn scalar(text: Mapped, plain: bool, span: Span) -> Self {
        Self { span, kind: NodeKind::Scalar(Scalar { text, plain, value: Value::Null }) }
    }
}

/// Reads one YAML text. An empty one gives a scalar that is null.
///
/// # Errors
/// Gives every fault that was found, in the order of the file; the list is
/// never empty. After a fault of syntax or of size nothing more is read.
pub fn parse(source: &Mapped) -> Result<Node, Vec<Fault>> {
    read(source, check_second_reading)
}

/// Reads a text that comes with the program, once: that the second reader agrees about each of them is a test of
/// theirs, and two hundred of them are read at every start.
///
/// # Errors
/// Those of [`parse`], but for a disagreement of the two readers.
pub fn parse_bundled(source: &Mapped) -> Result<Node, Vec<Fault>> {
    read(source, |root, _, _| set_flags(root))
}

fn read(source: &Mapped, second: impl Fn(&mut Node, &Mapped, &mut Vec<Fault>)) -> Result<Node, Vec<Fault>> {
    if let Some(fault) = check_size(source) {
        return Err(vec![fault]);
    }
    let mut builder = Builder::new(source);
    check_unseen_breaks(source, &mut builder.faults);
    if builder.faults.is_empty() {
        builder.read();
    }
    let mut faults = builder.faults;
    if faults.is_empty() {
        let mut root = builder.root.unwrap_or_else(|| empty(source));
        second(&mut root, source, &mut faults);
        if faults.is_empty() {
            return Ok(root);
        }
    }
    faults.sort_by_key(|fault| fault.span.start);
    Err(faults)
}

fn empty(source: &Mapped) -> Node {
    Node::scalar(source.slice(0..0), true, source.span(0..0))
}

fn check_size(source: &Mapped) -> Option<Fault> {
    let bytes = source.text().len();
    let fault = || {
        Fault::new(id::YAML_TOO_LARGE, source.span(0..0), "this text is too large to be read")
            .found(format!("{bytes} bytes"))
            .allowed(format!("up to {LARGEST} bytes"))
            .cure("divide it into several files")
    };
    (bytes > LARGEST).then(fault)
}

/// Signs that one reader takes for a line break and the other for a letter,
/// and that nobody sees: next line, line separator, paragraph separator.
const UNSEEN_BREAKS: [char; 3] = ['\u{85}', '\u{2028}', '\u{2029}'];

fn check_unseen_breaks(source: &Mapped, faults: &mut Vec<Fault>) {
    for (start, sign) in source.text().match_indices(UNSEEN_BREAKS) {
        let span = source.span(start..start + sign.len());
        let message = "an invisible line break stands in this text";
        let cure = "delete it, and type a space or begin a new line";
        faults.push(Fault::new(id::YAML_SYNTAX, span, message).cure(cure));
    }
}

/// A list or mapping that has begun and not yet ended.
struct Open {
    start: usize,
    /// Where the last thing inside ended.
    end: usize,
    kind: OpenKind,
}

enum OpenKind {
    List(Vec<Node>),
    Map { entries: Vec<Entry>, seen: HashSet<String>, key: Option<Spanned<String>> },
}

/// Builds the tree from the events of the first reader. Ranges inside are of
/// the text; spans in nodes and faults are of the file.
struct Builder<'a> {
    source: &'a Mapped,
    faults: Vec<Fault>,
    open: Vec<Open>,
    root: Option<Node>,
    documents: usize,
}

impl<'a> Builder<'a> {
    fn new(source: &'a Mapped) -> Self {
        Self { source, faults: Vec::new(), open: Vec::new(), root: None, documents: 0 }
    }

    fn read(&mut self) {
        let options = granit_parser::options! {
            disallow_directives: true,
            block_scalar_eof_without_line_feed: true,
            emit_unresolved_aliases: true,
            emit_anchor_events: true,
            emit_comments: false,
        };
        for event in Parser::new_from_str_with_options(self.source.text(), options) {
            let proceed = match event {
                Ok((event, place)) => self.take(&event, &place),
                Err(error) => self.object(&error),
            };
            if !proceed {
                break;
            }
        }
    }

    /// Takes one event; false when nothing more should be read.
    fn take(&mut self, event: &Event, place: &Place) -> bool {
        let range = place.byte_range().unwrap_or(0..0);
        self.check_type_mark(place);
        match event {
            Event::DocumentStart(..) => return self.start_document(range),
            Event::Scalar(text, style, ..) => self.add_scalar(text, *style, range),
            Event::Alias(_) | Event::UnresolvedAlias(_) => self.refuse_alias(range),
            Event::Anchor(..) => self.refuse_anchor(range),
            Event::SequenceStart(..) => return self.begin(range, OpenKind::List(Vec::new())),
            Event::MappingStart(..) => {
                let (entries, seen) = (Vec::new(), HashSet::new());
                return self.begin(range, OpenKind::Map { entries, seen, key: None });
            }
            Event::SequenceEnd | Event::MappingEnd => self.finish(&range),
            _ => {}
        }
        true
    }

    fn start_document(&mut self, range: Range<usize>) -> bool {
        self.documents += 1;
        if self.documents > 1 {
            let message = "a second part begins here";
            self.fault(
                id::YAML_SECOND_DOCUMENT,
                range,
                message,
                "take the line --- out, or move what follows to a file of its own",
            );
        }
        self.documents == 1
    }

    fn begin(&mut self, range: Range<usize>, kind: OpenKind) -> bool {
        if self.open.len() >= DEEPEST {
            self.refuse_depth(range);
            return false;
        }
        self.open.push(Open { start: range.start, end: range.start, kind });
        true
    }

    /// Ends the innermost list or mapping. Without brackets its end is that of
    /// the last thing in it, not that of the blank lines after it.
    fn finish(&mut self, range: &Range<usize>) {
        let Some(open) = self.open.pop() else { return };
        let end = if range.is_empty() { open.end } else { range.end };
        let kind = match open.kind {
            OpenKind::List(items) => NodeKind::List(items),
            OpenKind::Map { entries, .. } => NodeKind::Map(entries),
        };
        let range = open.start.min(end)..end;
        let span = self.source.span(range.clone());
        self.add(Node { span, kind }, range);
    }

    fn add_scalar(&mut self, text: &str, style: ScalarStyle, range: Range<usize>) {
        let plain = style == ScalarStyle::Plain;
        // The first reader writes a missing value as ~ with no place of its own.
        let text = if plain && range.is_empty() { "" } else { text };
        let mapped = align::align(self.source, text, style, range.clone());
        let range = align::written(self.source.text(), style, range);
        let span = self.source.span(range.clone());
        self.add(Node::scalar(mapped, plain, span), range);
    }

    /// Puts a finished node where it belongs: into the innermost list, as key
    /// or value into the innermost mapping, or at the root.
    fn add(&mut self, node: Node, range: Range<usize>) {
        let Some(open) = self.open.last_mut() else {
            self.root = Some(node);
            return;
        };
        open.end = open.end.max(range.end);
        match &mut open.kind {
            OpenKind::List(items) => items.push(node),
            OpenKind::Map { entries, key, .. } => match key.take() {
                Some(key) => entries.push(Entry { key, value: node }),
                None => self.add_key(&node, range),
            },
        }
    }

    fn add_key(&mut self, node: &Node, range: Range<usize>) {
        let text = node.text().map(|text| text.text().to_owned());
        let plain = node.as_scalar().is_some_and(|scalar| scalar.plain);
        self.check_key(text.as_deref(), plain, &range);
        let Some(Open { kind: OpenKind::Map { seen, key, .. }, .. }) = self.open.last_mut() else {
            return;
        };
        let word = text.unwrap_or_default();
        let doubled = !word.is_empty() && !seen.insert(word.clone());
        *key = Some(Spanned::new(word.clone(), node.span));
        if doubled {
            let message = format!("{word} is written twice here");
            self.fault(id::DUPLICATE_KEY, range, message, "keep one of the two");
        }
    }

    fn check_key(&mut self, text: Option<&str>, plain: bool, range: &Range<usize>) {
        let (id, message, cure) = match text {
            None => (
                id::YAML_KEY_NOT_A_WORD,
                "only a word can stand before a colon",
                "put a word before the colon; put quotes round a text that begins with a bracket",
            ),
            Some("<<") if plain => (id::YAML_MERGE_KEY, "keys can't be brought in with <<", "write the keys out here"),
            Some("") => (
                id::YAML_SYNTAX,
                "a colon has no key before it",
                "write the key before the colon, or put quotes round the text",
            ),
            Some(_) => return,
        };
        self.fault(id, range.clone(), message, cure);
    }

    fn check_type_mark(&mut self, place: &Place) {
        let mark = place.tag_span().and_then(|mark| mark.byte_range());
        if let Some(range) = mark {
            let message = "a text can't begin with !";
            self.fault(id::YAML_TYPE_MARK, range, message, "put quotes round the text, or take the marked word out");
        }
    }

    fn refuse_anchor(&mut self, range: Range<usize>) {
        let message = "a text can't begin with &";
        self.fault(
            id::YAML_ANCHOR,
            range,
            message,
            "put quotes round the text, or take this out and write the value wherever it is needed",
        );
    }

    fn refuse_alias(&mut self, range: Range<usize>) {
        let message = "a text can't begin with *";
        self.fault(id::YAML_ALIAS, range.clone(), message, "put quotes round the text, or write the value itself");
        let span = self.source.span(range.clone());
        self.add(Node::scalar(self.source.slice(range.clone()), true, span), range);
    }

    fn refuse_depth(&mut self, range: Range<usize>) {
        let fault = Fault::new(id::YAML_TOO_DEEP, self.source.span(range), "lists stand too deep inside one another")
            .allowed(format!("up to {DEEPEST} levels"))
            .cure("take brackets away, or indent less");
        self.faults.push(fault);
    }

    /// Reports what the first reader could not read; reading ends there.
    fn object(&mut self, error: &ScanError) -> bool {
        let text = self.source.text();
        let pos = text.floor_char_boundary(error.marker().byte_offset().unwrap_or(0));
        let (message, cure) = words::plain(error.kind());
        // The reader stops behind a tab, or where the text before it began, and at the colon of a key that stands too far
        // to the right.
        let pos = if words::is_tab(error.kind()) { tab_about(text, pos) } else { pos };
        let range = character(text, pos);
        match (error.kind(), indented_key(text, pos)) {
            (ErrorKind::RecursionLimitExceeded, _) => self.refuse_depth(range),
            (ErrorKind::MappingValueNotAllowed, Some(key)) => {
                let (message, cure) = words::plain(&ErrorKind::InvalidIndentation);
                self.fault(id::YAML_SYNTAX, key, message, cure);
            }
            _ => self.fault(id::YAML_SYNTAX, range, message, cure),
        }
        false
    }

    fn fault(&mut self, id: &'static str, range: Range<usize>, message: impl Into<String>, cure: &str) {
        let mut fault = Fault::new(id, self.source.span(range.clone()), message).cure(cure);
        let found = self.source.text().get(range).unwrap_or_default();
        if !found.trim().is_empty() && found.len() <= 60 && !found.contains('\n') {
            fault = fault.found(found);
        }
        self.faults.push(fault);
    }
}

/// Where the tabs before a byte begin, or else the next one that a line is set in with.
fn tab_about(text: &str, pos: usize) -> usize {
    let before = text[..pos].trim_end_matches('\t').len();
    if before < pos || text[pos..].starts_with('\t') {
        return before;
    }
    let mut start = pos;
    for line in text[pos..].split_inclusive('\n') {
        let indent = line.len() - line.trim_start_matches(' ').len();
        // Only what begins its line sets it in; the first of these lines is the rest of one.
        if start > pos && line[indent..].starts_with('\t') {
            return start + indent;
        }
        start += line.len();
    }
    pos
}

/// The key before a colon, where its line is indented further than the line above, which has a value already.
fn indented_key(text: &str, colon: usize) -> Option<Range<usize>> {
    let indent = |line: &str| line.len() - line.trim_start_matches(' ').len();
    let start = text[..colon].rfind('\n')? + 1;
    let above = text[..start - 1].lines().next_back()?;
    let key = start + indent(&text[start..colon])..colon;
    let further = indent(&text[start..colon]) > indent(above) && above.contains(": ");
    (further && !text[key.clone()].contains(':')).then_some(key)
}

/// The range of the character at a byte, empty at a line's end.
fn character(text: &str, pos: usize) -> Range<usize> {
    let start = text.floor_char_boundary(pos);
    let length = text
        .get(start..)
        .and_then(|rest| rest.chars().next())
        .filter(|c| !matches!(c, '\n' | '\r'))
        .map_or(0, char::len_utf8);
    start..start + length
}

/// Lets the second reader say what each scalar is, and holds it to the shape
/// that the first one found.
fn check_second_reading(root: &mut Node, source: &Mapped, faults: &mut Vec<Fault>) {
    match serde_yaml::from_str::<Value>(source.text()) {
        Ok(value) => join(root, value, faults),
        Err(error) => {
            let pos = error.location().map_or(0, |place| place.index());
            let range = character(source.text(), pos);
            let is_tab = source.text().get(range.clone()) == Some("\t");
            let span = source.span(range);
            faults.push(if is_tab { stray_tab(span) } else { disagreement(span) });
        }
    }
}

/// Gives plain scalars that are yes or no their value; nothing asks for others.
fn set_flags(node: &mut Node) {
    match &mut node.kind {
        NodeKind::Scalar(scalar) if scalar.plain => match scalar.text.text() {
            "true" => scalar.value = Value::Bool(true),
            "false" => scalar.value = Value::Bool(false),
            _ => {}
        },
        NodeKind::Scalar(_) => {}
        NodeKind::List(items) => items.iter_mut().for_each(set_flags),
        NodeKind::Map(entries) => entries.iter_mut().for_each(|entry| set_flags(&mut entry.value)),
    }
}

fn join(node: &mut Node, value: Value, faults: &mut Vec<Fault>) {
    let span = node.span;
    match (&mut node.kind, value) {
        (NodeKind::Scalar(scalar), value) if is_reading_of(&value, scalar) => scalar.value = value,
        (NodeKind::List(items), Value::Sequence(values)) if items.len() == values.len() => {
            for (item, value) in items.iter_mut().zip(values) {
                join(item, value, faults);
            }
        }
        (NodeKind::Map(entries), Value::Mapping(values)) if entries.len() == values.len() => {
            for (entry, (_, value)) in entries.iter_mut().zip(values) {
                join(&mut entry.value, value, faults);
            }
        }
        _ => faults.push(disagreement(span)),
    }
}

fn is_reading_of(value: &Value, scalar: &Scalar) -> bool {
    match value {
        Value::String(text) => text == scalar.text.text(),
        Value::Null | Value::Bool(_) | Value::Number(_) => scalar.plain,
        Value::Sequence(_) | Value::Mapping(_) | Value::Tagged(_) => false,
    }
}

fn stray_tab(span: Span) -> Fault {
    let (message, cure) = words::plain(&granit_parser::ErrorKind::TabNotAllowed);
    Fault::new(id::YAML_SYNTAX, span, message).cure(cure)
}

fn disagreement(span: Span) -> Fault {
    Fault::new(id::YAML_TWO_READINGS, span, "this can be read in two ways")
        .cure("put quotes round the text, and write lists and keys one to a line")
}

#[cfg(test)]
mod tests;
