"""The alarms: each a bit that stands while its cause does and at least 60 s.

What lives here: when each alarm is raised and cleared. The words are in reasons.
What never does: anything that a decision reads.
"""

from collections import namedtuple

from controller.core.screen import HAND_AUTO, HAND_ON, READ_OFF, READ_ON
from controller.core.stages import store_spent

HOLD_S = 60
CLEAR_BACK = 100  # frost and heat alarms clear this far back
DIFFER, DIFFER_S = 300, 1800
NO_FLOW_AFTER_S, NO_FLOW_APART, NO_FLOW_SHARE = 600, 500, 5  # under a fifth of the way
CONTACTOR_S = 10  # a contactor needs a moment

# Seconds that each alarm still stands, then what three of them count.
Alarms = namedtuple(
    "Alarms",
    "frost hot house_lost soil_lost stuck differ no_flow spent contactor_on contactor_off "
    "differ_s contactor_on_s contactor_off_s up_s",
)
BITS = 10


def start():
    """Return the Alarms at power-up: none."""
    return Alarms(0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0)


def hold(raised, held_s, elapsed_s):
    """Return the seconds that one alarm still stands."""
    return HOLD_S if raised else max(held_s - elapsed_s, 0)


def frost(s, r, held):
    """Return 1 at or below the frost alarm, until 1 K above it. An unknown house leaves it as it was."""
    if not r.house_ok:
        return 1 if held else 0
    return 1 if r.house_centi_c < s.frost_alarm_centi_c + (CLEAR_BACK if held else 1) else 0


def hot(s, r, held):
    """Return 1 at or above the heat alarm, until 1 K below it. An unknown house leaves it as it was."""
    if not r.house_ok:
        return 1 if held else 0
    return 1 if r.house_centi_c > s.hot_alarm_centi_c - (CLEAR_BACK if held else 1) else 0


def no_flow(t, r):
    """Return 1 when the outlet has gone less than a fifth of the way from house to soil."""
    if not t.fan or t.run_s < NO_FLOW_AFTER_S or not r.house_ok or not r.soil_ok or not r.outlet_ok:
        return 0
    apart = r.soil_centi_c - r.house_centi_c
    gone = r.outlet_centi_c - r.house_centi_c
    return 1 if abs(apart) >= NO_FLOW_APART and (gone if apart > 0 else -gone) * NO_FLOW_SHARE < abs(apart) else 0


def differs(r):
    """Return 1 when house probe and humidity probe are 3 K or more apart."""
    apart = abs(r.house_centi_c - r.humid_air_centi_c)
    return 1 if r.house_probe_ok and r.humid_air_ok and apart >= DIFFER else 0


def should_run(fan, r):
    """Return 1 when the contactor should read on: as the board drove it, unless the switch decides."""
    if r.hand == HAND_AUTO:
        return fan
    return 1 if r.hand == HAND_ON else 0


def count(true, counted_s, elapsed_s, enough_s):
    """Return the seconds for which something has been true, held at enough_s."""
    return min(counted_s + elapsed_s, enough_s) if true else 0


def step(s, a, t, r, elapsed_s):
    """Return Alarms after one step; t is decide's Deciding of the time that elapsed, with guard brought up to date."""
    up_s = min(a.up_s + elapsed_s, s.lost_after_s)
    seen = 1 if up_s >= s.lost_after_s else 0
    should = should_run(t.fan, r)
    differ_s = count(differs(r), a.differ_s, elapsed_s, DIFFER_S)
    on_s = count(r.readback == READ_ON and not should, a.contactor_on_s, elapsed_s, CONTACTOR_S)
    off_s = count(r.readback == READ_OFF and should, a.contactor_off_s, elapsed_s, CONTACTOR_S)
    return Alarms(
        hold(frost(s, r, a.frost > 0), a.frost, elapsed_s),
        hold(hot(s, r, a.hot > 0), a.hot, elapsed_s),
        hold(seen and not r.house_probe_ok, a.house_lost, elapsed_s),
        hold(seen and not r.soil_ok, a.soil_lost, elapsed_s),
        hold(r.stuck, a.stuck, elapsed_s),
        hold(differ_s >= DIFFER_S, a.differ, elapsed_s),
        hold(no_flow(t, r), a.no_flow, elapsed_s),
        hold(t.guard and store_spent(r), a.spent, elapsed_s),
        hold(on_s >= CONTACTOR_S, a.contactor_on, elapsed_s),
        hold(off_s >= CONTACTOR_S, a.contactor_off, elapsed_s),
        differ_s,
        on_s,
        off_s,
        up_s,
    )


def bits(a):
    """Return the alarms that stand as bits, frost lowest, in the order of reasons.ALARMS."""
    out = 0
    for i in range(BITS):
        if a[i] > 0:
            out += 1 << i
    return out
