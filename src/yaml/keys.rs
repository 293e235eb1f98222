//! Tables of keys: what may stand in a mapping, each key in one row with what it holds, a sentence and an example.
//!
//! A reader takes its list of keys from such a table ([`super::Fields::of`]), `locknut meaning` its words, and the
//! schemas for editors their shapes, so that none of the three can lag. What a value means beyond its shape is for the
//! reader to say. The macro [`keys!`] writes the rows.

/// The keys that one mapping may hold.
#[derive(Debug)]
pub struct Keys {
    /// The mapping with its article, for messages: `a guide's front matter`.
    pub what: &'static str,
    /// The keys, in the order in which they are listed.
    pub keys: &'static [Key],
    /// Keys of which one must be there, and no second.
    pub ways: &'static [&'static str],
}

/// One key.
#[derive(Clone, Copy, Debug)]
pub struct Key {
    /// The word before the colon.
    pub name: &'static str,
    /// Whether it must be there.
    pub need: Need,
    /// What stands after the colon.
    pub holds: Holds,
    /// What it is for, in a sentence or two.
    pub about: &'static str,
    /// A line or more of YAML that is right.
    pub example: &'static str,
}

/// Whether a key must be there.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Need {
    /// Always.
    Needed,
    /// Where another key says so; its sentence says which.
    Partly,
    /// Never.
    Free,
}

/// What may stand as a value.
#[derive(Clone, Copy, Debug)]
pub enum Holds {
    /// One text; what it is, with its article: `a sentence`.
    Text(&'static str),
    /// One text of a form: what it is, and the form as a regular expression that JavaScript and Python both read.
    Formed(&'static str, &'static str),
    /// A day: `2026-05-03`.
    Date,
    /// `true` or `false`.
    Flag,
    /// A number without a unit.
    Number,
    /// One word of a list, each with its meaning.
    OneOf(fn() -> Vec<Word>),
    /// Items, all of one form.
    List(&'static Holds),
    /// A list or a mapping with at least and at most so many items.
    Sized(&'static Holds, usize, Option<usize>),
    /// Names of one sort, each with a value.
    Map(&'static str, &'static Holds),
    /// Keys of a table.
    Keys(&'static Keys),
    /// One of several forms.
    Either(&'static [Holds]),
}

/// A word of a list, and what it means; nothing where the word says it.
pub type Word = (&'static str, &'static str);

impl Keys {
    /// A table without keys of which just one may stand.
    #[must_use]
    pub const fn new(what: &'static str, keys: &'static [Key]) -> Self {
        Self { what, keys, ways: &[] }
    }

    /// The same, with keys of which one must be there and no second.
    #[must_use]
    pub const fn ways(mut self, ways: &'static [&'static str]) -> Self {
        self.ways = ways;
        self
    }

    /// The key with this name.
    #[must_use]
    pub fn key(&self, name: &str) -> Option<&'static Key> {
        self.keys.iter().find(|key| key.name == name)
    }

    /// The names, in their order.
    #[must_use]
    pub fn names(&self) -> Vec<&'static str> {
        self.keys.iter().map(|key| key.name).collect()
    }

    /// True where a reader may hold this key to be there.
    #[must_use]
    pub fn may_need(&self, name: &str) -> bool {
        self.ways.contains(&name) || self.key(name).is_some_and(|key| key.need != Need::Free)
    }
}

impl Key {
    /// True where it must always be there.
    #[must_use]
    pub fn is_needed(&self) -> bool {
        self.need == Need::Needed
    }

    /// The same key where it may be left out.
    #[must_use]
    pub const fn spared(mut self) -> Self {
        self.need = Need::Free;
        self
    }

    /// The same key with another sentence and example, where it means something else.
    #[must_use]
    pub const fn but(mut self, about: &'static str, example: &'static str) -> Self {
        self.about = about;
        self.example = example;
        self
    }
}

/// The row of a table with this name; a table that lacks it does not compile.
#[must_use]
pub const fn row(rows: &'static [Key], name: &str) -> Key {
    let mut at = 0;
    while !same(rows[at].name, name) {
        at += 1;
    }
    rows[at]
}

/// Rows of which some may be left out, where another mapping has the same keys.
#[must_use]
pub const fn spare<const N: usize>(rows: &[Key; N], names: &[&str]) -> [Key; N] {
    let mut rows = *rows;
    let mut at = 0;
    while at < N {
        let mut name = 0;
        while name < names.len() {
            if same(rows[at].name, names[name]) {
                rows[at].need = Need::Free;
            }
            name += 1;
        }
        at += 1;
    }
    rows
}

const fn same(one: &str, other: &str) -> bool {
    let (one, other) = (one.as_bytes(), other.as_bytes());
    let mut at = 0;
    while at < one.len() && at < other.len() && one[at] == other[at] {
        at += 1;
    }
    at == one.len() && at == other.len()
}

impl Holds {
    /// What it is, in words with their article.
    #[must_use]
    pub fn phrase(&self) -> String {
        match self {
            Self::Text(what) | Self::Formed(what, _) => (*what).to_owned(),
            Self::Date => "a day, such as 2026-05-03".to_owned(),
            Self::Flag => "true or false".to_owned(),
            Self::Number => "a number without a unit".to_owned(),
            Self::OneOf(words) => format!("one of {}", listed(&words())),
            Self::List(Self::OneOf(words)) => format!("a list of any of {}", listed(&words())),
            Self::List(each) => format!("a list, each item {}", each.phrase()),
            Self::Sized(inner, least, most) => match most {
                Some(most) if most == least => format!("{}; {least} of them", inner.phrase()),
                Some(most) => format!("{}; {least} to {most} of them", inner.phrase()),
                None => format!("{}; {least} or more", inner.phrase()),
            },
            Self::Map(names, each) => format!("names of {names}, each with {}", each.phrase()),
            Self::Keys(keys) => format!("keys: {}", keys.names().join(", ")),
            Self::Either(forms) => forms.iter().map(Self::phrase).collect::<Vec<_>>().join("; or "),
        }
    }

    /// The tables that stand in it, however deep, but not those within such a table.
    #[must_use]
    pub fn tables(&self) -> Vec<&'static Keys> {
        match self {
            Self::Keys(keys) => vec![keys],
            Self::List(inner) | Self::Sized(inner, ..) | Self::Map(_, inner) => inner.tables(),
            Self::Either(forms) => forms.iter().flat_map(Self::tables).collect(),
            _ => Vec::new(),
        }
    }

    /// The words of which one may stand in it, with their meanings.
    #[must_use]
    pub fn words(&self) -> Vec<Word> {
        match self {
            Self::OneOf(words) => words(),
            Self::List(inner) | Self::Sized(inner, ..) | Self::Map(_, inner) => inner.words(),
            Self::Either(forms) => forms.iter().flat_map(Self::words).collect(),
            _ => Vec::new(),
        }
    }
}

fn listed(words: &[Word]) -> String {
    words.iter().map(|(word, _)| *word).collect::<Vec<_>>().join(", ")
}

/// Rows of a table of keys: name, `needed`, `partly` or `free`, what it holds, a sentence, an example.
macro_rules! keys {
    ($($name:literal $needed:ident $holds:expr, $about:literal, $example:literal;)*) => {
        &[$($crate::yaml::keys::Key {
            name: $name,
            need: $crate::yaml::keys::keys!(@$needed),
            holds: $holds,
            about: $about,
            example: $example,
        }),*]
    };
    (@needed) => { $crate::yaml::keys::Need::Needed };
    (@partly) => { $crate::yaml::keys::Need::Partly };
    (@free) => { $crate::yaml::keys::Need::Free };
}
pub(crate) use keys;
