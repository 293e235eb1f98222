//! The mechanics engine: formulas as data, worked with units, bounds and their working shown.
//!
//! It knows nothing of guides, files, pages or the command line. In the order of the story:

/// Term to interval.
pub mod bounds;
/// The bundled formulas.
pub mod bundle;
/// Term to number.
pub mod compute;
/// Numbers to decimal text.
pub mod digits;
/// What kind of thing a number measures.
pub mod dimension;
/// Bounds of every step over a box.
pub mod enclose;
/// An equation of somebody's own as a formula.
pub mod equation;
/// Worked examples, run.
pub mod example;
/// The tree of an expression.
pub mod expression;
/// Figures as text.
pub mod figure;
/// A formula as a datasheet.
pub mod formula;
/// The table of functions.
pub mod functions;
/// Numbers with guaranteed bounds.
pub mod interval;
/// Formulas as JavaScript, for a reader's own numbers.
pub mod javascript;
/// The keys of a formula file.
pub mod keys;
/// YAML to formula.
pub mod load;
mod load_parts;
/// Marks in text: `(=chain.links)`.
pub mod mark;
/// Formulas as MathML.
pub mod mathml;

mod number;
/// Whether parts go together: families, rules, verdicts.
pub mod pairing;
/// Text to tree: the grammar.
pub mod parser;
/// Tree to a line of text.
pub mod print;
/// Steps in order, and what they rest on.
pub mod program;
/// Written value to reading.
pub mod reading;
/// Term to interval with slopes.
pub mod rise;
/// Which tolerance decides a rounded figure.
pub mod settle;
/// Published tables as data.
pub mod table;
/// Tree to term: names, units and dimensions settled.
pub mod term;
/// A unit read from the front of a text.
pub mod unit_reader;
/// The tables of units and kinds.
pub mod units;
/// A formula worked once.
pub mod working;
/// A value as somebody writes it.
pub mod written;
