"""The course the house took, and how it would have differed: replay by difference.

Lives here: the track of a fitted stretch (smoothed state and total forcing of every row) and what another output of
the board adds to one row. Never here: decisions, fitting, the loops that carry the difference on (closed_loop, tryout).

The smoothed states and the parameters give, row by row, the total forcing that makes the model follow the log
exactly: weather, sun, people, leaks and all that the model does not know. With other decisions the same forcing acts,
so only the effect of the fan, of vents and of condensation differs, and with the logged decisions the difference is
exactly zero: the replay is the log itself.
"""

from collections import namedtuple

import numpy as np

from tuner import house, kalman, modes
from tuner.core_numba import helper, jit

Track = namedtuple(
    "Track",
    "p share moved carried motor probe columns sums mode state forcing level acts colder pressure fan_heat dt",
)
HOUSE, SOIL, OUTSIDE, HEATER, VENT, MOISTURE, LATENT = range(7)  # columns of Track.acts
Track.__doc__ = """Course of one stretch and all that a step of the difference needs, as plain arrays.

p, moved, carried, motor, probe: as in kalman.Model; share: capacity share of the first shell; columns, sums
(41, 10, 10): power and integral transposed, so that a step adds whole columns; mode: modes.Modes. state (n, 10),
forcing (n, 10) [K/s], level (n,) int; acts (n, 7): house and soil as logged or, where missing, smoothed [degC],
outside, heater, vent, moisture as in kalman.Stretch, latent heat freed in the pipes [W]; colder: the outside
than logged, in other weather [K]; pressure, fan_heat, dt: as in kalman.Stretch."""


def follow(model, stretch, start, spread, cut, mode=None):
    """Return (Track, errors (n, 3), variances (n, 3), log-likelihood) of a stretch under one model.

    mode: the model's modes.Modes where they are at hand.
    """
    rows = len(stretch.level)
    errors = np.empty((rows, kalman.PROBES))
    variances = np.full_like(errors, np.nan)
    gains = np.zeros((rows, kalman.PROBES, house.STATES))
    filtered = np.zeros((rows, house.STATES))
    state, wide = start.copy(), spread.copy()
    likelihood = kalman.run_filter(
        model, stretch, state, wide, np.zeros(1), cut, errors, variances, gains, filtered
    )
    smoothed = np.zeros((rows, house.STATES))
    kalman.smooth(model, stretch, start, spread, errors, variances, gains, filtered, smoothed)
    forcing = np.zeros_like(smoothed)
    for level in np.unique(stretch.level[:-1]):
        at = np.flatnonzero(stretch.level[:-1] == level)
        change = smoothed[at + 1] - smoothed[at] @ model.power[level].T
        forcing[at] = np.linalg.solve(model.integral[level], change.T).T
    forcing[-1] = forcing[-2] if rows > 1 else 0.0
    seen = np.where(np.isnan(stretch.seen[:, 0]), smoothed[:, house.AIR], stretch.seen[:, 0])
    ground = np.where(np.isnan(stretch.seen[:, 1]), smoothed @ model.probe, stretch.seen[:, 1])
    latent = _latent_course(model, stretch, smoothed)
    track = Track(
        model.p, float(model.shares[0]), model.moved, model.carried, model.motor, model.probe,
        np.ascontiguousarray(model.power.transpose(0, 2, 1)), np.ascontiguousarray(model.integral.transpose(0, 2, 1)),
        mode or modes.modes(model), smoothed, forcing, stretch.level,
        np.ascontiguousarray(
            np.stack(
                [seen, ground, stretch.outside, stretch.heater, stretch.vent, stretch.moisture, latent], axis=1
            )
        ),
        0.0, stretch.pressure, stretch.fan_heat, stretch.dt,
    )  # fmt: skip
    return track, errors, variances, likelihood


def piece(course, rows):
    """Return the Track of some of its rows; rows: slice."""
    return course._replace(
        state=course.state[rows], forcing=course.forcing[rows], level=course.level[rows], acts=course.acts[rows]
    )


@jit
def _latent_course(model, stretch, smoothed):
    latent = np.zeros(len(smoothed))
    water = 0.0
    for t in range(len(smoothed)):
        wet = house.latent_heat(
            model.p, model.carried[stretch.level[t]], stretch.moisture[t], smoothed[t, house.SHELL_1],
            stretch.pressure, water, stretch.dt,
        )  # fmt: skip
        latent[t] = wet
        water = house.water_after(model.p, water, wet, stretch.dt)
    return latent


@helper
def kick(p, share, moved, motor, columns, sums, states, forcing, t, fan_heat, logged, level, new):
    """Fill new (10,) with what fan level `level` in place of `logged` adds to the row after t. Arrays as in Track."""
    new[:] = 0.0
    add_product(columns, level, states, t, 1.0, new)
    add_product(sums, level, forcing, t, 1.0, new)
    if t + 1 < len(states):  # where the logged level leads is the next row itself
        for i in range(house.STATES):
            new[i] -= states[t + 1, i]
    else:
        add_product(columns, logged, states, t, -1.0, new)
        add_product(sums, logged, forcing, t, -1.0, new)
    heat, was = fan_heat * motor[level], fan_heat * motor[logged]
    air = ((1.0 - moved[level]) * heat - (1.0 - moved[logged]) * was) / p[house._CA]
    soil = (moved[level] * heat - moved[logged] * was) / (p[house._CS] * share)
    for i in range(house.STATES):
        new[i] += sums[level, house.AIR, i] * air + sums[level, house.SHELL_1, i] * soil


@helper
def stirring(p, logged, level, outside):
    """What the loss to outside [degC] adds to the forcing of the air [K/s] with `level` in place of `logged`.

    The loss itself changes with the matrices of kick; this is its other end, the temperature that it goes to.
    """
    now, was = (level - kalman.OFF) / house.LEVELS, (logged - kalman.OFF) / house.LEVELS
    return (house.outward(p, now) - house.outward(p, was)) * (outside - p[house._SKY]) / p[house._CA]


@helper
def add_product(columns, which, x, row, sign, out):
    """Add to out (10,) sign times the product of one matrix, given as its columns (41, 10, 10), and x[row], x (n, 10).

    The ten sums are kept in variables of their own: so they stay in registers and are added four at a time.
    """
    a, b, c, d, e, f, g, h, k, m = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for j in range(10):
        v = x[row, j]
        a += columns[which, j, 0] * v
        b += columns[which, j, 1] * v
        c += columns[which, j, 2] * v
        d += columns[which, j, 3] * v
        e += columns[which, j, 4] * v
        f += columns[which, j, 5] * v
        g += columns[which, j, 6] * v
        h += columns[which, j, 7] * v
        k += columns[which, j, 8] * v
        m += columns[which, j, 9] * v
    out[0] += sign * a
    out[1] += sign * b
    out[2] += sign * c
    out[3] += sign * d
    out[4] += sign * e
    out[5] += sign * f
    out[6] += sign * g
    out[7] += sign * h
    out[8] += sign * k
    out[9] += sign * m


@jit
def vents_pull(p, logged, outside, was, vent, shift, dt):
    """Forcing of the house air [K/s] because vents stand otherwise than logged.

    logged: house as logged [degC]; was, vent: opened by the board then and now, 0..1; shift: difference of the
    house [K]. A steep vent answers within a row: its pull is spread as an exponential, so that it cannot overshoot.
    """
    total = 0.0
    if vent != was:
        total -= house.vent_heat(p, logged, outside, vent) - house.vent_heat(p, logged, outside, was)
        total /= p[house._CA]
    if shift != 0.0:
        change = house.vent_heat(p, logged + shift, outside, vent) - house.vent_heat(p, logged, outside, vent)
        pull = max(change / shift, 0.0) / p[house._CA] * dt
        total -= shift * (1.0 - np.exp(-pull)) / dt
    return total
