"""What is fitted and how: wiring, probe roles, units. Their files' contents, checked in words.

What lives here: one row a choice, and the checks. What never does: a pin, a file (store).
"""

import binascii

from controller.board.probes import FAMILY
from controller.board.sensors import OFFSET_LIMIT, ROLES
from controller.core.settings import nearest
from controller.core.units import crc8_1wire

# (key, the choices, default first, what it says). Changes count from the next start on.
TABLE = (
    ("fan", ("relay", "pwm"), "how the fan is driven"),
    ("fan_active", (1, 0), "level that switches the fan's relay on"),
    ("hand_fitted", (0, 1), "1 when the hand-off-auto switch is wired to the board"),
    ("readback_fitted", (0, 1), "1 when a contact of the contactor is wired to the board"),
    ("humidity", ("none", "sht4x", "sht3x"), "kind of humidity probe"),
    ("units", ("C", "F"), "units that the console shows"),
)
PLACES = ROLES + ("humidity",)  # what an offset can be for


def defaults():
    """Return the wiring of a board that was told nothing."""
    return {row[0]: row[1][0] for row in TABLE}


def check(mapping):
    """Return the wiring with defaults for what is left out. Raises ValueError naming the key and the choices."""
    if not isinstance(mapping, dict):
        raise ValueError("wiring must be a mapping of names to choices.")
    known = [row[0] for row in TABLE]
    for key in mapping:
        if key not in known:
            raise ValueError('"%s" is no choice of wiring. The nearest is "%s".' % (key, nearest(str(key), known)))
    out = {}
    for key, choices, _ in TABLE:
        value = mapping.get(key, choices[0])
        if value not in choices or isinstance(value, bool):
            raise ValueError("%s: %r is not one of %s." % (key, value, ", ".join([str(c) for c in choices])))
        out[key] = value
    return out


def serial_text(serial):
    """Return an 8-byte serial number as 16 hexadecimal digits."""
    return binascii.hexlify(serial).decode()


def serial_of(text):
    """Return the 8 bytes of 16 hexadecimal digits. Raises ValueError saying what is wrong with them."""
    try:
        serial = binascii.unhexlify(text)
    except (ValueError, TypeError):
        serial = b""
    if len(serial) != 8:
        raise ValueError("%s is no serial number: 16 hexadecimal digits, as `find` shows them." % str(text)[:40])
    if serial[0] != FAMILY or crc8_1wire(serial):
        raise ValueError("%s is no serial number of a DS18B20-type probe (28 first, check byte last)." % text)
    return serial


def check_roles(mapping):
    """Return {place: (serial bytes or None, offset in hundredths)} of a roles file. Raises ValueError in words.

    The file: {"house": {"serial": "28...", "offset_c": 0.25}, ..., "humidity": {"offset_c": -0.1}}.
    """
    if not isinstance(mapping, dict):
        raise ValueError("roles must be a mapping of roles to probes.")
    out = {}
    for place, probe in mapping.items():
        if place not in PLACES:
            raise ValueError('"%s" is no role. The nearest is "%s".' % (place, nearest(str(place), list(PLACES))))
        serial = serial_of(probe["serial"]) if probe.get("serial") else None
        offset = round(probe.get("offset_c", 0) * 100)
        if abs(offset) > OFFSET_LIMIT:
            raise ValueError("%s: an offset of %s is more than 3 K. Replace the probe." % (place, probe["offset_c"]))
        if serial and serial in [held[0] for held in out.values()]:
            raise ValueError("%s: this probe already has a role." % place)
        out[place] = serial, offset
    return out


def roles_mapping(roles):
    """Return the roles file's mapping."""
    out = {}
    for place, (serial, offset) in roles.items():
        probe = {"serial": serial_text(serial)} if serial else {}
        if offset:
            probe["offset_c"] = offset / 100
        if probe:
            out[place] = probe
    return out
