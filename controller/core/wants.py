"""What is wanted: the rules that ask for charging or discharging.

What lives here: comparisons of temperatures, bands and timers, one named function each. t is decide's Deciding
with its timers brought up to date, r the Reading, s the Settings. house, soil ... are hundredths of a degree C.
What never does: what holds the fan back (limits), the next phase (phases), anything counted or told.
"""

from controller.core.phases import (
    BY_DAMP,
    BY_FLUSH,
    BY_GUARD,
    BY_SETPOINT,
    BY_TRIAL,
    CHARGE,
    DISCHARGE,
    NO_RULE,
)
from controller.core.screen import REQUEST_TRIAL

OUTLET_AFTER_S = 600  # the outlet shows the soil once the fan has run this long
OUTLET_GAIN = 100  # least difference at the outlet that is worth running for
GUARD_START, GUARD_STOP = 100, 50  # soil over house, under frost guard
DAMP_START, DAMP_STOP, DAMP_GAIN = 100, 30, 100  # dew point over soil; house over soil
FLUSH_HOUSE = 500  # over discharge_below: flushing cools no further
TRIAL_RUN_S, TRIAL_REST_S = 1800, 1800
TRIAL_MARGIN = 200  # house over frost guard


def guard_holds(s, held, r):
    """Return 1 while frost guard holds; an unknown house leaves it as it was."""
    if not r.house_ok:
        return held
    if r.house_centi_c <= s.frost_guard_centi_c:
        return 1
    return held if r.house_centi_c < s.frost_guard_centi_c + s.frost_band_centi_c else 0


def outlet_stands(t, r):
    """Return 1 when the outlet stands in for a lost soil probe."""
    return 1 if not r.soil_ok and r.outlet_ok and t.fan and t.run_s >= OUTLET_AFTER_S else 0


def outlet_refuses(t, r):
    """Return 1 when the outlet says that the run under way moves no heat worth having."""
    if not outlet_stands(t, r) or not r.house_ok:
        return 0
    warmer = r.outlet_centi_c - r.house_centi_c
    if t.phase == CHARGE:
        return 1 if -warmer < OUTLET_GAIN else 0
    return 1 if not t.guard and warmer < OUTLET_GAIN else 0  # also at the end of a blind run


def worth(s, t, r, warmer, kept):
    """Return 1 when a difference of warmer is worth running for; an unknown soil is, until the outlet refuses."""
    if not r.soil_ok:
        return 0 if outlet_refuses(t, r) else 1
    return 1 if warmer >= s.least_gain_centi_c - (s.gain_band_centi_c if kept else 0) else 0


def trial_owns(s, t, r):
    """Return 1 while a trial was asked for and is safe: it then alternates runs and rests."""
    if r.request != REQUEST_TRIAL or t.guard or not r.soil_ok:
        return 0
    if r.house_centi_c < s.frost_guard_centi_c + TRIAL_MARGIN:
        return 0
    return worth(s, t, r, abs(r.soil_centi_c - r.house_centi_c), t.rule == BY_TRIAL)


def trial_runs(t):
    """Return 1 in the running half of a trial."""
    if t.rule == BY_TRIAL:
        return 1 if t.run_s < TRIAL_RUN_S else 0
    return 1 if not t.fan and t.rest_s >= TRIAL_REST_S else 0


def damp_holds(s, r, kept):
    """Return 1 when condensing moisture is worth charging for. Dew points below freezing never are."""
    if not s.humid_charge_pct or not r.dew_ok or not r.soil_ok or r.dew_centi_c < 0:
        return 0
    over = r.dew_centi_c - r.soil_centi_c
    if kept:
        warm = r.house_centi_c >= s.humid_charge_above_centi_c - s.charge_band_centi_c
        return 1 if warm and over >= DAMP_STOP else 0
    damp = r.humidity_deci_pct >= s.humid_charge_pct * 10 and over >= DAMP_START
    warm = r.house_centi_c >= s.humid_charge_above_centi_c
    return 1 if damp and warm and r.house_centi_c - r.soil_centi_c >= DAMP_GAIN else 0


def flush_holds(s, r, kept):
    """Return 1 when soil this warm may be cooled through a house that can bear it."""
    if not s.flush_above_centi_c or not r.soil_ok:
        return 0
    warm = r.soil_centi_c >= s.flush_above_centi_c - (s.soil_band_centi_c if kept else 0)
    return 1 if warm and r.house_centi_c >= s.discharge_below_centi_c + FLUSH_HOUSE else 0


def hot(s, r, kept):
    """Return 1 when the house is warm enough to charge."""
    return 1 if r.house_centi_c >= s.charge_above_centi_c - (s.charge_band_centi_c if kept else 0) else 0


def cold(s, r, kept):
    """Return 1 when the house is cold enough to discharge."""
    if kept:
        return 1 if r.house_centi_c < s.discharge_below_centi_c + s.discharge_band_centi_c else 0
    return 1 if r.house_centi_c <= s.discharge_below_centi_c else 0


def charge_rule(s, t, r):
    """Return the rule that asks for charging, NO_RULE when none does. The rule under way is asked first."""
    if t.guard or not r.house_ok:
        return NO_RULE
    rule = t.rule if t.phase == CHARGE else NO_RULE
    warmer = r.house_centi_c - r.soil_centi_c
    if rule == BY_DAMP and damp_holds(s, r, 1):
        return BY_DAMP
    if rule == BY_SETPOINT and hot(s, r, 1) and worth(s, t, r, warmer, 1):
        return BY_SETPOINT
    if trial_owns(s, t, r):
        return BY_TRIAL if trial_runs(t) and warmer > 0 else NO_RULE
    if hot(s, r, 0) and worth(s, t, r, warmer, 0):
        return BY_SETPOINT
    return BY_DAMP if damp_holds(s, r, 0) else NO_RULE


def discharge_rule(s, t, r):
    """Return the rule that asks for discharging, NO_RULE when none does. Frost guard is asked first."""
    if not r.house_ok:
        return NO_RULE
    rule = t.rule if t.phase == DISCHARGE else NO_RULE
    warmer = r.soil_centi_c - r.house_centi_c
    if t.guard:
        least = GUARD_STOP if t.phase == DISCHARGE else GUARD_START
        return BY_GUARD if not r.soil_ok or warmer >= least else NO_RULE
    if rule in (BY_SETPOINT, BY_GUARD) and cold(s, r, 1) and worth(s, t, r, warmer, 1):
        return BY_SETPOINT
    if rule == BY_FLUSH and flush_holds(s, r, 1) and worth(s, t, r, warmer, 1):
        return BY_FLUSH
    if trial_owns(s, t, r):
        return BY_TRIAL if trial_runs(t) and warmer > 0 else NO_RULE
    if cold(s, r, 0) and worth(s, t, r, warmer, 0):
        return BY_SETPOINT
    return BY_FLUSH if flush_holds(s, r, 0) and worth(s, t, r, warmer, 0) else NO_RULE
