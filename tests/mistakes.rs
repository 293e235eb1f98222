//! Every fault has a case: a mistake in a file, and beside it what is said about it.
//!
//! A folder is named after the stage that must object, a file after the mistake; `NAME.txt` holds the faults as they
//! are drawn. The ending says what the file is: `.md` a guide, `.shop.yaml`, `.stated.yaml`, `.drawing.svg` and
//! `.theme.html` a file of the library in its place, `.shelf.yaml` the shelf's cassettes, `.chart.yaml` a fault-finding chart, `.register.yaml` the register, `.formula.yaml` a formula,
//! `.rule.yaml` a rule about parts, `.family.yaml` a family of parts, `.words` a command line. The few
//! mistakes that can't be a file in a checkout are made here. `LOCKNUT_REWRITE=1` writes what is said anew, never in CI.

use crate::folder::{Folder, err, root};
use locknut::diagnostic::{Source, draw};
use locknut::evaluate::Drafts;
use locknut::fault::id;
use locknut::library::date::Date;
use locknut::mechanics::load::load;
use locknut::mechanics::pairing::family;
use locknut::mechanics::pairing::shelf::Rules;
use locknut::press;
use locknut::text::Mapped;
use locknut::yaml;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

const STAGES: [&str; 6] = ["read", "parse", "evaluate", "set", "press", "command"];
const WIDTH: usize = 80;

const SHOP: &str = "name: Tollgate Cycle Works\nplace: Ennismouth\n";
const STOCK: &str =
    "longest_chain: {value: 116 links, about: longest chain kept, source: marked on the box, checked: 2026-04-02}\n";

const CASSETTES: &str = "parts:
  cassette-11-34:
    title: Cassette, 11 to 34
    source: marked on the part
    checked: 2026-04-02
    has: {largest: 34 teeth, smallest: 11 teeth}
";
const CRANKS: &str = "parts:
  crank-50-34:
    title: Crank, 50 and 34
    source: marked on the part
    checked: 2026-04-02
    has: {largest: 50 teeth, smallest: 34 teeth}
";
const BIKE: &str = "title: Town roadster
number: BS-001
revision: A
issued: 2026-05-03
prepared_by: R. Pell
measured: {chainstay: 410 mm}
";
const FRAMES: &str = "parts:
  frame-town:
    title: Frame of the roadster
    source: the shop's own measurement
    checked: 2026-04-02
    has: {chainstay: 450 mm, stack: 600 mm, reach: 375 mm}
";
const DERAILLEURS: &str = "parts:
  derailleur-short:
    title: Rear derailleur, short cage
    source: the maker's sheet
    checked: 2026-04-02
    has: {capacity: 33 teeth, largest: 28 teeth}
";

fn folder() -> PathBuf {
    root().join("tests/mistakes")
}

/// A small library in which one thing may be wrong.
struct Library(Folder);

impl Library {
    fn new() -> Self {
        let library = Self(Folder::new("mistakes"));
        library.write("content/shop.yaml", SHOP.as_bytes());
        library.write("content/stated/stock.yaml", STOCK.as_bytes());
        library.write("content/shelf/cassette.yaml", CASSETTES.as_bytes());
        library.write("content/shelf/frame.yaml", FRAMES.as_bytes());
        library.write("content/shelf/crank.yaml", CRANKS.as_bytes());
        library.write("content/shelf/rear_derailleur.yaml", DERAILLEURS.as_bytes());
        let mut photo = std::io::Cursor::new(Vec::new());
        image::RgbImage::new(4, 3).write_to(&mut photo, image::ImageFormat::Png).expect("a photo");
        library.write("content/photos/hanger.png", photo.get_ref());
        library.write("content/photos/torn.png", &photo.get_ref()[..30]);
        library.write("content/photos/words.jpg", b"These are words.");
        library.write("content/photos/named.jpg", photo.get_ref());
        library
    }

    fn root(&self) -> &Path {
        &self.0.0
    }

    fn write(&self, path: &str, bytes: &[u8]) {
        self.0.write(path, bytes);
    }

    fn said(&self) -> String {
        self.said_of(Drafts::LeftOut)
    }

    fn said_of(&self, drafts: Drafts) -> String {
        let proof =
            press::proof(self.root(), drafts, Date::parse("2026-11-25")).expect("the machine reads its own files");
        let none = Source::default();
        let source = |name: &str| {
            proof.sources.iter().find(|source| source.name == name).map_or(&none, |source| source.as_ref())
        };
        proof.faults.iter().map(|one| draw(&one.fault, source(&one.file), WIDTH)).collect()
    }
}

/// What is said about a case.
fn said(name: &str, bytes: &[u8]) -> String {
    let library = Library::new();
    let place = match name.split_once('.').map_or("", |(_, ending)| ending) {
        "md" => "content/guides/drivetrain/case.md",
        "shop.yaml" => "content/shop.yaml",
        "stated.yaml" => "content/stated/stock.yaml",
        "bike.yaml" => "content/bikes/roadster.yaml",
        "shelf.yaml" => "content/shelf/cassette.yaml",
        "own.yaml" => "content/formulas/own.yaml",
        "register.yaml" => "content/register.yaml",
        "chart.yaml" => "content/faults/creak.yaml",
        "reply.md" => "content/replies/case.md",
        "drawing.svg" => "diagrams/chain-run.svg",
        "theme.html" => "themes/sheet/figure.html",
        "formula.yaml" | "rule.yaml" | "family.yaml" => return load_said(name, bytes),
        "words" => return words_said(bytes, &library),
        ending => panic!("{name}: no case ends in {ending}"),
    };
    if name.ends_with(".drawing.svg") || name.ends_with(".theme.html") {
        library.write("content/guides/drivetrain/case.md", GUIDE.as_bytes());
    }
    library.write(place, bytes);
    library.said()
}

/// A register that has given the sound guide its revision B.
const REGISTER: &str = r#"figures:
  "DT-900 chain.links": {"says": "108 links"}
changes:
  - {"sheet": "DT-900", "on": "2026-06-01", "revision": "B", "figure": "chain.links", "was": "106 links", "is": "108 links", "by": "AB", "because": "another chain"}
"#;

/// A guide without a mistake, for mistakes in what it uses.
const GUIDE: &str = include_str!("mistakes/sound.md");

fn load_said(name: &str, bytes: &[u8]) -> String {
    let text = String::from_utf8_lossy(bytes).into_owned();
    let (stem, sort) = name.split_once('.').map_or((name, ""), |(stem, ending)| (stem, ending));
    let folder = match sort {
        "rule.yaml" => "rules",
        "family.yaml" => "families",
        _ => "formulas",
    };
    let source = Source::new(format!("{folder}/{stem}.yaml"), text);
    let mapped = Mapped::verbatim(source.text.as_str(), 0);
    let faults = match sort {
        "rule.yaml" => match yaml::parse(&mapped) {
            Ok(node) => {
                let mut faults = Vec::new();
                let _ = Rules::bundled().read_rule(&node, &source.text, &mut faults);
                faults
            }
            Err(faults) => faults,
        },
        "family.yaml" => family::load(&mapped).err().unwrap_or_default(),
        _ => load(&mapped).err().unwrap_or_default(),
    };
    faults.iter().map(|fault| draw(fault, &source, WIDTH)).collect()
}

/// The words of a command line, parted at spaces but for those in single quotes.
fn words_said(bytes: &[u8], library: &Library) -> String {
    let line = String::from_utf8_lossy(bytes);
    let mut words = vec![String::new()];
    let mut quoted = false;
    for c in line.trim().chars() {
        match c {
            '\'' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            c => words.last_mut().expect("one at least").push(c),
        }
    }
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let output = library.0.run(&words);
    if output.status.code() != Some(2) {
        return format!("{line} ended with {:?}, not 2", output.status.code());
    }
    err(&output)
}

/// Mistakes that can't be files of a checkout: their names, and what is said.
#[allow(clippy::too_many_lines, reason = "one flat list")]
fn made_here() -> Vec<(&'static str, String)> {
    let with = |path: &str, bytes: &[u8]| {
        let library = Library::new();
        library.write(path, bytes);
        library.said()
    };
    let page = "content/guides/drivetrain/case.md";
    let long = " word".repeat(20_000);
    let nested = format!("---\ntitle: {}1{}\n---\n", "[".repeat(5000), "]".repeat(5000));
    vec![
        ("read/a-folder-for-a-file", with("content/guides/drivetrain/case.md/inner.txt", b"")),
        ("read/not-utf8", with(page, b"---\ntitle: Size a chain \xff\n---\n")),
        ("read/three-megabytes", with(page, &vec![b'a'; 3 * 1024 * 1024])),
        ("read/five-thousand-lists", with(page, nested.as_bytes())),
        ("read/nul", with(page, b"---\ntitle: Size\0 a chain\n---\n")),
        ("read/byte-order-mark", with(page, format!("\u{FEFF}{}", GUIDE.replace("summary:", "sumary:")).as_bytes())),
        (
            "evaluate/line-ends-of-two-signs",
            with(page, GUIDE.replace("410 mm", "41 mm").replace('\n', "\r\n").as_bytes()),
        ),
        (
            "evaluate/very-long-line",
            with(page, format!("{GUIDE}\n{}(=chain.lnks){long}\n", "word ".repeat(20_000)).as_bytes()),
        ),
        (
            "evaluate/five-thousand-quotes",
            with(page, format!("{GUIDE}\n{}(=chain.lnks)\n", "> ".repeat(5000)).as_bytes()),
        ),
        (
            "evaluate/five-thousand-items",
            with(page, format!("{GUIDE}\n{}(=chain.lnks)\n", "- ".repeat(5000)).as_bytes()),
        ),
        (
            "evaluate/five-thousand-brackets",
            with(page, format!("{GUIDE}\n{}(=chain.lnks)\n", "[".repeat(5000)).as_bytes()),
        ),
        (
            "evaluate/five-thousand-stars",
            with(page, format!("{GUIDE}\n{}(=chain.lnks)\n", "*a **".repeat(5000)).as_bytes()),
        ),
        ("evaluate/link-to-a-misspelt-page", {
            let library = Library::new();
            library.write(page, format!("{GUIDE}\nSee [the other](../drivetrain/othr.md#op-10).\n").as_bytes());
            library.write("content/guides/drivetrain/other.md", GUIDE.replace("DT-900", "DT-901").as_bytes());
            library.said()
        }),
        ("parse/bike-named-after-a-unit", {
            let bike = "title: A bike\nnumber: BS-001\nrevision: A\nissued: 2026-05-03\nprepared_by: R. Pell\n";
            with("content/bikes/mm.yaml", bike.as_bytes())
        }),
        ("parse/bike-and-subject-of-one-name", {
            let bike = "title: A bike\nnumber: BS-001\nrevision: A\nissued: 2026-05-03\nprepared_by: R. Pell\n";
            with("content/bikes/stock.yaml", bike.as_bytes())
        }),
        ("read/a-link-to-another-file", {
            let library = Library::new();
            library.write("outside.md", GUIDE.as_bytes());
            fs::create_dir_all(library.root().join("content/guides/drivetrain")).expect("a folder");
            std::os::unix::fs::symlink("../../../outside.md", library.root().join(page)).expect("a link");
            library.said()
        }),
        ("read/a-link-to-another-folder", {
            let library = Library::new();
            fs::create_dir_all(library.root().join("content/guides")).expect("a folder");
            std::os::unix::fs::symlink("/tmp", library.root().join("content/guides/drivetrain")).expect("a link");
            library.said()
        }),
        ("read/ten-megabytes-in-a-line", with(page, &vec![b'-'; 10 * 1024 * 1024])),
        ("read/stray-file", with("content/guide/case.md", GUIDE.as_bytes())),
        ("read/invisible-sign", with(page, format!("{GUIDE}\nA sign \u{1} in the body.\n").as_bytes())),
        ("read/file-name", with("content/guides/drivetrain/Chain & ring.md", GUIDE.as_bytes())),
        ("parse/revision-taken", {
            let library = Library::new();
            library.write(page, GUIDE.replace("revision: A", "revision: B").as_bytes());
            library.write("content/register.yaml", REGISTER.as_bytes());
            library.said()
        }),
        ("parse/revision-behind", {
            let library = Library::new();
            library.write(page, GUIDE.replace("issued: 2026-05-03", "issued: 2026-07-01").as_bytes());
            library.write("content/register.yaml", REGISTER.as_bytes());
            library.said()
        }),
        ("evaluate/unsigned-drift", {
            let library = Library::new();
            library.write("content/shop.yaml", format!("{SHOP}unsigned_drift: refused\n").as_bytes());
            library.write(page, GUIDE.as_bytes());
            library.write("content/register.yaml", REGISTER.as_bytes());
            library.said()
        }),
        ("evaluate/unused", {
            let library = Library::new();
            library.write(page, GUIDE.as_bytes());
            library.said_of(Drafts::Proved)
        }),
        ("evaluate/dead-link", {
            let library = Library::new();
            // Nobody listens there, and no network is asked.
            library.write(page, format!("{GUIDE}\nSee [the standard](http://127.0.0.1:9/standard).\n").as_bytes());
            let words = ["proof", "--outside", "--on", "2026-11-25"];
            err(&library.0.run(&words))
        }),
        ("evaluate/nothing-signed", {
            let library = Library::new();
            library.write("content/shop.yaml", format!("{SHOP}unsigned_drift: refused\n").as_bytes());
            library.write(page, GUIDE.as_bytes());
            library.said()
        }),
        ("command/second-initials", {
            let library = Library::new();
            let notice = "```safety\nwarning\nFewer than (=chain.links) break.\n```\n";
            library.write(page, format!("{GUIDE}\n{notice}").as_bytes());
            words_said(b"sign --by AB --because 'new chain'", &library)
        }),
        ("evaluate/unapproved-link", {
            let library = Library::new();
            library.write(page, format!("{GUIDE}\nSee [the other](../drivetrain/other.md).\n").as_bytes());
            let draft = GUIDE.replace("DT-900", "DT-901").replace("approved_by: M. Oduya\n", "");
            library.write("content/guides/drivetrain/other.md", draft.as_bytes());
            library.said()
        }),
        ("evaluate/formerly-two-pages", {
            let library = Library::new();
            let former = "formerly: [guides/drivetrain/old-chain]\n---\n";
            let with = |guide: &str| guide.replacen("\n---\n", &format!("\n{former}"), 1);
            library.write(page, with(GUIDE).as_bytes());
            library.write("content/guides/drivetrain/other.md", with(&GUIDE.replace("DT-900", "DT-901")).as_bytes());
            library.said()
        }),
        ("command/file-taken", {
            let library = Library::new();
            library.write(page, GUIDE.as_bytes());
            words_said(b"begin guide drivetrain case --title Case --by R.Pell", &library)
        }),
        ("parse/guide-outside-the-topics", with("content/guides/case.md", GUIDE.as_bytes())),
        ("parse/guide-too-far-inside", with("content/guides/drivetrain/old/case.md", GUIDE.as_bytes())),
        ("parse/two-sheets-one-number", {
            let library = Library::new();
            library.write(page, GUIDE.as_bytes());
            library.write("content/guides/drivetrain/other.md", GUIDE.as_bytes());
            library.said()
        }),
    ]
}

/// Mistakes at the counter that need a bike or a page to be there.
fn made_at_the_counter() -> Vec<(&'static str, String)> {
    let with = |path: &str, text: &str, line: &[u8]| {
        let library = Library::new();
        library.write(path, text.as_bytes());
        words_said(line, &library)
    };
    let (bike, short) = ("content/bikes/roadster.yaml", BIKE.replace("410 mm", "41 mm"));
    vec![
        ("command/unknown-bike", with(bike, BIKE, b"reckon chain-length --bike roadstr chainring=50 sprocket=34")),
        (
            "command/unknown-name",
            with(bike, BIKE, b"reckon chain-length chainstay=roadster.chainsty chainring=50 sprocket=34"),
        ),
        (
            "command/lent-out-of-range",
            with(bike, &short, b"reckon chain-length --bike roadster chainring=50 sprocket=34"),
        ),
        (
            "command/page-taken",
            with(
                "content/replies/longer-chain.md",
                GUIDE,
                b"reckon chain-wear measured=306mm links=24 --save longer-chain --by 'R. Pell'",
            ),
        ),
    ]
}

#[test]
fn every_mistake_is_told() {
    let rewrite = std::env::var_os("LOCKNUT_REWRITE").is_some();
    assert!(!(rewrite && std::env::var_os("CI").is_some()), "expectations are never rewritten in CI");
    let mut expected: BTreeSet<PathBuf> = BTreeSet::new();
    let mut shown = String::new();
    let mut wrong = Vec::new();
    let mut cases = made_here()
        .into_iter()
        .chain(made_at_the_counter())
        .map(|(name, said)| (name.to_owned(), said))
        .collect::<Vec<_>>();
    for stage in STAGES {
        let mut files: Vec<PathBuf> = fs::read_dir(folder().join(stage))
            .expect("a folder for each stage")
            .map(|entry| entry.expect("an entry").path())
            .collect();
        files.sort();
        for file in files.iter().filter(|file| file.extension().is_none_or(|ending| ending != "txt")) {
            let name = file.file_name().expect("a name").to_string_lossy().into_owned();
            let said = said(&name, &fs::read(file).expect("a case"));
            cases.push((format!("{stage}/{}", name.split('.').next().expect("a name")), said));
        }
    }
    for (name, said) in &cases {
        let stage = name.split('/').next().expect("a stage");
        let path = folder().join(format!("{name}.txt"));
        if rewrite {
            fs::write(&path, said).expect("the expectation is written");
        }
        let wanted = fs::read_to_string(&path).unwrap_or_default();
        if *said != wanted || said.is_empty() {
            wrong.push(format!("{name}: lines wanted and said\n{}", difference(&wanted, said)));
        }
        // A command line can hold a mistake of any stage: what counts there is that the fault points into it.
        let of_stage = |of: &str| of == stage || stage == "command" && said.starts_with("command line:1:");
        if !id::ALL.iter().any(|(id, of, _)| of_stage(of) && said.contains(&format!("({id})"))) {
            wrong.push(format!("{name}: no fault of the stage {stage} in\n{said}"));
        }
        shown.push_str(said);
        if !expected.insert(path) {
            wrong.push(format!("{name} is the name of two cases"));
        }
    }
    wrong.extend(orphans(&expected));
    for (id, ..) in id::ALL {
        if !shown.contains(&format!("({id})")) {
            wrong.push(format!("no case shows the fault {id}"));
        }
    }
    println!("{} mistakes", cases.len());
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

/// The lines in which two texts differ, wanted ones after a minus, said ones after a plus.
fn difference(wanted: &str, said: &str) -> String {
    let (wanted, said): (Vec<&str>, Vec<&str>) = (wanted.lines().collect(), said.lines().collect());
    let first = wanted.iter().zip(&said).take_while(|(one, other)| one == other).count();
    let rest = wanted.len().min(said.len()) - first;
    let last = wanted.iter().rev().zip(said.iter().rev()).take(rest).take_while(|(one, other)| one == other).count();
    let lines = |lines: &[&str], sign: &str| -> String {
        lines[first..lines.len() - last].iter().map(|line| format!("  {sign} {line}\n")).collect()
    };
    lines(&wanted, "-") + &lines(&said, "+")
}

/// Expectations that belong to no case.
fn orphans(expected: &BTreeSet<PathBuf>) -> Vec<String> {
    let stage = |stage: &&str| fs::read_dir(folder().join(stage)).expect("a folder");
    STAGES
        .iter()
        .flat_map(stage)
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "txt") && !expected.contains(path))
        .map(|path| format!("{} belongs to no case", path.display()))
        .collect()
}

#[test]
fn the_sound_guide_is_sound() {
    let library = Library::new();
    library.write("content/guides/drivetrain/case.md", GUIDE.as_bytes());
    assert_eq!(library.said(), "");
}
