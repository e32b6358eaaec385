"""Run a script of tests/rig/inner under real MicroPython and return what it printed. Children never outlive us."""

import json
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
INNER = ROOT / "tests" / "rig" / "inner"


def micropython():
    """Return the path of a desktop MicroPython, or None when there is none on this machine."""
    beside = Path(sys.executable).with_name("micropython")
    return str(beside) if beside.exists() else shutil.which("micropython")


def inner(script, *words, heap="600K", timeout_s=600):
    """Run tests/rig/inner/<script> with the repository's path and words as arguments; return its stdout.

    Raises AssertionError with all it said when it does not end well. The child is killed by its own id.
    """
    argv = [micropython(), "-X", f"heapsize={heap}", str(INNER / script), str(ROOT), *map(str, words)]
    child = subprocess.Popen(argv, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, errors="replace")
    try:
        said, _ = child.communicate(timeout=timeout_s)
    finally:
        child.kill()
        child.wait()
    assert child.returncode == 0, f"{script} ended with {child.returncode}:\n{said[-4000:]}"
    return said


def inner_json(script, *words, **options):
    """Return the decoded last line that a script printed."""
    lines = inner(script, *words, **options).strip().splitlines()
    return json.loads(lines[-1])
