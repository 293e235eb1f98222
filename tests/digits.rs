//! Holds the printing of numbers to `tests/text/digits.yaml`, the file of cases
//! that the JavaScript twin reads too, and to properties that any rounding has:
//! what is printed lies within half a step, and reads back as itself.

use locknut::mechanics::digits::{decimals_after, fixed, places, plain};
use serde::Deserialize;

#[derive(Deserialize)]
struct Case {
    value: String,
    decimals: Option<i32>,
    text: String,
}

fn cases() -> Vec<Case> {
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/text/digits.yaml");
    let text = std::fs::read_to_string(file).expect("the shared file of cases");
    serde_yaml::from_str(&text).expect("a list of cases")
}

fn printed(case: &Case) -> String {
    let value: f64 = case.value.parse().expect("a decimal numeral");
    match case.decimals {
        Some(decimals) => fixed(value, decimals),
        None => plain(value),
    }
}

fn read(text: &str) -> f64 {
    text.replace('\u{2212}', "-").parse().expect("what was printed is a numeral")
}

#[test]
fn every_shared_case_prints_its_text() {
    let cases = cases();
    assert!(cases.len() >= 60, "only {} cases were read", cases.len());
    let wrong: Vec<String> = cases
        .iter()
        .filter(|case| printed(case) != case.text)
        .map(|case| format!("{} at {:?}: {} not {}", case.value, case.decimals, printed(case), case.text))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn plain_text_reads_back_within_the_twelfth_digit_and_prints_the_same_again() {
    let mut random = fastrand::Rng::with_seed(12);
    for _ in 0..20_000 {
        let size = 10_f64.powi(random.i32(-15..15));
        let value = (random.f64() - 0.5) * size;
        let text = plain(value);
        let back = read(&text);
        assert!((back - value).abs() <= value.abs() * 5.001e-12, "{value} as {text}");
        assert_eq!(plain(back), text);
        let (_, decimals) = text.split_once('.').unwrap_or((&text, "1"));
        assert!(!decimals.ends_with('0'), "{text} ends in a zero");
    }
}

#[test]
fn fixed_text_lies_within_half_a_step_and_has_its_decimals() {
    let mut random = fastrand::Rng::with_seed(13);
    for _ in 0..20_000 {
        let value = (random.f64() - 0.5) * 10_f64.powi(random.i32(-4..9));
        let decimals = random.i32(-4..7);
        let text = fixed(value, decimals);
        let step = 10_f64.powi(-decimals);
        let off = (read(&text) - value).abs();
        assert!(off <= step * 0.5 + value.abs() * 1e-11, "{value} at {decimals}: {text}");
        let written = text.split_once('.').map_or(0, |(_, after)| after.len());
        assert_eq!(written, usize::try_from(decimals).unwrap_or(0), "{text}");
        assert!(text != "\u{2212}0" && !text.contains(['e', '-', ',']), "{text}");
    }
}

/// Whole multiples of a half step are exact doubles when the step is one of
/// 1, 10, 100, so the right answer is known from whole numbers alone.
#[test]
fn halves_go_away_from_zero() {
    for whole in 0_i32..2_000 {
        let half = f64::from(whole) + 0.5;
        assert_eq!(fixed(half, 0), format!("{}", whole + 1));
        assert_eq!(fixed(-half, 0), format!("\u{2212}{}", whole + 1));
        assert_eq!(fixed(half * 10.0, -1), format!("{}0", whole + 1));
        // A decimal half, whose double lies on either side of it.
        let numeral = format!("{whole}.05");
        assert_eq!(fixed(numeral.parse().expect("a numeral"), 1), format!("{whole}.1"));
    }
}

#[test]
fn the_largest_and_smallest_doubles_are_written_in_full() {
    assert_eq!(plain(f64::MAX).len(), 309);
    assert!(plain(f64::MAX).starts_with("1797693134860"));
    assert!(plain(f64::from_bits(1)).ends_with("494065645841"));
    assert_eq!(fixed(f64::MAX, i32::MIN), "0");
    assert_eq!(fixed(f64::from_bits(1), 2), "0.00");
}

#[test]
fn a_converted_figure_stays_as_coarse() {
    for (decimals, ratio, expected) in [
        (0, 25.4, 1),
        (0, 1000.0, 3),
        (2, 0.01, 0),
        (1, 1.0, 1),
        (3, 1.0 / 25.4, 2),
        (0, 0.001, -3),
        (1, 4.448_221_615_260_5, 2),
        (0, 3.16, 0),
        (0, 3.17, 1),
        (0, 0.317, 0),
        (0, 0.316, -1),
    ] {
        assert_eq!(decimals_after(decimals, ratio), expected, "ratio {ratio}");
    }
}

#[test]
fn a_step_of_a_power_of_ten_gives_its_decimals() {
    for (step, expected) in [
        ("1", Some(0)),
        ("0.1", Some(1)),
        ("0.01", Some(2)),
        ("0.000001", Some(6)),
        ("10", Some(-1)),
        ("100", Some(-2)),
        ("1.0", Some(0)),
        ("0.10", Some(1)),
        ("01", Some(0)),
        ("0.5", None),
        ("0.11", None),
        ("11", None),
        ("2", None),
        ("0", None),
        ("", None),
        (".1", None),
        ("1.", None),
        ("-1", None),
        ("1e3", None),
        ("1.0.0", None),
        ("1 mm", None),
        ("１", None),
    ] {
        assert_eq!(places(step), expected, "step {step:?}");
    }
}
