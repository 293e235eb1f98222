//! The front page: the sheets by topic, then ways in by symptom and by question.

use super::theme::ThemeFault;
use super::{Chapter, Goes, Setting, Sheet, safe, topic_title};
use crate::editions::{SYMBOL, book, zip};
use crate::evaluate::build::WorkedBuild;
use crate::evaluate::figure::plain;
use crate::evaluate::{Worked, WorkedGuide, WorkedText};
use crate::library::guide::TOPICS;
use crate::text::count;
use minijinja::{Value, context};

/// Sets the front page; `edition` is the mark of what was pressed.
///
/// # Errors
/// A fault of the theme.
pub fn front_page(
    setting: &Setting<'_>,
    worked: &Worked<'_>,
    chapters: &[Chapter],
    edition: &str,
) -> Result<Sheet, ThemeFault> {
    let guides: &[WorkedGuide<'_>] = &worked.guides;
    let mut topics = Vec::new();
    for (topic, _) in TOPICS {
        let mut sheets: Vec<&WorkedGuide<'_>> =
            guides.iter().filter(|guide| guide.guide.topic.value == *topic).collect();
        sheets.sort_by(|one, other| one.guide.number.value.cmp(&other.guide.number.value));
        if !sheets.is_empty() {
            let sheets: Vec<Value> = sheets.into_iter().map(sheet).collect();
            topics.push(context! { title => topic_title(topic), balloon => (), sheets });
        }
    }
    let values = context! {
        topics,
        symptoms => index(guides, |guide| &guide.symptoms),
        questions => questions(guides),
        builds => worked.builds.iter().map(build).collect::<Vec<_>>(),
        chapters => chapters.iter().map(chapter).collect::<Vec<_>>(),
        drawing_html => (),
        script_hrefs => Vec::<String>::new(),
        book_href => format!("{SYMBOL}{}", book::PATH),
        zip_href => format!("{SYMBOL}{}", zip::PATH),
        edition,
    };
    setting.sheet("front.html", "index.html".to_owned(), &values, Goes::IntoBook)
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

fn sheet(guide: &WorkedGuide<'_>) -> Value {
    let written = guide.guide;
    // On the front page a figure stands as its bare text: its working is on another page.
    let words = |text: &[WorkedText]| crate::text::escape(&plain(text));
    context! {
        number => written.number.value.as_str(),
        title_html => safe(words(&guide.title)),
        summary_html => safe(words(&guide.summary)),
        href => format!("{SYMBOL}{}", written.page),
        revision => written.revision.as_str(),
        issued => written.issued.as_str(),
        done_by => written.done_by.value.as_str(),
        work_time => written.work_time.as_deref(),
    }
}

/// Lines of all guides, each with its sheet, in alphabetical order.
fn index(guides: &[WorkedGuide<'_>], lines: for<'g> fn(&'g WorkedGuide<'_>) -> &'g Vec<Vec<WorkedText>>) -> Vec<Value> {
    let entries = guides.iter().flat_map(|guide| lines(guide).iter().map(move |line| (plain(line), guide)));
    in_order(entries.collect())
}

/// Every question with the sheet that answers it: what guides are asked, and the titles of replies.
fn questions(guides: &[WorkedGuide<'_>]) -> Vec<Value> {
    let replies = guides.iter().filter(|guide| guide.guide.is_reply).map(|guide| (plain(&guide.title), guide));
    let asked = guides.iter().flat_map(|guide| guide.asks.iter().map(move |line| (plain(line), guide)));
    in_order(replies.chain(asked).collect())
}

fn in_order(mut entries: Vec<(String, &WorkedGuide<'_>)>) -> Vec<Value> {
    entries.sort_by_cached_key(|(text, _)| text.to_lowercase());
    entries
        .into_iter()
        .map(|(text, guide)| context! { text, href => format!("{SYMBOL}{}", guide.guide.page), number => guide.guide.number.value.as_str() })
        .collect()
}
