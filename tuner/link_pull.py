"""The board's log over the lead: a few blocks at a time, each line checked, so that little is lost when it is pulled.

A place in the log is (file, offset). Nothing is changed or deleted on the board.
"""

import base64
import binascii
import re
from dataclasses import dataclass, field

from controller.core import record, thin
from tuner.errors import LinkError
from tuner.link import Silent

PIECE = 20  # blocks at a time: about a second at 115,200 baud
TRIES = 4
FILE = re.compile(r"(\d+): (\d+) bytes$")
END = re.compile(r"ok (\d+) blocks, (\d+) spoilt bytes, next (\d+):(\d+)(, more)?$")


@dataclass
class Fetched:
    """rows: from flash, oldest first; memory: rows not yet on flash; next: the place after the last block of flash."""

    rows: list = field(default_factory=list)
    memory: list = field(default_factory=list)
    next: tuple = (0, 0)
    spoilt: int = 0


def files(link):
    """Return {number: bytes} of the journal's files."""
    found = [FILE.match(line) for line in link.ask("journal")[:-1]]
    return {int(one[1]): int(one[2]) for one in found if one}


def start_of(sizes, place):
    """Return (place to begin at, "" or a remark): place itself where the journal still has it, else its beginning."""
    number, offset = place
    if place == (0, 0) or (number in sizes and offset <= sizes[number]):
        return place, ""
    if sizes and number < min(sizes):
        return (0, 0), "The board has dropped its oldest rows since the last pull: a gap is possible."
    return (0, 0), "The board's journal began anew since the last pull; all of it is fetched."


def piece(link, place, blocks=PIECE):
    """Return (rows, memory rows, next place, spoilt bytes, whether there is more) from a place on.

    A piece of which a line was lost is asked for again. Raises LinkError.
    """
    for _ in range(TRIES):
        *lines, last = link.ask(f"send {place[0]}:{place[1]} {blocks}")
        end = END.match(last)
        if not end:
            raise LinkError(f"{link.device}: the board's answer to send is not understood: {last[:60]}")
        flash, memory = [], []
        for line in lines:
            name, _, text = line.split(" ") if line.count(" ") == 2 else ("", "", "")
            (memory if name == "memory" else flash).append(unpacked(text))
        if len(flash) == int(end[1]) and all(flash) and all(memory):
            rows, held = ([row for block in blocks for row in block] for blocks in (flash, memory))
            return rows, held, (int(end[3]), int(end[4])), int(end[2]), bool(end[5])
    raise Silent(f"{link.device}: lines of the log kept being lost, in {TRIES} tries.")


def unpacked(text):
    """Return the Rows of a block as it is sent, [] when it is spoilt."""
    try:
        return record.unpack_block(thin.thick(base64.b64decode(text, validate=True)))
    except binascii.Error:
        return []


def fetch(link, place, into, progress, sizes):
    """Fetch everything from a place on into a Fetched, piece by piece, so that a failure keeps what came before.

    progress(done, total) in bytes of flash. Raises LinkError.
    """
    into.next = place
    before = sum(size for number, size in sizes.items() if number < place[0]) + place[1]
    total = max(sum(sizes.values()) - before, 1)
    more = True
    while more:
        rows, into.memory, after, spoilt, more = piece(link, into.next)
        if more and after == into.next:
            raise LinkError(f"{link.device}: the board sends the same part of its log again and again.")
        into.rows += rows
        into.next = after
        into.spoilt += spoilt
        done = sum(size for number, size in sizes.items() if number < after[0]) + after[1] - before
        progress(min(done, total) if more else total, total)


def place_since(link, sizes, time):
    """Return the place of the last file that begins before time (ISO 8601 UTC text): later rows lie behind it."""
    numbers = sorted(sizes)
    low, high = 0, len(numbers) - 1
    while low < high:
        middle = (low + high + 1) // 2
        rows = piece(link, (numbers[middle], 0), 1)[0]
        first = next((text for row in rows if (text := record.time_text(row.day, row.second))), "")
        if first and first < time:
            low = middle
        else:
            high = middle - 1
    return (numbers[low], 0) if numbers else (0, 0)


def lines_of(rows, since=""):
    """Return the CSV lines of Rows; with since (ISO 8601 UTC text) only from the first row at or after it on."""
    keep, lines = not since, []
    for row in rows:
        time = record.time_text(row.day, row.second)
        keep = time >= since if time else keep
        if keep:
            lines.append(record.csv_line(row))
    return lines
