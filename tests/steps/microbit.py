"""An emulated Cortex-M0 board (QEMU's microbit, MicroPython 1.9.2, 9.6 kB heap) decides over its serial port.

    python -m tests.steps.microbit [steps]

Sent: the functions of tests/steps/small.py (the decision, from timers to stages), settings and readings. Not sent:
screening, reasons, alarms, counters, records, which do not fit beside it. Every Deciding comes back and is compared
whole with the core's on this machine. The child is ended by its own id, always.
"""

import ast
import os
import re
import select
import shutil
import subprocess
import sys
import time
import tty
from pathlib import Path

from controller.core import decide, screen
from controller.core.rows import Settings
from controller.core.screen import Reading
from tests.steps import portable, small

FIRMWARE = Path("/usr/share/firmware-microbit-micropython/firmware.hex")
QEMU = "qemu-system-arm"
LONGEST_LINE = 56  # the board's serial buffer holds 64 bytes
PATIENCE_S = 60
PROMPT = b">>> "
DECIDING = 18  # ints of a Deciding, those of its allowance included


def missing():
    """Return what is not installed, "" when all is there."""
    if shutil.which(QEMU) is None:
        return f"{QEMU} (Debian package qemu-system-arm)"
    return "" if FIRMWARE.exists() else f"{FIRMWARE} (Debian package firmware-microbit-micropython)"


def folded(source):
    """Return source with long lines broken at spaces by a backslash."""
    out = []
    for line in source.splitlines():
        indent = len(line) - len(line.lstrip())
        while len(line) > LONGEST_LINE:
            cut = line.rfind(" ", indent + 1, LONGEST_LINE)
            cut = line.find(" ", indent + 1) if cut < 0 else cut
            if cut < 0:
                break
            out.append(line[:cut] + "\\")
            line, indent = line[cut:], 0
        out.append(line)
    return "\n".join(out)


class Board:
    """The emulated board at its prompt."""

    def __init__(self):
        argv = [QEMU, "-M", "microbit", "-display", "none", "-monitor", "null", "-serial", "pty",
                "-device", f"loader,file={FIRMWARE}"]  # fmt: skip
        self.child = subprocess.Popen(argv, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        self.port = None
        try:
            line = self.child.stdout.readline()
            self.port = os.open(re.search(r"/dev/pts/\d+", line).group(), os.O_RDWR | os.O_NOCTTY)
            tty.setraw(self.port)
            self.enter()
        except BaseException:
            self.close()
            raise

    def close(self):
        """End the child by its own id."""
        if self.port is not None:
            os.close(self.port)
        self.child.kill()
        self.child.wait()

    def until(self, ending, patience_s=PATIENCE_S):
        """Return what came up to ending. Raises TimeoutError with what did come."""
        got, last = b"", time.monotonic() + patience_s
        while not got.endswith(ending):
            if not select.select([self.port], [], [], max(0.0, last - time.monotonic()))[0]:
                raise TimeoutError(f"the board said {got[-200:]!r}, not {ending!r}")
            got += os.read(self.port, 1)
        return got

    def enter(self):
        """Reach the prompt; asked again until the board has started."""
        for _ in range(20):
            os.write(self.port, b"\r\x03\x02")
            try:
                self.until(PROMPT, 3)
                os.write(self.port, b"print(6*7)\r")  # what was asked too often has been answered by then
                self.until(b"42\r\n" + PROMPT)
                return
            except TimeoutError:
                continue
        raise TimeoutError("the emulated board does not answer")

    def run(self, source):
        """Run source on the board and return what it printed. Raises AssertionError with the board's own error.

        In paste mode, where the board echoes each line: the next is sent only then, so that none is lost.
        """
        os.write(self.port, b"\x05")
        self.until(b"=== ")
        for line in folded(source).splitlines():
            os.write(self.port, line.encode() + b"\r")
            self.until(b"\n=== ")
        os.write(self.port, b"\x04")
        said = self.until(PROMPT)[: -len(PROMPT)].decode(errors="replace")
        assert "Error" not in said, said
        return said.strip()


# Runs on the board: reads ints, a few a line, so that nothing need be parsed while it decides.
ASK = """
def g(n):
 a = ()
 while len(a) < n:
  a += tuple(map(int, input().split()))
 return a
"""
GO = """
def go():
 s = g({settings})
 d = g({deciding})
 d = d[:10] + (d[10:13],) + d[13:]
 for i in range({steps}):
  d = {entry}(s, d, g({reading}))
  print(d)
"""
AT_ONCE = 8


def put(board, value):
    """Answer the board's questions for the ints of a tuple, inner tuples in their place."""
    numbers = [str(int(part)) for item in value for part in (item if isinstance(item, tuple) else (item,))]
    for place in range(0, len(numbers), AT_ONCE):
        os.write(board.port, " ".join(numbers[place : place + AT_ONCE]).encode() + b"\r")
        board.until(b"\r\n")  # the echo


def load(board, steps):
    """Send the functions; return the bytes of code sent. Those that wait for the others come first."""
    sources = small.texts()
    entry = sources.pop()
    sizes = {"settings": len(Settings._fields), "reading": len(Reading._fields), "deciding": DECIDING}
    go = GO.format(steps=steps, entry=entry[0], **sizes)
    board.run("import gc")
    for source in (go, ASK, entry[1], *(source for _, source in sources)):
        board.run(source.strip())
        board.run("gc.collect()")
    return len(entry[1]) + sum(len(source) for _, source in sources)


def compare(steps, seed=7):
    """Run steps on board and machine; return (steps, mismatches, bytes of code sent, free heap)."""
    board = Board()
    try:
        each = steps // len(portable.CHANGES)
        size, wrong, done = load(board, each), 0, 0
        free = int(board.run("print(gc.mem_free())"))
        for number in range(len(portable.CHANGES)):
            s, g, w = portable.settings_of(number), portable.seeded(seed), portable.first_weather()
            d, sensed = decide.start(s).deciding, screen.start()
            os.write(board.port, b"go()\r")
            board.until(b"\n")
            put(board, s)
            put(board, d)
            for _ in range(each):
                raw = portable.next_raw(g, w)
                sensed = screen.step(sensed, raw)
                r = screen.reading(s, sensed, raw)
                d = decide.next_deciding(s, d, r)
                put(board, r)
                there = board.until(b"\r\n").decode(errors="replace")
                assert there.startswith("("), there + board.until(PROMPT).decode(errors="replace")
                wrong += ast.literal_eval(there.strip()) != small.flat(d)
                done += 1
            board.until(PROMPT)
        return done, wrong, size, free
    finally:
        board.close()


def main(words):
    """Print the comparison; return 1 when the board decided otherwise even once, or is missing."""
    if missing():
        print(f"emulated board: not installed: {missing()}")
        return 1
    start = time.perf_counter()
    steps, wrong, size, free = compare(int(words[0]) if words else 2000)
    print(
        f"MicroPython on an emulated Cortex-M0: {steps} steps, {wrong} mismatches with CPython; {size} bytes of code "
        f"sent, {free} bytes of heap free ({time.perf_counter() - start:.1f} s)"
    )
    return 1 if wrong or not steps else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
