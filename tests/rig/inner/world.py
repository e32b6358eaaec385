"""The simulated world round a board: time, pins, probes, faults. Runs under MicroPython, beside the firmware.

All that the stand-ins for machine, onewire and time do goes through the one World here.
"""

TICKS = 1 << 30


class Gone(BaseException):
    """The chip has stopped: power off or reset. No Exception, so no handler of the firmware holds it up."""


class Probe:
    """A DS18B20-type probe. counts: what it would measure, in 1/16 degree C. fault: "" or what ails it."""

    def __init__(self, serial):
        self.serial = serial
        self.counts = 0
        self.fault = ""
        self.powered()

    def powered(self):
        """Power-up: the scratchpad holds +85 degC and the mark of a conversion that did not happen."""
        self.page = page_of(0x0550, 0x0C)
        self.ready_ms = -1
        self.next_page = None

    def convert(self, now_ms):
        """Begin a conversion."""
        if self.fault == "85":
            self.powered()
            return
        self.next_page = page_of(self.counts, 0x10)
        self.ready_ms = now_ms + 750

    def read(self, now_ms):
        """Return the nine bytes of the scratchpad."""
        if self.next_page is not None and now_ms >= self.ready_ms:
            self.page, self.next_page = self.next_page, None
        if self.fault == "crc":
            return bytes((self.page[0] ^ 4,)) + self.page[1:]
        if self.fault == "zeros":
            return bytes(9)
        return self.page


PAGES = {}


def page_of(counts, sixth):
    """Return a scratchpad with its CRC; the few that are in use are remembered."""
    key = counts << 8 | sixth
    if key not in PAGES:
        if len(PAGES) > 400:
            PAGES.clear()
        raw = counts & 0xFFFF
        body = bytes((raw & 0xFF, raw >> 8, 0x4B, 0x46, 0x7F, 0xFF, sixth, 0x10))
        PAGES[key] = body + bytes((crc8(body, 0x8C, 0),))
    return PAGES[key]


def crc8(data, polynomial, crc, reflected=True):
    """Return a CRC-8, written anew so that the firmware's own is checked against another."""
    for byte in data:
        for bit in range(8):
            if reflected:
                mix = (crc ^ byte >> bit) & 1
                crc = crc >> 1 ^ (polynomial if mix else 0)
            else:
                mix = (crc >> 7 ^ byte >> (7 - bit)) & 1
                crc = (crc << 1 & 0xFF) ^ (polynomial if mix else 0)
    return crc


def serial(number):
    """Return the serial number of the n-th probe."""
    body = bytes((0x28, number, 0xAB, 0x12, 0x34, 0x56, 0))
    return body + bytes((crc8(body, 0x8C, 0),))


class Port:
    """The console's port, with a host that may be there, slow, or gone."""

    def __init__(self):
        self.to_board = bytearray()
        self.place = 0
        self.from_board = bytearray()
        self.sink = None  # a file that takes what the board sends, in place of from_board
        self.takes = True  # the host takes what the board sends

    def send(self, data):
        """What the host sends."""
        if self.place:
            self.to_board = self.to_board[self.place :]
            self.place = 0
        self.to_board += data

    def take(self):
        """Return, and forget, what the board sent."""
        out, self.from_board = bytes(self.from_board), bytearray()
        return out

    def read(self):
        """The board's end."""
        if self.place >= len(self.to_board):
            return -1
        self.place += 1
        byte = self.to_board[self.place - 1]
        if byte == 3:
            raise KeyboardInterrupt
        return byte

    def write(self, data):
        """The board's end."""
        if not self.takes:
            return 0
        if self.sink is not None:
            self.sink.write(data[:64])
        else:
            self.from_board += data[:64]
        return min(len(data), 64)


class World:
    """ms: true time. Everything that a reset clears is cleared by reset()."""

    def __init__(self, first_ticks=0):
        self.ms = 0
        self.least_sleep_ms = 0  # every sleep of the firmware lasts so long: a slow board, and a long time soon over
        self.first_ticks = first_ticks  # of the board's counter, so that its wrap comes early
        self.until_ms = -1
        self.next_second_ms = 1000
        self.on_feed = None  # called when the watchdog is fed
        self.on_second = None  # called at every whole second
        self.registers = {}  # survive a reset, not a power-off
        self.cause = 1
        self.outs = {}  # pin: level, while it is an output
        self.duty = {}  # pin: duty, while it is driven by PWM
        self.ins = {}  # pin: level; 1 by pull-up where none is given
        self.stuck_outs = {}  # pin: level that it has whatever is written
        self.probes = {}
        self.bus_fault = ""
        self.air_counts = (0, 0)  # temperature and humidity words
        self.i2c_fault = ""
        self.deadline_ms = -1
        self.timeout_ms = 0
        self.feeds = self.longest_feed_ms = self.fed_ms = 0
        self.resets = 0
        self.why = ""
        self.stopped = False  # what a handler of the firmware does after the chip stopped did not happen
        self.nor = None
        self.port = Port()
        self.fan_starts = 0
        self.on_out = None  # called with (pin, level) at each change

    def ticks(self):
        """Return the board's millisecond counter."""
        return (self.ms + self.first_ticks) % TICKS

    def advance(self, ms):
        """Let time pass; the watchdog bites here, and the simulation ends here."""
        target = self.ms + ms
        while self.next_second_ms <= target:
            self.ms = self.next_second_ms
            self._check()
            self.next_second_ms += 1000
            if self.on_second is not None:
                self.on_second(self)
        self.ms = target
        self._check()

    def _check(self):
        if self.deadline_ms >= 0 and self.ms > self.deadline_ms:
            self.stop("watchdog")
        if self.until_ms >= 0 and self.ms >= self.until_ms:
            self.stop("end")

    def stop(self, why):
        """Stop the chip: from here on neither pins nor registers nor flash take anything."""
        self.why, self.stopped = why, True
        if self.nor is not None:
            self.nor.dead = True
        raise Gone(why)

    def watch(self, timeout_ms):
        """The watchdog is on from now on."""
        self.timeout_ms = timeout_ms
        self.fed_ms = self.ms
        self.deadline_ms = self.ms + timeout_ms

    def feed(self):
        """The watchdog is fed."""
        self.feeds += 1
        if self.on_feed is not None:
            self.on_feed()
        self.longest_feed_ms = max(self.longest_feed_ms, self.ms - self.fed_ms)
        self.fed_ms = self.ms
        self.deadline_ms = self.ms + self.timeout_ms

    def reset(self, power=False):
        """Pins float, the watchdog is off; at a power-off the registers and the probes forget too."""
        self.stopped = False
        self.outs.clear()
        self.duty.clear()
        self.deadline_ms = -1
        self.resets += 1
        self.cause = 1 if power else 3
        if power:
            self.registers.clear()
            for probe in self.probes.values():
                probe.powered()

    def out(self, pin, level):
        """A pin is driven."""
        if self.stopped:
            return
        before = self.outs.get(pin)
        self.outs[pin] = level
        if before != level and self.on_out is not None:
            self.on_out(pin, level)

    def level(self, pin):
        """Return a pin's level."""
        if pin in self.stuck_outs:
            return self.stuck_outs[pin]
        return self.outs[pin] if pin in self.outs else self.ins.get(pin, 1)

    def set_air(self, centi_c, deci_pct):
        """Set the humidity probe's words (SHT4x-type)."""
        t = ((centi_c + 4500) * 65535 + 8750) // 17500
        h = ((deci_pct + 60) * 65535 + 625) // 1250
        self.air_counts = min(max(t, 0), 65535), min(max(h, 0), 65535)


world = World()
