"""What the board tells of itself, from the console's lines to plain values.

Temperatures arrive as decimal degrees C (settings), hundredths (state) or in the board's own units (roles).
"""

import json
import re
from dataclasses import dataclass
from datetime import datetime

from controller.core import rows
from controller.core import settings as core
from tuner.errors import LinkError
from tuner.link import Silent

SETTING = re.compile(r"(\w+) (-?[\d.]+) \(")
ROLE = re.compile(r"(\w+): (none|on I2C|[0-9a-f]{16}), offset (-?[\d.]+) ([CF])")
NEEDED = ("phase", "reason", "fan", "fan_pct", "uptime_s", "slot", "settings", "alarms", "faults", "safe")


@dataclass(frozen=True)
class Held:
    """The settings that count on the board. texts: {key: value as the board writes it}; unsaved: lost at a reset.

    settings: the core's Settings, None where this program does not know them all; faults: why not.
    """

    texts: dict
    unsaved: bool
    settings: object
    faults: list


def number(text):
    """Return a decimal text as int or float."""
    return float(text) if "." in text else int(text)


def settings(link):
    """Return the board's Held settings."""
    lines = link.ask("settings")
    texts = {found[1]: found[2] for line in lines[:-1] if (found := SETTING.match(line))}
    if not texts:
        raise LinkError(f"{link.device}: the board's list of settings is not understood.\nSend the firmware again.")
    known, faults = core.from_mapping({key: number(text) for key, text in texts.items()})
    missing = [row[0] for row in rows.TABLE if row[0] not in texts]
    if missing:
        known, faults = None, [*faults, f"the board does not have: {', '.join(missing)}"]
    return Held(texts, "not saved" in lines[-1], known, faults)


def roles(link):
    """Return the board's roles as their file has them: {"house": {"serial": "28...", "offset_c": 0.25}, ...}."""
    out = {}
    for line in link.ask("roles")[:-1]:
        found = ROLE.match(line)
        if not found:
            continue
        place, named, offset, units = found.groups()
        probe = {} if named in ("none", "on I2C") else {"serial": named}
        offset_c = round(float(offset) / (1.8 if units == "F" else 1), 2)
        if offset_c:
            probe["offset_c"] = offset_c
        if probe:
            out[place] = probe
    return out


def wiring(link):
    """Return {name: choice} as the wiring's file has them."""
    out = {}
    for line in link.ask("wiring")[:-1]:
        key, value, *_ = line.split(" ", 2)
        out[key] = int(value) if value.isdigit() else value
    return out


def state(link, wait_s=4.0):
    """Return the board's state as a dict (controller/board/README.md). Raises LinkError when it is no such thing."""
    text = link.told("state", wait_s)
    try:
        held = json.loads(text)
    except ValueError:
        held = None
    if not isinstance(held, dict) or any(key not in held for key in NEEDED):
        raise LinkError(f"{link.device}: the board's state is not understood: {text[:80]}\nSend the firmware again.")
    return held


def clock_off_s(state, now):
    """Return by how many seconds the board's clock is ahead of now (UTC datetime), None where it is not set."""
    time = state.get("time")
    return (datetime.fromisoformat(time) - now).total_seconds() if time else None


def slot_files(link, slot):
    """Return {path: SHA-256} of the files that a slot's own list names, {} where it has none."""
    parts = [line.split(" ", 1) for line in link.ask(f"slots {slot}")[:-1]]
    return {words[1]: words[0] for words in parts if len(words) == 2}


def whole_slots(link):
    """Return {slot: (tree, "" when it is whole, else what is wrong)}."""
    out = {}
    for line in link.ask("slots", wait_s=15)[:-1]:
        found = re.match(r"([ab])(?: \(runs\))?: tree (\w+), (.*)", line)
        if found:
            out[found[1]] = found[2], "" if found[3] == "whole" else found[3]
    if set(out) != {"a", "b"}:
        raise Silent(f"{link.device}: the board's list of slots is not understood.")
    return out
