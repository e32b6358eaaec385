"""The simulated world behind a virtual board's serial port, in real time. Runs before the board's own main.py.

begin() lends the stand-ins for time, machine and onewire; the port stays the real one. What the rig outside must know
(watchdog, registers, pins) goes out through a FIFO, one line each; what a person does to the house comes in by a file.
"""

import os
import sys
import time as real

import stage
from harness import HOST, Space
from weather import House

PINS = {stage.FAN: "fan", stage.HEATER: "heater", stage.VENT: "vent", stage.ALARM: "alarm relay"}


class Outside:
    """Lines to the rig outside, and the file of what a person does."""

    def __init__(self, work):
        self.out = open(HOST + work + "/told", "w")
        self.control = HOST + work + "/done"
        self.read = os.stat(self.control)[6]

    def tell(self, *words):
        """Send a line."""
        self.out.write(" ".join([str(word) for word in words]) + "\n")

    def asked(self):
        """Return the new lines."""
        if os.stat(self.control)[6] <= self.read:
            return []
        with open(self.control) as file:
            file.seek(self.read)
            text = file.read()
            self.read = file.tell()
        return [line.split() for line in text.split("\n") if line]


def begin(here, work, registers, cause, speed):
    """Set everything up; return the Rig. registers: {address: value} that survived. cause: machine.reset_cause()."""
    try:
        os.stat(work + "/flash.img")
        fresh = False
    except OSError:
        fresh = True
    rig = stage.board(here, {}, path=work + "/flash.img", install=fresh)
    world = rig.world
    outside = Outside(work)
    world.registers.update(registers)
    world.cause = cause
    from world import World

    World.watch = lambda self, timeout_ms: outside.tell("watch", timeout_ms)
    World.feed = lambda self: outside.tell("feed")
    World.stop = lambda self, why: stopped(outside, why)
    registers_of = sys.modules["machine"].Registers

    def keep(self, address, value):
        world.registers[address] = value & 0xFFFFFFFF
        outside.tell("keep", address, value & 0xFFFFFFFF)

    registers_of.__setitem__ = keep
    world.on_out = lambda pin, level: outside.tell("pin", PINS[pin], level) if pin in PINS else None
    house = House(world, (stage.FAN, stage.HEATER, stage.VENT), rig.serials)
    house.seconds = 20 * 3600  # evening: soon the fan has work
    house.second(world)
    added = [0.0] * 4

    def second(now):
        house.second(now)
        for i in range(4):
            now.probes[rig.serials[i]].counts += int(added[i] * 16)
        for words in outside.asked():
            done(now, rig, added, words)

    world.on_second = second
    sys.modules["time"] = slowed(world, speed)
    sys.path[:] = ["", ".frozen", "/lib"]
    return rig


def stopped(outside, why):
    """The chip resets itself."""
    outside.tell("stop", why)
    sys.exit(70)


def slowed(world, speed):
    """Return a time module whose sleeps take 1/speed of their length, and let the world's time pass."""
    space = {name: getattr(real, name) for name in dir(real)}
    begun = real.ticks_us()
    held = [0, begun]

    def catch_up():
        """Let the world's time follow the wall's."""
        now = real.ticks_us()
        held[0] += real.ticks_diff(now, held[1]) * speed
        held[1] = now
        if held[0] >= 1000:
            world.advance(int(held[0] // 1000))
            held[0] %= 1000

    def ticks_ms():
        catch_up()
        return world.ticks()

    def sleep_ms(ms):
        real.sleep_us(int(ms * 1000 / speed))
        catch_up()

    space.update(ticks_ms=ticks_ms, sleep_ms=sleep_ms, sleep=lambda s: sleep_ms(int(s * 1000)))
    wrapped = sys.modules["time"]  # the stand-in, whose ticks wrap as a board's do
    space.update(ticks_add=wrapped.ticks_add, ticks_diff=wrapped.ticks_diff)
    return Space(space)


def done(world, rig, added, words):
    """Do to the house what a person said: warm ROLE K, pull ROLE, put ROLE, hand on | off | auto, short, mend."""
    word, rest = words[0], words[1:]
    place = stage.ROLES.index(rest[0]) if rest and rest[0] in stage.ROLES else 0
    if word == "warm":
        added[place] = float(rest[1]) if len(rest) > 1 else 5.0
    elif word in ("pull", "put"):
        world.probes[rig.serials[place]].fault = "gone" if word == "pull" else ""
    elif word == "hand":
        world.ins[stage.HAND_ON] = 0 if rest[0] == "on" else 1
        world.ins[stage.HAND_OFF] = 0 if rest[0] == "off" else 1
    elif word in ("short", "mend"):
        world.bus_fault = "short" if word == "short" else ""
