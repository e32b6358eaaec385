"""Is a step in the house's modes the step of its matrices?"""

import numpy as np
import pytest

from controller.core import rows
from tests.tune_help import fitted
from tuner import closed_loop, house, kalman, modes, track

LEVELS = (0, 7, kalman.OFF, 2 * house.LEVELS)


@pytest.fixture(scope="module")
def course():
    return fitted().courses(0)[0]


@pytest.fixture(scope="module")
def mode(course):
    return course.mode


@pytest.mark.parametrize("level", LEVELS)
def test_there_and_back_is_the_same(mode, level):
    x = np.random.default_rng(1).normal(size=modes.COUNT)
    assert mode.nodes[level] @ (mode.modes[level] @ x) == pytest.approx(x, abs=1e-12)


@pytest.mark.parametrize("level", LEVELS)
def test_a_hundred_rows_are_those_of_the_matrix(course, mode, level):
    """Under a steady push on air, mass and pipe wall."""
    rng = np.random.default_rng(2)
    x = np.append(rng.normal(size=modes.COUNT), 0.0)
    push = np.zeros(house.STATES)
    push[[house.AIR, house.MASS, house.SHELL_1]] = rng.normal(size=3) * 1e-3
    z = mode.modes[level] @ x[: modes.COUNT]
    for _ in range(100):
        x = x @ course.columns[level] + push @ course.sums[level]
        z = z * mode.fade[level] + push[[house.AIR, house.MASS, house.SHELL_1]] @ mode.pushes[level]
    assert mode.nodes[level] @ z == pytest.approx(x[: modes.COUNT], abs=1e-10)
    told = [modes.read(mode.reads, level, which, z) for which in (modes.AIR, modes.SOIL, modes.WALL)]
    assert told == pytest.approx([x[house.AIR], course.probe @ x, x[house.SHELL_1]], abs=1e-10)


def test_every_mode_fades(mode):
    assert (mode.fade[list(LEVELS)] > 0).all() and (mode.fade[list(LEVELS)] < 1).all()


def by_matrices(course, levels, heater, vent, push):
    """Return the difference at each row, shape (n, 10), under outputs that are given: every step in whole matrices."""
    p, dt, soil_capacity = course.p, course.dt, course.p[house._CS] * course.share
    power, sums = course.columns.transpose(0, 2, 1), course.sums.transpose(0, 2, 1)
    delta, water, out = np.zeros(house.STATES), 0.0, []

    def motor(level):
        warm, eff = course.fan_heat * course.motor[level], course.moved[level]
        return np.array([(1 - eff) * warm / p[house._CA], eff * warm / soil_capacity])

    def lost(level, outside):
        return house.outward(p, (level - kalman.OFF) / house.LEVELS) * (outside - p[house._SKY]) / p[house._CA]

    for t, level in enumerate(levels):
        out.append(delta)
        acts, was = course.acts[t], course.level[t]
        more = np.zeros(house.STATES)
        more[[house.AIR, house.MASS]] = push
        more[house.AIR] += lost(level, acts[track.OUTSIDE]) - lost(was, acts[track.OUTSIDE])
        more[house.AIR] += (heater[t] - acts[track.HEATER]) * p[house._HEATER] / p[house._CA]
        more[house.AIR] += track.vents_pull(
            p, acts[track.HOUSE], acts[track.OUTSIDE], acts[track.VENT], vent[t], delta[house.AIR], dt
        )
        more[[house.AIR, house.SHELL_1]] += motor(level) - motor(was)
        if level != kalman.OFF or was != kalman.OFF:
            wall = course.state[t, house.SHELL_1] + delta[house.SHELL_1]
            moist = acts[track.MOISTURE]
            latent = house.latent_heat(p, course.carried[level], moist, wall, course.pressure, water, dt)
            water = house.water_after(p, water, latent, dt)
            more[house.SHELL_1] += (latent - acts[track.LATENT]) / soil_capacity
        now = power[level] @ (course.state[t] + delta) + sums[level] @ (course.forcing[t] + more)
        delta = now - power[was] @ course.state[t] - sums[was] @ course.forcing[t]
    return np.array(out)


@pytest.mark.parametrize(
    "changed", [{}, {"charge_fan_pct": 60, "discharge_fan_pct": 80}, {"heater_fitted": 1, "heat_below_centi_c": 400},
                {"vent_fitted": 1, "vent_above_centi_c": 2500}], ids=["defaults", "part speed", "heater", "vent"],
)  # fmt: skip
def test_the_closed_loop_is_stepped_as_whole_matrices_would(course, changed):
    """Two days, the fan, heater and vent as the closed loop chose; house, soil and the difference after it, 1e-8 K."""
    count = 2 * 1440
    settings = rows.defaults()._replace(charge_above_centi_c=1600, discharge_below_centi_c=800, **changed)
    part = track.piece(course, slice(count))
    floats, ints, delta = np.empty((count, 3)), np.zeros((count, 8), np.int64), np.zeros((1, house.STATES))
    push = np.array([[2e-5, -1e-6]])
    closed_loop.walk(settings, part, fitted().seen(settings, 0)[:count], push, True, delta, floats, ints)
    steps = (ints[:, 2] * house.LEVELS + 50) // 100
    levels = kalman.OFF + np.where(floats[:, 1] > floats[:, 0], steps, -steps)
    heater = ints[:, 3] if settings.heater_fitted else part.acts[:, track.HEATER]
    vent = ints[:, 4].astype(float) if settings.vent_fitted else part.acts[:, track.VENT]
    assert (levels != part.level).mean() > 0.05 and (part.level != kalman.OFF).any()
    told = by_matrices(part, levels, heater, vent, push[0])
    assert floats[:, 0] - part.acts[:, track.HOUSE] == pytest.approx(told[:, house.AIR], abs=1e-8)
    assert floats[:, 1] - part.acts[:, track.SOIL] == pytest.approx(told @ part.probe, abs=1e-8)
