"""Is the watch screen tidy at any size, in a pipe, and when the lead is pulled, and is its record a log?

Rests on: states that a virtual board told, changed by hand; a real pty as the terminal.
"""

import fcntl
import os
import pty
import struct
import subprocess
import sys
import termios
from datetime import UTC, datetime

import pytest

from controller.core import reasons, rows
from controller.core.phases import REST
from tests import link_help
from tests.link_help import settled, type_in
from tests.rig.cable import Cable
from tests.rig.run import ROOT
from tuner import link, link_record, link_watch, link_words

STATE = {
    "slot": "a", "fan": 1, "version": "0.1.0", "safe": 0, "humidity_deci_pct": 871, "uptime_s": 90061, "run_s": 125,
    "hand": "auto", "settings": "a7e324077d71", "soil_centi_c": 1300, "outside_centi_c": -506, "allowance_s": 14400,
    "dew_centi_c": None, "least_run_left_s": 175, "outlet_centi_c": 900, "rest_s": 0, "vent": 0, "test": "",
    "reason": "cold", "fan_pct": 100, "alarms": ["frost"], "starts": 3, "phase": "discharge", "unsaved": 0,
    "faults": ["journal"], "trial_s": 7265, "guard": 0, "next_start_s": 0, "time": "2026-03-01T05:06:07Z",
    "house_centi_c": 406, "heater": 0, "readback": 2, "house_probe": 1,
}  # fmt: skip


def test_the_screen_at_80_by_24():
    shown = link_watch.screen(STATE, rows.defaults(), "C", (80, 24), "/dev/ttyACM0")
    assert shown == [
        "/dev/ttyACM0  loamstat 0.1.0, slot a, settings a7e324077d71",
        "2026-03-01 05:06:07 UTC   up 1 d 1 h",
        "-" * 80,
        "house         4.1 C       soil         13.0 C",
        "outlet        9.0 C       outside      -5.1 C",
        "humidity       87 %       dew point        --",
        "",
        "DISCHARGE  fan on at 100 % for 2 min 05 s",
        "The house is cold and the soil warmer: heat is brought back. (cold)",
        "",
        "ALARMS: 2",
        "  frost: The house is at or below the frost alarm.",
        "  journal: The journal cannot be written; the newest two hours are kept in memo…",
        "",
        "shortest run ends in  2 min 55 s",
        "longest run ends in   3 h 57 min",
        "running time left     4 h 00 min, no daily limit",
        "trial ends in         2 h 01 min",
        "heater off, vent shut, hand switch on auto, contactor on",
        "", "", "", "",
        "Ctrl-C ends",
    ]  # fmt: skip


@pytest.mark.parametrize("size", [(80, 24), (40, 12), (20, 5), (132, 50), (60, 16)])
@pytest.mark.parametrize(
    "change",
    [
        {},
        {"fan": 0, "phase": "rest", "reason": "soil-reserve", "next_start_s": 61, "alarms": [], "faults": []},
        {"alarms": [word for word, _ in reasons.ALARMS], "faults": list(link_words.FAULT_TEXT), "guard": 1},
        {"safe": 1, "phase": "safe", "reason": "safe", "house_centi_c": None, "time": ""},
        {"unsaved": 1, "test": "fan", "heater": 1, "vent": 1},
    ],
)
def test_no_line_is_too_long_and_none_too_many(size, change):
    state = {**STATE, **change}
    for units in ("C", "F"):
        shown = link_watch.screen(state, rows.defaults(), units, size, "/dev/ttyACM0", 3)
        width, height = max(size[0], link_watch.LEAST_WIDTH), max(size[1], link_watch.LEAST_HEIGHT)
        assert len(shown) == height and max(map(len, shown)) <= width
        assert shown[-1].startswith("NO ANSWER for 3 s")
        text = "\n".join(shown)
        assert "alarms: none" in text or "ALARMS: " in text
    assert link_watch.screen(None, None, "C", (80, 24), "COM3")[0] == "COM3: waiting for the board"


def test_every_reason_alarm_and_fault_has_its_words():
    """The board's own faults stand in controller/board/setup.py, which the tuner may not import; here it may."""
    import ast

    tree = ast.parse((ROOT / "controller" / "board" / "setup.py").read_text(encoding="utf-8"))
    faults = next(n.value for n in tree.body if isinstance(n, ast.Assign) and n.targets[0].id == "FAULTS")
    assert dict(ast.literal_eval(faults)) == link_words.FAULT_TEXT
    for word, text in reasons.REASONS:
        assert link_words.reason({**STATE, "reason": word}) == text


def test_the_line_in_degrees_f():
    assert link_words.status_line({**STATE, "fan": 0, "next_start_s": 75, "heater": 1}, "F") == (
        "2026-03-01T05:06:07Z  discharge (cold): house 39.3 F, soil 55.4 F, outlet 48.2 F, outside 22.9 F, "
        "humidity 87 %; fan off, may start in 1 min 15 s, heater on, running time left 4 h 00 min, "
        "trial for 2 h 01 min more; alarms: frost journal"
    )


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(0, "0 s"), (59, "59 s"), (60, "1 min 00 s"), (3599, "59 min 59 s"), (3600, "1 h 00 min"), (90000, "1 d 1 h")],
)
def test_durations(seconds, text):
    assert link_words.duration(seconds) == text


def test_a_record_counts_the_fans_seconds_between_two_looks():
    off = {**STATE, "fan": 0, "rest_s": 4, "uptime_s": 100}
    assert link_record._fan_s(off, None) == 0
    assert link_record._fan_s(off, {**STATE, "fan": 1, "uptime_s": 90}) == 6
    assert link_record._fan_s({**STATE, "run_s": 3, "uptime_s": 100}, {**off, "uptime_s": 90}) == 3
    assert link_record._fan_s({**STATE, "run_s": 900, "uptime_s": 100}, {**STATE, "uptime_s": 90}) == 10
    assert link_record._fan_s({**STATE, "uptime_s": 5}, {**STATE, "uptime_s": 90}) == 0  # it was reset between
    assert link_record._phase({"phase": "safe"}) == REST
    assert link_record.line_of(STATE, None) == (
        "2026-03-01T05:06:07Z,90061,4.06,13.00,9.00,-5.06,87.1,discharge,100,0,0,0,cold,frost"
    )
    assert f"{datetime.now(UTC):%Y-%m-%dT}" in link_record.line_of({**STATE, "time": ""}, None)


needs_board = link_help.needs_board


@pytest.fixture(scope="module")
def board(tmp_path_factory):
    with link_help.board(tmp_path_factory.mktemp("watched"), 60) as virtual:
        settled(virtual.port)
        with link.Link(virtual.port) as one:
            one.ask("clock 2026-03-01T06:30:00Z")
        yield virtual


class TestLive:
    pytestmark = needs_board

    def test_in_a_pipe_it_prints_lines_and_records_a_log(self, board, tmp_path, monkeypatch, capsys):
        monkeypatch.chdir(tmp_path)
        words = ["watch", "--count", "8", "--every", "0.2", "--record", "R.csv"]
        status, out, err = type_in(monkeypatch, capsys, *words, port=board.port)
        assert status == 0 and err == "8 rows: R.csv\n"
        assert len(out.splitlines()) == 8 and "\x1b" not in out and all(" house " in line for line in out.splitlines())
        type_in(monkeypatch, capsys, *words, port=board.port)
        recorded = (tmp_path / "R.csv").read_text().splitlines()
        assert recorded[0] == link_record.HEADER and len(recorded) == 17
        status, out, err = type_in(monkeypatch, capsys, "inspect", "R.csv")
        assert (status, err) == (0, ""), err
        assert int(out.split()[0]) in (15, 16)  # the second go may begin in the second in which the first ended
        (tmp_path / "N.csv").write_text("a,b\n")
        status, _, err = type_in(monkeypatch, capsys, "watch", "--record", "N.csv", port=board.port)
        assert status == 1
        assert err == "loamstat: N.csv: this is no log of a board.\nName another file: --record LOG.csv\n"

    def test_on_a_terminal_ctrl_c_leaves_it_as_it_was(self, board):
        shown = on_terminal(["watch", "--every", "0.2"], board.port, b"Ctrl-C ends")
        page, end = shown.split(b"\x1b[?1049h", 1)[1].rsplit(b"\x1b[?1049l", 1)
        assert b"\x1b[?25l" in page and page.rstrip().endswith(b"\x1b[?25h")
        assert b"house" in page and b"running time left" in page
        assert end.count(b"\r\n") == 1 and b"\x1b" not in end and b"Traceback" not in shown

    def test_a_lead_that_is_pulled_is_waited_for(self, board, monkeypatch, capsys):
        from tuner.commands import watch

        with Cable(board.port, 9000) as cable:
            seen = []
            with link.Link(cable.port) as one:
                for state, silence_s in watch._states(one, 0.05, None):
                    seen.append(state is not None)
                    quiet_s = silence_s
                    if seen[-2:] == [False, False]:
                        break
            assert seen[0] and quiet_s > 0 and cable.cut

    def test_a_board_that_restarts_is_found_again(self, board, monkeypatch, capsys):
        from tuner.commands import watch

        with link.Link(board.port) as one:
            states = watch._states(one, 0.05, 3)
            first = next(states)[0]
            board.power_cycle()
            later = [state for state, _ in states if state is not None]
        assert first and len(later) == 2 and later[-1]["uptime_s"] < 600


def on_terminal(words, port, until):
    """Return all that a command wrote to a terminal of 80 by 24; Ctrl-C is typed once the text until was seen."""
    master, slave = pty.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    environ = {**os.environ, "LOAMSTAT_PORTS": port, "TERM": "xterm", "PYTHONPATH": str(ROOT)}
    child = subprocess.Popen(
        [sys.executable, "-m", "tuner", *words], stdin=slave, stdout=slave, stderr=slave, env=environ, cwd=ROOT,
        preexec_fn=lambda: (os.setsid(), fcntl.ioctl(0, termios.TIOCSCTTY, 0)),
    )  # fmt: skip
    os.close(slave)
    shown, typed = b"", False
    try:
        while True:
            try:
                data = os.read(master, 4096)
            except OSError:
                break
            if not data:
                break
            shown += data
            if until in shown and not typed:
                os.write(master, b"\x03")
                typed = True
        assert child.wait(30) == 0
    finally:
        child.kill()
        child.wait()
        os.close(master)
    return shown
