//! Pieces of markup that know how they may be joined: how tightly they bind, what they begin and end with, how wide
//! they are.
//!
//! Everything that needs a rule of typesetting and no knowledge of formulas stands here: brackets, fences, numbers
//! with units, symbols with an index, words, and the sign between two factors. Nothing here reads a tree. Every
//! text that goes into markup goes through `escape`.

use crate::mechanics::expression::Operator;
use crate::mechanics::figure::NO_BREAK;
use crate::text::escape;

/// The space before a percent sign.
const THIN: char = '\u{2009}';

/// What a piece looks like at one of its ends, which decides the sign between it and its neighbour.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Look {
    /// Digits.
    Number,
    /// A number with its unit.
    Quantity,
    /// A letter with its index, a power or a fraction of them.
    Symbol,
    /// A bracket, a bar or a root.
    Fence,
    /// The name of a function.
    Call,
    /// Words, which would run into their neighbours.
    Words,
}

/// How tightly a piece binds, twice an operator's rank; a piece between two operators stands between them.
pub(super) const LOOSE: i8 = 0;
pub(super) const SUM: i8 = 2;
pub(super) const SLASHED: i8 = 3;
pub(super) const PRODUCT: i8 = 4;
pub(super) const FRACTION: i8 = 6;
pub(super) const POWER: i8 = 8;
pub(super) const ATOM: i8 = 10;

/// How tightly the result of an operator binds.
pub(super) fn rank(operator: Operator) -> i8 {
    if operator == Operator::Divide { FRACTION } else { 2 * operator.rank() }
}

/// A piece of markup: one element, or several that stand in a row.
#[derive(Clone, Debug)]
pub(super) struct Part {
    pub(super) markup: String,
    pub(super) rank: i8,
    /// True where it begins with a minus, so that it can't follow another sign.
    pub(super) minus: bool,
    pub(super) first: Look,
    pub(super) last: Look,
    /// About how many digits wide it is.
    pub(super) width: usize,
    /// True where it stands higher than a line, so that fences grow with it.
    tall: bool,
    /// True where it is one element.
    single: bool,
}

impl Part {
    /// One element.
    pub(super) fn element(markup: String, rank: i8, look: Look, width: usize) -> Self {
        Self { markup, rank, minus: false, first: look, last: look, width, tall: false, single: true }
    }

    /// One element that stands higher than a line.
    pub(super) fn tall_element(markup: String, rank: i8, look: Look, width: usize) -> Self {
        Self { tall: true, ..Self::element(markup, rank, look, width) }
    }

    /// The markup as one element.
    pub(super) fn row(&self) -> String {
        if self.single { self.markup.clone() } else { format!("<mrow>{}</mrow>", self.markup) }
    }

    /// The piece as the first of a row: in brackets where it binds less than it has to.
    pub(super) fn leading(self, least: i8) -> Self {
        if self.rank < least { fenced("(", &self, ")") } else { self }
    }

    /// The piece after a sign: in brackets also where it begins with a minus.
    pub(super) fn following(self, least: i8) -> Self {
        if self.minus { fenced("(", &self, ")") } else { self.leading(least) }
    }

    /// This piece, something between, and another piece, in one row.
    fn then(self, between: &str, width: usize, right: &Self, rank: i8) -> Self {
        Self {
            markup: format!("{}{between}{}", self.markup, right.markup),
            rank,
            minus: self.minus,
            first: self.first,
            last: right.last,
            width: self.width + width + right.width,
            tall: self.tall || right.tall,
            single: false,
        }
    }

    /// This piece, a sign with space round it, and another piece.
    pub(super) fn joined(self, sign: &str, right: &Self, rank: i8) -> Self {
        self.then(&infix(sign), 3, right, rank)
    }

    /// This piece and another right beside it.
    pub(super) fn beside(self, right: &Self, rank: i8) -> Self {
        self.then("", 0, right, rank)
    }

    /// This piece, a small gap, and another.
    pub(super) fn spaced(self, right: &Self, rank: i8) -> Self {
        self.then("<mspace width=\"0.2em\"></mspace>", 1, right, rank)
    }

    /// This piece below a minus.
    pub(super) fn negated(self) -> Self {
        let inner = self.following(PRODUCT);
        let markup = format!("<mo form=\"prefix\">\u{2212}</mo>{}", inner.markup);
        Self { markup, rank: PRODUCT, minus: true, width: inner.width + 1, single: false, ..inner }
    }
}

/// A sign between two pieces.
pub(super) fn infix(sign: &str) -> String {
    format!("<mo form=\"infix\">{}</mo>", escape(sign))
}

/// A product. `dots` puts the sign everywhere, as where numbers have been put in.
pub(super) fn product(left: Part, right: Part, dots: bool) -> Part {
    let (left, right) = (left.leading(PRODUCT), right.following(PRODUCT));
    let apart = matches!(left.last, Look::Quantity | Look::Words)
        || matches!(right.first, Look::Number | Look::Quantity | Look::Words);
    if dots || apart {
        return left.joined("·", &right, PRODUCT);
    }
    // A gap, or else `N (a + b)` would read as a function and `n p` as one word; `2 a` needs none.
    let gap = right.first == Look::Call || left.last != Look::Number;
    let space = if gap { "0.16em" } else { "0" };
    let sign = format!("<mo form=\"infix\" lspace=\"{space}\" rspace=\"0\">\u{2062}</mo>");
    left.then(&sign, usize::from(gap), &right, PRODUCT)
}

/// One piece over another.
pub(super) fn fraction(over: &Part, under: &Part) -> Part {
    let plain = over.first == Look::Number && under.first == Look::Number;
    let look = if plain { Look::Number } else { Look::Symbol };
    let markup = format!("<mfrac>{}{}</mfrac>", over.row(), under.row());
    Part::tall_element(markup, FRACTION, look, over.width.max(under.width) + 1)
}

/// One piece over another on one line, as within a fraction or a power, where a second bar would confuse.
pub(super) fn slashed(over: Part, under: Part) -> Part {
    let (over, under) = (over.leading(PRODUCT), under.following(FRACTION));
    // `622 mm/2` would read as a unit of its own.
    let space = if over.last == Look::Quantity { "0.28em" } else { "0.1em" };
    let sign = format!("<mo form=\"infix\" lspace=\"{space}\" rspace=\"{space}\">/</mo>");
    over.then(&sign, 1, &under, SLASHED)
}

/// A piece to a power.
pub(super) fn power(base: Part, exponent: &Part) -> Part {
    let base = base.following(ATOM);
    let indexed = base.markup.strip_prefix("<msub>").and_then(|inside| inside.strip_suffix("</msub>"));
    let markup = match indexed {
        // A symbol's index stands below its power, not before it.
        Some(symbol) => format!("<msubsup>{symbol}{}</msubsup>", exponent.row()),
        None => format!("<msup>{}{}</msup>", base.row(), exponent.row()),
    };
    let last = if base.last == Look::Number { Look::Symbol } else { base.last };
    let width = base.width + exponent.width;
    Part { last, tall: base.tall, ..Part::element(markup, POWER, base.first, width) }
}

/// A root sign over a piece.
pub(super) fn root(inner: &Part) -> Part {
    let markup = format!("<msqrt>{}</msqrt>", inner.row());
    Part { tall: inner.tall, ..Part::element(markup, ATOM, Look::Fence, inner.width + 2) }
}

/// A piece between fences that grow with it.
pub(super) fn fenced(open: &str, inner: &Part, close: &str) -> Part {
    let fence = |sign: &str, form: &str| {
        let tall = inner.tall;
        format!("<mo form=\"{form}\" fence=\"true\" stretchy=\"{tall}\">{}</mo>", escape(sign))
    };
    let markup = format!("<mrow>{}{}{}</mrow>", fence(open, "prefix"), inner.markup, fence(close, "postfix"));
    Part { tall: inner.tall, ..Part::element(markup, ATOM, Look::Fence, inner.width + 2) }
}

/// The name of a function in upright letters before its arguments in brackets.
pub(super) fn applied(name: &str, arguments: &Part) -> Part {
    let brackets = fenced("(", arguments, ")");
    let markup =
        format!("<mrow><mi mathvariant=\"normal\">{}</mi><mo>\u{2061}</mo>{}</mrow>", escape(name), brackets.markup);
    let width = name.chars().count() + brackets.width;
    Part { last: Look::Fence, tall: brackets.tall, ..Part::element(markup, POWER, Look::Call, width) }
}

/// Values with commas between them.
pub(super) fn listed(values: Vec<Part>) -> Part {
    let comma = "<mo separator=\"true\">,</mo>";
    let join = |list: Part, next: Part| list.then(comma, 2, &next, LOOSE);
    values.into_iter().reduce(join).unwrap_or_else(|| Part::element("<mrow></mrow>".to_owned(), LOOSE, Look::Fence, 0))
}

/// A number in digits, perhaps below 0, with the sign of its unit as it is shown.
pub(super) fn quantity(digits: &str, unit: &str) -> Part {
    let size = digits.trim_start_matches(['-', '\u{2212}']);
    let number = Part::element(format!("<mn>{}</mn>", escape(size)), ATOM, Look::Number, size.chars().count());
    let part = if unit.is_empty() { number } else { number.beside(&unit_sign(unit), FRACTION).into_quantity() };
    if size.len() == digits.len() { part } else { part.negated() }
}

impl Part {
    fn into_quantity(self) -> Self {
        let markup = self.row();
        Self { markup, single: true, first: Look::Quantity, last: Look::Quantity, ..self }
    }
}

/// A unit with the space before it: none before a degree, a thin one before a percent sign.
fn unit_sign(unit: &str) -> Part {
    let text = match unit {
        "°" => unit.to_owned(),
        "%" => format!("{THIN}%"),
        _ => format!("{NO_BREAK}{unit}"),
    };
    text_part(&text)
}

/// A piece of running text; spaces at its ends are kept.
pub(super) fn text_part(text: &str) -> Part {
    let text = text.replace(' ', "\u{A0}");
    let width = text.chars().count();
    Part::element(format!("<mtext>{}</mtext>", escape(&text)), LOOSE, Look::Words, width)
}

/// A name without a symbol, in upright words.
pub(super) fn words(name: &str) -> Part {
    // `ring radius²` reads as if only the radius were squared, so several words bind less than one.
    let rank = if name.contains('_') { POWER } else { ATOM };
    // Beside `mtext` a sign loses its space, as MathML Core takes text for a space; an identifier is none.
    let text = name.replace('_', "\u{A0}");
    let markup = format!("<mi mathvariant=\"normal\" class=\"in-words\">{}</mi>", escape(&text));
    Part::element(markup, rank, Look::Words, text.chars().count())
}

/// A symbol: all after the first `_` is its index.
pub(super) fn letters(symbol: &str) -> Part {
    let width = symbol.chars().count();
    let markup = match symbol.split_once('_') {
        Some((base, index)) => format!("<msub>{}{}</msub>", letter(base), letter(index)),
        None => letter(symbol),
    };
    Part::element(markup, ATOM, Look::Symbol, width)
}

/// One letter leans, several stand upright, digits are a number; a difference is `Δ` before its letter.
fn letter(text: &str) -> String {
    let mut characters = text.chars();
    match (characters.next(), characters.next(), characters.next()) {
        (Some('Δ'), Some(of), None) => {
            let of = letter(&of.to_string());
            format!("<mrow><mi mathvariant=\"normal\">Δ</mi>{of}</mrow>")
        }
        _ if !text.is_empty() && text.chars().all(|c| c.is_ascii_digit()) => format!("<mn>{text}</mn>"),
        (Some(_), None, _) => format!("<mi>{}</mi>", escape(text)),
        _ => format!("<mi mathvariant=\"normal\">{}</mi>", escape(&text.replace('_', "\u{A0}"))),
    }
}
