"""Spokes worked from first principles, to check the engine's wheel formulas: their notes and how they stretch.

Notes come from energies and from waves passed on from piece to piece, pulls from the work that they do.
"""

import mpmath
from mpmath import mpf

from independent import spread

STEEL = mpf(7900)
CONCERT_A = mpf(440)


# Notes


def string_note(length, tension, diameter, density):
    """Lowest note of a limp wire: in a half wave the energy of moving equals the energy of being stretched aside."""
    mass = density * mpmath.pi * (diameter / 2) ** 2
    ends = [0, length / 2, length]
    bent = mpmath.quad(lambda x: tension * (mpmath.pi / length * mpmath.cos(mpmath.pi * x / length)) ** 2, ends)
    moving = mpmath.quad(lambda x: mass * mpmath.sin(mpmath.pi * x / length) ** 2, ends)
    return mpmath.sqrt(bent / moving) / (2 * mpmath.pi)


def spoke_note(free_length, tension, diameter, density=STEEL):
    """Rayleigh's way: integrates the energy of bending aside and of moving over a half wave and sets them equal; the
    semitones are found by trying steps of the twelfth root of two from the A."""
    note = string_note(free_length, tension, diameter, density)
    semitone = mpmath.root(2, 12)
    steps = mpmath.findroot(lambda k: semitone**k * CONCERT_A / note - 1, (-1, 1))
    return {"frequency": (note, "Hz"), "semitones": (steps, "")}


def tension_from_note(frequency, free_length, diameter, density=STEEL):
    """Tries tensions with a root finder until the string, by Rayleigh's equal energies, sings the note."""

    def too_high(tension):
        return (string_note(free_length, tension, diameter, density) / frequency) ** 2 - 1

    return {"tension": (mpmath.findroot(too_high, (100, 1000)), "N")}


def butted_spoke_note(
    elbow_length, middle_length, thread_length, end_diameter, middle_diameter, tension, density=STEEL
):
    """Carries shape and slope of the swinging wire from the elbow through its three pieces by transfer matrices and
    searches the lowest note at which the far end stands still; the plain spoke is found by trying diameters."""

    def far_end(note):
        aside, pull = mpf(0), mpf(1)
        for length, diameter in [
            (elbow_length, end_diameter),
            (middle_length, middle_diameter),
            (thread_length, end_diameter),
        ]:
            mass = density * mpmath.pi * (diameter / 2) ** 2
            wave = 2 * mpmath.pi * note * mpmath.sqrt(mass / tension)
            c, s = mpmath.cos(wave * length), mpmath.sin(wave * length)
            aside, pull = c * aside + s / (wave * tension) * pull, -s * wave * tension * aside + c * pull
        return aside

    whole = elbow_length + middle_length + thread_length
    slowest = string_note(whole, tension, max(end_diameter, middle_diameter), density)
    fastest = string_note(whole, tension, min(end_diameter, middle_diameter), density)
    scale = abs(far_end(slowest / 2))
    note = mpmath.findroot(
        lambda f: far_end(f) / scale, (slowest * mpf("0.999"), fastest * mpf("1.001")), solver="anderson"
    )
    near = (middle_diameter, middle_diameter * mpf("1.01"))
    plain = mpmath.findroot(lambda d: string_note(whole, tension, d, density) / note - 1, near)
    return {"frequency": (note, "Hz"), "equivalent_diameter": (plain, "mm")}


# Tension


def spoke_stretch(tension, end_length, end_diameter, middle_length, middle_diameter, modulus=mpf(200) * 10**9):
    """Castigliano's way: adds up the strain energy along the spoke and differentiates it numerically by the tension;
    the stress is the largest that is met on the way."""
    pieces = [(end_length, end_diameter), (middle_length, middle_diameter)]

    def stress(pull, diameter):
        return pull / mpmath.quad(lambda r: 2 * mpmath.pi * r, [0, diameter / 2])

    def energy(pull):
        return sum(
            stress(pull, diameter) ** 2 / (2 * modulus) * mpmath.pi * (diameter / 2) ** 2 * length
            for length, diameter in pieces
        )

    return {
        "stretch": (mpmath.diff(energy, tension), "mm"),
        "stress": (max(stress(tension, diameter) for length, diameter in pieces if length), "MPa"),
    }


def tension_from_deflection(side_force, span, deflection):
    """Virtual work: pushed a hair further, the side force does the work that the tension takes up in the longer way
    over the gauge's foot, which is differentiated numerically."""

    def way_over(foot):
        half = mpmath.mpc(span / 2, foot)
        return abs(half) + abs(half)

    return {"tension": (side_force / mpmath.diff(way_over, deflection), "N")}


def butted(elbow, middle, thread, end, thin, tension, **more):
    return {
        "elbow_length": f"{elbow} mm",
        "middle_length": f"{middle} mm",
        "thread_length": f"{thread} mm",
        "end_diameter": f"{end} mm",
        "middle_diameter": f"{thin} mm",
        "tension": tension,
    } | more


def drawn(tension, ends, thick, middle, thin, **more):
    return {
        "tension": tension,
        "end_length": f"{ends} mm",
        "end_diameter": f"{thick} mm",
        "middle_length": f"{middle} mm",
        "middle_diameter": f"{thin} mm",
    } | more


FORMULAS = {
    "spoke-note": (
        spoke_note,
        [
            {"free_length": "180 mm", "tension": "1100 N", "diameter": "2 mm"},
            {"free_length": "265 mm", "tension": "620 N", "diameter": "1.8 mm", "density": "7900 kg/m^3"},
            {"free_length": "120 mm", "tension": "450 N", "diameter": "2 mm"},
            {"free_length": "190 mm", "tension": "1000 N", "diameter": "2.2 mm", "density": "4430 kg/m^3"},
            {"free_length": "2500 mm", "tension": "5 N", "diameter": "4 mm", "density": "12000 kg/m^3"},
        ]
        + spread(
            3, free_length=("100.0", "300.0", "mm"), tension=("300", "1250", "N"), diameter=("1.50", "2.34", "mm")
        )
        + spread(
            3,
            free_length=("30", "2500", "mm"),
            tension=("5", "4000", "N"),
            diameter=("0.40", "4.00", "mm"),
            density=("1000", "12000", "kg/m^3"),
        ),
    ),
    "tension-from-note": (
        tension_from_note,
        [
            {"frequency": "440 Hz", "free_length": "180 mm", "diameter": "2 mm"},
            {"frequency": "311.13 Hz", "free_length": "270 mm", "diameter": "1.8 mm", "density": "7900 kg/m^3"},
            {"frequency": "520 Hz", "free_length": "110 mm", "diameter": "2 mm"},
            {"frequency": "610 Hz", "free_length": "185 mm", "diameter": "2.2 mm", "density": "4430 kg/m^3"},
            {"frequency": "20 Hz", "free_length": "30 mm", "diameter": "0.4 mm", "density": "1000 kg/m^3"},
        ]
        + spread(
            3, frequency=("250.0", "560.0", "Hz"), free_length=("120", "300", "mm"), diameter=("1.50", "2.34", "mm")
        )
        + spread(
            3,
            frequency=("20", "2000", "Hz"),
            free_length=("30", "700", "mm"),
            diameter=("0.40", "3.00", "mm"),
            density=("1000", "9000", "kg/m^3"),
        ),
    ),
    "butted-spoke-note": (
        butted_spoke_note,
        [
            butted("25", "230", "40", "2", "1.8", "1100 N"),
            butted("25", "225", "35", "2", "1.5", "900 N", density="7900 kg/m^3"),
            butted("10", "95", "30", "2", "1.7", "550 N"),
            butted("20", "210", "30", "2.34", "1.8", "120 kgf", density="8000 kg/m^3"),
            butted("20", "220", "40", "1.6", "2.2", "1000 N", density="4430 kg/m^3"),
            butted("0.5", "5", "400", "4", "2.3", "4000 N"),
            butted("40", "240", "15", "2", "2", "1000 N"),
        ]
        + spread(
            3,
            elbow_length=("8.0", "40.0", "mm"),
            middle_length=("120.0", "250.0", "mm"),
            thread_length=("20.0", "50.0", "mm"),
            end_diameter=("2.00", "2.34", "mm"),
            middle_diameter=("1.50", "1.80", "mm"),
            tension=("400", "1250", "N"),
        )
        + spread(
            3,
            elbow_length=("0.5", "400.0", "mm"),
            middle_length=("5.0", "700.0", "mm"),
            thread_length=("0.5", "400.0", "mm"),
            end_diameter=("2.00", "4.00", "mm"),
            middle_diameter=("2.30", "4.00", "mm"),
            tension=("5", "4000", "N"),
            density=("1000", "12000", "kg/m^3"),
        ),
    ),
    "spoke-stretch": (
        spoke_stretch,
        [
            drawn("1150 N", "292", "2", "0", "2"),
            drawn("1000 N", "60", "2", "232", "1.8", modulus="200 GPa"),
            drawn("110 kgf", "55", "2", "205", "1.5", modulus="193 GPa"),
            drawn("500 N", "186", "2", "0", "2"),
            drawn("900 N", "40", "2.34", "220", "1.8", modulus="114 GPa"),
            drawn("4000 N", "2500", "0.4", "2500", "4", modulus="40 GPa"),
        ]
        + spread(
            3,
            tension=("300", "1250", "N"),
            end_length=("30.0", "90.0", "mm"),
            end_diameter=("2.00", "2.34", "mm"),
            middle_length=("120.0", "250.0", "mm"),
            middle_diameter=("1.50", "1.80", "mm"),
        )
        + spread(
            3,
            tension=("5", "4000", "N"),
            end_length=("1", "2500", "mm"),
            end_diameter=("0.40", "4.00", "mm"),
            middle_length=("1", "2500", "mm"),
            middle_diameter=("0.40", "4.00", "mm"),
            modulus=("40.0", "260.0", "GPa"),
        ),
    ),
    "tension-from-deflection": (
        tension_from_deflection,
        [
            {"side_force": f"{force} N", "span": f"{span} mm", "deflection": f"{aside} mm"}
            for force, span, aside in [
                ("50", "120", "1.4"),
                ("80", "150", "3.2"),
                ("30", "80", "1.35"),
                ("2", "400", "0.05"),
                ("400", "20", "20"),
            ]
        ]
        + spread(3, side_force=("20.0", "90.0", "N"), span=("70", "180", "mm"), deflection=("0.80", "3.50", "mm"))
        + spread(3, side_force=("2.0", "400.0", "N"), span=("20", "400", "mm"), deflection=("0.05", "20.00", "mm")),
    ),
}
