"""Pieces of log on their way to one table, and the faults found on the way.

A Piece is one file's readings under our names with times in whole milliseconds UTC; a Fault is one line of what
`loamstat inspect` has to say.
"""

from dataclasses import dataclass, field
from typing import Any

import numpy as np

NUMBERS = ("house", "soil", "outlet", "outside", "humidity", "fan_pct", "fan_s", "heater", "vent", "solar", "fan_power")
WORDS = ("phase", "reason", "alarms")
TEMPERATURES = ("house", "soil", "outlet", "outside")
MS = 1000
_FILE_SHIFT = 40  # a row's place: the number of its file above these bits, the line in it below


@dataclass(frozen=True)
class Fault:
    """kind: a short fixed word. where: file and line or the time span, for people. text: what is wrong.

    done: what became of those rows. overrule: how to have it otherwise. start, end: ms UTC, or None.
    rows: how many. column: our name, or "". grave: True where a number may be wrong, False for a remark.
    spans: all its stretches as (start, end) in ms, where there are several.
    """

    kind: str
    where: str
    text: str
    done: str
    overrule: str = ""
    start: Any = None
    end: Any = None
    rows: int = 0
    column: str = ""
    grave: bool = True
    spans: tuple = ()


@dataclass
class Piece:
    """time: int64 ms UTC, shape (n,). values: our name -> float (n,) or object (n,).

    line: int64 (n,), the line in the file, later with the file's number (see mark_file). file: the path.
    boot: int (n,), counts restarts within the piece, or None where the log does not tell. units: our name -> unit
    as understood. faults: list of Fault. understood: {what: how}, for people.
    """

    file: object
    time: np.ndarray
    values: dict
    line: np.ndarray
    own: bool = False
    boot: Any = None
    units: dict = field(default_factory=dict)
    faults: list = field(default_factory=list)
    understood: dict = field(default_factory=dict)

    def take(self, which):
        """Keep the rows that which (bool mask or positions) picks."""
        self.time, self.line = self.time[which], self.line[which]
        self.values = {name: values[which] for name, values in self.values.items()}
        if self.boot is not None:
            self.boot = self.boot[which]


def stack(pieces):
    """Return one Piece of several, one below the other; names that a piece lacks become NaN or ""."""
    names = [name for name in ("uptime_s",) + NUMBERS + WORDS if any(name in piece.values for piece in pieces)]
    values = {name: np.concatenate([_of(piece, name) for piece in pieces]) for name in names}
    first = pieces[0]
    whole = Piece(
        first.file,
        np.concatenate([piece.time for piece in pieces]),
        values,
        np.concatenate([piece.line for piece in pieces]),
        all(piece.own for piece in pieces),
    )
    for piece in pieces:
        whole.units |= piece.units
        whole.faults += piece.faults
    return whole


def _of(piece, name):
    if name in piece.values:
        return piece.values[name]
    return np.full(len(piece.time), "" if name in WORDS else np.nan, dtype=object if name in WORDS else float)


def mark_file(piece, number):
    """Put the number of the piece's file into its line numbers, so that rows keep their place when joined."""
    piece.line = piece.line + (number << _FILE_SHIFT)


def line_of(place):
    """Return the line of a row's place."""
    return int(place) & ((1 << _FILE_SHIFT) - 1)


def file_of(place):
    """Return the number of the file of a row's place."""
    return int(place) >> _FILE_SHIFT


def length_text(seconds):
    """Return a length of time for people: "40 s", "12 min", "3.5 h", "6.2 days"."""
    if seconds < 90:
        return f"{seconds:.0f} s"
    if seconds < 5400:
        return f"{seconds / 60:.0f} min"
    if seconds < 172_800:
        return f"{seconds / 3600:.3g} h"
    days = seconds / 86_400
    return f"{days:.3g} days" if days < 1000 else f"{days:.0f} days"


def number_of(count, noun):
    """Return "1 row", "12 rows" for a count and a noun that takes an s."""
    return f"{count} {noun}" + ("" if count == 1 else "s")


def time_text(ms):
    """Return a time in ms UTC as ISO 8601 to the second."""
    return str(np.datetime64(int(ms) // MS, "s")) + "Z"


def shorten(text, most=60):
    """Return text cut to about most characters for a message."""
    text = text.strip()
    return text if len(text) <= most else text[: most - 3] + "..."
