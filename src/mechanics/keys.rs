//! The keys of a formula file: their tables, read by `load` and `load_parts`. The form as a whole stands at the head of
//! `formula`.

use super::units::KINDS;
use crate::yaml::keys::{Holds, Keys, Word, keys};

/// A formula.
pub static FORMULA: Keys = Keys::new(
    "a formula",
    keys! {
        "id" needed Holds::Text("a name of words joined by hyphens"), "The formula's name, by which pages and reckon ask for it.",
            "id: stay-doubled";
        "title" needed Holds::Text("words"), "What it is called.",
            "title: Twice a chainstay";
        "topic" needed Holds::Text("a topic"), "The topic under which it is listed.",
            "topic: drivetrain";
        "question" needed Holds::Text("a question"), "The question that it answers.",
            "question: How long are both chainstays together?";
        "inputs" free Holds::List(&Holds::Keys(&INPUT)), "What goes in.",
            "inputs:\n  - {name: stay, symbol: C, kind: length, unit: mm, range: [150, 1500], about: along the stay}";
        "outputs" needed Holds::List(&Holds::Keys(&OUTPUT)), "What comes out; each is the name of a step.",
            "outputs:\n  - {name: both, symbol: B, kind: length, unit: mm, decimals: 0, about: both stays}";
        "steps" needed Holds::List(&STEP), "The sums, worked in their order.",
            "steps: [both = 2 * stay]";
        "tables" free Holds::Map("tables", &Holds::Keys(&TABLE)), "Published tables that steps look values up in.",
            "tables: {width: {by: {kind: length, unit: mm}, gives: {kind: length, unit: mm}, rows: [[10, 20, 3]], source: common practice}}";
        "limits" free Holds::List(&Holds::Keys(&LIMIT)), "Where the formula speaks up.",
            "limits: [{name: too_long, when: both > 1200 mm, message: These are long stays.}]";
        "cautions" free Holds::List(&Holds::Text("a sentence")), "What goes wherever the formula goes.",
            "cautions: [Measure with the chain off.]";
        "valid" needed Holds::Text("a sentence"), "Where it holds.",
            "valid: both stays of one length";
        "source" needed Holds::Text("words that name the source"), "What it rests on.",
            "source: geometry";
        "examples" free Holds::List(&Holds::Keys(&EXAMPLE)), "Worked examples, tried whenever the file is read. A formula of the shop's own needs at least one.",
            "examples:\n  - {given: {stay: 410 mm}, gives: {both: 820 mm}, tolerance: 0, source: worked by hand}";
        "replaces" free Holds::Keys(&REPLACES), "The bundled formula that a formula of the shop's own stands in for.",
            "replaces: {formula: chain-length, why: the shop adds no pair for a single sprocket}";
    },
);

/// An input.
pub static INPUT: Keys = Keys::new(
    "an input",
    keys! {
        "name" needed NAME, "The name under which a value is given.",
            "name: stay";
        "symbol" needed SYMBOL, "The letter that stands for it in the formula as readers see it; what follows _ is its index.",
            "symbol: C";
        "kind" needed Holds::OneOf(kinds), "What it measures.",
            "kind: length";
        "unit" needed UNIT, "The unit of its range and of what is printed.",
            "unit: mm";
        "range" needed Holds::Sized(&Holds::List(&Holds::Number), 2, Some(2)), "The least and the most that make sense. A value outside is a fault.",
            "range: [150, 1500]";
        "default" free Holds::Text("a value with its unit"), "What is taken where nothing is given.",
            "default: 12.7 mm";
        "about" needed Holds::Text("a sentence"), "What to measure, and where.",
            "about: bottom bracket centre to rear axle centre, along the stay";
    },
);

/// An output.
pub static OUTPUT: Keys = Keys::new(
    "an output",
    keys! {
        "name" needed NAME, "The step that gives it.",
            "name: both";
        "symbol" needed SYMBOL, "The letter that stands for it in the formula as readers see it.",
            "symbol: B";
        "kind" needed Holds::OneOf(kinds), "What it measures.",
            "kind: length";
        "unit" needed UNIT, "The unit in which it is printed.",
            "unit: mm";
        "decimals" needed Holds::Number, "How many decimals it is printed with; -1 rounds to tens.",
            "decimals: 0";
        "about" needed Holds::Text("a sentence"), "What it is.",
            "about: both stays together";
    },
);

/// A step in either form.
pub const STEP: Holds = Holds::Either(&[Holds::Formed("name = sum", "="), Holds::Keys(&LONG_STEP)]);

/// A step with a symbol of its own.
pub static LONG_STEP: Keys = Keys::new(
    "a step",
    keys! {
        "name" needed NAME, "What the step gives.",
            "name: both";
        "symbol" free SYMBOL, "The letter that stands for it in the formula as readers see it.",
            "symbol: B";
        "is" needed Holds::Text("a sum"), "How it is worked out.",
            "is: 2 * stay";
    },
);

/// A limit.
pub static LIMIT: Keys = Keys::new(
    "a limit",
    keys! {
        "name" needed Holds::Text("a name"), "The limit's name, in data and in the register.",
            "name: too_long";
        "when" needed Holds::Text("a comparison"), "When it speaks.",
            "when: both > 1200 mm";
        "message" needed Holds::Text("a sentence"), "What it says.",
            "message: These are long stays.";
        "stops" free Holds::Flag, "Whether there is then no answer at all.",
            "stops: true";
    },
);

/// A table.
pub static TABLE: Keys = Keys::new(
    "a table",
    keys! {
        "by" needed Holds::Keys(&BY), "What a value is looked up by.",
            "by: {kind: length, unit: mm}";
        "gives" needed Holds::Keys(&GIVES), "What the table gives.",
            "gives: {kind: length, unit: mm}";
        "rows" needed Holds::List(&Holds::Sized(&Holds::List(&Holds::Number), 3, Some(3))), "From, to, and the value there; each row begins where the one before it ends.",
            "rows: [[10, 20, 3], [20, 30, 4]]";
        "source" needed Holds::Text("words that name the source"), "Where the table was published.",
            "source: common practice";
    },
);

/// What a table is looked up by.
pub static BY: Keys = Keys::new("by", MEASURE);
/// What a table gives.
pub static GIVES: Keys = Keys::new("gives", MEASURE);

const MEASURE: &[crate::yaml::keys::Key] = keys! {
    "kind" needed Holds::OneOf(kinds), "What the column measures.",
        "kind: length";
    "unit" needed UNIT, "The unit of the column.",
        "unit: mm";
};

/// A worked example.
pub static EXAMPLE: Keys = Keys::new(
    "an example",
    keys! {
        "given" needed Holds::Map("inputs", &Holds::Text("a value with its unit")), "What goes in.",
            "given: {stay: 410 mm}";
        "gives" needed Holds::Map("outputs", &Holds::Text("a value with its unit")), "What should come out.",
            "gives: {both: 820 mm}";
        "tolerance" needed Holds::Either(&[Holds::Number, Holds::Map("outputs", &Holds::Number)]), "How far an output may be off, in the unit in which gives is written.",
            "tolerance: 0.5";
        "source" needed Holds::Text("words that name the source"), "Who worked it out or printed it.",
            "source: worked by hand";
    },
);

/// What a formula of the shop stands in for.
pub static REPLACES: Keys = Keys::new(
    "replaces",
    keys! {
        "formula" needed Holds::Text("the name of a formula"), "The bundled formula.",
            "formula: chain-length";
        "why" needed Holds::Text("a sentence"), "Why the shop has its own.",
            "why: the shop adds no pair for a single sprocket";
    },
);

const NAME: Holds = Holds::Formed("a name of small letters, digits and _", "^[a-z][a-z0-9_]*$");
const SYMBOL: Holds = Holds::Text("a letter, with an index after _");
const UNIT: Holds = Holds::Text("a unit; \"\" for a plain number");

/// The kinds, each with its words.
pub(crate) fn kinds() -> Vec<Word> {
    KINDS.iter().map(|kind| (kind.name, kind.phrase)).collect()
}
