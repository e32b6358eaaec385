"""One row of the table of checks, and the two ways to judge it."""

from collections import namedtuple

# what is checked; where the expected value comes from; expected and got as text; True when it holds
Check = namedtuple("Check", "what source expected got holds")


def near(what, source, expected, got, tolerance):
    """A Check that got lies within tolerance of expected."""
    return Check(what, source, f"{expected:.6g} +- {tolerance:.2g}", f"{got:.6g}", abs(got - expected) <= tolerance)


def between(what, source, low, high, got):
    """A Check that got lies from low to high."""
    return Check(what, source, f"{low:.4g} to {high:.4g}", f"{got:.6g}", low <= got <= high)


def within(what, source, limit, got):
    """A Check that the size of got is no more than limit."""
    return Check(what, source, f"<= {limit:.3g}", f"{abs(got):.3g}", abs(got) <= limit)


def table(checks):
    """The rows as text, columns aligned, a line of counts at the end."""
    rows = [("holds", "what", "expected", "got", "source")]
    rows += [("yes" if c.holds else "NO", c.what, c.expected, c.got, c.source) for c in checks]
    widths = [max(len(row[i]) for row in rows) for i in range(4)]
    lines = ["  ".join([*(cell.ljust(w) for cell, w in zip(row, widths, strict=False)), row[4]]) for row in rows]
    failed = sum(not c.holds for c in checks)
    return "\n".join([*lines, f"{len(checks)} checks, {failed} failed"])
