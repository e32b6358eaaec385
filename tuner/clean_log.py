"""A log of any kind written as the board would have written it, so that it reads back the same.

Readings that were left out are empty cells. What the format has no column for is said, not written.
"""

import numpy as np

from controller.core import record
from tuner.errors import OutputError
from tuner.files import write_whole

SOLAR, FAN_POWER = "solar_w_m2", "fan_power_w"  # columns that other loggers add to the board's own


def write(log, path):
    """Write log to path as CSV in the project's own format; return remarks, a list of texts.

    Rows within the same second become one. uptime_s begins again at each restart of the board. Columns solar_w_m2 and
    fan_power_w are added where they were logged, light only where it is known in W/m2. Raises OutputError when path
    cannot be written or is one of the log's files.
    """
    for file in log.files:
        if _same_file(file, path):
            raise OutputError(f"{path}: this is one of the logs that were read.\nName another file to write.")
    remarks = []
    seconds = log.frame.index.asi8 // 10**9 if log.frame.index.unit == "ns" else log.frame.index.as_unit("s").asi8
    keep = np.concatenate([[True], np.diff(seconds) > 0])
    if not keep.all():
        remarks.append(f"{int((~keep).sum())} rows within the second of another row were left out")
    frame, seconds = log.frame[keep], seconds[keep]
    names = record.HEADER.split(",")
    cells = _cells(frame, seconds, log.restarts)
    if "heater" in log.units and log.units["heater"] not in ("0/1", "on/off"):
        remarks.append("the heater's power became on or off")
    if "solar" in frame and log.units.get("solar") in ("W/m2", "MJ/m2", "lux", "klux"):
        names.append(SOLAR)
        cells.append(numbers(frame["solar"], 1))
    elif "solar" in frame:
        remarks.append("light has no column, since its unit is not known")
    if "fan_power" in frame:
        names.append(FAN_POWER)
        cells.append(numbers(frame["fan_power"], 1))
    lines = [",".join(names), *map(",".join, zip(*cells, strict=True))]
    write_whole(path, "\n".join(lines) + "\n")
    return remarks


def _same_file(one, other):
    try:
        return one.resolve() == type(one)(other).resolve()
    except (OSError, RuntimeError):
        return False


def _cells(frame, seconds, restarts):
    """Return one list of texts for each column of record.HEADER."""
    times = np.datetime_as_string(seconds.astype("datetime64[s]"))
    heater = np.where(frame["heater"].isna(), np.nan, (frame["heater"] > 0).astype(float))
    return [
        [f"{time}Z" for time in times],
        [str(value) for value in uptime(seconds, restarts)],
        *(numbers(frame[name], 2) for name in ("house", "soil", "outlet", "outside")),
        numbers(frame["humidity"], 1),
        frame["phase"].astype(str).tolist(),
        numbers(frame["fan_pct"], 0),
        numbers(frame["fan_s"], 0),
        numbers(heater, 0),
        numbers(frame["vent"], 0),
        frame["reason"].astype(str).tolist(),
        frame["alarms"].astype(str).tolist(),
    ]


def numbers(values, places):
    """Return floats as texts with so many decimals, "" for NaN; -0.00 is written 0.00."""
    rounded = np.round(np.asarray(values, dtype=float), places) + 0.0
    return ["" if value != value else f"{value:.{places}f}" for value in rounded.tolist()]


def uptime(seconds, restarts):
    """Return seconds since the start of each part: the first row, and each restart of the board. shape (n,)"""
    begins = np.zeros(len(seconds), dtype=np.int64)
    for time in restarts:
        begins[np.searchsorted(seconds, int(time.timestamp())) :] += 1
    first = seconds[np.searchsorted(begins, np.arange(begins[-1] + 1))] if len(seconds) else seconds
    return seconds - first[begins]
