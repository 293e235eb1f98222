//! Front matter: the keys of a guide or a reply, read and checked.
//!
//! The lines between `---` in, a `Guide` without its body out. A reply needs fewer keys and stands in no topic's
//! folder. Words that are one of a list are held to it; figures and bikes are looked up when the page is evaluated.

use super::date::check_date;
use super::guide::{Form, Guide, TOPICS, Words};
use crate::diagnostic::Source;
use crate::fault::{Fault, id};
use crate::mechanics::mark::split_marks;
use crate::register;
use crate::text::{Mapped, Span, Spanned};
use crate::yaml::keys::{Holds, Key, Keys, Word, keys, row, spare};
use crate::yaml::{self, Fields, Node};
use std::sync::Arc;

/// Front matter of a guide.
pub(crate) static GUIDE: Keys = Keys::new("a guide's front matter", FRONT);
/// Front matter of a reply: the same keys, of which two may be left out.
pub(crate) static REPLY: Keys = Keys::new("a reply's front matter", &SHORTER);

const SHORTER: [Key; 22] = spare(FRONT, &["topic", "done_by"]);
const SENTENCES: Holds = Holds::List(&Holds::Text("a sentence"));
const PERSON: Holds = Holds::Text("a name");

pub(super) const FRONT: &[Key; 22] = keys! {
    "title" needed Holds::Text("words"), "What the sheet is called; of a reply, the rider's question.",
        "title: Size a chain after changing the chainring";
    "summary" needed Holds::Text("a sentence"), "What the sheet does for its reader. Lists and the finding page show it below the title.",
        "summary: Work out how many links a new chain needs.";
    "topic" needed Holds::OneOf(topics), "The topic under which the sheet is listed. A guide stands in the folder of that name.",
        "topic: drivetrain";
    "number" needed Holds::Text("letters, a hyphen and digits"), "The sheet's number, which no other sheet has. Colleagues ask for a sheet by it, so it is never used again.",
        "number: DT-014";
    "revision" needed Holds::Text("a letter"), "The letter of the sheet's own revision. Raise it when you change the words.",
        "revision: A";
    "issued" needed Holds::Date, "The day on which that revision was let out.",
        "issued: 2026-05-03";
    "prepared_by" needed PERSON, "Who wrote the sheet. It stands in the title block.",
        "prepared_by: R. Pell";
    "approved_by" free PERSON, "Who read the sheet and let it out. Without it the sheet is a draft: seen under stand, left out of a press.",
        "approved_by: M. Oduya";
    "review_by" free Holds::Date, "The day by which somebody should read the sheet again. From then on the proof says so.",
        "review_by: 2027-05-01";
    "work_time" free Holds::Text("a time in words"), "How long the work takes a person who knows it.",
        "work_time: 25 min";
    "done_by" needed Holds::OneOf(workers), "Who can do the work safely.",
        "done_by: rider";
    "tools" free Holds::List(&Holds::Text("a tool")), "What is needed for the work and kept. Sizes in these lines are names, and no loose figures.",
        "tools: [chain tool, 4 mm hex key]";
    "consumables" free Holds::List(&Holds::Text("a part or stuff")), "What is used up. Sizes in these lines are names, and no loose figures.",
        "consumables: [chain, joining link]";
    "nominal" free Holds::List(&Holds::Text("a whole phrase")), "Sizes that are names and not measurements. Where such a phrase stands on the sheet it is no loose figure.",
        "nominal: [M5, 700 × 28]";
    "hazards" free Holds::List(&Holds::OneOf(hazards)), "What can hurt somebody in this work. Each word brings its standing caution to the sheet.",
        "hazards: [drivetrain]";
    "symptoms" free SENTENCES, "What a rider sees, hears or feels. The front page leads from them to the sheet.",
        "symptoms:\n  - chain hangs slack";
    "asks" free SENTENCES, "What a rider asks, in a rider's words. The finding page and the front page lead from them to the sheet.",
        "asks:\n  - do I need a longer chain for a bigger ring";
    "bike" free Holds::Text("the name of a build sheet"), "The build sheet that bike stands for on this sheet, as in bike.chainstay. It fills nothing in by itself.",
        "bike: roadster";
    "key_figure" free Holds::Text("a working's figure"), "The figure that is set large at the head of the sheet.",
        "key_figure: chain.links";
    "right_when" free SENTENCES, "How the reader knows that the work is right.",
        "right_when:\n  - the cage keeps a bend on the largest pair";
    "stop_when" free SENTENCES, "What ends the work and brings the bike to the shop.",
        "stop_when:\n  - the hanger is bent";
    "formerly" free Holds::List(&Holds::Text("an address without .html")), "Addresses at which the sheet stood before. Each leads on to where it stands now.",
        "formerly: [guides/drivetrain/longer-chain]";
};

/// Who can do the work.
const WORKERS: [Word; 3] = [
    ("rider", "a rider with common tools"),
    ("mechanic", "somebody who does such work every week"),
    ("specialist", "a workshop with tools or training for just this"),
];

pub(crate) fn topics() -> Vec<Word> {
    TOPICS.to_vec()
}

fn workers() -> Vec<Word> {
    WORKERS.to_vec()
}

fn hazards() -> Vec<Word> {
    super::hazards::HAZARDS.iter().map(|(name, _)| (*name, "")).collect()
}

/// The rows that other sheets share with guides.
pub(super) const fn shared(name: &str) -> Key {
    row(FRONT, name)
}

/// Reads the front matter of a page; its body is still empty.
pub(super) fn parse(source: &Arc<Source>, front: &Mapped, form: Form<'_>, faults: &mut Vec<Fault>) -> Option<Guide> {
    let node = yaml::parse(front).map_err(|found| faults.extend(found)).ok()?;
    let is_reply = form == Form::Reply;
    let fields = Fields::of(&node, if is_reply { &REPLY } else { &GUIDE }, faults)?;
    let mut reader = Front { file: &source.text, prose: Vec::new(), fields, faults };
    let topic = reader.word("topic", !is_reply);
    let done_by = reader.word("done_by", !is_reply);
    let mut guide = Guide {
        prose: Vec::new(),
        page: format!("{}.html", source.name.trim_start_matches("content/").trim_end_matches(".md")),
        source: Arc::clone(source),
        is_reply,
        title: reader.words("title", true),
        summary: reader.words("summary", true),
        number: reader.word("number", true).unwrap_or_default(),
        revision: reader.revision(),
        issued: reader.date("issued", true).unwrap_or_default().value,
        prepared_by: reader.text("prepared_by", true).unwrap_or_default(),
        approved_by: reader.text("approved_by", false),
        review_by: reader.date("review_by", false),
        work_time: reader.text("work_time", false),
        tools: reader.lines("tools"),
        consumables: reader.lines("consumables"),
        nominal: reader.spanned_list("nominal"),
        hazards: reader.spanned_list("hazards"),
        symptoms: reader.sentences("symptoms"),
        asks: reader.sentences("asks"),
        bike: reader.word("bike", false),
        key_figure: reader.word("key_figure", false),
        right_when: reader.sentences("right_when"),
        stop_when: reader.sentences("stop_when"),
        formerly: reader.spanned_list("formerly"),
        topic: topic.unwrap_or_default(),
        done_by: done_by.unwrap_or_default(),
        lead: Vec::new(),
        operations: Vec::new(),
    };
    guide.prose = reader.prose;
    check_words(&guide, form, faults);
    Some(guide)
}

/// The front matter's lines and the body, each with its place.
pub(super) fn split(source: &Source, faults: &mut Vec<Fault>) -> Option<(Mapped, Mapped)> {
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

/// Reads front matter, or the head of a chart, key by key.
pub(super) struct Front<'a, 'f> {
    pub(super) file: &'a str,
    /// Sentences that are looked at for loose figures.
    pub(super) prose: Vec<Mapped>,
    pub(super) fields: Fields<'a>,
    pub(super) faults: &'f mut Vec<Fault>,
}

impl<'a> Front<'a, '_> {
    fn mapped(&mut self, key: &str, needed: bool) -> Option<&'a Mapped> {
        if needed { self.fields.need_text(key, self.faults) } else { self.fields.text(key, self.faults) }
    }

    pub(super) fn text(&mut self, key: &str, needed: bool) -> Option<String> {
        self.mapped(key, needed).map(|text| text.text().trim().to_owned())
    }

    pub(super) fn word(&mut self, key: &str, needed: bool) -> Option<Spanned<String>> {
        self.mapped(key, needed).map(|text| Spanned::new(text.text().trim().to_owned(), text.whole()))
    }

    /// The sheet's own revision, in the letters that the register goes on with.
    pub(super) fn revision(&mut self) -> Spanned<String> {
        let revision = self.word("revision", true).unwrap_or_default();
        self.faults.extend(check_revision(&revision));
        revision
    }

    pub(super) fn words(&mut self, key: &str, needed: bool) -> Words {
        let Some(text) = self.mapped(key, needed) else { return Words::new() };
        self.prose.push(text.clone());
        split_marks(text, self.file, self.faults)
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

    pub(super) fn date(&mut self, key: &str, needed: bool) -> Option<Spanned<String>> {
        let text = self.mapped(key, needed)?;
        check_date(text, self.faults);
        Some(Spanned::new(text.text().trim().to_owned(), text.whole()))
    }

    /// Lines of sentences, which may hold figures but no loose ones.
    pub(super) fn sentences(&mut self, key: &str) -> Vec<Words> {
        let items = self.items(key);
        self.prose.extend(items.iter().map(|text| (*text).clone()));
        items.into_iter().map(|text| split_marks(text, self.file, self.faults)).collect()
    }

    pub(super) fn spanned_list(&mut self, key: &str) -> Vec<Spanned<String>> {
        self.items(key).into_iter().map(|text| Spanned::new(text.text().trim().to_owned(), text.whole())).collect()
    }
}

/// Words that are one of a list: topic, `done_by`, hazards; and the folder that must be the topic's.
fn check_words(guide: &Guide, form: Form<'_>, faults: &mut Vec<Fault>) {
    let topics = || TOPICS.iter().map(|(name, _)| *name);
    if !guide.topic.value.is_empty() {
        check_one(&guide.topic, "topic", topics(), faults);
        if let Form::Guide(folder) = form
            && guide.topic.value != folder
            && topics().any(|known| known == guide.topic.value)
        {
            faults.push(
                Fault::new(id::TOPIC_AND_FOLDER, guide.topic.span, "the topic is not that of the folder")
                    .found(guide.topic.value.clone())
                    .allowed(folder)
                    .cure(format!("move the file to content/guides/{}, or change the topic", guide.topic.value)),
            );
        }
    }
    if !guide.done_by.value.is_empty() {
        check_one(&guide.done_by, "word for done_by", WORKERS.iter().map(|(name, _)| *name), faults);
    }
    check_hazards(&guide.hazards, faults);
}

/// A revision that the next one can follow.
pub(super) fn check_revision(revision: &Spanned<String>) -> Option<Fault> {
    let fits = revision.value.is_empty() || register::is_revision(&revision.value);
    let fault = || {
        Fault::new(id::REVISION_LETTER, revision.span, "this is no revision that a next one can follow")
            .found(revision.value.clone())
            .allowed("a capital letter, A first, AA after Z; or a whole number")
            .cure("write the letter alone, such as B")
    };
    (!fits).then(fault)
}

/// A chart's topic and hazards, each one of its list.
pub(super) fn check_topic_words(topic: &Spanned<String>, hazards: &[Spanned<String>], faults: &mut Vec<Fault>) {
    if !topic.value.is_empty() {
        check_topic(topic, faults);
    }
    check_hazards(hazards, faults);
}

/// A word that must be one of the topics.
pub(crate) fn check_topic(topic: &Spanned<String>, faults: &mut Vec<Fault>) {
    check_one(topic, "topic", TOPICS.iter().map(|(name, _)| *name), faults);
}

fn check_hazards(hazards: &[Spanned<String>], faults: &mut Vec<Fault>) {
    for hazard in hazards {
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
    let fault = Fault::new(id::UNKNOWN_WORD, word.span, format!("{} is no known {what}", word.value))
        .found(word.value.clone())
        .allowed(known.join(", "));
    faults.push(fault.nearest(&word.value, known, "use one of these words"));
}
