"""The order of one file's rows in time: newest first, blocks out of place, rows that come twice, a clock set back."""

import itertools

import numpy as np

from tuner.errors import LogError
from tuner.reader.parts import MS, Fault, length_text, number_of, time_text

MOST_BACKWARD = 500


def newest_last(ms):
    """Return (times with the newest last, True if they had to be turned round)."""
    steps = np.diff(ms)
    turned = (steps < 0).sum() > 3 * (steps > 0).sum()
    return (ms[::-1], True) if turned else (ms, False)


def settle(piece):
    """Put a Piece's rows in rising time, each time once, in place; what was done is listed.

    Raises LogError when time runs backward again and again.
    """
    if newest_last(piece.time)[1]:
        piece.take(slice(None, None, -1))
        piece.faults.append(
            Fault(
                "newest first",
                str(piece.file),
                "the newest row stands first",
                "the rows were turned round",
                rows=len(piece.time),
                grave=False,
            )
        )
    back = np.flatnonzero(np.diff(piece.time) < 0) + 1
    if len(back) > MOST_BACKWARD:
        at = int(back[0])
        raise LogError(
            f"{piece.file}, line {piece.line[at]}: time runs backward here and {len(back) - 1} times more "
            f"({time_text(piece.time[at])} after {time_text(piece.time[at - 1])}).\nSort the rows by time, "
            "and check that day and month were not mixed up."
        )
    if len(back):
        _sort_blocks(piece, back)
    _once(piece)


def _sort_blocks(piece, back):
    """Sort blocks of rows that stand out of place; drop rows that a clock set back has put over others."""
    keep = np.ones(len(piece.time), dtype=bool)
    bounds = np.concatenate([[0], back, [len(piece.time)]])
    seen = [(int(piece.time[0]), int(piece.time[back[0] - 1]), 0, int(back[0]))]
    for first, after in itertools.pairwise(bounds[1:]):
        times = piece.time[first:after]
        over = np.zeros(after - first, dtype=bool)
        repeats = False
        for low, high, start, stop in seen:
            shared = (times >= low) & (times <= high)
            if shared.any() and _repeats(piece, first + np.flatnonzero(shared), start, stop):
                repeats = True  # counted once below
            else:
                over |= shared
        keep[first:after] &= ~over
        if not repeats:
            _say(piece, int(first), times, over)
        seen.append((int(times[0]), int(times[-1]), int(first), int(after)))
    piece.take(keep)
    piece.take(np.argsort(piece.time, kind="stable"))


def _repeats(piece, rows, start, stop):
    """True if these rows stand, with the same readings, among rows start to stop too."""
    at = start + np.searchsorted(piece.time[start:stop], piece.time[rows])
    at = np.minimum(at, stop - 1)
    same = piece.time[at] == piece.time[rows]
    for values in piece.values.values():
        same &= same_reading(values[at], values[rows])
    return same.mean() > 0.9


def same_reading(one, other):
    """True where two columns hold the same reading, missing ones included. shape (n,) bool"""
    same = one == other
    return same | ((one != one) & (other != other)) if one.dtype == float else same


def _say(piece, first, times, over):
    where = f"{piece.file}, line {piece.line[first]}"
    step = length_text((piece.time[first - 1] - piece.time[first]) / MS)
    if over.any():
        piece.faults.append(
            Fault(
                "backward step",
                where,
                f"time runs back by {step} here, over times that other rows already have",
                f"{number_of(over.sum(), 'row')} with such times left out",
                "correct the times in the file, or cut it there and keep the right part",
                int(times[0]),
                int(times[over][-1]),
                int(over.sum()),
            )
        )
    else:
        piece.faults.append(
            Fault(
                "out of order",
                where,
                f"the rows from here on begin {step} before the row above",
                "they were sorted by time",
                start=int(times[0]),
                end=int(times[-1]),
                rows=len(times),
                grave=False,
            )
        )


def _once(piece):
    """Drop rows whose time is there already: the same readings as repeats, others as a fault."""
    same = np.diff(piece.time, prepend=np.iinfo(np.int64).min) == 0
    if not same.any():
        return
    equal = same.copy()
    for values in piece.values.values():
        equal &= same_reading(values, np.roll(values, 1))
    differs = same & ~equal
    at = int(np.argmax(same))
    if equal.any():
        at = int(np.argmax(equal))
        piece.faults.append(
            Fault(
                "duplicates",
                f"{piece.file}, line {piece.line[at]}",
                f"{number_of(equal.sum(), 'repeated row')}",
                "they were counted once",
                start=int(piece.time[at]),
                end=int(piece.time[equal][-1]),
                rows=int(equal.sum()),
                grave=False,
            )
        )
    if differs.any():
        at = int(np.argmax(differs))
        piece.faults.append(
            Fault(
                "one time, two readings",
                f"{piece.file}, line {piece.line[at]}",
                f"{number_of(differs.sum(), 'row')} with the time of the row before "
                f"({time_text(piece.time[at])}) but other readings",
                "the first row of each was kept",
                "delete the wrong rows",
                int(piece.time[at]),
                int(piece.time[differs][-1]),
                int(differs.sum()),
            )
        )
    piece.take(~same)
