//! Bundled formulas held to figures from elsewhere: published ones, and ones worked by another route.
//!
//! A file under `tests/published/` holds rows of a publication: what goes in, what it prints, how far print may be off.
//! Rows marked `from memory` are printed and never fail. Facts of the trade are marked `common practice, no source`.
//! A file under `tests/independent/` holds what a program in another language made of the same question without the
//! engine's formula: `independent.py` there writes it, and works it again at every test run.

use crate::folder::root;
use fastrand::Rng;
use locknut::mechanics::bundle;
use locknut::mechanics::formula::Formula;
use locknut::mechanics::working::{Working, read_inputs, work};
use locknut::mechanics::written::parse_written;
use locknut::text::{Mapped, Span, Spanned};
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Sheet {
    formula: String,
    source: String,
    mark: String,
    /// How far the print may be off, in the unit of `gives`, unless a row says otherwise.
    within: f64,
    rows: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    given: BTreeMap<String, String>,
    gives: BTreeMap<String, String>,
    within: Option<f64>,
    /// The limits that speak, where the row is about them.
    speaks: Option<Vec<String>>,
    about: Option<String>,
}

/// Rows of one formula by another route.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Route {
    formula: String,
    /// How the figures were worked.
    how: String,
    rows: Vec<Row>,
}

/// How far a figure by another route may be off: what is left of 17 digits through a few functions of a double.
const SAME: f64 = 1e-9;

const MARKS: [&str; 5] = ["seen", "quoted", "worked", "from memory", "common practice, no source"];

fn formula(id: &str) -> Formula {
    bundle::formula(id).expect("a bundled formula").expect("it loads")
}

fn worked<'f>(formula: &'f Formula, given: &[(&str, String)]) -> Working<'f> {
    let given: Vec<_> = given
        .iter()
        .map(|(name, value)| (Spanned::new((*name).to_owned(), Span::default()), Mapped::verbatim(value.as_str(), 0)))
        .collect();
    let readings =
        read_inputs(formula, &given, Span::default()).unwrap_or_else(|faults| panic!("{}: {faults:?}", formula.id));
    work(formula, readings).unwrap_or_else(|gap| panic!("{}: {}", formula.id, gap.why))
}

/// An output in the unit of its formula.
fn figure(working: &Working<'_>, name: &str) -> f64 {
    let output = working.formula.output(name).expect("an output");
    output.style.number(working.value(output).expect("a value"))
}

/// The files of a folder beside this one, by name.
fn files_of<T: serde::de::DeserializeOwned>(folder: &str) -> Vec<(String, Vec<T>)> {
    let folder = root().join("tests").join(folder);
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).expect("the folder") {
        let path = entry.expect("an entry").path();
        if path.extension().is_none_or(|ending| ending != "yaml") {
            continue;
        }
        let name = path.file_name().expect("a name").to_string_lossy().into_owned();
        let text = std::fs::read_to_string(&path).expect("a file");
        let sheets = serde_yaml::from_str(&text).unwrap_or_else(|error| panic!("{name}: {error}"));
        files.push((name, sheets));
    }
    files
}

#[test]
fn every_published_row() {
    let (mut held, mut told) = (0, 0);
    for (name, sheets) in files_of::<Sheet>("published") {
        for sheet in &sheets {
            assert!(
                MARKS.contains(&sheet.mark.as_str()) && !sheet.source.is_empty(),
                "{name}: {} names its source",
                sheet.formula
            );
            let formula = formula(&sheet.formula);
            for row in &sheet.rows {
                let count = check_row(&name, sheet, row, &formula);
                if sheet.mark == "from memory" { told += count } else { held += count }
            }
        }
    }
    println!("{held} published figures agree; {told} from memory were only printed");
    assert!(held > 100);
}

#[test]
fn every_row_by_another_route() {
    let mut held = 0;
    for (name, routes) in files_of::<Route>("independent") {
        for route in &routes {
            assert!(!route.how.is_empty(), "{name}: {} says how it was worked", route.formula);
            let formula = formula(&route.formula);
            for row in &route.rows {
                let given: Vec<_> = row.given.iter().map(|(name, value)| (name.as_str(), value.clone())).collect();
                let working = worked(&formula, &given);
                assert!(!working.stopped, "{name}: {} {:?} has an answer", formula.id, row.given);
                for (output, text) in &row.gives {
                    let (found, wanted) = both(&working, output, text);
                    let off = (found - wanted).abs();
                    assert!(
                        off <= SAME * wanted.abs().max(1e-3),
                        "{name}: {} {:?} {output}: {found} here, {text} there",
                        formula.id,
                        row.given
                    );
                    held += 1;
                }
            }
        }
    }
    println!("{held} figures by another route agree");
    assert!(held > 1_000);
}

/// An output and what is wanted of it, as numbers of the unit that the wanted one is written in.
fn both(working: &Working<'_>, name: &str, text: &str) -> (f64, f64) {
    let output = working.formula.output(name).unwrap_or_else(|| panic!("{} gives no {name}", working.formula.id));
    let wanted = parse_written(&Mapped::verbatim(text, 0)).unwrap_or_else(|fault| panic!("{text}: {fault:?}"));
    let value = working.value(output).expect("a value");
    let is_difference = output.style.kind.name == "temperature_difference";
    let found = if is_difference { wanted.unit.from_base_difference(value) } else { wanted.unit.from_base(value) };
    (found, wanted.number)
}

/// Every formula is held to a publication or to another route, and many to a publication.
#[test]
fn each_formula_is_held_to_something_outside() {
    let mut published: BTreeSet<String> = files_of::<Sheet>("published")
        .into_iter()
        .flat_map(|(_, sheets)| sheets)
        .filter(|sheet| ["seen", "quoted", "worked"].contains(&sheet.mark.as_str()))
        .map(|sheet| sheet.formula)
        .collect();
    for (id, _) in bundle::ids() {
        let is_print = |source: &str| source != "computed twice" && !source.to_lowercase().contains("memory");
        if formula(id).examples.iter().any(|example| is_print(&example.source)) {
            published.insert(id.to_owned());
        }
    }
    let routes: BTreeSet<String> = files_of::<Route>("independent")
        .into_iter()
        .flat_map(|(_, routes)| routes)
        .map(|route| route.formula)
        .collect();
    let neither: Vec<&str> =
        bundle::ids().map(|(id, _)| id).filter(|id| !published.contains(*id) && !routes.contains(*id)).collect();
    println!("{} formulas have a published figure, {} another route", published.len(), routes.len());
    assert!(neither.is_empty(), "nothing outside holds {neither:?}");
    assert!(published.len() >= 70, "{} formulas have a published figure", published.len());
}

fn check_row(file: &str, sheet: &Sheet, row: &Row, formula: &Formula) -> usize {
    let given: Vec<(&str, String)> = row.given.iter().map(|(name, value)| (name.as_str(), value.clone())).collect();
    let working = worked(formula, &given);
    for (name, text) in &row.gives {
        let (found, wanted) = both(&working, name, text);
        let off = (found - wanted).abs();
        let line = format!(
            "{file}: {} {:?} {name}: {found} here, {text} in print ({}) {}",
            formula.id,
            row.given,
            sheet.source,
            row.about.as_deref().unwrap_or_default()
        );
        if sheet.mark == "from memory" {
            println!("{line}");
        } else {
            assert!(off <= row.within.unwrap_or(sheet.within) + 1e-9 * wanted.abs(), "{line}");
        }
    }
    if let Some(wanted) = &row.speaks {
        let found: Vec<&str> = working.spoken.iter().map(|spoken| spoken.limit.name.as_str()).collect();
        assert_eq!(*wanted, found, "{file}: {} {:?}: limits ({})", formula.id, row.given, sheet.source);
    }
    row.gives.len() + usize::from(row.speaks.is_some())
}

/// A step of a formula in millimetres, for figures that are published and are no output.
fn step_in_mm(working: &Working<'_>, name: &str) -> f64 {
    let place = working.formula.steps.iter().position(|step| step.name == name).expect("a step of this name");
    working.steps[place] * 1000.0
}

/// Seen in a chain maker's table: p / sin(180 deg / N), at a pitch of 25.4 mm 138.23 mm for 17 teeth and 356.05 mm
/// for 44. The radius is a step of `chain-length`, and of `chainring-change` alike.
#[test]
fn pitch_diameters_are_those_in_print() {
    let formula = formula("chain-length");
    let given = [("chainstay", "700 mm"), ("chainring", "44"), ("sprocket", "17"), ("pitch", "25.4 mm")];
    let working = worked(&formula, &given.map(|(name, value)| (name, value.to_owned())));
    for (step, printed) in [("sprocket_radius", 138.23), ("ring_radius", 356.05)] {
        let diameter = 2.0 * step_in_mm(&working, step);
        assert!((diameter - printed).abs() <= 0.005 + 1e-9, "{step}: diameter {diameter}, printed {printed}");
    }
}

/// Source: handbook series of ANSI B29.1, 2C + (N + n)/2 + (N - n)²/(4π²C) pitches, for long centres.
#[test]
fn chain_length_agrees_with_the_handbook_series() {
    let formula = formula("chain-length");
    let mut count = 0;
    for pitches in [30.0, 40.0, 50.0, 60.0] {
        for (ring, sprocket) in [(20, 20), (30, 20), (42, 21), (50, 34), (48, 16)] {
            let stay = pitches * 12.7;
            let working = worked(
                &formula,
                &[
                    ("chainstay", format!("{stay:.1} mm")),
                    ("chainring", ring.to_string()),
                    ("sprocket", sprocket.to_string()),
                ],
            );
            let (large, small) = (f64::from(ring), f64::from(sprocket));
            let square = (large - small).powi(2) / (4.0 * std::f64::consts::PI.powi(2) * pitches);
            let series = 2.0 * pitches + f64::midpoint(large, small) + square;
            let found = figure(&working, "exact");
            assert!((found - series).abs() < 0.02, "{ring}/{sprocket} at {pitches} pitches: {found}, series {series}");
            count += 1;
        }
    }
    println!("{count} lengths agree with the series");
}

/// Common practice, no source: a chain goes on in whole pairs; the count never falls short of the geometry.
#[test]
fn a_chain_goes_on_in_whole_pairs() {
    let formula = formula("chain-length");
    let mut rng = Rng::with_seed(4);
    for _ in 0..2_000 {
        let (stay, ring, sprocket) = (rng.u32(350..500), rng.u32(20..60), rng.u32(10..52));
        let working = worked(
            &formula,
            &[("chainstay", format!("{stay} mm")), ("chainring", ring.to_string()), ("sprocket", sprocket.to_string())],
        );
        let links = figure(&working, "links");
        let spare = links - figure(&working, "exact") - 2.0;
        assert!((links / 2.0).fract() == 0.0, "whole pairs");
        assert!((-1e-9..2.0).contains(&spare), "neither short nor a pair too long: {spare}");
        assert!((figure(&working, "pairs") * 2.0 - links).abs() < 1e-9);
    }
}

/// Common practice, no source: four teeth on a ring lengthen the loop by about two links. `change` says so; `pairs`,
/// which never leaves the loop short, may then say 2, so both are shown.
#[test]
fn four_teeth_are_about_two_links() {
    let formula = formula("chainring-change");
    let mut two_pairs = 0;
    for stay in [400, 410, 420, 430, 440, 450] {
        for ring in 34..50 {
            let working = worked(
                &formula,
                &[
                    ("chainstay", format!("{stay} mm")),
                    ("old_chainring", ring.to_string()),
                    ("new_chainring", (ring + 4).to_string()),
                    ("sprocket", "28".to_owned()),
                    ("links_on_bike", "110".to_owned()),
                ],
            );
            let change = figure(&working, "change");
            assert!((change - 2.0).abs() < 0.2, "{change} links for four teeth");
            let pairs = figure(&working, "pairs");
            assert!(pairs * 2.0 >= change - 1e-9, "never short");
            two_pairs += usize::from(pairs > 1.5);
        }
    }
    assert!(two_pairs > 0, "the case that needs both figures occurs");
}

/// Common practice, no source: the old chain serves only where slack was found first, one pair at least in hand.
#[test]
fn the_old_chain_serves_only_with_slack_in_hand() {
    let formula = formula("chainring-change");
    for links in (104..=116).step_by(2) {
        let working = worked(
            &formula,
            &[
                ("chainstay", "410 mm".to_owned()),
                ("old_chainring", "46".to_owned()),
                ("new_chainring", "50".to_owned()),
                ("sprocket", "34".to_owned()),
                ("links_on_bike", links.to_string()),
            ],
        );
        let short = working.spoken.iter().any(|spoken| spoken.limit.name == "short");
        assert_eq!(short, figure(&working, "slack_left") < 2.0, "{links} links");
    }
}

/// Common practice, no source: on the road the wider tyre belongs at the rear, since the rear carries more.
#[test]
fn the_wider_tyre_belongs_at_the_rear() {
    let formula = formula("equal-drop-widths");
    for (front, rear) in [(34, 51), (38, 47), (40, 40), (45, 40)] {
        let working = worked(
            &formula,
            &[
                ("front_width", "28 mm".to_owned()),
                ("front_load", format!("{front} kg")),
                ("rear_load", format!("{rear} kg")),
                ("bead_seat_diameter", "622 mm".to_owned()),
            ],
        );
        let width = figure(&working, "rear_width");
        let order =
            width.partial_cmp(&28.0).filter(|_| (width - 28.0).abs() > 1e-6).unwrap_or(std::cmp::Ordering::Equal);
        assert_eq!(order, rear.cmp(&front), "{front} kg in front, {rear} kg behind: {width} mm");
    }
}
