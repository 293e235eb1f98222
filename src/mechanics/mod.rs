//! The mechanics engine: formulas as data, worked with units, bounds and their working shown.
//!
//! It knows nothing of guides, files, pages or the command line. In the order of the story:

/// What kind of thing a number measures.
pub mod dimension;
/// The tables of units and kinds.
pub mod units;
/// A unit read from the front of a text.
pub mod unit_reader;
/// Numbers with guaranteed bounds.
pub mod interval;
/// Numbers to decimal text.
pub mod digits;
/// The tree of an expression.
pub mod expression;
/// The table of functions.
pub mod functions;
/// Text to tree: the grammar.
pub mod parser;
/// A value as somebody writes it.
pub mod written;
/// Published tables as data.
pub mod table;
/// Tree to term: names, units and dimensions settled.
pub mod term;
/// Term to number.
pub mod compute;
/// Term to interval.
pub mod bounds;
/// Term to interval with slopes.
pub mod rise;
/// Bounds of every step over a box.
pub mod enclose;
/// Figures as text.
pub mod figure;
/// A formula as a datasheet.
pub mod formula;
/// YAML to formula.
pub mod load;
mod load_parts;
/// Written value to reading.
pub mod reading;
/// A formula worked once.
pub mod working;
/// The bundled formulas.
pub mod bundle;
