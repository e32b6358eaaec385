"""Memory and time of the firmware alone. Arguments: repository, flash image. Prints one line of JSON.

The rig's own objects are counted before the firmware is loaded and left out. Objects here are twice as long as on a
32-bit board.
"""

import gc
import json
import sys
import time as real_time

HERE = sys.argv[1]
sys.path.insert(0, HERE + "/tests/rig/inner")
ticks_us, ticks_diff = real_time.ticks_us, real_time.ticks_diff

import stage  # noqa: E402

rig = stage.board(HERE, {"discharge_below_c": 7}, blocks=352, path=sys.argv[2])
world = rig.world
from weather import House  # noqa: E402

house = House(world, (stage.FAN, stage.HEATER, stage.VENT), rig.serials)
house.second(world)
found = {"after_s": {}, "peak": 0}
gc.collect()
before = gc.mem_alloc()
marks = []


def second(now):
    """Note the memory of the firmware, and the time that its seconds take."""
    house.second(now)
    s = now.ms // 1000
    if s in (20, 3900, 7800):
        found["peak"] = max(found["peak"], gc.mem_alloc() - before)  # with the second's garbage
        gc.collect()
        found["after_s"][str(s)] = gc.mem_alloc() - before
    if s in (1000, 3000):
        marks.append(ticks_us())
    if s == 5000:
        rig.ask("settings")
        rig.ask("state")


world.on_second = second
rig.run(8000)
found["us_per_second"] = ticks_diff(marks[1], marks[0]) / 2000
import os  # noqa: E402

rig.mount_again()
paths = ["/a/controller/" + f + "/" + n for f in ("core", "board") for n in os.listdir("/a/controller/" + f)]
found["slot_bytes"] = sum([os.stat(path)[6] for path in paths])
stat = os.statvfs("/")
found["flash_blocks_used"] = stat[2] - stat[3]
rig.install("b")
stat = os.statvfs("/")
found["flash_blocks_both_slots"] = stat[2] - stat[3]
print(json.dumps(found))
