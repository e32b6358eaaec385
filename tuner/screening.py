"""The board's own screen run over a log of any logger: what the board would not have believed is not used.

Screening a screened log changes nothing, so logs of the board may go through it too.
"""

from collections import namedtuple

import numpy as np

from controller.core import screen, units
from tuner import core_numba

GAP_S = 3600  # after a longer gap nothing is known any more: the screen starts anew
NAMES = ("house", "soil", "outlet", "outside", "humidity")

Columns = namedtuple("Columns", "time_s house soil outlet outside humidity")
Believed = namedtuple("Believed", "house soil outlet outside humidity stuck")


def walk(rows, out):
    """Step the screen through all rows, writing 1 into out where a value is trusted at that very row.

    rows : Columns of int arrays, shape (n,), LOST where there is no reading; out : Believed of int arrays, zeros.
    """
    state = screen.start()
    for row in range(len(rows.time_s)):
        elapsed_s = rows.time_s[row] - rows.time_s[row - 1] if row else 0
        if elapsed_s > GAP_S:
            state = screen.start()
        raw = screen.Raw(
            elapsed_s=elapsed_s,
            house_centi_c=rows.house[row],
            soil_centi_c=rows.soil[row],
            outlet_centi_c=rows.outlet[row],
            outside_centi_c=rows.outside[row],
            humid_air_centi_c=units.LOST,
            humidity_deci_pct=rows.humidity[row],
            hand=0,
            request=0,
            readback=0,
        )
        state = screen.step(state, raw)
        out.house[row] = screen.trusted_now(state.house) != units.LOST
        out.soil[row] = screen.trusted_now(state.soil) != units.LOST
        out.outlet[row] = screen.trusted_now(state.outlet) != units.LOST
        out.outside[row] = screen.trusted_now(state.outside) != units.LOST
        out.humidity[row] = screen.trusted_now(state.humidity) != units.LOST
        out.stuck[row] = screen.disproved(state.stuck)


_walk = core_numba.jit(walk)


def counts(values, scale):
    """Return floats as core ints (scale 100 or 10), LOST where there is none; held inside 16 bits. shape (n,)"""
    whole = np.rint(np.nan_to_num(np.clip(values, -320.0, 320.0)) * scale).astype(np.int64)
    return np.where(np.isnan(values), units.LOST, whole)


def believed(time_ms, values):
    """Return {name: bool array}: where the board would have trusted each reading, and "stuck" for the house.

    time_ms : int64, shape (n,), rising. values : our name -> float array in degC or %.
    """
    size = len(time_ms)
    time_s = np.asarray(time_ms).astype(np.int64) // 1000
    columns = [counts(values.get(name, np.full(size, np.nan)), 10 if name == "humidity" else 100) for name in NAMES]
    rows = Columns(time_s, *columns)
    if _all_follow(rows):
        known = {name: getattr(rows, name) != units.LOST for name in NAMES}
        return known | {"stuck": np.zeros(size, dtype=bool)}
    out = Believed(*(np.zeros(size, dtype=np.int64) for _ in Believed._fields))
    _walk(rows, out)
    return {name: array.astype(bool) for name, array in out._asdict().items()}


def _all_follow(rows):
    """True where the screen would plainly trust every reading: all possible, no jump, the house never 3 h the same.

    Spares the loop (and numba) for a log that has been screened before. Where it is in doubt it says False.
    """
    bounds = {"soil": (screen.SOIL_LOWEST, screen.SOIL_HIGHEST), "humidity": (0, 1000)}
    for name in NAMES:
        counted = getattr(rows, name)
        known = counted != units.LOST
        values, times = counted[known], rows.time_s[known]
        low, high = bounds.get(name, (screen.AIR_LOWEST, screen.AIR_HIGHEST))
        if len(values) and (values.min() < low or values.max() > high):
            return False
        apart = np.minimum(np.diff(times), screen.LONGEST_STEP_S)
        if name != "humidity" and (np.abs(np.diff(values)) > screen.JUMP_CENTI_C + screen.JUMP_PER_S * apart).any():
            return False
        if name == "house" and len(values):
            changes = times[np.concatenate([[True], np.diff(values) != 0])]
            if np.diff(np.append(changes, rows.time_s[-1])).max() >= screen.STUCK_S:
                return False
    return True
