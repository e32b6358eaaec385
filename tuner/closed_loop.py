"""What would have happened: the board's own decisions, stepped together with the fitted house.

The readings are the logged ones plus the difference that the other decisions made so far (tuner/track.py), so with
the logged decisions the replay is the log. No rule of the board is written here: core's screen believes the log's
readings once, its reading() and its decisions run at every row.
"""

from collections import namedtuple

import numpy as np

from controller.core import decide, screen, units
from controller.core.rows import defaults
from tuner import house, kalman, modes, track
from tuner.core_numba import helper, jit
from tuner.moist_air import saturation_ratio

# What the loop writes, one value per grid row. *_s: seconds of the step that begins at the row. outlet: difference.
Trace = namedtuple(
    "Trace", "house soil outlet phase fan_pct fan_s charge_s discharge_s starts heater vent reason alarms"
)
Readings = namedtuple("Readings", "house soil outlet outside humidity hand request power_up")

POWER_UP = len(screen.Reading._fields)  # column of `seen` after those of core's Reading: the board starts anew

# Ten nodes are wrong in ways their own likelihood does not know. So the spread of a night's minimum is widened by
# a share of the predicted difference, and for each hour of that night and the one before in which the fan ran
# otherwise than logged, up to a most. Chosen on the houses that the model was developed on.
MODEL_SHARE = 0.10
PER_CHANGED_H = 0.02  # [K/h]
MOST_CHANGED = 0.20  # [K]
PROBE_SD = 0.03  # of a ten-minute mean: what probe noise, steps and lag leave [K], assumption
NINETY = 1.645  # standard deviations on either side of a 90 % range
NO_MORE = np.zeros((1, 2))


def readings_of(grid, k):
    """Return the Readings of stretch k of a rows.Grid."""
    cut = slice(int(grid.edges[k]), int(grid.edges[k + 1]))
    return Readings(*(np.ascontiguousarray(grid.inputs[name][cut]) for name in Readings._fields))


def seen_by(settings, readings, dt_s):
    """Return what the board would have seen of one stretch: core's screen and reading, stepped once over the log.

    int array, shape (n, 21): the fields of core's Reading in its order, then POWER_UP. A difference of a few kelvin
    that grows over minutes makes no reading jump, so what was believed stays believed.
    """
    out = np.zeros((len(readings.house), POWER_UP + 1), np.int64)
    _see(settings, readings, dt_s, out)
    return out


@jit
def _see(settings, readings, dt_s, out):
    state = screen.start()
    for t in range(len(readings.house)):
        if readings.power_up[t]:
            state = screen.start()
        raw = screen.Raw(
            0 if readings.power_up[t] else dt_s,
            readings.house[t],
            readings.soil[t],
            readings.outlet[t],
            readings.outside[t],
            units.LOST,
            readings.humidity[t],
            readings.hand[t],
            readings.request[t],
            0,
        )
        state = screen.step(state, raw)
        reading = screen.reading(settings, state, raw)
        for field, value in enumerate(reading):
            out[t, field] = value
        out[t, POWER_UP] = readings.power_up[t]


@helper
def shifted(value, shift):
    """Return a reading in hundredths moved by shift [K]; LOST stays LOST."""
    if value == units.LOST or shift == 0.0:
        return value
    return min(max(value + int(np.floor(shift * 100.0 + 0.5)), -30000), 30000)


@helper
def outlet_shift(moved, offset, states, t, logged, before, air, wall):
    """Difference of the outlet probe [K]; logged, before: fan level index since the last row, as logged and now.

    moved, states: as in track.Track; offset: outlet_offset [K]; air, wall: differences of air and pipe wall [K].
    """
    eff = moved[before]
    change = air + eff * (wall - air)
    if before != logged:
        change += (eff - moved[logged]) * (states[t, house.SHELL_1] - states[t, house.AIR])
        if before == kalman.OFF:
            change -= offset
        elif logged == kalman.OFF:
            change += offset
    return change


@helper
def read(seen, t, air, pressure, shift, soil_moved, outlet_moved, damp):
    """Return core's Reading of row t of `seen` with the differences so far [K].

    The moisture stays as logged, and so does the dew point; air: logged house [degC]. damp: do the settings ask for the
    humidity? Where they do not it is left as logged, which nothing reads.
    """
    humidity = seen[t, 12]
    if damp and seen[t, 13] and (shift > 0.005 or shift < -0.005):
        drier = saturation_ratio(air, pressure) / saturation_ratio(air + shift, pressure)
        humidity = min(1000, int(humidity * drier + 0.5))
    return screen.Reading(
        elapsed_s=seen[t, 0],
        house_centi_c=shifted(seen[t, 1], shift),
        house_ok=seen[t, 2],
        house_probe_ok=seen[t, 3],
        soil_centi_c=shifted(seen[t, 4], soil_moved),
        soil_ok=seen[t, 5],
        outlet_centi_c=shifted(seen[t, 6], outlet_moved),
        outlet_ok=seen[t, 7],
        outside_centi_c=seen[t, 8],
        outside_ok=seen[t, 9],
        humid_air_centi_c=seen[t, 10],
        humid_air_ok=seen[t, 11],
        humidity_deci_pct=humidity,
        humidity_ok=seen[t, 13],
        dew_centi_c=seen[t, 14],
        dew_ok=seen[t, 15],
        hand=seen[t, 16],
        request=seen[t, 17],
        readback=seen[t, 18],
        stuck=seen[t, 19],
    )


@helper
def level_of(pct, warm_soil):
    """Fan level index of a fan speed in percent; warm_soil: which way the heat goes."""
    steps = (pct * house.LEVELS + 50) // 100
    return kalman.OFF + steps if warm_soil else kalman.OFF - steps


@jit
def walk(settings, course, seen, more, told, delta, floats, ints):
    """Step the board and the house through one stretch, the board anew from every power-up.

    settings: Settings; course: track.Track; seen: see seen_by; more: further forcing on (air, mass) [K/s], shape
    (n, 2) or (1, 2) for all rows; delta: (1, 10) difference at the first row, changed in place to that after the last.
    floats: (n, 3) filled with house, soil [degC] and the outlet's difference [K]; ints: (n, 8) filled with phase,
    fan on, fan percent, heater, vent, and where told: starts, reason, alarms. Not told is faster.
    Tuples of arrays are taken apart once, above the loop: inside it each costs more than a decision.
    """
    p, moved, carried, motor, mode = course.p, course.moved, course.carried, course.motor, course.mode
    fade, nodes, turned, reads, pushes = mode.fade, mode.nodes, mode.modes, mode.reads, mode.pushes
    columns, sums, states, forcing = course.columns, course.sums, course.state, course.forcing
    levels, acts = course.level, course.acts
    offset, share, colder, pressure = p[house._OFFSET], course.share, course.colder, course.pressure
    fan_heat, dt = course.fan_heat, course.dt
    state = decide.start(settings)
    deciding, counters = state.deciding, state.counters
    heaters, vents, damp = settings.heater_fitted, settings.vent_fitted, settings.humid_charge_pct > 0
    water = 0.0
    z, spare = np.zeros(modes.COUNT), np.zeros(modes.COUNT)  # the difference, in the modes of fan level `before`
    whole = np.zeros(house.STATES)
    before, was = levels[0], levels[0]
    modes.turn(turned, before, delta[0], z)
    for t in range(len(levels)):
        if seen[t, POWER_UP]:
            state = decide.start(settings)
            deciding, counters = state.deciding, state.counters
        shift, soil_moved = modes.read(reads, before, modes.AIR, z), modes.read(reads, before, modes.SOIL, z)
        wall_moved = modes.read(reads, before, modes.WALL, z)
        outlet_moved = outlet_shift(moved, offset, states, t, was, before, shift, wall_moved)
        reading = read(seen, t, acts[t, track.HOUSE], pressure, shift, soil_moved, outlet_moved, damp)
        if told:
            starts = counters.starts
            state = decide.step(settings, decide.State(deciding, counters), reading)
            deciding, counters = state.deciding, state.counters
            ints[t, 5], ints[t, 6], ints[t, 7] = counters.starts - starts, counters.reason, counters.alarms
        else:
            deciding = decide.next_deciding(settings, deciding, reading)
        pct = decide.fan_pct(settings, decide.State(deciding, counters))
        floats[t, 0], floats[t, 1] = acts[t, track.HOUSE] + shift, acts[t, track.SOIL] + soil_moved
        floats[t, 2] = outlet_moved
        ints[t, 0], ints[t, 1], ints[t, 2] = deciding.phase, deciding.fan, pct
        ints[t, 3], ints[t, 4] = deciding.heater, deciding.vent
        level = level_of(pct, floats[t, 1] > floats[t, 0])
        if level != before:
            modes.turn(nodes, before, z, spare)
            modes.turn(turned, level, spare, z)
            before = level
        was = levels[t]
        heater = float(deciding.heater) if heaters else acts[t, track.HEATER]
        vent = float(deciding.vent) if vents else acts[t, track.VENT]
        row = t if len(more) > 1 else 0
        air, mass, soil = more[row, 0], more[row, 1], 0.0
        if level != was:
            air += track.stirring(p, was, level, acts[t, track.OUTSIDE] - colder)
        if heater != acts[t, track.HEATER]:
            air += (house.heater_watts(p, heater) - house.heater_watts(p, acts[t, track.HEATER])) / p[house._CA]
        if vent != acts[t, track.VENT] or vent > 0.0 or acts[t, track.HOUSE] + max(shift, 0.0) > p[house._VENT_T]:
            air += track.vents_pull(
                p, acts[t, track.HOUSE], acts[t, track.OUTSIDE], acts[t, track.VENT], vent, shift, dt
            )
        if (level != kalman.OFF or was != kalman.OFF) and acts[t, track.MOISTURE] > 0.0:
            wall = states[t, house.SHELL_1] + wall_moved
            now = house.latent_heat(p, carried[level], acts[t, track.MOISTURE], wall, pressure, water, dt)
            water = house.water_after(p, water, now, dt)
            soil = (now - acts[t, track.LATENT]) / (p[house._CS] * share)
        for i in range(modes.COUNT):
            z[i] *= fade[level, i]
        if air != 0.0 or mass != 0.0 or soil != 0.0:
            for i in range(modes.COUNT):
                z[i] += pushes[level, modes.PUSH_AIR, i] * air
                z[i] += pushes[level, modes.PUSH_MASS, i] * mass
                z[i] += pushes[level, modes.PUSH_WALL, i] * soil
        if level != was:
            track.kick(p, share, moved, motor, columns, sums, states, forcing, t, fan_heat, was, level, whole)
            modes.turn(turned, level, whole, spare)
            for i in range(modes.COUNT):
                z[i] += spare[i]
    modes.turn(nodes, before, z, spare)
    delta[0, : modes.COUNT] = spare


def hand_off(seen):
    """Return `seen` with the hand switch off in every row: the same weather without the fan."""
    off = seen.copy()
    off[:, screen.Reading._fields.index("hand")] = screen.HAND_OFF
    return off


def run(fit, settings, draw=0, fan=True, more=None, told=True):
    """Return the Trace of one settings file over the whole grid of a Fit.

    fit : tuner.fit.Fit; settings : Settings; draw : which plausible house; fan : False keeps it off throughout.
    more : further forcing on (air, mass) [K/s], shape (grid, 2), or None: other weather. told : False is faster and
    leaves starts, reason and alarms at 0.
    In a gap the difference fades as the house itself would let it, fan off.
    """
    grid = fit.grid
    rows = int(grid.edges[-1])
    floats, ints = np.empty((rows, 3)), np.zeros((rows, 8), np.int64)
    delta = np.zeros((1, house.STATES))
    for k, course in enumerate(fit.courses(draw)):
        cut = slice(int(grid.edges[k]), int(grid.edges[k + 1]))
        if grid.gap_s[k] > 0.0 and delta.any():
            delta[0] = fade(fit, course, float(grid.gap_s[k])) @ delta[0]
        seen = fit.seen(settings, k)
        push = NO_MORE if more is None else np.ascontiguousarray(more[cut])
        walk(settings, course, seen if fan else hand_off(seen), push, told, delta, floats[cut], ints[cut])
    return trace_of(floats, ints, round(grid.dt))


def without_fan(fit, draw, k, first, last):
    """Return the house [degC] at rows first..last of stretch k, the fan off from `first` on, all else as logged."""
    rows = slice(first, last + 1)
    course = fit.courses(draw)[k]
    part = track.piece(course, rows)
    settings = defaults()  # neither heater nor vent fitted: both stay as logged
    seen, delta = hand_off(fit.seen(settings, k)[rows]), np.zeros((1, house.STATES))
    floats, ints = np.empty((len(seen), 3)), np.zeros((len(seen), 8), np.int64)
    walk(settings, part, seen, NO_MORE, False, delta, floats, ints)
    return floats[:, 0]


def trace_of(floats, ints, dt_s):
    """Return the Trace of what walk filled."""
    phase, on = ints[:, 0], ints[:, 1]
    ran = on * dt_s
    return Trace(
        floats[:, 0], floats[:, 1], floats[:, 2], phase, ints[:, 2], ran, ran * (phase == decide.CHARGE),
        ran * (phase == decide.DISCHARGE), ints[:, 5], ints[:, 3], ints[:, 4], ints[:, 6], ints[:, 7],
    )  # fmt: skip


def fade(fit, course, gap_s):
    """Return the (10, 10) matrix by which a difference fades over a gap with the fan off."""
    links = fit.problem.links
    return kalman.build(course.p, fit.problem.shares, links, gap_s, [kalman.OFF]).power[kalman.OFF]


def night_spread(minima, logged, changed_h):
    """Return (best (nights,), standard deviation (nights,)) of night minima.

    minima : list of arrays or Series, one per plausible house, the best first; logged : the log's own minima.
    changed_h : hours of each night in which the fan ran otherwise than logged, shape (nights,).
    """
    table = np.array([np.asarray(one) for one in minima])
    best = table[0]
    drawn = np.sqrt(((table[1:] - best) ** 2).mean(0)) if len(table) > 1 else np.zeros_like(best)
    changed = np.asarray(changed_h, float)
    changed = changed + np.concatenate(([0.0], changed[:-1]))
    form = np.minimum(PER_CHANGED_H * changed, MOST_CHANGED)
    share = MODEL_SHARE * (best - np.asarray(logged))
    return best, np.sqrt(drawn**2 + share**2 + form**2 + PROBE_SD**2)


def changed_s(fit, trace):
    """Return the seconds of each grid row's step in which the fan ran otherwise than logged, shape (grid,)."""
    logged = np.concatenate([stretch.level != kalman.OFF for stretch in fit.grid.stretches])
    return np.where(logged != (trace.fan_s > 0), fit.grid.dt, 0.0)
