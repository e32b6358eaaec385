"""A CSV of what is watched, in the columns of the board's own log: one row for each reading of the screen."""

from datetime import UTC, datetime
from pathlib import Path

from controller.core import record
from controller.core.phases import REST
from controller.core.reasons import ALARMS, PHASE_WORDS, REASONS
from controller.core.record import HEADER
from controller.core.units import LOST
from tuner.errors import LogError, OutputError
from tuner.files import read_text

WORDS = [word for word, _ in REASONS]
BITS = {word: 1 << place for place, (word, _) in enumerate(ALARMS)}


class Recorder:
    """Appends rows to a log of its own; a row is on disk before the next is awaited."""

    def __init__(self, path):
        """Open path, which may hold an earlier record. Raises LogError, OutputError."""
        self.path = Path(path)
        head = ""
        if self.path.exists() and self.path.stat().st_size:
            head = read_text(path, LogError, "a log").partition("\n")[0]
            if head != HEADER:
                raise LogError(f"{path}: this is no log of a board.\nName another file: --record LOG.csv")
        try:
            self.file = self.path.open("a", encoding="utf-8", newline="")
        except OSError as fault:
            raise OutputError(f"{path}: cannot be written ({fault.strerror}).\nName another file.") from None
        self.before = None
        self.rows = 0
        if not head:
            self._put(HEADER)

    def _put(self, line):
        try:
            self.file.write(line + "\n")
            self.file.flush()
        except OSError as fault:
            raise OutputError(f"{self.path}: cannot be written ({fault.strerror}).\nCheck the free space.") from None

    def add(self, state):
        """Take a state; one that was told before, or of the safe loop (which reads nothing), gives no row."""
        if state["safe"] or (self.before is not None and self.before["uptime_s"] == state["uptime_s"]):
            return
        self._put(line_of(state, self.before))
        self.before, self.rows = state, self.rows + 1

    def close(self):
        """Close the file."""
        self.file.close()


def line_of(state, before):
    """Return a state as one CSV line. before: the state of the row above, or None; it tells how long the fan ran.

    A board whose clock is not set gets this computer's time: the state was told just now.
    """
    day, second = record.NO_DAY, 0
    house, soil, outlet, outside, humidity = (LOST if state.get(key) is None else state[key] for key in _KEYS)
    row = record.Row(
        day, second, state["uptime_s"], house, soil, outlet, outside, humidity, _phase(state), state["fan_pct"],
        _fan_s(state, before), state.get("heater", 0), state.get("vent", 0),
        WORDS.index(state["reason"]) if state["reason"] in WORDS else 0,
        sum(BITS.get(word, 0) for word in state["alarms"]),
    )  # fmt: skip
    return (state.get("time") or f"{datetime.now(UTC):%Y-%m-%dT%H:%M:%SZ}") + record.csv_line(row)


_KEYS = ("house_centi_c", "soil_centi_c", "outlet_centi_c", "outside_centi_c", "humidity_deci_pct")


def _phase(state):
    return PHASE_WORDS.index(state["phase"]) if state["phase"] in PHASE_WORDS else REST


def _fan_s(state, before):
    """Return the seconds that the fan ran since the row above."""
    if before is None or state["uptime_s"] < before["uptime_s"]:
        return 0
    passed = state["uptime_s"] - before["uptime_s"]
    if state["fan"]:
        return min(state.get("run_s", passed), passed) if not before["fan"] else passed
    return max(passed - state.get("rest_s", 0), 0) if before["fan"] else 0
