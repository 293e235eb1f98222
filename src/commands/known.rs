//! The formulas that the counter knows: the shop's own, then those that come with the program.
//!
//! Of a library just its folder of formulas is read, and of the bundled formulas just the one that is asked for. A file
//! of the shop's with a fault stops whatever it may be about, and is told of beside everything else.

use super::line::{Line, for_a_shell};
use super::{Exit, all_to_json, draw_all, print, refuse};
use crate::diagnostic::{Diagnostic, Source};
use crate::fault::{Fault, Severity, id};
use crate::library::files::FileProblem;
use crate::library::formula::is_replaced;
use crate::library::{Faults, ReadFormulas, read_formulas};
use crate::mechanics::bundle::{self, Card};
use crate::mechanics::formula::Formula;
use crate::text::{Mapped, count};
use rayon::prelude::*;
use std::path::Path;
use std::sync::Arc;

/// Why there is no answer.
#[derive(Debug)]
pub(super) enum Refusal {
    /// Faults of the words on the command line.
    Words(Vec<Fault>),
    /// Files of the library have faults: what may be asked about can't be read.
    Files(Faults, Vec<Arc<Source>>),
    /// The machine can't read or write something.
    Machine(FileProblem),
    /// Somebody left while being asked for this.
    Left(String),
}

impl Refusal {
    /// Says why there is no answer, and how the command ends.
    pub(super) fn tell(self, line: &Line, json: bool) -> Exit {
        match self {
            Self::Words(faults) => refuse(&faults, &line.source, json),
            Self::Files(faults, sources) if json => {
                print(&format!("{}\n", serde_json::json!({ "faults": all_to_json(&faults, &sources) })));
                Exit::Faults
            }
            Self::Files(faults, sources) => {
                draw_all(&faults, &sources);
                Exit::Faults
            }
            Self::Machine(problem) => {
                super::complain(&problem.to_string());
                Exit::Machine
            }
            Self::Left(at) => {
                eprintln!("Left at {at}: nothing was worked out.");
                Exit::Words
            }
        }
    }
}

impl From<Vec<Fault>> for Refusal {
    fn from(faults: Vec<Fault>) -> Self {
        Self::Words(faults)
    }
}

/// The formulas within reach.
#[derive(Debug)]
pub(super) struct Known {
    own: ReadFormulas,
}

impl Known {
    /// Reads the shop's own formulas: of the library that was named, or of this folder where it is one.
    ///
    /// # Errors
    /// A folder that was named and holds no library, or that can't be read.
    pub(super) fn read(library: Option<&Mapped>) -> Result<Self, FileProblem> {
        let root = Path::new(library.map_or(".", Mapped::text));
        if library.is_some() && !root.join("content").is_dir() {
            return Err(FileProblem::NoShop(root.join("content").join("shop.yaml")));
        }
        Ok(Self { own: read_formulas(root)? })
    }

    /// The formula that a word names.
    pub(super) fn formula(&self, word: &Mapped) -> Result<Formula, Refusal> {
        let name = word.text();
        if self.faults().any(|one| self.says(&one.file, name)) {
            return Err(Refusal::Files(self.own.faults.clone(), self.own.sources.clone()));
        }
        if let Some(own) = self.own.formulas.iter().find(|own| own.answers_to(name)) {
            return Ok(own.formula.clone());
        }
        if let Some(formula) = bundle::formula(name) {
            return Ok(formula?);
        }
        let ours = self.own.formulas.iter().map(|own| own.formula.id.as_str());
        let ids = ours.chain(bundle::ids().map(|(id, _)| id));
        let fault = Fault::new(id::UNKNOWN_FORMULA, word.whole(), format!("there is no formula called {name}"));
        let cure = "locknut reckon lists them; --find WORDS searches them";
        Err(Refusal::Words(vec![fault.found(name).nearest(name, ids, cure)]))
    }

    /// All formulas, those of the handbook that one of the shop's stands in for left out, by topic.
    pub(super) fn all(&self) -> Vec<Card> {
        let bundled = bundle::cards().filter(|card| !is_replaced(&self.own.formulas, &card.id));
        bundled.chain(self.own.formulas.iter().map(|own| Card::of(&own.formula))).collect()
    }

    /// The formulas that hold every word, best first: in the title, then in the question, then anywhere. Where none holds
    /// all of them, those that hold the most.
    pub(super) fn find(&self, words: &Mapped) -> Result<Vec<Card>, Vec<Fault>> {
        let is_telling = |word: &&str| !FILLERS.contains(&word.to_lowercase().as_str());
        let mut wanted: Vec<String> = words.text().split_whitespace().filter(is_telling).map(stem).collect();
        if wanted.is_empty() {
            wanted = words.text().split_whitespace().map(stem).collect();
        }
        // Signs alone are no words, and every formula would hold them.
        wanted.retain(|word| !word.is_empty());
        let mut found = if wanted.is_empty() { Vec::new() } else { self.holding(&wanted, wanted.len()) };
        let mut fewer = wanted.len();
        while found.is_empty() && fewer > 1 && fewer * 2 > wanted.len() {
            fewer -= 1;
            found = self.holding(&wanted, fewer);
        }
        if found.is_empty() {
            return Err(vec![
                Fault::new(id::NOTHING_FOUND, words.whole(), "no formula has these words")
                    .found(words.text())
                    .cure("try fewer or other words; locknut reckon alone lists every formula"),
            ]);
        }
        Ok(found)
    }

    /// The formulas that hold so many of the words, best first.
    fn holding(&self, wanted: &[String], least: usize) -> Vec<Card> {
        // Only formulas whose files hold the words at all are loaded to see where they stand.
        let may_hold = |id: &str, topic: &str| {
            let text = bundle::text(id).unwrap_or_default().to_lowercase();
            let text = format!("{} {topic} {text}", id.replace('-', " "));
            wanted.iter().filter(|word| self::may_hold(&text, word)).count() >= least
        };
        let scored = |formula: &Formula| Some((score(formula, wanted, least)?, Card::of(formula)));
        let bundled: Vec<&str> = bundle::ids()
            .filter(|(id, topic)| !is_replaced(&self.own.formulas, id) && may_hold(id, topic))
            .map(|(id, _)| id)
            .collect();
        let mut found: Vec<(usize, Card)> =
            bundled.into_par_iter().filter_map(|id| scored(&bundle::formula(id)?.ok()?)).collect();
        found.extend(self.own.formulas.iter().filter_map(|own| scored(&own.formula)));
        found.sort_by_key(|(score, _)| *score);
        found.into_iter().map(|(_, card)| card).collect()
    }

    /// The faults of the shop's own formulas, notes aside.
    fn faults(&self) -> impl Iterator<Item = &Diagnostic> {
        self.own.faults.iter().filter(|one| one.fault.severity == Severity::Fault)
    }

    fn says(&self, file: &str, name: &str) -> bool {
        self.own.sources.iter().any(|source| source.name == file && source.text.contains(name))
    }

    /// Says in a line that some of the shop's own formulas can't be used.
    pub(super) fn tell_of_faults(&self, line: &Line) {
        let mut files: Vec<&str> = self.faults().map(|one| one.file.as_str()).collect();
        files.dedup();
        if let Some(first) = files.first() {
            let library = line
                .value("--library")
                .map_or(String::new(), |text| format!(" --library {}", for_a_shell(text.text())));
            eprintln!(
                "note: {} of the shop's own can't be used, {first} first; locknut proof{library} says why",
                count(files.len(), "formula")
            );
        }
    }
}

/// Words that say nothing of what is looked for.
const FILLERS: [&str; 24] = [
    "a", "an", "and", "are", "can", "do", "does", "for", "from", "how", "i", "in", "is", "it", "me", "my", "of", "on",
    "the", "this", "to", "what", "will", "with",
];

/// Words that riders use in another form than formulas do, and that no ending gives away.
const IRREGULAR: [(&str, &str); 6] =
    [("bent", "bend"), ("broke", "break"), ("broken", "break"), ("teeth", "tooth"), ("wore", "wear"), ("worn", "wear")];

/// True where a text may hold a word in any of its forms.
fn may_hold(text: &str, wanted: &str) -> bool {
    text.contains(wanted) || IRREGULAR.iter().any(|(form, plain)| *plain == wanted && text.contains(form))
}

/// A word without the endings that only say how many or how much.
fn stem(word: &str) -> String {
    let word = word.to_lowercase();
    let word = word.trim_matches(|c: char| !c.is_alphanumeric());
    if let Some((_, plain)) = IRREGULAR.iter().find(|(form, _)| *form == word) {
        return (*plain).to_owned();
    }
    [("ing", 4), ("er", 4), ("ed", 4), ("es", 4), ("s", 3), ("e", 4)]
        .iter()
        .find_map(|(ending, least)| word.strip_suffix(ending).filter(|stem| stem.len() >= *least))
        .unwrap_or(word)
        .to_owned()
}

/// How far from the title the words stand, where so many of them are held.
fn score(formula: &Formula, wanted: &[String], least: usize) -> Option<usize> {
    let fields = [
        format!("{} {}", formula.id.replace('-', " "), formula.title),
        formula.question.clone(),
        format!(
            "{} {}",
            formula.topic,
            formula.outputs.iter().map(|output| output.about.as_str()).collect::<Vec<_>>().join(" ")
        ),
        formula.inputs.iter().map(|input| input.about.as_str()).collect::<Vec<_>>().join(" "),
    ];
    let places = wanted.iter().filter_map(|word| fields.iter().position(|field| holds(field, word)));
    let places: Vec<usize> = places.collect();
    (places.len() >= least).then(|| places.iter().sum())
}

fn holds(field: &str, wanted: &str) -> bool {
    // A chainstay is no chain; but a part of a long word finds it.
    let is_meant = |word: &str| stem(word) == wanted || (wanted.len() > 5 && word.starts_with(wanted));
    field.split(|c: char| !c.is_alphanumeric()).any(is_meant)
}

#[cfg(test)]
mod tests {
    use super::Known;
    use crate::text::Mapped;

    #[test]
    fn a_rider_s_own_words_find_the_formula() {
        let known = Known::read(None).expect("the bundled formulas");
        let found = known.find(&Mapped::verbatim("Is my chain worn?", 0)).expect("it is found");
        let found: Vec<&str> = found.iter().map(|card| card.id.as_str()).collect();
        assert_eq!(found, ["chain-gauge", "chain-wear"]);
    }
}
