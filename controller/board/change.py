"""Commands that change something.

What lives here: words to values, refused in one clear line. What never does: the checks themselves (core.settings,
wiring, clock).
"""

import json

from controller.board import selftest, setup, store
from controller.board import wiring as wire
from controller.board.show import degrees, duration
from controller.board.tell import settings_digest
from controller.board.trial import MOST_HOURS
from controller.core import settings as core_settings


def number(text):
    """Return a text as an int or float, or the text itself, which the core's checks refuse in their words."""
    try:
        return int(text)
    except ValueError:
        try:
            return float(text)
        except ValueError:
            return text


def degrees_c(text, difference):
    """Return degrees C of a text that may end in its unit: 41F, 5C; without one, the number as it is.

    difference : True where no zero point is taken off
    """
    unit = text[-1:].upper()
    value = number(text[:-1] if unit in ("C", "F") else text)
    if isinstance(value, str):
        return text
    return round((value - (0 if difference else 32)) / 1.8, 2) if unit == "F" else value


def stored(board, name, value):
    """Write a file. Raises ValueError when the flash takes no more."""
    try:
        store.put(name, value)
    except OSError as fault:
        raise ValueError("not written: %s. It counts until the next reset." % fault)  # noqa: B904


def take(board, mapping):
    """Use the settings of a mapping, or raise ValueError with the core's own words."""
    new = setup.check_settings(mapping)
    if new != board.settings:
        board.change_settings(new)
        board.unsaved = True
        board.events.add("settings changed to " + settings_digest(new))


def set_some(board, words, text):
    """set NAME VALUE ..."""
    if not words or len(words) % 2:
        raise ValueError("Write set NAME VALUE, for example: set charge_above_c 24.5")
    mapping = core_settings.to_mapping(board.settings)
    for i in range(0, len(words), 2):
        name, value = words[i], words[i + 1]
        difference = name[-7:] in ("_band_c", "_gain_c")
        mapping[name] = degrees_c(value, difference) if name[-2:] == "_c" else number(value)
    take(board, mapping)
    shown = ", ".join([words[i] + " " + words[i + 1] for i in range(0, len(words), 2)])
    yield "ok %s counts now; type save to keep it through a reset" % shown


def _decoded(text, example):
    try:
        return json.loads(text)
    except ValueError:
        raise ValueError("Write %s, all on one line." % example)  # noqa: B904


def load(board, words, text):
    """load {JSON}"""
    take(board, _decoded(text, 'load {"charge_above_c": 24, ...}'))
    yield "ok settings %s count now; type save to keep them through a reset" % settings_digest(board.settings)


def save(board, words, text):
    """save"""
    stored(board, "settings", core_settings.to_mapping(board.settings))
    board.unsaved = False
    board.faults.pop("settings-file", None)
    yield "ok settings %s saved" % settings_digest(board.settings)


def clock(board, words, text):
    """clock [TIME]"""
    if words:
        from controller.board.clock import parse

        day, second = parse(words[0])
        before = board.clock.text()
        board.clock.set(day, second)
        board.events.add("clock set, before: " + (before or "not set"))
    yield "ok clock %s" % (board.clock.text() or "not set")


def units(board, words, text):
    """units [C | F]"""
    if words:
        _wire(board, "units", words[0].upper())
    yield "ok units " + board.wiring["units"]


def _wire(board, key, value):
    changed = dict(board.wiring)
    changed[key] = value
    changed = wire.check(changed)
    stored(board, "wiring", changed)
    board.faults.pop("wiring-file", None)
    if key == "units":
        board.wiring = changed
    return changed


def wiring(board, words, text):
    """wiring [NAME CHOICE]"""
    held = board.wiring
    if len(words) == 2:
        held = _wire(board, words[0], number(words[1]))
        yield "ok %s %s counts from the next start on: type restart" % (words[0], words[1])
        return
    if words:
        raise ValueError("Write wiring NAME CHOICE, for example: wiring humidity sht4x")
    for key, choices, meaning in wire.TABLE:
        yield "%s %s (%s): %s" % (key, held[key], ", ".join([str(choice) for choice in choices]), meaning)
    yield "ok %d choices" % len(wire.TABLE)


def _keep_roles(board, changed):
    mapping = wire.roles_mapping(changed)
    board.roles = board.sensors.roles = wire.check_roles(mapping)
    stored(board, "roles", mapping)
    board.faults.pop("roles-file", None)


def _place(word):
    if word not in wire.PLACES:
        raise ValueError("%s is no role. Roles: %s." % (word[:20], ", ".join(wire.PLACES)))
    return word


def roles(board, words, text):
    """roles [ROLE SERIAL | ROLE none | {JSON}]"""
    if text[:1] == "{":
        _keep_roles(board, wire.check_roles(_decoded(text, 'roles {"house": {"serial": "28...", "offset_c": 0}, ...}')))
        board.events.add("all roles replaced")
    elif len(words) == 2:
        place = _place(words[0])
        if place == "humidity":
            raise ValueError("the humidity probe has no serial number; see wiring humidity.")
        changed = dict(board.roles)
        serial = None if words[1] == "none" else wire.serial_of(words[1].lower())
        changed[place] = (serial, 0 if serial is None else changed.get(place, (None, 0))[1])
        wire.check_roles(wire.roles_mapping(changed))
        _keep_roles(board, changed)
        board.events.add("role %s: %s" % (place, words[1]))
    elif words:
        raise ValueError("Write roles ROLE SERIAL, for example: roles house 28aabbccddeeff12")
    for place in wire.PLACES:
        serial, offset = board.roles.get(place, (None, 0))
        named = wire.serial_text(serial) if serial else "on I2C" if place == "humidity" else "none"
        yield "%s: %s, offset %s" % (place, named, degrees(offset, board.wiring["units"], True))
    yield "ok %d roles have a probe" % len([1 for held in board.roles.values() if held[0]])


def offset(board, words, text):
    """offset ROLE DEGREES"""
    value = degrees_c(words[1], True) if len(words) == 2 else ""
    if isinstance(value, str):
        raise ValueError("Write offset ROLE DEGREES, for example: offset house -0.25, or in degrees F -0.45F")
    place = _place(words[0])
    changed = dict(board.roles)
    changed[place] = (changed.get(place, (None, 0))[0], round(value * 100))
    wire.check_roles(wire.roles_mapping(changed))
    _keep_roles(board, changed)
    yield "ok %s is corrected by %s" % (place, degrees(changed[place][1], board.wiring["units"], True))


def find(board, words, text):
    """find [off]"""
    sensors, units = board.sensors, board.wiring["units"]
    if words:
        sensors.searching = False
        yield "ok the search is over"
        return
    if not sensors.searching:
        yield "ok %d probes answer; warm one in the hand and type find again" % sensors.find_start()
        return
    held = {probe[0]: place for place, probe in board.roles.items() if probe[0]}
    for serial, now, rise in sensors.found():
        warmed = " <- warmed" if rise >= 100 else ""  # LOST is far below
        yield "%s %s, %s since the search began%s, role %s" % (
            wire.serial_text(serial), degrees(now, units), degrees(rise, units, True), warmed, held.get(serial, "none"),
        )  # fmt: skip
    yield "ok type find off to end the search, roles ROLE SERIAL to assign one"


def trial(board, words, text):
    """trial HOURS"""
    hours = number(words[0]) if len(words) == 1 else None
    if not isinstance(hours, int) or not 0 <= hours <= MOST_HOURS:
        raise ValueError("Write trial HOURS, 0 to %d; 0 ends it." % MOST_HOURS)
    if board.safe is not None:
        raise ValueError("the safe loop runs no trial.")
    board.trial.start(hours)
    board.events.add("trial of %d h asked for" % hours)
    yield "ok trial for %s; it pauses near frost and ends at any reset" % duration(hours * 3600)


def test(board, words, text):
    """test OUTPUT"""
    name = words[0].lower() if len(words) == 1 else ""
    refused = selftest.refusal(board, name)
    if refused:
        raise ValueError("no test: " + refused)
    board.test.start(name)
    board.events.add("test of " + name)
    yield "ok %s is switched for %d s" % (name, selftest.TEST_S)


def use(board, words, text):
    """use a | b"""
    slot = words[0].lower() if len(words) == 1 else ""
    if slot not in ("a", "b"):
        raise ValueError("Write use a or use b.")
    wrong = board.boot.intact(slot)
    if wrong:
        raise ValueError("slot %s is not whole: %s. Slot %s stays." % (slot, wrong, board.boot.slot))
    try:
        board.boot.use(slot)
    except OSError as fault:
        raise ValueError("live.txt was not written: %s. Slot %s stays." % (fault, board.boot.slot))  # noqa: B904
    board.events.add("slot %s is to start next" % slot)
    yield "ok slot %s starts next: type restart" % slot


def restart(board, words, text):
    """restart"""
    board.stopping = "restart"
    yield "ok restarting"


def stop(board, words, text):
    """stop"""
    board.stopping = "stop"
    yield "ok outputs are off; feed wdt, or the board starts again by itself within 8 s"
