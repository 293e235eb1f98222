//! Text to tree: the whole grammar of the formula language, one function a rule.
//!
//! ```text
//! condition = sum { ("<" | "<=" | ">" | ">=" | "==" | "!=") sum }     in `if`, `when` and `must` only
//! sum       = product { ("+" | "-") product }
//! product   = signed { ("*" | "/") signed }
//! signed    = "-" signed | power                                      -a^2 is -(a^2)
//! power     = atom [ "^" exponent ]                                   a^b^c is a^(b^c)
//! exponent  = "-" exponent | power
//! atom      = number [ unit ] | "pi" | name | call | "(" sum ")"
//! call      = function "(" sum { "," sum } ")"
//!           | "if" "(" condition "," sum "," sum ")"
//!           | "balance" "(" name "," sum "," sum "," sum "," sum ")"
//!           | "lookup" "(" name "," sum ")"
//! number    = digit { digit } [ "." digit { digit } ]                 no exponent, no thousands mark
//! name      = letter { letter | digit | "_" }                         on pages also "-" and "." between them
//! ```
//! A word right before `(` is a function. A unit follows its number after a space or at once and goes on as
//! `unit_reader` says. U+2212 is read as `-`. The first fault ends the reading of an expression.
//!
//! Rules about parts ask questions, in which brackets may hold a question too and names have dots:
//! ```text
//! question  = both { "or" both }
//! both      = denied { "and" denied }
//! denied    = "not" denied | asked
//! asked     = sum [ { sign sum } | ( "among" | "shares" ) sum ]       a name of its own is asked whether it is so
//! atom      = … | '"' letters '"' | "[" sum { "," sum } "]" | "unknown" | "(" question ")"
//! ```

/// The rules of questions.
mod questions;

use super::compute::MOST_ARGUMENTS;
use super::expression::{Balance, Comparison, Expression, Form, Number, Operator};
use super::functions::{self, Function};
use super::number::{NumberProblem, read_digits, until_comma};
use super::unit_reader::{self, sign_length};
use super::units::Unit;
use crate::fault::{Fault, id};
use crate::text::{Mapped, Span, Spanned, count};

/// Whose names stand in an expression.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Names {
    /// A formula's own: `ring_radius`.
    OfSteps,
    /// A page's: `chain.links`, `town-bike.chainstay`; a hyphen between name characters belongs to the name.
    OfPages,
    /// A rule's: `derailleur.capacity`, and its own steps.
    OfRules,
}

/// The words that join questions, so that none is taken for a unit.
const JOINING: [&str; 4] = ["and", "or", "among", "shares"];

/// Brackets and signs may stand inside one another this deeply.
const DEEPEST: usize = 64;

/// Reads a whole text as one expression without comparisons at its top.
///
/// # Errors
/// The first fault, with its place in the file.
pub fn parse_expression(text: &Mapped, names: Names) -> Result<Expression, Fault> {
    Parser::new(text, names).whole(Parser::parse_sum)
}

/// Reads a whole text as a condition: one comparison or a chain of them.
///
/// # Errors
/// The first fault, with its place in the file.
pub fn parse_condition(text: &Mapped, names: Names) -> Result<Expression, Fault> {
    Parser::new(text, names).whole(Parser::parse_condition)
}

/// Reads a whole text as a question of a rule about parts.
///
/// # Errors
/// The first fault, with its place in the file.
pub fn parse_question(text: &Mapped) -> Result<Expression, Fault> {
    Parser::new(text, Names::OfRules).whole(Parser::parse_question)
}

struct Parser<'a> {
    mapped: &'a Mapped,
    text: &'a str,
    at: usize,
    names: Names,
    depth: usize,
    /// How many calls are being read, one inside the other.
    calls: usize,
}

type Parsed<T> = Result<T, Fault>;

impl<'a> Parser<'a> {
    fn new(mapped: &'a Mapped, names: Names) -> Self {
        Self { mapped, text: mapped.text(), at: 0, names, depth: 0, calls: 0 }
    }

    fn whole(mut self, rule: fn(&mut Self) -> Parsed<Expression>) -> Parsed<Expression> {
        let expression = rule(&mut self)?;
        self.skip_space();
        if self.at < self.text.len() {
            return Err(self.unexpected("this has no place here"));
        }
        Ok(expression)
    }

    fn parse_condition(&mut self) -> Parsed<Expression> {
        let first = self.parse_sum()?;
        self.parse_compared(first, true)
    }

    /// The comparisons that follow a value; without one it stands for itself, unless one `must` be there.
    fn parse_compared(&mut self, first: Expression, must: bool) -> Parsed<Expression> {
        let mut sides = vec![first];
        let mut signs: Vec<Spanned<Comparison>> = Vec::new();
        while let Some(sign) = self.take_comparison() {
            signs.push(sign);
            sides.push(self.parse_sum()?);
        }
        check_chain(&signs)?;
        if signs.is_empty() && !must {
            return Ok(sides.remove(0));
        }
        if signs.is_empty() {
            return Err(Fault::new(id::NO_COMPARISON, sides[0].span, "nothing is compared here")
                .found(self.excerpt(sides[0].span))
                .allowed("two values with <, <=, >, >=, == or != between them")
                .cure("write a sign, such as <=, and what this is compared with"));
        }
        let span = sides[0].span.to(sides[sides.len() - 1].span);
        let signs = signs.into_iter().map(|sign| sign.value).collect();
        Ok(Expression { span, form: Form::Compare(sides, signs) })
    }

    fn parse_sum(&mut self) -> Parsed<Expression> {
        self.parse_left(&[('+', Operator::Add), ('-', Operator::Subtract)], Self::parse_product)
    }

    fn parse_product(&mut self) -> Parsed<Expression> {
        self.parse_left(&[('*', Operator::Multiply), ('/', Operator::Divide)], Self::parse_signed)
    }

    /// One left-associative rule: operands of `inner` with any of `signs` between them.
    fn parse_left(
        &mut self,
        signs: &[(char, Operator)],
        inner: fn(&mut Self) -> Parsed<Expression>,
    ) -> Parsed<Expression> {
        let mut left = inner(self)?;
        while let Some(operator) = self.take_operator(signs) {
            let right = inner(self)?;
            let span = left.span.to(right.span);
            left = Expression { span, form: Form::Binary(operator, Box::new(left), Box::new(right)) };
        }
        Ok(left)
    }

    fn parse_signed(&mut self) -> Parsed<Expression> {
        self.negated(Self::parse_power)
    }

    fn parse_exponent(&mut self) -> Parsed<Expression> {
        self.negated(Self::parse_power)
    }

    fn negated(&mut self, inner: fn(&mut Self) -> Parsed<Expression>) -> Parsed<Expression> {
        self.skip_space();
        let start = self.at;
        if !self.take_minus() {
            return inner(self);
        }
        self.deeper()?;
        let value = self.negated(inner)?;
        self.depth -= 1;
        let span = self.span_from(start);
        Ok(Expression { span, form: Form::Negate(Box::new(value)) })
    }

    fn parse_power(&mut self) -> Parsed<Expression> {
        self.skip_space();
        let start = self.at;
        let base = self.parse_atom()?;
        let spaced = self.rest().starts_with(' ');
        self.skip_space();
        if !self.rest().starts_with('^') {
            return Ok(base);
        }
        // In brackets the value is raised as a whole, and nothing is unclear.
        if let Form::Number(Number { unit, .. }) = &base.form
            && !unit.text.is_empty()
            && !self.text[start..].starts_with('(')
        {
            return Err(self.ambiguous_power(&base, spaced));
        }
        self.at += 1;
        self.deeper()?;
        let exponent = self.parse_exponent()?;
        self.depth -= 1;
        let span = base.span.to(exponent.span);
        Ok(Expression { span, form: Form::Binary(Operator::Power, Box::new(base), Box::new(exponent)) })
    }

    fn parse_atom(&mut self) -> Parsed<Expression> {
        self.skip_space();
        let start = self.at;
        match self.rest().chars().next() {
            Some('(') => self.parse_bracket(),
            Some('"') if self.names == Names::OfRules => self.parse_quoted(),
            Some('[') if self.names == Names::OfRules => self.parse_list(),
            Some(digit) if digit.is_ascii_digit() || digit == '.' => self.parse_number(),
            Some(letter) if letter.is_alphabetic() || letter == '_' => self.parse_word(start),
            _ => Err(self.unexpected("a value should stand here")),
        }
    }

    fn parse_bracket(&mut self) -> Parsed<Expression> {
        let start = self.at;
        self.at += 1;
        self.deeper()?;
        let inner = if self.names == Names::OfRules { self.parse_question()? } else { self.parse_sum()? };
        self.depth -= 1;
        self.expect_close(start)?;
        Ok(Expression { span: self.span_from(start), form: inner.form })
    }

    fn parse_number(&mut self) -> Parsed<Expression> {
        let start = self.at;
        let digits = match read_digits(self.rest()) {
            // Between the values of a function a comma parts them, with or without a space.
            Err(NumberProblem::Comma) if self.calls > 0 => read_digits(until_comma(self.rest())),
            digits => digits,
        };
        let (text, length) = digits.map_err(|problem| self.bad_number(problem))?;
        self.at += length;
        let value = text.parse().unwrap_or(f64::MAX);
        let unit = self.take_unit()?;
        let number = Number { value, text, unit };
        Ok(Expression { span: self.span_from(start), form: Form::Number(number) })
    }

    /// The unit behind a number, if one stands there.
    fn take_unit(&mut self) -> Parsed<Unit> {
        let gap = self.rest().len() - self.rest().trim_start_matches([' ', '\u{A0}', '\u{202F}', '\u{2009}']).len();
        let behind = &self.rest()[gap..];
        let Some((unit, length)) = unit_reader::read(behind) else {
            return self.check_no_word(gap).map(|()| Unit::none());
        };
        let span = self.mapped.span(self.at + gap..self.at + gap + length);
        if unit.has_offset() {
            return Err(Fault::new(
                id::OFFSET_UNIT,
                span,
                format!("{} has a zero of its own and can't be used in a sum", unit.shown(false)),
            )
            .found(self.excerpt(span))
            .allowed("K, in a sum, for temperatures and their differences")
            .cure("give the temperature as an input of its own, or write it in K"));
        }
        self.at += gap + length;
        Ok(unit)
    }

    /// After a number a word can only have been meant as a unit.
    fn check_no_word(&self, gap: usize) -> Parsed<()> {
        let behind = &self.rest()[gap..];
        let length = sign_length(behind);
        let word = &behind[..length];
        let range = self.at + gap..self.at + gap + length;
        let joins = self.names == Names::OfRules && JOINING.contains(&word);
        if length == 0 || joins || behind[length..].starts_with('(') && functions::named(word).is_some() {
            return Ok(());
        }
        Err(unknown_unit(word, self.mapped.span(range)))
    }

    fn parse_word(&mut self, start: usize) -> Parsed<Expression> {
        let word = self.take_name();
        if self.rest().starts_with('(') {
            return self.parse_call(start, word);
        }
        let form = match word {
            "pi" => Form::Pi,
            "unknown" if self.names == Names::OfRules => Form::Unknown,
            _ => Form::Name(word.to_owned()),
        };
        Ok(Expression { span: self.span_from(start), form })
    }

    fn parse_call(&mut self, start: usize, word: &str) -> Parsed<Expression> {
        let name_span = self.span_from(start);
        self.deeper()?;
        self.calls += 1;
        let form = match word {
            "if" => self.parse_if(start)?,
            "balance" => self.parse_balance(start)?,
            "lookup" => self.parse_lookup(start)?,
            _ => self.parse_function(start, Spanned { value: word, span: name_span })?,
        };
        self.calls -= 1;
        self.depth -= 1;
        Ok(Expression { span: self.span_from(start), form })
    }

    fn parse_function(&mut self, start: usize, word: Spanned<&str>) -> Parsed<Form> {
        let Some(function) = functions::named(word.value) else {
            let known = || functions::FUNCTIONS.iter().map(|row| row.name).chain(["if", "balance", "lookup"]);
            let fault =
                Fault::new(id::UNKNOWN_FUNCTION, word.span, format!("there is no function called {}", word.value));
            return Err(fault.allowed(known().collect::<Vec<_>>().join(", ")).nearest(
                word.value,
                known(),
                "use one of these",
            ));
        };
        let open = self.at;
        self.at += 1;
        let mut arguments = vec![self.parse_sum()?];
        while self.take(',') {
            arguments.push(self.parse_sum()?);
        }
        self.expect_close(open)?;
        check_count(function, arguments.len(), self.span_from(start))?;
        Ok(Form::Call(function, arguments))
    }

    fn parse_if(&mut self, start: usize) -> Parsed<Form> {
        let open = self.open();
        let condition = self.parse_condition()?;
        self.comma(start, "if(condition, value, other value)")?;
        let yes = self.parse_sum()?;
        self.comma(start, "if(condition, value, other value)")?;
        let no = self.parse_sum()?;
        self.expect_close(open)?;
        Ok(Form::If(Box::new([condition, yes, no])))
    }

    fn parse_balance(&mut self, start: usize) -> Parsed<Form> {
        const FORM: &str = "balance(new name, low, high, left, right)";
        let open = self.open();
        let unknown = self.bare_name(FORM)?;
        let mut sides = Vec::with_capacity(4);
        for _ in 0..4 {
            self.comma(start, FORM)?;
            sides.push(self.parse_sum()?);
        }
        self.expect_close(open)?;
        let [low, high, left, right] = <[Expression; 4]>::try_from(sides).map_err(|_| self.unexpected(FORM))?;
        Ok(Form::Balance(Box::new(Balance { unknown, low, high, left, right })))
    }

    fn parse_lookup(&mut self, start: usize) -> Parsed<Form> {
        const FORM: &str = "lookup(table, value)";
        let open = self.open();
        let table = self.bare_name(FORM)?;
        self.comma(start, FORM)?;
        let value = self.parse_sum()?;
        self.expect_close(open)?;
        Ok(Form::Lookup(table, Box::new(value)))
    }
}

/// The small steps: characters, spans and the faults that any rule may meet.
impl<'a> Parser<'a> {
    fn rest(&self) -> &'a str {
        &self.text[self.at..]
    }

    fn span_from(&self, start: usize) -> Span {
        self.mapped.span(start..self.at)
    }

    fn skip_space(&mut self) {
        let trimmed = self.rest().trim_start();
        self.at = self.text.len() - trimmed.len();
    }

    fn take(&mut self, sign: char) -> bool {
        self.skip_space();
        let found = self.rest().starts_with(sign);
        if found {
            self.at += sign.len_utf8();
        }
        found
    }

    fn take_minus(&mut self) -> bool {
        self.take('-') || self.take('\u{2212}')
    }

    fn take_operator(&mut self, signs: &[(char, Operator)]) -> Option<Operator> {
        signs.iter().find_map(|&(sign, operator)| {
            let taken = if operator == Operator::Subtract { self.take_minus() } else { self.take(sign) };
            taken.then_some(operator)
        })
    }

    fn take_comparison(&mut self) -> Option<Spanned<Comparison>> {
        const SIGNS: [(&str, Comparison); 8] = [
            ("<=", Comparison::AtMost),
            (">=", Comparison::AtLeast),
            ("==", Comparison::Same),
            ("!=", Comparison::Other),
            ("≤", Comparison::AtMost),
            ("≥", Comparison::AtLeast),
            ("<", Comparison::Less),
            (">", Comparison::More),
        ];
        self.skip_space();
        let (sign, value) = SIGNS.iter().find(|(sign, _)| self.rest().starts_with(sign))?;
        let start = self.at;
        self.at += sign.len();
        Some(Spanned { value: *value, span: self.span_from(start) })
    }

    fn take_name(&mut self) -> &'a str {
        let rest = self.rest();
        let length = match self.names {
            Names::OfSteps => rest.find(|c: char| !is_name_character(c)).unwrap_or(rest.len()),
            Names::OfPages => page_name_length(rest),
            Names::OfRules => rest.find(|c: char| !is_name_character(c) && c != '.').unwrap_or(rest.len()),
        };
        self.at += length;
        &rest[..length]
    }

    fn bare_name(&mut self, form: &str) -> Parsed<Spanned<String>> {
        self.skip_space();
        let start = self.at;
        let name = self.take_name().to_owned();
        if name.is_empty() {
            return Err(self.unexpected("a name should stand here").allowed(form));
        }
        Ok(Spanned { value: name, span: self.span_from(start) })
    }

    /// Steps over the bracket that opens a call, and says where it was.
    fn open(&mut self) -> usize {
        self.at += 1;
        self.at - 1
    }

    fn comma(&mut self, start: usize, form: &str) -> Parsed<()> {
        if self.take(',') {
            return Ok(());
        }
        // A bracket that closes too early is part of what was written.
        self.take(')');
        let span = self.span_from(start);
        let fault = Fault::new(id::WRONG_ARGUMENTS, span, "this function is not given what it takes");
        Err(fault.found(self.excerpt(span)).allowed(form).cure("give every part, with commas between them"))
    }

    fn expect_close(&mut self, open: usize) -> Parsed<()> {
        if self.take(')') {
            return Ok(());
        }
        if self.at < self.text.len() {
            return Err(self.unexpected("the bracket should close here").allowed(")"));
        }
        let span = self.mapped.span(open..open + 1);
        Err(Fault::new(id::UNCLOSED_BRACKET, span, "this bracket is never closed").cure("close it with )"))
    }

    fn deeper(&mut self) -> Parsed<()> {
        self.depth += 1;
        if self.depth <= DEEPEST {
            return Ok(());
        }
        let span = self.mapped.span(self.at..self.at);
        Err(Fault::new(id::TOO_DEEP, span, "brackets stand inside one another too deeply")
            .allowed(format!("{DEEPEST} at most"))
            .cure("work a part of it in a step of its own"))
    }

    fn excerpt(&self, span: Span) -> String {
        // The mapped text is searched for the piece by its place; a decoded piece gives its own characters.
        let range = (0..=self.text.len()).filter(|at| self.text.is_char_boundary(*at));
        let start = range.clone().find(|&at| self.mapped.span(at..at).start >= span.start).unwrap_or(0);
        let end = range.rev().find(|&at| self.mapped.span(at..at).start <= span.end).unwrap_or(self.text.len());
        self.text.get(start..end).unwrap_or(self.text).trim().to_owned()
    }

    fn unexpected(&self, wanted: &str) -> Fault {
        let next = self.rest().chars().next();
        let length = next.map_or(0, char::len_utf8);
        let span = self.mapped.span(self.at..self.at + length);
        let fault = Fault::new(id::UNEXPECTED_CHARACTER, span, wanted.to_owned());
        match next {
            None => fault.found("nothing more").cure("finish the sum"),
            Some(sign) => {
                let cure = match sign {
                    ',' => "write a decimal point, not a comma; thousands take no mark",
                    '<' | '>' | '=' | '≤' | '≥' | '!' => "write a comparison only in if, when or must",
                    '×' | '·' => "multiply with *",
                    '÷' => "divide with /",
                    '±' => "give the tolerance where the value itself is given, as in 410 mm ± 2 mm",
                    _ => "check the spelling; names are letters, digits and _",
                };
                fault.found(sign.to_string()).cure(cure)
            }
        }
    }

    fn bad_number(&self, problem: NumberProblem) -> Fault {
        let start = self.at;
        let (message, cure, length) = problem.words(self.rest());
        let span = self.mapped.span(start..start + length);
        Fault::new(id::BAD_NUMBER, span, message).found(self.rest()[..length].to_owned()).cure(cure)
    }

    fn ambiguous_power(&self, base: &Expression, spaced: bool) -> Fault {
        let written = self.excerpt(base.span);
        let hint = if spaced { "unit or whole value?" } else { "a unit takes one power only" };
        Fault::new(id::AMBIGUOUS_POWER, base.span, format!("this ^ is not clear: {hint}"))
            .found(format!("{written} ^"))
            .cure(format!("write ({written})^2 to raise the value; a unit's own ^ touches it, as in mm^2"))
    }
}

/// The fault of a word that is no unit, with a suggestion.
#[must_use]
pub fn unknown_unit(word: &str, span: Span) -> Fault {
    let fault = Fault::new(id::UNKNOWN_UNIT, span, format!("there is no unit called {word}")).found(word);
    fault.nearest(word, Unit::signs(), "write a unit that is known here, such as mm, N·m, bar, kg, deg or %")
}

fn is_name_character(c: char) -> bool {
    c.is_ascii_alphanumeric() || c == '_'
}

/// How long the page's name at the front is; a hyphen or dot counts only between name characters.
#[must_use]
pub fn page_name_length(text: &str) -> usize {
    let mut end = 0;
    let mut chars = text.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        let next_is_name = chars.peek().is_some_and(|(_, next)| is_name_character(*next));
        let joins = (c == '-' || c == '.') && at > 0 && next_is_name;
        if !is_name_character(c) && !joins {
            break;
        }
        end = at + c.len_utf8();
    }
    end
}

fn check_chain(signs: &[Spanned<Comparison>]) -> Parsed<()> {
    if signs.len() < 2 {
        return Ok(());
    }
    let directions: Vec<_> = signs.iter().map(|sign| sign.value.direction()).collect();
    if directions.iter().all(|way| way.is_some() && *way == directions[0]) {
        return Ok(());
    }
    let span = signs[0].span.to(signs[signs.len() - 1].span);
    Err(Fault::new(id::MIXED_CHAIN, span, "these comparisons point both ways")
        .allowed("a < b <= c, or a > b >= c")
        .cure("split it in two, or turn a sign round"))
}

fn check_count(function: &'static Function, given: usize, span: Span) -> Parsed<()> {
    let least = function.parameters.len();
    if given == least || function.repeats && (least..=MOST_ARGUMENTS).contains(&given) {
        return Ok(());
    }
    let form = format!("{}({})", function.name, function.parameters.join(", "));
    if function.repeats && given > least {
        let message = format!("{} takes {} at most", function.name, count(MOST_ARGUMENTS, "value"));
        return Err(Fault::new(id::WRONG_ARGUMENTS, span, message)
            .found(count(given, "value"))
            .cure(format!("put some of them into one more within this: {0}(a, {0}(b, c))", function.name)));
    }
    Err(Fault::new(
        id::WRONG_ARGUMENTS,
        span,
        format!("{} takes {}", function.name, count(function.parameters.len(), "value")),
    )
    .found(count(given, "value"))
    .allowed(form)
    .cure("give each value once, with commas between them"))
}
