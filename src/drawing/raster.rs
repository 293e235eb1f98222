//! A resolved drawing to a picture: PNG on white paper in the sheet's own inks and typefaces.
//!
//! Nothing is read from outside the drawing: typefaces come from the binary, and addresses of pictures within a
//! drawing lead nowhere. The size in pixels is capped. The same drawing gives the same bytes on every machine.

use crate::bundled::DIAGRAMS;
use resvg::tiny_skia::{Color, Pixmap, Transform};
use resvg::usvg::{ImageHrefResolver, Options, Tree, fontdb::Database};
use std::path::Path;
use std::sync::{Arc, LazyLock};

/// How wide a picture is, in pixels: 140 mm of paper at 254 dots to the inch.
const WIDTH: f32 = 1400.0;

/// No side of a picture is longer.
const LONGEST: f32 = 4000.0;

/// The inks of the light sheet, as far as drawings use them; the stylesheet of the theme has the same.
const INKS: &str = ".diagram{color:#182430;font-size:3.5px}.d-paper{stroke:#ffffff}.d-body{fill:#ebeee7;fill-opacity:.7}\
.d-axis{stroke:#a03247}.d-size{color:#0b5c4c}.d-balloon .d-text{fill:#182430}";

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
pub fn digits(svg: &str) -> String {
    let mut hasher = blake3::Hasher::new();
    hasher.update(svg.as_bytes()).update(INKS.as_bytes()).update(&WIDTH.to_le_bytes());
    hasher.finalize().to_hex()[..12].to_owned()
}

/// Draws a resolved drawing.
///
/// # Errors
/// Why it can't be drawn, in words.
pub fn png(svg: &str) -> Result<Vec<u8>, String> {
    let inked = svg.replacen("<title", &format!("<style>{INKS}</style><title"), 1);
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
