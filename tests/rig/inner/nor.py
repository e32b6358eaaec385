"""NOR flash for littlefs: counts erases and programs, can lose power before any operation, tears the write it loses.

In memory (path None) or in a file of the host.
"""

EIO = 5


class Nor:
    """blocks of 4096 bytes. left: operations until the power goes, -1 for never. After that all writes fail."""

    def __init__(self, blocks=352, path=None, size=4096):
        self.size, self.blocks = size, blocks
        self.path, self.file, self.data = path, None, None
        if path is None:
            self.data = bytearray(b"\xff" * (blocks * size))
        else:
            try:
                self.file = open(path, "r+b")
            except OSError:
                with open(path, "wb") as file:
                    for _ in range(blocks):
                        file.write(b"\xff" * size)
                self.file = open(path, "r+b")
        self.left = -1
        self.dead = False
        self.broken = False  # refuses every write, with power
        self.operations = 0
        self.erased = [0] * blocks
        self.programs = 0

    def _get(self, place, buffer):
        if self.data is not None:
            buffer[:] = self.data[place : place + len(buffer)]
        else:
            self.file.seek(place)
            self.file.readinto(buffer)

    def _put(self, place, data):
        if self.data is not None:
            self.data[place : place + len(data)] = data
        else:
            self.file.seek(place)
            self.file.write(data)

    def _spend(self, place, data):
        """One operation; of the one at which the power goes only the first half reaches the flash."""
        if self.broken:
            raise OSError(EIO)
        if self.left == 0:
            self._put(place, data[: len(data) // 2])
            self.dead = True
            raise OSError(EIO)
        if self.left > 0:
            self.left -= 1
        self.operations += 1

    def readblocks(self, number, buffer, offset=0):
        if self.dead:
            return
        self._get(number * self.size + offset, buffer)

    def writeblocks(self, number, buffer, offset=None):
        if offset is None:
            self.ioctl(6, number)
            offset = 0
        if self.dead:
            return  # without power: nothing is written, and the one who asked is gone too
        place = number * self.size + offset
        self._spend(place, bytes(buffer))
        self.programs += 1
        self._put(place, bytes(buffer))

    def ioctl(self, operation, argument):
        if operation == 4:
            return self.blocks
        if operation == 5:
            return self.size
        if operation == 6:
            if self.dead:
                return 0
            place = argument * self.size
            self._spend(place, b"\xff" * self.size)
            self.erased[argument] += 1
            self._put(place, b"\xff" * self.size)
            return 0
        if operation in (1, 2, 3):
            return 0
        return None

    def power(self):
        """Power is back."""
        self.left, self.dead = -1, False
