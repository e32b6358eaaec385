"""A short scene for one fault: a still house whose readings the scene sets, and a note of each second's outputs."""

import json
import os

import stage
from harness import write

ROLES = stage.ROLES
# Short times, so that a scene takes minutes: all at or near the lowest that settings allow.
QUICK = {
    "discharge_below_c": 7, "charge_above_c": 18, "min_run_s": 60, "min_rest_s": 60, "lost_after_s": 30,
    "blind_run_s": 300, "blind_rest_s": 300, "heater_fitted": 1, "heat_below_c": 2, "heat_delay_s": 0,
    "frost_guard_c": -2, "frost_alarm_c": -1, "vent_fitted": 1, "vent_above_c": 30,
}  # fmt: skip


class Scene:
    """fan, heater, alarm, vent: levels by the second. states: (second, phase, reason) at each change."""

    rig = None

    @classmethod
    def prepare(cls, here, image):
        """Install the firmware once, in an image of a flash that each scene begins with."""
        stage.board(here, QUICK, {"readback_fitted": 0}, path=image)

    @classmethod
    def begin(cls, here, image):
        """Use a flash image, freshly copied, for the one scene that follows."""
        cls.rig = stage.board(here, path=image, install=False)

    def __init__(self, settings=None, wiring=None):
        rig, world = self.rig, self.rig.world
        world.__init__()
        world.nor = rig.nor
        from world import Probe

        for serial in rig.serials:
            world.probes[serial] = Probe(serial)
        self.world = world
        self.probes = dict(zip(ROLES, [world.probes[serial] for serial in rig.serials]))
        self.set(house=6, soil=13, outlet=11, outside=0)
        world.set_air(600, 850)
        if settings is not None:
            merged = dict(QUICK)
            merged.update(settings)
            self.put("settings", merged)
        if wiring is not None:
            fitted = {"humidity": "sht4x", "hand_fitted": 1}
            fitted.update(wiring)
            self.put("wiring", fitted)
        self.fan, self.heater, self.vent, self.alarm = bytearray(), bytearray(), bytearray(), bytearray()
        self.states, self.actions = [], {}
        self.state = self.reading = None
        self.said = b""
        self.every = None
        self.raws = []

    def set(self, **degrees):
        """Set probes, degrees C."""
        for role, value in degrees.items():
            self.probes[role].counts = round(value * 16)

    def put(self, name, value):
        """Write a JSON file of the board."""
        write("/data/" + name + ".json", json.dumps(value))

    def at(self, second, action, *words):
        """Let action(*words) be called at a second of true time."""
        self.actions.setdefault(second, []).append((action, words))

    def ask(self, second, line):
        """Send a line at a second."""
        self.at(second, self.rig.ask, line)

    def fault(self, role, kind):
        """Let a probe be ill."""
        self.probes[role].fault = kind

    def _seen(self, settings, raw, reading, state):
        self.state, self.reading, self.settings = state, reading, settings
        key = (int(state.deciding.phase), state.counters.reason)
        if not self.states or self.states[-1][1:] != key:
            self.states.append((self.world.ms // 1000,) + key)
        if len(self.raws) < 4000:
            self.raws.append(raw.elapsed_s)

    def _second(self, world):
        self.rig.tap(self._seen)
        s = world.ms // 1000
        outs = world.outs
        fan = outs.get(stage.FAN, 0) or (1 if world.duty.get(stage.FAN, 0) else 0)
        self.fan.append(fan)
        self.heater.append(outs.get(stage.HEATER, 0))
        self.vent.append(outs.get(stage.VENT, 0))
        self.alarm.append(1 - outs.get(stage.ALARM, 0))
        if world.port.from_board:
            self.said += world.port.take()
            self.said = self.said[-6000:]
        for action, words in self.actions.get(s, ()):
            action(*words)
        if self.every is not None:
            self.every(s)

    def run(self, until_s):
        """Run until a second of true time, through resets. Return why each start ended, as words."""
        self.world.on_second = self._second
        self.ends = [end if isinstance(end, str) else repr(end) for end in self.rig.run(until_s)]
        return self.ends

    # What the checks ask

    def phases(self):
        """Return the phases in their order."""
        out = []
        for _, phase, _ in self.states:
            if not out or out[-1] != phase:
                out.append(phase)
        return out

    def reasons(self):
        """Return the reasons' words in their order."""
        import sys

        words = sys.modules["controller.core.reasons"].REASONS
        return [words[reason][0] for _, _, reason in self.states]

    def alarms(self):
        """Return the words of the alarms that stand."""
        import sys

        return sys.modules["controller.core.record"].alarm_words(self.state.counters.alarms).split()

    def text(self):
        """Return what the console said."""
        return self.said.decode("utf-8", "ignore") if self.said else ""

    def first(self, levels, value, after=0):
        """Return the first second after `after` at which an output had a level, or -1."""
        for i in range(after, len(levels)):
            if levels[i] == value:
                return i + 1
        return -1

    def on_s(self, levels, start=0, end=None):
        """Return the number of seconds in which an output was on."""
        return sum(levels[start:end])

    def exists(self, path):
        """Return True when the board has the file."""
        try:
            os.stat(path)
        except OSError:
            return False
        return True
