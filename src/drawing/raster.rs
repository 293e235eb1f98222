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
    for (name, value) in named(&rules) {
        names.entry(name).or_insert(value);
    }
    let mut inks = String::new();
    for (selector, body) in rules.iter().filter(|(selector, _)| selector.starts_with(".diagram")) {
        inks.extend([*selector, "{", &put_in(body, &names), "}"]);
    }
    inks
}

/// What a stylesheet names for all pages, in its order.
fn named<'s>(rules: &[(&'s str, &'s str)]) -> Vec<(&'s str, &'s str)> {
    let declarations = rules.iter().filter(|(selector, _)| *selector == ":root").flat_map(|(_, body)| body.split(';'));
    let pairs = declarations.filter_map(|declaration| declaration.split_once(':'));
    pairs.map(|(name, value)| (name.trim(), value.trim())).collect()
}

/// The colours of the sheet by day, for pictures that are no drawings of a page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Colours {
    /// The ground.
    pub paper: String,
    /// Outlines and words.
    pub ink: String,
    /// Words that step back.
    pub faint: String,
    /// Hair lines.
    pub hair: String,
    /// Sizes.
    pub size: String,
    /// Axes.
    pub axis: String,
}

impl Default for Colours {
    fn default() -> Self {
        Self::of("")
    }
}

impl Colours {
    /// Those that a stylesheet names; black on white where it names none.
    #[must_use]
    pub fn of(stylesheet: &str) -> Self {
        let stylesheet = without_comments(stylesheet);
        let rules = rules(&stylesheet);
        let names = named(&rules);
        let colour = |name: &str, otherwise: &str| {
            let found = names.iter().find(|(known, _)| *known == name).map_or(otherwise, |(_, value)| value);
            found.to_owned()
        };
        Self {
            paper: colour("--paper", "#ffffff"),
            ink: colour("--ink", "#000000"),
            faint: colour("--faint", "#404040"),
            hair: colour("--hair", "#b0b0b0"),
            size: colour("--size", "#000000"),
            axis: colour("--axis", "#404040"),
        }
    }
}

fn without_comments(stylesheet: &str) -> String {
    let mut parts = stylesheet.split("/*");
    let mut out = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        out.push_str(part.split_once("*/").map_or("", |(_, after)| after));
    }
    out
}

/// The names that a stylesheet gives to colours and faces, by day and by night, as rules for a page that can't load it.
#[must_use]
pub fn grounds(stylesheet: &str) -> String {
    let stylesheet = without_comments(stylesheet);
    let is_night = |at: &str| at.starts_with("@media") && at.contains("prefers-color-scheme") && at.contains("dark");
    let by_day = rules(&stylesheet);
    let by_night = blocks(&stylesheet).into_iter().filter(|(at, _)| is_night(at)).flat_map(|(_, body)| rules(body));
    let root = |rules: &mut dyn Iterator<Item = (&str, &str)>| {
        rules.filter(|(selector, _)| *selector == ":root").map(|(_, body)| body.trim().to_owned()).collect::<String>()
    };
    let (day, night) = (root(&mut by_day.into_iter()), root(&mut by_night.into_iter()));
    let grounds = format!(":root{{{day}}}\n@media (prefers-color-scheme:dark){{:root{{{night}}}}}");
    // It goes into markup as it is.
    if grounds.contains(['<', '&']) { String::new() } else { grounds }
}

/// Selectors and bodies of the rules that hold always; those within an at-rule are left out.
fn rules(stylesheet: &str) -> Vec<(&str, &str)> {
    blocks(stylesheet).into_iter().filter(|(selector, _)| !selector.starts_with('@')).collect()
}

/// Everything in a stylesheet that has a body, at-rules included: what stands before the body, and the body.
fn blocks(stylesheet: &str) -> Vec<(&str, &str)> {
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
        rules.push((selector, &rest[open + 1..close]));
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
    let tree = tree(&inked)?;
    let size = tree.size();
    let scale = (WIDTH / size.width()).min(LONGEST / size.height().max(size.width()));
    paint(&tree, scale)
}

/// Draws a drawing of our own at the size in pixels that it gives itself.
///
/// # Errors
/// Why it can't be drawn, in words.
pub fn plate(svg: &str) -> Result<Vec<u8>, String> {
    paint(&tree(svg)?, 1.0)
}

/// How wide each line of text is, in pixels, set in the face of drawings at this size and weight.
///
/// # Errors
/// Why it can't be measured, in words.
pub fn widths(lines: &[&str], size: f32, weight: u16) -> Result<Vec<f32>, String> {
    let texts: String = lines
        .iter()
        .enumerate()
        .map(|(at, line)| format!("<text id=\"t{at}\" xml:space=\"preserve\">{}</text>", escape(line)))
        .collect();
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"9\" height=\"9\" font-size=\"{size}\" font-weight=\"{weight}\">{texts}</svg>"
    );
    let tree = tree(&svg)?;
    let width = |at: usize| tree.node_by_id(&format!("t{at}")).map_or(0.0, |node| node.bounding_box().width());
    Ok((0..lines.len()).map(width).collect())
}

fn tree(svg: &str) -> Result<Tree, String> {
    let options = Options {
        fontdb: Arc::clone(&FACES),
        font_family: "Barlow Condensed".to_owned(),
        image_href_resolver: ImageHrefResolver {
            resolve_data: Box::new(|_, _, _| None),
            resolve_string: Box::new(|_, _| None),
        },
        ..Options::default()
    };
    Tree::from_str(svg, &options).map_err(|error| error.to_string())
}

fn paint(tree: &Tree, scale: f32) -> Result<Vec<u8>, String> {
    let size = tree.size();
    let side = |length: f32| (length * scale).round().clamp(1.0, LONGEST);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 1 to the longest side")]
    let (width, height) = (side(size.width()) as u32, side(size.height()) as u32);
    let mut picture = Pixmap::new(width, height).ok_or("the drawing has no size")?;
    picture.fill(Color::WHITE);
    resvg::render(tree, Transform::from_scale(scale, scale), &mut picture.as_mut());
    picture.encode_png().map_err(|error| error.to_string())
}

fn is_face(path: &str) -> bool {
    path.starts_with("type/") && Path::new(path).extension().is_some_and(|ending| ending == "ttf")
}

#[cfg(test)]
mod tests {
    use super::{Colours, grounds, inks, widths};

    #[test]
    fn the_inks_are_those_that_hold_always() {
        let sheet = "/* a { */ :root{--ink:#111;--paper:#eee}\n@media (x){:root{--ink:#999}.diagram{color:red}}\n\
                     .diagram{color:var(--ink)}\n.top .diagram{color:blue}.diagram .d-paper{stroke:var( --paper )}";
        assert_eq!(inks(sheet), ".diagram{color:#111}.diagram .d-paper{stroke:#ffffff}");
    }

    #[test]
    fn the_grounds_are_those_of_day_and_night() {
        let sheet = ":root{--ink:#111}\n@media (prefers-color-scheme:dark){:root{--ink:#eee}a{b:c}}\n@media print{:root{--ink:#000}}";
        let wanted = ":root{--ink:#111}\n@media (prefers-color-scheme:dark){:root{--ink:#eee}}";
        assert_eq!(grounds(sheet), wanted);
        assert_eq!((Colours::of(sheet).ink.as_str(), Colours::of(sheet).paper.as_str()), ("#111", "#ffffff"));
    }

    #[test]
    fn a_line_is_as_wide_as_its_words_and_spaces() {
        let found = widths(&["chain", "chain chain", " ", "Ⓐ→⌀"], 100.0, 600).expect("they can be measured");
        assert!(found[0] > 150.0 && found[1] > 2.0 * found[0] && found[3] > 50.0, "{found:?}");
    }
}
