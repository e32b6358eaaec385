"""What the desktop's own code decides, as a digest to hold against the board's.

The board hashes the same course of 240 steps (controller.core.selfcheck) under its settings; equal digests mean equal
decisions, to the bit, for this course.
"""

import hashlib

from controller.core import selfcheck

NAME_DIGITS = 12  # of a digest, where it is a name


def name_of(text):
    """Return the digits that name a text."""
    return hashlib.sha256(text.encode()).hexdigest()[:NAME_DIGITS]


def settings_name(settings):
    """Return the name of Settings: of their core ints, joined by commas."""
    return name_of(",".join(str(number) for number in settings))


def digest(settings):
    """Return the SHA-256 of the fixed course of decisions under Settings, in hexadecimal."""
    course, total = selfcheck.start(settings), hashlib.sha256()
    for _ in range(selfcheck.STEPS):
        course = selfcheck.step(settings, course)
        total.update(selfcheck.line(course.state).encode())
    return total.hexdigest()


def answer(settings):
    """Return what the board must answer to selfcheck, without its ok."""
    return f"{selfcheck.STEPS} steps, settings {settings_name(settings)}, digest {digest(settings)}"
