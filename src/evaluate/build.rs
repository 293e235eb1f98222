//! A build sheet worked: one bike's parts and measurements in, everything that its sheet shows out.
//!
//! Parts are found on the shelf and asked whether they go together; what never does is a fault of the bike. Gears, chain
//! and tyre pressures are worked by the bundled formulas from the attributes of the parts and from what was measured,
//! which comes first. What nothing is known of is left out of the sheet and told in a note.

/// Rings, sprockets, and what comes of them.
mod gears;
/// Loads and what tyres want for them.
mod pressures;
/// The bike from the side.
mod view;

use super::formulas::Formulas;
use super::pairing::{Chosen, ToldPairing, ask, check_count};
use super::sweeps::WorkedSweep;
use super::{PageWorking, WorkedDrawing};
use crate::drawing::Drawings;
use crate::fault::{Fault, Severity, id};
use crate::library::Library;
use crate::library::bike::{BuildSheet, Fitted};
use crate::library::shelf::{Part, Shelf};
use crate::library::stated::Amount;
use crate::mechanics::figure::NO_BREAK;
use crate::mechanics::formula::{Formula, Input};
use crate::mechanics::pairing::family::Role;
use crate::mechanics::pairing::shelf::unknown_family;
use crate::mechanics::pairing::value::Value;
use crate::mechanics::pairing::{Place, Verdict};
use crate::mechanics::reading::Reading;
use crate::mechanics::working::{Working, work};
use crate::register::Stamp;
use crate::text::{Span, Spanned, capital};
use pressures::load_on;

/// The formulas that build sheets use.
pub(super) const FORMULAS: &[&str] =
    &["chain-length", "gear", "gear-step", "speed-at-cadence", "wheel-size", "rider-load-split", "tyre-drop-pressure"];

/// The drawing that stands at the head of a build sheet.
pub(super) const VIEW: &str = "bike-side";

/// A build sheet with everything worked.
#[derive(Debug)]
pub struct WorkedBuild<'a> {
    /// The sheet as written.
    pub bike: &'a BuildSheet,
    /// Its title block and revision table.
    pub stamp: Stamp,
    /// The parts, with their balloons on the side view.
    pub parts: Vec<BuildPart>,
    /// What was measured: name and text.
    pub measured: Vec<(String, String)>,
    /// The side view, where enough is known to draw it.
    pub view: Option<WorkedDrawing>,
    /// How long the chain is cut: links and pairs.
    pub chain: Option<(String, String)>,
    /// The workings that can be opened.
    pub workings: Vec<PageWorking<'a>>,
    /// The development of each gear.
    pub development: Option<WorkedSweep>,
    /// Each gear against speed.
    pub speeds: Option<WorkedSweep>,
    /// The gears in their order, highest first.
    pub gears: Vec<Gear>,
    /// Marked torques.
    pub torques: Vec<Marked>,
    /// Marked wear limits.
    pub wear: Vec<Marked>,
    /// Tyre pressures by rider.
    pub pressures: Vec<Pressures>,
    /// What the rules say of the whole build.
    pub pairing: ToldPairing,
}

/// A part of a bike.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct BuildPart {
    /// The number of its balloon.
    pub balloon: Option<String>,
    /// What sort of part it is, with its place.
    pub family: String,
    /// What it is called.
    pub title: String,
    /// Its name on the shelf.
    pub name: String,
}

/// A gear, and how much higher it is than the next one below.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Gear {
    /// The ring.
    pub ring: String,
    /// The sprocket.
    pub sprocket: String,
    /// The development.
    pub development: String,
    /// The step to the next lower gear; `None` of the lowest.
    pub step: Option<String>,
    /// What the step's limit says, if it speaks.
    pub note: Option<String>,
}

/// A figure that is marked on a part.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Marked {
    /// The part.
    pub part: String,
    /// What is marked.
    pub about: String,
    /// The figure.
    pub text: String,
    /// Who says so.
    pub source: String,
    /// When it was looked up.
    pub checked: String,
}

/// The pressures for one rider.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Pressures {
    /// The rider's mass.
    pub rider: String,
    /// Front and rear wheel, where both tyres are known.
    pub wheels: Vec<WheelPressure>,
}

/// The pressure of one wheel.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct WheelPressure {
    /// Which.
    pub place: Place,
    /// The load on it.
    pub load: String,
    /// The pressure to start from.
    pub pressure: String,
    /// What is to be heeded: a marking that it was held to, or a load beyond one.
    pub held: Option<String>,
    /// The most that tyre and rim allow.
    pub most: Option<String>,
}

/// Works a build sheet; `None` where it has a fault.
pub(super) fn evaluate<'a>(
    bike: &'a BuildSheet,
    library: &Library,
    formulas: &'a Formulas,
    drawings: &Drawings,
    faults: &mut Vec<Fault>,
) -> Option<WorkedBuild<'a>> {
    let parts = find(bike, &library.shelf, faults);
    let bench = Bench { bike, parts, shelf: &library.shelf, formulas };
    let chosen: Vec<Chosen<'_>> = bench.parts.iter().map(|one| Chosen { part: one.part, place: one.place }).collect();
    if let Some(fault) = check_count(&chosen, bike.number.span) {
        faults.push(fault);
        return None;
    }
    let pairing = ask(&library.shelf, &chosen);
    bench.check(&pairing, faults);
    let before = faults.len();
    bench.check_measures(faults);
    if faults.len() > before {
        // What is worked from a wrong measure would only say so again.
        return None;
    }
    let view = bench.view(drawings, faults);
    let pressures = bench.pressures();
    if pressures.len() < bike.riders.len() {
        faults.push(
            Fault::note(id::LEFT_OUT, bike.number.span, "tyre pressures are left out: not enough is known")
                .cure("write bike_mass under measured, and list both tyres with their bead seat and width"),
        );
    }
    let worked = WorkedBuild {
        bike,
        stamp: library.stamp_of(bike),
        parts: bench.listed(drawings),
        measured: bike.measured.iter().map(|one| (one.name.replace('_', " "), one.amount.text.clone())).collect(),
        view,
        chain: bench.chain(),
        workings: bench.workings(),
        development: bench.development(),
        speeds: bench.speeds(),
        gears: bench.gears(),
        torques: bench.marked(Role::Torque),
        wear: bench.marked(Role::Wear),
        pressures,
        pairing,
    };
    faults.sort_by_key(|fault| fault.span);
    faults.iter().all(|fault| fault.severity == Severity::Note).then_some(worked)
}

/// The parts of the shelf that a sheet names, each held to the family of its key.
fn find<'a>(bike: &'a BuildSheet, shelf: &'a Shelf, faults: &mut Vec<Fault>) -> Vec<Mounted<'a>> {
    let mut parts = Vec::with_capacity(bike.parts.len());
    for fitted in &bike.parts {
        let (place, family) = fitted.sort(&shelf.rules);
        let Some(family) = shelf.rules.family(family) else {
            faults.push(unknown_family(family, fitted.key.span, &shelf.rules.families));
            continue;
        };
        if place.is_some() && !family.places {
            faults.push(
                Fault::new(id::ONE_END, fitted.key.span, "a bicycle has one of these, not one at each end")
                    .found(fitted.key.value.clone())
                    .cure(format!("write {} alone", family.id)),
            );
            continue;
        }
        match shelf.part(&fitted.name.value) {
            None => faults.push(shelf.unknown(&fitted.name.value, fitted.name.span)),
            Some(part) if part.family != family.id => faults.push(
                Fault::new(
                    id::UNKNOWN_PART,
                    fitted.name.span,
                    format!("{} is no {}", fitted.name.value, family.title.to_lowercase()),
                )
                .found(format!("{}, a {}", fitted.name.value, part.family.replace('_', " ")))
                .cure("write it after its own family, or name another part"),
            ),
            Some(part) => parts.push(Mounted { fitted, part, place }),
        }
    }
    parts
}

/// A part of a bike, found on the shelf.
#[derive(Clone, Copy)]
struct Mounted<'b> {
    fitted: &'b Fitted,
    part: &'b Part,
    place: Option<Place>,
}

/// Everything within reach of one bike.
struct Bench<'a, 'b> {
    bike: &'a BuildSheet,
    parts: Vec<Mounted<'b>>,
    shelf: &'b Shelf,
    formulas: &'a Formulas,
}

impl<'a> Bench<'a, '_> {
    /// The first part of a family, at one end of the bicycle where that is said.
    fn part(&self, family: &str, place: Option<Place>) -> Option<&Part> {
        let fits = |one: &&Mounted<'_>| one.part.family == family && (place.is_none() || one.place == place);
        self.parts.iter().find(fits).map(|one| one.part)
    }

    fn value(&self, family: &str, place: Option<Place>, attribute: &str) -> Option<&Value> {
        self.part(family, place)?.values.get(attribute)
    }

    fn number(&self, family: &str, place: Option<Place>, attribute: &str) -> Option<Reading> {
        self.value(family, place, attribute)?.number()
    }

    fn word(&self, family: &str, attribute: &str) -> Option<&str> {
        match self.value(family, None, attribute)? {
            Value::Words(words) => words.first().map(String::as_str),
            _ => None,
        }
    }

    fn measured(&self, name: &str) -> Option<Reading> {
        self.bike.measure(name).map(|amount| Reading::within(amount.value, amount.bounds))
    }

    fn formula(&self, id: &str) -> Option<&'a Formula> {
        self.formulas.find(&Spanned::new(id.to_owned(), Span::default())).ok()
    }

    /// A formula worked with some readings and its defaults.
    fn work(&self, id: &str, given: &[(&str, Option<Reading>)]) -> Option<Working<'a>> {
        let formula = self.formula(id)?;
        let readings = formula.inputs.iter().map(|input| {
            let given = given.iter().find(|(name, _)| *name == input.name).and_then(|(_, reading)| *reading);
            let reading = given.or_else(|| input.default_reading()?.ok())?;
            // What lies outside the formula's range is left out of the sheet.
            input.accept(reading, input.kind.dimension, Span::default(), "").ok()
        });
        let readings = readings.collect::<Option<Vec<_>>>()?;
        work(formula, readings).ok().filter(|working| !working.stopped)
    }

    /// Parts that never go together are faults, each at the first of the two.
    fn check(&self, pairing: &ToldPairing, faults: &mut Vec<Fault>) {
        for reason in pairing.reasons.iter().filter(|reason| reason.verdict == Verdict::DoesNotFit) {
            let named = reason.places.first().and_then(|place| self.parts.get(*place));
            let span = named.map_or(self.bike.number.span, |one| one.fitted.name.span);
            faults.push(
                Fault::new(id::PARTS_DO_NOT_FIT, span, format!("{} do not fit", self.keys(&reason.places)))
                    .found(reason.message.clone())
                    .cure(format!("fit another part, or mend what the shelf says of these (rule {})", reason.rule)),
            );
        }
    }

    /// The parts; one that stands at both ends comes once.
    fn each_once(&self) -> impl Iterator<Item = &Mounted<'_>> {
        let is_first = |place: usize| {
            let name = &self.parts[place].part.name;
            !self.parts[..place].iter().any(|before| before.part.name == *name)
        };
        self.parts.iter().enumerate().filter(move |(place, _)| is_first(*place)).map(|(_, one)| one)
    }

    /// The ends of the bicycle at which a part stands, in words.
    fn ends(&self, part: &Part) -> &'static str {
        let at = |place: Place| self.parts.iter().any(|one| one.part.name == part.name && one.place == Some(place));
        match (at(Place::Front), at(Place::Rear)) {
            (true, true) => "front and rear",
            (true, false) => "front",
            (false, true) => "rear",
            (false, false) => "",
        }
    }

    /// Parts by their keys, as in `front_tyre and front_rim`.
    fn keys(&self, places: &[usize]) -> String {
        let keys = places.iter().filter_map(|place| self.parts.get(*place)).map(|one| one.fitted.key.value.as_str());
        keys.collect::<Vec<_>>().join(" and ")
    }

    /// Holds what was measured, and the riders, to what the sheet works from them: their kind and their range. A name
    /// that nothing here asks for is the shop's own, and may be anything.
    fn check_measures(&self, faults: &mut Vec<Fault>) {
        let asked = |name: &str| {
            let of_frame = self.shelf.rules.family("frame").and_then(|family| family.attribute(name)?.number());
            let of_formula = || FORMULAS.iter().find_map(|id| self.formula(id)?.input(name));
            of_frame.or_else(of_formula)
        };
        let hold = |input: &Input, amount: &Amount, span: Span| {
            let reading = Reading::within(amount.value, amount.bounds);
            input.accept(reading, amount.unit.dimension, span, &amount.text.replace(NO_BREAK, " ")).err()
        };
        for measure in &self.bike.measured {
            if let Some(input) = asked(&measure.name) {
                faults.extend(hold(input, &measure.amount, measure.span));
            }
        }
        let rider = self.formula("rider-load-split").and_then(|formula| formula.input("rider_mass"));
        if let Some(input) = rider {
            faults.extend(self.bike.riders.iter().filter_map(|amount| hold(input, amount, self.bike.number.span)));
        }
        let rack = self.number("rack", Some(Place::Rear), "load").or_else(|| self.number("rack", None, "load"));
        if let (Some(load), Some(measure)) = (rack, self.bike.measured.iter().find(|one| one.name == "rear_luggage"))
            && measure.amount.value > load.value
        {
            let kilograms = |value: f64| format!("{} kg", crate::mechanics::digits::plain(value));
            faults.push(
                Fault::new(id::LIMIT_BROKEN, measure.span, "the luggage is more than the rack is marked with")
                    .found(kilograms(measure.amount.value))
                    .allowed(format!("{} at most", kilograms(load.value)))
                    .cure("carry less, or fit a rack that is marked for it"),
            );
        }
    }

    fn listed(&self, drawings: &Drawings) -> Vec<BuildPart> {
        let items = drawings.items(VIEW);
        let balloon = |family: &str| {
            let item = match family {
                "caliper" | "rim_brake" => "brake".to_owned(),
                family => family.replace('_', " "),
            };
            items.iter().find(|known| known.name.eq_ignore_ascii_case(&item)).map(|known| known.balloon.clone())
        };
        let mut parts: Vec<BuildPart> = Vec::with_capacity(self.parts.len());
        for one in self.each_once() {
            let part = one.part;
            let family = self.shelf.family_of(part).map_or(part.family.as_str(), |family| family.title.as_str());
            let family = match self.ends(part) {
                "" => family.to_owned(),
                ends => format!("{family}, {ends}"),
            };
            let (title, name) = (part.title.clone(), part.name.value.clone());
            parts.push(BuildPart { balloon: balloon(&part.family), family, title, name });
        }
        let order =
            |part: &BuildPart| part.balloon.as_ref().and_then(|number| number.parse().ok()).unwrap_or(usize::MAX);
        parts.sort_by_key(order);
        parts
    }

    // ---- workings that can be opened -------------------------------------------------------------------------

    fn chain_length(&self) -> Option<Working<'a>> {
        let chainstay = self.measured("chainstay").or_else(|| self.number("frame", None, "chainstay"));
        let allowance = if self.part("rear_derailleur", None).is_some() {
            self.measured("allowance")
        } else {
            Some(Reading::exact(0.0))
        };
        let given = [
            ("chainstay", chainstay),
            ("chainring", self.rings().last().copied()),
            ("sprocket", self.sprockets().last().copied()),
            ("allowance", allowance),
        ];
        self.work("chain-length", &given)
    }

    fn chain(&self) -> Option<(String, String)> {
        let working = self.chain_length()?;
        let text = |name: &str| {
            let output = working.formula.output(name)?;
            working.spread_text(output).or_else(|| working.text(output))
        };
        Some((text("links")?, text("pairs")?))
    }

    fn workings(&self) -> Vec<PageWorking<'a>> {
        let chain = self.chain_length().map(|working| page("chain", working, &["links", "pairs"]));
        let rider = self.bike.riders.get(self.bike.riders.len() / 2);
        let load = rider.and_then(|rider| self.loads(Reading::within(rider.value, rider.bounds)));
        let tyre = |place: Place| {
            let load = load.as_ref()?.value_named(load_on(place))?;
            let mut working = self.tyre_pressure(place, load)?;
            let is_hookless = self.value("rim", Some(place), "hookless") == Some(&Value::YesNo(true));
            working.spoken.retain(|spoken| is_hookless || !spoken.limit.name.contains("hookless"));
            Some(page(place.word(), working, &["pressure"]))
        };
        let pressures: Vec<_> = Place::ALL.into_iter().filter_map(tyre).collect();
        let wheel = self.wheel(Place::Rear).filter(|_| self.measured("rollout").is_none());
        let wheel = wheel.map(|working| page("wheel", working, &["circumference", "diameter"]));
        let load = load.as_ref().filter(|_| !pressures.is_empty()).cloned();
        let load = load.map(|working| page("load", working, &["front_load", "rear_load"]));
        chain.into_iter().chain(wheel).chain(load).chain(pressures).collect()
    }

    // ---- tables ----------------------------------------------------------------------------------------------

    fn marked(&self, role: Role) -> Vec<Marked> {
        let mut marked = Vec::new();
        for Mounted { part, .. } in self.each_once() {
            let Some(family) = self.shelf.family_of(part) else { continue };
            let title = match self.ends(part) {
                "" => part.title.clone(),
                ends => format!("{} ({ends})", part.title),
            };
            for attribute in family.attributes.iter().filter(|attribute| attribute.role == Some(role)) {
                let (Some(value), Some(word)) = (part.values.get(&attribute.name), part.word.get(&attribute.name))
                else {
                    continue;
                };
                let text = value.text(attribute);
                marked.push(Marked {
                    part: title.clone(),
                    about: capital(&attribute.about),
                    text: if attribute.name.starts_with("most_") { format!("at most {text}") } else { text },
                    source: word.source.clone(),
                    checked: word.checked.value.clone(),
                });
            }
        }
        marked
    }
}

/// A working of a build sheet, which nobody wrote as a block.
fn page<'a>(name: &str, working: Working<'a>, show: &[&str]) -> PageWorking<'a> {
    let given = working.formula.inputs.iter().map(|input| input.name.clone()).collect();
    let show = show.iter().map(|name| (*name).to_owned()).collect();
    PageWorking { name: name.to_owned(), working, show, given, written: String::new() }
}
