"""Do imports run one way, and does the core stay deaf, blind and without a watch?

Rests on the rule in DEVELOPERS.md; every file is read as a syntax tree, none is run.
"""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
CORE = sorted((ROOT / "controller" / "core").glob("*.py"))
BOARD = sorted((ROOT / "controller" / "board").glob("*.py"))
TUNER = sorted((ROOT / "tuner").rglob("*.py"))

# A module of the tuner may import from layers before its own, and from its own layer while no ring forms.
# A folder stands for all that is in it.
LAYERS = [
    ["errors", "degrees", "terminal"],
    ["files", "site_values"],
    ["reader", "bands", "site_fields"],
    ["site", "settings_file", "core_numba", "daypart", "logged", "moist_air", "sun", "house", "demo"],
    ["kalman", "prior", "modes"],
    ["screening", "faults", "probe_faults", "unit_faults", "logs"],
    ["fan_power", "prices", "wear", "heat", "spans", "forecast"],
    ["ledger", "runs", "sums"],
    ["replay", "cost", "nights"],
    ["rows", "estimate", "track", "closed_loop", "fit"],
    ["predict", "learned", "fit_heat", "trial_worth"],
    ["report", "plots", "cost_text", "cost_plots", "cost_report", "comparison", "demo_files"],
    ["link", "link_ports", "link_boards", "link_proof", "link_read", "link_words", "link_settings", "link_shell",
     "link_tree", "link_plan", "link_copy", "link_roles", "link_flash", "link_pull", "link_merge", "link_watch",
     "link_first", "link_record", "link_times"],
    ["fit_text", "fit_plots"],
    ["weathers", "tryout", "space", "search"],
    ["trials", "judge"],
    ["tuning", "explain"],
    ["tune_words", "tune_plots", "tune_report"],
    ["inspection", "inspection_text", "log_plot", "clean_log"],
    ["commands"],
    ["__main__"],
]
HEAVY = ["numpy", "scipy", "pandas", "numba", "matplotlib", "psychrolib", "rich", "pvlib", "jinja2", "pymoo"]
HEAVY += ["holidays", "serial", "mpremote"]


def imported(path):
    """Return every (line, dotted name) that the file imports; `from a import b` counts as a.b."""
    found = []
    package = path.relative_to(ROOT).parent.parts
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else ()
            start = ".".join([*base, *([node.module] if node.module else [])])
            found += [(node.lineno, f"{start}.{alias.name}") for alias in node.names]
    return found


def name_of(path):
    return str(path.relative_to(ROOT))


def tuner_part(dotted):
    """Return the part of the tuner that a dotted name lies in ("replay", "commands"), or None."""
    parts = dotted.split(".")
    return parts[1] if parts[0] == "tuner" and len(parts) > 1 else None


@pytest.mark.parametrize("path", CORE, ids=name_of)
def test_core_imports_only_namedtuple_and_its_own_modules(path):
    siblings = {f"controller.core.{other.stem}" for other in CORE}
    for line, name in imported(path):
        own = name in siblings or name.rpartition(".")[0] in siblings
        assert own or name == "collections.namedtuple", f"{name_of(path)}, line {line}: imports {name}"


@pytest.mark.parametrize("path", CORE, ids=name_of)
def test_core_has_no_float_and_no_true_division(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Constant):
            assert not isinstance(node.value, (float, complex)), f"{name_of(path)}, line {node.lineno}: {node.value!r}"
        if isinstance(node, (ast.BinOp, ast.AugAssign)):
            assert not isinstance(node.op, ast.Div), f"{name_of(path)}, line {node.lineno}: /"


@pytest.mark.parametrize("path", BOARD, ids=name_of)
def test_board_knows_nothing_of_the_tuner(path):
    for line, name in imported(path):
        assert name.split(".")[0] not in ("tuner", "tests"), f"{name_of(path)}, line {line}: imports {name}"


@pytest.mark.parametrize("path", TUNER, ids=name_of)
def test_tuner_takes_from_the_controller_only_its_core(path):
    for line, name in imported(path):
        assert not name.startswith("tests"), f"{name_of(path)}, line {line}: imports {name}"
        if name.split(".")[0] == "controller":
            assert name.startswith("controller.core"), f"{name_of(path)}, line {line}: imports {name}"


def part_of(path):
    inside = path.relative_to(ROOT / "tuner")
    return inside.parts[0] if len(inside.parts) > 1 else inside.stem


def tuner_edges():
    """Return {(importing part, imported part): "file, line"} inside the tuner."""
    edges = {}
    for path in TUNER:
        for line, name in imported(path):
            part = tuner_part(name)
            if part and part != part_of(path):
                edges[part_of(path), part] = f"{name_of(path)}, line {line}"
    return edges


def test_every_part_of_the_tuner_has_a_layer():
    layered = {name for layer in LAYERS for name in layer}
    parts = {part_of(path) for path in TUNER} - {"__init__"}
    assert parts <= layered, f"add to LAYERS in tests/test_imports.py: {sorted(parts - layered)}"


def test_tuner_imports_run_one_way():
    level = {name: number for number, layer in enumerate(LAYERS) for name in layer}
    for (user, used), place in tuner_edges().items():
        assert level[used] <= level[user], f"{place}: {user} must not import {used}"


def test_no_ring_of_imports_in_the_tuner():
    edges = set(tuner_edges())
    left = {name for edge in edges for name in edge}
    while True:
        free = {name for name in left if not any(user == name and used in left for user, used in edges)}
        if not free:
            break
        left -= free
    assert not left, f"these import each other in a ring: {sorted(left)}"


def test_the_walk_sees_a_breach(tmp_path, monkeypatch):
    """The rule can fail: a float, a division and a foreign import are all found."""
    folder = tmp_path / "controller" / "core"
    folder.mkdir(parents=True)
    bad = folder / "bad.py"
    monkeypatch.setattr(sys.modules[__name__], "ROOT", tmp_path)
    bad.write_text("import time\nfrom . import units\n", encoding="utf-8")
    assert imported(bad) == [(1, "time"), (2, "controller.core.units")]
    with pytest.raises(AssertionError, match="imports time"):
        test_core_imports_only_namedtuple_and_its_own_modules(bad)
    for text in ("x = 1.5\n", "x = 3 / 2\n", "x = 3\nx /= 2\n"):
        bad.write_text(text, encoding="utf-8")
        with pytest.raises(AssertionError, match="line"):
            test_core_has_no_float_and_no_true_division(bad)


COMMAND_LINES = [["--help"], ["--version"], ["replay", "--help"], ["no-such-command"]]


@pytest.mark.parametrize("words", COMMAND_LINES, ids=" ".join)
def test_help_imports_nothing_heavy(words):
    code = (
        "import sys\n"
        f"sys.argv = ['loamstat', *{words!r}]\n"
        "from tuner.__main__ import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        f"print('HEAVY', sorted(set({HEAVY!r}) & set(sys.modules)))\n"
    )
    run = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert run.stdout.splitlines()[-1:] == ["HEAVY []"], run.stdout + run.stderr
