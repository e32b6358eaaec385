"""Parts of our own log, one for each start of the board, put in their order in time.

A part without any clock is placed by its neighbours in the file, as early as it can have been, and said so.
"""

from typing import Any

import numpy as np
from pandas import util

from tuner.errors import LogError
from tuner.reader import own
from tuner.reader.parts import MS, Fault, length_text, line_of, number_of, stack, time_text

HASH: Any = util.hash_array  # pandas builds this module's names as they are asked for
RESTART_S = 120  # the clock ran this much more than uptime_s: the board was off in between


def join(parts):
    """Return one Piece of all parts (from own.pieces, in file order), times in ms, boots counted from 0.

    Raises LogError for a part that cannot be placed, and for two different rows at one time.
    """
    parts = _merge_unset(list(parts))
    starts = [own.set_clock(part) for part in parts]
    if all(start is None for start in starts):
        first = parts[0]
        raise LogError(
            f"{first.file}: no row has a time; the board's clock was never set.\nWrite the time of one "
            "row into its time cell (ISO 8601 UTC, such as 2026-01-31T18:05:00Z): uptime_s then places "
            "the others."
        )
    _place_all(parts, starts)
    for part in parts:
        part.time = part.time * MS
    order = sorted(range(len(parts)), key=lambda i: (int(parts[i].time[0]), i))
    whole = stack([parts[i] for i in order])
    files = np.repeat(np.array([str(parts[i].file) for i in order], dtype=object), [len(parts[i].time) for i in order])
    _count_once(whole, files)
    whole.boot = _boots(whole)
    whole.faults += _restarts(whole)
    return whole


def _hashes(part):
    """One number per row that depends on all of its cells. shape (n,) uint64"""
    total = HASH(part.time)
    for name in sorted(part.values):
        values = part.values[name]
        total = total * np.uint64(1_000_003) + HASH(values.astype(object) if values.dtype == object else values)
    return total


def _merge_unset(parts):
    """Count once the rows without a clock that two pulls share: a part that continues another is joined to it."""
    kept = []
    for part in parts:
        if not (part.time == own.NO_TIME).any():
            kept.append((part, None))
            continue
        mine = _hashes(part)
        for at, (other, theirs) in enumerate(kept):
            if theirs is None:
                continue
            joined = _overlap(other, theirs, part, mine) or _overlap(part, mine, other, theirs)
            if joined:
                kept[at] = (joined, _hashes(joined))
                break
        else:
            kept.append((part, mine))
    return [part for part, _ in kept]


def _overlap(early, early_hash, late, late_hash):
    """Return early continued by late where late begins inside early and agrees row by row, else None."""
    for at in np.flatnonzero(early_hash == late_hash[0]):
        shared = min(len(early_hash) - at, len(late_hash))
        if not (early_hash[at : at + shared] == late_hash[:shared]).all():
            continue
        if shared == len(late_hash):
            return early
        late.take(np.arange(shared, len(late_hash)))
        joined = stack([early, late])
        joined.faults.append(
            Fault(
                "overlap",
                f"{late.file}",
                f"{number_of(shared, 'row')} also in {early.file}",
                "they were counted once",
                rows=int(shared),
                grave=False,
            )
        )
        return joined
    return None


def _place_all(parts, starts):
    for at in range(len(parts)):
        if starts[at] is None and at and starts[at - 1] is not None and parts[at - 1].file == parts[at].file:
            starts[at] = _place(parts, starts, at, int(parts[at - 1].time[-1]), "after the rows above it")
    for at in range(len(parts) - 2, -1, -1):
        if starts[at] is None and starts[at + 1] is not None and parts[at + 1].file == parts[at].file:
            power_on = starts[at + 1] - int(parts[at].values["uptime_s"][-1])
            starts[at] = _place(parts, starts, at, power_on, "before the rows below it")
    for part, start in zip(parts, starts, strict=True):
        if start is None:
            raise LogError(
                f"{part.file}: no row has a time, and no other file holds these rows with one.\nWrite the "
                "time of one row into its time cell (ISO 8601 UTC), or leave this file out."
            )


def _place(parts, starts, at, power_on, how):
    """Give part number at the start power_on (Unix seconds), and say by how much that may be wrong."""
    part = parts[at]
    uptime = part.values["uptime_s"].astype(np.int64)
    power_on += int(uptime[0] == 0 and how.startswith("after"))
    part.time = power_on + uptime
    following = next((start for start in starts[at + 1 : at + 2] if start is not None), None)
    slack = ""
    if following is not None and how.startswith("after"):
        spare = following - int(part.time[-1])
        if spare < -60:
            raise LogError(
                f"{part.file}, lines {line_of(part.line[0])} to {line_of(part.line[-1])}: these rows have no time and "
                f"last {length_text(-spare)} longer than the rows around them allow.\nWrite the time of one of "
                "them into its time cell, or delete them."
            )
        slack = f"; they may be up to {length_text(max(spare, 0))} later"
    first, last = int(part.time[0]) * MS, int(part.time[-1]) * MS
    part.faults.append(
        Fault(
            "clock never set",
            f"{part.file}, lines {line_of(part.line[0])} to {line_of(part.line[-1])}",
            f"the board ran {length_text((last - first) / MS)} without being told the time",
            f"the rows were placed right {how}{slack}",
            "write the time of one of these rows into its time cell",
            first,
            last,
            len(part.time),
        )
    )
    return power_on


def _count_once(whole, files):
    """Sort by time, drop rows that are there twice, and refuse two different rows at one time."""
    order = np.argsort(whole.time, kind="stable")
    whole.take(order)
    files = files[order]
    same = np.diff(whole.time, prepend=-1) == 0
    if not same.any():
        return
    for name, values in whole.values.items():
        if name == "uptime_s":
            continue
        before = np.roll(values, 1)
        differs = same & (values != before)
        if values.dtype == float:
            differs &= ~(np.isnan(values) & np.isnan(before))
        if differs.any():
            at = int(np.argmax(differs))
            raise LogError(
                f"{files[at]}, line {line_of(whole.line[at])}: {time_text(whole.time[at])} is there twice with "
                f"different readings ({name} {before[at]} on line {line_of(whole.line[at - 1])} of {files[at - 1]}, "
                f"{name} {values[at]} here).\nAre these logs of two boards, or was the clock wrong? Delete "
                "the wrong rows, or name only one of the files."
            )
    whole.faults.append(
        Fault(
            "overlap",
            "all files",
            f"{number_of(same.sum(), 'row')} there more than once",
            "they were counted once",
            rows=int(same.sum()),
            grave=False,
        )
    )
    whole.take(~same)


def _boots(whole):
    """Return the number of the board's start that each row belongs to, from 0. shape (n,)"""
    off = np.diff(whole.time) // MS - np.diff(whole.values["uptime_s"])
    again = (np.diff(whole.values["uptime_s"]) < 0) | (off > RESTART_S)
    return np.concatenate([[0], np.cumsum(again)])


def _restarts(whole):
    """A Fault for each restart of the board: how long it was off."""
    places = np.flatnonzero(np.diff(whole.boot) != 0)
    found = []
    for at in places:
        power_on = int(whole.time[at + 1]) - int(whole.values["uptime_s"][at + 1]) * MS
        off = max(power_on - int(whole.time[at]), 0) / MS
        found.append(
            Fault(
                "power cut",
                f"{time_text(whole.time[at])} to {time_text(whole.time[at + 1])}",
                f"the board was off for up to {length_text(off)} and started again",
                "nothing was filled in",
                start=int(whole.time[at]),
                end=int(whole.time[at + 1]),
                grave=False,
            )
        )
    return found
