//! A story in a workshop, played with the program itself: a torque is marked otherwise, and the library follows.
//!
//! Change, drift, refused press, signing, press, the revision table, no drift; then the same with a formula of the shop's own
//! and with a pairing that flips. The numbers are the story's own; what is checked is that each step says what the one
//! before it did. No source but the contract of the register.

use crate::folder::{Folder, err, flat, out, root, run_in};
use std::fs;

/// A small library with a register.
struct Workshop(Folder);

const SHOP: &str = "name: Tollgate Cycle Works\nplace: Ennismouth\nsite: https://tollgate.example/guides\nunsigned_drift: refused\nunits: {torque: N·m}\nbeside: {torque: lbf·in}\n";

const STATED: &str = "stem: {value: 5 N·m, about: face plate of the test bike, source: marked on the part, checked: 2026-04-02}\nspanner: {value: 200 mm, about: small torque spanner, source: the shop's own measurement, checked: 2026-04-02}\n";

const STEM: &str = "---
title: Tighten a stem
summary: The face plate goes to (=torque.stem).
topic: fasteners
number: FA-900
revision: A
issued: 2026-05-03
prepared_by: R. Pell
approved_by: M. Oduya
done_by: rider
---

## Tighten

To (=torque.stem), a little at a time.
";

const EXTENSION: &str = "---
title: Set a spanner with an extension
summary: The setting is lower than the mark.
topic: fasteners
number: FA-901
revision: A
issued: 2026-05-03
prepared_by: R. Pell
approved_by: M. Oduya
done_by: mechanic
---

## Set the spanner

```working
name: setting
formula: crowfoot-torque
given:
  torque: torque.stem
  wrench_length: torque.spanner
  extension: 40 mm
```

Set (=setting.setting).

```safety
warning
More than (=setting.setting) crushes the bar.
```
";

const OTHER: &str = "---
title: Nothing of the sort
summary: A sheet that rests on none of it.
topic: care
number: CA-900
revision: C
issued: 2026-05-04
prepared_by: R. Pell
approved_by: M. Oduya
done_by: rider
---

## Look

```working
name: chain
formula: chain-length
given: {chainstay: 410 mm, chainring: 50, sprocket: 34}
show: links
```

(=chain.links).
";

impl Workshop {
    fn new(name: &str) -> Self {
        let workshop = Self(Folder::new(&format!("register-{name}")));
        workshop.write("content/shop.yaml", SHOP);
        workshop.write("content/stated/torque.yaml", STATED);
        workshop.write("content/guides/fasteners/stem.md", STEM);
        workshop.write("content/guides/fasteners/extension.md", EXTENSION);
        workshop.write("content/guides/care/other.md", OTHER);
        workshop
    }

    fn write(&self, path: &str, text: &str) {
        self.0.write(path, text);
    }

    fn read(&self, path: &str) -> String {
        self.0.read(path)
    }

    /// Runs a command that must end with this status, and gives what it said.
    fn says(&self, status: i32, arguments: &[&str]) -> String {
        let output = self.0.run(arguments);
        let said = out(&output) + &err(&output);
        assert_eq!(output.status.code(), Some(status), "{arguments:?}\n{said}");
        said
    }

    /// The mark of the edition that was pressed.
    fn mark(&self) -> String {
        let said: serde_json::Value = serde_json::from_str(&self.read("pressed/edition.json")).expect("data");
        said["edition"].as_str().expect("a mark").to_owned()
    }

    fn sign(&self, on: &str, because: &str, more: &[&str]) -> String {
        let mut arguments = vec!["sign", "--by", "AB", "--on", on, "--because", because];
        arguments.extend_from_slice(more);
        self.says(0, &arguments)
    }
}

fn holds(text: &str, all: &[&str]) {
    for words in all {
        assert!(text.contains(words), "{words:?} is not in\n{text}");
    }
}

#[test]
fn a_torque_is_marked_otherwise() {
    let shop = Workshop::new("torque");
    // Nothing was ever signed, and the shop refuses that.
    holds(&shop.says(1, &["press"]), &["no figure of this library has been signed yet (unsigned-drift)"]);
    holds(
        &shop.says(2, &["sign", "--by", "AB", "--because", "first issue"]),
        &["second-initials", "FA-901 setting.setting"],
    );
    shop.sign("2026-05-05", "first issue", &["--with", "CD"]);
    holds(&shop.says(0, &["drift"]), &["Nothing differs from the signed register"]);
    shop.says(0, &["press"]);
    let (other_before, mark_before) = (shop.read("pressed/guides/care/other.html"), shop.mark());

    // Before the change: every sheet that the figure touches, also through a working, and what would break without it.
    holds(
        &shop.says(0, &["where-used", "torque.stem"]),
        &[
            "torque.stem (figure): used by 2 sheets",
            "FA-900 content/guides/fasteners/stem.md",
            "a figure in the text",
            "FA-901 content/guides/fasteners/extension.md",
            "working setting",
            "rests    setting.setting: 4.2 N·m (37 lbf·in)",
            "Take it away and the press stops until these sheets have something else: FA-901,",
        ],
    );

    shop.write("content/stated/torque.yaml", &STATED.replace("5 N·m", "6 N·m"));
    let drift = shop.says(1, &["drift"]);
    holds(
        &drift,
        &[
            "FA-900 content/guides/fasteners/stem.md",
            "  torque.stem\n    signed  5 N·m (44 lbf·in)\n    now     6 N·m (53 lbf·in)\n",
            "with the signed figure: revision A",
            "torque: 5 N·m, now 6 N·m; torque stem: 5 N·m, now 6 N·m",
            "stands under a safety notice",
            "on 2 sheets. locknut sign --by AB --with CD",
        ],
    );
    assert!(!drift.contains("CA-900"), "what rests on nothing that changed has not drifted\n{drift}");

    let before = shop.read("pressed/guides/fasteners/stem.html");
    holds(
        &shop.says(1, &["press"]),
        &["1 figure of sheet FA-900 differs from what was signed (unsigned-drift)", "nothing was pressed"],
    );
    assert_eq!(before, shop.read("pressed/guides/fasteners/stem.html"), "the last good site stays");

    // One sheet after the other; the one with the notice asks for two people.
    holds(
        &shop.sign("2026-06-01", "marked otherwise since May", &["FA-900"]),
        &["FA-900 is revision B now, 1 figure accepted"],
    );
    let alone = ["sign", "FA-901", "--by", "AB", "--because", "as the stem"];
    holds(&shop.says(2, &alone), &["figures under a safety notice are signed by two people (second-initials)"]);
    holds(&shop.sign("2026-06-02", "as the stem", &["--with", "CD", "FA-901"]), &["FA-901 is revision B now"]);
    holds(&shop.says(0, &["drift"]), &["Nothing differs from the signed register"]);
    shop.says(0, &["press"]);

    let page = flat(&shop.read("pressed/guides/fasteners/stem.html"));
    holds(
        &page,
        &[
            "<th scope=\"row\">B</th><td class=\"date\">2026-06-01</td><td>torque stem: 5 N·m (44 lbf·in), now 6 N·m (53 lbf·in). marked otherwise since May.</td><td>AB</td>",
            "<th scope=\"row\">A</th><td class=\"date\">2026-05-03</td><td>issued</td><td>R. Pell</td>",
            "<dt>Revision</dt><dd>B</dd>",
            "<dt>Date of issue</dt><dd>2026-06-01</dd>",
        ],
    );
    let other = shop.read("pressed/guides/care/other.html");
    let mark_after = shop.mark();
    assert!(mark_after.starts_with("2026-06-02-"), "the edition's day is the last signed one: {mark_after}");
    let same = other_before.replace(&mark_before, "") == other.replace(&mark_after, "");
    assert!(same, "what rests on nothing that changed has not moved");

    let front = flat(&shop.read("pressed/index.html"));
    holds(
        &front,
        &["Figures that changed", "<td>torque stem</td><td>5 N·m (44 lbf·in)</td><td>6 N·m (53 lbf·in)</td>"],
    );
    let feed = shop.read("pressed/changed-figures.atom");
    holds(
        &feed,
        &[
            "<id>tag:tollgate.example,2026-06-01:FA-900/B</id>",
            "<link rel=\"alternate\" type=\"text/html\" href=\"https://tollgate.example/guides/guides/fasteners/stem.html\"/>",
            "<updated>2026-06-02T00:00:00Z</updated>",
        ],
    );

    a_letter_is_taken(&shop);

    // A file that is renamed keeps its number, and is no drift; one that goes is.
    fs::rename(shop.0.0.join("content/guides/care/other.md"), shop.0.0.join("content/guides/care/another.md"))
        .expect("a rename");
    holds(&shop.says(0, &["drift"]), &["Nothing differs"]);
    fs::remove_file(shop.0.0.join("content/guides/care/another.md")).expect("it goes");
    holds(&shop.says(1, &["drift"]), &["CA-900 no longer pressed, was signed with 1 figure"]);
    shop.sign("2026-06-11", "nobody asks for it", &[]);
    assert!(!shop.read("content/register.yaml").contains("\"CA-900 "));

    // Signing again with nothing to sign changes no byte.
    let register = shop.read("content/register.yaml");
    holds(&shop.sign("2026-06-12", "again", &[]), &["nothing was signed"]);
    assert_eq!(register, shop.read("content/register.yaml"));
    check_yaml(&register);
}

/// The words change too, and the letter that the register gave can't be taken again.
fn a_letter_is_taken(shop: &Workshop) {
    let revised = |letter: &str| {
        let text = STEM.replace("revision: A", &format!("revision: {letter}")).replace("05-03", "06-10");
        shop.write("content/guides/fasteners/stem.md", &text);
    };
    revised("B");
    holds(&shop.says(1, &["proof"]), &["revision B is given already", "write the next letter, C"]);
    revised("C");
    shop.says(0, &["press"]);
    holds(&flat(&shop.read("pressed/guides/fasteners/stem.html")), &["<dt>Revision</dt><dd>C</dd>"]);
}

/// The register is YAML for anybody else too.
fn check_yaml(register: &str) {
    let read: serde_yaml::Value = serde_yaml::from_str(register).expect("YAML");
    assert_eq!(read["figures"]["FA-900 torque.stem"]["says"].as_str(), Some("6 N·m (53 lbf·in)"));
    assert_eq!(read["changes"].as_sequence().map(Vec::len), Some(6), "{register}");
}

/// A letter is given once, and revisions follow one another by their days too: one dated back is refused.
#[test]
fn a_letter_is_given_once() {
    let shop = Workshop::new("letters");
    shop.sign("2026-05-05", "first issue", &["--with", "CD"]);
    let mut letters = Vec::new();
    for (torque, on) in [("6 N·m", "2026-05-10"), ("7 N·m", "2026-05-10"), ("8 N·m", "2026-05-12")] {
        shop.write("content/stated/torque.yaml", &STATED.replace("value: 5 N·m", &format!("value: {torque}")));
        let register = shop.read("content/register.yaml");
        let early = ["sign", "--by", "AB", "--with", "CD", "--because", "another mark", "--on", "2026-05-02"];
        holds(&shop.says(2, &early), &["(bad-date)", "or later"]);
        assert_eq!(shop.read("content/register.yaml"), register, "nothing was written");
        let said = shop.sign(on, "another mark", &["--with", "CD"]);
        letters.push(said.split("FA-900 is revision ").nth(1).map(|rest| rest[..1].to_owned()).expect("a revision"));
    }
    assert_eq!(letters, ["B", "C", "D"]);
    holds(&shop.says(0, &["drift"]), &["Nothing differs"]);
}

/// A figure under a safety notice wants a second person, and an empty word is none.
#[test]
fn nobody_signs_for_two() {
    let shop = Workshop::new("alone");
    for with in ["", "  ", "AB"] {
        shop.says(2, &["sign", "--by", "AB", "--with", with, "--because", "first issue"]);
        assert!(!shop.0.0.join("content/register.yaml").exists(), "{with:?} signed");
    }
    shop.sign("2026-05-05", "first issue", &["--with", "CD"]);
}

const FORMULA: &str = "id: two-stays
title: Both stays
topic: fit
question: How long are both stays together?
inputs:
  - {name: stay, symbol: C, kind: length, unit: mm, range: [150, 1500], about: along the stay}
outputs:
  - {name: both, symbol: D, kind: length, unit: mm, decimals: 0, about: both stays end to end}
steps:
  - both = 2 * stay
valid: always
source: geometry
examples:
  - {given: {stay: 410 mm}, gives: {both: 820 mm}, tolerance: 0, source: worked by hand}
";

#[test]
fn a_formula_changes() {
    let shop = Workshop::new("formula");
    let page = OTHER.replace(
        "formula: chain-length\ngiven: {chainstay: 410 mm, chainring: 50, sprocket: 34}\nshow: links",
        "formula: two-stays\ngiven: {stay: 410 mm}\nshow: both",
    );
    shop.write("content/guides/care/other.md", &page.replace("(=chain.links)", "(=chain.both)"));
    shop.write("content/formulas/two-stays.yaml", FORMULA);
    shop.sign("2026-05-05", "first issue", &["--with", "CD"]);
    shop.write(
        "content/formulas/two-stays.yaml",
        &FORMULA.replace("2 * stay", "2 * stay + 4 mm").replace("820 mm", "824 mm"),
    );
    holds(&shop.says(1, &["drift"]), &["signed  820 mm", "now     824 mm", "why     formula two-stays: version "]);
    holds(&shop.says(1, &["press"]), &["1 figure of sheet CA-900 differs from what was signed"]);
    holds(&shop.sign("2026-06-01", "with the dropout", &[]), &["CA-900 is revision D now"]);
    shop.says(0, &["press"]);
    holds(&flat(&shop.read("pressed/guides/care/other.html")), &["chain both: 820 mm, now 824 mm. with the dropout."]);
    holds(&shop.says(0, &["drift"]), &["Nothing differs"]);
}

#[test]
fn a_pairing_flips() {
    let shop = Workshop::new("pairing");
    let shelf = |largest: &str| {
        format!(
            "parts:\n  cassette-wide:\n    title: Cassette, wide\n    source: marked on the part\n    checked: 2026-04-02\n    has: {{largest: {largest}, smallest: 11 teeth}}\n"
        )
    };
    shop.write("content/shelf/cassette.yaml", &shelf("28 teeth"));
    shop.write(
        "content/shelf/rear_derailleur.yaml",
        "parts:\n  derailleur-short:\n    title: Rear derailleur, short cage\n    source: the maker's sheet\n    checked: 2026-04-02\n    has: {capacity: 33 teeth, largest: 30 teeth}\n",
    );
    shop.write(
        "content/guides/care/other.md",
        &format!("{OTHER}\n```pairing\nparts: [cassette-wide, derailleur-short]\n```\n"),
    );
    shop.sign("2026-05-05", "first issue", &["--with", "CD"]);
    shop.write("content/shelf/cassette.yaml", &shelf("36 teeth"));
    let drift = shop.says(1, &["drift"]);
    holds(&drift, &["pairing cassette-wide + derailleur-short", "now     does not fit", "why     rule "]);
    shop.says(1, &["press"]);
    holds(&shop.sign("2026-06-01", "another cassette", &[]), &["CA-900 is revision D now"]);
    shop.says(0, &["press"]);
    holds(&flat(&shop.read("pressed/guides/care/other.html")), &["now does not fit. another cassette."]);
    holds(&shop.says(0, &["drift"]), &["Nothing differs"]);
}

/// The register of the library that comes with the program is that of its figures.
#[test]
fn the_starter_library_is_signed() {
    let output = run_in(root(), &["drift"]);
    assert_eq!(output.status.code(), Some(0), "{}", out(&output));
}
