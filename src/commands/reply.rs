//! A paragraph to send to the rider, in the shop's voice: the answer, how sure it is, what to check, what to heed, what to
//! read, who says so.
//!
//! It is made to be read aloud: whole sentences, no markup, tolerances in words. What a library lends is its units, its
//! guide and its name; without one the rest stands alone. Nothing is judged here.

use super::further::{self, guide_of_formula, guide_of_pairing, plain_words};
use super::pair::{heed, once};
use super::reckon_text::{PRECEDENCE, tolerance_text};
use super::terminal::write_wrapped;
use super::values::{Values, in_a_sentence};
use crate::evaluate::beside::Units;
use crate::evaluate::pairing::{Reason, ToldPairing};
use crate::library::Library;
use crate::library::guide::Guide;
use crate::library::shelf::Shelf;
use crate::mechanics::enclose::{Spread, enclose};
use crate::mechanics::formula::{Formula, Output};
use crate::mechanics::interval::Interval;
use crate::mechanics::pairing::Verdict;
use crate::mechanics::print::words;
use crate::mechanics::settle::settling;
use crate::mechanics::working::Working;
use crate::text::capital;
use std::io::IsTerminal as _;

/// How many signs of good work are told.
const SIGNS: usize = 2;

/// How many reasons are told of parts that go together.
const REASONS: usize = 4;

/// The reply to a question that a formula answers.
#[must_use]
pub(super) fn reckoned(
    working: &Working<'_>,
    values: &Values<'_>,
    library: Option<&Library>,
    units: &Units,
    width: usize,
) -> String {
    let formula = working.formula;
    let guide = library.and_then(|library| guide_of_formula(library, formula));
    let outputs = further::told(working, guide);
    let mut said = vec![formula.question.clone()];
    said.push(format!("For {}, {}", basis(working, values, units), answer(working, &outputs, units)));
    if !working.stopped {
        said.extend(how_sure(working, &outputs, units));
    }
    for spoken in &working.spoken {
        let may = if spoken.stated { "" } else { "Within those tolerances this may be so too: " };
        said.push(format!("{may}{}", spoken.limit.message));
    }
    if !working.stopped {
        said.push(format!("It takes this for granted: {}.", first_clause(&formula.valid)));
        said.extend(guide.and_then(signs));
    }
    said.extend(formula.cautions.iter().map(|caution| ended(caution)));
    said.extend(library.zip(guide).map(|(library, guide)| to_read(library, guide)));
    said.push(format!("It rests on {}.", first_clause(&formula.source)));
    said.extend(closing(library));
    paragraph(&said, width)
}

/// What the answer was worked from: what was given, then what was taken as usual.
fn basis(working: &Working<'_>, values: &Values<'_>, units: &Units) -> String {
    let inputs = working.formula.inputs.iter().zip(&working.readings).zip(&values.given);
    let (mut given, mut usual) = (Vec::new(), Vec::new());
    let mut last = None;
    for ((input, reading), value) in inputs {
        let text = called(&words(&input.name), &units.figure(&reading.text(&input.style())));
        let told = value.as_ref().and_then(|value| value.told.as_deref());
        let text = match told {
            Some(told) if last == Some(told) => format!("{text} (likewise)"),
            Some(told) => format!("{text} ({told})"),
            None => text,
        };
        last = told.or(last);
        if value.is_some() { given.push(text) } else { usual.push(text) }
    }
    let usual = listed(&usual);
    match (given.is_empty(), usual.is_empty()) {
        (true, _) => format!("the usual {usual}"),
        (false, true) => listed(&given),
        (false, false) => format!("{}, and as usual {usual}", listed(&given)),
    }
}

/// `chainring 50 teeth`; `24 links`, where a name would only say its unit once more.
fn called(name: &str, text: &str) -> String {
    if text.ends_with(name) { text.to_owned() } else { format!("{name} {text}") }
}

fn answer(working: &Working<'_>, outputs: &[&Output], units: &Units) -> String {
    if working.stopped {
        return "there is no answer.".to_owned();
    }
    let told = outputs.iter().filter_map(|output| Some((figure(working, output, units)?, about(output))));
    let told: Vec<(String, String)> = told.collect();
    match &told[..] {
        [(figure, about)] => format!("the answer is {figure}: {about}."),
        all => {
            let all: Vec<String> = all.iter().map(|(figure, about)| format!("{about}, {figure}")).collect();
            format!("the answer is this: {}.", all.join("; "))
        }
    }
}

/// A figure as a sheet sets it; links with their pairs, since chain is cut by pairs.
fn figure(working: &Working<'_>, output: &Output, units: &Units) -> Option<String> {
    Some(with_pairs(working, output, &units.figure(&working.text(output)?), |pairs| working.text(pairs)))
}

fn with_pairs(working: &Working<'_>, output: &Output, text: &str, of: impl Fn(&Output) -> Option<String>) -> String {
    let pairs = working.formula.output("pairs").filter(|_| output.name == "links").and_then(of);
    pairs.map_or_else(|| text.to_owned(), |pairs| format!("{text} ({pairs} pairs)"))
}

/// What a figure is, up to the first stop in its description.
pub(super) fn about(output: &Output) -> String {
    output.about.split([':', ';']).next().unwrap_or_default().trim().to_owned()
}

/// How sure the answer is, and which measurement decides it.
fn how_sure(working: &Working<'_>, outputs: &[&Output], units: &Units) -> Vec<String> {
    if working.spreads.is_empty() {
        return vec!["No tolerance was given, so it is as sure as the numbers put in.".to_owned()];
    }
    let mut said = Vec::new();
    for output in outputs {
        let Some(spread) = working.spread_text(output) else { continue };
        let of = if outputs.len() > 1 { capital(&about(output)) } else { "It".to_owned() };
        if working.spread(output) == Some(&Spread::NotBounded) {
            said.push(format!("Within those tolerances nothing sure can be said of it: {}.", about(output)));
            continue;
        }
        let spread = with_pairs(working, output, &units.figure(&spread), |pairs| working.spread_text(pairs));
        let any = if spread.starts_with("from ") { "anything " } else { "" };
        said.push(format!("{of} can be {any}{spread} within those tolerances."));
        said.extend(deciding(working, output));
    }
    if said.is_empty() {
        said.push("Anywhere within those tolerances it stays the same.".to_owned());
    }
    said
}

/// The measurements that decide an answer: those that alone leave it open, and how well they would have to be known; of
/// an answer without steps the one whose tolerance reaches furthest.
fn deciding(working: &Working<'_>, output: &Output) -> Vec<String> {
    if let Some(Spread::Within(_)) = working.spread(output) {
        return furthest(working, output).into_iter().collect();
    }
    let told = settling(working, output).into_iter().map(|settling| {
        let input = &working.formula.inputs[settling.input];
        let name = capital(&words(&input.name));
        match settling.tolerance {
            Some(size) => {
                format!("{name} decides it: known within ± {}, it would be settled.", tolerance_text(input, size))
            }
            None => format!("{name} leaves it open, and is not alone in that."),
        }
    });
    told.collect()
}

/// Which measurement makes the most of an answer's width, each tolerance tried alone.
fn furthest(working: &Working<'_>, output: &Output) -> Option<String> {
    let stated: Vec<Interval> = working.readings.iter().map(|reading| Interval::point(reading.value)).collect();
    let width = |place: usize| {
        let mut alone = stated.clone();
        alone[place] = working.readings[place].bounds;
        match enclose(&working.formula.program, &alone).ok()?.get(output.step)? {
            Spread::Within(range) => Some(range.hi - range.lo),
            _ => None,
        }
    };
    let open = (0..stated.len()).filter(|place| !working.readings[*place].bounds.is_point());
    let mut widths: Vec<(usize, f64)> = open.map(|place| Some((place, width(place)?))).collect::<Option<_>>()?;
    widths.sort_by(|one, other| other.1.total_cmp(&one.1));
    let name = |place: usize| words(&working.formula.inputs[place].name);
    match widths[..] {
        [(first, _)] => Some(format!("{} decides it.", capital(&name(first)))),
        [(first, most), (second, next), ..] if most < 1.5 * next => {
            Some(format!("{} and {} decide it about alike.", capital(&name(first)), name(second)))
        }
        [(first, _), ..] => Some(format!("Most of that comes from {}.", name(first))),
        [] => None,
    }
}

/// What shows that the work is right, in the guide's own words.
fn signs(guide: &Guide) -> Option<String> {
    let plain: Vec<String> =
        guide.right_when.iter().filter_map(|words| plain_words(words)).take(SIGNS).map(str::to_owned).collect();
    (!plain.is_empty()).then(|| format!("Check on the bike: {}.", plain.join("; and ")))
}

/// The guide to read, with its address where the shop has one.
fn to_read(library: &Library, guide: &Guide) -> String {
    let title = plain_words(&guide.title).map_or(String::new(), |title| format!(", {title}"));
    let address = library.shop.address(&guide.page).map_or(String::new(), |address| format!(" ({address})"));
    format!("Our guide {}{title}{address} says more.", guide.number.value)
}

/// What comes before any figure of the shop's, what to do in doubt, and who says so.
fn closing(library: Option<&Library>) -> Vec<String> {
    let mut said = vec![PRECEDENCE.to_owned()];
    if let Some(library) = library {
        let shop = &library.shop;
        said.extend(shop.bring_it_in.as_deref().map(ended));
        let phone = shop.phone.as_ref().map_or(String::new(), |phone| format!(", {phone}"));
        said.push(format!("{}{phone}.", shop.name_and_place()));
    }
    said
}

/// The reply to a question about parts.
#[must_use]
pub(super) fn paired(
    told: &ToldPairing,
    shelf: &Shelf,
    library: Option<&Library>,
    units: &Units,
    width: usize,
) -> String {
    let titles: Vec<String> = told.parts.iter().map(|part| in_a_sentence(&part.title)).collect();
    let mut said = vec![format!("{}: {}.", capital(&titles.join("; with ")), verdict(told.verdict))];
    let (heeded, plain) = heed(once(told));
    let (open, settled): (Vec<&Reason>, Vec<&Reason>) = heeded.iter().partition(|reason| !reason.measure.is_empty());
    said.extend(settled.iter().map(|reason| ended(&units.sentence(&reason.message))));
    if settled.is_empty() && open.is_empty() {
        said.extend(plain.iter().take(REASONS).map(|reason| ended(&units.sentence(&reason.message))));
    }
    said.extend(told.unjoined.iter().cloned());
    if !open.is_empty() {
        let titles: Vec<String> = open.iter().map(|reason| in_a_sentence(&reason.title)).collect();
        said.push(format!("Not known yet: {}.", titles.join("; ")));
        said.extend(to_measure(told));
    }
    let mut cautions: Vec<String> = Vec::new();
    for caution in heeded.iter().flat_map(|reason| &reason.cautions).map(|caution| ended(caution)) {
        if !cautions.contains(&caution) {
            cautions.push(caution);
        }
    }
    said.extend(cautions);
    let guide = library.and_then(|library| Some((library, guide_of_pairing(library, shelf, told)?)));
    said.extend(guide.map(|(library, guide)| to_read(library, guide)));
    said.extend(closing(library));
    paragraph(&said, width)
}

/// A verdict as the end of a sentence about parts.
pub(super) fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Fits => "these go together",
        Verdict::FitsWithLimits => "these go together, with limits",
        Verdict::DoesNotFit => "these do not go together",
        Verdict::NotKnown => "whether these go together is not known yet",
    }
}

/// What to find out and how, each once.
fn to_measure(told: &ToldPairing) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    for measure in told.reasons.iter().flat_map(|reason| &reason.measure) {
        let one = format!("Find out {} ({}): {}.", measure.about, in_a_sentence(&measure.of), measure.how);
        if !said.contains(&one) {
            said.push(one);
        }
    }
    said
}

/// The first of the clauses that a formula file parts by semicolons; the rest is for the bench.
fn first_clause(text: &str) -> &str {
    text.split(';').next().unwrap_or_default().trim().trim_end_matches('.')
}

/// Items of a sentence: `one, two and three`.
pub(super) fn listed(parts: &[String]) -> String {
    match parts.split_last() {
        Some((last, before)) if !before.is_empty() => format!("{} and {last}", before.join(", ")),
        _ => parts.concat(),
    }
}

fn ended(sentence: &str) -> String {
    let sentence = capital(sentence.trim());
    if sentence.ends_with(['.', '!', '?']) { sentence } else { format!("{sentence}.") }
}

/// Sentences as one paragraph, with tolerances in words; in a pipe one line, so that a message can be made of it.
fn paragraph(said: &[String], width: usize) -> String {
    let text = said.join(" ").replace("within ± ", "within ").replace(" ± ", ", give or take ");
    let width = if std::io::stdout().is_terminal() { width } else { usize::MAX };
    let mut out = String::new();
    write_wrapped(&mut out, &text, 0, width);
    out
}

/// True where a formula's own words hold a figure that nothing on a page would work out.
pub(super) fn holds_figures(text: &str) -> bool {
    !crate::evaluate::loose::find(text, &[]).is_empty()
}

/// The formula's question without what a page can't have in its title.
pub(super) fn title_of(formula: &Formula) -> &str {
    if holds_figures(&formula.question) { &formula.title } else { &formula.question }
}
