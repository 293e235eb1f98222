//! The tree of an expression, as it is written: every node with its place in the file.
//!
//! One tree serves all faces of a formula: it is resolved to a `Term` for values and intervals, printed as MathML,
//! and (with the pages' own script) as JavaScript. Names are still words here, units are already known. Questions
//! that are answered by true, false or unknown share the tree: comparisons, and in the rules about parts `and`, `or`,
//! `not`, words and lists. Nothing is worked here.

use super::functions::Function;
use super::units::Unit;
use crate::text::{Span, Spanned};

/// A node of the tree with the bytes of the file that it was read from.
#[derive(Clone, Debug)]
pub struct Expression {
    /// Where it stands in the file.
    pub span: Span,
    /// What it is.
    pub form: Form,
}

/// What a node is.
#[derive(Clone, Debug)]
pub enum Form {
    /// A number, perhaps with a unit: `12.7 mm`.
    Number(Number),
    /// The number pi.
    Pi,
    /// An input, a step, or on a page a name with dots.
    Name(String),
    /// `-a`.
    Negate(Box<Expression>),
    /// `a + b` and its like.
    Binary(Operator, Box<Expression>, Box<Expression>),
    /// `a <= b < c`: one comparison more than there are signs.
    Compare(Vec<Expression>, Vec<Comparison>),
    /// `sqrt(a)`: a row of the table of functions with its arguments.
    Call(&'static Function, Vec<Expression>),
    /// `if(condition, a, b)`.
    If(Box<[Expression; 3]>),
    /// `balance(x, low, high, left, right)`.
    Balance(Box<Balance>),
    /// `lookup(table, value)`.
    Lookup(Spanned<String>, Box<Expression>),
    /// `"mineral oil"`: a word, in rules about parts.
    Word(String),
    /// `["round", "oval"]`: words or numbers, in rules about parts.
    List(Vec<Expression>),
    /// `a and b`, `a or b`: all of these, or any of these.
    Join(Junction, Vec<Expression>),
    /// `not a`.
    Not(Box<Expression>),
    /// `a among b`, `a shares b`.
    Belong(Belonging, Box<[Expression; 2]>),
    /// `unknown`: neither true nor false.
    Unknown,
}

/// The words between questions.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Junction {
    /// `and`
    And,
    /// `or`
    Or,
}

/// The words between a value and a list, or between two lists.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Belonging {
    /// The value is one of the list.
    Among,
    /// The two lists have something in common.
    Shares,
}

impl Junction {
    /// The word as a rule writes it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::And => "and",
            Self::Or => "or",
        }
    }
}

impl Belonging {
    /// The word as a rule writes it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Among => "among",
            Self::Shares => "shares",
        }
    }
}

/// A number as written.
#[derive(Clone, Debug)]
pub struct Number {
    /// The number in its unit.
    pub value: f64,
    /// The characters, with a point for the decimal sign.
    pub text: String,
    /// Its unit; plain where none was written.
    pub unit: Unit,
}

/// The parts of `balance(unknown, low, high, left, right)`.
#[derive(Clone, Debug)]
pub struct Balance {
    /// The name that is looked for, known in `left` and `right` only.
    pub unknown: Spanned<String>,
    /// One end of the search.
    pub low: Expression,
    /// The other end.
    pub high: Expression,
    /// One side of the balance.
    pub left: Expression,
    /// The other side.
    pub right: Expression,
}

/// The signs between two values.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Operator {
    /// `+`
    Add,
    /// `-`
    Subtract,
    /// `*`
    Multiply,
    /// `/`
    Divide,
    /// `^`
    Power,
}

/// The signs of comparison.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Comparison {
    /// `<`
    Less,
    /// `<=`
    AtMost,
    /// `>`
    More,
    /// `>=`
    AtLeast,
    /// `==`
    Same,
    /// `!=`
    Other,
}

impl Operator {
    /// How tightly the sign binds: a larger number binds first.
    #[must_use]
    pub fn rank(self) -> i8 {
        match self {
            Self::Add | Self::Subtract => 1,
            Self::Multiply | Self::Divide => 2,
            Self::Power => 4,
        }
    }

    /// The sign as a formula file writes it.
    #[must_use]
    pub fn sign(self) -> char {
        match self {
            Self::Add => '+',
            Self::Subtract => '-',
            Self::Multiply => '*',
            Self::Divide => '/',
            Self::Power => '^',
        }
    }
}

impl Comparison {
    /// The sign as a formula file writes it.
    #[must_use]
    pub fn sign(self) -> &'static str {
        match self {
            Self::Less => "<",
            Self::AtMost => "<=",
            Self::More => ">",
            Self::AtLeast => ">=",
            Self::Same => "==",
            Self::Other => "!=",
        }
    }

    /// Which way a chain with this sign runs: up, down, level, or not in a chain at all.
    #[must_use]
    pub fn direction(self) -> Option<i8> {
        match self {
            Self::Less | Self::AtMost => Some(1),
            Self::More | Self::AtLeast => Some(-1),
            Self::Same => Some(0),
            Self::Other => None,
        }
    }
}

impl Expression {
    /// Visits this node and all below it, outermost first.
    pub fn walk<'a>(&'a self, visit: &mut impl FnMut(&'a Self)) {
        visit(self);
        for part in self.parts() {
            part.walk(visit);
        }
    }

    /// The nodes right below this one, in the order in which they are written.
    #[must_use]
    pub fn parts(&self) -> Vec<&Self> {
        match &self.form {
            Form::Number(_) | Form::Pi | Form::Name(_) | Form::Word(_) | Form::Unknown => Vec::new(),
            Form::Negate(inner) | Form::Lookup(_, inner) | Form::Not(inner) => vec![inner],
            Form::Binary(_, left, right) => vec![left, right],
            Form::Compare(sides, _) => sides.iter().collect(),
            Form::Call(_, parts) | Form::List(parts) | Form::Join(_, parts) => parts.iter().collect(),
            Form::Belong(_, two) => two.iter().collect(),
            Form::If(three) => three.iter().collect(),
            Form::Balance(parts) => vec![&parts.low, &parts.high, &parts.left, &parts.right],
        }
    }

    /// Every name that is read, in the order of writing; a balance's own unknown is left out.
    #[must_use]
    pub fn names(&self) -> Vec<Spanned<&str>> {
        let mut unknowns = Vec::new();
        self.walk(&mut |node| {
            if let Form::Balance(parts) = &node.form {
                unknowns.push(parts.unknown.value.as_str());
            }
        });
        let mut names = Vec::new();
        self.walk(&mut |node| {
            if let Form::Name(name) = &node.form
                && !unknowns.contains(&name.as_str())
            {
                names.push(Spanned { value: name.as_str(), span: node.span });
            }
        });
        names
    }
}
