"""What a flash would change on a board, worked out before anything is written, and refusals that need no writing.

What lives here: comparing and words. What never does: a byte to the board.
"""

from dataclasses import dataclass

from controller.core import settings as core
from tuner import link_read, link_roles, link_settings
from tuner.errors import LinkError
from tuner.link_tree import BLOCK, blocks, other

LEAST_MICROPYTHON = (1, 20, 0)
LEAST_HEAP = 160_000  # bytes; the firmware takes about 120 kB of a board's
PLATFORMS = {"rp2": "pico", "esp32": "esp32", "linux": "pico"}  # sys.platform: pin map; linux is the simulated board
SPARE_BLOCKS = 8  # the largest file twice, and folders that grow


@dataclass(frozen=True)
class Plan:
    """slot: where the firmware goes, "" when the board has it already. changed, new, gone: paths against what runs.

    settings, roles: Settings and mapping to send, None where they stay. lines: all of it in words.
    """

    slot: str
    settings: object
    roles: object
    lines: list

    @property
    def nothing(self):
        """Return True when the board has it all."""
        return not self.slot and self.settings is None and self.roles is None


@dataclass(frozen=True)
class Wish:
    """What the person asked for. settings: Settings or None; roles: mapping or None."""

    settings: object = None
    roles: object = None
    units: str = "C"


def plan(link, board, tree, wish):
    """Return the Plan for a running board. Raises LinkError where it cannot be done."""
    slot = "" if board.version.tree == tree.name else other(board.version.slot)
    lines = firmware_lines(link, board.version, tree, slot) if slot else [f"firmware: {tree.number} already runs"]
    settings = wish.settings
    if settings is None and slot:
        settings = carried_over(board.held)
    told = link_settings.changes(board.held, settings, wish.units) if settings is not None else []
    if not told and not board.held.unsaved:
        settings = None
    lines += [f"settings: {line}" for line in told] or ["settings: stay as they are"]
    if not told and board.held.unsaved and settings is not None:
        lines.append("settings: saved on the board, so that a reset keeps them")
    roles = wish.roles
    told = link_roles.changes(link_roles.normal(board.roles), roles, wish.units) if roles is not None else []
    if not told:
        roles = None
    lines += [f"role: {line}" for line in told]
    return Plan(slot, settings, roles, lines)


def carried_over(held):
    """Return the Settings that the new firmware is to have where none are given: those of the board, checked anew.

    Raises LinkError when the new firmware would refuse them.
    """
    settings, faults = core.from_mapping({key: link_read.number(text) for key, text in held.texts.items()})
    if faults:
        listed = "\n  ".join(faults)
        raise LinkError(
            f"the settings on the board do not suit this firmware:\n  {listed}\n"
            "Nothing was changed. Give a settings file: --settings S.json"
        )
    return settings


def firmware_lines(link, version, tree, slot):
    """Return what differs between the firmware that runs and the one to send, in words."""
    running = link_read.slot_files(link, version.slot)
    here = tree.digests
    changed = [path for path in here if path in running and running[path] != here[path]]
    new = [path for path in here if path not in running]
    gone = [path for path in running if path not in here]
    lines = [f"firmware: {version.number} in slot {version.slot} -> {tree.number} in slot {slot}"]
    for word, paths in (("changed", changed), ("new", new), ("no longer there", gone)):
        if paths:
            names = ", ".join(path.removeprefix("controller/") for path in paths)
            lines.append(f"  {len(paths)} {word}: {names if len(paths) <= 12 else _folders(paths)}")
    return lines


def _folders(paths):
    counts = {}
    for path in paths:
        folder = path.rpartition("/")[0]
        counts[folder] = counts.get(folder, 0) + 1
    return ", ".join(f"{count} in {folder}" for folder, count in counts.items())


def refuse_board(facts):
    """Raise LinkError when the stopped board cannot run this firmware. facts: link_shell.Facts."""
    version = ".".join(map(str, facts.micropython))
    if facts.micropython < LEAST_MICROPYTHON:
        raise LinkError(
            f"the board has MicroPython {version}; loamstat needs {'.'.join(map(str, LEAST_MICROPYTHON))} or later.\n"
            "Put a newer one on it (micropython.org/download), then flash again. Copy settings and log first."
        )
    if facts.platform not in PLATFORMS:
        raise LinkError(
            f"there is no pin map for this kind of board ({facts.machine or facts.platform}).\n"
            f"loamstat runs on RP2040, RP2350 and ESP32 boards."
        )
    if facts.heap < LEAST_HEAP:
        raise LinkError(
            f"the board has {facts.heap // 1000} kB of memory for programs; loamstat needs {LEAST_HEAP // 1000} kB.\n"
            "Take a board with more."
        )


def refuse_frost(state, now):
    """Raise LinkError while frost guard holds: a restart keeps the fan off for min_rest_s. now: do it all the same."""
    if state.get("guard") and not now:
        raise LinkError(
            "frost guard holds on the board: the plants need the fan, and a restart keeps it off for some minutes.\n"
            "Nothing was changed. Wait for a warmer hour, or add --now."
        )


def refuse_space(facts, sizes, held):
    """Raise LinkError when files would not fit. sizes: {path: bytes to send}; held: {path: bytes there already}."""
    need = sum(max(blocks(size) - blocks(held.get(path) or 0), 0) for path, size in sizes.items()) + SPARE_BLOCKS
    need *= BLOCK
    if facts.free < need:
        raise LinkError(
            f"the board's flash is too full: {facts.free // 1024} kB are free, {need // 1024} kB are needed.\n"
            "Fetch the log (loamstat pull), then remove files that are not loamstat's: mpremote resume fs ls"
        )
