"""From what a logger's clock showed to UTC: summer time, the hour that comes twice, the hour that never was.

A clock that follows summer time repeats an hour in autumn and leaves one out in spring; one that stays on standard
time does neither. The rows themselves show which, if they cross a change.
"""

from dataclasses import dataclass, field
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from tuner.errors import LogError
from tuner.reader.parts import Fault, number_of, time_text

HOUR_MS = 3_600_000


@dataclass
class Placed:
    """utc: int64 ms. lost: bool, rows whose time never was. how: for people. faults: list of Fault."""

    utc: np.ndarray
    lost: np.ndarray
    how: str
    faults: list = field(default_factory=list)


def place(path, ms, line, zone_name, said=None):
    """Return local clock readings as UTC.

    ms : int64, shape (n,), the clock in the order of the file. zone_name : IANA name, or None: taken as UTC.
    said : "local", "standard", "utc" or None (found out).
    Raises LogError where the rows contradict each other.
    """
    none = np.zeros(len(ms), dtype=bool)
    if said == "utc":
        return Placed(ms, none, "UTC, as site.toml says")
    if zone_name is None:
        fault = Fault(
            "no time zone",
            str(path),
            "the times name no zone, and no site.toml gives one",
            "they were taken as UTC",
            "give --site with the site's time_zone, or clock under [columns]",
            rows=len(ms),
            grave=True,
        )
        return Placed(ms, none, "no zone known, taken as UTC", [fault])
    first, second, lost = _both_readings(ms, zone_name)
    twice = (first != second) & ~lost
    shown = _evidence(ms, lost, twice, zone_name)
    clock = said or _judge(path, ms, line, lost, shown, zone_name)
    if clock == "standard":
        offset = standard_offset_s(zone_name, ms)
        how = f"standard time of {zone_name} all year (UTC{offset / 3600:+g} h)"
        return Placed(ms - offset * 1000, none, how)
    late = _second_pass(ms, twice, second - first)
    utc = np.where(lost, ms, np.where(late, second, first))
    placed = Placed(utc, lost, f"local time of {zone_name} with its summer time")
    if lost.any():
        at = int(np.argmax(lost))
        placed.faults.append(
            Fault(
                "time that never was",
                f"{path}, line {line[at]}",
                f"{number_of(lost.sum(), 'row')} in the hour that spring leaves out",
                "they were left out",
                'give clock = "standard" under [columns]',
                rows=int(lost.sum()),
            )
        )
    elif said is None and not shown and _summer(ms, zone_name):
        placed.faults.append(
            Fault(
                "summer time assumed",
                str(path),
                f"no change of the clocks in the log shows whether it follows the summer time of {zone_name}",
                "it was read as local time, summer time included",
                'give clock = "standard" under [columns] if the logger stays on winter time',
                rows=len(ms),
                grave=False,
            )
        )
    return placed


def _both_readings(ms, zone_name):
    """Return (UTC ms if in the first pass, if in the second, bool: no such time) of local times."""
    stamps = pd.DatetimeIndex(ms.astype("datetime64[ms]"))
    both = []
    for early in (True, False):
        flags = np.full(len(ms), early)
        placed = stamps.tz_localize(zone_name, ambiguous=flags, nonexistent="NaT")
        both.append(placed.tz_convert("UTC").tz_localize(None).to_numpy().astype("datetime64[ms]").astype(np.int64))
        lost = placed.isna()
    return both[0], both[1], np.asarray(lost)


def standard_offset_s(zone_name, ms):
    """Return the zone's offset from UTC out of summer time in the year of the first reading. [s]"""
    year = int(str(np.datetime64(int(ms[0]), "ms"))[:4])
    zone = ZoneInfo(zone_name)
    return int(min(datetime(year, month, 15, tzinfo=zone).utcoffset().total_seconds() for month in (1, 7)))


def _summer(ms, zone_name):
    """True if some reading lies where the zone's clocks are ahead of standard time."""
    offset = standard_offset_s(zone_name, ms) * 1000
    first, _, lost = _both_readings(ms[:: max(1, len(ms) // 500)], zone_name)
    local = ms[:: max(1, len(ms) // 500)]
    return bool(((local - first)[~lost] > offset).any())


def _evidence(ms, lost, twice, zone_name):
    """Return {"standard": why, "local": why} of what the rows at the changes of the clocks show."""
    found = {}
    if lost.any():
        found["standard"] = int(np.argmax(lost))
    step = _usual_step(ms)
    if step > 2 * HOUR_MS:
        return found
    for first, last in _runs(twice):
        inside = ms[first : last + 1]
        back = np.diff(inside) < 0
        same = len(inside) > 1 and (inside == inside[0]).all() and step >= HOUR_MS
        if back.any() or same:
            found["local"] = first
        elif (
            first > 0
            and last + 1 < len(ms)
            and _joined(ms, first - 1, first, step)
            and _joined(ms, last, last + 1, step)
        ):
            found.setdefault("standard", first)
    for at in _spring_gaps(ms, lost, zone_name, step):
        found["local"] = at
    return found


def _usual_step(ms):
    forward = np.diff(ms)
    forward = forward[forward > 0]
    return int(np.median(forward)) if len(forward) else HOUR_MS


def _joined(ms, before, after, step):
    return 0.75 * step <= ms[after] - ms[before] <= 1.5 * step


def _runs(flags):
    """Return [(first, last)] of the stretches where flags holds."""
    edges = np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8))
    return list(zip(np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1, strict=True))


def _spring_gaps(ms, lost, zone_name, step):
    """Return the places where the clock leaps over just the hour that spring leaves out."""
    if step > HOUR_MS / 2 or lost.any():
        return []
    places = np.flatnonzero((np.diff(ms) > HOUR_MS) & (np.diff(ms) <= HOUR_MS + 2 * step))
    found = []
    for at in places:
        utc = _both_readings(ms[at : at + 2], zone_name)[0]
        if utc[1] - utc[0] <= 2 * step:
            found.append(int(at))
    return found


def _judge(path, ms, line, lost, shown, zone_name):
    """Return "local" or "standard" by the evidence; refuse when it contradicts itself."""
    if "standard" in shown and "local" in shown:
        if not lost.any():
            return "local"
        one, other = shown["local"], shown["standard"]
        raise LogError(
            f"{path}: the clock follows the summer time of {zone_name} at line {line[one]} "
            f"({time_text(ms[one])[:-4]}) but not at line {line[other]} ({time_text(ms[other])[:-4]}).\n"
            'Cut the file there, and give clock = "local" or "standard" under [columns] for each part.'
        )
    return "standard" if "standard" in shown else "local"


def _second_pass(ms, twice, apart):
    """True for the readings of a doubled hour that belong to its second pass. shape (n,)

    apart : ms between the two passes of each reading. Where the rows pass the hour once, the pass is taken that keeps
    the usual step to the row before, or after.
    """
    late = np.zeros(len(ms), dtype=bool)
    step = _usual_step(ms)
    for first, last in _runs(twice):
        inside = ms[first : last + 1]
        back = np.flatnonzero(np.diff(inside) < 0)
        if len(back):
            late[first + back[0] + 1 : last + 1] = True
        elif len(inside) > 1 and (inside == inside[0]).all() and step >= HOUR_MS:
            late[first + 1 : last + 1] = True
        elif first > 0:
            gap = ms[first] - ms[first - 1]
            late[first : last + 1] = abs(gap + apart[first] - step) < abs(gap - step)
        elif last + 1 < len(ms):
            gap = ms[last + 1] - ms[last]
            late[first : last + 1] = abs(gap - step) < abs(gap + apart[last] - step)
    return late
