"""Rows that were logged under a wrong clock: their times are emptied, and uptime_s places them when the log is read.

A stretch is wrong when the clock was then set, in the same run of the board, to something more than two minutes from
where it would have been: `loamstat` sets it by a computer's. A watchdog reset keeps the clock, so a wrong one reaches
back over such resets too.
"""

from datetime import datetime

APART_S = 120
KEPT_S = 600  # between the last row before a reset and the first after it, by a clock that was kept


def mended(lines):
    """Return (lines, number of times emptied) for CSV lines of a board's log, oldest first."""
    out, emptied = list(lines), 0
    stretch, before = [], None  # places of the rows under one clock; (time, uptime) of the row above
    for place, line in enumerate(lines):
        time, uptime = _moment(line)
        same_run = before is not None and uptime > before[1]
        if time is None:
            stretch = stretch if same_run else []
            before = (None, uptime)
            continue
        if before is not None and before[0] is not None:
            step = time - before[0]
            if same_run and abs(step - (uptime - before[1])) > APART_S:
                for wrong in stretch:
                    out[wrong] = "," + out[wrong].partition(",")[2]
                emptied += len(stretch)
                stretch = []
            elif not same_run and not 0 <= step <= KEPT_S:
                stretch = []  # a power-off between: another clock
        stretch.append(place)
        before = (time, uptime)
    return out, emptied


def _moment(line):
    """Return (seconds of the time cell or None, uptime in seconds) of a CSV line."""
    time, _, rest = line.partition(",")
    return (datetime.fromisoformat(time).timestamp() if time else None), int(rest.partition(",")[0])
