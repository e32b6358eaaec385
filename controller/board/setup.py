"""The board put together: what is on flash, what is fitted, and what all parts share.

What lives here: loading with a built-in value for everything that is bad or missing, the board's own faults, saving.
What never does: a decision, the console's words.
"""

import time

from controller.board import hardware, store
from controller.board import wiring as wire
from controller.board.clock import Clock
from controller.board.events import Events
from controller.board.humidity import HumidityProbe
from controller.board.inputs import Inputs
from controller.board.journal import FOLDER, Journal
from controller.board.minute import Minute
from controller.board.probes import Probes
from controller.board.selftest import SelfTest
from controller.board.sensors import Sensors
from controller.board.trial import Trial
from controller.core import decide, rows, screen
from controller.core import settings as core_settings

# (word, what it means), in the order in which they are shown. Each gives the alarm, like the core's own.
FAULTS = (
    ("settings-file", "settings.json cannot be used; its copy or the built-in settings run."),
    ("roles-file", "roles.json cannot be used or is missing; without a copy no probe is read."),
    ("wiring-file", "wiring.json cannot be used; its copy or the built-in wiring counts."),
    ("journal", "The journal cannot be written; the newest two hours are kept in memory."),
    ("output", "An output's pin does not follow: short circuit or broken pin."),
    ("slot", "The slot that was live could not be run; the other one runs."),
    ("resets", "The board was reset by itself at least once in the last hour."),
)
SETTLED_S = 600  # a slot that ran so long has proved itself
COUNTED = ("starts", "charge_s", "discharge_s", "blind_s", "hand_s", "guard_s", "heater_s", "vent_s")


def check_settings(mapping):
    """Return Settings. Raises ValueError with every fault in the core's own words."""
    if not isinstance(mapping, dict):
        raise ValueError("settings must be a mapping of names to numbers.")
    found, faults = core_settings.from_mapping(mapping)
    if faults:
        raise ValueError(" ".join(faults))
    return found


def check_counters(mapping):
    """Return {name: count}, damaged ones 0."""
    return {name: mapping[name] if isinstance(mapping.get(name), int) else 0 for name in COUNTED + ("up_s", "boots")}


def wiring():
    """Return (the wiring as stored or as built in, store's verdict, what is wrong in words)."""
    found, state, wrong = store.get("wiring", wire.check)
    return found or wire.defaults(), state, wrong


def settings():
    """Return (Settings as stored or as built in, store's verdict, what is wrong in words)."""
    found, state, wrong = store.get("settings", check_settings)
    return found or rows.defaults(), state, wrong


class Board:
    """All parts of a running board. Raises nothing for what is bad or missing on flash."""

    def __init__(self, boot, memory, pins, wired, found, outputs):
        """boot: the root's Boot. memory: Survive. wired, found: what wiring() and settings() returned."""
        self.boot, self.survive, self.pins, self.outputs = boot, memory, pins, outputs
        self.wiring, self.settings = wired[0], found[0]
        self.faults = {}  # word: details
        self.stopping = ""  # "stop" or "restart" when the console asked for it
        self.safe = None
        self.unsaved = False
        store.make_folder(store.FOLDER)
        store.make_folder(FOLDER)
        self.clock = Clock()
        self.events = Events(self.clock)
        self._note("wiring-file", wired[1] == store.BAD, wired[2])
        self._note("settings-file", found[1] == store.BAD, found[2])
        self.roles = self._roles()
        self._clock_kept()
        self.totals = store.get("counters", check_counters)[0] or check_counters({})
        self.totals["boots"] += 1
        self.journal = Journal()
        self.test = SelfTest()
        self.trial = Trial()
        self.sensors = self._sensors()
        self.screen = screen.start()
        self.reading = None
        self.state = decide.start(self.settings)
        self.minute = Minute(self.clock, self.settings)
        self.saved_at_s = 0
        self._tell_start()

    def _roles(self):
        roles, state, wrong = store.get("roles", wire.check_roles)
        self._note("roles-file", state != store.GOOD, wrong or "no roles.json")
        return roles or {}

    def _note(self, word, stands, details):
        if stands:
            self.faults[word] = details
            self.events.add(word + ": " + details)

    def _sensors(self):
        probes = Probes(hardware.wire(self.pins), time.ticks_ms, time.ticks_diff)
        humidity = None
        if self.wiring["humidity"] != "none":
            try:
                bus = hardware.bus(self.pins)
            except Exception as fault:
                bus = None  # its probe is lost; the rescue tries again
                self.events.add("I2C: " + repr(fault))
            humidity = HumidityProbe(bus, self.wiring["humidity"], lambda: hardware.free_bus(self.pins))
        return Sensors(probes, humidity, Inputs(*hardware.inputs(self.pins, self.wiring)), self.roles)

    def _clock_kept(self):
        kept = None if self.boot.woke else self.survive.kept_time()
        if kept:
            self.clock.set(kept[0], kept[1])

    def _tell_start(self):
        count = self.survive.unwritten()
        more = " (%d resets by itself not told before)" % count if count > 1 else ""
        self.events.add("start of slot %s: %s%s" % (self.boot.slot, self.survive.cause, more))
        if self.survive.unintended:
            self._note("resets", True, self.survive.cause)
        if self.boot.fell:
            self._note("slot", True, self.boot.fell)
        if self.survive.safe:
            self.events.add("safe loop: three resets by itself in a short time")

    def well(self):
        """Return True when neither the core nor the board has an alarm."""
        return not self.faults and self.state.counters.alarms == 0 and self.safe is None

    def light(self, level):
        """Set the status light."""
        self.outputs.light.value(self.test.light(level))

    def look_at_outputs(self):
        """Compare the outputs' pins with what they were given."""
        stray = self.outputs.stray()
        if stray and "output" not in self.faults:
            self._note("output", True, " ".join(stray))
        elif not stray:
            self.faults.pop("output", None)

    def log(self, row):
        """Take a row. Whatever goes wrong with the log, control goes on."""
        try:
            self.journal.add(row)
            self.each_minute()
        except Exception as fault:
            self._note("journal", "journal" not in self.faults, repr(fault))

    def each_minute(self):
        """After each row: write the journal when it is due, save the counters once a day, let old faults go."""
        if self.clock.uptime_s >= 3600:
            self.faults.pop("resets", None)
        if self.clock.uptime_s >= SETTLED_S and self.boot.tries:
            self.boot.settled()
        if self.journal.due():
            self.write_journal()
        if self.clock.uptime_s - self.saved_at_s >= 86400:
            self.save_counters()

    def write_journal(self):
        """Write the rows and events in memory; return True on success."""
        self.boot.watchdog.feed()  # a write may take its time, but only this once
        good = self.journal.flush()
        if good:
            self.faults.pop("journal", None)
        elif "journal" not in self.faults:
            self._note("journal", True, self.journal.fault)
        self.write_events()
        return good

    def write_events(self):
        """Write the events in memory."""
        if self.events.flush():
            self.survive.written()

    def counted(self):
        """Return the counters since the board was new."""
        counters = self.state.counters
        out = {name: self.totals[name] + getattr(counters, name) for name in COUNTED}
        out["up_s"] = self.totals["up_s"] + self.clock.uptime_s
        out["boots"] = self.totals["boots"]
        return out

    def save_counters(self):
        """Save them; a day of counts may be lost at a power cut."""
        self.saved_at_s = self.clock.uptime_s
        try:
            store.put("counters", self.counted())
        except OSError as fault:
            self.events.add("counters were not saved: " + str(fault))

    def change_settings(self, new):
        """Use other Settings from now on; the state goes on."""
        self.settings = self.minute.settings = new

    def close(self):
        """Write what is in memory. Called with the outputs off; never raises an Exception."""
        try:
            self.write_journal()
            self.save_counters()
        except Exception as fault:
            print("not all was written:", repr(fault))
