//! A figure as it stands in text: what it says, where its working is, and what it read.

use super::beside::Shown;
use super::names::{Named, Names};
use super::{WorkedPiece, WorkedText};
use crate::fault::{Fault, id};
use crate::mechanics::digits;
use crate::mechanics::figure::Style;
use crate::mechanics::mark::{Mark, TextPiece};
use crate::text::Span;
use pulldown_cmark::Event;

/// What a figure read: drift, incremental work and `where-used` go by this alone.
#[derive(Clone, PartialEq, Debug)]
pub struct Reads {
    /// The figure's own name first, then the names that its working used.
    pub names: Vec<String>,
    /// Where the value comes from.
    pub origin: Origin,
}

/// Where a value comes from.
#[derive(Clone, PartialEq, Debug)]
pub enum Origin {
    /// A working of the page.
    Worked {
        /// The working's name.
        working: String,
        /// The formula's id.
        formula: String,
        /// The formula's version.
        version: String,
    },
    /// Measured on a bike of the shop.
    Measured {
        /// What the bike is called.
        bike: String,
        /// The number of its build sheet.
        sheet: String,
    },
    /// An attribute of a part on the shelf.
    Shelf {
        /// What the part is called.
        part: String,
        /// Who says so.
        source: String,
        /// When it was last looked up.
        checked: String,
        /// What the attribute is.
        about: String,
    },
    /// A stated figure.
    Stated {
        /// Who says so.
        source: String,
        /// When it was last looked up.
        checked: String,
        /// What it is.
        about: String,
    },
}

/// A figure.
#[derive(Clone, PartialEq, Debug)]
pub struct Figure {
    /// Number and unit as readers see them.
    pub text: String,
    /// The same in the unit that the shop shows beside it.
    pub beside: Option<String>,
    /// What it read.
    pub reads: Reads,
    /// The span of the mark.
    pub span: Span,
}

impl Figure {
    /// The working on the page that gives it.
    #[must_use]
    pub fn working(&self) -> Option<&str> {
        match &self.reads.origin {
            Origin::Worked { working, .. } => Some(working),
            Origin::Stated { .. } | Origin::Measured { .. } | Origin::Shelf { .. } => None,
        }
    }

    /// What it rests on, in a few words.
    #[must_use]
    pub fn rests_on(&self) -> String {
        match &self.reads.origin {
            Origin::Worked { .. } => "Worked out on this sheet".to_owned(),
            Origin::Measured { bike, sheet } => format!("Measured on the {bike}, build sheet {sheet}"),
            Origin::Shelf { part, source, checked, about } => {
                format!("{part}, {about}: {source}, checked {checked}")
            }
            Origin::Stated { source, checked, about } => format!("{about}; stated: {source}, checked {checked}"),
        }
    }
}

/// Resolves a mark; `None` where it names nothing, with the fault noted.
pub fn resolve(mark: &Mark, names: &Names, faults: &mut Vec<Fault>) -> Option<Figure> {
    let Some(named) = names.get(&mark.name.value) else {
        faults.extend(names.unknown(&mark.name.value, mark.name.span));
        return None;
    };
    let as_asked = |text: String| Shown { beside: names.units().beside(&text).filter(|_| !mark.bare), text };
    let shown = match style_of(mark, named) {
        // Who asks for a unit gets that, with the other beside it where it is the shop's first; who asks for none, none.
        Ok(Some(style)) => as_asked(written(named, &style, mark.bare)),
        Ok(None) if mark.bare => {
            as_asked(stated_ends(named, &named.style, true).unwrap_or_else(|| named.style.bare(named.value)))
        }
        Ok(None) => names.units().show(named.open.as_ref().unwrap_or(&named.text)),
        Err(fault) => {
            faults.push(*fault);
            return None;
        }
    };
    Some(Figure { text: shown.text, beside: shown.beside, reads: named.reads.clone(), span: mark.span })
}

/// The style that a mark asks for, where it asks for one.
fn style_of(mark: &Mark, named: &Named) -> Result<Option<Style>, Box<Fault>> {
    let Some(unit) = &mark.unit else { return Ok(None) };
    if !named.style.kind.takes(&unit.value) {
        let fault = Fault::new(
            id::WRONG_KIND,
            unit.span,
            format!("{} is {} and can't be shown in {}", mark.name.value, named.style.kind.phrase, unit.value.text),
        )
        .found(unit.value.text.clone())
        .allowed(named.style.kind.units.join(", "))
        .cure("choose one of these units");
        return Err(Box::new(fault));
    }
    let coarse = Style {
        decimals: Some(named.style.decimals.unwrap_or_else(|| decimals_in(&named.text))),
        ..named.style.clone()
    };
    let mut style = coarse.converted(unit.value.clone());
    if mark.decimals.is_some() {
        style.decimals = mark.decimals;
    }
    Ok(Some(style))
}

/// The most decimals of any number in a text: a tolerance may be finer than its value.
fn decimals_in(text: &str) -> i32 {
    let after = text.split('.').skip(1).map(|after| after.bytes().take_while(u8::is_ascii_digit).count());
    after.max().and_then(|most| i32::try_from(most).ok()).unwrap_or(0)
}

/// More decimals than any figure is shown with.
const MOST_DECIMALS: i32 = 9;

/// A figure that was stated as a range or a limit, in this style: a range has both its ends and a limit stays one, each end
/// rounded to its safe side. Nothing of a figure that is a value.
fn stated_ends(named: &Named, style: &Style, bare: bool) -> Option<String> {
    if !matches!(named.reads.origin, Origin::Stated { .. } | Origin::Measured { .. }) {
        return None;
    }
    let (low, high) = (style.number(named.bounds.lo), style.number(named.bounds.hi));
    let text = |number: f64, way: Way, decimals: Option<i32>| match decimals {
        Some(decimals) => digits::fixed(to_a_side(number, decimals, way), decimals),
        None => digits::plain(number),
    };
    let (before, numbers) = if named.text.starts_with("at most ") {
        ("at most ", text(high, f64::floor, style.decimals))
    } else if named.text.starts_with("at least ") {
        ("at least ", text(low, f64::ceil, style.decimals))
    } else if named.text.contains(" to ") {
        // As coarse as is asked, both ends may come to one number.
        let are_apart = |decimals: &i32| to_a_side(low, *decimals, f64::ceil) < to_a_side(high, *decimals, f64::floor);
        let decimals = style.decimals.and_then(|least| (least..=MOST_DECIMALS).find(are_apart));
        ("", format!("{} to {}", text(low, f64::ceil, decimals), text(high, f64::floor, decimals)))
    } else {
        return None;
    };
    Some(if bare { numbers } else { format!("{before}{}", style.with_unit(&numbers)) })
}

/// Down or up to a whole number.
type Way = fn(f64) -> f64;

/// A number at so many decimals, down or up to the next.
fn to_a_side(number: f64, decimals: i32, way: Way) -> f64 {
    let step = libm::pow(10.0, f64::from(-decimals));
    let steps = number / step;
    // What is a whole number of steps but for the last bits is that number.
    let near = steps.round();
    (if (near - steps).abs() < 1e-6 { near } else { way(steps) }) * step
}

fn written(named: &Named, style: &Style, bare: bool) -> String {
    if let Some(ends) = stated_ends(named, style, bare) {
        return ends;
    }
    if bare {
        return style.bare(named.value);
    }
    let value = style.text(named.value);
    let is_even =
        named.bounds.is_bounded() && !named.bounds.is_point() && style.decimals.is_some() && named.text.contains('±');
    if is_even {
        let size = style.unit.from_base_difference(named.bounds.hi - named.value);
        let least = style.decimals.unwrap_or(0);
        // A tolerance that is there is never shown as none.
        let is_shown = |decimals: &i32| digits::fixed(size, *decimals).contains(|c: char| ('1'..='9').contains(&c));
        let decimals = (least..=MOST_DECIMALS).find(is_shown).unwrap_or(least);
        return format!("{value} ± {}", style.with_unit(&digits::fixed(size, decimals)));
    }
    value
}

/// Resolves text with marks; a mark with a fault is left out.
pub fn resolve_text(pieces: &[TextPiece], names: &Names, faults: &mut Vec<Fault>) -> Vec<WorkedText> {
    let mut worked = Vec::with_capacity(pieces.len());
    for piece in pieces {
        match piece {
            TextPiece::Words(words) => worked.push(WorkedText::Words(words.clone())),
            TextPiece::Mark(mark) => worked.extend(resolve(mark, names, faults).map(WorkedText::Figure)),
        }
    }
    worked
}

/// A heading's or a paragraph's pieces as plain characters: words and figures, without what links and marks do to them.
#[must_use]
pub fn plain_pieces(pieces: &[WorkedPiece]) -> String {
    let part = |piece: &WorkedPiece| match piece {
        WorkedPiece::Event(Event::Text(words) | Event::Code(words)) => words.to_string(),
        WorkedPiece::Event(Event::SoftBreak | Event::HardBreak) => " ".to_owned(),
        WorkedPiece::Figure(figure) => figure.text.clone(),
        _ => String::new(),
    };
    pieces.iter().map(part).collect()
}

/// Text with its figures as plain characters.
#[must_use]
pub fn plain(pieces: &[WorkedText]) -> String {
    let part = |piece: &WorkedText| match piece {
        WorkedText::Words(words) => words.clone(),
        WorkedText::Figure(figure) => figure.text.clone(),
    };
    pieces.iter().map(part).collect()
}

#[cfg(test)]
mod tests {
    use super::{Origin, Reads, plain, resolve_text};
    use crate::diagnostic::Source;
    use crate::evaluate::names::{Named, Names};
    use crate::library::stated;
    use crate::mechanics::equation::kind_of;
    use crate::mechanics::figure::Style;
    use crate::mechanics::mark::split_marks;
    use crate::text::Mapped;
    use std::collections::BTreeMap;
    use std::sync::Arc;

    /// Text with marks for one stated figure, `torque.stem`, as it is printed.
    fn printed(value: &str, text: &str) -> String {
        let file = format!("stem: {{value: {value}, about: a, source: s, checked: 2026-04-02}}\n");
        let subject = stated::parse(&Source::new("content/stated/torque.yaml", file), "torque.yaml", &mut Vec::new());
        let amount = subject.expect("a file").figures.pop().expect("a figure").amount;
        let origin = Origin::Stated { source: "s".to_owned(), checked: "2026-04-02".to_owned(), about: "a".to_owned() };
        let name = "torque.stem".to_owned();
        let named = Named {
            value: amount.value,
            bounds: amount.bounds,
            style: Style { kind: kind_of(&amount.unit), unit: amount.unit, decimals: None },
            text: amount.text,
            open: None,
            reads: Reads { names: vec![name.clone()], origin },
        };
        let names = Names::of(&Arc::new(BTreeMap::from([(name, named)])), &Arc::default());
        let mut faults = Vec::new();
        let pieces = split_marks(&Mapped::verbatim(text, 0), text, &mut faults);
        let printed = plain(&resolve_text(&pieces, &names, &mut faults));
        assert!(faults.is_empty(), "{text}: {faults:?}");
        printed.replace('\u{A0}', " ")
    }

    /// 1 N·m is 8.8507 lbf·in (NIST SP 811, appendix B; by the unit table's own check).
    #[test]
    fn a_limit_a_range_and_a_tolerance_stay_what_they_are_in_another_unit() {
        for (value, mark, wanted) in [
            ("5 to 6 N·m", "(=torque.stem)", "5 to 6 N·m"),
            ("5 to 6 N·m", "(=torque.stem bare)", "5 to 6"),
            ("5 to 6 N·m", "(=torque.stem in lbf·in)", "45 to 53 lbf·in"),
            ("5 to 6 N·m", "(=torque.stem in lbf·in to 0.1)", "44.3 to 53.1 lbf·in"),
            ("at most 7 N·m", "(=torque.stem bare)", "7"),
            ("at most 7 N·m", "(=torque.stem in lbf·in to 1)", "at most 61 lbf·in"),
            ("at least 1.5 mm", "(=torque.stem in inch to 0.01)", "at least 0.06 in"),
            ("at least 254 mm", "(=torque.stem in inch to 1)", "at least 10 in"),
            ("5 N·m ± 0.5 N·m", "(=torque.stem in lbf·in)", "44 lbf·in ± 4 lbf·in"),
            ("5 N·m ± 0.5 N·m", "(=torque.stem in lbf·in to 10)", "40 lbf·in ± 4 lbf·in"),
            ("5 N·m ± 0.5 N·m", "(=torque.stem bare)", "5"),
            ("1397 mm", "(=torque.stem in inch)", "55.0 in"),
        ] {
            assert_eq!(printed(value, mark), wanted, "{value} as {mark}");
        }
    }
}
