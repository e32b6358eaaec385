"""Is the contributors' guide true: every module in the map, every key of the files, the log's columns?"""

import re

import pytest

from controller.core import record
from tests.docs_help import ROOT, read
from tests.tune_help import tuned
from tuner import tune_report

GUIDE = read(ROOT / "DEVELOPERS.md")
MAP = GUIDE.partition("## Map")[2].partition("\n## ")[0]


@pytest.mark.parametrize("folder", ["tuner", "controller/core"])
def test_every_module_is_in_the_map(folder):
    names = {path.stem for path in (ROOT / folder).glob("*.py")} - {"__init__", "__main__"}
    words = set(re.findall(r"\w+", MAP))
    assert sorted(names - words) == []


def test_every_module_that_the_map_names_exists():
    listed = re.findall(r"^ {6}((?:[a-z_]+(?:/|, )?)+)", MAP, flags=re.MULTILINE)
    names = {name.strip("/") for line in listed for name in re.split(r", ", line.strip()) if name.strip("/")}
    known = {path.stem for path in ROOT.glob("tuner/*.py")} | {path.stem for path in ROOT.glob("controller/core/*.py")}
    known |= {path.name for path in ROOT.glob("tuner/*") if path.is_dir()}
    assert len(names) > 60 and sorted(names - known) == []


def test_the_logs_columns_are_those_of_the_board():
    assert f"    {record.HEADER}\n" in GUIDE


def keys(tree, free=("settings", "found", "outcomes", "without_fan_harm_k_h", "best_harm_k_h")):
    """Return the keys of a tree; below a free key the next level's keys are names of weathers or settings."""
    if isinstance(tree, list):
        return {key for one in tree for key in keys(one)}
    if not isinstance(tree, dict):
        return set()
    found = set(tree)
    for key, value in tree.items():
        if key in free and isinstance(value, dict):
            value = [] if key in ("settings", "found") else [*value.values()]
        if key == "weathers" and isinstance(value, dict):
            value = [*value.values()]
        found |= keys(value)
    return found


def test_every_key_of_the_result_is_told():
    told = set(re.findall(r"`(\w+)`", GUIDE))
    assert sorted(keys(tune_report.tree(tuned())) - told) == []
