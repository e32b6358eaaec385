"""Are settings on the board shown, compared and changed as the board itself would, and does a trial say when it ends?

Rests on: the core's own words for what is refused; a virtual board behind a real pty.
"""

import re
import subprocess
import sys
from datetime import datetime

import pytest
import serial

from controller.core import rows, settings
from tests import link_help
from tests.link_help import settled, type_in
from tuner import link, link_read

pytestmark = link_help.needs_board


@pytest.fixture(scope="module")
def board(tmp_path_factory):
    with link_help.board(tmp_path_factory.mktemp("settings")) as virtual:
        settled(virtual.port)
        yield virtual


@pytest.fixture(autouse=True)
def place(board, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with link.Link(board.port) as one:
        one.ask("load {}")
        one.ask("save")
    return tmp_path


def test_all_are_shown_and_what_is_not_the_default_is_marked(board, monkeypatch, capsys):
    type_in(monkeypatch, capsys, "settings", "--set", "discharge_below_c=5.5", port=board.port)
    status, out, err = type_in(monkeypatch, capsys, "settings", port=board.port)
    assert (status, err) == (0, "")
    lines = out.splitlines()
    assert [line.split()[0] for line in lines[2:]] == [row[0] for row in rows.TABLE]
    assert next(line for line in lines if line.startswith("discharge_below_c")).split() == [
        "discharge_below_c", "5.5", "C", "5",
    ]  # fmt: skip
    _, out, _ = type_in(monkeypatch, capsys, "settings", "--units", "F", port=board.port)
    assert next(line for line in out.splitlines() if line.startswith("discharge_below_c")).split()[1] == "41.9"


def test_a_change_counts_is_saved_and_survives_a_reset(board, monkeypatch, capsys):
    words = ["settings", "--set", "discharge_below_c=6", "--set", "charge_above_c = 22.5"]
    status, out, err = type_in(monkeypatch, capsys, *words, port=board.port)
    assert (status, err) == (0, "")
    assert out == "Changed and kept: charge_above_c 24 -> 22.5 C\nChanged and kept: discharge_below_c 5 -> 6 C\n"
    board.power_cycle()
    settled(board.port)
    with link.Link(board.port) as one:
        held = link_read.settings(one)
    assert held.settings == rows.defaults()._replace(discharge_below_centi_c=600, charge_above_centi_c=2250)
    assert type_in(monkeypatch, capsys, *words, port=board.port)[1] == "It was so already; nothing changed.\n"


REFUSED = [
    {"discharge_below_c": 60},
    {"discharge_below_c": 20},
    {"min_run_s": 10},
    {"dischrge_below_c": 5},
    {"heater_fitted": 2},
    {"charge_above_c": 20.005},
]


@pytest.mark.parametrize("change", REFUSED, ids=str)
def test_what_the_board_refuses_it_refuses_in_the_cores_words(board, monkeypatch, capsys, change):
    (key, value), *_ = change.items()
    told = " ".join(settings.from_mapping({**settings.to_mapping(rows.defaults()), **change})[1])
    status, out, err = type_in(monkeypatch, capsys, "settings", "--set", f"{key}={value}", port=board.port)
    assert (status, out, err) == (1, "", f"loamstat: {told}\n")
    with link.Link(board.port) as one:
        held = link_read.settings(one)
    assert held.settings == rows.defaults() and not held.unsaved


@pytest.mark.parametrize("text", ["x", "=5", "a=", "charge_above_c=2 4"])
def test_a_change_that_is_no_change(board, monkeypatch, capsys, text):
    status, out, err = type_in(monkeypatch, capsys, "settings", "--set", text, port=board.port)
    assert (status, out) == (1, "")
    assert err == f'loamstat: --set {text}: write KEY=VALUE, for example: --set "discharge_below_c=5.5", or =42F\n'


def test_a_file_to_compare_with_and_one_to_write(board, place, monkeypatch, capsys):
    (place / "S.json").write_text('{"charge_above_c": 26, "min_run_s": 600}', encoding="utf-8")
    status, out, _ = type_in(
        monkeypatch, capsys, "settings", "--compare", "S.json", "--out", "now.json", port=board.port
    )
    assert status == 0
    assert out == (
        "The board and S.json: board -> file\n  charge_above_c 24 -> 26 C\n  min_run_s 300 -> 600 s\n"
        "Settings: now.json\n"
    )
    status, out, _ = type_in(monkeypatch, capsys, "settings", "--compare", "now.json", port=board.port)
    assert (status, out) == (0, "The board and now.json: alike.\n")
    (place / "bad.json").write_text('{"charge_above_c": 99}', encoding="utf-8")
    status, _, err = type_in(monkeypatch, capsys, "settings", "--compare", "bad.json", port=board.port)
    assert status == 1 and err.startswith("loamstat: bad.json: 1 fault.\n")


def test_a_trial_says_when_it_ends(board, monkeypatch, capsys):
    status, out, err = type_in(monkeypatch, capsys, "trial", "30", port=board.port)
    assert (status, err) == (0, "")
    found = re.match(r"The trial goes on for 1 d [56] h, until \w{3} ([\d-]+ [\d:]+) by this computer's clock\.\n", out)
    ends = datetime.strptime(found[1], "%Y-%m-%d %H:%M")
    assert 29.8 < (ends - datetime.now()).total_seconds() / 3600 < 30.1
    with link.Link(board.port) as one:
        assert link_read.state(one)["trial_s"] > 100_000
    assert type_in(monkeypatch, capsys, "trial", "0", port=board.port)[1] == "No trial goes on.\n"
    status, _, err = type_in(monkeypatch, capsys, "trial", "97", port=board.port)
    assert (status, err) == (1, "loamstat: Write trial HOURS, 0 to 96; 0 ends it.\n")
    assert type_in(monkeypatch, capsys, "trial", "long", port=board.port)[0] == 2


def test_any_terminal_and_plain_mpremote_can_talk_to_it_too(board):
    with serial.Serial(board.port, 115200, timeout=10) as port:
        port.write(b"\r\nhelp\r\n")
        assert port.read_until(b"commands\r\n").rstrip().endswith(b"ok 26 commands")
    run = subprocess.run(
        [sys.executable, "-m", "mpremote", "connect", board.port, "resume", "fs", "ls", ":/data"],
        capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert run.returncode == 0 and "settings.json" in run.stdout, run.stdout + run.stderr
    assert settled(board.port, 30).slot == "a"  # its Ctrl-C stopped the firmware; the watchdog brings it back
