//! The side view of a build sheet: what each input of the drawing is on this bike, measured first, else of its parts.

use super::{Bench, VIEW};
use crate::drawing::{Drawings, Filled};
use crate::evaluate::WorkedDrawing;
use crate::fault::{Fault, id};
use crate::mechanics::figure::Style;
use crate::mechanics::pairing::Place;
use crate::mechanics::reading::Reading;
use crate::mechanics::working::Working;
use crate::text::Spanned;

impl<'a> Bench<'a, '_> {
    pub(super) fn view(&self, drawings: &Drawings, faults: &mut Vec<Fault>) -> Option<WorkedDrawing> {
        // A bike that lists no frame wants no view.
        self.part("frame", None)?;
        let name = Spanned::new(VIEW.to_owned(), self.bike.number.span);
        let drawing = drawings.find(&name).map_err(|fault| faults.extend(fault)).ok()?;
        let mut missing = Vec::new();
        let mut values = Vec::with_capacity(drawing.inputs.len());
        for input in &drawing.inputs {
            let Some(reading) = self.seen(&input.name) else {
                missing.push(format!("{} ({})", input.name, input.about));
                continue;
            };
            let style = Style { kind: input.kind, unit: input.unit.clone(), decimals: None };
            // A drawing says its numbers without their tolerances: the sheet lists what was measured.
            let (text, bare) = (style.text(reading.value), style.bare(reading.value));
            values.push((input.name.clone(), style.number(reading.value), text, bare));
        }
        if !missing.is_empty() {
            faults.push(
                Fault::note(id::LEFT_OUT, self.bike.number.span, "the side view is left out: not enough is known")
                    .found(missing.join("; "))
                    .cure("put these on the shelf with frame, fork, crank, stem or tyres, or write them under measured by these names"),
            );
            return None;
        }
        let shown =
            |input: &str| values.iter().find(|(name, ..)| name == input).map_or("", |(_, _, text, _)| text.as_str());
        let alt = format!(
            "{}: side view to scale, drive side, with a chainstay of {}, a wheelbase of {} and a head angle of {}.",
            self.bike.title,
            shown("chainstay"),
            shown("wheelbase"),
            shown("head_angle")
        );
        let filled = Filled { values, items: drawing.items.clone() };
        Some(WorkedDrawing { name: VIEW.to_owned(), filled, alt, caption: Vec::new() })
    }

    /// What an input of the side view is on this bike: measured, else of its parts.
    fn seen(&self, name: &str) -> Option<Reading> {
        const FRAME: [&str; 6] = ["chainstay", "bottom_bracket_drop", "stack", "reach", "head_angle", "seat_angle"];
        let flag = |yes: bool| Some(Reading::exact(if yes { 1.0 } else { 0.0 }));
        let has = |family: &str| self.part(family, None).is_some();
        if let Some(reading) = self.measured(name) {
            return Some(reading);
        }
        match name {
            // The headset's cup below the head tube is a part of what stands between crown and stack.
            "head_tube" => {
                let tube = self.number("frame", None, "head_tube")?;
                let cup = self.number("headset", None, "lower_stack").map_or(0.0, |cup| cup.value);
                Some(Reading::exact(tube.value + cup))
            }
            name if FRAME.contains(&name) => self.number("frame", None, name),
            "fork_offset" => self.number("fork", None, "offset"),
            "axle_to_crown" => self.number("fork", None, "axle_to_crown"),
            "travel" if self.word("fork", "sort") == Some("sprung") => self.number("fork", None, "travel"),
            "front_diameter" => self.wheel(Place::Front)?.value_named("diameter"),
            "rear_diameter" => self.wheel(Place::Rear)?.value_named("diameter"),
            "front_tyre" => self.number("tyre", Some(Place::Front), "width"),
            "rear_tyre" => self.number("tyre", Some(Place::Rear), "width"),
            "crank_length" => self.number("crank", None, "length"),
            "chainring" => self.rings().last().copied(),
            "inner_ring" if self.rings().len() > 1 => self.rings().first().copied(),
            // A rigid fork has no travel, and one ring no other beside it.
            "travel" | "inner_ring" => flag(false),
            "largest" => self.sprockets().last().copied(),
            "smallest" => self.sprockets().first().copied(),
            "stem" => self.number("stem", None, "extension"),
            "stem_rise" => self.number("stem", None, "angle"),
            "drop_bar" => flag(self.word("handlebar", "sort")? == "drop"),
            "front_derailleur" => flag(has("front_derailleur")),
            "rear_derailleur" => flag(has("rear_derailleur")),
            "disc" => flag(has("rotor")),
            "rack" => flag(has("rack")),
            "mudguards" => flag(has("mudguard")),
            // A build sheet tells the sizes; the front page draws it again without them.
            "sizes" => flag(true),
            _ => None,
        }
    }

    /// The size of a wheel by its tyre.
    pub(super) fn wheel(&self, place: Place) -> Option<Working<'a>> {
        let number = |attribute: &str| self.number("tyre", Some(place), attribute);
        self.work("wheel-size", &[("bead_seat_diameter", number("bead_seat")), ("tyre_height", number("width"))])
    }
}
