//! The `sweep` block worked: a formula over one or two inputs, every cell at the stated numbers.
//!
//! Block and names in, a table of texts out, and the same values as lines for a plot. A place without an answer stays
//! open in the table; a sweep without any is a fault. Limits that speak are told once, with the cells that they are of.

use super::WorkedText;
use super::figure::Origin;
use super::formulas::Formulas;
use super::names::Names;
use super::workings::{check_output, read_one};
use crate::drawing::plot::{Axis, Line, Plot, Point};
use crate::fault::{Fault, id};
use crate::library::block_sweep::{Run, SweepBlock};
use crate::mechanics::figure::{NO_BREAK, Style};
use crate::mechanics::formula::{Formula, Input, Output};
use crate::mechanics::print::words;
use crate::mechanics::reading::Reading;
use crate::mechanics::working::{check_known, missing, work};
use crate::text::{Spanned, count};

/// A sweep with more cells than this is no longer read by anybody.
const MOST_CELLS: usize = 2_000;

/// A sweep, worked.
#[derive(Clone, Debug)]
pub struct WorkedSweep {
    /// What stands above it.
    pub caption: Vec<WorkedText>,
    /// The formula's title.
    pub title: String,
    /// What is set: the output's own words.
    pub about: String,
    /// What the head runs over.
    pub across: String,
    /// The head.
    pub head: Vec<String>,
    /// What the side runs over; empty of a single row.
    pub down: String,
    /// The rows.
    pub rows: Vec<Row>,
    /// What limits said in some cells.
    pub limits: Vec<String>,
    /// What stays the same: name and text.
    pub given: Vec<(String, String)>,
    /// The plot; `None` where nothing can be laid along an axis.
    pub plot: Option<Plot>,
    /// What it rests on.
    pub sources: Vec<String>,
    /// The formula's standing cautions.
    pub cautions: Vec<String>,
    /// The block as written.
    pub written: String,
}

/// A row of the table.
#[derive(Clone, Debug)]
pub struct Row {
    /// Its value at the side.
    pub label: String,
    /// Its cells.
    pub cells: Vec<Cell>,
}

/// A cell of the table.
#[derive(Clone, Debug)]
pub struct Cell {
    /// Its text; `None` where there is no answer.
    pub text: Option<String>,
    /// Its value in the output's unit.
    pub value: Option<f64>,
    /// True of the guide's own point.
    pub marked: bool,
    /// Which limits spoke, by their places.
    pub limits: Vec<usize>,
}

/// An input with the readings that it runs through.
pub(super) struct Swept<'f> {
    pub(super) input: &'f Input,
    pub(super) readings: Vec<Reading>,
}

impl Swept<'_> {
    fn label(&self) -> String {
        words(&self.input.name)
    }

    fn text(&self, place: usize) -> String {
        self.readings[place].text(&self.input.style())
    }
}

/// Works a sweep but for its caption; `None` with the faults noted.
pub(super) fn sweep(
    block: &SweepBlock,
    formulas: &Formulas,
    names: &Names,
    faults: &mut Vec<Fault>,
) -> Option<WorkedSweep> {
    let plan = plan(block, formulas, names, faults)?;
    let formula = plan.formula;
    let worked = run(plan);
    if worked.is_none() {
        let message = format!("{} has no answer anywhere in this sweep", formula.id);
        faults.push(
            Fault::new(id::NO_ANSWER, block.formula.span, message).cure("check the values given against each other"),
        );
    }
    worked
}

/// A sweep with every value read.
pub(super) struct Plan<'f> {
    pub(super) formula: &'f Formula,
    pub(super) output: &'f Output,
    pub(super) across: Swept<'f>,
    pub(super) down: Option<Swept<'f>>,
    pub(super) between: Option<Swept<'f>>,
    /// By input: what stays; `None` of those that run.
    pub(super) base: Vec<Option<Reading>>,
    mark: Option<Mark>,
    written: String,
}

impl<'f> Plan<'f> {
    /// A sweep that no page wrote; inputs that are not given and don't run take their defaults.
    pub(super) fn of(
        formula: &'f Formula,
        show: &str,
        across: Swept<'f>,
        down: Option<Swept<'f>>,
        between: Option<Swept<'f>>,
        given: &[(&str, Reading)],
    ) -> Option<Self> {
        let base = formula.inputs.iter().map(|input| {
            let given = given.iter().find(|(name, _)| *name == input.name).map(|(_, reading)| *reading);
            let runs = [Some(&across), down.as_ref(), between.as_ref()];
            let is_run = runs.into_iter().flatten().any(|run| run.input.name == input.name);
            match given.or_else(|| input.default_reading()?.ok()) {
                reading if is_run || reading.is_some() => {
                    Some(reading.filter(|_| !is_run).map(Reading::without_tolerance))
                }
                _ => None,
            }
        });
        let base = base.collect::<Option<Vec<_>>>()?;
        let output = formula.output(show)?;
        Some(Self { formula, output, across, down, between, base, mark: None, written: String::new() })
    }
}

fn plan<'f>(block: &SweepBlock, formulas: &'f Formulas, names: &Names, faults: &mut Vec<Fault>) -> Option<Plan<'f>> {
    let before = faults.len();
    let formula = formulas.find(&block.formula).map_err(|fault| faults.push(fault)).ok()?;
    let runs = [Some(&block.across), block.down.as_ref(), block.saw_tooth.as_ref()];
    let named = runs.into_iter().flatten().map(|run| &run.name);
    faults.extend(block.given.iter().map(|(name, _)| name).chain(named).filter_map(|name| check_known(formula, name)));
    faults.extend(check_output(formula, &block.show));
    faults.extend(twice(block));
    if faults.len() > before {
        return None;
    }
    let output = formula.output(&block.show.value)?;
    let [across, down, between] = runs.map(|run| run.map(|run| swept(run, formula, names, faults)));
    let across = across??;
    let (down, between) = (whole(down)?, whole(between)?);
    let base = base(block, formula, [Some(&across), down.as_ref(), between.as_ref()], names, faults)?;
    let cells = across.readings.len() * down.as_ref().map_or(1, |down| down.readings.len());
    if cells > MOST_CELLS {
        faults.push(
            Fault::new(id::TABLE_SIZE, block.span, "this sweep is too large")
                .found(count(cells, "cell"))
                .allowed(format!("{MOST_CELLS} at most"))
                .cure("give fewer values, or two sweeps"),
        );
        return None;
    }
    if let Some([least, most]) = between.as_ref().map(|between| &between.readings[..])
        && least.value >= most.value
    {
        faults.push(
            Fault::new(id::BAD_VALUE, block.span, "between runs from the less to the more")
                .allowed("between: {cadence: [70 rpm, 100 rpm]}")
                .cure("write the smaller value first"),
        );
        return None;
    }
    let mark = block.mark.as_ref().map(|mark| {
        let own = marked(mark, &across, down.as_ref(), output, names)?;
        held_to(mark, formula, &base, names)?;
        Ok(own)
    });
    let mark = mark.transpose().map_err(|fault: Option<Fault>| faults.extend(fault)).ok()?;
    Some(Plan { formula, output, across, down, between, base, mark, written: block.written.clone() })
}

/// The fault of an input that is given or run more than once.
fn twice(block: &SweepBlock) -> Option<Fault> {
    let runs = [Some(&block.across), block.down.as_ref(), block.saw_tooth.as_ref()];
    let named = block.given.iter().map(|(name, _)| name).chain(runs.into_iter().flatten().map(|run| &run.name));
    let all: Vec<&Spanned<String>> = named.collect();
    let again = (1..all.len()).find(|place| all[..*place].iter().any(|first| first.value == all[*place].value))?;
    let name = all[again];
    let fault = Fault::new(id::NAME_TWICE, name.span, format!("{} has its values twice", name.value));
    Some(fault.found(name.value.clone()).cure("let an input stand under given, across, down or between, and once"))
}

/// What was not asked for is no failure.
#[expect(clippy::option_option, reason = "asked for or not, and then read or not")]
fn whole<T>(asked: Option<Option<T>>) -> Option<Option<T>> {
    match asked {
        Some(Some(read)) => Some(Some(read)),
        Some(None) => None,
        None => Some(None),
    }
}

/// Works every cell; `None` where there is no answer anywhere.
pub(super) fn run(plan: Plan<'_>) -> Option<WorkedSweep> {
    let Plan { formula, output, across, down, between, base, mark, written } = plan;
    let mut table = Table { formula, output, across: &across, down: down.as_ref(), base, limits: Vec::new() };
    let middle = between.as_ref().and_then(|between| between.readings.get(1).map(|most| (between.input, *most)));
    let rows = table.rows(middle, mark.as_ref());
    if rows.iter().all(|row| row.cells.iter().all(|cell| cell.value.is_none())) {
        return None;
    }
    let plot = match &between {
        Some(between) => table.saw_tooth(between),
        None => table.lines(&rows, mark.as_ref()),
    };
    let stays = formula.inputs.iter().zip(&table.base);
    let given = stays.filter_map(|(input, reading)| Some((words(&input.name), reading.as_ref()?.text(&input.style()))));
    let given = given.collect();
    Some(WorkedSweep {
        caption: Vec::new(),
        title: formula.title.clone(),
        about: match middle {
            Some((input, most)) => format!("{} at {}", said(output), most.text(&input.style())),
            None => said(output),
        },
        across: across.label(),
        head: (0..across.readings.len()).map(|place| across.text(place)).collect(),
        down: down.as_ref().map(Swept::label).unwrap_or_default(),
        limits: table.limits,
        rows,
        given,
        plot,
        sources: formula.sources(),
        cautions: formula.cautions.clone(),
        written,
    })
}

/// What an output is, with its unit: `speed, km/h`.
fn said(output: &Output) -> String {
    let sign = output.style.unit.shown(false);
    if sign.is_empty() { words(&output.name) } else { format!("{}, {sign}", words(&output.name)) }
}

fn swept<'f>(run: &Run, formula: &'f Formula, names: &Names, faults: &mut Vec<Fault>) -> Option<Swept<'f>> {
    let input = formula.input(&run.name.value)?;
    let mut readings = Vec::with_capacity(run.values.len());
    for value in &run.values {
        match read_one(input, value, names, &mut Vec::new()) {
            Ok(reading) => readings.push(reading.without_tolerance()),
            Err(fault) => faults.extend(fault.map(|fault| *fault)),
        }
    }
    (readings.len() == run.values.len()).then_some(Swept { input, readings })
}

/// The readings of the inputs that stay; `None` in the place of those that run.
fn base(
    block: &SweepBlock,
    formula: &Formula,
    runs: [Option<&Swept<'_>>; 3],
    names: &Names,
    faults: &mut Vec<Fault>,
) -> Option<Vec<Option<Reading>>> {
    let before = faults.len();
    let mut base = Vec::with_capacity(formula.inputs.len());
    for input in &formula.inputs {
        if runs.iter().flatten().any(|run| run.input.name == input.name) {
            base.push(None);
            continue;
        }
        let given = block.given.iter().find(|(name, _)| name.value == input.name);
        let reading = match given {
            Some((_, text)) => read_one(input, text, names, &mut Vec::new()),
            None => input
                .default_reading()
                .unwrap_or_else(|| Err(missing(formula, &input.name, block.formula.span)))
                .map_err(|fault| Some(Box::new(fault))),
        };
        match reading {
            Ok(reading) => base.push(Some(reading.without_tolerance())),
            Err(None) => return None,
            Err(Some(fault)) => faults.push(*fault),
        }
    }
    (faults.len() == before).then_some(base)
}

/// The guide's own point: its values along and down, and what comes out.
struct Mark {
    name: String,
    across: f64,
    down: Option<f64>,
    value: f64,
}

fn marked(
    mark: &Spanned<String>,
    across: &Swept<'_>,
    down: Option<&Swept<'_>>,
    output: &Output,
    names: &Names,
) -> Result<Mark, Option<Fault>> {
    let value = |of: &str| {
        let name = format!("{}.{of}", mark.value);
        names.get(&name).map(|named| named.value).ok_or_else(|| names.unknown(&name, mark.span))
    };
    Ok(Mark {
        name: mark.value.clone(),
        across: value(&across.input.name)?,
        down: down.map(|down| value(&down.input.name)).transpose()?,
        value: value(&output.name)?,
    })
}

/// The working that is marked is of the sweep's formula, and what stays in the sweep is the same in it.
fn held_to(
    mark: &Spanned<String>,
    formula: &Formula,
    base: &[Option<Reading>],
    names: &Names,
) -> Result<(), Option<Fault>> {
    for (input, reading) in formula.inputs.iter().zip(base) {
        let Some(reading) = reading else { continue };
        let name = format!("{}.{}", mark.value, input.name);
        let Some(named) = names.get(&name) else { return Err(names.unknown(&name, mark.span)) };
        let is_of = matches!(&named.reads.origin, Origin::Worked { formula: of, .. } if *of == formula.id);
        if !is_of || !crate::mechanics::interval::whole::near(named.value, reading.value) {
            let message = format!("{} is no point of this sweep: {} is another there", mark.value, words(&input.name));
            let fault = Fault::new(id::CLAIM_OUT, mark.span, message).found(named.text.replace(NO_BREAK, " "));
            let allowed = reading.text(&input.style()).replace(NO_BREAK, " ");
            return Err(Some(fault.allowed(allowed).cure("give both the same values, or leave mark out")));
        }
    }
    Ok(())
}

/// What the cells are worked from.
struct Table<'s, 'f> {
    formula: &'f Formula,
    output: &'f Output,
    across: &'s Swept<'f>,
    down: Option<&'s Swept<'f>>,
    base: Vec<Option<Reading>>,
    limits: Vec<String>,
}

impl Table<'_, '_> {
    /// The value of one cell, and the limits that speak there.
    fn work(&mut self, row: usize, column: usize, other: Option<(&Input, Reading)>) -> (Option<f64>, Vec<usize>) {
        let readings: Option<Vec<Reading>> = self
            .formula
            .inputs
            .iter()
            .zip(&self.base)
            .map(|(input, reading)| {
                let run = |swept: &Swept<'_>, place: usize| {
                    (swept.input.name == input.name).then(|| swept.readings.get(place).copied()).flatten()
                };
                let other = other.filter(|(known, _)| known.name == input.name).map(|(_, reading)| reading);
                reading.or_else(|| run(self.across, column)).or_else(|| run(self.down?, row)).or(other)
            })
            .collect();
        let Some(Ok(working)) = readings.map(|readings| work(self.formula, readings)) else {
            return (None, Vec::new());
        };
        let mut spoke = Vec::new();
        for spoken in working.spoken.iter().filter(|spoken| spoken.stated) {
            let message = &spoken.limit.message;
            let place = self.limits.iter().position(|known| known == message).unwrap_or(self.limits.len());
            if place == self.limits.len() {
                self.limits.push(message.clone());
            }
            spoke.push(place);
        }
        let value = if working.stopped { None } else { working.value(self.output) };
        (value, spoke)
    }

    fn rows(&mut self, other: Option<(&Input, Reading)>, mark: Option<&Mark>) -> Vec<Row> {
        let count = self.down.map_or(1, |down| down.readings.len());
        let mut rows = Vec::with_capacity(count);
        for row in 0..count {
            let label = self.down.map(|down| down.text(row)).unwrap_or_default();
            let mut cells = Vec::with_capacity(self.across.readings.len());
            for column in 0..self.across.readings.len() {
                let (base, limits) = self.work(row, column, other);
                let same = |one: f64, swept: &Swept<'_>, place: usize| {
                    crate::mechanics::interval::whole::near(one, swept.readings[place].value)
                };
                let marked = mark.is_some_and(|mark| {
                    same(mark.across, self.across, column)
                        && self.down.zip(mark.down).is_none_or(|(down, value)| same(value, down, row))
                });
                let text = base.map(|base| self.output.style.bare(base));
                cells.push(Cell { text, value: base.map(|base| self.output.style.number(base)), marked, limits });
            }
            rows.push(Row { label, cells });
        }
        rows
    }

    /// One line for each row.
    fn lines(&self, rows: &[Row], mark: Option<&Mark>) -> Option<Plot> {
        let style = self.across.input.style();
        let along: Vec<f64> = self.across.readings.iter().map(|reading| style.number(reading.value)).collect();
        let lines = rows.iter().map(|row| {
            let points = along.iter().zip(&row.cells).filter_map(|(x, cell)| Some(Point { x: *x, y: cell.value? }));
            Line { label: row.label.clone(), points: points.collect() }
        });
        let counted = self.across.input.kind.name == "count";
        let mark = mark.map(|mark| {
            let at = Point { x: style.number(mark.across), y: self.output.style.number(mark.value) };
            (at, format!("{}: {}", mark.name, self.output.style.text(mark.value)))
        });
        let plot = Plot {
            x: axis(&self.across.label(), &style),
            y: Axis { label: said(self.output) },
            lines: lines.collect(),
            dots: counted,
            mark,
            stacked: false,
        };
        plot.is_drawable().then_some(plot)
    }

    /// Every gear from the least to the most of what runs between, as the teeth of a saw: up along a gear, straight down
    /// to the next.
    fn saw_tooth(&mut self, between: &Swept<'_>) -> Option<Plot> {
        let style = between.input.style();
        let [least, most] = between.readings[..] else { return None };
        let (low, high) = (style.number(least.value), style.number(most.value));
        let mut lines = Vec::new();
        for row in 0..self.down.map_or(1, |down| down.readings.len()) {
            let mut gears = Vec::new();
            for column in 0..self.across.readings.len() {
                let at = |table: &mut Self, reading| table.work(row, column, Some((between.input, reading))).0;
                // What doesn't change between the two is no tooth.
                if let (Some(from), Some(to)) = (at(self, least), at(self, most))
                    && !crate::mechanics::interval::whole::near(from, to)
                {
                    gears.push((self.output.style.number(from), self.output.style.number(to)));
                }
            }
            gears.sort_by(|one, other| one.0.total_cmp(&other.0));
            let label = self.down.map(|down| down.text(row)).unwrap_or_default();
            lines.push(Line { label, points: teeth(&gears, low, high) });
        }
        let plot = Plot {
            x: Axis { label: said(self.output) },
            y: axis(&words(&between.input.name), &style),
            lines,
            dots: false,
            mark: None,
            stacked: true,
        };
        plot.is_drawable().then_some(plot)
    }
}

fn axis(label: &str, style: &Style) -> Axis {
    let sign = style.unit.shown(false);
    Axis { label: if sign.is_empty() { label.to_owned() } else { format!("{label}, {sign}").replace(NO_BREAK, " ") } }
}

/// The line through gears, each from its speed at the least cadence to that at the most.
fn teeth(gears: &[(f64, f64)], low: f64, high: f64) -> Vec<Point> {
    let mut points = Vec::with_capacity(gears.len() * 3);
    for (place, &(from, to)) in gears.iter().enumerate() {
        if place == 0 {
            points.push(Point { x: from, y: low });
        }
        points.push(Point { x: to, y: high });
        if let Some(&(next_from, next_to)) = gears.get(place + 1) {
            let drop = low + (to - next_from) / (next_to - next_from) * (high - low);
            // Between gears that don't overlap there is a gap: the rider pedals below the least for a while.
            let at = if drop < low { Point { x: next_from, y: low } } else { Point { x: to, y: drop } };
            points.push(at);
        }
    }
    points
}
