//! A fault-finding chart to its page: numbered checks, each answer a plain link to the next check, to a page, or the end.
//!
//! Without a script that is all there is, and it is whole; with one the theme shows one check at a time.

use super::body::Body;
use super::linked::{Article, of_article};
use super::theme::ThemeFault;
use super::{Goes, Setting, Sheet, generated_note, revisions, safe, topic_title};
use crate::editions::SYMBOL;
use crate::evaluate::figure::{plain, plain_pieces};
use crate::evaluate::{Worked, WorkedAnswer, WorkedChart, WorkedThen};
use minijinja::{Value, context};

/// Sets one chart; `worked` has the titles of the pages that it leads to.
///
/// # Errors
/// A fault of the theme.
pub fn chart_page(setting: &Setting<'_>, chart: &WorkedChart<'_>, worked: &Worked<'_>) -> Result<Sheet, ThemeFault> {
    let written = chart.chart;
    let body = Body::of(setting, &written.page, &written.number.value, &written.source.name, &[]);
    let mut checks = Vec::with_capacity(chart.checks.len());
    for (place, check) in chart.checks.iter().enumerate() {
        let answers: Result<Vec<_>, _> = check.answers.iter().map(|one| answer(&body, one, chart, worked)).collect();
        // The checks that lead here, so that a reader who fell in can see the way.
        let from = chart.checks.iter().enumerate().filter(|(_, other)| {
            other.answers.iter().any(|answer| matches!(answer.then, WorkedThen::GoOn(to) if to == place))
        });
        checks.push(context! {
            number => place + 1,
            id => id_of(chart, place),
            act_html => safe(body.text(&check.act)?),
            question_html => safe(body.text(&check.question)?),
            from => from.map(|(place, _)| context! { number => place + 1, href => format!("#{}", id_of(chart, place)) }).collect::<Vec<_>>(),
            answers => answers?,
        });
    }
    let lines = |lines: &[Vec<_>]| lines.iter().map(|line| body.text(line).map(safe)).collect::<Result<Vec<_>, _>>();
    let sheet = context! {
        title_html => safe(body.text(&chart.title)?),
        title_text => plain(&chart.title),
        summary_html => safe(body.text(&chart.summary)?),
        summary_text => plain(&chart.summary),
        topic_title => topic_title(&written.topic.value),
        number => written.number.value.as_str(),
        revision => chart.stamp.revision.as_str(),
        issued => chart.stamp.issued.as_str(),
        prepared_by => written.prepared_by.as_str(),
        approved_by => written.approved_by.as_deref(),
        review_by => written.review_by.as_ref().map(|date| date.value.as_str()),
        href => written.page.as_str(),
    };
    let article = Article {
        page: &written.page,
        title: &plain(&chart.title),
        summary: &plain(&chart.summary),
        topic: &written.topic.value,
        number: &written.number.value,
        stamp: &chart.stamp,
        prepared_by: &written.prepared_by,
    };
    let values = context! {
        sheet,
        linked_html => safe(of_article(setting, &article)),
        symptoms => lines(&chart.symptoms)?,
        checks,
        standing => chart.cautions.clone(),
        script_hrefs => [format!("{SYMBOL}{}", setting.theme.script)],
        revisions => revisions(&chart.stamp),
        generated_note => generated_note(&written.number.value, &chart.stamp),
    };
    let sheet = setting.sheet("chart.html", written.page.clone(), &values, Goes::IntoBook)?;
    Ok(Sheet { pictures: body.pictures.into_inner(), ..sheet })
}

fn id_of(chart: &WorkedChart<'_>, place: usize) -> String {
    format!("check-{}", chart.checks[place].name)
}

fn answer(
    body: &Body<'_>,
    answer: &WorkedAnswer,
    chart: &WorkedChart<'_>,
    worked: &Worked<'_>,
) -> Result<Value, ThemeFault> {
    let words = context! {
        words_html => safe(body.text(&answer.words)?),
        because_html => safe(body.text(&answer.because)?),
    };
    Ok(match &answer.then {
        WorkedThen::GoOn(place) => {
            context! { way => "check", number => place + 1, href => format!("#{}", id_of(chart, *place)), ..words }
        }
        WorkedThen::Read(target) => {
            let guide = worked.guides.iter().find(|guide| guide.guide.page == target.page);
            let title = guide.map(|guide| plain(&guide.title)).unwrap_or_default();
            let is_at = |number: u32| target.fragment.as_deref() == Some(&format!("op-{number}"));
            let operation = guide.and_then(|guide| guide.operations.iter().find(|one| is_at(one.number)));
            let operation =
                operation.map(|one| context! { number => one.number, heading => plain_pieces(&one.heading) });
            context! { way => "read", number => target.number.as_str(), href => body.href(target), title, operation, ..words }
        }
        WorkedThen::BringItIn(why) => context! { way => "bring", why_html => safe(body.text(why)?), ..words },
    })
}
