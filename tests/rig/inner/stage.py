"""A board with four probes, a humidity probe and a switch, ready to run; and a record of all it did, on the host."""

import binascii
import json
import struct

from harness import HOST, Rig, make, write

ROLES = ("house", "soil", "outlet", "outside")
FAN, HEATER, VENT, ALARM, LIGHT = 18, 19, 20, 21, 22  # as pins_pico has them; a test compares
HAND_ON, HAND_OFF, READBACK = 6, 7, 8
# elapsed, house, soil, outlet, outside, air, humidity, hand, request, readback;
# phase, fan_pct, bits (heater 1, vent 2, guard 4, rule 8), reason, alarms
SECOND = "<B6hBBBBBBBH"


def board(here, settings=None, wiring=None, blocks=352, path=None, install=True):
    """Return a Rig with the firmware in slot a and its files written, or with the flash as it is in path."""
    rig = Rig(here, blocks, path, install)
    from world import Probe, serial

    rig.serials = [serial(n) for n in range(1, 5)]
    for number in rig.serials:
        rig.world.probes[number] = Probe(number)
    if not install:
        return rig
    rig.install("a")
    make("/data")
    held = {role: {"serial": binascii.hexlify(s).decode()} for role, s in zip(ROLES, rig.serials)}
    write("/data/roles.json", json.dumps(held))
    fitted = {"humidity": "sht4x", "hand_fitted": 1}
    fitted.update(wiring or {})
    write("/data/wiring.json", json.dumps(fitted))
    if settings is not None:
        write("/data/settings.json", json.dumps(settings))
    return rig


class Record:
    """Every second's Raw and decision in a file of the host, 23 bytes each."""

    def __init__(self, path):
        self.file = open(HOST + path, "wb")
        self.buffer = bytearray(struct.calcsize(SECOND) * 512)
        self.place = 0
        self.size = struct.calcsize(SECOND)

    def seen(self, settings, raw, reading, state):
        """One step."""
        d, c = state.deciding, state.counters
        pct = 0
        if d.fan:
            pct = 100
            if d.phase == 1:
                pct = settings.charge_fan_pct
            elif d.phase == 2 and not d.guard:
                pct = settings.discharge_fan_pct
        bits = int(d.heater) | int(d.vent) << 1 | int(d.guard) << 2 | int(d.rule) << 3
        struct.pack_into(
            SECOND, self.buffer, self.place, raw[0], raw[1], raw[2], raw[3], raw[4], raw[5], raw[6], raw[7], raw[8],
            raw[9], int(d.phase), pct, bits, c.reason, c.alarms,
        )  # fmt: skip
        self.place += self.size
        if self.place == len(self.buffer):
            self.flush()

    def flush(self):
        """Write what is held."""
        self.file.write(memoryview(self.buffer)[: self.place])
        self.place = 0

    def close(self):
        """Write all and close."""
        self.flush()
        self.file.close()
