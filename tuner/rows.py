"""A log laid on an even grid, in stretches without long gaps: what the filter and the closed loop step through.

Lives here: the grid, what each of its rows knows, the fan's level between rows, coarser copies. Never here: the
model's parameters.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pandas as pd

from controller.core import units
from tuner import kalman, logged, moist_air, sun
from tuner.errors import FitError
from tuner.logged import GAP_S, seconds
from tuner.replay import STEP_S, core_ints

SETTLED_S = 180  # the outlet speaks for the pipes once the fan has run this long [s], assumption
FULL_SHINE = 500.0  # radiation at which the unexplained gain wanders at its full daily rate [W/m2], our scale
SHORTEST_S = 6 * 3600  # a stretch shorter than this is left out of the fit [s]


@dataclass(frozen=True)
class Grid:
    """One log on an even grid of dt seconds (60 or less; the row distance divided evenly).

    log, site: as read. dt [s]. place: grid row of each log row, int, shape (n,). edges: first grid row of each
    stretch and the end of the last. gap_s: time between stretch k - 1 and k [s], shape (stretches,), 0 first.
    parts: grid rows per log row. stretches: list of kalman.Stretch. inputs: dict of int arrays, shape (grid,), the
    core's raw readings. notes: what was left out or assumed, sentences. has: set of column names with readings.
    """

    log: object
    site: object
    dt: float
    place: np.ndarray
    edges: np.ndarray
    gap_s: np.ndarray
    parts: int
    stretches: list
    inputs: dict
    notes: list
    has: frozenset


def lay(log, site):
    """Return the Grid of a log.

    log : tuner.logs.Log; site : Site
    Raises FitError for fewer than 3 rows.
    """
    frame = log.frame
    if len(frame) < 3:
        raise FitError(f"The log has {len(frame)} rows: too few to learn anything from. Log two nights or more.")
    notes = []
    stamp = seconds(frame.index)
    step = float(np.median(np.diff(stamp)))
    parts = int(np.ceil(step / STEP_S))
    dt = step / parts
    starts = np.flatnonzero(np.diff(stamp, prepend=stamp[0]) > max(GAP_S, 2 * step))
    bounds = np.concatenate(([0], starts, [len(stamp)]))
    place = np.empty(len(stamp), np.int64)
    edges, gaps, base = [0], [0.0], 0
    for k in range(len(bounds) - 1):
        rows = slice(bounds[k], bounds[k + 1])
        place[rows] = base + np.round((stamp[rows] - stamp[bounds[k]]) / dt).astype(np.int64)
        base = int(place[bounds[k + 1] - 1]) + 1
        edges.append(base)
        if k:
            gaps.append(float(stamp[bounds[k]] - stamp[bounds[k] - 1]))
    has = frozenset(name for name in frame.columns if frame[name].notna().any() and name not in ("alarms",))
    columns = _columns(frame, site, stamp, place, base, edges, dt, has, notes)
    level, full = _levels(frame, stamp, place, base, edges, dt, columns)
    inputs = _inputs(log, place, base, edges, parts)
    pressure = moist_air.air_pressure(site.site.elevation_m)
    moisture = moist_air.humidity_ratio(columns["house"], columns["humidity"], pressure)
    stretches = []
    for first, last in pairwise(edges):
        cut = slice(first, last)
        stretches.append(
            kalman.Stretch(
                dt,
                np.ascontiguousarray(columns["seen"][cut]),
                columns["outside"][cut].copy(),
                columns["sun"][cut].copy(),
                columns["shine"][cut].copy(),
                columns["heater"][cut].copy(),
                columns["vent"][cut].copy(),
                moisture[cut].copy(),
                level[cut].copy(),
                full[cut].copy(),
                pressure,
                float(site.fan.watts),
                cut,
            )
        )
    return Grid(
        log, site, dt, place, np.array(edges), np.array(gaps), parts, stretches, inputs, notes, has
    )


def _spread(values, place, size):
    """Return log values on the grid, NaN between. shape (size,)"""
    out = np.full(size, np.nan)
    out[place] = values
    return out


def _joined(values, place, size):
    """Return log values on the grid, interpolated between readings and held at the ends; NaN if there is none."""
    good = ~np.isnan(values)
    if not good.any():
        return np.full(size, np.nan)
    return np.interp(np.arange(size), place[good], values[good])


def _columns(frame, site, stamp, place, size, edges, dt, has, notes):
    """Return the grid's columns by name: seen (size, 3) and the rest (size,)."""
    took = {name: frame[name].to_numpy(float) for name in ("house", "soil", "outlet", "outside", "humidity")}
    seen = np.stack([_spread(took[name], place, size) for name in ("house", "soil", "outlet")], 1)
    house = _joined(took["house"], place, size)
    outside = _joined(took["outside"], place, size)
    if "outside" not in has:
        notes.append(
            "No outside temperature: the loss to outside cannot be told from other losses and is held near what "
            "houses of this size lose. An outside probe in the shade would tell it."
        )
        outside = np.full(size, float(np.nanmean(house)) - 5.0)
    grid_s = _grid_seconds(stamp, place, size, edges, dt)
    bright = _sun(frame, site, place, size, grid_s, has, notes)
    return {
        "seen": seen,
        "house": house,
        "soil": _joined(took["soil"], place, size),
        "outside": outside,
        "humidity": _joined(took["humidity"], place, size),
        "sun": bright,
        "shine": np.clip(bright / FULL_SHINE, 0.0, 1.2),
        "heater": _heater(frame, place, size),
        "vent": np.clip(_held(frame["vent"], place, size), 0.0, 1.0),
    }


def _grid_seconds(stamp, place, size, edges, dt):
    """Return the time of every grid row [s since 1970]."""
    out = np.empty(size)
    for first, last in pairwise(edges):
        begin = stamp[np.searchsorted(place, first)]
        out[first:last] = begin + dt * np.arange(last - first)
    return out


def _sun(frame, site, place, size, grid_s, has, notes):
    """Return the sun on level ground [W/m2], measured or as the shape of a clear day."""
    spot = site.site
    if "solar" in has:
        return np.maximum(_joined(frame["solar"].to_numpy(float), place, size), 0.0)
    if spot.latitude is not None and spot.longitude is not None:
        return sun.clear_sky(sun.sine_of_height(grid_s, spot.latitude, spot.longitude))
    notes.append(
        "No solar column and no latitude and longitude under [site]: the day is taken as 7 to 17 h local time."
    )
    local = frame.index.tz_convert(spot.zone)
    hour = (local.hour + local.minute / 60.0 + local.second / 3600.0).to_numpy(float)
    offset = (hour * 3600.0 - seconds(frame.index)) % 86400.0
    return sun.assumed_day(((grid_s + _joined(offset, place, size)) % 86400.0) / 3600.0)


def _held(series, place, size):
    """Return a column on the grid, each value held until the next row, 0 where missing. shape (size,)"""
    at = np.searchsorted(place, np.arange(size), side="right") - 1
    return np.nan_to_num(series.to_numpy(float))[at]


def _heater(frame, place, size):
    """Return the heater on the grid: W where the log gives power, else 0..1 of an unknown power."""
    values = _held(frame["heater"], place, size)
    return np.where(values > 1.0, values, 0.0) if values.max() > 1.0 else values


def _levels(frame, stamp, place, size, edges, dt, columns):
    """Return the fan level index of every grid row and where the outlet speaks for the pipes, shape (size,)."""
    pct = np.nan_to_num(frame["fan_pct"].to_numpy(float)) / 100.0
    ran = frame["fan_s"].to_numpy(float)
    share = np.zeros(size)
    for row in range(len(place)):
        first = place[row]
        last = place[row + 1] if row + 1 < len(place) else first + 1
        if last - first > 1 and (last - first) * dt > GAP_S:
            last = first + 1
        share[first:last] = pct[row]
    known = np.flatnonzero(~np.isnan(ran[1:])) + 1
    for row in known:
        first, last = place[row - 1], place[row]
        if (last - first) * dt > GAP_S or last == first:
            continue
        seconds_on = min(max(ran[row], 0.0), (last - first) * dt)
        speed = pct[row - 1] if pct[row - 1] > 0.0 else pct[row] if pct[row] > 0.0 else 1.0
        # A run that began between two rows lies at the end, any other at the start.
        late = pct[row - 1] == 0.0 and pct[row] > 0.0
        whole = np.clip(seconds_on / dt - np.arange(last - first), 0.0, 1.0)
        share[first:last] = (whole[::-1] if late else whole) * speed
    steps = np.round(share * 20).astype(np.int64)
    if np.isnan(columns["soil"]).all():
        steps[:] = 0  # without a soil probe nothing is claimed about the store
    warm_soil = columns["soil"] > columns["house"]
    level = kalman.OFF + np.where(warm_soil, steps, -steps)
    ok = np.zeros(size, bool)
    need = max(1, int(np.ceil(SETTLED_S / dt)))
    run = 0
    for t in range(1, size):
        run = run + 1 if steps[t - 1] > 0 and steps[t - 1] == steps[max(t - 2, 0)] else 0
        ok[t] = run >= need
    return level, ok


def _inputs(log, place, size, edges, parts):
    """Return the core's raw readings on the grid: dict of int arrays, shape (size,).

    Between two log rows as in the open-loop replay: interpolated, lost where either is lost.
    """
    frame = log.frame
    out = {}
    for name, unit in (("house", 100), ("soil", 100), ("outlet", 100), ("outside", 100), ("humidity", 10)):
        values = core_ints(frame[name], unit)
        grid = np.full(size, units.LOST, np.int64)
        grid[place] = values
        for row in range(1, len(place)) if parts > 1 else ():
            first, last = place[row - 1], place[row]
            if last - first < 2 or last - first > GAP_S or values[row - 1] == units.LOST or values[row] == units.LOST:
                continue
            inner = np.arange(1, last - first)
            grid[first + 1 : last] = values[row - 1] + (values[row] - values[row - 1]) * inner // (last - first)
        out[name] = grid
    at = np.searchsorted(place, np.arange(size), side="right") - 1
    out["hand"] = np.asarray(logged.hand_positions(frame))[at]
    out["request"] = np.asarray(logged.trial_requests(frame))[at]
    power_up = np.zeros(size, np.int64)
    power_up[place[logged.power_ups(log)]] = 1
    power_up[edges[:-1]] = 1
    out["power_up"] = power_up
    return out


def time_at(grid, row):
    """Return the time of one grid row, UTC Timestamp."""
    at = min(int(np.searchsorted(grid.place, row, side="right")) - 1, len(grid.place) - 1)
    return grid.log.frame.index[at] + pd.Timedelta(seconds=(row - int(grid.place[at])) * grid.dt)


def coarser(stretch, times, every=1):
    """Return a Stretch with rows `times` apart: means of what acts between them, readings of each `every`-th row."""
    rows = len(stretch.level) // times * times

    def mean(values):
        return np.ascontiguousarray(values[:rows].reshape(-1, times).mean(1))

    steps = (stretch.level[:rows] - kalman.OFF).reshape(-1, times)
    # The outlet is used where the fan ran, all at one level, through the whole coarse row before.
    steady = (steps == steps[:, :1]).all(1) & (steps[:, 0] != 0)
    ok = np.zeros(rows // times, bool)
    ok[1:] = steady[:-1] & stretch.outlet_ok[:rows:times][1:]
    seen = np.ascontiguousarray(stretch.seen[:rows:times])
    seen[np.arange(len(seen)) % every != 0] = np.nan
    return stretch._replace(
        dt=stretch.dt * times,
        seen=seen,
        outside=mean(stretch.outside),
        sun=mean(stretch.sun),
        shine=mean(stretch.shine),
        heater=mean(stretch.heater),
        vent=mean(stretch.vent),
        moisture=mean(stretch.moisture),
        level=kalman.OFF + np.round(steps.mean(1)).astype(np.int64),
        outlet_ok=ok,
    )
