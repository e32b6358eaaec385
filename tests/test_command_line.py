"""Does the command line do what its help says, and refuse what it must, with the right exit status?

Every refusal is compared whole; after it nothing has been written. Values are invented.
"""

import csv
import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from controller.core.record import HEADER
from tests.tools.made_logs import wave
from tuner import __main__ as entry
from tuner import replay

SITE = """
[site]
name = "Bean house"
time_zone = "Europe/Lisbon"
[needs]
frost_floor_c = 2
hot_limit_c = 32
[fan]
watts = 70
[energy]
currency = "EUR"
price_per_kwh = 0.2
"""


@pytest.fixture
def place(tmp_path, monkeypatch):
    """A folder with a log of two days, a site.toml and two settings files; it is the working folder."""
    house = wave(2 * 1440 + 1, mean=12, swing=14)
    lines = [HEADER]
    for minute, value in enumerate(house):
        day, rest = divmod(minute, 1440)
        time = f"2026-01-{10 + day:02d}T{rest // 60:02d}:{rest % 60:02d}:00Z"
        probes = f"{value:.2f},14.00,,{value - 5:.2f},{80 + minute % 3:.1f}"
        lines.append(f"{time},{minute * 60},{probes},rest,0,0,0,0,idle,")
    (tmp_path / "log.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    (tmp_path / "site.toml").write_text(SITE, encoding="utf-8")
    (tmp_path / "A.json").write_text('{"discharge_below_c": 6}', encoding="utf-8")
    (tmp_path / "B.json").write_text('{"charge_above_c": 20, "discharge_below_c": 4}', encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def ran(monkeypatch, capsys, *words):
    """Return (exit status, stdout, stderr) of the command in this process."""
    monkeypatch.setattr(sys, "argv", ["loamstat", *words])
    with pytest.raises(SystemExit) as ended:
        entry.main()
    out = capsys.readouterr()
    return ended.value.code or 0, out.out, out.err


ALL = ["replay", "--open-loop", "log.csv", "--site", "site.toml", "--settings", "A.json", "--settings", "B.json"]
KEYS = (
    "house_min_c house_max_c soil_end_c fan_h charge_h discharge_h starts cold_degree_h hot_degree_h fan_kwh fan_cost"
)


def test_replay_prints_writes_and_ends_with_0(place, monkeypatch, capsys):
    outputs = ["--json", "out.json", "--trace", "out.csv", "--figure", "out.png"]
    status, out, err = ran(monkeypatch, capsys, *ALL, *outputs)
    assert (status, err) == (0, "")
    lines = out.splitlines()
    assert lines[0] == "Bean house: 2881 rows, 2026-01-10 00:00 to 2026-01-12 00:00 (Europe/Lisbon)"
    assert lines[1] == (
        "Open loop: the temperatures stay as logged, only the decisions are new. "
        "The fan's own effect on the house is left out."
    )
    assert " ".join(lines[3].split()) == (
        "night to house min C soil end C as logged fan h starts A fan h starts B fan h starts"
    )
    assert [line.split()[0] for line in lines[5:8]] == ["2026-01-10", "2026-01-11", "2026-01-12"]
    assert lines[-3:] == ["Numbers: out.json", "Every row: out.csv", "Timeline: out.png"]
    assert (place / "out.png").read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"


def test_json_has_the_promised_keys_and_plain_numbers(place, monkeypatch, capsys):
    ran(monkeypatch, capsys, *ALL, "--json", "out.json")
    tree = json.loads((place / "out.json").read_text(encoding="utf-8"))
    assert tree["open_loop"] is True
    assert [run["settings"] for run in tree["runs"]] == ["as logged", "A.json", "B.json"]
    for run in tree["runs"]:
        assert [night["date"] for night in run["nights"]] == ["2026-01-10", "2026-01-11", "2026-01-12"]
        for one in [*run["nights"], run["total"]]:
            assert set(KEYS.split()) <= set(one)
        for key in ("fan_h", "charge_h", "discharge_h", "starts", "fan_kwh", "fan_cost"):
            assert run["total"][key] == pytest.approx(sum(night[key] for night in run["nights"]), abs=1e-3)
    logged, first, second = (run["total"] for run in tree["runs"])
    assert logged["fan_h"] == 0 and first["discharge_h"] > second["discharge_h"] > 0
    assert first["fan_kwh"] == pytest.approx(first["fan_h"] * 0.07, rel=1e-3)
    assert first["fan_cost"] == pytest.approx(first["fan_kwh"] * 0.2, rel=1e-3)


def test_trace_has_one_row_per_log_row_and_settings_file(place, monkeypatch, capsys):
    ran(monkeypatch, capsys, *ALL, "--trace", "out.csv", "--json", "out.json")
    with (place / "out.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert list(rows[0]) == ["settings", *HEADER.split(",")]
    assert [row["settings"] for row in rows] == ["A.json"] * 2881 + ["B.json"] * 2881
    with (place / "log.csv").open(encoding="utf-8", newline="") as file:
        log = list(csv.DictReader(file))
    for name in ("time", "house_c", "soil_c", "outlet_c", "outside_c", "humidity_pct"):
        assert [row[name] for row in rows[:2881]] == [row[name] for row in log], name
    runs = json.loads((place / "out.json").read_text(encoding="utf-8"))["runs"]
    total = sum(int(row["fan_s"]) for row in rows[2881:])
    assert total / 3600 == pytest.approx(runs[2]["total"]["fan_h"], abs=1e-4)
    assert {row["phase"] for row in rows} == {"rest", "charge", "discharge"}
    assert {row["reason"] for row in rows} >= {"cold", "hot", "idle"}


def test_the_trace_can_be_replayed_and_gives_itself(place, monkeypatch, capsys):
    """The rows of one settings file, cut out of the trace, are a log; its own fan hours come back."""
    ran(monkeypatch, capsys, *ALL, "--trace", "out.csv", "--json", "out.json")
    lines = (place / "out.csv").read_text(encoding="utf-8").splitlines()
    own = [HEADER, *(line.partition(",")[2] for line in lines if line.startswith("A.json,"))]
    (place / "log.csv").write_text("\n".join(own) + "\n", encoding="utf-8")
    status, _, err = ran(monkeypatch, capsys, *ALL, "--json", "again.json")
    assert (status, err) == (0, "")
    before = json.loads((place / "out.json").read_text(encoding="utf-8"))["runs"]
    after = json.loads((place / "again.json").read_text(encoding="utf-8"))["runs"]
    assert after[0]["total"] == before[1]["total"]
    assert after[1]["total"] == before[1]["total"]


def test_without_numba_it_says_that_it_is_slow(place, monkeypatch, capsys):
    monkeypatch.setattr(replay.core_numba, "HAVE_NUMBA", False)
    _, out, _ = ran(monkeypatch, capsys, *ALL)
    assert out.splitlines()[2] == "Without numba the plain Python loop runs, some hundred times slower."


REFUSALS = {
    "settings": (
        ["replay", "log.csv", "--site", "site.toml", "--settings", "gone.json"],
        "gone.json: there is no such file.\nCheck the name; a settings file (JSON) is needed here.",
    ),
    "site": (
        ["replay", "log.csv", "--site", "gone.toml", "--settings", "A.json"],
        "gone.toml: there is no such file.\nCheck the name; a site.toml is needed here.",
    ),
    "the same settings twice": (
        ["replay", "log.csv", "--site", "site.toml", "--settings", "A.json", "--settings", "A.json"],
        "A.json: named twice. Compare different files.",
    ),
    "a folder to write": ([*ALL, "--json", "."], ".: this is a folder.\nName a file to write."),
    "no folder": (
        [*ALL, "--json", "fine.json", "--trace", "gone/out.csv"],
        "gone/out.csv: its folder does not exist.\nMake the folder first, or name another.",
    ),
    "one output twice": (
        [*ALL, "--json", "out", "--trace", "./out"],
        "out: named twice as an output.\nGive each output a file of its own.",
    ),
    "an input": (
        [*ALL, "--trace", "./log.csv"],
        "log.csv: would be written over, and it is read here.\nName another file to write.",
    ),
    "a kind of figure": (
        [*ALL, "--figure", "out.bmp"],
        "out.bmp: this kind of figure is not known.\nEnd the name in .png, .svg, .pdf.",
    ),
}


@pytest.mark.parametrize(("words", "told"), REFUSALS.values(), ids=REFUSALS)
def test_what_the_user_can_mend_ends_with_1_and_writes_nothing(place, monkeypatch, capsys, words, told):
    before = sorted(place.iterdir())
    status, out, err = ran(monkeypatch, capsys, *words)
    assert (status, out, err) == (1, "", f"loamstat: {told.replace('/', str(Path('/')))}\n")
    assert sorted(place.iterdir()) == before


@pytest.mark.parametrize(
    ("log", "told"),
    [
        ("", "empty"),
        (HEADER + "\n", "no readings"),
        ("a,b\n1,2\n", "no table of readings"),
        (f"{HEADER}\n2026-01-10T00:00:00Z,0,warm,14,,,,rest,0,0,0,0,idle,\n", "'warm'"),
    ],
)
def test_a_bad_log_ends_with_1_and_writes_nothing(place, monkeypatch, capsys, log, told):
    """The reader's own words are tested with the reader; here: the status, the stream, and no traceback."""
    (place / "log.csv").write_text(log, encoding="utf-8")
    status, out, err = ran(monkeypatch, capsys, *ALL, "--json", "out.json", "--trace", "out.csv")
    assert (status, out) == (1, "")
    assert err.startswith("loamstat: log.csv") and told in err and "Traceback" not in err
    assert not (place / "out.json").exists() and not (place / "out.csv").exists()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["replya"], 'There is no command "replya". Did you mean "replay"?'),
        (["--fast"], "No such option '--fast'."),
        (["replay"], "Missing argument 'LOG...'."),
        (["replay", "log.csv", "--settings", "A.json"], "Missing option '--site'."),
        (["replay", "log.csv", "--site", "site.toml"], "Missing option '--settings'."),
    ],
)
def test_wrong_usage_ends_with_2(place, monkeypatch, capsys, words, told):
    """The last line says what is wrong; the lines above it, how to ask for help, are click's own."""
    status, out, err = ran(monkeypatch, capsys, *words)
    assert (status, out) == (2, "")
    assert err.startswith("Usage: loamstat") and err.splitlines()[-1] == f"Error: {told}"


def test_help_lists_every_command_and_each_has_its_own(monkeypatch, capsys):
    status, out, _ = ran(monkeypatch, capsys, "--help")
    assert status == 0
    for name, _, line in entry.COMMANDS:
        assert f"  {name}" in out and line.split()[0] in out
        status, own, _ = ran(monkeypatch, capsys, name, "--help")
        assert status == 0 and own.startswith(f"Usage: loamstat {name}")


def test_a_fault_of_our_own_keeps_its_traceback(place, monkeypatch):
    monkeypatch.setattr(sys, "argv", ["loamstat", *ALL])
    monkeypatch.setattr(replay, "inputs", lambda log: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        entry.main()


def test_python_m_tuner_is_the_same_command():
    run = subprocess.run(
        [sys.executable, "-m", "tuner", "--help"],
        cwd=Path(__file__).parent.parent,
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0 and run.stdout.startswith("Usage: loamstat ")


def test_nothing_is_written_when_the_disk_says_no(place, monkeypatch, capsys):
    """A write that fails in its middle leaves the old file whole and no spare file behind."""
    (place / "out.json").write_text("old", encoding="utf-8")

    def full(source, target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", full)
    status, _, err = ran(monkeypatch, capsys, *ALL, "--json", "out.json")
    assert status == 1
    assert err == (
        "loamstat: out.json: cannot be written (No space left on device).\n"
        "Check the folder's permissions and free space.\n"
    )
    assert (place / "out.json").read_text(encoding="utf-8") == "old"
    assert not list(place.glob(".*.part"))


def test_values_in_degrees_f_for_people_and_c_for_files(place, monkeypatch, capsys):
    (place / "site.toml").write_text(SITE.replace("[needs]", 'units = "F"\n[needs]'), encoding="utf-8")
    _, out, _ = ran(monkeypatch, capsys, *ALL, "--json", "out.json")
    low = json.loads((place / "out.json").read_text(encoding="utf-8"))["runs"][0]["total"]["house_min_c"]
    assert f"lowest ten minutes {low * 9 / 5 + 32:.1f} F" in out
    assert np.isfinite(low)
