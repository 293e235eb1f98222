//! Commands, blocks, hazards, topics and faults.

use super::{Meaning, Reach, keys};
use crate::bundled::MISTAKES;
use crate::commands::overview::COMMANDS;
use crate::fault::id;
use crate::library::block::{LANGUAGES, SIGNALS, WORDS};
use crate::library::guide::TOPICS;
use crate::library::hazards::HAZARDS;
use crate::mechanics::bundle;
use crate::text::count;

pub(super) fn commands(_: &Reach) -> Vec<String> {
    COMMANDS.iter().map(|command| command.name.to_owned()).collect()
}

pub(super) fn command(_: &Reach, word: &str) -> Vec<Meaning> {
    let found = COMMANDS.iter().filter(|command| command.name == word);
    let meaning = found.map(|command| Meaning {
        word: command.name.to_owned(),
        what: "a command".to_owned(),
        says: vec![super::sentence(command.about)],
        example: vec![command.form()],
        used: Vec::new(),
        helps: vec![format!("locknut {} --help lists its options", command.name)],
    });
    meaning.collect()
}

pub(super) fn blocks(_: &Reach) -> Vec<String> {
    let words = WORDS.iter().map(|block| block.word);
    words.chain(LANGUAGES.iter().chain(&SIGNALS).map(|(word, _)| *word)).map(str::to_owned).collect()
}

const PAGES: &str = "the body of a guide or a reply";

pub(super) fn block(_: &Reach, word: &str) -> Vec<Meaning> {
    let blocks = WORDS.iter().filter(|block| block.word == word).map(|block| Meaning {
        word: word.to_owned(),
        what: "a block".to_owned(),
        says: [Some(block.about.to_owned()), block.keys.map(keys::line_of)].into_iter().flatten().collect(),
        example: fence(word, block.example),
        used: vec![PAGES.to_owned()],
        helps: match word {
            "working" | "sweep" => vec!["locknut reckon lists the formulas, and what each takes and gives".to_owned()],
            "pairing" | "fit-table" => vec!["locknut pair asks the same rules at the counter".to_owned()],
            _ => vec!["locknut proof tries every block of every page".to_owned()],
        },
    });
    let languages = LANGUAGES.iter().filter(|(known, _)| *known == word).map(|(_, about)| Meaning {
        word: word.to_owned(),
        what: "a word after three back-ticks for lines that are shown as they are".to_owned(),
        says: vec![super::sentence(about)],
        example: fence(word, "name: Tollgate Cycle Works"),
        used: vec![PAGES.to_owned()],
        helps: Vec::new(),
    });
    let signals = SIGNALS.iter().filter(|(known, _)| *known == word).map(|(_, about)| Meaning {
        word: word.to_owned(),
        what: "a signal word of a safety notice (ANSI Z535)".to_owned(),
        says: vec![super::sentence(about)],
        example: fence("safety", &format!("{word}\nKeep fingers out of a turning chain.")),
        used: vec!["the first line of a safety block".to_owned()],
        helps: Vec::new(),
    });
    blocks.chain(languages).chain(signals).collect()
}

/// A block as it stands on a page.
fn fence(word: &str, body: &str) -> Vec<String> {
    let lines = body.lines().map(str::to_owned);
    std::iter::once(format!("```{word}")).chain(lines).chain(["```".to_owned()]).collect()
}

pub(super) fn hazards(_: &Reach) -> Vec<String> {
    HAZARDS.iter().map(|(name, _)| (*name).to_owned()).collect()
}

pub(super) fn hazard(_: &Reach, word: &str) -> Vec<Meaning> {
    let found = HAZARDS.iter().filter(|(name, _)| *name == word);
    let meaning = found.map(|(name, cautions)| Meaning {
        word: (*name).to_owned(),
        what: "a hazard".to_owned(),
        says: std::iter::once("It brings to the sheet, without being asked:".to_owned())
            .chain(cautions.iter().map(|caution| (*caution).to_owned()))
            .collect(),
        example: vec![format!("hazards: [{name}]")],
        used: vec!["the key hazards of guides, replies and fault-finding charts".to_owned()],
        helps: vec!["locknut meaning safety says how a notice of your own is written".to_owned()],
    });
    meaning.collect()
}

pub(super) fn topics(_: &Reach) -> Vec<String> {
    TOPICS.iter().map(|(name, _)| (*name).to_owned()).collect()
}

pub(super) fn topic(_: &Reach, word: &str) -> Vec<Meaning> {
    let found = TOPICS.iter().filter(|(name, _)| *name == word);
    let meaning = found.map(|(name, title)| {
        let formulas = bundle::ids().filter(|(_, topic)| topic == name).count();
        Meaning {
            word: (*name).to_owned(),
            what: "a topic".to_owned(),
            says: vec![
                format!("Sheets of this topic are listed under {title}. Its guides stand in content/guides/{name}."),
                format!(
                    "{} that come with the program belong to it.",
                    super::sentence(&count(formulas, "formula")).trim_end_matches('.')
                ),
            ],
            example: vec![format!("topic: {name}")],
            used: vec!["the key topic of guides, replies, fault-finding charts, formulas and rules".to_owned()],
            helps: vec![format!("locknut begin guide {name} NAME starts a guide with the next free number")],
        }
    });
    meaning.collect()
}

pub(super) fn faults(_: &Reach) -> Vec<String> {
    id::ALL.iter().map(|(id, ..)| (*id).to_owned()).collect()
}

pub(super) fn fault(_: &Reach, word: &str) -> Vec<Meaning> {
    let found = id::ALL.iter().zip(id::TOLD).filter(|((id, ..), _)| *id == word);
    let meaning = found.map(|((id, stage, meaning), (_, how, mend))| Meaning {
        word: (*id).to_owned(),
        what: format!("a fault, found {}", when(stage)),
        says: vec![(*meaning).to_owned(), format!("How it comes about: {how}"), format!("What to do: {mend}")],
        example: shown(id),
        used: Vec::new(),
        helps: vec![match *stage {
            "command" => "the command with --help says how it is used".to_owned(),
            _ => "locknut proof tells of every fault in one run".to_owned(),
        }],
    });
    meaning.collect()
}

/// The fault as it is drawn for a mistake that the tests try; that of its own name where there is one.
fn shown(id: &str) -> Vec<String> {
    let told = MISTAKES.iter().filter_map(|(path, bytes)| Some((*path, std::str::from_utf8(bytes).ok()?)));
    let holding: Vec<(&str, &str)> = told.filter(|(_, text)| text.contains(&format!("({id})"))).collect();
    let of_its_name = holding.iter().find(|(path, _)| path.ends_with(&format!("/{id}.txt")));
    let Some((_, text)) = of_its_name.or(holding.first()) else { return Vec::new() };
    let lines = text.lines().skip_while(|line| !line.contains(&format!("({id})")));
    // A fault ends where the next one begins, which is not set in.
    let mut lines = lines.enumerate().take_while(|(place, line)| *place == 0 || line.starts_with(' '));
    lines.by_ref().map(|(_, line)| line.to_owned()).take(MOST_LINES).collect()
}

/// More lines of one fault are cut off.
const MOST_LINES: usize = 14;

/// The stage at which a fault is found, in words.
fn when(stage: &str) -> &'static str {
    match stage {
        "read" => "when files are read",
        "parse" => "when what stands in them is taken apart",
        "evaluate" => "when figures are worked and names looked up",
        "set" => "when a sheet is set",
        "press" => "when the site is pressed",
        _ => "on the command line",
    }
}
