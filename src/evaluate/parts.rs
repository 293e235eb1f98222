//! The blocks that ask about parts, worked: pairings with their claims, and fit tables.

use super::WorkedText;
use super::pairing::{Chosen, ToldPairing, ask, asked, check_count, measure, unjoined as unjoined_words};
use crate::fault::{Fault, id};
use crate::library::block_shelf::{FitTableBlock, NamedPart, PairingBlock, Side};
use crate::library::shelf::Shelf;
use crate::mechanics::pairing::Verdict;
use crate::mechanics::pairing::ask::{Asking, Finding, Pairing, Unjoined};
use crate::mechanics::pairing::rule::Rule;
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

/// A table with more cells than this tells what decides each cell, and not what else was said: a page has to open.
const MOST_TOLD: usize = 1_000;

/// Works a `pairing` block; `None` with the faults noted where it names what isn't there, or its claim is out.
pub(super) fn pairing(block: &PairingBlock, shelf: &Shelf, faults: &mut Vec<Fault>) -> Option<WorkedPairing> {
    let parts = choose(&block.parts, shelf, faults)?;
    if let Some(fault) = check_count(&parts, block.span) {
        faults.push(fault);
        return None;
    }
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
    if let Some(fault) = check_count(&with, block.span) {
        faults.push(fault);
        return None;
    }
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
    let cross = Cross::of(shelf, &down, &across, &with);
    let columns: Vec<Pairing<'_>> = across.par_iter().map(|column| cross.beside(column)).collect();
    let rows: Vec<Vec<ToldAnswer<'_>>> = down
        .par_iter()
        .map(|row| {
            let beside = cross.beside(row);
            across.iter().zip(&columns).map(|(column, other)| cross.answer(row, column, &beside, other)).collect()
        })
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

/// An answer, and the rules that spoke.
struct ToldAnswer<'r> {
    answer: Answer,
    rules: Vec<&'r Rule>,
}

/// What a fit table asks: each row with each column, and with the parts that stand beside them.
///
/// A rule that joins a row and no column says the same along the whole row, so it is asked once for it; so are those of
/// columns, and what the parts beside say of one another is not what the table asks.
struct Cross<'s, 'c> {
    shelf: &'s Shelf,
    with: &'c [Chosen<'s>],
    /// Rules that join both, or may.
    both: Asking<'s>,
    /// Rules that join one of the two with what stands beside them.
    one: Asking<'s>,
    /// True where only what decides is told.
    brief: bool,
}

impl<'s, 'c> Cross<'s, 'c> {
    fn of(shelf: &'s Shelf, down: &[Chosen<'s>], across: &[Chosen<'s>], with: &'c [Chosen<'s>]) -> Self {
        let families = |list: &[Chosen<'s>]| -> Vec<&'s str> {
            let mut families: Vec<&str> = list.iter().map(|chosen| chosen.part.family.as_str()).collect();
            families.sort_unstable();
            families.dedup();
            families
        };
        let (rows, columns) = (families(down), families(across));
        let all = rows.iter().chain(&columns).copied().chain(with.iter().map(|chosen| chosen.part.family.as_str()));
        let asking = Asking::of(&shelf.rules, all);
        let joins = |rule: &Rule, list: &[&str]| rule.joins.iter().any(|joined| list.contains(&joined.family.as_str()));
        // A rule that is silent beside another family has to see whether that stands in the row or in the column.
        let sees = |rule: &Rule, list: &[&str]| {
            joins(rule, list) || rule.instead.iter().any(|family| list.contains(&family.as_str()))
        };
        let both = asking.only(|rule| sees(rule, &rows) && sees(rule, &columns));
        let one = asking.only(|rule| sees(rule, &rows) != sees(rule, &columns));
        Self { shelf, with, both, one, brief: down.len() * across.len() > MOST_TOLD }
    }

    /// What is said of a row, or of a column, with what stands beside it.
    fn beside(&self, chosen: &Chosen<'s>) -> Pairing<'s> {
        let mut parts = vec![*chosen];
        parts.extend_from_slice(self.with);
        self.one.ask_of(&asked(&parts), self.with.len() + 2)
    }

    fn answer(
        &self,
        row: &Chosen<'s>,
        column: &Chosen<'s>,
        of_row: &Pairing<'s>,
        of_column: &Pairing<'s>,
    ) -> ToldAnswer<'s> {
        let mut parts = vec![*row, *column];
        parts.extend_from_slice(self.with);
        let pairing = self.both.ask_of(&asked(&parts), parts.len());
        // The parts as each of the three was asked about them.
        let row_parts: Vec<usize> = std::iter::once(0).chain(2..parts.len()).collect();
        let column_parts: Vec<usize> = (1..parts.len()).collect();
        let all: Vec<usize> = (0..parts.len()).collect();
        let asked = [(&pairing, &all), (of_row, &row_parts), (of_column, &column_parts)];
        let mut spoken: Vec<(&Finding<'s>, &[usize])> = Vec::new();
        for (pairing, places) in asked {
            for finding in &pairing.findings {
                spoken.push((finding, places));
            }
        }
        spoken.sort_by_key(|(finding, _)| finding.spoken.verdict);
        let is_joined = |pair: [usize; 2]| {
            asked.iter().any(|(pairing, places)| {
                let within = |part: usize| places.iter().position(|place| *place == part);
                let pair = within(pair[0]).zip(within(pair[1]));
                pair.is_some_and(|(one, other)| !pairing.unjoined.iter().any(|known| known.parts == [one, other]))
            })
        };
        let unjoined = pairing.unjoined.iter().filter(|pair| pair.parts[0] < 2 && !is_joined(pair.parts));
        let open: Vec<&Unjoined> = unjoined.filter(|pair| pair.apart.is_none() || parts.len() == 2).collect();
        let worst = spoken.first().map_or(Verdict::NotKnown, |(finding, _)| finding.spoken.verdict);
        let verdict = if open.is_empty() { worst } else { worst.min(Verdict::NotKnown) };
        let rules = spoken.iter().map(|(finding, _)| finding.rule).collect();
        let decides = |finding: &Finding<'_>| finding.spoken.verdict == worst || finding.spoken.notice;
        let told = spoken.iter().filter(|(finding, _)| !self.brief || decides(finding));
        let mut lines: Vec<(String, Verdict, String)> = told
            .map(|(finding, places)| {
                let is_bare = self.brief && worst == Verdict::Fits && !finding.spoken.notice;
                let words = if is_bare { String::new() } else { self.words(finding, &parts, places) };
                (finding.rule.title.clone(), finding.spoken.verdict, words)
            })
            .collect();
        lines.extend(
            open.iter().map(|pair| (String::new(), Verdict::NotKnown, unjoined_words(self.shelf, &parts, pair))),
        );
        ToldAnswer { answer: Answer { verdict, lines }, rules }
    }

    /// What a rule said, or what to measure; without the names of parts.
    fn words(&self, finding: &Finding<'_>, parts: &[Chosen<'_>], places: &[usize]) -> String {
        if !finding.spoken.message.is_empty() {
            return finding.spoken.message.clone();
        }
        let measure = finding.spoken.missing.iter().filter_map(|(join, attribute)| {
            let place = finding.parts.get(*join).copied().flatten()?;
            let one = measure(self.shelf, &parts[places[place]], attribute)?;
            Some(format!("{}: {}", one.about, one.how))
        });
        format!("Measure {}.", measure.collect::<Vec<_>>().join("; "))
    }
}

impl WorkedFitTable {
    /// Keeps an answer, once, and gives its place.
    fn keep(&mut self, told: ToldAnswer<'_>, known: &mut HashMap<Answer, usize>) -> usize {
        if let Some(place) = known.get(&told.answer) {
            return *place;
        }
        for rule in told.rules {
            let lines = rule.cautions.iter().map(|line| (true, line)).chain(std::iter::once((false, &rule.source)));
            for (is_caution, line) in lines {
                let list = if is_caution { &mut self.cautions } else { &mut self.sources };
                if !list.contains(line) {
                    list.push(line.clone());
                }
            }
        }
        known.insert(told.answer.clone(), self.answers.len());
        self.answers.push(told.answer);
        self.answers.len() - 1
    }
}
