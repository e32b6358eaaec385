"""Learning a house, and replaying its log in closed loop: compiled against plain CPython."""

import gzip
import tempfile
from dataclasses import replace
from importlib import resources
from pathlib import Path

import numpy as np
import pandas as pd

from controller.core.rows import defaults
from tests.bench.timing import Measure, best_s, per_row
from tuner import closed_loop, core_numba, fit, logs, track
from tuner import site as sites

WEEK = 7 * 1440
DEMO = resources.files("tuner.demo")


def demo_log():
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        path.write_bytes(gzip.decompress(DEMO.joinpath("log.csv.gz").read_bytes()))
        site = sites.load_site(Path(str(DEMO.joinpath("site.toml"))))
        return logs.read_logs([path], site), site


def season(log, times):
    """The fortnight laid end to end so many times."""
    frame = pd.concat([log.frame] * times)
    frame.index = pd.date_range(log.frame.index[0], periods=len(frame), freq="60s", name="time")
    return replace(log, frame=frame)


def measures():
    log, site = demo_log()
    week = replace(log, frame=log.frame.iloc[:WEEK])
    took = best_s(lambda: fit.fit(week, site, hold_out=False), goes=3)
    yield Measure("fit, a week of 1-min rows, without hold-out", f"{took:.2f} s", "5 s")
    yield Measure("the same with hold-out", f"{best_s(lambda: fit.fit(week, site), goes=2):.2f} s", "5 s")
    learned = fit.fit(week, site)
    course, seen = learned.courses(0)[0], learned.seen(defaults(), 0)
    floats, ints = np.zeros((WEEK, 3)), np.zeros((WEEK, 8), np.int64)

    def walk(told, loop=closed_loop.walk, rows=WEEK):
        part = track.piece(course, slice(rows))
        loop(defaults(), part, seen[:rows], closed_loop.NO_MORE, told, np.zeros((1, 10)), floats, ints)

    fast = best_s(lambda: walk(False), goes=9)
    yield Measure("replay, decisions and house, a week, not told", per_row(fast, WEEK), "50 ns a row")
    yield Measure("replay, decisions and house, a week, told", per_row(best_s(lambda: walk(True), goes=9), WEEK))
    if core_numba.HAVE_NUMBA:
        rows = 500
        plain = best_s(lambda: walk(False, closed_loop.walk.py_func, rows), goes=1, warm=False)
        ratio = plain / rows / (fast / WEEK)
        yield Measure("compiled against plain, the same rows", f"{ratio:.0f} times", "100 times or more")
    long = season(log, 13)
    rows = len(long.frame)
    whole = best_s(lambda: fit.fit(long, site, hold_out=False), goes=1, warm=False)
    yield Measure(f"fit, a season of {rows} rows", f"{whole:.1f} s")
    share = whole / rows / (took / WEEK)
    yield Measure("a row of the season against a row of the week", f"{share:.2f} times", "linear: 1")
