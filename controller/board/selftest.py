"""The outputs one by one for a few seconds, only when that harms nothing.

What lives here: when a test may begin, and what it does meanwhile. A test of the fan is told to the core as the hand
switch on "on", so the core counts the run and the rest after it like any other.
"""

from controller.core import screen
from controller.core.phases import REST

TEST_S = 5
OUTPUTS = ("fan", "heater", "vent", "alarm", "light")


def refusal(board, name):
    """Return "" when the output may be tested now, or why not."""
    s, d, r = board.settings, board.state.deciding, board.reading
    if name not in OUTPUTS:
        return "%s is no output. Outputs: %s." % (name[:20], ", ".join(OUTPUTS))
    if board.test.name:
        return "%s is being tested." % board.test.name
    if board.survive.safe:
        return "the safe loop tests nothing."
    if name in ("alarm", "light"):
        return ""
    if r is None or r.hand != screen.HAND_AUTO:
        return "the hand switch must be on auto."
    if d.phase != REST or d.rest_s < s.min_rest_s:
        return "the fan must have rested for %d s." % s.min_rest_s
    if not r.house_ok or d.guard or r.house_centi_c <= s.frost_guard_centi_c + s.frost_band_centi_c:
        return "the house must be known and out of danger of frost."
    if name == "fan":
        return ""
    if not (s.heater_fitted if name == "heater" else s.vent_fitted):
        return "%s_fitted is 0." % name
    if d.heater or d.vent or d.heater_s < s.min_rest_s or d.vent_s < s.min_rest_s:
        return "heater and vent must both have been off for %d s." % s.min_rest_s
    return ""


class SelfTest:
    """name: the output under test, "" when none is."""

    def __init__(self):
        self.name, self.left_s = "", 0

    def start(self, name):
        """Begin; refusal() must have returned ""."""
        self.name, self.left_s = name, TEST_S

    def raw(self, raw):
        """Return the Raw with the hand switch that a test of the fan pretends. The real switch ends the test."""
        if self.name and raw.hand != screen.HAND_AUTO:
            self.name = ""
        if self.name != "fan":
            return raw
        return screen.Raw(*(tuple(raw)[:7] + (screen.HAND_ON,) + tuple(raw)[8:]))

    def second(self, outputs, settings, elapsed_s):
        """Drive the output under test over what was decided; count down."""
        if not self.name:
            return
        if self.left_s <= 0:
            self.name = ""
            return
        self.left_s -= elapsed_s
        if self.name == "heater" and not outputs.vent.on:
            outputs.heater.set(1)
            outputs.heater_held_s = settings.min_rest_s + TEST_S
        elif self.name == "vent" and not outputs.heater.on:
            outputs.vent.set(1)
        elif self.name == "alarm":
            outputs.alarm.set(0)

    def light(self, level):
        """Return the light's level: a test of it inverts it."""
        return 1 - level if self.name == "light" else level
