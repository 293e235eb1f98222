"""Spokes, rims and rolling wheels worked from first principles, to check the engine's wheel formulas.

Wheels are laced in space, hole by hole, and a rim is held by the stiffness of every single spoke; tensions come from
virtual work, notes from the energy or the travelling state of a vibrating string. The questions say what is meant; no
step of the engine is used.
"""

import mpmath
from mpmath import mpf

from independent import spread

STEEL = mpf(7900)
TURN_OF_NIPPLE = mpf("0.0254") / 56
CONCERT_A = mpf(440)


# Lacing


def crossed(steps):
    """How many spokes of its flange a spoke crosses when its rim end is `steps` holes on from its hub end.

    Holes are numbered along the flange; even ones run forwards, odd ones backwards. Two spokes cross when the one that
    is behind at the hub is in front at the rim.
    """
    ours_at_hub, ours_at_rim = 0, steps
    others = ((hole, hole - steps) for hole in range(-4 * steps - 5, 4 * steps + 6) if hole % 2)
    return sum((at_hub - ours_at_hub) * (at_rim - ours_at_rim) < 0 for at_hub, at_rim in others)


def lacing_angle(flange_holes, crossings):
    """Angle at the axle between both ends of a spoke: lacing is wound on hole by hole till enough spokes cross."""
    steps = 0
    while crossed(steps) < crossings:
        steps += 1
    return 2 * mpmath.pi * steps / flange_holes


def spoke(rim_radius, flange_radius, offset, angle):
    """(in the rim's plane, out of it): a spoke from its hole in the rim to its hole in the flange."""
    return flange_radius * mpmath.expj(angle) - rim_radius, offset


def reach(rim_radius, flange_radius, offset, angle):
    flat, aside = spoke(rim_radius, flange_radius, offset, angle)
    return mpmath.sqrt(mpmath.re(flat) ** 2 + mpmath.im(flat) ** 2 + aside**2)


def bracing(rim_radius, flange_radius, offset, angle):
    flat, aside = spoke(rim_radius, flange_radius, offset, angle)
    return mpmath.atan2(aside, abs(flat))


def spoke_length(rim_diameter, flange_diameter, flange_offset, spokes, crossings, hole_diameter=mpf("0.0026")):
    """Winds the lacing on hole by hole until each spoke crosses enough others, sets both ends out in space and
    measures between them; the hole spacing is the length of the rim's circle, integrated, shared out over the spokes."""
    rim, flange = rim_diameter / 2, flange_diameter / 2
    ends = rim, flange, flange_offset, lacing_angle(spokes / 2, crossings)
    round_the_rim = mpmath.quad(lambda t: abs(rim * mpmath.j * mpmath.expj(t)), [0, 2 * mpmath.pi])
    return {
        "length": (reach(*ends) - hole_diameter / 2, "mm"),
        "bracing_angle": (bracing(*ends), "deg"),
        "hole_spacing": (round_the_rim / spokes, "mm"),
    }


def tension_balance(
    rim_diameter,
    left_flange_diameter,
    left_offset,
    left_spokes,
    left_crossings,
    right_flange_diameter,
    right_offset,
    right_spokes,
    right_crossings,
    right_tension,
):
    """Virtual work: the rim is moved a hair sideways and a hair smaller, the spokes' changes of length are found by
    numerical differentiation, and tensions and push follow from the work that must come to nothing."""
    rim = rim_diameter / 2
    left = left_flange_diameter / 2, left_offset, lacing_angle(left_spokes, left_crossings)
    right = right_flange_diameter / 2, right_offset, lacing_angle(right_spokes, right_crossings)

    def length(side, smaller, moved_away):
        flange, offset, angle = side
        return reach(rim - smaller, flange, offset + moved_away, angle)

    def gained_sideways(side, way):
        return mpmath.diff(lambda moved: length(side, 0, way * moved), 0)

    def lost_inwards(side):
        return -mpmath.diff(lambda smaller: length(side, smaller, 0), 0)

    work_of_one_newton_left = left_spokes * gained_sideways(left, 1)
    work_of_the_right = right_spokes * right_tension * gained_sideways(right, -1)
    left_tension = -work_of_the_right / work_of_one_newton_left
    work_inwards = left_spokes * left_tension * lost_inwards(left) + right_spokes * right_tension * lost_inwards(right)
    rim_shortens = 2 * mpmath.pi
    return {
        "left_angle": (bracing(rim, *left), "deg"),
        "right_angle": (bracing(rim, *right), "deg"),
        "ratio": (left_tension / right_tension, ""),
        "left_tension": (left_tension, "N"),
        "rim_compression": (work_inwards / rim_shortens, "N"),
    }


def dish(over_locknut, left_inset, right_inset):
    """Lays the axle along a line from the left end face, marks both flanges and the middle of the hub on it, and
    measures from the middle outwards."""
    left_face, right_face = mpf(0), over_locknut
    left_flange, right_flange = left_face + left_inset, right_face - right_inset
    rim = (left_face + right_face) / 2
    left, right = rim - left_flange, right_flange - rim
    return {"left_offset": (left, "mm"), "right_offset": (right, "mm"), "dish": (left - right, "mm")}


def cross_product(a, b):
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def laced(rim_radius, flange_radius, offset, holes, crossings, first):
    """Every spoke of a flange as (hole in the rim, hole in the flange) in space; spokes run forwards and backwards by
    turns, and the flange is turned by `first` of its hole steps. Left is positive along the axle."""
    step = 2 * mpmath.pi / holes
    lead = lacing_angle(holes, crossings)
    for hole in range(int(holes)):
        at_hub = (hole + first) * step
        at_rim = at_hub + (lead if hole % 2 == 0 else -lead)
        hub, rim = flange_radius * mpmath.expj(at_hub), rim_radius * mpmath.expj(at_rim)
        yield (rim.real, rim.imag, mpf(0)), (hub.real, hub.imag, offset)


def dish_turns(
    left_gap,
    right_gap,
    rim_diameter,
    left_flange_diameter,
    left_offset,
    right_flange_diameter,
    right_offset,
    spokes,
    crossings,
    left_spoke_diameter,
    right_spoke_diameter,
):
    """Laces the whole wheel in space, adds up the stiffness of every spoke in a matrix for a rigid rim free to shift
    three ways and tilt two, pulls each left spoke one thread pitch shorter, solves, and reads the sideways shift."""
    holes, rim = spokes / 2, rim_diameter / 2
    left = laced(rim, left_flange_diameter / 2, left_offset, holes, crossings, mpf(0))
    right = laced(rim, right_flange_diameter / 2, -right_offset, holes, crossings, mpf(1) / 2)
    stiffness, pull = mpmath.zeros(5, 5), mpmath.zeros(5, 1)
    for side, diameter, shorter in [(left, left_spoke_diameter, TURN_OF_NIPPLE), (right, right_spoke_diameter, 0)]:
        for at_rim, at_hub in side:
            along = tuple(h - r for r, h in zip(at_rim, at_hub))
            length = mpmath.sqrt(mpmath.fsum(x * x for x in along))
            toward_hub = tuple(x / length for x in along)
            shortens = mpmath.matrix(list(toward_hub) + list(cross_product(at_rim, toward_hub)[:2]))
            spring = diameter**2 / length
            stiffness += spring * shortens * shortens.T
            pull += spring * shorter * shortens
    moved = mpmath.lu_solve(stiffness, pull)
    to_the_left = moved[2]
    # Set on either end face, the tool shows the same rim once nearer and once further by the offset.
    offset = mpmath.findroot(lambda right_of_middle: (left_gap - right_of_middle) - (right_gap + right_of_middle), 0)
    return {
        "offset": (offset, "mm"),
        "shift_per_turn": (to_the_left, "mm"),
        "turns": (offset / to_the_left, ""),
    }


# Rolling


def rollout(distance, turns):
    """Unrolls the whole distance turn by turn, and finds the radius by trying wheels until they roll just as far."""
    one_turn = mpmath.findroot(lambda way: mpmath.fsum(way for _ in range(int(turns))) - distance, (1, 2))
    radius = mpmath.findroot(lambda r: 2 * mpmath.pi * r * turns - distance, (mpf("0.1"), 1))
    return {"rollout": (one_turn, "mm"), "radius": (radius, "mm")}


def wheel_size(bead_seat_diameter, tyre_height):
    """Sets the top and the bottom of the tyre out from the axle and measures between them; the way round is integrated
    along the tread."""
    tread = bead_seat_diameter / 2 + tyre_height
    top, bottom = mpmath.mpc(0, tread), mpmath.mpc(0, -tread)
    around = mpmath.quad(lambda t: abs(mpmath.j * tread * mpmath.expj(t)), [0, 2 * mpmath.pi])
    return {"diameter": (abs(top - bottom), "mm"), "radius": (tread, "mm"), "circumference": (around, "mm")}


def wheel_imbalance(extra_mass, mass_radius, wheel_radius, speed):
    """Follows the place of the lump while the wheel rolls and differentiates it twice by time, numerically: mass times
    acceleration; the shakes are the turns rolled in one second."""

    def place(time):
        road = speed * time
        return mass_radius * mpmath.expj(road / wheel_radius)

    rolled_in_a_second = speed / (2 * mpmath.pi * wheel_radius)
    return {
        "turn_rate": (rolled_in_a_second, "Hz"),
        "force": (extra_mass * abs(mpmath.diff(place, 0, 2)), "N"),
    }


def hub(rim, flange, offset, spokes, crossings, **more):
    return {
        "rim_diameter": f"{rim} mm",
        "flange_diameter": f"{flange} mm",
        "flange_offset": f"{offset} mm",
        "spokes": str(spokes),
        "crossings": str(crossings),
    } | more


def balance(rim, left, right, tension):
    row = {"rim_diameter": f"{rim} mm"}
    for side, (flange, offset, spokes, crossings) in [("left", left), ("right", right)]:
        row[f"{side}_flange_diameter"] = f"{flange} mm"
        row[f"{side}_offset"] = f"{offset} mm"
        row[f"{side}_spokes"] = str(spokes)
        row[f"{side}_crossings"] = str(crossings)
    return row | {"right_tension": tension}


def off_centre(gaps, rim, left, right, spokes, crossings):
    return {
        "left_gap": f"{gaps[0]} mm",
        "right_gap": f"{gaps[1]} mm",
        "rim_diameter": f"{rim} mm",
        "left_flange_diameter": f"{left[0]} mm",
        "left_offset": f"{left[1]} mm",
        "right_flange_diameter": f"{right[0]} mm",
        "right_offset": f"{right[1]} mm",
        "spokes": str(spokes),
        "crossings": str(crossings),
        "left_spoke_diameter": f"{left[2]} mm",
        "right_spoke_diameter": f"{right[2]} mm",
    }


FORMULAS = {
    "spoke-length": (
        spoke_length,
        [
            hub("602", "45", "37.5", 32, 3),
            hub("538", "58", "21.5", 32, 3, hole_diameter="2.6 mm"),
            hub("391", "38", "29", 20, 1),
            hub("604", "54", "17", 36, 4),
            hub("584", "38.5", "36", 18, 0, hole_diameter="2.4 mm"),
            hub("490", "102", "34", 48, 3, hole_diameter="3.4 mm"),
            hub("760", "12", "0", 144, 6, hole_diameter="1.5 mm"),
        ]
        + spread(
            3,
            rim_diameter=("520.0", "620.0", "mm"),
            flange_diameter=("36.0", "68.0", "mm"),
            flange_offset=("15.0", "40.0", "mm"),
            spokes=["28", "32", "36", "40"],
            crossings=("0", "3", ""),
        )
        + spread(
            3,
            rim_diameter=("300", "760", "mm"),
            flange_diameter=("12.0", "140.0", "mm"),
            flange_offset=("0.0", "90.0", "mm"),
            spokes=["32", "36", "48", "72", "144"],
            crossings=("0", "2", ""),
            hole_diameter=("1.50", "5.00", "mm"),
        ),
    ),
    "tension-balance": (
        tension_balance,
        [
            balance("600", ("45", "37", 16, 3), ("45", "17.6", 16, 3), "1150 N"),
            balance("540", ("58", "25", 16, 3), ("58", "35.5", 16, 3), "900 N"),
            balance("602", ("40", "38.5", 10, 0), ("54", "17.2", 10, 2), "1200 N"),
            balance("592", ("38", "39", 7, 0), ("56", "18", 14, 2), "110 kgf"),
            balance("390", ("38", "31", 10, 1), ("38", "31", 10, 1), "500 N"),
            balance("150", ("140", "1", 3, 0), ("12", "90", 72, 6), "4000 N"),
        ]
        + spread(
            3,
            rim_diameter=("520.0", "620.0", "mm"),
            left_flange_diameter=("36.0", "66.0", "mm"),
            left_offset=("25.0", "42.0", "mm"),
            left_spokes=["16", "18"],
            left_crossings=("0", "3", ""),
            right_flange_diameter=("36.0", "66.0", "mm"),
            right_offset=("15.0", "35.0", "mm"),
            right_spokes=["16", "18"],
            right_crossings=("2", "3", ""),
            right_tension=("600", "1250", "N"),
        )
        + spread(
            2,
            rim_diameter=("250", "760", "mm"),
            left_flange_diameter=("12.0", "140.0", "mm"),
            left_offset=("1.0", "90.0", "mm"),
            left_spokes=("12", "72", ""),
            left_crossings=("0", "1", ""),
            right_flange_diameter=("12.0", "140.0", "mm"),
            right_offset=("1.0", "90.0", "mm"),
            right_spokes=("12", "72", ""),
            right_crossings=("0", "1", ""),
            right_tension=("20", "4000", "N"),
        ),
    ),
    "dish": (
        dish,
        [
            {"over_locknut": f"{width} mm", "left_inset": f"{left} mm", "right_inset": f"{right} mm"}
            for width, left, right in [
                ("130", "28.5", "47"),
                ("142", "34", "52.4"),
                ("100", "15.5", "15.5"),
                ("110", "28.8", "18.1"),
                ("197", "32", "60"),
                ("220", "0", "110"),
            ]
        ]
        + spread(
            5,
            over_locknut=("100.0", "220.0", "mm"),
            left_inset=("0.0", "50.0", "mm"),
            right_inset=("0.0", "50.0", "mm"),
        ),
    ),
    "dish-turns": (
        dish_turns,
        [
            off_centre(("2", "0"), "600", ("45", "37", "1.8"), ("45", "17.6", "2"), 32, 3),
            off_centre(("0", "1.2"), "538", ("58", "22", "1.7"), ("45", "34", "1.7"), 32, 3),
            off_centre(("0.6", "3.1"), "592", ("38", "38", "1.5"), ("54", "18", "1.8"), 24, 2),
            off_centre(("0.3", "0"), "390", ("38", "30", "2"), ("38", "30", "2"), 20, 1),
            off_centre(("5", "1"), "604", ("54", "32", "2"), ("54", "19", "2.34"), 40, 4),
            off_centre(("40", "0"), "582", ("40", "36", "0.8"), ("40", "36", "3.5"), 18, 0),
        ]
        + spread(
            3,
            left_gap=("0.0", "6.0", "mm"),
            right_gap=("0.0", "6.0", "mm"),
            rim_diameter=("520.0", "620.0", "mm"),
            left_flange_diameter=("36.0", "66.0", "mm"),
            left_offset=("22.0", "42.0", "mm"),
            right_flange_diameter=("36.0", "66.0", "mm"),
            right_offset=("15.0", "36.0", "mm"),
            spokes=["28", "32", "36"],
            crossings=("2", "3", ""),
            left_spoke_diameter=("1.50", "2.00", "mm"),
            right_spoke_diameter=("1.50", "2.34", "mm"),
        )
        + spread(
            3,
            left_gap=("0.00", "40.00", "mm"),
            right_gap=("0.00", "40.00", "mm"),
            rim_diameter=("250", "760", "mm"),
            left_flange_diameter=("12", "140", "mm"),
            left_offset=("1.0", "90.0", "mm"),
            right_flange_diameter=("12", "140", "mm"),
            right_offset=("1.0", "90.0", "mm"),
            spokes=["24", "48", "72", "144"],
            crossings=("0", "1", ""),
            left_spoke_diameter=("0.80", "3.50", "mm"),
            right_spoke_diameter=("0.80", "3.50", "mm"),
        ),
    ),
    "rollout": (
        rollout,
        [
            {"distance": "2.108 m", "turns": "1"},
            {"distance": "10.74 m", "turns": "5"},
            {"distance": "4.98 m", "turns": "4"},
            {"distance": "34 ft", "turns": "5"},
            {"distance": "2000 m", "turns": "947"},
        ]
        + spread(3, distance=("18.000", "23.500", "m"), turns="10")
        + spread(3, distance=("200.0", "2000.0", "m"), turns=("200", "1000", "")),
    ),
    "wheel-size": (
        wheel_size,
        [
            {"bead_seat_diameter": "622 mm", "tyre_height": "28 mm"},
            {"bead_seat_diameter": "584 mm", "tyre_height": "57 mm"},
            {"bead_seat_diameter": "203 mm", "tyre_height": "47 mm"},
            {"bead_seat_diameter": "349 mm", "tyre_height": "1.35 in"},
            {"bead_seat_diameter": "720 mm", "tyre_height": "150 mm"},
        ]
        + spread(3, bead_seat_diameter=["406 mm", "559 mm", "622 mm"], tyre_height=("20.0", "62.0", "mm"))
        + spread(3, bead_seat_diameter=("150", "720", "mm"), tyre_height=("8.0", "150.0", "mm")),
    ),
    "wheel-imbalance": (
        wheel_imbalance,
        [
            {"extra_mass": f"{mass} g", "mass_radius": f"{lump} mm", "wheel_radius": f"{wheel} mm", "speed": speed}
            for mass, lump, wheel, speed in [
                ("35", "310", "335", "40 km/h"),
                ("250", "300", "350", "25 km/h"),
                ("60", "190", "245", "12 mph"),
                ("8", "315", "336", "85 km/h"),
                ("3000", "420", "420", "130 km/h"),
                ("100", "300", "340", "0 km/h"),
            ]
        ]
        + spread(
            5,
            extra_mass=("1", "3000", "g"),
            mass_radius=("30", "420", "mm"),
            wheel_radius=("100", "420", "mm"),
            speed=("1.0", "130.0", "km/h"),
        ),
    ),
}
