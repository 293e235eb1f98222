//! The sheets of a library as lists name them: front page, topic sheets and item index say the same of a sheet.
//!
//! Worked pages in, one `Listed` each out, in the order of their numbers. A figure in a title or a summary stands here
//! as its bare text, since its working is on the sheet.

use super::front::question;
use crate::drawing::Item;
use crate::editions::SYMBOL;
use crate::evaluate::figure::{plain, plain_pieces};
use crate::evaluate::{Worked, WorkedChart, WorkedGuide, WorkedPiece, WorkedText};
use minijinja::{Value, context};

/// What sort of sheet it is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Sort {
    Chart,
    Guide,
    Reply,
}

/// A sheet in a list.
#[derive(Debug)]
pub(super) struct Listed<'w> {
    pub(super) sort: Sort,
    pub(super) number: &'w str,
    pub(super) title: String,
    pub(super) summary: String,
    pub(super) page: &'w str,
    pub(super) topic: &'w str,
    revision: &'w str,
    issued: &'w str,
    done_by: &'w str,
    work_time: Option<&'w str>,
    pub(super) symptoms: Vec<String>,
    /// What riders ask; a reply's title is asked too.
    pub(super) asks: Vec<String>,
    pub(super) tools: Vec<String>,
    /// What it uses up, and what its drawings name.
    pub(super) parts: Vec<String>,
    /// The formulas that it works: id and title.
    pub(super) formulas: Vec<(&'w str, &'w str)>,
    /// The words that tell what it is about, in small letters.
    about: String,
}

/// Every guide, reply and chart, charts first, then in the order of their numbers.
pub(super) fn listed<'w>(worked: &'w Worked<'_>) -> Vec<Listed<'w>> {
    let mut all: Vec<Listed<'w>> =
        worked.charts.iter().map(of_chart).chain(worked.guides.iter().map(of_guide)).collect();
    all.sort_by(|one, other| (one.sort, one.number).cmp(&(other.sort, other.number)));
    all
}

fn lines(lines: &[Vec<WorkedText>]) -> Vec<String> {
    lines.iter().map(|line| plain(line)).collect()
}

fn of_chart<'w>(chart: &'w WorkedChart<'_>) -> Listed<'w> {
    let written = chart.chart;
    Listed {
        sort: Sort::Chart,
        number: &written.number.value,
        title: plain(&chart.title),
        summary: plain(&chart.summary),
        page: &written.page,
        topic: &written.topic.value,
        revision: &chart.stamp.revision,
        issued: &chart.stamp.issued,
        done_by: "",
        work_time: None,
        symptoms: lines(&chart.symptoms),
        asks: lines(&chart.asks).iter().map(|asked| question(asked)).collect(),
        tools: Vec::new(),
        parts: Vec::new(),
        formulas: Vec::new(),
        // A chart passes by many parts; it is about what its symptoms say.
        about: String::new(),
    }
    .about()
}

fn of_guide<'w>(guide: &'w WorkedGuide<'_>) -> Listed<'w> {
    let written = guide.guide;
    let (title, mut asks) = (plain(&guide.title), lines(&guide.asks));
    if written.is_reply {
        let bare = |question: &str| question.trim_end_matches('?').to_lowercase();
        asks.retain(|asked| bare(asked) != bare(&title));
        asks.insert(0, title.clone());
    }
    let asks = asks.iter().map(|asked| question(asked)).collect();
    let mut parts = lines(&guide.consumables);
    let bodies = guide.operations.iter().flat_map(|operation| &operation.body);
    for piece in guide.lead.iter().chain(bodies) {
        let WorkedPiece::Drawing(drawing) = piece else { continue };
        for item in &drawing.filled.items {
            if !parts.iter().any(|part| part.eq_ignore_ascii_case(&item.name)) {
                parts.push(item.name.to_lowercase());
            }
        }
    }
    let mut formulas: Vec<(&str, &str)> = Vec::new();
    for page in &guide.workings {
        let formula = page.working.formula;
        // An equation of the page's own is no formula that anybody looks up.
        if !formula.question.is_empty() && !formulas.iter().any(|(id, _)| *id == formula.id) {
            formulas.push((&formula.id, &formula.title));
        }
    }
    let headings = guide.operations.iter().map(|operation| plain_pieces(&operation.heading));
    Listed {
        sort: if written.is_reply { Sort::Reply } else { Sort::Guide },
        number: &written.number.value,
        title,
        summary: plain(&guide.summary),
        page: &written.page,
        topic: &written.topic.value,
        revision: &guide.stamp.revision,
        issued: &guide.stamp.issued,
        done_by: &written.done_by.value,
        work_time: written.work_time.as_deref(),
        symptoms: lines(&guide.symptoms),
        asks,
        tools: lines(&guide.tools),
        parts,
        formulas,
        about: headings.collect::<Vec<_>>().join(" "),
    }
    .about()
}

impl Listed<'_> {
    /// Adds all that tells what the sheet is about to its words.
    fn about(mut self) -> Self {
        let words = [&self.title, &self.summary, &self.about].into_iter();
        let words: Vec<&str> =
            words.chain(&self.symptoms).chain(&self.asks).chain(&self.parts).map(String::as_str).collect();
        self.about = words.join(" ").to_lowercase();
        self
    }

    /// True where the sheet speaks of a part by one of its names, one or several of it.
    pub(super) fn speaks_of(&self, part: &Item) -> bool {
        names_of(part).any(|name| names(&self.about, &name))
    }

    /// True where the sheet has the part in its title.
    pub(super) fn is_on(&self, part: &Item) -> bool {
        let title = self.title.to_lowercase();
        names_of(part).any(|name| names(&title, &name))
    }

    pub(super) fn href(&self) -> String {
        format!("{SYMBOL}{}", self.page)
    }

    /// The sheet as a list of the theme takes it.
    pub(super) fn value(&self) -> Value {
        context! {
            sort => match self.sort { Sort::Chart => "Fault-finding chart", Sort::Guide => "", Sort::Reply => "Reply" },
            number => self.number, title => self.title.as_str(), summary => self.summary.as_str(), href => self.href(),
            revision => self.revision, issued => self.issued, done_by => self.done_by, work_time => self.work_time,
        }
    }

    /// The sheet as a reference: its number, with its title for whoever points at it.
    pub(super) fn reference(&self) -> Value {
        context! { number => self.number, title => self.title.as_str(), href => self.href() }
    }
}

/// What a part is called, in small letters.
fn names_of(part: &Item) -> impl Iterator<Item = String> + '_ {
    std::iter::once(&part.name).chain(&part.also).map(|name| name.to_lowercase())
}

/// True where a text has a name in it as whole words, one or several of it or what belongs to it.
fn names(text: &str, name: &str) -> bool {
    text.match_indices(name).any(|(at, _)| {
        let before = text[..at].chars().next_back();
        let after = &text[at + name.len()..];
        let after = after.strip_prefix("'s").or_else(|| after.strip_prefix('s')).unwrap_or(after);
        before.is_none_or(|c| !c.is_alphanumeric()) && after.chars().next().is_none_or(|c| !c.is_alphanumeric())
    })
}
