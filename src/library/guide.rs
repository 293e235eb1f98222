//! A guide or a reply as written: front matter between `---` lines, then Markdown in operations.
//!
//! Text in, `Guide` out: front matter read by `front`, operations numbered, marks and blocks found, nothing looked up. Level-2
//! headings are operations; one may begin with its number, others take the next ten, and numbers rise.

use super::block::Block;
use super::front;
use super::markdown::{self, Piece};
use crate::diagnostic::Source;
use crate::fault::{Fault, id};
use crate::mechanics::mark::TextPiece;
use crate::text::{Mapped, Span, Spanned};
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

/// A guide, or a reply, which has the same form.
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
    /// True where it is a reply to a question.
    pub is_reply: bool,
    /// Its topic; empty where a reply has none.
    pub topic: Spanned<String>,
    /// The sheet's number.
    pub number: Spanned<String>,
    /// The sheet's own revision.
    pub revision: Spanned<String>,
    /// When that was issued.
    pub issued: String,
    /// Who wrote it.
    pub prepared_by: String,
    /// Who let it out; without it the guide is not pressed.
    pub approved_by: Option<String>,
    /// When it should be read again.
    pub review_by: Option<Spanned<String>>,
    /// How long the work takes.
    pub work_time: Option<String>,
    /// rider, mechanic or specialist; empty where a reply doesn't say.
    pub done_by: Spanned<String>,
    /// What is needed.
    pub tools: Vec<Words>,
    /// What is used up.
    pub consumables: Vec<Words>,
    /// Hazards with standing cautions.
    pub hazards: Vec<Spanned<String>>,
    /// Sizes that are names: phrases that are no loose figures.
    pub nominal: Vec<Spanned<String>>,
    /// The build sheet that `bike.…` stands for.
    pub bike: Option<Spanned<String>>,
    /// Addresses at which the page stood before.
    pub formerly: Vec<Spanned<String>>,
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
    /// The sentences of its front matter, looked at for loose figures.
    pub prose: Vec<Mapped>,
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

/// What a page is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Form<'a> {
    /// One job, start to finish, in the folder of this topic.
    Guide(&'a str),
    /// One rider's question with a short reply.
    Reply,
}

/// Reads a guide or a reply.
pub fn parse(source: &Arc<Source>, form: Form<'_>, faults: &mut Vec<Fault>) -> Option<Guide> {
    let (front, body) = front::split(source, faults)?;
    let guide = front::parse(source, &front, form, faults)?;
    let pieces = markdown::parse(&body, &source.text, faults);
    let (lead, operations) = split_operations(pieces, faults);
    Some(Guide { lead, operations, ..guide })
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
    let mut number = (last / 10 + 1).saturating_mul(10);
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
