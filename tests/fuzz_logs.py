"""Throw damaged and odd files at the reader for a while: only a TunerError may come out, and no number may be made up.

    python -m tests.fuzz_logs --seconds 60 [--seed N]

Three kinds of files, in turn: bytes of the nasty logs mutated; tables put together from nasty cells; the board's own
log with nasty cells, read again by a plain reader of a dozen lines, with which every number must agree. A log that is
read is also inspected, written clean and read back. Ends with status 1 and the file's path at the first finding.
"""

import argparse
import csv
import gzip
import random
import sys
import tempfile
import time
import traceback
from collections import Counter
from pathlib import Path

import numpy as np

from controller.core.record import HEADER
from tests.test_logs_foreign import site_of
from tests.tools import nasty_logs
from tuner import clean_log, inspection, inspection_text
from tuner.errors import TunerError
from tuner.logs import read_logs

SLOW_S = 10.0  # for a file of some kilobytes, on a busy machine
LONGEST_MESSAGE = 1500
_WORDS = """0 1 -1 12.5 12,5 -0.0 +3 85.0 -127 -9999 1e5 1e400 nan NaN inf -inf 0x1F 1_000 1.234 1,234 1.234,5 1,234.5
1'000 .5 5. - -- n/a NULL null None true False on OFF yes 21.5C 70°F 45% −5.5 １２ ٣ 2026-01-05 2026-02-30 05/03/2026
13/13/2026 31.12.2025 12:30 24:00 2026-01-05T10:00:00Z 2026-01-05T10:00:00+14:00 2026-10-25 2026-01-05T25:00 1767600000
46027.5 1e9 99999999999999999999 rest charge frost house "" " ' \\ # ; , | time house_c"""
TOKENS = _WORDS.split()
TOKENS += [
    "",
    " ",
    "\t",
    "\x00",
    "\x1a",
    "\ufeff",
    "é",
    "\r",
    "\n",
    "=1+1",
    "🌡",
    "a" * 300,
    '"quoted, cell"',
    "°C",
    "%",
]
HEADS = ("Time", "Date", "time", "Timestamp", "House", "house_c", "Greenhouse temp (C)", "Temp", "Temp 2", "Soil temp",
         "soil_c", "Outside (°F)", "Out", "RH", "Humidity %", "Fan", "fan_pct", "Fan power (W)", "Light (lux)",
         "uptime_s", "heater", "Heater (W)", "vent", "phase", "reason", "Outlet", "", "x", "Time, GMT+1")  # fmt: skip


def mutate(data, rng, other):
    """Return data (bytes) with a few random changes; other is material to splice in."""
    data = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 3, 8))):
        at = rng.randrange(len(data) + 1)
        kind = rng.randrange(10)
        if kind == 0 and data:
            data[at % len(data)] = rng.randrange(256)
        elif kind == 1:
            del data[at : at + rng.choice((1, 2, 20, 500))]
        elif kind == 2:
            data[at:at] = rng.choice(TOKENS).encode("utf-8", "replace")
        elif kind == 3:
            data[at:at] = bytes(rng.randrange(256) for _ in range(rng.randrange(1, 30)))
        elif kind == 4:
            start = rng.randrange(len(other) + 1)
            data[at:at] = other[start : start + rng.choice((10, 100, 2000))]
        elif kind == 5:
            lines = bytes(data).split(b"\n")
            lines.insert(rng.randrange(len(lines) + 1), rng.choice(lines))
            data = bytearray(b"\n".join(lines))
        elif kind == 6:
            lines = bytes(data).split(b"\n")
            rng.shuffle(lines) if rng.random() < 0.1 else lines.pop(rng.randrange(len(lines)))
            data = bytearray(b"\n".join(lines))
        elif kind == 7:
            old, new = rng.sample((b",", b";", b"\t", b".", b":", b"-", b"/", b" ", b'"', b"\n", b"\r\n"), 2)
            data = bytearray(bytes(data).replace(old, new, rng.choice((1, 5, -1))))
        elif kind == 8:
            cells = bytes(data).split(b",")
            cells[rng.randrange(len(cells))] = rng.choice(TOKENS).encode("utf-8", "replace")
            data = bytearray(b",".join(cells))
        else:
            data[at:at] = b"\0" * rng.choice((1, 2, 100))
    return bytes(data)


def packed(data, rng):
    """Return data, sometimes in another encoding or in gzip, sometimes cut."""
    roll = rng.random()
    if roll < 0.05:
        data = data.decode("latin-1").encode(rng.choice(("utf-16", "utf-16-be", "utf-8-sig", "utf-32")))
    elif roll < 0.10:
        data = gzip.compress(data, 1)
    return data[: rng.randrange(len(data) + 1)] if rng.random() < 0.05 else data


def strange_table(rng):
    """Return a table of nasty cells under a random header."""
    mark = rng.choice((",", ";", "\t", "|", " "))
    heads = [rng.choice(HEADS) for _ in range(rng.randrange(2, 8))]
    if rng.random() < 0.8:
        heads[0] = "Time"
    start = np.datetime64(rng.choice(("2026-01-05T10:00", "2026-10-25T00:30", "2026-03-29T00:00", "2025-12-31T22:00")))
    form = rng.choice(("iso", "blank", "slash", "dots", "unix", "serial"))
    step = rng.choice((1, 10, 60, 1440))
    lines = [mark.join(heads)]
    for row in range(rng.randrange(0, 60)):
        when = start + np.timedelta64(row * step, "m")
        cells = [written(when, form)]
        cells += [rng.choice(TOKENS) if rng.random() < 0.03 else f"{rng.uniform(-5, 40):.2f}" for _ in heads[1:]]
        if rng.random() < 0.01:
            cells.append(rng.choice(TOKENS))
        lines.append(mark.join(cells))
    return rng.choice(("\n", "\r\n")).join(lines).encode("utf-8", "replace")


def written(when, form):
    """Return a time in one of the forms that logs have."""
    day, clock = str(when)[:10], str(when)[11:16]
    year, month, of_month = day.split("-")
    seconds = int(when.astype("datetime64[s]").astype(np.int64))
    return {
        "iso": f"{day}T{clock}:00Z",
        "blank": f"{day} {clock}",
        "slash": f"{of_month}/{month}/{year} {clock}",
        "dots": f"{of_month}.{month}.{year} {clock}",
        "unix": str(seconds),
        "serial": f"{seconds / 86_400 + 25_569:.6f}",
    }[form]


def own_log(rng):
    """Return a log in the board's own format with some nasty cells."""
    lines = [HEADER]
    start, up = np.datetime64("2026-01-05T10:00:00"), rng.choice((0, 60, 86_400))
    for row in range(rng.randrange(1, 60)):
        up = 0 if rng.random() < 0.02 else up + 60
        house, soil = (f"{rng.uniform(-5, 30):.2f}" for _ in range(2))
        when = "" if rng.random() < 0.05 else f"{start + np.timedelta64(row * 60, 's')}Z"
        cells = [when, str(up), house, soil, "", "3.25", "87.5", "rest", "0", "0", "0", "0", "idle", ""]
        if rng.random() < 0.03:
            cells[rng.randrange(len(cells))] = rng.choice(TOKENS)
        lines.append(",".join(cells))
        if rng.random() < 0.02:
            lines.append(rng.choice(lines))
    return ("\n".join(lines) + "\n").encode("utf-8", "replace")


def plain_reader(data):
    """Return {time text: {column: set of cell texts}} of the board's own log, by the csv module alone."""
    found = {}
    for row in csv.DictReader(data.decode("utf-8").splitlines()):
        if row.get("time") and None not in row and None not in row.values():
            cells = found.setdefault(row["time"].strip(), {})
            for name in ("house_c", "soil_c", "outside_c", "humidity_pct"):
                cells.setdefault(name, set()).add(row[name].strip())
    return found


def compare(log, data):
    """Every number of the log is the one that stands in the file at that time; none is there that is not."""
    told = plain_reader(data)
    times = [f"{time:%Y-%m-%dT%H:%M:%SZ}" for time in log.frame.index]
    for name, column in (
        ("house_c", "house"),
        ("soil_c", "soil"),
        ("outside_c", "outside"),
        ("humidity_pct", "humidity"),
    ):
        for time_text, value in zip(times, log.frame[column], strict=True):
            if time_text in told and value == value:
                meant = {float(text) for text in told[time_text][name] if text}
                assert value in meant, f"{time_text} {name}: {value} was read, the file says {told[time_text][name]}"


def examine(path, site, data=None):
    """Read one file and do with it all that inspect does; return "read" or "refused". Raises on any finding."""
    began = time.monotonic()
    try:
        log = read_logs(path, site, needs=())
    except TunerError as error:
        message = str(error)
        assert 10 < len(message) < LONGEST_MESSAGE, f"a message of {len(message)} characters: {message[:300]}"
        return "refused"
    frame = log.frame
    assert len(frame) and frame.index.is_monotonic_increasing and frame.index.is_unique, "times do not rise"
    numbers = frame.select_dtypes("number").to_numpy()
    assert not np.isinf(numbers).any(), "an infinite number"
    with np.errstate(invalid="ignore"):
        for name, low, high in (("house", -40, 70), ("soil", -20, 50), ("humidity", 0, 100), ("fan_pct", 0, 100)):
            values = frame[name].to_numpy()
            assert not ((values < low) | (values > high)).any(), f"{name} out of its range"
    assert all(fault.text and fault.done and fault.where for fault in log.faults), "a fault that does not say what"
    inspection_text.lines(inspection.inspect(log, site))
    clean = path.with_name("clean.csv")
    clean_log.write(log, clean)
    again = read_logs(clean, needs=()).frame
    kept = frame[~frame.index.floor("s").duplicated()]
    assert len(again) == len(kept), f"{len(kept)} rows written clean, {len(again)} read back"
    if data is not None:
        compare(log, data)
    took = time.monotonic() - began
    assert took < SLOW_S, f"it took {took:.1f} s"
    return "read"


def next_file(turn, rng, corpus):
    """Return (kind, bytes) of the next file to try."""
    kind = ("bytes", "table", "own")[turn % 3]
    if kind == "bytes":
        return kind, packed(mutate(rng.choice(corpus), rng, rng.choice(corpus)), rng)
    return kind, strange_table(rng) if kind == "table" else own_log(rng)


def corpus_of():
    """Return the bytes of all nasty logs, and of an own log."""
    made = [make() for make in nasty_logs.FILES.values()]
    return [one.encode() if isinstance(one, str) else one for one in made] + [own_log(random.Random(0))]


def main(words=None):
    """Fuzz for a time; return the exit status."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=None)
    parser.add_argument("--keep-going", action="store_true", help="collect findings until the time is up")
    said = parser.parse_args(words)
    seed = said.seed if said.seed is not None else random.SystemRandom().randrange(10**9)
    rng, corpus, counts, findings = random.Random(seed), corpus_of(), Counter(), {}
    sites = [None, site_of(), site_of("America/New_York", day_first=True), site_of(keep=["spike", "stuck", "unit"])]
    folder = Path(tempfile.mkdtemp(prefix="fuzz-logs-"))
    end, turn = time.monotonic() + said.seconds, 0
    while time.monotonic() < end and not (findings and not said.keep_going):
        kind, data = next_file(turn, rng, corpus)
        path = folder / "try.csv"
        path.write_bytes(data)
        try:
            counts[kind, examine(path, rng.choice(sites), data if kind == "own" else None)] += 1
        except Exception as error:
            frames = traceback.extract_tb(error.__traceback__)[-2:]
            key = "\n".join(f"  {frame.filename}, line {frame.lineno}: {frame.line}" for frame in frames)
            if key not in findings:
                kept = folder / f"finding-{len(findings) + 1}.csv"
                kept.write_bytes(data)
                findings[key] = kept
                print(f"{kind}, turn {turn}, kept as {kept}: {error!r}\n{key}", flush=True)
        turn += 1
    told = ", ".join(f"{kind} {what} {count}" for (kind, what), count in sorted(counts.items()))
    print(f"seed {seed}: {turn} files in {said.seconds:.0f} s; {told}; {len(findings)} findings")
    return 1 if findings else 0


if __name__ == "__main__":
    sys.exit(main())
