"""Is a step in the house's modes the step of its matrices?"""

import numpy as np
import pytest

from tests.tune_help import fitted
from tuner import house, kalman, modes

LEVELS = (0, 7, kalman.OFF, 2 * house.LEVELS)


@pytest.fixture(scope="module")
def course():
    return fitted().courses(0)[0]


@pytest.fixture(scope="module")
def mode(course):
    return modes.modes(course, fitted().problem.shares)


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
