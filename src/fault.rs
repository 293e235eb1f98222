//! What can be wrong, as values: the fault, its id and its place.
//!
//! Every stage collects faults and goes on, so that one run reports all of
//! them. The table of ids below is the only list: `locknut meaning`, the tests
//! and the manual read it. Nothing is printed here; `diagnostic` draws faults.

use crate::text::Span;

/// Whether a fault stops the press.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash, PartialOrd, Ord)]
pub enum Severity {
    /// The library can't be pressed until it is put right.
    #[default]
    Fault,
    /// Worth knowing; the press goes on.
    Note,
}

/// One thing that is wrong, with the characters that are to blame and, where
/// they are known, what was found, what is allowed and what to do.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Fault {
    /// One of the ids in [`id`]: kebab-case, the name of the fault.
    pub id: &'static str,
    /// The bytes of the original file that are to blame.
    pub span: Span,
    /// One sentence without a full stop, readable aloud.
    pub message: String,
    /// What stands there now.
    pub found: Option<String>,
    /// What may stand there.
    pub allowed: Option<String>,
    /// What to do about it.
    pub cure: Option<String>,
    /// Whether it stops the press.
    pub severity: Severity,
}

impl Fault {
    /// A fault that stops the press.
    #[must_use]
    pub fn new(id: &'static str, span: Span, message: impl Into<String>) -> Self {
        let severity = Severity::Fault;
        Self { id, span, message: message.into(), found: None, allowed: None, cure: None, severity }
    }

    /// A note: the press goes on.
    #[must_use]
    pub fn note(id: &'static str, span: Span, message: impl Into<String>) -> Self {
        Self { severity: Severity::Note, ..Self::new(id, span, message) }
    }

    /// Says what stands there now.
    #[must_use]
    pub fn found(mut self, found: impl Into<String>) -> Self {
        self.found = Some(found.into());
        self
    }

    /// Says what may stand there.
    #[must_use]
    pub fn allowed(mut self, allowed: impl Into<String>) -> Self {
        self.allowed = Some(allowed.into());
        self
    }

    /// Says which of the known words was probably meant, or else what to do.
    #[must_use]
    pub fn nearest<'a>(self, word: &str, known: impl IntoIterator<Item = &'a str>, otherwise: &str) -> Self {
        let cure = did_you_mean(word, known).map(|near| format!("did you mean {near}?"));
        self.cure(cure.unwrap_or_else(|| otherwise.to_owned()))
    }

    /// Says what to do.
    #[must_use]
    pub fn cure(mut self, cure: impl Into<String>) -> Self {
        self.cure = Some(cure.into());
        self
    }
}

/// Turns the table of ids into one constant a row and the list of all rows.
macro_rules! ids {
    ($($name:ident = $id:literal, $stage:literal, $meaning:literal;)*) => {
        /// Every fault id, as constants and as one list for `meaning` and tests.
        pub mod id {
            $(#[doc = $meaning] pub const $name: &str = $id;)*

            /// Each id with the stage that objects and a sentence of meaning.
            pub const ALL: &[(&str, &str, &str)] = &[$(($id, $stage, $meaning)),*];
        }
    };
}

// A row: constant, id (names the fault, never the remedy), stage (read, parse,
// evaluate, set, press or command), meaning in one sentence.
ids! {
    // Reading YAML: front matter, blocks and the library's own files.
    YAML_SYNTAX = "yaml-syntax", "read", "The lines do not follow the form of YAML: keys, colons, values and indentation.";
    YAML_TOO_LARGE = "yaml-too-large", "read", "A YAML text is larger than any page or list needs to be.";
    YAML_TOO_DEEP = "yaml-too-deep", "read", "Lists and keys stand inside one another more deeply than anything here needs.";
    YAML_ANCHOR = "yaml-anchor", "read", "A text begins with &, which YAML reads as naming it for use elsewhere.";
    YAML_ALIAS = "yaml-alias", "read", "A text begins with *, which YAML reads as a value written elsewhere.";
    YAML_TYPE_MARK = "yaml-type-mark", "read", "A text begins with !, which YAML reads as a sort of value.";
    YAML_MERGE_KEY = "yaml-merge-key", "read", "The key << asks for keys that are written elsewhere to be brought in.";
    YAML_SECOND_DOCUMENT = "yaml-second-document", "read", "A second part begins where there may be only one.";
    YAML_KEY_NOT_A_WORD = "yaml-key-not-a-word", "read", "Something other than a word stands before a colon.";
    YAML_TWO_READINGS = "yaml-two-readings", "read", "The lines can be read in two ways, so nothing is sure.";
    DUPLICATE_KEY = "duplicate-key", "read", "The same key is written twice in one place.";
    UNKNOWN_KEY = "unknown-key", "read", "A key is not one that this place knows.";
    MISSING_KEY = "missing-key", "read", "A key that must be given is not there.";
    MISSING_VALUE = "missing-value", "read", "A key stands there with nothing after its colon.";
    WRONG_SHAPE = "wrong-shape", "read", "A list, names with values or a single value stands where another is wanted.";
    // The formula language.
    UNEXPECTED_CHARACTER = "unexpected-character", "parse", "A sign stands where a sum has no use for it.";
    BAD_NUMBER = "bad-number", "parse", "A number is not written in digits with one decimal point.";
    BAD_VALUE = "bad-value", "parse", "A value is not written as a number with its unit.";
    UNKNOWN_UNIT = "unknown-unit", "parse", "A word after a number is no unit that is known here.";
    OFFSET_UNIT = "offset-unit", "parse", "A temperature in °C or °F stands in a sum, where only K can.";
    AMBIGUOUS_POWER = "ambiguous-power", "parse", "A power after a unit could raise the unit or the whole value.";
    UNKNOWN_FUNCTION = "unknown-function", "parse", "A word before a bracket is no function that is known here.";
    WRONG_ARGUMENTS = "wrong-arguments", "parse", "A function is not given the values that it takes.";
    UNCLOSED_BRACKET = "unclosed-bracket", "parse", "A bracket is opened and never closed.";
    TOO_DEEP = "too-deep", "parse", "Brackets, powers or balances stand inside one another too deeply.";
    NO_COMPARISON = "no-comparison", "parse", "A limit compares nothing.";
    MIXED_CHAIN = "mixed-chain", "parse", "A chain of comparisons points both ways.";
    UNKNOWN_NAME = "unknown-name", "evaluate", "A sum or a mark uses a name that nothing here has.";
    INCOMPATIBLE_UNITS = "incompatible-units", "evaluate", "Two values that must measure the same do not.";
    POWER_NOT_FIXED = "power-not-fixed", "evaluate", "The power of a value with a unit depends on another value.";
    POWER_WITHOUT_UNIT = "power-without-unit", "evaluate", "No unit measures this power or root.";
    UNKNOWN_TABLE = "unknown-table", "evaluate", "A look-up names a table that the formula does not have.";
    // Formula files.
    BAD_NAME = "bad-name", "parse", "Something has a name that a sum or a page can't use.";
    RESERVED_NAME = "reserved-name", "parse", "A name is that of a unit, a function or a constant.";
    NAME_TWICE = "name-twice", "parse", "Two things have one name.";
    UNKNOWN_KIND = "unknown-kind", "parse", "A kind of figure is not in the table of kinds.";
    UNIT_OF_ANOTHER_KIND = "unit-of-another-kind", "parse", "The unit of an input, output or table does not measure its kind.";
    BAD_STEP = "bad-step", "parse", "A step has no name before an equals sign.";
    TOO_MANY_STEPS = "too-many-steps", "parse", "A formula has more inputs and steps than can be worked.";
    OUTPUT_WITHOUT_STEP = "output-without-step", "parse", "An output is the name of no step.";
    TABLE_GAP = "table-gap", "parse", "The rows of a table do not follow one another.";
    // Values for a formula.
    UNKNOWN_INPUT = "unknown-input", "evaluate", "A value is given for a name that the formula does not take.";
    MISSING_INPUT = "missing-input", "evaluate", "A value that the formula needs is not given.";
    UNIT_MISSING = "unit-missing", "evaluate", "A value that has a unit is written without one.";
    PERCENT_SIGN_MISSING = "percent-sign-missing", "evaluate", "A percentage is written without its sign.";
    WRONG_KIND = "wrong-kind", "evaluate", "A value measures something else than the input asks for.";
    WRONG_LABEL = "wrong-label", "evaluate", "A count is labelled as a count of something else.";
    NOT_WHOLE = "not-whole", "evaluate", "A count is not a whole number.";
    COUNT_WITH_TOLERANCE = "count-with-tolerance", "evaluate", "A count carries a tolerance.";
    OUT_OF_RANGE = "out-of-range", "evaluate", "A value lies outside what the formula allows for it.";
    NO_ANSWER = "no-answer", "evaluate", "The formula has no answer for these values.";
    // Pages.
    NOT_A_FILE = "not-a-file", "read", "A folder or a link stands where a file is wanted.";
    FILE_TOO_LARGE = "file-too-large", "read", "A file is larger than any page or list needs to be.";
    NOT_UTF8 = "not-utf8", "read", "A file can't be read as text: it was not saved with the encoding UTF-8.";
    BAD_DATE = "bad-date", "read", "A date is not a day of the calendar, written 2026-05-03.";
    STRAY_FILE = "stray-file", "read", "A file has no place in a library and is left aside.";
    INVISIBLE_SIGN = "invisible-sign", "read", "A file holds a sign that nobody sees and no page can hold.";
    FILE_NAME = "file-name", "read", "The name of a page's file can't stand in an address.";
    REGISTER_LINE = "register-line", "read", "A line of the register is none that sign writes.";
    REGISTER_CONFLICT = "register-conflict", "read", "Two versions of the register were merged, and the merge is not finished.";
    REGISTER_TWICE = "register-twice", "read", "The register holds one figure, or one revision of a sheet, twice.";
    FRONT_MATTER = "front-matter", "parse", "A page does not begin with front matter between two lines of hyphens.";
    TOPIC_AND_FOLDER = "topic-and-folder", "parse", "A guide's topic is not the name of its folder.";
    UNKNOWN_WORD = "unknown-word", "parse", "A topic, a hazard or a word for who does the work is not one that is known.";
    REVISION_LETTER = "revision-letter", "parse", "A revision is no letter or number that a next one can follow.";
    REVISION_TAKEN = "revision-taken", "parse", "A sheet's own revision is one that the register has given it already, or comes before that.";
    DEAD_LINK = "dead-link", "evaluate", "A link to the web leads nowhere.";
    UNUSED = "unused", "evaluate", "A stated figure, a photo or parts are used by no sheet.";
    UNIT_SPELLING = "unit-spelling", "evaluate", "A unit's sign is spelled otherwise than sheets write it.";
    UNSIGNED_DRIFT = "unsigned-drift", "evaluate", "Published figures differ from the signed register.";
    NUMBER_TWICE = "number-twice", "parse", "Two sheets have one number.";
    HEADING_LEVEL = "heading-level", "parse", "A heading of the first level stands in the body of a page.";
    OPERATION_ORDER = "operation-order", "parse", "The numbers of operations do not rise.";
    UNKNOWN_BLOCK = "unknown-block", "parse", "The word after three back-ticks is the name of no block.";
    UNCLOSED_FENCE = "unclosed-fence", "parse", "A block is opened, with back-ticks or tildes, and never closed.";
    SIGNAL_WORD = "signal-word", "parse", "A safety notice does not begin with its signal word.";
    BAD_MARK = "bad-mark", "parse", "A mark for a figure is not written as one.";
    UNKNOWN_OUTPUT = "unknown-output", "evaluate", "A working shows or claims something that its formula does not give.";
    WORKING_CIRCLE = "working-circle", "evaluate", "Workings need each other's results in a circle.";
    LIMIT_STOPS = "limit-stops", "evaluate", "A limit of the formula means that there is no answer.";
    CLAIM_OUT = "claim-out", "evaluate", "A claim is not what the formula works out.";
    LIMIT_BROKEN = "limit-broken", "evaluate", "A limit of the page does not hold over the whole of the tolerances.";
    BROKEN_LINK = "broken-link", "evaluate", "A link leads to no page of the library, or to no place on it.";
    PHOTO_MISSING = "photo-missing", "evaluate", "A page asks for a photo that the library does not have.";
    PHOTO_ELSEWHERE = "photo-elsewhere", "evaluate", "A page asks for a photo that stands outside the library.";
    PHOTO_UNREADABLE = "photo-unreadable", "evaluate", "A photo is damaged, too large or of a form that a sheet can't show.";
    PHOTO_WITHOUT_ALT = "photo-without-alt", "evaluate", "Nothing says what a photo shows to somebody who can't see it.";
    UNAPPROVED_LINK = "unapproved-link", "evaluate", "A link leads to a page that nobody has approved, so that it is not pressed.";
    LOOSE_FIGURE = "loose-figure", "evaluate", "A number with a unit has no working or source, and names no size.";
    UNKNOWN_BIKE = "unknown-bike", "evaluate", "There is no build sheet of this name.";
    FORMERLY_TAKEN = "formerly-taken", "evaluate", "A former address is that of a page, or of two pages.";
    STALE_FIGURE = "stale-figure", "evaluate", "A stated figure has not been looked up again for longer than the shop allows.";
    REVIEW_DUE = "review-due", "evaluate", "A page should have been read again by its date of review.";
    UNKNOWN_FAMILY = "unknown-family", "evaluate", "There is no family of parts of this name.";
    UNKNOWN_ATTRIBUTE = "unknown-attribute", "evaluate", "A family of parts has no attribute of this name.";
    UNKNOWN_PART = "unknown-part", "evaluate", "There is no part of this name on the shelf.";
    ONE_END = "one-end", "evaluate", "A part is said to be at one end of a bicycle, which has only one of its sort.";
    TABLE_SIZE = "table-size", "evaluate", "A table of parts has no cells, or more than anybody reads.";
    VERDICT_OUT = "verdict-out", "evaluate", "A claim about parts is not what the shelf says.";
    PARTS_DO_NOT_FIT = "parts-do-not-fit", "evaluate", "Parts of a build sheet never go together.";
    LEFT_OUT = "left-out", "evaluate", "Too little is known of a bike for a part of its build sheet.";
    UNKNOWN_DRAWING = "unknown-drawing", "evaluate", "There is no drawing of this name.";
    ANSWER_WAY = "answer-way", "parse", "An answer of a fault-finding chart leads nowhere, or two ways.";
    ONE_ANSWER = "one-answer", "parse", "A check of a fault-finding chart has a single answer, and decides nothing.";
    UNKNOWN_CHECK = "unknown-check", "parse", "An answer leads to a check that the fault-finding chart does not have.";
    CHECK_NOT_REACHED = "check-not-reached", "parse", "No answer of a fault-finding chart leads to this check.";
    CHART_CIRCLE = "chart-circle", "parse", "The checks of a fault-finding chart lead round in a circle.";
    DRAWING_HEAD = "drawing-head", "parse", "A drawing's file does not begin with its head, which says what it takes.";
    NOT_APPROVED = "not-approved", "press", "A guide is left out because nobody has approved it.";
    THEME = "theme", "set", "A template of the theme or of a drawing does something that it can't.";
    FORMULA_TAKEN = "formula-taken", "parse", "A formula of the shop's own has the name of one that is there already.";
    EXAMPLE_OUT = "example-out", "parse", "A worked example of a formula is missing, or is not what the formula works out.";
    // The command line.
    UNKNOWN_COMMAND = "unknown-command", "command", "The first word after the program's name is none of its commands.";
    UNKNOWN_OPTION = "unknown-option", "command", "A command does not have this option.";
    OPTION_VALUE = "option-value", "command", "An option has no value, or has one and takes none.";
    MISSING_OPTION = "missing-option", "command", "A command needs an option that is not given.";
    UNKNOWN_SHEET = "unknown-sheet", "command", "No sheet of the library has this number.";
    SECOND_INITIALS = "second-initials", "command", "Figures under a safety notice are to be signed, by one person alone.";
    NOT_A_PAIR = "not-a-pair", "command", "A word on the command line is not of the form name=value.";
    GIVEN_TWICE = "given-twice", "command", "A name is given twice on the command line.";
    NOT_A_WORD = "not-a-word", "command", "A command takes no words, and one stands there.";
    UNKNOWN_FORMULA = "unknown-formula", "evaluate", "No formula has this name.";
    NOTHING_FOUND = "nothing-found", "command", "No formula holds all the words that were looked for.";
    // Add the faults of the later stages below, grouped by stage.
}

/// The candidate that somebody probably meant: the nearest within a third of
/// the word's length in edits (one at least), blind to case; the first of
/// equals. A word that is itself a candidate gets no suggestion of itself.
#[must_use]
pub fn did_you_mean<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let letters: Vec<char> = word.to_lowercase().chars().collect();
    let allowed = (letters.len() / 3).max(1);
    candidates
        .into_iter()
        .filter(|candidate| *candidate != word)
        .filter_map(|candidate| Some((edits(&letters, candidate, allowed)?, candidate)))
        // One letter for one other letter is a different word, not a slip.
        .filter(|(distance, _)| *distance < letters.len())
        .min_by_key(|(distance, candidate)| (*distance, candidate.chars().count().abs_diff(letters.len())))
        .map(|(_, candidate)| candidate)
}

/// Edits between two words (a letter added, lost or changed, two neighbours
/// swapped), or nothing if more than `allowed` are needed.
fn edits(word: &[char], candidate: &str, allowed: usize) -> Option<usize> {
    let other: Vec<char> = candidate.to_lowercase().chars().collect();
    if word.len().abs_diff(other.len()) > allowed || word.len() > LONGEST_WORD {
        return None;
    }
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=other.len()).collect();
    for row in 1..=word.len() {
        let mut now = vec![row];
        for column in 1..=other.len() {
            let changed = usize::from(word[row - 1] != other[column - 1]);
            let mut best = (last[column] + 1).min(now[column - 1] + 1).min(last[column - 1] + changed);
            if row > 1 && column > 1 && word[row - 1] == other[column - 2] && word[row - 2] == other[column - 1] {
                best = best.min(before[column - 2] + 1);
            }
            now.push(best);
        }
        // From here on the number of edits can only grow.
        if now.iter().min().is_none_or(|least| *least > allowed) {
            return None;
        }
        before = std::mem::replace(&mut last, now);
    }
    last.last().copied().filter(|distance| *distance <= allowed)
}

/// Beyond this many letters a word is not a slip of the pen, and the sum of
/// edits would cost more than its answer is worth.
const LONGEST_WORD: usize = 80;

#[cfg(test)]
mod tests {
    use super::{did_you_mean, id};

    #[test]
    fn suggests_the_nearest_word() {
        let words = ["chainstay", "chainring", "sprocket", "links"];
        assert_eq!(did_you_mean("chianstay", words), Some("chainstay"));
        assert_eq!(did_you_mean("ChainRing", words), Some("chainring"));
        assert_eq!(did_you_mean("link", words), Some("links"));
        assert_eq!(did_you_mean("links", words), None);
        assert_eq!(did_you_mean("tyre", words), None);
        assert_eq!(did_you_mean("", words), None);
        assert_eq!(did_you_mean("b", ["a"]), None);
        assert_eq!(did_you_mean(&"x".repeat(100_000), words), None);
    }

    #[test]
    fn ids_are_unique_and_explained() {
        let stages = ["read", "parse", "evaluate", "set", "press", "command"];
        for (index, (id, stage, meaning)) in id::ALL.iter().enumerate() {
            assert!(id::ALL[..index].iter().all(|other| other.0 != *id), "{id} twice");
            assert!(id.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'));
            assert!(stages.contains(stage), "{id}: {stage}");
            assert!(meaning.ends_with('.') && meaning.len() > 20, "{id}");
        }
    }
}
