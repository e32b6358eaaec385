"""Which probe is which: a roles file for the board, checked before it is sent, in the board's own words."""

from controller.core.settings import nearest
from controller.core.units import crc8_1wire
from tuner.degrees import apart
from tuner.errors import SettingsError
from tuner.settings_file import fault_list, read_table

PLACES = ("house", "soil", "outlet", "outside", "humidity")
FAMILY = 0x28  # DS18B20-type
OFFSET_LIMIT_C = 3


def load_roles(path):
    """Return the roles of a JSON file: {"house": {"serial": "28...", "offset_c": 0.25}, ...}. Raises SettingsError."""
    mapping = read_table(path)
    faults = [text for place, probe in mapping.items() for text in faults_of(place, probe)]
    serials = [probe.get("serial") for probe in mapping.values() if isinstance(probe, dict) and probe.get("serial")]
    twice = sorted({one for one in serials if serials.count(one) > 1}, key=str)
    faults += [f"{serial}: two roles have this probe. Give it one." for serial in twice]
    if faults:
        raise SettingsError(fault_list(path, faults))
    return normal(mapping)


def faults_of(place, probe):
    """Return what is wrong with one role, in words."""
    if place not in PLACES:
        return [f'"{place}" is no role. The nearest is "{nearest(str(place), list(PLACES))}".']
    if not isinstance(probe, dict) or set(probe) - {"serial", "offset_c"}:
        return [f'{place}: write {{"serial": "28...", "offset_c": 0.25}}, either part may be left out.']
    faults = []
    serial, offset = probe.get("serial"), probe.get("offset_c", 0)
    if serial is not None and place == "humidity":
        faults.append("humidity: this probe has no serial number, only an offset_c.")
    elif serial is not None:
        faults += [f"{place}: {text}" for text in serial_faults(serial)]
    if isinstance(offset, bool) or not isinstance(offset, (int, float)) or not abs(offset) <= OFFSET_LIMIT_C:
        faults.append(f"{place}: an offset of {offset!r} is not -3 to 3 degrees C. Replace a probe that needs more.")
    return faults


def serial_faults(text):
    """Return what is wrong with a serial number, in words, in a list."""
    try:
        serial = bytes.fromhex(text) if isinstance(text, str) else b""
    except ValueError:
        serial = b""
    if len(serial) != 8 or len(str(text)) != 16:
        return [f"{str(text)[:40]} is no serial number: 16 hexadecimal digits, as find on the console shows them."]
    if serial[0] != FAMILY or crc8_1wire(serial):
        return [f"{text} is no serial number of a DS18B20-type probe (28 first, check byte last)."]
    return []


def normal(mapping):
    """Return a roles mapping as the board writes it: small letters, offsets of 0 and empty roles left out."""
    out = {}
    for place in PLACES:
        probe = mapping.get(place, {})
        held = {"serial": probe["serial"].lower()} if probe.get("serial") else {}
        if round(probe.get("offset_c", 0), 2):
            held["offset_c"] = round(probe["offset_c"], 2)
        if held:
            out[place] = held
    return out


def changes(before, after, units="C"):
    """Return a line for each role that differs; offsets in units."""
    lines = []
    for place in PLACES:
        old, new = before.get(place, {}), after.get(place, {})
        if old != new:
            lines.append(f"{place} {_text(old, units)} -> {_text(new, units)}")
    return lines


def _text(probe, units):
    offset = f" corrected by {apart(probe['offset_c'], units, 2, '+')}" if probe.get("offset_c") else ""
    return probe.get("serial", "none" if not offset else "probe") + offset
