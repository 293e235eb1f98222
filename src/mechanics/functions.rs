//! The table of functions: one row a function, and every face of it in that row.
//!
//! A row says how many values the function takes, what they measure, how it is worked for numbers and for
//! intervals, how steeply it rises (for tightening intervals), how it is set in MathML, how it is worked in a browser, and gives an example that
//! runs as a test. `if`, `balance` and `lookup` are no rows: they don't work all of their parts, and stand in the
//! grammar. A new function is a new row and nothing else.

use super::interval::{Interval, point, whole};

/// What a function takes and gives, as dimensions.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Dimensions {
    /// Plain numbers in, a plain number out.
    Plain,
    /// An angle in, a plain number out.
    OfAngle,
    /// A plain number in, an angle out.
    ToAngle,
    /// Two of the same kind in, an angle out.
    Direction,
    /// The square root of whatever comes in.
    Root,
    /// All of one kind in, the same kind out.
    Same,
}

/// How a function is set in a formula for readers.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Notation {
    /// Its name in upright letters before its arguments.
    Named(&'static str),
    /// A root sign over its argument.
    Root,
    /// Between these two fences: bars, floor or ceiling brackets.
    Fenced(&'static str, &'static str),
    /// As a power of e.
    Exponential,
}

/// One function of the language.
#[derive(Debug)]
pub struct Function {
    /// The word before the bracket.
    pub name: &'static str,
    /// What its values are called.
    pub parameters: &'static [&'static str],
    /// True where more values of the same kind may follow.
    pub repeats: bool,
    /// What it takes and gives.
    pub dimensions: Dimensions,
    /// The value at a point; not a number where there is none.
    pub value: fn(&[f64]) -> f64,
    /// Bounds of the value over a box; `None` where somewhere in the box there may be none.
    pub bounds: fn(&[Interval]) -> Option<Interval>,
    /// Bounds of every slope within the box, for the argument with this index.
    pub slope: fn(&[Interval], usize) -> Interval,
    /// True for the three functions that give whole numbers step by step.
    pub rounds: bool,
    /// How it is set for readers.
    pub notation: Notation,
    /// How it is worked in a reader's browser: an expression over `x`, the list of its values.
    pub javascript: &'static str,
    /// When there is no answer, for the message; empty where there always is one.
    pub no_answer: &'static str,
    /// What it does, in one sentence.
    pub about: &'static str,
    /// An expression and its value, run as a test.
    pub example: (&'static str, f64),
}

/// A word of the language that is no function: it stands in the grammar.
#[derive(Debug)]
pub struct LanguageWord {
    /// The word.
    pub word: &'static str,
    /// What it says, in a sentence or two.
    pub about: &'static str,
    /// A sum, or a question of a rule, that uses it.
    pub example: &'static str,
}

const fn word(word: &'static str, about: &'static str, example: &'static str) -> LanguageWord {
    LanguageWord { word, about, example }
}

/// Every word that the grammar keeps for itself; no input and no step is called by one.
pub const WORDS: &[LanguageWord] = &[
    word("pi", "The ratio of a circle's circumference to its diameter.", "circumference = pi * diameter"),
    word(
        "if",
        "One of two sums: a comparison, the sum where it holds, the sum where it does not.",
        "add = if(speeds > 1, 2, 0)",
    ),
    word(
        "balance",
        "The value at which two sums are the same: its name, the least and the most that it can be, and the two sums.",
        "side = balance(x, 1 mm, 90 mm, x * x, 1600 mm^2)",
    ),
    word(
        "lookup",
        "What a table gives for a value: the table's name, then the value.",
        "width = lookup(least_width, rim_width)",
    ),
    word("and", "In a question of a rule: both sides are true.", "hub.axle == fork.axle and hub.width == fork.width"),
    word("or", "In a question of a rule: one side at least is true.", "pad.worn or rotor.worn"),
    word("not", "In a question of a rule: the opposite.", "not cassette.worn"),
    word("among", "In a question of a rule: a value is one of a list.", "chain.speeds among [10, 11]"),
    word("shares", "In a question of a rule: two lists have something in common.", "lever.seals shares caliper.seals"),
    word(
        "unknown",
        "In a question of a rule: an answer that is neither yes nor no, so that the verdict is not known.",
        "unknown",
    ),
];

/// The function with this name.
#[must_use]
pub fn named(name: &str) -> Option<&'static Function> {
    FUNCTIONS.iter().find(|row| row.name == name)
}

const RISING: Interval = Interval { lo: 0.0, hi: f64::INFINITY };
const UNIT: Interval = Interval { lo: 0.0, hi: 1.0 };
const ONE: Interval = Interval { lo: 1.0, hi: 1.0 };
const ALWAYS: &str = "";

/// One argument's function: everything that such rows have in common.
const fn single(
    name: &'static str,
    parameters: &'static [&'static str],
    dimensions: Dimensions,
    value: fn(&[f64]) -> f64,
    bounds: fn(&[Interval]) -> Option<Interval>,
    slope: fn(&[Interval], usize) -> Interval,
) -> Function {
    Function {
        name,
        parameters,
        repeats: false,
        dimensions,
        value,
        bounds,
        slope,
        rounds: false,
        notation: Notation::Named(name),
        javascript: "",
        no_answer: ALWAYS,
        about: "",
        example: ("", 0.0),
    }
}

impl Function {
    const fn about(mut self, about: &'static str, example: (&'static str, f64)) -> Self {
        self.about = about;
        self.example = example;
        self
    }
    const fn set(mut self, notation: Notation) -> Self {
        self.notation = notation;
        self
    }
    const fn in_browser(mut self, javascript: &'static str) -> Self {
        self.javascript = javascript;
        self
    }
    const fn unless(mut self, no_answer: &'static str) -> Self {
        self.no_answer = no_answer;
        self
    }
    const fn rounding(mut self) -> Self {
        self.rounds = true;
        self
    }
    const fn repeating(mut self) -> Self {
        self.repeats = true;
        self
    }
}

/// Every function, in the order in which the manual lists them.
pub const FUNCTIONS: &[Function] = &[
    single("sqrt", &["value"], Dimensions::Root, |x| point::sqrt(x[0]), |x| x[0].sqrt(), slope_of_root)
        .set(Notation::Root)
        .unless("the square root of less than 0")
        .in_browser("Math.sqrt(x[0])")
        .about("The square root.", ("sqrt(9)", 3.0)),
    single("abs", &["value"], Dimensions::Same, |x| x[0].abs(), |x| Some(x[0].abs()), slope_of_size)
        .set(Notation::Fenced("|", "|"))
        .in_browser("Math.abs(x[0])")
        .about("The size of a value without its sign.", ("abs(-3)", 3.0)),
    single("min", &["a", "b"], Dimensions::Same, least, |x| join(x, Interval::min), |_, _| UNIT)
        .repeating()
        .in_browser("x.reduce(function(a,b){return b<a?b:a})")
        .about("The smallest of the values.", ("min(3, 2)", 2.0)),
    single("max", &["a", "b"], Dimensions::Same, greatest, |x| join(x, Interval::max), |_, _| UNIT)
        .repeating()
        .in_browser("x.reduce(function(a,b){return b>a?b:a})")
        .about("The largest of the values.", ("max(3, 2)", 3.0)),
    single("sin", &["angle"], Dimensions::OfAngle, |x| point::sin(x[0]), |x| Some(x[0].sin()), |x, _| x[0].cos())
        .in_browser("Math.sin(x[0])")
        .about("The sine of an angle.", ("sin(30 deg)", 0.5)),
    single("cos", &["angle"], Dimensions::OfAngle, |x| point::cos(x[0]), |x| Some(x[0].cos()), |x, _| -x[0].sin())
        .in_browser("Math.cos(x[0])")
        .about("The cosine of an angle.", ("cos(60 deg)", 0.5)),
    single("tan", &["angle"], Dimensions::OfAngle, |x| point::tan(x[0]), |x| x[0].tan(), slope_of_tan)
        .unless("the tangent of a right angle")
        .in_browser("Math.tan(x[0])")
        .about("The tangent of an angle.", ("tan(45 deg)", 1.0)),
    single("asin", &["ratio"], Dimensions::ToAngle, |x| point::asin(x[0]), |x| x[0].asin(), slope_of_asin)
        .set(Notation::Named("arcsin"))
        .unless("the angle whose sine is more than 1")
        .in_browser("Math.asin(x[0])")
        .about("The angle between -90 and 90 deg with this sine.", ("asin(0.5) / (1 deg)", 30.0)),
    single(
        "acos",
        &["ratio"],
        Dimensions::ToAngle,
        |x| point::acos(x[0]),
        |x| x[0].acos(),
        |x, i| -slope_of_asin(x, i),
    )
    .set(Notation::Named("arccos"))
    .unless("the angle whose cosine is more than 1")
    .in_browser("Math.acos(x[0])")
    .about("The angle between 0 and 180 deg with this cosine.", ("acos(0.5) / (1 deg)", 60.0)),
    single("atan", &["ratio"], Dimensions::ToAngle, |x| point::atan(x[0]), |x| Some(x[0].atan()), slope_of_atan)
        .set(Notation::Named("arctan"))
        .in_browser("Math.atan(x[0])")
        .about("The angle between -90 and 90 deg with this tangent.", ("atan(1) / (1 deg)", 45.0)),
    single(
        "atan2",
        &["y", "x"],
        Dimensions::Direction,
        |v| point::atan2(v[0], v[1]),
        |v| v[0].atan2(v[1]),
        slope_of_atan2,
    )
    .unless("the direction of nothing")
    .set(Notation::Named("arctan"))
    .in_browser("Math.atan2(x[0],x[1])")
    .about("The direction of the point with these sides, from -180 to 180 deg.", ("atan2(1, -1) / (1 deg)", 135.0)),
    single("exp", &["number"], Dimensions::Plain, |x| point::exp(x[0]), |x| Some(x[0].exp()), |x, _| x[0].exp())
        .set(Notation::Exponential)
        .in_browser("Math.exp(x[0])")
        .about("The power of e.", ("exp(0)", 1.0)),
    single("ln", &["number"], Dimensions::Plain, |x| point::ln(x[0]), |x| x[0].ln(), |x, _| inverse(x[0]))
        .unless("the logarithm of 0 or less")
        .in_browser("Math.log(x[0])")
        .about("The natural logarithm.", ("ln(exp(2))", 2.0)),
    single("floor", &["number"], Dimensions::Plain, |x| whole::floor(x[0]), |x| Some(x[0].floor()), |_, _| RISING)
        .set(Notation::Fenced("⌊", "⌋"))
        .rounding()
        .in_browser("E.floor(x[0])")
        .about("The whole number at or below.", ("floor(2.7)", 2.0)),
    single("ceil", &["number"], Dimensions::Plain, |x| whole::ceil(x[0]), |x| Some(x[0].ceil()), |_, _| RISING)
        .set(Notation::Fenced("⌈", "⌉"))
        .rounding()
        .in_browser("-E.floor(-x[0])+0")
        .about("The whole number at or above.", ("ceil(2.2)", 3.0)),
    single("round", &["number"], Dimensions::Plain, |x| whole::round(x[0]), |x| Some(x[0].round()), |_, _| RISING)
        .rounding()
        .in_browser("E.round(x[0])")
        .about("The nearest whole number; halves go away from zero.", ("round(-2.5)", -3.0)),
    single(
        "gcd",
        &["a", "b"],
        Dimensions::Plain,
        |v| common_divisor(v[0], v[1]),
        bounds_of_divisor,
        |_, _| Interval::WHOLE,
    )
    .unless("a common divisor of numbers that are not whole")
    .in_browser("E.gcd(x[0],x[1])")
    .about("The greatest common divisor of two whole numbers.", ("gcd(48, 18)", 6.0)),
];

fn least(values: &[f64]) -> f64 {
    values.iter().copied().fold(f64::INFINITY, |a, b| if b < a { b } else { a })
}

fn greatest(values: &[f64]) -> f64 {
    values.iter().copied().fold(f64::NEG_INFINITY, |a, b| if b > a { b } else { a })
}

fn join(values: &[Interval], two: fn(Interval, Interval) -> Interval) -> Option<Interval> {
    values.iter().copied().reduce(two)
}

/// 1 over an interval; every slope that it can't bound is left open.
fn inverse(value: Interval) -> Interval {
    ONE.divide(value).unwrap_or(Interval::WHOLE)
}

fn slope_of_root(x: &[Interval], _: usize) -> Interval {
    let steepest = x[0].sqrt().map_or(Interval::WHOLE, |root| inverse(root * Interval::point(2.0)));
    steepest.intersect(RISING).unwrap_or(RISING)
}

fn slope_of_size(x: &[Interval], _: usize) -> Interval {
    match x[0] {
        right if right.lo >= 0.0 => ONE,
        left if left.hi <= 0.0 => -ONE,
        _ => Interval::new(-1.0, 1.0),
    }
}

fn slope_of_tan(x: &[Interval], _: usize) -> Interval {
    x[0].tan().map_or(Interval::WHOLE, |tangent| ONE + tangent.square())
}

fn slope_of_asin(x: &[Interval], _: usize) -> Interval {
    let under = (ONE - x[0].square()).max(Interval::point(0.0));
    let steep = under.sqrt().map_or(RISING, inverse);
    let at_least_one = Interval::new(1.0, f64::INFINITY);
    steep.intersect(at_least_one).unwrap_or(at_least_one)
}

fn slope_of_atan(x: &[Interval], _: usize) -> Interval {
    inverse(ONE + x[0].square())
}

fn slope_of_atan2(v: &[Interval], index: usize) -> Interval {
    let square = v[0].square() + v[1].square();
    let side = if index == 0 { v[1] } else { -v[0] };
    side.divide(square).unwrap_or(Interval::WHOLE)
}

fn common_divisor(a: f64, b: f64) -> f64 {
    let (mut a, mut b) = (a.abs(), b.abs());
    if a.fract() != 0.0 || b.fract() != 0.0 || !a.is_finite() || !b.is_finite() {
        return f64::NAN;
    }
    while b > 0.0 {
        (a, b) = (b, a % b);
    }
    a
}

fn bounds_of_divisor(v: &[Interval]) -> Option<Interval> {
    if v[0].is_point() && v[1].is_point() {
        let divisor = common_divisor(v[0].lo, v[1].lo);
        return divisor.is_finite().then(|| Interval::point(divisor));
    }
    // Whole numbers can't be told from others within a wider interval.
    None
}
