"""Commands that only tell.

What lives here: the board's values to lines. What never does: a change.
"""

import binascii
import hashlib
import json
import sys

from controller.board import setup
from controller.board.show import degrees, duration, percent
from controller.board.version import VERSION
from controller.core import decide, reasons, rows, screen, selfcheck
from controller.core.record import alarm_words
from controller.core.units import LOST

HAND_WORDS = ("auto", "on", "off")
STEPS_AT_ONCE = 2  # of the self-check, between two looks at the clock


def short_digest(text):
    """Return the first 12 hexadecimal digits of the SHA-256 of a text."""
    return binascii.hexlify(hashlib.sha256(text.encode()).digest()).decode()[:12]


def settings_digest(settings):
    """Return what tells two sets of settings apart: the digest of their core ints."""
    return short_digest(",".join([str(number) for number in settings]))


def trusted(board):
    """Return (house, soil, outlet, outside, humidity, dew), each LOST when it is not trusted."""
    r = board.reading
    if r is None:
        return (LOST,) * 6
    return (
        r.house_centi_c if r.house_ok else LOST,
        r.soil_centi_c if r.soil_ok else LOST,
        r.outlet_centi_c if r.outlet_ok else LOST,
        r.outside_centi_c if r.outside_ok else LOST,
        r.humidity_deci_pct if r.humidity_ok else LOST,
        r.dew_centi_c if r.dew_ok else LOST,
    )


def next_start_s(board):
    """Return the seconds until the fan may start at the earliest, 0 while it runs."""
    d = board.state.deciding
    return 0 if d.fan else max(board.settings.min_rest_s - d.rest_s, 0)


def status(board, words, text):
    """One line for people."""
    if board.safe is not None:
        yield "ok " + board.safe.text()
        return
    d, c, units = board.state.deciding, board.state.counters, board.wiring["units"]
    house, soil, outlet, outside, humidity, dew = trusted(board)
    reason = reasons.REASONS[c.reason]
    alarms = (alarm_words(c.alarms) + " " + " ".join(sorted(board.faults))).strip()
    yield "ok %s (%s). %s House %s, soil %s, outlet %s, outside %s, humidity %s, dew point %s. %s%s%s%s Alarms: %s." % (
        reasons.PHASE_WORDS[d.phase], reason[0], reason[1],
        degrees(house, units), degrees(soil, units), degrees(outlet, units), degrees(outside, units),
        percent(humidity), degrees(dew, units),
        "Fan on %d %% for %s." % (decide.fan_pct(board.settings, board.state), duration(d.run_s)) if d.fan
        else "Fan off, next start in %s at the earliest." % duration(next_start_s(board)),
        " Heater on." if d.heater else "",
        " Vent open." if d.vent else "",
        " Running time left %s. Clock %s. Up %s.%s" % (
            duration(d.allowance.left_s), board.clock.text() or "not set", duration(board.clock.uptime_s),
            " Settings not saved." if board.unsaved else "",
        ),
        alarms or "none",
    )  # fmt: skip


def state(board, words, text):
    """One line of JSON for a program."""
    d, c, r = board.state.deciding, board.state.counters, board.reading
    names = ("house_centi_c", "soil_centi_c", "outlet_centi_c", "outside_centi_c", "humidity_deci_pct", "dew_centi_c")
    out: dict = {name: None if value == LOST else value for name, value in zip(names, trusted(board))}
    out.update(
        time=board.clock.text(), uptime_s=board.clock.uptime_s, slot=board.boot.slot, version=VERSION,
        settings=settings_digest(board.settings), unsaved=int(board.unsaved), safe=int(board.safe is not None),
        phase=reasons.PHASE_WORDS[d.phase], reason=reasons.REASONS[c.reason][0], fan=int(d.fan),
        fan_pct=decide.fan_pct(board.settings, board.state), run_s=d.run_s, rest_s=d.rest_s,
        next_start_s=next_start_s(board),
        least_run_left_s=max(board.settings.min_run_s - d.run_s, 0) if d.fan else 0,
        allowance_s=d.allowance.left_s, guard=int(d.guard), heater=int(d.heater), vent=int(d.vent),
        hand=HAND_WORDS[r.hand] if r else "auto", readback=r.readback if r else screen.NOT_FITTED,
        house_probe=int(r.house_probe_ok) if r else 0, trial_s=board.trial.left_s, test=board.test.name,
        alarms=alarm_words(c.alarms).split(), faults=sorted(board.faults), starts=c.starts,
    )  # fmt: skip
    if board.safe is not None:
        out.update(phase="safe", reason="safe", fan=board.safe.fan, fan_pct=100 * board.safe.fan)
    yield "ok " + json.dumps(out)


def tree_digest(slot):
    """Return the digest that names a slot's tree, "none" when there is no list of its files."""
    try:
        with open("/" + slot + "/digest.txt") as file:
            return short_digest(file.read())
    except (OSError, ValueError):
        return "none"


def version(board, words, text):
    """One line: what runs."""
    yield "ok loamstat %s, slot %s (tree %s), pins %s, settings %s%s, MicroPython %s" % (
        VERSION, board.boot.slot, tree_digest(board.boot.slot), board.pins.NAME, settings_digest(board.settings),
        ", not saved" if board.unsaved else "", ".".join([str(part) for part in sys.implementation.version[:3]]),
    )  # fmt: skip


def listed(slot):
    """Yield the lines of a slot's digest.txt: what a host compares with its own files."""
    if slot not in ("a", "b"):
        raise ValueError("Write slots, slots a or slots b.")
    n = 0
    try:
        with open("/" + slot + "/digest.txt") as file:
            for line in file:
                n += 1
                yield line.strip()
    except (OSError, ValueError):
        pass  # nothing was ever sent there, or it is spoilt: the count says so
    yield "ok %d files in slot %s" % (n, slot)


def slots(board, words, text):
    """Both slots, whole or not; or the list of one's files. Hashing takes a second or two on a board."""
    if words:
        for line in listed(words[0].lower()):
            yield line
        return
    for slot in ("a", "b"):
        wrong = board.boot.intact(slot)
        runs = " (runs)" if slot == board.boot.slot else ""
        yield "%s%s: tree %s, %s" % (slot, runs, tree_digest(slot), wrong or "whole")
    yield "ok slot %s runs%s" % (board.boot.slot, ": " + board.boot.fell if board.boot.fell else "")


def faults(board, words, text):
    """Every alarm and fault that stands, explained."""
    n = 0
    for i in range(len(reasons.ALARMS)):
        if board.state.counters.alarms >> i & 1:
            n += 1
            yield "%s: %s" % reasons.ALARMS[i]
    for word, meaning in setup.FAULTS:
        if word in board.faults:
            n += 1
            yield "%s: %s (%s)" % (word, meaning, board.faults[word])
    if board.safe is not None:
        n += 1
        yield board.safe.text()
    yield "ok %d alarms and faults" % n


def counters(board, words, text):
    """Counts since the board was new."""
    total = board.counted()
    hours = ["%s %s h" % (name[:-2], total[name] // 3600) for name in setup.COUNTED if name != "starts"]
    yield "ok starts %d, %s, up %s, powered or reset %d times, resets by itself not told yet %d, rows lost %d" % (
        total["starts"], ", ".join(hours), duration(total["up_s"]), total["boots"], board.survive.unwritten(),
        board.journal.lost_rows,
    )  # fmt: skip


def settings(board, words, text):
    """One line a setting."""
    for i in range(len(rows.TABLE)):
        row = rows.TABLE[i]
        value = rows.text_of(board.settings[i], row[4])
        default = rows.text_of(row[1], row[4])
        yield "%s %s (%s; default %s): %s" % (row[0], value, rows.bounds_text(row), default, row[5])
    yield "ok settings %s%s" % (settings_digest(board.settings), ", not saved" if board.unsaved else "")


def selfcheck_digest(settings):
    """Yield None while it works, then the digest of the fixed course under these settings."""
    digest = hashlib.sha256()
    course = selfcheck.start(settings)
    for n in range(selfcheck.STEPS):
        course = selfcheck.step(settings, course)
        digest.update(selfcheck.line(course.state).encode())
        if n % STEPS_AT_ONCE == 0:
            yield None
    yield binascii.hexlify(digest.digest()).decode()


def selfcheck_lines(board, words, text):
    """The digest of the fixed course of decisions."""
    for found in selfcheck_digest(board.settings):
        name = settings_digest(board.settings)
        yield found and "ok %d steps, settings %s, digest %s" % (selfcheck.STEPS, name, found)
