"""The independent plant: seconds for a simulated fortnight, compiled and plain."""

import os
import subprocess
import sys
import time

from tests.bench.timing import ROOT, Measure, best_s
from tests.plant import HOUSES, WEATHERS, simulate
from tests.plant.jit import HAVE_NUMBA

HOUSE, WEATHER = HOUSES["tight and damp"], WEATHERS["hard winter"]
PLAIN_DAYS = 1 / 24
PLAIN = f"""
import time
from tests.plant import HOUSES, WEATHERS, simulate
house, weather = HOUSES["tight and damp"], WEATHERS["hard winter"]
simulate(house, weather, days={PLAIN_DAYS}, warmup_days=0, step_s=3600)
start = time.process_time()
simulate(house, weather, days={PLAIN_DAYS}, warmup_days=0, seed=2)
print(time.process_time() - start)
"""


def processor_s(function, goes=3):
    """The least processor time of a few goes: other programs on the machine do not count. [s]"""
    times = []
    for _ in range(goes):
        start = time.process_time()
        function()
        times.append(time.process_time() - start)
    return min(times)


def measures():
    if not HAVE_NUMBA:
        yield Measure("plant, compiled", "numba is not installed")
        return
    start = time.perf_counter()
    simulate(HOUSE, WEATHER, days=1, warmup_days=0)
    yield Measure("plant, first call (compiling, or loading what is kept)", f"{time.perf_counter() - start:.1f} s")
    simulate(HOUSE, WEATHER)  # warms up 21 days once; other settings start from there
    fortnight = best_s(lambda: simulate(HOUSE, WEATHER, {"discharge_below_c": 6}), goes=3)
    yield Measure("plant, a fortnight at 60 s, on the clock", f"{fortnight:.2f} s")
    fortnight = processor_s(lambda: simulate(HOUSE, WEATHER, {"discharge_below_c": 6}))
    yield Measure("plant, a fortnight at 60 s, processor time", f"{fortnight:.2f} s", "well under 1 s")
    each_second = best_s(lambda: simulate(HOUSE, WEATHER, days=1, step_s=1), goes=1)
    yield Measure("plant, a day at 1 s", f"{each_second:.2f} s")
    child = subprocess.run(
        [sys.executable, "-c", PLAIN], cwd=ROOT, env={**os.environ, "LOAMSTAT_PLAIN": "1"},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    plain = float(child.stdout) / PLAIN_DAYS * 14
    yield Measure("plant, a fortnight in plain CPython, from its first hour", f"{plain:.0f} s")
    yield Measure("compiled against plain", f"{plain / fortnight:.0f} times")
