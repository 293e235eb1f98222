//! Pairings, fit tables and sweeps to markup: texts that are ready, put into the theme's templates.

use super::body::Body;
use super::theme::ThemeFault;
use super::{code, safe};
use crate::editions::SYMBOL;
use crate::evaluate::beside::Units;
use crate::evaluate::figure::plain;
use crate::evaluate::pairing::{Reason, ToldPairing};
use crate::evaluate::parts::{WorkedFitTable, WorkedPairing};
use crate::evaluate::sweeps::WorkedSweep;
use crate::mechanics::pairing::Verdict;
use crate::text::escape;
use minijinja::{Value, context};
use std::fmt::Write as _;

type Set<T> = Result<T, ThemeFault>;

/// A verdict as part of a class.
pub(super) fn class(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::DoesNotFit => "never",
        Verdict::NotKnown => "unknown",
        Verdict::FitsWithLimits => "limits",
        Verdict::Fits => "fits",
    }
}

/// A reason as values for templates.
pub(super) fn reason(units: &Units, reason: &Reason) -> Value {
    let measure = reason.measure.iter().map(|one| {
        let href = one.guide.as_ref().map(|(file, place)| {
            let page = file.trim_start_matches("content/").trim_end_matches(".md");
            let place = place.as_ref().map(|place| format!("#{place}")).unwrap_or_default();
            format!("{SYMBOL}{page}.html{place}")
        });
        context! { about => one.about.as_str(), how => one.how.as_str(), of => one.of.as_str(), href }
    });
    let compared =
        reason.compared.iter().map(|(about, text)| context! { about => about.as_str(), text => units.sentence(text) });
    context! {
        title => reason.title.as_str(),
        verdict => reason.verdict.words(),
        class => class(reason.verdict),
        message => units.sentence(&reason.message),
        measure => measure.collect::<Vec<_>>(),
        compared => compared.collect::<Vec<_>>(),
        source => reason.source.as_str(),
    }
}

/// The parts' titles, their reasons and their verdict as values for templates.
pub(super) fn pairing_values(units: &Units, told: &ToldPairing) -> Value {
    context! {
        verdict => told.verdict.words(),
        verdict_class => class(told.verdict),
        parts => told.parts.iter().map(|part| part.title.clone()).collect::<Vec<String>>(),
        reasons => told.reasons.iter().map(|one| reason(units, one)).collect::<Vec<_>>(),
        heed => once(units, told, |reason| reason.verdict != Verdict::Fits),
        notices => once(units, told, |reason| reason.notice),
        unjoined => told.unjoined.clone(),
        apart => told.apart,
    }
}

/// Some of the reasons; what is said alike of front and rear stands once.
fn once(units: &Units, told: &ToldPairing, wanted: fn(&Reason) -> bool) -> Vec<Value> {
    let mut seen: Vec<(&str, &str)> = Vec::new();
    let mut values = Vec::new();
    for one in told.reasons.iter().filter(|one| wanted(one)) {
        let said = (one.title.as_str(), one.message.as_str());
        if !seen.contains(&said) {
            seen.push(said);
            values.push(reason(units, one));
        }
    }
    values
}

impl Body<'_> {
    /// A pairing with its reasons.
    pub(super) fn pairing(&self, pairing: &WorkedPairing) -> Set<String> {
        let values = context! {
            id => self.next_id("pairing"),
            written_html => safe(code::coloured(pairing.written.trim_end(), "yaml")),
            ..pairing_values(&self.setting.units, &pairing.told)
        };
        self.setting.theme.render("pairing.html", values)
    }

    /// A fit table with its answers.
    pub(super) fn fit_table(&self, table: &WorkedFitTable) -> Set<String> {
        let id = self.next_id("fit");
        let values = context! {
            label => self.next_label(&plain(&table.caption)),
            caption_html => safe(self.text(&table.caption)?),
            down_title => table.down_title.as_str(),
            across => table.across.clone(),
            with => table.with.clone(),
            rows_html => safe(rows(table, &id)),
            answers_html => safe(answers(&self.setting.units, table, &id)),
            sources => table.sources.clone(),
            id,
        };
        self.setting.theme.render("fit-table.html", values)
    }

    /// A sweep with its plot.
    pub(super) fn sweep(&self, sweep: &WorkedSweep) -> Set<String> {
        let id = self.next_id("sweep");
        let values = context! {
            label => self.next_label(&plain(&sweep.caption)),
            caption_html => safe(self.text(&sweep.caption)?),
            ..sweep_values(sweep, &id, &plain(&sweep.caption))
        };
        self.setting.theme.render("sweep.html", values)
    }
}

/// The rows of a fit table. A table may have tens of thousands of cells: its markup is written here, and not by a
/// template.
fn rows(table: &WorkedFitTable, id: &str) -> String {
    let mut out = String::new();
    for (title, cells) in table.down.iter().zip(&table.cells) {
        let _ = write!(out, "<tr><th scope=\"row\">{}</th>", escape(title));
        for place in cells {
            let verdict = table.answers[*place].verdict;
            let (class, words, answer) = (class(verdict), verdict.words(), place + 1);
            let _ = write!(out, "<td class=\"v-{class}\"><a href=\"#{id}-{answer}\">{words}</a></td>");
        }
        out.push_str("</tr>\n");
    }
    out
}

/// The answers of a fit table, each once.
fn answers(units: &Units, table: &WorkedFitTable, id: &str) -> String {
    let mut out = String::new();
    let asked = asked(table);
    for (place, answer) in table.answers.iter().enumerate() {
        let (class, words) = (class(answer.verdict), answer.verdict.words());
        let of = escape(&asked[place]);
        let _ = write!(out, "<li id=\"{id}-{}\"><b class=\"v-{class}\">{words}</b>: {of}\n<ul>", place + 1);
        for (title, verdict, words) in &answer.lines {
            out.push_str("<li>");
            if !title.is_empty() {
                let stop = if words.is_empty() { "" } else { ":" };
                let _ = write!(out, "<span class=\"faint\">{}, {}{stop}</span> ", escape(title), verdict.words());
            }
            let _ = write!(out, "{}</li>", escape(&units.sentence(words)));
        }
        out.push_str("</ul></li>\n");
    }
    out
}

/// Of which parts each answer speaks: the first pairs that it was given for, and how many more there are.
fn asked(table: &WorkedFitTable) -> Vec<String> {
    const MOST: usize = 3;
    let mut pairs: Vec<(Vec<String>, usize)> = vec![(Vec::new(), 0); table.answers.len()];
    for (down, cells) in table.down.iter().zip(&table.cells) {
        for (across, place) in table.across.iter().zip(cells) {
            let (named, more) = &mut pairs[*place];
            if named.len() < MOST { named.push(format!("{down} + {across}")) } else { *more += 1 }
        }
    }
    let text = |(named, more): (Vec<String>, usize)| match more {
        0 => named.join("; "),
        more => format!("{}; {more} more", named.join("; ")),
    };
    pairs.into_iter().map(text).collect()
}

/// The letter that a limit has in a table.
fn note(place: usize) -> String {
    char::from(b'a' + u8::try_from(place % 26).unwrap_or(0)).to_string()
}

/// A sweep as values for its template.
pub(super) fn sweep_values(sweep: &WorkedSweep, id: &str, caption: &str) -> Value {
    let rows = sweep.rows.iter().map(|row| {
        let cells = row.cells.iter().map(|cell| {
            let notes: Vec<String> = cell.limits.iter().map(|place| note(*place)).collect();
            context! { text => cell.text.as_deref(), marked => cell.marked, notes => notes.join(" ") }
        });
        context! { label => row.label.as_str(), cells => cells.collect::<Vec<_>>() }
    });
    let limits = sweep.limits.iter().enumerate();
    let limits = limits.map(|(place, message)| context! { note => note(place), message => message.as_str() });
    let plot = sweep.plot.as_ref().and_then(|plot| plot.svg(&format!("{id}-plot"), caption, &alt(sweep)));
    let given = sweep.given.iter().map(|(name, text)| context! { name => name.as_str(), text => text.as_str() });
    context! {
        id,
        title => sweep.title.as_str(),
        about => sweep.about.as_str(),
        across => sweep.across.as_str(),
        head => sweep.head.clone(),
        down => sweep.down.as_str(),
        rows => rows.collect::<Vec<_>>(),
        limits => limits.collect::<Vec<_>>(),
        given => given.collect::<Vec<_>>(),
        is_saw => sweep.plot.as_ref().is_some_and(|plot| plot.stacked),
        plot_html => plot.map(safe),
        sources => sweep.sources.clone(),
    }
}

/// What a plot shows, with the ends of each line.
fn alt(sweep: &WorkedSweep) -> String {
    let Some(plot) = &sweep.plot else { return String::new() };
    let lines = sweep.rows.iter().filter_map(|row| {
        let known: Vec<&str> = row.cells.iter().filter_map(|cell| cell.text.as_deref()).collect();
        let (first, last) = (known.first()?, known.last()?);
        let label = if row.label.is_empty() { String::new() } else { format!("{}: ", row.label) };
        Some(format!("{label}{first} to {last}"))
    });
    let lines: Vec<String> = lines.collect();
    format!(
        "{} against {}. In the table's order, {} from {} to {}: {}.",
        plot.y.label,
        plot.x.label,
        sweep.about,
        sweep.head.first().map_or("", String::as_str),
        sweep.head.last().map_or("", String::as_str),
        lines.join("; ")
    )
}
