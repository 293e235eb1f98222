//! Families of parts, their attributes, and the rules that join families.

use super::{Meaning, Reach, and, once, sentence, some_of};
use crate::mechanics::figure::NO_BREAK;
use crate::mechanics::pairing::Verdict;
use crate::mechanics::pairing::family::{Attribute, Family, Role, Sort};
use crate::mechanics::pairing::rule::Rule;
use crate::mechanics::pairing::value::Value;
use crate::mechanics::reading::Reading;
use crate::text::count;

/// More rules or parts than this are counted.
const MOST: usize = 12;

pub(super) fn families(reach: &Reach) -> Vec<String> {
    reach.rules().families.iter().map(|family| family.id.clone()).collect()
}

pub(super) fn family(reach: &Reach, word: &str) -> Vec<Meaning> {
    reach.rules().family(word).map(|family| of_family(family, &reach.rules().rules)).into_iter().collect()
}

fn of_family(family: &Family, rules: &[Rule]) -> Meaning {
    let joining: Vec<String> = rules
        .iter()
        .filter(|rule| rule.joins.iter().any(|joined| joined.family == family.id))
        .map(|rule| rule.id.clone())
        .collect();
    let mut says = vec![sentence(&format!("{}: {}", family.title, family.about))];
    if family.places {
        says.push("A bicycle may have one at each end: front_ or rear_ stands before it in a build sheet.".to_owned());
    }
    says.push(format!("What is asked of such a part ({}):", count(family.attributes.len(), "attribute")));
    says.extend(
        family
            .attributes
            .iter()
            .map(|attribute| format!("{} ({}): {}", attribute.name, sort(attribute), sentence(&attribute.about))),
    );
    says.push(match joining.len() {
        0 => "No rule joins it to another family.".to_owned(),
        number => format!("Joined to others by {}: {}.", count(number, "rule"), some_of(&joining, MOST)),
    });
    Meaning {
        word: family.id.clone(),
        what: "a family of parts".to_owned(),
        says,
        example: Vec::new(),
        used: vec![
            format!("content/shelf/{}.yaml, which holds the shop's parts of this family", family.id),
            "content/bikes under parts, fit-table blocks, rules about parts".to_owned(),
        ],
        helps: vec![
            "locknut meaning ATTRIBUTE says how one is measured".to_owned(),
            "locknut pair lists the parts on the shelf, and asks the rules about them".to_owned(),
        ],
    }
}

/// What a value of an attribute is, in a few words.
fn sort(attribute: &Attribute) -> String {
    let one = match &attribute.sort {
        Sort::Number(input) if input.unit.text.is_empty() => input.kind.phrase.to_owned(),
        Sort::Number(input) => format!("{} in {}", input.kind.phrase, input.unit.shown(false)),
        Sort::Word(words) if words.is_empty() => "a word".to_owned(),
        Sort::Word(words) => format!("one of {}", words.join(", ")),
        Sort::YesNo => "yes or no".to_owned(),
    };
    if attribute.many { format!("a list, each {one}") } else { one }
}

pub(super) fn attributes(reach: &Reach) -> Vec<String> {
    let all = reach.rules().families.iter().flat_map(|family| &family.attributes);
    once(all.map(|attribute| attribute.name.clone()))
}

/// The meanings of an attribute; families in which it means the same are told together.
pub(super) fn attribute(reach: &Reach, word: &str) -> Vec<Meaning> {
    let mut groups: Vec<(&Attribute, Vec<&Family>)> = Vec::new();
    for family in &reach.rules().families {
        let Some(attribute) = family.attribute(word) else { continue };
        let same = |known: &Attribute| {
            known.about == attribute.about && known.how == attribute.how && sort(known) == sort(attribute)
        };
        match groups.iter_mut().find(|(known, _)| same(known)) {
            Some((_, families)) => families.push(family),
            None => groups.push((attribute, vec![family])),
        }
    }
    groups.iter().map(|(attribute, families)| of_attribute(attribute, families, &reach.rules().rules)).collect()
}

fn of_attribute(attribute: &Attribute, families: &[&Family], rules: &[Rule]) -> Meaning {
    let ids: Vec<String> = families.iter().map(|family| family.id.clone()).collect();
    let range = attribute.number().map_or(String::new(), |input| format!(", from {}", input.allowed()));
    let mut says = vec![sentence(&attribute.about), sentence(&format!("to know it, {}", lower(&attribute.how)))];
    says.push(format!("It is {}{range}.", sort(attribute)));
    says.extend(attribute.role.map(|role| match role {
        Role::Torque => "A build sheet lists it among the torques.".to_owned(),
        Role::Wear => "A build sheet lists it among the wear limits.".to_owned(),
    }));
    let asking = rules.iter().filter(|rule| reads(rule, &ids, &attribute.name)).map(|rule| rule.id.clone());
    let asking: Vec<String> = asking.collect();
    let mut used = vec![format!("content/shelf, under has: {}", and(&ids))];
    if !asking.is_empty() {
        used.push(format!("{}: {}", count(asking.len(), "rule"), some_of(&asking, MOST)));
    }
    Meaning {
        word: attribute.name.clone(),
        what: format!("an attribute of {}", and(&ids)),
        says,
        example: rules.iter().find_map(|rule| an_example(rule, &ids, &attribute.name)).into_iter().collect(),
        used,
        helps: vec!["locknut pair says where a verdict hangs on it".to_owned()],
    }
}

/// True where a rule asks for this attribute of one of these families.
fn reads(rule: &Rule, families: &[String], attribute: &str) -> bool {
    rule.known.reads.iter().any(|read| {
        let family = rule.joins.get(read.join).map(|joined| &joined.family);
        read.attribute.name == attribute && family.is_some_and(|family| families.contains(family))
    })
}

/// A line of the shelf with this attribute, out of an example of a rule.
fn an_example(rule: &Rule, families: &[String], attribute: &str) -> Option<String> {
    let read = rule.known.reads.iter().find(|read| {
        read.attribute.name == attribute
            && rule.joins.get(read.join).is_some_and(|joined| families.contains(&joined.family))
    })?;
    let value = rule.examples.iter().find_map(|example| example.parts.get(read.join)?.get(attribute))?;
    Some(format!("has: {{{attribute}: {}}}", written(&read.attribute, value)))
}

/// A value as it is written on the shelf.
fn written(attribute: &Attribute, value: &Value) -> String {
    let items: Vec<String> = match value {
        Value::YesNo(true) => vec!["yes".to_owned()],
        Value::YesNo(false) => vec!["no".to_owned()],
        Value::Words(words) => words.clone(),
        Value::Numbers(numbers) => {
            let style = attribute.number().map(crate::mechanics::formula::Input::style);
            let text = |number: &Reading| style.as_ref().map(|style| style.text(number.value).replace(NO_BREAK, " "));
            numbers.iter().filter_map(text).collect()
        }
    };
    if attribute.many { format!("[{}]", items.join(", ")) } else { items.join(", ") }
}

fn lower(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |first| first.to_lowercase().chain(chars).collect())
}

pub(super) fn rules(reach: &Reach) -> Vec<String> {
    reach.rules().rules.iter().map(|rule| rule.id.clone()).collect()
}

pub(super) fn rule(reach: &Reach, word: &str) -> Vec<Meaning> {
    reach.rules().rules.iter().filter(|rule| rule.id == word).map(of_rule).collect()
}

fn of_rule(rule: &Rule) -> Meaning {
    let joins: Vec<String> = rule
        .joins
        .iter()
        .map(|joined| joined.place.map_or(joined.family.clone(), |place| format!("{} {}", place.word(), joined.family)))
        .collect();
    let mut asked = once(rule.known.reads.iter().map(|read| read.name.clone()));
    asked.sort();
    let mut says = vec![sentence(&rule.title), format!("It joins {}.", and(&joins))];
    if !asked.is_empty() {
        says.push(format!("It asks for {}.", and(&asked)));
    }
    let verdicts = once(rule.outcomes.iter().map(|outcome| outcome.verdict.words().to_owned()));
    says.push(format!("It can say: {}.", verdicts.join(", ")));
    says.push(sentence(&format!("it rests on: {}", rule.source)));
    says.extend(rule.cautions.iter().map(|caution| format!("Caution: {caution}")));
    let example = rule.examples.first().map(|example| {
        let values = rule.known.reads.iter().filter_map(|read| {
            let value = example.parts.get(read.join)?.get(&read.attribute.name)?;
            Some(format!("{}: {}", read.name, written(&read.attribute, value)))
        });
        let gives = format!("gives: {}", example.gives.map_or("nothing to say", Verdict::words));
        values.chain([gives]).collect()
    });
    Meaning {
        word: rule.id.clone(),
        what: format!("a rule about parts, topic {}", rule.topic),
        says,
        example: example.unwrap_or_default(),
        used: vec!["pair, pairing and fit-table blocks, build sheets".to_owned()],
        helps: vec!["locknut pair PART PART --working shows what it compared".to_owned()],
    }
}
