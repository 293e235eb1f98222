//! A rule about parts as data: which families it joins, what it asks, what it says, on whose word.
//!
//! ```yaml
//! id: total-capacity              # kebab-case
//! title: Slack that the rear derailleur takes up
//! topic: drivetrain
//! joins: {derailleur: rear_derailleur, cassette: cassette, crank: crank}
//!                                 # name in this rule: family; `front tyre` is the one at the front wheel. Joined
//!                                 # parts of families with places sit at one end of the bicycle unless this says else
//! together: true                  # without one of its families the rule is silent; else what is missing is told,
//! tells_with: [derailleur]        # where these of its parts are there,
//! instead: [freewheel]            # and none of a family that stands in for what is missing
//! alike: true                     # the parts are all at an end of the bicycle that somebody named, or none is
//! applies: "…"                    # a question; where it is false the rule has nothing to say
//! by: rear-capacity               # a bundled formula, its steps worked with these values; its names are known below
//! given: {largest_chainring: crank.largest, …}
//! steps: [name = expression]      # more steps
//! figures: [{name, kind, unit, decimals, about}]     # steps that are told, with their style
//! outcomes:                       # the first whose question is true; the last has none
//!   - {when: "…", verdict: fits, message: "… (=derailleur.capacity) …", notice: true}
//! cautions: [sentence]
//! source: …
//! examples: [{parts: {derailleur: {capacity: 37 teeth}, …}, gives: fits, says: [words of the message], source}]
//!                                 # gives: a verdict, or `silent`; each attribute that stands there decides
//! ```
//! Everything is checked when it is loaded (`rule_load`). Working a rule on parts is here; which parts are put to it
//! is `ask`'s business.

use super::question::{Given, Known, Question, State};
use super::value::{Value, Values};
use super::{Place, Verdict};
use crate::fault::{Fault, id};
use crate::mechanics::bounds::Truth;
use crate::mechanics::figure::{NO_BREAK, Style};
use crate::mechanics::interval::Interval;
use crate::mechanics::mark::{Mark, TextPiece};
use crate::mechanics::term::{PLACES, Term};
use crate::text::Span;

/// A rule, checked.
#[derive(Clone, Debug)]
pub struct Rule {
    /// The rule's own name.
    pub id: String,
    /// What it is about.
    pub title: String,
    /// The topic under which it is listed.
    pub topic: String,
    /// The families that it joins.
    pub joins: Vec<Joined>,
    /// True where it is silent unless all its families are there.
    pub together: bool,
    /// The joined parts without which it is silent too.
    pub tells_with: Vec<usize>,
    /// Families that stand in for one of its own: with one of them it is silent.
    pub instead: Vec<String>,
    /// True where it is put to parts only if all have a place, or none has.
    pub alike: bool,
    /// Where it has something to say; everywhere without it.
    pub applies: Option<Question>,
    /// What is worked, in order.
    pub steps: Vec<Term>,
    /// Inputs of a formula among the steps: their places, least and most in base units.
    pub ranges: Vec<(usize, f64, f64)>,
    /// Names and what they stand for.
    pub known: Known,
    /// The steps that are told.
    pub figures: Vec<Told>,
    /// What it may say.
    pub outcomes: Vec<Outcome>,
    /// What goes wherever the rule speaks.
    pub cautions: Vec<String>,
    /// On whose word.
    pub source: String,
    /// Worked examples.
    pub examples: Vec<RuleExample>,
    /// Digits of a hash of what it says.
    pub version: String,
}

/// A part that a rule joins.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Joined {
    /// Its name in the rule.
    pub name: String,
    /// Its family.
    pub family: String,
    /// The end of the bicycle, where the rule says which.
    pub place: Option<Place>,
}

/// A step that is told, with its style.
#[derive(Clone, Debug)]
pub struct Told {
    /// The step's name.
    pub name: String,
    /// Its place among the numbers.
    pub place: usize,
    /// How it is written.
    pub style: Style,
    /// What it is.
    pub about: String,
}

/// Something that a rule may say.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// When; always without it.
    pub when: Option<Question>,
    /// The verdict.
    pub verdict: Verdict,
    /// In words and figures.
    pub message: Vec<TextPiece>,
    /// True where the words are a notice, to be heeded though the parts fit.
    pub notice: bool,
}

/// A worked example of a rule.
#[derive(Clone, Debug)]
pub struct RuleExample {
    /// The attributes of each joined part that decide.
    pub parts: Vec<Values>,
    /// The verdict; `None` where the rule has nothing to say.
    pub gives: Option<Verdict>,
    /// What the message says among other things.
    pub says: Vec<String>,
    /// Who says so.
    pub source: String,
    /// Where it stands.
    pub span: Span,
}

/// What a rule says about a set of parts.
#[derive(Clone, PartialEq, Debug)]
pub struct Spoken {
    /// The verdict.
    pub verdict: Verdict,
    /// In words; of what is not known, why.
    pub message: String,
    /// True where the words are a notice.
    pub notice: bool,
    /// Which outcome it was; `None` where nothing was settled.
    pub outcome: Option<usize>,
    /// Attributes that would settle it, as joined part and attribute of its family.
    pub missing: Vec<(usize, String)>,
}

/// A figure that a rule compared.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Compared {
    /// Which of the joined parts has it; `None` where the rule worked it out.
    pub join: Option<usize>,
    /// What it is.
    pub about: String,
    /// Its text.
    pub text: String,
}

impl Rule {
    /// Puts parts to the rule, one for each of `joins`, in their order; `None` where it has nothing to say.
    #[must_use]
    pub fn put(&self, parts: &[&Values]) -> Option<Spoken> {
        let mut given = self.given(parts);
        if let Some(applies) = &self.applies {
            let answer = applies.ask(&mut given);
            match answer.truth {
                Truth::Never => return None,
                Truth::Open => return Some(self.open(&answer.missing, given.bounds.is_some())),
                Truth::Always => {}
            }
        }
        let mut doubtful: Vec<usize> = Vec::new();
        for (place, outcome) in self.outcomes.iter().enumerate() {
            if let Some(when) = &outcome.when {
                let answer = when.ask(&mut given);
                match answer.truth {
                    Truth::Never => continue,
                    // A tolerance that reaches over two outcomes of one verdict leaves that verdict as it is.
                    Truth::Open if answer.missing.is_empty() => {
                        doubtful.push(place);
                        continue;
                    }
                    Truth::Open => return Some(self.open(&answer.missing, given.bounds.is_some())),
                    Truth::Always => {}
                }
            }
            if doubtful.iter().any(|open| self.outcomes[*open].verdict != outcome.verdict) {
                break;
            }
            let place = self.at_stated_numbers(&doubtful, parts).unwrap_or(place);
            let outcome = &self.outcomes[place];
            return Some(Spoken {
                verdict: outcome.verdict,
                message: self.message(&outcome.message, &given),
                notice: outcome.notice,
                outcome: Some(place),
                missing: Vec::new(),
            });
        }
        Some(self.open(&[], given.bounds.is_some()))
    }

    /// The first of some outcomes whose question is true when every tolerance is left out.
    fn at_stated_numbers(&self, doubtful: &[usize], parts: &[&Values]) -> Option<usize> {
        if doubtful.is_empty() {
            return None;
        }
        let mut given = self.given(parts);
        given.bounds = None;
        let holds = |place: &&usize| {
            let when = self.outcomes[**place].when.as_ref();
            when.is_some_and(|when| when.ask(&mut given).truth == Truth::Always)
        };
        doubtful.iter().find(holds).copied()
    }

    /// True where the rule has nothing to say of parts, some of which may not be named yet.
    #[must_use]
    pub fn is_silent(&self, parts: &[&Values]) -> bool {
        self.applies.as_ref().is_some_and(|applies| applies.ask(&mut self.given(parts)).truth == Truth::Never)
    }

    /// The faults of its examples: a verdict that it doesn't give, or words that its message doesn't hold.
    #[must_use]
    pub fn check_examples(&self) -> Vec<Fault> {
        let wrong = |example: &RuleExample| {
            let spoken = self.put(&example.parts.iter().collect::<Vec<_>>());
            let verdict = spoken.as_ref().map(|spoken| spoken.verdict);
            let said = |verdict: Option<Verdict>| verdict.map_or("silent", Verdict::words);
            let message = spoken.map(|spoken| spoken.message.replace(NO_BREAK, " ")).unwrap_or_default();
            let unsaid = example.says.iter().find(|words| !message.contains(words.as_str()));
            let found = match (verdict == example.gives, unsaid) {
                (true, None) => return None,
                (false, _) => format!("{}, and the example says {}", said(verdict), said(example.gives)),
                (true, Some(words)) => format!("no {words} in: {message}"),
            };
            let message = "this example is not what the rule says";
            Some(
                Fault::new(id::EXAMPLE_OUT, example.span, message)
                    .found(found)
                    .cure("think the example through once more; mend the rule, or the example"),
            )
        };
        self.examples.iter().filter_map(wrong).collect()
    }

    fn given<'a>(&self, parts: &[&'a Values]) -> Given<'a> {
        let values: Vec<Option<&Value>> = self
            .known
            .reads
            .iter()
            .map(|read| parts.get(read.join).and_then(|values| values.get(&read.attribute.name)))
            .collect();
        let mut given = Given { values, numbers: [0.0; PLACES], state: Vec::new(), bounds: None };
        let mut bounds = Vec::new();
        let mut exact = true;
        for (index, read) in self.known.reads.iter().enumerate() {
            let Some(place) = read.place else { continue };
            if let Some(reading) = given.values[index].and_then(Value::number) {
                given.numbers[place] = reading.value;
                exact &= reading.bounds.is_point();
                bounds.push(reading.bounds);
                given.state.push(State::Known);
            } else {
                bounds.push(Interval::WHOLE);
                given.state.push(State::Missing(vec![index]));
            }
        }
        given.bounds = (!exact).then_some(bounds);
        for step in &self.steps {
            given.work_step(step);
            given.hold(&self.ranges);
        }
        given
    }

    fn open(&self, missing: &[usize], with_tolerance: bool) -> Spoken {
        let mut told: Vec<(usize, String)> = Vec::new();
        for read in missing.iter().map(|read| &self.known.reads[*read]) {
            let one = (read.join, read.attribute.name.clone());
            if !told.contains(&one) {
                told.push(one);
            }
        }
        let message = match (told.is_empty(), with_tolerance) {
            (false, _) => "",
            (true, true) => "The tolerances reach over both answers: measure finer.",
            (true, false) => "The sum has no answer for these numbers: check them against each other.",
        };
        Spoken { verdict: Verdict::NotKnown, message: message.to_owned(), notice: false, outcome: None, missing: told }
    }

    /// A message with its figures in it; what is not known is said to be so.
    fn message(&self, pieces: &[TextPiece], given: &Given<'_>) -> String {
        let mut out = String::new();
        for piece in pieces {
            match piece {
                TextPiece::Words(words) => out.push_str(words),
                TextPiece::Mark(mark) => {
                    let text = self.text_of(mark, given);
                    out.push_str(&text.unwrap_or_else(|| "(not known)".to_owned()));
                }
            }
        }
        out
    }

    /// The text of a figure as a mark asks for it.
    fn text_of(&self, mark: &Mark, given: &Given<'_>) -> Option<String> {
        let name = mark.name.value.as_str();
        let styled = |style: Style, number: f64| {
            let mut style = match &mark.unit {
                Some(unit) => style.converted(unit.value.clone()),
                None => style,
            };
            if mark.decimals.is_some() {
                style.decimals = mark.decimals;
            }
            if mark.bare { style.bare(number) } else { style.text(number) }
        };
        if let Some(index) = self.known.reads.iter().position(|read| read.name == name) {
            let read = &self.known.reads[index];
            let value = given.values[index]?;
            return match (value.number(), read.attribute.number()) {
                (Some(reading), Some(input)) if mark.bare || mark.unit.is_some() => {
                    Some(styled(input.style(), reading.value))
                }
                _ => Some(value.text(&read.attribute)),
            };
        }
        let told = self.figures.iter().find(|told| told.name == name)?;
        (given.state[told.place] == State::Known).then(|| styled(told.style.clone(), given.numbers[told.place]))
    }

    /// What is known of what the rule reads of parts, and of the steps that the words of an outcome tell.
    #[must_use]
    pub fn compared(&self, parts: &[&Values], outcome: Option<usize>) -> Vec<Compared> {
        let given = self.given(parts);
        let words: &[TextPiece] = outcome.map_or(&[], |place| &self.outcomes[place].message);
        let says = |told: &Told| {
            words.iter().any(|piece| matches!(piece, TextPiece::Mark(mark) if mark.name.value == told.name))
        };
        let reads = self.known.reads.iter().zip(&given.values).filter_map(|(read, value)| {
            let text = value.as_ref()?.text(&read.attribute);
            Some(Compared { join: Some(read.join), about: read.attribute.about.clone(), text })
        });
        let told = self.figures.iter().filter(|told| given.state[told.place] == State::Known && says(told));
        let told = told.map(|told| {
            let text = told.style.text(given.numbers[told.place]);
            Compared { join: None, about: told.about.clone(), text }
        });
        reads.chain(told).collect()
    }
}
