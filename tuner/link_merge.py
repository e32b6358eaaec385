"""One CSV file for all pulls from one board: new rows behind the old ones, no row twice, the file old or new.

Beside LOG.csv lies LOG.csv.pulled: where the next pull begins, and how many rows are settled. Rows behind those were
only in the board's memory at the last pull; they come again from its flash. Without that file, or after somebody
changed the log, the whole journal is fetched and laid over the log where the two are alike.
"""

import json
from dataclasses import dataclass
from pathlib import Path

from controller.core.record import HEADER
from tuner.errors import LogError
from tuner.files import read_text, write_whole
from tuner.link_times import mended

SUFFIX = ".pulled"


@dataclass(frozen=True)
class Earlier:
    """lines: of the log that is there, without its header; settled: how many of them stay; next: the place to go on."""

    lines: list
    settled: int
    next: tuple
    known: bool  # the file beside it fits


def note_path(path):
    """Return the path of the file beside the log."""
    return Path(f"{path}{SUFFIX}")


def earlier(path, probes):
    """Return the Earlier of a log that may be there. probes: serial numbers of the board's probes.

    Raises LogError where the file is no board's log, or another board's.
    """
    if not Path(path).exists():
        return Earlier([], 0, (0, 0), True)
    head, *lines = read_text(path, LogError, "a log").splitlines() or [""]
    if head != HEADER:
        raise LogError(f"{path}: this is no log that was pulled from a board.\nName another file: --out LOG.csv")
    note = _note(path)
    held = note.get("probes", [])
    if held and probes and not set(held) & set(probes):
        raise LogError(
            f"{path}: this log came from another board (probes {', '.join(held)}).\nName another file: --out LOG.csv"
        )
    settled = note.get("settled", -1)
    fits = 0 < settled <= len(lines) and lines[settled - 1] == note.get("last")
    if not fits:
        return Earlier(lines, len(lines), (0, 0), False)
    return Earlier(lines, settled, tuple(note["next"]), True)


def _note(path):
    """Return the decoded file beside the log, {} where it is missing or spoilt."""
    try:
        note = json.loads(note_path(path).read_text(encoding="utf-8"))
        return note if isinstance(note, dict) and all(isinstance(part, int) for part in note["next"]) else {}
    except (OSError, ValueError, KeyError, TypeError):
        return {}


def joined(path, before, lines):
    """Return the settled lines with new ones behind them. Raises LogError where the two cannot be one board's log."""
    if before.known:
        return before.lines[: before.settled] + lines
    place = overlap(before.lines, lines)
    if place is not None:
        return before.lines[:place] + lines
    if not lines or not before.lines or _time(before.lines, -1) < _time(lines, 0):
        return before.lines + lines
    raise LogError(
        f"{path}: the rows in it are others than the board's for the same time.\nName another file: --out LOG.csv"
    )


def overlap(old, new):
    """Return where in old the lines of new begin, so that both agree as far as both go; None where they do not."""
    if not new:
        return None
    for place, line in enumerate(old):
        if line == new[0]:
            both = min(len(old) - place, len(new))
            if old[place : place + both] == new[:both]:
                return place
    return None


def _time(lines, place):
    """Return the time of the first or last line that has one, "" when none has."""
    times = [line.partition(",")[0] for line in lines]
    return next((time for time in (times if place == 0 else reversed(times)) if time), "")


def write(path, settled, memory, place, probes):
    """Write the log and the file beside it; return how many times were emptied (link_times).

    settled: lines that stay; memory: lines that will come again.
    """
    lines, emptied = mended([*settled, *memory])
    settled, memory = lines[: len(settled)], lines[len(settled) :]
    write_whole(path, (f"{line}\n" for line in [HEADER, *settled, *memory]))
    note = {"next": list(place), "settled": len(settled), "last": settled[-1] if settled else "", "probes": probes}
    write_whole(note_path(path), json.dumps(note) + "\n")
    return emptied
