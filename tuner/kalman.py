"""The Kalman filter over one stretch of log and the smoother that follows it.

Lives here: the jitted loops over rows, and the table of step matrices they use. Never here: priors, optimisers.

Filter: scalar updates one probe at a time; the likelihood is that of the one-step errors (Schweppe 1965; for
grey-box heat models Madsen & Holst 1995, Energy and Buildings 22, 67-79). Smoother: Koopman 1993, "Disturbance
smoother for state space models", Biometrika 80, 117-126 (both from memory); it keeps a few numbers a row, needs no
inverse and allows states without noise.
"""

from collections import namedtuple

import numpy as np

from tuner import house
from tuner.core_numba import helper, jit

PROBES = 3  # house, soil, outlet
DIRECTIONS = 2 * house.LEVELS + 1  # fan level index: 20 + level * 20, level -1..1
OFF = house.LEVELS

Stretch = namedtuple(
    "Stretch", "dt seen outside sun shine heater vent moisture level outlet_ok pressure fan_heat rows"
)
Stretch.__doc__ = """One stretch of log on an even grid, all arrays shape (n,) but `seen`, shape (n, 3).

dt [s]; seen: house, soil, outlet [degC], NaN where missing; outside [degC]; sun [W/m2]; shine: 0..1, how much the
unexplained gain may wander; heater: [W], or 0/1 of heater_power; vent: opened by the board, 0..1; moisture [kg/kg],
NaN unknown; level: int index of the fan from this row to the next; outlet_ok: the outlet speaks for the pipes;
pressure [Pa]; fan_heat: fan motor at full speed [W]; rows: slice of the log."""

Model = namedtuple("Model", "p shares power integral probe moved carried motor")
Model.__doc__ = """Parameters and matrices by fan level index: p (P,), shares (3,), power and integral (41, 10, 10)
(zero where the level was not asked for), probe (10,) weights of the soil probe, moved (41,) effectiveness, carried
(41,) exchange [W/K], motor (41,) heat of the motor over that at full speed."""


def build(p, shares, links, dt, levels):
    """Return the Model of parameters p (natural units) for the fan level indices `levels`, step dt [s]."""
    power = np.zeros((DIRECTIONS, house.STATES, house.STATES))
    integral = np.zeros_like(power)
    probe = np.zeros(house.STATES)
    moved, carried, motor = (np.zeros(DIRECTIONS) for _ in range(3))
    model = Model(p, shares, power, integral, probe, moved, carried, motor)
    _fill(model, links, dt, np.asarray(levels, np.int64))
    return model


@jit
def _fill(model, links, dt, levels):
    rate = np.zeros((house.STATES, house.STATES))
    for index in levels:
        house.balance(model.p, model.shares, links, (index - OFF) / house.LEVELS, rate)
        house.step_matrices(rate, dt, model.power[index], model.integral[index])
    for index in range(DIRECTIONS):
        level = (index - OFF) / house.LEVELS
        model.moved[index] = house.share_moved(model.p, level)
        model.carried[index] = house.exchange(model.p, level)
        model.motor[index] = house.motor_heat(model.p, 1.0, level)
    house.probe_weights(model.p[house._PLACE], model.probe)


@helper
def row_forcing(model, stretch, t, filtered, water, out):
    """Fill `out` with all known forcing of row t [K/s]; return the water then lying in the pipes [kg].

    Vents see the measured house, pipes the filtered wall and `water`, the water lying there before.
    """
    p = model.p
    heater = house.heater_watts(p, stretch.heater[t])
    outside = stretch.outside[t]
    level = stretch.level[t]
    house.forcing(p, model.shares, outside, stretch.sun[t], heater, (level - OFF) / house.LEVELS, out)
    measured = stretch.seen[t, 0]
    if np.isnan(measured):
        measured = filtered[house.AIR]
    out[house.AIR] -= house.vent_heat(p, measured, outside, stretch.vent[t]) / p[house._CA]
    if level != OFF:
        motor = stretch.fan_heat * model.motor[level]
        share = model.moved[level]
        out[house.AIR] += (1.0 - share) * motor / p[house._CA]
        out[house.SHELL_1] += share * motor / (p[house._CS] * model.shares[0])
        wet = house.latent_heat(
            p, model.carried[level], stretch.moisture[t], filtered[house.SHELL_1], stretch.pressure, water, stretch.dt
        )
        out[house.SHELL_1] += wet / (p[house._CS] * model.shares[0])
        water = house.water_after(p, water, wet, stretch.dt)
    return water


@helper
def see(model, level, probe, out):
    """Fill `out` with the observation row of one probe (0 house, 1 soil, 2 outlet) and return its variance."""
    p = model.p
    out[:] = 0.0
    if probe == 0:
        out[house.AIR] = 1.0
        return p[house._R_HOUSE] ** 2
    if probe == 1:
        out[:] = model.probe
        return p[house._R_SOIL] ** 2
    eff = model.moved[level]
    out[house.AIR] = 1.0 - eff
    out[house.SHELL_1] = eff
    return p[house._R_OUT] ** 2


@helper
def row_of_product(a, i, b, out):
    """Fill row i of out with row i of a times b, all shape (10, 10).

    The ten sums are kept in variables of their own: so they stay in registers and are added four at a time.
    """
    s0, s1, s2, s3, s4, s5, s6, s7, s8, s9 = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for k in range(10):
        v = a[i, k]
        s0 += v * b[k, 0]
        s1 += v * b[k, 1]
        s2 += v * b[k, 2]
        s3 += v * b[k, 3]
        s4 += v * b[k, 4]
        s5 += v * b[k, 5]
        s6 += v * b[k, 6]
        s7 += v * b[k, 7]
        s8 += v * b[k, 8]
        s9 += v * b[k, 9]
    out[i, 0] = s0
    out[i, 1] = s1
    out[i, 2] = s2
    out[i, 3] = s3
    out[i, 4] = s4
    out[i, 5] = s5
    out[i, 6] = s6
    out[i, 7] = s7
    out[i, 8] = s8
    out[i, 9] = s9


@jit
def run_filter(model, stretch, state, spread, water, cut, errors, variances, gains, states):
    """Filter a Stretch; return the log-likelihood (without constant) of the one-step errors.

    state (10,), spread (10, 10) and water (1,) [kg in the pipes]: mean and covariance before the first row, changed in
    place to those after the last.
    cut: one-step errors beyond this many standard deviations count as more noise (a door opened); inf: none.
    errors, variances: shape (rows, 3), NaN where nothing was seen. gains (rows, 3, 10) and states (rows, 10): filled
    for the smoother when they have as many rows, else left alone.
    """
    n = house.STATES
    p = model.p
    rows = len(stretch.level)
    keep = gains.shape[0] >= rows
    z = np.zeros(n)
    pz = np.zeros(n)
    f = np.zeros(n)
    new = np.zeros(n)
    middle = np.zeros((n, n))
    turned = np.zeros((n, n))
    total = 0.0
    for t in range(rows):
        level = stretch.level[t]
        for probe in range(PROBES):
            errors[t, probe] = np.nan
            value = stretch.seen[t, probe]
            if np.isnan(value) or (probe == 2 and not stretch.outlet_ok[t]):
                if keep:
                    gains[t, probe, :] = 0.0
                continue
            noise = see(model, stretch.level[t - 1] if probe == 2 else level, probe, z)
            error = value - p[house._OFFSET] if probe == 2 else value
            for i in range(n):
                error -= z[i] * state[i]
            variance = noise
            for i in range(n):
                got = 0.0
                for j in range(n):
                    got += spread[i, j] * z[j]
                pz[i] = got
                variance += got * z[i]
            if error * error > cut * cut * variance:
                variance = error * error / (cut * cut)
            errors[t, probe] = error
            variances[t, probe] = variance
            total -= 0.5 * (np.log(variance) + error * error / variance)
            for i in range(n):
                gain = pz[i] / variance
                state[i] += gain * error
                if keep:
                    gains[t, probe, i] = gain
                for j in range(n):
                    spread[i, j] -= gain * pz[j]
        if keep:
            states[t, :] = state
        water[0] = row_forcing(model, stretch, t, state, water[0], f)
        a = model.power[level]
        b = model.integral[level]
        for i in range(n):
            got = 0.0
            for j in range(n):
                got += a[i, j] * state[j] + b[i, j] * f[j]
            new[i] = got
        state[:] = new
        for i in range(n):
            for j in range(n):
                turned[i, j] = a[j, i]
        for i in range(n):
            row_of_product(a, i, spread, middle)
        for i in range(n):
            row_of_product(middle, i, turned, spread)
        add_noise(p, stretch.dt, stretch.shine[t], spread)
    return total


@jit
def add_noise(p, dt, shine, spread):
    """Add one step's process noise to the diagonal of `spread`."""
    spread[house.GAIN, house.GAIN] += dt * (p[house._Q_NIGHT] ** 2 + p[house._Q_DAY] ** 2 * shine)
    mass = dt * p[house._W_MASS] ** 2
    spread[house.MASS, house.MASS] += mass
    spread[house.SURFACE, house.SURFACE] += mass
    spread[house.FLOOR_1, house.FLOOR_1] += mass
    soil = dt * p[house._W_SOIL] ** 2
    spread[house.SHELL_1, house.SHELL_1] += dt * p[house._W_WALL] ** 2
    spread[house.SHELL_2, house.SHELL_2] += soil
    spread[house.SHELL_3, house.SHELL_3] += soil
    spread[house.BELOW, house.BELOW] += soil


@jit
def smooth(model, stretch, start, spread, errors, variances, gains, states, out):
    """Fill `out`, shape (n, 10), with the smoothed states of a stretch filtered from `start`, `spread`.

    states: the filtered ones; the latent heat of the filter is kept, so that both passes step alike.
    """
    n = house.STATES
    rows = out.shape[0]
    z = np.zeros(n)
    r = np.zeros(n)
    back = np.zeros(n)
    for t in range(rows - 1, -1, -1):
        level = stretch.level[t]
        # r belongs to the state after this row's step: kept in `out` until the forward pass.
        out[t, :] = r
        a = model.power[level]
        for i in range(n):
            got = 0.0
            for j in range(n):
                got += a[j, i] * r[j]
            back[i] = got
        r[:] = back
        for probe in range(PROBES - 1, -1, -1):
            if np.isnan(errors[t, probe]):
                continue
            see(model, stretch.level[t - 1] if probe == 2 else level, probe, z)
            dot = errors[t, probe] / variances[t, probe]
            for i in range(n):
                dot -= gains[t, probe, i] * r[i]
            for i in range(n):
                r[i] += z[i] * dot
    state = start + spread @ r
    f = np.zeros(n)
    noise = np.zeros((n, n))
    water = 0.0
    for t in range(rows):
        level = stretch.level[t]
        noise[:] = 0.0
        add_noise(model.p, stretch.dt, stretch.shine[t], noise)
        for i in range(n):
            r[i] = out[t, i] * noise[i, i]
        out[t, :] = state
        water = row_forcing(model, stretch, t, states[t], water, f)
        a = model.power[level]
        b = model.integral[level]
        for i in range(n):
            got = r[i]
            for j in range(n):
                got += a[i, j] * state[j] + b[i, j] * f[j]
            back[i] = got
        state[:] = back
