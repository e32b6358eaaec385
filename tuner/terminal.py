"""How wide the terminal is, and lines broken between words to fit it. Into a pipe or a file nothing is broken."""

import re
import shutil
import sys
import textwrap

LEAST = 40  # columns; in a narrower terminal lines are broken at this


def width(stream=None):
    """Return the columns of the terminal that standard output (or stream) goes to; 0 where it goes elsewhere."""
    if not (stream or sys.stdout).isatty():
        return 0
    return max(shutil.get_terminal_size().columns, LEAST)


def wrapped(lines, stream=None):
    """Return lines with those of prose that are wider than the terminal broken between words, further lines indented.

    A line of a table, words with two blanks or more between them, stays as it is.
    """
    most, out = width(stream), []
    for line in lines:
        if not most or len(line) <= most or re.search(r"\S {2,}\S", line):
            out.append(line)
            continue
        found = re.match(r" *(?:- |\d+\. )?", line)
        indent = found[0] if found else ""
        further = " " * (len(indent) if indent.strip() else len(indent) + 2 if indent else 0)
        out += textwrap.wrap(line, most, subsequent_indent=further, break_long_words=False, break_on_hyphens=False)
    return out


def groups_that_fit(widths, sizes, most):
    """Return lists of column numbers, each list a table that fits; column 0 leads each of them.

    widths : of all columns; sizes : how many columns after the first belong together, in order; most : columns of the
    terminal, 0 for any. A group that is too wide by itself is broken up.
    """
    if not most:
        return [list(range(len(widths)))]
    pieces, at = [], 1
    for size in sizes:
        piece = list(range(at, at + size))
        whole = widths[0] + sum(2 + widths[n] for n in piece) <= most
        pieces += [piece] if whole else [[n] for n in piece]
        at += size
    tables = [[0]]
    for piece in pieces:
        needed = sum(2 + widths[n] for n in piece)
        used = widths[0] + sum(2 + widths[n] for n in tables[-1][1:])
        if used + needed > most and len(tables[-1]) > 1:
            tables.append([0])
        tables[-1] += piece
    return tables
