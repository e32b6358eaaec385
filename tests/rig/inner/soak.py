"""The whole firmware for days of simulated time. Arguments: repository, work folder, days, calm, busy or fed,
and, if it shall not be a second, how many of them one turn of the firmware's loop takes.

Writes seconds.bin (stage.Record), console.txt (what the console said) and flash.img to the work folder, and prints one
line of JSON.
"busy": probes come and go, the switch is moved, hosts talk. "fed": the readings come from feed.bin (weather.Fed).
"""

import gc
import json
import sys

HERE, WORK, DAYS, KIND = sys.argv[1], sys.argv[2], float(sys.argv[3]), sys.argv[4]
sys.path.insert(0, HERE + "/tests/rig/inner")

import stage  # noqa: E402
from harness import HOST  # noqa: E402

SETTINGS = {
    "discharge_below_c": 7, "charge_above_c": 18, "heater_fitted": 1, "heat_below_c": 1.5, "vent_fitted": 1,
    "vent_above_c": 24, "frost_guard_c": 2, "humid_charge_pct": 85, "humid_charge_above_c": 14,
}  # fmt: skip
rig = stage.board(HERE, SETTINGS, {"readback_fitted": 1}, path=WORK + "/flash.img")
world = rig.world
world.least_sleep_ms = int(sys.argv[5]) * 1000 if len(sys.argv) > 5 else 0
world.first_ticks = (1 << 30) - 1_800_000  # the counter wraps half an hour after power-up

from weather import Fed, House  # noqa: E402

if KIND == "fed":
    house = Fed(world, rig.serials, HOST + WORK + "/feed.bin")
else:
    house = House(world, (stage.FAN, stage.HEATER, stage.VENT), rig.serials)
house.second(world)
record = stage.Record(WORK + "/seconds.bin")
said = open(HOST + WORK + "/console.txt", "wb")
world.port.sink = said
heap = []
both = starts = 0
fan_before = 0


def second(now):
    """Everything outside the board, once a second."""
    global both, starts, fan_before
    rig.tap(record.seen)
    house.second(now)
    fan = now.outs.get(stage.FAN, 0)
    starts += fan and not fan_before
    fan_before = fan
    both += now.outs.get(stage.HEATER, 0) and now.outs.get(stage.VENT, 0)
    now.ins[stage.READBACK] = 1 - fan if now.ins.get(stage.HAND_ON, 1) else 0
    s = now.ms // 1000
    if s == 30:
        rig.ask("clock 2026-01-10T00:00:30Z")
    if s % 3600 == 1800:
        rig.ask("status")
    if s % 86400 == 86000:
        rig.ask("state")
    if KIND == "busy":
        trouble(now, s)
    if s % 86400 == 7200:
        gc.collect()
        heap.append(gc.mem_alloc())


def trouble(now, s):
    """Probes, switch and hosts of a busy house."""
    minute = s // 60
    for i in range(4):
        probe = now.probes[rig.serials[i]]
        turn = (minute * 7 + i * 61) % 397
        probe.fault = ("gone", "crc", "zeros", "85", "half")[(minute // 397) % 5] if turn < 9 else ""
    now.i2c_fault = ("gone", "hang", "crc")[minute // 311 % 3] if minute % 311 < 7 else ""
    if s % 40 == 0:
        now.ins[stage.HAND_ON] = 0 if 300 <= minute % 2903 < 320 else 1
        now.ins[stage.HAND_OFF] = 0 if 600 <= minute % 2903 < 640 else 1
    if s % 1733 == 0:
        now.port.send(b"\x00\xff\x07garbage\xf0\x9f\n@journal*1234\n" + b"x" * 3000 + b"\n")
    if s % 86400 == 50000:
        for line in ("trial 3", "find", "units F", "settings", "selfcheck", "set min_run_s 240", "save"):
            rig.ask(line)


world.on_second = second
ends = rig.run(DAYS * 86400)
record.close()
# Read the journal as a host would: the board starts once more and sends it.
world.on_second = None
rig.reset(power=True)
world.until_ms = world.ms + 1_500_000
rig.ask("journal")
rig.ask("send")
rig.ask("events")
ends.append(rig.boot())
said.close()
report = {
    "ends": [str(end) for end in ends], "heap": heap, "feeds": world.feeds, "both": both, "starts": starts,
    "longest_feed_ms": world.longest_feed_ms, "erases": sum(rig.nor.erased), "most_erased": max(rig.nor.erased),
    "programs": rig.nor.programs, "seconds": world.ms // 1000, "house": house.house, "soil": house.soil,
}  # fmt: skip
print(json.dumps(report))
