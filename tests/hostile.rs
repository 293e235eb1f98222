//! Texts that nobody means: whatever is typed, nothing panics, and every fault points into what was typed.
//!
//! Random runs of the language's own pieces, of Markdown's and YAML's, from fixed seeds. A value that is printed and
//! read again is the same tree.

use fastrand::Rng;
use locknut::diagnostic::{Source, draw};
use locknut::fault::Fault;
use locknut::library::guide;
use locknut::mechanics::load::load;
use locknut::mechanics::parser::{Names, parse_condition, parse_expression};
use locknut::mechanics::print::line_of;
use locknut::mechanics::written::parse_written;
use locknut::text::Mapped;
use std::sync::Arc;

const PIECES: &[&str] = &[
    "1",
    "410",
    "2.5",
    ".",
    ",",
    "5e3",
    "0x1",
    " ",
    "\u{A0}",
    "mm",
    "N·m",
    "°C",
    "º",
    "%",
    "teeth",
    "links",
    "±",
    "+/-",
    "+",
    "-",
    "\u{2212}",
    "*",
    "/",
    "^",
    "(",
    ")",
    "²",
    "if",
    "balance",
    "lookup",
    "sqrt(",
    "max(",
    "pi",
    "chain.links",
    "a-b",
    "_",
    "<",
    "<=",
    ">",
    "==",
    "!=",
    "é",
    "𝄞",
    "\u{200B}",
    "\t",
    "\n",
    "≤",
    "×",
    "·",
];

const PAGE: &[&str] = &[
    "```working\n",
    "```drawing\n",
    "```safety\nwarning\n",
    "```\n",
    "name: chain\n",
    "formula: chain-length\n",
    "given:\n",
    "  chainstay: 410 mm ± 2 mm\n",
    "  chainring: 50\n",
    "show: [links]\n",
    "must:\n  - \"chain.links < 5\": No (=chain.links).\n",
    "(=",
    "(=chain.links)",
    "\\(=",
    "(=chain.links in inch to 0.01)",
    "## 10 Cut\n",
    "## ",
    "# ",
    "- ",
    "1. ",
    "> ",
    "| a | b |\n|---|---|\n| (=x.y) | c |\n",
    "**",
    "_",
    "`",
    "<b>",
    "<!-- x -->",
    "[a](b.md#op-10)",
    "![a](b.png)",
    "\n",
    "\n\n",
    " ",
    "é",
    "𝄞",
    "\t",
    "&name ",
    "*name ",
    "{",
    "}",
    "[",
    "]",
    ": ",
    "---\n",
    "\r\n",
    "Table: x\n\n",
];

fn text(rng: &mut Rng, pieces: &[&str], most: usize) -> String {
    (0..rng.usize(1..most)).map(|_| pieces[rng.usize(..pieces.len())]).collect()
}

/// A fault stands within its text, on whole characters, and can be drawn.
fn check(fault: &Fault, text: &str) {
    let within = text.get(fault.span.start..fault.span.end).is_some();
    assert!(within, "{fault:?} points outside {text:?}");
    let source = Source::new("case.md", text);
    assert!(draw(fault, &source, 80).contains(fault.id));
}

#[test]
fn expressions_and_values() {
    let mut rng = Rng::with_seed(7);
    let mut read = 0;
    for _ in 0..200_000 {
        let text = text(&mut rng, PIECES, 12);
        let mapped = Mapped::verbatim(text.as_str(), 0);
        if let Err(fault) = parse_written(&mapped) {
            check(&fault, &text);
        }
        for names in [Names::OfSteps, Names::OfPages] {
            if let Err(fault) = parse_condition(&mapped, names) {
                check(&fault, &text);
            }
            match parse_expression(&mapped, names) {
                Err(fault) => check(&fault, &text),
                Ok(tree) => {
                    read += 1;
                    let line = line_of(&tree);
                    let again = parse_expression(&Mapped::verbatim(line.as_str(), 0), names);
                    let again = again.unwrap_or_else(|fault| panic!("{text:?} is printed as {line:?}: {fault:?}"));
                    assert_eq!(line_of(&again), line, "{text:?}");
                }
            }
        }
    }
    println!("{read} texts were expressions");
    assert!(read > 1_000);
}

const FRONT: &str = "---\ntitle: A (=chain.links) case\nsummary: A case.\ntopic: care\nnumber: X-1\nrevision: A\nissued: 2026-05-03\nprepared_by: R. Pell\ndone_by: rider\n---\n";

#[test]
fn pages() {
    let mut rng = Rng::with_seed(8);
    for _ in 0..20_000 {
        let front = if rng.u8(..4) == 0 { "" } else { FRONT };
        let text = format!("{front}{}", text(&mut rng, PAGE, 24));
        let source = Arc::new(Source::new("content/guides/care/case.md", text));
        let mut faults = Vec::new();
        let _ = guide::parse(&source, guide::Form::Guide("care"), &mut faults);
        for fault in &faults {
            check(fault, &source.text);
        }
    }
}

#[test]
fn formula_files() {
    let mut rng = Rng::with_seed(9);
    let whole = locknut::mechanics::bundle::text("equal-drop-widths").expect("a bundled formula");
    for _ in 0..4_000 {
        let mut text = whole.to_owned();
        for _ in 0..rng.usize(1..4) {
            let places: Vec<usize> = text.char_indices().map(|(at, _)| at).collect();
            let (start, length) = (rng.usize(..places.len()), rng.usize(..6));
            let end = places.get(start + length).copied().unwrap_or(text.len());
            text.replace_range(places[start]..end, PIECES[rng.usize(..PIECES.len())]);
        }
        if let Err(faults) = load(&Mapped::verbatim(text.as_str(), 0)) {
            for fault in &faults {
                check(fault, &text);
            }
        }
    }
}
