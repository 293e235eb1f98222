//! The site's sign, which stands on a home screen and in a browser's tab: a locknut in plan view.
//!
//! It is drawn as a drawing office would: the hexagon and the bore in outline, the chamfer and the thread as thin
//! lines, the thread over three quarters of its turn (ISO 6410-1), axes as chain lines. Colours are the sheet's by day.

use super::raster::Colours;
use std::f64::consts::FRAC_PI_3;

/// A sign at one size.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Icon {
    /// Its path in the site; it holds digits of its hash.
    pub path: String,
    /// How many pixels it is wide and high.
    pub pixels: u32,
    /// The drawing, at its size.
    pub svg: String,
}

/// The sign at each size that is wanted.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Icons {
    /// For lists and tabs.
    pub small: Icon,
    /// For home screens.
    pub large: Icon,
    /// The same with room round it, for devices that cut their own shape out of it.
    pub to_cut: Icon,
}

impl Icons {
    /// The signs in these colours.
    #[must_use]
    pub fn of(colours: &Colours) -> Self {
        Self {
            small: icon("sign-192", 192, nut(192, 216.0, colours)),
            large: icon("sign-512", 512, nut(512, 216.0, colours)),
            // What a device may cut away leaves a circle of four fifths of the width (W3C, maskable icons).
            to_cut: icon("sign-to-cut-512", 512, nut(512, 158.0, colours)),
        }
    }

    /// All of them.
    #[must_use]
    pub fn all(&self) -> [&Icon; 3] {
        [&self.small, &self.large, &self.to_cut]
    }
}

fn icon(name: &str, pixels: u32, svg: String) -> Icon {
    let hash = blake3::hash(svg.as_bytes()).to_hex();
    Icon { path: format!("icons/{name}.{}.png", &hash[..8]), pixels, svg }
}

/// The nut on a ground of 512 by 512, `corner` from its axis to each corner of the hexagon.
fn nut(pixels: u32, corner: f64, colours: &Colours) -> String {
    let corners = (0..6).map(|place| {
        let angle = FRAC_PI_3 * f64::from(place);
        format!("{:.2},{:.2}", 256.0 + corner * angle.cos(), 256.0 + corner * angle.sin())
    });
    let corners = corners.collect::<Vec<_>>().join(" ");
    let flat = corner * FRAC_PI_3.sin();
    let (chamfer, bore, thread) = (flat - corner * 0.045, corner * 0.44, corner * 0.53);
    let reach = corner * 1.14;
    let (low, high) = (256.0 - reach, 256.0 + reach);
    let thick = corner * 0.075;
    let thin = corner * 0.03;
    let Colours { paper, ink, axis, .. } = colours;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{pixels}\" height=\"{pixels}\" viewBox=\"0 0 512 512\" fill=\"none\" stroke=\"{ink}\">\
<path fill=\"{paper}\" stroke=\"none\" d=\"M0 0h512v512H0z\"/>\
<polygon stroke-width=\"{thick:.2}\" stroke-linejoin=\"round\" points=\"{corners}\"/>\
<circle cx=\"256\" cy=\"256\" r=\"{chamfer:.2}\" stroke-width=\"{thin:.2}\"/>\
<circle cx=\"256\" cy=\"256\" r=\"{bore:.2}\" stroke-width=\"{thick:.2}\"/>\
<path stroke-width=\"{thin:.2}\" d=\"M256 {:.2}A{thread:.2} {thread:.2} 0 1 1 {:.2} 256\"/>\
<path stroke=\"{axis}\" stroke-width=\"{thin:.2}\" stroke-dasharray=\"{:.2} {:.2} {thin:.2} {:.2}\" d=\"M{low:.2} 256H{high:.2}M256 {low:.2}V{high:.2}\"/></svg>",
        256.0 - thread,
        256.0 - thread,
        corner * 0.32,
        corner * 0.07,
        corner * 0.07,
    )
}

#[cfg(test)]
mod tests {
    use super::{Colours, Icons};

    #[test]
    fn what_may_be_cut_away_holds_nothing_of_the_nut() {
        let icons = Icons::of(&Colours::of(":root{--ink:#123456}"));
        assert!(icons.all().iter().all(|icon| icon.svg.contains("#123456") && icon.path.starts_with("icons/")));
        // Axes reach furthest: 1.14 of 158 is within two fifths of 512.
        assert!(icons.to_cut.svg.contains("M75.88 256H436.12"), "{}", icons.to_cut.svg);
    }
}
