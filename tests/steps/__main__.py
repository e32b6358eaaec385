"""Compare the runtimes: python -m tests.steps [steps]. Exit status 1 when two differ or one is missing."""

import sys
import time

from tests.steps import portable, runtimes

SEED, STEPS = 7, 100_000


def main(words):
    """Print steps, digests and the greatest int of every runtime."""
    steps = int(words[0]) if words else STEPS
    each, first, status = steps // len(portable.CHANGES), None, 0
    for name, run in runtimes.RUNTIMES.items():
        start = time.perf_counter()
        found = run(SEED, each)
        took = time.perf_counter() - start
        if found is None:
            print(f"{name}: not installed")
            status = 1
            continue
        first = first or found
        same = "same" if found == first else "DIFFERENT"
        status = status or (1 if found != first else 0)
        most = max(row[2] for row in found)
        digests = " ".join(f"{row[1]:8d}" for row in found)
        print(f"{name:34} {each * len(found)} steps, digests {digests}: {same}; greatest int {most} ({took:.1f} s)")
        if most >= 1 << 30:
            status = 1
    return status


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
