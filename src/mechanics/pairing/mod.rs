//! Whether parts go together: families of parts, rules between families, verdicts with their reasons.
//!
//! A family's datasheet names the attributes that fit depends on; a part gives values for some of them; a rule joins
//! families and asks questions of their attributes. In the order of the story: `family` and `value` are what is known
//! of a part, `question` a rule's questions with three answers (true, false, unknown), `rule` a rule as data, `ask`
//! the verdict on a list of parts, `shelf` the bundled families and rules with those of a shop. Nothing here can ask
//! whether a thing is unknown, so knowing more never turns one settled answer into another.

/// The verdict on a list of parts.
pub mod ask;
/// What is asked of the parts of a family.
pub mod family;
/// The keys of families and rules.
pub mod keys;
/// Questions with three answers.
pub mod question;
/// A rule as data.
pub mod rule;
mod rule_load;
/// All families and rules within reach.
pub mod shelf;
/// What is known of an attribute.
pub mod value;

/// Whether parts go together; from the worst to the best, so that the least of several holds for all.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub enum Verdict {
    /// They never do.
    DoesNotFit,
    /// Something that decides it is not known.
    NotKnown,
    /// They do, where something is heeded.
    FitsWithLimits,
    /// They do.
    Fits,
}

impl Verdict {
    /// All verdicts, the worst first.
    pub const ALL: [Self; 4] = [Self::DoesNotFit, Self::NotKnown, Self::FitsWithLimits, Self::Fits];

    /// The verdict in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::DoesNotFit => "does not fit",
            Self::NotKnown => "not known",
            Self::FitsWithLimits => "fits with limits",
            Self::Fits => "fits",
        }
    }

    /// What the verdict means.
    #[must_use]
    pub fn about(self) -> &'static str {
        match self {
            Self::DoesNotFit => "the parts never go together",
            Self::NotKnown => "something that decides it is not known; the reasons say what to measure",
            Self::FitsWithLimits => "the parts go together where what the reasons say is heeded",
            Self::Fits => "the parts go together, by every rule that has something to say",
        }
    }

    /// The verdict that these words say.
    #[must_use]
    pub fn named(words: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|verdict| verdict.words() == words)
    }
}

/// The end of a bicycle at which a part is fitted, where it could be either.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub enum Place {
    /// At the front wheel.
    Front,
    /// At the rear wheel.
    Rear,
}

impl Place {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Front, Self::Rear];

    /// The place as a word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Rear => "rear",
        }
    }

    /// Splits `front tyre` into its place and the rest; `between` is what stands between the two.
    #[must_use]
    pub fn split(text: &str, between: char) -> (Option<Self>, &str) {
        let place = Self::ALL.into_iter().find_map(|place| Some((place, text.strip_prefix(place.word())?)));
        match place.and_then(|(place, rest)| Some((place, rest.strip_prefix(between)?))) {
            Some((place, rest)) => (Some(place), rest),
            None => (None, text),
        }
    }
}
