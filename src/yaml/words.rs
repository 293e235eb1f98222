//! A YAML reader's objections in, plain words out: what is wrong and what to
//! do, for somebody who never saw a compiler.
//!
//! One flat table; the place comes from the reader's own marker.

use granit_parser::ErrorKind;

const QUOTES: &str = "put quotes round the text";

/// What is wrong, and what to do about it.
#[allow(clippy::too_many_lines)] // one flat table
pub(super) fn plain(kind: &ErrorKind) -> (String, &'static str) {
    use ErrorKind as E;
    let (message, cure) = match kind {
        E::UnclosedQuotedScalar | E::DocumentIndicatorInQuotedScalar => {
            ("this quotation mark is never closed", "close it with the same mark")
        }
        E::InvalidTrailingSingleQuotedScalar | E::InvalidTrailingDoubleQuotedScalar => (
            "something follows the closing quotation mark",
            "put the quotes round the whole text; inside single quotes write a single quote twice",
        ),
        E::UnknownQuotedScalarEscape
        | E::InvalidQuotedScalarHexEscape
        | E::InvalidUnicodeEscape
        | E::InvalidLowSurrogateHexEscape
        | E::InvalidLowSurrogate
        | E::MissingLowSurrogate
        | E::UnpairedLowSurrogate => (
            "a backslash in this text begins no sign that is known",
            "use single quotes, in which a backslash is itself, or write it twice",
        ),
        E::MappingValueNotAllowed => (
            "a colon can't stand here",
            "put quotes round a text that holds a colon; put a space after the colon of every key",
        ),
        E::SimpleKeyExpected | E::ExpectedBlockMappingKey => (
            "a key with a colon is wanted here",
            "write the key, a colon, a space and the value, in line with the keys above",
        ),
        E::InvalidColonPlacement
        | E::ExpectedFlowSequenceSeparator
        | E::ExpectedFlowMappingSeparator
        | E::UnclosedFlowCollection { .. }
        | E::UnexpectedEofFlowSequence
        | E::UnexpectedEofFlowMapping
        | E::UnexpectedEofImplicitFlowMapping
        | E::MappingKeyNotAllowed => (
            "a bracket or a comma is missing before this",
            "close every [ with ] and every { with }, with commas between the items",
        ),
        E::MisplacedFlowCollectionEnd | E::MismatchedFlowCollectionEnd { .. } => {
            ("this closing bracket does not belong to an open one", "take it away, or open it with its own kind")
        }
        E::TabNotAllowed
        | E::TabInBlockIndentation
        | E::TabAtBlockScalarStart
        | E::TabInIndentation
        | E::TabInPlainScalar => ("a tab stands where spaces are wanted", "use spaces to indent"),
        E::InvalidIndentation
        | E::InvalidFlowScalarIndent
        | E::InvalidQuotedScalarIndent
        | E::InvalidBlockScalarIndent
        | E::ExpectedBlockSequenceEntry
        | E::ExpectedDocumentStart
        | E::InvalidSimpleKey => {
            ("this line is not in line with those above it", "begin it under the keys or hyphens that it belongs with")
        }
        E::BlockSequenceEntryNotAllowed | E::BlockEntryInFlowCollection | E::InvalidBlockEntryWhitespace => {
            ("a list's hyphen can't stand here", "begin each item on a line of its own, or put quotes round the text")
        }
        E::UnexpectedCharacter { character } if character.is_control() && *character != '\t' => {
            ("an invisible sign stands here", "delete it, and type the line again if it comes back")
        }
        E::UnexpectedCharacter { character } => {
            return (format!("a text can't begin with {}", shown(*character)), QUOTES);
        }
        E::CommentNotSeparated | E::CommentInterceptedScalar => (
            "a remark, begun by #, can't stand here",
            "put a space before the #, or quotes round a text that holds one",
        ),
        E::DirectiveDisallowed | E::MissingDirectiveName | E::InvalidDirectiveName => {
            ("a line can't begin with %", QUOTES)
        }
        E::MissingAnchorOrAliasName => ("a text can't begin with & or *", QUOTES),
        E::UndeclaredTagHandle
        | E::ExpectedTagBang
        | E::InvalidTagTerminator
        | E::MissingTagUri
        | E::UnclosedVerbatimTag
        | E::InvalidTagEscape => ("a text can't begin with !", QUOTES),
        E::ZeroBlockScalarIndent | E::InvalidBlockScalarHeader => {
            ("only a line break may follow | or > here", "begin the text on the next line, indented")
        }
        E::BomInsideDocument => ("an invisible mark stands here", "delete it and type the line again"),
        _ => (
            "these lines can't be read as keys and values",
            "write each key with a colon, a space and its value; put quotes round texts with odd signs",
        ),
    };
    (message.to_owned(), cure)
}

/// Whether a reader's objection is to a tab.
pub(super) fn is_tab(kind: &ErrorKind) -> bool {
    use ErrorKind as E;
    matches!(
        kind,
        E::TabNotAllowed
            | E::TabInBlockIndentation
            | E::TabAtBlockScalarStart
            | E::TabInIndentation
            | E::TabInPlainScalar
    )
}

/// A character as it can be read aloud or found on the keyboard.
fn shown(character: char) -> String {
    match character {
        '`' => "a back-tick".to_owned(),
        '\t' => "a tab".to_owned(),
        c => c.to_string(),
    }
}
