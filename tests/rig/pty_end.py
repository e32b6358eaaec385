"""A pty whose program's end stays open while others come and go, and the thread that serves our end of it."""

import os
import pty
import threading
import tty


class PtyEnd:
    """port: the path that a program opens. Use as a context. Subclasses give _run, which ends when _quit_r is ready.

    master: our end; _quit_w: what is written there wakes _run, "q" to end it.
    """

    def __init__(self):
        self.master, self._keep = pty.openpty()  # our copy keeps the name taken, whoever has gone
        tty.setraw(self._keep)
        self.port = os.ttyname(self._keep)
        self._quit_r, self._quit_w = os.pipe()
        self._thread = threading.Thread(target=self._run, daemon=True)

    def __enter__(self):
        self._thread.start()
        return self

    def __exit__(self, *exc):
        os.write(self._quit_w, b"q")
        self._thread.join(10)
        for fd in self._open():
            os.close(fd)

    def _open(self):
        """Return what is to be closed at the end."""
        return [self.master, self._keep, self._quit_r, self._quit_w]

    def _run(self):
        raise NotImplementedError
