//! How long a save takes to the screen, at 20 and at 2,000 guides, as a ratio against a floor in the same run.
//!
//! The program keeps a generated library open; a save is timed from the end of the write until the changed page is
//! served, which is what a browser waits for before it lays the sheet. A guide of its own changes, then a stated figure
//! that three guides use. The floor is one request for a page that did not change. The folders are gone after the run.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

const TURNS: usize = 15;

struct Stand {
    child: Child,
    port: u16,
    folder: PathBuf,
}

impl Drop for Stand {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
        let _ = fs::remove_dir_all(&self.folder);
    }
}

fn main() {
    for guides in [20, 2000] {
        let stand = Stand::start(guides);
        let page = format!("/guides/drivetrain/chain-{:04}.html", guides / 2);
        let file = stand.folder.join(format!("content/guides/drivetrain/chain-{:04}.md", guides / 2));
        let stated = stand.folder.join("content/stated/stock.yaml");
        let floor: Vec<f64> = (0..TURNS).map(|_| timed(|| drop(stand.get(&page)))).collect();
        let text = fs::read_to_string(&file).expect("a guide");
        let own: Vec<f64> = (0..TURNS)
            .map(|turn| {
                let words = format!("Turn number {turn} of the guide.");
                stand.save(&file, &text.replace("A chain is cut in whole pairs.", &words), &page, &words)
            })
            .collect();
        let figure: Vec<f64> = (0..TURNS)
            .map(|turn| {
                let links = 118 + 2 * turn;
                let words = format!(">{links}\u{a0}links<");
                stand.save(&stated, &stock(links), "/guides/drivetrain/chain-0000.html", &words)
            })
            .collect();
        println!("{guides} guides, from the end of a write to the changed page, milliseconds of {TURNS} turns");
        let base = middle(&floor);
        for (name, times) in
            [("a page that did not change (floor)", floor), ("a guide", own), ("a stated figure", figure)]
        {
            println!(
                "{name:<36}{:>8.1} least{:>8.1} middle{:>8.1} most{:>7.1} times the floor",
                least(&times),
                middle(&times),
                times.iter().copied().fold(0.0, f64::max),
                middle(&times) / base
            );
        }
    }
}

fn least(times: &[f64]) -> f64 {
    times.iter().copied().fold(f64::INFINITY, f64::min)
}

fn middle(times: &[f64]) -> f64 {
    let mut times = times.to_vec();
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

fn timed(job: impl FnOnce()) -> f64 {
    let start = Instant::now();
    job();
    start.elapsed().as_secs_f64() * 1000.0
}

fn stock(links: usize) -> String {
    format!(
        "longest: {{value: {links} links, about: longest chain kept, source: marked on the box, checked: 2026-04-02}}\n"
    )
}

impl Stand {
    fn start(guides: usize) -> Self {
        let folder = std::env::temp_dir().join(format!("locknut-stand-bench-{}-{guides}", std::process::id()));
        make(&folder, guides);
        let mut child = Command::new(env!("CARGO_BIN_EXE_locknut"))
            .args(["stand", "--port", "0", "--library"])
            .arg(&folder)
            .stdout(Stdio::piped())
            .spawn()
            .expect("it runs");
        let mut lines = BufReader::new(child.stdout.take().expect("its output"));
        let mut first = String::new();
        lines.read_line(&mut first).expect("a line");
        let port = first.split("127.0.0.1:").nth(1).and_then(|rest| rest.split('/').next()).expect("an address");
        let port = port.parse().expect("a port");
        std::thread::spawn(move || std::io::copy(&mut lines, &mut std::io::sink()));
        Self { child, port, folder }
    }

    fn get(&self, path: &str) -> String {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).expect("it listens");
        let request = format!("GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nConnection: close\r\n\r\n", self.port);
        stream.write_all(request.as_bytes()).expect("it is asked");
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).expect("it answers");
        String::from_utf8_lossy(&answer).into_owned()
    }

    /// Writes a file and waits until the page holds some words.
    fn save(&self, file: &Path, text: &str, page: &str, words: &str) -> f64 {
        // Whatever the save before it began is done.
        std::thread::sleep(Duration::from_millis(700));
        fs::write(file, text).expect("a save");
        timed(|| {
            let began = Instant::now();
            while !self.get(page).contains(words) {
                assert!(began.elapsed() < Duration::from_secs(20), "{page} never held {words}");
                std::thread::sleep(Duration::from_millis(1));
            }
        })
    }
}

/// A library of generated guides, each with numbers of its own; the first three name a stated figure.
fn make(folder: &Path, guides: usize) {
    let _ = fs::remove_dir_all(folder);
    let place = folder.join("content/guides/drivetrain");
    fs::create_dir_all(&place).expect("a folder");
    fs::create_dir_all(folder.join("content/stated")).expect("a folder");
    fs::write(folder.join("content/shop.yaml"), "name: Tollgate Cycle Works\nplace: Ennismouth\n").expect("a shop");
    fs::write(folder.join("content/stated/stock.yaml"), stock(116)).expect("a figure");
    for number in 0..guides {
        let (ring, sprocket, stay) = (38 + number % 15, 24 + number % 13, 400 + number % 60);
        let kept = if number < 3 { "The longest kept: (=stock.longest).\n\n" } else { "" };
        let text = format!(
            "---\ntitle: Chain of bike {number}\nsummary: How many links its chain needs.\ntopic: drivetrain\nnumber: DT-{number:04}\nrevision: A\nissued: 2026-05-03\nprepared_by: R. Pell\napproved_by: M. Oduya\ndone_by: rider\nhazards: [drivetrain]\nsymptoms:\n  - chain {number} hangs slack\n---\n\nA chain is cut in whole pairs.\n\n{kept}## Measure\n\nThe stay is (=chain.chainstay).\n\n```working\nname: chain\nformula: chain-length\ngiven:\n  chainstay: {stay} mm ± 2 mm\n  chainring: {ring}\n  sprocket: {sprocket}\nshow: [links, pairs]\n```\n\n## Change\n\nIt grows by (=change.change).\n\n```working\nname: change\nformula: chainring-change\ngiven:\n  chainstay: {stay} mm\n  old_chainring: {ring} - 4\n  new_chainring: chain.chainring\n  sprocket: chain.sprocket\n  links_on_bike: chain.links\n```\n"
        );
        fs::write(place.join(format!("chain-{number:04}.md")), text).expect("a guide");
    }
}
