"""Measure, and print a table. Nothing is asserted: machines differ.

    python -m tests.bench               all
    python -m tests.bench replay        only tests/bench/bench_replay.py

Each file bench_*.py beside this one offers measures(), which yields timing.Measure.
"""

import importlib
import os
import platform
import sys
from pathlib import Path

FOLDER = Path(__file__).parent


def names():
    """Return the benchmarks there are, by the middle of their file names."""
    return sorted(path.stem.removeprefix("bench_") for path in FOLDER.glob("bench_*.py"))


def main(wanted):
    """Run the benchmarks named in wanted, all when it is empty; return the exit status."""
    unknown = [name for name in wanted if name not in names()]
    if unknown:
        print(f"no benchmark {', '.join(unknown)}; there are: {', '.join(names())}", file=sys.stderr)
        return 2
    print(f"Python {platform.python_version()}, {platform.machine()}, {os.cpu_count()} cores; best of several goes")
    print(f"{'what':58}  {'measured':>24}  to reach")
    for name in wanted or names():
        for one in importlib.import_module(f"tests.bench.bench_{name}").measures():
            print(f"{one.what:58}  {one.got:>24}  {one.reach}", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
