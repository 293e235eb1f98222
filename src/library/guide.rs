//! A guide as written: front matter between `---` lines, then Markdown in operations.
//!
//! Text in, `Guide` out: keys checked, operations numbered, marks and blocks found, nothing looked up. Level-2
//! headings are operations; one may begin with its number, others take the next ten, and numbers rise.

use super::Faults;
use super::block::Block;
use super::mark::{TextPiece, split_marks};
use super::markdown::{self, Piece};
use crate::diagnostic::{Diagnostic, Source};
use crate::fault::{Fault, id};
use crate::text::{Mapped, Span, Spanned};
use crate::yaml::{self, Fields, Node};
use pulldown_cmark::{Event, HeadingLevel, Tag, TagEnd};
use std::sync::Arc;

/// The topics of guides with their titles; a guide's folder is named after its topic.
pub const TOPICS: &[(&str, &str)] = &[
    ("drivetrain", "Drivetrain"),
    ("wheels", "Wheels"),
    ("tyres", "Tyres"),
    ("brakes", "Brakes"),
    ("fasteners", "Fasteners"),
    ("fit", "Fit"),
    ("suspension", "Suspension"),
    ("electrics", "Electrics"),
    ("riding", "Riding"),
    ("care", "Care"),
    ("library", "Library"),
];

/// A line of front matter: words and marks.
pub type Words = Vec<TextPiece>;

/// A guide.
#[derive(Clone, Debug)]
pub struct Guide {
    /// The file.
    pub source: Arc<Source>,
    /// The path of its page: `guides/drivetrain/chain.html`.
    pub page: String,
    /// What it is called.
    pub title: Words,
    /// What it does, in a sentence.
    pub summary: Words,
    /// Its topic.
    pub topic: Spanned<String>,
    /// The sheet's number.
    pub number: Spanned<String>,
    /// The sheet's own revision.
    pub revision: String,
    /// When that was issued.
    pub issued: String,
    /// Who wrote it.
    pub prepared_by: String,
    /// Who let it out; without it the guide is not pressed.
    pub approved_by: Option<String>,
    /// When it should be read again.
    pub review_by: Option<String>,
    /// How long the work takes.
    pub work_time: Option<String>,
    /// rider, mechanic or specialist.
    pub done_by: Spanned<String>,
    /// What is needed.
    pub tools: Vec<Words>,
    /// What is used up.
    pub consumables: Vec<Words>,
    /// Hazards with standing cautions.
    pub hazards: Vec<Spanned<String>>,
    /// What a rider notices.
    pub symptoms: Vec<Words>,
    /// What a rider asks.
    pub asks: Vec<Words>,
    /// The figure at the head of the sheet.
    pub key_figure: Option<Spanned<String>>,
    /// How to know that it is right.
    pub right_when: Vec<Words>,
    /// When to stop.
    pub stop_when: Vec<Words>,
    /// What stands before the first operation.
    pub lead: Vec<Piece>,
    /// The operations.
    pub operations: Vec<Operation>,
}

/// One numbered part of a guide.
#[derive(Clone, Debug)]
pub struct Operation {
    /// Its number.
    pub number: u32,
    /// The words of its heading.
    pub heading: Vec<Piece>,
    /// What stands below it.
    pub body: Vec<Piece>,
}

const KEYS: &[&str] = &[
    "title",
    "summary",
    "topic",
    "number",
    "revision",
    "issued",
    "prepared_by",
    "approved_by",
    "review_by",
    "work_time",
    "done_by",
    "tools",
    "consumables",
    "nominal",
    "hazards",
    "symptoms",
    "asks",
    "bike",
    "key_figure",
    "right_when",
    "stop_when",
    "formerly",
];

/// Reads a guide; `folder` is the name of its topic's folder.
pub fn parse(source: &Arc<Source>, folder: &str, faults: &mut Vec<Fault>) -> Option<Guide> {
    let (front, body) = split_front(source, faults)?;
    let node = yaml::parse(&front).map_err(|found| faults.extend(found)).ok()?;
    let fields = Fields::new(&node, "a guide's front matter", KEYS, faults)?;
    let mut reader = Front { file: &source.text, fields, faults };
    let topic = reader.word("topic", true);
    let done_by = reader.word("done_by", true);
    let guide = Guide {
        page: format!("{}.html", source.name.trim_start_matches("content/").trim_end_matches(".md")),
        source: Arc::clone(source),
        title: reader.words("title", true),
        summary: reader.words("summary", true),
        number: reader.word("number", true).unwrap_or_default(),
        revision: reader.text("revision", true).unwrap_or_default(),
        issued: reader.text("issued", true).unwrap_or_default(),
        prepared_by: reader.text("prepared_by", true).unwrap_or_default(),
        approved_by: reader.text("approved_by", false),
        review_by: reader.text("review_by", false),
        work_time: reader.text("work_time", false),
        tools: reader.lines("tools"),
        consumables: reader.lines("consumables"),
        hazards: reader.spanned_list("hazards"),
        symptoms: reader.lines("symptoms"),
        asks: reader.lines("asks"),
        key_figure: reader.word("key_figure", false),
        right_when: reader.lines("right_when"),
        stop_when: reader.lines("stop_when"),
        topic: topic.unwrap_or_default(),
        done_by: done_by.unwrap_or_default(),
        lead: Vec::new(),
        operations: Vec::new(),
    };
    check_words(&guide, folder, faults);
    let pieces = markdown::parse(&body, &source.text, faults);
    let (lead, operations) = split_operations(pieces, faults);
    Some(Guide { lead, operations, ..guide })
}

/// The front matter's lines and the body, each with its place.
fn split_front(source: &Source, faults: &mut Vec<Fault>) -> Option<(Mapped, Mapped)> {
    let text = source.text.as_str();
    let opened = text.strip_prefix("---\n").or_else(|| text.strip_prefix("---\r\n"));
    let Some(rest) = opened else {
        faults.push(
            Fault::new(id::FRONT_MATTER, Span::at(0), "the page doesn't begin with its front matter")
                .allowed("a line of three hyphens, the keys, and another such line")
                .cure("begin the file with ---"),
        );
        return None;
    };
    let start = text.len() - rest.len();
    let mut at = start;
    for line in rest.split_inclusive('\n') {
        if line.trim_end() == "---" {
            let front = Mapped::verbatim(&text[start..at], start);
            let body = at + line.len();
            return Some((front, Mapped::verbatim(&text[body..], body)));
        }
        at += line.len();
    }
    faults.push(
        Fault::new(id::FRONT_MATTER, Span::new(0, 3), "the front matter is never closed")
            .cure("close it with a line of three hyphens"),
    );
    None
}

/// Reads front matter key by key.
struct Front<'a, 'f> {
    file: &'a str,
    fields: Fields<'a>,
    faults: &'f mut Vec<Fault>,
}

impl<'a> Front<'a, '_> {
    fn mapped(&mut self, key: &str, needed: bool) -> Option<&'a Mapped> {
        if needed { self.fields.need_text(key, self.faults) } else { self.fields.text(key, self.faults) }
    }

    fn text(&mut self, key: &str, needed: bool) -> Option<String> {
        self.mapped(key, needed).map(|text| text.text().trim().to_owned())
    }

    fn word(&mut self, key: &str, needed: bool) -> Option<Spanned<String>> {
        self.mapped(key, needed).map(|text| Spanned::new(text.text().trim().to_owned(), text.whole()))
    }

    fn words(&mut self, key: &str, needed: bool) -> Words {
        let file = self.file;
        self.mapped(key, needed).map(|text| split_marks(text, file, self.faults)).unwrap_or_default()
    }

    fn items(&mut self, key: &str) -> Vec<&'a Mapped> {
        let nodes = self.fields.list(key, self.faults);
        let mut texts = Vec::with_capacity(nodes.len());
        for node in nodes {
            match Node::text(node) {
                Some(text) => texts.push(text),
                None => self.faults.push(
                    Fault::new(id::WRONG_SHAPE, node.span, format!("each line of {key} is one sentence or name"))
                        .cure("put a text with a colon in quotes"),
                ),
            }
        }
        texts
    }

    fn lines(&mut self, key: &str) -> Vec<Words> {
        let file = self.file;
        self.items(key).into_iter().map(|text| split_marks(text, file, self.faults)).collect()
    }

    fn spanned_list(&mut self, key: &str) -> Vec<Spanned<String>> {
        self.items(key).into_iter().map(|text| Spanned::new(text.text().trim().to_owned(), text.whole())).collect()
    }
}

/// Words that are one of a list: topic, `done_by`, hazards; and the folder that must be the topic's.
fn check_words(guide: &Guide, folder: &str, faults: &mut Vec<Fault>) {
    let topics = || TOPICS.iter().map(|(name, _)| *name);
    if !guide.topic.value.is_empty() {
        check_one(&guide.topic, "topic", topics(), faults);
        if guide.topic.value != folder && topics().any(|known| known == guide.topic.value) {
            faults.push(
                Fault::new(id::TOPIC_AND_FOLDER, guide.topic.span, "the topic is not that of the folder")
                    .found(guide.topic.value.clone())
                    .allowed(folder)
                    .cure(format!("move the file to content/guides/{}, or change the topic", guide.topic.value)),
            );
        }
    }
    if !guide.done_by.value.is_empty() {
        check_one(&guide.done_by, "word for done_by", ["rider", "mechanic", "specialist"], faults);
    }
    for hazard in &guide.hazards {
        check_one(hazard, "hazard", super::hazards::HAZARDS.iter().map(|(name, _)| *name), faults);
    }
}

fn check_one<'a>(
    word: &Spanned<String>,
    what: &str,
    known: impl IntoIterator<Item = &'a str>,
    faults: &mut Vec<Fault>,
) {
    let known: Vec<&str> = known.into_iter().collect();
    if known.contains(&word.value.as_str()) {
        return;
    }
    let fault = Fault::new(id::UNKNOWN_WORD, word.span, format!("{} is no {what} that is known here", word.value))
        .found(word.value.clone())
        .allowed(known.join(", "));
    faults.push(fault.nearest(&word.value, known, "use one of these words"));
}

/// Cuts the body at its level-2 headings and numbers the operations.
fn split_operations(pieces: Vec<Piece>, faults: &mut Vec<Fault>) -> (Vec<Piece>, Vec<Operation>) {
    let mut lead = Vec::new();
    let mut operations: Vec<Operation> = Vec::new();
    let mut pieces = pieces.into_iter();
    while let Some(piece) = pieces.next() {
        match &piece {
            Piece::Event(Event::Start(Tag::Heading { level: HeadingLevel::H2, .. }), span) => {
                let heading: Vec<Piece> = pieces
                    .by_ref()
                    .take_while(|piece| !matches!(piece, Piece::Event(Event::End(TagEnd::Heading(_)), _)))
                    .collect();
                let last = operations.last().map_or(0, |operation| operation.number);
                operations.push(number_operation(heading, last, *span, faults));
            }
            Piece::Event(Event::Start(Tag::Heading { level: HeadingLevel::H1, .. }), span) => {
                faults.push(
                    Fault::new(id::HEADING_LEVEL, *span, "the body has a heading of the first level")
                        .allowed("## for operations, ### within one")
                        .cure("the title stands in the front matter; begin an operation with ##"),
                );
            }
            _ => match operations.last_mut() {
                Some(operation) => operation.body.push(piece),
                None => lead.push(piece),
            },
        }
    }
    (lead, operations)
}

fn number_operation(mut heading: Vec<Piece>, last: u32, span: Span, faults: &mut Vec<Fault>) -> Operation {
    let mut number = (last / 10 + 1) * 10;
    if let Some(Piece::Event(Event::Text(words), _)) = heading.first_mut()
        && let Some((given, rest)) = words.split_once(' ')
        && let Ok(given) = given.parse()
    {
        number = given;
        *words = rest.trim_start().to_owned().into();
    }
    if number <= last {
        faults.push(
            Fault::new(id::OPERATION_ORDER, span, format!("operation {number} comes after operation {last}"))
                .found(number.to_string())
                .allowed(format!("a number above {last}"))
                .cure("let the numbers rise, or leave the number out"),
        );
    }
    Operation { number, heading, body: Vec::new() }
}

/// Sheet numbers are unique in the library.
pub fn check_numbers(guides: &[Guide], faults: &mut Faults) {
    for (place, guide) in guides.iter().enumerate() {
        let first = guides[..place].iter().find(|other| other.number.value == guide.number.value);
        if let Some(first) = first.filter(|_| !guide.number.value.is_empty()) {
            let fault = Fault::new(
                id::NUMBER_TWICE,
                guide.number.span,
                format!("sheet number {} is taken", guide.number.value),
            )
            .found(guide.number.value.clone())
            .cure(format!("{} has it; take the next free number", first.source.name));
            faults.push(Diagnostic { file: guide.source.name.clone(), fault });
        }
    }
}

impl Guide {
    /// All pieces of the body in order: the lead, then each operation's heading and body.
    pub fn pieces(&self) -> impl Iterator<Item = &Piece> {
        let operations = self.operations.iter().flat_map(|operation| operation.heading.iter().chain(&operation.body));
        self.lead.iter().chain(operations)
    }

    /// All blocks in order, those within safety notices included.
    #[must_use]
    pub fn blocks(&self) -> Vec<&Block> {
        let mut blocks = Vec::new();
        collect_blocks(self.pieces(), &mut blocks);
        blocks
    }
}

fn collect_blocks<'a>(pieces: impl Iterator<Item = &'a Piece>, blocks: &mut Vec<&'a Block>) {
    for piece in pieces {
        if let Piece::Block(block) = piece {
            blocks.push(block);
            if let Block::Safety(safety) = block.as_ref() {
                collect_blocks(safety.body.iter(), blocks);
            }
        }
    }
}
