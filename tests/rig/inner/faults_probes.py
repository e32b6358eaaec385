"""Faults of probes and their buses. Each case returns (scene, whether all was as it must be)."""

from scene import Scene

REST, CHARGE, DISCHARGE, BLIND = 0, 1, 2, 3
DRY = {"humidity": "none"}  # no humidity probe, so nothing stands in for the house


def lost(role, kind="gone", wiring=None, until=400, at=150):
    """Return the scene in which a probe falls ill while the fan discharges."""
    scene = Scene(wiring=wiring)
    scene.at(at, scene.fault, role, kind)
    scene.run(until)
    return scene


def house_with_stand_in():
    s = lost("house")
    return s, s.ends == ["end"] and s.phases() == [REST, DISCHARGE] and s.alarms() == ["house-lost"]


def house_alone():
    s = lost("house", wiring=DRY)
    ok = s.phases() == [REST, DISCHARGE, BLIND] and s.fan[-1] and not s.on_s(s.heater)
    return s, ok and "house-lost" in s.alarms() and s.alarm[-1]


def house_lost_while_charging():
    s = Scene(wiring=DRY)
    s.set(house=22, outlet=20)
    s.at(150, s.fault, "house", "gone")
    s.run(300)
    return s, s.phases()[:3] == [REST, CHARGE, REST] and "house-lost" in s.reasons()


def house_back():
    s = Scene(wiring=DRY)
    s.at(150, s.fault, "house", "gone")
    s.at(300, s.fault, "house", "")
    s.run(500)
    back = [second for second, phase, _ in s.states if phase == DISCHARGE and second > 200]
    return s, s.phases() == [REST, DISCHARGE, BLIND, DISCHARGE] and back[0] <= 303 and s.alarms() == []


def heater_and_lost_house():
    s = Scene(wiring=DRY)
    s.set(house=1, soil=1)
    s.at(200, s.fault, "house", "gone")
    s.run(300)
    off = s.first(s.heater, 0, 190)
    return s, s.heater[189] and 200 < off <= 233 and not s.on_s(s.heater, 240)


def soil():
    s = lost("soil")
    return s, s.phases() == [REST, DISCHARGE] and "cold-alone" in s.reasons() and s.alarms() == ["soil-lost"]


def outlet():
    s = lost("outlet")
    return s, s.phases() == [REST, DISCHARGE] and s.alarms() == []


def outside():
    s = lost("outside")
    return s, s.phases() == [REST, DISCHARGE] and s.alarms() == []


def humidity():
    s = Scene()
    s.at(150, setattr, s.world, "i2c_fault", "gone")
    s.run(400)
    return s, s.phases() == [REST, DISCHARGE] and s.alarms() == [] and not s.reading.humidity_ok


def every_crc():
    s = lost("house", "crc", DRY)
    return s, s.phases() == [REST, DISCHARGE, BLIND]


def one_crc():
    s = Scene(wiring=DRY)
    s.at(150, s.fault, "house", "crc")
    s.at(151, s.fault, "house", "")
    s.run(300)
    return s, s.phases() == [REST, DISCHARGE] and s.alarms() == []


def power_on_value():
    s = Scene(wiring=DRY)
    s.set(house=12)
    s.at(100, s.fault, "house", "85")
    s.run(125)
    return s, s.phases() == [REST] and s.reading.house_centi_c == 1200


def true_85():
    s = Scene(wiring=DRY)
    s.set(house=12)
    s.at(100, lambda: s.set(house=85))
    s.run(180)
    return s, CHARGE not in s.phases() and not s.reading.house_ok


def stuck():
    s = Scene()
    s.at(6000, s.world.set_air, 900, 850)
    s.run(11000)
    return s, "stuck" in s.alarms() and not s.reading.house_probe_ok and s.reading.house_centi_c == 900


def short_jump():
    s = Scene(wiring=DRY)
    s.set(house=12)
    s.at(150, lambda: s.set(house=25))
    s.at(170, lambda: s.set(house=12))
    s.run(300)
    return s, s.phases() == [REST] and s.alarms() == []


def standing_jump():
    s = Scene({"lost_after_s": 60}, DRY)
    s.set(house=12)
    s.at(150, lambda: s.set(house=25))
    s.run(300)
    start = [second for second, phase, _ in s.states if phase == CHARGE]
    return s, len(start) == 1 and 180 <= start[0] <= 184


def half_an_answer():
    s = lost("house", "half", DRY)
    return s, s.phases() == [REST, DISCHARGE, BLIND]


def driver_raises():
    s = lost("house", "driver", DRY)
    return s, s.ends == ["end"] and s.phases() == [REST, DISCHARGE, BLIND]


def shorted_bus():
    s = Scene(wiring=DRY)
    s.at(150, setattr, s.world, "bus_fault", "short")
    s.at(300, setattr, s.world, "bus_fault", "")
    s.run(500)
    return s, s.phases() == [REST, DISCHARGE, BLIND, DISCHARGE] and s.alarms() == []


def silent_bus():
    s = Scene(wiring=DRY)
    s.at(150, setattr, s.world, "bus_fault", "raise")
    s.run(400)
    return s, s.ends == ["end"] and s.phases() == [REST, DISCHARGE, BLIND] and "soil-lost" in s.alarms()


def all_zero_page():
    s = lost("house", "zeros", DRY)
    return s, s.phases() == [REST, DISCHARGE, BLIND]


def another_probe():
    from world import Probe, serial

    s = Scene(wiring=DRY)
    fresh = Probe(serial(9))
    fresh.counts = 6 * 16
    s.at(100, s.world.probes.pop, s.probes["house"].serial)
    s.at(100, s.world.probes.__setitem__, fresh.serial, fresh)
    s.ask(200, "find")
    s.ask(205, "find")
    s.at(230, setattr, fresh, "counts", 9 * 16)
    s.ask(240, "find")
    import binascii

    s.ask(250, "roles house " + binascii.hexlify(fresh.serial).decode())
    s.run(400)
    named = binascii.hexlify(fresh.serial).decode() + " 9.00 C, 3.00 C since the search began <- warmed, role none"
    return s, named in s.text() and s.reading.house_probe_ok and s.reading.house_centi_c == 900 and s.alarms() == []


def i2c_hang():
    s = Scene()
    s.at(150, setattr, s.world, "i2c_fault", "hang")
    s.run(400)
    ok = s.ends == ["end"] and s.phases() == [REST, DISCHARGE] and s.world.longest_feed_ms < 1200
    return s, ok and not s.reading.humidity_ok


def i2c_back():
    s = Scene()
    s.at(150, setattr, s.world, "i2c_fault", "hang")
    s.at(300, setattr, s.world, "i2c_fault", "")
    s.run(310)
    return s, s.reading.humidity_ok and s.reading.humidity_deci_pct == 850


def i2c_locked():
    s = Scene({"blind_run_s": 600})
    s.set(house=1, soil=1)
    s.at(200, setattr, s.world, "i2c_fault", "lock")
    s.run(2600)
    ok = s.ends == ["watchdog"] * 3 + ["end"] and s.heater[198] and not s.on_s(s.heater, 210)
    return s, ok and s.alarm[1000] and s.on_s(s.fan, 300) >= 600


def i2c_not_there():
    s = Scene()
    s.world.i2c_fault = "none"
    s.run(200)
    return s, s.ends == ["end"] and s.phases() == [REST, DISCHARGE]


def humidity_crc():
    s = Scene()
    s.at(150, setattr, s.world, "i2c_fault", "crc")
    s.run(300)
    return s, s.phases() == [REST, DISCHARGE] and not s.reading.humid_air_ok


def probes_differ():
    s = Scene()
    s.at(100, s.world.set_air, 950, 850)
    s.run(2300)
    return s, s.alarms() == ["probes-differ"] and s.alarm[2290]


CASES = (
    ("house probe pulled off", "the humidity probe stands in, discharge goes on, alarm", house_with_stand_in),
    ("house probe pulled off, none stands in", "BLIND with the fan on, heater off, alarm", house_alone),
    ("house probe lost while charging", "the fan stops", house_lost_while_charging),
    ("house probe back", "DISCHARGE again within 3 s, alarms end", house_back),
    ("house probe lost while the heater is on", "heater off within lost_after_s", heater_and_lost_house),
    ("soil probe pulled off", "the house decides alone, alarm", soil),
    ("outlet probe pulled off", "nothing changes", outlet),
    ("outside probe pulled off", "nothing changes", outside),
    ("humidity probe pulled off", "nothing changes but the humidity", humidity),
    ("CRC wrong in every reading", "like a probe pulled off", every_crc),
    ("CRC wrong once", "nothing changes", one_crc),
    ("85.00 after a brown-out of the probe", "not believed, no charging", power_on_value),
    ("85.00 as a reading", "out of range: lost, no charging", true_85),
    ("house reading stuck while the air moves", "alarm; lost after 3 h, the humidity probe stands in", stuck),
    ("reading jumps for 20 s", "not believed", short_jump),
    ("reading jumps and stays", "believed after 30 s", standing_jump),
    ("pulled off in the middle of an answer", "like a probe pulled off", half_an_answer),
    ("driver raises a plain Exception", "like a probe pulled off", driver_raises),
    ("1-wire shorted, then mended", "BLIND, then DISCHARGE again", shorted_bus),
    ("1-wire silent", "BLIND, alarms", silent_bus),
    ("all zeros in the answer", "not believed though the CRC fits", all_zero_page),
    ("probe replaced by another", "find tells it, roles takes it, no restart", another_probe),
    ("I2C hangs at every word", "humidity lost, the loop keeps its second", i2c_hang),
    ("I2C mended", "humidity back within 10 s", i2c_back),
    ("I2C blocks for ever, heater on", "watchdog, pins float, then the safe loop runs the fan", i2c_locked),
    ("I2C cannot be opened", "control goes on", i2c_not_there),
    ("humidity CRC wrong", "humidity lost", humidity_crc),
    ("house and humidity probe 3 K apart", "alarm after 30 min", probes_differ),
)
