"""Faults of what is on flash, and of the clock. Each case returns (scene, whether all was as it must be)."""

import json
import os

from scene import Scene

REST, CHARGE, DISCHARGE, BLIND = 0, 1, 2, 3


def damage(path, data=b"\x00\xff\xfe{{{ no json"):
    """Write bytes that are of no use."""
    with open(path, "wb") as file:
        file.write(data)


def fill():
    """Fill the flash up: its blocks, then the room that the journal's folder has for small files."""
    try:
        with open("/junk", "wb") as file:
            while True:
                file.write(b"x" * 4096)
                file.flush()
    except OSError:
        pass
    try:
        for i in range(100):
            damage("/journal/j%d" % i, b"x" * 200)
    except OSError:
        pass


def empty():
    """Take back what fill() did."""
    os.remove("/junk")
    for name in os.listdir("/journal"):
        if name[0] == "j":
            os.remove("/journal/" + name)


def full_flash():
    s = Scene()
    s.at(100, fill)
    s.ask(3970, "journal")
    s.run(4000)
    return s, s.ends == ["end"] and s.phases() == [REST, DISCHARGE] and s.alarm[-1] and "66 rows not yet" in s.text()


def full_then_room():
    s = Scene()
    s.at(100, fill)
    s.at(4100, empty)
    s.ask(4500, "journal")
    s.run(4510)
    return s, "not yet written" in s.text() and "1: " in s.text() and not s.alarm[-1]


def dead_flash():
    s = Scene()
    s.at(100, setattr, s.rig.nor, "broken", True)
    s.ask(3750, "faults")
    s.ask(3760, "save")
    s.run(3800)
    ok = s.ends == ["end"] and s.phases() == [REST, DISCHARGE] and "journal: The journal cannot be written" in s.text()
    s.rig.nor.broken = False
    return s, ok and "error not written" in s.text() and s.alarm[-1]


def settings_copy():
    s = Scene()
    with open("/data/settings.json") as file:
        good = file.read()
    damage("/data/settings.copy", good.encode())
    damage("/data/settings.json")
    s.ask(20, "faults")
    s.run(200)
    return s, s.settings.min_rest_s == 60 and "settings-file" in s.text() and s.alarm[-1]


def settings_both():
    s = Scene()
    damage("/data/settings.json")
    damage("/data/settings.copy")
    s.ask(20, "faults")
    s.run(100)
    return s, s.ends == ["end"] and s.settings.min_rest_s == 300 and "settings-file" in s.text() and s.alarm[-1]


def settings_missing():
    s = Scene()
    os.remove("/data/settings.json")
    s.run(100)
    return s, s.settings.min_rest_s == 300 and not s.alarm[-1]


def settings_contradict():
    s = Scene()
    s.put("settings", {"charge_above_c": 10, "discharge_below_c": 9})
    s.ask(20, "faults")
    s.run(100)
    words = "charge_above_c - charge_band_c must be at least 3 above discharge_below_c + discharge_band_c"
    return s, s.settings.charge_above_centi_c == 2400 and words in s.text()


def settings_deep():
    s = Scene()
    damage("/data/settings.json", b"[" * 3000)
    s.run(100)
    return s, s.ends == ["end"] and s.settings.min_rest_s == 300 and s.alarm[-1]


def settings_list():
    s = Scene()
    s.put("settings", [1, 2])
    s.put("roles", {"house": {"serial": 5, "offset_c": "warm"}})
    s.put("wiring", {"fan": ["pwm"]})
    s.run(400)
    return s, s.ends == ["end"] and s.alarm[-1]


def roles_bad():
    s = Scene(wiring={"humidity": "none"})
    damage("/data/roles.json")
    s.ask(20, "faults")
    s.run(400)
    return s, BLIND in s.phases() and "roles-file" in s.text() and s.alarm[-1]


def roles_unknown():
    s = Scene()
    with open("/data/roles.json") as file:
        roles = json.loads(file.read())
    roles["greenhous"] = roles.pop("house")
    s.put("roles", roles)
    s.ask(20, "faults")
    s.run(60)
    return s, '"greenhous" is no role' in s.text() and s.alarm[-1]


def wiring_bad():
    s = Scene()
    damage("/data/wiring.json")
    s.ask(20, "faults")
    s.run(200)
    return s, s.ends == ["end"] and DISCHARGE in s.phases() and "wiring-file" in s.text() and s.alarm[-1]


def counters_bad():
    s = Scene()
    damage("/data/counters.json")
    s.ask(20, "counters")
    s.run(200)
    return s, s.phases() == [REST, DISCHARGE] and "ok starts 0" in s.text() and not s.alarm[-1]


def journal_bad():
    s = Scene()

    def spoil():
        with open("/journal/000001.log", "rb") as file:
            data = bytearray(file.read())
        for i in range(40, 60):
            data[i] ^= 0x55
        damage("/journal/000001.log", bytes(data))

    s.at(10900, spoil)
    s.ask(10910, "send")
    s.run(11000)
    tail = s.text().split("ok ")[-1]
    return s, tail.startswith("2 blocks, ") and " 0 spoilt" not in tail and s.ends == ["end"]


def journal_garbage():
    s = Scene()
    os.mkdir("/journal")
    damage("/journal/000001.log", bytes(range(256)) * 8)
    damage("/journal/weird name")
    s.ask(3700, "send")
    s.run(3760)
    return s, "ok 1 blocks, 2048 spoilt bytes" in s.text() and s.ends == ["end"]


def journal_not_a_folder():
    s = Scene()
    damage("/journal")
    s.ask(3650, "journal")
    s.ask(3660, "events")
    s.run(3700)
    return s, s.ends == ["end"] and s.phases() == [REST, DISCHARGE] and s.alarm[-1]


def events_bad():
    s = Scene()
    os.mkdir("/journal")
    damage("/journal/events.txt", b"\xff\xfe\x00" * 300)
    s.ask(20, "events")
    s.run(60)
    return s, "start of slot a: power-on" in s.text() and s.ends == ["end"]


def clock_unset():
    s = Scene()
    s.ask(20, "status")
    s.run(3700)
    return s, "Clock not set" in s.text() and s.phases() == [REST, DISCHARGE] and not s.alarm[-1]


def clock_jumps():
    def scene(jump):
        s = Scene()
        s.at(400, lambda: s.set(house=9))
        s.at(900, lambda: s.set(house=6))
        if jump:
            s.ask(50, "clock 2026-01-10T00:00:00Z")
            s.ask(300, "clock 2036-01-10T00:00:00Z")
            s.ask(600, "clock 2025-01-01T00:00:00Z")
            s.ask(700, "clock 1999-01-01T00:00:00Z")
        s.run(1500)
        return s

    plain = scene(False).states
    s = scene(True)
    return s, s.states == plain and "error 1999-01-01T00:00:00Z is no time" in s.text()


def clock_through_reset():
    s = Scene()
    s.ask(50, "clock 2026-01-10T00:00:50Z")
    s.at(200, s.world.stop, "watchdog")
    s.ask(300, "clock")
    s.run(400)
    now = s.text().split("ok clock ")[-1][:20]
    return s, "2026-01-10T00:04:45Z" <= now <= "2026-01-10T00:05:01Z"


CASES = (
    ("flash full", "control goes on, rows kept in memory, alarm", full_flash),
    ("flash full, then room", "the rows are written, the alarm ends", full_then_room),
    ("flash refuses every write", "control goes on, alarm, save says so", dead_flash),
    ("settings.json spoilt, its copy whole", "the copy counts, alarm", settings_copy),
    ("settings.json and copy spoilt", "built-in settings, alarm", settings_both),
    ("settings.json missing", "built-in settings, no alarm", settings_missing),
    ("settings.json contradicts itself", "refused whole in the core's words, alarm", settings_contradict),
    ("settings.json nested without end", "built-in settings, alarm", settings_deep),
    ("settings, roles and wiring of wrong kinds", "built-in values, alarm", settings_list),
    ("roles.json spoilt", "no probe is read: BLIND, alarm", roles_bad),
    ("roles.json names no such role", "told with the nearest, alarm", roles_unknown),
    ("wiring.json spoilt", "built-in wiring, alarm", wiring_bad),
    ("counters.json spoilt", "counted from 0, nothing else", counters_bad),
    ("journal spoilt in the middle", "the block is skipped and counted, the others come", journal_bad),
    ("journal file of garbage", "skipped and counted, new rows are added after it", journal_garbage),
    ("journal folder is a file", "control goes on, alarm", journal_not_a_folder),
    ("events file spoilt", "the console still answers", events_bad),
    ("clock never set", "normal: rows without time, no alarm", clock_unset),
    ("clock jumps ten years, and back", "same decisions to the second; a wrong one refused", clock_jumps),
    ("clock and a watchdog reset", "kept within 15 s", clock_through_reset),
)
