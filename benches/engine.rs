//! How long the engine takes, as ratios against a floor in the same run.
//!
//! Loading is set against parsing the same YAML text into plain values; working, against hand-written Rust of the same
//! formula with its inputs already in base units. Subject and floor take turns, many rounds of each; medians count.

use locknut::mechanics::bundle;
use locknut::mechanics::formula::Formula;
use locknut::mechanics::interval::Interval;
use locknut::mechanics::load::load;
use locknut::mechanics::reading::Reading;
use locknut::mechanics::working::work;
use locknut::text::Mapped;
use std::f64::consts::PI;
use std::hint::black_box;
use std::time::Instant;

const ROUNDS: usize = 41;

fn main() {
    println!("{:<44}{:>11}{:>11}{:>9}", "", "time", "floor", "ratio");
    loading();
    chain_length();
    tyre_drop();
    equal_drop();
}

/// Median nanoseconds of one call of each, the two in turn.
fn in_turn(mut subject: impl FnMut(), mut floor: impl FnMut(), calls: u32) -> (f64, f64) {
    let mut times = (Vec::new(), Vec::new());
    let time = |job: &mut dyn FnMut()| {
        let start = Instant::now();
        for _ in 0..calls {
            job();
        }
        start.elapsed().as_secs_f64() * 1e9 / f64::from(calls)
    };
    for _ in 0..ROUNDS {
        times.0.push(time(&mut subject));
        times.1.push(time(&mut floor));
    }
    (median(&mut times.0), median(&mut times.1))
}

fn median(times: &mut [f64]) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

fn report(name: &str, (subject, floor): (f64, f64)) {
    println!("{name:<44}{:>11}{:>11}{:>9.1}", shown(subject), shown(floor), subject / floor);
}

fn shown(nanoseconds: f64) -> String {
    match nanoseconds {
        long if long >= 1e6 => format!("{:.2} ms", long / 1e6),
        middle if middle >= 1e3 => format!("{:.2} µs", middle / 1e3),
        short => format!("{short:.0} ns"),
    }
}

fn formula(id: &str) -> Formula {
    bundle::formula(id).expect("a bundled formula").expect("it loads")
}

fn loading() {
    let text = bundle::text("chain-length").expect("a bundled formula");
    let parse = |text: &str| drop(black_box(serde_yaml::from_str::<serde_yaml::Value>(black_box(text)).expect("YAML")));
    let times = in_turn(|| drop(black_box(load(&Mapped::verbatim(black_box(text), 0)))), || parse(text), 20);
    report("load chain-length; floor: its YAML alone", times);
    let texts: Vec<&str> = bundle::ids().filter_map(|(id, _)| bundle::text(id)).collect();
    let all = || texts.iter().for_each(|text| drop(black_box(load(&Mapped::verbatim(black_box(*text), 0)))));
    let floor = || texts.iter().for_each(|text| parse(text));
    report(&format!("load all {} formulas; floor: their YAML", texts.len()), in_turn(all, floor, 1));
}

/// A value with a tolerance, both in base units.
fn about(value: f64, half: f64) -> Reading {
    Reading { value, bounds: Interval::new(value - half, value + half), by_default: false }
}

fn exact(values: &[f64]) -> Vec<Reading> {
    values.iter().map(|value| Reading::exact(*value)).collect()
}

fn measure(name: &str, formula: &Formula, readings: &[Reading], floor: impl FnMut(), calls: u32) {
    let subject = || {
        let _ = black_box(work(formula, black_box(readings).to_vec()));
    };
    report(name, in_turn(subject, floor, calls));
}

fn chain_length() {
    let formula = formula("chain-length");
    let values = [0.41, 50.0, 34.0, 2.0, 0.0127];
    let floor = || {
        black_box(chain_by_hand(black_box(values)));
    };
    measure("chain-length; floor: by hand", &formula, &exact(&values), floor, 2000);
    let mut one = exact(&values);
    one[0] = about(0.41, 0.002);
    measure("chain-length, one tolerance", &formula, &one, floor, 200);
    one[4] = about(0.0127, 0.00001);
    measure("chain-length, two tolerances", &formula, &one, floor, 200);
    let mut open = exact(&values);
    open[0] = about(0.41, 0.012);
    measure("chain-length, 108, 110 or 112 links", &formula, &open, floor, 200);
}

fn chain_by_hand([stay, ring, sprocket, allowance, pitch]: [f64; 5]) -> [f64; 6] {
    let (large, small) = (pitch / (2.0 * (PI / ring).sin()), pitch / (2.0 * (PI / sprocket).sin()));
    let slope = ((large - small) / stay).asin();
    let straight = (stay * stay - (large - small) * (large - small)).sqrt();
    let exact = 2.0 * straight / pitch + ring * (0.5 + slope / PI) + sprocket * (0.5 - slope / PI);
    let links = 2.0 * (f64::midpoint(exact, allowance) - 1e-9).ceil();
    let by_rule = 2.0 * stay / pitch + f64::midpoint(ring, sprocket) + allowance;
    [exact, links, links / 2.0, links * pitch, by_rule, ring.min(sprocket) * (0.5 - slope.abs() / PI)]
}

fn tyre_drop() {
    let formula = formula("tyre-drop-pressure");
    let values = [45.0, 0.622, 0.028, 0.15];
    let floor = || {
        black_box(drop_by_hand(black_box(values)));
    };
    measure("tyre-drop-pressure; floor: by hand", &formula, &exact(&values), floor, 2000);
    let loose = [about(45.0, 2.0), Reading::exact(0.622), about(0.028, 0.001), Reading::exact(0.15)];
    measure("tyre-drop-pressure, two tolerances", &formula, &loose, floor, 200);
}

fn drop_by_hand([mass, seat, width, share]: [f64; 4]) -> [f64; 4] {
    let drop = share * width;
    let area = PI * drop * ((seat / 2.0 + width) * width / 2.0).sqrt();
    let marked = (width / 0.001 - 1e-9).ceil().clamp(18.0, 84.0);
    let rows = [
        (25.0, 550.0),
        (30.0, 500.0),
        (35.0, 450.0),
        (40.0, 400.0),
        (45.0, 350.0),
        (55.0, 300.0),
        (65.0, 250.0),
        (75.0, 200.0),
    ];
    let limit = rows.iter().find(|(to, _)| marked < *to).map_or(150.0, |(_, limit)| *limit);
    [mass * 9.80665 / area, drop, area, (limit * 1000.0f64).min(5e5)]
}

fn equal_drop() {
    let formula = formula("equal-drop-widths");
    let values = [0.028, 38.0, 47.0, 0.622, 0.15];
    let floor = || {
        black_box(rear_by_hand(black_box(values)));
    };
    measure("equal-drop-widths; floor: by hand", &formula, &exact(&values), floor, 200);
    let mut loose = exact(&values);
    loose[1] = about(38.0, 1.0);
    measure("equal-drop-widths, one tolerance", &formula, &loose, floor, 20);
}

/// The same bisection: ends, then halves, until no double lies between.
fn rear_by_hand([front, front_load, rear_load, seat, share]: [f64; 5]) -> [f64; 2] {
    let pressure =
        |width: f64, load: f64| load * 9.80665 / (PI * share * width * ((seat / 2.0 + width) * width / 2.0).sqrt());
    let wanted = pressure(front, front_load);
    let difference = |width: f64| pressure(width, rear_load) - wanted;
    let (mut low, mut high) = (front / 5.0, 5.0 * front);
    let at_low = difference(low);
    for _ in 0..200 {
        let middle = low + (high - low) / 2.0;
        let end = if (difference(middle) < 0.0) == (at_low < 0.0) { &mut low } else { &mut high };
        if middle.to_bits() == end.to_bits() {
            break;
        }
        *end = middle;
    }
    [low + (high - low) / 2.0, wanted]
}
