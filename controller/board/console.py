"""Lines in, lines out: what a person types in a terminal, and what a program sends with checksums.

What lives here: characters to lines, echo, checksums, answers sent a piece at a time. What never does: commands.
A person's line is echoed. A program's line begins with @ and ends with * and the CRC-32 of all before the * (eight
hexadecimal digits); it is not echoed, and each line of its answer ends in the same way. The last line of every answer
begins with "ok" or "error".
"""

import binascii

LONGEST_LINE = 1400
READ_AT_ONCE = 200  # bytes a pump: a flood leaves time for control
WRITE_AT_ONCE = 40  # pieces a pump
SILENT_PUMPS = 400  # without a byte taken: the host has gone, the answer is dropped
BACKSPACE = (8, 127)
PROMPT = b"\r\n"


def sealed(text):
    """Return text with its checksum."""
    return "%s*%08X" % (text, binascii.crc32(text.encode()))


def opened(line):
    """Return the command in a program's line, without its @ and checksum. Raises ValueError when they disagree."""
    star = line.rfind("*")
    if star < 0 or line != sealed(line[:star]):
        raise ValueError("the line and its checksum disagree; send it again.")
    return line[1:star]


class Console:
    """port: a Port. answer(text): an iterable of answer lines. Whatever it raises becomes an error line."""

    def __init__(self, port, answer):
        self.port, self.answer = port, answer
        self.line = bytearray()
        self.bad = ""  # what is wrong with the line that is being read
        self.lines = None  # the answer under way
        self.seal = False
        self.waiting = b""
        self.silent = 0
        self.last = 0  # byte before

    def busy(self):
        """Return True while an answer is under way."""
        return self.lines is not None or len(self.waiting) > 0

    def pump(self):
        """Send what the port takes, then read what waits. Call it often; it never blocks, nor raises an Exception."""
        try:
            self._pump()
        except Exception as fault:  # a port that fails must not cost control
            self.line, self.lines, self.waiting = bytearray(), None, b""
            self.bad = "the port failed: " + repr(fault)

    def _pump(self):
        self._send()
        for _ in range(READ_AT_ONCE):
            if self.lines is not None:
                return  # one answer at a time; the host's bytes wait
            byte = self.port.read()
            if byte < 0:
                return
            self._take(byte)

    def _take(self, byte):
        crlf = byte == 10 and self.last == 13
        self.last = byte
        if crlf:
            return
        if byte in (10, 13):
            self._finish()
        elif byte in BACKSPACE:
            if self.line:
                self.line = self.line[:-1]
                self._echo(b"\x08 \x08")
        elif not 32 <= byte < 127:
            self.bad = "the line holds bytes that are no text."
        elif len(self.line) >= LONGEST_LINE:
            self.bad = "the line is longer than %d characters." % LONGEST_LINE
        else:
            self.line.append(byte)
            self._echo(bytes((byte,)))

    def _echo(self, data):
        if self.line[:1] != b"@" and len(self.waiting) < LONGEST_LINE:
            self.waiting += data

    def _finish(self):
        text, bad = bytes(self.line).decode().strip(), self.bad
        self.line, self.bad = bytearray(), ""
        if not text and not bad:
            return
        self.seal = text[:1] == "@"
        if not self.seal:
            self.waiting += PROMPT
        try:
            if bad:
                raise ValueError(bad)
            self.lines = iter(self.answer(opened(text) if self.seal else text))
        except ValueError as fault:
            self.lines = iter(("error " + str(fault),))
        except Exception as fault:  # a fault of ours must not cost the loop
            self.lines = iter(("error inside: " + repr(fault),))

    def _send(self):
        for _ in range(WRITE_AT_ONCE):
            if not self.waiting:
                self._next_line()
                if not self.waiting:
                    return
            taken = self.port.write(self.waiting)
            if not taken:
                self.silent += 1
                if self.silent > SILENT_PUMPS:
                    self.waiting, self.lines, self.silent = b"", None, 0
                return
            self.silent = 0
            self.waiting = self.waiting[taken:]

    def _next_line(self):
        if self.lines is None:
            return
        try:
            line = next(self.lines)
        except StopIteration:
            self.lines = None
            return
        except ValueError as fault:
            line, self.lines = "error " + str(fault), iter(())
        except Exception as fault:
            line, self.lines = "error inside: " + repr(fault), iter(())
        if line is not None:  # None: nothing to say yet
            self.waiting = ((sealed(line) if self.seal else line) + "\r\n").encode()
