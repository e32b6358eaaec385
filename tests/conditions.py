"""Is every condition of the core seen both true and false? python -m tests.conditions [pytest words].

coverage's branches do not look into `1 if a and b else 0`. Here each operand of every if, while, conditional
expression, `and` and `or` of controller/core is noted while the fast tests of the core run.
"""

import ast
import importlib
import importlib.abc
import importlib.util
import sys
from pathlib import Path

import pytest

CORE = Path(__file__).resolve().parents[1] / "controller" / "core"
PREFIX = "controller.core."
FAST = sorted(
    str(path)
    for path in Path(__file__).parent.glob("test_core_*.py")
    if path.stem not in ("test_core_numba", "test_core_histories")
)

# Conditions that only one way can be seen, and why. (file, source): reason
ONE_WAY = {}

conditions = []  # (file, line, source)
seen = {}  # number of a condition: {True, False}


def note(number, value):
    """Note the truth of a condition's value and return the value."""
    seen.setdefault(number, set()).add(bool(value))
    return value


class Wrap(ast.NodeTransformer):
    """Wrap every operand of a condition in a call of note."""

    def __init__(self, file):
        self.file = file

    def atom(self, node):
        """Return the node with its operands wrapped: and, or, not are looked into."""
        if isinstance(node, ast.BoolOp):
            node.values = [self.atom(value) for value in node.values]
            return node
        if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
            node.operand = self.atom(node.operand)
            return node
        if isinstance(node, ast.Constant):
            return node
        number = len(conditions)
        conditions.append((self.file, node.lineno, ast.unparse(node)))
        inside = self.visit(node)
        call = ast.Call(ast.Name("__note__", ast.Load()), [ast.Constant(number), inside], [])
        return ast.copy_location(call, node)

    def visit_BoolOp(self, node):
        """An `and` or `or` anywhere."""
        return self.atom(node)

    def _tested(self, node):
        test, node.test = node.test, ast.Constant(True)
        self.generic_visit(node)
        node.test = self.atom(test)
        return node

    visit_If = visit_IfExp = visit_While = _tested

    def visit_comprehension(self, node):
        """The ifs of a comprehension."""
        ifs, node.ifs = node.ifs, []
        self.generic_visit(node)
        node.ifs = [self.atom(test) for test in ifs]
        return node


class Finder(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Load the modules of the core with their conditions wrapped."""

    def find_spec(self, name, path=None, target=None):
        """Return the spec of a core module, None for all others."""
        file = CORE / (name[len(PREFIX) :] + ".py")
        if not name.startswith(PREFIX) or not file.exists():
            return None
        return importlib.util.spec_from_file_location(name, file, loader=self)

    def create_module(self, spec):
        """Leave it to Python."""
        return None

    def exec_module(self, module):
        """Run the wrapped source."""
        file = Path(module.__spec__.origin)
        tree = ast.fix_missing_locations(Wrap(file.name).visit(ast.parse(file.read_text(encoding="utf-8"))))
        module.__dict__["__note__"] = note
        exec(compile(tree, str(file), "exec"), module.__dict__)


def main(words):
    """Run the tests, print what was seen; return 1 when a test fails or a condition was seen only one way."""
    sys.meta_path.insert(0, Finder())
    for file in sorted(CORE.glob("*.py")):
        importlib.import_module(PREFIX + file.stem)
    status = pytest.main(["-q", "-p", "no:cacheprovider", *(words or FAST)])
    if status:
        return 1
    missing = [
        (*conditions[i], seen.get(i, set()))
        for i in range(len(conditions))
        if len(seen.get(i, set())) < 2 and (conditions[i][0], conditions[i][2]) not in ONE_WAY
    ]
    for file, line, source, ways in missing:
        print(f"controller/core/{file}, line {line}: `{source}` was only {sorted(ways) or 'never looked at'}")
    argued = len(ONE_WAY)
    print(
        f"conditions of the core: {len(conditions)}, seen both ways: {len(conditions) - len(missing) - argued}", end=""
    )
    print(f", argued: {argued}, missing: {len(missing)}")
    return 1 if missing else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
