"""DS18B20-type probes on one 1-wire bus: start a conversion, read it a second later. Nothing here waits.

What lives here: the wire's bytes to hundredths of a degree, every failure to LOST.
What never does: roles, offsets, belief (core.screen).
Source of commands, scratchpad and CRC: DS18B20 data sheet.
"""

from controller.core.units import LOST, POWER_ON_COUNTS, centi_c_from_raw, crc8_1wire, signed_16

FAMILY = 0x28
SKIP_ROM, CONVERT, READ_PAGE = 0xCC, 0x44, 0xBE
NOT_CONVERTED = 0x0C  # byte 6 beside 85.00 degC: the conversion did not happen (Linux w1_therm documentation)
CONVERSION_MS = 750  # at 12 bit


def counts_of(page):
    """Return the signed count of a 9-byte scratchpad in 1/16 degree C, or LOST when it cannot be believed."""
    if not any(page) or crc8_1wire(page):  # all zeros pass the CRC: a shorted wire
        return LOST
    counts = page[0] | page[1] << 8
    if counts == POWER_ON_COUNTS and page[6] == NOT_CONVERTED:
        return LOST
    undefined = 3 - (page[4] >> 5 & 3)  # low bits at less than 12 bit
    return signed_16(counts & ~((1 << undefined) - 1))


class Probes:
    """The probes on a bus. wire: a onewire.OneWire; ticks_ms, ticks_diff: the clock that never jumps."""

    def __init__(self, wire, ticks_ms, ticks_diff):
        self.wire, self.ticks_ms, self.ticks_diff = wire, ticks_ms, ticks_diff
        self.page = bytearray(9)
        self.asked_ms = -1

    def start(self):
        """Let all probes convert at once. They need power on their third wire."""
        self.asked_ms = -1
        try:
            if self.wire.reset():
                self.wire.writebyte(SKIP_ROM)
                self.wire.writebyte(CONVERT)
                self.asked_ms = self.ticks_ms()
        except Exception:
            pass  # nobody answers: read() will say LOST

    def ready(self):
        """Return True when the conversion that was started is over."""
        return self.asked_ms >= 0 and self.ticks_diff(self.ticks_ms(), self.asked_ms) >= CONVERSION_MS

    def read(self, serial):
        """Return the reading of the probe with this 8-byte serial number in hundredths of a degree C, or LOST."""
        try:
            if not self.wire.reset():
                return LOST
            self.wire.select_rom(serial)
            self.wire.writebyte(READ_PAGE)
            self.wire.readinto(self.page)
            counts = counts_of(self.page)
        except Exception:  # the driver raises OneWireError, and plain Exception too
            return LOST
        return LOST if counts == LOST else centi_c_from_raw(counts)

    def scan(self):
        """Return the serial numbers of the probes that answer."""
        try:
            return [bytes(rom) for rom in self.wire.scan() if rom[0] == FAMILY and not crc8_1wire(rom)]
        except Exception:
            return []
