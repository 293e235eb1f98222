//! The blocks that ask about parts, worked: pairings with their claims, and fit tables.

use super::WorkedText;
use super::pairing::{Chosen, ToldPairing, ask, asked, told};
use crate::fault::{Fault, id};
use crate::library::block_shelf::{FitTableBlock, NamedPart, PairingBlock, Side};
use crate::library::shelf::Shelf;
use crate::mechanics::pairing::Verdict;
use crate::mechanics::pairing::ask::Asking;
use crate::mechanics::pairing::shelf::unknown_family;
use crate::text::count;
use rayon::prelude::*;
use std::collections::HashMap;

/// A `pairing` block, worked.
#[derive(Clone, Debug)]
pub struct WorkedPairing {
    /// The verdict and its reasons.
    pub told: ToldPairing,
    /// The block as written.
    pub written: String,
}

/// A `fit-table` block, worked.
#[derive(Clone, Debug)]
pub struct WorkedFitTable {
    /// What stands above it.
    pub caption: Vec<WorkedText>,
    /// What the rows are: the family's title, or nothing of a mixed list.
    pub down_title: String,
    /// The titles of the rows.
    pub down: Vec<String>,
    /// The titles of the columns.
    pub across: Vec<String>,
    /// The titles of the parts that every question was asked with.
    pub with: Vec<String>,
    /// By row and column: which of the answers.
    pub cells: Vec<Vec<usize>>,
    /// The answers that differ, in the order in which they are first met.
    pub answers: Vec<Answer>,
    /// The cautions of all rules that spoke, each once.
    pub cautions: Vec<String>,
    /// On whose word, each once.
    pub sources: Vec<String>,
}

/// An answer of a fit table: what the rules said, without the names of parts, so that equal answers are one.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Answer {
    /// The verdict.
    pub verdict: Verdict,
    /// What was said: the rule's title, its verdict, its words.
    pub lines: Vec<(String, Verdict, String)>,
}

/// A table with more cells than this is no longer read by anybody.
const MOST_CELLS: usize = 40_000;

/// Works a `pairing` block; `None` with the faults noted where it names what isn't there, or its claim is out.
pub(super) fn pairing(block: &PairingBlock, shelf: &Shelf, faults: &mut Vec<Fault>) -> Option<WorkedPairing> {
    let parts = choose(&block.parts, shelf, faults)?;
    let told = ask(shelf, &parts);
    if let Some(claim) = &block.claim
        && claim.value != told.verdict
    {
        let worst = told.reasons.iter().find(|reason| reason.verdict == told.verdict);
        let why = worst.map(|reason| reason.message.clone()).or_else(|| told.unjoined.first().cloned());
        faults.push(
            Fault::new(
                id::VERDICT_OUT,
                claim.span,
                format!("the claim is {}, and the shelf says {}", claim.value.words(), told.verdict.words()),
            )
            .found(why.unwrap_or_else(|| "nothing is known of these parts together".to_owned()))
            .cure("mend the claim, or the attributes of the parts on the shelf"),
        );
        return None;
    }
    Some(WorkedPairing { told, written: block.written.clone() })
}

/// The parts that a block names.
fn choose<'s>(named: &[NamedPart], shelf: &'s Shelf, faults: &mut Vec<Fault>) -> Option<Vec<Chosen<'s>>> {
    let chosen: Vec<Chosen<'s>> = named
        .iter()
        .filter_map(|named| {
            let Some(part) = shelf.part(&named.name.value) else {
                faults.push(shelf.unknown(&named.name.value, named.name.span));
                return None;
            };
            if named.place.is_some() && !shelf.family_of(part).is_some_and(|family| family.places) {
                faults.push(no_places(named));
                return None;
            }
            Some(Chosen { part, place: named.place })
        })
        .collect();
    (chosen.len() == named.len()).then_some(chosen)
}

fn no_places(named: &NamedPart) -> Fault {
    Fault::new(id::ONE_END, named.name.span, "a bicycle has one of these, not one at each end")
        .found(named.name.value.clone())
        .cure("leave front or rear out")
}

/// The parts of one side of a table, and the title of their family where they are of one.
fn side<'s>(side: &Side, shelf: &'s Shelf, faults: &mut Vec<Fault>) -> Option<(Vec<Chosen<'s>>, String)> {
    match side {
        Side::Parts(named) => {
            let chosen = choose(named, shelf, faults)?;
            let first = chosen.first().and_then(|chosen| shelf.family_of(chosen.part));
            let title = first.filter(|family| chosen.iter().all(|chosen| chosen.part.family == family.id));
            Some((chosen, title.map(|family| family.title.clone()).unwrap_or_default()))
        }
        Side::Family(named) => {
            let Some(family) = shelf.rules.family(&named.name.value) else {
                faults.push(unknown_family(&named.name.value, named.name.span, &shelf.rules.families));
                return None;
            };
            if named.place.is_some() && !family.places {
                faults.push(no_places(named));
                return None;
            }
            let parts = shelf.of_family(&family.id).map(|part| Chosen { part, place: named.place });
            Some((parts.collect(), family.title.clone()))
        }
    }
}

/// Works a `fit-table` block but for its caption.
pub(super) fn fit_table(block: &FitTableBlock, shelf: &Shelf, faults: &mut Vec<Fault>) -> Option<WorkedFitTable> {
    let (down, across) = (side(&block.down, shelf, faults), side(&block.across, shelf, faults));
    let with = choose(&block.with, shelf, faults);
    let ((down, down_title), (across, _), with) = (down?, across?, with?);
    if down.is_empty() || across.is_empty() || down.len() * across.len() > MOST_CELLS {
        let message = if down.is_empty() || across.is_empty() {
            "the shelf has no parts for one side of this table"
        } else {
            "this table is too large"
        };
        faults.push(
            Fault::new(id::TABLE_SIZE, block.span, message)
                .found(format!("{} across {}", count(down.len(), "row"), count(across.len(), "column")))
                .allowed(format!("1 to {MOST_CELLS} cells"))
                .cure("name a family that has parts on the shelf, or a shorter list"),
        );
        return None;
    }
    let families = down.iter().chain(&across).chain(&with).map(|chosen| chosen.part.family.as_str());
    let asking = Asking::of(&shelf.rules, families);
    let rows: Vec<Vec<ToldAnswer>> = down
        .par_iter()
        .map(|row| across.iter().map(|column| answer(shelf, &asking, row, column, &with)).collect())
        .collect();
    let mut table = WorkedFitTable {
        caption: Vec::new(),
        down_title,
        down: down.iter().map(|chosen| chosen.part.title.clone()).collect(),
        across: across.iter().map(|chosen| chosen.part.title.clone()).collect(),
        with: with.iter().map(|chosen| chosen.part.title.clone()).collect(),
        cells: Vec::with_capacity(rows.len()),
        answers: Vec::new(),
        cautions: Vec::new(),
        sources: Vec::new(),
    };
    let mut known: HashMap<Answer, usize> = HashMap::new();
    for row in rows {
        let cells = row.into_iter().map(|cell| table.keep(cell, &mut known));
        let cells: Vec<usize> = cells.collect();
        table.cells.push(cells);
    }
    Some(table)
}

/// An answer, with what goes along with it.
struct ToldAnswer {
    answer: Answer,
    cautions: Vec<String>,
    sources: Vec<String>,
}

fn answer(
    shelf: &Shelf,
    asking: &Asking<'_>,
    row: &Chosen<'_>,
    column: &Chosen<'_>,
    with: &[Chosen<'_>],
) -> ToldAnswer {
    let mut parts = vec![*row, *column];
    parts.extend_from_slice(with);
    let mut pairing = asking.ask(&asked(&parts));
    // What the parts beside the two say of one another is the same in every cell, and not what the table asks.
    pairing.findings.retain(|finding| finding.parts.iter().flatten().any(|place| *place < 2));
    pairing.unjoined.retain(|pair| pair.parts[0] < 2);
    let told = told(shelf, &parts, &pairing);
    let mut lines: Vec<(String, Verdict, String)> = told
        .reasons
        .iter()
        .map(|reason| {
            let mut words = reason.message.clone();
            if !reason.measure.is_empty() {
                let measure: Vec<String> =
                    reason.measure.iter().map(|one| format!("{}: {}", one.about, one.how)).collect();
                words = format!("Measure {}.", measure.join("; "));
            }
            (reason.title.clone(), reason.verdict, words)
        })
        .collect();
    lines.extend(told.unjoined.iter().map(|line| (String::new(), Verdict::NotKnown, line.clone())));
    let open = told.reasons.is_empty() || pairing.unjoined.iter().any(|pair| pair.apart.is_none());
    let worst = told.reasons.iter().map(|reason| reason.verdict).min().unwrap_or(Verdict::NotKnown);
    let verdict = if open { worst.min(Verdict::NotKnown) } else { worst };
    ToldAnswer {
        answer: Answer { verdict, lines },
        cautions: told.reasons.iter().flat_map(|reason| reason.cautions.clone()).collect(),
        sources: told.reasons.iter().map(|reason| reason.source.clone()).collect(),
    }
}

impl WorkedFitTable {
    /// Keeps an answer, once, and gives its place.
    fn keep(&mut self, told: ToldAnswer, known: &mut HashMap<Answer, usize>) -> usize {
        if let Some(place) = known.get(&told.answer) {
            return *place;
        }
        for (list, more) in [(&mut self.cautions, told.cautions), (&mut self.sources, told.sources)] {
            for line in more {
                if !list.contains(&line) {
                    list.push(line);
                }
            }
        }
        known.insert(told.answer.clone(), self.answers.len());
        self.answers.push(told.answer);
        self.answers.len() - 1
    }
}
