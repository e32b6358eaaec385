"""What the fan would have done: the board's own screen and decide, stepped row by row through a log.

This is the open-loop form: the temperatures stay as they were logged, only the decisions are new. The fan's own
effect on the house is left out, and whoever shows these numbers must say so (OPEN_LOOP).

Rows further apart than STEP_S are stepped in equal parts between interpolated readings. Where the board restarted it
starts anew here too; so it does after a gap over GAP_S, since what happened in it is not known.
"""

from collections import namedtuple

import numpy as np

from controller.core import decide, screen, units
from tuner import core_numba, logged
from tuner.logged import Outputs, Run, seconds

STEP_S = 60  # the longest step between two decisions [s]
OPEN_LOOP = (
    "Open loop: the temperatures stay as logged, only the decisions are new. "
    "The fan's own effect on the house is left out."
)

# What the loop reads, one int per log row: seconds since 1970, hundredths of a degree C, tenths of a percent;
# power_up is 1 where the board starts anew.
Inputs = namedtuple("Inputs", "time_s house soil outlet outside humidity hand request power_up")


def between(before, after, part, parts):
    """Return the reading at part/parts of the way between two rows; LOST where either is. [int]"""
    if before == units.LOST or after == units.LOST:
        return units.LOST
    return before + (after - before) * part // parts


def raw_between(rows, row, part, parts, elapsed_s):
    """Return the Raw reading at part/parts of the way from row - 1 to row; part == parts is the row itself."""
    last = row - 1 if part < parts else row
    return screen.Raw(
        elapsed_s=elapsed_s,
        house_centi_c=between(rows.house[last], rows.house[row], part, parts),
        soil_centi_c=between(rows.soil[last], rows.soil[row], part, parts),
        outlet_centi_c=between(rows.outlet[last], rows.outlet[row], part, parts),
        outside_centi_c=between(rows.outside[last], rows.outside[row], part, parts),
        humid_air_centi_c=units.LOST,
        humidity_deci_pct=between(rows.humidity[last], rows.humidity[row], part, parts),
        hand=rows.hand[row],
        request=rows.request[row],
        readback=0,
    )


def walk(settings, rows, out):
    """Step the board's code through all rows, writing into out.

    settings : Settings
    rows : Inputs of int sequences, shape (n,); out : Outputs of int sequences, shape (n,), all zero
    """
    screened = screen.start()
    state = decide.start(settings)
    for row in range(len(rows.time_s)):
        gap = rows.time_s[row] - rows.time_s[row - 1]
        parts = (gap + STEP_S - 1) // STEP_S
        if rows.power_up[row]:
            screened = screen.start()
            state = decide.start(settings)
            gap = 0
            parts = 1
        for part in range(1, parts + 1):
            elapsed = gap * part // parts - gap * (part - 1) // parts
            raw = raw_between(rows, row, part, parts, elapsed)
            screened = screen.step(screened, raw)
            if state.deciding.fan:
                out.fan_s[row] += elapsed
                if state.deciding.phase == decide.CHARGE:
                    out.charge_s[row] += elapsed
                if state.deciding.phase == decide.DISCHARGE:
                    out.discharge_s[row] += elapsed
            starts = state.counters.starts
            state = decide.step(settings, state, screen.reading(settings, screened, raw))
            out.starts[row] += state.counters.starts - starts
        out.phase[row] = state.deciding.phase
        out.fan_pct[row] = decide.fan_pct(settings, state)
        out.heater[row] = state.deciding.heater
        out.vent[row] = state.deciding.vent
        out.reason[row] = state.counters.reason
        out.alarms[row] = state.counters.alarms


core_numba.helper(between)
core_numba.helper(raw_between)
fast_walk = core_numba.jit(walk)


def core_ints(values, per_unit):
    """Return floats as the core's ints (value times per_unit, rounded half to even); NaN becomes LOST.

    values : ndarray of float, shape (n,); per_unit : 100 for degrees C, 10 for percent
    """
    scaled = np.rint(np.asarray(values, dtype=float) * per_unit)
    fits = np.abs(scaled) < -units.LOST  # False for NaN as well
    return np.where(fits, scaled, units.LOST).astype(np.int64)


def inputs(log):
    """Return the Inputs of a Log; hand switch and trials come from its phase and reason words, where it has them."""
    frame = log.frame
    return Inputs(
        seconds(frame.index),
        core_ints(frame["house"], 100),
        core_ints(frame["soil"], 100),
        core_ints(frame["outlet"], 100),
        core_ints(frame["outside"], 100),
        core_ints(frame["humidity"], 10),
        logged.hand_positions(frame),
        logged.trial_requests(frame),
        logged.power_ups(log).astype(np.int64),
    )


def replay(log, settings, name):
    """Return the Run of one settings file through a Log.

    log : tuner.logs.Log; settings : Settings; name : str
    """
    rows = inputs(log)
    count = len(rows.time_s)
    if core_numba.HAVE_NUMBA:
        out = Outputs(*(np.zeros(count, dtype=np.int64) for _ in Outputs._fields))
        fast_walk(settings, rows, out)
        return Run(name, settings, out)
    lists = Outputs(*([0] * count for _ in Outputs._fields))
    walk(settings, Inputs(*(column.tolist() for column in rows)), lists)
    return Run(name, settings, Outputs(*(np.array(column, dtype=np.int64) for column in lists)))
