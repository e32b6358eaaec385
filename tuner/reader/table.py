"""One file as columns: every line's cells counted, every cell read, every oddity remembered with its line.

Refusing is left to the callers, who know which lines are junk at the end and which columns matter.
"""

import csv
import io
from collections import Counter
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd

from tuner.errors import LogError
from tuner.reader import cells, dialect, sources
from tuner.reader.parts import shorten

# Eleven years of minutes or ten weeks of seconds; keeps the memory of a read below about 2 GB.
MOST_ROWS = 6_000_000
MOST_ODD = 1_000


@dataclass
class Column:
    """One column as read. values: float array, or for kind "text" object array.

    seen: how (see cells.Cell) -> [count, first line, first text]. bad: [(line, text)], the first MOST_ODD.
    written_units, missing_words: Counter of texts.
    """

    name: str
    unit: str
    kind: str
    values: Any = None
    seen: dict = field(default_factory=dict)
    bad: list = field(default_factory=list)
    written_units: Counter = field(default_factory=Counter)
    missing_words: Counter = field(default_factory=Counter)

    def note(self, how, count, line, text):
        """Count an oddity or habit seen in this column."""
        entry = self.seen.setdefault(how, [0, line, text])
        entry[0] += count


@dataclass
class Table:
    """A file read whole. line: int array, the line of each row. columns: by position in the file.

    odd: [(line, text, number of cells)] of lines that are not rows. headers: lines that repeat the header.
    damaged: lines with NUL bytes in them. cut_off: (line, text) of an unfinished last line, or None.
    """

    path: object
    dialect: dialect.Dialect
    line: np.ndarray
    columns: dict
    odd: list
    headers: list
    damaged: list
    cut_off: Any = None


def read_table(path, planner, missing=(), own=None, progress=None):
    """Return the Table of a file.

    planner : callable taking a Dialect and returning {column position: kind}: "time" and "text" are kept
        as written, "number" and "state" (numbers, or words like on and off) are read, "count" is a number that
        differs in every row.
    missing : texts that mean a missing reading. own : callable taking a Dialect, True for the project's format.
    Raises LogError for what is not a table.
    """
    reader = None
    for block in sources.blocks(path, progress):
        if reader is None:
            head = block.text.decode("utf-8")
            layout = dialect.sniff(path, head.split("\n", dialect.HEAD_LINES)[: dialect.HEAD_LINES])
            reader = _Reader(path, layout, planner(layout), missing, bool(own and own(layout)))
        reader.take(block)
    if reader is None:
        raise LogError(f"{path} is empty.\nName a log with a header line and at least one row.")
    return reader.finish()


class _Reader:
    """Takes the blocks of one file in turn and keeps what they hold."""

    def __init__(self, path, layout, plan, missing, own):
        self.path, self.layout, self.missing, self.own = path, layout, frozenset(missing), own
        self.columns = {at: Column(layout.names[at], layout.units[at], kind) for at, kind in plan.items()}
        self.parts = {at: [] for at in plan}
        self.cache = {at: {} for at in plan}
        self.lines, self.rows = [], 0
        self.odd, self.headers, self.damaged, self.cut_off = [], [], [], None

    def take(self, block):
        """Read one Block."""
        text, first = block.text, block.first_line
        while first < self.layout.data_line and text:
            _, _, text = text.partition(b"\n")
            first += 1
        if not text.strip():
            return
        lines, columns = self._regular(text, first) or self._one_by_one(text, first)
        if not len(lines):
            return
        self.rows += len(lines)
        if self.rows > MOST_ROWS:
            raise LogError(
                f"{self.path} holds more than {MOST_ROWS:,} rows.\nCut it into parts by month, and name "
                "the parts that matter."
            )
        self.lines.append(lines)
        for at, texts in columns.items():
            self.parts[at].append(self._convert(at, texts, lines))

    def _regular(self, text, first):
        """Return (lines, {position: column of texts}) when every line has just as many cells as the header."""
        width, mark = len(self.layout.names), self.layout.delimiter.encode()
        if (
            mark == b" "
            or b'"' in text
            or b"\0" in text
            or b"\x1a" in text
            or not text.endswith(b"\n")
            or self.layout.header.encode() in text
            or b"\n#" in text
            or text.startswith(b"#")
        ):
            return None
        raw = np.frombuffer(text, np.uint8)
        ends = np.flatnonzero(raw == 10)
        counts = np.diff(np.searchsorted(np.flatnonzero(raw == mark[0]), ends), prepend=0)
        if not (counts == width - 1).all() or mark * (width - 1) + b"\n" in text:
            return None
        # As text: pandas turns the categories of "category" columns into numbers by rules of its own.
        frame = pd.read_csv(
            io.BytesIO(text),
            header=None,
            names=range(width),
            usecols=sorted(self.columns),
            dtype=object,
            sep=self.layout.delimiter,
            na_filter=False,
            quoting=csv.QUOTE_NONE,
            index_col=False,
            skip_blank_lines=False,
            skipinitialspace=True,
            encoding="utf-8",
            engine="c",
        )
        return np.arange(first, first + len(frame), dtype=np.int64), {
            at: frame[at].to_numpy(dtype=object) for at in self.columns
        }

    def _one_by_one(self, text, first):
        """The same for any text: lines that are not rows are set aside."""
        rows, numbers = [], []
        whole = text.endswith(b"\n")
        lines = text.decode("utf-8").split("\n")
        if whole:
            lines.pop()
        for number, line in enumerate(lines, start=first):
            cut = not whole and number == first + len(lines) - 1
            found = self._row(number, line, cut)
            if found:
                rows.append(found)
                numbers.append(number)
        texts = list(zip(*rows, strict=True)) if rows else [()] * len(self.layout.names)
        return np.array(numbers, dtype=np.int64), {at: np.array(texts[at], dtype=object) for at in self.columns}

    def _row(self, number, line, cut):
        """Return the cells of one line, or None when it is not a row (and remember why)."""
        line = line.strip("\x1a\ufeff ") if self.layout.delimiter != "\t" else line.strip("\x1a\ufeff")
        if "\0" in line:
            self._set_aside(self.damaged, (number, line.replace("\0", "")))
            return None
        found = dialect.split_line(line, self.layout.delimiter)
        if not any(found) or line.startswith("#"):
            return None
        if line.strip() == self.layout.header:
            self.headers.append(number)
            return None
        width = len(self.layout.names)
        if len(found) < width or any(found[width:]):
            if cut and len(found) < width:
                self.cut_off = (number, line)
            else:
                self._set_aside(self.odd, (number, line, len(found)))
            return None
        return found[:width]

    def _set_aside(self, store, entry):
        store.append(entry)
        if len(store) > MOST_ODD:
            raise LogError(
                f"{self.path}: more than {MOST_ODD:,} lines do not fit the header on line "
                f"{self.layout.header_line} (the last: line {entry[0]}, "
                f"{shorten(entry[1])!r}).\nExport the log again, or keep only its table."
            )

    def _convert(self, at, texts, lines):
        column = self.columns[at]
        if column.kind == "time":
            return texts
        if column.kind == "count":  # nearly every cell differs: no use in collecting distinct texts
            quick = cells.many_plain(texts.tolist(), self.own)
            if quick is not None:
                return quick[0]
        codes, words = pd.factorize(texts)
        words = words.tolist()
        if column.kind == "text":
            return np.array([word.strip() for word in words], dtype=object)[codes]
        quick = cells.many_plain(words, self.own) if len(words) > 1_000 else None
        if quick is not None:
            for how, place in quick[1].items():
                column.note(how, 1, int(lines[np.argmax(codes == place)]), words[place])
            return quick[0][codes]
        found = self._read_words(at, words)
        counts = np.bincount(codes, minlength=len(words))
        firsts = None
        for code, (word, cell) in enumerate(zip(words, found, strict=True)):
            if not counts[code] or (cell.how in ("empty", "plain", "point") and cell.how in column.seen):
                continue
            if firsts is None:
                firsts = lines[_first_places(codes, len(words))]
            self._remember(column, cell, word, counts[code], firsts[code], (codes, code, lines))
        return np.array([cell.value for cell in found])[codes]

    def _read_words(self, at, words):
        cache, states = self.cache[at], self.columns[at].kind == "state"
        if len(cache) > 200_000:
            cache.clear()
        for word in words:
            if word not in cache:
                cache[word] = cells.read(word, self.missing, self.own, states)
        return [cache[word] for word in words]

    @staticmethod
    def _remember(column, cell, word, count, line, places):
        column.note(cell.how, int(count), int(line), word)
        if cell.how == "missing":
            column.missing_words[word] += int(count)
        if cell.unit:
            column.written_units[cell.unit] += int(count)
        if cell.how == "bad" and len(column.bad) < MOST_ODD:
            codes, code, lines = places
            column.bad += [(int(number), word) for number in lines[codes == code][:MOST_ODD]]

    def finish(self):
        """Return the Table."""
        for at, column in self.columns.items():
            empty = np.empty(0, float if column.kind not in ("time", "text") else object)
            column.values = np.concatenate(self.parts[at]) if self.parts[at] else empty
            column.bad.sort()
        line = np.concatenate(self.lines) if self.lines else np.empty(0, np.int64)
        return Table(self.path, self.layout, line, self.columns, self.odd, self.headers, self.damaged, self.cut_off)


def _first_places(codes, size):
    """Return the index of the first row of each code (0 for codes that do not occur), shape (size,)."""
    first = np.zeros(size, dtype=np.int64)
    first[codes[::-1]] = np.arange(len(codes) - 1, -1, -1)
    return first


def cell_error(path, line, name, text, what, mend):
    """Return a LogError about one cell, in the form that all of them share."""
    name, text = shorten(name), shorten(str(text))
    return LogError(f'{path}, line {line}, column "{name}": {text!r} {what}.\n{mend}')


def drop_rows(table, keep):
    """Keep only the rows where keep (bool array) holds."""
    table.line = table.line[keep]
    for column in table.columns.values():
        column.values = column.values[keep]
