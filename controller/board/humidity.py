"""An SHT3x- or SHT4x-type probe on I2C: ask, and read the answer a second later. Nothing here waits.

What lives here: the bus's bytes to (hundredths of a degree C, tenths of a percent), every failure to LOST.
Source of commands, words and CRC: the probes' data sheets.
"""

from controller.core.units import LOST, centi_c_from_sht, crc8_humidity, deci_pct_from_sht3x, deci_pct_from_sht4x

ADDRESS = 0x44
ASK = {"sht3x": b"\x24\x00", "sht4x": b"\xfd"}  # one measurement, most exact, no clock stretching
SILENT_BEFORE_RESCUE = 30  # failures in a row


class HumidityProbe:
    """kind: "sht3x" or "sht4x". bus: an I2C object. rescue: returns the bus made anew when it hangs."""

    def __init__(self, bus, kind, rescue):
        self.bus, self.rescue = bus, rescue
        self.ask = ASK[kind]
        self.percent = deci_pct_from_sht3x if kind == "sht3x" else deci_pct_from_sht4x
        self.answer = bytearray(6)
        self.asked = False
        self.failures = 0

    def start(self):
        """Ask for a measurement. It takes 16 ms at most."""
        try:
            self.bus.writeto(ADDRESS, self.ask)
            self.asked = True
        except Exception:
            self.asked = False

    def read(self):
        """Return (hundredths of a degree C, tenths of a percent), each LOST when it cannot be had."""
        try:
            if self.asked:
                self.asked = False
                self.bus.readfrom_into(ADDRESS, self.answer)
                out = self.converted()
                if out[0] != LOST:
                    self.failures = 0
                    return out
        except Exception:
            pass
        self.failures += 1
        if self.failures >= SILENT_BEFORE_RESCUE:
            self.failures = 0
            self._rescue()
        return LOST, LOST

    def converted(self):
        """Return the two values of self.answer: word, CRC, word, CRC."""
        answer = self.answer
        if crc8_humidity(answer[0:3]) or crc8_humidity(answer[3:6]):
            return LOST, LOST
        return centi_c_from_sht(answer[0] << 8 | answer[1]), self.percent(answer[3] << 8 | answer[4])

    def _rescue(self):
        try:
            self.bus = self.rescue()
        except Exception:
            pass  # tried again after as many failures
