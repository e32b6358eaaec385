"""Picking settings: many tries over plausible houses and weathers, on one core and on two; the whole tune; the demo."""

import os
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

from controller.core.rows import defaults
from tests.bench.bench_fit import WEEK, demo_log
from tests.bench.timing import ROOT, Measure, process_s
from tuner import fit, space, trials, tuning, weathers

SETTINGS, SAMPLE = 2000, 60  # asked for; tried here, each on every house and weather, and scaled up
CORES = 2


def some_settings(made, count):
    """Return so many different Settings from all over the space."""
    rng = np.random.default_rng(1)
    found = {}
    while len(found) < count:
        one = made.settings(rng.integers(made.lows, made.highs + 1))
        if one is not None:
            found[one] = None
    return list(found)


def whole_week(learned):
    """Return three weathers, each over the whole week: as logged, colder, dull."""
    made = weathers.weathers(learned)[:3]
    return [replace(one, parts=made[0].parts) for one in made]


def tried_s(trial, chosen):
    """Return the time of trying some settings on every house and weather. [s]"""
    began = time.perf_counter()
    trials.run(trial, chosen)
    return time.perf_counter() - began


def measures():
    log, site = demo_log()
    learned = fit.fit(replace(log, frame=log.frame.iloc[:WEEK]), site, hold_out=False)
    houses = len(learned.plausible)
    chosen = some_settings(space.space(site, defaults()), SAMPLE)
    runs = SAMPLE * houses * 3
    took = {}
    for workers in (1, CORES):
        trial = trials.trials(learned, whole_week(learned), houses, workers)
        trials.run(trial, chosen[:2])
        took[workers] = min(tried_s(trial, chosen) for _ in range(2))
        scaled = took[workers] * SETTINGS / SAMPLE
        yield Measure(
            f"{SETTINGS} settings x {houses} houses x 3 weathers x a week, {workers} cores, from {SAMPLE}",
            f"{scaled:.0f} s; {1e9 * took[workers] * workers / (runs * WEEK):.0f} ns a row and core",
            "30 s" if workers == CORES else "",
        )
    yield Measure("two cores against one", f"{took[1] / took[CORES]:.2f} times", "2 times")
    for tries in (300, SETTINGS):
        began = time.perf_counter()
        tuned = tuning.tune(learned, tries=tries, workers=CORES)
        word = f"{len(tuned.screened.sums)} on {len(tuned.screened.draws)}, {len(tuned.known)} on {houses}"
        yield Measure(f"tune, {tries} tries asked, {CORES} cores: settings on houses: {word}",
                      f"{time.perf_counter() - began:.1f} s", "30 s")  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        words = ["-m", "tuner", "demo", "--out", str(Path(folder) / "out")]
        yield Measure("demo, whole, compiled before", f"{process_s(words, goes=1):.1f} s", "20 s")
        fresh = {**os.environ, "NUMBA_CACHE_DIR": str(Path(folder) / "cache")}
        began = time.perf_counter()
        subprocess.run([sys.executable, *words], cwd=ROOT, check=True, capture_output=True, env=fresh)
        yield Measure("demo, whole, first run, compiling", f"{time.perf_counter() - began:.1f} s", "40 s")
