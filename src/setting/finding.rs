//! The finding page, and what of each sheet can be found: titles, asks, symptoms, operations, parts, figures, summary.
//!
//! Worked pages in; one entry each, a page with a plain field, and the script that answers it. How words are compared is
//! known in `finding` alone.

use super::listed::{Listed, Sort, listed};
use super::theme::ThemeFault;
use super::{Chapter, Setting, Sheet, topic_title};
use crate::editions::SYMBOL;
use crate::evaluate::build::WorkedBuild;
use crate::evaluate::figure::{plain, plain_pieces};
use crate::evaluate::{Worked, WorkedChart, WorkedGuide};
use crate::finding::{self, Entry, Kind, Synonyms};
use crate::mechanics::print::words;
use crate::text::capital;
use minijinja::{Value, context};

/// A script at the root of a site.
#[derive(Clone, Debug)]
pub struct Finder {
    /// Its path, which holds digits of its hash.
    pub path: String,
    /// What it says.
    pub text: String,
}

/// The script that finds the sheets of a library.
#[must_use]
pub fn finder(worked: &Worked<'_>, chapters: &[Chapter]) -> Finder {
    let mut entries: Vec<Entry> = Vec::new();
    for sheet in listed(worked) {
        let guide = worked.guides.iter().find(|guide| guide.guide.number.value == sheet.number);
        let chart = worked.charts.iter().find(|chart| chart.chart.number.value == sheet.number);
        entries.push(of_sheet(&sheet, guide, chart));
    }
    entries.extend(worked.builds.iter().map(of_build));
    entries.extend(chapters.iter().flat_map(of_chapter));
    let text = finding::script(&entries, &Synonyms::bundled());
    let hash = blake3::hash(text.as_bytes()).to_hex();
    Finder { path: format!("finding.{}.js", &hash[..8]), text }
}

/// Sets the finding page.
///
/// # Errors
/// A fault of the theme.
pub fn find_page(setting: &Setting<'_>, worked: &Worked<'_>, finder: &Finder) -> Result<Sheet, ThemeFault> {
    let html = setting.render(
        "find.html",
        "find.html",
        context! { ways => ways(worked), script_hrefs => [format!("{SYMBOL}{}", finder.path)] },
    )?;
    Ok(Sheet { path: "find.html".to_owned(), html, ..Sheet::default() })
}

/// The ways into a library besides finding, those that it has.
pub(super) fn ways(worked: &Worked<'_>) -> Vec<Value> {
    let guides = || worked.guides.iter();
    let has_symptoms = guides().any(|guide| !guide.symptoms.is_empty())
        || worked.charts.iter().any(|chart| !chart.symptoms.is_empty());
    let has_questions = guides().any(|guide| guide.guide.is_reply || !guide.asks.is_empty())
        || worked.charts.iter().any(|chart| !chart.asks.is_empty());
    let way = |address: &str, name: &str| context! { href => format!("{SYMBOL}{address}"), name };
    let mut ways = Vec::new();
    if has_symptoms {
        ways.push(way("index.html#by-symptom", "By symptom"));
    }
    if has_questions {
        ways.push(way("index.html#by-question", "By question"));
    }
    ways.push(way("index.html#by-topic", "By topic"));
    ways.push(way("items.html", "By part, tool or formula"));
    ways
}

fn of_sheet(sheet: &Listed<'_>, guide: Option<&WorkedGuide<'_>>, chart: Option<&WorkedChart<'_>>) -> Entry {
    let operations = guide.into_iter().flat_map(|guide| &guide.operations);
    let operations = operations.map(|one| (format!("op-{}", one.number), plain_pieces(&one.heading)));
    let checks = chart.into_iter().flat_map(|chart| &chart.checks);
    let checks = checks.map(|check| (format!("check-{}", check.name), plain(&check.question)));
    let title = sheet.title.clone();
    Entry {
        number: sheet.number.to_owned(),
        href: sheet.page.to_owned(),
        kind: match sheet.sort {
            Sort::Chart => Kind::Chart,
            Sort::Guide => Kind::Guide,
            Sort::Reply => Kind::Reply,
        },
        topic: topic_title(sheet.topic).to_lowercase(),
        asks: sheet.asks.iter().filter(|asked| **asked != title).cloned().collect(),
        title,
        symptoms: sheet.symptoms.clone(),
        operations: operations.chain(checks).collect(),
        parts: sheet.parts.iter().chain(&sheet.tools).cloned().collect(),
        summary: sheet.summary.clone(),
        figures: guide.map(figures).unwrap_or_default(),
        answer: guide.and_then(|guide| guide.key_figure.as_ref()).map(|figure| figure.text.clone()),
    }
}

/// The figures that a guide's workings show: what each is, and its text.
fn figures(guide: &WorkedGuide<'_>) -> Vec<(String, String)> {
    let mut figures = Vec::new();
    for page in &guide.workings {
        let outputs = page.working.formula.outputs.iter();
        for output in outputs.filter(|output| page.show.is_empty() || page.show.contains(&output.name)) {
            let about = if output.about.is_empty() { words(&output.name) } else { output.about.clone() };
            figures.extend(page.working.text(output).map(|text| (about, text)));
        }
    }
    figures
}

fn of_build(build: &WorkedBuild<'_>) -> Entry {
    let bike = build.bike;
    let marked = build.torques.iter().chain(&build.wear);
    Entry {
        number: bike.number.value.clone(),
        title: format!("Build sheet: {}", bike.title),
        href: bike.page(),
        kind: Kind::BuildSheet,
        topic: String::new(),
        asks: Vec::new(),
        symptoms: Vec::new(),
        operations: Vec::new(),
        parts: build.parts.iter().map(|part| part.title.clone()).collect(),
        summary: bike.summary.clone().unwrap_or_default(),
        figures: marked.map(|one| (format!("{}, {}", one.part, one.about), one.text.clone())).collect(),
        answer: None,
    }
}

/// A chapter of the handbook, and each of its formulas.
fn of_chapter(chapter: &Chapter) -> Vec<Entry> {
    let title = topic_title(chapter.topic);
    let entry = |number: &str, title: String, href: String, kind: Kind, asks: Vec<String>, summary: String| Entry {
        number: number.to_owned(),
        title,
        href,
        kind,
        topic: topic_title(chapter.topic).to_lowercase(),
        asks,
        symptoms: Vec::new(),
        operations: Vec::new(),
        parts: Vec::new(),
        summary,
        figures: Vec::new(),
        answer: None,
    };
    let about = format!("The formulas of {title}");
    let whole =
        entry(chapter.topic, format!("Handbook: {title}"), chapter.path.clone(), Kind::Handbook, Vec::new(), about);
    let formulas = chapter.formulas.iter().map(|formula| {
        let href = format!("{}#f-{}", chapter.path, formula.id);
        let question = formula.question.clone();
        entry(&formula.id, capital(&formula.title), href, Kind::Formula, vec![question.clone()], question)
    });
    std::iter::once(whole).chain(formulas).collect()
}
