"""Many settings files tried over plausible houses and weathers, on every core.

Lives here: what is tried, in which order, and how the results are kept. Threads share the work; each try is added up
by itself in a fixed order and nothing is reduced inside the threads, so their number changes no result.
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import numpy as np

from tuner import closed_loop, cost, fan_power, house, track, tryout
from tuner import weathers as making
from tuner.fit import Fit


@dataclass(frozen=True)
class Trials:
    """What settings are tried in. fit: tuner.fit.Fit; weathers: list; draws: numbers of the plausible houses.

    setting: [draw][weather] -> list of (weathers.Part, kicks, Account); nights: number of nights.
    """

    fit: Fit
    weathers: list
    draws: tuple
    setting: dict
    nights: int
    workers: int


def most_houses(fit, wanted=None):
    """Return how many plausible houses to try: fewer for a log so long that their courses would fill the memory."""
    rows = int(fit.grid.edges[-1])
    affordable = max(3, int(16 * 31 * 1440 // max(rows, 1)))
    return max(1, min(len(fit.plausible), affordable, wanted or len(fit.plausible)))


def trials(fit, weathers, draws, workers=None):
    """Return the Trials of some plausible houses; heavy tables are made here once.

    draws : int, the first so many of fit.plausible; workers : threads, None for all cores
    """
    import os

    names = making.night_of_rows(fit)
    index = making.row_times(fit)
    site = fit.grid.site
    price = cost.prices(index, site.energy, site.site.zone)
    watts = np.concatenate(([0.0], fan_power.running_watts(np.arange(1, 101), site.fan)))
    made = {}
    shared = {}
    for draw in range(draws):
        made[draw] = {}
        for weather in weathers:
            parts = []
            for part in making.parts(fit, weather, draw):
                key = (draw, part.rows.start, part.rows.stop)
                if key not in shared:
                    shared[key] = tryout.kicks(part.course)
                account = tryout.Account(
                    np.ascontiguousarray(names[part.rows]), np.ascontiguousarray(price[part.rows]), watts,
                    site.needs.frost_floor_c, site.needs.hot_limit_c, tryout.NO_HOLD,
                )  # fmt: skip
                parts.append((part, shared[key], account))
            made[draw][weather.name] = parts
    return Trials(fit, weathers, tuple(range(draws)), made, int(names.max()) + 1, workers or os.cpu_count() or 1)


def add_up(t, settings, weather, draw, out, account_of=None, fan=True):
    """Add one settings file in one weather and house into out, shape (buckets, tryout.COLUMNS).

    account_of : callable (weathers.Part, Account) -> Account, or None for sums by night; fan : False keeps it off
    """
    delta = np.zeros((1, house.STATES))
    for part, kick, account in t.setting[draw][weather.name]:
        delta[0] = part.entered(delta[0])
        seen = making.seen(t.fit, settings, weather, part)
        used = account if account_of is None else account_of(part, account)
        seen = seen if fan else closed_loop.hand_off(seen)
        tryout.try_out(settings, part.course, kick, seen, part.push, used, delta, out)


def run(t, candidates, draws=None):
    """Return the sums of every candidate, shape (candidates, houses, weathers, nights, tryout.COLUMNS).

    candidates : list of Settings; draws : numbers of houses, None for all of t
    """
    draws = t.draws if draws is None else draws
    out = np.zeros((len(candidates), len(draws), len(t.weathers), t.nights, tryout.COLUMNS))
    for one in {c.lost_after_s: c for c in candidates}.values():  # readings are made before threads share them
        for weather in t.weathers:
            for part, *_ in t.setting[draws[0]][weather.name]:
                making.seen(t.fit, one, weather, part)

    def work(i):
        for d, draw in enumerate(draws):
            for w, weather in enumerate(t.weathers):
                add_up(t, candidates[i], weather, draw, out[i, d, w])

    if t.workers == 1 or len(candidates) == 1:
        for i in range(len(candidates)):
            work(i)
        return out
    with ThreadPoolExecutor(t.workers) as pool:
        jobs = [pool.submit(work, i) for i in range(len(candidates))]
        try:
            for job in jobs:
                job.result()
        except BaseException:
            for job in jobs:
                job.cancel()
            raise
    return out


def idle(t, settings):
    """Return the sums were the fan never to run, shape (houses, weathers, nights, tryout.COLUMNS)."""
    out = np.zeros((len(t.draws), len(t.weathers), t.nights, tryout.COLUMNS))
    for d, draw in enumerate(t.draws):
        for w, weather in enumerate(t.weathers):
            add_up(t, settings, weather, draw, out[d, w], fan=False)
    return out


@dataclass(frozen=True)
class Course:
    """One settings file in one weather, row by row, under the best house. times: DatetimeIndex UTC; outside, house,
    soil (n,) [degC]; phase, fan_pct, starts, alarms (n,) ints; night (n,) number of the night."""

    times: Any
    outside: np.ndarray
    house: np.ndarray
    soil: np.ndarray
    phase: np.ndarray
    fan_pct: np.ndarray
    starts: np.ndarray
    alarms: np.ndarray
    night: np.ndarray


def course(t, settings, weather, draw=0):
    """Return the Course of one settings file in a Weather: for people, with reasons and alarms told."""
    index, names = making.row_times(t.fit), making.night_of_rows(t.fit)
    delta = np.zeros((1, house.STATES))
    rows, floats, ints, outside = [], [], [], []
    for part, *_ in t.setting[draw][weather.name]:
        delta[0] = part.entered(delta[0])
        count = part.rows.stop - part.rows.start
        numbers, whole = np.empty((count, 3)), np.zeros((count, 8), np.int64)
        seen = making.seen(t.fit, settings, weather, part)
        closed_loop.walk(settings, part.course, seen, part.push, True, delta, numbers, whole)
        rows.append(np.arange(part.rows.start, part.rows.stop))
        floats.append(numbers)
        ints.append(whole)
        outside.append(part.course.acts[:, track.OUTSIDE] - weather.colder)
    at, numbers, whole = np.concatenate(rows), np.concatenate(floats), np.concatenate(ints)
    return Course(
        index[at], np.concatenate(outside), numbers[:, 0], numbers[:, 1], whole[:, 0], whole[:, 2], whole[:, 5],
        whole[:, 7], names[at],
    )  # fmt: skip


def by_hour(t, settings, weather, draw=0):
    """Return (sums (hours, tryout.COLUMNS), first hour as UTC seconds) of one settings file, hour by hour."""
    stamp = making.row_times(t.fit).as_unit("s").asi8
    first = int(stamp[0] // 3600 * 3600)
    hours = (stamp - first) // 3600
    out = np.zeros((int(hours[-1]) + 1, tryout.COLUMNS))
    add_up(
        t, settings, weather, draw, out,
        lambda part, account: account._replace(bucket=np.ascontiguousarray(hours[part.rows])),
    )  # fmt: skip
    return out, first


def backup(t, settings, weather, floor):
    """Return the heat an ideal backup heater needs to hold floor [degC]: (houses, nights) [kWh]."""
    out = np.zeros((len(t.draws), t.nights, tryout.COLUMNS))
    for d, draw in enumerate(t.draws):
        add_up(t, settings, weather, draw, out[d], lambda part, account: account._replace(hold=float(floor)))
    return out[..., tryout.BACKUP]
