//! The front page: the general arrangement of a bicycle with its item list, then ways in by symptom, by question and by
//! topic.
//!
//! The arrangement is the side view of the build sheet that the shop names, drawn without its sizes; its balloons lead to
//! the rows of the item list, and those to the sheets that speak of the part.

use super::body::drawn;
use super::finding::ways;
use super::listed::{Listed, listed};
use super::theme::ThemeFault;
use super::topic::{topics, whole};
use super::{Chapter, Goes, Setting, Sheet, safe, topic_title};
use crate::drawing::Item;
use crate::editions::{SYMBOL, book, feed, zip};
use crate::evaluate::build::WorkedBuild;
use crate::evaluate::figure::plain;
use crate::evaluate::{SheetOf, Worked, WorkedChart, WorkedDrawing};
use crate::library::guide::TOPICS;
use crate::register::{Change, spelled};
use crate::text::{capital, count};
use minijinja::{Value, context};

/// Of how many sheets a row of the item list tells the numbers; beyond, it leads to the item index.
const MOST_REFERENCES: usize = 2;
/// So many lines of an index stand open; longer ones are parted by topic, each topic to be opened.
const MOST_LINES: usize = 60;
/// Of how many signings the front page tells, and of how many figures of each.
const MOST_CHANGES: usize = 6;
const MOST_FIGURES: usize = 4;

/// Sets the front page; `edition` is the mark of what was pressed.
///
/// # Errors
/// A fault of the theme or of the arrangement's drawing.
pub fn front_page(
    setting: &Setting<'_>,
    worked: &Worked<'_>,
    chapters: &[Chapter],
    edition: &str,
) -> Result<Sheet, ThemeFault> {
    let sheets = listed(worked);
    let arranged = setting.shop.arrangement.as_ref().and_then(|wanted| {
        let build = worked.builds.iter().find(|build| build.bike.name == wanted.value)?;
        Some((build, build.view.as_ref()?))
    });
    let drawing = arranged.map(|(build, view)| arrangement(setting, build, view)).transpose()?;
    let (drawing, items) = drawing.unzip();
    // What a technician asks of the manual is found on the manual's own topic sheet.
    let riders = sheets.iter().filter(|sheet| sheet.topic != "library");
    let lines = |one: &Listed<'_>| (one.symptoms.len(), if one.topic == "library" { 0 } else { one.asks.len() });
    let (symptoms, questions) = sheets.iter().map(lines).fold((0, 0), |all, one| (all.0 + one.0, all.1 + one.1));
    // The two stand beside each other, so they are parted both or neither.
    let is_long = symptoms.max(questions) > MOST_LINES;
    let values = context! {
        topics => topics(&sheets, chapters),
        items => items.iter().flatten().map(|item| row(item, &sheets)).collect::<Vec<_>>(),
        drawn => arranged.map(|(build, _)| context! { title => build.bike.title.as_str(), number => build.bike.number.value.as_str(), href => format!("{SYMBOL}{}", build.bike.page()) }),
        drawing_html => drawing.map(safe),
        symptoms => way_in(sheets.iter(), |sheet| &sheet.symptoms, is_long.then_some("symptom")),
        questions => way_in(riders, |sheet| &sheet.asks, is_long.then_some("question")),
        charts => worked.charts.iter().map(chart).collect::<Vec<_>>(),
        builds => worked.builds.iter().map(build).collect::<Vec<_>>(),
        chapters => chapters.iter().map(chapter).collect::<Vec<_>>(),
        ways => ways(worked),
        changed => changed(setting, worked),
        feed_href => setting.shop.site.as_ref().map(|_| format!("{SYMBOL}{}", feed::PATH)),
        script_hrefs => Vec::<String>::new(),
        book_href => format!("{SYMBOL}{}", book::PATH),
        zip_href => format!("{SYMBOL}{}", zip::PATH),
        edition,
        linked_html => safe(super::linked::of_shop(setting)),
    };
    setting.sheet("front.html", "index.html".to_owned(), &values, Goes::IntoBook)
}

/// The side view without its sizes, each balloon a way to its row of the item list; and what its balloons point at.
fn arrangement<'v>(
    setting: &Setting<'_>,
    build: &WorkedBuild<'_>,
    shown: &'v WorkedDrawing,
) -> Result<(String, Vec<&'v Item>), ThemeFault> {
    let mut view = shown.clone();
    for (name, value, ..) in &mut view.filled.values {
        if name == "sizes" {
            *value = 0.0;
        }
    }
    view.alt = format!(
        "{}, seen from the drive side and drawn to scale; the numbers are those of the item list.",
        build.bike.title
    );
    let svg = drawn(setting, &view, "arrangement")?;
    Ok(with_ways(&svg, &shown.filled.items))
}

/// The drawing with each balloon as a link. What holds links is no picture: it is a group that has a name.
fn with_ways<'i>(svg: &str, items: &'i [Item]) -> (String, Vec<&'i Item>) {
    const OPENS: &str = r#"<g class="d-balloon">"#;
    let mut out = String::with_capacity(svg.len() + 64 * items.len());
    let mut drawn: Vec<&Item> = Vec::new();
    let mut rest = svg;
    while let Some(at) = rest.find(OPENS) {
        out.push_str(&rest[..at]);
        rest = &rest[at..];
        // A balloon holds no group.
        let Some(end) = rest.find("</g>").map(|end| end + "</g>".len()) else { break };
        let number = rest[..end].rsplit_once("</text>").and_then(|(before, _)| before.rsplit_once('>'));
        let item = number.and_then(|(_, number)| items.iter().find(|item| item.balloon == number));
        match item {
            Some(item) => {
                let Item { balloon, name, .. } = item;
                // Of two balloons with one number the first is named.
                if !drawn.contains(&item) {
                    drawn.push(item);
                }
                out.push_str(&format!(
                    r##"<a href="#item-{balloon}" aria-label="Item {balloon}, {name}">{}</a>"##,
                    &rest[..end]
                ));
            }
            None => out.push_str(&rest[..end]),
        }
        rest = &rest[end..];
    }
    out.push_str(rest);
    drawn.sort_by_key(|item| items.iter().position(|known| known == *item));
    (out.replacen(r#"role="img""#, r#"role="group""#, 1), drawn)
}

/// A row of the item list: what the balloon points at, its topic, and the sheets that speak of it.
fn row(item: &Item, sheets: &[Listed<'_>]) -> Value {
    let mut of_item: Vec<&Listed<'_>> = sheets.iter().filter(|sheet| sheet.speaks_of(item)).collect();
    of_item.sort_by_key(|sheet| !sheet.is_on(item));
    let shown = if of_item.len() > MOST_REFERENCES + 1 { MOST_REFERENCES } else { of_item.len() };
    let topic = item.topic.as_deref().filter(|topic| sheets.iter().any(|sheet| sheet.topic == *topic));
    context! {
        balloon => item.balloon.as_str(), name => item.name.as_str(),
        topic => item.topic.as_deref().map(topic_title),
        topic_href => topic.map(|topic| format!("{SYMBOL}topics/{topic}.html")),
        sheets => of_item[..shown].iter().map(|sheet| sheet.reference()).collect::<Vec<_>>(),
        more => of_item.len() - shown,
        more_href => format!("{SYMBOL}items.html#{}", super::items::id_of("part", &item.name)),
    }
}

/// The figures that changed lately, as the register has them: of each signing of a sheet its figures, old and new.
fn changed(setting: &Setting<'_>, worked: &Worked<'_>) -> Vec<Value> {
    let groups = setting.register.lately().into_iter();
    let groups = groups.filter_map(|group| Some((group, worked.sheet_of(&group[0].sheet)?))).take(MOST_CHANGES);
    let value = |(group, sheet): (&[Change], SheetOf)| {
        let first = &group[0];
        let figures = group.iter().take(MOST_FIGURES).map(|change| {
            context! { name => spelled(&change.figure), was => change.was.as_str(), is => change.is.as_str() }
        });
        context! {
            number => first.sheet.as_str(), title => sheet.title, href => format!("{SYMBOL}{}", sheet.page),
            revision => first.revision.as_str(), date => first.on.as_str(), because => first.because.as_str(),
            figures => figures.collect::<Vec<_>>(), more => group.len().saturating_sub(MOST_FIGURES),
        }
    };
    groups.map(value).collect()
}

fn chart(chart: &WorkedChart<'_>) -> Value {
    let written = chart.chart;
    context! {
        href => format!("{SYMBOL}{}", written.page), text => plain(&chart.title), number => written.number.value.as_str(),
    }
}

fn build(build: &WorkedBuild<'_>) -> Value {
    let bike = build.bike;
    context! {
        href => format!("{SYMBOL}{}", bike.page()), title => bike.title.as_str(), number => bike.number.value.as_str(),
    }
}

fn chapter(chapter: &Chapter) -> Value {
    context! {
        href => format!("{SYMBOL}{}", chapter.path), title => topic_title(chapter.topic), count => count(chapter.formulas.len(), "formula"),
    }
}

/// A line without the word that it begins with where that tells nothing, for the order of an index.
fn telling(line: &str) -> String {
    let line = line.to_lowercase();
    let rest = ["a ", "an ", "the ", "my "].into_iter().find_map(|word| line.strip_prefix(word));
    rest.unwrap_or(&line).to_owned()
}

/// A question as it is written: a capital first, its mark last.
pub(super) fn question(asked: &str) -> String {
    format!("{}?", capital(asked.trim_end_matches('?')))
}

/// An index: its `lines`, or parted by topic, `folds` with a title, a count of what they hold and lines each.
fn way_in<'s, 'w: 's>(
    sheets: impl Iterator<Item = &'s Listed<'w>>,
    lines: impl Fn(&'s Listed<'w>) -> &'s Vec<String>,
    parted: Option<&str>,
) -> Option<Value> {
    let Some(what) = parted else { return whole(index(sheets, lines)) };
    let sheets: Vec<&Listed<'_>> = sheets.collect();
    let titles = TOPICS.iter().copied().chain([("", "Other questions")]);
    let folds = titles.filter_map(|(topic, title)| {
        let lines = index(sheets.iter().copied().filter(|sheet| sheet.topic == topic), &lines);
        (!lines.is_empty()).then(|| context! { title, count => count(lines.len(), what), lines })
    });
    let folds: Vec<Value> = folds.collect();
    (!folds.is_empty()).then(|| context! { folds })
}

/// Lines of all sheets, each with its sheet, in alphabetical order.
pub(super) fn index<'s, 'w: 's>(
    sheets: impl Iterator<Item = &'s Listed<'w>>,
    lines: impl Fn(&'s Listed<'w>) -> &'s Vec<String>,
) -> Vec<Value> {
    let mut entries: Vec<(&String, &Listed<'_>)> =
        sheets.flat_map(|sheet| lines(sheet).iter().map(move |line| (line, sheet))).collect();
    entries.sort_by_cached_key(|(text, _)| telling(text));
    let value = |(text, sheet): (&String, &Listed<'_>)| {
        context! { text => text.as_str(), href => sheet.href(), number => sheet.number }
    };
    entries.into_iter().map(value).collect()
}
