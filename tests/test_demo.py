"""Does `loamstat demo` do the whole first job, on files that come with the package?"""

import json
import sys

import pytest

from tuner import __main__ as entry
from tuner import demo_files


def run(monkeypatch, capsys, *words):
    monkeypatch.setattr(sys, "argv", ["loamstat", "demo", *words])
    with pytest.raises(SystemExit) as ended:
        entry.main()
    out = capsys.readouterr()
    return ended.value.code or 0, out.out, out.err


@pytest.fixture
def done(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    return tmp_path, run(monkeypatch, capsys)


def test_it_writes_the_numbers_the_figure_and_its_inputs(done):
    folder, (status, out, err) = done
    assert (status, err) == (0, "")
    written = {path.name for path in (folder / "loamstat-demo").iterdir()}
    assert written == {
        "as-logged.json",
        "cautious.json",
        "comparison.json",
        "log.csv",
        "site.toml",
        "thrifty.json",
        "timeline.png",
    }
    assert out.startswith("The house, its weather and its log are invented")
    assert "Open loop: the temperatures stay as logged" in out
    assert f"Timeline: {demo_files.Path('loamstat-demo') / 'timeline.png'}\n" in out


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


def test_the_line_it_ends_with_runs(done, monkeypatch, capsys):
    """In its open-loop form, which learns no house; the closed loop has tests of its own."""
    _, (_, out, _) = done
    words = [*out.splitlines()[-1].partition("loamstat ")[2].split(), "--open-loop"]
    monkeypatch.setattr(sys, "argv", ["loamstat", *words])
    with pytest.raises(SystemExit) as ended:
        entry.main()
    assert (ended.value.code or 0) == 0
    assert capsys.readouterr().out.splitlines()[0].startswith("Larkfold sunk house (invented): 20160 rows")


def test_a_file_in_the_place_of_its_folder(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "loamstat-demo").touch()
    status, out, err = run(monkeypatch, capsys)
    assert (status, out) == (1, "")
    assert err == "loamstat: loamstat-demo: this is a file.\nName a folder to write into.\n"
