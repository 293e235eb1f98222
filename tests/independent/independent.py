"""Works every formula out a second time, by another route, and writes what comes out as data for tests/independent.rs.

The modules beside this file, one or two a topic, were written from the physics of each question and not from the engine's
formula files: a wheel is laid out in space, a balance is found by a root finder, a path is added up piece by piece.
They compute with mpmath at 40 digits; units are read by Pint in exact fractions. Nothing of Locknut runs here.

  python independent.py            writes TOPIC.yaml for every topic
  python independent.py --check    works it out again and compares; exit status 1 and the rows that differ
"""

import importlib
import pathlib
import random
import re
import sys
from fractions import Fraction
from itertools import zip_longest

sys.dont_write_bytecode = True

import mpmath  # noqa: E402
import pint  # noqa: E402
from mpmath import mpf  # noqa: E402

HERE = pathlib.Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "units"))
sys.path.insert(0, str(HERE))
from pint_table import pint_unit  # noqa: E402  (the one list of what Pint calls our signs)

# The modules of each topic.
TOPICS = {
    "drivetrain": ["drivetrain", "chains"],
    "wheels": ["wheels", "spokes"],
    "tyres": ["tyres"],
    "brakes": ["brakes"],
    "fasteners": ["fasteners"],
    "fit": ["fit"],
    "suspension": ["suspension"],
    "electrics": ["electrics"],
    "riding": ["riding"],
}
WRITTEN = re.compile(r"(-?\d+(?:\.\d+)?)\s*(.*)")
LABELS = re.compile(r"\b(?:tooth|teeth|links?)\b")
REGISTRY = pint.UnitRegistry(non_int_type=Fraction)
BASE = {}

mpmath.mp.dps = 40


def unit_of(text):
    """The Pint unit of one of our unit expressions; tooth and link are labels worth 1."""
    return pint_unit(REGISTRY, LABELS.sub("", text).strip())


def exact(fraction):
    return mpf(fraction.numerator) / mpf(fraction.denominator)


def si(text):
    """A written value, such as `410 mm` or `18 degC`, as a number of SI base units (radians, kelvin, plain numbers)."""
    number, unit = WRITTEN.fullmatch(text).groups()
    return exact(Fraction(REGISTRY.Quantity(Fraction(number), unit_of(unit)).to_base_units().magnitude))


def in_unit(value, unit):
    """A number of SI base units as a number of `unit`; `K` says a difference and `degC` a reading."""
    if unit == "degC":
        return value - mpf("273.15")
    return value / exact(Fraction(REGISTRY.Quantity(Fraction(1), unit_of(unit)).to_base_units().magnitude))


def spread(count, **ranges):
    """`count` rows of inputs drawn between two written ends, `("380.0", "450.0", "mm")`, to the digits of the first.

    A range of one text, or a list of texts, is taken as it stands or chosen from.
    """
    rng = random.Random(repr(sorted(ranges.items())))
    rows = []
    for _ in range(count):
        row = {}
        for name, said in ranges.items():
            if isinstance(said, str):
                row[name] = said
            elif isinstance(said, list):
                row[name] = rng.choice(said)
            else:
                low, high, unit = said
                digits = len(low.partition(".")[2])
                number = rng.randint(round(Fraction(low) * 10**digits), round(Fraction(high) * 10**digits))
                row[name] = written(number, digits, unit)
        rows.append(row)
    return rows


def written(number, digits, unit):
    sign, figures = ("-" if number < 0 else ""), str(abs(number)).rjust(digits + 1, "0")
    whole, rest = (figures[:-digits], figures[-digits:]) if digits else (figures, "")
    return f"{sign}{whole}{'.' if digits else ''}{rest} {unit}".strip()


def quoted(row):
    return "{" + ", ".join(f'{name}: "{text}"' for name, text in row.items()) + "}"


def page(topic):
    """The text of TOPIC.yaml."""
    formulas = {}
    for name in TOPICS[topic]:
        formulas |= importlib.import_module(name).FORMULAS
    sources = " and ".join(f"{name}.py" for name in TOPICS[topic])
    lines = [
        f"# Figures by another route, written by independent.py from {sources}, compared with them at every test run,",
        "# and not edited by hand. 40-digit arithmetic, rounded to 17 significant digits.",
    ]
    for identity, (work, cases) in formulas.items():
        how = " ".join((work.__doc__ or "").split())
        if not how:
            sys.exit(f"{topic}: {identity} does not say how it is worked")
        lines += [f"- formula: {identity}", f'  how: "{how}"', "  rows:"]
        for given in cases:
            gives = work(**{name: si(text) for name, text in given.items()})
            texts = {}
            for name, (value, unit) in gives.items():
                value = in_unit(value, unit)
                # What is left of a difference of equals, forty digits down.
                value = mpf(0) if abs(value) < mpf("1e-30") else value
                number = mpmath.nstr(value, 17, min_fixed=-30, max_fixed=30, strip_zeros=True)
                texts[name] = f"{number.removesuffix('.0')} {unit}".strip()
            lines.append(f"    - {{given: {quoted(given)}, gives: {quoted(texts)}}}")
    return "\n".join(lines) + "\n"


def differences(old, new):
    """The lines in which two texts differ, as (number, old, new)."""
    pairs = zip_longest(old.splitlines(), new.splitlines(), fillvalue="")
    return [(line, one, other) for line, (one, other) in enumerate(pairs, 1) if one != other]


def main():
    off = 0
    for topic in TOPICS:
        path, text = HERE / f"{topic}.yaml", page(topic)
        if "--check" not in sys.argv:
            path.write_text(text, encoding="utf-8")
            continue
        for line, old, new in differences(path.read_text(encoding="utf-8"), text):
            off += 1
            print(f"{path.name} line {line}:\n  has {old}\n  now {new}")
        # Silence counts only if one wrong digit is seen.
        wrong = text[::-1].replace("1", "2", 1)[::-1]
        if len(differences(wrong, text)) != 1:
            sys.exit(f"{path.name}: a changed digit went unseen")
        print(f"{path.name}: {text.count('{given')} rows worked again")
    print(f"{off} differ")
    sys.exit(1 if off else 0)


if __name__ == "__main__":
    main()
