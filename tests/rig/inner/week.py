"""A journal of some days on a flash image, a minute at a time: a simple house, decided by the core, logged by the
firmware's own journal. Arguments: repository, image, days, and "keep" to go on with the image that is there, under
the settings on it. Much faster than the whole firmware (soak.py).

Prints the number of rows.
"""

import math
import sys

HERE, PATH, DAYS = sys.argv[1], sys.argv[2], float(sys.argv[3])
sys.path.insert(0, HERE + "/tests/rig/inner")

import stage  # noqa: E402
from harness import HOST, make  # noqa: E402

SETTINGS = {"discharge_below_c": 6, "charge_above_c": 18, "frost_guard_c": 2}
rig = stage.board(HERE, SETTINGS, path=PATH, install="keep" not in sys.argv)
make("/journal")
sys.path.insert(0, HOST + HERE)

from controller.board import clock, journal, setup  # noqa: E402
from controller.core import decide, record, screen  # noqa: E402

chosen = setup.settings()[0]
DAY, MINUTES = clock.days_of(2026, 1, 10), int(DAYS * 1440)
kept = journal.Journal()
seen, state = screen.start(), decide.start(chosen)
house, soil, fan_s, noise = 8.0, 14.0, 0, 1
for minute in range(1, MINUTES + 1):
    hour = minute / 60 % 24
    day = minute / 1440
    outside = 2.0 + 5 * math.sin((hour - 9) / 12 * math.pi) - 3 * math.sin(day * 0.9)
    sun = max(math.sin((hour - 7) / 10 * math.pi), 0.0) if 7 < hour < 17 else 0.0
    sun *= 0.3 + 0.7 * (int(day) * 7 % 5) / 4
    fan = state.deciding.fan
    flow = 0.9 if fan else 0.0  # K per hour and K between soil and house
    house += ((outside - house) * 0.22 + sun * 6.5 + flow * (soil - house)) / 60
    soil += (flow * 0.08 * (house - soil) + (12.0 - soil) * 0.004) / 60
    noise = noise * 75 % 65537
    outlet = house + (0.7 * (soil - house) if fan else 0.0)
    values = [
        int((v * 16 + (noise >> 3 * i & 1)) // 1) * 625 // 100 for i, v in enumerate((house, soil, outlet, outside))
    ]
    raw = screen.Raw(60, *values, int(house * 100), 920 - int(250 * sun) + noise % 7, 0, 0, 0)
    if fan:
        fan_s = 60
    seen = screen.step(seen, raw)
    reading = screen.reading(chosen, seen, raw)
    state = decide.step(chosen, state, reading)
    second = minute * 60 % 86400
    row = record.row_of(
        DAY + minute // 1440, second, minute * 60, screen.logged(seen, reading), state.deciding,
        decide.fan_pct(chosen, state), fan_s, state.counters.reason, state.counters.alarms,
    )  # fmt: skip
    fan_s = 0
    kept.add(row)
    if kept.due() and not kept.flush():
        raise OSError(kept.fault)
rig.unmount()
print(MINUTES - kept.held)
