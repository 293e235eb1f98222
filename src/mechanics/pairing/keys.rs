//! The keys of a family, of a rule and of families apart: their tables, read by `family`, `rule_load` and `shelf`.

use super::Verdict;
use crate::mechanics::keys::kinds;
use crate::yaml::keys::{Holds, Keys, Word, keys};

/// A family of parts.
pub static FAMILY: Keys = Keys::new(
    "a family of parts",
    keys! {
        "id" needed Holds::Formed("a name of small letters, digits and _", "^[a-z][a-z0-9_]*$"), "The name in rules and in build sheets. A file of the shelf is called after it.",
            "id: cassette";
        "title" needed Holds::Text("words"), "What such a part is called, in the singular.",
            "title: Cassette";
        "about" needed Holds::Text("a sentence"), "What such a part does.",
            "about: sprockets that slide onto a freehub body";
        "places" free Holds::Flag, "Whether a bicycle may have one at each end.",
            "places: true";
        "attributes" free Holds::List(&Holds::Keys(&ATTRIBUTE)), "What is asked of each part.",
            "attributes:\n  - {name: worn, kind: yes_no, about: whether its teeth are worn, how: look for hooked teeth}";
    },
);

/// An attribute of a family.
pub static ATTRIBUTE: Keys = Keys::new(
    "an attribute",
    keys! {
        "name" needed Holds::Formed("a name of small letters, digits and _", "^[a-z][a-z0-9_]*$"), "The attribute's name in rules and on the shelf.",
            "name: largest";
        "kind" needed Holds::OneOf(sorts), "What a value of it is: a kind of figure, a word, or yes and no.",
            "kind: count";
        "unit" partly Holds::Text("a unit; \"\" for a plain number"), "The unit of its range and of what is printed. A figure needs one; a word, and yes and no, have none.",
            "unit: tooth";
        "range" partly Holds::Sized(&Holds::List(&Holds::Number), 2, Some(2)), "The least and the most that a part can have. A figure needs it; a word, and yes and no, have none.",
            "range: [9, 70]";
        "one_of" free Holds::List(&Holds::Text("a word")), "The words that a value can be, where it is a word.",
            "one_of: [direct, bolted]";
        "many" free Holds::Flag, "Whether a part has a list of them.",
            "many: true";
        "role" free Holds::OneOf(roles), "The list of a build sheet that shows it.",
            "role: torque";
        "about" needed Holds::Text("a sentence"), "What it means.",
            "about: teeth of the largest sprocket";
        "how" needed Holds::Text("a sentence"), "How it is measured or where it is read, for somebody who doesn't know.",
            "how: count the teeth of the largest sprocket, or read the number on its face";
    },
);

/// A rule about parts.
pub static RULE: Keys = Keys::new(
    "a rule about parts",
    keys! {
        "id" needed Holds::Text("a name of words joined by hyphens"), "The rule's own name.",
            "id: total-capacity";
        "title" needed Holds::Text("words"), "What the rule is about.",
            "title: Slack that the rear derailleur takes up";
        "topic" needed Holds::Text("a topic"), "The topic under which it is listed.",
            "topic: drivetrain";
        "joins" needed Holds::Sized(&Holds::Map("parts within the rule", &Holds::Text("a family, with front or rear before it")), 2, None), "The parts that it asks about, each with its family.",
            "joins: {derailleur: rear_derailleur, cassette: cassette}";
        "together" free Holds::Flag, "Whether the rule is silent unless all its families are there.",
            "together: true";
        "tells_with" free Holds::List(&Holds::Text("a name under joins")), "The parts with which it tells what is missing; without them it is silent.",
            "tells_with: [derailleur]";
        "instead" free Holds::List(&Holds::Text("the name of a family")), "Families that stand in for one of its own: with one of them it is silent.",
            "instead: [freewheel]";
        "alike" free Holds::Flag, "Whether it is put only to parts that all have a named end of the bicycle, or none.",
            "alike: true";
        "applies" free Holds::Text("a question"), "Where it has something to say. Where the answer is no, it is silent.",
            "applies: derailleur.capacity > 0";
        "by" free Holds::Text("the name of a formula"), "A bundled formula whose steps are worked with the values under given.",
            "by: rear-capacity";
        "given" free Holds::Map("inputs of the formula", &Holds::Text("a sum")), "What the formula's inputs are here.",
            "given: {largest_chainring: crank.largest}";
        "steps" free Holds::List(&Holds::Formed("name = sum", "=")), "More steps, worked in their order.",
            "steps: [difference = crank.largest - crank.smallest]";
        "figures" free Holds::List(&Holds::Keys(&FIGURE)), "Steps that are told, with kind and unit.",
            "figures: [{name: difference, kind: count, unit: tooth, decimals: 0, about: between the rings}]";
        "outcomes" free Holds::List(&Holds::Keys(&OUTCOME)), "What it says: the first outcome whose question is true. The last one has no question.",
            "outcomes:\n  - {when: difference > 16, verdict: does not fit, message: The rings are too far apart.}\n  - {verdict: fits, message: The rings go together.}";
        "cautions" free Holds::List(&Holds::Text("a sentence")), "What goes wherever the verdict goes.",
            "cautions: [A worn chain on a new cassette slips.]";
        "source" needed Holds::Text("words that name the source"), "What the rule rests on.",
            "source: common practice, no source";
        "examples" free Holds::List(&Holds::Keys(&EXAMPLE)), "Cases that were thought through, one for each outcome. A rule of the shop's own needs at least one.",
            "examples: [{parts: {crank: {largest: 50 teeth}}, gives: fits, source: counted}]";
    },
);

/// An outcome of a rule.
pub static OUTCOME: Keys = Keys::new(
    "an outcome",
    keys! {
        "when" free Holds::Text("a question"), "When it holds. Only the last outcome has none.",
            "when: difference > 16";
        "verdict" needed Holds::OneOf(verdicts), "The verdict.",
            "verdict: does not fit";
        "message" needed Holds::Text("a sentence"), "What is said. Marks such as (=crank.largest) set figures.",
            "message: The rings are too far apart.";
        "notice" free Holds::Flag, "Whether it is said even where another rule decides.",
            "notice: true";
    },
);

/// A step of a rule that is told.
pub static FIGURE: Keys = Keys::new(
    "a figure of a rule",
    keys! {
        "name" needed Holds::Text("the name of a step"), "The step.", "name: difference";
        "kind" needed Holds::OneOf(kinds), "What it measures.", "kind: count";
        "unit" needed Holds::Text("a unit; \"\" for a plain number"), "The unit in which it is told.", "unit: tooth";
        "decimals" needed Holds::Number, "How fine it is told.", "decimals: 0";
        "about" needed Holds::Text("words"), "What it is.", "about: teeth between the rings";
    },
);

/// An example of a rule.
pub static EXAMPLE: Keys = Keys::new(
    "an example of a rule",
    keys! {
        "parts" needed Holds::Map("parts under joins", &Holds::Map("attributes", &Holds::Either(&[Holds::Text("a value"), Holds::List(&Holds::Text("a value"))]))), "What is known of each part. Each attribute that stands there decides.",
            "parts: {crank: {largest: 50 teeth, smallest: 34 teeth}}";
        "gives" needed Holds::OneOf(answers), "The verdict, or silent.",
            "gives: fits";
        "says" free Holds::List(&Holds::Text("words")), "Words that the message holds.",
            "says: [go together]";
        "source" needed Holds::Text("words that name the source"), "Who says that it is so.",
            "source: counted";
    },
);

/// Families that have no bearing on each other.
pub const APART: Holds = Holds::List(&Holds::Keys(&PAIR_APART));

/// A list of pairs by itself.
pub static APART_FILE: Keys = Keys::new(
    "the list of families apart",
    keys! {
        "apart" needed APART, "Pairs of families that no rule needs to join.",
            "apart: [{these: [bell], and: [tyre], why: neither touches the other}]";
    },
);

/// A pair apart.
pub static PAIR_APART: Keys = Keys::new(
    "a pair apart",
    keys! {
        "these" needed Holds::List(&Holds::Text("the name of a family")), "The families of one side.",
            "these: [bell]";
        "and" free Holds::List(&Holds::Text("the name of a family")), "Those of the other side; without it the first side is crossed with itself.",
            "and: [tyre, chain]";
        "why" needed Holds::Text("a sentence"), "Why they have no bearing on each other.",
            "why: neither touches the other";
    },
);

fn sorts() -> Vec<Word> {
    let mut sorts = kinds();
    sorts.extend([("word", "a word, one of a list where one_of gives one"), ("yes_no", "yes or no")]);
    sorts
}

/// The lists of a build sheet, each with its meaning.
pub const ROLES: [Word; 2] = [
    ("torque", "the torques that are marked on the bike's parts"),
    ("wear", "the wear limits that are marked on the bike's parts"),
];

fn roles() -> Vec<Word> {
    ROLES.to_vec()
}

/// The verdicts, each with its meaning.
#[must_use]
pub fn verdicts() -> Vec<Word> {
    Verdict::ALL.into_iter().map(|verdict| (verdict.words(), verdict.about())).collect()
}

fn answers() -> Vec<Word> {
    let mut answers = verdicts();
    answers.push(("silent", "the rule has nothing to say"));
    answers
}
