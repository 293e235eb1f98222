//! `stated/SUBJECT.yaml`: figures quoted from a named source, used everywhere as `SUBJECT.NAME`.

use super::date::check_date;
use crate::diagnostic::Source;
use crate::fault::{Fault, id};
use crate::mechanics::interval::Interval;
use crate::mechanics::units::Unit;
use crate::mechanics::written::{Written, parse_written};
use crate::text::{Mapped, Span, Spanned};
use crate::yaml::keys::{Holds, Keys, keys};
use crate::yaml::{self, Fields, Node};

/// The figures of one file.
#[derive(Clone, Debug)]
pub struct StatedSubject {
    /// The file's path.
    pub file: String,
    /// The file's name without its ending: the word before the dot.
    pub name: String,
    /// The figures.
    pub figures: Vec<Stated>,
}

/// One quoted figure.
#[derive(Clone, Debug)]
pub struct Stated {
    /// The word after the dot.
    pub name: String,
    /// The value.
    pub amount: Amount,
    /// What it is.
    pub about: String,
    /// Who says so.
    pub source: String,
    /// When that was last looked up.
    pub checked: Spanned<String>,
    /// Where it stands.
    pub span: Span,
}

/// A quoted or measured value.
#[derive(Clone, Debug, PartialEq)]
pub struct Amount {
    /// In base units: what was written, the middle of a range, or the end that is given.
    pub value: f64,
    /// Where the quantity lies; open to one side for `at most` and `at least`.
    pub bounds: Interval,
    /// The unit in which it was written.
    pub unit: Unit,
    /// As it is printed: `5 N·m ± 0.5 N·m`, `at most 6 N·m`.
    pub text: String,
}

/// A file of stated figures.
pub static FIGURES: Holds = Holds::Map("figures", &Holds::Keys(&FIGURE));

static FIGURE: Keys = Keys::new(
    "a stated figure",
    keys! {
        "value" needed Holds::Text("a value with its unit, a range, or at most or at least one"), "The figure as the source gives it, with its tolerance where it has one.",
            "value: 5 N·m ± 0.5 N·m";
        "about" needed Holds::Text("a sentence"), "What was measured or marked, and on which part.",
            "about: face-plate bolts of the stem on the workshop's test bike";
        "source" needed Holds::Text("words that name the source"), "The standard, the marking on the part, or the shop's own measurement.",
            "source: marked on the part";
        "checked" needed Holds::Date, "The day on which somebody last looked at the source. The proof tells of figures not checked for longer than stale_after.",
            "checked: 2026-04-02";
    },
);

/// Reads one file of stated figures.
pub fn parse(source: &Source, file: &str, faults: &mut Vec<Fault>) -> Option<StatedSubject> {
    let text = Mapped::verbatim(source.text.as_str(), 0);
    let node = yaml::parse(&text).map_err(|found| faults.extend(found)).ok()?;
    let Some(entries) = node.as_map() else {
        faults.push(
            Fault::new(id::WRONG_SHAPE, node.span, "each stated figure begins with its name")
                .allowed("name: {value, about, source, checked}")
                .cure("write the name and a colon first, without a hyphen"),
        );
        return None;
    };
    let figures = entries.iter().filter_map(|entry| figure(&entry.key, &entry.value, faults)).collect();
    Some(StatedSubject { file: source.name.clone(), name: file.trim_end_matches(".yaml").to_owned(), figures })
}

fn figure(name: &Spanned<String>, node: &Node, faults: &mut Vec<Fault>) -> Option<Stated> {
    check_entry_name(name, faults);
    let fields = Fields::of(node, &FIGURE, faults)?;
    let value = fields.need_text("value", faults)?;
    let word =
        |key: &str, faults: &mut Vec<Fault>| fields.need_text(key, faults).map(|text| text.text().trim().to_owned());
    let (about, source) = (word("about", faults), word("source", faults));
    let checked = fields.need_text("checked", faults);
    if let Some(text) = checked {
        check_date(text, faults);
    }
    let amount = read_amount(value).map_err(|fault| faults.push(fault)).ok()?;
    let checked = checked.map(|text| Spanned::new(text.text().trim().to_owned(), text.whole()));
    Some(Stated {
        name: name.value.clone(),
        amount,
        about: about?,
        source: source?,
        checked: checked?,
        span: name.span,
    })
}

/// The name of a value of the library: small letters first, then digits, `-` and `_` too, so that pages can write it.
pub(super) fn check_entry_name(name: &Spanned<String>, faults: &mut Vec<Fault>) {
    let text = name.value.as_str();
    let fits = text.starts_with(|c: char| c.is_ascii_lowercase())
        && text.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-' || c == '_');
    if !fits {
        faults.push(
            Fault::new(id::BAD_NAME, name.span, format!("{text} is no name that a page can write"))
                .found(text)
                .allowed("small letters first, then digits, - and _ where you like")
                .cure("name it after what it is, such as longest_chain"),
        );
    }
}

/// A value, a range, or one end of a range.
pub(super) fn read_amount(text: &Mapped) -> Result<Amount, Fault> {
    let words = text.text();
    if let Some(end) = words.strip_prefix("at most ") {
        let (base, unit, shown) = end_of(text, words.len() - end.len(), words.len())?;
        return Ok(Amount {
            value: base,
            bounds: Interval::new(f64::NEG_INFINITY, base),
            unit,
            text: format!("at most {shown}"),
        });
    }
    if let Some(end) = words.strip_prefix("at least ") {
        let (base, unit, shown) = end_of(text, words.len() - end.len(), words.len())?;
        return Ok(Amount {
            value: base,
            bounds: Interval::new(base, f64::INFINITY),
            unit,
            text: format!("at least {shown}"),
        });
    }
    if let Some((low, _)) = words.split_once(" to ") {
        return read_range(text, low.len());
    }
    let written = parse_written(text)?;
    Ok(Amount { value: written.base(), bounds: written.bounds(), text: shown(&written), unit: written.unit })
}

/// `5 to 6 N·m`: the unit stands once, at the end, or at both ends.
fn read_range(text: &Mapped, split: usize) -> Result<Amount, Fault> {
    let (high, unit, high_text) = end_of(text, split + " to ".len(), text.text().len())?;
    let low = exact(&text.slice(0..split))?;
    let own = if low.unit.text.is_empty() { unit.clone() } else { low.unit.clone() };
    let base = own.to_base(low.number);
    if own.dimension != unit.dimension || base >= high {
        return Err(Fault::new(id::BAD_VALUE, text.whole(), "the range doesn't run from a smaller to a larger value")
            .found(text.text())
            .cure("write the smaller end first, both in one unit"));
    }
    // The lower number stands without a sign, so it has to be in the unit behind the upper one.
    let low_text = crate::mechanics::digits::plain(unit.from_base(base));
    let bounds = Interval::new(base, high);
    Ok(Amount { value: base / 2.0 + high / 2.0, bounds, unit, text: format!("{low_text} to {high_text}") })
}

fn end_of(text: &Mapped, start: usize, end: usize) -> Result<(f64, Unit, String), Fault> {
    let written = exact(&text.slice(start..end))?;
    Ok((written.unit.to_base(written.number), written.unit.clone(), shown(&written)))
}

/// A value that is an end of a range, or a limit: what lies on either side of it would be neither.
fn exact(text: &Mapped) -> Result<Written, Fault> {
    let written = parse_written(text)?;
    if written.tolerance.is_none() {
        return Ok(written);
    }
    Err(Fault::new(id::BAD_VALUE, text.whole(), "the end of a range, or a limit, takes no tolerance")
        .found(text.text().trim())
        .allowed("5 to 6 N·m, at most 6 N·m, at least 1.5 mm, or 5 N·m ± 0.5 N·m")
        .cure("write the outermost value that is meant, without ±"))
}

/// A value as written, with the spaces and signs that readers see.
fn shown(written: &Written) -> String {
    let style = |unit: &Unit| crate::mechanics::figure::Style {
        kind: &crate::mechanics::units::KINDS[1],
        unit: unit.clone(),
        decimals: None,
    };
    let digits = crate::mechanics::digits::plain(written.number);
    let value = style(&written.unit).with_unit(&digits);
    match &written.tolerance {
        None => value,
        Some((size, own)) => format!("{value} ± {}", style(own).with_unit(&crate::mechanics::digits::plain(*size))),
    }
}

#[cfg(test)]
mod tests {
    use super::read_amount;
    use crate::text::Mapped;

    #[test]
    fn a_range_is_printed_in_one_unit() {
        let text = |written: &str| read_amount(&Mapped::verbatim(written, 0)).expect("a range").text;
        assert_eq!(text("5 to 6 N·m"), "5 to 6\u{A0}N·m");
        assert_eq!(text("5 N·m to 6 N·m"), "5 to 6\u{A0}N·m");
        assert_eq!(text("50 mm to 6 cm"), "5 to 6\u{A0}cm");
        assert_eq!(text("1 in to 30 mm"), "25.4 to 30\u{A0}mm");
    }
}
