"""What is wrong in a joined log, found row by row or stretch by stretch, and what was done about it.

Each finder takes a Finding and adds Faults; some blank the readings that cannot be trusted. Whether probes make
sense beside each other is judged in probe_faults.py.
"""

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from tuner import screening
from tuner.reader import values
from tuner.reader.parts import MS, TEMPERATURES, Fault, file_of, length_text, line_of, number_of, time_text

DAY_MS, HOUR_MS = 86_400_000, 3_600_000
KEEP = 'keep = ["{}"] under [columns] in site.toml'
LONG_GAP_MS = 6 * HOUR_MS
KEEPABLE = ("spike", "stuck", "unit")
LISTED = 6  # stretches of one kind that are listed singly; more are summed up
LONE_K = {"house": 10.0, "outlet": 10.0, "outside": 10.0, "soil": 3.0}


@dataclass
class Finding:
    """A joined Piece (whole), the files it came from, the Site or None, and the faults found so far."""

    whole: Any
    files: list
    site: object
    faults: list = field(default_factory=list)

    @property
    def keep(self):
        """Kinds of faults whose rows are used all the same."""
        return getattr(getattr(self.site, "columns", None), "keep", None) or ()

    @property
    def step_ms(self):
        """The usual distance of rows. [ms]"""
        time = self.whole.time
        return float(np.median(np.diff(time))) if len(time) > 1 else 60_000.0

    def days(self):
        """Return (day number in UTC of each row, shape (n,), the days that occur)."""
        days = self.whole.time // DAY_MS
        return days, np.unique(days)

    def daily(self, name, what):
        """Return {day: what(readings)} over the days with at least 3 readings of a column."""
        numbers = self.whole.values[name]
        days, each = self.days()
        bounds = np.searchsorted(days, np.append(each, each[-1] + 1))
        found = {}
        for day, first, after in zip(each.tolist(), bounds[:-1], bounds[1:], strict=True):
            known = numbers[first:after]
            known = known[~np.isnan(known)]
            if len(known) >= 3:
                found[day] = float(what(known))
        return found

    def place(self, at):
        """Return "march.csv, line 1042 (2026-01-05T10:00:00Z)" for row number at."""
        mark = self.whole.line[at]
        return f"{self.files[file_of(mark)]}, line {line_of(mark)} ({time_text(self.whole.time[at])})"

    def add(self, kind, which, text, done, overrule="", column="", grave=True):
        """Add a Fault about the rows where which (bool, shape (n,)) holds."""
        spans = stretches(which)
        time = self.whole.time
        marked = tuple((int(time[first]), int(time[last])) for first, last in spans)
        self.faults.append(
            Fault(
                kind,
                self.place(spans[0][0]),
                text,
                done,
                overrule,
                marked[0][0],
                marked[-1][1],
                int(which.sum()),
                column,
                grave,
                marked,
            )
        )


def stretches(flags):
    """Return [(first, last)] of the stretches where flags holds."""
    edges = np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8))
    return list(zip(np.flatnonzero(edges == 1).tolist(), (np.flatnonzero(edges == -1) - 1).tolist(), strict=True))


def find_gaps(found):
    """Gaps between rows, with the lowest house reading of the six hours after each."""
    time, house = found.whole.time, found.whole.values.get("house")
    step = found.step_ms
    places = np.flatnonzero(np.diff(time) > max(2.5 * step, step + 90 * MS))
    restarts = {int(time[at]) for at in np.flatnonzero(np.diff(found.whole.boot) != 0)}
    places = np.array([at for at in places if int(time[at]) not in restarts], dtype=np.int64)
    if not len(places):
        return
    lengths = time[places + 1] - time[places]
    longest = places[np.argsort(-lengths, kind="stable")[:LISTED]]
    for at in sorted(longest.tolist()):
        found.faults.append(
            Fault(
                "gap",
                f"{time_text(time[at])} to {time_text(time[at + 1])}",
                f"no rows for {length_text((time[at + 1] - time[at]) / MS)}" + lowest_after(time, house, at + 1),
                "nothing was filled in",
                start=int(time[at]),
                end=int(time[at + 1]),
                grave=False,
            )
        )
    rest = np.setdiff1d(places, longest)
    if len(rest):
        total = float((time[rest + 1] - time[rest]).sum()) / MS
        spans = tuple((int(time[at]), int(time[at + 1])) for at in rest)
        found.faults.append(
            Fault(
                "gap",
                f"{time_text(time[rest[0]])} to {time_text(time[rest[-1] + 1])}",
                f"{number_of(len(rest), 'more gap')}, {length_text(total)} in all",
                "nothing was filled in",
                start=spans[0][0],
                end=spans[-1][1],
                grave=False,
                spans=spans,
            )
        )


def lowest_after(time, house, at):
    """Return "; house down to 3.1 degC in the 6 h after" for the rows from at on, "" without a reading."""
    if house is None:
        return ""
    after = house[at : np.searchsorted(time, time[at] + 6 * HOUR_MS)]
    after = after[~np.isnan(after)]
    return f"; the house was at its lowest {after.min():.1f} degC in the 6 h after" if len(after) else ""


def find_power_cuts(found):
    """Complete the board's restarts by the lowest house reading after each; many are summed up but for the longest."""
    whole = found.whole
    cuts = [fault for fault in found.faults if fault.kind == "power cut"]
    longest = sorted(cuts, key=lambda fault: fault.start - fault.end)[:LISTED]
    rest = [fault for fault in cuts if fault not in longest]
    others = [fault for fault in found.faults if fault.kind != "power cut"]
    for fault in longest:
        row = int(np.searchsorted(whole.time, fault.end))
        others.append(replace(fault, text=fault.text + lowest_after(whole.time, whole.values.get("house"), row)))
    if rest:
        total = sum(fault.end - fault.start for fault in rest) / MS
        spans = tuple((fault.start, fault.end) for fault in rest)
        others.append(
            replace(
                rest[0],
                where=f"{time_text(spans[0][0])} to {time_text(spans[-1][1])}",
                text=f"{number_of(len(rest), 'more restart')} of the board, {length_text(total)} in all",
                end=spans[-1][1],
                spans=spans,
            )
        )
    found.faults[:] = others


def find_impossible(found):
    """Readings that nothing can have: blanked."""
    for name, numbers in found.whole.values.items():
        low, high = values.bounds(name) if numbers.dtype == float else (-np.inf, np.inf)
        with np.errstate(invalid="ignore"):
            which = (numbers < low) | (numbers > high) if numbers.dtype == float else np.zeros(1, dtype=bool)
        if which.any():
            found.add(
                "impossible",
                which,
                f"{name}: {values.counted(numbers, which)} cannot be; readings run from {low:g} to {high:g}",
                "these cells were taken as missing",
                column=name,
            )
            found.whole.values[name] = np.where(which, np.nan, numbers)


def find_doubtful(found):
    """Jumps and a stuck house probe, by the board's own screen; lone spikes in logs too coarse for it."""
    whole = found.whole
    trusted = screening.believed(whole.time, whole.values)
    for name in TEMPERATURES:
        if name not in whole.values:
            continue
        numbers = whole.values[name]
        doubted = ~np.isnan(numbers) & ~trusted[name]
        stuck = doubted & trusted["stuck"] if name == "house" else np.zeros(len(numbers), dtype=bool)
        if stuck.any():
            _blank(
                found,
                "stuck",
                name,
                stuck,
                f"{name}: unchanged for {_hours(found, stuck)} while another probe moved 2 K or more",
            )
        spike = (doubted & ~stuck) | _lone(whole.time, np.where(doubted, np.nan, numbers), LONE_K[name])
        if spike.any():
            at = int(np.argmax(spike))
            before = numbers[:at][~np.isnan(numbers[:at])]
            _blank(
                found,
                "spike",
                name,
                spike,
                f"{name}: {number_of(spike.sum(), 'reading')} out of line with those round them"
                f" (the first: {numbers[at]:g}" + (f" after {before[-1]:g}" if len(before) else "") + ")",
            )


def _hours(found, which):
    return length_text(max(found.whole.time[last] - found.whole.time[first] for first, last in stretches(which)) / MS)


def _blank(found, kind, name, which, text):
    """Add a Fault, and blank the readings unless the site keeps them."""
    kept = kind in found.keep
    found.add(
        kind,
        which,
        text,
        "they were used all the same, as site.toml says" if kept else "these readings were left out",
        "" if kept else KEEP.format(kind),
        name,
    )
    if not kept:
        found.whole.values[name] = np.where(which, np.nan, found.whole.values[name])


def _lone(time, numbers, limit):
    """True for a single reading far from both neighbours, which agree, all within 2 h. shape (n,)"""
    lone = np.zeros(len(numbers), dtype=bool)
    if len(numbers) < 3:
        return lone
    before, here, after = numbers[:-2], numbers[1:-1], numbers[2:]
    with np.errstate(invalid="ignore"):
        lone[1:-1] = (
            (np.abs(here - before) > limit)
            & (np.abs(here - after) > limit)
            & (np.abs(before - after) < np.minimum(2.5, limit / 3))
            & (time[2:] - time[:-2] <= 2 * HOUR_MS)
            & (np.sign(here - before) == np.sign(here - after))
        )
    return lone


def find_missing(found):
    """Long stretches in which one probe has no reading though there are rows."""
    whole = found.whole
    for name in (*TEMPERATURES, "humidity", "fan_pct"):
        numbers = whole.values.get(name)
        if numbers is None or (whole.own and np.isnan(numbers).all()):
            continue  # the board writes every column, also of a probe that is not fitted
        spans = [
            (first, last)
            for first, last in stretches(np.isnan(numbers))
            if whole.time[last] - whole.time[first] >= LONG_GAP_MS
        ]
        for first, last in sorted(spans, key=lambda span: whole.time[span[0]] - whole.time[span[1]])[:LISTED]:
            which = np.zeros(len(numbers), dtype=bool)
            which[first : last + 1] = True
            found.add(
                "no readings",
                which,
                f"{name}: no reading for {length_text((whole.time[last] - whole.time[first]) / MS)}",
                "nothing was filled in",
                column=name,
                grave=False,
            )


def find_fan(found):
    """A fan column that never changes over a day or more."""
    fan = found.whole.values.get("fan_pct")
    if fan is None:
        return
    known = fan[~np.isnan(fan)]
    time = found.whole.time
    if len(known) > 1 and (known > 0).all() == (known > 0).any() and time[-1] - time[0] >= DAY_MS:
        state = "on" if known[0] > 0 else "off"
        found.add(
            "fan never changes",
            ~np.isnan(fan),
            f"the fan is {state} in every row",
            "used as it is, but nothing can be learned about what the fan does",
            "log the fan's real state; a trial night shows what it does",
            "fan_pct",
            grave=False,
        )
