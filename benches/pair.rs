//! How long a fit table of 200 by 200 parts takes, as a ratio against a floor in the same run.
//!
//! The floor crosses the same parts and holds, for each cell, the seven numbers that the rules read against each other
//! in plain Rust, with the words of the answer put together: no rules, no reasons, no markup. The table is worked and
//! set as a page from shelf files, with a crank and a shift lever beside each pair. The least of several turns.

use locknut::evaluate::Drafts;
use locknut::press;
use rayon::prelude::*;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::time::Instant;

const SIDE: usize = 200;
const TURNS: usize = 5;

fn main() {
    let folder = std::env::temp_dir().join(format!("locknut-bench-pair-{}", std::process::id()));
    let (table, empty) = (folder.join("table"), folder.join("empty"));
    make(&table, true);
    make(&empty, false);
    let mut times = [Vec::new(), Vec::new(), Vec::new()];
    for _ in 0..TURNS {
        times[0].push(timed(|| assert_eq!(floor().len(), SIDE, "the floor does all rows")));
        for (place, library) in [&empty, &table].into_iter().enumerate() {
            times[place + 1].push(timed(|| {
                let proof = press::proof(library, Drafts::LeftOut, None).expect("the library");
                assert!(!proof.has_faults() && proof.guides == 1, "{:?}", proof.faults.first());
            }));
        }
    }
    let least = |times: &[f64]| times.iter().copied().fold(f64::INFINITY, f64::min);
    let base = least(&times[0]);
    println!("a fit table of {SIDE} by {SIDE} parts with a crank and a lever, least of {TURNS} turns");
    for (name, times) in
        ["compare in plain Rust (floor)", "library without the table", "with it, set as a page"].iter().zip(&times)
    {
        println!("{name:<36}{:>8.3} s{:>8.1} times the floor", least(times), least(times) / base);
    }
    fs::remove_dir_all(&folder).expect("nothing is left");
}

fn timed(job: impl FnOnce()) -> f64 {
    let start = Instant::now();
    job();
    start.elapsed().as_secs_f64()
}

/// The numbers of a part with this place on the shelf.
fn cassette(place: usize) -> (usize, usize, usize, usize) {
    (22 + place % 30, 10 + place % 4, 8 + place % 5, 300 + (place * 7) % 150)
}

fn derailleur(place: usize) -> (usize, usize, usize, usize) {
    (24 + place % 32, 11 + place % 3, 20 + (place * 3) % 30, 100 + (place * 11) % 120)
}

fn make(folder: &Path, with_table: bool) {
    let (shelf, guides) = (folder.join("content/shelf"), folder.join("content/guides/drivetrain"));
    for folder in [&shelf, &guides] {
        fs::create_dir_all(folder).expect("a folder");
    }
    fs::write(folder.join("content/shop.yaml"), "name: Tollgate Cycle Works\nplace: Ennismouth\nhandbook: false\n")
        .expect("a shop");
    let part = |out: &mut String, name: &str, title: &str, has: &str| {
        writeln!(
            out,
            "  {name}:\n    title: {title}\n    source: the maker's sheet\n    checked: 2026-04-02\n    has: {{{has}}}"
        )
        .expect("text");
    };
    let (mut cassettes, mut derailleurs) = ("parts:\n".to_owned(), "parts:\n".to_owned());
    for place in 0..SIDE {
        let (largest, smallest, speeds, spacing) = cassette(place);
        let has = format!(
            "largest: {largest} teeth, smallest: {smallest} teeth, speeds: {speeds}, spacing: {}.{:02} mm",
            spacing / 100,
            spacing % 100
        );
        part(&mut cassettes, &format!("cassette-{place}"), &format!("Cassette {place}"), &has);
        let (largest, smallest, capacity, ratio) = derailleur(place);
        let has = format!(
            "largest: {largest} teeth, smallest: {smallest} teeth, capacity: {capacity} teeth, ratio: {}.{:02}, speeds: 10, action: cable, pull_class: even, cage: 75 mm, clutch: no, hanger: bolted",
            ratio / 100,
            ratio % 100
        );
        part(&mut derailleurs, &format!("derailleur-{place}"), &format!("Rear derailleur {place}"), &has);
    }
    fs::write(shelf.join("cassette.yaml"), cassettes).expect("a shelf");
    fs::write(shelf.join("rear_derailleur.yaml"), derailleurs).expect("a shelf");
    let mut cranks = "parts:\n".to_owned();
    part(&mut cranks, "crank-50-34", "Crank, 50 and 34", "largest: 50 teeth, smallest: 34 teeth");
    fs::write(shelf.join("crank.yaml"), cranks).expect("a shelf");
    let mut levers = "parts:\n".to_owned();
    part(
        &mut levers,
        "shift-even",
        "Shift lever",
        "works: rear, action: indexed, pull_class: even, pull: 2.7 mm, clicks: 9",
    );
    fs::write(shelf.join("shift_lever.yaml"), levers).expect("a shelf");
    let table = "## Ask\n\n```fit-table\ndown: cassette\nacross: rear_derailleur\nwith: [crank-50-34, shift-even]\ncaption: Cassettes with rear derailleurs\n```\n";
    let text = format!(
        "---\ntitle: Fit\nsummary: Which goes with which.\ntopic: drivetrain\nnumber: DT-001\nrevision: A\nissued: 2026-05-03\nprepared_by: R. Pell\napproved_by: M. Oduya\ndone_by: rider\n---\n\n{}",
        if with_table { table } else { "## Ask\n\nNothing is asked.\n" }
    );
    fs::write(guides.join("fit.md"), text).expect("a guide");
}

/// The answers of all cells by plain comparisons, on all processors.
fn floor() -> Vec<Vec<String>> {
    let row = |row: usize| {
        let (largest, smallest, speeds, spacing) = cassette(row);
        let cell = |column: usize| {
            let (most, least, capacity, ratio) = derailleur(column);
            let need = 16 + largest - smallest;
            let off = (ratio * 3).abs_diff(spacing) * speeds;
            let fits = largest <= most && smallest >= least && need <= capacity && off < 200;
            format!(
                "{largest} and {most}, {smallest} and {least}, {need} and {capacity}, {off}: {}",
                if fits { "fits" } else { "does not fit" }
            )
        };
        (0..SIDE).map(cell).collect()
    };
    (0..SIDE).into_par_iter().map(row).collect()
}
