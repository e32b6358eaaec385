"""One step of the state machine: book the time that passed, find the condition, look up the phase, drive the stages.

What lives here: the state and the order of the pieces. The pieces themselves: allowance, wants, limits, phases,
stages, alarms, counters, reasons, each tested alone.
What never does: a clock, a date, randomness, a pin, a file. It is told elapsed seconds and screened readings.
"""

from collections import namedtuple

from controller.core import alarms, allowance, counters, limits, phases, reasons, stages, wants
from controller.core.phases import BLIND, CHARGE, DISCHARGE, HAND, NO_RULE, REST
from controller.core.screen import HAND_OFF, HAND_ON, step_length

# What decides. Finite: each timer stops at the longest length that is asked of it.
Deciding = namedtuple(
    "Deciding",
    "phase fan rule run_s rest_s blind_s blind_ran wake_s retry_s guard allowance "
    "heater heater_s heat_wait_s vent vent_s",
)

State = namedtuple("State", "deciding counters")


def start(s):
    """Return the State at power-up under Settings s: everything off, as if it had stopped this very second."""
    deciding = Deciding(
        REST, 0, NO_RULE, 0, 0, 0, 0, 0, limits.OUTLET_RETRY_S, 0, allowance.full(s), 0, 0, 0, 0, 0
    )  # fmt: skip
    return State(deciding, counters.start(reasons.WAKING))


def timed(s, d, r, elapsed_s):
    """Return Deciding d with elapsed_s booked to the phase that was on, and frost guard brought up to date."""
    on_account = d.fan and d.phase != HAND and not (d.phase == DISCHARGE and d.guard)
    own_run = d.fan and d.phase != HAND
    longest_rest_s = max(s.blind_rest_s, wants.TRIAL_REST_S)
    t = Deciding(
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
    return t


def bound(s, t):
    """Return 1 while a run of the board's own must go on, for the motor's sake."""
    if not t.fan or t.phase == HAND or t.run_s >= s.min_run_s:
        return 0
    return 0 if t.phase == CHARGE and t.guard else 1


def condition_of(s, t, r, charge, discharge):
    """Return the one condition that holds; charge and discharge tell whether each is wanted and free."""
    if r.hand == HAND_OFF or r.hand == HAND_ON:
        return phases.SWITCH_OFF if r.hand == HAND_OFF else phases.SWITCH_ON
    if not r.house_ok:
        if t.wake_s < s.lost_after_s:
            return phases.UNSEEN
        return phases.TIMED_RUN if limits.timed_run_due(s, t, r) else phases.TIMED_REST
    held = bound(s, t)
    if discharge and not (held and t.phase == CHARGE):
        return phases.WANT_DISCHARGE
    if charge and not (held and t.phase != CHARGE):
        return phases.WANT_CHARGE
    return phases.MIN_RUN if held else phases.NOTHING


def rule_now(t, phase, condition, charge, discharge):
    """Return the rule that the run is under from now on."""
    if phase in (CHARGE, DISCHARGE):
        if condition == phases.MIN_RUN:
            return t.rule
        return charge if phase == CHARGE else discharge
    return NO_RULE


def step(s, state, r):
    """Return the State after one Reading r. Each state holds from its step until the next.

    s is a Settings that passed settings.from_mapping. r.elapsed_s below 0 counts as 0 and above 3600 as 3600.
    """
    d = state.deciding
    elapsed_s = step_length(r.elapsed_s)
    t = timed(s, d, r, elapsed_s)
    charge, discharge = wants.charge_rule(s, t, r), wants.discharge_rule(s, t, r)
    charge_limit = limits.limit_of(s, t, r, CHARGE, charge) if charge else limits.FREE
    discharge_limit = limits.limit_of(s, t, r, DISCHARGE, discharge) if discharge else limits.FREE
    condition = condition_of(
        s, t, r, charge and charge_limit == limits.FREE, discharge and discharge_limit == limits.FREE
    )  # fmt: skip
    phase = phases.next_phase(t.phase, condition)
    fan = phases.fan_of(phase, condition)
    rule = rule_now(t, phase, condition, charge, discharge)
    vent = stages.vent_step(s, t, r, phase, charge_limit)
    heater = stages.heater_step(s, t, r, vent)
    deciding = Deciding(
        phase,
        fan,
        rule,
        t.run_s if fan and t.fan and phase != HAND else 0,
        0 if fan else t.rest_s,
        t.blind_s if phase == BLIND and fan else 0,
        1 if phase == BLIND and fan else t.blind_ran,
        t.wake_s,
        0 if wants.outlet_refuses(t, r) else t.retry_s,
        t.guard,
        t.allowance,
        heater,
        t.heater_s if heater == t.heater else 0,
        t.heat_wait_s,
        vent,
        t.vent_s if vent == t.vent else 0,
    )
    limit = discharge_limit if discharge else charge_limit
    rule = discharge if condition == phases.WANT_DISCHARGE else charge
    reason = reasons.reason_of(s, t, r, condition, rule, limit)
    alarm_state = alarms.step(s, state.counters.alarm_state, t, r, elapsed_s)
    return State(deciding, counters.step(state.counters, d, deciding, alarm_state, reason, elapsed_s))


def fan_pct(s, state):
    """Return the fan's speed in percent, 0 when it is off. Frost guard, blind and hand run it at 100."""
    d = state.deciding
    if not d.fan:
        return 0
    if d.phase == CHARGE:
        return s.charge_fan_pct
    if d.phase == DISCHARGE and not d.guard:
        return s.discharge_fan_pct
    return 100
