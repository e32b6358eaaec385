"""The safe loop: timed runs of the fan and nothing else, when the ordinary loop kept being reset.

What lives here: one timer. It reads no probe, no setting and no file, and calls nothing of the core, so that what broke
the ordinary loop cannot break it. The heater is off, the vent shut, the alarm given, the console open.
What never does: a rule that needs a temperature.
"""

RUN_S = 600  # as blind_run_s by default
FIRST_REST_S = 300  # before the first run: motor and relay care


class Safe:
    """rest_s: seconds between runs; 1800, longer while starts keep causing resets (survive)."""

    def __init__(self, rest_s):
        self.rest_s = rest_s
        self.fan = 0
        self.left_s = rest_s if rest_s > 1800 else FIRST_REST_S
        self.starts = 0
        self.up_s = 0

    def second(self, elapsed_s):
        """Let elapsed_s pass; return 1 while the fan is to run."""
        self.up_s += elapsed_s
        self.left_s -= elapsed_s
        if self.left_s <= 0:
            self.fan = 1 - self.fan
            self.starts += self.fan
            self.left_s = RUN_S if self.fan else self.rest_s
        return self.fan

    def text(self):
        """Return what it does, in words."""
        words = "SAFE LOOP: timed runs only, fan %s for %d s more; rests of %d s. Find the cause, then cycle the power."
        return words % ("on" if self.fan else "off", max(self.left_s, 0), self.rest_s)
