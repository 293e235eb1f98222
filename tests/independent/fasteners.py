"""Bolts, clamps, press fits and balls, worked out a second time.

A thread is laid out on its 60 degree triangle, torque is work for a turn, clamps and springs are summed over their
surface, and breaking points are found by a root finder. Nothing here is taken from the steps of the formulas, save
the few agreed numbers that the docstrings name.
"""

from independent import spread
from mpmath import arg, cos, findroot, lu_solve, matrix, mpc, mpf, nint, pi, quad, sin, sqrt, tan

FLANK = pi / 6  # each side of the 60 degree thread against the square to its axis


# Thread geometry -----------------------------------------------------------------------------------------------------


def depth_below_crest(groove_width):
    """How much smaller the diameter is, for one of pitch, where the groove of the screw is so wide for one of pitch.

    At the outside the groove leaves a flat of an eighth. Six decimals, as thread tables print and the formulas carry.
    """
    narrowing = mpf(7) / 8 - groove_width
    return nint(narrowing / tan(FLANK) * 10**6) / 10**6


def flank_diameter(diameter, pitch):
    return diameter - depth_below_crest(mpf(1) / 2) * pitch


def root_diameter(diameter, pitch):
    return diameter - depth_below_crest(mpf(1) / 6) * pitch


def nut_bore(diameter, pitch):
    return diameter - depth_below_crest(mpf(1) / 4) * pitch


def disc_area(diameter):
    """Rings added up from the middle."""
    return quad(lambda radius: 2 * pi * radius, [0, diameter / 2])


def stress_area(diameter, pitch):
    return disc_area((flank_diameter(diameter, pitch) + root_diameter(diameter, pitch)) / 2)


# Bolts ---------------------------------------------------------------------------------------------------------------


def bolt_preload(torque, diameter, pitch, nut_factor=mpf("0.2"), proof_strength=mpf(580) * 10**6):
    """The pull is found by a root finder from the work of one turn; thread diameters come from the 60 degree triangle,
    rounded to six decimals for one of pitch as in the formula; the area is summed ring by ring."""

    def work_of_a_turn(pull):
        return quad(lambda angle: nut_factor * diameter * pull, [0, 2 * pi])

    preload = findroot(lambda pull: work_of_a_turn(pull) - 2 * pi * torque, 1000)
    area = stress_area(diameter, pitch)
    proof_load = area * proof_strength
    return {
        "preload": (preload, "N"),
        "stress_area": (area, "mm^2"),
        "stress": (preload / area, "MPa"),
        "utilisation": (preload / proof_load, "%"),
    }


def bolt_torque(diameter, pitch, proof_strength=mpf(580) * 10**6, share=mpf("0.75"), nut_factor=mpf("0.2")):
    """Tension is summed over the rings of the stress area, and the torque is the mean work for a radian of turning;
    thread diameters from the 60 degree triangle, rounded to six decimals for one of pitch as in the formula."""
    stress_diameter = (flank_diameter(diameter, pitch) + root_diameter(diameter, pitch)) / 2
    tension = proof_strength * share
    preload = quad(lambda radius: 2 * pi * radius * tension, [0, stress_diameter / 2])
    slip_of_a_turn = 2 * pi * diameter * nut_factor
    return {
        "stress_area": (disc_area(stress_diameter), "mm^2"),
        "preload": (preload, "N"),
        "torque": (preload * slip_of_a_turn / (2 * pi), "N·m"),
    }


def tightening_limit(
    diameter, pitch, bearing_diameter, yield_strength=mpf(640) * 10**6, yield_share=mpf("0.9"),
    thread_friction=mpf("0.12"), head_friction=mpf("0.12"),
):
    """Torque is the work of one turn, lost in stretching, on the flanks and under the head; the pull at which tension
    and a fully plastic twist reach the share of yield is found by a root finder on the stress matrix. Thread
    diameters from the 60 degree triangle, rounded to six decimals for one of pitch as in the formula."""
    flank = flank_diameter(diameter, pitch)
    core = (flank + root_diameter(diameter, pitch)) / 2

    def works_of_a_turn(pull):
        on_the_flank = pull / cos(FLANK)
        return pull * pitch, thread_friction * on_the_flank * pi * flank, head_friction * pull * pi * bearing_diameter

    def equivalent_stress(pull):
        tension = pull / disc_area(core)
        stretching, thread, _ = works_of_a_turn(pull)
        torsion = (stretching + thread) / (2 * pi)
        moment_of_one_shear = quad(lambda radius: 2 * pi * radius**2, [0, core / 2])
        return mises(tension, torsion / moment_of_one_shear)

    wanted = yield_share * yield_strength
    start = wanted * disc_area(core)
    preload = findroot(lambda pull: equivalent_stress(pull) / wanted - 1, (start / 2, start))
    works = works_of_a_turn(preload)
    whole = sum(works)
    stretch, thread, head = (work / whole for work in works)
    return {
        "preload": (preload, "kN"),
        "torque": (whole / (2 * pi), "N·m"),
        "stretch_share": (stretch, "%"),
        "thread_share": (thread, "%"),
        "head_share": (head, "%"),
    }


def mises(tension, shear):
    """The tension that strains a metal as much: from the part of the stress matrix that changes the shape."""
    stress = matrix([[tension, shear, 0], [shear, 0, 0], [0, 0, 0]])
    mean = tension / 3
    shape = [stress[i, j] - (mean if i == j else 0) for i in range(3) for j in range(3)]
    return sqrt(mpf(3) / 2 * sum(part**2 for part in shape))


def crowfoot_torque(torque, wrench_length, extension, angle=mpf(0)):
    """Torque wrench and extension are laid out in a plane and the moments of the hand's force are taken by cross
    products, about the bolt to find the force and about the square drive to read the setting."""
    drive = mpc(0, 0)
    hand = mpc(wrench_length, 0)
    bolt = drive - extension * mpc(cos(angle), sin(angle))

    def moment(force, about):
        arm = hand - about
        return arm.real * force.imag - arm.imag * force.real

    hand_force = findroot(lambda push: moment(mpc(0, push), bolt) - torque, torque / wrench_length)
    return {"setting": (moment(mpc(0, hand_force), drive), "N·m")}


def metric_thread(diameter, pitch):
    """The 60 degree triangle with its flats laid out: each diameter is where the groove has its agreed share of the
    pitch as width (a half, a quarter, a sixth); rounded to six decimals for one of pitch as in the formula. The drill
    is the outside less a pitch."""
    return {
        "pitch_diameter": (flank_diameter(diameter, pitch), "mm"),
        "screw_root": (root_diameter(diameter, pitch), "mm"),
        "nut_bore": (nut_bore(diameter, pitch), "mm"),
        "tap_drill": (diameter - pitch, "mm"),
        "stress_area": (stress_area(diameter, pitch), "mm^2"),
    }


def thread_strip(
    diameter, pitch, engagement, screw_major_min, screw_pitch_min, nut_minor_max, nut_pitch_max, screw_strength,
    part_strength,
):
    """The flanks are laid out as lines and cut at the shearing cylinder, whose metal is summed round it and along it;
    the lengths that hold the breaking pull are found by a root finder. As in the formula the shear strength is half of
    the tensile strength for the lengths and that of pure shear for the stripping pull, and the stress diameter has six
    decimals for one of pitch."""

    def metal_of_a_pitch(cylinder, flank_mean, widens_outward):
        """Width of the tooth where the cylinder cuts it; half a pitch at its flank diameter."""
        middle = mpc(pitch / 4, flank_mean / 2)
        side = mpc(sin(FLANK) if widens_outward else -sin(FLANK), cos(FLANK))
        along = (cylinder / 2 - middle.imag) / side.imag
        return 2 * (middle + along * side).real

    def sheared(length, cylinder, width):
        return quad(lambda angle: cylinder / 2 * width * length / pitch, [0, 2 * pi])

    screw_width = metal_of_a_pitch(nut_minor_max, screw_pitch_min, widens_outward=False)
    part_width = metal_of_a_pitch(screw_major_min, nut_pitch_max, widens_outward=True)

    def screw_area(length):
        return sheared(length, nut_minor_max, screw_width)

    def part_area(length):
        return sheared(length, screw_major_min, part_width)

    break_area = stress_area(diameter, pitch)

    def holds(area, thread_strength, bolt_strength):
        pull = break_area * bolt_strength
        return findroot(lambda length: area(length) * thread_strength / 2 / pull - 1, engagement)

    equal = holds(screw_area, screw_strength, screw_strength)
    in_the_part = holds(part_area, part_strength, screw_strength)
    shear_strength = findroot(lambda shear: mises(mpf(0), shear) / part_strength - 1, part_strength / 2)
    return {
        "screw_area": (screw_area(engagement), "mm^2"),
        "part_area": (part_area(engagement), "mm^2"),
        "strip_force": (shear_strength * part_area(engagement), "N"),
        "equal_engagement": (equal, "mm"),
        "needed_engagement": (max(equal, in_the_part), "mm"),
    }


# Clamps and press fits -----------------------------------------------------------------------------------------------


def clamp_grip(friction, bolts, preload, diameter):
    """All round: the pressure that balances the bolts is found by summing it over one half of the clamp, and its
    friction is summed over both halves. Two lines: the same with all the force on the top and the bottom."""
    radius = diameter / 2
    closing = sum(preload for _ in range(int(bolts)))
    lift_of_one_pressure = quad(lambda angle: sin(angle) * radius, [0, pi])
    force_of_a_length = closing / lift_of_one_pressure
    all_round = quad(lambda angle: friction * force_of_a_length * radius * radius, [0, pi, 2 * pi])
    two_lines = sum(friction * closing * abs(line) for line in (mpc(0, radius), mpc(0, -radius)))
    return {"holding_low": (two_lines, "N·m"), "holding_high": (all_round, "N·m")}


def press_fit(
    interference, bore, shell_outside, cup_inside, length, shell_modulus=mpf(70) * 10**9, shell_poisson=mpf("0.33"),
    cup_modulus=mpf(205) * 10**9, cup_poisson=mpf("0.29"), friction=mpf("0.12"),
):
    """Both rings are elastic discs whose points move by a r + b / r; the four numbers come from a matrix of the
    conditions at the inside, at the joint and at the outside. The force is friction summed over the joint."""
    joint, outside, inside = bore / 2, shell_outside / 2, cup_inside / 2

    def stress_row(radius, modulus, poisson):
        return modulus / (1 - poisson), -modulus / (1 + poisson) / radius**2

    def moves_row(radius):
        return radius, 1 / radius

    cup_at_joint = stress_row(joint, cup_modulus, cup_poisson)
    shell_at_joint = stress_row(joint, shell_modulus, shell_poisson)
    free_inside = stress_row(inside, cup_modulus, cup_poisson) if inside else (mpf(0), mpf(1))
    conditions = matrix([
        [*free_inside, 0, 0],
        [0, 0, *stress_row(outside, shell_modulus, shell_poisson)],
        [*cup_at_joint, -shell_at_joint[0], -shell_at_joint[1]],
        [-moves_row(joint)[0], -moves_row(joint)[1], *moves_row(joint)],
    ])
    solved = lu_solve(conditions, matrix([0, 0, 0, interference / 2]))
    pressure = -(cup_at_joint[0] * solved[0] + cup_at_joint[1] * solved[1])
    force = quad(lambda along: friction * pressure * 2 * pi * joint, [0, length])
    return {"pressure": (pressure, "MPa"), "press_force": (force, "N")}


# Balls and screws ----------------------------------------------------------------------------------------------------


def ball_count(ball_diameter, race_diameter):
    """The second ball's place is where the race circle meets the circle of one ball round the first; the arc between
    them is summed, and balls are laid one after another until the next would run into the first."""
    radius = race_diameter / 2
    level = radius - ball_diameter**2 / (2 * radius)
    step = arc(mpc(level, sqrt(radius**2 - level**2)))
    round_the_race = 2 * arc(mpc(-radius, 0))
    balls, used = 0, mpf(0)
    while used + step <= round_the_race:
        balls, used = balls + 1, used + step
    return {"balls": (mpf(balls), ""), "gap": (round_the_race - used, "mm")}


def arc(place):
    """Length of the circle round the origin from the right-hand point up to a place in the upper half."""
    return quad(lambda angle: abs(place), [0, arg(place)])


def thread_travel(pitch, turns):
    """The thread is followed as a helix: its lead angle is found at a trial radius and the rise is summed along it."""
    radius = 3 * pitch
    around = 2 * pi * radius
    lead = pitch / around
    travel = quad(lambda angle: lead * radius, [0, 2 * pi * turns]) if turns else mpf(0)
    return {"travel": (travel, "mm")}


FORMULAS = {
    "bolt-preload": (bolt_preload, [
        {"torque": "5 N·m", "diameter": "5 mm", "pitch": "0.8 mm"},
        {"torque": "6 N·m", "diameter": "5 mm", "pitch": "0.8 mm", "nut_factor": "0.15"},
        {"torque": "40 N·m", "diameter": "12 mm", "pitch": "1.75 mm", "nut_factor": "0.12",
         "proof_strength": "830 MPa"},
        {"torque": "1.8 N·m", "diameter": "4 mm", "pitch": "0.7 mm", "nut_factor": "0.35",
         "proof_strength": "450 MPa"},
        {"torque": "35 lbf·ft", "diameter": "15 mm", "pitch": "1.5 mm", "proof_strength": "970 MPa"},
        {"torque": "0.05 N·m", "diameter": "1.5 mm", "pitch": "0.35 mm", "nut_factor": "0.6"},
        *spread(4, torque=("2.00", "14.00", "N·m"), diameter=["5 mm", "6 mm", "8 mm"], pitch=("0.75", "1.25", "mm"),
                nut_factor=("0.10", "0.40", ""), proof_strength=("450", "970", "MPa")),
        *spread(2, torque=("20.0", "110.0", "lbf·in"), diameter=("5.00", "7.50", "mm"), pitch=("0.80", "1.00", "mm")),
    ]),
    "bolt-torque": (bolt_torque, [
        {"diameter": "5 mm", "pitch": "0.8 mm"},
        {"diameter": "6 mm", "pitch": "1 mm", "share": "60 %", "nut_factor": "0.15"},
        {"diameter": "8 mm", "pitch": "1.25 mm", "proof_strength": "830 MPa"},
        {"diameter": "4 mm", "pitch": "0.7 mm", "proof_strength": "450 MPa", "share": "65 %", "nut_factor": "0.4"},
        {"diameter": "36 mm", "pitch": "4 mm", "proof_strength": "970 MPa", "share": "110 %", "nut_factor": "0.05"},
        {"diameter": "1.5 mm", "pitch": "0.2 mm", "share": "1 %"},
        *spread(5, diameter=("3.00", "12.00", "mm"), pitch=("0.35", "1.75", "mm"),
                proof_strength=("300", "1100", "MPa"), share=("20.0", "90.0", "%"), nut_factor=("0.08", "0.50", "")),
    ]),
    "tightening-limit": (tightening_limit, [
        {"diameter": "5 mm", "pitch": "0.8 mm", "bearing_diameter": "6.9 mm"},
        {"diameter": "6 mm", "pitch": "1 mm", "bearing_diameter": "8.3 mm", "yield_strength": "450 MPa",
         "yield_share": "70 %", "thread_friction": "0.20", "head_friction": "0.25"},
        {"diameter": "8 mm", "pitch": "1 mm", "bearing_diameter": "10.3 mm", "yield_strength": "940 MPa"},
        {"diameter": "4 mm", "pitch": "0.7 mm", "bearing_diameter": "5.6 mm", "thread_friction": "0.09"},
        {"diameter": "15 mm", "pitch": "1 mm", "bearing_diameter": "21 mm", "head_friction": "0.15"},
        {"diameter": "36 mm", "pitch": "4 mm", "bearing_diameter": "70 mm", "yield_strength": "1100 MPa",
         "yield_share": "100 %", "thread_friction": "0.04", "head_friction": "0.4"},
        *spread(6, diameter=("5.0", "12.0", "mm"), pitch=("0.50", "1.75", "mm"),
                bearing_diameter=("12.0", "19.0", "mm"), yield_strength=("400", "1100", "MPa"),
                yield_share=("40.0", "95.0", "%"), thread_friction=("0.06", "0.32", ""),
                head_friction=("0.06", "0.32", "")),
    ]),
    "crowfoot-torque": (crowfoot_torque, [
        {"torque": "40 N·m", "wrench_length": "350 mm", "extension": "45 mm"},
        {"torque": "50 N·m", "wrench_length": "380 mm", "extension": "55 mm", "angle": "90 deg"},
        {"torque": "35 N·m", "wrench_length": "420 mm", "extension": "38 mm", "angle": "180 deg"},
        {"torque": "30 lbf·ft", "wrench_length": "16 in", "extension": "2 in", "angle": "45 deg"},
        {"torque": "6 N·m", "wrench_length": "210 mm", "extension": "0 mm"},
        {"torque": "0.1 N·m", "wrench_length": "60 mm", "extension": "400 mm", "angle": "97.5 deg"},
        *spread(6, torque=("3.0", "80.0", "N·m"), wrench_length=("180", "600", "mm"),
                extension=("20.0", "120.0", "mm"), angle=("0.0", "180.0", "deg")),
    ]),
    "metric-thread": (metric_thread, [
        {"diameter": "5 mm", "pitch": "0.8 mm"},
        {"diameter": "6 mm", "pitch": "1 mm"},
        {"diameter": "10 mm", "pitch": "1 mm"},
        {"diameter": "25.4 mm", "pitch": "1.0583 mm"},
        {"diameter": "36 mm", "pitch": "4 mm"},
        {"diameter": "1.5 mm", "pitch": "0.35 mm"},
        *spread(6, diameter=("3.00", "30.00", "mm"), pitch=("0.350", "2.000", "mm")),
    ]),
    "thread-strip": (thread_strip, [
        {"diameter": "5 mm", "pitch": "0.8 mm", "engagement": "6 mm", "screw_major_min": "4.826 mm",
         "screw_pitch_min": "4.361 mm", "nut_minor_max": "4.334 mm", "nut_pitch_max": "4.605 mm",
         "screw_strength": "800 MPa", "part_strength": "310 MPa"},
        {"diameter": "6 mm", "pitch": "1 mm", "engagement": "9 mm", "screw_major_min": "5.794 mm",
         "screw_pitch_min": "5.212 mm", "nut_minor_max": "5.153 mm", "nut_pitch_max": "5.500 mm",
         "screw_strength": "800 MPa", "part_strength": "200 MPa"},
        {"diameter": "8 mm", "pitch": "1.25 mm", "engagement": "16 mm", "screw_major_min": "7.760 mm",
         "screw_pitch_min": "7.042 mm", "nut_minor_max": "6.912 mm", "nut_pitch_max": "7.348 mm",
         "screw_strength": "1040 MPa", "part_strength": "310 MPa"},
        {"diameter": "5 mm", "pitch": "0.8 mm", "engagement": "4 mm", "screw_major_min": "4.826 mm",
         "screw_pitch_min": "4.361 mm", "nut_minor_max": "4.334 mm", "nut_pitch_max": "4.605 mm",
         "screw_strength": "700 MPa", "part_strength": "900 MPa"},
        *spread(3, diameter="6 mm", pitch="1 mm", engagement=("4.0", "14.0", "mm"),
                screw_major_min=("5.760", "5.974", "mm"), screw_pitch_min=("5.180", "5.324", "mm"),
                nut_minor_max=("4.917", "5.153", "mm"), nut_pitch_max=("5.350", "5.500", "mm"),
                screw_strength=("500", "1200", "MPa"), part_strength=("150", "800", "MPa")),
        *spread(3, diameter="10 mm", pitch="1.5 mm", engagement=("8.0", "30.0", "mm"),
                screw_major_min=("9.700", "9.960", "mm"), screw_pitch_min=("8.860", "8.990", "mm"),
                nut_minor_max=("8.376", "8.676", "mm"), nut_pitch_max=("9.030", "9.206", "mm"),
                screw_strength=("500", "1200", "MPa"), part_strength=("150", "1300", "MPa")),
    ]),
    "clamp-grip": (clamp_grip, [
        {"friction": "0.20", "bolts": "4", "preload": "5000 N", "diameter": "31.8 mm"},
        {"friction": "0.12", "bolts": "1", "preload": "4200 N", "diameter": "27.2 mm"},
        {"friction": "0.35", "bolts": "2", "preload": "3800 N", "diameter": "28.6 mm"},
        {"friction": "0.25", "bolts": "2", "preload": "900 lbf", "diameter": "25.4 mm"},
        {"friction": "0.7", "bolts": "12", "preload": "60000 N", "diameter": "80 mm"},
        *spread(6, friction=("0.08", "0.45", ""), bolts=["1", "2", "3", "4", "6"], preload=("1500", "9000", "N"),
                diameter=("22.2", "35.0", "mm")),
    ]),
    "press-fit": (press_fit, [
        {"interference": "0.030 mm", "bore": "41 mm", "shell_outside": "46 mm", "cup_inside": "35 mm",
         "length": "10 mm", "cup_modulus": "70 GPa", "cup_poisson": "0.33"},
        {"interference": "0.10 mm", "bore": "34 mm", "shell_outside": "40 mm", "cup_inside": "29 mm",
         "length": "12 mm", "shell_modulus": "205 GPa", "shell_poisson": "0.29", "friction": "0.15"},
        {"interference": "0.02 mm", "bore": "24 mm", "shell_outside": "30 mm", "cup_inside": "20.5 mm",
         "length": "7 mm"},
        {"interference": "0.06 mm", "bore": "29.85 mm", "shell_outside": "36 mm", "cup_inside": "0 mm",
         "length": "20 mm", "friction": "0.10"},
        {"interference": "0.05 mm", "bore": "86 mm", "shell_outside": "140 mm", "cup_inside": "70 mm",
         "length": "24 mm", "shell_modulus": "60 GPa", "shell_poisson": "0.3", "cup_modulus": "110 GPa"},
        *spread(3, interference=("0.010", "0.120", "mm"), bore=("30.0", "48.0", "mm"),
                shell_outside=("52.0", "64.0", "mm"), cup_inside=("12.0", "27.0", "mm"), length=("6.0", "25.0", "mm"),
                shell_modulus=("45.0", "215.0", "GPa"), shell_poisson=("0.25", "0.36", ""),
                cup_modulus=("65.0", "215.0", "GPa"), cup_poisson=("0.25", "0.36", ""), friction=("0.08", "0.25", "")),
        *spread(3, interference=("0.020", "0.080", "mm"), bore=("37.0", "44.0", "mm"),
                shell_outside=("46.0", "55.0", "mm"), cup_inside=("24.0", "34.0", "mm"), length=("8.0", "14.0", "mm")),
    ]),
    "ball-count": (ball_count, [
        {"ball_diameter": "0.25 in", "race_diameter": "20.0 mm"},
        {"ball_diameter": "0.1875 in", "race_diameter": "16.4 mm"},
        {"ball_diameter": "3.969 mm", "race_diameter": "36.0 mm"},
        {"ball_diameter": "0.25 in", "race_diameter": "23.2 mm"},
        {"ball_diameter": "3.175 mm", "race_diameter": "11 mm"},
        {"ball_diameter": "1 mm", "race_diameter": "120 mm"},
        *spread(6, ball_diameter=["3.175 mm", "3.969 mm", "4.762 mm", "5.556 mm", "6.35 mm"],
                race_diameter=("14.0", "48.0", "mm")),
    ]),
    "thread-travel": (thread_travel, [
        {"pitch": "1 mm", "turns": "0.125"},
        {"pitch": "0.4535714 mm", "turns": "0.5"},
        {"pitch": "1.27 mm", "turns": "-0.25"},
        {"pitch": "0.8 mm", "turns": "3.5"},
        {"pitch": "8 mm", "turns": "-100"},
        {"pitch": "1 mm", "turns": "0"},
        *spread(5, pitch=("0.35", "1.50", "mm"), turns=("-4.00", "12.00", "")),
    ]),
}
