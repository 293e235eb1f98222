//! A resolved drawing to a picture: PNG on white paper in the sheet's own inks and typefaces.
//!
//! The inks are those of the theme's stylesheet by day: its rules for drawings, colours put in for their names. Nothing is read from outside the drawing: typefaces come from the binary, and addresses of pictures within a
//! drawing lead nowhere. The size in pixels is capped. The same drawing gives the same bytes on every machine.

use crate::bundled::DIAGRAMS;
use crate::text::escape;
use resvg::tiny_skia::{Color, Pixmap, Transform};
use resvg::usvg::{ImageHrefResolver, Options, Tree, fontdb::Database};
use std::collections::HashMap;
use std::path::Path;
use std::sync::{Arc, LazyLock};

/// How wide a picture is, in pixels: 140 mm of paper at 254 dots to the inch.
const WIDTH: f32 = 1400.0;

/// No side of a picture is longer.
const LONGEST: f32 = 4000.0;

/// What a picture is drawn on, whatever paper the sheets are of.
const PAPER: (&str, &str) = ("--paper", "#ffffff");

/// The rules of a stylesheet for drawings, each colour put in for its name: those outside any condition whose selector
/// begins with `.diagram`.
#[must_use]
pub fn inks(stylesheet: &str) -> String {
    let stylesheet = without_comments(stylesheet);
    let rules = rules(&stylesheet);
    let mut names = HashMap::from([PAPER]);
    for declaration in rules.iter().filter(|(selector, _)| *selector == ":root").flat_map(|(_, body)| body.split(';')) {
        if let Some((name, value)) = declaration.split_once(':') {
            names.entry(name.trim()).or_insert(value.trim());
        }
    }
    let mut inks = String::new();
    for (selector, body) in rules.iter().filter(|(selector, _)| selector.starts_with(".diagram")) {
        inks.extend([*selector, "{", &put_in(body, &names), "}"]);
    }
    inks
}

fn without_comments(stylesheet: &str) -> String {
    let mut parts = stylesheet.split("/*");
    let mut out = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        out.push_str(part.split_once("*/").map_or("", |(_, after)| after));
    }
    out
}

/// Selectors and bodies of the rules that hold always; those within an at-rule are left out.
fn rules(stylesheet: &str) -> Vec<(&str, &str)> {
    let mut rules = Vec::new();
    let mut rest = stylesheet;
    while let Some(open) = rest.find('{') {
        let selector = rest[..open].trim();
        let mut depth = 0_usize;
        let close = rest.char_indices().skip_while(|(at, _)| *at < open).find_map(|(at, c)| {
            match c {
                '{' => depth += 1,
                '}' => depth = depth.saturating_sub(1),
                _ => {}
            }
            (depth == 0).then_some(at)
        });
        let Some(close) = close else { break };
        if !selector.starts_with('@') {
            rules.push((selector, &rest[open + 1..close]));
        }
        rest = &rest[close + 1..];
    }
    rules
}

/// The body of a rule with each `var(--name)` replaced by its value.
fn put_in(body: &str, names: &HashMap<&str, &str>) -> String {
    let mut out = String::with_capacity(body.len());
    let mut parts = body.split("var(");
    out.push_str(parts.next().unwrap_or_default());
    for part in parts {
        let (name, after) = part.split_once(')').unwrap_or((part, ""));
        out.push_str(names.get(name.trim()).copied().unwrap_or("currentColor"));
        out.push_str(after);
    }
    out
}

/// The typefaces of drawings.
static FACES: LazyLock<Arc<Database>> = LazyLock::new(|| {
    let mut faces = Database::new();
    for (_, bytes) in DIAGRAMS.iter().filter(|(path, _)| is_face(path)) {
        faces.load_font_data(bytes.to_vec());
    }
    faces.set_sans_serif_family("Barlow Condensed");
    Arc::new(faces)
});

/// Digits of the hash of a drawing and of all that its picture depends on besides.
#[must_use]
pub fn digits(svg: &str, inks: &str) -> String {
    let mut hasher = blake3::Hasher::new();
    hasher.update(svg.as_bytes()).update(inks.as_bytes()).update(&WIDTH.to_le_bytes());
    hasher.finalize().to_hex()[..12].to_owned()
}

/// Draws a resolved drawing in these inks.
///
/// # Errors
/// Why it can't be drawn, in words.
pub fn png(svg: &str, inks: &str) -> Result<Vec<u8>, String> {
    let inked = svg.replacen("<title", &format!("<style>{}</style><title", escape(inks)), 1);
    let options = Options {
        fontdb: Arc::clone(&FACES),
        font_family: "Barlow Condensed".to_owned(),
        image_href_resolver: ImageHrefResolver {
            resolve_data: Box::new(|_, _, _| None),
            resolve_string: Box::new(|_, _| None),
        },
        ..Options::default()
    };
    let tree = Tree::from_str(&inked, &options).map_err(|error| error.to_string())?;
    let size = tree.size();
    let scale = (WIDTH / size.width()).min(LONGEST / size.height().max(size.width()));
    let side = |length: f32| (length * scale).round().clamp(1.0, LONGEST);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 1 to the longest side")]
    let (width, height) = (side(size.width()) as u32, side(size.height()) as u32);
    let mut picture = Pixmap::new(width, height).ok_or("the drawing has no size")?;
    picture.fill(Color::WHITE);
    resvg::render(&tree, Transform::from_scale(scale, scale), &mut picture.as_mut());
    picture.encode_png().map_err(|error| error.to_string())
}

fn is_face(path: &str) -> bool {
    path.starts_with("type/") && Path::new(path).extension().is_some_and(|ending| ending == "ttf")
}

#[cfg(test)]
mod tests {
    use super::inks;

    #[test]
    fn the_inks_are_those_that_hold_always() {
        let sheet = "/* a { */ :root{--ink:#111;--paper:#eee}\n@media (x){:root{--ink:#999}.diagram{color:red}}\n\
                     .diagram{color:var(--ink)}\n.top .diagram{color:blue}.diagram .d-paper{stroke:var( --paper )}";
        assert_eq!(inks(sheet), ".diagram{color:#111}.diagram .d-paper{stroke:#ffffff}");
    }
}
