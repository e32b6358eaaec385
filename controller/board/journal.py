"""The log on flash: an hour of packed rows at a time, in files of a day or more, the oldest of which go first.

What lives here: blocks (core.record, made thin by core.thin, two bytes of length before each) to files and back. A
power cut costs the hour in memory, nothing older: littlefs shows a file as it was when it was last closed.
What never does: what is in a row (minute), the console's words.
"""

import os

from controller.core import record, thin

FOLDER = "/journal"
BATCH_ROWS = 60
FILE_BYTES = 24_400  # 6 blocks of flash
FILES = 28  # 168 blocks: 36 days or more while a row takes 12.7 bytes or less, 28 days at its longest of 16
LONGEST = record.HEAD_BYTES + record.LONGEST_BLOCK * record.ROW_BYTES + record.CRC_BYTES
SPARE_BLOCKS = 12  # of flash, left free for everything else


def name_of(number):
    """Return the file's name for a number."""
    return "%06d.log" % number


def free_blocks(path):
    """Return the flash blocks that are free, 0 when the flash does not say."""
    try:
        return os.statvfs(path)[3]
    except OSError:
        return 0


class Journal:
    """Rows in memory, blocks on flash. fault: "" or why the last write did not succeed."""

    def __init__(self, folder=FOLDER, files=FILES):
        self.folder, self.files = folder, files
        self.pending = []  # [[first Row, [packed rows]], ...], each one block
        self.held = 0  # rows in pending
        self.fault = ""
        self.lost_rows = 0  # since power-up, because the flash took nothing
        self.follows = (0, 0, -1)  # day, second, uptime of the row that would go on in the last block

    def numbers(self):
        """Return the files' numbers, oldest first."""
        try:
            names = os.listdir(self.folder)
        except OSError:
            return []
        return sorted([int(n[:6]) for n in names if len(n) == 10 and n[6:] == ".log" and n[:6].isdigit()])

    def add(self, row):
        """Take a row. A row that does not follow its predecessor by a minute begins a block."""
        key = (row.day, row.second, row.uptime_s)
        if not self.pending or key != self.follows or len(self.pending[-1][1]) >= record.LONGEST_BLOCK:
            self.pending.append([row, []])
        self.pending[-1][1].append(record.pack(row))
        self.held += 1
        second = row.second + record.ROW_STEP_S
        day = row.day if row.day == record.NO_DAY else row.day + second // 86400
        self.follows = (day, 0 if day == record.NO_DAY else second % 86400, row.uptime_s + record.ROW_STEP_S)
        while self.held > 2 * BATCH_ROWS:  # the flash takes nothing: the newest two hours stay in memory
            self._drop_oldest()

    def _drop_oldest(self):
        block = self.pending[0]
        block[1].pop(0)
        self.held -= 1
        self.lost_rows += 1
        if not block[1]:
            self.pending.pop(0)
            return
        first = block[0]
        second = first.second + record.ROW_STEP_S
        time = (first.day, 0) if first.day == record.NO_DAY else (first.day + second // 86400, second % 86400)
        block[0] = record.Row(*((time[0], time[1], first.uptime_s + record.ROW_STEP_S) + tuple(first)[3:]))

    def due(self):
        """Return True when the rows in memory are to be written."""
        return self.held >= BATCH_ROWS and self.held % 5 == 0  # after a failure the next try is 5 min later

    def blocks(self):
        """Return the rows in memory as thin blocks."""
        return [thin.thin(record.pack_block(first, rows)) for first, rows in self.pending]

    def flush(self):
        """Write the rows in memory; return True on success. A failure keeps them and says why in fault."""
        if not self.held:
            return True
        try:
            data = b"".join([bytes((len(b) & 0xFF, len(b) >> 8)) + b for b in self.blocks()])
            with open(self.folder + "/" + name_of(self._room_for(len(data))), "ab") as file:
                file.write(data)
        except OSError as fault:
            self.fault = "the journal was not written: " + str(fault)
            return False
        self.pending, self.held, self.fault = [], 0, ""
        self._drop_surplus()
        return True

    def _drop_surplus(self):
        """Let the oldest files go, now that the newest is written."""
        for number in self.numbers()[: -self.files]:
            try:
                os.remove(self.folder + "/" + name_of(number))
            except OSError as fault:
                self.fault = "an old file of the journal was not removed: " + str(fault)

    def _room_for(self, length):
        """Return the number of the file to append to, after making room where the flash is nearly full."""
        numbers = self.numbers()
        newest = numbers[-1] if numbers else 0
        if not numbers or self.size(newest) + length > FILE_BYTES:
            newest += 1
            numbers.append(newest)
        while len(numbers) > 1 and free_blocks(self.folder) < SPARE_BLOCKS:
            os.remove(self.folder + "/" + name_of(numbers.pop(0)))
        return newest

    def size(self, number):
        """Return the bytes of a file, 0 when it is not there."""
        try:
            return os.stat(self.folder + "/" + name_of(number))[6]
        except OSError:
            return 0

    def read(self, number, offset=0):
        """Yield (offset, thin block, bytes skipped before it) for each whole block of a file.

        Bytes that are no block are skipped up to the next one with the right CRC. block is b"" for spoilt bytes at
        the end, and None where the search goes on.
        """
        size = self.size(number)
        skipped = 0
        with open(self.folder + "/" + name_of(number), "rb") as file:
            while offset < size:
                file.seek(offset)
                head = file.read(2)
                length = head[0] | head[1] << 8 if len(head) == 2 else 0
                block = file.read(length) if record.HEAD_BYTES < length <= LONGEST else b""
                if len(block) == length and right(block):
                    yield offset, block, skipped
                    offset += 2 + length
                    skipped = 0
                    continue
                offset += 1
                skipped += 1
                if skipped % 64 == 0:
                    yield offset, None, skipped  # nothing yet: let the caller do other things
        if skipped:
            yield offset, b"", skipped


def right(block):
    """Return True when a thin block is whole and its CRC is right."""
    if len(block) < record.HEAD_BYTES or block[1] != record.VERSION:
        return False
    whole = thin.thick(block)
    return len(whole) > 2 and record.crc16(whole[:-2]) == whole[-2] | whole[-1] << 8
