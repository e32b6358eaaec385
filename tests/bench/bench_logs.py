"""Reading logs: a year of 1-min rows of the board and of another logger; files past memory and past the most rows.

Each read runs in a process of its own, so that its time has no warm start and its memory is its own.
"""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import pandas as pd

from controller.core.record import HEADER
from tests.bench.timing import ROOT, Measure
from tuner.reader.table import MOST_ROWS

YEAR = 525_600
_READ = """
import resource, sys, time
import pandas
began = time.perf_counter()
from tuner.errors import TunerError
from tuner.logs import read_logs
loaded, used = time.perf_counter(), time.process_time()
try:
    what = f"{len(read_logs(sys.argv[1], needs=()).frame)} rows"
except TunerError as error:
    what = str(error).splitlines()[0]
took = time.perf_counter() - loaded
print(took, time.process_time() - used, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, what, sep="|")
"""


def waves(count, seed=0):
    """Return (times, {column: texts}) of an invented log of count minutes."""
    rng = np.random.default_rng(seed)
    minute = np.arange(count)
    day = np.sin(minute / 1440 * 2 * np.pi)
    columns = {}
    for name, mean, swing in (("house", 12, 9), ("soil", 13, 0.6), ("outlet", 13, 4), ("outside", 4, 6)):
        columns[name] = np.char.mod("%.2f", mean + swing * day + rng.normal(0, 0.2, count))
    columns["humidity"] = np.char.mod("%.1f", np.clip(78 - 15 * day + rng.normal(0, 1, count), 0, 100))
    return pd.date_range("2025-01-01", periods=count, freq="min"), columns


def write_own(path, count):
    """Write count rows of the board's own format."""
    times, columns = waves(count)
    columns["phase"] = np.where(np.arange(count) % 90 < 25, "charge", "rest")
    columns["fan"] = np.where(np.arange(count) % 90 < 25, "100", "0")
    columns["fan_s"] = np.where(np.arange(count) % 90 < 25, "60", "0")
    stamps = times.strftime("%Y-%m-%dT%H:%M:%SZ")
    uptime = (np.arange(count) * 60).astype(str)
    with open(path, "w", encoding="utf-8") as file:
        file.write(HEADER + "\n")
        for row in zip(stamps, uptime, *columns.values(), strict=True):
            file.write(",".join(row) + ",0,0,idle,\n")


def write_foreign(path, count):
    """Write count rows as a spreadsheet of much of Europe would."""
    times, columns = waves(count)
    with open(path, "w", encoding="utf-8") as file:
        file.write("Time;House °C;Soil °C;Outlet °C;Outside °C;Humidity %;Fan\n")
        for at, row in enumerate(zip(times.strftime("%d.%m.%Y %H:%M"), *columns.values(), strict=True)):
            file.write(";".join(row).replace(".", ",").replace(",", ".", 2) + (";on\n" if at % 90 < 25 else ";off\n"))


def read_s(path, goes=3):
    """Return (shortest seconds, seconds of processor, MB of memory, what came out) of reading path in a new process."""
    best = None
    for _ in range(goes):
        run = subprocess.run(
            [sys.executable, "-c", _READ, str(path)], cwd=ROOT, check=True, capture_output=True, text=True
        )
        *numbers, what = run.stdout.strip().split("|", 3)
        one = (*map(float, numbers), what)
        best = min(best or one, one)
    return best


def measures():
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        for what, write in (("the board's log", write_own), ("a spreadsheet's log", write_foreign)):
            write(path, YEAR)
            year, used, memory, _ = read_s(path)
            got = f"{year:.2f} s ({used:.2f} s of processor), {memory:.0f} MB"
            yield Measure(f"read a year of 1-min rows, {what}", got, "2 s, 500 MB")
            write(path, YEAR // 4)
            quarter = read_s(path)[1]
            yield Measure(f"a row of a year against a row of a quarter, {what}", f"{used / quarter / 4:.2f} times",
                          "linear: 1 or less")  # fmt: skip
        yield past_memory(path)
        yield past_most_rows(path)


def past_memory(path):
    """A sparse file a little larger than the machine's memory: rows, a great hole, rows."""
    size = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") + 2**30
    write_own(path, 2000)
    rows = path.read_bytes().split(b"\n")
    with open(path, "r+b") as file:
        file.truncate(len(b"\n".join(rows[:1000])) + 1)
        file.seek(size)
        file.write(b"\n" + b"\n".join(rows[1000:]))
    took, _, memory, what = read_s(path, goes=1)
    path.write_bytes(b"")
    return Measure(
        f"a sparse file of {size / 2**30:.0f} GB", f"{took:.0f} s, {memory:.0f} MB, {what}", "memory bounded"
    )


def past_most_rows(path):
    """A log with more rows than are read."""
    write_own(path, 200_000)
    head, _, rows = path.read_bytes().partition(b"\n")
    with open(path, "wb") as file:
        file.write(head + b"\n")
        for _ in range(MOST_ROWS // 200_000 + 1):
            file.write(rows)
    size = path.stat().st_size
    took, _, memory, what = read_s(path, goes=1)
    return Measure(
        f"refuse a log of {size / 1e6:.0f} MB", f"{took:.0f} s, {memory:.0f} MB", what.partition("holds")[2].strip()
    )
