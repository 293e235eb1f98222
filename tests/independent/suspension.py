"""Springs of fork and shock, worked out a second time.

A spring is judged by the energy that it stores, a bounce is followed in time until it has come back, air is pressed
together little by little. Nothing here is taken from the steps of the formulas.
"""

from independent import spread
from mpmath import diff, exp, findroot, mpf, odefun, pi, quad

GRAVITY = mpf("9.80665")


def sag(compression, travel, target=mpf("0.25")):
    """The travel is marked off from full length to full compression; the share read at the ring is found by a root
    finder, and so is the place where the share read would be the one wanted."""

    def place(share):
        at_full_length, at_full_compression = mpf(0), travel
        return at_full_length * (1 - share) + at_full_compression * share

    def share_read(at):
        return findroot(lambda share: (place(share) - at) / travel, mpf("0.3"))

    wanted_place = findroot(lambda at: share_read(at * travel) - target, mpf("0.3")) * travel
    return {"sag": (share_read(compression), "%"), "target_compression": (wanted_place, "mm")}


def spring_rate(sprung_load, wheel_travel, stroke, target_sag=mpf("0.3")):
    """The energy of spring and lifted load together is least where the bike comes to rest; the rate for which that is
    at the wanted sag is found by a root finder."""

    def shock_shaft(wheel):
        return stroke * wheel / wheel_travel

    rest = target_sag * wheel_travel

    def tilt_of_energy(rate):
        return diff(lambda wheel: rate * shock_shaft(wheel) ** 2 / 2 - sprung_load * GRAVITY * wheel, rest)

    guess = sprung_load * GRAVITY / rest
    rate = findroot(lambda many: tilt_of_energy(many * guess) / (sprung_load * GRAVITY), 1) * guess
    leverage = 1 / diff(shock_shaft, rest)
    return {"leverage": (leverage, ""), "rate": (rate, "N/mm")}


def coil_spring(wire_diameter, coil_diameter, active_coils, shear_modulus=mpf("79.3") * 10**9):
    """The wire is twisted by the force at the coil's radius: the energy of its shear is summed over the section and
    along the wire, and the rate follows from the energy that a force of one stores."""
    wire, coil = wire_diameter / 2, coil_diameter / 2
    section = quad(lambda radius: 2 * pi * radius * radius**2, [0, wire])
    twist_for_one = coil / (shear_modulus * section)

    def shear_energy(radius):
        """Of a ring, for one of length: stress squared over twice the modulus."""
        return 2 * pi * radius * (shear_modulus * twist_for_one * radius) ** 2 / (2 * shear_modulus)

    energy_of_a_length = quad(shear_energy, [0, wire])
    energy = quad(lambda angle: energy_of_a_length * coil, [0, 2 * pi]) * active_coils
    return {"rate": (1 / (2 * energy), "N/mm")}


def bounce_frequency(rate, leverage, sprung_load):
    """The stiffness at the wheel is the second derivative of the spring's energy; the motion from rest is followed in
    time through its equation until the load passes the middle, which is a quarter of a bounce."""
    wheel_rate = diff(lambda wheel: rate * (wheel / leverage) ** 2 / 2, 0, 2)
    slow_down = wheel_rate / sprung_load
    second = 1 / mpf(int(slow_down**0.5) + 1)

    def motion(_, state):
        place, speed = state
        return [second * speed, -second * slow_down * place]

    follow = odefun(motion, 0, [mpf(1), mpf(0)])
    quarter = findroot(lambda time: follow(time)[0], mpf("1.6")) * second
    return {"wheel_rate": (wheel_rate, "N/mm"), "frequency": (1 / (4 * quarter), "Hz")}


def air_spring(pressure, chamber_volume, piston_diameter, compression, spacer_volume=mpf(0), ambient=mpf(101325)):
    """The piston is pushed in little by little at a steady temperature: pressure grows by the share of the room that
    each step takes away, summed as an integral; the force is summed over the piston's rings."""
    piston = quad(lambda radius: 2 * pi * radius, [0, piston_diameter / 2])
    room = chamber_volume - spacer_volume
    growth = quad(lambda way: piston / (room - piston * way), [0, compression]) if compression else mpf(0)
    absolute = (pressure + ambient) * exp(growth)
    then = absolute - ambient
    force = quad(lambda radius: 2 * pi * radius * then, [0, piston_diameter / 2])
    return {"pressure_then": (then, "bar"), "force": (force, "N"), "ramp": (then / pressure, "")}


def shock_pressure(old_pressure, old_load, new_load):
    """The old balance tells the area that the air must be pressing on, leverage included; the new pressure is the one
    that balances the new load on that area, by a root finder."""
    area = old_load * GRAVITY / old_pressure
    weight = new_load * GRAVITY
    new_pressure = findroot(lambda times: (times * old_pressure * area - weight) / weight, 1) * old_pressure
    return {"new_pressure": (new_pressure, "bar")}


FORMULAS = {
    "sag": (sag, [
        {"compression": "30 mm", "travel": "120 mm"},
        {"compression": "16.5 mm", "travel": "55 mm", "target": "30 %"},
        {"compression": "48 mm", "travel": "170 mm", "target": "28 %"},
        {"compression": "9 mm", "travel": "40 mm", "target": "15 %"},
        {"compression": "1.5 in", "travel": "6.3 in"},
        {"compression": "0 mm", "travel": "5 mm", "target": "70 %"},
        *spread(3, compression=("10.0", "45.0", "mm"), travel=("80", "200", "mm")),
        *spread(3, compression=("10.0", "45.0", "mm"), travel=("80", "200", "mm"), target=("15.0", "35.0", "%")),
    ]),
    "spring-rate": (spring_rate, [
        {"sprung_load": "49 kg", "wheel_travel": "148.5 mm", "stroke": "55 mm"},
        {"sprung_load": "62 kg", "wheel_travel": "200 mm", "stroke": "75 mm", "target_sag": "33 %"},
        {"sprung_load": "24 kg", "wheel_travel": "100 mm", "stroke": "40 mm", "target_sag": "25 %"},
        {"sprung_load": "125 lb", "wheel_travel": "5.5 in", "stroke": "2 in"},
        {"sprung_load": "140 kg", "wheel_travel": "60 mm", "stroke": "45 mm", "target_sag": "20 %"},
        {"sprung_load": "3 kg", "wheel_travel": "20 mm", "stroke": "10 mm", "target_sag": "60 %"},
        *spread(5, sprung_load=("30.0", "80.0", "kg"), wheel_travel=("100", "210", "mm"),
                stroke=("37.5", "75.0", "mm"), target_sag=("18.0", "36.0", "%")),
    ]),
    "coil-spring": (coil_spring, [
        {"wire_diameter": "10 mm", "coil_diameter": "50 mm", "active_coils": "5.5"},
        {"wire_diameter": "8.5 mm", "coil_diameter": "45 mm", "active_coils": "6.5", "shear_modulus": "79 GPa"},
        {"wire_diameter": "9 mm", "coil_diameter": "46 mm", "active_coils": "4.75", "shear_modulus": "42 GPa"},
        {"wire_diameter": "4.5 mm", "coil_diameter": "24 mm", "active_coils": "22"},
        {"wire_diameter": "0.5 mm", "coil_diameter": "5.5 mm", "active_coils": "9", "shear_modulus": "72 GPa"},
        {"wire_diameter": "0.4 in", "coil_diameter": "2 in", "active_coils": "6"},
        *spread(5, wire_diameter=("6.0", "13.0", "mm"), coil_diameter=("40.0", "62.0", "mm"),
                active_coils=("3.5", "9.0", ""), shear_modulus=("40.0", "82.0", "GPa")),
    ]),
    "bounce-frequency": (bounce_frequency, [
        {"rate": "78.5 N/mm", "leverage": "2.7", "sprung_load": "49 kg"},
        {"rate": "9 N/mm", "leverage": "1", "sprung_load": "36 kg"},
        {"rate": "60 N/mm", "leverage": "2.4", "sprung_load": "24 kg"},
        {"rate": "450 lbf/in", "leverage": "2.5", "sprung_load": "130 lb"},
        {"rate": "0.5 N/mm", "leverage": "6", "sprung_load": "300 kg"},
        {"rate": "400 N/mm", "leverage": "0.5", "sprung_load": "3 kg"},
        *spread(5, rate=("45.0", "120.0", "N/mm"), leverage=("2.00", "3.20", ""), sprung_load=("30.0", "90.0", "kg")),
    ]),
    "air-spring": (air_spring, [
        {"pressure": "5 bar", "chamber_volume": "260 mL", "piston_diameter": "32 mm", "compression": "120 mm"},
        {"pressure": "5 bar", "chamber_volume": "260 mL", "spacer_volume": "40 mL", "piston_diameter": "32 mm",
         "compression": "120 mm"},
        {"pressure": "175 psi", "chamber_volume": "150 mL", "spacer_volume": "15 mL", "piston_diameter": "42 mm",
         "compression": "40 mm", "ambient": "0.8 bar"},
        {"pressure": "4.2 bar", "chamber_volume": "240 mL", "piston_diameter": "30 mm", "compression": "0 mm"},
        {"pressure": "2.5 bar", "chamber_volume": "120 mL", "piston_diameter": "24 mm", "compression": "75 mm",
         "ambient": "101.3 kPa"},
        {"pressure": "0.3 bar", "chamber_volume": "1500 mL", "spacer_volume": "700 mL", "piston_diameter": "50 mm",
         "compression": "350 mm", "ambient": "1.2 bar"},
        *spread(3, pressure=("3.00", "8.00", "bar"), chamber_volume=("220", "320", "mL"),
                piston_diameter=("28.0", "34.0", "mm"), compression=("20", "150", "mm")),
        *spread(3, pressure=("8.00", "18.00", "bar"), chamber_volume=("180", "260", "mL"),
                spacer_volume=("0", "40", "mL"), piston_diameter=("34.0", "46.0", "mm"),
                compression=("10.0", "55.0", "mm"), ambient=("0.70", "1.05", "bar")),
    ]),
    "shock-pressure": (shock_pressure, [
        {"old_pressure": "5.2 bar", "old_load": "72 kg", "new_load": "81 kg"},
        {"old_pressure": "12.5 bar", "old_load": "90 kg", "new_load": "78 kg"},
        {"old_pressure": "95 psi", "old_load": "180 lb", "new_load": "200 lb"},
        {"old_pressure": "3.1 bar", "old_load": "32 kg", "new_load": "36.5 kg"},
        {"old_pressure": "40 bar", "old_load": "300 kg", "new_load": "3 kg"},
        *spread(5, old_pressure=("3.00", "18.00", "bar"), old_load=("50.0", "110.0", "kg"),
                new_load=("50.0", "120.0", "kg")),
    ]),
}
