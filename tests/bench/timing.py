"""How long things take, the same way everywhere: the best of a few goes, after one to warm up."""

import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Measure:
    """One line of the table: what was measured, what came out, what is to be reached ("" where nothing is said)."""

    what: str
    got: str
    reach: str = ""


def best_s(function, goes=5, warm=True):
    """Return the shortest time that function() took. [s]"""
    if warm:
        function()
    times = []
    for _ in range(goes):
        start = time.perf_counter()
        function()
        times.append(time.perf_counter() - start)
    return min(times)


def process_s(words, goes=5):
    """Return the shortest time that a whole new Python process took for `python words...`. [s]"""

    def go():
        subprocess.run([sys.executable, *words], cwd=ROOT, check=True, capture_output=True)

    return best_s(go, goes)


def per_row(seconds, rows):
    """Return a time per row as text."""
    return f"{seconds / rows * 1e9:.0f} ns a row"
