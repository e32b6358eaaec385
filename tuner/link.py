"""Talk with a board over its serial port: sealed lines both ways, asked again where noise spoilt them.

The console's rules are the board's (controller/board/README.md): an empty line ends whatever noise left, then
@COMMAND*CRC32; each line of the answer carries its own CRC, and the last begins with ok or error.
"""

import re
import secrets
import time
import zlib
from dataclasses import dataclass
from typing import Any

from tuner import link_ports
from tuner.errors import LinkError

ANSWER_S = 4.0  # a board answers within a second; one that writes its flash a little later
LONGEST_ANSWER_S = 60.0
LOOK_S = 1.6
ASK_AGAIN_S = 0.4
TRIES = 4
START_S = 30.0  # a restart: two slots hashed, USB found again
PAUSE_S = 0.25
GOING_S = 1.3  # a loop of a second, and its journal

VERSION = re.compile(
    r"ok loamstat (?P<number>\S+), slot (?P<slot>[ab]) \(tree (?P<tree>\w+)\), pins (?P<pins>\w+), "
    r"settings (?P<settings>\w+)(?P<unsaved>, not saved)?(, MicroPython (?P<micropython>[\w.]+))?$"
)


PROMPT = re.compile(rb"(^|\n)(>>>|\.\.\.) ")


class Refused(LinkError):
    """The board answered with an error; the message is the board's own."""


class Silent(LinkError):
    """No answer came in time, though the port is there."""


class Gone(LinkError):
    """The port vanished: lead pulled, power lost, USB reset."""


@dataclass(frozen=True)
class Version:
    """What runs. number: the firmware's version; tree, settings: digests; micropython: "" where it does not say."""

    number: str
    slot: str
    tree: str
    pins: str
    settings: str
    unsaved: bool
    micropython: str


def sealed(text):
    """Return text with its checksum, as the board's console has it."""
    return f"{text}*{zlib.crc32(text.encode()):08X}"


def opened(line):
    """Return a sealed line's text, or None when the line and its checksum disagree."""
    text, star, _ = line.rpartition("*")
    return text if star and sealed(text) == line else None


class Link:
    """An open port. transport: mpremote's, for the raw REPL; its serial port carries the console too."""

    def __init__(self, device):
        self.device = device
        self.usb = link_ports.serial_of(device)
        self.transport: Any = link_ports.opened(device)
        self.left = b""
        self.clean = False  # no answer to an earlier question can be on its way

    def __enter__(self):
        return self

    def __exit__(self, *exc):
        self.close()

    def close(self):
        """Let the port go; what it says meanwhile does not matter any more."""
        try:
            self.transport.close()
        except faults():
            try:
                self.transport.serial.close()
            except faults():
                pass

    def write(self, data):
        """Send bytes. Raises Gone, or Silent when the board takes none."""
        import serial

        try:
            self.transport.serial.write(data)
        except serial.SerialTimeoutException:
            raise Silent(f"{self.device}: the board takes no bytes any more.") from None
        except faults() as fault:
            raise gone(self.device, fault) from None

    def read(self, wait_s):
        """Return the bytes that wait, or the first ones that come within wait_s. Raises Gone."""
        port = self.transport.serial
        try:
            port.timeout = wait_s
            return port.read(port.in_waiting or 1)
        except faults() as fault:
            raise gone(self.device, fault) from None
        finally:
            try:
                port.timeout = link_ports.READ_S
            except faults():
                pass

    def drain(self):
        """Forget what came unasked; a board that never stops talking is not waited for."""
        self.left = b""
        end = time.monotonic() + PAUSE_S
        while self.read(0) and time.monotonic() < end:
            pass

    def lines(self, wait_s):
        """Yield the lines that come until wait_s have passed without one, sealed or not, without their ends."""
        last, end = time.monotonic() + wait_s, time.monotonic() + LONGEST_ANSWER_S
        while True:
            while b"\n" in self.left:
                line, _, self.left = self.left.partition(b"\n")
                last = time.monotonic() + wait_s
                yield line.decode("ascii", "replace").strip("\r")
            now = time.monotonic()
            if now >= min(last, end):
                return
            self.left += self.read(min(min(last, end) - now, PAUSE_S))

    def say(self, command):
        """Send one sealed command, after an empty line."""
        self.drain()
        self.write(b"\n" + sealed("@" + command).encode() + b"\n")

    def sync(self, wait_s=ANSWER_S):
        """Pass over answers that are still on their way: to a lead that was pulled, to a question asked twice.

        A word that is no command is answered with that word; the board answers in order. Return False without one.
        """
        word = f"sync{secrets.token_hex(4)}"
        self.say(word)
        for line in self.lines(wait_s):
            text = opened(line)
            if text is not None and word in text:
                self.clean = True
                return True
        return False

    def ask(self, command, wait_s=ANSWER_S, tries=TRIES):
        """Return the answer's lines, the last of which begins with ok.

        Every command of ours may be sent twice. Raises Refused, Silent or Gone.
        """
        for _ in range(tries):
            if not self.clean and not self.sync(wait_s):
                continue
            self.say(command)
            self.clean, got = False, []
            for line in self.lines(wait_s):
                text = opened(line)
                if text is None:
                    continue
                if text == "error the line and its checksum disagree; send it again.":
                    break
                got.append(text)
                if text.startswith("error "):
                    self.clean = True
                    raise Refused(text.removeprefix("error "))
                if text.startswith("ok ") or text == "ok":
                    self.clean = True
                    return got
        raise Silent(f"{self.device}: the board did not answer {command.split()[0]!r} in {tries} tries.")

    def told(self, command, wait_s=ANSWER_S):
        """Return the last line of an answer without its ok."""
        return self.ask(command, wait_s)[-1].removeprefix("ok ")

    def look(self, wait_s=LOOK_S):
        """Return what is at the other end, without stopping it: (kind, text).

        "loamstat", its version line; "prompt", MicroPython with nothing running; "broken", our root without a slot
        that can be run; "talks", text of another program; "silent", "".
        """
        heard = b""
        end = time.monotonic() + wait_s
        while time.monotonic() < end:
            self.say("version")
            turn = min(time.monotonic() + ASK_AGAIN_S, end)
            while time.monotonic() < turn:
                heard = (heard + self.read(0.05))[-4000:]
                for line in heard.decode("ascii", "replace").splitlines():
                    text = opened(line)
                    if text and VERSION.match(text):
                        self.clean = False
                        self.sync()
                        return "loamstat", text
                if PROMPT.search(heard):
                    self.write(b"\r\n")  # to a prompt our @ begins a statement: end it
                    return "prompt", ""
        if b"no slot can be run" in heard:
            return "broken", ""
        text = heard.decode("ascii", "replace").strip()
        return ("talks", text[:200]) if text else ("silent", "")

    def version(self):
        """Return the Version that runs. Raises LinkError when that is not loamstat."""
        return parsed_version(self.ask("version")[-1])

    def restart(self, wait_s=START_S):
        """Ask the firmware to restart; return the Version that answers then. Raises LinkError.

        The firmware still answers for up to a second after it was asked: who asks too soon hears the old one.
        """
        self.ask("restart")
        self.close()
        time.sleep(GOING_S)
        return self.reopen(wait_s)

    def reopen(self, wait_s=START_S):
        """Wait until the board answers again after a restart, whatever its port is called then.

        Return its Version. Raises Silent when it does not in wait_s.
        """
        self.close()
        end = time.monotonic() + wait_s
        while time.monotonic() < end:
            try:
                self.device = link_ports.device_of(self.device, self.usb)
                self.transport = link_ports.opened(self.device)
                self.clean = False
                while time.monotonic() < end:
                    kind, text = self.look(LOOK_S)
                    if kind == "loamstat":
                        return parsed_version(text)
                    if kind == "broken":
                        break
            except LinkError:
                pass
            self.close()
            time.sleep(PAUSE_S)
        raise Silent(f"{self.device}: the board did not answer within {wait_s:.0f} s.")


def parsed_version(text):
    """Return the Version in a version line. Raises LinkError when it is another program's."""
    found = VERSION.match(text)
    if not found:
        raise LinkError(f"the board's answer is not understood: {text[:80]}\nSee what runs on it: loamstat boards")
    held = found.groupdict()
    return Version(
        held["number"], held["slot"], held["tree"], held["pins"], held["settings"], bool(held["unsaved"]),
        held["micropython"] or "",
    )  # fmt: skip


def faults():
    """Return the exceptions that a port raises when its board goes away."""
    import struct

    try:
        import termios
    except ImportError:  # Windows
        return OSError, TypeError, struct.error
    # TypeError: pyserial, when another thread or a failure closed the port under it.
    return OSError, TypeError, struct.error, termios.error


def gone(device, fault):
    """Return the Gone for what a port raised."""
    return Gone(f"{device}: the port is gone: lead pulled, or power lost ({str(fault)[:80]}).")
