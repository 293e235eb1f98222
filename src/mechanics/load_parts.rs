//! The pieces that several parts of a formula file share: names with kind and unit, numbers, sentences, tables.

use super::formula::Formula;
use super::interval::whole;
use super::keys;
use super::load::unknown_kind;
use super::table::{Table, TableRow};
use super::units::{Kind, Unit};
use crate::fault::{Fault, id};
use crate::text::{Mapped, Spanned};
use crate::yaml::{Fields, Node};
use std::sync::Arc;

/// What inputs and outputs have in common.
pub(super) struct Part {
    pub(super) name: Spanned<String>,
    pub(super) symbol: String,
    pub(super) kind: &'static Kind,
    pub(super) unit: Unit,
}

impl Part {
    pub(super) fn read(fields: &Fields<'_>, faults: &mut Vec<Fault>) -> Option<Self> {
        let name = fields.need_text("name", faults)?;
        let symbol = fields.need_text("symbol", faults)?.text().to_owned();
        let (kind, unit) = measure(fields, faults)?;
        Some(Self { name: Spanned { value: name.text().to_owned(), span: name.whole() }, symbol, kind, unit })
    }
}

/// The keys `kind` and `unit`, held against each other.
pub(super) fn measure(fields: &Fields<'_>, faults: &mut Vec<Fault>) -> Option<(&'static Kind, Unit)> {
    let word = fields.need_text("kind", faults)?;
    let Some(kind) = Kind::named(word.text()) else {
        faults.push(unknown_kind(word.text(), word.whole()));
        return None;
    };
    let text = fields.need("unit", faults)?.text()?;
    let unit = match Unit::parse(text.text()) {
        Ok(unit) => unit,
        Err(word) => {
            faults.push(super::parser::unknown_unit(&word, text.whole()));
            return None;
        }
    };
    if !kind.takes(&unit) {
        faults.push(
            Fault::new(
                id::UNIT_OF_ANOTHER_KIND,
                text.whole(),
                format!("{} is no unit of {}", text.text(), kind.phrase),
            )
            .found(text.text())
            .allowed(kind.units.join(", "))
            .cure("choose one of these units, or mend the kind"),
        );
        return None;
    }
    Some((kind, unit))
}

/// The least and the most that a value named `name` may be.
pub(super) fn range(fields: &Fields<'_>, name: &str, faults: &mut Vec<Fault>) -> Option<(f64, f64)> {
    let node = fields.need("range", faults)?;
    let before = faults.len();
    let ends: Vec<f64> = node.as_list().unwrap_or_default().iter().filter_map(|end| number(end, faults)).collect();
    if let [low, high] = ends[..]
        && low < high
    {
        return Some((low, high));
    }
    if faults.len() == before {
        let what = if ends.len() == 2 { "runs from the more to the less" } else { "is not two numbers" };
        faults.push(
            Fault::new(id::WRONG_SHAPE, node.span, format!("the range of {name} {what}"))
                .allowed("range: [low, high], in the input's own unit")
                .cure("write the least that makes sense, then the most"),
        );
    }
    None
}

/// A number that stands in a file by itself.
pub(super) fn number(node: &Node, faults: &mut Vec<Fault>) -> Option<f64> {
    let parsed = node.text().and_then(read_number);
    if parsed.is_none() {
        faults.push(
            Fault::new(id::BAD_NUMBER, node.span, "a plain number is wanted here")
                .found(node.text().map_or("", Mapped::text))
                .allowed("digits with a decimal point, and a minus where it is below 0")
                .cure("write the number alone, in the unit that stands beside it"),
        );
    }
    parsed
}

fn read_number(text: &Mapped) -> Option<f64> {
    let text = text.text().trim();
    let (negative, digits) = match text.strip_prefix(['-', '\u{2212}']) {
        Some(rest) => (true, rest),
        None => (false, text),
    };
    let (digits, length) = super::number::read_digits(digits).ok().filter(|(_, length)| *length == digits.len())?;
    debug_assert!(length > 0, "a number has digits");
    let size: f64 = digits.parse().ok()?;
    Some(if negative { -size } else { size })
}

/// A text that must be there, without the white space round it.
pub(super) fn sentence(fields: &Fields<'_>, key: &str, faults: &mut Vec<Fault>) -> Option<String> {
    fields.need_text(key, faults).map(|text| text.text().trim().to_owned())
}

/// The tables of a formula.
pub(super) fn load_tables(fields: &Fields<'_>, faults: &mut Vec<Fault>) -> Vec<Arc<Table>> {
    let Some(node) = fields.get("tables") else { return Vec::new() };
    let Some(entries) = node.as_map() else {
        faults.push(
            Fault::new(id::WRONG_SHAPE, node.span, "tables are names with what stands in each")
                .allowed("name: {by, gives, rows, source}")
                .cure("write the name of each table with a colon, and its keys below it"),
        );
        return Vec::new();
    };
    entries.iter().filter_map(|entry| load_table(&entry.key.value, &entry.value, faults)).map(Arc::new).collect()
}

fn load_table(name: &str, node: &Node, faults: &mut Vec<Fault>) -> Option<Table> {
    let fields = Fields::of(node, &keys::TABLE, faults)?;
    let mut column = |key: &str| {
        let table = if key == "by" { &keys::BY } else { &keys::GIVES };
        let inner = Fields::of(fields.need(key, faults)?, table, faults)?;
        measure(&inner, faults).map(|(_, unit)| unit)
    };
    let (by, gives) = (column("by")?, column("gives")?);
    let mut rows = Vec::new();
    for row in fields.list("rows", faults) {
        let cells: Vec<f64> =
            row.as_list().unwrap_or_default().iter().filter_map(|cell| number(cell, faults)).collect();
        let &[from, to, value] = &cells[..] else {
            faults.push(
                Fault::new(id::WRONG_SHAPE, row.span, "a row of a table has three numbers")
                    .allowed("[from, to, value]")
                    .cure("give where the row begins, where it ends, and what it gives"),
            );
            return None;
        };
        rows.push((row, TableRow { from: by.to_base(from), to: by.to_base(to), value: gives.to_base(value) }));
    }
    check_rows(&rows, faults);
    let source = sentence(&fields, "source", faults)?;
    let rows: Vec<TableRow> = rows.into_iter().map(|(_, row)| row).collect();
    (!rows.is_empty()).then_some(Table { name: name.to_owned(), by, gives, rows, source })
}

fn check_rows(rows: &[(&Node, TableRow)], faults: &mut Vec<Fault>) {
    let cell = |node: &Node, place: usize| node.as_list().and_then(|cells| cells.get(place)).cloned();
    let gap = |node: &Node, place: usize, message: &str| {
        let span = cell(node, place).map_or(node.span, |cell| cell.span);
        Fault::new(id::TABLE_GAP, span, message)
    };
    let written = |node: &Node, place: usize| cell(node, place).and_then(|cell| Some(cell.text()?.text().to_owned()));
    for (node, row) in rows {
        if row.from >= row.to {
            let fault = gap(node, 1, "this row ends where it begins, or before");
            faults.push(fault.cure("give where the row begins, then where it ends, then what it gives"));
        }
    }
    for pair in rows.windows(2) {
        if !whole::near(pair[0].1.to, pair[1].1.from) {
            let fault = gap(pair[1].0, 0, "this row doesn't begin where the one before it ends")
                .found(written(pair[1].0, 0).unwrap_or_default())
                .allowed(written(pair[0].0, 1).unwrap_or_default());
            faults.push(fault.cure("begin each row where the one before it ends"));
        }
    }
}

impl Formula {
    /// True where this formula is a copy of another's table of the same name.
    #[must_use]
    pub fn shares_table(&self, other: &Self, name: &str) -> bool {
        let find = |formula: &Self| formula.tables.iter().find(|table| table.name == name).cloned();
        find(self) == find(other)
    }
}
