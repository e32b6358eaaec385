"""The timers: the time that passed, booked to what was on.

What lives here: everything that counts seconds and is read by a decision.
What never does: a comparison with a temperature.
"""

from controller.core import allowance, limits, stages, wants
from controller.core.phases import BLIND, CHARGE, DISCHARGE, HAND
from controller.core.state import Deciding


def timed(s, d, r, elapsed_s):
    """Return Deciding d with elapsed_s booked to the phase that was on, and frost guard brought up to date."""
    on_account = d.fan and d.phase != HAND and not (d.phase == DISCHARGE and d.guard)
    own_run = d.fan and d.phase != HAND
    longest_rest_s = max(s.blind_rest_s, wants.TRIAL_REST_S)
    return Deciding(
        d.phase,
        d.fan,
        d.rule,
        min(d.run_s + elapsed_s, s.max_run_s) if own_run else 0,
        0 if d.fan else min(d.rest_s + elapsed_s, longest_rest_s),
        min(d.blind_s + elapsed_s, s.max_run_s) if own_run and d.phase == BLIND else 0,
        0 if r.house_ok else d.blind_ran,
        s.lost_after_s if r.house_ok else min(d.wake_s + elapsed_s, s.lost_after_s),
        min(d.retry_s + elapsed_s, limits.OUTLET_RETRY_S),
        wants.guard_holds(s, d.guard, r),
        allowance.book(s, d.allowance, elapsed_s, elapsed_s if on_account else 0),
        d.heater,
        min(d.heater_s + elapsed_s, s.min_rest_s),
        stages.heat_wait_step(s, d, r, elapsed_s),
        d.vent,
        min(d.vent_s + elapsed_s, s.min_rest_s),
    )


def bound(s, t):
    """Return 1 while a run of the board's own must go on, for the motor's sake."""
    if not t.fan or t.phase == HAND or t.run_s >= s.min_run_s:
        return 0
    return 0 if t.phase == CHARGE and t.guard else 1
