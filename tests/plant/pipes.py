"""Air through buried pipes: flow, heat and moisture exchange with the wall, water film, fan.

One pipe stands for all; it is cut along its length into segments of equal length whose wall is at one
temperature each. Scalar functions, jitted; checked in tests/test_plant_pipes.py against ht and fluids.
"""

from math import exp, log, pi, sqrt

from tests.plant.jit import jit
from tests.plant.psychro import (
    CP_AIR,
    CP_VAPOUR,
    CP_WATER,
    LEWIS,
    moist_enthalpy,
    saturation_ratio,
)

CONDUCTIVITY_AIR = 0.0253  # [W/m K] at 15 degC, from memory (0.0243 at 0, 0.0265 at 30 degC)
VISCOSITY_AIR = 1.8e-5  # [Pa s] at 15 degC, from memory (1.72e-5 at 0, 1.87e-5 at 30 degC)
LAMINAR_NUSSELT = 3.66  # fully developed, wall at one temperature; any heat transfer text


@jit
def petukhov_friction(reynolds):
    """Darcy friction factor of a smooth pipe. [-] Source: Petukhov 1970, valid from Re 3,000 to 5e6."""
    return (0.79 * log(reynolds) - 1.64) ** -2


@jit
def gnielinski_nusselt(reynolds, prandtl):
    """Nusselt number of turbulent flow in a smooth pipe. [-] Source: Gnielinski 1976, Int. Chem. Eng. 16, 359.

    Smooth, though drain pipe is corrugated: Sibley & Raghavan 1984, Can. Agric. Eng. 26, 177 measured heat
    transfer "similar in magnitude to smooth pipes" in corrugated drain.
    """
    f = petukhov_friction(reynolds) / 8.0
    return f * (reynolds - 1000.0) * prandtl / (1.0 + 12.7 * sqrt(f) * (prandtl ** (2.0 / 3.0) - 1.0))


@jit
def nusselt(reynolds, prandtl):
    """Nusselt number for any flow: laminar below Re 2,300, Gnielinski from 4,000, joined linearly between.

    Source of the joining: Gnielinski 2013, Int. J. Heat Mass Transfer 63, 134 (there with entrance terms, left out).
    """
    if reynolds < 2300.0:
        return LAMINAR_NUSSELT
    if reynolds > 4000.0:
        return gnielinski_nusselt(reynolds, prandtl)
    part = (reynolds - 2300.0) / 1700.0
    return (1.0 - part) * LAMINAR_NUSSELT + part * gnielinski_nusselt(4000.0, prandtl)


@jit
def wall_coefficient(speed, diameter, density):
    """Heat transfer coefficient at the pipe wall. [W/m2 K] speed [m/s], diameter [m], density [kg/m3]"""
    reynolds = density * speed * diameter / VISCOSITY_AIR
    prandtl = CP_AIR * VISCOSITY_AIR / CONDUCTIVITY_AIR
    return nusselt(reynolds, prandtl) * CONDUCTIVITY_AIR / diameter


@jit
def transfer_units(coefficient, diameter, length, mass_flow):
    """Number of transfer units of one pipe piece, wall at one temperature. [-] mass_flow [kg/s] in one pipe."""
    return coefficient * pi * diameter * length / (mass_flow * CP_AIR)


@jit
def pressure_drop(friction, length, diameter, speed, density, minor):
    """Pressure lost along a pipe. [Pa] friction: Darcy factor, 0.05-0.11 for corrugated drain (check by Manning
    n 0.015-0.020, from memory); minor: sum of loss coefficients. Source: Darcy-Weisbach."""
    return (friction * length / diameter + minor) * 0.5 * density * speed * speed


@jit
def piece(t_in, w_in, wall_t, wall_w, keep, keep_wet, wet, film_limit, mass_flow):
    """Air through one pipe piece whose wall is at one temperature.

    t_in, w_in : inlet temperature [degC] and humidity ratio. wall_t, wall_w : wall temperature and its saturated
    humidity ratio. keep, keep_wet : exp(-NTU) of heat and of mass. wet : wetted share of the wall, 0 to 1.
    film_limit : most water that may evaporate [kg/s]. mass_flow : dry air in all pipes [kg/s].
    Returns (t_out, w_out, heat into the wall [W], condensed [kg/s], negative where it evaporates).
    Sensible and vapour part follow the same law (Chilton & Colburn 1934); what condenses leaves as liquid at wall_t.
    """
    t_out = wall_t + (t_in - wall_t) * keep
    if w_in > wall_w:
        w_out = wall_w + (w_in - wall_w) * keep_wet
    else:
        w_out = w_in + wet * (wall_w - w_in) * (1.0 - keep_wet)
        w_out = min(w_out, w_in + film_limit / mass_flow)
    condensed = mass_flow * (w_in - w_out)
    heat = mass_flow * (moist_enthalpy(t_in, w_in) - moist_enthalpy(t_out, w_out)) - condensed * CP_WATER * wall_t
    return t_out, w_out, heat, condensed


@jit
def keeps(flow_share, p):
    """exp(-NTU) of one segment for heat and for mass, at a share of full airflow. p: the plant's constants."""
    flow = p.airflow * flow_share / p.pipes
    speed = flow / (pi * p.bore * p.bore / 4.0)
    density = p.density
    h = wall_coefficient(speed, p.bore, density)
    units = transfer_units(h, p.bore, p.pipe_length / p.segments, density * flow)
    return exp(-units), exp(-units / LEWIS), h


@jit
def through(t_in, w_in, film, scene, p):
    """All segments in a row; fills scene.heat [W] and scene.condensed [kg/s] per segment, all pipes together.

    film : water on the wall [kg] per segment; no more than that evaporates in a step, plus what the moist soil gives
    through the perforations (share p.soil_wet of the wall, without limit). Returns (t_out, w_out).
    """
    mass_flow = p.density * p.airflow * scene.share
    full = p.film_full * p.wall_area / p.segments
    for j in range(p.segments):
        wet = min(1.0, film[j] / full)
        limit = film[j] / scene.h_s
        if p.soil_wet > wet:  # the soil, not the film, wets most of the wall: it does not run dry
            wet = p.soil_wet
            limit = 1.0
        t_in, w_in, scene.heat[j], scene.condensed[j] = piece(
            t_in, w_in, scene.wall_t[j], scene.wall_w[j], scene.keep, scene.keep_wet, wet, limit, mass_flow
        )
    return t_in, w_in


@jit
def fan_heat(share, p):
    """Electric power of the fan, all of it ending as heat in the stream. [W] Source: affinity law, share cubed."""
    return p.fan_watts * share * share * share


@jit
def settle_wall(wall_t, shell_t, heat, resistance, h, pressure, p):
    """One damped Newton step of the wall surface temperature of each segment, in place. shape (segments,)

    resistance [K/W] from the surface to the middle of the first soil shell, per segment, all pipes together.
    """
    area = p.wall_area / p.segments
    for j in range(p.segments):
        target = shell_t[j, 0] + resistance * heat[j]
        slope = resistance * area * h
        if heat[j] != 0.0:
            rise = saturation_ratio(wall_t[j] + 0.5, pressure) - saturation_ratio(wall_t[j] - 0.5, pressure)
            slope *= 1.0 + 2.45e6 * rise / (CP_AIR * LEWIS)
        wall_t[j] += (target - wall_t[j]) / (1.0 + slope)


@jit
def moist_heat_capacity(w):
    """Heat capacity of moist air per kg dry air. [J/kg K]"""
    return CP_AIR + w * CP_VAPOUR
