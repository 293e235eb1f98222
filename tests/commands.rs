//! The commands as people run them: what they print, what they leave on the disk, how they end.
//!
//! The real binary is run. The shape of the JSON is the one that other programs rely on.

use crate::folder::{Folder, command, err, files, out, root, run_in};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Output;
use std::time::{Duration, SystemTime};

const GUIDE: &str = "content/guides/drivetrain/chain-after-chainring.md";

fn reckon(words: &[&str]) -> Output {
    let mut all = vec!["reckon"];
    all.extend(words);
    run_in(Path::new("."), &all)
}

fn json(words: &[&str]) -> Value {
    let output = reckon(words);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    serde_json::from_str(&out(&output)).expect("JSON")
}

#[test]
fn the_json_of_an_answer_has_its_shape() {
    let answer = json(&["chain-length", "chainstay=410 mm ± 2 mm", "chainring=50", "sprocket=34", "--json"]);
    let keys: Vec<&str> = answer.as_object().expect("an object").keys().map(String::as_str).collect();
    assert_eq!(keys, ["formula", "inputs", "outputs", "limits", "cautions", "sources"]);
    assert_eq!(answer["formula"], "chain-length");
    let stay = &answer["inputs"]["chainstay"];
    assert_eq!((stay["value"].as_f64(), stay["unit"].as_str()), (Some(410.0), Some("mm")));
    assert!(stay["low"].as_f64() <= Some(408.0) && stay["high"].as_f64() >= Some(412.0), "outward: {stay}");
    let keys: Vec<&str> = stay.as_object().expect("an object").keys().map(String::as_str).collect();
    assert_eq!(keys, ["value", "unit", "low", "high"]);
    let links = &answer["outputs"]["links"];
    let keys: Vec<&str> = links.as_object().expect("an object").keys().map(String::as_str).collect();
    assert_eq!(keys, ["value", "unit", "low", "high", "text"]);
    assert_eq!(links["text"], "110\u{A0}links");
    assert_eq!(answer["outputs"]["pairs"]["unit"], "", "a plain number has an empty unit");
    let exact = &answer["outputs"]["exact"];
    assert!(exact["low"].as_f64() < exact["value"].as_f64() && exact["value"].as_f64() < exact["high"].as_f64());
    assert!(answer["cautions"].as_array().is_some_and(|list| list.len() == 2));
    assert!(answer["sources"].as_array().is_some_and(|list| !list.is_empty()));
}

#[test]
fn a_value_in_another_unit_comes_back_in_the_formulas_own() {
    let answer = json(&["bolt-preload", "torque=44 lbf·in", "diameter=5mm", "pitch=0.8mm", "--json"]);
    let torque = &answer["inputs"]["torque"];
    assert_eq!(torque["unit"], "N·m");
    // 44 lbf·in by the exact factor of NIST SP 811, 0.1129848290276167.
    assert!((torque["value"].as_f64().expect("a number") - 44.0 * 0.112_984_829_027_616_7).abs() < 1e-12);
}

#[test]
fn a_limit_that_stops_leaves_no_figure() {
    let answer = json(&["stopping-distance", "speed=25km/h", "deceleration=1m/s^2", "slope=-20 %", "--json"]);
    assert_eq!(answer["outputs"], serde_json::json!({}));
    assert_eq!(answer["limits"].as_array().map(Vec::len), Some(1));
    assert_eq!(answer["limits"][0]["name"], "never_stops");
    let swapped = [
        "rear-capacity",
        "largest_chainring=34",
        "smallest_chainring=50",
        "largest_sprocket=30",
        "smallest_sprocket=11",
        "derailleur_capacity=20",
        "largest_allowed=28",
        "--json",
    ];
    let answer = json(&swapped);
    assert_eq!(answer["limits"].as_array().map(Vec::len), Some(1), "only the limits that stop: {}", answer["limits"]);
}

#[test]
fn only_the_limits_that_spoke_are_listed() {
    let answer = json(&["chain-wear", "measured=306 mm ± 1 mm", "links=24", "--json"]);
    assert_eq!(answer["limits"], serde_json::json!([]), "a limit that only may speak is not listed");
    let answer = json(&["chain-wear", "measured=255.27mm", "links=20", "--json"]);
    assert_eq!(answer["limits"][0]["name"], "half");
}

#[test]
fn wrong_values_exit_with_2_and_point_into_the_argument() {
    let output = reckon(&["chain-length", "chainstay=41mm", "chainring=50", "sprocket=34"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        err(&output).starts_with("command line:1:39: chainstay is out of range (out-of-range)\n"),
        "{}",
        err(&output)
    );
    assert!(out(&output).is_empty());
    let output = reckon(&["chain-length", "chainstay=41mm", "chainring=50", "sprocket=34", "--json"]);
    assert_eq!(output.status.code(), Some(2));
    let faults: Value = serde_json::from_str(&out(&output)).expect("JSON");
    let keys: Vec<&str> = faults["faults"][0].as_object().expect("an object").keys().map(String::as_str).collect();
    assert_eq!(keys, ["id", "severity", "file", "line", "column", "length", "message", "found", "allowed", "do"]);
}

#[test]
fn formulas_are_listed_by_topic_and_found_by_words() {
    let list = out(&reckon(&[]));
    for word in ["drivetrain\n", "  chain-length", "brakes\n", "How many links does a new chain need"] {
        assert!(list.contains(word), "{word} in\n{list}");
    }
    assert!(list.lines().all(|line| line.chars().count() <= 80));
    let found = out(&reckon(&["--find", "longer chain"]));
    assert!(found.contains("chainring-change") && found.contains("cage-swap"), "{found}");
    assert!(!found.contains("fluid-margin") && !found.contains("wheelbase"), "{found}");
    let found = out(&reckon(&["--find", "how tight is a bolt"]));
    assert!(found.contains("bolt-preload"), "{found}");
}

#[test]
fn the_steps_and_the_reply_say_what_they_should() {
    let words = ["chain-length", "chainstay=410mm", "chainring=50", "sprocket=34"];
    let steps = out(&reckon(&[&words[..], &["--working"]].concat()));
    assert!(steps.contains("ring_radius =") && steps.contains("101.13 mm"), "{steps}");
    assert!(steps.lines().all(|line| line.chars().count() <= 80));
    let reply = out(&reckon(&[&words[..], &["--reply"]].concat()));
    assert_eq!(reply.lines().count(), 1, "one paragraph");
    for part in ["110\u{A0}links", "before cutting", "The marking on the part", "geometry"] {
        assert!(reply.contains(part), "{part} in\n{reply}");
    }
}

/// Two hyphens before a command end no options, and an empty folder's name is none: a shell that knows no such variable
/// would put this folder in its place.
#[test]
fn two_hyphens_and_empty_names_are_taken_for_what_they_are() {
    let folder = Folder::starter("commands");
    assert!(folder.done(&["--"]).contains("locknut COMMAND"));
    assert!(folder.done(&["--", "meaning", "bar"]).contains("bar: a unit"));
    let before = files(&folder.0);
    assert_eq!(folder.run(&["fit-out", ""]).status.code(), Some(2));
    assert_eq!(folder.run(&["press", "--into", ""]).status.code(), Some(2));
    assert!(files(&folder.0) == before, "nothing was written");
}

#[test]
fn prose_table_and_drawing_follow_the_figure() {
    let folder = Folder::starter("commands");
    let page = |folder: &Folder| folder.read("pressed/guides/drivetrain/chain-after-chainring.html");
    assert_eq!(folder.run(&["press"]).status.code(), Some(0));
    let first = page(&folder);
    let before = files(&folder.0.join("pressed"));
    folder.change(GUIDE, "  chainring: 50", "  chainring: 46");
    let output = folder.run(&["press"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(err(&output).contains("the claim of 110 links is out by 2 links (claim-out)"), "{}", err(&output));
    assert_eq!(files(&folder.0.join("pressed")), before, "the last good site stays");
    folder.change(GUIDE, "claim: {links: 110}", "claim: {links: 108}");
    let output = folder.run(&["press"]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    let second = page(&folder);
    let drawing =
        |page: &str| page[page.find("<svg").expect("a drawing")..page.find("</svg>").expect("its end")].to_owned();
    let table = |page: &str| {
        page[page.find("<caption>What the sum says").expect("a table")..]
            .split("</table>")
            .next()
            .expect("its end")
            .to_owned()
    };
    for (page, links, teeth) in
        [(&first, "110\u{A0}links", "50\u{A0}teeth"), (&second, "108\u{A0}links", "46\u{A0}teeth")]
    {
        assert!(page.matches(links).count() >= 4, "{links} in prose, table and title");
        assert!(table(page).contains(links) && drawing(page).contains(teeth));
    }
    assert!(!table(&second).contains("110\u{A0}links"));
    assert_ne!(drawing(&first), drawing(&second), "the drawing is another");
}

#[test]
fn a_slip_of_a_unit_is_told_and_nothing_is_lost() {
    let folder = Folder::starter("commands");
    assert_eq!(folder.run(&["press"]).status.code(), Some(0));
    let before = files(&folder.0.join("pressed"));
    folder.change(GUIDE, "chainstay: 410 mm ± 2 mm", "chainstay: 41 mm");
    let output = folder.run(&["press"]);
    assert_eq!(output.status.code(), Some(1));
    let said = err(&output);
    assert!(said.contains(":14: chainstay is out of range (out-of-range)\n") && said.contains("~~~~~\n"), "{said}");
    assert!(said.contains("150 mm to 1500 mm") && said.contains("measure from bottom bracket centre"), "{said}");
    assert_eq!(files(&folder.0.join("pressed")), before);
}

/// All faults of all pages in one run, in the order of the files, and nothing is pressed.
#[test]
fn faults_in_three_pages_are_told_in_the_order_of_the_files() {
    let folder = Folder::starter("commands");
    assert_eq!(folder.run(&["press"]).status.code(), Some(0));
    let before = files(&folder.0.join("pressed"));
    let pages = [
        "content/guides/drivetrain/chain-after-chainring.md",
        "content/guides/tyres/pressure-front-and-rear.md",
        "content/replies/water-in-the-rim.md",
    ];
    for page in pages {
        let text = folder.read(page);
        folder.write(page, format!("{text}\nIt is (=none.such), and (=none.other).\n"));
    }
    let output = folder.run(&["press"]);
    assert_eq!(output.status.code(), Some(1));
    let said = err(&output);
    let told: Vec<&str> = said.lines().filter(|line| line.ends_with("(unknown-name)")).collect();
    assert_eq!(told.len(), 6, "{said}");
    for (place, line) in told.iter().enumerate() {
        assert!(line.starts_with(pages[place / 2]), "{said}");
    }
    assert!(told[0].contains("none.such") && told[1].contains("none.other"), "{said}");
    assert_eq!(files(&folder.0.join("pressed")), before);
}

#[test]
fn the_same_library_gives_the_same_bytes() {
    let (one, other) = (Folder::starter("commands"), Folder::starter("commands"));
    one.run(&["press"]);
    // As if it had been copied here on another day.
    let long_ago = SystemTime::UNIX_EPOCH + Duration::from_secs(1_000_000_000);
    for path in files(&other.0).keys() {
        let file = fs::File::options().append(true).open(other.0.join(path)).expect("a file");
        file.set_modified(long_ago).expect("a date");
    }
    let (library, into) = (other.0.display().to_string(), other.0.join("elsewhere").display().to_string());
    let mut press = command(root(), &["press", "--library", &library, "--into", &into]);
    let output = press.env("TZ", "Pacific/Auckland").output().expect("it runs");
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    assert_eq!(files(&one.0.join("pressed")), files(&other.0.join("elsewhere")));
}

/// A shop's own formula, in place of a bundled one.
const OWN: &str = "id: our-length\ntitle: Our chain\ntopic: drivetrain\nquestion: How long is our chain?\n\
inputs:\n  - {name: chainstay, symbol: C, kind: length, unit: mm, range: [150, 1500], about: bottom bracket centre to rear axle centre}\n  \
- {name: chainring, symbol: N, kind: count, unit: tooth, range: [9, 80], about: teeth on the chainring}\n  \
- {name: sprocket, symbol: M, kind: count, unit: tooth, range: [7, 70], about: teeth on the sprocket}\n\
outputs:\n  - {name: links, symbol: n, kind: count, unit: link, decimals: 0, about: links to cut}\n\
steps:\n  - links = 2 * ceil(chainstay / (12.7 mm) + (chainring + sprocket) / 4 + 1)\nvalid: our bikes\nsource: our own count\n\
examples:\n  - {given: {chainstay: 410 mm, chainring: 50, sprocket: 34}, gives: {links: 110}, tolerance: 0, source: counted on the stand}\n\
replaces: {formula: chain-length, why: our bikes carry one more pair}\n";

#[test]
fn a_shop_has_formulas_of_its_own() {
    let folder = Folder::new("commands");
    let page = "---\ntitle: Ours\nsummary: Ours.\nnumber: RP-001\nrevision: A\nissued: 2026-05-03\nprepared_by: R. Pell\napproved_by: M. Oduya\n---\n\n\
                It needs (=ours.links) and (=theirs.links).\n\n\
                ```working\nname: ours\nformula: our-length\ngiven: {chainstay: 410 mm, chainring: 46, sprocket: 34}\n```\n\n\
                ```working\nname: theirs\nformula: chain-length\ngiven: {chainstay: 410 mm, chainring: 50, sprocket: 34}\n```\n";
    for (path, text) in [
        ("content/shop.yaml", "name: Tollgate Cycle Works\nplace: Ennismouth\n"),
        ("content/formulas/ours.yaml", OWN),
        ("content/replies/ours.md", page),
    ] {
        let path = folder.0.join(path);
        fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
        fs::write(path, text).expect("a file");
    }
    let output = folder.run(&["press"]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    let html = fs::read_to_string(folder.0.join("pressed/replies/ours.html")).expect("the page");
    assert!(html.contains("108\u{a0}links") && html.contains("110\u{a0}links"), "{html}");
    assert!(html.contains("our bikes carry one more pair"), "why it stands in for the other");
    assert!(html.contains("formulas/our-length."), "its script");

    // The counter knows it, by either name.
    let values = ["chainstay=410mm", "chainring=50", "sprocket=34"];
    let ask = |name: &str, rest: &[&str]| folder.run(&[&["reckon", name], &values[..], rest].concat());
    for name in ["our-length", "chain-length"] {
        let said = out(&ask(name, &[])).split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(said.contains("110 links") && said.contains("our bikes carry one more pair"), "{said}");
    }
    let list = out(&folder.run(&["reckon"]));
    assert!(list.contains("  our-length") && !list.contains("  chain-length "), "{list}");
    assert!(
        out(&reckon(&["--library", &folder.0.display().to_string(), "--find", "our chain"])).contains("our-length")
    );

    // One with a fault stops what it may be about, and nothing else.
    let path = folder.0.join("content/formulas/ours.yaml");
    fs::write(&path, OWN.replace("links: 110}", "links: 112}")).expect("a file");
    let output = ask("chain-length", &[]);
    assert_eq!(output.status.code(), Some(1));
    assert!(err(&output).starts_with("content/formulas/ours.yaml:16:"), "{}", err(&output));
    let output = ask("chain-length", &["--json"]);
    assert!(out(&output).contains("\"id\":\"example-out\""), "{}", out(&output));
    let output = folder.run(&["reckon", "gear", "chainring=50", "sprocket=34", "rollout=2.1m"]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    assert!(err(&output).contains("1 formula of the shop's own can't be used"), "{}", err(&output));
    assert_eq!(reckon(&["--library", "no-such-folder"]).status.code(), Some(3));
}

#[test]
fn a_folder_that_is_not_ours_is_left_alone() {
    let folder = Folder::starter("commands");
    let own = folder.0.join("own");
    fs::create_dir_all(&own).expect("a folder");
    fs::write(own.join("letters.txt"), "mine").expect("a file");
    let output = folder.run(&["press", "--into", "own"]);
    assert_eq!(output.status.code(), Some(3), "{}", err(&output));
    assert_eq!(files(&own), BTreeMap::from([("letters.txt".to_owned(), b"mine".to_vec())]));
    let leftovers: Vec<_> =
        fs::read_dir(&folder.0).expect("the folder").map(|entry| entry.expect("an entry").file_name()).collect();
    assert_eq!(leftovers.len(), 2, "content and own: {leftovers:?}");
}

#[test]
fn without_a_library_the_machine_is_told() {
    let folder = Folder::new("commands");
    let output = folder.run(&["press"]);
    assert_eq!(output.status.code(), Some(3));
    assert!(err(&output).contains("there is no library here"), "{}", err(&output));
}

#[test]
fn pair_gives_the_verdict_with_its_reasons() {
    let folder = Folder::starter("commands");
    let said = folder.run(&["pair", "cassette-11-34", "derailleur-short", "crank-50-34", "--json"]);
    assert_eq!(said.status.code(), Some(0), "0 whatever the verdict");
    let data: Value = serde_json::from_slice(&said.stdout).expect("JSON");
    assert_eq!(data["verdict"], "does not fit");
    let reasons = data["reasons"].as_array().expect("reasons");
    let largest = reasons.iter().find(|reason| reason["rule"] == "largest-sprocket").expect("the rule spoke");
    assert_eq!(largest["verdict"], "does not fit");
    let parts: Vec<&str> = largest["parts"].as_array().expect("parts").iter().filter_map(Value::as_str).collect();
    assert!(parts.contains(&"cassette-11-34") && parts.contains(&"derailleur-short"), "{parts:?}");
    assert!(largest["compared"].as_array().is_some_and(|compared| compared.len() >= 2), "{largest}");
    assert!(largest["source"].as_str().is_some_and(|source| !source.is_empty()));
    // Something that is not known is told with how to measure it.
    let said = folder.run(&["pair", "front=tyre-drawer", "front=rim-622-17-disc", "--json"]);
    let data: Value = serde_json::from_slice(&said.stdout).expect("JSON");
    assert_eq!(data["verdict"], "not known", "{data}");
    let measure =
        data["reasons"].as_array().expect("reasons").iter().filter_map(|reason| reason["measure"].as_array().cloned());
    let measure: Vec<Value> = measure.flatten().collect();
    assert!(!measure.is_empty() && measure.iter().all(|one| one["how"].as_str().is_some_and(|how| how.len() > 10)));
}

#[test]
fn pair_tells_people_the_same() {
    let folder = Folder::starter("commands");
    let said = folder.run(&["pair", "front=tyre-28", "rear=tyre-25"]);
    let text = String::from_utf8(said.stdout).expect("text");
    assert!(
        said.status.success() && text.contains("FITS, 1 notice") && text.contains("Wider tyre at the rear: notice"),
        "{text}"
    );
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    // The numbers, and on whose word, where somebody asks for them.
    let shown = folder.run(&["pair", "cassette-11-34", "derailleur-short", "crank-50-34", "--working"]);
    let shown = String::from_utf8(shown.stdout).expect("text");
    assert!(shown.contains("teeth of the largest sprocket: 34 teeth") && shown.contains("Source: "), "{shown}");
    let list = String::from_utf8(folder.run(&["pair"]).stdout).expect("text");
    assert!(list.contains("cassette-11-34") && list.contains("Rear derailleur"), "{list}");
}

/// A shelf with a fault answers nothing: the part that can't be read may be the one that was asked about.
#[test]
fn pair_stops_at_a_fault_of_the_shelf() {
    let folder = Folder::starter("commands");
    let path = folder.0.join("content/shelf/cassette.yaml");
    let text = fs::read_to_string(&path).expect("the cassettes").replacen("largest: 34 teeth", "largest: 340 teeth", 1);
    fs::write(&path, text).expect("a slip");
    let said = folder.run(&["pair", "cassette-11-34", "derailleur-short"]);
    assert_eq!(said.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&said.stderr).contains("(out-of-range)"));
}
