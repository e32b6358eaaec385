"""The board link: flashes of a virtual board over a pty, and a month of journal at a serial port's speed.

The pty is faster than a lead: what a slow lead would take is computed from the bytes that went through.
"""

import tempfile
import time
from pathlib import Path

from tests import link_help
from tests.bench.timing import Measure
from tests.rig import lead_cuts
from tests.rig.cable import Cable
from tests.rig.run import inner, micropython
from tuner import link_pull

BYTES_PER_S = 11_520  # 115,200 baud: ten bits a byte
MONTH_DAYS = 30
MOST_PACKED = 700_000  # bytes of a month's rows, at the most that is asked for


def measures():
    """Yield what flashing and pulling take; nothing without a MicroPython."""
    if micropython() is None:
        return
    with tempfile.TemporaryDirectory() as folder:
        image = link_help.prepared(folder)
        yield from _flashes(image)
    with tempfile.TemporaryDirectory() as folder:
        yield from _month(Path(folder))


def _flashes(image):
    everything = link_help.other_tree("0.1.2", every_file=True)
    with tempfile.TemporaryDirectory() as work, link_help.board(work, image=image) as board:
        link_help.settled(board.port)
        with Cable(board.port) as cable:
            began = time.perf_counter()
            lead_cuts.upgrade(cable.port, everything)
            took, count = time.perf_counter() - began, cable.count
        yield Measure("flash: every file and settings, restart, proof", f"{took:.1f} s, {count / 1e3:.0f} kB", "10 s")
        yield Measure("  the same bytes at 115,200 baud, computed", f"{count / BYTES_PER_S:.0f} s")
    with tempfile.TemporaryDirectory() as work, link_help.board(work, image=image) as board:
        link_help.settled(board.port)
        began = time.perf_counter()
        lead_cuts.upgrade(board.port, link_help.other_tree("0.1.1"))
        yield Measure("flash: settings only, proof", f"{time.perf_counter() - began:.1f} s", "3 s")


def _month(folder):
    inner("week.py", folder / "flash.img", MONTH_DAYS, heap="4M")
    with link_help.board(folder) as board:
        link_help.settled(board.port)
        with Cable(board.port) as cable:
            began = time.perf_counter()
            got = lead_cuts.fetched(cable.port, (0, 0))
            took, count = time.perf_counter() - began, cable.count
        with link_help.link.Link(board.port) as one:
            packed = sum(link_pull.files(one).values())
    rows = len(got.rows)
    yield Measure(f"pull: {rows} rows over the pty", f"{took:.1f} s")
    what = f"  {packed / 1e3:.0f} kB packed, {count / 1e3:.0f} kB sent, at 115,200 baud"
    yield Measure(what, f"{count / BYTES_PER_S:.0f} s", "75 s")
    worst = count / packed * MOST_PACKED
    yield Measure(f"  were they {MOST_PACKED / 1e3:.0f} kB packed, computed", f"{worst / BYTES_PER_S:.0f} s", "75 s")
