"""What the board remembers through a reset without wearing its flash, and what it makes of it.

What lives here: the meaning of bytes 3 to 15 of the root's Memory: ages of the last three unintended resets (3 to 5,
in steps of 15 s, 255 = none), flags (6), resets not yet written to the events (7), the time (12 to 15, seconds since
2000, 0 = not set). What never does: a pin, a file.
A power-on empties all of them: it is no fault, and it begins anew.
"""

from controller.core.record import NO_DAY

AGES, FLAGS, COUNT, TIME = 3, 6, 7, 12
STEP_S, NONE = 15, 255
SAFE, STARTED, EXPONENT = 0x80, 0x01, 0x06
START_S = 10  # a reset within this of a start is the start's
LONGEST_EXPONENT = 2  # 1800, 3600, 7200 s
SAFE_S = 43200  # then the ordinary loop is tried again
INTENDED = 16  # as in the root's main.py
MARK = 2
MARK_WORDS = {
    0: "watchdog: the loop stood still",
    1: "a fault of the program",
    2: "stopped by Ctrl-C",
    3: "reset while starting",
    16: "stopped by the host",
    17: "restart asked for",
}


class Survive:
    """boot: the root's Boot. cause: why this start, in words. safe: True when the safe loop is to run."""

    def __init__(self, boot, min_rest_s):
        self.memory = boot.memory
        data = self.memory.data
        self.part_s = 0
        self.since_start_s = START_S + 1
        if boot.woke:
            for i in range(AGES, AGES + 3):
                data[i] = NONE
            data[FLAGS] = data[COUNT] = 0
            self.cause, self.unintended = "power-on", False
        else:
            mark = data[MARK]
            self.cause = MARK_WORDS.get(mark, "unknown")
            self.unintended = mark < INTENDED
            if boot.fell:
                self.leave_safe()  # those resets were the other slot's; this one begins anew
            elif self.unintended:
                self._count(data)
        window_s = max(1800, 4 * min_rest_s)
        if data[AGES + 2] != NONE and data[AGES + 2] * STEP_S <= window_s:
            data[FLAGS] |= SAFE
        data[FLAGS] &= ~STARTED
        self.safe = bool(data[FLAGS] & SAFE)
        boot.mark(0)

    def _count(self, data):
        data[AGES + 2], data[AGES + 1], data[AGES] = data[AGES + 1], data[AGES], 0
        data[COUNT] = min(data[COUNT] + 1, 255)
        if data[FLAGS] & STARTED:
            self.cause += ", within 10 s of a start"
            if data[FLAGS] & SAFE:
                exponent = min((data[FLAGS] & EXPONENT) // 2 + 1, LONGEST_EXPONENT)
                data[FLAGS] = (data[FLAGS] & ~EXPONENT) | exponent * 2

    def rest_s(self):
        """Return the safe loop's rest between blind runs."""
        return 1800 << (self.memory.data[FLAGS] & EXPONENT) // 2

    def unwritten(self):
        """Return the number of unintended resets that the events do not tell yet."""
        return self.memory.data[COUNT]

    def written(self):
        """The events are on flash."""
        self.memory.data[COUNT] = 0

    def second(self, elapsed_s, started, now):
        """Let elapsed_s pass. started: an output was just switched on. now: (day, second) of the clock."""
        data = self.memory.data
        self.since_start_s = 0 if started else min(self.since_start_s + elapsed_s, START_S + 1)
        data[FLAGS] = (data[FLAGS] & ~STARTED) | (STARTED if self.since_start_s <= START_S else 0)
        self.part_s += elapsed_s
        steps, self.part_s = self.part_s // STEP_S, self.part_s % STEP_S
        if steps:
            for i in range(AGES, AGES + 3):
                if data[i] != NONE:
                    data[i] = min(data[i] + steps, NONE)
        total = 0 if now[0] == NO_DAY else now[0] * 86400 + now[1]
        for i in range(4):
            data[TIME + i] = total >> 8 * i & 0xFF
        self.memory.keep()

    def kept_time(self):
        """Return (day, second) as it was at the last loop before the reset, or None."""
        data = self.memory.data
        total = data[TIME] | data[TIME + 1] << 8 | data[TIME + 2] << 16 | data[TIME + 3] << 24
        return (total // 86400, total % 86400) if total else None

    def leave_safe(self):
        """Begin anew: the next start runs the ordinary loop."""
        data = self.memory.data
        data[AGES] = data[AGES + 1] = data[AGES + 2] = NONE
        data[FLAGS] = 0
