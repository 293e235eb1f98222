//! Signs of units that are spelled otherwise than on the sheets: `Nm`, `PSI`, `lbs`, `kmh`.
//!
//! Figures that Locknut prints have one sign for each unit; what a person types into a sentence, a tool's name or a
//! phrase should have the same, or one sheet shows two. Looked at is a word right behind a number. Signs of the SI are held to
//! the SI brochure (9th edition, 5.3 and 5.4), the others to the unit table.

use crate::fault::{Fault, id};
use crate::text::Mapped;

/// Spellings that are met, and the sign that sheets have.
const SPELLINGS: &[(&str, &str)] = &[
    ("Nm", "N·m"),
    ("N.m", "N·m"),
    ("N-m", "N·m"),
    ("nm", "N·m"),
    ("NM", "N·m"),
    ("in-lb", "lbf·in"),
    ("in-lbs", "lbf·in"),
    ("in.lb", "lbf·in"),
    ("in.lbs", "lbf·in"),
    ("lb-in", "lbf·in"),
    ("ft-lb", "lbf·ft"),
    ("ft-lbs", "lbf·ft"),
    ("PSI", "psi"),
    ("Psi", "psi"),
    ("Bar", "bar"),
    ("BAR", "bar"),
    ("bars", "bar"),
    ("Kpa", "kPa"),
    ("kpa", "kPa"),
    ("KPA", "kPa"),
    ("MM", "mm"),
    ("Mm", "mm"),
    ("mms", "mm"),
    ("cms", "cm"),
    ("CM", "cm"),
    ("KM", "km"),
    ("Km", "km"),
    ("kms", "km"),
    ("kmh", "km/h"),
    ("kph", "km/h"),
    ("KPH", "km/h"),
    ("km/hr", "km/h"),
    ("KG", "kg"),
    ("Kg", "kg"),
    ("kgs", "kg"),
    ("lbs", "lb"),
    ("gm", "g"),
    ("gms", "g"),
    ("ml", "mL"),
    ("ML", "mL"),
    ("RPM", "rpm"),
    ("Rpm", "rpm"),
    ("MPH", "mph"),
    ("watts", "W"),
    ("Watts", "W"),
    ("WH", "Wh"),
    ("wh", "Wh"),
    ("AH", "Ah"),
    ("hz", "Hz"),
    ("Hrs", "h"),
    ("hrs", "h"),
    ("ºC", "°C"),
    ("ºF", "°F"),
];

/// Notes each sign in a text that sheets spell otherwise.
pub(super) fn check(text: &Mapped, faults: &mut Vec<Fault>) {
    for (start, end, sign) in find(text.text()) {
        let written = &text.text()[start..end];
        let fault = Fault::note(
            id::UNIT_SPELLING,
            text.span(start..end),
            format!("sheets write {sign}, and here it is {written}"),
        );
        faults.push(fault.found(written).cure(format!("write {sign}")));
    }
}

/// The places of such signs, each with the sign that is meant.
fn find(text: &str) -> Vec<(usize, usize, &'static str)> {
    let mut found = Vec::new();
    let bytes = text.as_bytes();
    let mut at = 0;
    while let Some(digit) = text[at..].find(|c: char| c.is_ascii_digit()) {
        let mut end = at + digit;
        while end < bytes.len()
            && (bytes[end].is_ascii_digit()
                || (b".,/".contains(&bytes[end]) && bytes.get(end + 1).is_some_and(u8::is_ascii_digit)))
        {
            end += 1;
        }
        at = end;
        let rest = text[end..].strip_prefix([' ', '\u{a0}', '-']).unwrap_or(&text[end..]);
        let start = text.len() - rest.len();
        let is_of_sign = |c: char| c.is_alphabetic() || "-./º°·".contains(c);
        let length = rest.find(|c: char| !is_of_sign(c)).unwrap_or(rest.len());
        let word = rest[..length].trim_end_matches(['.', '-', '/']);
        if let Some((_, sign)) = SPELLINGS.iter().find(|(spelling, _)| *spelling == word) {
            found.push((start, start + word.len(), *sign));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::find;

    #[test]
    fn a_sign_behind_a_number_is_held_to_the_sheets() {
        let cases: [(&str, &[&str]); 8] = [
            ("to 5 Nm and 60 PSI", &["N·m", "psi"]),
            ("5.5Nm, 40in-lbs.", &["N·m", "lbf·in"]),
            ("a 25-MM washer", &["mm"]),
            ("5 N·m, 60 psi, 25 mm, 30 km/h", &[]),
            ("Nm is a sign, and so is PSI", &[]),
            ("at 90 RPM for 2 hrs", &["rpm", "h"]),
            ("DOT 4 ml", &["mL"]),
            ("1/2 Bar or 1,5 bars", &["bar", "bar"]),
        ];
        for (text, wanted) in cases {
            let signs: Vec<&str> = find(text).into_iter().map(|(_, _, sign)| sign).collect();
            assert_eq!(signs, wanted, "{text}");
        }
    }
}
