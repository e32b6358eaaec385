"""The heat and water balance of the quick part of the house at one moment: air, cover, leaves, mass, floor.

What lives here: flows() and its pieces. Every flow is worked out once and used on both sides of what it joins, so that
energy and water are kept by construction; what the account in `totals` then shows is the error of the stepping.
Liquid water has the enthalpy CP_WATER t; films store water but no sensible heat (0.3 kJ/m2 K, left out).
Freezing of condensate is left out: below 0 degC it gives the heat of evaporation only (12 % too little).
"""

from collections import namedtuple

from tests.plant import envelope as env
from tests.plant import moisture, pipes
from tests.plant.jit import jit
from tests.plant.psychro import CP_AIR, CP_VAPOUR, CP_WATER, saturation_ratio, vapour_enthalpy

# what moves quickly, the vector y
AIR, RATIO, COVER, LEAF, MASS, FLOOR = range(6)
QUICK = 6
# water films, the vector film: cover, leaves, then one per pipe segment
FILM_COVER, FILM_LEAF, FILM_PIPE = range(3)

# totals [J] and [kg], summed over the run; account.energy_error and account.water_error check them
(
    SUN, SKY_AND_WIND, LEAK, VENT, FAN_HEAT, HEATER, BACK, TO_SOIL, TO_PIPES, LIQUID_IN, EDGE, DEEP,
    W_TRANSPIRED, W_FLOOR, W_SOIL_TO_PIPE, W_LEAK, W_RUNOFF, W_DRAINED, W_CONDENSED_PIPE, W_CONDENSED_COVER,
    COVER_LOSS, CONV_LEAF, CONV_FLOOR, CONV_MASS, CONV_COVER, LATENT_PIPES,
) = range(26)  # fmt: skip
TOTALS = 26

# What stays as it is during one step. now: outside air [degC], its ratio, wind at 10 m, sky [degC]; light: floor,
# leaves, mass, cover [W], inside [W/m2]; wall_t, wall_w: the pipes' wall by the segment; ground_t, ground_g: mean of
# the soil under the floor layer, [W/K] to it; keep, keep_wet: exp(-NTU) of a segment; heat, condensed: filled by it.
Scene = namedtuple(
    "Scene", "now light vent share heat_on ground_t ground_g wall_t wall_w keep keep_wet heat condensed h_s"
)


@jit
def cover_water(t, w, cover, h_cover, film, p, h_s):
    """Water leaving the inner face of the cover, no more than half its film a step. [kg/s], negative: condenses"""
    coefficient = p.cover_area * env.cover_h_mass(h_cover)
    off = moisture.surface_exchange(coefficient, w, saturation_ratio(cover, p.pressure), film, p.cover_film_full)
    return min(off, 0.5 * film / h_s)


@jit
def leaf_water(w, leaf, film, light_inside, boundary, p, h_s):
    """Water leaving the leaves: (transpired, from the film) [kg/s]; the second negative where dew falls."""
    w_leaf = saturation_ratio(leaf, p.pressure)
    transpired, off = moisture.leaf_exchange(p, w, w_leaf, film, light_inside, leaf, boundary)
    return transpired, min(off, 0.5 * film / h_s)


@jit
def floor_water(w, top, h_floor, p):
    """Water leaving the floor [kg/s]: its wet part evaporates from a store without end, dew on it sinks in."""
    gap = saturation_ratio(top, p.pressure) - w
    return env.cover_h_mass(h_floor) * gap * (p.floor_wet_area if gap > 0.0 else p.floor_area)


@jit
def longwave(cover, leaf, mass, top, sky, film, p):
    """Longwave exchange inside, and through a film that lets it pass, less where it is wet. [W]

    -> leaf to cover, floor to cover, mass to cover, floor to leaf, leaf to sky, floor to sky.
    Two grey surfaces, emissivity 0.9 inside (0.8 between floor and leaves for the two together).
    """
    clear = p.cover_clear_ir * (1.0 - 0.8 * min(1.0, film / p.cover_film_full))
    blocked = 0.9 * p.cover_emissivity * (1.0 - clear)
    return (
        p.leaf_ir_area * blocked * env.radiated(leaf, cover),
        p.floor_ir_area * blocked * env.radiated(top, cover),
        0.5 * p.mass_area * 0.9 * (1.0 - clear) * env.radiated(mass, cover),
        p.leaf_ir_area * 0.8 * env.radiated(top, leaf),
        p.leaf_ir_area * clear * 0.9 * env.radiated(leaf, sky),
        p.floor_ir_area * clear * 0.9 * env.radiated(top, sky),
    )


@jit
def pipe_stream(t, w, film, scene, p):
    """The air through the pipes.

    -> dry air [kg/s], its outlet [degC] and ratio, fan [W], heat into the soil [W], water left there [kg/s]
    """
    if scene.share <= 0.0:
        return 0.0, t, w, 0.0, 0.0, 0.0
    stream = p.density * p.airflow * scene.share
    fan_w = pipes.fan_heat(scene.share, p)
    warm = t + fan_w / (stream * pipes.moist_heat_capacity(w))
    stream_t, stream_w = pipes.through(warm, w, film[FILM_PIPE:], scene, p)
    into, taken = 0.0, 0.0
    for j in range(p.segments):
        into += scene.heat[j]
        taken += scene.condensed[j]
    return stream, stream_t, stream_w, fan_w, into, taken


@jit
def carried(water, t_air, t_surface):
    """Heat a surface loses with water leaving it [W]; water [kg/s] negative where vapour of the air condenses."""
    return water * (vapour_enthalpy(t_air if water < 0.0 else t_surface) - CP_WATER * t_surface)


@jit
def brought(water, t_air, t_surface):
    """Sensible heat the air gains with vapour from a surface [W]; vapour leaving the air takes none."""
    return water * CP_VAPOUR * (t_surface - t_air) if water > 0.0 else 0.0


@jit
def flows(y, film, outer, top, scene, p, dy, dfilm, rate):
    """Rates of change of y and film into dy, dfilm, and the flows behind them into rate (totals per second).

    outer, top : the cover's outer face and the floor's surface at the last step; neither stores heat.
    Returns both anew, and the pipes' outlet (temperature, ratio).
    """
    out_t, out_w, wind, sky = scene.now[0], scene.now[1], scene.now[2] * p.shelter, scene.now[3]
    light, share = scene.light, scene.share
    t, w, cover, leaf, mass = y[0], y[1], y[2], y[3], y[4]
    h_cover = env.inside_cover_h(t - cover, share)
    to_cover = p.cover_area * h_cover * (t - cover)
    off_cover = cover_water(t, w, cover, h_cover, film[0], p, scene.h_s)
    outer, cover_loss = env.outer_surface(cover, outer, out_t, sky, wind, p)
    boundary = p.leaf_boundary / (1.0 + 0.5 * share)
    from_leaf = 2.0 * p.leaf_area * p.density * CP_AIR / boundary * (leaf - t)
    transpired, off_leaf = leaf_water(w, leaf, film[1], light[4], boundary, p, scene.h_s)
    h_floor = env.floor_h(top - t, share)
    from_floor = p.floor_area * h_floor * (top - t)
    off_floor = floor_water(w, top, h_floor, p)
    from_mass = p.mass_area * (p.mass_h + 2.0 * share) * (mass - t)
    back = p.back_g * (mass - p.back_t)
    leaf_ir, floor_ir, mass_ir, under_ir, leaf_sky, floor_sky = longwave(cover, leaf, mass, top, sky, film[0], p)
    leak = env.leak_flow(t, out_t, wind, p) * p.density
    through_vent = env.vent_flow(scene.vent, t, out_t, wind, p) * p.density if scene.vent > 0.0 else 0.0
    fresh = leak + through_vent
    stream, stream_t, stream_w, fan_w, into_pipes, taken = pipe_stream(t, w, film, scene, p)

    sensible = (
        from_leaf + from_floor + from_mass - to_cover + scene.heat_on * p.heater_w
        + fresh * pipes.moist_heat_capacity(out_w) * (out_t - t)
        + stream * pipes.moist_heat_capacity(stream_w) * (stream_t - t)
        + brought(transpired, t, leaf) + brought(off_leaf, t, leaf) + brought(off_cover, t, cover)
        + brought(off_floor, t, top)
    )  # fmt: skip
    dy[AIR] = sensible / (p.air_mass * pipes.moist_heat_capacity(w))
    dy[RATIO] = (transpired + off_leaf + off_cover + off_floor + fresh * (out_w - w) - taken) / p.air_mass
    dy[COVER] = to_cover - carried(off_cover, t, cover) + leaf_ir + floor_ir + mass_ir + light[3] - cover_loss
    dy[COVER] /= p.cover_capacity
    dy[LEAF] = light[1] - from_leaf - carried(off_leaf, t, leaf) - carried(transpired, t, leaf)
    dy[LEAF] = (dy[LEAF] - leaf_ir - leaf_sky + under_ir) / p.leaf_capacity
    dy[MASS] = (light[2] - from_mass - back - mass_ir) / p.mass_capacity
    to_floor = light[0] - from_floor - carried(off_floor, t, top) - floor_ir - floor_sky - under_ir
    to_ground = scene.ground_g * (y[FLOOR] - scene.ground_t)
    dy[FLOOR] = (to_floor - to_ground) / p.floor_capacity
    # the surface above the middle of the floor layer, by a damped Newton step; 20 W/m2 K is about what air, radiation
    # and evaporation change by with it
    surface = y[FLOOR] + p.floor_half_r * to_floor / p.floor_area
    new_top = top + (surface - top) / (1.0 + 20.0 * p.floor_half_r)
    dfilm[0], dfilm[1] = -off_cover, -off_leaf

    gain = CP_AIR * (out_t - t) + out_w * vapour_enthalpy(out_t) - w * vapour_enthalpy(t)
    liquid = (transpired + off_leaf) * leaf + off_cover * cover + off_floor * top
    if share > 0.0:
        for j in range(p.segments):
            liquid -= scene.condensed[j] * scene.wall_t[j]
    rate[SUN] = light[0] + light[1] + light[2] + light[3]
    rate[SKY_AND_WIND], rate[COVER_LOSS] = cover_loss + leaf_sky + floor_sky, cover_loss
    rate[LEAK], rate[VENT] = leak * gain, through_vent * gain
    rate[FAN_HEAT], rate[HEATER], rate[BACK] = fan_w, scene.heat_on * p.heater_w, back
    rate[TO_SOIL], rate[TO_PIPES], rate[LIQUID_IN] = to_ground, into_pipes, CP_WATER * liquid
    rate[W_TRANSPIRED], rate[W_FLOOR], rate[W_LEAK] = transpired, off_floor, fresh * (out_w - w)
    rate[W_CONDENSED_PIPE], rate[W_CONDENSED_COVER] = max(taken, 0.0), max(-off_cover, 0.0)
    rate[CONV_LEAF], rate[CONV_FLOOR], rate[CONV_MASS], rate[CONV_COVER] = from_leaf, from_floor, from_mass, to_cover
    rate[LATENT_PIPES] = taken * (vapour_enthalpy(stream_t) - CP_WATER * stream_t)
    return outer, new_top, stream_t, stream_w
