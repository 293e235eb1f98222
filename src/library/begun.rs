//! A page as it is begun: front matter filled in, the next sheet number of its series taken, a body to be written over.
//!
//! What comes out proofs clean as a draft: every key that must be there is there, with words that hold no figure. Sheet
//! numbers are read off the files' own lines, faulty files too, and off the register: a number that any sheet has, or
//! had when it was signed, stays taken.

use super::block::check_name;
use super::date::Date;
use super::front::{GUIDE, REPLY};
use crate::diagnostic::Source;
use crate::mechanics::formula::Formula;
use crate::text::{Span, Spanned};
use crate::yaml::scalar;
use std::collections::HashMap;
use std::sync::Arc;

/// How a topic's sheets begin: its series of numbers where the library has none yet, and what can hurt somebody.
struct Start {
    topic: &'static str,
    series: &'static str,
    hazards: &'static [&'static str],
}

const fn start(topic: &'static str, series: &'static str, hazards: &'static [&'static str]) -> Start {
    Start { topic, series, hazards }
}

const STARTS: &[Start] = &[
    start("drivetrain", "DT", &["drivetrain"]),
    start("wheels", "WH", &["wheel-fixing"]),
    start("tyres", "TY", &["pressure", "wheel-fixing"]),
    start("brakes", "BR", &["brakes"]),
    start("fasteners", "FA", &[]),
    start("fit", "FT", &["steering"]),
    start("suspension", "SU", &["suspension"]),
    start("electrics", "EL", &["electrics"]),
    start("riding", "RI", &[]),
    start("care", "CA", &["chemicals"]),
    start("library", "LB", &[]),
];

/// The series of replies where the library has none yet.
const REPLIES: &str = "RP";

/// A page that is about to be begun.
#[derive(Clone, Debug)]
pub struct Begun<'a> {
    /// True of a reply, false of a guide.
    pub is_reply: bool,
    /// What it is called.
    pub title: &'a str,
    /// Its topic; empty where a reply has none.
    pub topic: &'a str,
    /// Its sheet number.
    pub number: String,
    /// Who writes it.
    pub by: &'a str,
    /// The day.
    pub on: Date,
    /// The formula that it works, with the name of the working.
    pub working: Option<(&'a Formula, String)>,
}

impl Begun<'_> {
    /// The page's text.
    #[must_use]
    pub fn text(&self) -> String {
        let mut out = String::from("---\n");
        // The keys come in the order of their table; only those that have a value are written.
        let table = if self.is_reply { &REPLY } else { &GUIDE };
        for key in table.keys {
            match self.value(key.name) {
                Some(Written::One(text)) => out.push_str(&format!("{}: {}\n", key.name, scalar(&text))),
                Some(Written::Words(words)) => out.push_str(&format!("{}: [{}]\n", key.name, words.join(", "))),
                Some(Written::Lines(lines)) => {
                    out.push_str(&format!("{}:\n", key.name));
                    out.push_str(&lines.iter().map(|line| format!("  - {}\n", scalar(line))).collect::<String>());
                }
                None if key.name == "approved_by" => {
                    out.push_str("# approved_by: who has read it; until then the sheet is a draft\n");
                }
                None => {}
            }
        }
        out.push_str("---\n\n");
        out.push_str(&if self.is_reply { self.reply() } else { GUIDE_BODY.to_owned() });
        out
    }

    fn value(&self, key: &str) -> Option<Written> {
        let one = |text: &str| Some(Written::One(text.to_owned()));
        match key {
            "title" => Some(Written::One(self.title())),
            "summary" => Some(Written::One(self.summary())),
            "topic" => one(self.topic).filter(|_| !self.topic.is_empty()),
            "number" => one(&self.number),
            "revision" => one("A"),
            "issued" => one(&self.on.to_string()),
            "prepared_by" => one(self.by),
            "done_by" => one("mechanic").filter(|_| !self.is_reply),
            "hazards" => {
                let hazards = start_of(self.topic).map_or(&[][..], |start| start.hazards);
                (!hazards.is_empty()).then(|| Written::Words(hazards.iter().map(|word| (*word).to_owned()).collect()))
            }
            "asks" => self.is_reply.then(|| Written::Lines(vec![asked(&self.title())])),
            "key_figure" => self.figure().map(Written::One),
            "right_when" => (!self.is_reply)
                .then(|| Written::Lines(vec!["write here how the reader knows that it is right".to_owned()])),
            "stop_when" => {
                (!self.is_reply).then(|| Written::Lines(vec!["write here what brings the bike to the shop".to_owned()]))
            }
            _ => None,
        }
    }

    /// The title; a figure in it that goes into the working is set by a mark, since it changes with the working.
    fn title(&self) -> String {
        let mut title = literal(self.title);
        let Some((formula, name)) = &self.working else { return title };
        let given = formula.examples.first().map(|example| &example.given[..]).unwrap_or_default();
        for input in &formula.inputs {
            let own = given.iter().find(|(of, _)| *of == input.name).map(|(_, text)| text);
            // The example may give another value than the usual one, of which the question speaks. A bare count could be
            // any number of the sentence.
            let said = own.into_iter().chain(&input.default).map(crate::text::Mapped::text);
            if let Some(said) = said.filter(|said| said.contains(' ')).find(|said| title.contains(said)) {
                title = title.replacen(said, &format!("(={name}.{})", input.name), 1);
            }
        }
        title
    }

    fn summary(&self) -> String {
        match (&self.working, self.is_reply) {
            (Some((formula, _)), _) => format!("{}, worked out for one bike.", literal(&formula.title)),
            (None, true) => "Write here the answer in one sentence.".to_owned(),
            (None, false) => "Write here in one sentence what the reader can do with this sheet.".to_owned(),
        }
    }

    /// The first result of the working, as pages call it.
    fn figure(&self) -> Option<String> {
        let (formula, name) = self.working.as_ref()?;
        Some(format!("{name}.{}", formula.outputs.first()?.name))
    }

    fn reply(&self) -> String {
        let Some((formula, name)) = &self.working else {
            return "Write here the answer as you would give it at the counter. A `working` block works a formula, a \
                    `pairing` block asks whether\nparts go together.\n"
                .to_owned();
        };
        let figure = self.figure().map_or(String::new(), |figure| format!(" The figure: (={figure})."));
        let mut out = format!("Write here the answer as you would give it at the counter.{figure}\n\n");
        out.push_str(&format!("```working\nname: {name}\nformula: {}\ngiven:\n", formula.id));
        // Every formula that comes with the program has an example, and so has every one of a shop.
        for (input, value) in formula.examples.first().map(|example| &example.given[..]).unwrap_or_default() {
            out.push_str(&format!("  {input}: {}\n", scalar(value.text())));
        }
        let shown: Vec<&str> = formula.outputs.iter().take(MOST_SHOWN).map(|output| output.name.as_str()).collect();
        out.push_str(&format!("show: [{}]\n```\n\n", shown.join(", ")));
        out.push_str("The values are those of the formula's own example: put the bike's in their place.\n");
        out
    }
}

/// More results than these are not set large.
const MOST_SHOWN: usize = 3;

enum Written {
    One(String),
    Words(Vec<String>),
    Lines(Vec<String>),
}

const GUIDE_BODY: &str = "Write here what the work is for, and when it is not worth doing.

## See what is there

What to look at and to measure before anything comes off. Quote a torque or a limit once under content/stated, and set it
here by a mark.

## Do the work

One act to a sentence, in the order in which hands do it. Where somebody can be hurt, a `safety` block stands before the
act.

## Check it

How the work is proved before the bike is ridden, and where to stop and ask.
";

fn start_of(topic: &str) -> Option<&'static Start> {
    STARTS.iter().find(|start| start.topic == topic)
}

/// A text in which nothing is a mark.
fn literal(text: &str) -> String {
    text.replace("(=", "\\(=")
}

/// A question as a rider types it: small at its front, without its sign.
fn asked(question: &str) -> String {
    let question = question.trim().trim_end_matches('?').trim_end();
    let mut signs = question.chars();
    let first = signs.next();
    // A word in capitals, or I, stays as it is.
    let is_word = signs.clone().next().is_some_and(char::is_lowercase);
    match first {
        Some(first) if is_word => first.to_lowercase().chain(signs).collect(),
        _ => question.to_owned(),
    }
}

/// A name for the working of a formula: the first word of its id, or the whole, that nothing else is called by.
#[must_use]
pub fn working_name(formula: &Formula, taken: &[String]) -> String {
    let id = formula.id.as_str();
    let first = id.split('-').next().unwrap_or(id);
    let is_free = |name: &str| {
        let mut faults = Vec::new();
        check_name(&Spanned::new(name.to_owned(), Span::default()), "a working", &mut faults);
        faults.is_empty() && !taken.iter().any(|own| own == name)
    };
    [first, id].into_iter().find(|name| is_free(name)).unwrap_or("worked").to_owned()
}

/// The next number of a topic's series, or of the replies': one above the highest that any sheet has or had.
#[must_use]
pub fn next_number(sources: &[Arc<Source>], topic: Option<&str>) -> String {
    let taken: Vec<(String, u32)> = sources.iter().flat_map(|source| numbers_of(source)).collect();
    let folder = topic.map_or("content/replies/".to_owned(), |topic| format!("content/guides/{topic}/"));
    let of_folder = sources.iter().filter(|source| source.name.starts_with(&folder));
    let mut series: HashMap<String, usize> = HashMap::new();
    for (own, _) in of_folder.flat_map(|source| numbers_of(source)) {
        *series.entry(own).or_default() += 1;
    }
    let most = series.into_iter().max_by(|one, other| one.1.cmp(&other.1).then_with(|| other.0.cmp(&one.0)));
    let series = most.map_or_else(
        || topic.map_or(REPLIES, |topic| start_of(topic).map_or("SH", |start| start.series)).to_owned(),
        |(series, _)| series,
    );
    let highest = taken.iter().filter(|(own, _)| *own == series).map(|(_, number)| *number).max().unwrap_or(0);
    format!("{series}-{:03}", highest.saturating_add(1))
}

/// The sheet numbers that a file tells of, as they are written.
pub fn sheet_numbers(source: &Source) -> impl Iterator<Item = String> {
    numbers_of(source).into_iter().map(|(series, number)| format!("{series}-{number:03}"))
}

/// The sheet numbers that a file tells of: its own, and of the register all.
fn numbers_of(source: &Source) -> Vec<(String, u32)> {
    if source.name == "content/register.yaml" {
        let words = source.text.split(|c: char| !(c.is_ascii_alphanumeric() || c == '-'));
        return words.filter_map(parted).collect();
    }
    // Of a page only the front matter: its body may show another sheet's.
    let end = source.text.get(3..).and_then(|rest| rest.find("\n---")).map_or(source.text.len(), |end| end + 3);
    let is_page = std::path::Path::new(&source.name).extension().is_some_and(|ending| ending == "md");
    let head = if is_page { &source.text[..end] } else { source.text.as_str() };
    let own = head.lines().filter_map(|line| line.strip_prefix("number:"));
    own.filter_map(|text| parted(text.split('#').next().unwrap_or_default().trim().trim_matches(['"', '\'']))).collect()
}

/// `DT-014`: the series and the number.
fn parted(word: &str) -> Option<(String, u32)> {
    let (series, digits) = word.rsplit_once('-')?;
    let is_series = !series.is_empty() && series.chars().all(|c| c.is_ascii_uppercase());
    (is_series && digits.chars().all(|c| c.is_ascii_digit()))
        .then(|| Some((series.to_owned(), digits.parse().ok()?)))?
}

#[cfg(test)]
mod tests {
    use super::{STARTS, asked, next_number};
    use crate::diagnostic::Source;
    use crate::library::guide::TOPICS;
    use crate::library::hazards::HAZARDS;
    use std::sync::Arc;

    #[test]
    fn every_topic_has_its_start() {
        assert!(TOPICS.iter().map(|(topic, _)| topic).eq(STARTS.iter().map(|start| &start.topic)));
        for start in STARTS {
            assert!(
                start.hazards.iter().all(|word| HAZARDS.iter().any(|(hazard, _)| hazard == word)),
                "{}",
                start.topic
            );
        }
    }

    #[test]
    fn numbers_that_were_taken_stay_taken() {
        let files = |texts: &[(&str, &str)]| -> Vec<Arc<Source>> {
            texts.iter().map(|(name, text)| Arc::new(Source::new(*name, *text))).collect()
        };
        let guide = ("content/guides/wheels/one.md", "---\nnumber: LR-004 # ours\n---\nnumber: LR-090\n");
        assert_eq!(next_number(&files(&[guide]), Some("wheels")), "LR-005", "the library's own series");
        assert_eq!(next_number(&files(&[guide]), Some("tyres")), "TY-001", "a series begins");
        assert_eq!(next_number(&files(&[]), None), "RP-001");
        let moved = ("content/faults/two.yaml", "title: A chart\nnumber: \"LR-007\"\n");
        assert_eq!(next_number(&files(&[guide, moved]), Some("wheels")), "LR-008", "any sheet's");
        let register = ("content/register.yaml", "LR-012 chain.links: 110 links\n");
        assert_eq!(
            next_number(&files(&[guide, register]), Some("wheels")),
            "LR-013",
            "a sheet that was signed and is gone"
        );
    }

    #[test]
    fn questions_are_asked_as_riders_type_them() {
        assert_eq!(asked("How long?"), "how long");
        assert_eq!(asked("CO2 or pump?"), "CO2 or pump");
        assert_eq!(asked("I sit crooked?"), "I sit crooked");
    }
}
