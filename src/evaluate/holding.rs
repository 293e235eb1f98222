//! What a technician believes and demands, held to what was worked: `claim` and `must`.

use super::figure::{plain, resolve_text};
use super::names::{Named, Names};
use super::page_expression;
use super::workings::unknown_output;
use crate::fault::{Fault, id};
use crate::library::block::{Must, WorkingBlock};
use crate::mechanics::bounds::Truth;
use crate::mechanics::digits;
use crate::mechanics::enclose::Spread;
use crate::mechanics::figure::{NO_BREAK, Style};
use crate::mechanics::formula::Output;
use crate::mechanics::interval::whole;
use crate::mechanics::working::Working;
use crate::mechanics::written::{Written, parse_written};
use crate::text::Mapped;

/// Holds every claim of a block to its working.
pub(super) fn check_claims(block: &WorkingBlock, working: &Working<'_>, faults: &mut Vec<Fault>) {
    for (name, text) in &block.claim {
        let Some(output) = working.formula.output(&name.value) else {
            faults.extend(unknown_output(working, name));
            continue;
        };
        match parse_written(text) {
            Ok(written) => faults.extend(check_claim(output, working, &written, text)),
            Err(fault) => faults.push(fault),
        }
    }
}

fn check_claim(output: &Output, working: &Working<'_>, written: &Written, text: &Mapped) -> Option<Fault> {
    let value = working.value(output)?;
    let own = &output.style.unit;
    let unit = if written.unit.text.is_empty() { own } else { &written.unit };
    let bare_where_needed = written.unit.text.is_empty() && !(own.text.is_empty() || own.is_label());
    let other_label = own.is_label() && !written.unit.text.is_empty() && written.unit.text != own.text;
    if bare_where_needed || other_label || !output.style.kind.takes(unit) {
        return Some(
            Fault::new(
                id::WRONG_KIND,
                text.whole(),
                format!("{} is {}, worked out in {}", output.name, output.style.kind.phrase, named(&output.style)),
            )
            .found(text.text())
            .allowed(format!("a value like {}", said(&output.style, value)))
            .cure("write the claim with this unit"),
        );
    }
    let style = Style { unit: unit.clone(), decimals: Some(decimals_of(text.text())), ..output.style.clone() };
    let (found, claimed) = (style.number(value), written.number);
    let agrees = match &written.tolerance {
        Some((size, own)) => {
            let size = style.unit.from_base_difference(own.to_base_difference(*size));
            let off = (found - claimed).abs();
            off <= size || whole::near(off, size)
        }
        None => style.bare(value) == digits::fixed(claimed, style.decimals.unwrap_or(0)),
    };
    if agrees {
        return None;
    }
    let off =
        style.with_unit(&digits::fixed((found - claimed).abs(), style.decimals.unwrap_or(0))).replace(NO_BREAK, " ");
    let claim = style.with_unit(&digits::fixed(claimed, style.decimals.unwrap_or(0))).replace(NO_BREAK, " ");
    let worked = style.text(value).replace(NO_BREAK, " ");
    Some(
        Fault::new(id::CLAIM_OUT, text.whole(), format!("the claim of {claim} is out by {off}"))
            .found(format!("{claim} claimed"))
            .allowed(format!("{worked}, as {} works it out", working.formula.id))
            .cure("check the values given; if they are right, mend the claim"),
    )
}

fn named(style: &Style) -> String {
    let sign = style.unit.shown(false);
    if sign.is_empty() { "plain numbers".to_owned() } else { sign }
}

fn said(style: &Style, value: f64) -> String {
    style.text(value).replace(NO_BREAK, " ")
}

/// How many decimals a value is written with.
fn decimals_of(text: &str) -> i32 {
    let after = text.split_once('.').map_or("", |(_, after)| after);
    let digits = after.chars().take_while(char::is_ascii_digit).count();
    i32::try_from(digits).unwrap_or(0)
}

/// Holds every limit of a block, over the whole of the tolerances.
pub(super) fn check_musts(block: &WorkingBlock, names: &Names, faults: &mut Vec<Fault>) {
    for must in &block.must {
        let before = faults.len();
        let message = plain(&resolve_text(&must.message, names, faults)).replace(NO_BREAK, " ");
        // A sentence without its figure is no sentence; the mark has its own fault.
        let message = Some(message).filter(|_| faults.len() == before);
        match page_expression::hold(&must.when, names) {
            Ok(held) if held.truth == Truth::Always => {}
            Ok(held) => faults.push(broken(must, held.stated, message.as_deref(), names)),
            Err(fault) => faults.extend(fault.map(|fault| *fault)),
        }
    }
}

/// A name's text, with its bounds where they say more.
fn said_of(named: &Named) -> String {
    // `at most 6 N·m` is open to one side, and says so itself.
    let bounds = named.bounds.is_bounded().then_some(named.bounds);
    let spread = bounds.and_then(|bounds| named.style.spread(named.value, &Spread::Within(bounds)));
    let spread = spread.map_or(String::new(), |spread| format!(", {spread}"));
    format!("{}{spread}", named.text).replace(NO_BREAK, " ")
}

fn broken(must: &Must, stated: bool, message: Option<&str>, names: &Names) -> Fault {
    let what =
        if stated { "this limit does not hold everywhere in the tolerances" } else { "this limit does not hold" };
    let words = must.when.text().split(|c: char| !(c.is_ascii_alphanumeric() || "_-.".contains(c)));
    let values: Vec<String> =
        words.filter_map(|word| Some(format!("{word} is {}", said_of(names.get(word)?)))).collect();
    let says = message.map_or(String::new(), |message| format!(": {}", message.trim_end_matches('.')));
    let fault = Fault::new(id::LIMIT_BROKEN, must.when.whole(), format!("{what}{says}"));
    let fault = if values.is_empty() { fault } else { fault.found(values.join(", ")) };
    fault.allowed(must.when.text()).cure("check the values given; if they are right, mend the limit or the work")
}
