//! The tyre pressures of a build sheet: load on each wheel by rider, the pressure for it, and what tyre and rim allow.

use super::{Bench, Pressures, WheelPressure};
use crate::mechanics::figure::Style;
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

    /// The pressures for each rider; none where too little is known.
    pub(super) fn pressures(&self) -> Vec<Pressures> {
        let riders = self.bike.riders.iter().filter_map(|rider| {
            let loads = self.loads(Reading::exact(rider.value))?;
            let wheels: Option<Vec<WheelPressure>> =
                Place::ALL.into_iter().map(|place| self.wheel_pressure(place, &loads)).collect();
            Some(Pressures { rider: rider.text.clone(), wheels: wheels? })
        });
        riders.collect()
    }

    fn wheel_pressure(&self, place: Place, loads: &Working<'a>) -> Option<WheelPressure> {
        let load = loads.value_named(load_on(place))?.without_tolerance();
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
        let cap = most.map(|(value, who)| (rounded(&output.style, value, f64::floor), who));
        let (value, held) = match (cap, least) {
            (Some((most, who)), _) if worked > most => {
                (most, Some(format!("all that {who} allows, and less than this load wants: a wider tyre")))
            }
            (_, Some(least)) if worked < least => {
                (rounded(&output.style, least, f64::ceil), Some("the least of the tyre's marking".to_owned()))
            }
            _ => (worked, None),
        };
        let carried = tyre("load").filter(|most| load.value > *most);
        let held = carried.map_or(held, |_| Some("more than the load that the tyre is marked for".to_owned()));
        let most = cap.map(|(value, _)| output.style.text(value));
        let loaded = loads.formula.output(load_on(place))?;
        Some(WheelPressure { place, load: loads.text(loaded)?, pressure: output.style.text(value), held, most })
    }
}

/// The output of the load split that is of this wheel.
pub(super) fn load_on(place: Place) -> &'static str {
    match place {
        Place::Front => "front_load",
        Place::Rear => "rear_load",
    }
}

/// A limit in the digits in which it is printed, moved by `way` to the side on which it is kept.
fn rounded(style: &Style, base: f64, way: fn(f64) -> f64) -> f64 {
    let step = libm::pow(10.0, f64::from(-style.decimals.unwrap_or(0)));
    let number = style.number(base) / step;
    let near = number.round();
    let kept = if (near - number).abs() < 1e-9 { near } else { way(number) };
    style.unit.to_base(kept * step)
}
