//! Asking at a terminal for what is missing, one value after the other.
//!
//! Each question says what is wanted, how it is measured, what is allowed and in which unit it is usual. A wrong answer is
//! told in the words that the command line has for it, and asked again. What a page or a new library needs is asked for in
//! one line each. Nothing is written to standard output: until
//! the last answer is in there is no figure, and whoever leaves with Ctrl-D has seen half of none.

use super::reckon_text as say;
use super::terminal::{self, write_hanging, write_wrapped};
use super::values::{Value, Values, read_value};
use crate::diagnostic::{Source, draw};
use crate::fault::Fault;
use crate::mechanics::formula::Input;
use crate::text::{Mapped, capital};
use std::io::{BufRead, Stderr, StdinLock, Write};

/// Somebody at a terminal.
#[derive(Debug)]
pub(super) struct Talk<R, W> {
    /// Where answers are typed.
    pub(super) from: R,
    /// Where questions are shown.
    pub(super) to: W,
    /// How many columns there are.
    pub(super) width: usize,
}

/// Somebody left before all was answered; what for.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Left(pub(super) String);

/// Whoever sits at this terminal. Questions go to standard error, so that standard output holds the answer alone.
pub(super) fn at_terminal() -> Talk<StdinLock<'static>, Stderr> {
    Talk { from: std::io::stdin().lock(), to: std::io::stderr(), width: terminal::width() }
}

/// One line in answer to a plain question; `None` where nobody is there, or nothing but spaces was typed.
///
/// # Errors
/// Somebody left.
pub(super) fn ask(question: &str) -> Result<Option<String>, Left> {
    if !terminal::has_somebody() {
        return Ok(None);
    }
    let mut talk = at_terminal();
    talk.show(&format!("{question} "));
    let line = talk.answer().ok_or_else(|| Left(question.to_owned()))?;
    Ok(Some(line).filter(|line| !line.is_empty()))
}

/// Where the lines of a question stand.
const INDENT: usize = 8;

impl<R: BufRead, W: Write> Talk<R, W> {
    /// Asks for every value that is missing: first those that nothing stands in for, then the usual ones.
    ///
    /// # Errors
    /// Somebody left.
    pub(super) fn ask_values(&mut self, values: &mut Values<'_>) -> Result<(), Left> {
        let open = |place: &usize| values.given[*place].is_none();
        let mut places: Vec<usize> = (0..values.given.len()).filter(open).collect();
        places.sort_by_key(|place| values.formula.inputs[*place].default.is_some());
        self.begin(values);
        let of = places.len();
        for (number, place) in places.into_iter().enumerate() {
            let label = if of > 1 { format!("{} of {of}", number + 1) } else { String::new() };
            let value = self.ask_value(values, place, &label)?;
            values.given[place] = value;
        }
        self.show("\n");
        Ok(())
    }

    /// One line of any words; asked again while it is empty.
    ///
    /// # Errors
    /// Somebody left.
    pub(super) fn ask_words(&mut self, about: &str, name: &str) -> Result<String, Left> {
        let mut question = String::from("\n");
        write_wrapped(&mut question, about, INDENT, self.width);
        self.show(&question);
        loop {
            let words = self.line(name)?;
            if !words.is_empty() {
                self.show("\n");
                return Ok(words);
            }
            self.say_nothing_is_usual();
        }
    }

    /// What is about to be worked out, how to answer, and what the bike has lent.
    fn begin(&mut self, values: &Values<'_>) {
        let mut out = say::head(values.formula, self.width);
        let how = "Write each number with its unit, and a tolerance where you know it: 410\u{A0}mm +/-\u{A0}2\u{A0}mm. \
                   Enter alone takes what is usual; ? tells all of the formula; Ctrl-D leaves.";
        write_wrapped(&mut out, how, 0, self.width);
        let lent = values.formula.inputs.iter().zip(&values.given);
        let lent = lent.filter_map(|(input, value)| Some((input, value.as_ref().filter(|value| value.lent)?)));
        for (place, (input, value)) in lent.enumerate() {
            out.push_str(if place == 0 { "\nLent\n" } else { "" });
            let told = value.told.as_deref().unwrap_or_default();
            let text = format!("{}, {told}", value.reading.text(&input.style()));
            write_hanging(&mut out, &format!("  {}", input.name), &say::plain(&text), 22, self.width);
        }
        self.show(&say::plain(&out));
    }

    fn ask_value(&mut self, values: &Values<'_>, place: usize, label: &str) -> Result<Option<Value>, Left> {
        let input = &values.formula.inputs[place];
        let mut question = String::from("\n");
        write_hanging(&mut question, label, &format!("{}.", capital(&input.about)), INDENT, self.width);
        write_hanging(&mut question, "", &allowed(input), INDENT, self.width);
        if let Some(perhaps) = values.perhaps(input) {
            let perhaps = say::plain(&format!("{}: write the one that is meant.", capital(&perhaps)));
            write_hanging(&mut question, "", &perhaps, INDENT, self.width);
        }
        if let Some(usual) = say::usual(input) {
            write_hanging(&mut question, "", &format!("Usual: {usual}. Enter takes it."), INDENT, self.width);
        }
        self.show(&question);
        loop {
            let words = self.line(&input.name)?;
            match words.as_str() {
                "" if input.default.is_some() => return Ok(None),
                "" => self.say_nothing_is_usual(),
                "?" => {
                    let sheet = format!("\n{}\n", say::datasheet(values.formula, self.width));
                    self.show(&sheet);
                }
                _ => match self.take(input, &words, values) {
                    Some(value) => return Ok(Some(value)),
                    None => self.show("\n"),
                },
            }
        }
    }

    /// Reads an answer; one that is wrong is told of.
    fn take(&mut self, input: &Input, words: &str, values: &Values<'_>) -> Option<Value> {
        // Who answers `chainstay=410 mm` has only said twice what the value is for.
        let value =
            words.strip_prefix(input.name.as_str()).map(str::trim_start).and_then(|rest| rest.strip_prefix('='));
        let value = value.unwrap_or(words).trim();
        match read_value(input, &Mapped::verbatim(value, 0), values.names) {
            Ok(value) => Some(value),
            Err(fault) => {
                let told = told(&fault, value, self.width);
                self.show(&told);
                None
            }
        }
    }

    /// Answers an empty line where there is nothing to take.
    fn say_nothing_is_usual(&mut self) {
        self.show("\n  Nothing is usual here, so it has to be written; Ctrl-D leaves.\n\n");
    }

    /// Shows a prompt and reads a line, without the spaces round it.
    fn line(&mut self, name: &str) -> Result<String, Left> {
        self.show(&format!("{name} = "));
        self.answer().ok_or_else(|| Left(name.to_owned()))
    }

    /// Reads a line, without the spaces round it; `None` where somebody left instead.
    fn answer(&mut self) -> Option<String> {
        let mut bytes = Vec::new();
        let read = self.from.read_until(b'\n', &mut bytes);
        // A line that ends without its end was left in the middle.
        if read.is_err() || bytes.last() != Some(&b'\n') {
            self.show("\n");
            return None;
        }
        Some(String::from_utf8_lossy(&bytes).trim().to_owned())
    }

    /// A terminal that can't be written to has nobody at it: the next line that is read ends the talk.
    fn show(&mut self, text: &str) {
        let _ = self.to.write_all(text.as_bytes()).and_then(|()| self.to.flush());
    }
}

/// What is allowed, and how it is written.
fn allowed(input: &Input) -> String {
    let unit = input.unit.shown(false);
    let how = if input.kind.name == "count" {
        "The number alone will do".to_owned()
    } else if unit.is_empty() {
        "A plain number, without a unit".to_owned()
    } else {
        format!("Write the unit; {unit} is usual")
    };
    let how = if input.kind.name == "percent" { "Write the % sign".to_owned() } else { how };
    format!("{}. {how}.", input.allowed())
}

/// A fault of an answer as reckon tells it, without the place: there is only one line to look at.
fn told(fault: &Fault, answer: &str, width: usize) -> String {
    // An empty answer has a line of its own too.
    let drawn = draw(fault, &Source::new("answer", format!("{answer} ")), width);
    let mut lines = drawn.lines();
    let first = lines.next().and_then(|line| line.split_once(": ")).map_or("", |(_, message)| message);
    let message = first.strip_suffix(&format!(" ({})", fault.id)).unwrap_or(first);
    let mut out = String::from("\n");
    write_wrapped(&mut out, &format!("{}.", capital(message)), 2, width);
    // The answer itself and the marks under it, then what is allowed and what to do.
    for line in lines.skip(2) {
        out.push_str(line);
        out.push('\n');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::{Left, Talk};
    use crate::commands::values::{Sources, Values};
    use crate::mechanics::bundle;
    use crate::text::Span;

    /// Answers in, what was asked, and how it ended with the readings as text.
    fn talk(formula: &str, answers: &str) -> (String, Result<Vec<String>, Left>) {
        let formula = bundle::formula(formula).expect("it is there").expect("it is sound");
        let from = Sources { pairs: &[], names: None, lender: None, whole: Span::default(), asks: true };
        let mut values = Values::read(&formula, from).expect("nothing is wrong with nothing");
        let mut asked = Vec::new();
        let mut talk = Talk { from: answers.as_bytes(), to: &mut asked, width: 80 };
        let ended = talk.ask_values(&mut values).map(|()| {
            let readings = values.readings(Span::default()).expect("all are there");
            formula.inputs.iter().zip(&readings).map(|(input, reading)| reading.text(&input.style())).collect()
        });
        (String::from_utf8(asked).expect("text"), ended)
    }

    #[test]
    fn each_value_is_asked_for_and_a_wrong_one_again() {
        let (asked, ended) = talk("chain-length", "\n41\n41 mm\n410 mm ± 2 mm\n50\nsprocket = 34\n\n\n");
        let readings = ended.expect("all was answered");
        assert_eq!(readings[..3], ["410\u{A0}mm ± 2\u{A0}mm", "50\u{A0}teeth", "34\u{A0}teeth"]);
        for part in [
            "1 of 5  Bottom bracket centre to rear axle centre",
            "150 mm to 1500 mm. Write the unit; mm is usual.",
            "Nothing is usual here, so it has to be written",
            "Chainstay has no unit.",
            "Chainstay is out of range.",
            "write the unit: 41 mm",
            "Usual: 2 links. Enter takes it.",
        ] {
            assert!(asked.contains(part), "{part} in\n{asked}");
        }
        assert!(asked.lines().all(|line| line.chars().count() <= 80), "{asked}");
        assert!(!asked.contains("answer:1"), "no place in a line of one answer:\n{asked}");
    }

    #[test]
    fn whoever_leaves_is_told_where() {
        assert_eq!(talk("chain-length", "410 mm\n").1, Err(Left("chainring".to_owned())));
        assert_eq!(
            talk("chain-length", "410 mm\n50").1,
            Err(Left("chainring".to_owned())),
            "left in the middle of a line"
        );
        let (asked, ended) = talk("chain-length", "?\n\u{1b}[31mred\n410 mm\n50\n34\n\n\n");
        assert!(ended.is_ok() && asked.contains("Holds for") && !asked.contains('\u{1b}'), "{asked}");
    }
}
