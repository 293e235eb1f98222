//! An address as a code of dark and light squares (ISO/IEC 18004), which a telephone reads off paper.
//!
//! The squares come from a library; this makes one small drawing of them: black on white whatever the paper, with the
//! quiet zone of four modules that the standard asks for round it.

use qrcode::{Color, EcLevel, QrCode};
use std::fmt::Write as _;

/// How many modules stay free round the code.
pub const QUIET: usize = 4;

/// A code as a drawing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Square {
    /// The drawing; a module is one unit of it.
    pub svg: String,
    /// How many modules wide it is, quiet zone included.
    pub modules: usize,
}

/// The code of a text; nothing where the text is too long for any.
///
/// A tenth of it may be torn or greasy and it still reads (level M, 15 % of its words).
#[must_use]
pub fn of(text: &str) -> Option<Square> {
    let code = QrCode::with_error_correction_level(text, EcLevel::M).ok()?;
    let width = code.width();
    let modules = width + 2 * QUIET;
    let colours = code.to_colors();
    let mut path = String::new();
    for (row, line) in colours.chunks(width).enumerate() {
        write_row(&mut path, row, line);
    }
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {modules} {modules}\" role=\"img\" aria-hidden=\"true\" \
focusable=\"false\" shape-rendering=\"crispEdges\"><path fill=\"#fff\" d=\"M0 0h{modules}v{modules}H0z\"/>\
<path stroke=\"#000\" d=\"{path}\"/></svg>"
    );
    Some(Square { svg, modules })
}

/// A row as strokes one module high: each dark run, and the way to the next.
fn write_row(path: &mut String, row: usize, line: &[Color]) {
    let mut at = 0;
    let mut pen = None;
    while at < line.len() {
        let length = line[at..].iter().take_while(|colour| **colour == line[at]).count();
        if line[at] == Color::Dark {
            let written = match pen {
                None => write!(path, "M{} {}.5h{length}", QUIET + at, QUIET + row),
                Some(end) => write!(path, "m{} 0h{length}", at - end),
            };
            debug_assert!(written.is_ok(), "text takes whatever is written");
            pen = Some(at + length);
        }
        at += length;
    }
}

#[cfg(test)]
mod tests {
    use super::{QUIET, of};

    #[test]
    fn the_quiet_zone_is_part_of_it() {
        let square = of("https://tollgate.example/guides/guides/drivetrain/chain.html#DT-014-B").expect("a code");
        assert_eq!(square.modules % 4, (17 + 2 * QUIET) % 4, "17 modules and four for each version, and the zone");
        // Each corner but one has a mark of seven modules, the first of them right after the zone.
        assert!(square.svg.contains("\"M4 4.5h7"), "{}", square.svg);
        assert!(of(&"x".repeat(3000)).is_none());
    }
}
