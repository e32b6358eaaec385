"""A lead between a program and a board's port, which can be pulled at any byte, or pick up noise.

    with Cable(board.port, cut_after=5000) as cable:
        Link(cable.port) ...

The program's end is a pty of its own. Once cut, it gives errors like a port whose board is gone.
"""

import os
import random
import select
import tty

from tests.rig.pty_end import PtyEnd


class Cable(PtyEnd):
    """port: the program's end. count: bytes that went through, both ways. cut: whether it was pulled.

    cut_after: pull it once so many bytes went through; -1 never. when_cut: called then, for example to take the power
    away. noise: of a thousand bytes so many are replaced, or have a stray byte put before them, by seed.
    """

    def __init__(self, board_port, cut_after=-1, when_cut=None, noise=0.0, seed=0):
        self.cut_after, self.when_cut = cut_after, when_cut
        self.noise, self.random = noise, random.Random(seed)
        self.count, self.cut = 0, False
        super().__init__()
        self.board = os.open(board_port, os.O_RDWR | os.O_NOCTTY)
        tty.setraw(self.board)

    def _open(self):
        return [fd for fd in (*super()._open(), self.board) if not (self.cut and fd == self.master)]

    def _run(self):
        ends = {self.master: self.board, self.board: self.master}
        while True:
            ready = select.select([*ends, self._quit_r], [], [])[0]
            if self._quit_r in ready:
                return
            for end in ready:
                data = os.read(end, 512)
                if 0 <= self.cut_after < self.count + len(data):
                    data = data[: self.cut_after - self.count]
                os.write(ends[end], self._noisy(data))
                self.count += len(data)
                if self.count == self.cut_after:
                    return self._pull()

    def _noisy(self, data):
        if not self.noise:
            return data
        out = bytearray()
        for byte in data:
            if self.random.random() * 1000 < self.noise:
                out.append(self.random.randrange(256))
                if self.random.random() < 0.5:
                    continue
            out.append(byte)
        return bytes(out)

    def _pull(self):
        self.cut = True
        os.close(self.master)
        if self.when_cut:
            self.when_cut()
