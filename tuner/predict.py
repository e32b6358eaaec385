"""What would have happened under other settings, as a run beside the log, with its spread.

Lives here: from grid rows back to log rows, and from plausible houses to spreads. The stepping: closed_loop.py.
"""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from tuner import closed_loop, nights, rows, track, trial_worth
from tuner.errors import FitError
from tuner.logged import Outputs, Run

CLOSED_LOOP = (
    "Closed loop: the fan's effect on the house and the store is predicted by the house learned from this log."
)


@dataclass(frozen=True)
class Prediction:
    """run: logged.Run. log: the Log with the temperatures that this run would have made. house_min_sd: dict of
    night (Timestamp) to the standard deviation of its minimum [K]."""

    run: Run
    log: object
    house_min_sd: dict


def refuse(fit):
    """Raise FitError where the log does not tell what the fan does, so that nothing may be predicted."""
    if not fit.fan_known:
        why = next(note for note in trial_worth.notes(fit) if "fan" in note)
        raise FitError(
            f"{why}\nWithout that a closed-loop replay would be a guess. "
            "The open-loop form works: add --open-loop."
        )


def predict(fit, settings, name):
    """Return the Prediction of one settings file.

    fit : tuner.fit.Fit; settings : Settings; name : str
    Raises FitError where the log does not tell what the fan does.
    """
    refuse(fit)
    traces = [closed_loop.run(fit, settings, draw) for draw in range(len(fit.plausible))]
    run, log = to_log(fit, traces[0], settings, name)
    logs = [to_log(fit, trace, settings, name)[1] for trace in traces[1:]]
    minima = [night_minima(one, fit.grid.site) for one in (log, *logs)]
    logged = night_minima(fit.grid.log, fit.grid.site)
    _, spread = closed_loop.night_spread(minima, logged, changed_hours(fit, traces[0]))
    return Prediction(run, log, dict(zip(minima[0].index, spread.tolist(), strict=True)))


def night_minima(log, site):
    """Return the lowest 10-minute mean of each night, Series by morning; NaN where a night has none."""
    mean = nights.ten_minute_means(log.frame["house"]).to_numpy()
    return pd.Series(mean).groupby(nights.mornings(log.frame.index, site.site.zone)).min()


def changed_hours(fit, trace):
    """Return the hours of each night in which the fan ran otherwise than logged, shape (nights,)."""
    changed = closed_loop.changed_s(fit, trace)
    total = np.concatenate(([0.0], np.cumsum(changed)))[fit.grid.place]
    by_row = np.diff(total, prepend=0.0) / 3600.0
    return pd.Series(by_row).groupby(nights.mornings(fit.grid.log.frame.index, fit.grid.site.site.zone)).sum()


def to_log(fit, trace, settings, name):
    """Return (Run, Log) of a trace on the rows of the log."""
    place = fit.grid.place
    first = np.isin(place, fit.grid.edges)

    def since(steps, late):
        """Sum of what each step brought since the row before; late: booked at the end of the step."""
        total = np.concatenate(([0], np.cumsum(steps)))
        at = total[place + late]
        return np.where(first, steps[place] * late, np.diff(at, prepend=0)).astype(np.int64)

    out = Outputs(
        trace.phase[place], trace.fan_pct[place], since(trace.fan_s, 0), since(trace.charge_s, 0),
        since(trace.discharge_s, 0), since(trace.starts, 1), trace.heater[place], trace.vent[place],
        trace.reason[place], trace.alarms[place],
    )  # fmt: skip
    frame = fit.grid.log.frame.copy()
    for column, values in (("house", trace.house), ("soil", trace.soil)):
        frame[column] = np.where(frame[column].isna(), np.nan, values[place])
    frame["outlet"] = frame["outlet"] + trace.outlet[place]
    return Run(name, settings, out), replace(fit.grid.log, frame=frame)


@dataclass(frozen=True)
class ColdNight:
    """The coldest night without the fan. night: its morning. begins: local time at which the fan goes off. lasts_h:
    hours until the plants' floor, None if it is not reached; low, high: 90 % range of that, None if not reached.
    lowest, sd: minimum without the fan [degC], [K]; logged: with it."""

    night: pd.Timestamp
    begins: pd.Timestamp
    lasts_h: float | None
    range_h: tuple
    lowest: float
    sd: float
    logged: float
    hours: float


def coldest_night(fit):
    """Return the ColdNight of the log: the night of its lowest outside (or house) reading, fan off from dusk.

    Dusk: the last row of that evening with sun. Raises FitError where the fan's effect is not known.
    """
    refuse(fit)
    grid = fit.grid
    stretch_of, k, coldest = None, 0, np.inf
    for index, stretch in enumerate(grid.stretches):
        low = float(np.min(stretch.outside if "outside" in grid.has else np.nan_to_num(stretch.seen[:, 0], nan=99.0)))
        if low < coldest:
            coldest, stretch_of, k = low, stretch, index
    values = stretch_of.outside if "outside" in grid.has else stretch_of.seen[:, 0]
    worst = int(np.nanargmin(values))
    dark = np.flatnonzero(stretch_of.shine < 0.02)
    if len(dark):  # the coldest hour may come just after sunrise: its night is the one before
        worst = int(dark[max(0, np.searchsorted(dark, worst, side="right") - 1)])
    lit = np.flatnonzero(stretch_of.shine[: worst + 1] > 0.02)
    first = int(lit[-1]) if len(lit) else 0
    later = np.flatnonzero(stretch_of.shine[worst:] > 0.02)
    last = worst + int(later[0]) if len(later) else len(stretch_of.level) - 1
    floor = grid.site.needs.frost_floor_c
    runs = [closed_loop.without_fan(fit, draw, k, first, last) for draw in range(len(fit.plausible))]
    times = [_reaches(run, floor, grid.dt) for run in runs]
    lows = [float(run.min()) for run in runs]
    reached = [t for t in times if t is not None]
    when = rows.time_at(grid, int(grid.edges[k]) + first)
    minimum = lows[0]
    logged = float(np.min(fit.courses(0)[k].acts[first : last + 1, track.HOUSE]))
    sd = float(np.sqrt(np.std(lows[1:] or [0.0]) ** 2 + (closed_loop.MODEL_SHARE * (minimum - logged)) ** 2))
    span = tuple(np.quantile(reached, [0.05, 0.95])) if len(reached) == len(times) else ()
    night = nights.mornings(pd.DatetimeIndex([rows.time_at(grid, int(grid.edges[k]) + worst)]), grid.site.site.zone)[0]
    return ColdNight(
        night, when.tz_convert(grid.site.site.zone), times[0], span, minimum, sd, logged,
        (last - first) * grid.dt / 3600,
    )  # fmt: skip


def _reaches(values, floor, dt):
    """Return hours until the ten-minute mean is at or below floor, None if never."""
    window = max(1, round(600 / dt))
    mean = np.convolve(values, np.ones(window) / window, "valid")
    below = np.flatnonzero(mean <= floor)
    return None if len(below) == 0 else float(below[0] * dt / 3600.0)


