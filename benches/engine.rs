//! How long the engine takes, as ratios against a floor in the same run.
//!
//! Loading is set against parsing the same YAML text into plain values; working, against hand-written Rust of the same
//! formula with its inputs already in base units. Subject and floor take turns, many rounds of each: medians of the
//! times, and of the rounds' own ratios the median, least and most. Before a floor is timed its figures are held to
//! the engine's. The cold rows start this program anew each time. No row is judged here; that is left to the reader.

use locknut::mechanics::bundle;
use locknut::mechanics::enclose::Spread;
use locknut::mechanics::formula::Formula;
use locknut::mechanics::interval::Interval;
use locknut::mechanics::load::load;
use locknut::mechanics::reading::Reading;
use locknut::mechanics::working::{read_inputs, work};
use locknut::text::{Mapped, Span, Spanned};
use std::f64::consts::PI;
use std::hint::black_box;
use std::process::Command;
use std::time::Instant;

const ROUNDS: usize = 41;

/// One turn lasts about this long, so that reading the clock costs nothing against it.
const TURN: f64 = 2e6;

fn main() {
    match std::env::args().nth(1).as_deref() {
        Some("cold-idle") => {}
        Some("cold-subject") => println!("{}", once(&mut load_and_work)),
        Some("cold-floor") => println!("{}", once(&mut parse_and_work_by_hand)),
        _ => every_row(),
    }
}

fn every_row() {
    println!("{:<40}{:>9}{:>9}{:>7}{:>15}", "subject; floor", "time", "floor", "ratio", "least to most");
    cold();
    loading();
    chain_length();
    tyre_drop();
    equal_drop();
    catalogue();
}

/// Nanoseconds of one call.
fn once(job: &mut dyn FnMut()) -> f64 {
    many(job, 1)
}

/// Nanoseconds of one of several calls in a row.
fn many(job: &mut dyn FnMut(), calls: u32) -> f64 {
    let start = Instant::now();
    for _ in 0..calls {
        job();
    }
    start.elapsed().as_secs_f64() * 1e9 / f64::from(calls)
}

/// How many calls last about a turn.
fn calls_in_a_turn(job: &mut dyn FnMut()) -> u32 {
    let mut calls = 1;
    while many(job, calls) * f64::from(calls) < TURN / 2.0 {
        calls *= 2;
    }
    calls
}

/// Times subject and floor in turn and prints their row.
fn compare(name: &str, mut subject: impl FnMut(), mut floor: impl FnMut()) {
    let calls = (calls_in_a_turn(&mut subject), calls_in_a_turn(&mut floor));
    let turn = |_| (many(&mut subject, calls.0), many(&mut floor, calls.1));
    report(name, &(0..ROUNDS).map(turn).collect::<Vec<_>>());
}

fn report(name: &str, turns: &[(f64, f64)]) {
    let subject = sorted(turns.iter().map(|turn| turn.0));
    let floor = sorted(turns.iter().map(|turn| turn.1));
    let ratio = sorted(turns.iter().map(|turn| turn.0 / turn.1));
    let range = format!("{} to {}", figures(ratio[0]), figures(ratio[ratio.len() - 1]));
    println!(
        "{name:<40}{:>9}{:>9}{:>7}{range:>15}",
        shown(median(&subject)),
        shown(median(&floor)),
        figures(median(&ratio))
    );
}

fn sorted(times: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut times: Vec<f64> = times.collect();
    times.sort_by(f64::total_cmp);
    times
}

fn median(sorted: &[f64]) -> f64 {
    sorted[sorted.len() / 2]
}

fn figures(ratio: f64) -> String {
    if ratio < 99.95 { format!("{ratio:.1}") } else { format!("{ratio:.0}") }
}

fn shown(nanoseconds: f64) -> String {
    match nanoseconds {
        long if long >= 1e6 => format!("{:.2} ms", long / 1e6),
        middle if middle >= 1e3 => format!("{:.1} µs", middle / 1e3),
        short => format!("{short:.0} ns"),
    }
}

fn formula(id: &str) -> Formula {
    bundle::formula(id).expect("a bundled formula").expect("it loads")
}

fn parse(text: &str) {
    drop(black_box(serde_yaml::from_str::<serde_yaml::Value>(black_box(text)).expect("YAML")));
}

/// The first working of a new process, by its own clock; then the whole process by ours, against one that does nothing.
fn cold() {
    let own = |mode: &str| cold_run(mode).trim().parse::<f64>().expect("nanoseconds");
    let turns: Vec<_> = (0..ROUNDS).map(|_| (own("cold-subject"), own("cold-floor"))).collect();
    report("cold load + work; YAML + by hand", &turns);
    let process = |mode: &str| once(&mut || drop(cold_run(mode)));
    let turns: Vec<_> = (0..ROUNDS).map(|_| (process("cold-subject"), process("cold-idle"))).collect();
    report("its whole process; an idle one", &turns);
}

fn cold_run(mode: &str) -> String {
    let program = std::env::current_exe().expect("this program's own path");
    let output = Command::new(program).arg(mode).output().expect("this program starts again");
    assert!(output.status.success(), "{mode} ends well");
    String::from_utf8(output.stdout).expect("digits")
}

fn load_and_work() {
    let formula = formula("chain-length");
    assert!(black_box(work(&formula, exact(&black_box(CHAIN)))).is_ok(), "chain-length works");
}

fn parse_and_work_by_hand() {
    parse(bundle::text("chain-length").expect("a bundled formula"));
    black_box(chain_by_hand(black_box(CHAIN)));
}

fn loading() {
    let text = bundle::text("chain-length").expect("a bundled formula");
    let read = |text: &str| drop(black_box(load(&Mapped::verbatim(black_box(text), 0)).expect("it loads")));
    compare("load chain-length; its YAML alone", || read(text), || parse(text));
    let texts: Vec<&str> = bundle::ids().filter_map(|(id, _)| bundle::text(id)).collect();
    let name = format!("load all {} formulas; their YAML", texts.len());
    compare(&name, || texts.iter().for_each(|text| read(text)), || texts.iter().for_each(|text| parse(text)));
}

/// A value with a tolerance, both in base units.
fn about(value: f64, half: f64) -> Reading {
    Reading::within(value, Interval::new(value - half, value + half))
}

fn exact(values: &[f64]) -> Vec<Reading> {
    values.iter().map(|value| Reading::exact(*value)).collect()
}

/// The stated values with tolerances on some of them: place, half.
fn loose(values: &[f64], tolerances: &[(usize, f64)]) -> Vec<Reading> {
    let mut readings = exact(values);
    for &(place, half) in tolerances {
        readings[place] = about(values[place], half);
    }
    readings
}

/// The readings of a formula's first example: as written, and with 1 % on everything that isn't counted.
fn example(formula: &Formula) -> (Vec<Reading>, Vec<Reading>) {
    let given: Vec<_> = formula.examples[0]
        .given
        .iter()
        .map(|(name, text)| (Spanned::new(name.clone(), Span::default()), text.clone()))
        .collect();
    let stated = read_inputs(formula, &given, Span::default()).expect("an example's inputs");
    let loose = formula.inputs.iter().zip(&stated).map(|(input, reading)| {
        if input.kind.name == "count" { *reading } else { about(reading.value, 0.01 * reading.value.abs()) }
    });
    let loose = loose.collect();
    (stated, loose)
}

/// The first example of every bundled formula with 1 % on each input, against the same without; then the slowest.
fn catalogue() {
    let formulas: Vec<Formula> = bundle::ids().map(|(id, _)| formula(id)).collect();
    let all: Vec<_> = formulas.iter().map(|formula| (formula, example(formula))).collect();
    let stated = |(formula, (stated, _)): &(&Formula, (Vec<Reading>, Vec<Reading>))| {
        drop(black_box(work(formula, stated.clone())));
    };
    let loose = |(formula, (_, loose)): &(&Formula, (Vec<Reading>, Vec<Reading>))| {
        drop(black_box(work(formula, loose.clone())));
    };
    let name = format!("all {} examples, ±1 %; as stated", all.len());
    compare(&name, || all.iter().for_each(loose), || all.iter().for_each(stated));
    let mut times: Vec<_> = all.iter().map(|one| (many(&mut || loose(one), 3), one)).collect();
    times.sort_by(|one, other| other.0.total_cmp(&one.0));
    for (_, one) in times.iter().take(3) {
        compare(&format!("the slowest: {}, ±1 %", one.0.id), || loose(one), || stated(one));
    }
}

/// One formula's engine against its hand-written floor, which gives the outputs in the formula's order.
fn measure<const IN: usize, const OUT: usize>(
    name: &str,
    formula: &Formula,
    readings: &[Reading],
    by_hand: fn([f64; IN]) -> [f64; OUT],
) {
    let values: [f64; IN] = std::array::from_fn(|place| readings[place].value);
    check_alike(name, formula, readings, &by_hand(values));
    let subject = || drop(black_box(work(formula, black_box(readings).to_vec())));
    let floor = || {
        black_box(by_hand(black_box(values)));
    };
    compare(name, subject, floor);
}

/// A floor that works something else is no floor, and a working that failed or stopped is no subject.
fn check_alike(name: &str, formula: &Formula, readings: &[Reading], by_hand: &[f64]) {
    let working = work(formula, readings.to_vec()).expect("an answer");
    assert_eq!(formula.outputs.len(), by_hand.len(), "{name}: the floor gives all outputs");
    for (output, &hand) in formula.outputs.iter().zip(by_hand) {
        let value = working.value(output).expect("it doesn't stop");
        assert!((value - hand).abs() <= 1e-12 * value.abs(), "{name}: {} is {value}, by hand {hand}", output.name);
    }
    let is_loose = readings.iter().any(|reading| !reading.bounds.is_point());
    assert_eq!(is_loose, !working.spreads.is_empty(), "{name}: bounds where there are tolerances");
    assert!(!working.spreads.contains(&Spread::NotBounded), "{name}: every step is bounded");
}

/// Chainstay, chainring, sprocket, allowance, pitch.
const CHAIN: [f64; 5] = [0.41, 50.0, 34.0, 2.0, 0.0127];

fn chain_length() {
    let formula = formula("chain-length");
    let rows: [(&str, &[(usize, f64)]); 4] = [
        ("chain-length; by hand", &[]),
        ("chain-length, one ±", &[(0, 0.002)]),
        ("chain-length, two ±", &[(0, 0.002), (4, 0.000_01)]),
        ("chain-length, one ±, several answers", &[(0, 0.012)]),
    ];
    for (name, tolerances) in rows {
        measure(name, &formula, &loose(&CHAIN, tolerances), chain_by_hand);
    }
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
    measure("tyre-drop-pressure; by hand", &formula, &exact(&values), drop_by_hand);
    measure("tyre-drop-pressure, one ±", &formula, &loose(&values, &[(0, 2.0)]), drop_by_hand);
    measure("tyre-drop-pressure, two ±", &formula, &loose(&values, &[(0, 2.0), (2, 0.001)]), drop_by_hand);
}

fn drop_by_hand([mass, seat, width, share]: [f64; 4]) -> [f64; 4] {
    let drop = share * width;
    let area = PI * drop * ((seat / 2.0 + width) * width / 2.0).sqrt();
    [mass * 9.80665 / area, drop, area, hookless_by_hand(width)]
}

/// Below each width, what a hookless rim may hold; from 75 mm on, the last row.
const HOOKLESS: [(f64, f64); 8] = [
    (0.025, 550e3),
    (0.030, 500e3),
    (0.035, 450e3),
    (0.040, 400e3),
    (0.045, 350e3),
    (0.055, 300e3),
    (0.065, 250e3),
    (0.075, 200e3),
];

fn hookless_by_hand(width: f64) -> f64 {
    let marked = ((width / 0.001 - 1e-9).ceil() * 0.001).clamp(0.018, 0.084);
    HOOKLESS.iter().find(|(to, _)| marked < to - 1e-12).map_or(150e3, |(_, limit)| *limit).min(5e5)
}

fn equal_drop() {
    let formula = formula("equal-drop-widths");
    let values = [0.028, 38.0, 47.0, 0.622, 0.15];
    measure("equal-drop-widths; by hand", &formula, &exact(&values), rear_by_hand);
    measure("equal-drop-widths, one ±", &formula, &loose(&values, &[(1, 1.0)]), rear_by_hand);
    measure("equal-drop-widths, two ±", &formula, &loose(&values, &[(1, 1.0), (2, 1.0)]), rear_by_hand);
}

fn rear_by_hand([front, front_load, rear_load, seat, share]: [f64; 5]) -> [f64; 3] {
    let pressure =
        |width: f64, load: f64| load * 9.80665 / (PI * share * width * ((seat / 2.0 + width) * width / 2.0).sqrt());
    let wanted = pressure(front, front_load);
    let rear = bisected(front / 5.0, 5.0 * front, |width| pressure(width, rear_load) - wanted);
    [rear, wanted, hookless_by_hand(front.max(rear))]
}

/// The engine's own bisection: ends first, then halves, until no double lies between.
fn bisected(mut low: f64, mut high: f64, difference: impl Fn(f64) -> f64) -> f64 {
    let at_low = difference(low);
    assert!((at_low < 0.0) != (difference(high) < 0.0), "a root between the ends");
    for _ in 0..200 {
        let middle = low + (high - low) / 2.0;
        let at_middle = difference(middle);
        if at_middle == 0.0 {
            return middle;
        }
        let end = if (at_middle < 0.0) == (at_low < 0.0) { &mut low } else { &mut high };
        if middle.to_bits() == end.to_bits() {
            break;
        }
        *end = middle;
    }
    low + (high - low) / 2.0
}
