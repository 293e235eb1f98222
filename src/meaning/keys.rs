//! Keys, and the words that may stand after them: told from the tables that the readers go by.

use super::{Meaning, Reach, and, once, sentence};
use crate::library::forms::{Placed, all_keys};
use crate::yaml::keys::{Holds, Keys, Need};

/// The names of all keys.
pub(super) fn names(_: &Reach) -> Vec<String> {
    once(all_keys().into_iter().map(|placed| placed.key.name.to_owned()))
}

/// The meanings of a key; places where it means the same are told together.
pub(super) fn key(_: &Reach, word: &str) -> Vec<Meaning> {
    let mut groups: Vec<Vec<Placed>> = Vec::new();
    for placed in all_keys().into_iter().filter(|placed| placed.key.name == word) {
        let same = |group: &&mut Vec<Placed>| group[0].key.about == placed.key.about;
        match groups.iter_mut().find(same) {
            Some(group) => group.push(placed),
            None => groups.push(vec![placed]),
        }
    }
    groups.iter().map(|group| of_group(group)).collect()
}

fn of_group(group: &[Placed]) -> Meaning {
    let key = group[0].key;
    let tables = once(group.iter().map(|placed| placed.table.what.to_owned()));
    let mut says = vec![key.about.to_owned(), sentence(&format!("it holds {}", key.holds.phrase()))];
    let told = key.holds.words().into_iter().filter(|(_, about)| !about.is_empty());
    says.extend(
        told.filter(|word| !is_told_elsewhere(word)).map(|(word, about)| format!("{word}: {}", sentence(about))),
    );
    says.push(needed(group));
    let used = group.iter().map(|placed| {
        let within = if placed.way.is_empty() { String::new() } else { format!(", under {}", placed.way.join(", ")) };
        format!("{}{within}", placed.form.place)
    });
    Meaning {
        word: key.name.to_owned(),
        what: format!("a key of {}", and(&tables)),
        says,
        example: key.example.lines().map(str::to_owned).collect(),
        used: once(used),
        helps: helps(&key.holds),
    }
}

/// Whether the key must be there, and where.
fn needed(group: &[Placed]) -> String {
    let ways = group[0].table.ways;
    if ways.contains(&group[0].key.name) {
        return format!(
            "Just one of {} stands there.",
            and(&ways.iter().map(|way| (*way).to_owned()).collect::<Vec<_>>())
        );
    }
    if group[0].key.need == Need::Partly {
        return "Whether it must be there hangs on another key.".to_owned();
    }
    let of = |needed: bool| {
        let tables = group.iter().filter(|placed| placed.key.is_needed() == needed);
        once(tables.map(|placed| placed.table.what.to_owned()))
    };
    match (of(true), of(false)) {
        (_, free) if free.is_empty() => "It must be there.".to_owned(),
        (needed, _) if needed.is_empty() => "It may be left out.".to_owned(),
        (needed, free) => format!("It must be there in {}; in {} it may be left out.", and(&needed), and(&free)),
    }
}

/// What helps on with a value of this sort.
fn helps(holds: &Holds) -> Vec<String> {
    let phrase = holds.phrase();
    let has = |words: &str| phrase.contains(words);
    let mut helps = Vec::new();
    if !holds.words().is_empty() {
        helps.push("locknut meaning WORD says what one of these words means");
    }
    if has("formula") || has("inputs") {
        helps.push("locknut reckon lists the formulas; locknut reckon FORMULA says what one takes and gives");
    }
    if has("part on the shelf") {
        helps.push("locknut pair lists the parts on the shelf");
    }
    if has("a unit") && !has("without a unit") {
        helps.push("locknut meaning lists the units");
    }
    if has("of a family") || has("families") {
        helps.push("locknut meaning lists the families");
    }
    if has("name of a build sheet") {
        helps.push("the names are those of the files in content/bikes, without their ending");
    }
    helps.push("locknut proof holds every file to its keys");
    helps.into_iter().map(str::to_owned).collect()
}

/// The words that may stand after keys, but for those of which another sort says more.
pub(super) fn words(_: &Reach) -> Vec<String> {
    once(
        all_keys()
            .iter()
            .flat_map(|placed| placed.key.holds.words())
            .filter(|word| !is_told_elsewhere(word))
            .map(|(word, _)| word.to_owned()),
    )
}

/// The meanings of a word after a key.
pub(super) fn word(_: &Reach, word: &str) -> Vec<Meaning> {
    let mut found: Vec<(&str, Vec<Placed>)> = Vec::new();
    for placed in all_keys() {
        let about =
            placed.key.holds.words().into_iter().filter(|word| !is_told_elsewhere(word)).find(|(own, _)| *own == word);
        let Some((_, about)) = about else { continue };
        match found.iter_mut().find(|(own, _)| *own == about) {
            Some((_, group)) => group.push(placed),
            None => found.push((about, vec![placed])),
        }
    }
    found.iter().map(|(about, group)| of_word(word, about, group)).collect()
}

fn of_word(word: &str, about: &str, group: &[Placed]) -> Meaning {
    let keys = once(group.iter().map(|placed| format!("{} in {}", placed.key.name, placed.table.what)));
    let example = match group[0].key.holds {
        Holds::List(_) => format!("{}: [{word}]", group[0].key.name),
        _ => format!("{}: {word}", group[0].key.name),
    };
    Meaning {
        word: word.to_owned(),
        what: format!("a word of {}", and(&keys)),
        says: vec![sentence(about)],
        example: vec![example],
        used: once(group.iter().map(|placed| placed.form.place.to_owned())),
        helps: vec![format!("locknut meaning {} says what the key is for", group[0].key.name)],
    }
}

/// Kinds, units, topics and hazards are sorts of their own.
fn is_told_elsewhere((word, about): &(&'static str, &'static str)) -> bool {
    let kind = crate::mechanics::units::Kind::named(word).is_some_and(|kind| kind.phrase == *about);
    let topic = crate::library::guide::TOPICS.contains(&(*word, *about));
    about.is_empty() || kind || topic
}

/// The keys of a table in a line, those that are needed said to be.
pub(super) fn line_of(keys: &Keys) -> String {
    let of = |needed: bool| {
        let names = keys
            .keys
            .iter()
            .filter(|key| key.is_needed() == needed && !keys.ways.contains(&key.name))
            .map(|key| key.name);
        names.collect::<Vec<_>>().join(", ")
    };
    let ways = if keys.ways.is_empty() { String::new() } else { format!(", and just one of {}", keys.ways.join(", ")) };
    match (of(true), of(false)) {
        (needed, free) if free.is_empty() => format!("Its keys, all needed: {needed}{ways}."),
        (needed, free) => format!("It needs {needed}{ways}. It may have {free}."),
    }
}
