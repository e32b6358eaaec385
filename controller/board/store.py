"""Small JSON files on flash that are old or new after a power cut, never half.

What lives here: a temporary name, then rename; the copy beside each file. What never does: what is in the files.
A file that cannot be read is no reason to stop: its copy is taken, else the caller's built-in value, and it is told.
"""

import json
import os

FOLDER = "/data"
GOOD, MISSING, BAD = 0, 1, 2  # the file, or a mended copy of it; nothing there; something there that cannot be used


def make_folder(path):
    """Make a folder unless it is there."""
    try:
        os.mkdir(path)
    except OSError:
        pass  # there already, or the flash is spoilt: the next write will tell


def put_text(path, text):
    """Replace the file by text. Raises OSError when the flash takes no more; the old file then stays."""
    with open(path + ".new", "w") as file:
        file.write(text)
    os.rename(path + ".new", path)


def put(name, value, folder=FOLDER):
    """Replace the JSON file of this name, then its copy. Raises OSError when the flash takes no more."""
    text = json.dumps(value) + "\n"
    put_text(folder + "/" + name + ".json", text)
    put_text(folder + "/" + name + ".copy", text)


def read(path, check):
    """Return (check(value), "") of one JSON file, or (None, what is wrong with it). "" for a file that is not there.

    check: a function of the decoded value that returns what is to be used, or raises ValueError with the fault.
    """
    try:
        with open(path) as file:
            text = file.read()
    except OSError:
        return None, ""
    except Exception as fault:  # bytes that are no text
        return None, path + ": " + repr(fault)
    try:
        return check(json.loads(text)), ""
    except (ValueError, TypeError, KeyError, AttributeError, OverflowError) as fault:
        return None, path + ": " + str(fault)
    except (RuntimeError, MemoryError) as fault:  # nested without end
        return None, path + ": " + repr(fault)


def get(name, check, folder=FOLDER):
    """Return (value, GOOD, ""), or (value of the copy or None, MISSING or BAD, what is wrong in words)."""
    value, wrong = read(folder + "/" + name + ".json", check)
    if value is not None:
        return value, GOOD, ""
    copy, _ = read(folder + "/" + name + ".copy", check)
    if not wrong and copy is None:
        return None, MISSING, ""
    return copy, BAD, wrong or folder + "/" + name + ".json is gone"
