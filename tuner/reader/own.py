"""The project's own log: strict cells, parts with the clock not set, restarts, overlapping pulls.

A board that restarts begins uptime_s again and does not know the date until it is told. So a file is a row of
parts, one for each start of the board; within a part uptime_s is the truth and the clock hangs on it.
"""

import re

import numpy as np

from controller.core import reasons, record
from tuner.errors import LogError, nearest
from tuner.reader import dialect, iso, table
from tuner.reader.parts import MS, Fault, Piece, length_text, line_of, number_of, time_text

NAMES = dialect.OWN_NAMES
EXTRA = {"solar_w_m2": "solar", "fan_power_w": "fan_power"}
OURS = {
    "house_c": "house",
    "soil_c": "soil",
    "outlet_c": "outlet",
    "outside_c": "outside",
    "humidity_pct": "humidity",
    "fan_pct": "fan_pct",
    "fan_s": "fan_s",
    "heater": "heater",
    "vent": "vent",
    "phase": "phase",
    "reason": "reason",
    "alarms": "alarms",
} | EXTRA
UNITS = {
    "house": "degC",
    "soil": "degC",
    "outlet": "degC",
    "outside": "degC",
    "humidity": "%",
    "fan_pct": "%",
    "fan_s": "s",
    "heater": "0/1",
    "vent": "0/1",
    "solar": "W/m2",
    "fan_power": "W",
}
WORDS = ("phase", "reason", "alarms")
# Words that this version does not know may come from a later one; anything else is damage.
WORD_SHAPES = {"reason": re.compile(r"[a-z0-9-]*"), "alarms": re.compile(r"[a-z0-9 -]*")}
NO_TIME = iso.NO_TIME
CLOCK_BACK_S = 600  # a host that sets the board's clock right moves it by less than this; more is an error
EARLIEST, LATEST = 946_684_800, 4_102_444_800  # 2000-01-01 and 2100-01-01, Unix seconds
# What a cell may hold, lowest and highest; temperatures are left to the core's screen.
BOUNDS = {
    "humidity_pct": (0, 100),
    "fan_pct": (0, 100),
    "fan_s": (0, 90_000),
    "heater": (0, 1),
    "vent": (0, 1),
    "uptime_s": (0, 2**31),
    "fan_power_w": (0, 30_000),
}
_WHAT = {
    "house_c": "a temperature",
    "soil_c": "a temperature",
    "outlet_c": "a temperature",
    "outside_c": "a temperature",
    "humidity_pct": "a humidity",
    "uptime_s": "a number of seconds",
    "fan_s": "a number of seconds",
    "fan_pct": "a percentage",
    "solar_w_m2": "a number",
    "fan_power_w": "a power",
}
_EMPTY_MEND = (
    "Leave the cell empty for a missing reading, or name the text for missing values under [columns] "
    "missing in site.toml."
)


def is_own(layout):
    """True if a Dialect is that of the project's own log (its names, commas between)."""
    return layout.delimiter == "," and dialect.is_own(layout.names)


def plan(path, layout):
    """Return the kind of each column to read; raises LogError where time is missing or a name comes twice."""
    kinds = {}
    for at, name in enumerate(layout.names):
        if layout.names.count(name) > 1:
            raise LogError(
                f'{path}, line {layout.header_line}: the column "{name}" comes twice.\nGive one of them '
                "another name, or delete it."
            )
        if name == "time":
            kinds[at] = "time"
        elif name in NAMES or name in EXTRA:
            kinds[at] = "text" if name in WORDS else "count" if name == "uptime_s" else "number"
    if "time" not in layout.names:
        raise LogError(
            f'{path}, line {layout.header_line}: there is no column "time".\nA log of the board has '
            f"the header {record.HEADER}."
        )
    return kinds


def pieces(read):
    """Return the Pieces of one Table of our own format, one for each start of the board, clocks not yet joined.

    time is NO_TIME where the clock was not set; values holds "uptime_s" beside our names.
    Raises LogError for the first cell that is not what its column holds.
    """
    columns = {column.name: column for column in read.columns.values()}
    _refuse_cells(read, columns)
    if not len(read.line):
        raise LogError(f"{read.path} holds a header line but no readings.\nName a log with at least one row.")
    seconds = _times(read, columns["time"])
    uptime = columns["uptime_s"].values
    values = {OURS[name]: column.values for name, column in columns.items() if name in OURS}
    _refuse_unplaced(read, seconds, uptime)
    starts = np.flatnonzero(np.diff(uptime, prepend=uptime[:1]) < 0)
    found = []
    for first, after in zip(np.r_[0, starts], np.r_[starts, len(uptime)], strict=True):
        part = {name: column[first:after] for name, column in values.items()}
        part["uptime_s"] = uptime[first:after]
        found.append(Piece(read.path, seconds[first:after].copy(), part, read.line[first:after], own=True))
    return found


def _refuse_cells(read, columns):
    for line, text, count in read.odd[:1]:
        raise LogError(
            f"{read.path}, line {line}: {count} cells where the header has {len(read.dialect.names)} "
            f"({text[:60]!r}).\nMend the line or delete it."
        )
    worst = min(((column.bad[0], name) for name, column in columns.items() if column.bad), default=None)
    if worst:
        (line, text), name = worst
        kind = _WHAT.get(name, "0 or 1")
        raise table.cell_error(read.path, line, name, text, f"is not {kind}", _EMPTY_MEND)
    for name, (low, high) in BOUNDS.items():
        if name in columns:
            values = columns[name].values
            wrong = (values < low) | (values > high)
            if name in ("heater", "vent"):
                wrong |= (values > 0) & (values < 1)
            if wrong.any():
                at = int(np.argmax(wrong))
                what = "is not 0 or 1" if (low, high) == (0, 1) else f"is not between {low} and {high}"
                raise table.cell_error(
                    read.path, read.line[at], name, f"{values[at]:g}", what, "Correct the cell, or leave it empty."
                )
    for name, shape in WORD_SHAPES.items():
        texts = columns[name].values if name in columns else ()
        for word in {text for text in set(texts) if not shape.fullmatch(text)}:
            at = int(np.argmax(texts == word))
            raise table.cell_error(
                read.path,
                read.line[at],
                name,
                word,
                "is not a word of the board's log",
                "Correct the cell, or empty it.",
            )
    if "phase" in columns:
        phases = columns["phase"].values
        for word in set(phases) - {"", *reasons.PHASE_WORDS}:
            at = int(np.argmax(phases == word))
            raise table.cell_error(
                read.path,
                read.line[at],
                "phase",
                word,
                "is not a phase",
                f"Phases are {', '.join(reasons.PHASE_WORDS)}." + nearest(word, reasons.PHASE_WORDS),
            )


def _times(read, column):
    """Return Unix seconds, NO_TIME where the cell is empty. shape (n,)"""
    texts = column.values
    empty = texts == ""
    seconds = iso.seconds_of(texts)
    wrong = ~empty & ((seconds < EARLIEST) | (seconds >= LATEST))
    if wrong.any():
        at = int(np.argmax(wrong))
        raise table.cell_error(
            read.path,
            read.line[at],
            "time",
            texts[at],
            "is not a time",
            "Times are ISO 8601 UTC such as 2026-01-31T18:05:00Z; leave the cell empty where the clock was not set.",
        )
    return np.where(empty, NO_TIME, seconds)


def _refuse_unplaced(read, seconds, uptime):
    nowhere = np.isnan(uptime)
    if nowhere.any():
        at = int(np.argmax(nowhere))
        raise table.cell_error(
            read.path,
            read.line[at],
            "uptime_s",
            "",
            "is empty",
            "Each row needs the seconds since the board started; they order the rows.",
        )


def set_clock(piece):
    """Fill a part's missing times from uptime_s, and see to a clock that was set back, in place.

    Returns the second (Unix) at which the board started, or None when no row of the part has a time.
    Raises LogError where time runs backward by more than a correction of the clock.
    """
    seconds, uptime = piece.time, piece.values["uptime_s"].astype(np.int64)
    known = np.flatnonzero(seconds != NO_TIME)
    if not len(known):
        return None
    source = known[np.maximum(np.searchsorted(known, np.arange(len(seconds)), side="right") - 1, 0)]
    offset = seconds[source] - uptime[source]
    piece.time = offset + uptime
    back = np.flatnonzero(np.diff(piece.time) < 0)
    dropped = np.zeros(len(seconds), dtype=bool)
    for at in back + 1:
        _set_back(piece, offset, int(at), dropped)
    piece.take(~dropped)
    return int(offset[0])


def _set_back(piece, offset, at, dropped):
    """Judge one backward step before row at: mark the rows that the corrected clock overlaps, or refuse."""
    step = int(offset[at - 1] - offset[at])
    after = offset[at : at + 5]
    if step > CLOCK_BACK_S or np.ptp(after) > 60:
        shown = time_text(piece.time[at] * MS)
        raise table.cell_error(
            piece.file,
            line_of(piece.line[at]),
            "time",
            shown,
            f"is {length_text(piece.time[at - 1] - piece.time[at])} before the row above, while uptime_s runs on",
            "Correct the times of the rows that are wrong, or empty their time cells: uptime_s then places them.",
        )
    over = np.arange(len(offset)) < at
    over &= piece.time >= piece.time[at]
    dropped |= over
    piece.faults.append(
        Fault(
            "clock set back",
            f"{piece.file}, line {line_of(piece.line[at])}",
            f"the board's clock was set back by {step} s",
            f"{number_of(over.sum(), 'row')} before it, whose times come again, left out",
            start=int(piece.time[at]) * MS,
            end=int(piece.time[at]) * MS,
            rows=int(over.sum()),
            grave=False,
        )
    )
