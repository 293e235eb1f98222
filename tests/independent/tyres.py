"""Tyre figures by another route: contact patches from the volume of a squashed surface, air as gas in a box, the
standard atmosphere added up layer by layer, pump strokes played through one at a time."""

from mpmath import cos, diff, findroot, log, lu_solve, matrix, mpf, pi, polyroots, quad, sin

from independent import spread

GRAVITY = mpf("9.80665")
MM = mpf("0.001")
KPA = mpf(1000)
NEAR = mpf("1e-9")


# Width and room

def tyre_on_rim(marked_width, marked_rim, rim_width, spread=mpf("0.4")):
    """The straight line through the marked pair and a rim one millimetre wider is solved for, and read at this rim.
    The usual rim takes the two shares of the table, 0.65 up to a tyre of 30 mm and 0.55 from there."""
    through = matrix([[1, marked_rim], [1, marked_rim + MM]])
    start, slope = lu_solve(through, matrix([marked_width, marked_width + spread * MM]))
    share = mpf("0.55") if marked_width >= 30 * MM * (1 - NEAR) else mpf("0.65")
    return {
        "width": (start + slope * rim_width, "mm"),
        "ratio": (1 / (rim_width / marked_width), ""),
        "usual_rim": (share * marked_width, "mm"),
    }


def tyre_clearance(frame_gap, tyre_width, off_centre=mpf(0)):
    """The four edges, both walls and both flanks, are laid out across the bike, and the smaller of the two gaps
    between neighbours is taken."""
    left_wall, right_wall = -frame_gap / 2, frame_gap / 2
    left_flank, right_flank = off_centre - tyre_width / 2, off_centre + tyre_width / 2
    return {"smallest_gap": (min(left_flank - left_wall, right_wall - right_flank), "mm")}


# The patch on the ground

def slice_area(depth, wheel_radius, section_radius):
    """Area of the level cut at this depth through a surface with these two radii at its lowest point."""
    def radius_squared(turn):
        return 2 * depth / (cos(turn) ** 2 / wheel_radius + sin(turn) ** 2 / section_radius)
    return 4 * quad(lambda turn: radius_squared(turn) / 2, [0, pi / 8, pi / 4, 3 * pi / 8, pi / 2])


def patch(drop, bead_seat_diameter, tyre_width):
    """Patch in the Hertz form: the volume that would lie under the ground, shared out over the drop."""
    wheel_radius, section_radius = bead_seat_diameter / 2 + tyre_width, tyre_width / 2
    full = slice_area(drop, wheel_radius, section_radius)
    return quad(lambda depth: full * depth / drop, [0, drop]) / drop


def hookless(tyre_width):
    """550 kPa, 50 kPa less for each line of the table that the width in whole millimetres reaches; at most 5 bar."""
    marked = 15
    while marked * MM < tyre_width * (1 - NEAR):
        marked += 1
    table = 550 * KPA - sum(50 * KPA for line in (25, 30, 35, 40, 45, 55, 65, 75) if marked >= line)
    return table, min(table, 500 * KPA)


def tyre_drop_pressure(wheel_load, bead_seat_diameter, tyre_width, drop_share=mpf("0.15")):
    """The doubly curved surface is cut level by level and the cuts are integrated to the volume under the ground;
    volume over drop is the patch (half of the bare cut: the Hertz form, a factor taken from the formula), and the
    air must carry the weight on it. The hookless limit falls by 50 kPa at each line of the table that is passed,
    5 bar and whole millimetres as in the formula."""
    drop = drop_share * tyre_width
    area = patch(drop, bead_seat_diameter, tyre_width)
    return {
        "pressure": (findroot(lambda air: air * area - wheel_load * GRAVITY, (mpf(1e5), mpf(5e5))), "bar"),
        "drop": (drop, "mm"),
        "contact_area": (area, "mm^2"),
        "hookless_limit": (hookless(tyre_width)[1], "bar"),
    }


def tyre_drop(wheel_load, bead_seat_diameter, tyre_width, pressure):
    """A root finder sinks the tyre until its patch, integrated from level cuts as in tyre-drop-pressure (with that
    factor of the Hertz form), times the pressure carries the weight."""
    drop = findroot(
        lambda deep: pressure * patch(deep, bead_seat_diameter, tyre_width) / GRAVITY - wheel_load,
        (tyre_width / 20, tyre_width / 5),
    )
    return {
        "contact_area": (patch(drop, bead_seat_diameter, tyre_width), "mm^2"),
        "drop": (drop, "mm"),
        "drop_share": (drop / tyre_width, "%"),
        "hookless_limit": (hookless(tyre_width)[1], "bar"),
    }


def pressure_for_load(old_pressure, old_load, new_load):
    """The change of load is added bit by bit: each bit needs its own bit of pressure on the old patch,
    and these are integrated from the old load to the new."""
    area = old_load * GRAVITY / old_pressure
    return {"new_pressure": (old_pressure + quad(lambda load: GRAVITY / area, [old_load, new_load]), "bar")}


def equal_drop_widths(front_width, front_load, rear_load, bead_seat_diameter, drop_share=mpf("0.15")):
    """Equal pressure means patches in the ratio of the loads, so that width^4 + bead radius x width^3 is known: the
    positive root of that polynomial is the rear width. The patch is the integrated one of tyre-drop-pressure."""
    pressure = front_load * GRAVITY / patch(drop_share * front_width, bead_seat_diameter, front_width)
    bead_radius = bead_seat_diameter / 2
    wanted = (rear_load / front_load) ** 2 * front_width ** 3 * (bead_radius + front_width)
    roots = polyroots([1, bead_radius, 0, 0, -wanted], maxsteps=200, extraprec=200)
    rear_width = max(root.real for root in roots if abs(root.imag) < NEAR * abs(root))
    return {
        "rear_width": (rear_width, "mm"),
        "pressure": (pressure, "bar"),
        "hookless_limit": (hookless(max(front_width, rear_width))[1], "bar"),
    }


def hookless_limit(tyre_width, rim_width):
    """No row is looked up: the width is counted up in whole millimetres and the limit falls by 50 kPa at each line
    of the table that is passed; the narrowest tyre is 28 mm, and 1 mm more from a rim of 25 mm."""
    table, limit = hookless(tyre_width)
    wide = rim_width >= 25 * MM * (1 - NEAR)
    return {
        "table_limit": (table, "kPa"),
        "limit": (limit, "kPa"),
        "narrowest": ((28 + (1 if wide else 0)) * MM, "mm"),
    }


# What the air does

def tyre_forces(pressure, tyre_width, rim_width, bead_seat_diameter,
                flange_height=mpf("5.5") * MM, casing_thickness=MM):
    """The air's push is integrated over the round casing. Half a circle, cut across, is held by two pulls; half the
    section from crown to bead must be held at the bead, upwards by the lift and sideways by the rim wall less the
    pull at the crown; half of a bead, cut across, is held by the pull at its two ends."""
    radius = tyre_width / 2
    tension = quad(lambda turn: pressure * radius * sin(turn), [0, pi]) / 2
    bead = findroot(lambda turn: radius * sin(turn) - rim_width / 2, (pi / 2 * mpf("1.01"), pi * mpf("0.999")),
                    solver="anderson")
    lift = quad(lambda turn: pressure * radius * cos(turn), [0, bead])
    sideways = quad(lambda turn: pressure * radius * sin(turn), [0, bead])
    bead_radius = bead_seat_diameter / 2
    return {
        "casing_tension": (tension, "N/mm"),
        "casing_stress": (tension / casing_thickness, "MPa"),
        "bead_lift": (lift, "N/mm"),
        "bead_tension": (quad(lambda turn: lift * bead_radius * sin(turn), [0, pi]) / 2, "N"),
        "rim_spread": (sideways - tension + quad(lambda height: pressure, [0, flange_height]), "N/mm"),
    }


def outside_air(altitude):
    """The log of the pressure, integrated up through air that cools by 6.5 K a kilometre from 15 degC."""
    lapse, ground, exponent = mpf("0.0065"), mpf("288.15"), mpf("5.25588")
    fall = quad(lambda height: exponent * lapse / (ground - lapse * height), [0, altitude]) if altitude else mpf(0)
    return findroot(lambda air: log(air / mpf(101325)) + fall, mpf(101325) * (1 - altitude / mpf(20000)))


def pressure_change(pressure, temperature_before=mpf("293.15"), temperature_after=mpf("293.15"),
                    altitude_before=mpf(0), altitude_after=mpf(0)):
    """The balance of a column of air is integrated up to each height (exponent 5.25588 as in the formula). The tyre is
    a box that keeps its molecules: their number for each cubic metre, by Boltzmann's constant, is kept."""
    boltzmann = mpf("1.380649e-23")
    before, after = outside_air(altitude_before), outside_air(altitude_after)
    molecules = (pressure + before) / (boltzmann * temperature_before)
    return {
        "air_before": (before, "kPa"),
        "air_after": (after, "kPa"),
        "pressure_after": (molecules * boltzmann * temperature_after - after, "bar"),
    }


def tyre_volume(bead_seat_diameter, tyre_width, film_thickness=mpf("0.1") * MM, pool=mpf("20e-6")):
    """The tyre is stacked from thin upright tubes round the axle, and their volumes are integrated; its wall is
    wound from hoops, and their areas are integrated and covered with the film."""
    section, centre = tyre_width / 2, (bead_seat_diameter + tyre_width) / 2
    # With the offset from the centre line written as section x sin, the integrand stays smooth at both edges.
    volume = quad(
        lambda turn: 2 * pi * (centre + section * sin(turn)) * 2 * (section * cos(turn)) ** 2, [-pi / 2, 0, pi / 2]
    )
    wall = quad(lambda turn: 2 * pi * (centre + section * cos(turn)) * section, [0, pi / 2, pi, 3 * pi / 2, 2 * pi])
    film = wall * film_thickness
    return {"volume": (volume, "L"), "film": (film, "mL"), "sealant": (film + pool, "mL")}


# Carbon dioxide and pumps

GAS = mpf("8.314462618")
MOLAR_MASS = mpf("0.0440095")
PULL = mpf("0.3640")
OWN_VOLUME = mpf("0.00004267")
AIR = mpf(101325)
ROOM = mpf("293.15")


def co2_mass(pressure, volume, temperature=ROOM, ambient=AIR, air_inside=AIR):
    """The van der Waals law is written out as a cubic in the amount of gas, and its smallest real root, the gas, is
    taken (constants as in the formula); the ideal mass is a count of moles."""
    share = pressure + ambient - air_inside
    cubic = [
        -PULL * OWN_VOLUME / volume ** 2,
        PULL / volume,
        -(share * OWN_VOLUME + GAS * temperature),
        share * volume,
    ]
    roots = polyroots(cubic, maxsteps=500, extraprec=300)
    moles = min(root.real for root in roots if abs(root.imag) < NEAR * abs(root))
    return {
        "ideal_mass": (share * volume / (GAS * temperature) * MOLAR_MASS, "g"),
        "mass": (moles * MOLAR_MASS, "g"),
    }


def co2_pressure(cartridge, volume, temperature=ROOM, ambient=AIR, air_inside=AIR):
    """Pressure as the fall of the free energy of the gas with its volume, differentiated numerically, for the ideal
    gas and for the van der Waals gas (constants as in the formula)."""
    moles = cartridge / MOLAR_MASS

    def ideal_energy(space):
        return -moles * GAS * temperature * log(space / volume)

    def real_energy(space):
        free = (space - moles * OWN_VOLUME) / volume
        return -moles * GAS * temperature * log(free) - PULL * moles ** 2 / space

    return {
        "ideal_pressure": (air_inside - ambient - diff(ideal_energy, volume), "bar"),
        "pressure": (air_inside - ambient - diff(real_energy, volume), "bar"),
    }


def pump_strokes(pressure, volume, pump_volume, ambient=AIR):
    """Stroke after stroke adds the pressure of one pump of outside air to the tyre, until the gauge reads enough;
    the last stroke counts in full for the whole strokes and by its used part for the exact figure."""
    gauge, strokes, before = mpf(0), 0, mpf(0)
    while gauge < pressure * (1 - NEAR):
        before, strokes = gauge, strokes + 1
        gauge = (ambient * pump_volume * strokes) / volume
    used = (pressure - before) / (gauge - before)
    return {"exact": (strokes - 1 + used, ""), "strokes": (mpf(strokes), "")}


FORMULAS = {
    "tyre-on-rim": (tyre_on_rim, [
        {"marked_width": "28 mm", "marked_rim": "19 mm", "rim_width": "23 mm"},
        {"marked_width": "30 mm", "marked_rim": "19 mm", "rim_width": "15 mm"},
        {"marked_width": "2.4 in", "marked_rim": "30 mm", "rim_width": "35 mm", "spread": "0.45"},
        {"marked_width": "120 mm", "marked_rim": "80 mm", "rim_width": "65 mm", "spread": "0.3"},
        {"marked_width": "18 mm", "marked_rim": "13 mm", "rim_width": "13 mm", "spread": "0"},
    ] + spread(3, marked_width=("20.0", "60.0", "mm"), marked_rim=("13.0", "35.0", "mm"),
               rim_width=("13.0", "40.0", "mm"))
      + spread(3, marked_width=("20.0", "110.0", "mm"), marked_rim=("13.0", "80.0", "mm"),
               rim_width=("13.0", "90.0", "mm"), spread=("0.20", "0.60", ""))),
    "tyre-clearance": (tyre_clearance, [
        {"frame_gap": "52 mm", "tyre_width": "40.5 mm"},
        {"frame_gap": "40 mm", "tyre_width": "28 mm", "off_centre": "2.5 mm"},
        {"frame_gap": "2.75 in", "tyre_width": "61 mm", "off_centre": "-1.5 mm"},
        {"frame_gap": "30 mm", "tyre_width": "32 mm"},
        {"frame_gap": "140 mm", "tyre_width": "120 mm", "off_centre": "-12 mm"},
    ] + spread(2, frame_gap=("30.0", "90.0", "mm"), tyre_width=("20.0", "80.0", "mm"))
      + spread(3, frame_gap=("30.0", "90.0", "mm"), tyre_width=("20.0", "80.0", "mm"),
               off_centre=("-8.0", "8.0", "mm"))),
    "tyre-drop-pressure": (tyre_drop_pressure, [
        {"wheel_load": "42 kg", "bead_seat_diameter": "622 mm", "tyre_width": "28 mm"},
        {"wheel_load": "95 kg", "bead_seat_diameter": "622 mm", "tyre_width": "37 mm", "drop_share": "12 %"},
        {"wheel_load": "14 kg", "bead_seat_diameter": "305 mm", "tyre_width": "47 mm"},
        {"wheel_load": "62 lb", "bead_seat_diameter": "406 mm", "tyre_width": "1.75 in", "drop_share": "18 %"},
        {"wheel_load": "60 kg", "bead_seat_diameter": "559 mm", "tyre_width": "101.5 mm", "drop_share": "25 %"},
        {"wheel_load": "35 kg", "bead_seat_diameter": "349 mm", "tyre_width": "16 mm", "drop_share": "10 %"},
        {"wheel_load": "380 kg", "bead_seat_diameter": "700 mm", "tyre_width": "140 mm"},
    ] + spread(2, wheel_load=("20.0", "90.0", "kg"), bead_seat_diameter=["622 mm", "584 mm", "406 mm"],
               tyre_width=("22.1", "65.0", "mm"))
      + spread(3, wheel_load=("20.0", "120.0", "kg"), bead_seat_diameter=["571 mm", "559 mm", "507 mm"],
               tyre_width=("20.0", "90.0", "mm"), drop_share=("3.0", "35.0", "%"))),
    "tyre-drop": (tyre_drop, [
        {"wheel_load": "45 kg", "bead_seat_diameter": "622 mm", "tyre_width": "28 mm", "pressure": "80 psi"},
        {"wheel_load": "98 kg", "bead_seat_diameter": "622 mm", "tyre_width": "32 mm", "pressure": "6.5 bar"},
        {"wheel_load": "12 kg", "bead_seat_diameter": "203 mm", "tyre_width": "50 mm", "pressure": "1.4 bar"},
        {"wheel_load": "41 kg", "bead_seat_diameter": "584 mm", "tyre_width": "58.5 mm", "pressure": "160 kPa"},
        {"wheel_load": "50 kg", "bead_seat_diameter": "559 mm", "tyre_width": "110 mm", "pressure": "0.4 bar"},
        {"wheel_load": "36 kg", "bead_seat_diameter": "622 mm", "tyre_width": "17.5 mm", "pressure": "15 bar"},
    ] + spread(5, wheel_load=("20.0", "110.0", "kg"), bead_seat_diameter=["622 mm", "584 mm", "451 mm", "355 mm"],
               tyre_width=("22.1", "75.0", "mm"), pressure=("1.50", "8.00", "bar"))),
    "pressure-for-load": (pressure_for_load, [
        {"old_pressure": "4.2 bar", "old_load": "48 kg", "new_load": "61 kg"},
        {"old_pressure": "85 psi", "old_load": "88 lb", "new_load": "71 lb"},
        {"old_pressure": "1.5 bar", "old_load": "9 kg", "new_load": "22 kg"},
        {"old_pressure": "350 kPa", "old_load": "170 kg", "new_load": "205 kg"},
        {"old_pressure": "0.6 bar", "old_load": "45 kg", "new_load": "45 kg"},
    ] + spread(5, old_pressure=("1.00", "7.50", "bar"), old_load=("20.0", "110.0", "kg"),
               new_load=("20.0", "130.0", "kg"))),
    "equal-drop-widths": (equal_drop_widths, [
        {"front_width": "28 mm", "front_load": "36 kg", "rear_load": "50 kg", "bead_seat_diameter": "622 mm"},
        {"front_width": "2.25 in", "front_load": "40 kg", "rear_load": "55 kg", "bead_seat_diameter": "584 mm",
         "drop_share": "20 %"},
        {"front_width": "40 mm", "front_load": "12 kg", "rear_load": "18 kg", "bead_seat_diameter": "305 mm"},
        {"front_width": "32 mm", "front_load": "85 kg", "rear_load": "102 kg", "bead_seat_diameter": "622 mm",
         "drop_share": "12 %"},
        {"front_width": "50 mm", "front_load": "90 kg", "rear_load": "30 kg", "bead_seat_diameter": "406 mm"},
        {"front_width": "17 mm", "front_load": "15 kg", "rear_load": "140 kg", "bead_seat_diameter": "622 mm",
         "drop_share": "5 %"},
    ] + spread(2, front_width=("23.1", "60.0", "mm"), front_load=("25.0", "60.0", "kg"),
               rear_load=("30.0", "80.0", "kg"), bead_seat_diameter=["622 mm", "571 mm", "406 mm"])
      + spread(3, front_width=("20.1", "70.0", "mm"), front_load=("20.0", "90.0", "kg"),
               rear_load=("20.0", "120.0", "kg"), bead_seat_diameter=["622 mm", "559 mm", "349 mm"],
               drop_share=("3.0", "30.0", "%"))),
    "hookless-limit": (hookless_limit, [
        {"tyre_width": "28 mm", "rim_width": "23 mm"},
        {"tyre_width": "30 mm", "rim_width": "25 mm"},
        {"tyre_width": "29.4 mm", "rim_width": "24.6 mm"},
        {"tyre_width": "2.4 in", "rim_width": "30 mm"},
        {"tyre_width": "18 mm", "rim_width": "13 mm"},
        {"tyre_width": "84 mm", "rim_width": "60 mm"},
        {"tyre_width": "75 mm", "rim_width": "40 mm"},
        {"tyre_width": "4.4 cm", "rim_width": "2.5 cm"},
    ] + spread(5, tyre_width=("18.2", "83.8", "mm"), rim_width=("14.2", "45.0", "mm"))),
    "tyre-forces": (tyre_forces, [
        {"pressure": "5.5 bar", "tyre_width": "28 mm", "rim_width": "21 mm", "bead_seat_diameter": "622 mm"},
        {"pressure": "120 psi", "tyre_width": "23 mm", "rim_width": "15 mm", "bead_seat_diameter": "622 mm",
         "casing_thickness": "0.7 mm"},
        {"pressure": "1.6 bar", "tyre_width": "2.4 in", "rim_width": "30 mm", "bead_seat_diameter": "584 mm",
         "flange_height": "4.5 mm", "casing_thickness": "1.3 mm"},
        {"pressure": "0.5 bar", "tyre_width": "120 mm", "rim_width": "80 mm", "bead_seat_diameter": "559 mm",
         "flange_height": "7 mm"},
        {"pressure": "2.5 bar", "tyre_width": "47 mm", "rim_width": "19 mm", "bead_seat_diameter": "203 mm"},
        {"pressure": "350 kPa", "tyre_width": "50 mm", "rim_width": "25 mm", "bead_seat_diameter": "406 mm",
         "flange_height": "6.5 mm", "casing_thickness": "2 mm"},
    ] + spread(2, pressure=("1.50", "6.00", "bar"), tyre_width=("40.0", "65.0", "mm"),
               rim_width=("17.0", "35.0", "mm"), bead_seat_diameter=["622 mm", "507 mm"])
      + spread(3, pressure=("1.50", "8.00", "bar"), tyre_width=("30.0", "50.0", "mm"),
               rim_width=("15.0", "28.0", "mm"), bead_seat_diameter=["622 mm", "451 mm"],
               flange_height=("3.0", "9.0", "mm"), casing_thickness=("0.40", "2.50", "mm"))),
    "pressure-change": (pressure_change, [
        {"pressure": "5.8 bar", "temperature_before": "22 degC", "temperature_after": "3 degC",
         "altitude_before": "450 m", "altitude_after": "2750 m"},
        {"pressure": "28 psi", "temperature_before": "68 degF", "temperature_after": "14 degF"},
        {"pressure": "1.2 bar", "altitude_before": "1800 m", "altitude_after": "0 m"},
        {"pressure": "3.5 bar"},
        {"pressure": "4.5 bar", "temperature_after": "55 degC"},
        {"pressure": "0.6 bar", "temperature_before": "-25 degC", "temperature_after": "18 degC",
         "altitude_before": "-400 m", "altitude_after": "8800 m"},
        {"pressure": "70 psi", "altitude_after": "10500 ft"},
    ] + spread(4, pressure=("1.00", "8.00", "bar"), temperature_before=("-5.0", "35.0", "degC"),
               temperature_after=("-15.0", "60.0", "degC"), altitude_before=("0", "2500", "m"),
               altitude_after=("0", "4500", "m"))),
    "tyre-volume": (tyre_volume, [
        {"bead_seat_diameter": "622 mm", "tyre_width": "30 mm"},
        {"bead_seat_diameter": "584 mm", "tyre_width": "2.4 in", "film_thickness": "0.12 mm", "pool": "50 mL"},
        {"bead_seat_diameter": "622 mm", "tyre_width": "45 mm", "pool": "30 mL"},
        {"bead_seat_diameter": "203 mm", "tyre_width": "50 mm", "film_thickness": "0 mm"},
        {"bead_seat_diameter": "559 mm", "tyre_width": "125 mm", "film_thickness": "0.2 mm", "pool": "5 fl_oz"},
        {"bead_seat_diameter": "622 mm", "tyre_width": "18 mm", "film_thickness": "0.05 mm", "pool": "0 mL"},
    ] + spread(2, bead_seat_diameter=["622 mm", "406 mm", "349 mm"], tyre_width=("20.0", "70.0", "mm"))
      + spread(3, bead_seat_diameter=["571 mm", "559 mm", "507 mm"], tyre_width=("20.0", "110.0", "mm"),
               film_thickness=("0.05", "0.60", "mm"), pool=("10", "120", "mL"))),
    "co2-mass": (co2_mass, [
        {"pressure": "6.0 bar", "volume": "1.3 L"},
        {"pressure": "22 psi", "volume": "5.6 L", "temperature": "50 degF"},
        {"pressure": "3.2 bar", "volume": "2.2 L", "temperature": "8 degC", "ambient": "0.81 bar",
         "air_inside": "0.81 bar"},
        {"pressure": "2.0 bar", "volume": "3.1 L", "air_inside": "0 bar"},
        {"pressure": "0.6 bar", "volume": "24 L", "temperature": "-12 degC", "ambient": "0.7 bar"},
        {"pressure": "14 bar", "volume": "0.45 L", "temperature": "30 degC"},
    ] + spread(2, pressure=("1.20", "8.00", "bar"), volume=("0.80", "7.00", "L"))
      + spread(3, pressure=("1.50", "8.00", "bar"), volume=("0.80", "7.00", "L"), temperature=("-15.0", "40.0", "degC"),
               ambient=("0.700", "1.040", "bar"), air_inside=("0.000", "1.040", "bar"))),
    "co2-pressure": (co2_pressure, [
        {"cartridge": "16 g", "volume": "1.6 L"},
        {"cartridge": "25 g", "volume": "5.8 L", "temperature": "12 degC"},
        {"cartridge": "20 g", "volume": "2.4 L", "temperature": "41 degF", "ambient": "0.8 bar",
         "air_inside": "0.8 bar"},
        {"cartridge": "12 g", "volume": "1.1 L", "air_inside": "0 bar"},
        {"cartridge": "88 g", "volume": "26 L", "temperature": "-20 degC", "ambient": "1.03 bar"},
        {"cartridge": "8 g", "volume": "0.4 L", "temperature": "35 degC"},
    ] + spread(2, cartridge=("12.0", "38.0", "g"), volume=("1.50", "7.00", "L"))
      + spread(3, cartridge=("12.0", "38.0", "g"), volume=("1.50", "7.00", "L"), temperature=("-15.0", "40.0", "degC"),
               ambient=("0.700", "1.040", "bar"), air_inside=("0.500", "1.040", "bar"))),
    "pump-strokes": (pump_strokes, [
        {"pressure": "6.2 bar", "volume": "1.3 L", "pump_volume": "420 mL"},
        {"pressure": "30 psi", "volume": "5.5 L", "pump_volume": "0.55 L"},
        {"pressure": "5 bar", "volume": "1.25 L", "ambient": "0.8 bar", "pump_volume": "75 mL"},
        {"pressure": "1.4 bar", "volume": "0.9 L", "ambient": "1.02 bar", "pump_volume": "48 mL"},
        {"pressure": "0.5 bar", "volume": "20 L", "pump_volume": "2400 mL"},
        {"pressure": "9 bar", "volume": "0.8 L", "pump_volume": "12 mL"},
    ] + spread(2, pressure=("1.50", "8.00", "bar"), volume=("0.80", "7.00", "L"), pump_volume=("60", "600", "mL"))
      + spread(3, pressure=("1.50", "8.00", "bar"), volume=("0.80", "7.00", "L"), ambient=("0.750", "1.040", "bar"),
               pump_volume=("60", "600", "mL"))),
}
