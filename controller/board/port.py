"""The USB serial port, never waiting: bytes in, text out.

What lives here: poll before every read and write. A write goes out in pieces that a USB buffer takes at once.
"""

import select
import sys

PIECE = 64


class Port:
    """One of these, on sys.stdin and sys.stdout."""

    def __init__(self):
        self.input = sys.stdin.buffer  # bytes: noise need not be text
        self.output = sys.stdout.buffer
        self.in_poll = select.poll()
        self.in_poll.register(sys.stdin, select.POLLIN)
        self.out_poll = select.poll()
        self.out_poll.register(sys.stdout, select.POLLOUT)

    def read(self):
        """Return one byte as an int, or -1 when none waits."""
        for _, event in self.in_poll.poll(0):
            if event & select.POLLIN:
                byte = self.input.read(1)
                return byte[0] if byte else -1
        return -1

    def write(self, data):
        """Write the first bytes of data if the port takes them now; return how many."""
        for _, event in self.out_poll.poll(0):
            if event & select.POLLOUT:
                piece = data[:PIECE]
                self.output.write(piece)
                return len(piece)
        return 0
