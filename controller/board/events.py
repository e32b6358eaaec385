"""What happened to the board itself, in words: starts and their causes, faults, clock settings.

What lives here: lines in memory until the journal is written, then a bounded text file. What never does: readings.
"""

import os

FOLDER = "/journal"
FILE, OLD = "/events.txt", "/events.old"
MOST_BYTES = 8000
MOST_HELD = 24


class Events:
    """held: lines not yet on flash."""

    def __init__(self, clock, folder=FOLDER):
        self.clock, self.folder = clock, folder
        self.held = []
        self.dropped = 0

    def add(self, text):
        """Note text with the time (or uptime) now."""
        if len(self.held) >= MOST_HELD:
            self.held.pop(0)
            self.dropped += 1
        self.held.append("%s %d s: %s" % (self.clock.text() or "no-clock", self.clock.uptime_s, text[:200]))

    def flush(self):
        """Append the lines to the file; return True on success."""
        if not self.held:
            return True
        path = self.folder + FILE
        try:
            with open(path, "a") as file:
                file.write("\n".join(self.held) + "\n")
            if os.stat(path)[6] > MOST_BYTES:
                os.rename(path, self.folder + OLD)
        except OSError:
            return False
        self.held = []
        return True

    def lines(self):
        """Yield every line, oldest first."""
        for name in (OLD, FILE):
            try:
                with open(self.folder + name) as file:
                    for line in file:
                        yield line.rstrip()
            except (OSError, ValueError):
                pass  # not there yet, or spoilt
        for line in self.held:
            yield line
