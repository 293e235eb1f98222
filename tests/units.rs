//! The unit table held to publications and to two independent libraries.
//!
//! `units/golden.yaml` was made with Pint in exact fractions and is made again at every full test run;
//! `units/published.yaml` holds factors as they are printed, each with its source; `units/conversions.yaml` the checks
//! of the formula catalogue; `uom` (a Rust library) is asked for dimensions and factors, within 1e-6 where it rounds
//! lbf, psi and ounces to seven digits. The tables themselves must be unambiguous: one meaning for each sign and name.

use crate::folder::root;
use locknut::mechanics::dimension::Dimension;
use locknut::mechanics::units::{KINDS, UNITS, Unit};
use locknut::mechanics::written::{Written, parse_written};
use locknut::text::Mapped;
use serde::Deserialize;
use std::collections::BTreeSet;

fn read(name: &str) -> String {
    std::fs::read_to_string(root().join("tests/units").join(name)).expect("committed data")
}

fn unit(text: &str) -> Unit {
    // One over a second has no sign of its own here but that of the hertz.
    let text = if text == "1/s" { "Hz" } else { text };
    Unit::parse(text).unwrap_or_else(|word| panic!("{word} is no unit"))
}

fn number(text: &str) -> f64 {
    text.parse().expect("a number")
}

fn close(found: f64, wanted: f64, relative: f64) -> bool {
    (found - wanted).abs() <= relative * wanted.abs().max(f64::MIN_POSITIVE)
}

#[derive(Deserialize)]
struct Golden {
    from: String,
    to: String,
    value_from: String,
    value_to: String,
}

#[test]
fn every_row_of_the_table_made_with_pint() {
    let rows: Vec<Golden> = serde_yaml::from_str(&read("golden.yaml")).expect("rows");
    assert!(rows.len() > 500);
    for row in &rows {
        let (from, to) = (unit(&row.from), unit(&row.to));
        assert_eq!(from.dimension, to.dimension, "{} and {}", row.from, row.to);
        let found = to.from_base(from.to_base(number(&row.value_from)));
        // Readings of temperatures near 0 lose digits to the offset; elsewhere a few roundings are all there is.
        let scale = if from.has_offset() || to.has_offset() { 500.0 } else { 0.0 };
        let wanted = number(&row.value_to);
        let off = (found - wanted).abs();
        assert!(
            off <= 1e-14 * wanted.abs().max(scale),
            "{} {} in {}: {found}, Pint says {wanted}",
            row.value_from,
            row.from,
            row.to
        );
    }
    println!("{} conversions agree with Pint", rows.len());
}

#[derive(Deserialize)]
struct Published {
    factors: Vec<Factor>,
    constants: Vec<Constant>,
}

#[derive(Deserialize)]
struct Constant {
    name: String,
    value: String,
    unit: String,
    source: String,
    mark: String,
}

#[derive(Deserialize)]
#[expect(clippy::struct_field_names, reason = "the keys of the data")]
struct Factor {
    from: String,
    to: String,
    factor: String,
    exact: bool,
    source: String,
    mark: String,
    subtract_first: Option<String>,
}

#[test]
fn every_published_factor() {
    let published: Published = serde_yaml::from_str(&read("published.yaml")).expect("factors");
    for row in &published.factors {
        assert!(
            !row.source.is_empty() && ["seen", "quoted", "worked"].contains(&row.mark.as_str()),
            "{} names its source",
            row.from
        );
        let (from, to) = (unit(&row.from), unit(&row.to));
        let offset = row.subtract_first.as_deref().map_or(0.0, number);
        let (low, high) = (offset + 1.0, offset + 101.0);
        let slope = (to.from_base(from.to_base(high)) - to.from_base(from.to_base(low))) / 100.0;
        let factor = match row.factor.split_once('/') {
            Some((over, under)) => number(over) / number(under),
            None => number(&row.factor),
        };
        let tolerance = if row.exact { 1e-12 } else { half_of_last_digit(&row.factor) / factor };
        assert!(
            close(slope, factor, tolerance.max(1e-12)),
            "{} to {}: {slope}, {} prints {}",
            row.from,
            row.to,
            row.source,
            row.factor
        );
        let reading = to.from_base(from.to_base(low));
        assert!(close(reading, factor, tolerance.max(1e-12)), "{} {} is {reading} {}", low, row.from, row.to);
    }
    println!("{} published factors agree", published.factors.len());
}

#[test]
fn every_published_constant() {
    let published: Published = serde_yaml::from_str(&read("published.yaml")).expect("constants");
    assert!(!published.constants.is_empty());
    for row in &published.constants {
        assert!(!row.source.is_empty() && !row.mark.is_empty(), "{} names its source", row.name);
        // In pressure units of the table the constant comes out the same by every way round.
        let own = unit(&row.unit);
        let base = own.to_base(number(&row.value));
        for other in ["kPa", "bar", "psi"].map(unit) {
            assert!(close(other.to_base(other.from_base(base)), base, 1e-15), "{} by way of {}", row.name, other.text);
        }
        assert!(close(own.from_base(base), number(&row.value), 1e-15), "{}", row.name);
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Conversions {
    source: String,
    conversions: Vec<Conversion>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Conversion {
    from: String,
    to: String,
    factor: String,
    #[serde(default)]
    rounded: bool,
    given: String,
    gives: String,
    tolerance: String,
}

#[test]
fn every_conversion_of_the_catalogue() {
    let list: Conversions = serde_yaml::from_str(&read("conversions.yaml")).expect("conversions");
    assert_eq!(list.source, "catalogue");
    assert!(list.conversions.len() >= 12);
    for row in &list.conversions {
        let (from, to) = (unit(&row.from), unit(&row.to));
        assert_eq!(from.dimension, to.dimension, "{} and {}", row.from, row.to);
        // Both a definition and a factor printed to many more digits than a double has differ by roundings alone.
        assert!(row.rounded || row.factor.len() < 20, "{}: a definition is short", row.from);
        let factor = match row.factor.split_once('/') {
            Some((over, under)) => number(over) / number(under),
            None => number(&row.factor),
        };
        let step = to.from_base_difference(from.to_base_difference(1.0));
        assert!(close(step, factor, 1e-15), "{} to {}: {step}, listed {}", row.from, row.to, row.factor);
        let (given, gives) = (written(&row.given), written(&row.gives));
        assert_eq!((&given.unit.text, &gives.unit.text), (&from.text, &to.text), "{}", row.given);
        let found = to.from_base(from.to_base(given.number));
        let off = (found - gives.number).abs();
        assert!(off <= number(&row.tolerance), "{} is {found} {}, listed {}", row.given, row.to, row.gives);
    }
    println!("{} conversions of the catalogue agree", list.conversions.len());
}

fn written(text: &str) -> Written {
    parse_written(&Mapped::verbatim(text, 0)).unwrap_or_else(|fault| panic!("{text}: {fault:?}"))
}

/// What rounding at the last printed digit can have taken.
fn half_of_last_digit(printed: &str) -> f64 {
    let decimals = printed.split_once('.').map_or(0, |(_, after)| after.len());
    0.5 * 10f64.powi(-i32::try_from(decimals).expect("few digits"))
}

/// Our sign against a quantity of `uom` in its base units.
macro_rules! against_uom {
    ($($sign:literal: $quantity:ident, $unit:ident, $quantity_type:ident;)*) => {
        fn uom_rows() -> Vec<(&'static str, f64, [i8; 5])> {
            vec![$({
                use uom::si::f64::$quantity_type;
                let one = $quantity_type::new::<uom::si::$quantity::$unit>(1.0);
                ($sign, one.value, powers(one))
            }),*]
        }
    };
}

/// The powers of m, kg, s, A and K of a quantity of `uom`, read off its type.
fn powers<D, U>(_: uom::si::Quantity<D, U, f64>) -> [i8; 5]
where
    D: uom::si::Dimension + ?Sized,
    U: uom::si::Units<f64> + ?Sized,
    D::L: uom::typenum::Integer,
    D::M: uom::typenum::Integer,
    D::T: uom::typenum::Integer,
    D::I: uom::typenum::Integer,
    D::Th: uom::typenum::Integer,
{
    use uom::typenum::Integer;
    [D::L::I8, D::M::I8, D::T::I8, D::I::I8, D::Th::I8]
}

against_uom! {
    "m": length, meter, Length;
    "kg": mass, kilogram, Mass;
    "s": time, second, Time;
    "A": electric_current, ampere, ElectricCurrent;
    "mm": length, millimeter, Length;
    "cm": length, centimeter, Length;
    "km": length, kilometer, Length;
    "in": length, inch, Length;
    "ft": length, foot, Length;
    "mile": length, mile, Length;
    "g": mass, gram, Mass;
    "lb": mass, pound, Mass;
    "min": time, minute, Time;
    "h": time, hour, Time;
    "N": force, newton, Force;
    "kN": force, kilonewton, Force;
    "lbf": force, pound_force, Force;
    "kgf": force, kilogram_force, Force;
    "N·m": torque, newton_meter, Torque;
    "Nm": torque, newton_meter, Torque;
    "lbf·in": torque, pound_force_inch, Torque;
    "lbf·ft": torque, pound_force_foot, Torque;
    "Pa": pressure, pascal, Pressure;
    "kPa": pressure, kilopascal, Pressure;
    "MPa": pressure, megapascal, Pressure;
    "GPa": pressure, gigapascal, Pressure;
    "bar": pressure, bar, Pressure;
    "psi": pressure, psi, Pressure;
    "Hz": frequency, hertz, Frequency;
    "rpm": frequency, cycle_per_minute, Frequency;
    "m/s": velocity, meter_per_second, Velocity;
    "mph": velocity, mile_per_hour, Velocity;
    "km/h": velocity, kilometer_per_hour, Velocity;
    "m/s^2": acceleration, meter_per_second_squared, Acceleration;
    "mm^2": area, square_millimeter, Area;
    "cm^2": area, square_centimeter, Area;
    "m^2": area, square_meter, Area;
    "m^3": volume, cubic_meter, Volume;
    "mL": volume, milliliter, Volume;
    "L": volume, liter, Volume;
    "fl_oz": volume, fluid_ounce, Volume;
    "imp_fl_oz": volume, fluid_ounce_imperial, Volume;
    "W": power, watt, Power;
    "kW": power, kilowatt, Power;
    "J": energy, joule, Energy;
    "kJ": energy, kilojoule, Energy;
    "Wh": energy, watt_hour, Energy;
    "V": electric_potential, volt, ElectricPotential;
    "Ah": electric_charge, ampere_hour, ElectricCharge;
    "%": ratio, percent, Ratio;
    "K": temperature_interval, kelvin, TemperatureInterval;
    "N/m": surface_tension, newton_per_meter, SurfaceTension;
    "lbf/in": surface_tension, pound_force_per_inch, SurfaceTension;
    "J/(kg·K)": specific_heat_capacity, joule_per_kilogram_kelvin, SpecificHeatCapacity;
    "W/K": thermal_conductance, watt_per_kelvin, ThermalConductance;
    "kg/m^3": mass_density, kilogram_per_cubic_meter, MassDensity;
}

/// Signs that `uom` writes in seven digits or so; all others it has to the last one or two.
const ROUNDED_THERE: [&str; 8] = ["lb", "lbf", "psi", "lbf·in", "lbf·ft", "lbf/in", "fl_oz", "imp_fl_oz"];

#[test]
fn dimensions_and_factors_are_those_of_uom() {
    let rows = uom_rows();
    for (sign, factor, [m, kg, s, a, k]) in &rows {
        let unit = unit(sign);
        assert_eq!(unit.dimension, Dimension::of(*m, *kg, *s, *a, *k, 0), "{sign}");
        let tolerance = if ROUNDED_THERE.contains(sign) { 1e-6 } else { 1e-15 };
        assert!(close(unit.factor(), *factor, tolerance), "{sign}: {} here, {factor} there", unit.factor());
    }
    // Angles are no dimension there, and temperatures have offsets; these are asked for below.
    let asked: BTreeSet<&str> = rows.iter().map(|(sign, ..)| *sign).collect();
    let apart = ["deg", "rad", "degC", "degF"];
    let without: Vec<&str> =
        UNITS.iter().map(|row| row.symbol).filter(|sign| !asked.contains(sign) && !apart.contains(sign)).collect();
    assert_eq!(without, ["tooth", "link"], "every other sign is asked of uom");
    println!("{} signs agree with uom", asked.len() + apart.len());
}

#[test]
fn angles_and_temperatures_are_those_of_uom() {
    use uom::si::angle::{degree, radian};
    use uom::si::f64::{Angle, ThermodynamicTemperature};
    use uom::si::thermodynamic_temperature::{degree_celsius, degree_fahrenheit, kelvin};
    for turn in [0.0, 1.0, 72.0, -30.0, 360.0] {
        assert!(close(unit("deg").to_base(turn), Angle::new::<degree>(turn).get::<radian>(), 1e-15), "{turn} deg");
        assert!(close(unit("rad").to_base(turn), Angle::new::<radian>(turn).get::<radian>(), 1e-15), "{turn} rad");
    }
    for heat in [-40.0, 0.0, 20.0, 212.0, 446.0] {
        let there = ThermodynamicTemperature::new::<degree_celsius>(heat).get::<kelvin>();
        assert!(close(unit("degC").to_base(heat), there, 1e-14), "{heat} degC");
        let there = ThermodynamicTemperature::new::<degree_fahrenheit>(heat).get::<kelvin>();
        assert!(close(unit("degF").to_base(heat), there, 1e-14), "{heat} degF");
    }
}

#[test]
fn every_sign_has_one_meaning() {
    let mut signs = BTreeSet::new();
    for row in UNITS {
        assert!(!row.source.is_empty(), "{} names its source", row.symbol);
        for sign in std::iter::once(&row.symbol).chain(row.also) {
            assert!(signs.insert(*sign), "{sign} twice");
        }
    }
    let mut names = BTreeSet::new();
    for kind in KINDS {
        assert!(names.insert(kind.name), "{} twice", kind.name);
        for text in kind.units {
            assert_eq!(unit(text).dimension, kind.dimension, "{text} of {}", kind.name);
            assert_eq!(unit(text).text, *text, "{text} is written as it is listed");
        }
    }
}
