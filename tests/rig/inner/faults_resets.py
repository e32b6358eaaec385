"""Resets, faults of the program, and the two slots. Each case returns (scene, whether all was as it must be)."""

import sys

import stage
from harness import write
from scene import Scene

REST, CHARGE, DISCHARGE, BLIND = 0, 1, 2, 3
COLD = {"frost_guard_c": -2, "frost_alarm_c": -1}


def at_start(scene, within_s, why):
    """Stop the chip so many seconds after each start of the fan."""
    marks = [0, 0]

    def every(s):
        fan = scene.fan[-1]
        if fan and not marks[0]:
            marks[1] = s
        marks[0] = fan
        if fan and s - marks[1] == within_s:
            scene.world.stop(why)

    scene.every = every


def power_ons():
    s = Scene()
    for i in range(1, 7):
        s.at(40 * i, s.world.stop, "power")
    s.ask(300, "status")
    s.run(400)
    return s, s.ends.count("power") == 6 and "SAFE" not in s.text() and s.fan[-1]


def three_resets():
    s = Scene()
    s.set(house=1, soil=1)
    for t in (300, 600, 900):
        s.at(t, s.world.stop, "watchdog")
    s.ask(950, "status")
    s.ask(960, "faults")
    s.run(4500)
    ran = s.on_s(s.fan, 905)
    ok = "SAFE LOOP" in s.text() and not s.on_s(s.heater, 905) and not s.on_s(s.vent, 905)
    first = s.first(s.fan, 1, 905)
    return s, ok and all(s.alarm[902:]) and 1199 <= first <= 1206 and 1150 <= ran <= 1210


def two_resets_are_not_enough():
    s = Scene()
    for t in (300, 600):
        s.at(t, s.world.stop, "watchdog")
    s.ask(700, "status")
    s.run(800)
    return s, "SAFE" not in s.text() and s.fan[-1]


def three_resets_far_apart():
    s = Scene()
    for t in (300, 1500, 2700):
        s.at(t, s.world.stop, "watchdog")
    s.ask(2800, "status")
    s.run(2900)
    return s, "SAFE" not in s.text() and s.fan[-1]


def start_kills():
    s = Scene()
    at_start(s, 3, "watchdog")
    s.run(20000)
    safe_from = 240
    starts = s.ends.count("watchdog")
    late = starts - 3
    # In the safe loop: rests of 300, then 3600, 7200, 7200: 3 more starts in 20000 s.
    return s, 2 <= late <= 4 and s.on_s(s.fan, safe_from) < 30 and s.alarm[-1]


def start_kills_power():
    s = Scene({"min_rest_s": 300})
    at_start(s, 3, "power")
    s.run(3700)
    starts = s.ends.count("power")
    return s, 10 <= starts <= 12 and not s.on_s(s.heater)


def safe_loop_ends():
    s = Scene()
    for t in (300, 600, 900):
        s.at(t, s.world.stop, "watchdog")
    s.ask(44300, "status")
    s.ask(44310, "events")
    s.run(44400)
    return s, "discharge (cold)" in s.text() and "safe loop over" in s.text() and s.ends.count("reset") == 1


def break_core(scene, how):
    """Let the next decision of the running firmware fail."""
    decide = sys.modules["controller.core.decide"]
    if how == "raise":

        def step(s, state, r):
            raise RuntimeError("made by the test")

    elif how == "hang":

        def step(s, state, r):
            scene.world.advance(100_000)

    decide.step = step


def program_fault():
    s = Scene()
    s.set(house=1, soil=1)
    s.at(200, break_core, s, "raise")
    s.ask(260, "events")
    s.run(300)
    off = s.first(s.heater, 0, 195)
    ok = s.heater[195] and off <= 202 and "RuntimeError('made by the test'" in s.text()
    return s, ok and "a fault of the program" in s.text() and s.ends[-1] == "end" and len(s.ends) == 2


def loop_hangs():
    s = Scene()
    s.set(house=1, soil=1)
    s.at(200, break_core, s, "hang")
    s.run(230)
    return s, s.heater[198] and s.ends == ["watchdog", "end"] and s.first(s.heater, 0, 199) <= 211


def control_c():
    s = Scene()
    s.at(200, s.world.port.send, b"\x03")
    s.ask(260, "events")
    s.run(300)
    ok = s.fan[198] and s.first(s.fan, 0, 199) <= 202 and "stopped by Ctrl-C" in s.text()
    return s, ok and s.fan[-1] and len(s.ends) == 2


def control_c_noise():
    s = Scene()
    for i in range(4):
        s.at(100 + 20 * i, s.world.port.send, b"\x03\x03")
    s.ask(200, "status")
    s.run(600)
    return s, "SAFE LOOP" in s.text() and s.fan[-1]


def host_stop():
    s = Scene()
    s.ask(200, "stop")
    s.ask(260, "events")
    s.run(300)
    ok = "ok outputs are off" in s.text() and s.first(s.fan, 0, 199) <= 203 and "stopped by the host" in s.text()
    return s, ok and s.ends[0] == "returned"


def many_host_stops():
    s = Scene()
    for t in (100, 150, 200, 250):
        s.ask(t, "stop")
    s.ask(300, "status")
    s.run(330)
    return s, "SAFE" not in s.text() and s.ends[:4] == ["returned"] * 4


def restart_asked():
    s = Scene()
    s.ask(200, "restart")
    s.ask(220, "events")
    s.run(300)
    return s, s.ends == ["reset", "end"] and "restart asked for" in s.text() and s.fan[-1]


def events_in_bursts():
    s = Scene()
    for i in range(12):
        s.at(60 + 20 * i, s.world.stop, "watchdog")
    before = s.rig.nor.operations
    s.run(310)
    wear = s.rig.nor.operations - before
    s.ask(320, "events")
    s.world.until_ms = -1
    return s, wear <= 40


def second_slot(scene, version):
    scene.rig.install("b", version, live=False)


def does_not_import():
    s = Scene()
    second_slot(s, "9.9.9")
    with open("/a/controller/board/main.py", "a") as file:
        file.write("\nimport no_such_module\n")
    relist("a")
    s.ask(20, "version")
    s.ask(30, "faults")
    s.run(100)
    return s, "loamstat 9.9.9, slot b" in s.text() and "a: does not import" in s.text() and live() == "b"


def digest_wrong():
    s = Scene()
    second_slot(s, "9.9.9")
    with open("/a/controller/core/wants.py", "a") as file:
        file.write("# half an upload\n")
    s.ask(20, "faults")
    s.ask(30, "version")
    s.run(100)
    return s, "wants.py is not as sent" in s.text() and "slot b" in s.text() and live() == "b"


def digest_missing():
    import os

    s = Scene()
    second_slot(s, "9.9.9")
    os.remove("/a/digest.txt")
    s.ask(30, "version")
    s.run(100)
    return s, "slot b" in s.text() and live() == "b"


def new_version_dies():
    s = Scene()
    second_slot(s, "9.9.9")
    with open("/b/controller/board/main.py", "a") as file:
        file.write("\n\ndef loop(board):\n    raise RuntimeError('new and bad')\n")
    relist("b")
    write("/live.txt", "b\n")
    s.ask(90, "version")
    s.ask(100, "faults")
    s.run(200)
    return s, "slot a" in s.text() and "three times before ten minutes" in s.text() and live() == "a" and s.fan[-1]


def both_spoilt():
    s = Scene()
    second_slot(s, "9.9.9")
    for slot in ("a", "b"):
        with open("/" + slot + "/controller/core/wants.py", "a") as file:
            file.write("# a spoilt comment\n")
    s.ask(30, "faults")
    s.run(100)
    return s, s.fan[-1] and "neither slot is whole" in s.text()


def no_slot_imports():
    s = Scene()
    with open("/a/controller/board/main.py", "w") as file:
        file.write("this is no Python\n")
    s.run(100)
    return s, s.ends == ["end"] and not s.world.outs and not s.on_s(s.fan)


def live_spoilt():
    s = Scene()
    with open("/live.txt", "wb") as file:
        file.write(b"\xff\x00\x80")
    s.run(100)
    return s, s.fan[-1] and s.ends == ["end"]


def use_slot():
    s = Scene()
    second_slot(s, "9.9.9")
    s.ask(10, "slots")
    s.ask(20, "use b")
    s.ask(25, "restart")
    s.ask(60, "version")
    s.ask(70, "use c")
    s.run(80)
    return s, "loamstat 9.9.9, slot b" in s.text() and "b: tree" in s.text() and s.ends == ["reset", "end"]


def use_spoilt_slot():
    s = Scene()
    second_slot(s, "9.9.9")
    with open("/b/controller/core/wants.py", "w") as file:
        file.write("")
    s.ask(20, "use b")
    s.ask(25, "restart")
    s.ask(60, "version")
    s.run(80)
    return s, "error slot b is not whole: controller/core/wants.py" in s.text() and "slot a" in s.text()


def flag_ends_after_an_hour():
    s = Scene()
    s.at(100, s.world.stop, "watchdog")
    s.ask(150, "faults")
    s.run(3900)
    return s, "resets: " in s.text() and s.alarm[160] and not s.alarm[-1]


def pwm_off():
    s = Scene({"discharge_fan_pct": 40}, {"fan": "pwm"})
    s.at(200, break_core, s, "raise")
    duties = []
    s.at(199, lambda: duties.append(s.world.duty[stage.FAN]))
    s.at(205, lambda: duties.append(s.world.duty.get(stage.FAN, 0)))
    s.run(206)
    return s, duties == [65535 * 40 // 100, 0]


def live():
    """Return what live.txt says."""
    with open("/live.txt") as file:
        return file.read().strip()


def relist(slot):
    """Write the slot's digest.txt anew, as if it had been sent like this."""
    from harness import digest

    with open("/" + slot + "/digest.txt") as file:
        paths = [line.split(" ", 1)[1] for line in file.read().split("\n") if line]
    write("/" + slot + "/digest.txt", "\n".join([digest("/" + slot + "/" + p) + " " + p for p in paths]) + "\n")


CASES = (
    ("six power-ons in a row", "no fault: the ordinary loop", power_ons),
    ("three watchdog resets in 30 min", "safe loop: heater off, alarm, timed runs, console open", three_resets),
    ("two watchdog resets", "the ordinary loop", two_resets_are_not_enough),
    ("three watchdog resets 20 min apart", "the ordinary loop", three_resets_far_apart),
    ("every fan start resets, registers survive", "safe loop, rests doubling to 2 h", start_kills),
    ("every fan start is a brown-out, nothing survives", "at most one start each min_rest_s", start_kills_power),
    ("half a day in the safe loop", "the ordinary loop is tried again", safe_loop_ends),
    ("program fault with the heater on", "outputs off in that second, watchdog, told", program_fault),
    ("loop hangs with the heater on", "watchdog: pins float within 9 s", loop_hangs),
    ("Ctrl-C", "outputs off at once, back within 9 s, told", control_c),
    ("Ctrl-C in noise, again and again", "counts as a fault: safe loop, fan runs", control_c_noise),
    ("host says stop", "outputs off, told as intended", host_stop),
    ("host says stop four times", "no fault: the ordinary loop", many_host_stops),
    ("restart asked for", "outputs off, told as intended", restart_asked),
    ("twelve resets in four minutes", "flash is hardly written", events_in_bursts),
    ("live slot does not import", "the other runs, says so, becomes the live one", does_not_import),
    ("live slot's digest is wrong", "the other runs, says so", digest_wrong),
    ("live slot has no digest", "the other runs", digest_missing),
    ("new version dies three times", "the other slot runs, says so", new_version_dies),
    ("both slots' digests are wrong", "the live one runs all the same, alarm", both_spoilt),
    ("no slot imports", "no output is driven, the port stays open", no_slot_imports),
    ("live.txt spoilt", "slot a runs", live_spoilt),
    ("use b, restart", "slot b runs", use_slot),
    ("use of a slot that is not whole", "refused, the old one stays", use_spoilt_slot),
    ("one reset by itself", "alarm for an hour", flag_ends_after_an_hour),
    ("program fault with a PWM fan", "duty 0", pwm_off),
)
