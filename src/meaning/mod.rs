//! What a word means: every key, block, formula, kind, unit, family, attribute, rule, drawing, hazard, topic, function,
//! command and fault, told from the tables by which the program itself goes.
//!
//! A word in, all its meanings out; nothing is kept here that a table elsewhere says. Which words there are of each
//! sort is in [`SORTS`], one row a sort; `text` and `data` set what was found. What a library adds (formulas, families
//! and rules of its own) is read only where a sort asks for it.

/// Drawings, and what they take.
mod drawings;
/// Formulas, their inputs and results, kinds, units and functions.
mod engine;
/// Keys, and the words that may stand after them.
mod keys;
/// Families of parts, their attributes and rules.
mod parts;
/// Meanings for people.
mod text;
/// Blocks, hazards, topics, commands and faults.
mod words;

pub use text::{overview, text};

use crate::drawing::Drawings;
use crate::library::formula::OwnFormula;
use crate::library::{read_formulas, read_shelf};
use crate::mechanics::pairing::shelf::Rules;
use serde_json::{Value, json};
use std::borrow::Cow;
use std::cell::OnceCell;
use std::path::{Path, PathBuf};

/// One meaning of a word.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Meaning {
    /// The word as it is written.
    pub word: String,
    /// What it is: `a key of a guide's front matter`.
    pub what: String,
    /// What it means, in paragraphs.
    pub says: Vec<String>,
    /// Lines that are right.
    pub example: Vec<String>,
    /// Where it is used, a line each.
    pub used: Vec<String>,
    /// What helps on, a line each.
    pub helps: Vec<String>,
}

/// A sort of words.
#[derive(Debug)]
pub struct Sort {
    /// What such words are called together: `kinds`.
    pub name: &'static str,
    /// What they are, in a line.
    pub about: &'static str,
    /// All of them.
    pub words: fn(&Reach) -> Vec<String>,
    /// The meanings that a word has in it.
    pub find: fn(&Reach, &str) -> Vec<Meaning>,
}

/// Every sort, in the order in which meanings are told.
pub const SORTS: &[Sort] = &[
    Sort { name: "commands", about: "what stands after locknut", words: words::commands, find: words::command },
    Sort { name: "keys", about: "what stands before a colon", words: keys::names, find: keys::key },
    Sort { name: "words", about: "what stands after some keys", words: keys::words, find: keys::word },
    Sort { name: "blocks", about: "what stands after three back-ticks", words: words::blocks, find: words::block },
    Sort { name: "formulas", about: "what reckon works", words: engine::formulas, find: engine::formula },
    Sort { name: "inputs", about: "what formulas take and give", words: engine::values, find: engine::value },
    Sort { name: "kinds", about: "what a figure measures", words: engine::kinds, find: engine::kind },
    Sort { name: "units", about: "what stands after a number", words: engine::units, find: engine::unit },
    Sort { name: "functions", about: "what stands in a sum", words: engine::functions, find: engine::function },
    Sort { name: "families", about: "sorts of parts", words: parts::families, find: parts::family },
    Sort { name: "attributes", about: "what is known of a part", words: parts::attributes, find: parts::attribute },
    Sort { name: "rules", about: "what decides whether parts fit", words: parts::rules, find: parts::rule },
    Sort { name: "drawings", about: "what a page can show", words: drawings::drawings, find: drawings::drawing },
    Sort { name: "hazards", about: "what brings a caution", words: words::hazards, find: words::hazard },
    Sort { name: "topics", about: "under which sheets are listed", words: words::topics, find: words::topic },
    Sort { name: "faults", about: "what stands in brackets after a fault", words: words::faults, find: words::fault },
];

/// What words can be looked up in besides the program's own tables: a library, read as far as a sort asks.
#[derive(Debug, Default)]
pub struct Reach {
    root: PathBuf,
    formulas: OnceCell<Vec<OwnFormula>>,
    rules: OnceCell<Cow<'static, Rules>>,
    drawings: OnceCell<Drawings>,
}

impl Reach {
    /// A library's folder, or any folder: what can't be read there is left out, since `proof` tells of it.
    #[must_use]
    pub fn of(root: PathBuf) -> Self {
        Self { root, ..Self::default() }
    }

    /// The folder.
    #[must_use]
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// The names of what a formula takes; none where there is no such formula.
    #[must_use]
    pub fn inputs_of(&self, formula: &str) -> Vec<String> {
        engine::inputs_of(self, formula)
    }

    /// The shop's own formulas.
    fn formulas(&self) -> &[OwnFormula] {
        self.formulas.get_or_init(|| read_formulas(&self.root).map(|read| read.formulas).unwrap_or_default())
    }

    /// The families and rules, with those of the shop.
    fn rules(&self) -> &Rules {
        self.rules.get_or_init(|| match read_shelf(&self.root) {
            Ok(read) => read.shelf.rules,
            Err(_) => Cow::Borrowed(Rules::bundled()),
        })
    }

    /// The drawings, the shop's own among them.
    fn drawings(&self) -> &Drawings {
        self.drawings.get_or_init(|| Drawings::of(&self.root).map(|(drawings, _)| drawings).unwrap_or_default())
    }

    /// All meanings of a word, in the order of the sorts. Capitals count, since they tell units apart; where no sort has
    /// the word as it is written, they don't.
    #[must_use]
    pub fn meanings(&self, word: &str) -> Vec<Meaning> {
        let find = |word: &str| SORTS.iter().flat_map(|sort| (sort.find)(self, word)).collect::<Vec<_>>();
        let found = find(word);
        if !found.is_empty() {
            return found;
        }
        let alike = |other: &String| other.to_lowercase() == word.to_lowercase();
        self.all_words().iter().find(|other| alike(other)).map(|other| find(other)).unwrap_or_default()
    }

    /// Every word that has a meaning.
    #[must_use]
    pub fn all_words(&self) -> Vec<String> {
        SORTS.iter().flat_map(|sort| (sort.words)(self)).collect()
    }
}

/// The meanings of a word as data.
#[must_use]
pub fn data(word: &str, meanings: &[Meaning]) -> Value {
    let one = |meaning: &Meaning| {
        let Meaning { word, what, says, example, used, helps } = meaning;
        json!({"word": word, "what": what, "says": says, "example": example.join("\n"), "used": used, "helps": helps})
    };
    json!({"word": word, "meanings": meanings.iter().map(one).collect::<Vec<_>>()})
}

/// A sentence with a capital and a full stop, from words that have neither.
fn sentence(text: &str) -> String {
    let text = crate::text::capital(text.trim());
    if text.ends_with(['.', '?', '!']) { text } else { format!("{text}.") }
}

/// Words once each, in the order in which they came.
fn once(words: impl IntoIterator<Item = String>) -> Vec<String> {
    let mut seen = std::collections::HashSet::new();
    words.into_iter().filter(|word| seen.insert(word.clone())).collect()
}

/// A list in words: `a, b and c`.
fn and(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// A list of which only the first are told.
fn some_of(words: &[String], most: usize) -> String {
    if words.len() <= most {
        return and(words);
    }
    format!("{} and {} more", words[..most].join(", "), words.len() - most)
}
