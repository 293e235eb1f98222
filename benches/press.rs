//! How long 2,000 guides with three workings each take, as a ratio against a floor in the same run.
//!
//! The floor reads the same files, parses front matter and Markdown, renders one template a page and writes the pages,
//! with the same libraries and on all processors, and works nothing out, checks nothing and draws nothing. The least
//! of several turns each; the folders are made for the run and removed after it.

use locknut::evaluate::Drafts;
use locknut::press;
use minijinja::{Environment, context};
use pulldown_cmark::{Options, Parser, html};
use rayon::prelude::*;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Instant;

const GUIDES: usize = 2000;
const TURNS: usize = 5;

fn main() {
    let folder = std::env::temp_dir().join(format!("locknut-bench-{}", std::process::id()));
    make(&folder);
    let pages = floor(&folder, &folder.join("floor"));
    assert_eq!(pages, GUIDES, "the floor does all pages");
    let mut times = [Vec::new(), Vec::new(), Vec::new()];
    for _ in 0..TURNS {
        times[0].push(timed(|| {
            floor(&folder, &folder.join("floor"));
        }));
        times[1].push(timed(|| {
            let proof = press::proof(&folder, Drafts::LeftOut, None).expect("the library");
            assert!(!proof.has_faults() && proof.guides == GUIDES, "{:?}", proof.faults.first());
        }));
        times[2].push(timed(|| {
            let mut proof = press::proof(&folder, Drafts::LeftOut, None).expect("the library");
            press::write(&mut proof, &folder.join("pressed")).expect("a site");
        }));
    }
    let least = |times: &[f64]| times.iter().copied().fold(f64::INFINITY, f64::min);
    let most = |times: &[f64]| times.iter().copied().fold(0.0, f64::max);
    let base = least(&times[0]);
    println!("{GUIDES} guides with three workings each, least and most of {TURNS} turns");
    for (name, times) in ["read, parse, render, write (floor)", "proof", "press"].iter().zip(&times) {
        println!(
            "{name:<36}{:>7.2} s to {:>5.2} s{:>7.1} times the floor",
            least(times),
            most(times),
            least(times) / base
        );
    }
    fs::remove_dir_all(&folder).expect("nothing is left");
}

fn timed(job: impl FnOnce()) -> f64 {
    let start = Instant::now();
    job();
    start.elapsed().as_secs_f64()
}

/// A library of generated guides, each with numbers of its own.
fn make(folder: &Path) {
    let guides = folder.join("content/guides/drivetrain");
    fs::create_dir_all(&guides).expect("a folder");
    fs::write(folder.join("content/shop.yaml"), "name: Tollgate Cycle Works\nplace: Ennismouth\n").expect("a shop");
    for place in 0..GUIDES {
        let (ring, sprocket, stay) = (38 + place % 15, 24 + place % 13, 400 + place % 60);
        let text = format!(
            "---\ntitle: Chain of bike {place}\nsummary: How many links its chain needs.\ntopic: drivetrain\nnumber: DT-{place:04}\nrevision: A\nissued: 2026-05-03\nprepared_by: R. Pell\napproved_by: M. Oduya\ndone_by: rider\nhazards: [drivetrain]\nsymptoms:\n  - chain {place} hangs slack\n---\n\nA chain is cut in whole pairs.\n\n## Measure\n\nThe stay is (=chain.chainstay).\n\n```working\nname: chain\nformula: chain-length\ngiven:\n  chainstay: {stay} mm ± 2 mm\n  chainring: {ring}\n  sprocket: {sprocket}\nshow: [links, pairs]\n```\n\n## Change\n\nIt grows by (=change.change).\n\n```working\nname: change\nformula: chainring-change\ngiven:\n  chainstay: {stay} mm\n  old_chainring: {ring} - 4\n  new_chainring: chain.chainring\n  sprocket: chain.sprocket\n  links_on_bike: chain.links\n```\n\n## Gear\n\nTable: What comes of it\n\n| What | Figure |\n|:--|--:|\n| Links | (=chain.links) ((=chain.pairs) pairs) |\n| Wear | (=wear.elongation) |\n\n```working\nname: wear\nformula: chain-wear\ngiven:\n  measured: 510 mm ± 0.5 mm\n  links: 40\n```\n"
        );
        fs::write(guides.join(format!("chain-{place:04}.md")), text).expect("a guide");
    }
}

/// Reads, parses, renders and writes, and nothing else; gives the number of pages.
fn floor(folder: &Path, into: &Path) -> usize {
    let mut environment = Environment::new();
    let template = "<!DOCTYPE html>\n<html lang=\"en\"><head><title>{{ title }}</title></head><body><h1>{{ title }}</h1>\n{{ body|safe }}</body></html>\n";
    environment.add_template("page.html", template).expect("a template");
    let _ = fs::remove_dir_all(into);
    fs::create_dir_all(into).expect("a folder");
    let files: Vec<PathBuf> = walkdir::WalkDir::new(folder.join("content/guides"))
        .into_iter()
        .map(|entry| entry.expect("an entry").into_path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "md"))
        .collect();
    files
        .par_iter()
        .map(|path| {
            let text = fs::read_to_string(path).expect("a guide");
            let (front, body) = text[4..].split_once("\n---\n").expect("front matter");
            let front: serde_yaml::Value = serde_yaml::from_str(front).expect("YAML");
            let mut markup = String::new();
            html::push_html(&mut markup, Parser::new_ext(body, Options::ENABLE_TABLES));
            let values = context! { title => front["title"].as_str(), body => markup };
            let page = environment.get_template("page.html").and_then(|page| page.render(values)).expect("a page");
            let name = path.file_stem().expect("a name").to_string_lossy().into_owned();
            fs::write(into.join(format!("{name}.html")), page).expect("it is written");
        })
        .count()
}
