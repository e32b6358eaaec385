"""A thermal stand-in for a small house on a soil store: enough to make a controller work. Not the tests' plant.

One step a second, whatever the fan and the heater do. Temperatures in degrees C. All numbers are invented.
"""

import math
import struct


class House:
    """outs: (fan, heater, vent) pins of the world. Writes probes' counts of the World each second."""

    def __init__(self, world, pins, serials, mean=3.0, swing=8.0, seed=1):
        self.world, self.pins = world, pins
        self.house, self.soil = 6.0, 13.0
        self.mean, self.swing = mean, swing
        self.serials = serials
        self.x = seed
        self.outside = mean
        self.sun = 0.0
        self.humidity = 80.0
        self.seconds = 0

    def noise(self):
        """Return -1, 0 or 1, mostly 0."""
        self.x = (self.x * 75 + 74) % 65537
        n = self.x % 12
        return 1 if n == 0 else -1 if n == 1 else 0

    def second(self, world):
        """One second of weather and house."""
        if self.seconds % 60 == 0:
            self.weather()
        self.seconds += 1
        fan, heater, vent = self.driven()
        blown = 0.0007 * fan * (self.soil - self.house)
        self.house += (
            (self.outside - self.house) * (0.00018 + 0.0006 * vent) + self.sun * 0.0032 + blown + 0.0012 * heater
        )  # fmt: skip
        self.soil += -0.03 * blown + (11.0 - self.soil) * 0.0000003
        self.measured(fan)

    def weather(self):
        """Outside, sun and humidity of this minute: the start is midnight."""
        day, second = self.seconds // 86400, self.seconds % 86400
        hour = second / 3600
        cold = 4.0 * math.sin(day * 0.9)
        self.outside = self.mean + cold + self.swing * math.sin((hour - 9) / 12 * math.pi)
        self.sun = max(math.sin((hour - 6) / 12 * math.pi), 0.0) * (0.4 + 0.6 * ((day * 7) % 5) / 4)
        self.humidity = 92.0 - 35.0 * self.sun

    def driven(self):
        """Return how fan (0 to 1), heater and vent are driven."""
        outs = self.world.outs
        fan_pin, heater_pin, vent_pin = self.pins
        fan = self.world.duty[fan_pin] / 65535 if fan_pin in self.world.duty else outs.get(fan_pin, 0)
        return fan, outs.get(heater_pin, 0), outs.get(vent_pin, 0)

    def measured(self, fan):
        """Write what the probes see."""
        outlet = self.house + (0.7 * (self.soil - self.house) if fan else 0.0)
        probes = self.world.probes
        for serial, value in zip(self.serials, (self.house, self.soil, outlet, self.outside)):
            if serial in probes:
                probes[serial].counts = math.floor(value * 16 + 0.5) + self.noise()
        if self.seconds % 10 == 0:
            self.world.set_air(int(self.house * 100) + 10 * self.noise(), int(self.humidity * 10))


class Fed:
    """Readings from a file, one record a second: house, soil, outlet, outside, air (hundredths), humidity (tenths).

    -32768: no reading. They come from another simulation, which ran the fan by the same rules.
    """

    def __init__(self, world, serials, path):
        self.world, self.serials = world, serials
        self.file = open(path, "rb")
        self.house = self.soil = 0.0

    def second(self, world):
        """Let the probes measure the next record; at the end of the file they keep the last."""
        data = self.file.read(12)
        if len(data) < 12:
            return
        values = struct.unpack("<6h", data)
        for i in range(4):
            probe = world.probes[self.serials[i]]
            probe.fault = "gone" if values[i] == -32768 else ""
            if values[i] != -32768:
                probe.counts = math.floor(values[i] * 16 / 100 + 0.5)
        world.i2c_fault = "gone" if -32768 in values[4:] else ""
        if not world.i2c_fault:
            world.set_air(values[4], values[5])
        self.house, self.soil = values[0] / 100, values[1] / 100
