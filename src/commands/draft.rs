//! The pages that `--save` makes of an answer: a reply with its working, or with its pairing.
//!
//! Every figure on such a page is a mark or stands in a block, so that the page is worked again at each press; what the
//! formula and the rules have to say for themselves (limits, cautions, sources) the sheet sets without being asked.

use super::further::{self, guide_of_formula, guide_of_pairing, plain_words};
use super::reply::{about, holds_figures, listed, title_of};
use super::save::{Page, quoted};
use super::values::{Values, in_a_sentence};
use crate::evaluate::names::Names;
use crate::evaluate::pairing::ToldPairing;
use crate::library::Library;
use crate::library::guide::{Guide, TOPICS};
use crate::library::shelf::Shelf;
use crate::mechanics::formula::{Formula, Output};
use crate::mechanics::pairing::Verdict;
use crate::mechanics::print::words;
use crate::mechanics::working::Working;
use crate::text::capital;
use std::fmt::Write as _;

/// The hazard that work of a topic has; what else there is, whoever reads the draft adds.
const HAZARDS: &[(&str, &str)] = &[
    ("drivetrain", "drivetrain"),
    ("wheels", "wheel-fixing"),
    ("tyres", "pressure"),
    ("brakes", "brakes"),
    ("fit", "steering"),
    ("suspension", "suspension"),
    ("electrics", "electrics"),
];

/// The page of a formula's answer.
pub(super) fn of_working(working: &Working<'_>, values: &Values<'_>, library: &Library, bike: Option<&str>) -> Page {
    let formula = values.formula;
    let guide = guide_of_formula(library, formula);
    let outputs = further::told(working, guide);
    let name = free_name(values.names);
    let inputs = formula.inputs.iter().zip(&values.given).filter(|(_, value)| value.is_some());
    let basis: Vec<String> =
        inputs.map(|(input, _)| format!("{} (={name}.{})", words(&input.name), input.name)).collect();
    let basis = if basis.is_empty() { "the usual values".to_owned() } else { listed(&basis) };
    let figures: Vec<(String, String)> =
        outputs.iter().map(|output| (said_of(output), marked(formula, output, &name))).collect();
    let uses_bike = values.given.iter().flatten().filter_map(|value| value.written.as_deref());
    let uses_bike = uses_bike.into_iter().any(|written| written.contains("bike."));
    let mut body = String::new();
    for (about, figure) in &figures {
        let _ = writeln!(body, "{figure}: {about}.\n");
    }
    let _ = write!(body, "Worked out for {basis}.\n\n{}", block(values, &name, &outputs));
    body.push_str(&link(guide));
    Page {
        title: title_of(formula).to_owned(),
        summary: summary_of(&figures, &basis, working),
        topic: topic(&formula.topic),
        hazards: hazards([formula.topic.as_str()]),
        bike: bike.filter(|_| uses_bike).map(str::to_owned),
        body,
        ..Page::default()
    }
}

/// What a figure is, in words that hold none themselves.
fn said_of(output: &Output) -> String {
    let about = about(output);
    if holds_figures(&about) { words(&output.name) } else { about }
}

/// The answer in a sentence: a figure alone, or each with what it is; where a limit speaks nobody reads the figure without
/// hearing of that.
fn summary_of(figures: &[(String, String)], basis: &str, working: &Working<'_>) -> String {
    let told = match figures {
        [(_, figure)] => figure.clone(),
        all => all.iter().map(|(about, figure)| format!("{about} {figure}")).collect::<Vec<_>>().join("; "),
    };
    let heed = if working.spoken.is_empty() { "" } else { " Mind what is said of its limits below." };
    format!("{}, worked out for {basis}.{heed}", capital(&told))
}

/// The mark of a figure; links with their pairs.
fn marked(formula: &Formula, output: &Output, name: &str) -> String {
    let pairs = output.name == "links" && formula.output("pairs").is_some();
    let pairs = if pairs { format!(" ((={name}.pairs) pairs)") } else { String::new() };
    format!("(={name}.{}){pairs}", output.name)
}

/// The working as a block; what the formula takes by itself is left to it.
fn block(values: &Values<'_>, name: &str, outputs: &[&Output]) -> String {
    let mut out = format!("```working\nname: {name}\nformula: {}\n", values.formula.id);
    let given: Vec<(&str, &str)> = values
        .formula
        .inputs
        .iter()
        .zip(&values.given)
        .filter_map(|(input, value)| Some((input.name.as_str(), value.as_ref()?.written.as_deref()?)))
        .collect();
    if !given.is_empty() {
        out.push_str("given:\n");
    }
    for (input, written) in given {
        let _ = writeln!(out, "  {input}: {}", scalar(written));
    }
    let shown: Vec<&str> = outputs.iter().map(|output| output.name.as_str()).collect();
    let _ = writeln!(out, "show: [{}]\n```", shown.join(", "));
    out
}

/// A value as a block writes it, in quotes where YAML would read it otherwise.
fn scalar(written: &str) -> String {
    let begins_well = written.starts_with(|c: char| c.is_ascii_alphanumeric());
    let is_plain = |c: char| c.is_alphanumeric() || " .±+-*/()%°·^_".contains(c);
    if begins_well && written.chars().all(is_plain) { written.to_owned() } else { quoted(written) }
}

/// A name for the working that nothing of the library has.
fn free_name(names: Option<&Names>) -> String {
    let is_taken =
        |name: &str| names.is_some_and(|names| names.iter().any(|(known, _)| known.split('.').next() == Some(name)));
    let others = (2..).map(|number| format!("answer-{number}"));
    std::iter::once("answer".to_owned()).chain(others).find(|name| !is_taken(name)).unwrap_or_default()
}

/// The page of an answer about parts.
pub(super) fn of_pairing(told: &ToldPairing, shelf: &Shelf, library: &Library) -> Page {
    let titles: Vec<String> = told.parts.iter().map(|part| in_a_sentence(&part.title)).collect();
    let (last, before) =
        titles.split_last().map_or((String::new(), String::new()), |(last, before)| (last.clone(), before.join("; ")));
    let rule_topic =
        |rule: &str| shelf.rules.rules.iter().find(|known| known.id == rule).map(|rule| rule.topic.as_str());
    let topics: Vec<&str> = told.reasons.iter().filter_map(|reason| rule_topic(&reason.rule)).collect();
    let parts: Vec<String> = told
        .parts
        .iter()
        .map(|part| part.place.map_or_else(|| part.name.clone(), |place| format!("{} {}", place.word(), part.name)))
        .collect();
    let mut body = format!(
        "What the rules say of these parts, by what is known of each on the shelf:\n\n```pairing\nparts: [{}]\nclaim: {}\n```\n",
        parts.join(", "),
        told.verdict.words()
    );
    body.push_str(&link(guide_of_pairing(library, shelf, told)));
    Page {
        title: format!("Do these go together: {before}; and {last}?"),
        summary: summary_of_verdict(told.verdict).to_owned(),
        topic: topics.first().map_or(String::new(), |first| topic(first)),
        hazards: hazards(topics.iter().copied()),
        // The title of a part is its name, whatever sizes it is called by.
        nominal: titles.into_iter().filter(|title| holds_figures(title)).collect(),
        body,
        ..Page::default()
    }
}

fn summary_of_verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Fits => "Yes: no rule that joins these parts has anything against it.",
        Verdict::FitsWithLimits => "Yes, within the limits that are told below.",
        Verdict::DoesNotFit => "No: what stands against it is told below.",
        Verdict::NotKnown => "Not known yet: what to find out first is told below.",
    }
}

/// The way to the guide that says more.
fn link(guide: Option<&Guide>) -> String {
    let Some(guide) = guide else { return String::new() };
    let title = plain_words(&guide.title).unwrap_or(&guide.number.value);
    let title: String =
        title.chars().flat_map(|c| if "[]*_`<\\".contains(c) { vec!['\\', c] } else { vec![c] }).collect();
    let path = guide.source.name.trim_start_matches("content/");
    format!("\nMore of it: [{title}](../{path}).\n")
}

fn topic(topic: &str) -> String {
    TOPICS.iter().find(|(known, _)| *known == topic).map_or(String::new(), |(known, _)| (*known).to_owned())
}

/// The hazards of topics, each once.
fn hazards<'t>(topics: impl IntoIterator<Item = &'t str>) -> Vec<&'static str> {
    let mut found: Vec<&'static str> = Vec::new();
    for topic in topics {
        if let Some((_, hazard)) = HAZARDS.iter().find(|(of, _)| *of == topic)
            && !found.contains(hazard)
        {
            found.push(hazard);
        }
    }
    found
}
