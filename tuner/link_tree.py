"""The firmware that this program would send: every file of a slot with its digest, and the root's main.py.

digest.txt is as controller/board/README.md has it: one line per file, its SHA-256, a space, its path below the slot.
"""

import hashlib
from dataclasses import dataclass
from importlib import resources

from tuner.link_proof import name_of

FOLDERS = ("controller", "controller/core", "controller/board")
LIST = "digest.txt"
SLOTS = ("a", "b")
BLOCK = 4096  # bytes of flash that a file takes at least, on all boards meant
VERSION_FILE = "controller/board/version.py"


@dataclass(frozen=True)
class Tree:
    """files: {path below the slot: bytes}, in the order in which they are sent; root: the root's main.py."""

    files: dict
    root: bytes

    @property
    def digests(self):
        """Return {path: SHA-256 in hexadecimal}."""
        return {path: sha256(data) for path, data in self.files.items()}

    @property
    def listing(self):
        """Return the text of digest.txt."""
        return "".join(f"{digest} {path}\n" for path, digest in self.digests.items())

    @property
    def name(self):
        """Return the digest that names the tree, as the board tells it."""
        return name_of(self.listing)

    @property
    def number(self):
        """Return the firmware's version number."""
        text = self.files[VERSION_FILE].decode()
        return text.rpartition("VERSION = ")[2].strip().strip('"')


def other(slot):
    """Return the other slot's letter."""
    return SLOTS[1 - SLOTS.index(slot)]


def sha256(data):
    """Return the SHA-256 of bytes in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def blocks(size):
    """Return the flash blocks of a file of so many bytes."""
    return -(-size // BLOCK)


def own():
    """Return the Tree that is installed with this program."""
    place = resources.files("controller")
    files = {}
    for folder in FOLDERS:
        inside = place.joinpath(*folder.split("/")[1:])
        for one in sorted(inside.iterdir(), key=lambda one: one.name):
            if one.name.endswith(".py"):
                files[f"{folder}/{one.name}"] = one.read_bytes().replace(b"\r\n", b"\n")
    return Tree(files, files["controller/board/chooser.py"])
