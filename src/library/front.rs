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
use crate::yaml::{self, Fields, Node};
use std::sync::Arc;

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

/// Reads the front matter of a page; its body is still empty.
pub(super) fn parse(source: &Arc<Source>, front: &Mapped, form: Form<'_>, faults: &mut Vec<Fault>) -> Option<Guide> {
    let node = yaml::parse(front).map_err(|found| faults.extend(found)).ok()?;
    let is_reply = form == Form::Reply;
    let what = if is_reply { "a reply's front matter" } else { "a guide's front matter" };
    let fields = Fields::new(&node, what, KEYS, faults)?;
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
        check_one(&guide.done_by, "word for done_by", ["rider", "mechanic", "specialist"], faults);
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
