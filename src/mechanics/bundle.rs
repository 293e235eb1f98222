//! The bundled formulas: found by id, parsed when asked for.
//!
//! The files stand under `formulas/TOPIC/ID.yaml`; the build lists them. A cold start parses only the formula that
//! is asked for, and a list just looks at the lines that it shows; the tests parse the whole set and run every example.

use super::formula::Formula;
use super::load::load;
use crate::bundled::FORMULAS;
use crate::fault::Fault;
use crate::text::Mapped;

/// The ids of all bundled formulas with their topics, by topic and id.
pub fn ids() -> impl Iterator<Item = (&'static str, &'static str)> {
    FORMULAS.iter().filter_map(|(path, _)| {
        let (topic, file) = path.split_once('/')?;
        Some((file.strip_suffix(".yaml")?, topic))
    })
}

/// What a list shows of a formula.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Card {
    /// The word after `locknut reckon`.
    pub id: String,
    /// The topic.
    pub topic: String,
    /// The title.
    pub title: String,
    /// The question that it answers.
    pub question: String,
}

impl Card {
    /// The card of a formula.
    #[must_use]
    pub fn of(formula: &Formula) -> Self {
        let Formula { id, topic, title, question, .. } = formula;
        Self { id: id.clone(), topic: topic.clone(), title: title.clone(), question: question.clone() }
    }

    /// The card of a bundled formula, read off its lines; loaded whole where a line says more than words.
    fn bundled(id: &str, topic: &str) -> Option<Self> {
        let text = text(id)?;
        let line = |key: &str| {
            let mut lines = text.lines().skip_while(|line| !line.starts_with(key));
            let value = lines.next()?.strip_prefix(key)?.strip_prefix(": ")?;
            let quoted = value.strip_prefix('"').and_then(|rest| rest.strip_suffix('"'));
            let is_plain = value.starts_with(char::is_alphabetic) && !value.contains(" #") && !value.contains(": ");
            let words = quoted.filter(|words| !words.contains(['"', '\\'])).or_else(|| is_plain.then_some(value));
            // A line that goes on says more than is seen here.
            let goes_on = lines.next().is_none_or(|next| next.starts_with(' '));
            words.filter(|_| !goes_on).map(|words| words.trim_end().to_owned())
        };
        match (line("title"), line("question")) {
            (Some(title), Some(question)) => Some(Self { id: id.to_owned(), topic: topic.to_owned(), title, question }),
            _ => formula(id)?.ok().as_ref().map(Self::of),
        }
    }
}

/// The cards of all bundled formulas, by topic and id.
pub fn cards() -> impl Iterator<Item = Card> {
    ids().filter_map(|(id, topic)| Card::bundled(id, topic))
}

/// The file of a bundled formula; `None` where no formula has this id.
#[must_use]
pub fn text(id: &str) -> Option<&'static str> {
    let (_, bytes) = FORMULAS
        .iter()
        .find(|(path, _)| path.split_once('/').is_some_and(|(_, file)| file.strip_suffix(".yaml") == Some(id)))?;
    std::str::from_utf8(bytes).ok()
}

/// Loads a bundled formula; `None` where no formula has this id.
///
/// # Errors
/// The faults of its file, which the tests keep empty.
#[must_use]
pub fn formula(id: &str) -> Option<Result<Formula, Vec<Fault>>> {
    text(id).map(|text| load(&Mapped::verbatim(text, 0)))
}
