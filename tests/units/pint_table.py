"""Works out golden.yaml, the table of conversions that the engine's unit table is held to.

Locknut's units and Pint's were written by different people from the same definitions, so a wrong factor in
one of them shows as a row that differs. Pint computes in exact fractions here; nothing is rounded before it
is written. No unit is defined in this file: it only says which of Pint's names each of our signs is.

  python pint_table.py           writes golden.yaml
  python pint_table.py --check   works it out again and compares; exit status 1 and the rows where it differs
  python pint_table.py --check FILE   compares another file
"""

import pathlib
import re
import sys
from fractions import Fraction
from itertools import permutations

import pint

PINT_VERSION = "0.25.3"
HERE = pathlib.Path(__file__).parent

# Our sign -> Pint's name. `tooth` and `link` are labels that Pint doesn't know, so no row has them. Our rpm is
# a plain frequency, 1/min; the unit that Pint calls rpm carries the full turn's 2 pi, hence the other spelling.
PINT_NAMES = {
    "m": "meter", "kg": "kilogram", "s": "second", "A": "ampere", "K": "kelvin", "rad": "radian",
    "mm": "millimeter", "cm": "centimeter", "km": "kilometer", "in": "inch", "ft": "foot", "mile": "mile",
    "deg": "degree", "g": "gram", "lb": "pound", "N": "newton", "kN": "kilonewton", "lbf": "pound_force",
    "kgf": "kilogram_force", "Nm": "(newton * meter)", "Pa": "pascal", "kPa": "kilopascal", "MPa": "megapascal",
    "GPa": "gigapascal", "bar": "bar", "psi": "pound_force_per_square_inch", "min": "minute", "h": "hour",
    "Hz": "hertz", "rpm": "(1 / minute)", "mph": "mile_per_hour", "degC": "degree_Celsius",
    "degF": "degree_Fahrenheit", "mL": "milliliter", "L": "liter", "fl_oz": "fluid_ounce",
    "imp_fl_oz": "imperial_fluid_ounce", "W": "watt", "kW": "kilowatt", "J": "joule", "kJ": "kilojoule",
    "Wh": "watt_hour", "V": "volt", "Ah": "ampere_hour", "%": "percent", "": "dimensionless",
}

# Units that measure the same kind of thing: each is converted to each other one of its group.
KINDS = {
    "percent": ["%", ""],
    "length": ["mm", "cm", "m", "km", "in", "ft", "mile"],
    "angle": ["deg", "rad"],
    "mass": ["g", "kg", "lb"],
    "force": ["N", "kN", "lbf", "kgf", "kg·m/s^2"],
    "torque": ["N·m", "Nm", "lbf·in", "lbf·ft", "kgf·cm"],
    "pressure": ["bar", "kPa", "psi", "Pa", "MPa", "GPa", "lbf/in^2", "kg/(m·s^2)"],
    "time": ["s", "min", "h"],
    "frequency": ["Hz", "rpm", "1/s"],
    "speed": ["km/h", "m/s", "mph"],
    "acceleration": ["m/s^2", "kgf/kg"],
    "temperature": ["degC", "degF", "K"],
    "area": ["mm^2", "cm^2", "m^2"],
    "volume": ["mL", "L", "m^3", "fl_oz", "imp_fl_oz"],
    "power": ["W", "kW", "kg·m^2/s^3"],
    "energy": ["Wh", "J", "kJ"],
    "voltage": ["V", "kg·m^2/(A·s^3)"],
    "charge": ["Ah", "A·s"],
    "density": ["kg/m^3", "g/cm^3"],
    "stiffness": ["N/mm", "lbf/in", "kg/s^2"],
    "specific_heat": ["J/(kg·K)", "m^2/(K·s^2)"],
    "heat_transfer": ["W/K", "kg·m^2/(K·s^3)"],
    "consumption": ["Wh/km", "kg·m/s^2"],
}
VALUES = ["1", "28.6", "0.0371"]
TEMPERATURES = ["0", "-40", "20", "284", "98.6"]
SIGN = re.compile(r"[A-Za-z_%]+")

HEADER = f"""\
# Conversions by another engine: Pint {PINT_VERSION} in exact fractions (`non_int_type=Fraction`), pi to 50 digits.
# Written by tests/units/pint_table.py and compared with it at every test run; not edited by hand.
# `value_from` in `from` is `value_to` in `to`. Values are text, so that no reader rounds them on the way:
# exact where 40 significant digits hold them, otherwise rounded to 30. Temperatures are readings, with offset.
# Not here: tooth and link, which Pint doesn't know.
"""


def pint_unit(registry, unit):
    """The Pint unit that one of our unit expressions stands for."""
    spelled = SIGN.sub(lambda sign: PINT_NAMES[sign.group()], unit) or PINT_NAMES[""]
    return registry.Unit(spelled.replace("·", " * ").replace("^", " ** "))


def as_text(value):
    """A fraction as decimal digits: exact where at most 40 significant ones hold it, otherwise rounded to 30."""
    digits, exponent = scaled(value, 40)
    if Fraction(digits) * Fraction(10) ** exponent != value:
        digits, exponent = scaled(value, 30)
    return plain(digits, exponent)


def scaled(value, significant):
    """The whole number of at most `significant` digits and the power of ten whose product is nearest to `value`."""
    exponent = 0
    if value:
        while abs(value) >= Fraction(10) ** (significant + exponent):
            exponent += 1
        while abs(value) < Fraction(10) ** (significant - 1 + exponent):
            exponent -= 1
    return round(value / Fraction(10) ** exponent), exponent


def plain(digits, exponent):
    """Digits and a power of ten, written without an exponent or needless noughts."""
    sign, figures = ("-" if digits < 0 else ""), str(abs(digits))
    if exponent >= 0:
        return sign + figures + "0" * exponent
    figures = figures.rjust(1 - exponent, "0")
    return sign + f"{figures[:exponent]}.{figures[exponent:]}".rstrip("0").rstrip(".")


def rows():
    """Every row of the table, as text, in the order of the groups."""
    registry = pint.UnitRegistry(non_int_type=Fraction)
    for kind, units in KINDS.items():
        yield f"# {kind}"
        values = TEMPERATURES if kind == "temperature" else VALUES
        for start, end in permutations(units, 2):
            for value in values:
                quantity = registry.Quantity(Fraction(value), pint_unit(registry, start))
                result = quantity.to(pint_unit(registry, end)).magnitude
                if not isinstance(result, (Fraction, int)):
                    raise TypeError(f"{start} to {end} left the exact fractions: {result!r}")
                yield (
                    f'- {{from: "{start}", to: "{end}", value_from: "{value}", '
                    f'value_to: "{as_text(Fraction(result))}"}}'
                )


def compare(path, wanted):
    """Prints the lines in which the file differs from what was worked out; their number."""
    found = path.read_text(encoding="utf-8").splitlines()
    wanted = wanted.splitlines()
    differing = [
        (number, old, new)
        for number, (old, new) in enumerate(zip(found, wanted), start=1)
        if old != new
    ]
    for number, old, new in differing[:20]:
        print(f"{path}:{number}: differs from Pint\n  written:    {old}\n  worked out: {new}")
    if len(found) != len(wanted):
        print(f"{path}: {len(found)} lines written, {len(wanted)} worked out")
    return len(differing) + (len(found) != len(wanted))


def main(arguments):
    if pint.__version__ != PINT_VERSION:
        print(f"This table is made with Pint {PINT_VERSION}; here is {pint.__version__}")
        return 1
    table = HEADER + "\n".join(rows()) + "\n"
    golden = HERE / "golden.yaml"
    if not arguments:
        golden.write_text(table, encoding="utf-8")
        return 0
    if arguments[0] != "--check" or len(arguments) > 2:
        print(__doc__)
        return 2
    path = pathlib.Path(arguments[1]) if len(arguments) == 2 else golden
    differences = compare(path, table)
    count = sum(line.startswith("- ") for line in table.splitlines())
    print(f"{count} conversions compared with Pint {PINT_VERSION}, {differences} differ")
    return 1 if differences else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
