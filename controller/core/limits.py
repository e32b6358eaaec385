"""What holds the fan back, and the timed runs while the house temperature is unknown.

What lives here: the store's ceiling and floor, the longest run, the allowance, the rests. t is decide's Deciding
with its timers brought up to date, r the Reading, s the Settings.
What never does: what is wanted (wants) or the next phase (phases).
"""

from controller.core import allowance
from controller.core.phases import BY_GUARD, CHARGE

OUTLET_RETRY_S = 3600  # after the outlet ended a run
MILD = 500  # outside this far over discharge_below: no blind run

# What holds back a rule that asks. FREE when nothing does.
FREE, FULL, RESERVE, LONGEST, SPARED, OUTLET_SAID, RESTING = 0, 1, 2, 3, 4, 5, 6


def store_limit(s, r, phase, kept):
    """Return FULL or RESERVE when the soil may take, or give, no more in this phase."""
    if not r.soil_ok:
        return FREE
    band = 0 if kept else s.soil_band_centi_c
    if phase == CHARGE:
        room = s.soil_ceiling_centi_c - r.soil_centi_c
        return FULL if room < band or room <= 0 else FREE
    left = r.soil_centi_c - s.soil_floor_centi_c
    return RESERVE if left < band or left <= 0 else FREE


def start_needs_s(s, phase):
    """Return the running time that must be left for a start: charging leaves half of it to the night."""
    return max(s.min_run_s, s.max_run_s // 2) if phase == CHARGE else s.min_run_s


def limit_of(s, t, r, phase, rule):
    """Return what holds back a rule that asks for phase, FREE when nothing does. Frost guard only rests."""
    if rule != BY_GUARD:
        store = store_limit(s, r, phase, t.phase == phase)
        if store:
            return store
        if t.fan and t.run_s >= s.max_run_s:
            return LONGEST
        if not allowance.enough(t.allowance, t.fan, start_needs_s(s, phase)):
            return SPARED
        if not r.soil_ok and r.outlet_ok and t.retry_s < OUTLET_RETRY_S and not t.fan:
            return OUTLET_SAID
    return RESTING if not t.fan and t.rest_s < s.min_rest_s else FREE


def mild(s, r):
    """Return 1 when the outside is known to be too warm for blind running."""
    return 1 if r.outside_ok and r.outside_centi_c >= s.discharge_below_centi_c + MILD else 0


def bitter(s, r):
    """Return 1 when the outside is known to be at or below frost guard."""
    return 1 if r.outside_ok and r.outside_centi_c <= s.frost_guard_centi_c else 0


def timed_run_due(s, t, r):
    """Return 1 while a timed run goes on, or when one may start, with the house temperature unknown."""
    if t.fan and t.run_s < s.min_run_s:
        return 1
    if mild(s, r) or not allowance.enough(t.allowance, t.fan, s.min_run_s):
        return 0
    if t.fan:
        longest_s = s.max_run_s if bitter(s, r) else s.blind_run_s
        return 1 if t.blind_s < longest_s and t.run_s < s.max_run_s else 0
    first = 1 if not t.blind_ran or bitter(s, r) else 0
    return 1 if t.rest_s >= (s.min_rest_s if first else s.blind_rest_s) else 0
