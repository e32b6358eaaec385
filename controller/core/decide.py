"""One step of the state machine: book the time that passed, find the condition, look up the phase, drive the stages.

What lives here: the order of the pieces. The pieces themselves, each tested alone: state, timers, allowance, wants,
limits, phases, stages, alarms, counters, reasons.
What never does: a clock, a date, randomness, a pin, a file. It is told elapsed seconds and screened readings.
"""

from controller.core import alarms, allowance, counters, limits, phases, reasons, stages, timers, wants
from controller.core.phases import BLIND, CHARGE, DISCHARGE, HAND, NO_RULE, REST
from controller.core.screen import HAND_OFF, HAND_ON, step_length
from controller.core.state import Asked, Deciding, State


def start(s):
    """Return the State at power-up under Settings s: everything off, as if it had stopped this very second."""
    deciding = Deciding(
        REST, 0, NO_RULE, 0, 0, 0, 0, 0, limits.OUTLET_RETRY_S, 0, allowance.full(s), 0, 0, 0, 0, 0
    )  # fmt: skip
    return State(deciding, counters.start(reasons.WAKING))


def condition_of(s, t, r, charge, discharge):
    """Return the one condition that holds; charge and discharge tell whether each is wanted and free."""
    if r.hand == HAND_OFF or r.hand == HAND_ON:
        return phases.SWITCH_OFF if r.hand == HAND_OFF else phases.SWITCH_ON
    if not r.house_ok:
        if t.wake_s < s.lost_after_s:
            return phases.UNSEEN
        return phases.TIMED_RUN if limits.timed_run_due(s, t, r) else phases.TIMED_REST
    held = timers.bound(s, t)
    if discharge and not (held and t.phase == CHARGE):
        return phases.WANT_DISCHARGE
    if charge and not (held and t.phase != CHARGE):
        return phases.WANT_CHARGE
    return phases.MIN_RUN if held else phases.NOTHING


def free(rule, limit):
    """Return 1 when a rule asks and nothing holds it back."""
    return 1 if rule and limit == limits.FREE else 0


def rule_now(t, phase, condition, charge, discharge):
    """Return the rule that the run is under from now on."""
    if phase in (CHARGE, DISCHARGE):
        if condition == phases.MIN_RUN:
            return t.rule
        return charge if phase == CHARGE else discharge
    return NO_RULE


def asked(s, t, r):
    """Return the Asked of this moment."""
    charge, discharge = wants.charge_rule(s, t, r), wants.discharge_rule(s, t, r)
    return Asked(
        charge,
        limits.limit_of(s, t, r, CHARGE, charge) if charge else limits.FREE,
        discharge,
        limits.limit_of(s, t, r, DISCHARGE, discharge) if discharge else limits.FREE,
    )


def entered(s, t, r, ask, condition):
    """Return the Deciding that holds from now on."""
    phase = phases.next_phase(t.phase, condition)
    fan = phases.fan_of(phase, condition)
    vent = stages.vent_step(s, t, r, phase, ask.charge_limit)
    heater = stages.heater_step(s, t, r, vent)
    return Deciding(
        phase,
        fan,
        rule_now(t, phase, condition, ask.charge, ask.discharge),
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


def next_deciding(s, d, r):
    """Return the Deciding after one Reading r: all of step that a decision needs, for replays that are told nothing."""
    t = timers.timed(s, d, r, step_length(r.elapsed_s))
    ask = asked(s, t, r)
    return entered(s, t, r, ask, condition_of(s, t, r, free(ask.charge, ask.charge_limit),
                                              free(ask.discharge, ask.discharge_limit)))  # fmt: skip


def step(s, state, r):
    """Return the State after one Reading r. Each state holds from its step until the next.

    s is a Settings that passed settings.from_mapping. r.elapsed_s below 0 counts as 0 and above 3600 as 3600.
    """
    d, elapsed_s = state.deciding, step_length(r.elapsed_s)
    t = timers.timed(s, d, r, elapsed_s)
    ask = asked(s, t, r)
    condition = condition_of(
        s, t, r, free(ask.charge, ask.charge_limit), free(ask.discharge, ask.discharge_limit)
    )  # fmt: skip
    deciding = entered(s, t, r, ask, condition)
    reason = reasons.reason_of(s, t, r, condition, ask)
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
