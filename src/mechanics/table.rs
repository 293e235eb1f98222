//! A published table as data: rows that follow one another, and the value of the row in which a value lies.
//!
//! From included, to excluded, the last `to` included. A value within 1e-9 of a line of the table counts as on it,
//! so that 44 mm reached by way of 4.4 cm falls into the row that begins at 44 mm. Values are in base units here;
//! what the rows were written in is kept for showing the table. Reading the file is the formula's work.

use super::interval::{Interval, whole};
use super::units::Unit;

/// One row, in base units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct TableRow {
    /// The row begins here, included.
    pub from: f64,
    /// The row ends here, excluded but for the last row.
    pub to: f64,
    /// What the table gives.
    pub value: f64,
}

/// A table of a formula.
#[derive(Clone, PartialEq, Debug)]
pub struct Table {
    /// The name that `lookup` gives.
    pub name: String,
    /// The unit of the first two columns.
    pub by: Unit,
    /// The unit of the third.
    pub gives: Unit,
    /// The rows in base units, each beginning where the one before ends.
    pub rows: Vec<TableRow>,
    /// Where it is printed.
    pub source: String,
}

impl Table {
    /// The row in which a value lies.
    #[must_use]
    pub fn row(&self, value: f64) -> Option<&TableRow> {
        self.place(value).map(|place| &self.rows[place])
    }

    /// The smallest and the largest value of the rows that an interval touches, and whether they rise, fall or stay
    /// (`1`, `-1`, `0`) or do neither (`None`) on the way; nothing where the interval leaves the table.
    #[must_use]
    pub fn span(&self, over: Interval) -> Option<(Interval, Option<i8>)> {
        let touched = &self.rows[self.place(over.lo)?..=self.place(over.hi)?];
        let hull = touched.iter().map(|row| Interval::around(row.value)).reduce(Interval::hull)?;
        let steps = touched.windows(2).map(|pair| pair[1].value - pair[0].value);
        let rises = steps.clone().all(|step| step >= 0.0);
        let falls = steps.clone().all(|step| step <= 0.0);
        let way = match (rises, falls) {
            (true, true) => Some(0),
            (true, false) => Some(1),
            (false, true) => Some(-1),
            (false, false) => None,
        };
        Some((hull, way))
    }

    fn place(&self, value: f64) -> Option<usize> {
        let first = self.rows.first()?;
        let last = self.rows.last()?;
        if whole::near(value, last.to) {
            return Some(self.rows.len() - 1);
        }
        if value < first.from && !whole::near(value, first.from) || value > last.to {
            return None;
        }
        // The row is the last one that begins at or below the value, a line counting as reached within 1e-9.
        let begun = self.rows.partition_point(|row| row.from <= value || whole::near(row.from, value));
        begun.checked_sub(1)
    }
}
