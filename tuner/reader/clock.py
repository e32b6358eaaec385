"""The time column of one file, from text to a local or UTC clock reading: number kinds, day and month, swaps.

`dates.py` reads one cell; here the rows together tell what the cells mean. `zone.py` takes over from there.
"""

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tuner.errors import LogError
from tuner.reader import dates
from tuner.reader.parts import Fault
from tuner.reader.table import cell_error

DAY_MS = 86_400_000
NO_TIME = np.iinfo(np.int64).min
_SERIAL_ZERO = int(np.datetime64(dates.SERIAL_DAY_ZERO, "D").astype(np.int64))
_PER_UNIT = {"unix": 1000, "unix_ms": 1}


@dataclass
class Clock:
    """ms: int64 milliseconds as the clock showed them, NO_TIME where the cell is no time. shape (n,)

    offset: seconds from UTC in each row, NaN where the cell does not tell; None when no cell tells.
    utc: True for counts since 1970. how: for people.
    """

    ms: np.ndarray
    offset: Any = None
    utc: bool = False
    how: str = ""
    faults: list = field(default_factory=list)


def read(path, texts, line, name, day_first=None):
    """Return the Clock of a time column.

    texts : list of one or two object arrays (date and time, or a date column and a time column).
    line : int array of line numbers. day_first : True, False or None (found out from the rows).
    Raises LogError where day and month cannot be told apart, or a date contradicts what was said.
    """
    if len(texts) == 1 and (kind := _number_kind(texts[0])):
        return _from_numbers(texts[0], kind)
    day_texts, clock_texts = texts if len(texts) == 2 else _split_all(texts[0])
    day_codes, days = _codes(day_texts)
    clock_codes, clocks = _codes(clock_texts)
    written = [dates.parse_date(day) for day in days]
    times = [dates.parse_time(clock) if clock else (0.0, None) for clock in clocks]
    two = [w is not None and w.order == "two" for w in written]
    clock = Clock(np.empty(0))
    if any(two):
        day_first = _day_first(path, written, day_codes, line, name, day_first, days)
        clock.how = "day first" if day_first else "month first"
    else:
        clock.how = "year first" if any(w is not None and w.order == "ymd" for w in written) else "month by name"
    midnight = _midnights(written, day_first)
    if day_first is None:  # neither said nor found out: the dates are written year first or by name
        midnight = _unswap(midnight, day_codes, line, path, clock)
    second = np.array([NO_TIME if t is None else round(t[0] * 1000) for t in times], dtype=np.int64)
    day_ms, of_day = midnight[day_codes], second[clock_codes]
    wrong = (day_ms == NO_TIME) | (of_day == NO_TIME)
    clock.ms = np.where(wrong, NO_TIME, np.where(wrong, 0, day_ms) + np.where(wrong, 0, of_day))
    offsets = np.array([np.nan if t is None or t[1] is None else t[1] for t in times], dtype=float)
    if not np.isnan(offsets).all():
        clock.offset = offsets[clock_codes]
    return clock


def _codes(texts):
    """Return (int array, list of distinct texts)."""
    known = {}
    codes = np.fromiter((known.setdefault(text, len(known)) for text in texts), np.int64, len(texts))
    return codes, list(known)


def _split_all(texts):
    """Return the (date texts, time texts) of cells that hold both."""
    days, clocks = [], []
    for text in texts:
        day, blank, clock = text.partition("T" if text[10:11] == "T" else " ")
        if not blank or len(day) < 6 or " " in clock or not clock[:1].isdigit() or ":" not in clock:
            day, clock = dates.split(text)
        days.append(day)
        clocks.append(clock)
    return days, clocks


def _number_kind(texts):
    """Return "unix", "unix_ms" or "serial" when most of the first cells are such numbers, else None."""
    kinds = []
    for text in texts[:200]:
        if text and dates.is_number(text) and not (len(text) == 8 and dates.parse_date(text)):
            kinds.append(dates.number_kind(float(text.replace(",", "."))))
    first = next((kind for kind in kinds if kind), None)
    filled = sum(1 for text in texts[:200] if text)
    return first if first and kinds.count(first) * 2 > filled else None


def _from_numbers(texts, kind):
    codes, distinct = _codes(texts)
    found = np.full(len(distinct), NO_TIME, dtype=np.int64)
    for at, text in enumerate(distinct):
        if dates.is_number(text) and dates.number_kind(float(text.replace(",", "."))) == kind:
            value = float(text.replace(",", "."))
            if kind == "serial":
                # A spreadsheet day of 5 decimals is good to about a second: whole seconds are meant.
                found[at] = (_SERIAL_ZERO * 86_400 + round(value * 86_400)) * 1000
            else:
                found[at] = round(value * _PER_UNIT[kind])
    how = {"unix": "seconds since 1970, UTC", "unix_ms": "milliseconds since 1970, UTC",
           "serial": "spreadsheet days since 1900"}[kind]  # fmt: skip
    return Clock(found[codes], utc=kind != "serial", how=how)


def _midnights(written, day_first):
    """Return ms of each written date's midnight, NO_TIME where there is no such day."""
    found = np.full(len(written), NO_TIME, dtype=np.int64)
    for at, date in enumerate(written):
        if date is not None:
            month, day = date.first, date.second
            if date.order == "two" and day_first:
                month, day = day, month
            found[at] = _midnight(date.year, month, day)
    return found


def _midnight(year, month, day):
    if not (2000 <= year < 2100 and 1 <= month <= 12 and 1 <= day <= 31):
        return NO_TIME
    first = np.datetime64(f"{year:04d}-{month:02d}-01", "D")
    date = first + (day - 1)
    return (
        int(date.astype(np.int64)) * DAY_MS
        if date.astype("datetime64[M]") == first.astype("datetime64[M]")
        else NO_TIME
    )


def _day_first(path, written, codes, line, name, said, texts):
    """Return True where the day stands before the month, by what was said or what the dates show."""
    two = [(at, w) for at, w in enumerate(written) if w is not None and w.order == "two"]
    day_shown = next((at for at, w in two if w.first > 12), None)
    month_shown = next((at for at, w in two if w.second > 12), None)
    if said is not None:
        against = month_shown if said else day_shown
        if against is not None:
            raise cell_error(
                path,
                line[int(np.argmax(codes == against))],
                name,
                texts[against],
                f"cannot be a date with the {'day' if said else 'month'} first",
                "Correct the date, or day_first under [columns] in site.toml.",
            )
        return said
    if day_shown is not None and month_shown is not None:
        raise cell_error(
            path,
            line[int(np.argmax(codes == month_shown))],
            name,
            texts[month_shown],
            f"has the month first, but {texts[day_shown]!r} on line "
            f"{line[int(np.argmax(codes == day_shown))]} has the day first",
            "A spreadsheet may have turned some dates round. Write all dates as 2026-01-31.",
        )
    if day_shown is not None or month_shown is not None:
        return day_shown is not None
    if any(w.mark == "." for _, w in two):
        return True
    return _by_continuity(path, [w for _, w in two], line, name, texts[two[0][0]])


def _by_continuity(path, written, line, name, example):
    """Choose the reading under which the days follow each other; refuse to choose between equals."""
    spans = {}
    for day_first in (True, False):
        days = _midnights(written, day_first) // DAY_MS
        spans[day_first] = int(np.abs(np.diff(days)).max()) if len(days) > 1 else 0
    if spans[True] <= 3 < spans[False]:
        return True
    if spans[False] <= 3 < spans[True]:
        return False
    raise LogError(
        f'{path}, line {line[0]}, column "{name}": {example!r} can be read with the day or the month '
        "first, and no other date tells.\nWrite day_first = true or day_first = false under [columns] in "
        "site.toml."
    )


def _unswap(midnight, codes, line, path, clock):
    """Turn round dates whose day and month a spreadsheet has swapped; return the corrected midnights.

    Only where a date breaks the row of days and its swapped form continues it, counted from dates that cannot have
    been swapped (day above 12).
    """
    order = codes[np.concatenate([[True], np.diff(codes) != 0])] if len(codes) else codes
    if len(order) < 2 or len(order) > 4 * len(midnight) + 16:
        return midnight
    days = midnight.astype("datetime64[ms]").astype("datetime64[D]")
    fixed = midnight.copy()
    swapped = set()
    for walk in (range(1, len(order)), range(len(order) - 2, -1, -1)):
        sure = None
        for place in walk:
            before = place - walk.step
            if midnight[order[place]] == NO_TIME or midnight[order[before]] == NO_TIME:
                continue
            if sure is None and _day_of_month(days[order[before]]) <= 12:
                continue
            sure = True
            gap = (fixed[order[place]] - fixed[order[before]]) * walk.step
            turned = _turned(days[order[place]])
            if turned is None or 0 <= gap <= 3 * DAY_MS or order[place] in swapped:
                continue
            if 0 <= (turned - fixed[order[before]]) * walk.step <= 1.5 * DAY_MS:
                fixed[order[place]] = turned
                swapped.add(order[place])
    if swapped:
        rows = np.isin(codes, list(swapped))
        first = int(np.argmax(rows))
        clock.faults.append(
            Fault(
                "day and month swapped",
                f"{path}, from line {line[first]}",
                f"{len(swapped)} dates have day and month swapped, as a spreadsheet does ({days[codes[first]]} on line "
                f"{line[first]})",
                "they were turned round",
                "give day_first under [columns]: dates are then taken as written",
                rows=int(rows.sum()),
            )
        )
    return fixed


def _day_of_month(day):
    return int((day - day.astype("datetime64[M]")).astype(int)) + 1


def _turned(day):
    """Return the midnight in ms of the date with day and month swapped, or None when there is no such other date."""
    year, month = int(str(day)[:4]), int(str(day)[5:7])
    of_month = _day_of_month(day)
    if of_month > 12 or of_month == month:
        return None
    found = _midnight(year, of_month, month)
    return None if found == NO_TIME else found
