//! The picture that stands for a sheet where its address is passed on: a small sheet of 1200 by 630 pixels, with the
//! number, the title, the key figure as a dimension, the main drawing, and the shop in a title block.
//!
//! Words are set by their measured widths: a title takes the largest size at which it fits, and no line leaves its
//! place. Making one costs some milliseconds, so what it shows is kept as words until a picture is wanted.

use super::raster::{self, Colours};
use crate::text::escape;
use std::sync::Arc;

/// How wide a picture is, in pixels.
pub const WIDTH: u32 = 1200;
/// How high.
pub const HEIGHT: u32 = 630;

/// What the picture of a sheet shows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Preview {
    /// The sheet's number.
    pub number: String,
    /// Its topic in words; empty where it has none.
    pub topic: String,
    /// Its title.
    pub title: String,
    /// Its summary, which is shown where there is room.
    pub summary: String,
    /// Its revision.
    pub revision: String,
    /// When that was issued.
    pub issued: String,
    /// The key figure as printed, and what it is.
    pub figure: Option<(String, String)>,
    /// The main drawing, resolved.
    pub drawing: Option<String>,
    /// The shop, with its town.
    pub shop: String,
    /// The inks for the drawing.
    pub inks: Arc<str>,
    /// The sheet's colours.
    pub colours: Arc<Colours>,
}

/// A column of text: from here, this wide.
#[derive(Clone, Copy)]
struct Column {
    left: f32,
    width: f32,
}

const FRAME: f32 = 28.0;
const HEAD: f32 = 96.0;
const BLOCK: f32 = 512.0;
/// Space between a line of the form and what stands beside it.
const PAD: f32 = 34.0;
/// Where the drawing's place begins.
const MIDDLE: f32 = 610.0;
const LINE: f32 = 1.06;
/// The size of the words that say what the key figure is.
const NAME: f32 = 30.0;
/// The sizes that a title may have.
const SIZES: [f32; 7] = [84.0, 74.0, 65.0, 57.0, 50.0, 44.0, 38.0];

impl Preview {
    /// Digits of the hash of all that the picture shows.
    #[must_use]
    pub fn digits(&self) -> String {
        let said = [&self.number, &self.topic, &self.title, &self.summary, &self.revision, &self.issued, &self.shop];
        let mut hasher = blake3::Hasher::new();
        let figure = self.figure.iter().flat_map(|(figure, name)| [figure, name]);
        for text in said.into_iter().chain(figure).chain(&self.drawing) {
            hasher.update(text.as_bytes()).update(&[0]);
        }
        hasher.update(self.inks.as_bytes()).update(format!("{:?}", self.colours).as_bytes()).update(b"5");
        hasher.finalize().to_hex()[..12].to_owned()
    }

    /// The picture as PNG.
    ///
    /// # Errors
    /// Why it can't be made, in words.
    pub fn make(&self) -> Result<Vec<u8>, String> {
        raster::plate(&self.svg()?)
    }

    /// The picture as a drawing.
    ///
    /// # Errors
    /// Why its words can't be measured.
    pub fn svg(&self) -> Result<String, String> {
        let Colours { paper, ink, .. } = &*self.colours;
        let width = if self.drawing.is_some() { MIDDLE - FRAME } else { 1200.0 - 2.0 * FRAME };
        let column = Column { left: FRAME + PAD, width: width - 2.0 * PAD };
        let figure_room = match &self.figure {
            Some((_, name)) if !name.is_empty() => 118.0 + NAME + 8.0,
            Some(_) => 118.0,
            None => 0.0,
        };
        let mut out = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDTH}\" height=\"{HEIGHT}\" fill=\"{ink}\" font-family=\"'Barlow Condensed'\">\
<title/><style>{}</style><path fill=\"{paper}\" d=\"M0 0h{WIDTH}v{HEIGHT}H0z\"/>",
            escape(&self.inks.replace("#ffffff", paper))
        );
        self.write_form(&mut out);
        self.write_head(&mut out)?;
        self.write_title(&mut out, column, BLOCK - HEAD - figure_room - 1.5 * PAD)?;
        if let Some((figure, name)) = &self.figure {
            self.write_figure(&mut out, figure, name, column)?;
        }
        if let Some(drawing) = &self.drawing {
            write_drawing(&mut out, drawing);
        }
        self.write_block(&mut out)?;
        out.push_str("</svg>");
        Ok(out)
    }

    /// Border, field marks and centring marks (ISO 5457), and the lines of the form.
    fn write_form(&self, out: &mut String) {
        let Colours { ink, hair, .. } = &*self.colours;
        let fields: String = (1..8)
            .flat_map(|place| [format!("M{} 10v18M{} 602v18", place * 150, place * 150)])
            .chain((1..4).map(|place| format!("M10 {0}h18M1172 {0}h18", place * 630 / 4)))
            .collect();
        let middle = if self.drawing.is_some() { format!("M{MIDDLE} {HEAD}V{BLOCK}") } else { String::new() };
        out.push_str(&format!(
            "<g fill=\"none\" stroke=\"{ink}\"><path stroke=\"{hair}\" stroke-width=\"1.5\" d=\"M.75.75h1198.5v628.5H.75z\"/>\
<path stroke-width=\"1.5\" d=\"M10 10h1180v610H10z{fields}\"/>\
<path stroke-width=\"5\" d=\"M600 10v28M600 592v28M10 315h28M1162 315h28\"/>\
<path stroke-width=\"4\" d=\"M{FRAME} {FRAME}h1144v574H{FRAME}zM{FRAME} {BLOCK}h1144\"/>\
<path stroke-width=\"2\" d=\"M{FRAME} {HEAD}h1144{middle}\"/></g>"
        ));
    }

    fn write_head(&self, out: &mut String) -> Result<(), String> {
        let faint = &self.colours.faint;
        let number = Column { left: FRAME + PAD, width: 420.0 };
        let topic = Column { left: 560.0, width: 1172.0 - PAD - 560.0 };
        let (size, text) = fitted(&self.number, 44.0, 600, number.width)?;
        write_text(out, number.left, 77.0, size, "font-weight=\"600\"", &text);
        let (size, text) = fitted(&self.topic, 36.0, 400, topic.width)?;
        let style = format!("fill=\"{faint}\" text-anchor=\"end\"");
        write_text(out, topic.left + topic.width, 74.0, size, &style, &text);
        Ok(())
    }

    fn write_title(&self, out: &mut String, column: Column, room: f32) -> Result<(), String> {
        let (size, lines) = wrapped(&self.title, column.width, room, &SIZES, 600)?;
        let top = HEAD + PAD * 0.5;
        let left = room - write_lines(out, column.left, top, size, "font-weight=\"600\"", &lines);
        let below = top + room - left + 14.0;
        let (size, lines) = wrapped(&self.summary, column.width, left - 14.0, &[38.0, 33.0], 400)?;
        // A summary that loses its end might say something else.
        let whole = lines.last().is_some_and(|line| !line.ends_with('…'));
        if whole && left > size * LINE + 14.0 {
            write_lines(out, column.left, below, size, &format!("fill=\"{}\"", self.colours.faint), &lines);
        }
        Ok(())
    }

    /// What the figure is, and the figure above a dimension line with arrowheads, between extension lines.
    fn write_figure(&self, out: &mut String, figure: &str, name: &str, column: Column) -> Result<(), String> {
        let colour = &self.colours.size;
        if !name.is_empty() {
            let (size, text) = fitted(name, NAME, 400, column.width)?;
            let style = format!("fill=\"{}\" text-anchor=\"middle\"", self.colours.faint);
            write_text(out, column.left + column.width / 2.0, BLOCK - 112.0, size, &style, &text);
        }
        let (size, text) = fitted(figure, 62.0, 600, column.width - 40.0)?;
        let (left, right) = (column.left, column.left + column.width);
        let style = format!("fill=\"{colour}\" font-weight=\"600\" text-anchor=\"middle\"");
        write_text(out, f32::midpoint(left, right), BLOCK - 56.0, size, &style, &text);
        let y = BLOCK - 36.0;
        out.push_str(&format!(
            "<path fill=\"none\" stroke=\"{colour}\" stroke-width=\"2\" d=\"M{left} {y}H{right}M{left} {0}v28M{right} {0}v28\"/>\
<path fill=\"{colour}\" d=\"M{left} {y}l30-5v10zM{right} {y}l-30-5v10z\"/>",
            y - 14.0
        ));
        Ok(())
    }

    fn write_block(&self, out: &mut String) -> Result<(), String> {
        let Colours { ink, faint, .. } = &*self.colours;
        let cells = [
            ("Shop", self.shop.as_str(), FRAME, 700.0),
            ("Revision", self.revision.as_str(), 728.0, 160.0),
            ("Date of issue", self.issued.as_str(), 888.0, 284.0),
        ];
        out.push_str(&format!("<path stroke=\"{ink}\" stroke-width=\"2\" d=\"M728 {BLOCK}V602M888 {BLOCK}V602\"/>"));
        for (label, value, left, width) in cells {
            let left = if left > FRAME { left + 18.0 } else { left + PAD };
            let (size, text) = fitted(value, 40.0, 600, width - PAD - 18.0)?;
            write_text(out, left, BLOCK + 32.0, 22.0, &format!("fill=\"{faint}\""), label);
            write_text(out, left, BLOCK + 72.0, size, "font-weight=\"600\"", &text);
        }
        Ok(())
    }
}

fn write_text(out: &mut String, x: f32, y: f32, size: f32, style: &str, text: &str) {
    out.push_str(&format!(
        "<text x=\"{x:.1}\" y=\"{y:.1}\" font-size=\"{size:.1}\" {style} xml:space=\"preserve\">{}</text>",
        escape(text)
    ));
}

/// Writes lines below each other; gives the height that they take.
fn write_lines(out: &mut String, x: f32, top: f32, size: f32, style: &str, lines: &[String]) -> f32 {
    let mut below = top;
    for line in lines {
        write_text(out, x, below + size * (LINE - 0.12), size, style, line);
        below += size * LINE;
    }
    below - top
}

/// The drawing within its place, its shape kept.
fn write_drawing(out: &mut String, drawing: &str) {
    let (x, y) = (MIDDLE + 24.0, HEAD + 20.0);
    let place = format!("<svg x=\"{x}\" y=\"{y}\" width=\"{}\" height=\"{}\" ", 1172.0 - 24.0 - x, BLOCK - 20.0 - y);
    out.push_str(&drawing.replacen("<svg ", &place, 1));
}

/// A line at a size at which it is no wider than its place; one that is far too long loses its end.
fn fitted(text: &str, size: f32, weight: u16, room: f32) -> Result<(f32, String), String> {
    let smallest = size * 0.6;
    let text = &bounded(text);
    let width = raster::widths(&[text], size, weight)?[0];
    if width <= room {
        return Ok((size, text.to_owned()));
    }
    let shrunk = size * room / width;
    if shrunk >= smallest {
        return Ok((shrunk, text.to_owned()));
    }
    Ok((smallest, cut(text, smallest, weight, room)?))
}

/// As much of a text as a picture can show at all, so that measuring it takes no longer for a page's length of it.
fn bounded(text: &str) -> String {
    const MOST: usize = 400;
    const LONGEST_WORD: usize = 60;
    let mut out = String::new();
    for word in text.split_whitespace() {
        if out.chars().count() > MOST {
            out.push_str(" …");
            break;
        }
        let cut = word.char_indices().nth(LONGEST_WORD);
        let word = cut.map_or_else(|| word.to_owned(), |(end, _)| format!("{}…", &word[..end]));
        if !out.is_empty() {
            out.push(' ');
        }
        out.push_str(&word);
    }
    out
}

/// As much of a line as its place holds, and the sign that more was there.
fn cut(text: &str, size: f32, weight: u16, room: f32) -> Result<String, String> {
    let mut kept: Vec<char> = text.chars().collect();
    while !kept.is_empty() {
        let line = format!("{}…", kept.iter().collect::<String>().trim_end());
        let width = raster::widths(&[&line], size, weight)?[0];
        if width <= room {
            return Ok(line);
        }
        // Goes by the width at first and by single signs at the end.
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            clippy::cast_precision_loss,
            reason = "a share"
        )]
        let share = (kept.len() as f32 * room / width) as usize;
        kept.truncate(share.min(kept.len() - 1));
    }
    Ok(String::new())
}

/// Text in lines no wider than the column, at the largest of the sizes at which they fill no more than the room.
fn wrapped(text: &str, width: f32, room: f32, sizes: &[f32], weight: u16) -> Result<(f32, Vec<String>), String> {
    let text = &bounded(text);
    let words: Vec<&str> = text.split_whitespace().collect();
    let mut measured: Vec<&str> = words.clone();
    measured.extend(["n n", "nn"]);
    // Widths grow with the size, so they are measured once.
    let widths = raster::widths(&measured, 100.0, weight)?;
    let space = widths[words.len()] - widths[words.len() + 1];
    let widest = widths[..words.len()].iter().copied().fold(0.0, f32::max);
    let mut last = (0.0, Vec::new());
    for size in sizes.iter().copied() {
        let column = width / size * 100.0;
        let lines = lines(&words, &widths, space, column);
        let most = most_lines(room, size);
        if lines.len() <= most && widest <= column {
            return Ok((size, balanced(&words, &widths, space, column)));
        }
        last = (size, lines);
    }
    let (size, lines) = last;
    Ok((size, held(lines, most_lines(room, size), width, size, weight)?))
}

/// How many lines there is room for; one at least.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a whole number, one or more")]
fn most_lines(room: f32, size: f32) -> usize {
    (room / (size * LINE)).floor().max(1.0) as usize
}

/// The same number of lines, as equally full as words allow, so that no word stands alone at the end.
fn balanced(words: &[&str], widths: &[f32], space: f32, room: f32) -> Vec<String> {
    let mut best = lines(words, widths, space, room);
    let widest = widths[..words.len()].iter().copied().fold(0.0, f32::max);
    let mut room = room * 0.97;
    while room > widest {
        let next = lines(words, widths, space, room);
        if next.len() > best.len() {
            break;
        }
        best = next;
        room *= 0.97;
    }
    best
}

/// Words to lines, each as full as it can be.
fn lines(words: &[&str], widths: &[f32], space: f32, room: f32) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut used = f32::INFINITY;
    for (word, width) in words.iter().zip(widths) {
        if used + space + width <= room {
            used += space + width;
            if let Some(line) = lines.last_mut() {
                line.push(' ');
                line.push_str(word);
            }
        } else {
            used = *width;
            lines.push((*word).to_owned());
        }
    }
    lines
}

/// No more lines than there is room for, none wider than the column: the last way out for a text that is too long.
fn held(mut lines: Vec<String>, most: usize, width: f32, size: f32, weight: u16) -> Result<Vec<String>, String> {
    if lines.len() > most {
        lines.truncate(most);
        if let Some(last) = lines.last_mut() {
            last.push('…');
        }
    }
    for line in &mut lines {
        if raster::widths(&[line.as_str()], size, weight)?[0] > width {
            *line = cut(line.trim_end_matches('…'), size, weight, width)?;
        }
    }
    Ok(lines)
}

#[cfg(test)]
mod tests {
    use super::{SIZES, fitted, raster, wrapped};

    #[test]
    fn no_title_leaves_its_place() {
        let long = "Set the limit screws of a rear derailleur after a fall, with the hanger checked first ".repeat(9);
        let word = "n".repeat(400);
        for title in ["Clean it", "Size a chain after changing the chainring", long.as_str(), word.as_str()] {
            let (size, lines) = wrapped(title, 480.0, 260.0, &SIZES, 600).expect("it can be set");
            assert!(!lines.is_empty() && SIZES.contains(&size), "{title}: {size}");
            let high: f32 = lines.iter().map(|_| size * super::LINE).sum();
            assert!(high <= 260.0, "{title}: {high}");
            for line in &lines {
                let width = raster::widths(&[line], size, 600).expect("a width")[0];
                assert!(width <= 480.5, "{line}: {width} at {size}");
            }
        }
        let lines = wrapped("Clean it and look at it again", 480.0, 260.0, &SIZES, 600).expect("it can be set").1;
        assert_eq!(lines, ["Clean it and", "look at it again"]);
    }

    #[test]
    fn a_line_that_is_too_long_shrinks_and_then_loses_its_end() {
        for times in 1..40 {
            let text = "110 links ".repeat(times);
            let (size, line) = fitted(text.trim(), 62.0, 600, 440.0).expect("it can be set");
            assert!(raster::widths(&[&line], size, 600).expect("a width")[0] <= 440.5, "{line} at {size}");
        }
    }
}
