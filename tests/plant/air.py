"""The quick part of the house: air, vapour, cover, leaves, mass, floor layer, water films; one midpoint step.

Every flow is worked out once at the middle of the step and used on both sides of what it joins, so that energy and
water are kept by construction; what the account in `totals` then shows is the error of the stepping itself.
Liquid water has the enthalpy CP_WATER t; films store water but no sensible heat (0.3 kJ/m2 K, left out).
Frost on the cover and snow are left out: condensate below 0 degC gives the heat of evaporation only (12 % too little).
"""

from tests.plant import envelope as env
from tests.plant import moisture, pipes
from tests.plant.jit import jit
from tests.plant.psychro import CP_AIR, CP_VAPOUR, CP_WATER, saturation_ratio, vapour_enthalpy

# what moves quickly, the vector y
AIR, RATIO, COVER, LEAF, MASS, FLOOR = range(6)
QUICK = 6
# water films, the vector film: cover, leaves, then one per pipe segment
FILM_COVER, FILM_LEAF, FILM_PIPE = range(3)

# totals [J] and [kg], summed over the run; the account (account.py) checks them
(
    SUN, SKY_AND_WIND, LEAK, VENT, FAN_HEAT, HEATER, BACK, TO_SOIL, TO_PIPES, LIQUID_IN, LIQUID_OUT, EDGE, DEEP,
    W_TRANSPIRED, W_FLOOR, W_SOIL_TO_PIPE, W_LEAK, W_RUNOFF, W_DRAINED, W_CONDENSED_PIPE, W_CONDENSED_COVER,
    COVER_LOSS, CONV_LEAF, CONV_FLOOR, CONV_MASS, CONV_COVER, LATENT_PIPES,
) = range(27)  # fmt: skip
TOTALS = 27


@jit
def flows(
    y,
    film,
    wall_t,
    wall_w,
    ground_t,
    ground_g,
    outer_before,
    vent,
    share,
    heat_on,
    now,
    light,
    p,
    h_s,
    keep,
    keep_wet,
    heat,
    condensed,
    dy,
    dfilm,
    rate,
):
    """Rates of change of y and film, and the flows behind them in rate (the places of totals, per second).

    now : outside air [degC], its ratio, wind at 10 m, sky [degC].
    light : floor, leaves, mass, cover [W], inside [W/m2].
    heat, condensed : filled per pipe segment. ground_t, ground_g: mean of the soil under the floor layer, [W/K] to it.
    Returns the outer face's temperature and the pipes' outlet (temperature, ratio).
    """
    out_t, out_w, wind, sky = now[0], now[1], now[2] * p.shelter, now[3]
    t, w, cover, leaf, mass, floor = y[0], y[1], y[2], y[3], y[4], y[5]
    stirred = share
    # cover
    h_cover = env.inside_cover_h(t - cover, stirred)
    to_cover = p.cover_area * h_cover * (t - cover)
    off_cover = moisture.surface_exchange(
        p.cover_area * env.cover_h_mass(h_cover), w, saturation_ratio(cover, p.pressure), film[0], p.cover_film_full
    )
    off_cover = min(off_cover, 0.5 * film[0] / h_s)
    outer_t, cover_loss = env.outer_surface(cover, outer_before, out_t, sky, wind, p)
    # leaves
    boundary = p.leaf_boundary / (1.0 + 0.5 * stirred)
    leaf_g = 2.0 * p.leaf_area * p.density * CP_AIR / boundary
    from_leaf = leaf_g * (leaf - t)
    transpired, off_leaf = moisture.leaf_exchange(
        p, w, saturation_ratio(leaf, p.pressure), film[1], light[4], leaf, boundary
    )
    off_leaf = min(off_leaf, 0.5 * film[1] / h_s)
    # floor: wet part evaporates from a store without end; dew on it sinks in
    h_floor = env.floor_h(floor - t, stirred)
    from_floor = p.floor_area * h_floor * (floor - t)
    gap = saturation_ratio(floor, p.pressure) - w
    floor_water = env.cover_h_mass(h_floor) * gap * (p.floor_wet_area if gap > 0.0 else p.floor_area)
    # mass
    from_mass = p.mass_area * (p.mass_h + 2.0 * stirred) * (mass - t)
    back = p.back_g * (mass - p.back_t)
    # longwave: each to the cover, and through a film that lets it pass (less where wet) to sky and surroundings
    dry = 1.0 - 0.8 * min(1.0, film[0] / p.cover_film_full)
    clear = p.cover_clear_ir * dry
    e = 0.9 * p.cover_emissivity
    views = 0.9 * (1.0 - clear)
    leaf_ir = p.leaf_ir_area * e * env.radiated(leaf, cover) * (1.0 - clear)
    floor_ir = p.floor_ir_area * e * env.radiated(floor, cover) * (1.0 - clear)
    mass_ir = 0.5 * p.mass_area * views * env.radiated(mass, cover)
    under_ir = p.leaf_ir_area * 0.8 * env.radiated(floor, leaf)
    leaf_sky = p.leaf_ir_area * clear * 0.9 * env.radiated(leaf, sky)
    floor_sky = p.floor_ir_area * clear * 0.9 * env.radiated(floor, sky)
    # air from outside
    leak = env.leak_flow(t, out_t, wind, p) * p.density
    through_vent = env.vent_flow(vent, t, out_t, wind, p) * p.density if vent > 0.0 else 0.0
    fresh = leak + through_vent
    # pipes
    stream_t, stream_w, stream, fan_w, into_pipes, taken = t, w, 0.0, 0.0, 0.0, 0.0
    if share > 0.0:
        stream = p.density * p.airflow * share
        fan_w = pipes.fan_heat(share, p)
        warm = t + fan_w / (stream * pipes.moist_heat_capacity(w))
        stream_t, stream_w = pipes.through(
            warm, w, wall_t, wall_w, film[2:], share, h_s, p, keep, keep_wet, heat, condensed
        )
        for j in range(p.segments):
            into_pipes += heat[j]
            taken += condensed[j]
    # balance of the air
    capacity = p.air_mass * pipes.moist_heat_capacity(w)
    hv = CP_VAPOUR
    sensible = (
        from_leaf
        + from_floor
        + from_mass
        - to_cover
        + heat_on * p.heater_w
        + fresh * (CP_AIR + out_w * hv) * (out_t - t)
        + stream * (CP_AIR + stream_w * hv) * (stream_t - t)
        + transpired * hv * (leaf - t)
        + (off_leaf * hv * (leaf - t) if off_leaf > 0.0 else 0.0)
        + (off_cover * hv * (cover - t) if off_cover > 0.0 else 0.0)
        + (floor_water * hv * (floor - t) if floor_water > 0.0 else 0.0)
    )
    dy[0] = sensible / capacity
    dy[1] = (transpired + off_leaf + off_cover + floor_water + fresh * (out_w - w) - taken) / p.air_mass
    # surfaces: vapour arriving has the air's temperature, vapour leaving the surface's
    at_cover = -off_cover * (vapour_enthalpy(t if off_cover < 0.0 else cover) - CP_WATER * cover)
    at_leaf = -(
        off_leaf * (vapour_enthalpy(t if off_leaf < 0.0 else leaf) - CP_WATER * leaf)
        + transpired * (vapour_enthalpy(leaf) - CP_WATER * leaf)
    )
    at_floor = -floor_water * (vapour_enthalpy(t if floor_water < 0.0 else floor) - CP_WATER * floor)
    to_ground = ground_g * (floor - ground_t)
    dy[2] = (to_cover + at_cover + leaf_ir + floor_ir + mass_ir + light[3] - cover_loss) / p.cover_capacity
    dy[3] = (light[1] - from_leaf + at_leaf - leaf_ir - leaf_sky + under_ir) / p.leaf_capacity
    dy[4] = (light[2] - from_mass - back - mass_ir) / p.mass_capacity
    dy[5] = (light[0] - from_floor + at_floor - floor_ir - floor_sky - under_ir - to_ground) / p.floor_capacity
    dfilm[0] = -off_cover
    dfilm[1] = -off_leaf
    rate[SUN] = light[0] + light[1] + light[2] + light[3]
    rate[SKY_AND_WIND] = cover_loss + leaf_sky + floor_sky
    # enthalpy of what comes in less what goes out
    gain = CP_AIR * (out_t - t) + out_w * vapour_enthalpy(out_t) - w * vapour_enthalpy(t)
    rate[LEAK] = leak * gain
    rate[VENT] = through_vent * gain
    rate[FAN_HEAT] = fan_w
    rate[HEATER] = heat_on * p.heater_w
    rate[BACK] = back
    rate[TO_SOIL] = to_ground
    rate[TO_PIPES] = into_pipes
    liquid = transpired * leaf + off_leaf * leaf + off_cover * cover + floor_water * floor
    if share > 0.0:
        for j in range(p.segments):
            liquid -= condensed[j] * wall_t[j]
    rate[LIQUID_IN] = CP_WATER * liquid
    rate[W_TRANSPIRED] = transpired
    rate[W_FLOOR] = floor_water
    rate[W_LEAK] = fresh * (out_w - w)
    rate[W_CONDENSED_PIPE] = max(taken, 0.0)
    rate[W_CONDENSED_COVER] = max(-off_cover, 0.0)
    rate[COVER_LOSS] = cover_loss
    rate[CONV_LEAF] = from_leaf
    rate[CONV_FLOOR] = from_floor
    rate[CONV_MASS] = from_mass
    rate[CONV_COVER] = to_cover
    rate[LATENT_PIPES] = taken * (vapour_enthalpy(stream_t) - CP_WATER * stream_t)
    return outer_t, stream_t, stream_w


@jit
def settle_films(film, condensed, share, p, h_s, totals):
    """Let films that are too full run off or drain, and book water that the soil, not the film, gave the pipes."""
    if film[0] > p.cover_film_full:
        totals[W_RUNOFF] += film[0] - p.cover_film_full
        film[0] = p.cover_film_full
    if film[1] > p.leaf_film_full:
        totals[W_RUNOFF] += film[1] - p.leaf_film_full
        film[1] = p.leaf_film_full
    if share > 0.0:
        full = p.film_full * p.wall_area / p.segments
        for j in range(p.segments):
            now = film[2 + j] + condensed[j] * h_s
            if now < 0.0:
                totals[W_SOIL_TO_PIPE] -= now
                now = 0.0
            elif now > full:
                totals[W_DRAINED] += now - full
                now = full
            film[2 + j] = now


@jit
def move(
    y,
    film,
    wall_t,
    wall_w,
    ground_t,
    ground_g,
    outer_before,
    vent,
    share,
    heat_on,
    now,
    light,
    p,
    h_s,
    keep,
    keep_wet,
    heat,
    condensed,
    work,
    totals,
):
    """Step y and film by h_s [s] by the explicit midpoint rule, in place; adds to totals.

    work : scratch, shape (5, 32). Returns the outer face's temperature and the outlet's (temperature, ratio).
    """
    dy, dfilm, rate, half_y, half_film = work[0], work[1], work[2], work[3], work[4]
    outer_t, _, _ = flows(
        y,
        film,
        wall_t,
        wall_w,
        ground_t,
        ground_g,
        outer_before,
        vent,
        share,
        heat_on,
        now,
        light,
        p,
        h_s,
        keep,
        keep_wet,
        heat,
        condensed,
        dy,
        dfilm,
        rate,
    )
    for i in range(QUICK):
        half_y[i] = y[i] + 0.5 * h_s * dy[i]
    for i in range(film.size):
        half_film[i] = film[i]
    outer_t, stream_t, stream_w = flows(
        half_y,
        half_film,
        wall_t,
        wall_w,
        ground_t,
        ground_g,
        outer_t,
        vent,
        share,
        heat_on,
        now,
        light,
        p,
        h_s,
        keep,
        keep_wet,
        heat,
        condensed,
        dy,
        dfilm,
        rate,
    )
    for i in range(QUICK):
        y[i] += h_s * dy[i]
    film[0] += h_s * dfilm[0]
    film[1] += h_s * dfilm[1]
    for i in range(TOTALS):
        totals[i] += h_s * rate[i]
    settle_films(film, condensed, share, p, h_s, totals)
    return outer_t, stream_t, stream_w
