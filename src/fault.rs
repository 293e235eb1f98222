//! What can be wrong, as values: the fault, its id and its place.
//!
//! Every stage collects faults and goes on, so that one run reports all of
//! them. The table of ids below is the only list: `locknut meaning`, the tests
//! and the manual read it. Nothing is printed here; `diagnostic` draws faults.

mod near;

pub use near::did_you_mean;

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
    ($($name:ident = $id:literal, $stage:literal, $meaning:literal $(, $how:literal, $mend:literal)?;)*) => {
        /// Every fault id, as constants and as one list for `meaning` and tests.
        pub mod id {
            $(#[doc = $meaning] pub const $name: &str = $id;)*

            /// Each id with the stage that objects and a sentence of meaning.
            pub const ALL: &[(&str, &str, &str)] = &[$(($id, $stage, $meaning)),*];

            /// Each id with how its fault comes about and how it is mended; a row without them fails a test.
            pub const TOLD: &[(&str, &str, &str)] = &[$(($id, concat!($($how)?), concat!($($mend)?))),*];
        }
    };
}

// A row: constant, id (names the fault, never the remedy), stage (read, parse,
// evaluate, set, press or command), meaning in one sentence; below it how it
// comes about, and how it is mended.
ids! {
    // Reading YAML: front matter, blocks and the library's own files.
    YAML_SYNTAX = "yaml-syntax", "read", "The lines do not follow the form of YAML: keys, colons, values and indentation.",
        "A colon within a text, an open bracket or quotation mark, or a line that is set in too far or not far enough.", "Go to the sign that the fault points at. Put quotes round texts with a colon or an odd sign, close what is open, and line up keys that belong together.";
    YAML_TOO_LARGE = "yaml-too-large", "read", "A YAML text is larger than any page or list needs to be.",
        "Something was pasted into front matter, a block or a list that belongs elsewhere.", "Move long text into the body of the page, pictures into content/photos, and split a long list into files.";
    YAML_TOO_DEEP = "yaml-too-deep", "read", "Lists and keys stand inside one another more deeply than anything here needs.",
        "Brackets or lists stand within one another far beyond what any key takes; often a bracket was never closed.", "Count the brackets, and write long lists one item to a line.";
    YAML_ANCHOR = "yaml-anchor", "read", "A text begins with &, which YAML reads as naming it for use elsewhere.",
        "A text was written without quotes and begins with &.", "Put quotes round the text. Values are not shared by anchors here; a stated figure is the way to write a value once.";
    YAML_ALIAS = "yaml-alias", "read", "A text begins with *, which YAML reads as a value written elsewhere.",
        "A text was written without quotes and begins with *, often a footnote's star.", "Put quotes round the text.";
    YAML_TYPE_MARK = "yaml-type-mark", "read", "A text begins with !, which YAML reads as a sort of value.",
        "A text was written without quotes and begins with an exclamation mark.", "Put quotes round the text, or leave the mark out.";
    YAML_MERGE_KEY = "yaml-merge-key", "read", "The key << asks for keys that are written elsewhere to be brought in.",
        "Keys were copied from a file of another program.", "Write the keys out where they are wanted.";
    YAML_SECOND_DOCUMENT = "yaml-second-document", "read", "A second part begins where there may be only one.",
        "A line of three hyphens stands within a YAML file, or front matter was pasted into one.", "Delete the line, or move what follows into a file of its own.";
    YAML_KEY_NOT_A_WORD = "yaml-key-not-a-word", "read", "Something other than a word stands before a colon.",
        "A list, a bracket or nothing stands before a colon.", "Write one word before each colon; put quotes round a text that holds one.";
    YAML_TWO_READINGS = "yaml-two-readings", "read", "The lines can be read in two ways, so nothing is sure.",
        "An odd mixture of lines, tabs and quotes, which two readers of YAML take differently.", "Put quotes round the text, and write lists and keys one to a line.";
    DUPLICATE_KEY = "duplicate-key", "read", "The same key is written twice in one place.",
        "A line was copied and its key left as it was, so that one of two values would be lost.", "Keep the one that is right. Two values of one sort belong in a list under one key.";
    UNKNOWN_KEY = "unknown-key", "read", "A key is not one that this place knows.",
        "A slip of the pen, or a key that belongs one level further in or out, or to another sort of file.", "Use the key that is suggested, or one of those that are listed; locknut meaning KEY says where a key belongs.";
    MISSING_KEY = "missing-key", "read", "A key that must be given is not there.",
        "The key was forgotten, or stands below another one because its line is set in.", "Add the key with its value. locknut meaning KEY says what it holds and gives a line that is right.";
    MISSING_VALUE = "missing-value", "read", "A key stands there with nothing after its colon.",
        "The value was to be written later, or stands on the next line without being set in.", "Write the value after the colon, or leave the key out where it may be left out.";
    WRONG_SHAPE = "wrong-shape", "read", "A list, names with values or a single value stands where another is wanted.",
        "A sentence stands where a list is wanted, or a list where one value is, or a colon within a text made a key of its first words.", "Write it as the line Allowed shows. Put quotes round a text that holds a colon; write lists one item to a line, each with a hyphen.";
    // The formula language.
    UNEXPECTED_CHARACTER = "unexpected-character", "parse", "A sign stands where a sum has no use for it.",
        "A sign of ordinary writing got into a sum: a comma, a question mark, a letter of another alphabet.", "Take it away. A product is written with *, a quotient with /.";
    BAD_NUMBER = "bad-number", "parse", "A number is not written in digits with one decimal point.",
        "A comma for the decimal point, a space or comma between thousands, or letters where only a number can stand.", "Write digits with one decimal point and no other sign: 1397.5.";
    BAD_VALUE = "bad-value", "parse", "A value is not written as a number with its unit.",
        "The value has words around it, lacks its number, or is a range written in another way.", "Write it as 5 N·m, 410 mm ± 2 mm, 5 to 6 N·m, at most 6 N·m or at least 1.5 mm.";
    UNKNOWN_UNIT = "unknown-unit", "parse", "A word after a number is no unit that is known here.",
        "A slip of the pen, or a sign that is in use elsewhere but not in the table of units.", "Use the sign that is suggested. locknut meaning lists all units.";
    OFFSET_UNIT = "offset-unit", "parse", "A temperature in °C or °F stands in a sum, where only K can.",
        "A temperature in °C or °F was put into a sum, where its zero would be counted as if it were nothing.", "Give such a temperature as a whole value, or work with differences in K.";
    AMBIGUOUS_POWER = "ambiguous-power", "parse", "A power after a unit could raise the unit or the whole value.",
        "A space stands before a ^ that follows a unit, so that it is not sure what is raised.", "Write mm^2 for the unit, or put brackets round the whole value: (12.7 mm)^2.";
    UNKNOWN_FUNCTION = "unknown-function", "parse", "A word before a bracket is no function that is known here.",
        "A slip of the pen in the word before a bracket, or an asterisk that is missing between a name and a bracket.", "Use one of the functions that are listed, or write the product with *.";
    WRONG_ARGUMENTS = "wrong-arguments", "parse", "A function is not given the values that it takes.",
        "Too few or too many values stand between a function's brackets, or if, balance or lookup lack a part.", "Give what the line Allowed shows; locknut meaning FUNCTION gives an example.";
    UNCLOSED_BRACKET = "unclosed-bracket", "parse", "A bracket is opened and never closed.",
        "One closing bracket is missing, often after a long quotient.", "Close it where the part that belongs together ends.";
    TOO_DEEP = "too-deep", "parse", "Brackets, powers or balances stand inside one another too deeply.",
        "Hundreds of brackets stand within one another, or one balance within others.", "Split the sum into steps, each with a name.";
    NO_COMPARISON = "no-comparison", "parse", "A limit compares nothing.",
        "A limit holds a sum alone, without <, <=, >, >= or == in it.", "Compare two things: chain.links <= stock.longest_chain.";
    MIXED_CHAIN = "mixed-chain", "parse", "A chain of comparisons points both ways.",
        "A chain such as a < b > c says two things at once.", "Let all its signs point one way, or write two limits.";
    UNKNOWN_NAME = "unknown-name", "evaluate", "A sum or a mark uses a name that nothing here has.",
        "A slip of the pen, a working that stands on another page, or a figure that is called otherwise.", "Use the name that is suggested. A working is known on its own page only; a stated figure is SUBJECT.NAME everywhere.";
    INCOMPATIBLE_UNITS = "incompatible-units", "evaluate", "Two values that must measure the same do not.",
        "A length was added to a mass, or compared with one; often a bracket or a factor is missing.", "Look at the two sides that the fault names, and bring them to one kind of figure.";
    POWER_NOT_FIXED = "power-not-fixed", "evaluate", "The power of a value with a unit depends on another value.",
        "A value with a unit is raised to a power that is worked out, so that nobody can say what it measures.", "Raise plain numbers only, or write the power as a number.";
    POWER_WITHOUT_UNIT = "power-without-unit", "evaluate", "No unit measures this power or root.",
        "A value with a unit is raised to a broken power, or a root is taken that no unit measures.", "Divide by a value of the same kind first, so that a plain number is raised.";
    UNKNOWN_TABLE = "unknown-table", "evaluate", "A look-up names a table that the formula does not have.",
        "A slip of the pen in the first word of a look-up, or a table that was renamed.", "Use the name of a table under tables.";
    // Formula files.
    BAD_NAME = "bad-name", "parse", "Something has a name that a sum or a page can't use.",
        "Capitals, spaces, a single letter or a digit in front make a name that a sum or a page can't use.", "Write small letters first, then digits; the line Allowed shows which other signs may stand.";
    RESERVED_NAME = "reserved-name", "parse", "A name is that of a unit, a function or a constant.",
        "The name is a unit, a function or a word of the language, so that a sum could be read in two ways.", "Choose a longer word: stay_length in place of m.";
    NAME_TWICE = "name-twice", "parse", "Two things have one name.",
        "A block, a part or a file was copied and its name left as it was.", "Give one of the two another name, and look where the first one is used.";
    UNKNOWN_KIND = "unknown-kind", "parse", "A kind of figure is not in the table of kinds.",
        "A slip of the pen, or the name of a unit where a kind is wanted.", "Use the word that is suggested; locknut meaning lists the kinds.";
    UNIT_OF_ANOTHER_KIND = "unit-of-another-kind", "parse", "The unit of an input, output or table does not measure its kind.",
        "The unit measures something else: J where a torque wants N·m, or psi for a length.", "Use one of the units that are listed, or mend the kind.";
    BAD_STEP = "bad-step", "parse", "A step has no name before an equals sign.",
        "A step was written as a sum alone, or with a colon in place of the equals sign.", "Write a name, an equals sign and the sum: twice = 2 * stay.";
    TOO_MANY_STEPS = "too-many-steps", "parse", "A formula has more inputs and steps than can be worked.",
        "A formula or a rule grew beyond what can be bounded in reasonable time.", "Split it into two; a working can use the figures of another.";
    OUTPUT_WITHOUT_STEP = "output-without-step", "parse", "An output is the name of no step.",
        "An output is called otherwise than the step that gives it, or the step was taken away.", "Give the step the output's name, or take the output away.";
    TABLE_GAP = "table-gap", "parse", "The rows of a table do not follow one another.",
        "A row begins elsewhere than the one before it ends, so that a value between them would find nothing, or two rows.", "Begin each row where the one before it ends.";
    // Values for a formula.
    UNKNOWN_INPUT = "unknown-input", "evaluate", "A value is given for a name that the formula does not take.",
        "A slip of the pen, or an input of another formula.", "Use the name that is suggested; locknut reckon FORMULA lists what a formula takes.";
    MISSING_INPUT = "missing-input", "evaluate", "A value that the formula needs is not given.",
        "Something that the formula can't do without is not given.", "Give it under given, or on the command line as name=value; locknut reckon FORMULA says how it is measured.";
    UNIT_MISSING = "unit-missing", "evaluate", "A value that has a unit is written without one.",
        "A bare number stands where millimetres and inches would both make sense.", "Write the unit after the number.";
    PERCENT_SIGN_MISSING = "percent-sign-missing", "evaluate", "A percentage is written without its sign.",
        "A bare 8 could be 8 % or the ratio 8.", "Write the sign after the number: 8 %.";
    WRONG_KIND = "wrong-kind", "evaluate", "A value measures something else than the input asks for.",
        "A value has a unit of another kind, or a figure of another kind is given: a mass for a length.", "Give a value in one of the units that are listed, and see that it is the input that you mean.";
    WRONG_LABEL = "wrong-label", "evaluate", "A count is labelled as a count of something else.",
        "Links are given for teeth, or teeth for links.", "Give the count that the input asks for; its own word may be left out.";
    NOT_WHOLE = "not-whole", "evaluate", "A count is not a whole number.",
        "A count such as teeth was given a fraction, often from a sum that was not rounded.", "Give a whole number; round() makes one in a sum.";
    COUNT_WITH_TOLERANCE = "count-with-tolerance", "evaluate", "A count carries a tolerance.",
        "A tolerance stands after a count; teeth are counted and not measured.", "Leave the tolerance out.";
    OUT_OF_RANGE = "out-of-range", "evaluate", "A value lies outside what the formula allows for it.",
        "A digit slipped, the unit is wrong, or two values changed places.", "Measure again as the line Do says. The range holds all that occurs on bicycles.";
    NO_ANSWER = "no-answer", "evaluate", "The formula has no answer for these values.",
        "The values contradict each other, so that a root or a quotient has no answer.", "Check them against each other; one is usually measured elsewhere than the formula asks.";
    // Pages.
    NOT_A_FILE = "not-a-file", "read", "A folder or a link stands where a file is wanted.",
        "A folder or a link stands where a page or a list is read. Links are not followed, so that a library holds all that it needs.", "Put the file itself there, or move it away.";
    FILE_TOO_LARGE = "file-too-large", "read", "A file is larger than any page or list needs to be.",
        "A picture was pasted into a page, or a list grew beyond what anybody reads.", "Split the file; pictures go into content/photos.";
    NOT_UTF8 = "not-utf8", "read", "A file can't be read as text: it was not saved with the encoding UTF-8.",
        "An editor saved the file in an old encoding.", "Open it in a text editor and save it again with the encoding UTF-8.";
    BAD_DATE = "bad-date", "read", "A date is not a day of the calendar, written 2026-05-03.",
        "A day is written in another order, or does not exist.", "Write year, month and day with hyphens: 2026-05-03.";
    STRAY_FILE = "stray-file", "read", "A file has no place in a library and is left aside.",
        "The file stands in no folder that a library has, or its ending is another one.", "Move it where it belongs, or out of content.";
    INVISIBLE_SIGN = "invisible-sign", "read", "A file holds a sign that nobody sees and no page can hold.",
        "The sign came along with text that was copied from elsewhere.", "Delete it, and type the line again if it comes back.";
    FILE_NAME = "file-name", "read", "The name of a page's file can't stand in an address.",
        "The file's name holds capitals, spaces or signs that addresses spell otherwise.", "Give it small letters, digits and hyphens. A guide keeps its old address under formerly.";
    REGISTER_LINE = "register-line", "read", "A line of the register is none that sign writes.",
        "The file was edited by hand, or a merge left lines of its own in it.", "Take back the change, or take the line out and let locknut sign write it anew. Nothing but sign writes this file.";
    REGISTER_CONFLICT = "register-conflict", "read", "Two versions of the register were merged, and the merge is not finished.",
        "Two people signed on two branches, and the version control left its marks in the file.", "Keep the lines of both sides where they are about different figures. Where both hold the same figure, keep one, take the marks out, and look at locknut drift.";
    REGISTER_TWICE = "register-twice", "read", "The register holds one figure, or one revision of a sheet, twice.",
        "A merge kept both of two lines about one figure, or about one revision.", "Keep the line that was signed last, take the other out, and look at locknut drift.";
    FRONT_MATTER = "front-matter", "parse", "A page does not begin with front matter between two lines of hyphens.",
        "The first line is not three hyphens, or the second such line is missing.", "Begin the page with ---, write the keys, and close them with --- on a line of its own.";
    TOPIC_AND_FOLDER = "topic-and-folder", "parse", "A guide's topic is not the name of its folder.",
        "A guide was moved or copied into another folder, or its topic was changed.", "Move the file into the folder of its topic, or change the topic.";
    UNKNOWN_WORD = "unknown-word", "parse", "A topic, a hazard or a word for who does the work is not one that is known.",
        "A slip of the pen, or a word that is no member of the list.", "Use one of the words that are listed; locknut meaning WORD says what each means.";
    REVISION_LETTER = "revision-letter", "parse", "A revision is no letter or number that a next one can follow.",
        "The revision holds a word, a point or a space.", "Write a letter, such as B, or a whole number.";
    REVISION_TAKEN = "revision-taken", "parse", "A sheet's own revision is one that the register has given it already, or comes before that.",
        "Figures of the sheet changed and were signed, which gave it this letter; now its own words are said to have it too.", "Write the next letter in the front matter, with the day on which the words changed.";
    DEAD_LINK = "dead-link", "evaluate", "A link to the web leads nowhere.",
        "The page that the link leads to was moved or taken down, or its host does not answer.", "Look for where it stands now and write that address, or take the link out. Where the host was only busy, ask again later.";
    UNUSED = "unused", "evaluate", "A stated figure, a photo or parts are used by no sheet.",
        "Something was written for a sheet that is gone or does not mark it yet.", "Mark it on a sheet, or take it out; locknut where-used NAME says what rests on it.";
    UNIT_SPELLING = "unit-spelling", "evaluate", "A unit's sign is spelled otherwise than sheets write it.",
        "The sign was typed by hand, as other shops or programs spell it.", "Write the sign as the note says, or set the figure by a mark: then the unit comes by itself.";
    UNSIGNED_DRIFT = "unsigned-drift", "evaluate", "Published figures differ from the signed register.",
        "A stated figure, a part, a formula or a given value has changed since the figures that rest on it were signed.", "Look at them with locknut drift. Sign them with locknut sign if they are right, or take the change back.";
    NUMBER_TWICE = "number-twice", "parse", "Two sheets have one number.",
        "A sheet was copied and its number left as it was.", "Give the newer one the next free number. locknut begin takes it by itself.";
    HEADING_LEVEL = "heading-level", "parse", "A heading of the first level stands in the body of a page.",
        "The body begins with a heading of its own, but the title stands in the front matter.", "Begin operations with ##, and parts of one with ###.";
    OPERATION_ORDER = "operation-order", "parse", "The numbers of operations do not rise.",
        "A heading begins with a number that is not above the one before it.", "Let the numbers rise. Between 10 and 20 there is room for nine more.";
    UNKNOWN_BLOCK = "unknown-block", "parse", "The word after three back-ticks is the name of no block.",
        "A slip of the pen after three back-ticks, or a language of code that pages don't know.", "Use a block's word, or text, yaml or markdown for lines that are shown as they are.";
    UNCLOSED_FENCE = "unclosed-fence", "parse", "A block is opened, with back-ticks or tildes, and never closed.",
        "The closing back-ticks are missing, fewer than the opening ones, or set in otherwise.", "Close the block with as many back-ticks as opened it, set in as far.";
    UNCLOSED_COMMENT = "unclosed-comment", "parse", "A comment is opened and never closed.",
        "The --> that ends a comment is missing, or has a space in it.", "Write --> where the comment ends. All that stands behind it is left out of the page until then.";
    SIGNAL_WORD = "signal-word", "parse", "A safety notice does not begin with its signal word.",
        "The notice begins with its text, or with another word.", "Begin it with danger, warning, caution or notice on a line of its own.";
    BAD_MARK = "bad-mark", "parse", "A mark for a figure is not written as one.",
        "A mark lacks its name or its bracket, or has a word that marks don't know.", "Write (=chain.links), (=chain.length in inch), or (=chain.length in inch to 0.01). A bracket and an equals sign that are no mark are written \\(=.";
    UNKNOWN_OUTPUT = "unknown-output", "evaluate", "A working shows or claims something that its formula does not give.",
        "A slip of the pen under show, claim or unit, or a formula that was exchanged.", "Use one of the results that are listed; locknut reckon FORMULA lists them too.";
    WORKING_CIRCLE = "working-circle", "evaluate", "Workings need each other's results in a circle.",
        "One working takes a figure of a second, which takes one of the first.", "Give one of them a measured or a stated value.";
    LIMIT_STOPS = "limit-stops", "evaluate", "A limit of the formula means that there is no answer.",
        "With these values the question has no answer, as when a bike would never stop.", "Read what the limit says, and change what is given.";
    CLAIM_OUT = "claim-out", "evaluate", "A claim is not what the formula works out.",
        "The claim was worked out by hand for other values, or a value, a stated figure or the formula has changed since.", "Find out which of the two is wrong before you change either. Then mend the given values, or the claim.";
    LIMIT_BROKEN = "limit-broken", "evaluate", "A limit of the page does not hold over the whole of the tolerances.",
        "The figure lies beyond the limit, or its tolerance reaches beyond.", "Change what is given, measure more closely, or keep a part for which the limit holds.";
    BROKEN_LINK = "broken-link", "evaluate", "A link leads to no page of the library, or to no place on it.",
        "The page was renamed or removed, the path is not counted from this file's folder, or the operation has another number.", "Write the path to the source file from this file's folder, as the line Do suggests.";
    PHOTO_MISSING = "photo-missing", "evaluate", "A page asks for a photo that the library does not have.",
        "The photo was never put into content/photos, or is called otherwise.", "Put it there, or write its name as it is, capitals too.";
    PHOTO_ELSEWHERE = "photo-elsewhere", "evaluate", "A page asks for a photo that stands outside the library.",
        "The path leads to the web or out of the library, and a reader in a garage has neither.", "If you may use the picture, save it in content/photos and write the path to it.";
    PHOTO_UNREADABLE = "photo-unreadable", "evaluate", "A photo is damaged, too large or of a form that a sheet can't show.",
        "The file was cut short, is no picture, or is of a form that browsers don't show.", "Save it again as JPEG, PNG or WebP.";
    PHOTO_WITHOUT_ALT = "photo-without-alt", "evaluate", "Nothing says what a photo shows to somebody who can't see it.",
        "The square brackets before the path are empty.", "Write between them what the photo shows, for somebody who can't see it.";
    UNAPPROVED_LINK = "unapproved-link", "evaluate", "A link leads to a page that nobody has approved, so that it is not pressed.",
        "The page that the link leads to lacks approved_by, so that readers would find nothing there.", "Have it read and approved, or take the link out until then.";
    LOOSE_FIGURE = "loose-figure", "evaluate", "A number with a unit has no working or source, and names no size.",
        "A number with a unit was typed into the text. When its source changes, nobody will find it there.", "Use a mark: (=chain.links) for what a working gives, (=torque.stem) for a stated figure. A size that is a name goes under nominal, tools or consumables.";
    UNKNOWN_BIKE = "unknown-bike", "evaluate", "There is no build sheet of this name.",
        "A slip of the pen, or a build sheet that was renamed.", "Use the name of a file in content/bikes, without its ending.";
    FORMERLY_TAKEN = "formerly-taken", "evaluate", "A former address is that of a page, or of two pages.",
        "A former address is in use again, or two pages say that they stood there.", "Leave it to the page that most readers look for, and take it out of the other.";
    STALE_FIGURE = "stale-figure", "evaluate", "A stated figure has not been looked up again for longer than the shop allows.",
        "Nobody has looked at the source of this figure for longer than stale_after in shop.yaml.", "Look at the marking or the standard again, mend the value if it has changed, and write the day under checked.";
    REVIEW_DUE = "review-due", "evaluate", "A page should have been read again by its date of review.",
        "The day under review_by has come.", "Read the sheet through, mend what has changed, and write a new day.";
    UNKNOWN_FAMILY = "unknown-family", "evaluate", "There is no family of parts of this name.",
        "A slip of the pen, or a file of the shelf that is called after no family.", "Use one of the families that are listed; locknut meaning lists them too.";
    UNKNOWN_ATTRIBUTE = "unknown-attribute", "evaluate", "A family of parts has no attribute of this name.",
        "A slip of the pen, or an attribute of another family.", "Use one of the attributes that are listed; locknut meaning FAMILY lists them with how each is measured.";
    UNKNOWN_PART = "unknown-part", "evaluate", "There is no part of this name on the shelf.",
        "A slip of the pen, or a part that left the shelf.", "Use a name of the shelf; locknut pair lists it.";
    ONE_END = "one-end", "evaluate", "A part is said to be at one end of a bicycle, which has only one of its sort.",
        "The word front or rear stands before a part of which a bicycle has only one.", "Leave the word out.";
    TABLE_SIZE = "table-size", "evaluate", "A table of parts has no cells, or more than anybody reads.",
        "One side of the table is a family without parts, or both sides together make more cells than anybody reads.", "Put parts on the shelf, or name fewer.";
    VERDICT_OUT = "verdict-out", "evaluate", "A claim about parts is not what the shelf says.",
        "Something on the shelf or in a rule has changed since the claim was written, or the claim was a guess.", "Read the reasons with locknut pair. Then mend the shelf or the claim.";
    PARTS_DO_NOT_FIT = "parts-do-not-fit", "evaluate", "Parts of a build sheet never go together.",
        "The build sheet names two parts that the rules keep apart.", "Read the reasons. Change a part, or mend what the shelf says of it.";
    LEFT_OUT = "left-out", "evaluate", "Too little is known of a bike for a part of its build sheet.",
        "Something that the drawing or list needs was neither measured nor is it known of a part.", "Measure what the note lists and write it under measured, or leave it: the rest of the sheet is whole.";
    UNKNOWN_DRAWING = "unknown-drawing", "evaluate", "There is no drawing of this name.",
        "A slip of the pen under of, or a drawing that was renamed.", "Use one of the drawings that are listed.";
    ANSWER_WAY = "answer-way", "parse", "An answer of a fault-finding chart leads nowhere, or two ways.",
        "An answer has none of go_on, read and bring_it_in, or more than one.", "Write the one way on.";
    ONE_ANSWER = "one-answer", "parse", "A check of a fault-finding chart has a single answer, and decides nothing.",
        "A check with one answer leads on whatever is seen.", "Write the other answers, or join the check with the next one.";
    UNKNOWN_CHECK = "unknown-check", "parse", "An answer leads to a check that the fault-finding chart does not have.",
        "A slip of the pen after go_on, or a check that was taken out.", "Use the name of a check of this chart.";
    CHECK_NOT_REACHED = "check-not-reached", "parse", "No answer of a fault-finding chart leads to this check.",
        "The answer that led to the check was changed or taken out.", "Lead an answer to it, or take the check out.";
    CHART_CIRCLE = "chart-circle", "parse", "The checks of a fault-finding chart lead round in a circle.",
        "An answer leads back to a check that the rider has done already.", "End that way with a page to read or with bring_it_in, or go on to a check that comes later.";
    DRAWING_HEAD = "drawing-head", "parse", "A drawing's file does not begin with its head, which says what it takes.",
        "The file lacks the comment with title, inputs and items at its very beginning.", "Begin the file with {#, its keys and #}. The bundled drawings show how.";
    NOT_APPROVED = "not-approved", "press", "A guide is left out because nobody has approved it.",
        "The page lacks approved_by, so that it is a draft.", "Have somebody else read it, then write their name under approved_by.";
    THEME = "theme", "set", "A template of the theme or of a drawing does something that it can't.",
        "A template asks for a name that is not there, runs too long, or sets something that could load a file or run a script.", "Mend the line that is named, or take the file away: the one that came with the program then stands in for it.";
    FORMULA_TAKEN = "formula-taken", "parse", "A formula of the shop's own has the name of one that is there already.",
        "A formula of the shop's own has the id of a bundled one or of another one of the shop's.", "Give it another id, or say under replaces which bundled formula it stands in for, and why.";
    EXAMPLE_OUT = "example-out", "parse", "A worked example of a formula is missing, or is not what the formula works out.",
        "A worked example gives something else than the steps, or a formula or rule of the shop's own has none.", "Work the example by hand. Then mend the steps or the example.";
    // The command line.
    UNKNOWN_COMMAND = "unknown-command", "command", "The first word after the program's name is none of its commands.",
        "A slip of the pen, or a word for another command.", "Use one of the commands that are listed; locknut alone says what each does.";
    UNKNOWN_OPTION = "unknown-option", "command", "A command does not have this option.",
        "A slip of the pen, or an option of another command.", "Use one of the options that are listed, or leave it out.";
    OPTION_VALUE = "option-value", "command", "An option has no value, or has one and takes none.",
        "The value after an option is missing or is none that it takes, or one stands after an option that takes none.", "Write it as the fault says; the command with --help lists its options.";
    MISSING_OPTION = "missing-option", "command", "A command needs an option that is not given.",
        "An option that the command can't do without is not given, and nobody sits at a terminal who could be asked.", "Write the option and its value; the command with --help lists its options.";
    UNKNOWN_SHEET = "unknown-sheet", "command", "No sheet of the library has this number.",
        "A slip of the pen, or the number of a sheet that was taken out.", "Use the number that stands in the sheet's title block.";
    SECOND_INITIALS = "second-initials", "command", "Figures under a safety notice are to be signed, by one person alone.",
        "Somebody can be hurt where one of these figures is wrong, so that two people look at it.", "Let a second person look at the figures, and give their initials after --with.";
    NOT_A_PAIR = "not-a-pair", "command", "A word on the command line is not of the form name=value.",
        "A space got in round the equals sign, or the name is missing.", "Write name=value without spaces, or put quotes round all three: 'chainstay=410 mm ± 2 mm'.";
    GIVEN_TWICE = "given-twice", "command", "A name is given twice on the command line.",
        "A name or an option stands there twice with two values, and nobody can say which is meant.", "Leave one of the two out.";
    NOT_A_WORD = "not-a-word", "command", "A command takes no words, and one stands there.",
        "A command takes another number of words than it was given.", "Write it as the fault says; the command with --help shows its form.";
    UNKNOWN_FORMULA = "unknown-formula", "evaluate", "No formula has this name.",
        "A slip of the pen, or a formula that has another name here.", "Use the name that is suggested; locknut reckon lists all formulas, and --find WORDS searches them.";
    NOTHING_FOUND = "nothing-found", "command", "No formula holds all the words that were looked for.",
        "The words stand in no formula's title, question or inputs.", "Try fewer words, or other ones; locknut reckon alone lists every formula.";
    FILE_TAKEN = "file-taken", "command", "The page that is to be begun, or kept as a draft, is there already.",
        "A page of this name was begun before; nothing that is there is written over.", "Give the new page another name, or go on with the one that is there.";
    NO_MEANING = "no-meaning", "command", "Nothing in the program or its files is called by this word.",
        "A slip of the pen, or a word that only this shop's own files have.", "Use the word that is suggested; locknut meaning alone lists what can be asked.";
    // Add the faults of the later stages below, grouped by stage.
}

#[cfg(test)]
mod tests {
    use super::id;

    #[test]
    fn ids_are_unique_and_explained() {
        let stages = ["read", "parse", "evaluate", "set", "press", "command"];
        for (index, (id, stage, meaning)) in id::ALL.iter().enumerate() {
            assert!(id::ALL[..index].iter().all(|other| other.0 != *id), "{id} twice");
            assert!(id.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'));
            assert!(stages.contains(stage), "{id}: {stage}");
            assert!(meaning.ends_with('.') && meaning.len() > 20, "{id}");
        }
        for (id, how, mend) in id::TOLD {
            for part in [how, mend] {
                assert!(part.ends_with('.') && part.len() > 15, "{id}: say how it comes about, and how it is mended");
            }
        }
    }
}
