"""Which board is meant, and why a port cannot be used: told in words, with what to do, and never a traceback?

Rests on: real ptys on Linux; the errors of Windows and macOS as their documentation and pyserial's sources have them,
made up here, untried there.
"""

import errno
import os
import pty
import sys
from threading import Timer

import pytest
import serial

from tests import link_help
from tests.link_help import settled, type_in
from tests.rig.cable import Cable
from tuner import link, link_boards, link_ports, link_shell
from tuner.errors import LinkError

COMMANDS = [["flash"], ["pull"], ["watch", "--count", "1"], ["settings"], ["trial", "3"]]
posix = pytest.mark.skipif(sys.platform == "win32", reason="needs a pty")


@pytest.fixture
def silent():
    """A port at whose other end nobody answers."""
    master, slave = pty.openpty()
    yield os.ttyname(slave)
    os.close(master)
    os.close(slave)


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: words[0])
def test_no_board(tmp_path, monkeypatch, capsys, words):
    monkeypatch.chdir(tmp_path)
    status, out, err = type_in(monkeypatch, capsys, *words, port="")
    assert (status, out) == (1, "")
    assert err == f"loamstat: {link_boards.NONE}\n"
    assert list(tmp_path.iterdir()) == []


def test_boards_without_one_says_where_a_new_one_gets_micropython(monkeypatch, capsys):
    status, out, _ = type_in(monkeypatch, capsys, "boards", port="")
    assert status == 0 and out.startswith("No board was found.\n") and "micropython.org/download" in out


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: words[0])
def test_a_port_that_is_not_there(tmp_path, monkeypatch, capsys, words):
    monkeypatch.chdir(tmp_path)
    gone = "/dev/ttyACM77" if sys.platform != "win32" else "COM77"
    status, _, err = type_in(monkeypatch, capsys, *words, "--port", gone)
    assert status == 1
    assert err == f"loamstat: {gone}: there is no such port.\nPlug the board in and look with: loamstat boards\n"


@posix
def test_a_file_is_no_port(tmp_path, monkeypatch, capsys):
    (tmp_path / "port").write_text("x")
    status, _, err = type_in(monkeypatch, capsys, "settings", "--port", tmp_path / "port")
    assert status == 1 and err.endswith("this is no serial port.\nLook with: loamstat boards\n")


@posix
def test_a_port_that_another_program_has_open(silent, monkeypatch, capsys):
    with serial.Serial(silent, exclusive=True):
        status, _, err = type_in(monkeypatch, capsys, "settings", "--port", silent)
        assert status == 1
        assert err == (
            f"loamstat: {silent}: another program has this port open.\n"
            "Close the terminal, editor or other loamstat that uses it, and try again.\n"
        )
        status, out, _ = type_in(monkeypatch, capsys, "boards", port=silent)
        assert status == 0 and "another program has this port open." in out


@posix
def test_a_port_that_is_let_go_soon_is_waited_for(silent):
    """Programs that look at each new port, and ones that are ending, hold it for a moment."""
    held = serial.Serial(silent, exclusive=True)
    Timer(0.5, held.close).start()
    link_ports.opened(silent).close()
    assert not held.is_open


@posix
def test_a_port_that_one_may_not_open_names_the_group_to_join(silent, monkeypatch, capsys):
    import grp
    import pwd

    group = grp.getgrgid(os.stat(silent).st_gid).gr_name
    type_in(monkeypatch, capsys, "settings", "--port", "/dev/none")  # all that is imported is there
    os.chmod(silent, 0o020 if os.geteuid() else 0o620)
    was = os.geteuid()
    name = pwd.getpwuid(was or 65534).pw_name
    if not was:
        os.setegid(65534)
        os.seteuid(65534)  # root may open anything
    try:
        status, _, err = type_in(monkeypatch, capsys, "settings", "--port", silent)
    finally:
        if not was:
            os.seteuid(0)
            os.setegid(0)
    assert status == 1
    assert err == (
        f'loamstat: {silent}: you may not open this port.\nIt belongs to the group "{group}". '
        f"Join it: sudo usermod -a -G {group} {name}\nThen log out and in again.\n"
    )


@posix
def test_a_port_where_nobody_answers(silent, monkeypatch, capsys):
    monkeypatch.setattr(link_boards, "LOOKS", 1)
    monkeypatch.setattr(link, "LOOK_S", 0.2)
    status, _, err = type_in(monkeypatch, capsys, "pull", port=silent)
    assert status == 1
    assert err == (
        "loamstat: no board that runs loamstat was found:\n"
        f"  {silent}: does not answer: another program, or no MicroPython\n"
    )


def fault(kind, text, number=None):
    out = kind(text)
    if number is not None:
        out.errno = number
    return out


# (system, device, what pyserial raises there, how the message goes on)
ELSEWHERE = [
    ("win32", "COM3", fault(serial.SerialException, "could not open port 'COM3': PermissionError(13, 'Access is "
     "denied.', None, 5)"), "another program has this port open."),
    ("win32", "COM9", fault(serial.SerialException, "could not open port 'COM9': FileNotFoundError(2, 'The system "
     "cannot find the file specified.', None, 2)"), "there is no such port."),
    ("win32", "COM4", fault(serial.SerialException, "could not open port 'COM4': OSError(22, 'A device attached to the "
     "system is not functioning.', None, 31)"), "the port cannot be opened (could not open port 'COM4'"),
    ("darwin", "/dev/cu.usbmodem1", fault(serial.SerialException, "[Errno 16] could not open port", errno.EBUSY),
     "another program has this port open."),
    ("darwin", "/dev/cu.usbmodem2", fault(serial.SerialException, "[Errno 2] could not open port", errno.ENOENT),
     "there is no such port."),
    ("linux", "/dev/ttyUSB0", fault(serial.SerialException, "[Errno 5] could not open port", errno.EIO),
     "the port cannot be opened ([Errno 5] could not open port)."),
]  # fmt: skip


@pytest.mark.parametrize(("system", "device", "raised", "told"), ELSEWHERE, ids=[row[1] for row in ELSEWHERE])
def test_errors_of_other_systems_in_words(monkeypatch, system, device, raised, told):
    monkeypatch.setattr(link_ports.sys, "platform", system)
    first, _, mend = link_ports.refusal(device, raised).partition("\n")
    assert first.startswith(f"{device}: {told}") and mend


class Info:
    def __init__(self, device, vid, pid=1, serial_number=None, product=None):
        self.device, self.vid, self.pid = device, vid, pid
        self.serial_number, self.product = serial_number, product


def test_only_ports_that_look_like_boards_are_spoken_to(monkeypatch):
    from serial.tools import list_ports

    ports = [
        Info("COM1", None), Info("/dev/ttyACM1", 0x1234, product="Scale"), Info("COM7", 0x2E8A, 5, "E66", "Board"),
        Info("/dev/cu.usbserial-1", 0x10C4),
    ]  # fmt: skip
    monkeypatch.delenv(link_ports.INSTEAD, raising=False)
    monkeypatch.setattr(list_ports, "comports", lambda: ports)
    found = link_ports.found()
    assert [(port.device, port.likely) for port in found] == [
        ("/dev/cu.usbserial-1", True), ("COM7", True), ("/dev/ttyACM1", False),
    ]  # fmt: skip
    assert found[1].what == "USB 2e8a:0005 Board"
    asked = []
    monkeypatch.setattr(link_boards, "look", lambda port: asked.append(port.device) or link_boards.Found(port, "x", ""))
    assert [one.kind for one in link_boards.all_boards()] == ["x", "x", "other"]
    assert asked == ["/dev/cu.usbserial-1", "COM7"]
    # After a restart the system may have given the same board another name.
    assert link_ports.device_of("COM6", "E66") == "COM7" and link_ports.device_of("COM6", "") == "COM6"


@pytest.mark.parametrize("mark", [pytest.param(None, marks=link_help.needs_board)])
def test_two_boards_are_listed_and_one_is_named(tmp_path, monkeypatch, capsys, mark):
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
    with link_help.board(tmp_path / "one") as one, link_help.board(tmp_path / "two") as two:
        runs = settled(one.port)
        settled(two.port)
        both = os.pathsep.join([one.port, two.port])
        status, _, err = type_in(monkeypatch, capsys, "settings", port=both)
        line = (
            f"loamstat 0.1.0, slot a (tree {runs.tree}), pins pico, settings {runs.settings}, MicroPython "
            f"{runs.micropython}"
        )
        assert status == 1
        assert err == (
            f"loamstat: 2 boards are plugged in:\n  {one.port}: {line}\n  {two.port}: {line}\n"
            f"Name one: --port {one.port}\n"
        )
        status, out, err = type_in(monkeypatch, capsys, "settings", "--port", two.port, port=both)
        assert (status, err) == (0, "") and "charge_above_c" in out
        status, out, _ = type_in(monkeypatch, capsys, "boards", port=os.pathsep.join([both, "/dev/ttyACM77"]))
        assert status == 0 and out.count("loamstat 0.1.0, slot a") == 2 and "  there is no such port.\n" in out


@pytest.mark.parametrize("seed", [pytest.param(seed, marks=link_help.needs_board) for seed in (1, 2)])
def test_noise_costs_a_try(tmp_path, monkeypatch, capsys, seed):
    """One byte in 1400 is spoilt, either way; what cannot be asked again and again is told."""
    with link_help.board(tmp_path) as board:
        settled(board.port)
        with Cable(board.port, noise=0.7, seed=seed) as cable, link.Link(cable.port) as one:
            got = 0
            for _ in range(8):
                try:
                    version = one.version()
                    got += version.slot == "a"
                except LinkError as told:
                    assert "did not answer" in str(told)
            assert got >= 6
        settled(board.port)


@posix
def test_a_board_that_chatters_and_never_answers_is_given_up(silent, monkeypatch):
    """One that was reset in the middle of a step prints now and then; mpremote alone would wait for ever."""
    monkeypatch.setattr(link_ports, "STEP_S", 0.5)
    monkeypatch.setattr(link_ports, "READ_S", 0.1)
    transport = link_ports.opened(silent)
    shell = link_shell.Shell(link.Link.__new__(link.Link))
    shell.link.transport, shell.link.device = transport, silent

    class Chatter:
        in_waiting = 1

        def inWaiting(self):
            return 1

        def read(self, size):
            return b"x"

    port, transport.serial = transport.serial, Chatter()
    with pytest.raises(LinkError, match="the transfer was disturbed"):
        shell._do(transport.exec, "1")
    port.close()
