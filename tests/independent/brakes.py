"""Brake figures by another route: levers by the work that goes in and comes out, rope friction over a polygon with ever
more corners, wheel loads from systems of balance equations, stops from energy, rotors heated step by step."""

from mpmath import atan, cos, diff, findroot, lu_solve, matrix, mpf, pi, quad, sin, sqrt, tan, workdps

from independent import spread

GRAVITY = mpf("9.80665")
MM = mpf("0.001")
TOUCH = mpf("1e-6")  # a small movement, in metres, whose work is counted


# Levers and lines

def hydraulic_brake(finger_force, lever_ratio, master_piston, caliper_piston,
                    pistons_per_side=mpf(1), pad_gap=mpf("0.25") * MM):
    """Fluid keeps its volume and work is kept: the fluid that a small finger movement sends out gives the line
    pressure, the movement of the pads that takes it up gives their force, and the fluid that fills the gaps gives
    the travel."""
    sent = quad(lambda r: 2 * pi * r, [0, master_piston / 2]) * TOUCH / lever_ratio
    pressure = finger_force * TOUCH / sent
    pistons = 2 * pistons_per_side
    caliper_area = quad(lambda r: 2 * pi * r, [0, caliper_piston / 2]) * pistons
    both_pads_move = 2 * sent / caliper_area
    return {
        "line_pressure": (pressure, "MPa"),
        "pad_force": (finger_force * TOUCH / both_pads_move, "N"),
        "lever_travel": (TOUCH * caliper_area * pad_gap / sent, "mm"),
    }


def cable_brake(finger_force, lever_reach, lever_cable, arm_cable, arm_pad, pad_gap=mpf("1.5") * MM):
    """Work is kept: the arms turn until both pads have crossed their gaps, the cable that they take is counted for
    both arms, the lever turns by what that cable asks, and the fingers' work is shared by the two pads."""
    arm_turn = pad_gap / arm_pad
    cable_pull = sum(arm_cable * arm_turn for _ in ("left", "right"))
    finger_travel = cable_pull / lever_cable * lever_reach
    pad_force = finger_force * finger_travel / (2 * pad_gap)
    return {
        "advantage": (finger_travel / (2 * pad_gap), ""),
        "pad_force": (pad_force, "N"),
        "cable_pull": (cable_pull, "mm"),
        "lever_travel": (finger_travel, "mm"),
    }


def straddle_brake(cable_force, straddle_angle, arm_reach, arm_pad):
    """The yoke is lifted a little: the lengthening of the two halves of the straddle wire, differentiated from the
    triangle that they make, times their pull is the work of the cable. The arm is balanced by the moments of the wire
    and the pad, laid out as vectors from the pivot."""
    half_span = mpf(1)
    height = half_span * tan(straddle_angle)
    lengthening = 2 * diff(lambda up: sqrt(half_span ** 2 + up ** 2), height)
    pull = cable_force / lengthening
    # The arm's pivot is the origin; the wire runs at its angle, and its nearest point is arm_reach from the pivot.
    foot = (-arm_reach * sin(straddle_angle), arm_reach * cos(straddle_angle))
    wire = (pull * cos(straddle_angle), pull * sin(straddle_angle))
    moment = foot[0] * wire[1] - foot[1] * wire[0]
    pad = findroot(lambda force: moment + arm_pad * force, (mpf(0), cable_force))
    return {"straddle_force": (pull, "N"), "pad_force": (pad, "N"), "advantage": (pad / cable_force, "")}


def pull_round(friction, bend, corners):
    """Share of the pull that is left after so many equal corners, each balanced as a sliding block."""
    half_corner = bend / corners / 2
    return ((1 - friction * tan(half_corner)) / (1 + friction * tan(half_corner))) ** corners


def cable_loss(pull, bend, length, friction=mpf("0.1"), strand_stiffness=mpf(120000)):
    """The outer is bent into a polygon: at each corner the wall's push comes from both pulls and its friction is their
    difference. The corners are doubled again and again, and the limit is found by Richardson's extrapolation. The
    cable is a chain of a hundred springs in series."""
    with workdps(60):
        row = []
        for doubling in range(14):
            row_before, row = row, [pull_round(friction, bend, 128 * 2 ** doubling)]
            for order, coarse in enumerate(row_before):
                row.append(row[-1] + (row[-1] - coarse) / (4 ** (order + 1) - 1))
        left = row[-1]
    springs = 100
    stretch = sum(pull / (strand_stiffness / (length / springs)) for _ in range(springs))
    return {"force_out": (pull * left, "N"), "loss": (1 - left, "%"), "stretch": (stretch, "mm")}


# Stopping

def brake_force(friction, pad_force, rub_radius, wheel_radius, mass, speed):
    """Energy: the rubbing of two pads eats a known energy each turn of the wheel, and the turns go on until the energy
    of motion is eaten. Torque is energy for each radian, force is energy for each metre of road."""
    turn = 2 * pi
    eaten = 2 * quad(lambda angle: friction * pad_force * rub_radius, [0, turn])
    motion = quad(lambda v: mass * v, [0, speed])
    turns = motion / eaten
    road = turn * wheel_radius
    force = eaten / road
    return {
        "brake_torque": (eaten / turn, "N·m"),
        "force": (force, "N"),
        "deceleration": (force / mass, "m/s^2"),
        "distance": (turns * road, "m"),
        "turns": (turns, ""),
    }


def rotor_change(old_rotor, new_rotor, track_height=14 * MM):
    """The middle of each rubbed track is the mean of its radii, integrated from its inner to its outer edge; the force
    follows the two means, and the caliper moves by their difference."""
    def middle(rotor):
        edges = [rotor / 2 - track_height, rotor / 2]
        return quad(lambda radius: radius, edges) / track_height
    old, new = middle(old_rotor), middle(new_rotor)
    return {"force_change": ((new - old) / old, "%"), "caliper_shift": (new - old, "mm")}


def stopping_distance(speed, deceleration, reaction_time=mpf(1), slope=mpf(0)):
    """Energy: a root finder seeks the length of road on which the brake's work and the height gained, along a road laid
    out as a right-angled triangle, use up the energy of motion of one kilogram."""
    rise = slope / sqrt(1 + slope ** 2)  # height for each metre of road
    braking = findroot(lambda road: deceleration * road + GRAVITY * road * rise - speed ** 2 / 2, (mpf(1), mpf(50)))
    thinking = quad(lambda time: speed, [0, reaction_time]) if reaction_time else mpf(0)
    return {
        "thinking_distance": (thinking, "m"),
        "braking_distance": (braking, "m"),
        "distance": (thinking + braking, "m"),
    }


def stop_test(speed, distance, nominal_speed=mpf(25) * 1000 / 3600):
    """By time: the mean speed of a steady stop is half of the first, which gives the time and so the slowing; from the
    nominal speed the falling speed is integrated until it is nothing."""
    time = distance / (speed / 2)
    slowing = speed / time
    end = nominal_speed / slowing
    return {
        "deceleration": (slowing, "m/s^2"),
        "share_of_gravity": (slowing / GRAVITY, ""),
        "corrected_distance": (quad(lambda t: nominal_speed - slowing * t, [0, end]), "m"),
    }


# Wheel loads

def weight_transfer(mass, wheelbase, mass_height, mass_behind_front, deceleration):
    """The two wheel loads as unknowns of two equations: they carry the weight, and their moments about the centre of
    mass, with that of the braking force on the ground, are in balance."""
    loads = matrix([[1, 1], [mass_behind_front, -(wheelbase - mass_behind_front)]])
    front, rear = lu_solve(loads, matrix([mass * GRAVITY, mass * deceleration * mass_height]))
    return {"front_force": (front, "N"), "rear_force": (rear, "N"), "front_share": (front / (front + rear), "%")}


def slowing_when(wheelbase, mass_height, mass_behind_front, slope, condition):
    """Deceleration and braking force of one kilogram when a linear condition of the front load, the rear load and the
    braking force is just met: balance across the road, along it and about the centre of mass."""
    tilt = atan(slope)
    balance = matrix([
        [1, 1, 0, 0],
        [0, 0, 1, -1],
        [mass_behind_front, -(wheelbase - mass_behind_front), -mass_height, 0],
        [*condition, 0],
    ])
    weight = matrix([GRAVITY * cos(tilt), -GRAVITY * sin(tilt), 0, 0])
    front, rear, force, slowing = lu_solve(balance, weight)
    return force, slowing


def braking_limit(wheelbase, mass_height, mass_behind_front, grip, slope=mpf(0)):
    """Loads, braking force and deceleration are four unknowns of four linear equations; the fourth says what is about
    to happen: the rear wheel carries nothing, or the braked wheels have all the friction that they can. What comes at
    the lower braking force comes first."""
    def just(front, rear, force):
        return slowing_when(wheelbase, mass_height, mass_behind_front, slope, (front, rear, force))
    lifts = just(0, 1, 0)
    rear_slides = just(0, grip, -1)
    front_slides = just(grip, 0, -1)
    both_slide = just(grip, grip, -1)
    first = [slides if 0 <= slides[0] < lifts[0] else lifts for slides in (rear_slides, front_slides, both_slide)]
    return {
        "lift_off": (lifts[1], "m/s^2"),
        "rear_only": (first[0][1], "m/s^2"),
        "front_only": (first[1][1], "m/s^2"),
        "both_wheels": (first[2][1], "m/s^2"),
    }


# Heat and wear

STEEL = mpf(480)


def rotor_heat(mass, rotor_mass, height_lost=mpf(0), speed=mpf(0), share=mpf(1), specific_heat=STEEL,
               rim_brake=mpf(0)):
    """The work of gravity is integrated down the height and the work of slowing down through the speeds; a root finder
    seeks the rise at which the part has taken up its share. Rim or rotor changes only the notices."""
    fall = quad(lambda height: mass * GRAVITY, [0, height_lost])
    motion = quad(lambda v: mass * v, [0, speed])
    energy = fall + motion
    rise = findroot(lambda warmer: rotor_mass * specific_heat * warmer / 1000 - share * energy / 1000,
                    (mpf(0), mpf(100)))
    return {"energy": (energy, "kJ"), "temperature_rise": (rise, "K")}


def descent_braking(mass, descent, speed, rolling_coefficient=mpf("0.005"), air_density=mpf("1.2"),
                    drag_area=mpf("0.45")):
    """The energy account of one metre of road, laid out as a right-angled triangle: height given up, less the rolling
    drag on the load square to the road, less the energy of the air that is set moving; times the metres a second."""
    level, down = 1, descent
    road = sqrt(level ** 2 + down ** 2)
    weight = mass * GRAVITY
    given_up = weight * down / road
    rolled_away = rolling_coefficient * weight * level / road
    air_mass = air_density * drag_area * 1
    stirred = air_mass * speed ** 2 / 2
    return {"power": ((given_up - rolled_away - stirred) * speed, "W")}


def rotor_temperature(air_temperature, power, cooling, rotor_mass, time, specific_heat=STEEL, rim_brake=mpf(0)):
    """Heated in steps: a very short first step is worked from the balance of heat by its power series, and then joined
    to itself, twice as long each time, until the whole time is reached. The settled state is where the cooling takes
    all the power. Rim or rotor changes only the notices."""
    with workdps(70):
        capacity = rotor_mass * specific_heat
        doublings = 40
        step = time / 2 ** doublings
        kept, gained, term = mpf(1), mpf(0), mpf(1)
        for order in range(1, 30):
            gained += term * (power / capacity) * step / order
            term *= -(cooling / capacity) * step / order
            kept += term
        for _ in range(doublings):
            kept, gained = kept * kept, kept * gained + gained
    settled = air_temperature + findroot(lambda warmer: power - cooling * warmer, (mpf(0), mpf(100)))
    return {"temperature": (air_temperature + gained, "degC"), "steady_temperature": (settled, "degC")}


def fahrenheit(kelvin):
    return kelvin * 9 / 5 - mpf("459.67")


def fluid_margin(fluid_temperature, dry_boiling, wet_boiling):
    """All three readings are taken to the Fahrenheit scale, subtracted there, and the differences brought back at five
    kelvin for nine degrees. A plain difference: there is no really different route."""
    fluid = fahrenheit(fluid_temperature)
    return {
        "dry_margin": ((fahrenheit(dry_boiling) - fluid) * 5 / 9, "K"),
        "wet_margin": ((fahrenheit(wet_boiling) - fluid) * 5 / 9, "K"),
    }


def wear_left(new_thickness, thickness_now, limit_thickness, distance):
    """A straight line of thickness over distance is solved for from new and now, and followed to the limit; a part that
    is past its limit has nothing left. The share used is the place of today's thickness between new and limit."""
    if distance:
        line = matrix([[1, 0], [1, distance]])
        start, slope = lu_solve(line, matrix([new_thickness, thickness_now]))
        reached = (limit_thickness - start) / slope
        left = max(mpf(0), reached - distance)
    else:
        left = mpf(0)
    unused = (thickness_now - limit_thickness) / (new_thickness - limit_thickness)
    return {"used": (1 - unused, "%"), "distance_left": (left, "km")}


FORMULAS = {
    "hydraulic-brake": (hydraulic_brake, [
        {"finger_force": "55 N", "lever_ratio": "5.5", "master_piston": "9 mm", "caliper_piston": "21 mm"},
        {"finger_force": "70 N", "lever_ratio": "4.8", "master_piston": "10 mm", "caliper_piston": "16 mm",
         "pistons_per_side": "2", "pad_gap": "0.3 mm"},
        {"finger_force": "30 N", "lever_ratio": "6.2", "master_piston": "8.5 mm", "caliper_piston": "20 mm"},
        {"finger_force": "15 kgf", "lever_ratio": "3.5", "master_piston": "0.5 in", "caliper_piston": "1 in",
         "pad_gap": "0.4 mm"},
        {"finger_force": "750 N", "lever_ratio": "1", "master_piston": "30 mm", "caliper_piston": "12 mm",
         "pistons_per_side": "6"},
    ] + spread(2, finger_force=("20", "120", "N"), lever_ratio=("3.50", "7.50", ""),
               master_piston=("8.0", "12.0", "mm"), caliper_piston=("14.0", "26.0", "mm"))
      + spread(3, finger_force=("20", "200", "N"), lever_ratio=("2.50", "9.50", ""),
               master_piston=("7.0", "14.0", "mm"), caliper_piston=("12.0", "32.0", "mm"),
               pistons_per_side=["1", "2", "3"], pad_gap=("0.10", "0.60", "mm"))),
    "cable-brake": (cable_brake, [
        {"finger_force": "55 N", "lever_reach": "82 mm", "lever_cable": "31 mm", "arm_cable": "104 mm",
         "arm_pad": "27 mm"},
        {"finger_force": "70 N", "lever_reach": "78 mm", "lever_cable": "19 mm", "arm_cable": "46 mm",
         "arm_pad": "39 mm", "pad_gap": "1.2 mm"},
        {"finger_force": "25 N", "lever_reach": "60 mm", "lever_cable": "22 mm", "arm_cable": "85 mm",
         "arm_pad": "25 mm", "pad_gap": "2 mm"},
        {"finger_force": "12 kgf", "lever_reach": "3.25 in", "lever_cable": "1 in", "arm_cable": "55 mm",
         "arm_pad": "50 mm"},
        {"finger_force": "400 N", "lever_reach": "140 mm", "lever_cable": "6 mm", "arm_cable": "190 mm",
         "arm_pad": "10 mm", "pad_gap": "0.2 mm"},
    ] + spread(2, finger_force=("20", "120", "N"), lever_reach=("65.0", "95.0", "mm"),
               lever_cable=("16.0", "35.0", "mm"), arm_cable=("45.0", "110.0", "mm"), arm_pad=("22.0", "45.0", "mm"))
      + spread(3, finger_force=("20", "120", "N"), lever_reach=("65.0", "95.0", "mm"),
               lever_cable=("16.0", "35.0", "mm"), arm_cable=("45.0", "110.0", "mm"), arm_pad=("22.0", "45.0", "mm"),
               pad_gap=("0.50", "3.00", "mm"))),
    "straddle-brake": (straddle_brake, [
        {"cable_force": "180 N", "straddle_angle": "35 deg", "arm_reach": "48 mm", "arm_pad": "28 mm"},
        {"cable_force": "120 N", "straddle_angle": "52 deg", "arm_reach": "62 mm", "arm_pad": "31 mm"},
        {"cable_force": "30 kgf", "straddle_angle": "0.6 rad", "arm_reach": "2 in", "arm_pad": "30 mm"},
        {"cable_force": "60 N", "straddle_angle": "8 deg", "arm_reach": "40 mm", "arm_pad": "25 mm"},
        {"cable_force": "1500 N", "straddle_angle": "84 deg", "arm_reach": "115 mm", "arm_pad": "8 mm"},
    ] + spread(5, cable_force=("50", "400", "N"), straddle_angle=("12.0", "70.0", "deg"),
               arm_reach=("25.0", "70.0", "mm"), arm_pad=("20.0", "45.0", "mm"))),
    "cable-loss": (cable_loss, [
        {"pull": "280 N", "bend": "210 deg", "length": "1450 mm"},
        {"pull": "190 N", "friction": "0.06", "bend": "150 deg", "length": "650 mm", "strand_stiffness": "135 kN"},
        {"pull": "45 N", "friction": "0.18", "bend": "400 deg", "length": "1900 mm", "strand_stiffness": "65 kN"},
        {"pull": "25 lbf", "friction": "0.12", "bend": "3.5 rad", "length": "60 in"},
        {"pull": "400 N", "friction": "0", "bend": "300 deg", "length": "1200 mm"},
        {"pull": "250 N", "bend": "0 deg", "length": "300 mm", "strand_stiffness": "12000 kgf"},
        {"pull": "2400 N", "friction": "0.55", "bend": "1900 deg", "length": "4800 mm"},
    ] + spread(2, pull=("40", "500", "N"), bend=("60", "500", "deg"), length=("300", "2200", "mm"))
      + spread(3, pull=("40", "500", "N"), friction=("0.040", "0.300", ""), bend=("60", "900", "deg"),
               length=("300", "2200", "mm"), strand_stiffness=("40", "200", "kN"))),
    "brake-force": (brake_force, [
        {"friction": "0.42", "pad_force": "1500 N", "rub_radius": "73 mm", "wheel_radius": "345 mm", "mass": "88 kg",
         "speed": "30 km/h"},
        {"friction": "0.30", "pad_force": "420 N", "rub_radius": "309 mm", "wheel_radius": "337 mm", "mass": "82 kg",
         "speed": "45 km/h"},
        {"friction": "0.40", "pad_force": "2600 N", "rub_radius": "83 mm", "wheel_radius": "352 mm", "mass": "190 kg",
         "speed": "24 km/h"},
        {"friction": "0.15", "pad_force": "180 N", "rub_radius": "145 mm", "wheel_radius": "160 mm", "mass": "31 kg",
         "speed": "8 mph"},
        {"friction": "0.35", "pad_force": "250 lbf", "rub_radius": "3.5 in", "wheel_radius": "13.5 in",
         "mass": "210 lb", "speed": "6 m/s"},
        {"friction": "0.4", "pad_force": "900 N", "rub_radius": "62 mm", "wheel_radius": "330 mm", "mass": "85 kg",
         "speed": "0 km/h"},
    ] + spread(5, friction=("0.15", "0.60", ""), pad_force=("150", "3000", "N"), rub_radius=("55.0", "110.0", "mm"),
               wheel_radius=("200.0", "370.0", "mm"), mass=("40.0", "200.0", "kg"), speed=("5.0", "60.0", "km/h"))),
    "rotor-change": (rotor_change, [
        {"old_rotor": "160 mm", "new_rotor": "140 mm"},
        {"old_rotor": "180 mm", "new_rotor": "203 mm", "track_height": "15 mm"},
        {"old_rotor": "200 mm", "new_rotor": "220 mm", "track_height": "16.5 mm"},
        {"old_rotor": "160 mm", "new_rotor": "160 mm"},
        {"old_rotor": "8 in", "new_rotor": "7 in"},
        {"old_rotor": "80 mm", "new_rotor": "300 mm", "track_height": "29 mm"},
    ] + spread(2, old_rotor=("140.0", "220.0", "mm"), new_rotor=("140.0", "220.0", "mm"))
      + spread(3, old_rotor=("120.0", "230.0", "mm"), new_rotor=("120.0", "230.0", "mm"),
               track_height=("9.0", "20.0", "mm"))),
    "stopping-distance": (stopping_distance, [
        {"speed": "25 km/h", "deceleration": "4.5 m/s^2"},
        {"speed": "40 km/h", "deceleration": "3.2 m/s^2", "reaction_time": "0.7 s", "slope": "-12 %"},
        {"speed": "15 mph", "deceleration": "2.5 m/s^2", "reaction_time": "1.2 s"},
        {"speed": "12 km/h", "deceleration": "1.5 m/s^2", "slope": "9 %"},
        {"speed": "70 km/h", "deceleration": "4.4 m/s^2", "reaction_time": "0 s", "slope": "-38 %"},
        {"speed": "5 m/s", "deceleration": "0.3 m/s^2", "slope": "-2 %"},
    ] + spread(2, speed=("8.0", "60.0", "km/h"), deceleration=("1.50", "6.00", "m/s^2"))
      + spread(3, speed=("8.0", "60.0", "km/h"), deceleration=("2.50", "6.00", "m/s^2"),
               reaction_time=("0.30", "2.50", "s"), slope=("-18.0", "18.0", "%"))),
    "stop-test": (stop_test, [
        {"speed": "24.2 km/h", "distance": "5.9 m"},
        {"speed": "25.8 km/h", "distance": "7.3 m"},
        {"speed": "16 mph", "distance": "18 ft", "nominal_speed": "15 mph"},
        {"speed": "15.4 km/h", "distance": "4.2 m", "nominal_speed": "16 km/h"},
        {"speed": "4 km/h", "distance": "0.4 m"},
        {"speed": "98 km/h", "distance": "140 m", "nominal_speed": "100 km/h"},
    ] + spread(2, speed=("20.0", "30.0", "km/h"), distance=("4.00", "12.00", "m"))
      + spread(3, speed=("10.0", "50.0", "km/h"), distance=("2.50", "40.00", "m"),
               nominal_speed=("10.0", "50.0", "km/h"))),
    "weight-transfer": (weight_transfer, [
        {"mass": "84 kg", "wheelbase": "985 mm", "mass_height": "1090 mm", "mass_behind_front": "545 mm",
         "deceleration": "3.5 m/s^2"},
        {"mass": "185 kg", "wheelbase": "1690 mm", "mass_height": "1060 mm", "mass_behind_front": "880 mm",
         "deceleration": "4.5 m/s^2"},
        {"mass": "32 kg", "wheelbase": "760 mm", "mass_height": "720 mm", "mass_behind_front": "450 mm",
         "deceleration": "2.2 m/s^2"},
        {"mass": "230 lb", "wheelbase": "68 in", "mass_height": "25 in", "mass_behind_front": "40 in",
         "deceleration": "6 m/s^2"},
        {"mass": "95 kg", "wheelbase": "1210 mm", "mass_height": "1000 mm", "mass_behind_front": "720 mm",
         "deceleration": "0 m/s^2"},
        {"mass": "480 kg", "wheelbase": "3200 mm", "mass_height": "900 mm", "mass_behind_front": "2100 mm",
         "deceleration": "11.5 m/s^2"},
    ] + spread(5, mass=("40.0", "180.0", "kg"), wheelbase=("960", "1300", "mm"), mass_height=("850", "1150", "mm"),
               mass_behind_front=("520", "750", "mm"), deceleration=("0.50", "4.20", "m/s^2"))),
    "braking-limit": (braking_limit, [
        {"wheelbase": "990 mm", "mass_height": "1100 mm", "mass_behind_front": "560 mm", "grip": "0.85"},
        {"wheelbase": "990 mm", "mass_height": "1100 mm", "mass_behind_front": "560 mm", "grip": "0.35",
         "slope": "-9 %"},
        {"wheelbase": "1720 mm", "mass_height": "1050 mm", "mass_behind_front": "900 mm", "grip": "0.8"},
        {"wheelbase": "66 in", "mass_height": "24 in", "mass_behind_front": "38 in", "grip": "0.75", "slope": "6 %"},
        {"wheelbase": "740 mm", "mass_height": "700 mm", "mass_behind_front": "430 mm", "grip": "0.6"},
        {"wheelbase": "1230 mm", "mass_height": "980 mm", "mass_behind_front": "780 mm", "grip": "1.1",
         "slope": "-28 %"},
        {"wheelbase": "1020 mm", "mass_height": "1080 mm", "mass_behind_front": "580 mm", "grip": "0.04",
         "slope": "-3 %"},
    ] + spread(3, wheelbase=("950", "1300", "mm"), mass_height=("850", "1150", "mm"),
               mass_behind_front=("500", "760", "mm"), grip=("0.20", "1.00", ""))
      + spread(4, wheelbase=("950", "1300", "mm"), mass_height=("850", "1150", "mm"),
               mass_behind_front=("500", "760", "mm"), grip=("0.20", "1.00", ""), slope=("-20.0", "20.0", "%"))),
    "rotor-heat": (rotor_heat, [
        {"mass": "92 kg", "height_lost": "30 m", "rotor_mass": "130 g", "share": "60 %"},
        {"mass": "85 kg", "speed": "50 km/h", "share": "65 %", "rotor_mass": "115 g"},
        {"mass": "180 kg", "height_lost": "12 m", "speed": "40 km/h", "share": "50 %", "rotor_mass": "230 g",
         "specific_heat": "470 J/(kg·K)"},
        {"mass": "78 kg", "height_lost": "60 ft", "speed": "25 mph", "rotor_mass": "420 g",
         "specific_heat": "900 J/(kg·K)", "rim_brake": "1"},
        {"mass": "30 kg", "speed": "15 km/h", "rotor_mass": "90 g", "rim_brake": "0"},
        {"mass": "480 kg", "height_lost": "150 m", "speed": "60 km/h", "share": "25 %", "rotor_mass": "2.5 kg",
         "specific_heat": "500 J/(kg·K)"},
    ] + spread(2, mass=("60.0", "130.0", "kg"), speed=("10.0", "60.0", "km/h"), rotor_mass=("90", "300", "g"))
      + spread(3, mass=("60.0", "200.0", "kg"), height_lost=("1.0", "60.0", "m"), speed=("10.0", "60.0", "km/h"),
               share=("30", "80", "%"), rotor_mass=("90", "500", "g"), specific_heat=("450", "920", "J/(kg·K)"),
               rim_brake=["0", "1"])),
    "descent-braking": (descent_braking, [
        {"mass": "88 kg", "descent": "8 %", "speed": "30 km/h"},
        {"mass": "175 kg", "descent": "12 %", "speed": "35 km/h", "rolling_coefficient": "0.006",
         "drag_area": "0.6 m^2"},
        {"mass": "96 kg", "descent": "18 %", "speed": "12 km/h", "rolling_coefficient": "0.02",
         "air_density": "1.05 kg/m^3"},
        {"mass": "35 kg", "descent": "5 %", "speed": "8 mph", "drag_area": "0.25 m^2"},
        {"mass": "75 kg", "descent": "3 %", "speed": "45 km/h"},
        {"mass": "110 kg", "descent": "44 %", "speed": "6 km/h", "rolling_coefficient": "0.05"},
        {"mass": "90 kg", "descent": "6 %", "speed": "60 km/h", "air_density": "0 kg/m^3"},
    ] + spread(2, mass=("60.0", "130.0", "kg"), descent=("3.0", "16.0", "%"), speed=("10.0", "60.0", "km/h"))
      + spread(3, mass=("60.0", "200.0", "kg"), descent=("3.0", "20.0", "%"), speed=("10.0", "60.0", "km/h"),
               rolling_coefficient=("0.0030", "0.0250", ""), air_density=("0.90", "1.30", "kg/m^3"),
               drag_area=("0.30", "0.70", "m^2"))),
    "rotor-temperature": (rotor_temperature, [
        {"air_temperature": "18 degC", "power": "260 W", "cooling": "1.4 W/K", "rotor_mass": "140 g", "time": "90 s"},
        {"air_temperature": "59 degF", "power": "420 W", "cooling": "1.8 W/K", "rotor_mass": "190 g",
         "specific_heat": "465 J/(kg·K)", "time": "3 min"},
        {"air_temperature": "8 degC", "power": "180 W", "cooling": "3.5 W/K", "rotor_mass": "450 g",
         "specific_heat": "900 J/(kg·K)", "time": "240 s", "rim_brake": "1"},
        {"air_temperature": "-12 degC", "power": "90 W", "cooling": "0.9 W/K", "rotor_mass": "110 g", "time": "20 s",
         "rim_brake": "0"},
        {"air_temperature": "30 degC", "power": "300 W", "cooling": "2 W/K", "rotor_mass": "150 g", "time": "0 s"},
        {"air_temperature": "25 degC", "power": "700 W", "cooling": "4 W/K", "rotor_mass": "900 g", "time": "2 h"},
        {"air_temperature": "20 degC", "power": "0 W", "cooling": "1.5 W/K", "rotor_mass": "150 g", "time": "60 s"},
    ] + spread(2, air_temperature=("-5.0", "35.0", "degC"), power=("50", "500", "W"), cooling=("0.80", "3.00", "W/K"),
               rotor_mass=("90", "300", "g"), time=("10", "600", "s"))
      + spread(3, air_temperature=("-5.0", "35.0", "degC"), power=("50", "500", "W"), cooling=("0.80", "6.00", "W/K"),
               rotor_mass=("90", "600", "g"), specific_heat=("450", "920", "J/(kg·K)"), time=("10", "1200", "s"),
               rim_brake=["0", "1"])),
    "fluid-margin": (fluid_margin, [
        {"fluid_temperature": "95 degC", "dry_boiling": "230 degC", "wet_boiling": "155 degC"},
        {"fluid_temperature": "140 degC", "dry_boiling": "205 degC", "wet_boiling": "140.5 degC"},
        {"fluid_temperature": "250 degF", "dry_boiling": "500 degF", "wet_boiling": "356 degF"},
        {"fluid_temperature": "125 degC", "dry_boiling": "280 degC", "wet_boiling": "100 degC"},
        {"fluid_temperature": "-15 degC", "dry_boiling": "260 degC", "wet_boiling": "180 degC"},
    ] + spread(5, fluid_temperature=("20.0", "190.0", "degC"), dry_boiling=("205.0", "310.0", "degC"),
               wet_boiling=("100.0", "200.0", "degC"))),
    "wear-left": (wear_left, [
        {"new_thickness": "2.0 mm", "thickness_now": "1.78 mm", "limit_thickness": "1.7 mm", "distance": "6100 km"},
        {"new_thickness": "3.9 mm", "thickness_now": "2.2 mm", "limit_thickness": "0.5 mm", "distance": "900 mile"},
        {"new_thickness": "1.7 mm", "thickness_now": "1.15 mm", "limit_thickness": "0.8 mm", "distance": "14500 km"},
        {"new_thickness": "0.375 in", "thickness_now": "6 mm", "limit_thickness": "3 mm", "distance": "2300 km"},
        {"new_thickness": "1.8 mm", "thickness_now": "1.44 mm", "limit_thickness": "1.5 mm", "distance": "8800 km"},
        {"new_thickness": "4 mm", "thickness_now": "3.95 mm", "limit_thickness": "1 mm", "distance": "40 km"},
        {"new_thickness": "4 mm", "thickness_now": "0 mm", "limit_thickness": "1 mm", "distance": "3000 km"},
    ] + spread(4, new_thickness=("3.50", "5.00", "mm"), thickness_now=("1.60", "3.40", "mm"),
               limit_thickness=("0.50", "1.50", "mm"), distance=("200", "9000", "km"))),
}
