//! Parts in, verdict out: every rule that joins some of them is put to them, and the worst word counts.
//!
//! A rule with joined parts at both ends of a bicycle is put to those of one end together. A rule that joins two of
//! the parts and a third which nobody named says so: what it would have said is not known. Two parts that no rule
//! joins are not known either, unless there are more of them and the two have no bearing on each other: their families
//! are listed as apart, or they are at different ends of the bicycle.

use super::rule::{Rule, Spoken};
use super::shelf::Rules;
use super::value::{NOTHING, Values};
use super::{Place, Verdict};

/// A part that is asked about.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// Its family.
    pub family: &'a str,
    /// The end of the bicycle, where somebody said which.
    pub place: Option<Place>,
    /// What is known of it.
    pub values: &'a Values,
}

/// What a rule says, and about which of the parts.
#[derive(Clone, Debug)]
pub struct Finding<'r> {
    /// The rule.
    pub rule: &'r Rule,
    /// By joined part: which of the parts that were asked about, or none where nobody named one.
    pub parts: Vec<Option<usize>>,
    /// What it says.
    pub spoken: Spoken,
}

/// Two parts, by their places among those asked about, and why they are not told of.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Unjoined {
    /// The two.
    pub parts: [usize; 2],
    /// Why they have no bearing on each other; `None` where nobody knows.
    pub apart: Option<String>,
}

/// The verdict with its reasons.
#[derive(Clone, Debug)]
pub struct Pairing<'r> {
    /// The worst of all that was said.
    pub verdict: Verdict,
    /// What was said, the worst first.
    pub findings: Vec<Finding<'r>>,
    /// Pairs that no rule joins.
    pub unjoined: Vec<Unjoined>,
}

/// The rules that may speak of some families.
#[derive(Clone, Debug)]
pub struct Asking<'r> {
    rules: &'r Rules,
    bearing: Vec<&'r Rule>,
}

impl<'r> Asking<'r> {
    /// Takes the rules that join two or more of these families.
    #[must_use]
    pub fn of<'f>(rules: &'r Rules, families: impl Iterator<Item = &'f str>) -> Self {
        let families: Vec<&str> = families.collect();
        let bears =
            |rule: &&Rule| rule.joins.iter().filter(|joined| families.contains(&joined.family.as_str())).count() >= 2;
        Self { rules, bearing: rules.rules.iter().filter(bears).collect() }
    }

    /// The same without rules that `wanted` refuses.
    #[must_use]
    pub fn only(&self, wanted: impl Fn(&Rule) -> bool) -> Self {
        let bearing = self.bearing.iter().copied().filter(|rule| wanted(rule)).collect();
        Self { rules: self.rules, bearing }
    }

    /// The verdict on these parts.
    #[must_use]
    pub fn ask(&self, parts: &[Asked<'_>]) -> Pairing<'r> {
        self.ask_of(parts, parts.len())
    }

    /// The verdict on some parts of a question about so many.
    #[must_use]
    pub fn ask_of(&self, parts: &[Asked<'_>], all: usize) -> Pairing<'r> {
        let mut findings = Vec::new();
        let mut joined = vec![false; parts.len() * parts.len()];
        for rule in &self.bearing {
            put(rule, parts, &mut findings, &mut joined);
        }
        findings.sort_by_key(|finding: &Finding<'_>| (finding.spoken.verdict, !finding.spoken.notice));
        let mut unjoined = Vec::new();
        for one in 0..parts.len() {
            for other in one + 1..parts.len() {
                let silent = all == 2 && findings.is_empty();
                if silent || !joined[one * parts.len() + other] && !self.are_at_other_ends(&parts[one], &parts[other]) {
                    let apart = self.rules.apart(parts[one].family, parts[other].family).map(str::to_owned);
                    unjoined.push(Unjoined { parts: [one, other], apart });
                }
            }
        }
        let open = findings.is_empty() || unjoined.iter().any(|pair| pair.apart.is_none());
        let worst = findings.iter().map(|finding| finding.spoken.verdict).min().unwrap_or(Verdict::NotKnown);
        let verdict = if open { worst.min(Verdict::NotKnown) } else { worst };
        Pairing { verdict, findings, unjoined }
    }

    /// True of two parts whose rules speak of one end of the bicycle, where they are not at that end together.
    fn are_at_other_ends(&self, one: &Asked<'_>, other: &Asked<'_>) -> bool {
        let placed = one.place.is_some() || other.place.is_some();
        let differ = one.place.is_some() && other.place.is_some() && one.place != other.place;
        placed && (differ || self.rules.joins(one.family, other.family))
    }
}

/// Puts all sets of the parts that a rule joins to it.
fn put<'r>(rule: &'r Rule, parts: &[Asked<'_>], findings: &mut Vec<Finding<'r>>, joined: &mut [bool]) {
    let candidates: Vec<Vec<usize>> = (0..rule.joins.len()).map(|join| candidates(rule, join, parts)).collect();
    let known = candidates.iter().filter(|list| !list.is_empty()).count();
    if known < rule.joins.len() {
        if known >= 2 && !rule.together {
            let there: Vec<usize> = candidates.iter().filter_map(|list| list.first().copied()).collect();
            let asked = rule.tells_with.iter().all(|join| !candidates[*join].is_empty());
            let replaced = parts.iter().any(|part| rule.instead.iter().any(|family| family == part.family));
            if asked && !replaced && speaks(rule, parts, &candidates) {
                mark(&there, parts.len(), joined);
                incomplete(rule, &candidates, findings);
            }
        }
        return;
    }
    let mut chosen = Vec::with_capacity(rule.joins.len());
    let before = findings.len();
    let family = |join: usize| rule.joins[join].family.as_str();
    let is_twofold = (1..rule.joins.len()).any(|one| (0..one).any(|other| family(one) == family(other)));
    choose(rule, parts, &candidates, &mut chosen, &mut |chosen| {
        // A rule that has nothing to say of parts says that they have no bearing on each other in what it asks.
        mark(chosen, parts.len(), joined);
        let values: Vec<&Values> = chosen.iter().map(|part| parts[*part].values).collect();
        let Some(spoken) = rule.put(&values) else { return };
        // Two of one family are put to the rule in either order; what it says twice is told once.
        let mut sorted = chosen.to_vec();
        sorted.sort_unstable();
        let twice = is_twofold
            && findings[before..].iter().any(|known| {
                let mut parts: Vec<usize> = known.parts.iter().flatten().copied().collect();
                parts.sort_unstable();
                parts == sorted && known.spoken == spoken
            });
        if !twice {
            findings.push(Finding { rule, parts: chosen.iter().copied().map(Some).collect(), spoken });
        }
    });
}

/// True where an incomplete rule has something to say of one of the parts that it may be put to.
fn speaks(rule: &Rule, parts: &[Asked<'_>], candidates: &[Vec<usize>]) -> bool {
    let first = |join: usize| candidates[join].first().map_or(&NOTHING, |part| parts[*part].values);
    let all = || (0..candidates.len()).map(first).collect::<Vec<&Values>>();
    let others = candidates.iter().enumerate().flat_map(|(join, list)| list.iter().map(move |part| (join, *part)));
    others
        .map(|(join, part)| {
            let mut values = all();
            values[join] = parts[part].values;
            values
        })
        .any(|values| !rule.is_silent(&values))
}

/// Notes that a rule joins these parts, of so many.
fn mark(chosen: &[usize], parts: usize, joined: &mut [bool]) {
    for one in chosen {
        for other in chosen {
            joined[one * parts + other] = true;
        }
    }
}

/// The parts that a joined part may be. Where a rule joins two of one family, each says at which end it is.
fn candidates(rule: &Rule, join: usize, parts: &[Asked<'_>]) -> Vec<usize> {
    let wanted = &rule.joins[join];
    let twice = rule.joins.iter().filter(|one| one.family == wanted.family).count() > 1;
    let fits = |part: &Asked<'_>| {
        let placed = match (wanted.place, part.place) {
            (Some(place), Some(own)) => place == own,
            (Some(_), None) => !twice,
            (None, _) => true,
        };
        part.family == wanted.family && placed
    };
    parts.iter().enumerate().filter(|(_, part)| fits(part)).map(|(place, _)| place).collect()
}

/// Every choice of one part for each joined part: no part twice, and all at one end where the rule doesn't say.
fn choose(
    rule: &Rule,
    parts: &[Asked<'_>],
    candidates: &[Vec<usize>],
    chosen: &mut Vec<usize>,
    told: &mut dyn FnMut(&[usize]),
) {
    let join = chosen.len();
    if join == candidates.len() {
        told(chosen);
        return;
    }
    for &part in &candidates[join] {
        let end = |join: usize, part: usize| if rule.joins[join].place.is_none() { parts[part].place } else { None };
        let own = end(join, part);
        let is_placed = |part: usize| parts[part].place.is_some();
        let agrees = chosen.iter().enumerate().all(|(before, other)| {
            let other = end(before, *other);
            own.is_none() || other.is_none() || own == other
        });
        let alike = !rule.alike || chosen.iter().all(|other| is_placed(*other) == is_placed(part));
        if agrees && alike && !chosen.contains(&part) {
            chosen.push(part);
            choose(rule, parts, candidates, chosen, told);
            chosen.pop();
        }
    }
}

/// A rule that joins two parts or more, and another which nobody named.
fn incomplete<'r>(rule: &'r Rule, candidates: &[Vec<usize>], findings: &mut Vec<Finding<'r>>) {
    let wanted: Vec<&str> = rule
        .joins
        .iter()
        .zip(candidates)
        .filter(|(_, list)| list.is_empty())
        .map(|(joined, _)| joined.family.as_str())
        .collect();
    let wanted = wanted.join(" and the ").replace('_', " ");
    let spoken = Spoken {
        verdict: Verdict::NotKnown,
        message: format!("This also depends on the {wanted}: ask with it."),
        notice: false,
        outcome: None,
        missing: Vec::new(),
    };
    findings.push(Finding { rule, parts: candidates.iter().map(|list| list.first().copied()).collect(), spoken });
}
