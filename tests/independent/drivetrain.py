"""Gears and derailleurs worked from first principles, to check the engine's drivetrain formulas.

Teeth are counted one by one, sprockets are points in the plane, and a fixed wheel is skidded until it has come back to
its first patch. The questions say what is meant; no step of the engine is used. Chains are in chains.py.
"""

from fractions import Fraction

import mpmath
from mpmath import mpf

from chains import pin_radius
from independent import spread

HALF_INCH = mpf("0.0127")
INCH = mpf("0.0254")
NOTHING = mpf(0)


# Gears: whole teeth pass, whole turns are counted


def ground_covered(crank_turns, chainring, sprocket, rollout, hub_ratio):
    """Distance when the chain hands on each tooth of the ring, crank turn after crank turn, to the sprocket."""
    teeth_passed = crank_turns * chainring
    hub_driver_turns = teeth_passed / sprocket
    return hub_driver_turns * hub_ratio * rollout


def gear(chainring, sprocket, rollout, hub_ratio=mpf(1)):
    """Turns the cranks as often as the sprocket has teeth, so that the sprocket makes a whole number of turns, and
    shares the distance out; the directly driven wheel is found by trying diameters until one turn covers as much."""
    far = ground_covered(sprocket, chainring, sprocket, rollout, hub_ratio)
    development = far / sprocket
    wheel = mpmath.findroot(lambda diameter: mpmath.pi * diameter - development, (0.1, 1))
    return {
        "ratio": (far / rollout / sprocket, ""),
        "development": (development, "m"),
        "gear_inches": (wheel, "in"),
    }


def speed_at_cadence(chainring, sprocket, rollout, cadence, hub_ratio=mpf(1)):
    """Counts the crank turns of a whole hour, adds up the ground they cover and divides by the hour."""
    hour = mpf(3600)
    return {"speed": (ground_covered(cadence * hour, chainring, sprocket, rollout, hub_ratio) / hour, "km/h")}


def cadence_at_speed(chainring, sprocket, rollout, speed, hub_ratio=mpf(1)):
    """Follows the motion backwards: from the time of one wheel turn to that of one tooth and of one crank turn."""
    one_wheel_turn = rollout / speed
    one_sprocket_turn = one_wheel_turn * hub_ratio
    one_tooth = one_sprocket_turn / sprocket
    one_crank_turn = one_tooth * chainring
    return {"cadence": (1 / one_crank_turn, "rpm")}


def gear_step(first_chainring, first_sprocket, second_chainring, second_sprocket):
    """Counts the crank turns that either gear needs for the same thousand turns of the wheel; the second gear's turns
    beyond the first's are the step."""
    wheel_turns = 1000
    first_turns = Fraction(wheel_turns * int(first_sprocket), int(first_chainring))
    second_turns = Fraction(wheel_turns * int(second_sprocket), int(second_chainring))
    step = (second_turns - first_turns) / first_turns
    return {"step": (mpf(step.numerator) / step.denominator, "%")}


def rear_capacity(
    largest_chainring, smallest_chainring, largest_sprocket, smallest_sprocket, derailleur_capacity, largest_allowed
):
    """Takes the teeth off one by one from the largest to the smallest wheels and counts the chain that comes loose,
    half a pitch on each of the two runs; the range is the crank turns of both end gears over the same road."""

    def teeth_taken_off(large, small):
        return sum(1 for _ in range(int(small), int(large)))

    front = teeth_taken_off(largest_chainring, smallest_chainring)
    rear = teeth_taken_off(largest_sprocket, smallest_sprocket)
    loose_pitches = sum(Fraction(1, 2) for _ in range(front + rear))
    needed = int(2 * loose_pitches)
    turns_low = Fraction(int(largest_sprocket), int(smallest_chainring))
    turns_high = Fraction(int(smallest_sprocket), int(largest_chainring))
    shares = turns_low / turns_high
    return {
        "front_difference": (mpf(front), "tooth"),
        "rear_difference": (mpf(rear), "tooth"),
        "capacity": (mpf(needed), "tooth"),
        "margin": (derailleur_capacity - needed, "tooth"),
        "sprocket_margin": (largest_allowed - largest_sprocket, "tooth"),
        "gear_range": (mpf(shares.numerator) / shares.denominator, "%"),
    }


# Cassettes: points in the plane


def chainline(front_chainline, cassette_centre, sprockets, position, spacing, span):
    """Sets the sprockets out from the spokes, one spacing after the other, slides the row until its mean is the
    cassette centre, and reads the angle of the chain as the argument of a point in the plane."""
    row = [NOTHING]
    while len(row) < sprockets:
        row.append(row[-1] + spacing)
    slid = cassette_centre - sum(row) / len(row)
    line = row[int(position) - 1] + slid
    aside = line - front_chainline
    return {
        "sprocket_line": (line, "mm"),
        "offset": (aside, "mm"),
        "angle": (abs(mpmath.arg(mpmath.mpc(span, aside))), "deg"),
    }


def index_error(cable_pull, actuation_ratio, spacing, clicks):
    """Clicks through the cassette one sprocket at a time with derailleur and sprocket side by side; the cable that
    would fit is found by trying pulls until the last click lands on the last sprocket."""

    def out_after_all(pull):
        derailleur = cog = NOTHING
        for _ in range(int(clicks)):
            derailleur += actuation_ratio * pull
            cog += spacing
        return derailleur - cog

    fitting = mpmath.findroot(out_after_all, (cable_pull, cable_pull * 2))
    one_click = out_after_all(cable_pull) / clicks + spacing
    return {
        "travel": (one_click, "mm"),
        "error": (out_after_all(cable_pull), "mm"),
        "pull_needed": (fitting, "mm"),
    }


def sprocket_size(teeth, pitch=HALF_INCH, roller_diameter=mpf("0.00775")):
    """Sets the pins out as corners of a polygon one pitch apart, puts a roller on a corner, and turns the wheel
    through one tooth: highest less lowest speed of the straight run over its mean from integration."""
    radius = pin_radius(teeth, pitch)
    half_tooth = mpmath.pi / teeth

    def chain_speed(turned):
        """Speed of the straight run at one radian a second, the engaged pin `turned` from the top."""
        return mpmath.im(mpmath.j * radius * mpmath.expj(turned))

    mean = mpmath.quad(chain_speed, [-half_tooth, half_tooth]) / (2 * half_tooth)
    innermost = radius - roller_diameter / 2
    return {
        "pitch_diameter": (2 * radius, "mm"),
        "root_diameter": (2 * innermost, "mm"),
        "speed_variation": ((chain_speed(NOTHING) - chain_speed(half_tooth)) / mean, "%"),
    }


# Forces


def crank_forces(power, cadence, chainring, crank_length=mpf("0.17"), pitch=HALF_INCH):
    """Takes the work of one turn and divides it by the way of the pedal, by the angle, and by the way round the ring's
    pin circle, whose corners are set out one pitch apart: the chain is taken to pull at that circle."""
    work_of_a_turn = power / cadence
    pedal_way = 2 * mpmath.pi * crank_length
    pin_way = 2 * mpmath.pi * pin_radius(chainring, pitch)
    return {
        "crank_torque": (work_of_a_turn / (2 * mpmath.pi), "N·m"),
        "pedal_force": (work_of_a_turn / pedal_way, "N"),
        "chain_tension": (work_of_a_turn / pin_way, "N"),
    }


def skid_patches(chainring, sprocket):
    """Locks the cranks level after every turn, or every half turn for either foot, and notes where the wheel stands,
    until it has come round to every place it can reach."""
    ring, cog = int(chainring), int(sprocket)

    def places(stops_in_a_turn):
        seen = set()
        stop = 0
        while True:
            place = Fraction(stop * ring, stops_in_a_turn * cog) % 1
            if place in seen:
                return mpf(len(seen))
            seen.add(place)
            stop += 1

    return {"patches": (places(1), ""), "both_feet": (places(2), "")}


def hanger_angle(vertical_difference, span, horizontal_difference=NOTHING):
    """Spans the plane of the gauge by its upright and its level direction in space, and takes the angle between the
    normal of that plane and the axle from their cross and dot products."""
    upright = (NOTHING, span, vertical_difference)
    level = (span, NOTHING, horizontal_difference)
    nx = level[1] * upright[2] - level[2] * upright[1]
    ny = level[2] * upright[0] - level[0] * upright[2]
    nz = level[0] * upright[1] - level[1] * upright[0]
    return {"angle": (mpmath.atan2(mpmath.hypot(nx, ny), nz), "deg")}


FORMULAS = {
    "gear": (
        gear,
        [
            {"chainring": "50 tooth", "sprocket": "11 tooth", "rollout": "2105 mm"},
            {"chainring": "26 tooth", "sprocket": "36 tooth", "rollout": "2060 mm", "hub_ratio": "1"},
            {"chainring": "32 tooth", "sprocket": "18 tooth", "rollout": "1245 mm"},
            {"chainring": "38 tooth", "sprocket": "19 tooth", "rollout": "2155 mm", "hub_ratio": "0.632"},
            {"chainring": "54 tooth", "sprocket": "13 tooth", "rollout": "1330 mm", "hub_ratio": "1.615"},
            {"chainring": "9 tooth", "sprocket": "70 tooth", "rollout": "800 mm", "hub_ratio": "0.2"},
        ]
        + spread(
            3, chainring=("22", "54", "tooth"), sprocket=("10", "52", "tooth"), rollout=("1600.0", "2400.0", "mm")
        )
        + spread(
            3,
            chainring=("9", "80", "tooth"),
            sprocket=("7", "70", "tooth"),
            rollout=("800", "2700", "mm"),
            hub_ratio=("0.200", "5.000", ""),
        ),
    ),
    "speed-at-cadence": (
        speed_at_cadence,
        [
            {"chainring": "50 tooth", "sprocket": "17 tooth", "rollout": "2105 mm", "cadence": "95 rpm"},
            {"chainring": "28 tooth", "sprocket": "42 tooth", "rollout": "2220 mm", "cadence": "60 rpm"},
            {"chainring": "32 tooth", "sprocket": "16 tooth", "rollout": "1005 mm", "cadence": "75 rpm"},
            {
                "chainring": "44 tooth",
                "sprocket": "20 tooth",
                "rollout": "2168 mm",
                "cadence": "70 rpm",
                "hub_ratio": "1.384",
            },
            {"chainring": "80 tooth", "sprocket": "7 tooth", "rollout": "2700 mm", "cadence": "250 rpm"},
        ]
        + spread(
            3,
            chainring=("24", "53", "tooth"),
            sprocket=("10", "51", "tooth"),
            rollout=("1900.0", "2350.0", "mm"),
            cadence=("40.0", "130.0", "rpm"),
        )
        + spread(
            3,
            chainring=("9", "80", "tooth"),
            sprocket=("7", "70", "tooth"),
            rollout=("800", "2700", "mm"),
            cadence=("1.00", "4.10", "Hz"),
            hub_ratio=("0.20", "5.00", ""),
        ),
    ),
    "cadence-at-speed": (
        cadence_at_speed,
        [
            {"chainring": "50 tooth", "sprocket": "15 tooth", "rollout": "2096 mm", "speed": "35 km/h"},
            {"chainring": "30 tooth", "sprocket": "50 tooth", "rollout": "2280 mm", "speed": "6.5 km/h"},
            {"chainring": "39 tooth", "sprocket": "18 tooth", "rollout": "1340 mm", "speed": "12 mph"},
            {
                "chainring": "42 tooth",
                "sprocket": "22 tooth",
                "rollout": "2170 mm",
                "speed": "25 km/h",
                "hub_ratio": "1.25",
            },
            {"chainring": "52 tooth", "sprocket": "11 tooth", "rollout": "2110 mm", "speed": "20 m/s"},
        ]
        + spread(
            3,
            chainring=("24", "53", "tooth"),
            sprocket=("10", "51", "tooth"),
            rollout=("1900.0", "2350.0", "mm"),
            speed=("5.0", "60.0", "km/h"),
        )
        + spread(
            3,
            chainring=("9", "80", "tooth"),
            sprocket=("7", "70", "tooth"),
            rollout=("800", "2700", "mm"),
            speed=("0.50", "130.00", "km/h"),
            hub_ratio=("0.20", "5.00", ""),
        ),
    ),
    "gear-step": (
        gear_step,
        [
            {
                "first_chainring": f"{a} tooth",
                "first_sprocket": f"{b} tooth",
                "second_chainring": f"{c} tooth",
                "second_sprocket": f"{d} tooth",
            }
            for a, b, c, d in [
                (50, 17, 50, 19),
                (34, 34, 34, 30),
                (53, 23, 39, 17),
                (32, 51, 32, 45),
                (44, 11, 22, 36),
                (46, 16, 46, 16),
            ]
        ]
        + spread(
            5,
            first_chainring=("9", "80", "tooth"),
            first_sprocket=("7", "70", "tooth"),
            second_chainring=("9", "80", "tooth"),
            second_sprocket=("7", "70", "tooth"),
        ),
    ),
    "rear-capacity": (
        rear_capacity,
        [
            {
                "largest_chainring": f"{a} tooth",
                "smallest_chainring": f"{b} tooth",
                "largest_sprocket": f"{c} tooth",
                "smallest_sprocket": f"{d} tooth",
                "derailleur_capacity": f"{e} tooth",
                "largest_allowed": f"{f} tooth",
            }
            for a, b, c, d, e, f in [
                (48, 31, 34, 11, 40, 36),
                (42, 22, 36, 11, 45, 36),
                (40, 40, 44, 10, 34, 44),
                (53, 39, 28, 11, 33, 30),
                (44, 44, 18, 18, 1, 70),
                (52, 30, 51, 9, 47, 42),
            ]
        ]
        + spread(
            5,
            largest_chainring=("40", "80", "tooth"),
            smallest_chainring=("9", "40", "tooth"),
            largest_sprocket=("25", "70", "tooth"),
            smallest_sprocket=("7", "25", "tooth"),
            derailleur_capacity=("1", "90", "tooth"),
            largest_allowed=("7", "70", "tooth"),
        ),
    ),
    "chainline": (
        chainline,
        [
            {
                "front_chainline": f"{f} mm",
                "cassette_centre": f"{c} mm",
                "sprockets": str(n),
                "position": str(k),
                "spacing": f"{s} mm",
                "span": f"{span} mm",
            }
            for f, c, n, k, s, span in [
                ("43.5", "44.5", 11, 11, "3.74", 410),
                ("52", "45.2", 12, 1, "3.65", 435),
                ("47.5", "43", 8, 3, "4.8", 440),
                ("42", "42", 1, 1, "0", 405),
                ("20", "90", 14, 14, "10", 150),
                ("43.5", "43.5", 9, 5, "4.35", 1400),
            ]
        ]
        + spread(
            5,
            front_chainline=("20.0", "90.0", "mm"),
            cassette_centre=("15.0", "90.0", "mm"),
            sprockets=("7", "14", ""),
            position=("1", "7", ""),
            spacing=("2.00", "10.00", "mm"),
            span=("150", "1500", "mm"),
        ),
    ),
    "index-error": (
        index_error,
        [
            {"cable_pull": f"{c} mm", "actuation_ratio": r, "spacing": f"{s} mm", "clicks": str(n)}
            for c, r, s, n in [
                ("2.3", "1.7", "3.95", 10),
                ("2.7", "1.35", "3.75", 10),
                ("2.8", "1.7", "4.8", 7),
                ("3.5", "1.1", "3.84", 11),
                ("4.1", "0.95", "3.65", 11),
                ("0.5", "3", "8", 1),
            ]
        ]
        + spread(
            5,
            cable_pull=("0.50", "8.00", "mm"),
            actuation_ratio=("0.400", "3.000", ""),
            spacing=("2.00", "8.00", "mm"),
            clicks=("1", "13", ""),
        ),
    ),
    "sprocket-size": (
        sprocket_size,
        [
            {"teeth": "11 tooth"},
            {"teeth": "52 tooth"},
            {"teeth": "32 tooth", "pitch": "12.7 mm", "roller_diameter": "7.75 mm"},
            {"teeth": "5 tooth"},
            {"teeth": "18 tooth", "roller_diameter": "8.51 mm"},
            {"teeth": "90 tooth", "pitch": "9.525 mm", "roller_diameter": "6.35 mm"},
        ]
        + spread(2, teeth=("9", "60", "tooth"), roller_diameter=("7.00", "8.60", "mm"))
        + spread(
            3, teeth=("5", "90", "tooth"), pitch=("15.000", "60.000", "mm"), roller_diameter=("3.00", "14.00", "mm")
        ),
    ),
    "crank-forces": (
        crank_forces,
        [
            {"power": "250 W", "cadence": "90 rpm", "chainring": "50 tooth"},
            {"power": "120 W", "cadence": "50 rpm", "chainring": "30 tooth", "crank_length": "175 mm"},
            {"power": "40 W", "cadence": "60 rpm", "chainring": "32 tooth", "crank_length": "127 mm"},
            {"power": "1.4 kW", "cadence": "110 rpm", "chainring": "53 tooth", "crank_length": "172.5 mm"},
            {"power": "450 W", "cadence": "45 rpm", "chainring": "22 tooth", "pitch": "12.7 mm"},
            {"power": "2500 W", "cadence": "60 rpm", "chainring": "9 tooth", "crank_length": "230 mm"},
        ]
        + spread(
            3,
            power=("50", "900", "W"),
            cadence=("40.0", "130.0", "rpm"),
            chainring=("22", "56", "tooth"),
            crank_length=("140.0", "180.0", "mm"),
        )
        + spread(
            2,
            power=("1", "2500", "W"),
            cadence=("5", "250", "rpm"),
            chainring=("9", "80", "tooth"),
            crank_length=("80", "230", "mm"),
            pitch=("5.00", "60.00", "mm"),
        ),
    ),
    "skid-patches": (
        skid_patches,
        [
            {"chainring": f"{f} tooth", "sprocket": f"{r} tooth"}
            for f, r in [(46, 17), (48, 18), (45, 15), (44, 16), (49, 18), (36, 14), (80, 70)]
        ]
        + spread(6, chainring=("9", "80", "tooth"), sprocket=("7", "70", "tooth")),
    ),
    "hanger-angle": (
        hanger_angle,
        [
            {"vertical_difference": "3 mm", "span": "600 mm"},
            {"vertical_difference": "-6.5 mm", "horizontal_difference": "0 mm", "span": "560 mm"},
            {"vertical_difference": "12 mm", "horizontal_difference": "5 mm", "span": "610 mm"},
            {"vertical_difference": "0 mm", "horizontal_difference": "-7 mm", "span": "490 mm"},
            {"vertical_difference": "0 mm", "span": "620 mm"},
            {"vertical_difference": "-80 mm", "horizontal_difference": "80 mm", "span": "200 mm"},
        ]
        + spread(2, vertical_difference=("-15.0", "15.0", "mm"), span=("480", "640", "mm"))
        + spread(
            3,
            vertical_difference=("-80.0", "80.0", "mm"),
            horizontal_difference=("-80.0", "80.0", "mm"),
            span=("200", "760", "mm"),
        ),
    ),
}
