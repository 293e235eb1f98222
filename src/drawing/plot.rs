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
const HEIGHT: f64 = 84.0;
/// The field within which lines run: left, right, top, foot.
const FIELD: [f64; 4] = [15.0, 118.0, 7.0, 70.0];
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
        let [left, right, top, foot] = FIELD;
        let place = |at: Point| (left + x.share(at.x) * (right - left), foot - y.share(at.y) * (foot - top));
        let mut out = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"diagram\" viewBox=\"0 0 {} {}\" role=\"img\" \
             aria-labelledby=\"{id}-title {id}-desc\" fill=\"none\" stroke=\"currentColor\" stroke-width=\"0.18\" \
             font-family=\"'Barlow Condensed', Barlow, sans-serif\" font-weight=\"600\" font-size=\"3.5\">\n\
             <title id=\"{id}-title\">{}</title>\n<desc id=\"{id}-desc\">{}</desc>\n",
            n(WIDTH),
            n(HEIGHT),
            escape(title),
            escape(alt)
        );
        self.write_axes(&mut out, x, y);
        for (place_of_line, line) in self.lines.iter().enumerate() {
            let dashes: Vec<String> = self.dashes(place_of_line).iter().map(|length| n(length * THICK)).collect();
            let dashes =
                if dashes.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{}\"", dashes.join(" ")) };
            let path: Vec<String> =
                line.points.iter().map(|at| place(*at)).map(|(x, y)| format!("{},{}", n(x), n(y))).collect();
            let _ = writeln!(
                out,
                "<path class=\"d-thick\" stroke-width=\"{}\" stroke-linejoin=\"round\"{dashes} d=\"M{}\"/>",
                n(THICK),
                path.join("L")
            );
            if self.dots {
                for (x, y) in line.points.iter().map(|at| place(*at)) {
                    let _ = writeln!(
                        out,
                        "<circle cx=\"{}\" cy=\"{}\" r=\"0.7\" fill=\"currentColor\" stroke=\"none\"/>",
                        n(x),
                        n(y)
                    );
                }
            }
        }
        self.write_names(&mut out, place);
        if let Some((at, words)) = &self.mark {
            write_mark(&mut out, place(*at), words);
        }
        out.push_str("</svg>");
        Some(out)
    }

    /// Beyond the types that there are, all lines are continuous, and their names tell them apart.
    fn dashes(&self, line: usize) -> &'static [f64] {
        if self.lines.len() > TYPES.len() { TYPES[0] } else { TYPES[line] }
    }

    fn write_axes(&self, out: &mut String, x: Scale, y: Scale) {
        let [left, right, top, foot] = FIELD;
        let text = |out: &mut String, x: f64, y: f64, anchor: &str, words: &str| {
            let _ = writeln!(
                out,
                "<text class=\"d-text\" fill=\"currentColor\" stroke=\"none\" text-anchor=\"{anchor}\" x=\"{}\" y=\"{}\">{}</text>",
                n(x),
                n(y),
                escape(words)
            );
        };
        let mut grid = String::new();
        let mut ticks = String::new();
        for (value, words) in x.ticks() {
            let at = left + x.share(value) * (right - left);
            let _ = write!(grid, "M{},{}V{}", n(at), n(top), n(foot));
            let _ = write!(ticks, "M{},{}v1.4", n(at), n(foot));
            text(out, at, foot + 5.0, "middle", &words);
        }
        for (value, words) in y.ticks() {
            let at = foot - y.share(value) * (foot - top);
            let _ = write!(grid, "M{},{}H{}", n(left), n(at), n(right));
            let _ = write!(ticks, "M{},{}h-1.4", n(left), n(at));
            text(out, left - 2.4, at + 1.2, "end", &words);
        }
        let _ = writeln!(out, "<path class=\"d-thin\" stroke-width=\"0.1\" opacity=\"0.45\" d=\"{grid}\"/>");
        let _ = writeln!(
            out,
            "<path class=\"d-thin\" stroke-width=\"0.25\" d=\"M{},{}V{}H{}{ticks}\"/>",
            n(left),
            n(top),
            n(foot),
            n(right)
        );
        text(out, right, foot + 10.4, "end", &self.x.label);
        text(out, 1.0, top - 3.0, "start", &self.y.label);
    }

    /// The name of each line beside its end, apart from its neighbours.
    fn write_names(&self, out: &mut String, place: impl Fn(Point) -> (f64, f64)) {
        let mut names: Vec<(f64, f64, &str)> = self
            .lines
            .iter()
            .filter(|line| !line.label.is_empty())
            .filter_map(|line| {
                let (x, y) = place(*line.points.last()?);
                Some((x, y, line.label.as_str()))
            })
            .collect();
        names.sort_by(|one, other| one.1.total_cmp(&other.1));
        let mut next = f64::NEG_INFINITY;
        for (x, y, label) in names {
            let row = (y + 1.2).max(next);
            next = row + ROW;
            let start = FIELD[1] + 3.0;
            let _ = writeln!(
                out,
                "<path class=\"d-thin\" stroke-width=\"0.13\" d=\"M{},{}L{},{}\"/><text class=\"d-text\" fill=\"currentColor\" stroke=\"none\" x=\"{}\" y=\"{}\">{}</text>",
                n(x + 0.8),
                n(y),
                n(start - 0.6),
                n(row - 1.2),
                n(start),
                n(row),
                escape(label)
            );
        }
    }
}

/// The guide's own point: a circle on its two axes, with its words.
fn write_mark(out: &mut String, (x, y): (f64, f64), words: &str) {
    let [left, right, _, foot] = FIELD;
    let _ = writeln!(
        out,
        "<path class=\"d-axis\" stroke-dasharray=\"4 0.9 0.3 0.9\" d=\"M{},{}H{}M{},{}V{}\"/>\
         <circle class=\"d-paper d-body\" cx=\"{}\" cy=\"{}\" r=\"1.5\" stroke-width=\"0.25\"/>\
         <circle cx=\"{}\" cy=\"{}\" r=\"1.5\" stroke-width=\"0.3\"/>",
        n(left),
        n(y),
        n(x),
        n(x),
        n(y),
        n(foot),
        n(x),
        n(y),
        n(x),
        n(y)
    );
    let (anchor, start) = if x > (left + right) / 2.0 { ("end", x - 2.6) } else { ("start", x + 2.6) };
    let _ = writeln!(
        out,
        "<text class=\"d-text d-size\" fill=\"currentColor\" stroke=\"none\" text-anchor=\"{anchor}\" x=\"{}\" y=\"{}\">{}</text>",
        n(start),
        n(y - 2.4),
        escape(words)
    );
}
