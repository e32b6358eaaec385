"""Small invented logs and sites for the tests of cost."""

import numpy as np
import pandas as pd

from tuner import logged
from tuner.logs import Log
from tuner.site import site_from_tree

NUMBERS = ("house", "soil", "outlet", "outside", "humidity", "fan_pct", "fan_s", "heater", "vent")
WORDS = ("phase", "reason", "alarms")


def make_site(energy=None, fan=None, zone="UTC", **place):
    """A Site that passed site.toml's own checks: 60 W, 0.30 a kWh unless said otherwise."""
    tree = {
        "site": {"time_zone": zone, **place},
        "needs": {"frost_floor_c": 2, "hot_limit_c": 35},
        "fan": {"watts": 60} | (fan or {}),
        "energy": energy or {"price_per_kwh": 0.30},
    }
    site, faults = site_from_tree(tree)
    assert site is not None, faults
    return site


def make_log(start, step_s, fan_s=None, fan_pct=None, times=None, **columns):
    """A Log of rows step_s apart from start, or at times. Columns not given are NaN, words empty.

    fan_s alone: the fan is on at a row if it ran all the time since the row before.
    """
    count = len(fan_s if fan_s is not None else fan_pct)
    index = pd.date_range(start, periods=count, freq=f"{step_s}s", tz="UTC", name="time") if times is None else times
    if fan_pct is None:
        fan_pct = np.where(np.asarray(fan_s) >= step_s, 100.0, 0.0)
    given = {"fan_s": fan_s, "fan_pct": fan_pct, **columns}
    data = {}
    for name in NUMBERS:
        values = given.pop(name, None)
        data[name] = np.full(count, np.nan) if values is None else np.broadcast_to(np.asarray(values, float), (count,))
    for name in WORDS:
        words = given.pop(name, None)
        data[name] = pd.Categorical([""] * count if words is None else list(words))
    data |= {name: np.asarray(values, float) for name, values in given.items()}
    units = {} if fan_s is None else {"fan_s": "s"}
    return Log(pd.DataFrame(data, index=index), float(step_s), [], index[:0], units=units)


def part_of(log, first, after):
    """The rows from first to after (not included) as a Log of its own."""
    frame = log.frame.iloc[first:after]
    return Log(frame, log.step_s, [], frame.index[:0], units=log.units)


def run_of(log):
    return logged.as_logged(log)
