"""Is the compiled loop always the one of today's rules?

numba's cache looks at the loop's own file only; the folder of the cache carries a hash of every source instead.
"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tuner import core_numba

ROOT = Path(__file__).resolve().parent.parent
HASH = "from tuner import core_numba; print(core_numba.sources_hash())"
FOLDER = "from tuner import core_numba; print(core_numba._cache_folder)"
# Four hours at 4 degC over a warm soil: with the default setpoint of 5 degC the fan runs, with a rule turned round not.
FAN_SECONDS = """
from controller.core.rows import defaults
from tests.tools.made_logs import made_log
from tuner import core_numba, replay
assert core_numba.HAVE_NUMBA
print(int(replay.replay(made_log([4.0] * 240, soil=14.0), defaults(), "x").out.fan_s.sum()))
"""


@pytest.fixture
def copied(tmp_path):
    """A copy of the sources that may be edited."""
    for name in ("controller", "tuner"):
        shutil.copytree(ROOT / name, tmp_path / name, ignore=shutil.ignore_patterns("__pycache__"))
    tools = tmp_path / "tests" / "tools"
    shutil.copytree(ROOT / "tests" / "tools", tools, ignore=shutil.ignore_patterns("__pycache__"))
    (tmp_path / "tests" / "__init__.py").touch()
    return tmp_path


def said(folder, code, **environment):
    """Return what a new Python process in folder prints for code."""
    run = subprocess.run(
        [sys.executable, "-c", code],
        cwd=folder,
        env=os.environ | {"PYTHONDONTWRITEBYTECODE": "1"} | environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stderr
    return run.stdout.strip()


@pytest.mark.parametrize("name", ["controller/core/wants.py", "controller/core/rows.py", "tuner/replay.py"])
def test_an_edit_of_the_rules_or_the_loop_changes_the_hash(copied, name):
    before = said(copied, HASH, LOAMSTAT_PLAIN="1")
    assert said(copied, HASH, LOAMSTAT_PLAIN="1") == before
    path = copied / name
    path.write_text(path.read_text(encoding="utf-8") + "\n", encoding="utf-8")
    assert said(copied, HASH, LOAMSTAT_PLAIN="1") != before


def test_every_function_of_the_core_is_offered_to_compiled_loops():
    names = {module.__name__.rpartition(".")[2] for module in core_numba.core_modules()}
    on_disk = {path.stem for path in (ROOT / "controller" / "core").glob("*.py")} - {"__init__"}
    assert names == on_disk


def test_without_numba_jit_gives_the_function_itself(monkeypatch):
    monkeypatch.setattr(core_numba, "HAVE_NUMBA", False)
    assert core_numba.jit(len) is len and core_numba.helper(len) is len


@pytest.mark.skipif(not core_numba.HAVE_NUMBA, reason="numba is not installed")
class TestWithNumba:
    def test_the_cache_lies_where_the_user_wants_it_and_is_named_by_the_hash(self, copied, tmp_path):
        home = tmp_path / "cache"
        folder = said(copied, FOLDER, NUMBA_CACHE_DIR=str(home))
        assert folder == str(home / said(copied, HASH, LOAMSTAT_PLAIN="1"))
        again = said(copied, FOLDER, NUMBA_CACHE_DIR=folder)
        assert again == folder, "a process that we start shares the folder"

    def test_only_the_newest_caches_are_kept(self, copied, tmp_path):
        home = tmp_path / "cache"
        for number in range(10):
            (home / f"{number:016d}").mkdir(parents=True)
            os.utime(home / f"{number:016d}", (number, number))
        (home / "not ours").mkdir()
        own = Path(said(copied, FOLDER, NUMBA_CACHE_DIR=str(home))).name
        kept = [f"{number:016d}" for number in range(5, 10)]
        assert sorted(one.name for one in home.iterdir()) == sorted([*kept, own, "not ours"])

    def test_no_place_for_a_cache_is_no_reason_to_fail(self, copied, tmp_path):
        blocked = tmp_path / "a file"
        blocked.touch()
        assert said(copied, FOLDER, NUMBA_CACHE_DIR=str(blocked)) == "None"

    @pytest.mark.slow
    def test_after_an_edit_of_a_rule_the_new_rule_runs(self, copied, tmp_path):
        """The trap itself: compile, run from the cache, edit the core, run again."""
        cache = {"NUMBA_CACHE_DIR": str(tmp_path / "cache")}
        assert int(said(copied, FAN_SECONDS, **cache)) > 3 * 3600
        assert int(said(copied, FAN_SECONDS, **cache)) > 3 * 3600
        rules = copied / "controller" / "core" / "wants.py"
        text = rules.read_text(encoding="utf-8")
        line = "return 1 if r.house_centi_c <= s.discharge_below_centi_c else 0"
        assert text.count(line) == 1
        rules.write_text(text.replace(line, line.replace("<=", ">=")), encoding="utf-8")
        assert int(said(copied, FAN_SECONDS, **cache)) == 0
