"""Electric figures by another route: batteries emptied and filled as charge that flows, coulomb and second, instead of
energy divided by power."""

from mpmath import findroot, mpf, quad

from independent import spread


def battery_load(voltage, charge, power, efficiency=mpf(1)):
    """Charge is drawn through the voltage, and the work is integrated coulomb by coulomb. A root finder seeks the
    current whose useful part makes the power; the run is as long as the charge lasts at that current."""
    energy = quad(lambda drawn: voltage, [0, charge])
    current = findroot(lambda amperes: voltage * amperes * efficiency - power, (mpf(0), mpf(1)))
    return {"energy": (energy, "Wh"), "current": (current, "A"), "run_time": (charge / current, "h")}


def battery_range(energy, speed, power, usable=mpf("0.9")):
    """Time first: the motor empties the usable part in so many seconds, and the road is the speed integrated over
    them; the consumption is the usable energy over that road."""
    emptied = findroot(lambda hours: power * hours * 3600 - usable * energy, (mpf(0), mpf(1))) * 3600
    road = quad(lambda time: speed, [0, emptied])
    return {"consumption": (usable * energy / road, "Wh/km"), "range": (road, "km")}


def charge_time(energy, charge_from, charger_voltage, charger_current, charge_to=mpf(1), acceptance=mpf("0.95")):
    """The battery is a tank of charge at the voltage of the charger: the coulombs missing at the start less those
    missing at the end must come in, of each second's coulombs only the accepted share stays, and a root finder seeks
    the time at which the tank stands at the wanted mark."""
    tank = energy / charger_voltage
    start, end = tank * charge_from, tank * charge_to

    def standing_at(time):
        return start + quad(lambda moment: charger_current * acceptance, [0, time])

    return {"time": (findroot(lambda time: (standing_at(time) - end) / tank, (mpf(1), mpf(3600))), "h")}


FORMULAS = {
    "battery-load": (battery_load, [
        {"voltage": "36 V", "charge": "14 Ah", "power": "250 W", "efficiency": "78 %"},
        {"voltage": "3.6 V", "charge": "3.4 Ah", "power": "5 W", "efficiency": "88 %"},
        {"voltage": "48 V", "charge": "10.4 Ah", "power": "0.35 kW"},
        {"voltage": "1.2 V", "charge": "0.8 Ah", "power": "0.06 W"},
        {"voltage": "6 V", "charge": "4.5 Ah", "power": "3 W"},
        {"voltage": "96 V", "charge": "280 Ah", "power": "4800 W", "efficiency": "92 %"},
    ] + spread(2, voltage=("3.0", "52.0", "V"), charge=("0.50", "20.00", "Ah"), power=("1.0", "300.0", "W"))
      + spread(3, voltage=("3.0", "52.0", "V"), charge=("0.50", "20.00", "Ah"), power=("1.0", "300.0", "W"),
               efficiency=("50.0", "98.0", "%"))),
    "battery-range": (battery_range, [
        {"energy": "500 Wh", "speed": "21 km/h", "power": "145 W"},
        {"energy": "750 Wh", "usable": "80 %", "speed": "16 km/h", "power": "260 W"},
        {"energy": "400 Wh", "speed": "14 mph", "power": "120 W", "usable": "95 %"},
        {"energy": "4.5 kJ", "usable": "100 %", "speed": "2 km/h", "power": "5 W"},
        {"energy": "1000 Wh", "speed": "19 km/h", "power": "0.41 kW"},
        {"energy": "4500 Wh", "usable": "70 %", "speed": "45 km/h", "power": "2100 W"},
    ] + spread(2, energy=("200", "1200", "Wh"), speed=("12.0", "30.0", "km/h"), power=("60", "450", "W"))
      + spread(3, energy=("200", "1200", "Wh"), speed=("12.0", "30.0", "km/h"), power=("60", "450", "W"),
               usable=("60.0", "98.0", "%"))),
    "charge-time": (charge_time, [
        {"energy": "500 Wh", "charge_from": "15 %", "charger_voltage": "42 V", "charger_current": "4 A"},
        {"energy": "625 Wh", "charge_from": "30 %", "charge_to": "80 %", "charger_voltage": "42 V",
         "charger_current": "6 A"},
        {"energy": "400 Wh", "charge_from": "0 %", "charger_voltage": "36 V", "charger_current": "2 A",
         "acceptance": "90 %"},
        {"energy": "12 Wh", "charge_from": "5 %", "charger_voltage": "5 V", "charger_current": "0.5 A",
         "charge_to": "100 %", "acceptance": "85 %"},
        {"energy": "1250 Wh", "charge_from": "60 %", "charge_to": "65 %", "charger_voltage": "54.6 V",
         "charger_current": "8 A"},
        {"energy": "5000 Wh", "charge_from": "0 %", "charge_to": "100 %", "acceptance": "100 %",
         "charger_voltage": "58 V", "charger_current": "0.5 A"},
    ] + spread(2, energy=("200", "1200", "Wh"), charge_from=("0.0", "60.0", "%"),
               charger_voltage=("24.0", "54.6", "V"), charger_current=("1.0", "8.0", "A"))
      + spread(3, energy=("200", "1200", "Wh"), charge_from=("0.0", "45.0", "%"), charge_to=("55.0", "98.0", "%"),
               acceptance=("85.0", "99.0", "%"), charger_voltage=("24.0", "54.6", "V"),
               charger_current=("1.0", "8.0", "A"))),
}
