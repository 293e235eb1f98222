//! A library of any size for the tests: sheets as long as those of the starter library, in workshop words.
//!
//! Each field has as many lines, and each line as many words, as a guide or reply of the starter library has on the
//! average (counted on 2026-11-26 over 28 sheets), rounded up. Common words come as often as in speech; the rest are
//! made up, so that the vocabulary grows as that of a real library would. The same size gives the same entries.

use super::{Entry, Kind};

const COMMON: &str = "the a of and to on with in for it is at by chain wheel brake tyre lever rim bolt cable sprocket \
    ring gear hub spoke stem bar fork saddle post pedal crank axle bearing cassette derailleur cage pulley hanger shift \
    outer inner caliper rotor pad hose fluid piston block tube valve tape bead pressure nipple tension frame steerer \
    headset clamp torque thread washer spanner hex key rule tool front rear left right long short new old worn tight \
    loose straight bent clean dry wet large small wide narrow measure work out fit set check turn pull press count cut \
    join read compare tighten loosen grease wipe remove replace see look hold true line up centre jumps slips rubs \
    creaks rattles squeals drags leaks sticks skips jams hangs wobbles hard soft slow noisy";

/// A small generator of numbers; its quality is of no weight here.
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap_or(0) % most
    }
}

/// As many sheets as are wanted. Sheet 1000 alone tells of gears that jam on the largest sprocket.
pub(super) fn library(sheets: usize) -> Vec<Entry> {
    let common: Vec<&str> = COMMON.split_whitespace().collect();
    let mut dice = Dice(7);
    let rare: Vec<String> = (0..9000).map(|_| made_up(&mut dice)).collect();
    let mut all: Vec<Entry> = (0..sheets).map(|place| sheet(place, &common, &rare, &mut dice)).collect();
    if let Some(known) = all.get_mut(1000) {
        known.title = "Size a chain after changing the chainring".to_owned();
        known.symptoms = vec!["gears jam on the largest sprocket".to_owned()];
        known.asks = vec!["do I need a longer chain for a bigger ring".to_owned()];
    }
    all
}

fn made_up(dice: &mut Dice) -> String {
    const STARTS: &[&str] =
        &["br", "ch", "cl", "d", "f", "g", "h", "l", "m", "n", "p", "r", "sp", "st", "t", "tr", "v", "w"];
    const MIDDLES: &[&str] = &["a", "e", "i", "o", "u", "ai", "ea", "oo"];
    const ENDS: &[&str] = &["b", "ck", "d", "ft", "g", "ll", "m", "nd", "ng", "p", "r", "rn", "st", "t", "ve", "x"];
    let parts = 1 + dice.below(3);
    (0..parts)
        .map(|_| {
            let end = ENDS[dice.below(ENDS.len())];
            [STARTS[dice.below(STARTS.len())], MIDDLES[dice.below(MIDDLES.len())], end].concat()
        })
        .collect()
}

/// So many words: four of five are common ones, the first of the list oftener than the last.
fn words(count: usize, common: &[&str], rare: &[String], dice: &mut Dice) -> String {
    let mut out = Vec::new();
    for _ in 0..count {
        if dice.below(5) > 0 {
            let most = 1 + dice.below(common.len());
            out.push(common[dice.below(most)]);
        } else {
            let most = 1 + dice.below(rare.len());
            out.push(&rare[dice.below(most)]);
        }
    }
    out.join(" ")
}

fn sheet(place: usize, common: &[&str], rare: &[String], dice: &mut Dice) -> Entry {
    const TOPICS: &[(&str, &str)] = &[
        ("drivetrain", "DT"),
        ("wheels", "WH"),
        ("tyres", "TY"),
        ("brakes", "BR"),
        ("fit", "FT"),
        ("fasteners", "FA"),
    ];
    const UNITS: &[&str] = &["mm", "N·m", "bar", "links", "teeth", "%"];
    let (topic, letters) = TOPICS[dice.below(TOPICS.len())];
    let mut some = |count, length| -> Vec<String> { (0..count).map(|_| words(length, common, rare, dice)).collect() };
    let (title, summary, asks, symptoms) = (some(1, 8), some(1, 20), some(3, 9), some(1, 8));
    let (operations, parts, about) = (some(4, 6), some(8, 2), some(6, 8));
    let operations =
        operations.into_iter().enumerate().map(|(at, text)| (format!("op-{}", at * 10 + 10), text)).collect();
    let figures: Vec<(String, String)> = about
        .into_iter()
        .map(|text| {
            let unit = UNITS[dice.below(UNITS.len())];
            (text, format!("{}.{}\u{a0}{unit}", dice.below(600), dice.below(10)))
        })
        .collect();
    let name = title.concat().replace(' ', "-");
    Entry {
        number: format!("{letters}-{place:04}"),
        title: title.concat(),
        href: format!("guides/{topic}/{}-{place}.html", &name[..name.len().min(24)]),
        kind: if place.is_multiple_of(3) { Kind::Reply } else { Kind::Guide },
        topic: topic.to_owned(),
        asks,
        symptoms,
        operations,
        parts,
        summary: summary.concat(),
        answer: figures.first().map(|figure| figure.1.clone()),
        figures,
    }
}
