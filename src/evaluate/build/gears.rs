//! The gears of a build sheet: rings and sprockets, each gear's development and speed, and the steps between them.

use super::{Bench, Gear};
use crate::evaluate::sweeps::{Plan, Swept, WorkedSweep, run};
use crate::mechanics::formula::Formula;
use crate::mechanics::pairing::Place;
use crate::mechanics::pairing::value::Value;
use crate::mechanics::reading::Reading;
use crate::mechanics::working::Working;

impl<'a> Bench<'a, '_> {
    /// The rings, smallest first: those that are listed one by one, else the smallest and the largest of the crank.
    pub(super) fn rings(&self) -> Vec<Reading> {
        let listed = self.parts.iter().filter(|one| one.part.family == "chainring");
        let listed: Vec<Reading> = listed.filter_map(|one| one.part.values.get("teeth")?.number()).collect();
        let ends = || ["smallest", "largest"].iter().filter_map(|end| self.number("crank", None, end)).collect();
        in_order(if listed.is_empty() { ends() } else { listed })
    }

    /// The sprockets, smallest first.
    pub(super) fn sprockets(&self) -> Vec<Reading> {
        for family in ["cassette", "freewheel"] {
            if let Some(Value::Numbers(all)) = self.value(family, None, "sprockets") {
                return in_order(all.clone());
            }
            let ends: Vec<Reading> =
                ["smallest", "largest"].iter().filter_map(|end| self.number(family, None, end)).collect();
            if !ends.is_empty() {
                return in_order(ends);
            }
        }
        Vec::new()
    }

    /// The distance for one turn of the rear wheel: measured with the rider on, else round the tyre.
    fn rollout(&self) -> Option<Reading> {
        self.measured("rollout").or_else(|| self.wheel(Place::Rear)?.value_named("circumference"))
    }

    fn runs(&self, formula: &'a Formula) -> Option<(Swept<'a>, Option<Swept<'a>>)> {
        let swept = |input: &str, readings: Vec<Reading>| {
            Some(Swept { input: formula.input(input)?, readings }).filter(|swept| !swept.readings.is_empty())
        };
        Some((swept("sprocket", self.sprockets())?, Some(swept("chainring", self.rings())?)))
    }

    pub(super) fn development(&self) -> Option<WorkedSweep> {
        let formula = self.formula("gear")?;
        let (across, down) = self.runs(formula)?;
        run(Plan::of(formula, "development", across, down, None, &[("rollout", self.rollout()?)])?)
    }

    pub(super) fn speeds(&self) -> Option<WorkedSweep> {
        let formula = self.formula("speed-at-cadence")?;
        let (across, down) = self.runs(formula)?;
        let readings = self.bike.cadence.as_ref()?.iter().map(|end| Reading::exact(end.value)).collect();
        let between = Swept { input: formula.input("cadence")?, readings };
        run(Plan::of(formula, "speed", across, down, Some(between), &[("rollout", self.rollout()?)])?)
    }

    pub(super) fn gears(&self) -> Vec<Gear> {
        let Some(rollout) = self.rollout() else { return Vec::new() };
        let (rings, sprockets) = (self.rings(), self.sprockets());
        let mut gears: Vec<(Reading, Reading, Working<'a>)> = Vec::new();
        for ring in &rings {
            for sprocket in &sprockets {
                let given = [
                    ("chainring", Some(*ring)),
                    ("sprocket", Some(*sprocket)),
                    ("rollout", Some(rollout.without_tolerance())),
                ];
                gears.extend(self.work("gear", &given).map(|working| (*ring, *sprocket, working)));
            }
        }
        let ratio = |gear: &(Reading, Reading, Working<'a>)| gear.0.value / gear.1.value;
        gears.sort_by(|one, other| ratio(other).total_cmp(&ratio(one)));
        let teeth = |reading: Reading, working: &Working<'_>, input: &str| {
            working.formula.input(input).map(|input| reading.text(&input.style())).unwrap_or_default()
        };
        let told = gears.iter().enumerate().map(|(place, (ring, sprocket, working))| {
            let step = gears.get(place + 1).and_then(|(next_ring, next_sprocket, _)| {
                self.work(
                    "gear-step",
                    &[
                        ("first_chainring", Some(*ring)),
                        ("first_sprocket", Some(*sprocket)),
                        ("second_chainring", Some(*next_ring)),
                        ("second_sprocket", Some(*next_sprocket)),
                    ],
                )
            });
            let text = |working: &Working<'_>, output: &str| {
                working.formula.output(output).and_then(|output| working.text(output)).unwrap_or_default()
            };
            Gear {
                ring: teeth(*ring, working, "chainring"),
                sprocket: teeth(*sprocket, working, "sprocket"),
                development: text(working, "development"),
                note: step.as_ref().and_then(|step| step.spoken.first().map(|spoken| spoken.limit.message.clone())),
                step: step.map(|step| text(&step, "step")),
            }
        });
        told.collect()
    }
}

/// Numbers from the smallest to the largest, each once.
fn in_order(mut readings: Vec<Reading>) -> Vec<Reading> {
    readings.sort_by(|one, other| one.value.total_cmp(&other.value));
    readings.dedup_by(|one, other| crate::mechanics::pairing::value::same(one.value, other.value));
    readings
}
