//! Topic sheets: all sheets of a topic with their summaries, its ways in by symptom and by question, its formulas.

use super::front::index;
use super::listed::{Listed, listed};
use super::theme::ThemeFault;
use super::{Chapter, Setting, Sheet, topic_title};
use crate::editions::SYMBOL;
use crate::evaluate::Worked;
use crate::library::guide::TOPICS;
use minijinja::{Value, context};

/// Sets the sheet of each topic that has sheets or formulas.
///
/// # Errors
/// A fault of the theme.
pub fn topic_pages(setting: &Setting<'_>, worked: &Worked<'_>, chapters: &[Chapter]) -> Vec<Result<Sheet, ThemeFault>> {
    let mut by_topic: Vec<(&str, Vec<Listed<'_>>)> = TOPICS.iter().map(|(topic, _)| (*topic, Vec::new())).collect();
    for sheet in listed(worked) {
        if let Some((_, sheets)) = by_topic.iter_mut().find(|(topic, _)| *topic == sheet.topic) {
            sheets.push(sheet);
        }
    }
    let with_sheets = by_topic.iter().filter(|(_, sheets)| !sheets.is_empty());
    with_sheets.map(|(topic, sheets)| topic_page(setting, topic, sheets, chapters)).collect()
}

/// Where a topic's sheet stands.
pub(super) fn page_of(topic: &str) -> String {
    format!("topics/{topic}.html")
}

fn topic_page(
    setting: &Setting<'_>,
    topic: &str,
    sheets: &[Listed<'_>],
    chapters: &[Chapter],
) -> Result<Sheet, ThemeFault> {
    let chapter = chapters.iter().find(|chapter| chapter.topic == topic);
    let formulas = chapter.into_iter().flat_map(|chapter| {
        chapter.formulas.iter().map(|formula| {
            context! { text => formula.question.as_str(), number => formula.id.as_str(), href => format!("{SYMBOL}{}#f-{}", chapter.path, formula.id) }
        })
    });
    let path = page_of(topic);
    let html = setting.render(
        "topic.html",
        &path,
        context! {
            topic_title => topic_title(topic),
            sheets => sheets.iter().map(Listed::value).collect::<Vec<_>>(),
            symptoms => whole(index(sheets.iter(), |sheet| &sheet.symptoms)),
            questions => whole(index(sheets.iter(), |sheet| &sheet.asks)),
            formulas => formulas.collect::<Vec<_>>(),
            script_hrefs => Vec::<String>::new(),
        },
    )?;
    Ok(Sheet { path, html, ..Sheet::default() })
}

/// An index that stands open; nothing where it has no lines.
pub(super) fn whole(lines: Vec<Value>) -> Option<Value> {
    (!lines.is_empty()).then(|| context! { lines, folds => Vec::<Value>::new() })
}

/// The topics that have sheets, in their order, each with its sheets; those of no topic come last.
pub(super) fn topics(sheets: &[Listed<'_>], chapters: &[Chapter]) -> Vec<Value> {
    let of_topic =
        |topic: &str| sheets.iter().filter(|sheet| sheet.topic == topic).map(Listed::value).collect::<Vec<_>>();
    let mut topics: Vec<Value> = Vec::new();
    for (topic, title) in TOPICS {
        let own = of_topic(topic);
        if !own.is_empty() {
            let handbook = chapters.iter().find(|chapter| chapter.topic == *topic);
            let handbook = handbook.map(|chapter| format!("{SYMBOL}{}", chapter.path));
            topics.push(
                context! { title => *title, href => format!("{SYMBOL}{}", page_of(topic)), sheets => own, handbook },
            );
        }
    }
    let others = of_topic("");
    if !others.is_empty() {
        topics.push(context! { title => "Other questions", href => (), sheets => others, handbook => () });
    }
    topics
}
