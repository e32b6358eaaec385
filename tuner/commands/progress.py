"""Progress of reading large logs: one line on a terminal, rewritten in place; nothing where stderr is a file."""

import sys
import time
from pathlib import Path

SHOWN_AFTER_S = 0.7
PAUSE_S = 0.2


def reading(stream=None):
    """Return a callable (path, bytes read so far) for logs.read_logs that shows how far a long read has come."""
    stream = stream or sys.stderr
    if not stream.isatty():
        return None
    began = time.monotonic()
    shown = {"at": began, "sizes": {}}

    def show(path, done):
        now = time.monotonic()
        size = shown["sizes"].setdefault(path, max(Path(path).stat().st_size, 1))
        if now - began < SHOWN_AFTER_S or (now - shown["at"] < PAUSE_S and done < size):
            return
        shown["at"] = now
        end = "\r\x1b[K" if done >= size else ""
        stream.write(f"\rreading {path}: {min(done / size, 1):.0%} of {size / 1e6:,.0f} MB{end}")
        stream.flush()

    return show
