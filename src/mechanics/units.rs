//! The table of units and the table of kinds, and the units that are built from them.
//!
//! A row of `UNITS` is all that a new unit needs: symbol, exact factor, dimension, other spellings, how it is
//! shown after one and after many, and where the factor comes from. Inside, every value is in base units (m, kg,
//! s, A, K, rad). A unit keeps its factor as a fraction of two numbers, so that 410 mm is 410/1000 and not
//! 410 × 0.001. Reading a unit out of an expression is the parser's work; here a whole text is one unit.

use super::dimension::Dimension;

/// One symbol of the unit table.
#[derive(Debug, PartialEq)]
pub struct Row {
    /// The symbol as a file writes it: `mm`, `degC`, `fl_oz`.
    pub symbol: &'static str,
    /// Other spellings that people may write.
    pub also: &'static [&'static str],
    /// How it is shown after a number other than one.
    pub plural: &'static str,
    /// How it is shown after 1.
    pub shown: &'static str,
    /// The factor to base units is `num / den`.
    num: f64,
    /// See `num`.
    den: f64,
    /// Base value of zero, times `den`; only temperatures have one.
    shift: f64,
    /// What it measures.
    pub dimension: Dimension,
    /// Where the factor is laid down.
    pub source: &'static str,
}

const fn row(symbol: &'static str, num: f64, den: f64, dimension: Dimension, source: &'static str) -> Row {
    Row { symbol, also: &[], plural: symbol, shown: symbol, num, den, shift: 0.0, dimension, source }
}

impl Row {
    const fn also(mut self, spellings: &'static [&'static str]) -> Self {
        self.also = spellings;
        self
    }
    const fn shown(mut self, one: &'static str, many: &'static str) -> Self {
        self.shown = one;
        self.plural = many;
        self
    }
    const fn shift(mut self, shift: f64) -> Self {
        self.shift = shift;
        self
    }
}

const SI: &str = "SI Brochure (BIPM), exact";
const YARD: &str = "international yard and pound agreement of 1959, exact; NIST SP 811";
const NIST: &str = "NIST SP 811";

const MASS: Dimension = Dimension::of(0, 1, 0, 0, 0, 0);
const TIME: Dimension = Dimension::of(0, 0, 1, 0, 0, 0);
const CURRENT: Dimension = Dimension::of(0, 0, 0, 1, 0, 0);
const FORCE: Dimension = Dimension::of(1, 1, -2, 0, 0, 0);
const PRESSURE: Dimension = Dimension::of(-1, 1, -2, 0, 0, 0);
const FREQUENCY: Dimension = Dimension::of(0, 0, -1, 0, 0, 0);
const SPEED: Dimension = Dimension::of(1, 0, -1, 0, 0, 0);
const ENERGY: Dimension = Dimension::of(2, 1, -2, 0, 0, 0);
const POWER: Dimension = Dimension::of(2, 1, -3, 0, 0, 0);
const VOLTAGE: Dimension = Dimension::of(2, 1, -3, -1, 0, 0);
const CHARGE: Dimension = Dimension::of(0, 0, 1, 1, 0, 0);
const AREA: Dimension = Dimension::of(2, 0, 0, 0, 0, 0);
const VOLUME: Dimension = Dimension::of(3, 0, 0, 0, 0, 0);

/// Every unit symbol. Others are built from these with `·`, `/`, `^` and brackets.
pub const UNITS: &[Row] = &[
    row("m", 1.0, 1.0, Dimension::LENGTH, SI),
    row("kg", 1.0, 1.0, MASS, SI),
    row("s", 1.0, 1.0, TIME, SI),
    row("A", 1.0, 1.0, CURRENT, SI),
    row("K", 1.0, 1.0, Dimension::TEMPERATURE, SI),
    row("rad", 1.0, 1.0, Dimension::ANGLE, SI),
    row("mm", 1.0, 1e3, Dimension::LENGTH, SI),
    row("cm", 1.0, 100.0, Dimension::LENGTH, SI),
    row("km", 1e3, 1.0, Dimension::LENGTH, SI),
    row("in", 127.0, 5e3, Dimension::LENGTH, YARD).also(&["inch", "inches"]),
    row("ft", 381.0, 1250.0, Dimension::LENGTH, YARD),
    row("mile", 201_168.0, 125.0, Dimension::LENGTH, YARD).also(&["miles"]).shown("mile", "miles"),
    row("deg", std::f64::consts::PI, 180.0, Dimension::ANGLE, "definition of the degree")
        .also(&["°", "º"])
        .shown("°", "°"),
    row("g", 1.0, 1e3, MASS, SI),
    row("lb", 45_359_237.0, 1e8, MASS, YARD),
    row("N", 1.0, 1.0, FORCE, SI),
    row("kN", 1e3, 1.0, FORCE, SI),
    row("lbf", 44_482_216_152_605.0, 1e13, FORCE, "lb × standard gravity, exact; NIST SP 811"),
    row("kgf", 980_665.0, 1e5, FORCE, "standard gravity of the CGPM 1901, exact; NIST SP 811"),
    row("Nm", 1.0, 1.0, ENERGY, SI),
    row("Pa", 1.0, 1.0, PRESSURE, SI),
    row("kPa", 1e3, 1.0, PRESSURE, SI),
    row("MPa", 1e6, 1.0, PRESSURE, SI),
    row("GPa", 1e9, 1.0, PRESSURE, SI),
    row("bar", 1e5, 1.0, PRESSURE, "SI Brochure (BIPM), exact; NIST SP 811"),
    // 1 lbf over 1 in²: both terms of the fraction are exact whole numbers times powers of ten.
    row("psi", 44_482_216_152_605.0 * 25e6, 1e13 * 16_129.0, PRESSURE, "lbf/in^2; NIST SP 811"),
    row("min", 60.0, 1.0, TIME, SI),
    row("h", 3600.0, 1.0, TIME, SI),
    row("Hz", 1.0, 1.0, FREQUENCY, SI),
    row("rpm", 1.0, 60.0, FREQUENCY, "definition: one turn in a minute"),
    row("mph", 1397.0, 3125.0, SPEED, YARD),
    row("degC", 1.0, 1.0, Dimension::TEMPERATURE, SI).also(&["°C", "ºC"]).shown("°C", "°C").shift(273.15),
    row("degF", 5.0, 9.0, Dimension::TEMPERATURE, NIST).also(&["°F", "ºF"]).shown("°F", "°F").shift(2298.35),
    row("mL", 1.0, 1e6, VOLUME, SI).also(&["ml"]),
    row("L", 1.0, 1e3, VOLUME, SI).also(&["l"]),
    row("fl_oz", 295_735_295_625.0, 1e16, VOLUME, "US gallon of 231 in³, exact; NIST SP 811")
        .shown("US fl oz", "US fl oz"),
    row("imp_fl_oz", 284_130_625.0, 1e13, VOLUME, "imperial gallon of 4.54609 L, exact; NIST SP 811")
        .shown("imp fl oz", "imp fl oz"),
    row("W", 1.0, 1.0, POWER, SI),
    row("kW", 1e3, 1.0, POWER, SI),
    row("J", 1.0, 1.0, ENERGY, SI),
    row("kJ", 1e3, 1.0, ENERGY, SI),
    row("Wh", 3600.0, 1.0, ENERGY, SI),
    row("V", 1.0, 1.0, VOLTAGE, SI),
    row("Ah", 3600.0, 1.0, CHARGE, SI),
    row("%", 1.0, 100.0, Dimension::NONE, "ISO 80000-1"),
    row("tooth", 1.0, 1.0, Dimension::NONE, "a label, worth 1").also(&["teeth"]).shown("tooth", "teeth"),
    row("link", 1.0, 1.0, Dimension::NONE, "a label, worth 1; one pitch of chain")
        .also(&["links"])
        .shown("link", "links"),
];

/// One kind of figure: what an input or output may be.
#[derive(Debug, PartialEq)]
pub struct Kind {
    /// The word in a formula file.
    pub name: &'static str,
    /// With its article, for messages: `a length`.
    pub phrase: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// The units that people use for it; the first is offered in messages.
    pub units: &'static [&'static str],
}

const fn kind(name: &'static str, phrase: &'static str, dimension: Dimension, units: &'static [&'static str]) -> Kind {
    Kind { name, phrase, dimension, units }
}

/// Every kind, in the order in which a dimension is named after one.
pub const KINDS: &[Kind] = &[
    kind("count", "a count", Dimension::NONE, &["", "tooth", "link"]),
    kind("ratio", "a plain number", Dimension::NONE, &[""]),
    kind("percent", "a percentage", Dimension::NONE, &["%"]),
    kind("length", "a length", Dimension::LENGTH, &["mm", "cm", "m", "km", "in", "ft", "mile"]),
    kind("angle", "an angle", Dimension::ANGLE, &["deg", "rad"]),
    kind("mass", "a mass", MASS, &["g", "kg", "lb"]),
    kind("force", "a force", FORCE, &["N", "kN", "lbf", "kgf"]),
    kind("torque", "a torque", ENERGY, &["N·m", "lbf·in", "lbf·ft", "kgf·cm"]),
    kind("pressure", "a pressure", PRESSURE, &["bar", "kPa", "psi", "Pa", "MPa", "GPa"]),
    kind("time", "a time", TIME, &["s", "min", "h"]),
    kind("frequency", "a rate of turning", FREQUENCY, &["Hz", "rpm"]),
    kind("speed", "a speed", SPEED, &["km/h", "m/s", "mph"]),
    kind("acceleration", "an acceleration", Dimension::of(1, 0, -2, 0, 0, 0), &["m/s^2"]),
    kind("temperature", "a temperature", Dimension::TEMPERATURE, &["degC", "degF", "K"]),
    kind("temperature_difference", "a temperature difference", Dimension::TEMPERATURE, &["K"]),
    kind("area", "an area", AREA, &["mm^2", "cm^2", "m^2"]),
    kind("volume", "a volume", VOLUME, &["mL", "L", "m^3", "fl_oz", "imp_fl_oz"]),
    kind("power", "a power", POWER, &["W", "kW"]),
    kind("energy", "an energy", ENERGY, &["Wh", "J", "kJ"]),
    kind("voltage", "a voltage", VOLTAGE, &["V"]),
    kind("current", "a current", CURRENT, &["A"]),
    kind("charge", "a charge", CHARGE, &["Ah"]),
    kind("density", "a density", Dimension::of(-3, 1, 0, 0, 0, 0), &["kg/m^3"]),
    kind("stiffness", "a stiffness", Dimension::of(0, 1, -2, 0, 0, 0), &["N/mm", "lbf/in"]),
    kind("line_force", "a force along a line", Dimension::of(0, 1, -2, 0, 0, 0), &["N/mm"]),
    kind("specific_heat", "a specific heat", Dimension::of(2, 0, -2, 0, -1, 0), &["J/(kg·K)"]),
    kind("heat_transfer", "a heat transfer", Dimension::of(2, 1, -3, 0, -1, 0), &["W/K"]),
    kind("consumption", "a consumption", FORCE, &["Wh/km"]),
];

impl Kind {
    /// The kind with this name.
    #[must_use]
    pub fn named(name: &str) -> Option<&'static Self> {
        KINDS.iter().find(|kind| kind.name == name)
    }

    /// True where a unit may stand with a value of this kind: the right dimension, and not the sign of another
    /// kind (a joule is no torque, a tooth is no link; labels are told apart by the input's own unit).
    #[must_use]
    pub fn takes(&self, unit: &Unit) -> bool {
        let text = unit.text.as_str();
        let listed = |kind: &Self| kind.units.contains(&text);
        self.dimension == unit.dimension && (listed(self) || !KINDS.iter().any(listed))
    }
}

/// What a unit measures, in a message: the kind that lists it, since a joule is no torque; else its dimension.
#[must_use]
pub fn phrase_of(unit: &Unit) -> String {
    let listed = KINDS.iter().find(|kind| kind.dimension == unit.dimension && kind.units.contains(&unit.text.as_str()));
    listed.map_or_else(|| phrase(unit.dimension), |kind| kind.phrase.to_owned())
}

/// What a dimension is called in a message: `a length`, or its base units where the trade has no word for it.
#[must_use]
pub fn phrase(dimension: Dimension) -> String {
    if dimension.is_none() {
        return "a plain number".to_owned();
    }
    match KINDS.iter().find(|kind| kind.dimension == dimension) {
        Some(kind) => kind.phrase.to_owned(),
        None => format!("a quantity in {}", pretty(&dimension.to_string())),
    }
}

/// A unit: one symbol of the table or several put together.
#[derive(Clone, Debug, PartialEq)]
pub struct Unit {
    /// The unit as this program writes it in files: `mm`, `N·m`, `kg/m^3`; empty for a plain number.
    pub text: String,
    num: f64,
    den: f64,
    shift: f64,
    /// What it measures.
    pub dimension: Dimension,
    /// The row, where the unit is a single symbol.
    row: Option<&'static Row>,
}

impl Unit {
    /// The unit of plain numbers.
    #[must_use]
    pub fn none() -> Self {
        Self { text: String::new(), num: 1.0, den: 1.0, shift: 0.0, dimension: Dimension::NONE, row: None }
    }

    /// The base unit of a dimension, for quantities that no kind has a unit for.
    #[must_use]
    pub fn of_base(dimension: Dimension) -> Self {
        Self { text: dimension.to_string(), dimension, ..Self::none() }
    }

    /// The unit of one symbol or other spelling of the table; `None` where the table has no such sign.
    #[must_use]
    pub fn symbol(sign: &str) -> Option<Self> {
        let row = UNITS.iter().find(|row| row.symbol == sign || row.also.contains(&sign))?;
        Some(Self {
            text: row.symbol.to_owned(),
            num: row.num,
            den: row.den,
            shift: row.shift,
            dimension: row.dimension,
            row: Some(row),
        })
    }

    /// Reads a whole text as a unit: `N·m`, `J/(kg·K)`, `kg/m³`; an empty text is a plain number.
    ///
    /// # Errors
    /// The text itself, where it is no unit.
    pub fn parse(text: &str) -> Result<Self, String> {
        if text.is_empty() {
            return Ok(Self::none());
        }
        match super::unit_reader::read(text) {
            Some((unit, length)) if length == text.len() => Ok(unit),
            _ => Err(text.to_owned()),
        }
    }

    /// Every sign that can begin a unit, for suggestions.
    pub fn signs() -> impl Iterator<Item = &'static str> {
        UNITS.iter().flat_map(|row| std::iter::once(row.symbol).chain(row.also.iter().copied()))
    }

    /// True for °C and °F, whose zero is not the zero of the scale.
    #[must_use]
    pub fn has_offset(&self) -> bool {
        self.shift != 0.0
    }

    /// True for `tooth` and `link`, which are worth 1 and only say what is counted.
    #[must_use]
    pub fn is_label(&self) -> bool {
        self.dimension.is_none() && self.num.to_bits() == self.den.to_bits() && !self.text.is_empty()
    }

    /// A value in this unit, in base units.
    #[must_use]
    pub fn to_base(&self, value: f64) -> f64 {
        (value * self.num + self.shift) / self.den
    }

    /// A value in base units, in this unit.
    #[must_use]
    pub fn from_base(&self, value: f64) -> f64 {
        (value * self.den - self.shift) / self.num
    }

    /// A difference in this unit, in base units: no offset is added.
    #[must_use]
    pub fn to_base_difference(&self, value: f64) -> f64 {
        value * self.num / self.den
    }

    /// A difference in base units, in this unit.
    #[must_use]
    pub fn from_base_difference(&self, value: f64) -> f64 {
        value * self.den / self.num
    }

    /// The three numbers that convert it: a value times the first, plus the third, over the second, is in base units.
    #[must_use]
    pub fn parts(&self) -> (f64, f64, f64) {
        (self.num, self.den, self.shift)
    }

    /// How many base units one of this unit is worth.
    #[must_use]
    pub fn factor(&self) -> f64 {
        self.num / self.den
    }

    /// The sign that stands after a number, with `one` for the number 1.
    #[must_use]
    pub fn shown(&self, one: bool) -> String {
        match self.row {
            Some(row) if one => row.shown.to_owned(),
            Some(row) => row.plural.to_owned(),
            None => pretty(&self.text),
        }
    }

    /// The product of two units, written with `sign` between them (`·` or `/`).
    #[must_use]
    pub(super) fn join(&self, sign: char, other: &Self) -> Self {
        let over = sign == '/';
        let (num, den) = if over { (other.den, other.num) } else { (other.num, other.den) };
        let dimension = if over { self.dimension.over(other.dimension) } else { self.dimension.times(other.dimension) };
        let right =
            if over && other.text.contains(['·', '/']) { format!("({})", other.text) } else { other.text.clone() };
        let text = format!("{}{sign}{right}", self.text);
        Self { text, num: self.num * num, den: self.den * den, shift: 0.0, dimension, row: None }
    }

    /// This unit to a whole power from 1 to 9.
    #[must_use]
    pub(super) fn raised(&self, power: u8) -> Self {
        let whole = i32::from(power);
        let base = if self.row.is_some() { self.text.clone() } else { format!("({})", self.text) };
        Self {
            text: format!("{base}^{power}"),
            num: self.num.powi(whole),
            den: self.den.powi(whole),
            shift: 0.0,
            dimension: self.dimension.power(f64::from(power)).unwrap_or_default(),
            row: None,
        }
    }
}

/// A unit's text as it is set for readers: `^2` and `^3` become raised figures.
#[must_use]
pub fn pretty(text: &str) -> String {
    text.replace("^2", "²").replace("^3", "³")
}
