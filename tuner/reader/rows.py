"""The lines of a foreign file that are no readings: which may be left out, and which must be mended first."""

import numpy as np

from tuner.errors import LogError
from tuner.reader import clock, table
from tuner.reader.parts import Fault, number_of, shorten

MOST_TAIL = 100


def settle(read, when, texts, name, found):
    """Drop the lines of a Table that are no readings, in place: junk at the end, repeated heads, empty rows.

    when : Clock of the rows, shortened likewise. texts : the time columns as written. name : of the first of them.
    found : Piece that the faults are added to. Raises LogError for any other line that is no reading.
    """
    good = when.ms != clock.NO_TIME
    if not good.any():
        raise table.cell_error(
            read.path,
            read.line[0],
            name,
            texts[0][0],
            "is not a time that is understood",
            "Write times as 2026-01-31 18:05.",
        )
    last = int(read.line[good][-1])
    stray = [(int(line), str(text)) for line, text in zip(read.line[~good], texts[0][~good], strict=True)]
    stray += [(line, text) for line, text, _ in read.odd]
    tail = [(line, text) for line, text in sorted(stray) if line > last]
    if len(tail) > MOST_TAIL:
        line, text = tail[0]
        raise LogError(
            f"{read.path}, line {line}: {len(tail)} lines from here on are not readings "
            f"({shorten(text)!r}).\nCut the file there, or mend the times."
        )
    _refuse_stray(read, [entry for entry in sorted(stray) if entry[0] < last], good, name)
    if tail:
        found.faults.append(
            Fault(
                "lines at the end",
                f"{read.path}, from line {tail[0][0]}",
                f"{number_of(len(tail), 'line')} without a reading at the end ({shorten(tail[0][1])!r})",
                "they were left out",
                rows=len(tail),
                grave=False,
            )
        )
    if read.cut_off:
        found.faults.append(
            Fault(
                "cut off",
                f"{read.path}, line {read.cut_off[0]}",
                f"the last line breaks off ({shorten(read.cut_off[1])!r})",
                "it was left out",
                rows=1,
                grave=False,
            )
        )
    if read.damaged:
        found.faults.append(
            Fault(
                "damaged lines",
                f"{read.path}, line {read.damaged[0][0]}",
                f"{number_of(len(read.damaged), 'line')} with NUL bytes, as a power cut leaves on a card",
                "they were left out",
                rows=len(read.damaged),
            )
        )
    keep = good
    when.ms = when.ms[keep]
    if when.offset is not None:
        when.offset = when.offset[keep]
    table.drop_rows(read, keep)


def _refuse_stray(read, stray, good, name):
    """Raise LogError for a line between the readings that is neither a reading nor part of a repeated head."""
    if not stray:
        return
    rows = read.line[good]
    heads = np.array(sorted(read.headers), dtype=np.int64)
    for line, text in stray:
        if not text.strip():
            empty = read.line == line
            if all(_is_empty(column.values[empty]) for column in read.columns.values()):
                continue
        at = int(np.searchsorted(rows, line))
        before = rows[at - 1] if at else 0
        after = rows[at] if at < len(rows) else np.iinfo(np.int64).max
        if ((heads > before) & (heads < after)).any():
            continue
        count = next((cells for odd, _, cells in read.odd if odd == line), None)
        if count is not None:
            raise LogError(
                f"{read.path}, line {line}: {count} cells where the header has {len(read.dialect.names)} "
                f"({shorten(text)!r}).\nMend the line or delete it."
                + (
                    " Decimal commas need semicolons between the columns."
                    if read.dialect.delimiter == "," and count > len(read.dialect.names)
                    else ""
                )
            )
        raise table.cell_error(
            read.path,
            line,
            name,
            text,
            "is not a time that is understood",
            "Write the time like those in the other rows, or delete the line.",
        )


def _is_empty(cells):
    return all(cell == "" or cell != cell for cell in cells.tolist())
