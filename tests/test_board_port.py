"""Does the board behave behind a real serial port: console, Ctrl-C, raw REPL, watchdog, power cut?

Rests on: the virtual board (tests/rig/virtual_board.py), real MicroPython behind a pty; pyserial as any terminal.
"""

import hashlib
import subprocess
import sys
import time

import pytest

from controller.core import rows, selfcheck
from tests.rig.run import micropython

serial = pytest.importorskip("serial")
pytestmark = [
    pytest.mark.skipif(micropython() is None, reason="no MicroPython on this machine"),
    pytest.mark.skipif(sys.platform == "win32", reason="the virtual board needs a pty"),
]
WAIT_S = 60  # never waited for in vain: the machine may be busy


@pytest.fixture(scope="module")
def board(tmp_path_factory):
    from tests.rig.virtual_board import VirtualBoard

    with VirtualBoard(tmp_path_factory.mktemp("board"), speed=20) as virtual:
        yield virtual


@pytest.fixture
def port(board):
    with serial.Serial(board.port, 115200, timeout=WAIT_S) as opened:
        yield opened


def ask(port, line):
    """Send a line; return the answer's lines, the last of which begins with ok or error. [] when none came in time."""
    port.write(line.encode() + b"\r\n")
    answer = []
    while True:
        text = port.readline()
        if not text:
            return []
        answer.append(text.decode(errors="replace").strip())
        if answer[-1].startswith(("ok ", "error ")):
            return answer


def ask_until(port, line, word):
    """Ask again until the answer holds a word: while the board is being reset it does not answer."""
    port.timeout = 2
    end = time.monotonic() + WAIT_S
    answer = []
    while time.monotonic() < end:
        answer = ask(port, line)
        if any(word in text for text in answer):
            port.timeout = WAIT_S
            return answer
    raise AssertionError(f"{line} never told {word}: {answer}")


def test_help_lists_every_command_in_one_line_each(port):
    answer = ask(port, "help")
    assert answer[-1] == "ok 26 commands"
    assert len([line for line in answer if ": " in line]) == 26


def test_selfcheck_has_the_desktops_digest(port):
    settings = rows.defaults()
    course, digest = selfcheck.start(settings), hashlib.sha256()
    for _ in range(selfcheck.STEPS):
        course = selfcheck.step(settings, course)
        digest.update(selfcheck.line(course.state).encode())
    name = hashlib.sha256(",".join(map(str, settings)).encode()).hexdigest()[:12]
    assert ask(port, "selfcheck")[-1] == f"ok 240 steps, settings {name}, digest {digest.hexdigest()}"


def test_ctrl_c_gives_a_prompt_and_the_watchdog_brings_the_board_back(board, port):
    resets = len(board.causes)
    port.write(b"\x03")
    assert port.read_until(b">>> ").endswith(b">>> ")
    assert not any(board.pins[name] for name in ("fan", "heater", "vent", "alarm relay"))
    port.write(b"1+1\r\n")
    assert port.read_until(b"\r\n2\r\n").endswith(b"1+1\r\n2\r\n")
    ask_until(port, "events", "stopped by Ctrl-C")
    assert board.causes[resets:] == ["watchdog"]


def test_a_host_that_feeds_the_watchdog_keeps_the_raw_repl(board, port):
    assert "ok outputs are off" in ask(port, "stop")[-1]
    resets = len(board.causes)
    port.read_until(b">>> ")
    port.write(b"\x01")
    port.read_until(b"raw REPL; CTRL-B to exit\r\n>")
    port.write(b"import time\nfor _ in range(120):\n wdt.feed(); time.sleep_ms(1000)\nprint(boot.slot)\n\x04")
    assert port.read_until(b"\x04>") == b"OKa\r\n\x04\x04>"
    assert board.causes[resets:] == []
    port.write(b"import machine\nmachine.reset()\n\x04")
    ask_until(port, "events", "start of slot a: stopped by the host")


def test_power_cut_and_a_probe_pulled_off(board, port):
    board.power_cycle()
    answer = ask_until(port, "events", "power-on")
    assert answer[-1].startswith("ok ")
    board.do("pull house")
    assert "house-lost" in ask_until(port, "state", "house-lost")[-1]
    board.do("put house")
    assert '"alarms": []' in ask_until(port, "state", '"alarms": []')[-1]


def test_plain_mpremote_lists_the_flash(board, port):
    pytest.importorskip("mpremote")
    port.close()
    command = [sys.executable, "-m", "mpremote", "connect", board.port, "resume", "fs", "ls"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=WAIT_S)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "live.txt" in done.stdout
