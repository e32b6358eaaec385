"""A row of the log each minute, from a second at a time.

What lives here: what of a minute goes into its row, so that a replay of the rows decides as the board did. In a
minute with a change (phase, fan, rule, frost guard, heater, vent) the row holds the readings of the change itself, and
its reason; else those at its end. A reading missing at that second is filled by the minute's latest. Frost guard is
begun and ended by one house reading and then holds: that reading is the row's whatever else changed in the minute.
What never does: a file (journal), a belief (core.screen).
"""

from controller.core import decide, record, screen
from controller.core.units import LOST

SHOWN = 5  # house, soil, outlet, outside, humidity


def change(before, now):
    """Return 2 when the fan or its phase changed, 1 when another thing that decides did, else 0."""
    if before.phase != now.phase or before.fan != now.fan:
        return 2
    same = before.rule == now.rule and before.guard == now.guard
    return 0 if same and before.heater == now.heater and before.vent == now.vent else 1


class Minute:
    """Gathers seconds; second() returns a Row when a minute of uptime is over, else None."""

    def __init__(self, clock, settings):
        self.clock, self.settings = clock, settings
        self.due_s = record.ROW_STEP_S
        self.clear()

    def clear(self):
        """Begin the next minute."""
        self.latest = [LOST] * SHOWN
        self.caught = None  # readings at the change
        self.weight = 0  # of that change
        self.guard_house = LOST  # the house when frost guard began or ended
        self.reason = 0
        self.alarms = 0
        self.fan_s = 0

    def second(self, before, state, sstate, reading, elapsed_s):
        """Book one step from State before to state; sstate and reading are the screen's."""
        now, alarms = state.deciding, state.counters.alarms
        if before.deciding.fan:
            self.fan_s += elapsed_s
        self.alarms |= alarms
        values = screen.logged(sstate, reading)
        for i in range(SHOWN):
            if values[i] != LOST:
                self.latest[i] = values[i]
        weight = change(before.deciding, now)
        if weight and weight >= self.weight:
            self.weight, self.caught, self.reason = weight, list(self.latest), state.counters.reason
        if before.deciding.guard != now.guard:
            self.guard_house = self.latest[0]
        if self.clock.uptime_s < self.due_s:
            return None
        return self.row(state)

    def row(self, state):
        """Return the Row of the minute that ends, stamped with its full minute of uptime."""
        uptime_s = self.clock.uptime_s // record.ROW_STEP_S * record.ROW_STEP_S
        day, second = self.clock.at(uptime_s)
        values, reason = self.latest, state.counters.reason
        if self.caught is not None:
            values, reason = self.caught, self.reason
        if self.guard_house != LOST:
            values[0] = self.guard_house
        row = record.row_of(
            day, second, uptime_s, tuple(values), state.deciding, decide.fan_pct(self.settings, state),
            min(self.fan_s, 255), reason, self.alarms,
        )  # fmt: skip
        self.due_s = uptime_s + record.ROW_STEP_S
        self.clear()
        return row
