"""The portable steps on each runtime that there is here. Children never outlive us.

Each function returns the list of (steps, digest, greatest int, phases seen), one a settings file, or None where
the runtime is missing.
"""

import ast
import os
import shutil
import subprocess
from pathlib import Path

import numpy as np

from controller.core import decide, screen
from controller.core.screen import Raw
from tests.rig.run import micropython
from tests.steps import portable
from tuner.core_numba import HAVE_NUMBA, helper, jit

ROOT = Path(__file__).resolve().parents[2]
WASM = ROOT / ".ci/node/node_modules/@micropython/micropython-webassembly-pyscript/micropython.mjs"
FILES = range(len(portable.CHANGES))


def said(argv, timeout_s=600):
    """Return what a child printed, each line read as a tuple. Raises AssertionError with all it said if it fails."""
    child = subprocess.Popen(argv, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, cwd=ROOT)
    try:
        text, _ = child.communicate(timeout=timeout_s)
    finally:
        child.kill()
        child.wait()
    assert child.returncode == 0, f"{argv[0]} ended with {child.returncode}:\n{text[-2000:]}"
    return [ast.literal_eval(line) for line in text.split("\n") if line.startswith("(")]


def on_cpython(seed, steps):
    """Run here."""
    return [portable.run(number, seed, steps) for number in FILES]


def on_micropython(seed, steps):
    """Run under the desktop MicroPython with a board's heap."""
    if micropython() is None:
        return None
    script = f"import sys; sys.path.insert(0, {str(ROOT)!r}); from tests.steps import portable; "
    return said([micropython(), "-X", "heapsize=192K", "-c", script + f"portable.main({seed}, {steps})"])


def on_wasm(seed, steps):
    """Run under the 31-bit MicroPython in Node.js."""
    module = Path(os.environ.get("LOAMSTAT_WASM", WASM))
    if shutil.which("node") is None or not module.exists():
        return None
    return said(
        [shutil.which("node"), str(Path(__file__).with_name("wasm.mjs")), str(module), str(ROOT), str(seed), str(steps)]
    )


def _loop(s, raws):
    sensed, state, digest, most, phases = screen.start(), decide.start(s), 1, 0, 0
    for i in range(raws.shape[0]):
        raw = Raw(
            raws[i, 0], raws[i, 1], raws[i, 2], raws[i, 3], raws[i, 4], raws[i, 5], raws[i, 6], raws[i, 7],
            raws[i, 8], raws[i, 9],
        )  # fmt: skip
        sensed, state, digest = portable.one(s, sensed, state, raw, digest)
        most = max(most, portable.greatest(state.deciding, state.counters))
        phases |= 1 << state.deciding.phase
    return raws.shape[0], digest, most, phases


def on_numba(seed, steps):
    """Run compiled; the readings are made here."""
    if not HAVE_NUMBA:
        return None
    for function in ("stir", "stir_deciding", "stir_counters", "stir_reading", "greatest", "one"):
        helper(getattr(portable, function))
    compiled, out = jit(_loop, cache=False), []
    for number in FILES:
        g, w = portable.seeded(seed), portable.first_weather()
        raws = np.array([portable.next_raw(g, w) for _ in range(steps)], dtype=np.int64)
        out.append(tuple(int(value) for value in compiled(portable.settings_of(number), raws)))
    return out


RUNTIMES = {
    "CPython": on_cpython,
    "MicroPython, desktop, 192 kB heap": on_micropython,
    "MicroPython, 31-bit, Node.js": on_wasm,
    "numba": on_numba,
}
