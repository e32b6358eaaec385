"""Settings on the board: shown, compared, changed; each change proved by the board's own digest.

All refusals are the board's, in the core's words; a refused change changes nothing.
"""

import json

from controller.core import rows
from controller.core import settings as core
from tuner import link_proof, link_read
from tuner.degrees import is_difference, setting_text
from tuner.errors import LinkError
from tuner.report import table


def value_of(key, text, units):
    """Return a setting's value for people: text as the board has it, or degrees F where that is asked for."""
    if text == "0" and _row(key)[4].endswith("off"):
        return "off"
    if units != "F" or not key.endswith("_c"):
        return text
    return setting_text(key, link_read.number(text), units)


def _row(key):
    return next((row for row in rows.TABLE if row[0] == key), ("", 0, 0, 0, "", ""))


def unit_of(key, units):
    """Return the unit that a setting is shown in."""
    unit = _row(key)[4].split(" ")[0]
    if unit == "C":
        return ("K" if units == "C" else "F diff") if is_difference(key) else units
    return {"pct": "%", "0": ""}.get(unit, unit)


def shown(held, units):
    """Return the lines of a table of all settings, those that are not the default marked."""
    lines = []
    for key, text in held.texts.items():
        row = _row(key)
        default = rows.text_of(row[1], row[4]) if row[0] else text
        mark = "" if text == default else value_of(key, default, units)
        lines.append([key, value_of(key, text, units), unit_of(key, units), mark])
    return table(["setting", "value", "unit", "default, where it differs"], lines)


def changes(held, wanted, units="C"):
    """Return a line for each setting that differs: "charge_above_c 24 -> 22.5 C". wanted: Settings."""
    lines = []
    for row, number in zip(rows.TABLE, wanted, strict=True):
        key, new = row[0], rows.text_of(number, row[4])
        old = held.texts.get(key)
        if old != new:
            before = "not there" if old is None else value_of(key, old, units)
            lines.append(f"{key} {before} -> {value_of(key, new, units)} {unit_of(key, units)}".rstrip())
    return lines


def file_text(held):
    """Return the board's settings as the text of a settings file."""
    return json.dumps({key: link_read.number(text) for key, text in held.texts.items()}, indent=2) + "\n"


def put(link, wanted):
    """Load and save Settings on the board, then prove them. Raises LinkError; refused in the core's words."""
    text = json.dumps(core.to_mapping(wanted), separators=(",", ":"))
    link.ask("load " + text)
    link.ask("save")
    check(link, wanted)


def set_some(link, pairs):
    """Change and save settings given as [(key, text)]; return the Held that counts then."""
    link.ask("set " + " ".join(f"{key} {text}" for key, text in pairs))
    link.ask("save")
    held = link_read.settings(link)
    if held.settings is not None:
        check(link, held.settings)
    return held


def check(link, wanted):
    """Raise LinkError unless the board's saved settings are these, by their digest."""
    version = link.version()
    if version.settings != link_proof.settings_name(wanted) or version.unsaved:
        raise LinkError(
            f"{link.device}: the settings on the board ({version.settings}) are not those that were sent "
            f"({link_proof.settings_name(wanted)}).\nRun the same command again."
        )
