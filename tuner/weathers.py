"""Weathers that a settings file is tried in: the log's own, and harder ones made from it.

Lives here: how each weather is made, as further heat on the fitted house, and what it cannot stand for. Never here:
the stepping (closed_loop.py, tryout.py).

All of them are made of the log. "As logged" is the whole log. The harder ones are SNAP_NIGHTS nights around the
coldest one, played again: colder outside and the store drawn down before it begins; dull, the sun's gain cut; both.
"""

from dataclasses import dataclass

import numpy as np

from tuner import closed_loop, house, kalman, moist_air, nights, track

COLDER, DULL = 5.0, 70.0  # what the harder weathers are made with unless told otherwise [K], [%]; our choice
SNAP_NIGHTS, BEFORE = 4, 2  # nights of the harder weathers, and how many of them come before the coldest
DULL_DAYS = 3
DRAWN = 0.4  # the store begins at least this much colder for each kelvin of colder air [K/K], assumption
SETTLE_S = 2 * 86400  # the colder air has worked on the house for so long when its weather begins
DAYLIGHT = 0.02  # of rows.FULL_SHINE: more than this is day


@dataclass(frozen=True)
class Weather:
    """One weather. name, made, not_told: words. parts: [(stretch, first row, last row + 1)] of the grid's stretches.

    colder [K]; share: of the sun's gain that is left on the dull days; dull_until: hours from its beginning.
    weight: how much its money counts in the sum that the search compares.
    """

    name: str
    made: str
    not_told: str
    parts: tuple
    colder: float = 0.0
    share: float = 1.0
    weight: float = 1.0


AS_LOGGED = "as logged"
OTHERS_WEIGHT = 0.1  # a hard week is taken for one week in ten; its harm counts in full


def weathers(fit, colder=COLDER, dull=DULL):
    """Return the list of Weathers of a fit; colder 0 or dull 0 leaves those weathers out.

    fit : tuner.fit.Fit; colder : [K]; dull : percent of the sun's gain that is cut
    """
    whole = tuple((k, 0, len(one.level)) for k, one in enumerate(fit.grid.stretches))
    made = [
        Weather(
            AS_LOGGED,
            "the log's own weather, from beginning to end",
            "weather that the log does not hold",
            whole,
        )
    ]
    snap = (coldest_days(fit),)
    until = DULL_DAYS * 24
    cold = (
        f"{SNAP_NIGHTS} nights around the coldest of the log, {colder:g} K colder outside throughout; the store begins "
        f"as cold as it ever was in the log, and {DRAWN * colder:.1f} K or more below the logged store"
    )
    grey = f"the same nights with {dull:g} % of the sun's gain taken away on the first {DULL_DAYS} days"
    no_cold = "wind, snow on the cover, frost in the ground above the pipes; vents and moisture follow only roughly"
    no_grey = "that dull nights are often milder and damper; the gain that is cut is the fit's: sun and unexplained"
    rest = {"weight": OTHERS_WEIGHT}
    if colder > 0:
        made.append(Weather("colder", cold, no_cold, snap, colder, **rest))
    if dull > 0:
        made.append(Weather("dull", grey, no_grey, snap, 0.0, 1.0 - dull / 100.0, **rest))
    if colder > 0 and dull > 0:
        both = Weather(
            "colder and dull", f"both at once, dull for {until} h", "both of the above", snap, colder,
            1.0 - dull / 100.0, **rest,
        )  # fmt: skip
        made.append(both)
    return made


def coldest_days(fit):
    """Return (stretch, first row, last row + 1): SNAP_NIGHTS from noon to noon around the coldest night."""
    grid = fit.grid
    lows = []
    for stretch in grid.stretches:
        outside = "outside" in grid.has
        values = stretch.outside if outside else np.nan_to_num(stretch.seen[:, 0], nan=99.0)
        hours = max(1, min(len(values), round(3600 / grid.dt)))
        mean = np.convolve(values, np.ones(hours) / hours, "same")
        lows.append((float(mean.min()), int(mean.argmin())))
    k = min(range(len(lows)), key=lambda i: lows[i][0])
    day = round(86400 / grid.dt)
    names = night_of_rows(fit)[int(grid.edges[k]) : int(grid.edges[k + 1])]
    first = int(np.flatnonzero(names == names[lows[k][1]])[0])
    count = len(grid.stretches[k].level)
    begin = max(0, min(first - BEFORE * day, count - SNAP_NIGHTS * day))
    return k, begin, min(count, begin + SNAP_NIGHTS * day)


def row_times(fit):
    """Return the UTC time of every grid row, DatetimeIndex."""
    import pandas as pd

    grid = fit.grid
    stamp = grid.log.frame.index.as_unit("s").asi8
    out = np.empty(int(grid.edges[-1]), np.int64)
    for first, last in zip(grid.edges[:-1], grid.edges[1:], strict=True):
        begin = stamp[np.searchsorted(grid.place, first)]
        out[first:last] = begin + np.round(grid.dt * np.arange(last - first)).astype(np.int64)
    return pd.DatetimeIndex(pd.to_datetime(out, unit="s", utc=True))


def night_of_rows(fit):
    """Return the number of the night that each grid row belongs to, rising from 0; int array, shape (grid,)."""
    mornings = nights.mornings(row_times(fit), fit.grid.site.site.zone)
    return np.unique(mornings.to_numpy(), return_inverse=True)[1]


@dataclass(frozen=True)
class Part:
    """One stretch, or a piece of it, in one weather under one plausible house: what a loop steps through.

    course: track.Track of these rows; push: (rows, 2) or (1, 2) further forcing on air and mass [K/s]; begin: (10,)
    difference at the first row; seen: as closed_loop.seen_by, without the settings' own lost_after_s; fades: (10,
    10) how the difference of the part before came over the gap, or None; rows: slice of the grid.
    """

    course: track.Track
    push: np.ndarray
    begin: np.ndarray
    fades: np.ndarray | None
    rows: slice
    stretch: int

    def entered(self, before):
        """Return the difference (10,) at the first row; before: that after the last row of the part before."""
        return self.begin if self.fades is None else self.fades @ before


def parts(fit, weather, draw):
    """Return the Parts of a Weather under plausible house `draw`."""
    made = []
    courses = fit.courses(draw)
    grid = fit.grid
    for k, first, last in weather.parts:
        course = _cut(courses[k], first, last)
        push = np.zeros((1, 2))
        begin = np.zeros(house.STATES)
        if weather.colder or weather.share < 1.0:
            push = _push(fit, course, weather, grid.stretches[k], first)
        if weather.colder:
            course = _colder(course, weather.colder)
            begin = _drawn(course, courses[k], weather.colder, grid.dt)
        whole = first == 0 and grid.gap_s[k] > 0.0 and len(weather.parts) > 1
        fades = closed_loop.fade(fit, courses[k], float(grid.gap_s[k])) if whole else None
        edge = int(grid.edges[k])
        made.append(Part(course, push, begin, fades, slice(edge + first, edge + last), k))
    return made


def seen(fit, settings, weather, part):
    """Return what the board would have seen in a part; see closed_loop.seen_by. Not to be changed."""
    key = ("seen in", weather.name, settings.lost_after_s, part.rows.start, part.rows.stop)
    if key not in fit.cache:
        edge = int(fit.grid.edges[part.stretch])
        out = fit.seen(settings, part.stretch)[part.rows.start - edge : part.rows.stop - edge].copy()
        out[0, closed_loop.POWER_UP] = 1
        out[:, 8] -= round(weather.colder * 100)
        fit.cache[key] = out
    return fit.cache[key]


def _cut(course, first, last):
    if first == 0 and last == len(course.level):
        return course
    return track.piece(course, slice(first, last))


def _push(fit, course, weather, stretch, first):
    """Further forcing on air and mass, shape (rows, 2): colder air outside, and the sun's gain cut. [K/s]"""
    p, count = course.p, len(course.level)
    out = np.zeros((count, 2))
    out[:, 0] -= weather.colder * house.outward(p, (course.level - kalman.OFF) / house.LEVELS) / p[house._CA]
    if weather.share < 1.0:
        rows = slice(first, first + count)
        lit = stretch.shine[rows] > DAYLIGHT
        gain = np.maximum(0.0, p[house._SUN] * stretch.sun[rows] + course.state[:, house.GAIN])
        dull = lit & (np.arange(count) * course.dt < DULL_DAYS * 86400)
        cut = np.where(dull, (1.0 - weather.share) * gain, 0.0)
        out[:, 0] -= (1.0 - p[house._SHARE]) * cut / p[house._CA]
        out[:, 1] -= p[house._SHARE] * cut / p[house._CM]
    return out


def _colder(course, colder):
    """The course with colder air outside and the moisture that the colder house can hold at the same humidity."""
    acts = course.acts.copy()
    now = moist_air.saturation_pressure(acts[:, track.HOUSE] - colder)
    acts[:, track.MOISTURE] *= now / moist_air.saturation_pressure(acts[:, track.HOUSE])
    return course._replace(acts=acts, colder=colder)


def _drawn(course, whole, colder, dt):
    """Difference at the beginning: what the colder air did to the house, fan off, and the store drawn down."""
    power, total = course.columns[kalman.OFF].T, course.sums[kalman.OFF].T
    push = np.zeros(house.STATES)
    push[house.AIR] = -colder * course.p[house._UA] / course.p[house._CA]
    delta = np.zeros(house.STATES)
    for _ in range(round(SETTLE_S / dt)):
        delta = power @ delta + total @ push
    soil = whole.acts[:, track.SOIL]
    fall = min(float(np.nanmin(soil)) - float(course.acts[0, track.SOIL]), -DRAWN * colder)
    for node in (house.SHELL_1, house.SHELL_2, house.SHELL_3):
        delta[node] = fall
    return delta
