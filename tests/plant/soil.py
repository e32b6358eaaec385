"""Soil: rings round each pipe inside a square hole of a two-dimensional grid, one slice per pipe segment.

A slice is the vertical section between one pipe's axis (x = 0) and the plane midway to its neighbour (x = spacing/2),
both planes of symmetry: that is how shells see their neighbours. Round the pipe, rings from the pipe to the circle of
the hole's area; outside, rectangles. A hybrid of the two kinds of cell after Piechowski 1999, Int. J. Energy
Research 23, 587. A plain column stands for floor without pipes. Depth 0 is the floor; the first layer of soil (the
floor layer) is a node of the house (envelope.py).

Lengths [m], temperatures [degC]; a slice is per metre of pipe, both sides of the axis together.
Left out: flow of water in the soil, freezing of soil water, conduction along the pipe between slices
(a segment is longer than a metre; a day's wave in soil is 0.1-0.2 m).
"""

from collections import namedtuple
from math import cos, exp, log, pi, sqrt

import numpy as np

from tests.plant.jit import jit

Grid = namedtuple(
    "Grid",
    "dz dx depth capacity conductivity up_g side_g ring_capacity ring_g hole_g wall_g"
    " row axis_row live bare_g edge_g bottom_g ring_limit_s slice_limit_s",
)


RINGS = 8  # per pipe
RING_GROWTH = 1.2  # each ring this much wider than the one inside it
BASE = 3  # cells across half the hole


def undisturbed(depth, day, mean, amplitude, coldest, diffusivity):
    """Temperature of undisturbed ground. [degC] depth [m], day [day of year], diffusivity [m2/day].

    Source: Kusuda & Achenbach 1965, ASHRAE Transactions 71, 61-75.
    """
    damp = np.sqrt(pi / (365.0 * diffusivity))
    lag = depth / 2.0 * np.sqrt(365.0 / (pi * diffusivity))
    return mean - amplitude * np.exp(-depth * damp) * np.cos(2 * pi / 365.0 * (day - coldest - lag))


@jit
def undisturbed_now(depth, day, mean, amplitude, coldest, diffusivity, out):
    """The same equation for one moment, into out, shape (n,)."""
    damp = sqrt(pi / (365.0 * diffusivity))
    for i in range(depth.size):
        phase = 2 * pi / 365.0 * (day - coldest) - depth[i] * damp
        out[i] = mean - amplitude * exp(-depth[i] * damp) * cos(phase)


def _grow(start, end, first, ratio):
    """Faces from start to end, the first cell about `first` wide, each next one `ratio` wider. -> list"""
    widths, width = [], first
    while sum(widths) < (end - start) * 0.999:
        widths.append(width)
        width *= ratio
    scale = (end - start) / sum(widths)
    return list(start + np.cumsum(np.array(widths) * scale))


def depth_faces(first, hole_top, hole_bottom, bottom, fine):
    """Faces of the layers [m], refined at the floor and at the pipe; fine: how many times finer than usual."""
    half = (hole_bottom - hole_top) / 2
    above = hole_top - first
    ratio = 1.0 + 0.5 / fine
    # from the floor down and from the hole up, meeting in the middle
    down = _grow(0.0, above * 0.55, 0.03 / fine, ratio)
    up = _grow(0.0, above - down[-1], half * 0.8 / fine, ratio)
    faces = [first] + [first + d for d in down] + [hole_top - u for u in reversed(up[:-1])] + [hole_top]
    rows = 2 * fine
    faces += [hole_top + 2 * half * (i + 1) / rows for i in range(rows)]
    faces += [float(f) for f in _grow(hole_bottom, bottom, half * 0.8 / fine, ratio)]
    return np.array(faces)


def build(house, fine=1):
    """The grid of one house. -> Grid. fine = 2 halves rings, columns and layers, for the check of the grid."""
    rings_count, fine = RINGS * fine, BASE * fine
    ground, pipe = house.ground, house.pipes
    outer = pipe.bore / 2 + pipe.thickness
    # the square hole has the area of the ring of shells; it must fit between floor, neighbours and bottom
    side = min(1.6 * outer, pipe.spacing / 2 * 0.6, (pipe.depth - house.floor.thickness) * 0.6)
    faces = depth_faces(house.floor.thickness, pipe.depth - side, pipe.depth + side, ground.bottom, fine)
    x_faces = np.array([0.0, side, *_grow(side, pipe.spacing / 2, side * 0.55 / fine, 1.0 + 0.25 / fine)])
    if fine > 1:
        x_faces = np.array([*np.linspace(0.0, side, fine + 1), *x_faces[2:]])
    dz, dx = np.diff(faces), np.diff(x_faces)
    depth = (faces[:-1] + faces[1:]) / 2
    wet = _share_below(faces, ground.water_table)
    k = 1.0 / ((1 - wet) / ground.conductivity + wet / ground.wet_conductivity)
    c = (1 - wet) * ground.capacity + wet * ground.wet_capacity
    nz, nx = dz.size, dx.size
    row = int(np.argmin(np.abs(faces - (pipe.depth - side))))
    rows = 2 * fine
    columns = fine  # columns of the hole
    live = np.ones((nz, nx))
    live[row : row + rows, :columns] = 0.0

    capacity = c[:, None] * 2 * dz[:, None] * dx[None, :]
    up_g = np.zeros((nz, nx))  # to the layer above; row 0 to the floor layer
    for i in range(1, nz):
        resistance = dz[i] / (2 * k[i]) + dz[i - 1] / (2 * k[i - 1])
        up_g[i] = 2 * dx / resistance * live[i] * live[i - 1]
    up_g[0] = 2 * dx / (dz[0] / (2 * k[0]) + house.floor.thickness / (2 * house.floor.conductivity))
    side_g = np.zeros((nz, nx))  # to the column on the left
    for j in range(1, nx):
        side_g[:, j] = 2 * dz * k / ((dx[j] + dx[j - 1]) / 2) * live[:, j] * live[:, j - 1]

    ring_end = sqrt(outer**2 + (4 * side * side - pi * outer**2) / pi)
    count = rings_count
    widths = RING_GROWTH ** (np.arange(count) * RINGS / count)
    rings = outer + (ring_end - outer) * np.concatenate([[0.0], np.cumsum(widths) / widths.sum()])
    middle = np.sqrt((rings[:-1] ** 2 + rings[1:] ** 2) / 2)
    ring_capacity = ground.backfill_capacity * pi * (rings[1:] ** 2 - rings[:-1] ** 2)
    ring_g = np.zeros(count)  # ring i to ring i + 1; the last one to the hole's edge is in hole_g
    for i in range(count - 1):
        ring_g[i] = 2 * pi * ground.backfill_conductivity / log(middle[i + 1] / middle[i])
    hole_g = _hole(ring_end, middle[-1], ground.backfill_conductivity, side, dz, dx, k, row, rows, columns)
    wall = log(middle[0] / outer) / (2 * pi * ground.backfill_conductivity) + pipe.wall_resistance
    area = house.floor.area
    # heat to the ground outside: each layer sees undisturbed ground at its depth along a quarter circle
    # (after Macey 1949, J. Inst. Fuel 22, 369: arcs from the floor to the surface outside)
    path = ground.edge_path + pi / 2 * depth
    open_share = _share_below(faces, ground.skirt_depth)
    per_m2 = house.floor.perimeter * dz / area
    edge_g = per_m2 * (open_share / (path / k) + (1 - open_share) / (path / k + ground.skirt_resistance))
    return Grid(
        dz=dz,
        dx=dx,
        depth=depth,
        capacity=capacity,
        conductivity=k,
        up_g=up_g,
        side_g=side_g,
        ring_capacity=ring_capacity,
        ring_g=ring_g,
        hole_g=hole_g,
        wall_g=1.0 / wall,
        row=row,
        axis_row=row + rows // 2,
        bare_g=np.concatenate(
            [
                [1.0 / (dz[0] / (2 * k[0]) + house.floor.thickness / (2 * house.floor.conductivity))],
                1.0 / (dz[1:] / (2 * k[1:]) + dz[:-1] / (2 * k[:-1])),
            ]
        ),
        edge_g=edge_g,
        bottom_g=k[-1] / (dz[-1] / 2),
        live=live,
        ring_limit_s=_ring_limit(ring_capacity, ring_g, hole_g),
        slice_limit_s=_slice_limit(capacity, up_g, side_g, hole_g),
    )


def _share_below(faces, depth):
    """Share of each layer that lies deeper than depth. shape (layers,)"""
    return np.clip((faces[1:] - depth) / np.diff(faces), 0.0, 1.0)


def _ring_limit(capacity, ring_g, hole_g):
    """Longest stable explicit step of the rings. [s]"""
    total = ring_g + np.concatenate([[0.0], ring_g[:-1]])
    total[-1] += hole_g[:, 2].sum()
    return float((capacity / total).min())


def _slice_limit(capacity, up_g, side_g, hole_g):
    """Longest stable explicit step of a slice. [s]"""
    total = up_g + side_g
    total[:-1] += up_g[1:]
    total[:, :-1] += side_g[:, 1:]
    for i, j, conductance in hole_g:
        total[int(i), int(j)] += conductance
    return float((capacity / np.maximum(total, 1e-12)).min())


def _hole(edge, middle, k_ring, side, dz, dx, k, row, rows, columns):
    """Conductance [W/m K] from the outermost ring to each cell round the hole. -> rows (i, j, g), shape (m, 3)

    Each of the four sides sees a quarter of the ring; its cells share it by the angle they cover.
    """
    out = []
    angles = np.concatenate([[0.0], np.cumsum(dx[:columns])])
    for i, at in ((row - 1, row - 1), (row + rows, row + rows)):
        for j in range(columns):
            angle = 2 * (_angle(angles[j + 1], side) - _angle(angles[j], side))
            to_edge = log(edge / middle) / (k_ring * angle)
            out.append((i, j, 1.0 / (to_edge + dz[at] / 2 / (k[at] * 2 * dx[j]))))
    heights = np.concatenate([[0.0], np.cumsum(dz[row : row + rows])]) - side
    for i in range(rows):
        angle = 2 * abs(_angle(heights[i + 1], side) - _angle(heights[i], side))
        to_edge = log(edge / middle) / (k_ring * angle)
        here = row + i
        out.append((here, columns, 1.0 / (to_edge + dx[columns] / 2 / (k[here] * 2 * dz[here]))))
    return np.array(out)


def _angle(offset, side):
    """Angle [rad] under which an offset along one side of the square is seen from its centre."""
    return float(np.arctan2(offset, side))


@jit
def warm_rings(rings, heat, hole_flow, slices, g, h_s):
    """Step the rings by h_s [s]: heat [W per m of pipe] in at the wall, what they give the grid into hole_flow [J/m].

    rings : shape (segments, shells). hole_flow : shape (segments, cells round the hole). Explicit Euler.
    """
    last = rings.shape[1] - 1
    for s in range(rings.shape[0]):
        flow = heat[s]
        for i in range(last):
            onward = g.ring_g[i] * (rings[s, i] - rings[s, i + 1])
            rings[s, i] += h_s * (flow - onward) / g.ring_capacity[i]
            flow = onward
        away = 0.0
        for m in range(g.hole_g.shape[0]):
            q = g.hole_g[m, 2] * (rings[s, last] - slices[s, int(g.hole_g[m, 0]), int(g.hole_g[m, 1])])
            hole_flow[s, m] += q * h_s
            away += q
        rings[s, last] += h_s * (flow - away) / g.ring_capacity[last]


@jit
def warm_slice(t, hole_flow, floor_t, outside, bottom_t, g, h_s, work):
    """Step one slice by h_s [s] in place, empty hole_flow. -> heat from the floor layer, to the edge, to the deep [J/m]

    t : shape (layers, columns). work : scratch of the same shape. Explicit Euler.
    """
    nz, nx = t.shape
    from_floor, to_edge, to_deep = 0.0, 0.0, 0.0
    for i in range(nz):
        for j in range(nx):
            work[i, j] = 0.0
    for i in range(nz):
        for j in range(nx):
            here = t[i, j]
            if i == 0:
                q = g.up_g[0, j] * (floor_t - here)
                from_floor += q
                work[0, j] += q
            else:
                q = g.up_g[i, j] * (t[i - 1, j] - here)
                work[i, j] += q
                work[i - 1, j] -= q
            if j > 0:
                q = g.side_g[i, j] * (t[i, j - 1] - here)
                work[i, j] += q
                work[i, j - 1] -= q
    for i in range(nz):
        for j in range(nx):
            q = g.live[i, j] * g.edge_g[i] * 2 * g.dx[j] * (t[i, j] - outside[i])
            work[i, j] -= q
            to_edge += q
    for j in range(nx):
        q = g.bottom_g * 2 * g.dx[j] * (t[nz - 1, j] - bottom_t)
        work[nz - 1, j] -= q
        to_deep += q
    for m in range(g.hole_g.shape[0]):
        work[int(g.hole_g[m, 0]), int(g.hole_g[m, 1])] += hole_flow[m] / h_s
        hole_flow[m] = 0.0
    for i in range(nz):
        for j in range(nx):
            t[i, j] += h_s * work[i, j] / g.capacity[i, j]
    return from_floor * h_s, to_edge * h_s, to_deep * h_s


@jit
def warm_column(t, floor_t, outside, bottom_t, g, capacity, h_s):
    """Step the column under floor without pipes, per m2, in place. -> heat from the floor, to edge, to deep [J/m2]

    t, capacity [J/m2 K] : shape (layers,).
    """
    nz = t.size
    flow = g.bare_g[0] * (floor_t - t[0])
    from_floor = flow
    to_edge = 0.0
    for i in range(nz):
        here = t[i]
        onward = g.bare_g[i + 1] * (here - t[i + 1]) if i < nz - 1 else g.bottom_g * (here - bottom_t)
        edge = g.edge_g[i] * (here - outside[i])
        to_edge += edge
        t[i] = here + h_s * (flow - onward - edge) / capacity[i]
        flow = onward
    return from_floor * h_s, to_edge * h_s, flow * h_s
