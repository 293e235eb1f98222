//! Photos of a library: read once where a page shows them, and made ready for a sheet.
//!
//! A file of `content/photos/` in; its size as it will be seen, then the picture itself: turned as the camera said,
//! scaled down to what a sheet needs, without the place, time and camera that files of telephones carry. Its colour
//! profile stays. Which page shows a photo, and what is said in its place, is not known here.

use image::codecs::jpeg::JpegEncoder;
use image::codecs::png::PngEncoder;
use image::imageops::FilterType;
use image::metadata::Orientation;
use image::{DynamicImage, ImageDecoder, ImageEncoder, ImageFormat, ImageReader, Limits};
use std::collections::HashMap;
use std::fs;
use std::io::Cursor;
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};

/// No side of a photo on a sheet is longer, in pixels: twice the width of a sheet's text.
const LONGEST: u32 = 1600;

/// The width of the smaller picture of a photo, in pixels: the width of a sheet's text, or of a telephone twice over.
const NARROW: u32 = 760;

/// No file of a photo is larger: 64 MiB.
const LARGEST_FILE: u64 = 64 * 1024 * 1024;

/// No photo has more points: what decoding one may ask of the machine stays bounded.
const MOST_POINTS: u64 = 80_000_000;

/// How well a photo is kept, of 100; above it files grow faster than a reader sees.
const QUALITY: u8 = 82;

/// A photo that can be read, as it will stand on a sheet.
#[derive(Clone, Debug)]
pub struct Photo {
    /// The file.
    file: PathBuf,
    /// The hash of its bytes.
    hash: blake3::Hash,
    /// Its path in the library: `content/photos/hanger.jpg`.
    pub name: String,
    /// Width on the sheet, in pixels.
    pub width: u32,
    /// Height on the sheet, in pixels.
    pub height: u32,
    /// True where it may have parts that one can see through.
    lossless: bool,
}

/// Why a photo can't be used.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Unusable {
    /// What is wrong with it, in words.
    pub why: String,
    /// What would do.
    pub allowed: Option<String>,
}

impl Unusable {
    fn new(why: impl Into<String>) -> Self {
        Self { why: why.into(), allowed: None }
    }
}

/// The photos of a library, each read when a page first asks for it.
#[derive(Debug, Default)]
pub struct Photos(HashMap<String, Kept>);

/// A file of a photo, and what reading it gave.
#[derive(Debug)]
struct Kept {
    file: PathBuf,
    read: OnceLock<Result<Arc<Photo>, Unusable>>,
}

impl Photos {
    /// The photos with these paths in the library below `root`.
    #[must_use]
    pub fn of(root: &Path, names: Vec<String>) -> Self {
        Self(
            names
                .into_iter()
                .map(|name| (name.clone(), Kept { file: root.join(name), read: OnceLock::new() }))
                .collect(),
        )
    }

    /// The paths of all photos.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.0.keys().map(String::as_str)
    }

    /// The photo with this path; nothing where there is none.
    #[must_use]
    pub fn find(&self, name: &str) -> Option<Result<Arc<Photo>, Unusable>> {
        let kept = self.0.get(name)?;
        Some(kept.read.get_or_init(|| Photo::read(&kept.file, name).map(Arc::new)).clone())
    }
}

impl Photo {
    /// Reads as much of a photo as says how it will stand on a sheet.
    fn read(file: &Path, name: &str) -> Result<Self, Unusable> {
        let bytes = bytes_of(file)?;
        let (mut decoder, format) = decoder(&bytes)?;
        check_name(name, format)?;
        let (width, height) = decoder.dimensions();
        if u64::from(width) * u64::from(height) > MOST_POINTS {
            let why = format!("this photo has {width} × {height} points, more than any sheet can use");
            return Err(Unusable { why, allowed: Some(format!("{} million points", MOST_POINTS / 1_000_000)) });
        }
        let turned = decoder.orientation().unwrap_or(Orientation::NoTransforms);
        let lossless = format == ImageFormat::Png || decoder.color_type().has_alpha();
        let (width, height) = if swaps_sides(turned) { (height, width) } else { (width, height) };
        let (width, height) = fitted(width, height);
        Ok(Self { file: file.to_owned(), hash: blake3::hash(&bytes), name: name.to_owned(), width, height, lossless })
    }

    /// The widths in which it is made, the smaller first; one alone where that is no wider than a sheet's text.
    pub fn widths(&self) -> impl Iterator<Item = u32> {
        // A picture hardly smaller than the other would save nobody anything.
        (self.width > NARROW + NARROW / 4).then_some(NARROW).into_iter().chain([self.width])
    }

    /// Its path in the site in one of its widths: the file's name in letters that any address takes, the width where it is
    /// not the whole, and digits of the hash of the file and of how it is made ready.
    #[must_use]
    pub fn path(&self, width: u32) -> String {
        let stem = Path::new(&self.name).file_stem().unwrap_or_default().to_string_lossy().to_ascii_lowercase();
        let plain: String = stem.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
        let ending = if self.lossless { "png" } else { "jpg" };
        let narrow = if width == self.width { String::new() } else { format!("-{width}") };
        format!("photos/{}{narrow}.{}.{ending}", plain.trim_matches('-'), self.digits())
    }

    /// Width and height of its picture of a width, the shape kept.
    fn size_at(&self, width: u32) -> (u32, u32) {
        let scaled =
            (u64::from(self.height) * u64::from(width) + u64::from(self.width) / 2) / u64::from(self.width).max(1);
        (width, u32::try_from(scaled).unwrap_or(self.height).max(1))
    }

    fn digits(&self) -> String {
        let mut hasher = blake3::Hasher::new();
        hasher.update(self.hash.as_bytes()).update(&LONGEST.to_le_bytes()).update(&[QUALITY]);
        hasher.finalize().to_hex()[..12].to_owned()
    }

    /// The picture for the sheet, in one of its widths.
    ///
    /// # Errors
    /// A file that is damaged, or that changed since it was read.
    pub fn make(&self, width: u32) -> Result<Vec<u8>, Unusable> {
        let bytes = bytes_of(&self.file)?;
        if blake3::hash(&bytes) != self.hash {
            return Err(Unusable::new("this photo was changed while the library was being pressed"));
        }
        let (mut decoder, _) = decoder(&bytes)?;
        let turned = decoder.orientation().unwrap_or(Orientation::NoTransforms);
        let profile = decoder.icc_profile().ok().flatten();
        let mut picture = DynamicImage::from_decoder(decoder).map_err(|error| damaged(&error))?;
        picture.apply_orientation(turned);
        let (width, height) = self.size_at(width);
        if (picture.width(), picture.height()) != (width, height) {
            picture = picture.resize_exact(width, height, FilterType::CatmullRom);
        }
        let mut out = Vec::new();
        let written = if self.lossless {
            encode(PngEncoder::new(&mut out), profile, &DynamicImage::from(picture.to_rgba8()))
        } else {
            encode(JpegEncoder::new_with_quality(&mut out, QUALITY), profile, &DynamicImage::from(picture.to_rgb8()))
        };
        written.map_err(|error| damaged(&error))?;
        Ok(out)
    }
}

fn bytes_of(file: &Path) -> Result<Vec<u8>, Unusable> {
    let unreadable = |error: std::io::Error| Unusable::new(format!("this photo can't be read: {error}"));
    if fs::metadata(file).map_err(unreadable)?.len() > LARGEST_FILE {
        let why = "this photo's file is larger than any sheet needs".to_owned();
        return Err(Unusable { why, allowed: Some("up to 64 MiB".to_owned()) });
    }
    fs::read(file).map_err(unreadable)
}

/// A decoder by what the file holds, whatever its name says.
fn decoder(bytes: &[u8]) -> Result<(impl ImageDecoder + '_, ImageFormat), Unusable> {
    let mut reader = ImageReader::new(Cursor::new(bytes)).with_guessed_format().map_err(|_| unknown())?;
    let format = reader.format().ok_or_else(unknown)?;
    let mut limits = Limits::default();
    limits.max_alloc = Some(MOST_POINTS * 8);
    reader.limits(limits);
    Ok((reader.into_decoder().map_err(|error| damaged(&error))?, format))
}

fn unknown() -> Unusable {
    let why = "this is no photo that a sheet can show".to_owned();
    Unusable { why, allowed: Some("JPEG, PNG or WebP".to_owned()) }
}

fn damaged(error: &image::ImageError) -> Unusable {
    match error {
        image::ImageError::Unsupported(_) => unknown(),
        error => Unusable::new(format!("this photo is damaged: {error}")),
    }
}

fn encode(
    mut encoder: impl ImageEncoder,
    profile: Option<Vec<u8>>,
    picture: &DynamicImage,
) -> Result<(), image::ImageError> {
    if let Some(profile) = profile {
        // A form that takes no profile shows the picture as it can.
        let _ = encoder.set_icc_profile(profile);
    }
    let colours = picture.color().into();
    encoder.write_image(picture.as_bytes(), picture.width(), picture.height(), colours)
}

/// A file's ending says what it holds: who trusts it, a host or a reader, is not to be misled.
fn check_name(name: &str, format: ImageFormat) -> Result<(), Unusable> {
    let ending = Path::new(name).extension().unwrap_or_default().to_string_lossy().to_ascii_lowercase();
    if ImageFormat::from_extension(&ending) == Some(format) {
        return Ok(());
    }
    let (held, wanted) = match format {
        ImageFormat::Jpeg => ("JPEG", ".jpg"),
        ImageFormat::Png => ("PNG", ".png"),
        ImageFormat::WebP => ("WebP", ".webp"),
        _ => return Err(unknown()),
    };
    let why = format!("this photo is not what its name says: it holds {held}");
    Err(Unusable { why, allowed: Some(format!("a name that ends in {wanted}")) })
}

fn swaps_sides(turned: Orientation) -> bool {
    matches!(
        turned,
        Orientation::Rotate90 | Orientation::Rotate270 | Orientation::Rotate90FlipH | Orientation::Rotate270FlipH
    )
}

/// The size on a sheet: never larger than it is, the longer side within the limit, the shape kept.
fn fitted(width: u32, height: u32) -> (u32, u32) {
    let longer = width.max(height);
    if longer <= LONGEST {
        return (width, height);
    }
    let side = |length: u32| {
        let scaled = (u64::from(length) * u64::from(LONGEST) + u64::from(longer) / 2) / u64::from(longer);
        u32::try_from(scaled).unwrap_or(LONGEST).max(1)
    };
    (side(width), side(height))
}

#[cfg(test)]
mod tests {
    use super::fitted;

    #[test]
    fn a_photo_keeps_its_shape_and_never_grows() {
        assert_eq!(fitted(4000, 3000), (1600, 1200));
        assert_eq!(fitted(3000, 4000), (1200, 1600));
        assert_eq!(fitted(800, 600), (800, 600));
        assert_eq!(fitted(60_000, 1), (1600, 1));
    }
}
