"""One pipe in wide soil, blown with air of one temperature: the plant's own pipe and soil code without a house."""

from math import exp, pi

import numpy as np

from tests.plant import houses, parts, pipes, psychro, soil
from tests.plant.jit import jit

RHO = 1.15  # [kg/m3] of the cases below


def grid_for(bore, length, depth, conductivity, capacity, spacing=3.0, fine=1, thickness=0.003, wall_resistance=0.01):
    """A Grid of one pipe in uniform soil, without heat to the edge. -> Grid"""
    house = houses.LEAN_TO.but(
        floor={"area": spacing * length * 1.01, "conductivity": conductivity, "capacity": capacity},
        pipes=parts.Pipes(1, length, bore, spacing, depth, thickness=thickness, wall_resistance=wall_resistance),
        ground=parts.Ground(
            conductivity, capacity, conductivity, capacity, bottom=depth + 3.0, backfill_conductivity=conductivity,
            backfill_capacity=capacity,
        ),
    )  # fmt: skip
    g = soil.build(house, fine)
    return g._replace(edge_g=np.zeros(g.dz.size))


class Ground:
    """Slices of one pipe, all at one temperature at first."""

    def __init__(self, g, segments, start):
        self.g = g
        self.rings = np.full((segments, g.ring_capacity.size), start)
        self.slices = np.full((segments, g.depth.size, g.dx.size), start)
        self.hole = np.zeros((segments, g.hole_g.shape[0]))
        self.outside = np.full(g.depth.size, start)
        self.start = start
        self.work = np.zeros((g.depth.size, g.dx.size))

    def step(self, heat, h_s, inner=1, times=1):
        """Give each segment's wall heat [W/m] for times x inner steps of h_s [s]; the slices move every inner steps."""
        blow(self.rings, heat, self.hole, self.slices, self.start, self.outside, self.g, h_s, inner, times, self.work)


@jit
def blow(rings, heat, hole, slices, floor_t, outside, g, h_s, inner, times, work):
    """times x inner steps of rings, each `inner` followed by one of the slices."""
    for _ in range(times):
        for _ in range(inner):
            soil.warm_rings(rings, heat, hole, slices, g, h_s)
        for s in range(rings.shape[0]):
            soil.warm_slice(slices[s], hole[s], floor_t, outside, floor_t, g, h_s * inner, work)


def outlet_after(hours, t_in, t_soil, speed, bore, length, depth, conductivity, capacity, segments=8, h_s=10.0):
    """Outlet of dry air blown at a steady temperature for some hours. [degC]"""
    g = grid_for(bore, length, depth, conductivity, capacity)
    ground = Ground(g, segments, float(t_soil))
    piece = length / segments
    flow = RHO * speed * pi * bore * bore / 4
    h = pipes.wall_coefficient(speed, bore, RHO)
    # the wall is at the first ring's middle behind g.wall_g: one conductance from air to ring
    conductance = 1.0 / (1.0 / (h * pi * bore) + 1.0 / g.wall_g)  # [W/m K]
    keep = exp(-conductance * piece / (flow * psychro.CP_AIR))
    heat = np.zeros(segments)
    t = t_in
    h_s = min(h_s, 0.7 * g.ring_limit_s, 0.7 * g.slice_limit_s)
    for _ in range(int(hours * 3600 / h_s)):
        t = t_in
        for j in range(segments):
            out, _, taken, _ = pipes.piece(t, 0.0, ground.rings[j, 0], 0.1, keep, 1.0, 0.0, 0.0, flow)
            heat[j] = taken / piece
            t = out
        ground.step(heat, h_s)
    return t
