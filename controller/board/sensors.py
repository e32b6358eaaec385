"""All probes of a board in their roles: one Raw a second for core.screen.

What lives here: who is which role, with which offset. What never does: the wire's bytes (probes, humidity), belief.
"""

from controller.core.screen import REQUEST_NONE, Raw
from controller.core.units import LOST

ROLES = ("house", "soil", "outlet", "outside")  # in the order of Raw
OFFSET_LIMIT = 300  # hundredths of a degree; a probe that needs more is broken


class Sensors:
    """probes: Probes; humidity: HumidityProbe or None; roles: {role: (serial bytes or None, offset_centi_c)}."""

    def __init__(self, probes, humidity, inputs, roles):
        self.probes, self.humidity, self.inputs, self.roles = probes, humidity, inputs, roles
        self.searching = False
        self.find = {}  # {serial: reading when the search began}
        self.seen = {}  # {serial: last reading}, while a search goes on

    def start(self):
        """Start what read() will fetch a second later."""
        self.probes.start()
        if self.humidity is not None:
            self.humidity.start()

    def read(self, elapsed_s, request=REQUEST_NONE):
        """Return the Raw of this second, and start the next conversions."""
        ready = self.probes.ready()
        values = [self._role(role, ready) for role in ROLES]
        if self.searching and ready:
            self.seen = {serial: self.probes.read(serial) for serial in self.find}
            for serial, now in self.seen.items():
                if self.find[serial] == LOST:
                    self.find[serial] = now
        air = humidity = LOST
        if self.humidity is not None:
            air, humidity = self.humidity.read()
            air = _plus(air, self.roles.get("humidity", (None, 0))[1])
        self.start()
        hand, readback = self.inputs.read()
        return Raw(
            elapsed_s, values[0], values[1], values[2], values[3], air, humidity, hand, request, readback
        )  # fmt: skip

    def _role(self, role, ready):
        serial, offset = self.roles.get(role, (None, 0))
        return _plus(self.probes.read(serial), offset) if ready and serial else LOST

    def find_start(self):
        """Begin a search for which probe is which; return how many answer."""
        self.searching = True
        self.find = {serial: LOST for serial in self.probes.scan()}
        self.seen = {}
        return len(self.find)

    def found(self):
        """Return [(serial, reading, rise since the search began)] in hundredths of a degree, LOST where unknown."""
        out = []
        for serial, now in self.seen.items():
            first = self.find[serial]
            out.append((serial, now, LOST if LOST in (now, first) else now - first))
        return sorted(out)


def _plus(value, offset):
    return LOST if value == LOST else value + offset
