//! Shapes that drawing templates ask for, so that a template stays readable: trigonometry, toothed wheels,
//! dimensions, balloons.
//!
//! Lengths are those of the drawing (millimetres of paper), angles radians, x to the right and y down. Numbers are
//! written with two decimals at most, which is a hundredth of a millimetre.

use crate::text::escape;
use minijinja::value::Rest;
use minijinja::{Environment, Error, ErrorKind, Value};
use std::collections::BTreeSet;
use std::f64::consts::PI;
use std::fmt::Write as _;
use std::sync::LazyLock;

/// Gives a template environment the functions and constants of drawings.
pub fn add_to(environment: &mut Environment<'_>) {
    environment.add_global("pi", PI);
    environment.add_function("sin", libm::sin);
    environment.add_function("cos", libm::cos);
    environment.add_function("tan", libm::tan);
    environment.add_function("asin", |x: f64| number("asin", libm::asin(x)));
    environment.add_function("atan", libm::atan);
    environment.add_function("sqrt", |x: f64| number("sqrt", x.sqrt()));
    environment.add_function("n", n);
    environment.add_function("wheel", wheel);
    environment.add_function("dimension", dimension);
    environment.add_function("balloon", balloon);
}

/// True for a name that a template already has for something else, or can't have at all.
#[must_use]
pub fn is_taken(name: &str) -> bool {
    const OWN: [&str; 3] = ["id", "alt", "title"];
    const WORDS: [&str; 10] = ["and", "or", "not", "in", "is", "if", "else", "true", "false", "none"];
    static GLOBALS: LazyLock<BTreeSet<String>> = LazyLock::new(|| {
        let mut environment = Environment::new();
        add_to(&mut environment);
        environment.globals().map(|(name, _)| name.to_owned()).collect()
    });
    OWN.contains(&name) || WORDS.contains(&name) || GLOBALS.contains(name)
}

fn number(name: &str, value: f64) -> Result<f64, Error> {
    if value.is_nan() {
        return Err(Error::new(ErrorKind::InvalidOperation, format!("{name} has no answer for this value")));
    }
    Ok(value)
}

fn wrong_count(name: &str, count: usize) -> Error {
    Error::new(ErrorKind::MissingArgument, format!("{name} takes {count} values"))
}

fn real(value: &Value) -> Result<f64, Error> {
    f64::try_from(value.clone())
}

/// A number with two decimals at most.
#[must_use]
pub fn n(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

fn point(at: (f64, f64)) -> String {
    format!("{},{}", n(at.0), n(at.1))
}

/// Path data of a toothed wheel round a centre: `teeth` gaps on the pitch circle of a chain with this pitch and
/// roller, the first gap at the angle `turn`. Seats follow the rollers with a radius of 0.505 of their diameter, as
/// in ISO 606; flanks and tips are drawn, not cut.
///
/// Called as `wheel(cx, cy, teeth, pitch, roller, turn)`.
#[expect(clippy::needless_pass_by_value, reason = "the form that the template engine calls")]
fn wheel(given: Rest<f64>) -> Result<String, Error> {
    let [cx, cy, teeth, pitch, roller, turn] = given[..] else { return Err(wrong_count("wheel", 6)) };
    if !(3.0..=200.0).contains(&teeth) || !pitch.is_finite() || !roller.is_finite() {
        return Err(Error::new(ErrorKind::InvalidOperation, "a wheel has 3 to 200 teeth"));
    }
    let step = 2.0 * PI / teeth;
    let radius = pitch / (2.0 * libm::sin(PI / teeth));
    let seat = 0.505 * roller;
    let (tip, top) = (0.268 * pitch, 0.085 * pitch);
    let (foot_in, foot_out) = (radius - seat * 0.5, seat * libm::sin(PI / 3.0));
    let at = |angle: f64, out: f64, along: f64| {
        let (sin, cos) = (libm::sin(angle), libm::cos(angle));
        point((cx + out * cos - along * sin, cy + out * sin + along * cos))
    };
    let mut path = String::new();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "3 to 200, checked above")]
    for tooth in 0..teeth.round() as u32 {
        let gap = turn + step * f64::from(tooth);
        if tooth == 0 {
            let _ = write!(path, "M{}", at(gap, foot_in, -foot_out));
        }
        let _ = write!(
            path,
            "A{seat},{seat} 0 0 0 {}Q{} {}L{}Q{} {}",
            at(gap, foot_in, foot_out),
            at(gap, radius + 0.1 * seat, 1.02 * seat),
            at(gap + step / 2.0, radius + tip, -top),
            at(gap + step / 2.0, radius + tip, top),
            at(gap + step, radius + 0.1 * seat, -1.02 * seat),
            at(gap + step, foot_in, -foot_out),
            seat = n(seat),
        );
    }
    path.push('Z');
    Ok(path)
}

/// How long an arrowhead is; it is a third as wide (ISO 129-1 leaves both to the drawing).
const HEAD: f64 = 2.6;

fn head(at: (f64, f64), along: (f64, f64)) -> String {
    let base = (at.0 - along.0 * HEAD, at.1 - along.1 * HEAD);
    let half = HEAD / 6.0;
    format!(
        r#"<path class="d-head" fill="currentColor" stroke="none" d="M{}L{}L{}Z"/>"#,
        point(at),
        point((base.0 - along.1 * half, base.1 + along.0 * half)),
        point((base.0 + along.1 * half, base.1 - along.0 * half)),
    )
}

/// Direction and length from one point to another; to the right where they are the same.
fn direction(from: (f64, f64), to: (f64, f64)) -> (f64, f64) {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let length = libm::hypot(dx, dy);
    if length > 0.0 { (dx / length, dy / length) } else { (1.0, 0.0) }
}

/// A dimension between two points, `offset` to the side of their line, its text above it. The extension lines begin
/// `start1` and `start2` beside their points.
///
/// Called as `dimension(x1, y1, x2, y2, offset, text, start1, start2)`.
#[expect(clippy::needless_pass_by_value, reason = "the form that the template engine calls")]
fn dimension(given: Rest<Value>) -> Result<Value, Error> {
    let [x1, y1, x2, y2, offset, text, start1, start2] = &given[..] else { return Err(wrong_count("dimension", 8)) };
    let (one, other) = ((real(x1)?, real(y1)?), (real(x2)?, real(y2)?));
    let (offset, start1, start2) = (real(offset)?, real(start1)?, real(start2)?);
    let along = direction(one, other);
    let side = (-along.1, along.0);
    let way = if offset >= 0.0 { 1.0 } else { -1.0 };
    let beside = |at: (f64, f64), by: f64| (at.0 + side.0 * by, at.1 + side.1 * by);
    let (a, b) = (beside(one, offset), beside(other, offset));
    let (e1, e2) = (beside(one, way * start1), beside(other, way * start2));
    let (f1, f2) = (beside(a, way * 1.5), beside(b, way * 1.5));
    let middle = (f64::midpoint(a.0, b.0), f64::midpoint(a.1, b.1));
    let mut angle = libm::atan2(along.1, along.0).to_degrees();
    // Words are read from the foot of the sheet or from its right side (ISO 129-1).
    if angle > 89.995 {
        angle -= 180.0;
    } else if angle < -90.005 {
        angle += 180.0;
    }
    let turn = if angle.abs() < 0.005 {
        String::new()
    } else {
        format!(r#" transform="rotate({} {} {})""#, n(angle), n(middle.0), n(middle.1))
    };
    let words = text.to_string();
    let words = if words.is_empty() {
        words
    } else {
        format!(
            r#"<text class="d-text" fill="currentColor" stroke="none" text-anchor="middle" x="{}" y="{}"{turn}>{}</text>"#,
            n(middle.0),
            n(middle.1 - 1.1),
            escape(&words),
        )
    };
    Ok(Value::from_safe_string(format!(
        r#"<g class="d-size"><path class="d-thin" stroke-width="0.18" d="M{}L{}M{}L{}M{}L{}"/>{}{}{words}</g>"#,
        point(e1),
        point(f1),
        point(e2),
        point(f2),
        point(a),
        point(b),
        head(a, (-along.0, -along.1)),
        head(b, along),
    )))
}

/// An item balloon in the manner of ISO 6433: a numbered circle, a leader to its target that ends in an arrow (on an
/// outline) or a dot (within a surface), and a label at one side.
///
/// Called as `balloon(x, y, tx, ty, number, end, label, side)`.
#[expect(clippy::needless_pass_by_value, reason = "the form that the template engine calls")]
fn balloon(given: Rest<Value>) -> Result<Value, Error> {
    const RADIUS: f64 = 3.6;
    let [x, y, tx, ty, number, end, label, side] = &given[..] else { return Err(wrong_count("balloon", 8)) };
    let (x, y, tx, ty) = (real(x)?, real(y)?, real(tx)?, real(ty)?);
    let text = label.to_string();
    let along = direction((x, y), (tx, ty));
    let end = if end.as_str() == Some("arrow") {
        head((tx, ty), along)
    } else {
        format!(r#"<circle class="d-head" fill="currentColor" stroke="none" cx="{}" cy="{}" r="0.55"/>"#, n(tx), n(ty))
    };
    let (anchor, way) = if side.as_str() == Some("right") { ("start", 1.0) } else { ("end", -1.0) };
    let label = if text.is_empty() {
        String::new()
    } else {
        format!(
            r#"<text class="d-text" fill="currentColor" stroke="none" text-anchor="{anchor}" x="{}" y="{}">{}</text>"#,
            n(x + way * (RADIUS + 1.4)),
            n(y + 1.4),
            escape(&text),
        )
    };
    Ok(Value::from_safe_string(format!(
        r#"<g class="d-balloon"><path class="d-thin" stroke-width="0.18" d="M{}L{}"/>{end}<circle class="d-ring" stroke-width="0.25" cx="{}" cy="{}" r="{}"/><text class="d-number" fill="currentColor" stroke="none" text-anchor="middle" x="{}" y="{}">{}</text>{label}</g>"#,
        point((x + along.0 * RADIUS, y + along.1 * RADIUS)),
        point((tx, ty)),
        n(x),
        n(y),
        n(RADIUS),
        n(x),
        n(y + 1.4),
        escape(&number.to_string()),
    )))
}
