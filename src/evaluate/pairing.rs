//! A question about parts of the shelf answered: the verdict and its reasons as text, ready for pages and terminals.
//!
//! The engine's findings in, words out: what each rule said, what it compared, on whose word; of what is not known,
//! what to measure and how, and which guide shows it. Nothing is judged here.

use crate::fault::{Fault, id};
use crate::library::shelf::{Part, Shelf};
use crate::mechanics::pairing::ask::{Asked, Asking, Finding, Pairing, Unjoined};
use crate::mechanics::pairing::value::{NOTHING, Values};
use crate::mechanics::pairing::{Place, Verdict};
use crate::text::{Span, capital};

/// A part of the shelf, and where it goes.
#[derive(Clone, Copy, Debug)]
pub struct Chosen<'a> {
    /// The part.
    pub part: &'a Part,
    /// The end of the bicycle, where somebody said which.
    pub place: Option<Place>,
}

/// The answer, as text.
#[derive(Clone, PartialEq, Debug)]
pub struct ToldPairing {
    /// The worst of all that was said.
    pub verdict: Verdict,
    /// The parts, in the order of the question.
    pub parts: Vec<ToldPart>,
    /// What was said, the worst first.
    pub reasons: Vec<Reason>,
    /// Pairs that nothing is known of.
    pub unjoined: Vec<String>,
    /// How many pairs have no bearing on each other.
    pub apart: usize,
}

/// A part as it is named.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ToldPart {
    /// Its name on the shelf.
    pub name: String,
    /// What it is called, with its place.
    pub title: String,
    /// The end of the bicycle, where somebody said which.
    pub place: Option<Place>,
}

/// What one rule said.
#[derive(Clone, PartialEq, Debug)]
pub struct Reason {
    /// The rule.
    pub rule: String,
    /// What it is about.
    pub title: String,
    /// Its verdict.
    pub verdict: Verdict,
    /// In words.
    pub message: String,
    /// True where the words are a notice.
    pub notice: bool,
    /// The names of the parts that it was put to.
    pub parts: Vec<String>,
    /// Their places among the parts that were asked about.
    pub places: Vec<usize>,
    /// What was compared: what it is, and its text.
    pub compared: Vec<(String, String)>,
    /// What to measure where something is not known.
    pub measure: Vec<Measure>,
    /// What goes wherever the rule speaks.
    pub cautions: Vec<String>,
    /// On whose word.
    pub source: String,
}

/// Something to measure.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Measure {
    /// The part's name.
    pub part: String,
    /// The part's title.
    pub of: String,
    /// The attribute.
    pub attribute: String,
    /// What it means.
    pub about: String,
    /// How it is measured.
    pub how: String,
    /// The guide that shows it: its file, and a place in it.
    pub guide: Option<(String, Option<String>)>,
}

/// More parts than this, or more of one family, are no bicycle, and every choice of them would be put to every rule.
const MOST_PARTS: usize = 150;
const MOST_OF_A_FAMILY: usize = 10;

/// What is wrong with how many parts are asked about, as found and allowed; nothing where it is well.
fn too_many(parts: &[Chosen<'_>]) -> Option<(String, String)> {
    let of = |family: &str| parts.iter().filter(|chosen| chosen.part.family == family).count();
    let most = parts.iter().map(|chosen| chosen.part.family.as_str()).find(|family| of(family) > MOST_OF_A_FAMILY);
    let most = most.map(|family| (format!("{} of the family {family}", of(family)), MOST_OF_A_FAMILY.to_string()));
    let all = (parts.len() > MOST_PARTS).then(|| (format!("{} parts", parts.len()), MOST_PARTS.to_string()));
    most.or(all)
}

/// The fault of asking about too many parts.
#[must_use]
pub fn check_count(parts: &[Chosen<'_>], span: Span) -> Option<Fault> {
    let (found, allowed) = too_many(parts)?;
    let fault = Fault::new(id::TABLE_SIZE, span, "these are more parts than one bicycle has").found(found);
    Some(fault.allowed(format!("{allowed} at most")).cure("ask about fewer at a time; a fit table crosses long lists"))
}

/// Asks the rules about parts of the shelf.
#[must_use]
pub fn ask(shelf: &Shelf, parts: &[Chosen<'_>]) -> ToldPairing {
    let asking = Asking::of(&shelf.rules, parts.iter().map(|chosen| chosen.part.family.as_str()));
    told(shelf, parts, &asking.ask(&asked(parts)))
}

/// The parts as the engine takes them.
#[must_use]
pub fn asked<'a>(parts: &[Chosen<'a>]) -> Vec<Asked<'a>> {
    let one =
        |chosen: &Chosen<'a>| Asked { family: &chosen.part.family, place: chosen.place, values: &chosen.part.values };
    parts.iter().map(one).collect()
}

/// An answer as text.
#[must_use]
pub fn told(shelf: &Shelf, parts: &[Chosen<'_>], pairing: &Pairing<'_>) -> ToldPairing {
    let only = parts.len() == 2;
    let pairs = pairing.unjoined.iter().filter(|pair| only || pair.apart.is_none());
    let unjoined = pairs.map(|pair| unjoined(shelf, parts, pair));
    ToldPairing {
        verdict: pairing.verdict,
        parts: parts.iter().map(told_part).collect(),
        reasons: pairing.findings.iter().map(|finding| reason(shelf, parts, finding)).collect(),
        unjoined: unjoined.collect(),
        apart: pairing.unjoined.iter().filter(|pair| pair.apart.is_some()).count(),
    }
}

fn told_part(chosen: &Chosen<'_>) -> ToldPart {
    let title = match chosen.place {
        Some(place) if chosen.part.title.contains(place.word()) => chosen.part.title.clone(),
        Some(place) => format!("{} ({})", chosen.part.title, place.word()),
        None => chosen.part.title.clone(),
    };
    ToldPart { name: chosen.part.name.value.clone(), title, place: chosen.place }
}

/// What is said of two parts that no rule joins.
pub(super) fn unjoined(shelf: &Shelf, parts: &[Chosen<'_>], pair: &Unjoined) -> String {
    let family = |chosen: &Chosen<'_>| {
        let title = shelf.family_of(chosen.part).map_or(chosen.part.family.as_str(), |family| family.title.as_str());
        with_article(&title.to_lowercase())
    };
    let [one, other] = pair.parts.map(|place| family(&parts[place]));
    let [first, second] = pair.parts.map(|place| &parts[place]);
    let placed = first.place.is_some() || second.place.is_some();
    if pair.apart.is_none() && shelf.rules.joins(&first.part.family, &second.part.family) {
        return if placed {
            format!("{} and {other} are not at one end of a bicycle here.", capital(&one))
        } else if first.part.family == second.part.family {
            format!("Say which is at the front and which at the rear: two of {one} are compared so.")
        } else {
            format!(
                "The rules that join {one} and {other} have nothing to say of these two: nothing is known of them together."
            )
        };
    }
    match &pair.apart {
        Some(why) => format!("No rule joins {one} and {other}: {why}."),
        None => format!("No rule speaks of {one} with {other}: nothing is known of the two together."),
    }
}

/// `a tyre`, `an axle`.
fn with_article(word: &str) -> String {
    let an = word.starts_with(['a', 'e', 'i', 'o', 'u']);
    format!("{} {word}", if an { "an" } else { "a" })
}

fn reason(shelf: &Shelf, parts: &[Chosen<'_>], finding: &Finding<'_>) -> Reason {
    let spoken = &finding.spoken;
    let chosen = |join: usize| finding.parts.get(join).copied().flatten().map(|place| &parts[place]);
    let measure: Vec<Measure> =
        spoken.missing.iter().filter_map(|(join, attribute)| measure(shelf, chosen(*join)?, attribute)).collect();
    let message = if spoken.message.is_empty() {
        let told: Vec<String> = measure.iter().map(|one| format!("{}: {}", one.of, one.about)).collect();
        format!("Not known yet. {}.", told.join("; "))
    } else {
        spoken.message.clone()
    };
    let values: Vec<&Values> =
        finding.parts.iter().map(|place| place.map_or(&NOTHING, |place| &parts[place].part.values)).collect();
    let compared = finding.rule.compared(&values, spoken.outcome);
    let compared = compared.iter().map(|one| {
        let about = match one.join.and_then(chosen) {
            Some(chosen) => format!("{}: {}", told_part(chosen).title, one.about),
            None => capital(&one.about),
        };
        (about, one.text.clone())
    });
    Reason {
        rule: finding.rule.id.clone(),
        title: finding.rule.title.clone(),
        verdict: spoken.verdict,
        message,
        notice: spoken.notice,
        parts: finding.parts.iter().flatten().map(|place| parts[*place].part.name.value.clone()).collect(),
        places: finding.parts.iter().flatten().copied().collect(),
        compared: compared.collect(),
        measure,
        cautions: finding.rule.cautions.clone(),
        source: finding.rule.source.clone(),
    }
}

/// What to measure of a part.
pub(super) fn measure(shelf: &Shelf, chosen: &Chosen<'_>, attribute: &str) -> Option<Measure> {
    let family = shelf.family_of(chosen.part)?;
    let known = family.attribute(attribute)?;
    let shown = shelf.measured_in.get(&(family.id.clone(), attribute.to_owned()));
    let guide = shown.and_then(|shown| {
        let (path, place) = match shown.path.value.split_once('#') {
            Some((path, place)) => (path, Some(place.to_owned())),
            None => (shown.path.value.as_str(), None),
        };
        Some((super::links::join(&shown.file, path)?, place))
    });
    Some(Measure {
        part: chosen.part.name.value.clone(),
        of: told_part(chosen).title,
        attribute: attribute.to_owned(),
        about: known.about.clone(),
        how: known.how.clone(),
        guide,
    })
}
