//! The keys of a drawing's head: the YAML in the comment with which its file begins.

use crate::library::front::topics;
use crate::mechanics::keys::kinds;
use crate::yaml::keys::{Holds, Keys, keys};

/// A drawing's head.
pub static HEAD: Keys = Keys::new(
    "a drawing's head",
    keys! {
        "name" free Holds::Text("a name"), "The drawing's name, that of its file.",
            "name: chain-run";
        "title" needed Holds::Text("words"), "What it is called, for those who don't see it.",
            "title: Chain run";
        "about" free Holds::Text("a sentence or two"), "What it draws, and what it leaves out.",
            "about: A chain round one chainring and one sprocket, true to scale.";
        "inputs" free Holds::List(&Holds::Keys(&INPUT)), "What a page sets. All of it must be set.",
            "inputs:\n  - {name: ring, kind: count, unit: tooth, about: teeth on the chainring}";
        "items" free Holds::List(&Holds::Keys(&ITEM)), "What its balloons point at.",
            "items:\n  - {balloon: \"1\", name: Chainring}";
    },
);

/// An input of a drawing.
pub(super) static INPUT: Keys = Keys::new(
    "an input of a drawing",
    keys! {
        "name" needed Holds::Text("a name"), "The name under which a page sets it.",
            "name: ring";
        "kind" needed Holds::OneOf(kinds), "What it measures.",
            "kind: count";
        "unit" needed Holds::Text("a unit; \"\" for a plain number"), "The unit in which the drawing uses it.",
            "unit: tooth";
        "about" needed Holds::Text("words"), "What it is.",
            "about: teeth on the chainring";
    },
);

/// An item of a drawing.
pub(super) static ITEM: Keys = Keys::new(
    "an item of a drawing",
    keys! {
        "balloon" needed Holds::Text("a number"), "The number in the balloon.",
            "balloon: \"1\"";
        "name" needed Holds::Text("words"), "What the balloon points at.",
            "name: Chainring";
        "topic" free Holds::OneOf(topics), "The topic to which the item leads from the front page.",
            "topic: drivetrain";
        "also" free Holds::List(&Holds::Text("words")), "Other names of the item.",
            "also: [front ring]";
    },
);
