"""What a trial would tell: how far it should narrow what the fan is known to move, before anyone stays up for it.

Lives here: a trial played on the fitted house with the board's own rules, and the information that its readings would
add. Never here: the fit itself, sentences on anything else.

The trial is laid into the dark hours of the log in which house and soil were furthest apart. The fitted house, the
fan at what its size makes likely, gives the readings; their Fisher information (tuner/estimate.py) on all parameters
is added to that of the log. What the fan moves is air_stream times effectiveness [W/K]: its logarithm's spread before
and after is what is told. The house may differ from the likely one, so the figure is what should be expected.
"""

from typing import Any, NamedTuple

import numpy as np

from controller.core import rows as core_rows
from controller.core import screen
from tuner import closed_loop, degrees, estimate, house, kalman, prior, rows, track
from tuner.closed_loop import NINETY
from tuner.fit import COARSE_S, DARK, piece, problem_of

RUN_H = 6  # length of the trial that is proposed [h]
NIGHTS = 3  # and so many nights of it are told too
BEFORE_H, AFTER_H = 24.0, 2.0  # of log round the trial that the fit would have too [h]
LEAST_RUNS = 2  # a trial that comes to fewer shows too little


class Worth(NamedTuple):
    """What trials would tell. before, once, often: standard deviations of the logarithm of what the fan moves now,
    after one trial, after NIGHTS; runs: of the fan in the first; apart: soil less house then, mean [K]; night: the
    log's time at which it was laid (UTC Timestamp); beside_loss: told against the house's loss, since no size is
    known."""

    before: float
    once: float
    often: float
    runs: int
    apart: float
    night: Any
    beside_loss: bool


def worth(fit):
    """Return the Worth of trials on a house whose store is known and whose fan is not; None where no night of the
    log has house and soil far enough apart for one.

    fit : tuner.fit.Fit
    """
    grid, inflation = fit.grid, fit.cache["inflation"]
    timed = not grid.site.fan.speed_control
    whole = problem_of(grid, fit.problem.stretches, timed, True, True)
    told = []
    for k, first, _ in windows(grid):
        stretch, runs, apart = played(fit, k, first)
        if runs < LEAST_RUNS:
            continue
        extra = problem_of(grid, [stretch], timed, True, True)._replace(active=whole.active, precision=whole.precision)
        extra = extra._replace(centre=whole.centre, fixed=whole.fixed)
        information = estimate.point(extra, fit.free.copy()).information - whole.precision
        told.append((information, runs, apart, rows.time_at(grid, int(grid.edges[k]) + first)))
        if len(told) == NIGHTS:
            break
    if not told:
        return None
    logged = estimate.point(whole, fit.free.copy()).information - whole.precision
    added = [one[0] for one in told]
    often = sum(added) * NIGHTS / len(added)
    aim = gradient(fit, whole.active)

    def spread(information):
        return float(np.sqrt(aim @ np.linalg.solve(information / inflation + whole.precision, aim)))

    _, runs, apart, night = told[0]
    beside = not prior.said(grid.site)
    return Worth(spread(logged), spread(logged + added[0]), spread(logged + often), runs, apart, night, beside)


def gradient(fit, active):
    """Return the derivative of ln(what the fan moves) by the fitted parameters, shape (k,).

    Where no size of the house is known watts mean nothing: then of ln(what it moves over what the house loses).
    """
    out = np.zeros(len(house.PARAMETERS))
    out[house.INDEX["air_stream"]] = 1.0
    out[house.INDEX["effectiveness"]] = 1.0 - fit.values[house.INDEX["effectiveness"]]  # of ln(share) by its logit
    if not prior.said(fit.grid.site):
        out[house.INDEX["loss"]] = -1.0
    return out[active]


def windows(grid):
    """Yield (stretch number, first row, mean difference [K]) of dark hours for a trial, one a night, best first.

    Only hours count in which the board would run a trial: well above frost, house and soil far enough apart.
    """
    settings = core_rows.defaults()
    least = settings.least_gain_centi_c / 100
    length = round(RUN_H * 3600 / grid.dt)
    found = []
    for k, stretch in enumerate(grid.stretches):
        air, soil = stretch.seen[:, 0], stretch.seen[:, 1]
        with np.errstate(invalid="ignore"):
            may = (air >= settings.frost_guard_centi_c / 100 + 2.0) & (np.abs(soil - air) >= least)
        gap = np.where(may & (stretch.shine < DARK), np.abs(soil - air), 0.0)
        if len(gap) <= length or len(gap) * stretch.dt < rows.SHORTEST_S:
            continue
        means = np.convolve(gap, np.ones(length) / length, "valid")
        while means.max() > 0.0:
            first = int(means.argmax())
            found.append((float(means[first]), k, first))
            day = round(86400 / grid.dt / 2)
            means[max(0, first - day) : first + day] = 0.0
    for mean, k, first in sorted(found, reverse=True):
        yield k, first, mean


def played(fit, k, first):
    """Return (coarse Stretch with a trial from row `first` of stretch k on, runs of the fan, mean soil less house).

    The board starts with default settings, hand switch on auto; before and after the trial all is as logged.
    """
    grid = fit.grid
    stretch, course, settings = grid.stretches[k], fit.courses(0)[k], core_rows.defaults()
    length = round(RUN_H * 3600 / grid.dt)
    begins = max(0, first - round(BEFORE_H * 3600 / grid.dt))
    ends = min(len(stretch.level), first + length + round(AFTER_H * 3600 / grid.dt))
    during = slice(first, first + length)
    seen = fit.seen(settings, k)[during].copy()
    fields = screen.Reading._fields
    seen[:, fields.index("hand")] = screen.HAND_AUTO
    seen[:, fields.index("request")] = screen.REQUEST_TRIAL
    seen[0, closed_loop.POWER_UP] = 1
    part = track.piece(course, during)
    floats, ints, delta = np.empty((length, 3)), np.zeros((length, 8), np.int64), np.zeros((1, house.STATES))
    closed_loop.walk(settings, part, seen, closed_loop.NO_MORE, True, delta, floats, ints)
    level, readings, steady = stretch.level.copy(), stretch.seen.copy(), stretch.outlet_ok.copy()
    steps = (ints[:, 2] * house.LEVELS + 50) // 100
    level[during] = kalman.OFF + np.where(floats[:, 1] > floats[:, 0], steps, -steps)
    readings[during, 0] = floats[:, 0]
    readings[during, 1] = floats[:, 1]
    readings[during, 2] = course.acts[during, track.HOUSE] + floats[:, 2]
    need = max(1, int(np.ceil(rows.SETTLED_S / grid.dt)))
    on = np.convolve(ints[:, 1], np.ones(need), "full")[:length] >= need
    steady[during] = np.concatenate(([False], on[:-1]))
    readings[during.stop : ends, :2] += _fading(course, during.stop, ends, delta)
    if "outlet" not in grid.has:
        readings[:, 2] = np.nan
    made = piece(stretch._replace(level=level, seen=readings, outlet_ok=steady), begins, ends)
    times = max(grid.parts, round(COARSE_S / grid.dt))
    runs = int((np.diff(ints[:, 1], prepend=0) > 0).sum())
    return rows.coarser(made, times), runs, float((floats[:, 1] - floats[:, 0]).mean())


def _fading(course, first, last, delta):
    """Return the differences of house and soil from row first to last - 1, the fan as logged. shape (n, 2) [K]"""
    out = np.empty((last - first, 2))
    for row in range(first, last):
        out[row - first] = delta[0, house.AIR], float(course.probe @ delta[0])
        delta = delta @ course.columns[course.level[row]]
    return out


def known_within(spread):
    """Return how well a positive figure is known from the standard deviation of its logarithm, as words."""
    factor = float(np.exp(NINETY * spread))
    return f"a factor of {factor:.1f}" if factor > 1.5 else f"+-{100 * (factor - 1):.0f} %"


def sentence(fit):
    """Return the sentence that says which trial would show what the fan does, and how far it should narrow that."""
    found = worth(fit)
    settings = core_rows.defaults()
    least = degrees.apart(settings.least_gain_centi_c / 100, "C")
    if found is None:
        return (
            f"A trial would show it (`loamstat trial {RUN_H}`), but not on nights like those of this log: it runs only "
            f"while house and soil are {least} or more apart and the house is well above frost. Wait for a night on "
            "which they are."
        )
    zone = fit.grid.site.site.zone
    what = "the ratio of what it moves to what the house loses" if found.beside_loss else "what it moves per degree"
    now, once, often = (known_within(one) for one in (found.before, found.once, found.often))
    side = "warmer" if found.apart > 0 else "colder"
    return (
        f"A trial would show it: `loamstat trial {RUN_H}` (30 min on, 30 min off, {RUN_H} h) at nightfall. On a night "
        f"like that from {found.night.tz_convert(zone):%Y-%m-%d %H:%M} on, when the soil was "
        f"{abs(found.apart):.1f} K {side} than the house, it comes to {found.runs} runs. So far {what} "
        f"is known within {now}; after that trial it should be within {once}, after {NIGHTS} such nights within "
        f"{often}."
    )


def notes(fit):
    """Return the notes of a Fit; where the log cannot tell what the fan does, with the trial that would. list of str"""
    if fit.fan_known or not fit.store_known:
        return fit.notes
    if "trial" not in fit.cache:
        fit.cache["trial"] = sentence(fit)
    return [f"{note} {fit.cache['trial']}" if note.startswith("The fan ") else note for note in fit.notes]
