//! Calendar dates as pages write them, `2026-05-03`: read, compared, and counted back by months.
//!
//! Only the form of ISO 8601 with hyphens is taken. Nothing that is pressed asks what day it is; `proof` does, and
//! can be told.

use crate::fault::{Fault, id};
use crate::text::{Mapped, Span};
use std::fmt;
use std::time::{SystemTime, UNIX_EPOCH};

/// A day of the Gregorian calendar.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Date {
    year: i32,
    month: u8,
    day: u8,
}

impl Date {
    /// Reads `2026-05-03`; `None` where that is no day.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let digits = |range: std::ops::Range<usize>| {
            let part = text.get(range)?;
            part.bytes().all(|byte| byte.is_ascii_digit()).then(|| part.parse::<u16>().ok())?
        };
        let hyphens = text.len() == 10 && text.get(4..5) == Some("-") && text.get(7..8) == Some("-");
        let (year, month, day) = (digits(0..4)?, digits(5..7)?, digits(8..10)?);
        let date = Self { year: i32::from(year), month: u8::try_from(month).ok()?, day: u8::try_from(day).ok()? };
        let real = (1..=12).contains(&date.month) && date.day >= 1 && date.day <= days_in(date.year, date.month);
        (hyphens && real).then_some(date)
    }

    /// The same day a number of months before; the last of a shorter month.
    #[must_use]
    pub fn months_before(self, months: u32) -> Self {
        let all = self.year * 12 + i32::from(self.month) - 1 - i32::try_from(months).unwrap_or(i32::MAX / 2);
        let (year, month) = (all.div_euclid(12), u8::try_from(all.rem_euclid(12) + 1).unwrap_or(1));
        Self { year, month, day: self.day.min(days_in(year, month)) }
    }

    /// Today in UTC, by the machine's clock.
    #[must_use]
    pub fn today() -> Self {
        let seconds = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |since| since.as_secs());
        Self::after_epoch(seconds / 86_400)
    }

    /// The day this many days after 1 January 1970.
    fn after_epoch(mut days: u64) -> Self {
        let mut year = 1970;
        while days >= days_of(year) {
            days -= days_of(year);
            year += 1;
        }
        let mut month = 1;
        while days >= u64::from(days_in(year, month)) {
            days -= u64::from(days_in(year, month));
            month += 1;
        }
        Self { year, month, day: u8::try_from(days).unwrap_or(0) + 1 }
    }
}

impl fmt::Display for Date {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

fn is_leap(year: i32) -> bool {
    year % 4 == 0 && (year % 100 != 0 || year % 400 == 0)
}

fn days_of(year: i32) -> u64 {
    if is_leap(year) { 366 } else { 365 }
}

fn days_in(year: i32, month: u8) -> u8 {
    match month {
        4 | 6 | 9 | 11 => 30,
        2 if is_leap(year) => 29,
        2 => 28,
        _ => 31,
    }
}

/// Holds a text to be a day; what it says is kept as it is written.
pub fn check_date(text: &Mapped, faults: &mut Vec<Fault>) {
    let written = text.text().trim();
    if Date::parse(written).is_none() {
        faults.push(bad_date(written, text.whole()));
    }
}

/// The fault of a text that is no day.
#[must_use]
pub fn bad_date(written: &str, span: Span) -> Fault {
    Fault::new(id::BAD_DATE, span, "this is no date")
        .found(written)
        .allowed("year, month and day of the calendar: 2026-05-03")
        .cure("write four, two and two digits with hyphens between them, and check that the month has such a day")
}

#[cfg(test)]
mod tests {
    use super::Date;

    /// Days after 1 January 1970, by `date -u -d @SECONDS` of GNU coreutils.
    #[test]
    fn days_are_counted_as_the_calendar_counts_them() {
        for (days, text) in [(0, "1970-01-01"), (59, "1970-03-01"), (11_016, "2000-02-29"), (20_782, "2026-11-25")] {
            assert_eq!(Date::after_epoch(days).to_string(), text);
        }
    }

    #[test]
    fn only_days_are_dates() {
        for text in ["2026-02-29", "2026-13-01", "2026-5-3", "26-05-03", "2026/05/03", "2026-05-00", "", "2026-05-033"]
        {
            assert_eq!(Date::parse(text), None, "{text}");
        }
        assert!(Date::parse("2024-02-29") < Date::parse("2024-03-01"));
    }

    #[test]
    fn months_are_counted_back() {
        let before = |text: &str, months| Date::parse(text).expect("a day").months_before(months).to_string();
        assert_eq!(before("2026-11-25", 18), "2025-05-25");
        assert_eq!(before("2026-03-31", 1), "2026-02-28");
        assert_eq!(before("2026-01-15", 1), "2025-12-15");
    }
}
