"""The heater and vent stages. They follow the house alone and never contradict each other.

What lives here: when the heater and the vent are on. t is decide's Deciding with its timers brought up to date.
What never does: the fan.
"""

from controller.core.limits import RESTING
from controller.core.phases import CHARGE, REST
from controller.core.screen import HAND_OFF
from controller.core.wants import GUARD_START

VENT_STAYS_C = 1500  # outside this warm: a vent may stay as it was though the house is unknown


def heat_wanted(s, r):
    """Return 1 at or below the heater's setpoint."""
    return 1 if s.heater_fitted and r.house_ok and r.house_centi_c <= s.heat_below_centi_c else 0


def store_spent(r):
    """Return 1 when the soil is known to be too cold to warm the house."""
    return 1 if r.soil_ok and r.house_ok and r.soil_centi_c - r.house_centi_c < GUARD_START else 0


def heat_wait_step(s, t, r, elapsed_s):
    """Return the seconds since the house was last seen warmer than heat_below_c, held at heat_delay_s."""
    return min(t.heat_wait_s + elapsed_s, s.heat_delay_s) if heat_wanted(s, r) else 0


def vent_step(s, t, r, phase, charge_limit):
    """Return 1 when the vent is to be open. charge_limit: what holds back the rule that asks for charging."""
    if not s.vent_fitted or t.heater or heat_wanted(s, r):
        return 0
    if not r.house_ok:
        return t.vent if r.outside_ok and r.outside_centi_c >= VENT_STAYS_C else 0
    if t.vent_s < s.min_rest_s:
        return t.vent
    if t.vent:
        return 1 if r.house_centi_c > s.vent_above_centi_c - s.vent_band_centi_c else 0
    if r.house_centi_c < s.vent_above_centi_c:
        return 0
    if phase == CHARGE:  # the store takes what it can first
        return 1 if t.phase == CHARGE and t.run_s >= s.min_run_s else 0
    return 0 if phase == REST and charge_limit == RESTING else 1


def heater_step(s, t, r, vent):
    """Return 1 when the heater is to be on: never with the house unknown, never with the vent open."""
    if not s.heater_fitted or not r.house_ok or vent:
        return 0
    if t.heater_s < s.min_rest_s:
        return t.heater
    if t.heater:
        return 1 if r.house_centi_c < s.heat_below_centi_c + s.heat_band_centi_c else 0
    fan_helps = 0 if store_spent(r) or r.hand == HAND_OFF else 1
    return 1 if heat_wanted(s, r) and (t.heat_wait_s >= s.heat_delay_s or not fan_helps) else 0
