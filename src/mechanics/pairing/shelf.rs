//! The families and rules within reach: those that come with the program, then a shop's own.
//!
//! The files stand under `families/ID.yaml` and `rules/TOPIC/ID.yaml`; the build lists them. `rules/apart.yaml` lists
//! pairs of families that have no bearing on each other, each with its reason.

use super::family::{self, Family};
use super::keys;
use super::rule::Rule;
use super::rule_load;
use crate::bundled::{FAMILIES, RULES};
use crate::fault::Fault;
use crate::mechanics::load_parts::sentence;
use crate::text::Mapped;
use crate::yaml::{self, Fields, Node};
use std::collections::HashMap;
use std::sync::LazyLock;

/// Families, rules between them, and pairs that no rule needs to join.
#[derive(Clone, Debug, Default)]
pub struct Rules {
    /// The families.
    pub families: Vec<Family>,
    /// The rules.
    pub rules: Vec<Rule>,
    /// Reasons, by pairs of families in the order of their names.
    apart: HashMap<(String, String), String>,
}

/// A file with faults: its path below the folder that it stands in, and what is wrong.
pub type Faulty = (String, Vec<Fault>);

/// The file that lists pairs without a bearing on each other.
pub const APART: &str = "apart.yaml";

impl Rules {
    /// The families and rules that come with the program. Tests hold them free of faults.
    #[must_use]
    pub fn bundled() -> &'static Self {
        static BUNDLED: LazyLock<Rules> = LazyLock::new(|| Rules::read(FAMILIES, RULES).0);
        &BUNDLED
    }

    /// Reads families and rules from texts by path.
    #[must_use]
    pub fn read(families: &[(&str, &[u8])], rules: &[(&str, &[u8])]) -> (Self, Vec<Faulty>) {
        let mut all = Self::default();
        let mut faulty = Vec::new();
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
        for (path, bytes) in families {
            match family::load(&Mapped::verbatim(text(bytes), 0)) {
                Ok(family) => all.families.push(family),
                Err(faults) => faulty.push(((*path).to_owned(), faults)),
            }
        }
        let texts: Vec<(&str, String)> = rules.iter().map(|(path, bytes)| (*path, text(bytes))).collect();
        let loaded: Vec<_> = texts
            .iter()
            .filter(|(path, _)| *path != APART)
            .map(|(path, text)| (*path, load_rule(text, &all.families)))
            .collect();
        for (path, rule) in loaded {
            match rule {
                Ok(rule) => all.rules.push(rule),
                Err(faults) => faulty.push((path.to_owned(), faults)),
            }
        }
        if let Some((path, text)) = texts.iter().find(|(path, _)| *path == APART)
            && let Err(faults) = all.read_apart(text)
        {
            faulty.push(((*path).to_owned(), faults));
        }
        (all, faulty)
    }

    /// The family with this name.
    #[must_use]
    pub fn family(&self, id: &str) -> Option<&Family> {
        self.families.iter().find(|family| family.id == id)
    }

    /// Why two families have no bearing on each other, where that is so.
    #[must_use]
    pub fn apart(&self, one: &str, other: &str) -> Option<&str> {
        self.apart.get(&ordered(one, other)).map(String::as_str)
    }

    /// The pairs of families that have no bearing on each other, in order.
    #[must_use]
    pub fn all_apart(&self) -> Vec<(&str, &str)> {
        let mut pairs: Vec<_> = self.apart.keys().map(|(one, other)| (one.as_str(), other.as_str())).collect();
        pairs.sort_unstable();
        pairs
    }

    /// True where a rule joins two families.
    #[must_use]
    pub fn joins(&self, one: &str, other: &str) -> bool {
        self.rules.iter().any(|rule| {
            let count = |family: &str| rule.joins.iter().filter(|joined| joined.family == family).count();
            if one == other { count(one) > 1 } else { count(one) > 0 && count(other) > 0 }
        })
    }

    /// True where a rule joins two families and no third.
    #[must_use]
    pub fn joins_both(&self, one: &str, other: &str) -> bool {
        let of_two = self.rules.iter().filter(|rule| rule.joins.len() == 2);
        let joins = |rule: &Rule| {
            let families = [rule.joins[0].family.as_str(), rule.joins[1].family.as_str()];
            families == [one, other] || families == [other, one]
        };
        of_two.into_iter().any(joins)
    }

    /// Reads one more rule, from a node of a shop's shelf file.
    pub fn read_rule(&self, node: &Node, file: &str, faults: &mut Vec<Fault>) -> Option<Rule> {
        rule_load::read(node, file, &self.families, faults)
    }

    fn read_apart(&mut self, text: &str) -> Result<(), Vec<Fault>> {
        let node = yaml::parse_bundled(&Mapped::verbatim(text, 0))?;
        let mut faults = Vec::new();
        if let Some(fields) = Fields::of(&node, &keys::APART_FILE, &mut faults) {
            self.add_apart(&fields, &mut faults);
        }
        if faults.is_empty() { Ok(()) } else { Err(faults) }
    }

    /// Adds `apart: [{these: [family], and: [family], why}]`; without `and` a list is crossed with itself.
    pub fn add_apart(&mut self, fields: &Fields<'_>, faults: &mut Vec<Fault>) {
        for node in fields.list("apart", faults) {
            let Some(fields) = Fields::of(node, &keys::PAIR_APART, faults) else { continue };
            let these = self.names(&fields, "these", faults);
            let others = if fields.get("and").is_some() { self.names(&fields, "and", faults) } else { these.clone() };
            let Some(why) = sentence(&fields, "why", faults) else { continue };
            for one in &these {
                for other in &others {
                    self.apart.entry(ordered(one, other)).or_insert_with(|| why.clone());
                }
            }
        }
    }

    fn names(&self, fields: &Fields<'_>, key: &str, faults: &mut Vec<Fault>) -> Vec<String> {
        let mut names = Vec::new();
        for node in fields.list(key, faults) {
            let name = node.text().map(Mapped::text).unwrap_or_default();
            if self.family(name).is_none() {
                faults.push(rule_load::unknown_family(name, node.span, &self.families));
            }
            names.push(name.to_owned());
        }
        names
    }
}

fn ordered(one: &str, other: &str) -> (String, String) {
    if one <= other { (one.to_owned(), other.to_owned()) } else { (other.to_owned(), one.to_owned()) }
}

fn load_rule(text: &str, families: &[Family]) -> Result<Rule, Vec<Fault>> {
    let node = yaml::parse_bundled(&Mapped::verbatim(text, 0))?;
    let mut faults = Vec::new();
    rule_load::read(&node, text, families, &mut faults).filter(|_| faults.is_empty()).ok_or(faults)
}

pub use rule_load::unknown_family;
