//! `faults/NAME.yaml`: a fault-finding chart, from a symptom by checks to a guide, a reply, or the workshop.
//!
//! ```yaml
//! title, summary, number, revision, issued, prepared_by, approved_by, review_by
//! topic, hazards, nominal, symptoms, asks        # as guides have them; none is needed
//! checks:                                        # the first is where the chart begins
//!   - name: cable
//!     check: What to do, in a sentence or two.
//!     question: What is seen?
//!     answers:                                   # two or more; each leads on by one of three words
//!       - {answer: It moves freely, go_on: hanger}
//!       - {answer: It drags, because: Why., read: ../guides/drivetrain/cables.md}
//!       - {answer: It is cracked, bring_it_in: It is not ridden.}
//! ```
//! The chart's own ways are followed here: every check is reached, and none leads back to itself. Pages that it sends on
//! to are looked up when it is evaluated.

use super::front::{Front, check_topic_words, shared};
use super::guide::Words;
use crate::diagnostic::Source;
use crate::fault::{Fault, id};
use crate::mechanics::mark::split_marks;
use crate::text::{Mapped, Span, Spanned};
use crate::yaml::keys::{Holds, Key, Keys, keys};
use crate::yaml::{self, Fields, Node};
use std::sync::Arc;

/// A chart as written.
#[derive(Clone, Debug)]
pub struct Chart {
    /// The file.
    pub source: Arc<Source>,
    /// The path of its page: `faults/creak.html`.
    pub page: String,
    /// What it is called.
    pub title: Words,
    /// What it does, in a sentence.
    pub summary: Words,
    /// Its topic; empty where it has none.
    pub topic: Spanned<String>,
    /// The sheet's number.
    pub number: Spanned<String>,
    /// The sheet's own revision.
    pub revision: Spanned<String>,
    /// When that was issued.
    pub issued: String,
    /// Who wrote it.
    pub prepared_by: String,
    /// Who let it out; without it the chart is not pressed.
    pub approved_by: Option<String>,
    /// When it should be read again.
    pub review_by: Option<Spanned<String>>,
    /// Hazards with standing cautions.
    pub hazards: Vec<Spanned<String>>,
    /// Sizes that are names.
    pub nominal: Vec<Spanned<String>>,
    /// What a rider notices.
    pub symptoms: Vec<Words>,
    /// What a rider asks.
    pub asks: Vec<Words>,
    /// All its sentences, looked at for loose figures.
    pub prose: Vec<Mapped>,
    /// The checks, in the order of the file; the first is where the chart begins.
    pub checks: Vec<Check>,
}

/// One check.
#[derive(Clone, Debug)]
pub struct Check {
    /// Its name, by which answers lead to it.
    pub name: Spanned<String>,
    /// What to do.
    pub act: Words,
    /// What is asked of the one who did it.
    pub question: Words,
    /// What may be seen, and where each leads.
    pub answers: Vec<Answer>,
}

/// One answer.
#[derive(Clone, Debug)]
pub struct Answer {
    /// What is seen.
    pub words: Words,
    /// Why it leads where it leads; empty where nothing is said.
    pub because: Words,
    /// Where it leads.
    pub then: Then,
}

/// Where an answer leads.
#[derive(Clone, Debug)]
pub enum Then {
    /// To another check of the chart.
    GoOn(Spanned<String>),
    /// To a page of the library: the path of its source file, perhaps with a place on it.
    Read(Spanned<String>),
    /// To the workshop, and why.
    BringItIn(Words),
}

/// A fault-finding chart.
pub static KEYS: Keys = Keys::new("a fault-finding chart", ROWS);

const ROWS: &[Key] = &[
    shared("title").but("What the chart is called.", "title: Gears that will not stay"),
    shared("summary"),
    shared("topic").spared(),
    shared("number").but("The sheet's number, which no other sheet has.", "number: FC-001"),
    shared("revision"),
    shared("issued"),
    shared("prepared_by"),
    shared("approved_by"),
    shared("review_by"),
    shared("hazards"),
    shared("nominal"),
    shared("symptoms"),
    shared("asks"),
    CHECKS[0],
];

const CHECKS: &[Key; 1] = keys! {
    "checks" needed Holds::Sized(&Holds::List(&Holds::Keys(&CHECK)), 1, None), "The checks. The chart begins with the first; each is reached by an answer of another, and none leads back to itself.",
        "checks:\n  - name: cable\n    check: Pull the inner cable by hand.\n    question: Does it move freely?\n    answers:\n      - {answer: \"Yes, freely\", bring_it_in: The lever needs a look inside.}\n      - {answer: \"No, it drags\", read: ../guides/drivetrain/chain-wear.md}";
};

static CHECK: Keys = Keys::new(
    "a check",
    keys! {
        "name" needed Holds::Formed("a short name", "^\\s*[a-z0-9-]+\\s*$"), "The name by which answers lead to the check. Readers don't see it.",
            "name: cable";
        "check" needed Holds::Text("a sentence or two"), "What to do: one act.",
            "check: Pull the inner cable by hand.";
        "question" needed Holds::Text("a question"), "What is asked of the one who did it.",
            "question: Does it move freely?";
        "answers" needed Holds::Sized(&Holds::List(&Holds::Keys(&ANSWER)), 2, None), "All that may be seen. One of them is true for every bike.",
            "answers:\n  - {answer: It moves freely, go_on: hanger}\n  - {answer: It drags, read: ../guides/drivetrain/chain-wear.md}";
    },
);

static ANSWER: Keys = Keys::new("an answer", keys! {
    "answer" needed Holds::Text("words"), "What is seen.",
        "answer: It drags";
    "because" free Holds::Text("a sentence"), "Why it leads where it leads.",
        "because: Dirt sits in the outer.";
    "go_on" free Holds::Text("the name of a check"), "The check that comes next.",
        "go_on: hanger";
    "read" free Holds::Formed("the path to a guide or a reply, from this file", "^\\s*[^:]*\\.md(#.*)?\\s*$"), "The page that cures it; #op-20 may follow.",
        "read: ../guides/drivetrain/chain-wear.md";
    "bring_it_in" free Holds::Text("a sentence"), "Why the bike goes to the shop, and whether it may be ridden there.",
        "bring_it_in: It is not ridden.";
}).ways(&WAYS);

/// How an answer leads on.
const WAYS: [&str; 3] = ["go_on", "read", "bring_it_in"];

/// Reads one chart.
pub fn parse(source: &Arc<Source>, faults: &mut Vec<Fault>) -> Option<Chart> {
    let text = Mapped::verbatim(source.text.as_str(), 0);
    let node = yaml::parse(&text).map_err(|found| faults.extend(found)).ok()?;
    let fields = Fields::of(&node, &KEYS, faults)?;
    let before = faults.len();
    let written = fields.need("checks", faults).map(|_| fields.list("checks", faults)).unwrap_or_default();
    let mut front = Front { file: &source.text, prose: Vec::new(), fields, faults };
    let mut chart = Chart {
        page: format!("{}.html", source.name.trim_start_matches("content/").trim_end_matches(".yaml")),
        source: Arc::clone(source),
        title: front.words("title", true),
        summary: front.words("summary", true),
        topic: front.word("topic", false).unwrap_or_default(),
        number: front.word("number", true).unwrap_or_default(),
        revision: front.revision(),
        issued: front.date("issued", true).unwrap_or_default().value,
        prepared_by: front.text("prepared_by", true).unwrap_or_default(),
        approved_by: front.text("approved_by", false),
        review_by: front.date("review_by", false),
        hazards: front.spanned_list("hazards"),
        nominal: front.spanned_list("nominal"),
        symptoms: front.sentences("symptoms"),
        asks: front.sentences("asks"),
        prose: Vec::new(),
        checks: Vec::new(),
    };
    let mut prose = front.prose;
    check_topic_words(&chart.topic, &chart.hazards, faults);
    let mut reader = Reader { file: &source.text, prose: &mut prose, faults };
    chart.checks = written.into_iter().filter_map(|node| reader.check(node)).collect();
    chart.prose = prose;
    // The ways of a chart that can't be read whole would only be told of twice.
    if faults.len() == before {
        let mut found = check_names(&chart.checks);
        if found.is_empty() {
            found = check_ways(&chart.checks);
        }
        faults.extend(found);
    }
    Some(chart)
}

/// Reads checks and answers, and keeps their sentences.
struct Reader<'a, 'f> {
    file: &'a str,
    prose: &'f mut Vec<Mapped>,
    faults: &'f mut Vec<Fault>,
}

impl Reader<'_, '_> {
    fn words(&mut self, fields: &Fields<'_>, key: &str, needed: bool) -> Words {
        let text = if needed { fields.need_text(key, self.faults) } else { fields.text(key, self.faults) };
        let Some(text) = text else { return Words::new() };
        self.prose.push(text.clone());
        split_marks(text, self.file, self.faults)
    }

    fn word(&mut self, fields: &Fields<'_>, key: &str) -> Option<Spanned<String>> {
        let text = fields.text(key, self.faults)?;
        Some(Spanned::new(text.text().trim().to_owned(), text.whole()))
    }

    fn check(&mut self, node: &Node) -> Option<Check> {
        let fields = Fields::of(node, &CHECK, self.faults)?;
        fields.need_text("name", self.faults);
        let name = self.word(&fields, "name")?;
        check_name(&name, self.faults);
        let (act, question) = (self.words(&fields, "check", true), self.words(&fields, "question", true));
        fields.need("answers", self.faults);
        let written = fields.list("answers", self.faults);
        let answers: Vec<Answer> = written.iter().filter_map(|node| self.answer(node)).collect();
        if written.len() == 1 {
            let fault = Fault::new(id::ONE_ANSWER, name.span, format!("check {} has a single answer", name.value));
            let cure = "a check with one answer decides nothing: write the others, or join it with the next check";
            self.faults.push(fault.allowed("two answers or more").cure(cure));
        }
        Some(Check { name, act, question, answers })
    }

    fn answer(&mut self, node: &Node) -> Option<Answer> {
        let fields = Fields::of(node, &ANSWER, self.faults)?;
        let (words, because) = (self.words(&fields, "answer", true), self.words(&fields, "because", false));
        let ways: Vec<&str> = WAYS.into_iter().filter(|key| fields.get(key).is_some()).collect();
        let then = match ways[..] {
            ["go_on"] => Then::GoOn(self.word(&fields, "go_on")?),
            ["read"] => Then::Read(self.word(&fields, "read")?),
            ["bring_it_in"] => Then::BringItIn(self.words(&fields, "bring_it_in", true)),
            _ => {
                let (message, found) = match ways[..] {
                    [] => ("this answer leads nowhere", "none of the three ways on".to_owned()),
                    _ => ("this answer leads two ways", ways.join(" and ")),
                };
                let fault = Fault::new(id::ANSWER_WAY, node.span, message).found(found);
                self.faults.push(
                    fault
                        .allowed("one of go_on: CHECK, read: ../guides/TOPIC/NAME.md, bring_it_in: why")
                        .cure("write the one way on: another check, a page to read, or the workshop"),
                );
                return None;
            }
        };
        Some(Answer { words, because, then })
    }
}

/// A check's name stands in addresses: letters, digits and hyphens.
fn check_name(name: &Spanned<String>, faults: &mut Vec<Fault>) {
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if name.value.is_empty() || !name.value.chars().all(plain) {
        faults.push(
            Fault::new(id::BAD_NAME, name.span, "this can't be the name of a check")
                .found(name.value.clone())
                .allowed("small letters, digits and hyphens, such as outer-ends")
                .cure("write a short word; readers see the question, not the name"),
        );
    }
}

/// Every check has a name of its own, and every way leads to one.
fn check_names(checks: &[Check]) -> Vec<Fault> {
    let mut faults = Vec::new();
    let names = || checks.iter().map(|check| check.name.value.as_str());
    if checks.is_empty() {
        let fault = Fault::new(id::MISSING_VALUE, Span::at(0), "this chart has no checks");
        faults.push(fault.cure("write the first check below checks:, with its question and answers"));
    }
    for (place, check) in checks.iter().enumerate() {
        if find(checks, &check.name.value) != Some(place) {
            let message = format!("two checks are called {}", check.name.value);
            faults.push(Fault::new(id::NAME_TWICE, check.name.span, message).cure("give one of the two another name"));
        }
        for name in ways_of(check).filter(|name| find(checks, &name.value).is_none()) {
            let message = format!("there is no check called {}", name.value);
            let fault = Fault::new(id::UNKNOWN_CHECK, name.span, message).found(name.value.clone());
            let cure = "write that check, or lead to one that is there";
            let told: Vec<&str> = names().take(MOST_TOLD + 1).collect();
            let fault = if told.len() > MOST_TOLD { fault } else { fault.allowed(told.join(", ")) };
            faults.push(fault.nearest(&name.value, names(), cure));
        }
    }
    faults
}

/// A list of more names than this helps nobody.
const MOST_TOLD: usize = 20;

fn find(checks: &[Check], name: &str) -> Option<usize> {
    checks.iter().position(|check| check.name.value == name)
}

/// The names of the checks that a check's answers go on to.
fn ways_of(check: &Check) -> impl Iterator<Item = &Spanned<String>> {
    check.answers.iter().filter_map(|answer| match &answer.then {
        Then::GoOn(name) => Some(name),
        _ => None,
    })
}

/// All checks are reached from the first, and no way leads back.
fn check_ways(checks: &[Check]) -> Vec<Fault> {
    let mut faults = Vec::new();
    let mut seen = vec![Seen::Not; checks.len()];
    follow(0, checks, &mut seen, &mut faults);
    for (check, _) in checks.iter().zip(&seen).filter(|(_, seen)| **seen == Seen::Not) {
        let message = format!("no answer leads to check {}", check.name.value);
        let cure = format!("lead an answer to it with go_on: {}, or take it out", check.name.value);
        faults.push(Fault::new(id::CHECK_NOT_REACHED, check.name.span, message).cure(cure));
    }
    faults
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Seen {
    Not,
    OnTheWay,
    Done,
}

/// Follows all ways from a check on; a way to a check that was passed before is a circle. A file of the size that is read
/// holds too few checks for this to go too deep.
fn follow(at: usize, checks: &[Check], seen: &mut [Seen], faults: &mut Vec<Fault>) {
    seen[at] = Seen::OnTheWay;
    for name in ways_of(&checks[at]) {
        let Some(to) = find(checks, &name.value) else { continue };
        match seen[to] {
            Seen::Not => follow(to, checks, seen, faults),
            Seen::OnTheWay => faults.push(circle(name, &checks[at])),
            Seen::Done => {}
        }
    }
    seen[at] = Seen::Done;
}

fn circle(name: &Spanned<String>, from: &Check) -> Fault {
    let (name, span, from) = (&name.value, name.span, &from.name.value);
    let found =
        if name == from { format!("{name} → {name}") } else { format!("{name} → … → {from} → {name}") };
    Fault::new(id::CHART_CIRCLE, span, format!("this way leads round to check {name} again"))
        .found(found)
        .cure("end it with a page to read or with bring_it_in, or go on to a check that comes later")
}
