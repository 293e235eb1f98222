//! The workshop's other words for the same thing, read from lines of plain text.
//!
//! One group a line, phrases parted by commas; every phrase of a group stands for every other. `#` begins a note. The
//! lines come with the program; a shop has no need to write them. Which word of a question they meet is for `finder.js`.

use std::fmt;

/// Groups of phrases that mean the same to a rider.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Synonyms {
    groups: Vec<Vec<String>>,
}

/// What is wrong with the lines, and in which (the first is 1).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SynonymsProblem {
    /// The line.
    pub line: usize,
    /// What is wrong with it.
    pub what: String,
}

impl fmt::Display for SynonymsProblem {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "line {}: {}", self.line, self.what)
    }
}

impl Synonyms {
    /// The groups that come with the program.
    ///
    /// # Panics
    /// Where the bundled lines are at fault, which a test forbids.
    #[must_use]
    pub fn bundled() -> Self {
        Self::parse(include_str!("synonyms.txt")).expect("the bundled lines are tried by a test")
    }

    /// Reads groups from text.
    ///
    /// # Errors
    /// A group of one phrase, an empty phrase, a phrase twice in a group, or two groups that are the same.
    pub fn parse(text: &str) -> Result<Self, SynonymsProblem> {
        let mut groups: Vec<Vec<String>> = Vec::new();
        for (place, line) in text.lines().enumerate() {
            let line = line.split('#').next().unwrap_or_default().trim();
            if line.is_empty() {
                continue;
            }
            let group = group(line).map_err(|what| SynonymsProblem { line: place + 1, what })?;
            if groups.iter().any(|known| same(known, &group)) {
                return Err(SynonymsProblem { line: place + 1, what: "this group stands there already".to_owned() });
            }
            groups.push(group);
        }
        Ok(Self { groups })
    }

    /// How many groups there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.groups.len()
    }

    /// True without any group.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.groups.is_empty()
    }

    /// The groups as the finder reads them.
    pub(super) fn text(&self) -> String {
        self.groups.iter().map(|group| group.join(",")).collect::<Vec<_>>().join("\n")
    }
}

fn group(line: &str) -> Result<Vec<String>, String> {
    let mut group: Vec<String> = Vec::new();
    for phrase in line.split(',') {
        let phrase = phrase.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
        if phrase.is_empty() {
            return Err("a phrase is empty".to_owned());
        }
        if group.contains(&phrase) {
            return Err(format!("{phrase} stands there twice"));
        }
        group.push(phrase);
    }
    if group.len() < 2 { Err("a group has two phrases or more".to_owned()) } else { Ok(group) }
}

fn same(one: &[String], other: &[String]) -> bool {
    one.len() == other.len() && one.iter().all(|phrase| other.contains(phrase))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_are_read() {
        let read = Synonyms::parse("# words\nMech,  rear   derailleur # two\n\nbuckled, out of true\n").unwrap();
        assert_eq!(read.text(), "mech,rear derailleur\nbuckled,out of true");
        assert_eq!(read.len(), 2);
    }

    #[test]
    fn faults_name_their_line() {
        let wrong = |text| Synonyms::parse(text).unwrap_err().to_string();
        assert_eq!(wrong("a, b\nalone"), "line 2: a group has two phrases or more");
        assert_eq!(wrong("a, , b"), "line 1: a phrase is empty");
        assert_eq!(wrong("a, b, A"), "line 1: a stands there twice");
        assert_eq!(wrong("a, b\n\nb, a"), "line 3: this group stands there already");
    }

    #[test]
    fn the_bundled_groups_are_sound() {
        assert!(Synonyms::bundled().len() >= 80, "{} groups", Synonyms::bundled().len());
    }
}
