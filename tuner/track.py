"""The course the house took, and how it would have differed: replay by difference.

Lives here: the track of a fitted stretch (smoothed state and total forcing of every row) and one step of the
difference that another fan run makes. Never here: decisions, fitting.

The smoothed states and the parameters give, row by row, the total forcing that makes the model follow the log
exactly: weather, sun, people, leaks and all that the model does not know. With other decisions the same forcing acts,
so only the effect of the fan, of vents and of condensation differs, and with the logged decisions the difference is
exactly zero: the replay is the log itself.
"""

from collections import namedtuple

import numpy as np

from tuner import house, kalman
from tuner.core_numba import helper, jit

Track = namedtuple(
    "Track",
    "p share moved carried motor probe columns sums state forcing level acts pressure fan_heat dt",
)
HOUSE, SOIL, OUTSIDE, HEATER, VENT, MOISTURE, LATENT = range(7)  # columns of Track.acts
Track.__doc__ = """Course of one stretch and all that a step of the difference needs, as plain arrays.

p, moved, carried, motor, probe: as in kalman.Model; share: capacity share of the first shell; columns, sums
(41, 10, 10): power and integral transposed, so that a step adds whole columns. state (n, 10), forcing (n, 10) [K/s],
level (n,) int; acts (n, 7): house and soil as logged or, where missing, smoothed [degC], outside, heater, vent,
moisture as in kalman.Stretch, latent heat freed in the pipes [W]; pressure, fan_heat, dt: as in kalman.Stretch."""


def follow(model, stretch, start, spread, cut):
    """Return (Track, errors (n, 3), variances (n, 3), log-likelihood) of a stretch under one model."""
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
        smoothed, forcing, stretch.level,
        np.ascontiguousarray(
            np.stack(
                [seen, ground, stretch.outside, stretch.heater, stretch.vent, stretch.moisture, latent], axis=1
            )
        ),
        stretch.pressure, stretch.fan_heat, stretch.dt,
    )  # fmt: skip
    return track, errors, variances, likelihood


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
    add_product(columns, logged, states, t, -1.0, new)
    add_product(sums, level, forcing, t, 1.0, new)
    add_product(sums, logged, forcing, t, -1.0, new)
    heat, was = fan_heat * motor[level], fan_heat * motor[logged]
    air = ((1.0 - moved[level]) * heat - (1.0 - moved[logged]) * was) / p[house._CA]
    soil = (moved[level] * heat - moved[logged] * was) / (p[house._CS] * share)
    for i in range(house.STATES):
        new[i] += sums[level, house.AIR, i] * air + sums[level, house.SHELL_1, i] * soil


@helper
def advance(
    p, share, moved, carried, motor, columns, sums, states, forcing, acts, t, pressure, fan_heat, dt, logged, level,
    heater, vent, air_more, mass_more, water, delta, new,
):  # fmt: skip
    """Carry the difference `delta`, shape (1, 10), from row t to the next under other outputs of the board.

    Arrays as in Track; logged: the fan level index of row t.
    level, heater, vent: what the board does now; air_more, mass_more: further forcing [K/s], for other weather;
    water: lying in the pipes before [kg]; new: scratch, shape (10,).
    Returns the water lying there afterwards [kg].
    """
    air, soil = 0.0, 0.0
    new[:] = 0.0
    if level != logged:
        kick(p, share, moved, motor, columns, sums, states, forcing, t, fan_heat, logged, level, new)
    add_product(columns, level, delta, 0, 1.0, new)
    if heater != acts[t, HEATER]:
        air += house.heater_watts(p, heater) - house.heater_watts(p, acts[t, HEATER])
    air = air / p[house._CA] + air_more
    shift = delta[0, house.AIR]
    if vent != acts[t, VENT] or vent > 0.0 or acts[t, HOUSE] + max(shift, 0.0) > p[house._VENT_T]:
        air += vents_pull(p, acts[t, HOUSE], acts[t, OUTSIDE], acts[t, VENT], vent, shift, dt)
    if (level != kalman.OFF or logged != kalman.OFF) and acts[t, MOISTURE] > 0.0:
        wall = states[t, house.SHELL_1] + delta[0, house.SHELL_1]
        now = house.latent_heat(p, carried[level], acts[t, MOISTURE], wall, pressure, water, dt)
        water = house.water_after(p, water, now, dt)
        soil += now - acts[t, LATENT]
    if air != 0.0 or mass_more != 0.0 or soil != 0.0:
        soil /= p[house._CS] * share
        for i in range(house.STATES):
            new[i] += sums[level, house.AIR, i] * air
            new[i] += sums[level, house.MASS, i] * mass_more
            new[i] += sums[level, house.SHELL_1, i] * soil
    for i in range(house.STATES):
        delta[0, i] = new[i]
    return water


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


@jit
def without_fan(course, first, last, out):
    """Fill out, shape (last - first + 1,), with the house of rows first..last, the fan off from first on [degC]."""
    delta, new = np.zeros((1, house.STATES)), np.zeros(house.STATES)
    water = 0.0
    for t in range(first, last + 1):
        out[t - first] = course.acts[t, HOUSE] + delta[0, house.AIR]
        water = advance(
            course.p, course.share, course.moved, course.carried, course.motor, course.columns, course.sums,
            course.state, course.forcing, course.acts, t, course.pressure, course.fan_heat, course.dt, course.level[t],
            kalman.OFF, course.acts[t, HEATER], course.acts[t, VENT], 0.0, 0.0, water, delta, new,
        )  # fmt: skip
