"""Logs made in memory for tests: the shape of tuner.logs.Log, every value in the test's own hand."""

from types import SimpleNamespace

import numpy as np
import pandas as pd

COLUMNS = ("house", "soil", "outlet", "outside", "humidity")


def made_log(house, start="2026-01-10", step_s=60, times=None, restarts=(), **columns):
    """Return a log with these temperatures and whatever other columns are given; the rest is unknown or off.

    house : sequence of float, degrees C. start : UTC unless it says otherwise.
    times : DatetimeIndex, in place of start and step_s.
    """
    count = len(house)
    if times is None:
        times = pd.date_range(start, periods=count, freq=f"{step_s}s")
    times = times if times.tz is not None else times.tz_localize("UTC")
    frame = pd.DataFrame({"house": np.asarray(house, dtype=float)}, index=pd.DatetimeIndex(times, name="time"))
    for name in COLUMNS[1:]:
        frame[name] = np.nan
    for name in ("fan_pct", "fan_s", "heater", "vent"):
        frame[name] = 0.0
    for name in ("phase", "reason", "alarms"):
        frame[name] = ""
    for name, values in columns.items():
        frame[name] = values
    return SimpleNamespace(frame=frame, restarts=pd.DatetimeIndex(list(restarts), tz="UTC"))


def wave(count, step_s=60, mean=10.0, swing=12.0, noise=0.05, seed=3):
    """Return a house temperature that swings once a day, coldest at 0 h, with noise. shape (count,), degrees C."""
    day = np.arange(count) * step_s / 86400.0 * 2 * np.pi
    return mean - swing * np.cos(day) + np.random.default_rng(seed).normal(0, noise, count)
