"""How one file lays out its table: delimiter, header line, units row, names. Looks at the first lines only."""

import csv
import re
from dataclasses import dataclass

from controller.core import record
from tuner.errors import LogError
from tuner.reader import dates, units
from tuner.reader.parts import shorten

OWN_NAMES = tuple(record.HEADER.split(","))
MOST_COLUMNS = 100
HEAD_LINES = 400
_DELIMITERS = (",", ";", "\t", "|", " ")
_NUMERIC = re.compile(
    r"[+-]?(?:\d[\d ']*(?:[.,]\d*)*|[.,]\d+)(?:[eE][+-]?\d+)?\s*(?:%|°?\s?[CF]|[kK]?[Ww]|[kK]?lu?x)?$"
)


@dataclass(frozen=True)
class Dialect:
    """delimiter: one character, " " meaning any run of blanks. header_line: its number, from 1.

    names, units: one text per column; units "" where no units row or bracket tells. data_line: the first line of
    readings. sample: the cells of up to 200 rows, as lists of text.
    """

    delimiter: str
    header_line: int
    header: str
    names: tuple
    units: tuple
    data_line: int
    sample: tuple


def split_line(line, delimiter):
    """Return the cells of one line, blanks and quotes taken off."""
    if delimiter == " ":
        return line.split()
    if '"' not in line:
        return [cell.strip() for cell in line.split(delimiter)]
    try:
        cells = next(csv.reader([line], delimiter=delimiter, skipinitialspace=True, strict=True), [])
    except csv.Error:
        cells = line.split(delimiter)
    return [cell.strip() for cell in cells]


def _kind(cell):
    """Return "e" empty, "t" date or time, "n" number, "w" word, for one cell."""
    if not cell:
        return "e"
    if dates.is_time(cell) and not cell.isdigit():
        return "t"
    if _NUMERIC.match(cell):
        return "n"
    return "t" if dates.is_clock(cell) else "w"


def _looks_like_data(cells):
    """True for a row with at least two cells, one of them a number or date."""
    return len(cells) >= 2 and any(_kind(cell) in "tn" for cell in cells)


def _bare(cells):
    """The cells without the empty ones at the end, which a closing delimiter leaves."""
    last = len(cells)
    while last and not cells[last - 1]:
        last -= 1
    return cells[:last]


def _score(rows):
    """Return (number of readings rows that agree on the most usual width, that width) for one delimiter."""
    widths = {}
    for cells in rows:
        if len(cells) > 1 and _starts_with_time(cells):
            widths[len(cells)] = widths.get(len(cells), 0) + 1
    if not widths:
        return 0, 0
    width = max(widths, key=lambda key: (widths[key], key))
    return widths[width], width


def _starts_with_time(cells):
    """True if one of the first four cells can be a time: a date, or a number that counts seconds or days."""
    for cell in cells[:4]:
        if dates.is_time(cell):
            return True
        if dates.is_number(cell) and dates.number_kind(float(cell.replace(",", "."))):
            return True
    return False


def _best_delimiter(lines):
    best = ("", 0, 0)
    for delimiter in _DELIMITERS:
        if delimiter == " " and best[1]:
            break
        count, width = _score([split_line(line, delimiter) for line in lines])
        if (count, width) > best[1:]:
            best = (delimiter, count, width)
    return best[0]


def sniff(path, lines):
    """Return the Dialect of a file from its first lines (list of str without line ends).

    Raises LogError when no table is found, when it has no header line, or far too many columns.
    """
    if not any(line.strip() for line in lines):
        raise LogError(f"{path} is empty.\nName a log with a header line and at least one row.")
    lines = lines[:HEAD_LINES]
    own = next((at for at, line in enumerate(lines[:50]) if is_own(split_line(line, ","))), None)
    if own is not None:
        names = tuple(split_line(lines[own], ","))
        return Dialect(",", own + 1, lines[own].strip(), names, ("",) * len(names), own + 2, ())
    delimiter = _best_delimiter(lines) or _header_only(path, lines)
    rows = [split_line(line, delimiter) for line in lines]
    _refuse_wide(path, rows, delimiter)
    header = _header_index(path, rows, lines)
    names = _bare(rows[header])
    width = len(names)
    unit_row = [""] * width
    data = header + 1
    while data < len(rows) and not any(rows[data]):
        data += 1
    if data < len(rows) and _is_unit_row(rows[data]):
        unit_row = (rows[data] + [""] * width)[:width]
        data += 1
    told = tuple(row or units.in_name(name) for row, name in zip(unit_row, names, strict=True))
    sample = tuple(cells for cells in rows[data : data + 200] if len(_bare(cells)) <= width <= len(cells))
    return Dialect(delimiter, header + 1, lines[header].strip(), tuple(names), told, data + 1, sample)


def is_own(names):
    """True for the column names of the project's own log, complete or not."""
    return "uptime_s" in names and sum(name in OWN_NAMES for name in names) >= 4


def _header_only(path, lines):
    """Return the delimiter of a file without readings; raise LogError unless its first line is a header."""
    first = next(line for line in lines if line.strip())
    delimiter = max(_DELIMITERS[:4], key=first.count)
    cells = split_line(first, delimiter)
    alone = sum(1 for line in lines if line.strip()) == 1
    if len(cells) > (1 if alone else 2) and all(_kind(cell) in "we" for cell in cells):
        row = next((line for line in lines[lines.index(first) + 1 :] if line.strip()), None)
        if row is not None:
            raise LogError(
                f"{path}: no line begins with a date, and a time of day alone does not place a reading (line "
                f"{lines.index(row) + 1} reads {shorten(row)!r}).\nWrite each time as 2026-01-31 18:05."
            )
        raise LogError(f"{path} holds a header line but no readings.\nName a log with at least one row.")
    raise LogError(
        f"{path}: no table of readings was found.\nA log has a header line such as time,house_c,soil_c "
        f"and rows that begin with a time. Its first line reads {shorten(first)!r}."
    )


def _refuse_wide(path, rows, delimiter):
    widest = max(len(cells) for cells in rows)
    if widest > MOST_COLUMNS:
        shown = {"\t": "tabs", " ": "blanks"}.get(delimiter, f'"{delimiter}"')
        raise LogError(
            f"{path} has {widest} columns (divided at {shown}); a log may have {MOST_COLUMNS}.\n"
            "Keep the time and the columns that belong to the house."
        )


def _is_unit_row(cells):
    """True for a row of nothing but unit names and empty cells, such as ;degC;degC;%."""
    told = [cell for cell in cells if cell]
    return bool(told) and all(units.known(cell) for cell in told)


def _header_index(path, rows, lines):
    """Return the index of the header line: the last line of words above the first two rows of readings."""
    first = next((i for i, cells in enumerate(rows) if _looks_like_data(cells) and _starts_with_time(cells)), None)
    if first is None:
        raise LogError(
            f"{path}: no table of readings was found.\nA log has a header line such as "
            "time,house_c,soil_c and rows that begin with a time."
        )
    for index in range(first - 1, -1, -1):
        cells = _bare(rows[index])
        if _is_unit_row(cells) or not cells:
            continue
        if len(cells) >= 2 and len(cells) >= _least_width(rows[first]) and all(_kind(cell) in "we" for cell in cells):
            return index
        if len(cells) >= 2 and all(_kind(cell) in "we" for cell in cells):
            raise LogError(
                f"{path}, line {first + 1}: {len(_bare(rows[first]))} cells where the header on line {index + 1} has "
                f"{len(cells)} ({shorten(lines[first])!r}).\nGive each column a name. Where decimals are written with "
                "a comma, write semicolons between the columns."
            )
        break
    raise LogError(
        f"{path}, line {first + 1}: the readings begin without a header line above them "
        f"({shorten(lines[first])!r}).\nWrite one line above with a name for each column, for example "
        "time,house_c,soil_c,fan."
    )


def _least_width(cells):
    return max(2, len(_bare(cells)) - 1)
