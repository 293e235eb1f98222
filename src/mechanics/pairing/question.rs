//! A rule's questions: tree to question with every name found, then true, false or unknown for given parts.
//!
//! The logic is Kleene's: `and` is false as soon as one side is, `or` true as soon as one side is, and otherwise an
//! unknown side leaves the whole unknown. A number that is not known makes its comparison unknown, and so does a
//! tolerance that reaches over both answers. An answer that is unknown remembers what was missing.

use super::family::{Attribute, Sort};
use super::value::{Value, same};
use crate::fault::{Fault, did_you_mean, id};
use crate::mechanics::bounds::{Truth, Walk};
use crate::mechanics::compute::{self, holds};
use crate::mechanics::dimension::Dimension;
use crate::mechanics::expression::{Belonging, Comparison, Expression, Form, Junction};
use crate::mechanics::interval::Interval;
use crate::mechanics::term::{Condition, PLACES, Scope, Term, resolve, resolve_condition};
use crate::mechanics::units::phrase;
use crate::text::Span;

/// A question, ready to be asked.
#[derive(Clone, Debug)]
pub enum Question {
    /// Numbers compared, and the places that they rest on.
    Compare(Condition, Vec<usize>),
    /// Two words, and whether they must be the same.
    Same(Operand, Operand, bool),
    /// A value is in a list, or two lists have something in common.
    Belong(Operand, Operand),
    /// An attribute that is yes or no.
    Flag(usize),
    /// The opposite.
    Not(Box<Question>),
    /// All of these, or any of these.
    Join(Junction, Vec<Question>),
    /// Neither true nor false.
    Unknown,
}

/// What stands beside `==`, `among` and `shares` where no numbers are reckoned.
#[derive(Clone, Debug)]
pub enum Operand {
    /// The attribute with this place among those that the rule reads.
    Read(usize),
    /// Words as written.
    Words(Vec<String>),
    /// Numbers as written or worked, and the places that they rest on.
    Numbers(Vec<Term>, Vec<usize>),
}

/// An attribute that a rule reads.
#[derive(Clone, Debug)]
pub struct Read {
    /// The name as the rule writes it: `derailleur.capacity`.
    pub name: String,
    /// Which of the joined parts has it.
    pub join: usize,
    /// The attribute.
    pub attribute: Attribute,
    /// Its place among the numbers; `None` of words, of yes and no, and of lists.
    pub place: Option<usize>,
}

/// What a rule knows of names: its attributes, then its steps.
#[derive(Clone, Debug, Default)]
pub struct Known {
    /// Names of numbers with their dimensions.
    pub scope: Scope,
    /// The attributes.
    pub reads: Vec<Read>,
}

/// The values of one set of parts for one rule.
#[derive(Clone, Debug)]
pub struct Given<'a> {
    /// By place among the attributes that the rule reads.
    pub values: Vec<Option<&'a Value>>,
    /// Numbers by place: attributes, then steps.
    pub numbers: [f64; PLACES],
    /// What is known of each place.
    pub state: Vec<State>,
    /// Bounds by place; `None` where every number is a point.
    pub bounds: Option<Vec<Interval>>,
}

/// What is known of a number.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum State {
    /// It is there.
    Known,
    /// These attributes are missing.
    Missing(Vec<usize>),
    /// It has no answer, or no bounds, for the values given.
    NoAnswer,
}

/// The answer to a question.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Answer {
    /// True, false, or open.
    pub truth: Truth,
    /// The attributes whose values would settle an open answer.
    pub missing: Vec<usize>,
}

impl Answer {
    fn sure(yes: bool) -> Self {
        Self { truth: if yes { Truth::Always } else { Truth::Never }, missing: Vec::new() }
    }

    fn open(missing: Vec<usize>) -> Self {
        Self { truth: Truth::Open, missing }
    }

    fn opposite(self) -> Self {
        let truth = match self.truth {
            Truth::Always => Truth::Never,
            Truth::Never => Truth::Always,
            Truth::Open => Truth::Open,
        };
        Self { truth, ..self }
    }
}

// ---- resolving ------------------------------------------------------------------------------------------------

type Resolved<T> = Result<T, Fault>;

/// Resolves a question against the names of its rule.
///
/// # Errors
/// The first name that isn't known, or place where things that can't be compared are.
pub fn resolve_question(expression: &Expression, known: &mut Known) -> Resolved<Question> {
    let span = expression.span;
    match &expression.form {
        Form::Unknown => Ok(Question::Unknown),
        Form::Not(inner) => Ok(Question::Not(Box::new(resolve_question(inner, known)?))),
        Form::Join(junction, parts) => {
            let parts = parts.iter().map(|part| resolve_question(part, known)).collect::<Resolved<_>>()?;
            Ok(Question::Join(*junction, parts))
        }
        Form::Name(name) => flag(name, span, known),
        Form::Belong(word, two) => belong(*word, &two[0], &two[1], known),
        Form::Compare(sides, signs) => match (&sides[..], &signs[..]) {
            ([left, right], [sign]) if is_wordy(left, known) || is_wordy(right, known) => {
                words_compared(left, *sign, right, span, known)
            }
            _ => {
                check_names(expression, known)?;
                let condition = resolve_condition(expression, &mut known.scope)?;
                let places = places(condition.sides.iter());
                Ok(Question::Compare(condition, places))
            }
        },
        _ => Err(Fault::new(id::NO_COMPARISON, span, "nothing is asked here")
            .allowed("a comparison, among, shares, or an attribute that is yes or no")
            .cure("say what this is compared with")),
    }
}

/// Names of single numbers are in the scope; any other attribute has a fault of its own here.
///
/// # Errors
/// The first name that is no number here.
pub fn check_names(expression: &Expression, known: &Known) -> Resolved<()> {
    for name in expression.names() {
        let read = known.reads.iter().find(|read| read.name == name.value);
        if read.is_some_and(|read| read.place.is_none()) {
            return Err(Fault::new(id::INCOMPATIBLE_UNITS, name.span, format!("{} is no single number", name.value))
                .cure("ask words and lists with ==, among and shares; write a yes-or-no name alone"));
        }
        if read.is_none() && known.scope.place(name.value).is_none() {
            return Err(unknown_name(name.value, name.span, known));
        }
    }
    Ok(())
}

fn unknown_name(name: &str, span: Span, known: &Known) -> Fault {
    let names = known.reads.iter().map(|read| read.name.as_str());
    Fault::new(id::UNKNOWN_NAME, span, format!("nothing here is called {name}")).found(name).nearest(
        name,
        names,
        "use an attribute of a joined part, such as derailleur.capacity, or a step of this rule",
    )
}

fn find<'k>(name: &str, known: &'k Known) -> Option<(usize, &'k Read)> {
    known.reads.iter().enumerate().find(|(_, read)| read.name == name)
}

fn flag(name: &str, span: Span, known: &Known) -> Resolved<Question> {
    match find(name, known) {
        Some((place, Read { attribute: Attribute { sort: Sort::YesNo, .. }, .. })) => Ok(Question::Flag(place)),
        Some(_) => Err(Fault::new(id::NO_COMPARISON, span, format!("{name} is not yes or no"))
            .cure("say what it is compared with")),
        None => Err(unknown_name(name, span, known)),
    }
}

/// True of words, lists and names of either.
fn is_wordy(side: &Expression, known: &Known) -> bool {
    match &side.form {
        Form::Word(_) | Form::List(_) => true,
        Form::Name(name) => find(name, known).is_some_and(|(_, read)| read.place.is_none()),
        _ => false,
    }
}

fn words_compared(
    left: &Expression,
    sign: Comparison,
    right: &Expression,
    span: Span,
    known: &mut Known,
) -> Resolved<Question> {
    let same = match sign {
        Comparison::Same => true,
        Comparison::Other => false,
        _ => {
            return Err(Fault::new(id::INCOMPATIBLE_UNITS, span, "words are the same or not, never more or less")
                .allowed("== and != between words")
                .cure("compare them so"));
        }
    };
    for side in [left, right] {
        check_listed(side, false, known)?;
    }
    let (one, other) = (operand(left, known)?, operand(right, known)?);
    check_word(&one, left, known)?;
    check_word(&other, right, known)?;
    for (word, of, span) in [(&one, &other, left.span), (&other, &one, right.span)] {
        check_vocabulary(word, of, span, known)?;
    }
    Ok(Question::Same(one, other, same))
}

/// A word as written must be one that the attribute beside it can have.
fn check_vocabulary(word: &Operand, of: &Operand, span: Span, known: &Known) -> Resolved<()> {
    let (Operand::Words(words), Operand::Read(place)) = (word, of) else { return Ok(()) };
    let Sort::Word(list) = &known.reads[*place].attribute.sort else { return Ok(()) };
    let Some(odd) = words.iter().find(|word| !list.is_empty() && !list.contains(word)) else { return Ok(()) };
    let fault = Fault::new(id::UNKNOWN_WORD, span, format!("{} is never {odd}", known.reads[*place].name))
        .found(odd.clone())
        .allowed(list.join(", "));
    let near = did_you_mean(odd, list.iter().map(String::as_str)).map(|near| format!("did you mean {near}?"));
    Err(fault.cure(near.unwrap_or_else(|| "use one of these words".to_owned())))
}

fn check_word(operand: &Operand, side: &Expression, known: &Known) -> Resolved<()> {
    let is_word = match operand {
        Operand::Read(place) => matches!(known.reads[*place].attribute.sort, Sort::Word(_)),
        Operand::Words(_) => true,
        Operand::Numbers(..) => false,
    };
    if is_word {
        return Ok(());
    }
    Err(Fault::new(id::INCOMPATIBLE_UNITS, side.span, "a word can't be compared with this")
        .cure("compare words with words; write a yes-or-no name alone"))
}

/// Where a list is wanted there is one, and nowhere else.
fn check_listed(side: &Expression, wanted: bool, known: &Known) -> Resolved<()> {
    let is_list = match &side.form {
        Form::List(_) => true,
        Form::Name(name) => find(name, known).is_some_and(|(_, read)| read.attribute.many),
        _ => false,
    };
    if is_list == wanted {
        return Ok(());
    }
    let (message, cure) = if wanted {
        ("a list is wanted here", "write [\"this\", \"that\"], or an attribute that is many")
    } else {
        ("a list is no single value", "ask with among or shares")
    };
    Err(Fault::new(id::INCOMPATIBLE_UNITS, side.span, message).cure(cure))
}

fn belong(word: Belonging, left: &Expression, right: &Expression, known: &mut Known) -> Resolved<Question> {
    check_listed(left, word == Belonging::Shares, known)?;
    check_listed(right, true, known)?;
    let (one, other) = (operand(left, known)?, operand(right, known)?);
    if is_number(&one, known) != is_number(&other, known) {
        return Err(Fault::new(id::INCOMPATIBLE_UNITS, left.span.to(right.span), "words are never among numbers")
            .cure("ask words of words, and numbers of numbers"));
    }
    check_vocabulary(&other, &one, right.span, known)?;
    check_vocabulary(&one, &other, left.span, known)?;
    let (first, second) = (measured(left, &one, known)?, measured(right, &other, known)?);
    if let Some((wanted, found)) = first.zip(second).filter(|(wanted, found)| wanted != found) {
        return Err(Fault::new(
            id::INCOMPATIBLE_UNITS,
            right.span,
            format!("this is {}, not {}", phrase(found), phrase(wanted)),
        )
        .cure("compare what measures the same"));
    }
    Ok(Question::Belong(one, other))
}

/// What the numbers of an operand measure; nothing of words.
fn measured(side: &Expression, operand: &Operand, known: &mut Known) -> Resolved<Option<Dimension>> {
    let items: Vec<&Expression> = match (&side.form, operand) {
        (_, Operand::Words(_)) => return Ok(None),
        (_, Operand::Read(place)) => {
            return Ok(known.reads[*place].attribute.number().map(|input| input.kind.dimension));
        }
        (Form::List(items), _) => items.iter().collect(),
        _ => vec![side],
    };
    let mut first = None;
    for item in items {
        let (_, dimension) = resolve(item, &mut known.scope)?;
        if *first.get_or_insert(dimension) != dimension {
            return Err(Fault::new(
                id::INCOMPATIBLE_UNITS,
                item.span,
                "the values of this list measure different things",
            )
            .cure("list what measures the same"));
        }
    }
    Ok(first)
}

fn is_number(operand: &Operand, known: &Known) -> bool {
    match operand {
        Operand::Read(place) => known.reads[*place].attribute.number().is_some(),
        Operand::Words(_) => false,
        Operand::Numbers(..) => true,
    }
}

fn operand(side: &Expression, known: &mut Known) -> Resolved<Operand> {
    match &side.form {
        Form::Word(word) => Ok(Operand::Words(vec![word.clone()])),
        Form::List(items) if items.iter().all(|item| matches!(item.form, Form::Word(_))) => {
            let word = |item: &Expression| if let Form::Word(word) = &item.form { Some(word.clone()) } else { None };
            Ok(Operand::Words(items.iter().filter_map(word).collect()))
        }
        Form::List(items) => numbers(items.iter(), known),
        Form::Name(name) if find(name, known).is_some_and(|(_, read)| read.place.is_none()) => {
            find(name, known).map(|(place, _)| Operand::Read(place)).ok_or_else(|| unknown_name(name, side.span, known))
        }
        _ => numbers(std::iter::once(side), known),
    }
}

fn numbers<'e>(items: impl Iterator<Item = &'e Expression>, known: &mut Known) -> Resolved<Operand> {
    let mut terms = Vec::new();
    for item in items {
        check_names(item, known)?;
        terms.push(resolve(item, &mut known.scope)?.0);
    }
    let places = places(terms.iter());
    Ok(Operand::Numbers(terms, places))
}

/// The places that terms read, each once.
pub fn places<'t>(terms: impl Iterator<Item = &'t Term>) -> Vec<usize> {
    let mut places = Vec::new();
    for term in terms {
        term.each_slot(&mut |place| {
            if place < crate::mechanics::term::BALANCE_PLACES && !places.contains(&place) {
                places.push(place);
            }
        });
    }
    places
}

// ---- asking ---------------------------------------------------------------------------------------------------

impl Given<'_> {
    /// What keeps some places from being reckoned with: the attributes that are missing; nothing where all are known.
    #[must_use]
    pub fn missing(&self, places: &[usize]) -> Option<Vec<usize>> {
        let mut missing = Vec::new();
        let mut open = false;
        for place in places {
            match &self.state[*place] {
                State::Known => {}
                State::Missing(reads) => {
                    open = true;
                    missing.extend(reads.iter().filter(|read| !missing.contains(*read)).copied().collect::<Vec<_>>());
                }
                State::NoAnswer => open = true,
            }
        }
        open.then_some(missing)
    }

    /// Works a step and notes what is known of it.
    pub fn work_step(&mut self, term: &Term) {
        let place = self.state.len();
        let state = match self.missing(&places(std::iter::once(term))) {
            Some(missing) if missing.is_empty() => State::NoAnswer,
            Some(missing) => State::Missing(missing),
            None => self.worked(term, place),
        };
        if state != State::Known
            && let Some(bounds) = &mut self.bounds
        {
            bounds.push(Interval::WHOLE);
        }
        self.state.push(state);
    }

    /// A value that a formula does not take has no answer.
    pub fn hold(&mut self, ranges: &[(usize, f64, f64)]) {
        let Some(place) = self.state.len().checked_sub(1) else { return };
        let range = ranges.iter().find(|(of, ..)| *of == place);
        if let Some((_, low, high)) = range
            && self.state[place] == State::Known
        {
            let number = self.numbers[place];
            let is_out = number < *low && !same(number, *low) || number > *high && !same(number, *high);
            if is_out {
                self.state[place] = State::NoAnswer;
            }
        }
    }

    fn worked(&mut self, term: &Term, place: usize) -> State {
        let Ok(number) = compute::value(term, &mut self.numbers) else { return State::NoAnswer };
        self.numbers[place] = number;
        if let Some(bounds) = &mut self.bounds {
            let Ok(range) = Walk::over(bounds.iter().copied()).bounds(term) else { return State::NoAnswer };
            bounds.push(range);
        }
        State::Known
    }

    /// The values of an operand; what is missing where one isn't known.
    fn numbers_of(&mut self, terms: &[Term], places: &[usize]) -> Result<Vec<(f64, Interval)>, Vec<usize>> {
        if let Some(missing) = self.missing(places) {
            return Err(missing);
        }
        let mut numbers = Vec::with_capacity(terms.len());
        for term in terms {
            let value = compute::value(term, &mut self.numbers).map_err(|_| Vec::new())?;
            let bounds = match &self.bounds {
                Some(bounds) if !matches!(term, Term::Constant(..)) => {
                    Walk::over(bounds.iter().copied()).bounds(term).map_err(|_| Vec::new())?
                }
                _ => Interval::point(value),
            };
            numbers.push((value, bounds));
        }
        Ok(numbers)
    }
}

/// What an operand comes to: words, or numbers with what is known of where they lie.
enum Listed<'a> {
    Words(&'a [String]),
    Numbers(Vec<(f64, Interval)>),
}

/// Whether two numbers are the same: open where a tolerance lets them be and not be.
fn are_same(one: &(f64, Interval), other: &(f64, Interval)) -> Truth {
    if one.1.is_point() && other.1.is_point() {
        return if same(one.0, other.0) { Truth::Always } else { Truth::Never };
    }
    if one.1.lo <= other.1.hi && other.1.lo <= one.1.hi { Truth::Open } else { Truth::Never }
}

impl Question {
    /// Asks the question of given parts.
    #[must_use]
    pub fn ask<'a>(&'a self, given: &mut Given<'a>) -> Answer {
        match self {
            Self::Unknown => Answer::open(Vec::new()),
            Self::Not(inner) => inner.ask(given).opposite(),
            Self::Flag(place) => match given.values[*place] {
                Some(Value::YesNo(yes)) => Answer::sure(*yes),
                _ => Answer::open(vec![*place]),
            },
            Self::Join(junction, parts) => join(*junction, parts, given),
            Self::Compare(condition, places) => compare(condition, places, given),
            Self::Same(one, other, wanted) => match listed_both(one, other, given) {
                Ok((Listed::Words(one), Listed::Words(other))) => Answer::sure((one == other) == *wanted),
                Ok(_) => Answer::open(Vec::new()),
                Err(missing) => Answer::open(missing),
            },
            Self::Belong(one, other) => match listed_both(one, other, given) {
                Ok((Listed::Words(one), Listed::Words(other))) => {
                    Answer::sure(one.iter().any(|word| other.contains(word)))
                }
                Ok((Listed::Numbers(one), Listed::Numbers(other))) => {
                    let mut all = one.iter().flat_map(|number| other.iter().map(|known| are_same(number, known)));
                    let truths: Vec<Truth> = all.by_ref().collect();
                    match (truths.contains(&Truth::Always), truths.contains(&Truth::Open)) {
                        (true, _) => Answer::sure(true),
                        (false, true) => Answer::open(Vec::new()),
                        (false, false) => Answer::sure(false),
                    }
                }
                Ok(_) => Answer::open(Vec::new()),
                Err(missing) => Answer::open(missing),
            },
        }
    }
}

/// All or any of several questions, in Kleene's sense.
fn join<'a>(junction: Junction, parts: &'a [Question], given: &mut Given<'a>) -> Answer {
    let settles = if junction == Junction::And { Truth::Never } else { Truth::Always };
    let mut open = false;
    let mut missing: Vec<usize> = Vec::new();
    for part in parts {
        let answer = part.ask(given);
        if answer.truth == settles {
            return answer;
        }
        open |= answer.truth == Truth::Open;
        missing.extend(answer.missing);
    }
    if open {
        return Answer::open(missing);
    }
    Answer::sure(junction == Junction::And)
}

fn compare(condition: &Condition, places: &[usize], given: &mut Given<'_>) -> Answer {
    if let Some(missing) = given.missing(places) {
        return Answer::open(missing);
    }
    match &given.bounds {
        None => match holds(condition, &mut given.numbers) {
            Ok(yes) => Answer::sure(yes),
            Err(_) => Answer::open(Vec::new()),
        },
        Some(bounds) => {
            let truth = Walk::over(bounds.iter().copied()).truth(condition).unwrap_or(Truth::Open);
            Answer { truth, missing: Vec::new() }
        }
    }
}

fn listed_both<'a>(
    one: &'a Operand,
    other: &'a Operand,
    given: &mut Given<'a>,
) -> Result<(Listed<'a>, Listed<'a>), Vec<usize>> {
    match (listed(one, given), listed(other, given)) {
        (Ok(one), Ok(other)) => Ok((one, other)),
        (Err(mut missing), Err(more)) => {
            missing.extend(more);
            Err(missing)
        }
        (Err(missing), _) | (_, Err(missing)) => Err(missing),
    }
}

fn listed<'a>(operand: &'a Operand, given: &mut Given<'a>) -> Result<Listed<'a>, Vec<usize>> {
    match operand {
        Operand::Words(words) => Ok(Listed::Words(words)),
        Operand::Numbers(terms, places) => given.numbers_of(terms, places).map(Listed::Numbers),
        Operand::Read(place) => match given.values[*place] {
            Some(Value::Words(words)) => Ok(Listed::Words(words)),
            Some(Value::Numbers(readings)) => {
                Ok(Listed::Numbers(readings.iter().map(|reading| (reading.value, reading.bounds)).collect()))
            }
            _ => Err(vec![*place]),
        },
    }
}
