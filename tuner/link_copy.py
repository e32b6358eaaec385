"""A dated copy of what was on the board, kept before anything is written to it."""

import json
from dataclasses import dataclass
from datetime import UTC, datetime

from tuner import link_read, link_settings
from tuner.files import make_folder, write_whole

FOLDER = "board-copies"


@dataclass(frozen=True)
class Board:
    """What a running board told of itself."""

    version: object
    state: dict
    held: object
    roles: dict
    wiring: dict
    counters: str
    events: list


def read(link):
    """Return the Board that a running loamstat tells."""
    return Board(
        link.version(), link_read.state(link), link_read.settings(link), link_read.roles(link),
        link_read.wiring(link), link.told("counters"), link.ask("events", wait_s=8)[:-1],
    )  # fmt: skip


def new_folder(place, name):
    """Make and return a folder named by the moment (UTC) and what it holds; never one that was there."""
    stamp = f"{datetime.now(UTC):%Y-%m-%dT%H%M%SZ}"
    folder = make_folder(place) / f"{stamp} {name}"
    n = 1
    while folder.exists():
        n += 1
        folder = folder.with_name(f"{stamp} {name} ({n})")
    return make_folder(folder)


def keep(place, board, line):
    """Write the copy of a Board; return its folder. line: the version line. Raises OutputError."""
    folder = new_folder(place, f"{board.version.number} slot {board.version.slot}")
    write_whole(folder / "settings.json", link_settings.file_text(board.held))
    for name in ("roles", "wiring", "state"):
        write_whole(folder / f"{name}.json", json.dumps(getattr(board, name), indent=2, sort_keys=True) + "\n")
    write_whole(folder / "board.txt", "\n".join([line, f"counters: {board.counters}", "events:", *board.events]) + "\n")
    return folder


def keep_foreign(place, files):
    """Write the files of another program that is to be replaced; return the folder. files: {name: bytes}."""
    folder = new_folder(place, "another program")
    for name, data in files.items():
        write_whole(folder / name, data)
    return folder
