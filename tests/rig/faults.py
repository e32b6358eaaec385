"""The fault table: each fault, what must happen, and whether it did, on the whole firmware under real MicroPython.

python -m tests.rig.faults [part of a name]
"""

import ast
import shutil
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from tests.rig.run import INNER, inner, inner_json

KINDS = ("probes", "flash", "resets", "control")
LONG = (
    "house reading stuck while the air moves",
    "every fan start resets, registers survive",
    "half a day in the safe loop",
)
WORKERS = 2


def table():
    """Return [(kind, name, what must happen)], read from the scenes' own CASES without running them."""
    out = []
    for kind in KINDS:
        tree = ast.parse((INNER / f"faults_{kind}.py").read_text(encoding="utf-8"))
        cases = next(n for n in tree.body if isinstance(n, ast.Assign) and getattr(n.targets[0], "id", "") == "CASES")
        out += [(kind, case.elts[0].value, case.elts[1].value) for case in cases.value.elts]  # type: ignore
    return out


def prepare(folder):
    """Make the flash image that each scene begins with; return its path."""
    image = Path(folder) / "clean.img"
    inner("faults.py", image, "prepare", heap="1M")
    return image


def play(image, name):
    """Run one fault's scene on a copy of the image; return {"ok": bool, "seen": text}."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "flash.img"
        shutil.copyfile(image, copy)
        return inner_json("faults.py", copy, name, heap="4M" if name in LONG else "1M")


def main():
    """Print the table; exit status 1 when a fault was not met as it must be."""
    part = sys.argv[1] if len(sys.argv) > 1 else ""
    rows = [row for row in table() if part in row[1]]
    with tempfile.TemporaryDirectory() as folder:
        image = prepare(folder)
        with ThreadPoolExecutor(WORKERS) as pool:
            found = list(pool.map(lambda row: play(image, row[1]), rows))
    wide = max(len(row[1]) for row in rows)
    kind = ""
    for row, result in zip(rows, found, strict=True):
        if row[0] != kind:
            kind = row[0]
            print(f"\n{kind}")
        print(f"  {'ok  ' if result['ok'] else 'FAIL'} {row[1]:{wide}}  {row[2]}")
        if not result["ok"]:
            print("       " + result["seen"].replace("\n", "\n       "))
    good = sum(result["ok"] for result in found)
    print(f"\n{len(rows)} faults: {good} met as they must be, {len(rows) - good} not")
    return 0 if good == len(rows) else 1


if __name__ == "__main__":
    sys.exit(main())
