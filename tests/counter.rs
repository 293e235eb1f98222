//! The counter as people use it: asked at a terminal, lent by a bike, told to a rider, kept as a draft.
//!
//! The real binary is run; where a terminal is wanted it sits at a pseudo-terminal of the test's own.

use crate::folder::{self, Folder, command, err, flat, root, run_in};
use locknut::mechanics::bundle;
use locknut::mechanics::pairing::shelf::Rules;
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use serde_json::Value;
use std::fs::{self, File};
use std::io::{Read, Write};
use std::path::Path;
use std::process::{Output, Stdio};

/// What was said, with plain spaces.
fn out(output: &Output) -> String {
    folder::out(output).replace('\u{A0}', " ")
}

/// Runs a command at a terminal of its own at which these keys are pressed; what stood on the screen, and its exit status.
fn at_a_terminal(folder: &Path, words: &[&str], keys: &[u8]) -> (String, Option<i32>) {
    let desk = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).expect("a pseudo-terminal");
    grantpt(&desk).expect("it is ours");
    unlockpt(&desk).expect("it can be opened");
    let name = ptsname(&desk, Vec::new()).expect("its name").into_string().expect("text");
    let seat = File::options().read(true).write(true).open(name).expect("the other end");
    let seat_again = || Stdio::from(seat.try_clone().expect("the same end"));
    let mut child =
        command(folder, words).stdin(seat_again()).stdout(seat_again()).stderr(seat_again()).spawn().expect("it runs");
    drop(seat);
    let mut desk = File::from(desk);
    desk.write_all(keys).expect("the keys are pressed");
    let mut screen = Vec::new();
    let mut some = [0; 4096];
    // When the last one has left the terminal, Linux ends its other side with an error.
    while let Ok(read @ 1..) = desk.read(&mut some) {
        screen.extend_from_slice(&some[..read]);
    }
    let status = child.wait().expect("it ends").code();
    (String::from_utf8_lossy(&screen).replace('\r', "").replace('\u{A0}', " "), status)
}

// ---- asked -------------------------------------------------------------------------------------------------------

#[test]
fn what_is_missing_is_asked_for_and_the_line_is_shown_to_type_again() {
    let keys = "41 mm\n410 mm +/- 2 mm\n50\n34\n4 links\n\n";
    let (screen, status) = at_a_terminal(root(), &["reckon", "chain-length"], keys.as_bytes());
    assert_eq!(status, Some(0), "{screen}");
    for part in [
        "1 of 5  Bottom bracket centre to rear axle centre",
        "150 mm to 1500 mm",
        "Chainstay is out of range.",
        "chainring = ",
        "Usual: 2 links. Enter takes it.",
        "112 links",
    ] {
        assert!(screen.contains(part), "{part} in\n{screen}");
    }
    let again = "locknut reckon chain-length 'chainstay=410 mm +/- 2 mm' chainring=50 sprocket=34 'allowance=4 links'";
    assert!(screen.contains(again), "{again} in\n{screen}");
    let words =
        ["reckon", "chain-length", "chainstay=410 mm +/- 2 mm", "chainring=50", "sprocket=34", "allowance=4 links"];
    let typed = out(&run_in(root(), &words));
    assert!(flat(&screen).contains(&flat(&typed)), "the typed line says the same:\n{typed}\nin\n{screen}");
    assert!(screen.lines().all(|line| line.chars().count() <= 80 || line.contains(again)), "{screen}");
}

#[test]
fn only_what_is_missing_is_asked_for() {
    let words = ["reckon", "tyre-drop-pressure", "--bike", "road", "wheel_load=49 kg"];
    let (screen, status) = at_a_terminal(root(), &words, b"622mm\nbike.rear_tyre.width\n\n");
    assert_eq!(status, Some(0), "{screen}");
    assert!(!screen.contains("wheel_load = "), "{screen}");
    let flat = flat(&screen);
    assert!(flat.contains("it could be road.front_tyre.width (25 mm) or road.rear_tyre.width (28 mm)"), "{screen}");
    let again = "locknut reckon tyre-drop-pressure 'wheel_load=49 kg' bead_seat_diameter=622mm tyre_width=bike.rear_tyre.width --bike road";
    assert!(flat.contains(again), "{screen}");
    // Nothing is missing: nothing is asked.
    let words = ["reckon", "chain-length", "chainstay=410mm", "chainring=50", "sprocket=34"];
    let (screen, status) = at_a_terminal(root(), &words, b"");
    assert!(status == Some(0) && !screen.contains(" = "), "{screen}");
}

#[test]
fn whoever_leaves_is_told_so_and_sees_no_figure() {
    let (screen, status) = at_a_terminal(root(), &["reckon", "chain-length"], b"410 mm\n\x04");
    assert_eq!(status, Some(2), "{screen}");
    assert!(screen.contains("Left at chainring: nothing was worked out."), "{screen}");
    assert!(!screen.contains("Worked from") && !screen.contains("The same again"), "{screen}");
}

#[test]
fn nobody_is_asked_for_data_or_in_a_pipe() {
    let (screen, status) = at_a_terminal(root(), &["reckon", "chain-length", "chainstay=410mm", "--json"], b"");
    assert!(status == Some(2) && screen.contains("\"id\":\"missing-input\""), "{screen}");
    let sheet = run_in(root(), &["reckon", "chain-length"]);
    assert!(sheet.status.success() && out(&sheet).contains("Asks for"), "{}", out(&sheet));
    let partly = run_in(root(), &["reckon", "chain-length", "chainstay=410mm"]);
    assert_eq!(partly.status.code(), Some(2));
    assert_eq!(err(&partly).matches("(missing-input)").count(), 2, "{}", err(&partly));
    assert!(out(&partly).is_empty());
}

// ---- lent --------------------------------------------------------------------------------------------------------

#[test]
fn a_bike_lends_what_it_has_and_it_is_shown() {
    let words = ["reckon", "chain-length", "--bike", "roadster", "chainring=50", "sprocket=roadster.cassette.largest"];
    let said = flat(&out(&run_in(root(), &words)));
    for part in [
        "chainstay 410 mm ± 2 mm measured on the town roadster, build sheet BS-001",
        "sprocket 34 teeth teeth of the largest sprocket, of cassette, 11 to 34",
        "links 110 links",
    ] {
        assert!(said.contains(part), "{part} in\n{said}");
    }
    let json = |words: &[&str]| -> Value {
        let output = run_in(root(), &[words, &["--json"]].concat());
        serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{}", err(&output)))
    };
    let lent = json(&words);
    assert_eq!(lent["bike"]["lent"]["chainstay"]["name"], "roadster.chainstay");
    assert!(lent["bike"]["lent"]["sprocket"].is_null(), "what is typed is not lent");
    assert_eq!(lent["inputs"]["chainstay"]["value"], 410.0);
    // What the line gives wins, and so does what the bike has over what the formula takes.
    let own = json(&[&words[..], &["chainstay=440mm"]].concat());
    assert_eq!(own["inputs"]["chainstay"]["value"], 440.0);
    assert!(own["bike"]["lent"]["chainstay"].is_null());
    let mountain = json(&["reckon", "chain-length", "--bike", "mountain", "chainring=32", "sprocket=51"]);
    assert_eq!(mountain["inputs"]["allowance"]["value"], 4.0);
    // Without a bike the shape is as ever.
    let plain = json(&["reckon", "chain-length", "chainstay=roadster.chainstay", "chainring=50", "sprocket=34"]);
    assert!(plain["bike"].is_null() && plain["inputs"]["chainstay"]["high"].as_f64() >= Some(412.0));
}

#[test]
fn where_two_could_be_meant_none_is_lent() {
    let words = ["reckon", "tyre-drop-pressure", "--bike", "road", "wheel_load=49kg", "bead_seat_diameter=622mm"];
    let output = run_in(root(), &words);
    assert_eq!(output.status.code(), Some(2));
    let said = flat(&err(&output));
    assert!(
        said.contains("of the road bike it could be road.front_tyre.width (25 mm) or road.rear_tyre.width (28 mm)"),
        "{said}"
    );
    let said = err(&run_in(
        &std::env::temp_dir(),
        &["reckon", "chain-length", "chainstay=roadster.chainstay", "chainring=50", "sprocket=34"],
    ));
    assert!(flat(&said).contains("no library is within reach"), "{said}");
    assert_eq!(run_in(&std::env::temp_dir(), &["reckon", "chain-length", "--bike", "roadster"]).status.code(), Some(3));
}

/// A name is not enough: what was measured must be a value, of the input's kind and label.
#[test]
fn only_what_is_of_the_same_kind_is_lent() {
    let folder = Folder::starter("counter");
    let lent = |measured: &str| {
        let sheet = "title: Errand bike\nnumber: BS-009\nrevision: A\nissued: 2026-05-03\nprepared_by: R. Pell\n";
        fs::write(folder.0.join("content/bikes/errand.yaml"), format!("{sheet}measured: {{{measured}}}\n"))
            .expect("a bike");
        let words =
            ["reckon", "chain-length", "--bike", "errand", "chainring=50", "sprocket=34", "chainstay=410mm", "--json"];
        let given: Vec<&str> =
            words.into_iter().filter(|word| !measured.contains(word.split('=').next().unwrap_or(word))).collect();
        let output = folder.run(&given);
        let answer: Value = serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{}", err(&output)));
        let list = answer["bike"]["lent"].as_object().map(|list| list.keys().cloned().collect::<Vec<_>>().join(" "));
        list.unwrap_or_else(|| answer["faults"][0]["id"].as_str().unwrap_or("nothing").to_owned())
    };
    assert_eq!(lent("sprocket: 34 teeth"), "sprocket");
    assert_eq!(lent("sprocket: 34"), "sprocket", "a count without its label");
    assert_eq!(lent("sprocket: 34 links"), "missing-input", "links are no teeth");
    assert_eq!(lent("sprocket: 34 %"), "missing-input");
    assert_eq!(lent("chainstay: 16 in"), "chainstay");
    assert_eq!(lent("chainstay: 410 N"), "missing-input", "a force is no length");
    assert_eq!(lent("chainstay: at most 410 mm"), "missing-input", "a limit is no measurement");
    assert_eq!(lent("chainstay: 41 mm"), "out-of-range");
    assert_eq!(lent("chainstays: 410 mm"), "missing-input", "nearly the name is not the name");
}

/// Every input that a part of a bike may lend, read by a mechanic: the attribute measures what the input asks for. A new
/// formula or attribute that makes another comes onto this list, or gets another name.
#[test]
fn what_parts_lend_was_looked_at() {
    let looked_at = [
        "charge-time charger_current",
        "charge-time charger_voltage",
        "crank-forces crank_length",
        "ground-clearance crank_length",
        "toe-overlap crank_length",
        "trail fork_offset",
    ];
    let mut lent = Vec::new();
    for (id, _) in bundle::ids() {
        let formula = bundle::formula(id).expect("it is there").expect("it is sound");
        for input in &formula.inputs {
            let families = Rules::bundled().families.iter();
            let names = families.flat_map(|family| {
                let ends: &[&str] = if family.places { &["front_", "rear_"] } else { &[""] };
                let numbers = family.attributes.iter().filter(|attribute| !attribute.many);
                let numbers = numbers.filter_map(|attribute| Some((attribute, attribute.number()?)));
                let own = numbers.filter(|(_, number)| number.kind.name == input.kind.name);
                own.flat_map(move |(attribute, _)| {
                    ends.iter().map(move |end| format!("{end}{}_{}", family.id, attribute.name))
                })
            });
            if names.into_iter().any(|name| name == input.name) {
                lent.push(format!("{id} {}", input.name));
            }
        }
    }
    lent.sort();
    assert_eq!(lent, looked_at);
}

// ---- told to a rider ---------------------------------------------------------------------------------------------

#[test]
fn a_reply_says_what_a_rider_needs_in_one_paragraph() {
    let words = ["reckon", "chain-length", "--bike", "roadster", "chainring=50", "sprocket=34", "--reply"];
    let said = out(&run_in(root(), &words));
    assert_eq!(said.lines().count(), 1);
    for part in [
        "410 mm, give or take 2 mm (measured on the town roadster, build sheet BS-001)",
        "the answer is 110 links (55 pairs)",
        "Anywhere within those tolerances it stays the same.",
        "Check on the bike: the cage keeps a bend",
        "before cutting",
        "Our guide DT-014, Size a chain after changing the chainring (https://tollgate.example/guides/guides/drivetrain/chain-after-chainring.html)",
        "The marking on the part",
        "Ring before you come",
        "Tollgate Cycle Works, Ennismouth, 01632 960 188.",
    ] {
        assert!(said.contains(part), "{part} in\n{said}");
    }
    assert!(!said.contains(['*', '<', '`', '#', '!', '±']), "no markup, nothing shouted:\n{said}");
    // In the shop's units, and no more sure than it is; without a library no shop speaks.
    let words = [
        "reckon",
        "tyre-drop-pressure",
        "wheel_load=49 kg ± 1 kg",
        "bead_seat_diameter=622mm",
        "tyre_width=37 mm ± 1 mm",
        "--reply",
    ];
    let said = out(&run_in(root(), &words));
    for part in
        ["3.4 bar (49 psi)", "It can be anything from ", "Most of that comes from tyre width.", "Never above the lower"]
    {
        assert!(said.contains(part), "{part} in\n{said}");
    }
    let alone = out(&run_in(&std::env::temp_dir(), &words));
    assert!(alone.contains("3.4 bar") && !alone.contains("psi") && !alone.contains("Tollgate"), "{alone}");
}

#[test]
fn a_reply_about_parts_says_why_and_what_to_find_out() {
    let said = out(&run_in(root(), &["pair", "cassette-11-34", "derailleur-short", "crank-50-34", "--reply"]));
    for part in
        ["these do not go together", "28 teeth", "Our guide DT-022", "The marking on the part", "Tollgate Cycle Works"]
    {
        assert!(said.contains(part), "{part} in\n{said}");
    }
    let said = out(&run_in(root(), &["pair", "front=tyre-drawer", "front=rim-622-17-disc", "--reply"]));
    assert!(said.contains("is not known yet") && said.contains("Find out whether the tyre"), "{said}");
    let said = out(&run_in(root(), &["pair", "front=tyre-61-622-mountain", "front=rim-622-30-hookless", "--reply"]));
    assert!(said.contains("2.5 bar (36 psi)") && !said.contains(" ± "), "{said}");
}

#[test]
fn the_counter_shows_the_units_that_the_sheets_show() {
    let said = flat(&out(&run_in(root(), &["pair", "front=tyre-61-622-mountain", "front=rim-622-30-hookless"])));
    assert!(said.contains("2.5 bar (36 psi)"), "{said}");
    let words = ["reckon", "bolt-preload", "torque=5 N·m", "diameter=5mm", "pitch=0.8mm"];
    assert!(flat(&out(&run_in(root(), &words))).contains("torque 5 N·m (44 lbf·in)"));
    assert!(!out(&run_in(&std::env::temp_dir(), &words)).contains("lbf"), "without a library as the formula has it");
}

// ---- kept as a draft ---------------------------------------------------------------------------------------------

/// Every formula's first example saved: all of the library proofs without a fault, and with no note but that nobody has approved
/// these pages.
#[test]
fn each_formula_saves_a_draft_that_proofs_clean() {
    let folder = Folder::starter("counter");
    let mut saved = 0;
    for (id, _) in bundle::ids() {
        let formula = bundle::formula(id).expect("it is there").expect("it is sound");
        let example = formula.examples.first().expect("an example");
        let given: Vec<String> = example.given.iter().map(|(name, text)| format!("{name}={}", text.text())).collect();
        let name = format!("case-{id}");
        let mut words = vec!["reckon", id];
        words.extend(given.iter().map(String::as_str));
        words.extend(["--save", &name, "--by", "R. Pell", "--on", "2026-05-03"]);
        let output = folder.run(&words);
        assert!(output.status.success(), "{id}: {}", err(&output));
        assert!(err(&output).contains(&format!("Saved as content/replies/{name}.md")), "{}", err(&output));
        saved += 1;
    }
    let told = proof(&folder, "2026-05-03");
    let drafts = told.iter().filter(|id| *id == "not-approved").count();
    assert_eq!(drafts, saved, "each is a draft: {told:?}");
}

/// The ids of what a proof says, but for figures that nobody has signed yet; a fault or another note is drawn where the test
/// fails.
fn proof(folder: &Folder, on: &str) -> Vec<String> {
    let proof = folder.run(&["proof", "--on", on, "--json"]);
    let proof: Value = serde_json::from_slice(&proof.stdout).expect("JSON");
    // Notes about the rest of the starter library are none of a draft's.
    let is_ours = |one: &&Value| {
        one["severity"] == "fault" || one["file"].as_str().is_some_and(|file| file.starts_with("content/replies/"))
    };
    let told =
        proof["faults"].as_array().expect("faults").iter().filter(is_ours).filter(|one| one["id"] != "unsigned-drift");
    let id = |one: &Value| {
        assert_eq!(one["id"], "not-approved", "{one:#}");
        one["id"].as_str().unwrap_or_default().to_owned()
    };
    told.map(id).collect()
}

#[test]
fn a_draft_follows_the_bike_and_its_number_is_free() {
    let folder = Folder::starter("counter");
    let words = ["reckon", "chain-length", "--bike", "roadster", "chainring=50", "sprocket=bike.cassette.largest"];
    let save = ["--save", "longer-chain", "--by", "R. Pell", "--on", "2026-11-26"];
    let output = folder.run(&[&words[..], &save].concat());
    assert!(output.status.success() && out(&output).contains("110 links"), "{}", err(&output));
    let page = folder.read("content/replies/longer-chain.md");
    let number = |page: &str| -> Option<u32> {
        page.lines().find_map(|line| line.strip_prefix("number: RP-")).and_then(|number| number.parse().ok())
    };
    let first = number(&page).expect("a number");
    let replies = fs::read_dir(root().join("content/replies")).expect("the replies");
    let pages = replies.map(|entry| fs::read_to_string(entry.expect("an entry").path()).expect("a page"));
    assert_eq!(Some(first - 1), pages.filter_map(|page| number(&page)).max(), "the next free number");
    for part in [
        "issued: 2026-11-26\n",
        "bike: roadster\n",
        "  chainstay: roadster.chainstay\n",
        "  sprocket: bike.cassette.largest\n",
        "formula: chain-length\n",
        "hazards: [drivetrain]\n",
    ] {
        assert!(page.contains(part), "{part} in\n{page}");
    }
    assert!(!page.contains("approved_by"), "{page}");
    // Once more is refused, and what is there stays.
    let again = folder.run(&[&words[..], &save].concat());
    assert!(again.status.code() == Some(2) && err(&again).contains("(file-taken)") && out(&again).is_empty());
    assert_eq!(folder.read("content/replies/longer-chain.md"), page);
    // Where a limit speaks, the first sentence says so, and each figure says what it is.
    let soft = ["reckon", "tyre-drop-pressure", "wheel_load=75kg", "bead_seat_diameter=622mm", "tyre_width=25mm"];
    let output = folder.run(&[&soft[..], &["--save", "soft", "--by", "R. Pell"]].concat());
    assert!(output.status.success(), "{}", err(&output));
    let page = folder.read("content/replies/soft.md");
    assert!(
        page.contains("summary: \"Gauge pressure to start from (=answer.pressure); most that a hookless rim may hold"),
        "{page}"
    );
    assert!(page.contains("Mind what is said of its limits below."), "{page}");
    let pair = ["pair", "front=tyre-25", "rear=tyre-28", "--save", "wider-behind", "--by", "S. Brandt", "--json"];
    let output = folder.run(&pair);
    let data: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let third = format!("RP-{:03}", first + 2);
    assert_eq!((data["saved"]["number"].as_str(), data["verdict"].as_str()), (Some(third.as_str()), Some("fits")));
    assert!(
        folder.read("content/replies/wider-behind.md").contains("parts: [front tyre-25, rear tyre-28]\nclaim: fits\n")
    );
    for parts in
        [&["front=tyre-drawer", "front=rim-622-17-disc"][..], &["cassette-11-34", "derailleur-short", "crank-50-34"]]
    {
        let save = ["--save", parts[1].split('=').next_back().expect("a name"), "--by", "R. Pell"];
        let output = folder.run(&[&["pair"], parts, &save].concat());
        assert!(output.status.success(), "{}", err(&output));
    }
    // Approved as they are, they can be pressed.
    for entry in fs::read_dir(folder.0.join("content/replies")).expect("the folder") {
        let path = entry.expect("an entry").path();
        let text = fs::read_to_string(&path).expect("a page");
        if !text.contains("approved_by") {
            fs::write(&path, text.replacen("revision: A\n", "revision: A\napproved_by: M. Oduya\n", 1))
                .expect("it is approved");
        }
    }
    assert!(proof(&folder, "2026-11-26").is_empty());
}

#[test]
fn at_a_terminal_the_name_on_the_draft_is_asked_for() {
    let folder = Folder::starter("counter");
    let words = ["reckon", "chain-wear", "measured=306mm", "links=24", "--save", "stretched"];
    let (screen, status) = at_a_terminal(&folder.0, &words, b"T. Okafor\n");
    assert_eq!(status, Some(0), "{screen}");
    assert!(folder.read("content/replies/stretched.md").contains("prepared_by: \"T. Okafor\"\n"));
    let (screen, status) =
        at_a_terminal(&folder.0, &["reckon", "chain-wear", "measured=306mm", "links=24", "--save", "other"], b"\x04");
    assert!(status == Some(2) && screen.contains("Left at prepared_by"), "{screen}");
    assert!(!folder.0.join("content/replies/other.md").exists());
}
