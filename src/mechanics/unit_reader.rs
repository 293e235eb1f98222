//! Reads a unit from the front of a text: as much of it as is one.
//!
//! ```text
//! unit   = factor { ( "/" | "·" | "." ) factor }
//! factor = ( sign | "(" unit ")" ) [ "^" digit | "²" | "³" ]
//! ```
//! A `^` touches its sign. Spaces may stand around `/` and `·`. The unit goes on only while signs of the table
//! follow: of `180 deg / teeth` it takes `deg`, because `teeth` after a slash is a name there, not a sign.

use super::units::Unit;

/// The longest unit at the front of `text`, and how many bytes it takes; `None` where none begins there.
#[must_use]
pub fn read(text: &str) -> Option<(Unit, usize)> {
    read_unit(text, 0)
}

const DEEPEST: u8 = 4;

fn read_unit(text: &str, depth: u8) -> Option<(Unit, usize)> {
    let (mut unit, mut used) = read_factor(text, depth)?;
    while let Some((sign, skip)) = read_joint(&text[used..]) {
        let Some((right, length)) = read_factor(&text[used + skip..], depth) else { break };
        if right.is_label() || unit.has_offset() || right.has_offset() {
            break;
        }
        unit = unit.join(sign, &right);
        used += skip + length;
    }
    Some((unit, used))
}

/// The sign between two factors and the length of it with the spaces around it.
fn read_joint(text: &str) -> Option<(char, usize)> {
    let bare = text.trim_start_matches(' ');
    let (sign, wide) = match bare.chars().next()? {
        '/' => ('/', 1),
        '·' | '\u{22C5}' | '.' => ('·', bare.chars().next()?.len_utf8()),
        _ => return None,
    };
    // A full stop joins only what it touches on both sides: elsewhere it ends a sentence.
    let after = &bare[wide..];
    if bare.starts_with('.') && (bare.len() != text.len() || after.starts_with(' ')) {
        return None;
    }
    let gap = after.len() - after.trim_start_matches(' ').len();
    Some((sign, text.len() - bare.len() + wide + gap))
}

fn read_factor(text: &str, depth: u8) -> Option<(Unit, usize)> {
    let (unit, used) = if text.starts_with('(') {
        read_bracket(text, depth)?
    } else {
        let length = sign_length(text);
        (Unit::symbol(&text[..length])?, length)
    };
    match read_power(&text[used..]) {
        Some(_) if unit.has_offset() => None,
        Some((power, length)) => Some((unit.raised(power), used + length)),
        None => Some((unit, used)),
    }
}

fn read_bracket(text: &str, depth: u8) -> Option<(Unit, usize)> {
    if depth >= DEEPEST {
        return None;
    }
    let (unit, length) = read_unit(&text[1..], depth + 1)?;
    text[1 + length..].starts_with(')').then_some((unit, length + 2))
}

fn read_power(text: &str) -> Option<(u8, usize)> {
    match text.chars().next()? {
        '²' => Some((2, '²'.len_utf8())),
        '³' => Some((3, '³'.len_utf8())),
        '^' => match text.as_bytes().get(1)? {
            digit @ b'1'..=b'9' => Some((digit - b'0', 2)),
            _ => None,
        },
        _ => None,
    }
}

/// How long the run of sign characters at the front is: letters with `_`, a `%`, or a degree sign with a letter.
#[must_use]
pub fn sign_length(text: &str) -> usize {
    let mut chars = text.char_indices();
    match chars.next() {
        Some((_, '%')) => 1,
        Some((_, degree @ ('°' | 'º'))) => match chars.next() {
            Some((_, 'C' | 'F')) => degree.len_utf8() + 1,
            _ => degree.len_utf8(),
        },
        _ => text.find(|c: char| !(c.is_alphabetic() || c == '_') || c == 'º').unwrap_or(text.len()),
    }
}
