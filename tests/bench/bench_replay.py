"""The decision loop: compiled against plain CPython, for a week and for a year of 1-min rows."""

import numpy as np

from controller.core.rows import defaults
from tests.bench.timing import Measure, best_s, per_row
from tests.tools.made_logs import made_log, wave
from tuner import core_numba, logged, replay

WEEK, YEAR = 7 * 1440, 525_600


def columns(count):
    """Inputs of a log that swings daily and weekly, humidity and all probes there, and empty Outputs."""
    house = wave(count, mean=11, swing=11) + 3 * np.sin(np.arange(count) / 1600)
    log = made_log(house, soil=13.0, outlet=house * 0.3 + 9, outside=house - 6, humidity=85.0)
    return log, replay.inputs(log)


def outputs(count):
    return replay.Outputs(*(np.zeros(count, dtype=np.int64) for _ in replay.Outputs._fields))


def measures():
    chosen = defaults()
    _, week = columns(WEEK)
    out = outputs(WEEK)
    plain_rows = replay.Inputs(*(column.tolist() for column in week))
    plain_out = replay.Outputs(*([0] * WEEK for _ in replay.Outputs._fields))
    plain = best_s(lambda: replay.walk(chosen, plain_rows, plain_out), goes=3, warm=False)
    yield Measure("decisions, open loop, a week, plain CPython", per_row(plain, WEEK))
    if not core_numba.HAVE_NUMBA:
        yield Measure("decisions, open loop, compiled", "numba is not installed")
        return
    fast = best_s(lambda: replay.fast_walk(chosen, week, out))
    yield Measure("decisions, open loop, a week, compiled", per_row(fast, WEEK))
    yield Measure("compiled against plain, the same rows", f"{plain / fast:.0f} times", "100 times or more")
    log, year = columns(YEAR)
    out = outputs(YEAR)
    fast_year = best_s(lambda: replay.fast_walk(chosen, year, out), goes=3)
    yield Measure("decisions, open loop, a year, compiled", f"{fast_year:.3f} s")
    yield Measure(
        "a row of a year against a row of a week", f"{fast_year / YEAR / (fast / WEEK):.2f} times", "linear: 1"
    )
    yield Measure("a year of log words and floats to the core's ints", f"{best_s(lambda: replay.inputs(log), 3):.3f} s")
    yield Measure("a year of log as a run", f"{best_s(lambda: logged.as_logged(log), 3):.3f} s")
