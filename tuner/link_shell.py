"""The board's raw REPL, through mpremote's transport: files to its flash, with the watchdog fed all the while.

What lives here: getting in and out, and single steps, each of which either succeeds or raises a LinkError. The order
of an upgrade is link_flash's. The watchdog runs on while the firmware is stopped; it is fed between any two steps.
"""

import contextlib
import errno
import io
import time
from dataclasses import dataclass

from tuner import link as links
from tuner.errors import LinkError
from tuner.link_tree import sha256

FEED_S = 0.7
CHUNK = 1024  # bytes a write: a tenth of a second on a slow flash
PROMPT_S = 12.0  # until the firmware has written its journal and gone
TRIES = 3
ENTER_S = 4
FACTS = """
import sys, gc, os
gc.collect()
print(repr((tuple(sys.implementation.version)[:3], sys.platform, getattr(sys.implementation, '_machine', ''),
 gc.mem_free() + gc.mem_alloc(), os.statvfs('/')[:5], 'wdt' in globals() and 'boot' in globals())))
"""


class Full(LinkError):
    """The board's flash takes no more."""


class Faulty(LinkError):
    """A step failed on the board, or its answer was spoilt; the same step may be tried again."""


@dataclass(frozen=True)
class Facts:
    """The stopped board. heap, block, free: bytes; ours: loamstat's root runs, so wdt and boot are there."""

    micropython: tuple
    platform: str
    machine: str
    heap: int
    block: int
    free: int
    ours: bool


class Shell:
    """Use as a context: it enters the raw REPL. link: an open Link. It does not leave it: restart() or resume() do."""

    def __init__(self, link):
        self.link = link
        self.fed = 0.0
        self.watched = False

    def enter(self, running):
        """Stop what runs and enter the raw REPL. running: the firmware answers, so that it can be asked to stop."""
        if running:
            with contextlib.suppress(links.Silent):  # its answer may be lost; the prompt tells
                self.link.ask("stop", tries=1)
            self._await_prompt()
        self._raw()
        self.watched = self.value("'wdt' in globals()") is True
        self.feed()

    def _raw(self):
        """Enter the raw REPL; a board that is just starting needs more than one try."""
        for turn in range(TRIES):
            try:
                self._do(self.transport.enter_raw_repl, soft_reset=False, timeout_overall=ENTER_S)
                return
            except Faulty:
                if turn == TRIES - 1:
                    raise Faulty(f"{self.link.device}: the board's program could not be stopped.") from None

    @property
    def transport(self):
        """Return mpremote's transport."""
        return self.link.transport

    def _await_prompt(self):
        """Wait for the prompt: a Ctrl-C sooner would hit the firmware while it writes its journal."""
        heard, end = self.link.left, time.monotonic() + PROMPT_S  # it may have come right behind the answer
        while not heard.endswith(b">>> "):
            if time.monotonic() > end:
                raise links.Silent(f"{self.link.device}: the firmware was asked to stop and did not.")
            heard = (heard + self.link.read(0.2))[-80:]

    def _do(self, action, *words, **more):
        """Do one thing of mpremote's; whatever goes wrong becomes a LinkError."""
        from mpremote.transport import TransportError, TransportExecError

        try:
            with contextlib.redirect_stdout(io.StringIO()):  # it prints what it did not understand
                return action(*words, **more)
        except TransportExecError as fault:
            last = str(fault).strip().splitlines()
            raise Faulty(f"{self.link.device}: the board said: {last[-1] if last else 'nothing'}") from None
        except TransportError as fault:
            raise Faulty(f"{self.link.device}: the transfer was disturbed ({str(fault)[:80]}).") from None
        except (ValueError, SyntaxError, IndexError):  # its answer was no value
            raise Faulty(f"{self.link.device}: the board's answer was spoilt.") from None
        except links.faults() as fault:
            raise self._port_fault(fault, words) from None

    def _port_fault(self, fault, words):
        """Return the LinkError of an OSError, which mpremote raises for the board's files as for the port."""
        import serial

        if isinstance(fault, OSError) and words and getattr(fault, "strerror", None) == words[0]:
            if fault.errno == errno.ENOSPC:
                return Full(f"{self.link.device}: the board's flash is full ({words[0]}).")
            word = errno.errorcode.get(fault.errno or 0, str(fault.errno))
            return Faulty(f"{self.link.device}: {words[0]} on the board: {word}.")
        if isinstance(fault, serial.SerialTimeoutException):
            return links.Silent(f"{self.link.device}: the board takes no bytes any more.")
        return links.gone(self.link.device, fault)

    def feed(self):
        """Feed the board's watchdog when it is time."""
        if self.watched and time.monotonic() - self.fed > FEED_S:
            self._do(self.transport.exec, "wdt.feed()")
            self.fed = time.monotonic()

    def run(self, code):
        """Run code on the board; return what it printed."""
        self.feed()
        return self._do(self.transport.exec, code)

    def value(self, expression):
        """Return the value of an expression on the board."""
        return self._do(self.transport.eval, expression)

    def facts(self):
        """Return the Facts of the stopped board."""
        import ast

        try:
            version, platform, machine, heap, stat, ours = ast.literal_eval(self.run(FACTS).decode().strip())
            return Facts(version, platform, machine, heap, stat[0], stat[0] * stat[3], ours)
        except (ValueError, SyntaxError, UnicodeDecodeError):
            raise Faulty(f"{self.link.device}: the board's answer was spoilt.") from None

    def _unless(self, word, action, *words, **more):
        """Do one thing of mpremote's; return None where the board refuses with `word`, which is no failure here."""
        self.feed()
        try:
            return self._do(action, *words, **more)
        except Faulty as fault:
            if word not in str(fault):
                raise
            return None

    def listing(self, folder):
        """Return {name: size} of a folder, folders with size None, {} when there is no such folder."""
        found = self._unless("ENOENT", self.transport.fs_listdir, folder) or []
        return {one.name: None if one.st_mode & 0x4000 else one.st_size for one in found}

    def read(self, path):
        """Return a file's bytes, None when it is not there."""
        data = self._unless("ENOENT", self.transport.fs_readfile, path, progress_callback=self._fed)
        return None if data is None else bytes(data)

    def _fed(self, done, size):
        self.feed()

    def hash(self, path):
        """Return the SHA-256 of a file in hexadecimal, "" when it is not there."""
        digest = self._unless("ENOENT", self.transport.fs_hashfile, path, "sha256", chunk_size=512)
        return "" if digest is None else digest.hex()

    def make(self, folder):
        """Make a folder unless it is there."""
        self._unless("EEXIST", self.transport.fs_mkdir, folder)

    def remove(self, path):
        """Remove a file if it is there."""
        self._unless("ENOENT", self.transport.fs_rmfile, path)

    def write(self, path, data, progress=None):
        """Write a file and verify it by its hash on the board, in up to three tries. progress(bytes so far)."""
        def told(done, size):
            self.feed()
            if progress:
                progress(done)

        for turn in range(TRIES):
            try:
                self.feed()
                self._do(self.transport.fs_writefile, path, data, chunk_size=CHUNK, progress_callback=told)
                if self.hash(path) == sha256(data):
                    return
                raise Faulty(f"{self.link.device}: {path} was not written as sent, in {TRIES} tries.")
            except Faulty:
                if turn == TRIES - 1:
                    raise
                self._raw()

    def restart(self):
        """Let the board start again on purpose, by its own root where it has one. The port is then of no use.

        It waits a moment, so that its answer gets out first; where that is lost all the same, the watchdog sees to it.
        """
        code = "boot.restart()" if self.watched else "import machine\nmachine.reset()"
        with contextlib.suppress(Faulty, links.Gone):
            self._do(self.transport.exec_raw_no_follow, "import time\ntime.sleep_ms(200)\n" + code)

    def resume(self):
        """Leave the raw REPL and start what was on the board before, by a soft reset."""
        self._do(self.transport.exit_raw_repl)
        self.link.write(b"\r\x04")
