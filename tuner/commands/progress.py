"""Progress of long work: one line on a terminal, rewritten in place; nothing where stderr is a file."""

import sys
import time
from pathlib import Path

SHOWN_AFTER_S = 0.7
PAUSE_S = 0.2


def bar(share):
    """Return a bar of 20 places for a share 0 to 1."""
    return f"[{'#' * round(20 * share):20}]"


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


class LongWork:
    """Context: gives a callable (text, share done or None) that shows one line on a terminal, cleared at the end."""

    def __init__(self, stream=None):
        self.stream = stream or sys.stderr
        self.shown = 0.0

    def __enter__(self):
        return self.tell if self.stream.isatty() else lambda text, share: None

    def tell(self, text, share):
        """Show one line, at most every PAUSE_S seconds unless share is None."""
        now = time.monotonic()
        if share is not None and now - self.shown < PAUSE_S:
            return
        self.shown = now
        self.stream.write(f"\r\x1b[K{'' if share is None else bar(share) + ' '}{text}")
        self.stream.flush()

    def __exit__(self, *_):
        if self.stream.isatty():
            self.stream.write("\r\x1b[K")
            self.stream.flush()


def bytes_bar(word, stream=None):
    """Return a callable (done, total) that shows a bar on a terminal, rewritten in place; nothing elsewhere."""
    stream = stream or sys.stderr
    if not stream.isatty():
        return lambda done, total: None
    shown = {"at": 0.0}

    def show(done, total):
        now = time.monotonic()
        if now - shown["at"] < PAUSE_S and done < total:
            return
        shown["at"] = now
        part = min(done / total, 1) if total else 1.0
        end = "\r\x1b[K" if done >= total else ""
        stream.write(f"\r{word} {bar(part)} {part:4.0%} of {total / 1000:,.0f} kB{end}")
        stream.flush()

    return show
