"""How soon the command answers, and what its imports cost."""

from tests.bench.timing import Measure, process_s

IMPORTS = ("click", "numpy", "pandas", "numba", "scipy.optimize", "matplotlib.figure", "tuner.replay")


def measures():
    bare = process_s(["-c", "pass"])
    yield Measure("python -c pass, whole process", f"{bare:.3f} s")
    yield Measure("loamstat --help, whole process", f"{process_s(['-m', 'tuner', '--help']):.3f} s", "0.3 s")
    yield Measure("loamstat replay --help, whole process", f"{process_s(['-m', 'tuner', 'replay', '--help']):.3f} s")
    for name in IMPORTS:
        took = process_s(["-c", f"import {name}"], goes=3) - bare
        yield Measure(f"import {name}", f"{took:.3f} s")
