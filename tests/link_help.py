"""What the tests of the board link share: boards to start with, and the commands as a person types them."""

import shutil
import sys
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.rig.run import inner, micropython
from tuner import __main__ as entry
from tuner import link, link_ports, link_tree

needs_board = [
    pytest.mark.skipif(micropython() is None, reason="no MicroPython on this machine"),
    pytest.mark.skipif(sys.platform == "win32", reason="the virtual board needs a pty"),
]
SPEED = 20
FOREIGN = "import time\nn = 0\nwhile True:\n    n += 1\n    print('pump', n)\n    time.sleep_ms(20000)\n"


def type_in(monkeypatch, capsys, *words, port=None):
    """Return (exit status, stdout, stderr) of a command line; port: all the ports that this machine has."""
    if port is not None:
        monkeypatch.setenv(link_ports.INSTEAD, port)
    monkeypatch.setattr(sys, "argv", ["loamstat", *map(str, words)])
    with pytest.raises(SystemExit) as ended:
        entry.main()
    out = capsys.readouterr()
    return ended.value.code or 0, out.out, out.err


def blank(folder, *file):
    """Make a flash image in folder with nothing on it, or one file (name, text)."""
    inner("blank.py", Path(folder) / "flash.img", *file)


@contextmanager
def board(folder, speed=SPEED, image=None, registers=None):
    """Start a virtual board on a flash image in folder: image copied there, or the one that is there, or a new one."""
    from tests.rig.virtual_board import VirtualBoard

    if image is not None:
        shutil.copyfile(image, Path(folder) / "flash.img")
    virtual = VirtualBoard(folder, speed=speed)
    virtual.registers.update(registers or {})
    with virtual as started:
        yield started


def settled(port, wait_s=20):
    """Return the Version that runs at a port, once it answers."""
    with link.Link(port) as one:
        return one.reopen(wait_s)


OWN = link_tree.own()


def other_tree(version="0.1.1", every_file=False):
    """Return this program's firmware with another version number: what an upgrade would bring.

    every_file: let each file differ, so that all are sent.
    """
    tree = OWN
    files = {path: data + b"# another version\n" * every_file for path, data in tree.files.items()}
    files[link_tree.VERSION_FILE] = f'"""Another version."""\n\nVERSION = "{version}"\n'.encode()
    return link_tree.Tree(files, tree.root)


def survivors(**places):
    """Return the registers that outlive a reset, with bytes set by place (see survive.py); the sum is right."""
    data = bytearray(16)
    for name, value in places.items():
        data[int(name.removeprefix("byte"))] = value
    data[0] = (sum(data) - data[0] + 90) & 0xFF
    return {0x4005800C + i: int.from_bytes(data[i : i + 4], "little") for i in range(0, 16, 4)}


def prepared(folder):
    """Make a flash image with both slots whole: b runs version 0.1.1, a holds this program's own; return its path."""
    from tuner import link_copy, link_flash, link_plan

    with board(folder) as virtual, link.Link(virtual.port) as one:
        one.reopen(20)
        tree, held = other_tree("0.1.1"), link_copy.read(one)
        plan = link_plan.plan(one, held, tree, link_plan.Wish())
        link_flash.flash(one, held, plan, tree, lambda text: None, lambda done, total: None, "C")
    return Path(folder) / "flash.img"


def journal(folder, days=2):
    """Make a flash image with the firmware and a journal of some days, from 2026-01-10 on; return its path."""
    inner("week.py", Path(folder) / "flash.img", days, heap="4M")
    return Path(folder) / "flash.img"
