//! Plots in the sheet's inks: lines over two axes, in the line types of ISO 128, each named at its end.
//!
//! Numbers in, SVG out, millimetres of paper like every drawing. There is no palette: lines differ by their type and by
//! their names, and the guide's own point is marked by a circle and its axes. What the numbers mean isn't known here.

use super::shapes::n;
use crate::mechanics::digits;
use crate::text::escape;
use std::fmt::Write as _;

/// A plot.
#[derive(Clone, PartialEq, Debug)]
pub struct Plot {
    /// The level axis.
    pub x: Axis,
    /// The upright axis.
    pub y: Axis,
    /// The lines.
    pub lines: Vec<Line>,
    /// True where each point is one of a count, and shown as a dot.
    pub dots: bool,
    /// A point that is marked, and its words.
    pub mark: Option<(Point, String)>,
    /// True where each line has a field of its own, one below the other over one level axis.
    pub stacked: bool,
}

/// An axis.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Axis {
    /// What is laid along it, with its unit.
    pub label: String,
}

/// A line.
#[derive(Clone, PartialEq, Debug)]
pub struct Line {
    /// What stands at its end.
    pub label: String,
    /// Its points, in order.
    pub points: Vec<Point>,
}

/// A point, in the units of the axes.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Point {
    /// Along.
    pub x: f64,
    /// Up.
    pub y: f64,
}

const WIDTH: f64 = 140.0;
/// Where lines run: from the left to the right of the paper.
const LEFT: f64 = 15.0;
const RIGHT: f64 = 118.0;
/// The highest place of a line, and what stands below the lowest.
const TOP: f64 = 9.0;
const BELOW: f64 = 14.0;
/// How high a field is: one for all lines, or one for each.
const HIGH: f64 = 63.0;
const LOW: f64 = 24.0;
/// What stands between two fields.
const BETWEEN: f64 = 5.0;
/// How many names there is room for beside a field.
const MOST_NAMES: usize = 13;
/// How far names at the ends of lines stand apart.
const ROW: f64 = 4.4;

/// The line types of ISO 128-2, in the order of use: 01, 02, 04, 05, 08, 07; lengths are multiples of the line's width.
const TYPES: [&[f64]; 6] =
    [&[], &[12.0, 3.0], &[24.0, 3.0, 0.5, 3.0], &[24.0, 3.0, 0.5, 3.0, 0.5, 3.0], &[24.0, 3.0, 6.0, 3.0], &[0.5, 3.0]];
const THICK: f64 = 0.4;

/// The ends of an axis and the way between its ticks.
#[derive(Clone, Copy, Debug)]
struct Scale {
    low: f64,
    high: f64,
    step: f64,
}

impl Scale {
    /// Round ends and steps round some values: 1, 2 or 5 times a power of ten, five to nine ticks.
    fn of(values: impl Iterator<Item = f64> + Clone) -> Option<Self> {
        let low = values.clone().fold(f64::INFINITY, f64::min);
        let high = values.fold(f64::NEG_INFINITY, f64::max);
        if !low.is_finite() || !high.is_finite() {
            return None;
        }
        let span = if high > low { high - low } else { high.abs().max(1.0) };
        let rough = span / 6.0;
        let power = libm::pow(10.0, libm::floor(libm::log10(rough)));
        let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|times| times * power).find(|step| *step >= rough)?;
        // A line that begins near 0 shows it.
        let low = if low > 0.0 && low < 0.35 * high { 0.0 } else { low };
        let (low, high) = (libm::floor(low / step + 1e-9) * step, libm::ceil(high / step - 1e-9) * step);
        Some(Self { low, high: if high > low { high } else { low + step }, step })
    }

    fn whole(self) -> Self {
        if self.step >= 1.0 {
            return self;
        }
        let (low, high) = (libm::floor(self.low), libm::ceil(self.high));
        Self { low, high: high.max(low + 1.0), step: 1.0 }
    }

    fn share(self, value: f64) -> f64 {
        (value - self.low) / (self.high - self.low)
    }

    fn ticks(self) -> impl Iterator<Item = (f64, String)> {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "some ten ticks")]
        let count = ((self.high - self.low) / self.step).round() as usize;
        #[expect(clippy::cast_precision_loss, reason = "some ten ticks")]
        let at = move |tick: usize| self.low + tick as f64 * self.step;
        #[expect(clippy::cast_possible_truncation, reason = "the exponent of a step")]
        let decimals = (-libm::floor(libm::log10(self.step) + 1e-9)).max(0.0) as i32;
        (0..=count).map(move |tick| (at(tick), digits::fixed(at(tick), decimals)))
    }
}

impl Plot {
    /// True where there are two points at least to draw a line through.
    #[must_use]
    pub fn is_drawable(&self) -> bool {
        self.lines.iter().any(|line| line.points.len() > 1)
    }

    /// The plot as SVG; `id` begins every id in it, `alt` says what it shows.
    #[must_use]
    pub fn svg(&self, id: &str, title: &str, alt: &str) -> Option<String> {
        let points = || self.lines.iter().flat_map(|line| &line.points).chain(self.mark.as_ref().map(|(at, _)| at));
        let (x, y) = (Scale::of(points().map(|at| at.x))?, Scale::of(points().map(|at| at.y))?);
        // A count has no halves.
        let x = if self.dots { x.whole() } else { x };
        let fields = self.fields(x, y);
        let foot = fields.last()?.foot;
        let mut out = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"diagram\" viewBox=\"0 0 {} {}\" role=\"img\" \
             aria-labelledby=\"{id}-title {id}-desc\" fill=\"none\" stroke=\"currentColor\" stroke-width=\"0.18\" \
             font-family=\"'Barlow Condensed', Barlow, sans-serif\" font-weight=\"600\" font-size=\"3.5\">\n\
             <title id=\"{id}-title\">{}</title>\n<desc id=\"{id}-desc\">{}</desc>\n",
            n(WIDTH),
            n(foot + BELOW),
            escape(title),
            escape(alt)
        );
        for field in &fields {
            field.write_axes(&mut out, self.stacked);
        }
        fields.last()?.write_level_ticks(&mut out);
        write_text(&mut out, (RIGHT, foot + 10.4), "end", &self.x.label);
        write_text(&mut out, (1.0, TOP - 5.0), "start", &self.y.label);
        for (place, line) in self.lines.iter().enumerate().filter(|(_, line)| !line.points.is_empty()) {
            let field = if self.stacked { fields.get(place)? } else { fields.first()? };
            write_line(&mut out, field, line, self.dashes(place), self.dots);
        }
        self.write_names(&mut out, &fields);
        if let (Some((at, words)), Some(field)) = (&self.mark, fields.first()) {
            // The other fields' lines have no place in the first.
            let lines = if self.stacked { &self.lines[..self.lines.len().min(1)] } else { &self.lines };
            write_mark(&mut out, field, *at, words, lines);
        }
        out.push_str("</svg>");
        Some(out)
    }

    /// The fields in which lines are drawn, from the top.
    fn fields(&self, x: Scale, y: Scale) -> Vec<Field> {
        if !self.stacked {
            return vec![Field { x, y, top: TOP, foot: TOP + HIGH }];
        }
        let mut top = TOP;
        let mut fields = Vec::with_capacity(self.lines.len());
        for _ in &self.lines {
            fields.push(Field { x, y, top, foot: top + LOW });
            top += LOW + BETWEEN;
        }
        fields
    }

    /// Beyond the types that there are, all lines are continuous, and their names tell them apart; so it is where each
    /// has a field of its own.
    fn dashes(&self, line: usize) -> &'static [f64] {
        if self.stacked || self.lines.len() > TYPES.len() { TYPES[0] } else { TYPES[line] }
    }

    /// The name of each line beside its end, apart from its neighbours; of a line with its own field, beside that.
    fn write_names(&self, out: &mut String, fields: &[Field]) {
        let named = self.lines.iter().enumerate().filter(|(_, line)| !line.label.is_empty());
        let start = RIGHT + 3.0;
        if self.stacked {
            for (place, line) in named {
                if let Some(field) = fields.get(place) {
                    write_text(out, (start, f64::midpoint(field.top, field.foot) + 1.2), "start", &line.label);
                }
            }
            return;
        }
        let Some(field) = fields.first() else { return };
        let mut names: Vec<(f64, f64, &str)> = named
            .filter_map(|(_, line)| {
                let (x, y) = field.place(*line.points.last()?);
                Some((x, y, line.label.as_str()))
            })
            .collect();
        names.sort_by(|one, other| one.1.total_cmp(&other.1));
        // More names than there is room for: the first, the last, and some between them.
        let every = names.len().div_ceil(MOST_NAMES).max(1);
        let last = names.len().saturating_sub(1);
        let mut place = 0;
        names.retain(|_| {
            place += 1;
            (place - 1) % every == 0 || place - 1 == last
        });
        let mut next = f64::NEG_INFINITY;
        for (x, y, label) in names {
            let row = (y + 1.2).max(next);
            next = row + ROW;
            let (from, to) = ((n(x + 0.8), n(y)), (n(start - 0.6), n(row - 1.2)));
            let _ = writeln!(
                out,
                "<path class=\"d-thin\" stroke-width=\"0.13\" d=\"M{},{}L{},{}\"/>",
                from.0, from.1, to.0, to.1
            );
            write_text(out, (start, row), "start", label);
        }
    }
}

/// A field with its axes.
#[derive(Clone, Copy, Debug)]
struct Field {
    x: Scale,
    y: Scale,
    top: f64,
    foot: f64,
}

impl Field {
    fn place(&self, at: Point) -> (f64, f64) {
        (LEFT + self.x.share(at.x) * (RIGHT - LEFT), self.foot - self.y.share(at.y) * (self.foot - self.top))
    }

    /// Grid, axes and the ticks of the upright one; in a low field just its ends are named.
    fn write_axes(&self, out: &mut String, is_low: bool) {
        let mut grid = String::new();
        let mut ticks = String::new();
        for (value, _) in self.x.ticks() {
            let (at, _) = self.place(Point { x: value, y: self.y.low });
            let _ = write!(grid, "M{},{}V{}", n(at), n(self.top), n(self.foot));
        }
        let count = self.y.ticks().count();
        for (place, (value, words)) in self.y.ticks().enumerate() {
            let (_, at) = self.place(Point { x: self.x.low, y: value });
            let _ = write!(grid, "M{},{}H{}", n(LEFT), n(at), n(RIGHT));
            let _ = write!(ticks, "M{},{}h-1.4", n(LEFT), n(at));
            if !is_low || place == 0 || place + 1 == count {
                write_text(out, (LEFT - 2.4, at + 1.2), "end", &words);
            }
        }
        let _ = writeln!(out, "<path class=\"d-thin\" stroke-width=\"0.1\" opacity=\"0.45\" d=\"{grid}\"/>");
        let _ = writeln!(
            out,
            "<path class=\"d-thin\" stroke-width=\"0.25\" d=\"M{},{}V{}H{}{ticks}\"/>",
            n(LEFT),
            n(self.top),
            n(self.foot),
            n(RIGHT)
        );
    }

    fn write_level_ticks(&self, out: &mut String) {
        let mut ticks = String::new();
        for (value, words) in self.x.ticks() {
            let (at, _) = self.place(Point { x: value, y: self.y.low });
            let _ = write!(ticks, "M{},{}v1.4", n(at), n(self.foot));
            write_text(out, (at, self.foot + 5.0), "middle", &words);
        }
        let _ = writeln!(out, "<path class=\"d-thin\" stroke-width=\"0.25\" d=\"{ticks}\"/>");
    }
}

fn write_text(out: &mut String, (x, y): (f64, f64), anchor: &str, words: &str) {
    let _ = writeln!(
        out,
        "<text class=\"d-text\" fill=\"currentColor\" stroke=\"none\" text-anchor=\"{anchor}\" x=\"{}\" y=\"{}\">{}</text>",
        n(x),
        n(y),
        escape(words)
    );
}

fn write_line(out: &mut String, field: &Field, line: &Line, dashes: &[f64], dots: bool) {
    let dashes: Vec<String> = dashes.iter().map(|length| n(length * THICK)).collect();
    let dashes = if dashes.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{}\"", dashes.join(" ")) };
    let points: Vec<(f64, f64)> = line.points.iter().map(|at| field.place(*at)).collect();
    let path: Vec<String> = points.iter().map(|(x, y)| format!("{},{}", n(*x), n(*y))).collect();
    let _ = writeln!(
        out,
        "<path class=\"d-thick\" stroke-width=\"{}\" stroke-linejoin=\"round\"{dashes} d=\"M{}\"/>",
        n(THICK),
        path.join("L")
    );
    for (x, y) in points.iter().filter(|_| dots) {
        let (x, y) = (n(*x), n(*y));
        let _ = writeln!(out, "<circle cx=\"{x}\" cy=\"{y}\" r=\"0.7\" fill=\"currentColor\" stroke=\"none\"/>");
    }
}

/// The guide's own point: a circle on its two axes, with its words on a ground of paper.
fn write_mark(out: &mut String, field: &Field, at: Point, words: &str, lines: &[Line]) {
    let (x, y) = field.place(at);
    let _ = writeln!(
        out,
        "<path class=\"d-axis\" stroke-dasharray=\"4 0.9 0.3 0.9\" d=\"M{},{}H{}M{},{}V{}\"/>",
        n(LEFT),
        n(y),
        n(x),
        n(x),
        n(y),
        n(field.foot)
    );
    let _ = writeln!(out, "<circle cx=\"{}\" cy=\"{}\" r=\"1.5\" stroke-width=\"0.3\"/>", n(x), n(y));
    let (anchor, start, row) = place_beside(field, (x, y), words, lines);
    // A ground of paper under the words, so that a line behind them does not strike them through.
    for look in [
        "class=\"d-text d-paper\" stroke=\"#fff\" stroke-width=\"1.4\" stroke-linejoin=\"round\"",
        "class=\"d-text d-size\" stroke=\"none\"",
    ] {
        let _ = writeln!(
            out,
            "<text {look} fill=\"currentColor\" text-anchor=\"{anchor}\" x=\"{}\" y=\"{}\">{}</text>",
            n(start),
            n(row),
            escape(words)
        );
    }
}

/// Where the words of a mark stand: at the one of its four corners where they hide least of the lines, and lie in the field.
fn place_beside(field: &Field, (x, y): (f64, f64), words: &str, lines: &[Line]) -> (&'static str, f64, f64) {
    // Letters of the condensed face are some 0.45 of their size wide.
    #[expect(clippy::cast_precision_loss, reason = "a few dozen letters")]
    let long = 1.6 * words.chars().count() as f64;
    // Beside the field stand the names of lines, where they have any.
    let end = if lines.iter().all(|line| line.label.is_empty()) { WIDTH - 1.0 } else { RIGHT };
    let below = y + 4.6;
    let above = y - 2.4;
    let (left, right) = (("end", x - 2.4), ("start", x + 2.4));
    // Below the point there is room more often than above: lines fall to the right as rise.
    let sides = if x > f64::midpoint(LEFT, RIGHT) { [left, right] } else { [right, left] };
    let places = [(sides[0], below), (sides[0], above), (sides[1], above), (sides[1], below)];
    let hidden = |((anchor, start), row): &((&'static str, f64), f64)| {
        let (from, to) = if *anchor == "end" { (start - long, *start) } else { (*start, start + long) };
        let outside = from < LEFT || to > end || row - 3.0 < field.top || *row > field.foot - 0.6;
        let segments = lines.iter().flat_map(|line| line.points.windows(2));
        let steps = segments.flat_map(|pair| {
            let (one, other) = (field.place(pair[0]), field.place(pair[1]));
            (0..=12).map(move |step| {
                let share = f64::from(step) / 12.0;
                (one.0 + share * (other.0 - one.0), one.1 + share * (other.1 - one.1))
            })
        });
        let under = steps.filter(|(x, y)| (from..to).contains(x) && (row - 3.4..row + 0.8).contains(y)).count();
        under + if outside { 1000 } else { 0 }
    };
    let ((anchor, start), row) = *places.iter().min_by_key(|place| hidden(place)).unwrap_or(&places[0]);
    (anchor, start, row)
}
