"""One settings file tried in one piece of weather: the fitted house and the board stepped together, added up.

Lives here: the loop that a search calls thousands of times. The rules are the core's own; the house is that of
track.py. It does what closed_loop.walk does (a test holds them to it) but keeps sums instead of rows, and takes the
effect of a fan that runs otherwise than logged from a table, `kicks`, instead of working it out in each try.
"""

from collections import namedtuple

import numpy as np

from controller.core import decide
from tuner import closed_loop, house, kalman, track
from tuner.core_numba import jit

COLD, HOT, KWH, MONEY, STARTS, HEATER, BACKUP = range(7)  # columns of what is added up
COLUMNS = 7
NO_HOLD = -1000.0

Account = namedtuple("Account", "bucket price watts floor limit hold")
Account.__doc__ = """How rows are added up. bucket: int (rows,), which row of the sums each belongs to; price: (rows,)
money per kWh; watts: (101,) of the fan by percent; floor, limit: plants' needs [degC]; hold: [degC] an ideal backup
heater keeps the house at or above this, NO_HOLD for none.
Sums: COLD, HOT degree-hours beyond floor and limit [K h], KWH and MONEY of the fan, STARTS, HEATER heat of the board's
own heater [kWh], BACKUP heat of the ideal one [kWh]."""

SIDES = 3  # full speed charging, off, full speed discharging


@jit
def kicks(course):
    """Return what each fan level, in place of the logged one, adds to the next row's state. (rows, 3, 10) [K]"""
    rows, n = len(course.level), house.STATES
    out = np.zeros((rows, SIDES, n))
    p, fan_heat = course.p, course.fan_heat
    ca, cs = p[house._CA], p[house._CS] * course.share
    for t in range(rows):
        logged = course.level[t]
        was = fan_heat * course.motor[logged]
        for side in range(SIDES):
            level = side * house.LEVELS
            if level == logged:
                continue
            heat = fan_heat * course.motor[level]
            air = ((1.0 - course.moved[level]) * heat - (1.0 - course.moved[logged]) * was) / ca
            soil = (course.moved[level] * heat - course.moved[logged] * was) / cs
            for j in range(n):
                x, f = course.state[t, j], course.forcing[t, j]
                for i in range(n):
                    out[t, side, i] += (
                        (course.columns[level, j, i] - course.columns[logged, j, i]) * x
                        + (course.sums[level, j, i] - course.sums[logged, j, i]) * f
                    )
            for i in range(n):
                out[t, side, i] += course.sums[level, house.AIR, i] * air + course.sums[level, house.SHELL_1, i] * soil
    return out


@jit
def try_out(settings, course, kick, seen, push, account, delta, out):
    """Add up one part of weather under one settings file into out, shape (buckets, COLUMNS).

    settings: Settings; course, seen, push, delta: as in closed_loop.walk, delta (1, 10) is carried on; kick: see kicks.
    """
    p, moved, carried, motor, probe = course.p, course.moved, course.carried, course.motor, course.probe
    columns, sums, states, forcing = course.columns, course.sums, course.state, course.forcing
    levels, acts = course.level, course.acts
    offset, pressure, fan_heat, dt = p[house._OFFSET], course.pressure, course.fan_heat, course.dt
    ca, cs, share = p[house._CA], p[house._CS] * course.share, course.share
    bucket, price, watts = account.bucket, account.price, account.watts
    floor, limit, hold = account.floor, account.limit, account.hold
    state = decide.start(settings)
    deciding, counters = state.deciding, state.counters
    heaters, vents = settings.heater_fitted, settings.vent_fitted
    hours = dt / 3600.0
    water = 0.0
    new, scratch = np.zeros(house.STATES), np.zeros(house.STATES)
    before, was, on = levels[0], levels[0], 0
    rows = len(levels)
    for t in range(rows):
        if seen[t, closed_loop.POWER_UP]:
            deciding = decide.start(settings).deciding
        shift, soil_moved = delta[0, house.AIR], closed_loop.soil_shift(probe, delta)
        outlet_moved = closed_loop.outlet_shift(moved, offset, states, t, was, before, delta)
        reading = closed_loop.read(seen, t, acts[t, track.HOUSE], pressure, shift, soil_moved, outlet_moved)
        deciding = decide.next_deciding(settings, deciding, reading)
        at, air_now, soil_now = bucket[t], acts[t, track.HOUSE] + shift, acts[t, track.SOIL] + soil_moved
        if air_now < floor:
            out[at, COLD] += (floor - air_now) * hours
        elif air_now > limit:
            out[at, HOT] += (air_now - limit) * hours
        pct = 0
        if deciding.fan:
            pct = decide.fan_pct(settings, decide.State(deciding, counters))
            kwh = watts[pct] * hours / 1000.0
            out[at, KWH] += kwh
            out[at, MONEY] += kwh * price[t]
            if not on:
                out[at, STARTS] += 1.0
        on = deciding.fan
        was = levels[t]
        level = closed_loop.level_of(pct, soil_now > air_now)
        before = level
        heater = float(deciding.heater) if heaters else acts[t, track.HEATER]
        vent = float(deciding.vent) if vents else acts[t, track.VENT]
        if deciding.heater and heaters:
            out[at, HEATER] += house.heater_watts(p, heater) * hours / 1000.0
        mass_more = push[t if len(push) > 1 else 0, 1]
        air_more = push[t if len(push) > 1 else 0, 0]
        whole = level == kalman.OFF or level == 0 or level == 2 * house.LEVELS
        if not whole and level != was:  # a part speed: no table for it
            for i in range(house.STATES):
                scratch[i] = delta[0, i]
            water = track.advance(
                p, share, moved, carried, motor, columns, sums, states, forcing, acts, t, pressure, fan_heat, dt,
                was, level, heater, vent, air_more, mass_more, water, delta, new,
            )  # fmt: skip
        else:
            if level != was:
                side = level // house.LEVELS
                for i in range(house.STATES):
                    new[i] = kick[t, side, i]
            else:
                new[:] = 0.0
            track.add_product(columns, level, delta, 0, 1.0, new)
            soil = 0.0
            air = 0.0
            if heater != acts[t, track.HEATER]:
                air += (house.heater_watts(p, heater) - house.heater_watts(p, acts[t, track.HEATER])) / ca
            if vent != acts[t, track.VENT] or vent > 0.0 or acts[t, track.HOUSE] + max(shift, 0.0) > p[house._VENT_T]:
                air += track.vents_pull(
                    p, acts[t, track.HOUSE], acts[t, track.OUTSIDE], acts[t, track.VENT], vent, shift, dt
                )
            air += air_more
            if (level != kalman.OFF or was != kalman.OFF) and acts[t, track.MOISTURE] > 0.0:
                wall = states[t, house.SHELL_1] + delta[0, house.SHELL_1]
                now = house.latent_heat(p, carried[level], acts[t, track.MOISTURE], wall, pressure, water, dt)
                water = house.water_after(p, water, now, dt)
                soil = (now - acts[t, track.LATENT]) / cs
            if air != 0.0 or mass_more != 0.0 or soil != 0.0:
                for i in range(house.STATES):
                    new[i] += sums[level, house.AIR, i] * air
                    new[i] += sums[level, house.MASS, i] * mass_more
                    new[i] += sums[level, house.SHELL_1, i] * soil
            for i in range(house.STATES):
                delta[0, i] = new[i]
        if hold > NO_HOLD and t + 1 < rows:
            lacks = hold - acts[t + 1, track.HOUSE] - delta[0, house.AIR]
            if lacks > 0.0:
                push_up = lacks / sums[level, house.AIR, house.AIR]
                for i in range(house.STATES):
                    delta[0, i] += sums[level, house.AIR, i] * push_up
                out[at, BACKUP] += push_up * ca * hours / 1000.0
