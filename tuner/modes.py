"""The difference that another fan run makes, carried in the house's own modes.

Lives here: the change of basis. At one fan level the house without its unexplained gain is a chain of capacities and
symmetric conductances, so it falls apart into nine modes that fade each by itself. A row then costs nine products, not
a hundred; where the fan level changes, which is rare, the difference is turned from one level's modes into the
other's. It is the same step as with the matrices, to rounding.
"""

from collections import namedtuple

import numpy as np

from tuner import house
from tuner.core_numba import helper

COUNT = house.GAIN  # modes: all nodes but the unexplained gain, which stays as it was
AIR, SOIL, WALL = range(3)  # rows of Modes.reads
PUSH_AIR, PUSH_MASS, PUSH_WALL = range(3)  # rows of Modes.pushes

Modes = namedtuple("Modes", "fade nodes modes reads pushes")
Modes.__doc__ = """By fan level index: fade (41, 9) of each mode in one row; nodes (41, 9, 9) times modes gives nodes;
modes (41, 9, 9) times nodes gives modes; reads (41, 3, 9): house air, soil probe and pipe wall of the modes; pushes
(41, 3, 9): modes after one row of a forcing of 1 K/s on air, mass and first shell."""


def capacities(p, shares):
    """Return the heat capacities of the nodes but the gain's, shape (9,) [J/K]; shares: of the shells, shape (3,)."""
    floor = p[house._CF] * np.array([house.UPPER, 1.0 - house.UPPER])
    return np.concatenate(
        ([p[house._CA], p[house._CM], p[house._C0]], floor, p[house._CS] * np.asarray(shares), [p[house._CB]])
    )


def modes(model):
    """Return the Modes of a kalman.Model; zero where the model has no such fan level."""
    root = np.sqrt(capacities(model.p, model.shares))
    even = model.power[:, :COUNT, :COUNT] * root[:, None] / root[None, :]
    fade, turned = np.linalg.eigh((even + even.transpose(0, 2, 1)) / 2.0)
    nodes = turned / root[:, None]
    back = turned.transpose(0, 2, 1) * root
    rows = np.zeros((3, COUNT))
    rows[AIR, house.AIR] = rows[WALL, house.SHELL_1] = 1.0
    rows[SOIL] = model.probe[:COUNT]
    pushed = model.integral.transpose(0, 2, 1)[:, [house.AIR, house.MASS, house.SHELL_1], :COUNT]
    return Modes(
        fade, np.ascontiguousarray(nodes), np.ascontiguousarray(back), np.ascontiguousarray(rows @ nodes),
        np.ascontiguousarray(pushed @ back.transpose(0, 2, 1)),
    )  # fmt: skip


@helper
def read(reads, level, which, z):
    """Return one of Modes.reads of the difference z, shape (9,). Added in pairs, since a chain would wait for each."""
    return (
        (reads[level, which, 0] * z[0] + reads[level, which, 1] * z[1])
        + (reads[level, which, 2] * z[2] + reads[level, which, 3] * z[3])
    ) + (
        (reads[level, which, 4] * z[4] + reads[level, which, 5] * z[5])
        + (reads[level, which, 6] * z[6] + reads[level, which, 7] * z[7])
        + reads[level, which, 8] * z[8]
    )


@helper
def turn(matrices, level, x, out):
    """Fill out (9,) with one level's matrix times x (9,)."""
    for i in range(COUNT):
        total = 0.0
        for j in range(COUNT):
            total += matrices[level, i, j] * x[j]
        out[i] = total
