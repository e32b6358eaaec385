"""One settings file tried in one piece of weather: the fitted house and the board stepped together, added up.

Lives here: the loop that a search calls thousands of times. The rules are the core's own; the house is that of
track.py. It does what closed_loop.walk does (a test holds them to it) but keeps sums instead of rows, carries the
difference in modes (modes.py), and takes the effect of a fan that runs otherwise than logged from a table, `kicks`,
instead of working it out in each try.
"""

from collections import namedtuple

import numpy as np

from controller.core import decide, screen
from tuner import closed_loop, house, kalman, modes, track
from tuner.core_numba import jit

COLD, HOT, KWH, MONEY, STARTS, HEATER, BACKUP = range(7)  # columns of what is added up
COLUMNS = 7
NO_HOLD = -1000.0
SOIL_OK = screen.Reading._fields.index("soil_ok")

Account = namedtuple("Account", "bucket price watts floor limit hold")
Account.__doc__ = """How rows are added up. bucket: int (rows,), which row of the sums each belongs to; price: (rows,)
money per kWh; watts: (101,) of the fan by percent; floor, limit: plants' needs [degC]; hold: [degC] an ideal backup
heater keeps the house at or above this, NO_HOLD for none.
Sums: COLD, HOT degree-hours beyond floor and limit [K h], KWH and MONEY of the fan, STARTS, HEATER heat of the board's
own heater [kWh], BACKUP heat of the ideal one [kWh]."""

SIDES = 3  # full speed charging, off, full speed discharging


@jit
def kicks(course):
    """Return what each fan level, in place of the logged one, adds to the next row, in the modes of that level.

    course: track.Track. Shape (rows, 3, 9).
    """
    turned = course.mode.modes
    rows = len(course.level)
    out = np.zeros((rows, SIDES, modes.COUNT))
    whole = np.zeros(house.STATES)
    for t in range(rows):
        for side in range(SIDES):
            level = side * house.LEVELS
            if level != course.level[t]:
                track.kick(
                    course.p, course.share, course.moved, course.motor, course.columns, course.sums, course.state,
                    course.forcing, t, course.fan_heat, course.level[t], level, whole,
                )  # fmt: skip
                modes.turn(turned, level, whole, out[t, side])
    return out


@jit
def try_out(settings, course, kick, seen, push, account, delta, out):
    """Add up one part of weather under one settings file into out, shape (buckets, COLUMNS).

    settings: Settings; course, seen, push, delta: as in closed_loop.walk, delta (1, 10) is carried on; kick: see kicks.
    """
    p, moved, carried, motor, mode = course.p, course.moved, course.carried, course.motor, course.mode
    columns, sums, states, forcing = course.columns, course.sums, course.state, course.forcing
    fade, nodes, turned, reads, pushes = mode.fade, mode.nodes, mode.modes, mode.reads, mode.pushes
    levels, acts = course.level, course.acts
    offset, colder, pressure, fan_heat = p[house._OFFSET], course.colder, course.pressure, course.fan_heat
    dt = course.dt
    ca, cs = p[house._CA], p[house._CS] * course.share
    bucket, price, watts = account.bucket, account.price, account.watts
    floor, limit, hold = account.floor, account.limit, account.hold
    state = decide.start(settings)
    deciding, counters = state.deciding, state.counters
    heaters, vents, damp = settings.heater_fitted, settings.vent_fitted, settings.humid_charge_pct > 0
    hours = dt / 3600.0
    water = 0.0
    z, spare = np.zeros(modes.COUNT), np.zeros(modes.COUNT)  # the difference, in the modes of fan level `before`
    whole = np.zeros(house.STATES)
    before, was, on = levels[0], levels[0], 0
    modes.turn(turned, before, delta[0], z)
    rows = len(levels)
    for t in range(rows):
        if seen[t, closed_loop.POWER_UP]:
            deciding = decide.start(settings).deciding
        shift, soil_moved = modes.read(reads, before, modes.AIR, z), modes.read(reads, before, modes.SOIL, z)
        outlet_moved = 0.0
        if not seen[t, SOIL_OK]:  # only then does the board look at the outlet for what it does next
            wall_moved = modes.read(reads, before, modes.WALL, z)
            outlet_moved = closed_loop.outlet_shift(moved, offset, states, t, was, before, shift, wall_moved)
        reading = closed_loop.read(seen, t, acts[t, track.HOUSE], pressure, shift, soil_moved, outlet_moved, damp)
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
        if level != before:
            modes.turn(nodes, before, z, spare)
            modes.turn(turned, level, spare, z)
            before = level
        heater = float(deciding.heater) if heaters else acts[t, track.HEATER]
        vent = float(deciding.vent) if vents else acts[t, track.VENT]
        if deciding.heater and heaters:
            out[at, HEATER] += house.heater_watts(p, heater) * hours / 1000.0
        row = t if len(push) > 1 else 0
        air, mass, soil = push[row, 0], push[row, 1], 0.0
        if level != was:
            air += track.stirring(p, was, level, acts[t, track.OUTSIDE] - colder)
        if heater != acts[t, track.HEATER]:
            air += (house.heater_watts(p, heater) - house.heater_watts(p, acts[t, track.HEATER])) / ca
        if vent != acts[t, track.VENT] or vent > 0.0 or acts[t, track.HOUSE] + max(shift, 0.0) > p[house._VENT_T]:
            air += track.vents_pull(
                p, acts[t, track.HOUSE], acts[t, track.OUTSIDE], acts[t, track.VENT], vent, shift, dt
            )
        if (level != kalman.OFF or was != kalman.OFF) and acts[t, track.MOISTURE] > 0.0:
            wall = states[t, house.SHELL_1] + modes.read(reads, level, modes.WALL, z)
            now = house.latent_heat(p, carried[level], acts[t, track.MOISTURE], wall, pressure, water, dt)
            water = house.water_after(p, water, now, dt)
            soil = (now - acts[t, track.LATENT]) / cs
        for i in range(modes.COUNT):
            z[i] *= fade[level, i]
        if air != 0.0:
            for i in range(modes.COUNT):
                z[i] += pushes[level, modes.PUSH_AIR, i] * air
        if mass != 0.0:
            for i in range(modes.COUNT):
                z[i] += pushes[level, modes.PUSH_MASS, i] * mass
        if soil != 0.0:
            for i in range(modes.COUNT):
                z[i] += pushes[level, modes.PUSH_WALL, i] * soil
        if level != was:
            if level == kalman.OFF or level == 0 or level == 2 * house.LEVELS:
                side = level // house.LEVELS
                for i in range(modes.COUNT):
                    z[i] += kick[t, side, i]
            else:  # a part speed: no table for it
                track.kick(
                    p, course.share, moved, motor, columns, sums, states, forcing, t, fan_heat, was, level, whole
                )
                modes.turn(turned, level, whole, spare)
                for i in range(modes.COUNT):
                    z[i] += spare[i]
        if hold > NO_HOLD and t + 1 < rows:
            lacks = hold - acts[t + 1, track.HOUSE] - modes.read(reads, level, modes.AIR, z)
            if lacks > 0.0:
                push_up = lacks / sums[level, house.AIR, house.AIR]
                for i in range(modes.COUNT):
                    z[i] += pushes[level, modes.PUSH_AIR, i] * push_up
                out[at, BACKUP] += push_up * ca * hours / 1000.0
    modes.turn(nodes, before, z, spare)
    delta[0, : modes.COUNT] = spare
