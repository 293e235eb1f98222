//! What has not been looked at for too long: stated figures past the shop's `stale_after`, pages past `review_by`.
//!
//! Notes, and only where somebody says what day it is: nothing that is pressed depends on the clock.

use super::date::Date;
use super::{Faults, Library};
use crate::diagnostic::Diagnostic;
use crate::fault::{Fault, id};

/// A note for each figure and page that is too old on this day.
#[must_use]
pub fn check(library: &Library, on: Date) -> Faults {
    let mut notes = Faults::new();
    if let Some(months) = library.shop.stale_after {
        let oldest = on.months_before(months);
        for subject in &library.stated {
            let old = |day: &str| Date::parse(day).is_some_and(|day| day < oldest);
            for stated in subject.figures.iter().filter(|stated| old(&stated.checked.value)) {
                let message = format!("{}.{} was looked up too long ago", subject.name, stated.name);
                let fault = Fault::note(id::STALE_FIGURE, stated.checked.span, message)
                    .found(stated.checked.value.clone())
                    .allowed(format!("{oldest} or later, {months} months before {on}"))
                    .cure(format!("look it up again ({}), then write the new day after checked", stated.source));
                notes.push(Diagnostic { file: subject.file.clone(), fault });
            }
        }
    }
    if let Some(months) = library.shop.stale_after {
        notes.extend(old_parts(library, on, months));
    }
    let guides = library.guides.iter().map(|guide| (&guide.review_by, &guide.number, &guide.source));
    let charts = library.charts.iter().map(|chart| (&chart.review_by, &chart.number, &chart.source));
    for (review_by, number, source) in guides.chain(charts) {
        let Some(due) = review_by.as_ref().filter(|due| Date::parse(&due.value).is_some_and(|day| day < on)) else {
            continue;
        };
        let message = format!("sheet {} is due to be read again", number.value);
        let fault = Fault::note(id::REVIEW_DUE, due.span, message)
            .found(due.value.clone())
            .cure("read it through, mend what has changed, and write a new day after review_by");
        notes.push(Diagnostic { file: source.name.clone(), fault });
    }
    notes
}

/// A note for each part whose attributes were looked up too long ago, at the day that is too old.
fn old_parts(library: &Library, on: Date, months: u32) -> Faults {
    let oldest = on.months_before(months);
    let mut notes = Faults::new();
    for part in &library.shelf.parts {
        let mut told: Vec<crate::text::Span> = Vec::new();
        for word in part.word.values() {
            let is_old = Date::parse(&word.checked.value).is_some_and(|day| day < oldest);
            if !is_old || told.contains(&word.checked.span) {
                continue;
            }
            told.push(word.checked.span);
            let message = format!("{} was looked up too long ago", part.name.value);
            let fault = Fault::note(id::STALE_FIGURE, word.checked.span, message)
                .found(word.checked.value.clone())
                .allowed(format!("{oldest} or later, {months} months before {on}"))
                .cure(format!("look it up again ({}), then write the new day after checked", word.source));
            notes.push(Diagnostic { file: part.file.clone(), fault });
        }
    }
    notes
}
