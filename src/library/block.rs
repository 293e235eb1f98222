//! The fenced blocks of a page: their words, and what stands in each, with places.
//!
//! A block's body is YAML, but for `safety`, whose first line is a signal word and whose rest is Markdown. Read here
//! into plain structures; expressions stay text, since what their names mean depends on the page.

use super::block_shelf::{FitTableBlock, PairingBlock, fit_table, pairing};
use super::block_sweep::{SweepBlock, sweep};
use super::markdown::{self, Piece};
use crate::fault::{Fault, id};
use crate::mechanics::mark::{TextPiece, split_marks};
use crate::mechanics::units::Unit;
use crate::text::{Mapped, Span, Spanned};
use crate::yaml::keys::{Holds, Keys, Word, keys};
use crate::yaml::{self, Fields, Node};

/// A word that begins a block.
#[derive(Debug)]
pub struct BlockWord {
    /// The word after the back-ticks.
    pub word: &'static str,
    /// What the block does.
    pub about: &'static str,
    /// The keys of its YAML; a `safety` notice has none.
    pub keys: Option<&'static Keys>,
    /// What stands in one that is right, in the starter library at least.
    pub example: &'static str,
}

/// The words that begin a block.
pub const WORDS: &[BlockWord] = &[
    BlockWord {
        word: "working",
        about: "Works a formula, or an equation of the page's own, and sets its result with everything that it rests on.",
        keys: Some(&WORKING),
        example: "name: chain\nformula: chain-length\ngiven:\n  chainstay: 410 mm ± 2 mm\n  chainring: 50\n  sprocket: 34\nshow: links",
    },
    BlockWord {
        word: "pairing",
        about: "Asks the rules whether parts on the shelf go together, and sets the verdict with its reasons.",
        keys: Some(&super::block_shelf::PAIRING),
        example: "parts: [front tyre-25, rear tyre-28]\nclaim: fits",
    },
    BlockWord {
        word: "fit-table",
        about: "Crosses one list of parts with another, and sets the verdict on each two.",
        keys: Some(&super::block_shelf::FIT_TABLE),
        example: "down: cassette\nacross: [derailleur-short, derailleur-long]\nwith: [crank-50-34, shift-ten-rear]\ncaption: Which cassette with which derailleur",
    },
    BlockWord {
        word: "sweep",
        about: "Runs a formula over one input or two, and sets a table and a plot.",
        keys: Some(&super::block_sweep::SWEEP),
        example: "formula: gear\ngiven: {rollout: 2180 mm}\nacross: {sprocket: [11, 15, 21, 26, 34]}\ndown: {chainring: [34, 50]}\nshow: development\ncaption: How far each gear goes for one turn of the cranks",
    },
    BlockWord {
        word: "drawing",
        about: "Sets a drawing, true to scale, with figures of the page.",
        keys: Some(&DRAWING),
        example: "of: chain-run\nset: {ring: chain.chainring, sprocket: chain.sprocket, stay: chain.chainstay, run: chain.exact}\nalt: A chain runs round a ring and a sprocket.",
    },
    BlockWord {
        word: "safety",
        about: "Sets a notice. Its first line is a signal word; what follows is Markdown.",
        keys: None,
        example: "warning\nA tyre that blows off can hurt eyes and ears.",
    },
];

/// Info words of fences that are shown as they are written.
pub const LANGUAGES: &[Word] =
    &[("text", "plain lines"), ("yaml", "YAML, with its keys set apart"), ("markdown", "Markdown as it is written")];

/// The words that begin a safety notice (ANSI Z535; ISO 3864 has the first three).
pub const SIGNALS: [Word; 4] = [
    ("danger", "it kills or maims if nobody heeds it"),
    ("warning", "it can kill or maim"),
    ("caution", "it can hurt a little"),
    ("notice", "it can spoil a part; nobody is hurt"),
];

/// Names, each with an expression.
pub(super) const GIVEN: Holds =
    Holds::Map("inputs", &Holds::Text("a value with its unit, a name with a dot, or a sum of them"));

/// A `working`.
pub static WORKING: Keys = Keys::new("a working", keys! {
    "name" needed Holds::Formed("a name of two small letters or more", "^\\s*[a-z][a-z0-9_-]*\\s*$"), "The working's name on this page. Its figures are called by it: chain.links.",
        "name: chain";
    "formula" free Holds::Text("the name of a formula"), "The formula that is worked.",
        "formula: chain-length";
    "equation" free Holds::Map("results", &Holds::Text("a sum")), "A formula of the page's own, in place of one with a name.",
        "equation: {height: stem + spacers}";
    "unit" free Holds::Map("results of the equation", &Holds::Text("a unit")), "The unit of each result of an equation.",
        "unit: {height: mm}";
    "decimals" free Holds::Map("results of the equation", &Holds::Formed("a whole number from 0 to 9", "^\\s*[0-9]\\s*$")), "How many decimals each result of an equation has.",
        "decimals: {height: 0}";
    "given" free GIVEN, "What goes in. What has a usual value may be left out.",
        "given: {chainstay: 410 mm ± 2 mm, chainring: 50, sprocket: 34}";
    "show" free Holds::Either(&[Holds::Text("the name of a result"), Holds::List(&Holds::Text("the name of a result"))]), "The results that are set large.",
        "show: links";
    "claim" free Holds::Map("results", &Holds::Text("a value")), "What you believe. The press fails where the sum disagrees, and says by how much.",
        "claim: {links: 110}";
    "must" free Holds::List(&Holds::Map("comparisons", &Holds::Text("a sentence"))), "Limits of the page, each a comparison with the sentence to show. The press fails where one does not hold over the whole of the tolerances.",
        "must:\n  - \"chain.links <= 116\": The longest chain in the box is shorter.";
}).ways(&["formula", "equation"]);

/// A `drawing`.
pub static DRAWING: Keys = Keys::new(
    "a drawing",
    keys! {
        "of" needed Holds::Text("the name of a drawing"), "The drawing's name, that of its file under diagrams.",
            "of: chain-run";
        "set" free Holds::Map("inputs of the drawing", &Holds::Text("a figure of the page, or a value")), "What the drawing is drawn from.",
            "set: {ring: chain.chainring}";
        "alt" needed Holds::Text("a sentence"), "What it shows, for those who don't see it. It may hold figures.",
            "alt: A chain runs over a ring and a sprocket.";
        "caption" free Holds::Text("a sentence"), "What stands below it.",
            "caption: How the chain is measured";
    },
);

/// A fenced block.
#[derive(Clone, Debug)]
pub enum Block {
    /// Evaluates a formula.
    Working(WorkingBlock),
    /// Asks whether parts work together.
    Pairing(PairingBlock),
    /// Crosses one list of parts with another.
    FitTable(FitTableBlock),
    /// Runs a formula over one or two inputs.
    Sweep(SweepBlock),
    /// Sets a diagram.
    Drawing(DrawingBlock),
    /// A notice.
    Safety(SafetyBlock),
}

/// A name with a text that is an expression or a value.
pub type NamedText = (Spanned<String>, Mapped);

/// A `working` block as written.
#[derive(Clone, Debug)]
pub struct WorkingBlock {
    /// Its name on the page.
    pub name: Spanned<String>,
    /// The formula's id; of an equation of the page's own, the word `equation`.
    pub formula: Spanned<String>,
    /// The page's own formula, in place of one with an id.
    pub equation: Vec<EquationLine>,
    /// The inputs.
    pub given: Vec<NamedText>,
    /// The outputs that are set large in the opened working's summary.
    pub show: Vec<Spanned<String>>,
    /// What the technician believes.
    pub claim: Vec<NamedText>,
    /// Limits with what they say.
    pub must: Vec<Must>,
    /// What its limits say, looked at for loose figures.
    pub prose: Vec<Mapped>,
    /// False where a part of the block has a fault of its own already.
    pub sound: bool,
    /// The block's own lines.
    pub written: String,
    /// Where it stands.
    pub span: Span,
}

/// One line of an equation: what it gives, how, in which unit and how fine.
#[derive(Clone, Debug)]
pub struct EquationLine {
    /// The name of what it gives.
    pub name: Spanned<String>,
    /// The right side.
    pub is: Mapped,
    /// The unit of the result; of a plain number none.
    pub unit: Option<Mapped>,
    /// How many decimals it is set with.
    pub decimals: i32,
}

/// One limit of a working.
#[derive(Clone, Debug)]
pub struct Must {
    /// The condition.
    pub when: Mapped,
    /// What is said where it doesn't hold.
    pub message: Vec<TextPiece>,
}

/// A `drawing` block as written.
#[derive(Clone, Debug)]
pub struct DrawingBlock {
    /// The drawing's name.
    pub of: Spanned<String>,
    /// Its inputs.
    pub set: Vec<NamedText>,
    /// What it shows, for those who don't see it.
    pub alt: Vec<TextPiece>,
    /// What stands below it.
    pub caption: Vec<TextPiece>,
    /// Its words, looked at for loose figures.
    pub prose: Vec<Mapped>,
    /// Where it stands.
    pub span: Span,
}

/// A `safety` block as written.
#[derive(Clone, Debug)]
pub struct SafetyBlock {
    /// danger, warning, caution or notice.
    pub signal: String,
    /// The Markdown below it.
    pub body: Vec<Piece>,
}

/// Reads the body of a fence with this info word; `None` where it is code to be shown as it is.
pub fn parse(info: &Spanned<String>, body: &Mapped, file: &str, faults: &mut Vec<Fault>) -> Option<Block> {
    match info.value.as_str() {
        "working" => working(body, file, faults).map(Block::Working),
        "pairing" => pairing(body, faults).map(Block::Pairing),
        "fit-table" => fit_table(body, file, faults).map(Block::FitTable),
        "sweep" => sweep(body, file, faults).map(Block::Sweep),
        "drawing" => drawing(body, file, faults).map(Block::Drawing),
        "safety" => safety(body, file, faults).map(Block::Safety),
        "" => None,
        word if LANGUAGES.iter().any(|(known, _)| *known == word) => None,
        word => {
            let known = || WORDS.iter().map(|block| block.word).chain(LANGUAGES.iter().map(|(word, _)| *word));
            let fault = Fault::new(id::UNKNOWN_BLOCK, info.span, format!("there is no block called {word}"))
                .found(word)
                .allowed(known().collect::<Vec<_>>().join(", "));
            faults.push(fault.nearest(word, known(), "use one of these words, or text for plain lines"));
            None
        }
    }
}

fn working(body: &Mapped, file: &str, faults: &mut Vec<Fault>) -> Option<WorkingBlock> {
    let before = faults.len();
    let node = yaml::parse(body).map_err(|found| faults.extend(found)).ok()?;
    let fields = Fields::of(&node, &WORKING, faults)?;
    let name = spanned(fields.need_text("name", faults)?);
    check_name(&name, "a working", faults);
    let equation = equation(&fields, faults);
    let formula = match fields.get("equation") {
        Some(node) => Spanned::new("equation".to_owned(), node.span),
        None => spanned(fields.need_text("formula", faults)?),
    };
    let show = match fields.get("show") {
        Some(node) if node.as_list().is_some() => {
            fields.list("show", faults).into_iter().filter_map(|item| shown(item, faults)).collect()
        }
        Some(_) => fields.text("show", faults).map(spanned).into_iter().collect(),
        None => Vec::new(),
    };
    let given = named_texts(&fields, "given", faults);
    let claim = named_texts(&fields, "claim", faults);
    let must: Vec<Must> = fields.list("must", faults).into_iter().flat_map(|node| musts(node, file, faults)).collect();
    Some(WorkingBlock {
        prose: messages(&fields),
        name,
        formula,
        equation,
        given,
        show,
        claim,
        must,
        sound: faults.len() == before,
        written: body.text().to_owned(),
        span: body.whole(),
    })
}

/// What the limits say, as written.
fn messages(fields: &Fields<'_>) -> Vec<Mapped> {
    let nodes = fields.get("must").and_then(Node::as_list).unwrap_or_default();
    let entries = nodes.iter().filter_map(Node::as_map).flatten();
    entries.filter_map(|entry| entry.value.text().cloned()).collect()
}

/// The lines of an equation, each with its unit and its decimals.
fn equation(fields: &Fields<'_>, faults: &mut Vec<Fault>) -> Vec<EquationLine> {
    let is = named_texts(fields, "equation", faults);
    let (units, decimals) = (named_texts(fields, "unit", faults), named_texts(fields, "decimals", faults));
    if fields.get("equation").is_some()
        && let Some(node) = fields.get("formula")
    {
        faults.push(
            Fault::new(id::WRONG_SHAPE, node.span, "this working has a formula and an equation")
                .cure("leave one of the two out"),
        );
    }
    for (name, _) in
        units.iter().chain(&decimals).filter(|(name, _)| !is.iter().any(|(own, _)| own.value == name.value))
    {
        let own = || is.iter().map(|(own, _)| own.value.as_str());
        let fault = Fault::new(id::UNKNOWN_OUTPUT, name.span, format!("the equation gives no {}", name.value))
            .found(name.value.clone())
            .allowed(own().collect::<Vec<_>>().join(", "));
        faults.push(fault.nearest(&name.value, own(), "name something that the equation gives"));
    }
    let find =
        |list: &[NamedText], name: &str| list.iter().find(|(own, _)| own.value == name).map(|(_, text)| text.clone());
    let mut lines = Vec::with_capacity(is.len());
    for (name, is) in is {
        if name.value.contains([')', '(']) {
            let fault = Fault::new(id::WRONG_SHAPE, name.span, "a comma has parted this sum in two");
            faults.push(fault.found(name.value).cure("put quotes round a sum that has a comma in it"));
            continue;
        }
        let places = find(&decimals, &name.value);
        let number =
            places.as_ref().and_then(|text| text.text().trim().parse().ok()).filter(|places| (0..=9).contains(places));
        let Some(decimals) = number else {
            faults.push(
                Fault::new(
                    id::WRONG_SHAPE,
                    places.map_or(name.span, |text| text.whole()),
                    format!("nothing says how many decimals {} has", name.value),
                )
                .allowed(format!("decimals: {{{}: 0}}", name.value))
                .cure("give a whole number of decimals from 0 to 9"),
            );
            continue;
        };
        lines.push(EquationLine { unit: find(&units, &name.value), name, is, decimals });
    }
    lines
}

/// The name of a working, a bike or a subject: two letters or more, and nothing that has a meaning already.
pub(super) fn check_name(name: &Spanned<String>, of: &str, faults: &mut Vec<Fault>) {
    let text = name.value.as_str();
    let letters = text.chars().filter(char::is_ascii_alphabetic).count();
    let shape = text.starts_with(|c: char| c.is_ascii_lowercase())
        && text.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-' || c == '_');
    let fault = |id, message: String| Fault::new(id, name.span, message).found(text);
    if letters < 2 || !shape {
        faults.push(
            fault(id::BAD_NAME, format!("{text} is no name for {of}"))
                .allowed("two small letters or more, with digits, - and _ where you like")
                .cure(if of == "a file" {
                    "name it after its subject, such as torque"
                } else {
                    "name it after what it works out, such as chain"
                }),
        );
    } else if Unit::symbol(text).is_some()
        || crate::mechanics::functions::named(text).is_some()
        || ["bike", "pi", "if", "balance", "lookup"].contains(&text)
    {
        faults.push(
            fault(id::RESERVED_NAME, format!("{text} is a unit or has a meaning of its own"))
                .cure(format!("choose another name for {}", of.replacen("a ", "the ", 1))),
        );
    }
}

/// One name of the list `show`.
fn shown(item: &Node, faults: &mut Vec<Fault>) -> Option<Spanned<String>> {
    let name = item.text().map(spanned);
    if name.is_none() {
        faults.push(
            Fault::new(id::WRONG_SHAPE, item.span, "each item of show is the name of one figure")
                .allowed("show: links, or show: [links, pairs]")
                .cure("write the names alone, with commas between them"),
        );
    }
    name
}

/// The limits of one item of `must`: one as a rule, several where conditions stand below one another.
fn musts(node: &Node, file: &str, faults: &mut Vec<Fault>) -> Vec<Must> {
    let Some(entries) = node.as_map() else {
        faults.push(not_a_limit(node.span));
        return Vec::new();
    };
    entries.iter().filter_map(|entry| must(entry, file, faults)).collect()
}

fn not_a_limit(span: Span) -> Fault {
    Fault::new(id::WRONG_SHAPE, span, "a limit is a comparison, a colon and words")
        .allowed("- \"chain.links <= stock.longest_chain\": The longest chain in the box has (=stock.longest_chain).")
        .cure("put the comparison in quotes, then write a colon and the sentence to show")
}

fn must(entry: &yaml::Entry, file: &str, faults: &mut Vec<Fault>) -> Option<Must> {
    let Some(message) = entry.value.text().filter(|_| !entry.value.is_blank()) else {
        faults.push(not_a_limit(entry.key.span));
        return None;
    };
    // The key of a mapping has been decoded; in quotes without escapes it stands in the file as it is.
    let inner = Span::new(entry.key.span.start, entry.key.span.end);
    let quoted = file.get(inner.start..inner.end).is_some_and(|text| text.starts_with(['"', '\'']));
    let start = inner.start + usize::from(quoted);
    Some(Must { when: Mapped::verbatim(entry.key.value.as_str(), start), message: split_marks(message, file, faults) })
}

fn drawing(body: &Mapped, file: &str, faults: &mut Vec<Fault>) -> Option<DrawingBlock> {
    let node = yaml::parse(body).map_err(|found| faults.extend(found)).ok()?;
    let fields = Fields::of(&node, &DRAWING, faults)?;
    let of = spanned(fields.need_text("of", faults)?);
    let alt = fields.need_text("alt", faults)?;
    let caption = fields.text("caption", faults);
    let prose = std::iter::once(alt).chain(caption).cloned().collect();
    let alt = split_marks(alt, file, faults);
    let caption = caption.map(|text| split_marks(text, file, faults)).unwrap_or_default();
    Some(DrawingBlock { prose, of, set: named_texts(&fields, "set", faults), alt, caption, span: body.whole() })
}

fn safety(body: &Mapped, file: &str, faults: &mut Vec<Fault>) -> Option<SafetyBlock> {
    let words = || SIGNALS.iter().map(|(word, _)| *word);
    let text = body.text();
    let first = text.lines().next().unwrap_or_default();
    let signal = first.trim();
    if !words().any(|word| word == signal) {
        let fault =
            Fault::new(id::SIGNAL_WORD, body.span(0..first.len()), "a safety notice begins with its signal word")
                .found(signal)
                .allowed(words().collect::<Vec<_>>().join(", "));
        faults.push(fault.nearest(
            signal,
            words(),
            "choose one: danger kills or maims, warning can kill or maim, caution hurts a little, notice is for things",
        ));
        return None;
    }
    let rest = body.slice((first.len() + 1).min(text.len())..text.len());
    Some(SafetyBlock { signal: signal.to_owned(), body: markdown::parse(&rest, file, faults) })
}

/// The entries of a mapping whose values are single texts.
pub(super) fn named_texts(fields: &Fields<'_>, key: &str, faults: &mut Vec<Fault>) -> Vec<NamedText> {
    let Some(node) = fields.get(key) else { return Vec::new() };
    let Some(entries) = node.as_map() else {
        faults.push(
            Fault::new(id::WRONG_SHAPE, node.span, format!("{key} holds names, each with its value"))
                .allowed("name: value, one to a line")
                .cure("write each name, a colon and its value on a line of its own, without a hyphen"),
        );
        return Vec::new();
    };
    let text = |entry: &yaml::Entry| Some((entry.key.clone(), entry.value.text()?.clone()));
    for entry in entries.iter().filter(|entry| entry.value.text().is_none()) {
        faults.push(
            Fault::new(id::WRONG_SHAPE, entry.value.span, format!("{} takes a single value", entry.key.value))
                .cure("write one value after the colon"),
        );
    }
    entries.iter().filter_map(text).collect()
}

pub(super) fn spanned(text: &Mapped) -> Spanned<String> {
    Spanned::new(text.text().trim().to_owned(), text.whole())
}
