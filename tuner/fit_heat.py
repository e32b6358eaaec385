"""The heat that a fitted house moves through its pipes, as the cost of a run needs it.

Lives here: from a Fit and a run's fan levels to heat.HeatRows. Never here: fitting, decisions, money.

Per step of the grid: exchange times (pipe wall less house air), less what condenses on the wall, less the part of the
motor's heat that goes on into the wall; the equations are those of house.py. The spread has two parts: that of the
plausible houses, and the share by which the model's form may be off (closed_loop.MODEL_SHARE). Water is not told: the
fit's condensation makes up for other heat, and came out at twice the plant's.
"""

import numpy as np

from tuner import closed_loop, house, kalman, track
from tuner.core_numba import jit
from tuner.heat import HeatRows

SOURCE = "the fitted house"


@jit
def _course(p, moved, carried, motor, fan_heat, moisture, pressure, level, air, wall, dt, watts):
    """Fill watts [W into the house] of each step; level, air, wall: of the step, shape (n,)."""
    lying = 0.0
    for t in range(len(level)):
        now = level[t]
        wet = house.latent_heat(p, carried[now], moisture[t], wall[t], pressure, lying, dt)
        lying = house.water_after(p, lying, wet, dt)
        watts[t] = carried[now] * (wall[t] - air[t]) - wet - moved[now] * motor[now] * fan_heat


def _steps(course, level, air, wall):
    """Return the watts of each step of one stretch; air and wall at its rows, taken at the step's end."""
    rows = len(level)
    watts = np.zeros(rows)
    end = np.minimum(np.arange(rows) + 1, rows - 1)
    _course(
        course.p, course.moved, course.carried, course.motor, course.fan_heat,
        np.ascontiguousarray(course.acts[:, track.MOISTURE]), course.pressure, level.astype(np.int64),
        air[end], wall[end], course.dt, watts,
    )  # fmt: skip
    return watts


def _logged(course):
    """Return the watts of the steps of one stretch as it was logged."""
    return _steps(course, course.level, course.state[:, house.AIR], course.state[:, house.SHELL_1])


def _replayed(course, trace, rows):
    """Return the watts of the steps of one stretch under another run.

    The wall's temperature is had back from the outlet that the closed loop predicts while its fan runs.
    """
    air, wall = course.state[:, house.AIR], course.state[:, house.SHELL_1]
    shift = trace.house[rows] - course.acts[:, track.HOUSE]
    level = level_of(trace.fan_pct[rows], trace.soil[rows] > trace.house[rows])
    before, was = (np.concatenate((one[:1], one[:-1])) for one in (level, course.level))
    eff, eff_was = course.moved[before], course.moved[was]
    ran, ran_was = before != kalman.OFF, was != kalman.OFF
    offset = course.p[house._OFFSET] * (ran.astype(float) - ran_was)
    change = trace.outlet[rows] - offset - shift - (eff - eff_was) * (wall - air)
    moved = np.divide(change, eff, out=np.zeros(len(eff)), where=ran) + shift
    return _steps(course, level, air + shift, wall + np.where(ran, moved, 0.0))


def level_of(pct, warm_soil):
    """Return the fan level index of each row, as closed_loop does. ndarray of int, shape (n,)"""
    steps = (np.asarray(pct) * house.LEVELS + 50) // 100
    return np.where(warm_soil, kalman.OFF + steps, kalman.OFF - steps).astype(np.int64)


def _over_log(fit, step_values):
    """Return what the steps of the grid brought since the row before, for each log row; 0 at a stretch's first."""
    place = fit.grid.place
    total = np.concatenate(([0.0], np.cumsum(step_values)))[place]
    return np.where(np.isin(place, fit.grid.edges), 0.0, np.diff(total, prepend=0.0))


def _of_draw(fit, draw, trace):
    """Return the watts of every step of the grid under one plausible house; trace None: as logged."""
    parts = []
    for k, course in enumerate(fit.courses(draw)):
        rows = slice(int(fit.grid.edges[k]), int(fit.grid.edges[k + 1]))
        parts.append(_logged(course) if trace is None else _replayed(course, trace, rows))
    return np.concatenate(parts)


def heat_rows(fit, traces=None):
    """Return the heat.HeatRows of the fitted house, on the rows of its log; None where the store was not learned.

    fit : fit.Fit; traces : list of closed_loop.Trace, one per plausible house, of the run that is meant, or None for
    the run that was logged.
    """
    if not (fit.fan_known and fit.store_known):
        return None
    draws = range(len(fit.plausible))
    found = [_of_draw(fit, draw, None if traces is None else traces[draw]) for draw in draws]
    moved = np.array([np.abs(watts).sum() for watts in found])
    drawn = moved[1:].std() / moved[0] if len(moved) > 1 and moved[0] > 0 else 0.0
    joule = _over_log(fit, found[0] * fit.grid.dt)
    share_sd = float(np.hypot(drawn, closed_loop.MODEL_SHARE))
    return HeatRows(joule, np.zeros(len(joule)), share_sd, np.full(len(joule), np.nan), SOURCE)
