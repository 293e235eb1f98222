//! The unit table held to publications and to two independent libraries.
//!
//! `units/golden.yaml` was made with Pint in exact fractions and is made again at every full test run;
//! `units/published.yaml` holds factors as they are printed, each with its source; `uom` (a Rust library) is asked for
//! dimensions and factors, within 1e-6 because it rounds lbf and psi to seven digits. The tables themselves must be
//! unambiguous: one meaning for each sign and name.

use locknut::mechanics::dimension::Dimension;
use locknut::mechanics::units::{KINDS, UNITS, Unit};
use serde::Deserialize;
use std::collections::BTreeSet;
use std::path::Path;

fn read(name: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/units").join(name))
        .expect("committed data")
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
    "Pa": pressure, pascal, Pressure;
    "kPa": pressure, kilopascal, Pressure;
    "MPa": pressure, megapascal, Pressure;
    "GPa": pressure, gigapascal, Pressure;
    "bar": pressure, bar, Pressure;
    "psi": pressure, psi, Pressure;
    "Hz": frequency, hertz, Frequency;
    "mph": velocity, mile_per_hour, Velocity;
    "km/h": velocity, kilometer_per_hour, Velocity;
    "m/s^2": acceleration, meter_per_second_squared, Acceleration;
    "mm^2": area, square_millimeter, Area;
    "mL": volume, milliliter, Volume;
    "L": volume, liter, Volume;
    "fl_oz": volume, fluid_ounce, Volume;
    "W": power, watt, Power;
    "kW": power, kilowatt, Power;
    "J": energy, joule, Energy;
    "kJ": energy, kilojoule, Energy;
    "Wh": energy, watt_hour, Energy;
    "V": electric_potential, volt, ElectricPotential;
    "Ah": electric_charge, ampere_hour, ElectricCharge;
    "kg/m^3": mass_density, kilogram_per_cubic_meter, MassDensity;
}

#[test]
fn dimensions_and_factors_are_those_of_uom() {
    for (sign, factor, [m, kg, s, a, k]) in uom_rows() {
        let unit = unit(sign);
        assert_eq!(unit.dimension, Dimension::of(m, kg, s, a, k, 0), "{sign}");
        assert!(close(unit.factor(), factor, 1e-6), "{sign}: {} here, {factor} there", unit.factor());
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
