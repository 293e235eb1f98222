//! A fault-finding chart evaluated: its figures found, its ends looked up in the library.
//!
//! That every check is reached and none leads round is held where the chart is read; here pages to read become targets.

use super::figure::resolve_text;
use super::guide::Around;
use super::links::{self, Link, Writer};
use super::loose;
use super::names::Names;
use super::spelling;
use super::{Target, WorkedText};
use crate::fault::{Fault, Severity, id};
use crate::library::chart::{Chart, Check, Then};
use crate::library::guide::Words;
use crate::library::hazards;
use crate::register::Stamp;

/// A chart with everything resolved.
#[derive(Debug)]
pub struct WorkedChart<'a> {
    /// The chart as written.
    pub chart: &'a Chart,
    /// Its title block and revision table.
    pub stamp: Stamp,
    /// Its title.
    pub title: Vec<WorkedText>,
    /// Its summary.
    pub summary: Vec<WorkedText>,
    /// What a rider notices.
    pub symptoms: Vec<Vec<WorkedText>>,
    /// What a rider asks.
    pub asks: Vec<Vec<WorkedText>>,
    /// Its checks; the first is where it begins.
    pub checks: Vec<WorkedCheck<'a>>,
    /// Standing cautions of its hazards.
    pub cautions: Vec<String>,
}

/// One check.
#[derive(Debug)]
pub struct WorkedCheck<'a> {
    /// Its name, which stands in addresses.
    pub name: &'a str,
    /// What to do.
    pub act: Vec<WorkedText>,
    /// What is asked.
    pub question: Vec<WorkedText>,
    /// The answers.
    pub answers: Vec<WorkedAnswer>,
}

/// One answer.
#[derive(Debug)]
pub struct WorkedAnswer {
    /// What is seen.
    pub words: Vec<WorkedText>,
    /// Why it leads where it leads.
    pub because: Vec<WorkedText>,
    /// Where it leads.
    pub then: WorkedThen,
}

/// Where an answer leads.
#[derive(Debug)]
pub enum WorkedThen {
    /// To the check with this place on the chart.
    GoOn(usize),
    /// To a guide or a reply.
    Read(Target),
    /// To the workshop, and why.
    BringItIn(Vec<WorkedText>),
}

/// Evaluates a chart; `None` where it has a fault.
pub(super) fn evaluate<'a>(
    chart: &'a Chart,
    around: &Around<'a, '_>,
    faults: &mut Vec<Fault>,
) -> Option<WorkedChart<'a>> {
    let names = Names::of(&around.shared, &around.units);
    let nominal: Vec<String> = chart.nominal.iter().map(|phrase| phrase.value.clone()).collect();
    for text in &chart.prose {
        loose::check(text, &nominal, around.library.shop.loose_figures, &names, faults);
        spelling::check(text, faults);
    }
    let mut page = Page { chart, around, names, faults };
    let lines = |page: &mut Page<'_, '_>, lines: &[Words]| lines.iter().map(|line| page.words(line)).collect();
    let checks = chart.checks.iter().map(|check| page.check(check)).collect();
    let worked = WorkedChart {
        chart,
        stamp: around.library.stamp_of(chart),
        title: page.words(&chart.title),
        summary: page.words(&chart.summary),
        symptoms: lines(&mut page, &chart.symptoms),
        asks: lines(&mut page, &chart.asks),
        checks,
        cautions: hazards::cautions_of(&chart.hazards).collect(),
    };
    faults.sort_by_key(|fault| fault.span);
    faults.iter().all(|fault| fault.severity == Severity::Note).then_some(worked)
}

struct Page<'p, 'a> {
    chart: &'p Chart,
    around: &'p Around<'a, 'p>,
    names: Names,
    faults: &'p mut Vec<Fault>,
}

impl Page<'_, '_> {
    fn words(&mut self, words: &Words) -> Vec<WorkedText> {
        resolve_text(words, &self.names, self.faults)
    }

    fn check<'c>(&mut self, check: &'c Check) -> WorkedCheck<'c> {
        let answers = check.answers.iter().filter_map(|answer| {
            let (words, because) = (self.words(&answer.words), self.words(&answer.because));
            Some(WorkedAnswer { words, because, then: self.then(&answer.then)? })
        });
        let answers = answers.collect();
        let (act, question) = (self.words(&check.act), self.words(&check.question));
        WorkedCheck { name: &check.name.value, act, question, answers }
    }

    fn then(&mut self, then: &Then) -> Option<WorkedThen> {
        match then {
            Then::GoOn(name) => {
                let place = self.chart.checks.iter().position(|check| check.name.value == name.value)?;
                Some(WorkedThen::GoOn(place))
            }
            Then::BringItIn(why) => Some(WorkedThen::BringItIn(self.words(why))),
            Then::Read(path) => {
                let (library, drafts) = (self.around.library, self.around.drafts);
                match links::resolve(Writer::from(self.chart), &path.value, path.span, library, drafts) {
                    Ok(Link::Page(target)) if library.guides.iter().any(|guide| guide.page == target.page) => {
                        Some(WorkedThen::Read(target))
                    }
                    Ok(_) => self.no_end(path),
                    Err(fault) => {
                        self.faults.push(fault);
                        None
                    }
                }
            }
        }
    }

    /// An end that is no guide and no reply.
    fn no_end(&mut self, path: &crate::text::Spanned<String>) -> Option<WorkedThen> {
        self.faults.push(
            Fault::new(id::ANSWER_WAY, path.span, "this answer leads to no guide and no reply")
                .found(path.value.clone())
                .allowed("a guide or a reply of the library")
                .cure("write the path to its .md file from this file's folder, such as ../guides/wheels/NAME.md"),
        );
        None
    }
}
