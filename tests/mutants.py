"""Does a test fail for every small change of the core?

    python -m tests.mutants [--sample SEED] [--values | --functions]

Functions are mutated by mutmut (its settings are in pyproject.toml). mutmut leaves module-level values alone, so
every int and every name in them is changed by the small mutator below. A mutant that no test can kill is argued away
in mutants_argued.py by its function and the changed line; anything else that survives fails the run.
"""

import ast
import importlib
import importlib.abc
import importlib.util
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import tomllib
from pathlib import Path

from tests.mutants_argued import FUNCTIONS, VALUES

ROOT = Path(__file__).resolve().parents[1]
CORE = ROOT / "controller" / "core"
DECIDING = ("allowance", "limits", "phases", "stages", "timers", "wants", "decide", "screen", "alarms")
TESTS = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["mutmut"][
    "pytest_add_cli_args_test_selection"
]
SAMPLE_FUNCTIONS, SAMPLE_VALUES = 8, 16
LONGEST_S = 120  # a mutant that runs longer hangs, which a test would show


# Functions, by mutmut.


def mutmut(*words, check=True):
    """Run mutmut in the repository's root and return what it printed."""
    program = Path(sys.executable).with_name("mutmut")
    environ = {**os.environ, "HYPOTHESIS_PROFILE": "mutation", "COLUMNS": "200"}
    done = subprocess.run([program, *words], cwd=ROOT, env=environ, text=True, capture_output=True)
    if check and done.returncode:
        raise SystemExit(f"mutmut {' '.join(words)} ended with {done.returncode}:\n{done.stdout[-3000:]}{done.stderr}")
    return done.stdout


def functions_of_sample(seed):
    """Return glob patterns of a seeded sample of the deciding functions."""
    names = []
    for module in DECIDING:
        tree = ast.parse((CORE / f"{module}.py").read_text(encoding="utf-8"))
        names += [f"controller.core.{module}.x_{node.name}__mutmut_*" for node in tree.body
                  if isinstance(node, ast.FunctionDef)]  # fmt: skip
    return sorted(random.Random(seed).sample(names, SAMPLE_FUNCTIONS))


def changed_line(name):
    """Return ("module.function", the line as the mutant has it) of one mutant."""
    lines = [line[1:].strip() for line in mutmut("show", name).splitlines() if re.match(r"\+(?!\+\+)", line)]
    module, function = re.match(r"controller\.core\.(\w+)\.x_(\w+)__mutmut_", name).groups()
    return f"{module}.{function}", " ".join(lines)


def run_functions(patterns):
    """Mutate functions; return (killed, argued, [unexplained])."""
    shutil.rmtree(ROOT / "mutants", ignore_errors=True)
    mutmut("run", "--max-children", "2", *patterns)
    results = re.findall(r"^\s*(controller\S+): (.+)$", mutmut("results", "--all", "true"), re.MULTILINE)
    results = [(name, result) for name, result in results if result not in ("not checked", "skipped")]
    killed = [name for name, result in results if result in ("killed", "timeout", "segfault")]
    argued, unexplained = 0, []
    for name, result in results:
        if name in killed:
            continue
        where, line = changed_line(name)
        if line in FUNCTIONS.get(where, {}):
            argued += 1
        else:
            unexplained.append(f"{where}: {line} ({result})")
    return len(killed), argued, unexplained


# Module-level values, by ourselves.


def places(tree):
    """Return the nodes of a module's top-level values that can be changed: ints, and names inside tuples."""
    out = []
    for statement in tree.body:
        if not isinstance(statement, ast.Assign):
            continue
        for node in ast.walk(statement.value):
            if isinstance(node, ast.Constant) and type(node.value) is int:
                out.append(node)
            if isinstance(node, ast.Tuple):
                out += [part for part in node.elts if isinstance(part, ast.Name)]
    return out


def change(file, number):
    """Return (changed source, what changed) of place number of a core file: an int by one, a name to its neighbour."""
    tree = ast.parse(file.read_text(encoding="utf-8"))
    node = places(tree)[number]
    if isinstance(node, ast.Constant):
        text = f"{node.value} -> {node.value + 1}"
        node.value += 1
    else:
        # A neighbour of another value: a name of the same value would change nothing.
        values = vars(importlib.import_module(f"controller.core.{file.stem}"))
        names = sorted({part.id for part in places(tree) if isinstance(part, ast.Name)})
        others = [name for name in names if values[name] != values[node.id]]
        new = others[number % len(others)] if others else "None"
        text, node.id = f"{node.id} -> {new}", new
    return ast.unparse(tree), f"{file.name}, line {node.lineno}: {text}"


class OneChanged(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Load one module of the core from other source."""

    def __init__(self, file, source):
        self.name, self.file, self.source = f"controller.core.{file.stem}", file, source

    def find_spec(self, name, path=None, target=None):
        """Return the spec of the one module."""
        return importlib.util.spec_from_file_location(name, self.file, loader=self) if name == self.name else None

    def create_module(self, spec):
        """Leave it to Python."""
        return None

    def exec_module(self, module):
        """Run the other source."""
        exec(compile(self.source, str(self.file), "exec"), module.__dict__)


def in_child(file, source):
    """Run the fast tests on the changed module; never returns."""
    import pytest

    null = os.open(os.devnull, os.O_WRONLY)
    os.dup2(null, 1)
    os.dup2(null, 2)
    signal.alarm(LONGEST_S)
    for name in [name for name in sys.modules if name.startswith(("controller", "tests."))]:
        del sys.modules[name]  # the parent looked at values
    sys.meta_path.insert(0, OneChanged(file, source))
    try:
        status = pytest.main(["-x", "-q", "-p", "no:cacheprovider", *(str(ROOT / test) for test in TESTS)])
    except BaseException:
        status = 1
    os._exit(1 if status else 0)


def run_values(chosen):
    """Change one value after the other, two at a time; return (killed, argued, [unexplained])."""
    os.environ["HYPOTHESIS_PROFILE"] = "mutation"
    import hypothesis  # noqa: F401  once, before the children are made
    import numpy  # noqa: F401
    import pytest  # noqa: F401

    killed, argued, unexplained, running, waiting = 0, 0, [], {}, list(chosen)
    while waiting or running:
        while waiting and len(running) < 2:
            source, text = change(*waiting.pop(0))
            file = CORE / text.split(",")[0]
            child = os.fork()
            if child == 0:
                in_child(file, source)
            running[child] = text
        child, status = os.wait()
        text = running.pop(child)
        if status:
            killed += 1
        elif re.sub(r", line \d+", "", text) in VALUES:
            argued += 1
        else:
            unexplained.append(text)
    return killed, argued, unexplained


def all_values():
    """Return every (file, number) that can be changed; the words' order in reasons.py is the codes' own."""
    out = []
    for file in sorted(CORE.glob("*.py")):
        if file.stem != "selfcheck":
            tree = ast.parse(file.read_text(encoding="utf-8"))
            out += [(file, number) for number in range(len(places(tree)))]
    return out


def told(what, killed, argued, unexplained):
    """Print the score of one kind and what survived; return how many survived unexplained."""
    for line in unexplained:
        print(f"survived: {line}")
    print(f"mutants of {what}: {killed + argued + len(unexplained)}, killed {killed}, argued away {argued}, "
          f"survived {len(unexplained)}", flush=True)  # fmt: skip
    return len(unexplained)


def main(words):
    """Run the mutants asked for; return 1 when one survives unexplained."""
    seed = int(words[words.index("--sample") + 1]) if "--sample" in words else None
    left = 0
    if "--functions" not in words:
        chosen = all_values()
        chosen = chosen if seed is None else random.Random(seed).sample(chosen, SAMPLE_VALUES)
        left += told("values", *run_values(chosen))
    if "--values" not in words:
        patterns = [] if seed is None else functions_of_sample(seed)
        for pattern in patterns:
            print(pattern)
        left += told("functions", *run_functions(patterns))
    return 1 if left else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
