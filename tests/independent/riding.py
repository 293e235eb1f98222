"""Power, speed, gears on a hill, air and load, worked out a second time.

Power is the energy of one second on the road, drawn as a vector; a speed or a slope is the root of a polynomial, and
not of a balance tried again and again. Nothing here is taken from the steps of the formulas, save what the docstring
of air_density names.
"""

from independent import spread
from mpmath import exp, findroot, fsum, lu_solve, matrix, mpc, mpf, polyroots, quad, sqrt

GRAVITY = mpf("9.80665")
ROLLING = mpf("0.005")
AIR = mpf("1.2")
DRAG_AREA = mpf("0.45")
EFFICIENCY = mpf("0.97")


# Power on the road ---------------------------------------------------------------------------------------------------


def way_up(slope):
    """The road's direction in the side view, of length one."""
    return mpc(1, slope) / sqrt(1 + slope**2)


def road_forces(mass, slope, rolling_coefficient):
    """What weight and tyres hold against the bike, from the weight as a vector turned into the road's direction."""
    weight = mpc(0, -mass * GRAVITY) / way_up(slope)
    return -weight.real, rolling_coefficient * -weight.imag


def road_power(
    mass, speed, slope=mpf(0), rolling_coefficient=ROLLING, air_density=AIR, drag_area=DRAG_AREA, headwind=mpf(0),
    efficiency=EFFICIENCY,
):
    """The energy of one second: the height won on the road times the weight, the drag of the tyres and the push of the
    air summed along the way; what the drivetrain must be fed is found by a root finder."""
    second = mpf(1)
    way = speed * second
    start, end = mpc(0, 0), way * way_up(slope)
    climbing = mass * GRAVITY * (end - start).imag / second
    rolling = quad(lambda _: road_forces(mass, slope, rolling_coefficient)[1], [0, way]) / second if way else mpf(0)
    wind = speed + headwind
    stagnation = air_density * wind**2 / 2
    push = drag_area * (stagnation if wind > 0 else -stagnation)
    air = quad(lambda _: push, [0, way]) / second if way else mpf(0)
    spent = fsum([climbing, rolling, air])
    scale = abs(spent) + 1
    fed = findroot(lambda fed: (fed * efficiency * scale - spent) / scale, spent / scale) * scale
    return {"climbing": (climbing, "W"), "rolling": (rolling, "W"), "air": (air, "W"), "power": (fed, "W")}


def steady_speed(power, mass, slope, rolling_coefficient, air_density, drag_area, headwind, efficiency):
    """The one speed ahead at which the power is used up: both cubics, wind from ahead and from behind, and of their
    roots the one that lies on its own side."""
    held = sum(road_forces(mass, slope, rolling_coefficient))
    half = air_density * drag_area / 2
    found = []
    for side in (1, -1):
        cubic = [side * half, 2 * side * half * headwind, side * half * headwind**2 + held, -efficiency * power]
        for root in polyroots(cubic, maxsteps=500, extraprec=300):
            real = root.real
            if abs(root.imag) < mpf(10) ** -30 and real > 0 and side * (real + headwind) > 0:
                found.append(real)
    (speed,) = found
    return speed


def speed_on_power(
    power, mass, slope=mpf(0), rolling_coefficient=ROLLING, air_density=AIR, drag_area=DRAG_AREA, headwind=mpf(0),
    efficiency=EFFICIENCY,
):
    """The balance of power is a cubic in the speed, one for wind from ahead and one for wind from behind; all its
    roots are found at once and the one that fits the road is kept."""
    speed = steady_speed(power, mass, slope, rolling_coefficient, air_density, drag_area, headwind, efficiency)
    return {"speed": (speed, "km/h")}


# Gears on a hill -----------------------------------------------------------------------------------------------------


def climbing_gear(
    power, mass, chainring, sprocket, rollout, slope=mpf(0), rolling_coefficient=ROLLING, air_density=AIR,
    drag_area=DRAG_AREA, headwind=mpf(0), efficiency=EFFICIENCY, cadence=mpf(70) / 60,
):
    """The speed is the root of a cubic; then an hour is ridden: wheel turns, chain teeth and crank turns are counted,
    and the teeth that the wanted crank turns must pull for each turn of the wheel."""
    speed = steady_speed(power, mass, slope, rolling_coefficient, air_density, drag_area, headwind, efficiency)
    hour = mpf(3600)
    wheel_turns = speed * hour / rollout
    teeth_past = wheel_turns * sprocket
    crank_turns = teeth_past / chainring
    wanted_turns = cadence * hour
    return {
        "speed": (speed, "km/h"),
        "cadence_now": (crank_turns / hour, "rpm"),
        "development_needed": (speed * hour / wanted_turns, "m"),
        "ratio_needed": (wheel_turns / wanted_turns, ""),
    }


def steepest_slope(
    power, mass, chainring, sprocket, rollout, rolling_coefficient=ROLLING, air_density=AIR, drag_area=DRAG_AREA,
    efficiency=EFFICIENCY, cadence=mpf(1),
):
    """A minute is pedalled and the way counted; the work left over from the air must lift and roll the weight, which,
    squared, is a quadratic in the slope; the root with the right sign is kept."""
    minute = mpf(60)
    crank_turns = cadence * minute
    way = crank_turns * chainring / sprocket * rollout
    speed = way / minute
    left_over = power * efficiency * minute - drag_area * air_density * speed**2 / 2 * way
    share = left_over / (mass * GRAVITY * way)
    quadratic = [1 - share**2, 2 * rolling_coefficient, rolling_coefficient**2 - share**2]
    roots = [root.real for root in polyroots(quadratic, maxsteps=500, extraprec=300)]
    (slope,) = [root for root in roots if (root + rolling_coefficient) * share > 0]
    return {"speed": (speed, "km/h"), "slope": (slope, "%")}


# Air and load --------------------------------------------------------------------------------------------------------


def air_density(air_pressure=mpf(101325), temperature=mpf("288.15")):
    """From one kilogram at 0 degrees and 100 kPa, whose room follows from the gas constant of dry air as in the
    formula (287.053): its temperature is changed little by little at that pressure, summed as an integral, and its
    pressure then at a steady temperature."""
    cold, sea = mpf("273.15"), mpf(100000)
    room = mpf("287.053") * cold / sea
    if temperature != cold:
        room *= exp(quad(lambda t: 1 / t, [cold, temperature]))
    if air_pressure != sea:
        room *= exp(-quad(lambda p: 1 / p, [sea, air_pressure]))
    return {"density": (1 / room, "kg/m^3")}


def rider_load_split(
    rider_mass, bike_mass, front_luggage=mpf(0), rear_luggage=mpf(0), front_share=mpf("0.45"), wheelbase=mpf(1)
):
    """Every mass is put at its place along the bike; both wheel loads come from a matrix of the upright balance and
    the moments about the bottom of an upright half a wheelbase ahead of the front axle."""
    middle_of_rider_and_bike = wheelbase * (1 - front_share)
    places = [
        (rider_mass + bike_mass, middle_of_rider_and_bike), (front_luggage, mpf(0)), (rear_luggage, wheelbase),
    ]
    pivot = -wheelbase / 2
    total = fsum(mass for mass, _ in places)
    moments = fsum(mass * (place - pivot) for mass, place in places)
    balance = matrix([[1, 1], [-pivot, wheelbase - pivot]])
    front, rear = lu_solve(balance, matrix([total, moments]))
    centre = findroot(lambda x: fsum(mass * (place - x * wheelbase) for mass, place in places) / total, mpf("0.5"))
    return {
        "front_load": (front, "kg"),
        "rear_load": (rear, "kg"),
        "front_percent": (front / total, "%"),
        "mass_behind_front": (centre * wheelbase, "mm"),
    }


FORMULAS = {
    "road-power": (road_power, [
        {"mass": "85 kg", "speed": "30 km/h", "drag_area": "0.35 m^2"},
        {"mass": "180 kg", "slope": "6 %", "speed": "11 km/h", "rolling_coefficient": "0.006",
         "air_density": "1.12 kg/m^3", "drag_area": "0.55 m^2", "efficiency": "95 %"},
        {"mass": "38 kg", "speed": "12 km/h", "headwind": "15 km/h", "drag_area": "0.3 m^2"},
        {"mass": "76 kg", "slope": "-3 %", "speed": "45 km/h", "drag_area": "0.30 m^2", "efficiency": "98 %"},
        {"mass": "92 kg", "speed": "8 mph", "headwind": "-20 mph", "slope": "4 %"},
        {"mass": "80 kg", "speed": "0 km/h", "slope": "40 %", "headwind": "80 km/h"},
        {"mass": "500 kg", "slope": "40 %", "speed": "120 km/h", "rolling_coefficient": "0.08",
         "air_density": "1.6 kg/m^3", "drag_area": "2 m^2", "headwind": "80 km/h", "efficiency": "40 %"},
        *spread(6, mass=("60.0", "130.0", "kg"), slope=("0.0", "12.0", "%"), speed=("8.0", "35.0", "km/h"),
                rolling_coefficient=("0.0030", "0.0200", ""), air_density=("1.00", "1.30", "kg/m^3"),
                drag_area=("0.28", "0.60", "m^2"), headwind=("-5.0", "25.0", "km/h"),
                efficiency=("88.0", "99.0", "%")),
    ]),
    "speed-on-power": (speed_on_power, [
        {"power": "200 W", "mass": "85 kg", "drag_area": "0.35 m^2"},
        {"power": "320 W", "mass": "175 kg", "slope": "5 %", "rolling_coefficient": "0.006",
         "air_density": "1.15 kg/m^3", "efficiency": "95 %"},
        {"power": "45 W", "mass": "38 kg", "rolling_coefficient": "0.008", "drag_area": "0.3 m^2"},
        {"power": "120 W", "mass": "90 kg", "headwind": "-30 km/h", "slope": "3 %"},
        {"power": "60 W", "mass": "95 kg", "headwind": "-35 km/h"},
        {"power": "150 W", "mass": "95 kg", "slope": "-2 %", "headwind": "15 km/h"},
        {"power": "1 W", "mass": "500 kg", "slope": "40 %", "rolling_coefficient": "0.08",
         "air_density": "0.5 kg/m^3", "drag_area": "0.1 m^2", "headwind": "-80 km/h", "efficiency": "40 %"},
        *spread(6, power=("80", "350", "W"), mass=("60.0", "130.0", "kg"), slope=("-4.0", "12.0", "%"),
                rolling_coefficient=("0.0030", "0.0200", ""), air_density=("1.00", "1.30", "kg/m^3"),
                drag_area=("0.28", "0.60", "m^2"), headwind=("-20.0", "25.0", "km/h"),
                efficiency=("88.0", "99.0", "%")),
    ]),
    "climbing-gear": (climbing_gear, [
        {"power": "220 W", "mass": "85 kg", "slope": "8 %", "air_density": "1.15 kg/m^3", "drag_area": "0.40 m^2",
         "chainring": "34", "sprocket": "30", "rollout": "2105 mm", "cadence": "75 rpm"},
        {"power": "300 W", "mass": "190 kg", "slope": "7 %", "chainring": "26", "sprocket": "36",
         "rollout": "2150 mm", "efficiency": "94 %"},
        {"power": "50 W", "mass": "40 kg", "slope": "5 %", "rolling_coefficient": "0.008", "chainring": "28",
         "sprocket": "34", "rollout": "1590 mm", "cadence": "65 rpm"},
        {"power": "150 W", "mass": "95 kg", "slope": "14 %", "rolling_coefficient": "0.012", "chainring": "32",
         "sprocket": "51", "rollout": "2220 mm", "headwind": "10 km/h"},
        {"power": "140 W", "mass": "88 kg", "chainring": "42 teeth", "sprocket": "24 teeth", "rollout": "82.5 in",
         "headwind": "12 mph"},
        {"power": "2500 W", "mass": "10 kg", "slope": "-40 %", "chainring": "80", "sprocket": "7",
         "rollout": "2700 mm", "cadence": "130 rpm", "headwind": "-80 km/h"},
        *spread(5, power=("100", "350", "W"), mass=("60.0", "130.0", "kg"), slope=("2.0", "16.0", "%"),
                rolling_coefficient=("0.0030", "0.0200", ""), air_density=("1.00", "1.30", "kg/m^3"),
                drag_area=("0.28", "0.60", "m^2"), headwind=("-15.0", "20.0", "km/h"), efficiency=("90.0", "99.0", "%"),
                chainring=("26", "40", ""), sprocket=("28", "51", ""), rollout=("1950", "2300", "mm"),
                cadence=("55.0", "90.0", "rpm")),
    ]),
    "steepest-slope": (steepest_slope, [
        {"power": "220 W", "mass": "85 kg", "air_density": "1.15 kg/m^3", "drag_area": "0.40 m^2",
         "chainring": "34", "sprocket": "30", "rollout": "2105 mm"},
        {"power": "280 W", "mass": "185 kg", "rolling_coefficient": "0.006", "chainring": "26", "sprocket": "36",
         "rollout": "2150 mm", "cadence": "65 rpm", "efficiency": "94 %"},
        {"power": "60 W", "mass": "40 kg", "chainring": "28", "sprocket": "34", "rollout": "1590 mm",
         "drag_area": "0.3 m^2"},
        {"power": "160 W", "mass": "100 kg", "rolling_coefficient": "0.02", "chainring": "32", "sprocket": "51",
         "rollout": "2231 mm", "cadence": "50 rpm"},
        {"power": "10 W", "mass": "100 kg", "chainring": "50 teeth", "sprocket": "11 teeth", "rollout": "2100 mm",
         "cadence": "90 rpm"},
        {"power": "180 W", "mass": "200 lb", "rolling_coefficient": "0", "air_density": "0 kg/m^3",
         "drag_area": "0 m^2", "efficiency": "100 %", "chainring": "30", "sprocket": "42", "rollout": "82 in"},
        *spread(5, power=("100", "350", "W"), mass=("60.0", "130.0", "kg"),
                rolling_coefficient=("0.0030", "0.0200", ""), air_density=("1.00", "1.30", "kg/m^3"),
                drag_area=("0.28", "0.60", "m^2"), efficiency=("90.0", "99.0", "%"), chainring=("26", "40", ""),
                sprocket=("24", "51", ""),
                rollout=("1950", "2300", "mm"), cadence=("45.0", "80.0", "rpm")),
    ]),
    "air-density": (air_density, [
        {"air_pressure": "101.325 kPa", "temperature": "15 degC"},
        {"temperature": "30 degC"},
        {"air_pressure": "84.5 kPa"},
        {"air_pressure": "79.495 kPa", "temperature": "5 degC"},
        {"air_pressure": "1.013 bar", "temperature": "86 degF"},
        {"air_pressure": "30 kPa", "temperature": "-40 degC"},
        {"air_pressure": "110 kPa", "temperature": "55 degC"},
        {"air_pressure": "100 kPa", "temperature": "0 degC"},
        *spread(4, air_pressure=("70.00", "104.00", "kPa"), temperature=("-15.0", "40.0", "degC")),
    ]),
    "rider-load-split": (rider_load_split, [
        {"rider_mass": "75 kg", "bike_mass": "10 kg"},
        {"rider_mass": "88 kg", "bike_mass": "16 kg", "rear_luggage": "14 kg", "front_share": "40 %",
         "wheelbase": "1060 mm"},
        {"rider_mass": "150 kg", "bike_mass": "20 kg", "front_luggage": "10 kg", "rear_luggage": "25 kg",
         "front_share": "46 %", "wheelbase": "1760 mm"},
        {"rider_mass": "24 kg", "bike_mass": "9 kg", "front_share": "42 %", "wheelbase": "800 mm"},
        {"rider_mass": "70 kg", "bike_mass": "38 kg", "front_luggage": "80 kg", "front_share": "35 %",
         "wheelbase": "2000 mm"},
        {"rider_mass": "165 lb", "bike_mass": "33 lb", "rear_luggage": "40 lb", "wheelbase": "41 in"},
        {"rider_mass": "10 kg", "bike_mass": "120 kg", "front_luggage": "0 kg", "rear_luggage": "200 kg",
         "front_share": "10 %", "wheelbase": "3300 mm"},
        *spread(5, rider_mass=("50.0", "110.0", "kg"), bike_mass=("7.0", "28.0", "kg"),
                front_luggage=("0.0", "15.0", "kg"), rear_luggage=("0.0", "30.0", "kg"),
                front_share=("36.0", "50.0", "%"), wheelbase=("960", "1250", "mm")),
    ]),
}
