//! Worked pages to what they publish: every figure, verdict, limit that spoke and table, by sheet number and name.
//!
//! This is what is signed and what drift compares: printed texts, with what each was worked from. A figure is called as the
//! page writes it (`chain.length in inch`), so that the same figure in two places is one. Tables are held by digits of
//! their hash, and sheets that nobody has approved aren't published.

use super::beside::Units;
use super::build::WorkedBuild;
use super::figure::{Figure, Origin};
use super::names::Shared;
use super::pairing::ToldPairing;
use super::parts::WorkedFitTable;
use super::sweeps::WorkedSweep;
use super::{PageWorking, Worked, WorkedChart, WorkedGuide, WorkedPiece, WorkedText};
use crate::mechanics::figure::NO_BREAK;
use crate::register::{Published, Stamp};
use crate::text::Span;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// What one sheet publishes.
#[derive(Clone, Debug)]
pub struct PublishedSheet {
    /// The sheet's number.
    pub number: String,
    /// Where the number stands in the file.
    pub number_span: Span,
    /// Its file.
    pub file: String,
    /// Its page.
    pub page: String,
    /// Its title block.
    pub stamp: Stamp,
    /// Its own revision, as its front matter says.
    pub own_revision: String,
    /// When that was issued.
    pub own_issued: String,
    /// By name.
    pub lines: BTreeMap<String, Published>,
}

/// Everything that a library publishes, by sheet.
#[must_use]
pub fn published(worked: &Worked<'_>, shared: &Shared, units: &Units) -> Vec<PublishedSheet> {
    let around = Around { shared, units };
    let guides = worked.guides.par_iter().filter(|one| one.guide.approved_by.is_some());
    let mut sheets: Vec<PublishedSheet> = guides.map(|guide| around.guide(guide)).collect();
    let builds = worked.builds.iter().filter(|one| one.bike.approved_by.is_some());
    sheets.extend(builds.map(|build| around.build(build)));
    let charts = worked.charts.iter().filter(|one| one.chart.approved_by.is_some());
    sheets.extend(charts.map(|chart| around.chart(chart)));
    sheets.sort_by(|one, other| one.number.cmp(&other.number));
    sheets
}

struct Around<'a> {
    shared: &'a Shared,
    units: &'a Units,
}

/// What is gathered of one sheet.
struct Gathering<'a, 'w> {
    around: &'a Around<'a>,
    /// The file's text, for the words of a mark.
    text: &'a str,
    workings: &'a [PageWorking<'w>],
    bike: Option<&'a str>,
    lines: BTreeMap<String, Published>,
    /// The names of figures that stand in a notice.
    guarded: BTreeSet<String>,
}

impl Around<'_> {
    fn gathering<'a, 'w>(
        &'a self,
        text: &'a str,
        workings: &'a [PageWorking<'w>],
        bike: Option<&'a str>,
    ) -> Gathering<'a, 'w> {
        Gathering { around: self, text, workings, bike, lines: BTreeMap::new(), guarded: BTreeSet::new() }
    }

    fn guide(&self, guide: &WorkedGuide<'_>) -> PublishedSheet {
        let written = guide.guide;
        let bike = written.bike.as_ref().map(|bike| bike.value.as_str());
        let mut all = self.gathering(&written.source.text, &guide.workings, bike);
        let fronts = [&guide.title, &guide.summary].into_iter();
        let lists =
            [&guide.tools, &guide.consumables, &guide.symptoms, &guide.asks, &guide.right_when, &guide.stop_when];
        for text in fronts.chain(lists.into_iter().flatten()) {
            all.text(text);
        }
        if let Some(figure) = &guide.key_figure {
            all.figure(figure);
        }
        let bodies = guide.operations.iter().flat_map(|one| [&one.heading, &one.body]);
        for pieces in std::iter::once(&guide.lead).chain(bodies) {
            all.pieces(pieces, false);
        }
        for page in &guide.workings {
            all.working(page);
        }
        PublishedSheet {
            number: written.number.value.clone(),
            number_span: written.number.span,
            file: written.source.name.clone(),
            page: written.page.clone(),
            stamp: guide.stamp.clone(),
            own_revision: written.revision.value.clone(),
            own_issued: written.issued.clone(),
            lines: all.done(),
        }
    }

    fn chart(&self, chart: &WorkedChart<'_>) -> PublishedSheet {
        let written = chart.chart;
        let mut all = self.gathering(&written.source.text, &[], None);
        let lists = [&chart.symptoms, &chart.asks];
        for text in [&chart.title, &chart.summary].into_iter().chain(lists.into_iter().flatten()) {
            all.text(text);
        }
        for check in &chart.checks {
            all.text(&check.act);
            all.text(&check.question);
            for answer in &check.answers {
                all.text(&answer.words);
                all.text(&answer.because);
                if let super::WorkedThen::BringItIn(why) = &answer.then {
                    all.text(why);
                }
            }
        }
        PublishedSheet {
            number: written.number.value.clone(),
            number_span: written.number.span,
            file: written.source.name.clone(),
            page: written.page.clone(),
            stamp: chart.stamp.clone(),
            own_revision: written.revision.value.clone(),
            own_issued: written.issued.clone(),
            lines: all.done(),
        }
    }

    fn build(&self, build: &WorkedBuild<'_>) -> PublishedSheet {
        let bike = build.bike;
        let mut all = self.gathering(&bike.source.text, &build.workings, Some(&bike.name));
        for (name, text) in &build.measured {
            let measured = Published { source: Some("measured on this bike".to_owned()), ..all.said(text) };
            all.add(&format!("measured {name}"), measured);
        }
        for page in &build.workings {
            all.working(page);
        }
        for (list, what) in [(&build.torques, "torque"), (&build.wear, "wear")] {
            for one in list {
                let marked = Published { source: Some(one.source.clone()), ..all.said(&one.text) };
                all.add(&format!("{what} {}, {}", one.part, one.about), marked);
            }
        }
        for rider in &build.pressures {
            for wheel in &rider.wheels {
                let mut pressure = all.said(&wheel.pressure);
                pressure.from = vec![("load".to_owned(), plain(&wheel.load))];
                all.add(&format!("pressure {}, rider of {}", wheel.place.word(), rider.rider), pressure);
            }
        }
        if let Some((links, _)) = &build.chain {
            let chain = all.said(links);
            all.add("chain", chain);
        }
        for (name, sweep) in [("development", &build.development), ("speeds", &build.speeds)] {
            if let Some(sweep) = sweep {
                all.add(&format!("sweep {name}"), of_sweep(sweep));
            }
        }
        let verdict = of_pairing(&build.pairing);
        all.add("pairing of the whole bike", verdict);
        PublishedSheet {
            number: bike.number.value.clone(),
            number_span: bike.number.span,
            file: bike.source.name.clone(),
            page: bike.page(),
            stamp: build.stamp.clone(),
            own_revision: bike.revision.value.clone(),
            own_issued: bike.issued.clone(),
            lines: all.done(),
        }
    }
}

impl Gathering<'_, '_> {
    /// The first of a name stands; a table or a verdict of the same name is told apart by its number.
    fn add(&mut self, name: &str, published: Published) {
        self.lines.entry(plain(name)).or_insert(published);
    }

    fn add_apart(&mut self, name: &str, published: Published) {
        let mut own = plain(name);
        let mut number = 1;
        while self.lines.contains_key(&own) {
            number += 1;
            own = format!("{} {number}", plain(name));
        }
        self.lines.insert(own, published);
    }

    /// A printed text in the shop's units.
    fn said(&self, text: &str) -> Published {
        let shown = self.around.units.show(text);
        Published { says: with_beside(&shown.text, shown.beside.as_deref()), ..Published::default() }
    }

    fn text(&mut self, text: &[WorkedText]) {
        for piece in text {
            if let WorkedText::Figure(figure) = piece {
                self.figure(figure);
            }
        }
    }

    fn pieces(&mut self, pieces: &[WorkedPiece], in_notice: bool) {
        for piece in pieces {
            match piece {
                WorkedPiece::Figure(figure) => {
                    if in_notice {
                        self.guarded.extend(figure.reads.names.first().cloned());
                    }
                    self.figure(figure);
                }
                WorkedPiece::Pairing(pairing) => {
                    self.add_apart(&pairing_name(&pairing.told), of_pairing(&pairing.told));
                }
                WorkedPiece::FitTable(table) => {
                    self.text(&table.caption);
                    let down = if table.down_title.is_empty() { "parts" } else { &table.down_title };
                    self.add_apart(&format!("fit table of {down}"), of_table(table));
                }
                WorkedPiece::Sweep(sweep) => {
                    self.text(&sweep.caption);
                    self.add_apart(&format!("sweep of {}", sweep.about), of_sweep(sweep));
                }
                WorkedPiece::Photo(photo) => self.text(&photo.caption),
                WorkedPiece::Drawing(drawing) => {
                    self.text(&drawing.caption);
                    let mut drawn = Published { says: "drawn".to_owned(), ..Published::default() };
                    let values = drawing.filled.values.iter();
                    drawn.from = values.map(|(name, _, text, _)| (name.clone(), plain(text))).collect();
                    drawn.digest = Some(digits(drawn.from.iter().flat_map(|(name, text)| [name.as_str(), text])));
                    self.add_apart(&format!("drawing {}", drawing.name), drawn);
                }
                WorkedPiece::Safety(_, body) => self.pieces(body, true),
                WorkedPiece::Event(_) | WorkedPiece::Link(_) | WorkedPiece::Working(_) => {}
            }
        }
    }

    fn figure(&mut self, figure: &Figure) {
        let written = self.text.get(figure.span.start..figure.span.end).unwrap_or_default();
        let written = written.strip_prefix("(=").and_then(|rest| rest.strip_suffix(')')).unwrap_or(written);
        let words: Vec<&str> = written.split_whitespace().collect();
        let mut published = match &figure.reads.origin {
            Origin::Worked { working, .. } => self.worked(working, &figure.reads.names),
            Origin::Measured { bike, .. } => {
                Published { source: Some(format!("measured on the {bike}")), ..Published::default() }
            }
            Origin::Shelf { source, .. } | Origin::Stated { source, .. } => {
                Published { source: Some(source.clone()), ..Published::default() }
            }
        };
        published.says = with_beside(&figure.text, figure.beside.as_deref());
        published.span = figure.span;
        self.add(&words.join(" "), published);
    }

    /// What a working's figures are worked from: its inputs, then the names that these read.
    fn worked(&self, name: &str, read: &[String]) -> Published {
        let Some(page) = self.workings.iter().find(|page| page.name == name) else { return Published::default() };
        let formula = page.working.formula;
        let inputs = formula.inputs.iter().zip(&page.working.readings);
        let mut from: Vec<(String, String)> =
            inputs.map(|(input, reading)| (input.name.clone(), plain(&reading.text(&input.style())))).collect();
        let more = read.iter().filter(|read| !read.starts_with(&format!("{name}.")));
        from.extend(more.filter_map(|read| Some((read.clone(), self.value(read)?))));
        Published { formula: Some(format!("{} {}", formula.id, formula.version)), from, ..Published::default() }
    }

    /// The text of a name that the page knows.
    fn value(&self, name: &str) -> Option<String> {
        let (first, rest) = name.split_once('.')?;
        if let Some(page) = self.workings.iter().find(|page| page.name == first) {
            let formula = page.working.formula;
            let input = formula.inputs.iter().zip(&page.working.readings).find(|(input, _)| input.name == rest);
            let input = input.map(|(input, reading)| reading.text(&input.style()));
            let output = || page.working.text(formula.output(rest)?);
            return input.or_else(output).map(|text| plain(&text));
        }
        let own = self.bike.filter(|_| first == "bike").map(|bike| format!("{bike}.{rest}"));
        self.around.shared.get(own.as_deref().unwrap_or(name)).map(|named| plain(&named.text))
    }

    /// The outputs that a working shows, and the limits that speak in it.
    fn working(&mut self, page: &PageWorking<'_>) {
        let formula = page.working.formula;
        let shown = formula.outputs.iter().filter(|output| page.show.is_empty() || page.show.contains(&output.name));
        for output in shown {
            let Some(text) = page.working.text(output) else { continue };
            let open = page.working.spread_text(output).filter(|spread| spread.contains(" or "));
            let says = self.said(open.as_deref().unwrap_or(&text)).says;
            let worked = self.worked(&page.name, &[]);
            self.add(&format!("{}.{}", page.name, output.name), Published { says, ..worked });
        }
        for spoken in &page.working.spoken {
            let may = if spoken.stated { "" } else { "may be: " };
            let says = format!("{may}{}", plain(&spoken.limit.message));
            let worked = self.worked(&page.name, &[]);
            self.add(&format!("limit {}.{}", page.name, spoken.limit.name), Published { says, ..worked });
        }
    }

    fn done(mut self) -> BTreeMap<String, Published> {
        for name in &self.guarded {
            for (own, published) in &mut self.lines {
                let of_name =
                    own.strip_prefix(name.as_str()).is_some_and(|rest| rest.is_empty() || rest.starts_with(' '));
                published.guarded |= of_name;
            }
        }
        self.lines
    }
}

fn plain(text: &str) -> String {
    text.replace(NO_BREAK, " ")
}

fn with_beside(text: &str, beside: Option<&str>) -> String {
    plain(&beside.map_or_else(|| text.to_owned(), |beside| format!("{text} ({beside})")))
}

/// Digits of the hash of texts.
fn digits<'t>(texts: impl IntoIterator<Item = &'t str>) -> String {
    let mut hasher = blake3::Hasher::new();
    for text in texts {
        hasher.update(text.as_bytes()).update(&[0]);
    }
    hasher.finalize().to_hex()[..12].to_owned()
}

fn pairing_name(told: &ToldPairing) -> String {
    let parts = told.parts.iter().map(|part| match part.place {
        Some(place) => format!("{} {}", place.word(), part.name),
        None => part.name.clone(),
    });
    format!("pairing {}", parts.collect::<Vec<_>>().join(" + "))
}

/// A verdict, with digits of all that the rules said to it.
fn of_pairing(told: &ToldPairing) -> Published {
    let reasons = told.reasons.iter().flat_map(|reason| {
        let compared = reason.compared.iter().flat_map(|(name, text)| [name.as_str(), text]);
        [reason.rule.as_str(), reason.verdict.words(), reason.message.as_str()].into_iter().chain(compared)
    });
    let spoke: HashMap<&str, &str> =
        told.reasons.iter().map(|reason| (reason.rule.as_str(), reason.verdict.words())).collect();
    let mut from: Vec<(String, String)> =
        spoke.into_iter().map(|(rule, verdict)| (format!("rule {rule}"), verdict.to_owned())).collect();
    from.sort();
    Published {
        says: told.verdict.words().to_owned(),
        digest: Some(digits(reasons.chain(told.unjoined.iter().map(String::as_str)))),
        from,
        ..Published::default()
    }
}

fn of_table(table: &WorkedFitTable) -> Published {
    let answers: Vec<String> = table
        .answers
        .iter()
        .map(|answer| {
            let lines =
                answer.lines.iter().map(|(title, verdict, words)| format!("{title} {} {words}", verdict.words()));
            format!("{} {}", answer.verdict.words(), lines.collect::<Vec<_>>().join(" "))
        })
        .collect();
    let heads = table.down.iter().chain(&table.across).chain(&table.with).map(String::as_str);
    let cells = table.cells.iter().flatten().map(|answer| answers[*answer].as_str());
    Published {
        says: format!("{} by {}", table.down.len(), crate::text::count(table.across.len(), "column")),
        digest: Some(digits(heads.chain(cells))),
        ..Published::default()
    }
}

fn of_sweep(sweep: &WorkedSweep) -> Published {
    let rows = sweep.rows.iter().flat_map(|row| {
        let cells = row.cells.iter().map(|cell| cell.text.as_deref().unwrap_or("–"));
        std::iter::once(row.label.as_str()).chain(cells)
    });
    let all = sweep.head.iter().map(String::as_str).chain(rows).chain(sweep.limits.iter().map(String::as_str));
    let count = sweep.rows.iter().map(|row| row.cells.len()).sum();
    Published {
        says: crate::text::count(count, "figure"),
        digest: Some(digits(all)),
        from: sweep.given.iter().map(|(name, text)| (name.clone(), plain(text))).collect(),
        ..Published::default()
    }
}
