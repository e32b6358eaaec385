"""What is told and counted: the reason, the alarms, and totals since power-up.

What lives here: sums. What never does: anything that a decision reads.
"""

from collections import namedtuple

from controller.core import alarms as alarm_bits
from controller.core.phases import BLIND, CHARGE, DISCHARGE, HAND

TOP = (1 << 30) - 1  # counters stop here; 34 years of seconds

# alarm_state holds the alarms' timers, alarms the bits of those that stand.
Counters = namedtuple(
    "Counters",
    "reason alarms alarm_state starts charge_s discharge_s blind_s hand_s guard_s heater_s vent_s",
)


def start(reason):
    """Return the Counters at power-up."""
    return Counters(reason, 0, alarm_bits.start(), 0, 0, 0, 0, 0, 0, 0, 0)


def add(total, more):
    """Return a counter plus more, stopped at the top."""
    return min(total + more, TOP)


def step(c, was, now, alarm_state, reason, elapsed_s):
    """Return Counters with elapsed_s booked to Deciding was, which held meanwhile, and the start of Deciding now."""
    started = 1 if now.fan and not was.fan and now.phase != HAND else 0
    return Counters(
        reason,
        alarm_bits.bits(alarm_state),
        alarm_state,
        add(c.starts, started),
        add(c.charge_s, elapsed_s if was.phase == CHARGE else 0),
        add(c.discharge_s, elapsed_s if was.phase == DISCHARGE else 0),
        add(c.blind_s, elapsed_s if was.phase == BLIND and was.fan else 0),
        add(c.hand_s, elapsed_s if was.phase == HAND and was.fan else 0),
        add(c.guard_s, elapsed_s if was.guard else 0),
        add(c.heater_s, elapsed_s if was.heater else 0),
        add(c.vent_s, elapsed_s if was.vent else 0),
    )
