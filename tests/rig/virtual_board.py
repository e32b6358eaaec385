"""A MicroPython board behind a real serial port: the unix build behind a pty, with flash, watchdog and a house.

Raw REPL and raw paste, Ctrl-C interrupts, Ctrl-D soft-resets (boot.py, then main.py unless the reset came from the raw
REPL), as a board does. The flash is littlefs in a file, the watchdog is ours: it ends the interpreter when it is not
fed, whatever runs there. POSIX only.

    with VirtualBoard(work_folder) as board:
        serial.Serial(board.port, 115200) ...
"""

import contextlib
import os
import pty
import select
import subprocess
import termios
import time
from pathlib import Path

from tests.rig.pty_end import PtyEnd
from tests.rig.run import INNER, ROOT, micropython

HARD_RESET = 70  # exit status of the stand-in for machine.reset()
RAW = b"raw REPL; CTRL-B to exit\r\n"
FRIENDLY = b'Type "help()" for more information.\r\n'
LEAST_WATCHDOG_S = 4.0  # of the wall: at speed the interpreter itself needs its time to start
START = """
open(%(tty)r).close()
import sys
sys.path.insert(0, %(inner)r)
import live
live.begin(%(root)r, %(work)r, %(registers)r, %(cause)d, %(speed)r)
del live
for _f in %(files)r:
    try:
        with open(_f) as _h: _s = _h.read()
    except OSError:
        continue
    exec(_s)
"""


def _inner_mode(fd):
    mode = termios.tcgetattr(fd)
    mode[0] = mode[1] = 0  # nothing translated
    mode[3] = termios.ISIG | termios.NOFLSH  # only Ctrl-C, and it keeps queued bytes
    for key in (termios.VQUIT, termios.VSUSP):
        mode[6][key] = b"\0"
    mode[6][termios.VINTR], mode[6][termios.VMIN], mode[6][termios.VTIME] = b"\x03", 1, 0
    termios.tcsetattr(fd, termios.TCSANOW, mode)


class VirtualBoard(PtyEnd):
    """port: the serial port's path. work: a folder for the flash (flash.img) and the rig's own files.

    speed: seconds of the board's time per second of the wall's. on_pin: called with (name, level) at each change.
    resets, starts: how often the chip was reset, and why.
    """

    def __init__(self, work, speed=1, heap="900K", on_pin=None):
        self.work = Path(work)
        self.speed, self.on_pin = speed, on_pin
        self.argv = [micropython(), "-X", "heapsize=" + heap]
        super().__init__()
        self.registers: dict = {}
        self.pins: dict = {}
        self.causes: list = []
        self._deadline = None
        self._timeout_s = 0.0
        self._child = None
        self._raw = False
        (self.work / "done").touch()
        with contextlib.suppress(FileExistsError):
            os.mkfifo(self.work / "told")
        self._told = os.open(self.work / "told", os.O_RDWR | os.O_NONBLOCK)
        self._left = b""

    def _open(self):
        return [*super()._open(), self._told]

    def power_cycle(self):
        """Take the power away and give it back."""
        os.write(self._quit_w, b"p")

    def do(self, words):
        """Do something to the house: see inner/live.done."""
        with open(self.work / "done", "a") as file:
            file.write(words + "\n")

    def _run(self):
        to_raw, cause = False, 1
        while True:
            self._deadline = None
            self.pins = {}
            files = ("/boot.py",) if to_raw else ("/boot.py", "/main.py")
            inner, slave = pty.openpty()
            _inner_mode(slave)
            start = START % {
                "tty": os.ttyname(slave),  # a new session's first one steers it: Ctrl-C arrives
                "inner": str(INNER), "root": str(ROOT), "work": str(self.work), "registers": self.registers,
                "cause": cause, "speed": self.speed, "files": files,
            }  # fmt: skip
            child = subprocess.Popen(  # without preexec_fn: a slow fork would hold every open port of this process
                [*self.argv, "-i", "-c", start], stdin=slave, stdout=slave, stderr=slave, start_new_session=True
            )
            os.close(slave)
            try:
                why = self._relay(inner, to_raw)
                if why in ("quit", "power", "watchdog", "reset"):
                    child.kill()
                code = child.wait()
            finally:
                child.kill()
                child.wait()
                os.close(inner)
            if why == "quit":
                return
            hard = why in ("power", "watchdog", "reset") or code == HARD_RESET
            self.causes.append(why if why != "ended" else "reset" if hard else "soft reset")
            if why == "power":
                self.registers = {}
            cause = 1 if why == "power" else 3
            to_raw = self._raw and not hard
            if not hard:
                os.write(self.master, b"MPY: soft reboot\r\n")

    def _listen(self):
        """Take what the simulated chip tells; return True when it resets itself."""
        stopped = False
        with contextlib.suppress(BlockingIOError):
            self._left += os.read(self._told, 65536)
        *lines, self._left = self._left.split(b"\n")
        for line in lines:
            words = line.decode().split()
            if words[0] == "watch":
                self._timeout_s = max(int(words[1]) / 1000 / self.speed, LEAST_WATCHDOG_S)
            stopped = stopped or words[0] == "stop"
            if words[0] in ("watch", "feed"):
                self._deadline = time.monotonic() + self._timeout_s
            elif words[0] == "keep":
                self.registers[int(words[1])] = int(words[2])
            elif words[0] == "pin":
                name = line.decode().split(" ", 1)[1].rsplit(" ", 1)[0]
                self.pins[name] = int(words[-1])
                if self.on_pin:
                    self.on_pin(name, int(words[-1]))
        return stopped

    def _relay(self, inner, to_raw):
        """Copy bytes both ways until the interpreter ends or must end; return why.

        If to_raw, ask for the raw REPL at the first prompt and hide the friendly banner, as a board does.
        """
        hidden, tail, last = b"", b"", 0
        while True:
            fds = [inner, self._quit_r, self._told] + ([] if to_raw else [self.master])
            wait = None if self._deadline is None else max(self._deadline - time.monotonic(), 0)
            ready = select.select(fds, [], [], wait)[0]
            if self._told in ready and self._listen():
                if select.select([inner], [], [], 0)[0]:
                    self._send(os.read(inner, 4096), last)
                return "reset"  # where main.py asks for it, the interpreter goes on to its prompt
            if self._deadline is not None and time.monotonic() > self._deadline:
                return "watchdog"
            if self._quit_r in ready:
                return "quit" if os.read(self._quit_r, 1) == b"q" else "power"
            if self.master in ready:
                os.write(inner, os.read(self.master, 512))
            if inner not in ready:
                continue
            try:
                data = os.read(inner, 4096)
            except OSError:  # EIO: the interpreter has ended
                data = b""
            if not data:
                self._listen()
                return "ended"
            if to_raw:
                hidden += data
                if hidden.endswith(b">>> ") and RAW not in hidden:
                    os.write(inner, b"\x01")
                if RAW not in hidden:
                    continue
                data = hidden.split(b"MicroPython ", 1)[0] + hidden[hidden.index(RAW) :]
                to_raw = False
            tail = (tail + data)[-256:]
            raw, friendly = tail.rfind(RAW), tail.rfind(FRIENDLY)
            if raw != friendly:
                self._raw = raw > friendly
            last = self._send(data, last)

    def _send(self, data, last):
        """Send the board's bytes to the port, \\n as \\r\\n like a board's print(); return the last byte."""
        out = bytearray()
        for byte in data:
            if byte == 10 and last != 13:
                out.append(13)
            out.append(byte)
            last = byte
        os.write(self.master, bytes(out))
        return last
