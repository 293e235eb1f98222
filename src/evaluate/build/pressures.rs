//! The tyre pressures of a build sheet: load on each wheel by rider, the pressure for it, and what tyre and rim allow.

use super::{Bench, Pressures, WheelPressure, exact};
use crate::mechanics::pairing::Place;
use crate::mechanics::pairing::value::Value;
use crate::mechanics::reading::Reading;
use crate::mechanics::working::Working;

impl<'a> Bench<'a, '_> {
    pub(super) fn loads(&self, rider: Reading) -> Option<Working<'a>> {
        let given = [
            ("rider_mass", Some(rider)),
            ("bike_mass", self.measured("bike_mass")),
            ("front_luggage", self.measured("front_luggage")),
            ("rear_luggage", self.measured("rear_luggage")),
            ("front_share", self.measured("front_share")),
            ("wheelbase", self.measured("wheelbase")),
        ];
        self.work("rider-load-split", &given)
    }

    pub(super) fn tyre_pressure(&self, place: Place, load: Reading) -> Option<Working<'a>> {
        let given = [
            ("wheel_load", Some(load)),
            ("bead_seat_diameter", self.number("tyre", Some(place), "bead_seat")),
            ("tyre_width", self.number("tyre", Some(place), "width")),
            ("drop_share", self.measured("drop_share")),
        ];
        self.work("tyre-drop-pressure", &given)
    }

    pub(super) fn pressures(&self) -> Vec<Pressures> {
        let riders = self.bike.riders.iter().filter_map(|rider| {
            let loads = self.loads(exact(Reading::within(rider.value, rider.bounds)))?;
            let wheels: Option<Vec<WheelPressure>> =
                Place::ALL.into_iter().map(|place| self.wheel_pressure(place, &loads)).collect();
            Some(Pressures { rider: rider.text.clone(), wheels: wheels? })
        });
        riders.collect()
    }

    fn wheel_pressure(&self, place: Place, loads: &Working<'a>) -> Option<WheelPressure> {
        let load = exact(loads.value_named(load_on(place))?);
        let working = self.tyre_pressure(place, load)?;
        let output = working.formula.output("pressure")?;
        let worked = working.value(output)?;
        let tyre = |attribute: &str| self.number("tyre", Some(place), attribute).map(|reading| reading.value);
        let rim = |attribute: &str| self.number("rim", Some(place), attribute).map(|reading| reading.value);
        let is_hookless = self.value("rim", Some(place), "hookless") == Some(&Value::YesNo(true));
        let hookless = || working.value(working.formula.output("hookless_limit")?);
        let most = [
            (tyre("max_pressure"), "the tyre's marking"),
            (rim("max_pressure"), "the rim's marking"),
            (is_hookless.then(hookless).flatten(), "what a hookless rim may hold at this width"),
        ];
        let most = most.into_iter().filter_map(|(value, who)| Some((value?, who)));
        let most = most.min_by(|one, other| one.0.total_cmp(&other.0));
        let least = tyre("least_pressure");
        let (value, held) = match (most, least) {
            (Some((most, who)), _) if worked > most => (most, Some(format!("at most, by {who}"))),
            (_, Some(least)) if worked < least => (least, Some("at least, by the tyre's marking".to_owned())),
            _ => (worked, None),
        };
        let loaded = loads.formula.output(load_on(place))?;
        Some(WheelPressure { place, load: loads.text(loaded)?, pressure: output.style.text(value), held })
    }
}

/// The output of the load split that is of this wheel.
pub(super) fn load_on(place: Place) -> &'static str {
    match place {
        Place::Front => "front_load",
        Place::Rear => "rear_load",
    }
}
