//! The names that a page knows: `chain.links`, `torque.stem`, each with its value, its text and what it read.

use super::figure::{Origin, Reads};
use crate::fault::{Fault, id};
use crate::library::Library;
use crate::mechanics::figure::Style;
use crate::mechanics::interval::Interval;
use crate::mechanics::units::KINDS;
use crate::mechanics::working::Working;
use crate::text::Span;
use std::collections::BTreeMap;

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

/// All names of a page.
#[derive(Debug, Default)]
pub struct Names {
    named: BTreeMap<String, Named>,
    /// Workings that have a fault of their own: what uses them is left alone.
    failed: Vec<String>,
    /// True where a block that could not be read may have given any name.
    more: bool,
}

impl Names {
    /// The names that every page of the library knows.
    #[must_use]
    pub fn of(library: &Library) -> Self {
        let mut names = Self::default();
        for subject in &library.stated {
            for stated in &subject.figures {
                let kind = KINDS.iter().find(|kind| kind.takes(&stated.unit)).unwrap_or(&KINDS[1]);
                let name = format!("{}.{}", subject.name, stated.name);
                let named = Named {
                    value: stated.value,
                    bounds: stated.bounds,
                    style: Style { kind, unit: stated.unit.clone(), decimals: None },
                    text: stated.text.clone(),
                    open: None,
                    reads: Reads {
                        names: vec![name.clone()],
                        origin: Origin::Stated {
                            source: stated.source.clone(),
                            checked: stated.checked.clone(),
                            about: stated.about.clone(),
                        },
                    },
                };
                names.named.insert(name, named);
            }
        }
        names
    }

    /// Adds the inputs and outputs of a working under its name; `read` are the names that its inputs used.
    pub fn add_working(&mut self, name: &str, working: &Working<'_>, read: &[String]) {
        let formula = working.formula;
        let reads = |of: &str| {
            let mut names = vec![format!("{name}.{of}")];
            names.extend(read.iter().cloned());
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
        self.named.get(name)
    }

    /// Every name with what it stands for.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &Named)> {
        self.named.iter().map(|(name, named)| (name.as_str(), named))
    }

    /// The fault of a name that nothing has; `None` where its working has a fault of its own.
    #[must_use]
    pub fn unknown(&self, name: &str, span: Span) -> Option<Fault> {
        let known =
            |first: &str| self.named.keys().any(|known| known.split_once('.').is_some_and(|(own, _)| own == first));
        let elsewhere = self.more && name.split_once('.').is_some_and(|(first, _)| !known(first));
        if self.is_failed(name) || elsewhere {
            return None;
        }
        let fault =
            Fault::new(id::UNKNOWN_NAME, span, format!("nothing on this page or in the library is called {name}"))
                .found(name);
        let siblings = || {
            let (working, _) = name.split_once('.')?;
            let all: Vec<&str> = self
                .named
                .keys()
                .filter(|known| known.split_once('.').is_some_and(|(first, _)| first == working))
                .map(String::as_str)
                .collect();
            (!all.is_empty()).then(|| all.join(", "))
        };
        let fault = match siblings() {
            Some(all) => fault.allowed(all),
            None => fault,
        };
        let known = self.named.keys().map(String::as_str);
        Some(fault.nearest(name, known, "name an input or output of a working on this page, or a stated figure"))
    }
}
