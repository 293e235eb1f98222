//! What `meaning` tells is true: every word of every sort is explained, every example of a table of keys is read by the
//! very reader that goes by the table, and every block's example is worked.

use crate::folder::{Folder, root};
use locknut::evaluate::Drafts;
use locknut::fault::id;
use locknut::library::block::WORDS;
use locknut::library::date::Date;
use locknut::library::forms::{FORMS, Form, all_keys};
use locknut::meaning::{Reach, SORTS, text};
use locknut::press;
use locknut::text::Mapped;
use locknut::yaml::keys::{Holds, Keys};
use locknut::{library, yaml};

#[test]
fn every_word_is_explained() {
    let reach = Reach::of(root().to_owned());
    let mut told = 0;
    for sort in SORTS {
        for word in (sort.words)(&reach) {
            let found = (sort.find)(&reach, &word);
            assert!(!found.is_empty(), "{} {word} has no meaning", sort.name);
            for meaning in &found {
                assert!(!meaning.says.is_empty() && !meaning.what.is_empty(), "{word}: {meaning:?}");
                assert!(meaning.says.iter().all(|said| said.ends_with(['.', '?', ':'])), "{word}: {:?}", meaning.says);
            }
            let wide =
                text(&found, 80).lines().filter(|line| !line.starts_with("    ")).any(|line| line.chars().count() > 80);
            assert!(!wide, "{word} is told in lines that are too wide");
            told += found.len();
        }
    }
    println!("{told} meanings");
}

#[test]
fn every_fault_is_shown() {
    let reach = Reach::default();
    for (id, ..) in id::ALL {
        let found = reach.meanings(id);
        let shown = found.iter().any(|meaning| meaning.example.iter().any(|line| line.contains(&format!("({id})"))));
        assert!(shown, "{id} is told without an example");
    }
}

#[test]
fn capitals_are_forgiven_where_nothing_else_has_the_word() {
    let reach = Reach::default();
    assert_eq!(reach.meanings("Hazards")[0].word, "hazards");
    assert_eq!(reach.meanings("MPa")[0].example, ["1 MPa = 10 bar"]);
}

#[test]
fn every_row_has_its_sentence_and_a_line_of_its_own() {
    for placed in all_keys() {
        let (table, key) = (placed.table.what, placed.key);
        assert!(key.about.ends_with('.'), "{table}: {}", key.name);
        let node = yaml::parse(&Mapped::verbatim(key.example, 0)).expect("an example that can be read");
        let keys: Vec<&str> = node.as_map().expect("a key").iter().map(|entry| entry.key.value.as_str()).collect();
        assert_eq!(keys, [key.name], "{table}: {}", key.example);
    }
}

/// All lines of a table's examples together; of keys that exclude each other the first, without what belongs to others.
fn lines(keys: &Keys) -> String {
    let others = ["equation", "unit", "decimals", "go_on", "bring_it_in"];
    let skipped = |name: &str| !keys.ways.is_empty() && others.contains(&name);
    // What needs another library, or a formula that is replaced, is tried elsewhere.
    let elsewhere = ["replaces", "family", "rules", "apart", "tables"];
    keys.keys
        .iter()
        .filter(|key| !skipped(key.name) && !elsewhere.contains(&key.name))
        .map(|key| format!("{}\n", key.example))
        .collect()
}

fn keys_of(name: &str) -> &'static Keys {
    let form: &Form = FORMS.iter().find(|form| form.name == name).expect("a form");
    form.holds.tables()[0]
}

#[test]
fn examples_are_read_by_the_readers_of_their_tables() {
    let folder = Folder::starter("meaning");
    let indented = |text: &str| text.lines().map(|line| format!("  {line}\n")).collect::<String>();
    folder.write("content/shop.yaml", lines(keys_of("shop")));
    folder.write("content/stated/sample.yaml", format!("stem:\n{}", indented(&lines(keys_of("stated")))));
    folder.write("content/bikes/sample_bike.yaml", lines(keys_of("bike")).replace("BS-001", "BS-901"));
    folder.write("content/faults/sample.yaml", lines(keys_of("chart")).replace("FC-001", "FC-901"));
    folder.write("content/formulas/sample.yaml", lines(keys_of("formula")));
    folder.write("content/shelf/cassette.yaml", lines(keys_of("shelf")).replace("capacity:", "largest:"));
    let page = |name: &str, number: &str| format!("---\n{}---\n", lines(keys_of(name)).replace("DT-014", number));
    folder.write("content/guides/drivetrain/sample.md", page("guide", "DT-901"));
    folder.write("content/replies/sample.md", page("reply", "DT-902").replace("longer-chain", "longer-chain-too"));
    let blocks = FORMS.iter().filter(|form| form.place.contains("block"));
    let blocks: String = blocks.map(|form| format!("\n```{}\n{}```\n", form.name, lines(keys_of(form.name)))).collect();
    folder.write(
        "content/guides/drivetrain/blocks.md",
        format!("{}\n{blocks}", page("guide", "DT-903").replace("longer-chain", "other-chain")),
    );
    let read = library::read(&folder.0).expect("it can be read");
    let ours = ["sample", "shop.yaml", "blocks", "cassette.yaml"];
    let wrong: Vec<String> = read
        .faults
        .iter()
        .filter(|one| ours.iter().any(|name| one.file.contains(name)))
        .map(|one| format!("{}: {} ({}) {:?}", one.file, one.fault.message, one.fault.id, one.fault.found))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_block_that_is_shown_is_worked() {
    let folder = Folder::starter("meaning");
    let front = "---\ntitle: Blocks\nsummary: Every block as it is shown.\ntopic: drivetrain\nnumber: DT-901\nrevision: A\n\
                 issued: 2026-05-03\nprepared_by: R. Pell\ndone_by: rider\n---\n";
    let blocks: String = WORDS.iter().map(|block| format!("\n```{}\n{}\n```\n", block.word, block.example)).collect();
    folder.write("content/guides/drivetrain/blocks.md", format!("{front}{blocks}"));
    let proof = press::proof(&folder.0, Drafts::Proved, Date::parse("2026-11-26")).expect("it can be read");
    let said: Vec<String> = proof.faults.iter().map(|one| format!("{}: {}", one.file, one.fault.message)).collect();
    assert!(!proof.has_faults(), "{}", said.join("\n"));
}

#[test]
fn a_reader_refuses_what_its_table_lacks() {
    let front = lines(keys_of("guide"));
    for key in keys_of("guide").keys.iter().filter(|key| key.is_needed()) {
        let without: String = front.replace(&format!("{}\n", key.example), "");
        let folder = Folder::starter("meaning");
        folder.write("content/guides/drivetrain/sample.md", format!("---\n{without}---\n"));
        let read = library::read(&folder.0).expect("it can be read");
        let told =
            read.faults.iter().any(|one| one.fault.id == id::MISSING_KEY && one.fault.message.starts_with(key.name));
        assert!(told, "{} can be left out, and its row says that it can't", key.name);
    }
    assert!(matches!(keys_of("guide").key("hazards").map(|key| key.holds), Some(Holds::List(_))));
}
