//! The names that a page knows: `chain.links`, `torque.stem`, each with its value, its text and what it read.

use super::beside::Units;
use super::figure::{Origin, Reads};
use crate::fault::{Fault, id};
use crate::library::Library;
use crate::library::shelf::{Part, Shelf};
use crate::library::stated::Amount;
use crate::mechanics::equation::kind_of;
use crate::mechanics::figure::Style;
use crate::mechanics::interval::Interval;
use crate::mechanics::working::Working;
use crate::text::Span;
use std::collections::BTreeMap;
use std::sync::Arc;

/// What a name stands for.
#[derive(Clone, Debug)]
pub struct Named {
    /// The stated value, in base units.
    pub value: f64,
    /// Where it lies for sure.
    pub bounds: Interval,
    /// How it is written.
    pub style: Style,
    /// Its text at the stated numbers, or as it was stated.
    pub text: String,
    /// What the tolerances do to it, as it stands in text: `108 or 110 links`.
    pub open: Option<String>,
    /// What it rests on.
    pub reads: Reads,
}

/// The names that every page of a library knows: stated figures, parts, and what was measured on bikes.
pub type Shared = Arc<BTreeMap<String, Named>>;

/// The shared names of a library.
#[must_use]
pub fn shared(library: &Library) -> Shared {
    let mut names = BTreeMap::new();
    let mut add = |name: String, amount: &Amount, origin: Origin| {
        let kind = kind_of(&amount.unit);
        let named = Named {
            value: amount.value,
            bounds: amount.bounds,
            style: Style { kind, unit: amount.unit.clone(), decimals: None },
            text: amount.text.clone(),
            open: None,
            reads: Reads { names: vec![name.clone()], origin },
        };
        names.insert(name, named);
    };
    for subject in &library.stated {
        for stated in &subject.figures {
            let origin = Origin::Stated {
                source: stated.source.clone(),
                checked: stated.checked.value.clone(),
                about: stated.about.clone(),
            };
            add(format!("{}.{}", subject.name, stated.name), &stated.amount, origin);
        }
    }
    for bike in &library.bikes {
        for measure in &bike.measured {
            let origin = Origin::Measured { bike: bike.title.clone(), sheet: bike.number.value.clone() };
            add(format!("{}.{}", bike.name, measure.name), &measure.amount, origin);
        }
    }
    let shelf = &library.shelf;
    for part in &shelf.parts {
        names.extend(of_part(shelf, part, &part.name.value));
    }
    for bike in &library.bikes {
        for fitted in &bike.parts {
            // Of several parts under one key none is the one that is meant.
            let is_one = bike.parts.iter().filter(|other| other.key.value == fitted.key.value).count() == 1;
            if let Some(part) = shelf.part(&fitted.name.value).filter(|_| is_one) {
                names.extend(of_part(shelf, part, &format!("{}.{}", bike.name, fitted.key.value)));
            }
        }
    }
    Arc::new(names)
}

/// The single numbers of a part, each under `called.attribute`; they read the part, whatever it is called.
fn of_part(shelf: &Shelf, part: &Part, called: &str) -> Vec<(String, Named)> {
    let Some(family) = shelf.family_of(part) else { return Vec::new() };
    let single = family.attributes.iter().filter(|attribute| !attribute.many);
    let named = single.filter_map(|attribute| {
        let (input, reading) = (attribute.number()?, part.values.get(&attribute.name)?.number()?);
        let word = part.word.get(&attribute.name)?;
        let (name, style) = (format!("{called}.{}", attribute.name), input.style());
        let origin = Origin::Shelf {
            part: part.title.clone(),
            source: word.source.clone(),
            checked: word.checked.value.clone(),
            about: attribute.about.clone(),
        };
        let own = format!("{}.{}", part.name.value, attribute.name);
        let names = if own == name { vec![name.clone()] } else { vec![name.clone(), own] };
        let named = Named {
            value: reading.value,
            bounds: reading.bounds,
            text: reading.text(&style),
            style,
            open: None,
            reads: Reads { names, origin },
        };
        Some((name, named))
    });
    named.collect()
}

/// A list of more names than this helps nobody to find the one that was meant.
const MOST_TOLD: usize = 40;

/// All names of a page.
#[derive(Debug, Default)]
pub struct Names {
    shared: Shared,
    units: Arc<Units>,
    /// The page's own: its workings, and `bike.…`.
    named: BTreeMap<String, Named>,
    /// Workings that have a fault of their own: what uses them is left alone.
    failed: Vec<String>,
    /// True where a block that could not be read may have given any name.
    more: bool,
}

impl Names {
    /// A page that knows only what every page knows.
    #[must_use]
    pub fn of(shared: &Shared, units: &Arc<Units>) -> Self {
        Self { shared: Arc::clone(shared), units: Arc::clone(units), ..Self::default() }
    }

    /// The units that the shop shows.
    #[must_use]
    pub fn units(&self) -> &Units {
        &self.units
    }

    /// Makes `bike.…` stand for what was measured on a bike.
    pub fn add_bike(&mut self, bike: &str) {
        let own = self.shared.iter().filter_map(|(name, named)| {
            let (first, measure) = name.split_once('.')?;
            (first == bike).then(|| (format!("bike.{measure}"), named.clone()))
        });
        self.named.extend(own);
    }

    /// Adds the inputs and outputs of a working under its name; `read` are the names that its inputs used.
    pub fn add_working(&mut self, name: &str, working: &Working<'_>, read: &[String]) {
        let formula = working.formula;
        // What a name read is read too, so that a figure knows the stated one at the far end.
        let mut all: Vec<String> = Vec::new();
        for first in read {
            let further = self.get(first).map_or(&[][..], |named| &named.reads.names);
            for one in std::iter::once(first).chain(further) {
                if !all.contains(one) {
                    all.push(one.clone());
                }
            }
        }
        let reads = |of: &str| {
            let mut names = vec![format!("{name}.{of}")];
            names.extend(all.iter().cloned());
            let origin = Origin::Worked {
                working: name.to_owned(),
                formula: formula.id.clone(),
                version: formula.version.clone(),
            };
            Reads { names, origin }
        };
        for (input, reading) in formula.inputs.iter().zip(&working.readings) {
            let style = input.style();
            let named = Named {
                value: reading.value,
                bounds: reading.bounds,
                text: reading.text(&style),
                open: None,
                style,
                reads: reads(&input.name),
            };
            self.named.insert(format!("{name}.{}", input.name), named);
        }
        for output in &formula.outputs {
            let Some(value) = working.value(output) else { continue };
            let open = matches!(working.spread(output), Some(crate::mechanics::enclose::Spread::OneOf(_)));
            let named = Named {
                value,
                bounds: working.bounds(output).unwrap_or(Interval::WHOLE),
                style: output.style.clone(),
                text: output.style.text(value),
                open: if open { working.spread_text(output) } else { None },
                reads: reads(&output.name),
            };
            self.named.insert(format!("{name}.{}", output.name), named);
        }
    }

    /// Notes that a block could not be read, so that a name may be missing through no fault of its own.
    pub fn expect_more(&mut self) {
        self.more = true;
    }

    /// Notes that a working has a fault of its own.
    pub fn add_failed(&mut self, name: &str) {
        self.failed.push(name.to_owned());
    }

    /// True where a name belongs to a working with a fault of its own.
    #[must_use]
    pub fn is_failed(&self, name: &str) -> bool {
        name.split_once('.').is_some_and(|(working, _)| self.failed.iter().any(|failed| failed == working))
    }

    /// What a name stands for.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&Named> {
        self.named.get(name).or_else(|| self.shared.get(name))
    }

    /// Every name with what it stands for.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &Named)> {
        self.named.iter().chain(self.shared.iter()).map(|(name, named)| (name.as_str(), named))
    }

    /// The fault of a name that nothing has; `None` where its working has a fault of its own.
    #[must_use]
    pub fn unknown(&self, name: &str, span: Span) -> Option<Fault> {
        let names = || self.named.keys().chain(self.shared.keys()).map(String::as_str);
        let known = |first: &str| names().any(|known| known.split_once('.').is_some_and(|(own, _)| own == first));
        let elsewhere = self.more && name.split_once('.').is_some_and(|(first, _)| !known(first));
        if self.is_failed(name) || elsewhere {
            return None;
        }
        let fault = Fault::new(id::UNKNOWN_NAME, span, format!("no figure is called {name}")).found(name);
        let siblings = || {
            let (working, _) = name.split_once('.')?;
            let all: Vec<&str> =
                names().filter(|known| known.split_once('.').is_some_and(|(first, _)| first == working)).collect();
            (1..=MOST_TOLD).contains(&all.len()).then(|| all.join(", "))
        };
        let fault = match siblings() {
            Some(all) => fault.allowed(all),
            None => fault,
        };
        // Where the word before the dot is known, the like figure of another bike or part is never what was meant.
        let first = name.split_once('.').map(|(first, _)| first).filter(|first| known(first));
        let of_first = |other: &&str| first.is_none_or(|first| other.split('.').next() == Some(first));
        let otherwise = match (first, name.split_once('.')) {
            (Some(first), _) => format!("name a figure that {first} has, or write this one where its others stand"),
            (None, Some((first, _))) => format!(
                "name a figure of a working on this page, such as chain.links; of stated figures, see that \
                 content/stated/{first}.yaml is there"
            ),
            (None, None) => {
                "name a figure of a working on this page, such as chain.links, or a stated figure, such as torque.stem"
                    .to_owned()
            }
        };
        Some(fault.nearest(name, names().filter(of_first), &otherwise))
    }
}
