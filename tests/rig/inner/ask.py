"""Ask a board's console some lines and print the answers as JSON. Runs under MicroPython:

    micropython ask.py REPOSITORY PLAN.json

The plan: {"new": true for a board out of its bag, "readings": {role: degrees C}, "steps": [[second, what, value], ...]}
where what is "ask" (a line), "probe" (role, degrees or null for unplugged), "hand" ("auto", "on", "off").
Printed: [[second, line, [answer lines]], ...], then ["pins", {pin: [[second, level], ...]}].
"""

import json
import sys

HERE = sys.argv[1]
sys.path.insert(0, HERE + "/tests/rig/inner")

from harness import Rig, make, write  # noqa: E402

ROLES = ("house", "soil", "outlet", "outside")
HAND_PINS = (6, 7)  # of the Pico's pin map: hand on, hand off
LIGHT = 22
SHUT = {"auto": (1, 1), "on": (0, 1), "off": (1, 0)}


def counts(degrees):
    """Return a temperature as a DS18B20-type probe counts it."""
    return int(degrees * 16 + (0.5 if degrees >= 0 else -0.5))


class Play:
    """Steps a plan while the board runs."""

    def __init__(self, plan):
        self.plan = plan
        self.rig = Rig(HERE)
        from world import Probe, serial

        self.world = self.rig.world
        self.serials = [serial(n) for n in range(1, 5)]
        self.Probe = Probe
        for role, degrees in plan["readings"].items():
            self.probe(role, degrees)
        self.rig.install()
        if not plan.get("new"):
            self._fit()
        self.world.set_air(800, 800)
        self.steps = list(plan["steps"])
        self.answers = []
        self.pins = {}
        self.world.on_second = self.second
        self.world.on_out = self.seen

    def _fit(self):
        import binascii

        make("/data")
        roles = {role: {"serial": binascii.hexlify(s).decode()} for role, s in zip(ROLES, self.serials)}
        write("/data/roles.json", json.dumps(roles))
        write("/data/wiring.json", json.dumps({"hand_fitted": 1}))

    def probe(self, role, degrees):
        """Plug in, warm or unplug a probe."""
        number = self.serials[ROLES.index(role)]
        if degrees is None:
            self.world.probes.pop(number, None)
            return
        if number not in self.world.probes:
            self.world.probes[number] = self.Probe(number)
        self.world.probes[number].counts = counts(degrees)

    def seen(self, pin, level):
        """Note a change of an output, but of the blinking light."""
        if pin != LIGHT:
            self.pins.setdefault(pin, []).append([self.world.ms // 1000, level])

    def second(self, world):
        """Do what is due; collect what was answered."""
        text = world.port.take().decode()
        if text and self.answers:
            self.answers[-1][2] += [line for line in text.replace("\r", "").split("\n") if line]
        now = world.ms // 1000
        while self.steps and self.steps[0][0] <= now:
            _, what, value = self.steps.pop(0)
            if what == "ask":
                self.answers.append([now, value, []])
                self.rig.ask(value)
            elif what == "probe":
                self.probe(value[0], value[1])
            else:
                for pin, level in zip(HAND_PINS, SHUT[value]):
                    world.ins[pin] = level

    def run(self):
        """Play to the end and print."""
        self.rig.run(self.plan["steps"][-1][0] + 5)
        for answer in self.answers:  # the echo of the line itself
            answer[2] = [line for line in answer[2] if line != answer[1]]
        print(json.dumps(self.answers + [["pins", self.pins]]))


with open(sys.argv[2]) as file:
    PLAN = json.load(file)
Play(PLAN).run()
