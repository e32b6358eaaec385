"""Does `loamstat demo` do the whole job, on files that come with the package?"""

import contextlib
import io
import json
import os
import sys

import pytest

from controller.core import settings as core
from tuner import __main__ as entry
from tuner import demo_files

STAGES = ["The log", "The house", "Two other settings", "The cost, as logged", "The settings to flash"]


def run(*words):
    """Return (exit status, stdout, stderr) of `loamstat words...`."""
    out, err = io.StringIO(), io.StringIO()
    with pytest.MonkeyPatch.context() as patch, contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        patch.setattr(sys, "argv", ["loamstat", *words])
        with pytest.raises(SystemExit) as ended:
            entry.main()
    return ended.value.code or 0, out.getvalue(), err.getvalue()


@pytest.fixture(scope="module")
def done(tmp_path_factory):
    """The demo run once, with few tries; the working folder stays where it ran."""
    folder, before = tmp_path_factory.mktemp("demo"), os.getcwd()
    os.chdir(folder)
    yield folder, run("demo", "--tries", "60")
    os.chdir(before)


def test_it_goes_through_every_stage_and_writes_each_result(done):
    folder, (status, out, err) = done
    assert (status, err) == (0, "")
    written = {path.name for path in (folder / "loamstat-demo").iterdir()}
    assert written == {
        "as-logged.json", "cautious.json", "thrifty.json", "log.csv", "site.toml",
        "comparison.json", "timeline.png", "cost.json",
        "settings.json", "report.html", "result.json",
        "tradeoff.svg", "coldest_night.svg", "timeline.svg", "cost_map.svg",
    }  # fmt: skip
    assert out.startswith("The house, its weather and its log are invented")
    headings = [line[3:].partition(" (loamstat")[0] for line in out.splitlines() if line.startswith("== ")]
    assert headings == STAGES
    assert f"Timeline: {demo_files.Path('loamstat-demo') / 'timeline.png'}\n" in out
    assert "Faults: none found." in out and "Hold-out:" in out and "What the fan alone cannot do:" in out


def test_the_picked_settings_are_accepted_by_the_board(done):
    picked = json.loads((done[0] / "loamstat-demo" / "settings.json").read_text(encoding="utf-8"))
    settings, faults = core.from_mapping(picked)
    assert settings is not None and faults == []


def test_the_replay_with_the_boards_own_settings_gives_the_log_back(done):
    """The invented log was made by the very same rules: fan hours within 1 %, as many starts within one."""
    _, (_, out, _) = done
    line = next(line for line in out.splitlines() if line.startswith("Check:"))
    numbers = [float(word.strip(";.")) for word in line.split() if word.strip(";.").replace(".", "").isdigit()]
    again_h, again_starts, logged_h, logged_starts = numbers
    assert again_h == pytest.approx(logged_h, rel=0.01)
    assert abs(again_starts - logged_starts) <= 1


def test_cautious_runs_more_and_thrifty_less_than_the_log(done):
    folder, _ = done
    runs = json.loads((folder / "loamstat-demo" / "comparison.json").read_text(encoding="utf-8"))["runs"]
    hours = {one["settings"].replace("\\", "/").rpartition("/")[2]: one["total"]["fan_h"] for one in runs}
    assert hours["cautious.json"] > hours["as logged"] > hours["thrifty.json"] > 0
    assert all(len(one["nights"]) == 15 for one in runs)


def test_the_line_it_ends_with_runs(done):
    """In its open-loop form, which learns no house; the closed loop has tests of its own."""
    _, (_, out, _) = done
    words = [*out.splitlines()[-1].partition("loamstat ")[2].split(), "--open-loop"]
    status, told, _ = run(*words)
    assert status == 0 and told.startswith("Larkfold sunk house (invented): 20160 rows")


def test_a_file_in_the_place_of_its_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "loamstat-demo").touch()
    status, out, err = run("demo")
    assert (status, out) == (1, "")
    assert err == "loamstat: loamstat-demo: this is a file.\nName a folder to write into.\n"
