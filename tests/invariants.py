"""What must hold always: I1 to I10, each a small check of one transition.

What lives here: one function an invariant, (settings, state before, reading, state after) -> 1 while it holds. They
are written anew from the rules, in the core's dialect (ints, no strings), so that the search can jit them too.
What never does: a call into the rules under test, but for fan_pct (I6) and step itself (I9).

A check sees one transition, so it also holds the clocks that it relies on to their word (rest_s may never run ahead
of the true rest, and so on); by induction from power-up the sentence then holds for every history.
"""

from controller.core import decide

REST, CHARGE, DISCHARGE, BLIND, HAND = 0, 1, 2, 3, 4
AUTO, SWITCH_ON, SWITCH_OFF = 0, 1, 2
BY_SETPOINT, BY_DAMP, BY_FLUSH, BY_GUARD, BY_TRIAL = 1, 2, 3, 4, 5
DAY_S = 86400
LONGEST_STEP_S = 3600
OUTLET_AFTER_S, OUTLET_RETRY_S, OUTLET_GAIN = 600, 3600, 100
TOO_BIG = 1 << 30


def length(r):
    """Return the seconds that the step counts: below 0 none, above an hour an hour."""
    return min(max(r.elapsed_s, 0), LONGEST_STEP_S)


def own(d):
    """Return 1 while the fan runs at the board's own will."""
    return 1 if d.fan and d.phase != HAND else 0


def starts(b, a):
    """Return 1 when a run of the board's own begins."""
    return 1 if own(a) and not own(b) else 0


def goes_on(b, a):
    """Return 1 when a run of the board's own goes on."""
    return 1 if own(a) and own(b) else 0


def holds_guard(s, held, r):
    """Return 1 while frost guard must hold (I6, first sentence)."""
    if not r.house_ok:
        return held
    if r.house_centi_c <= s.frost_guard_centi_c:
        return 1
    return 1 if held and r.house_centi_c < s.frost_guard_centi_c + s.frost_band_centi_c else 0


def i1(s, before, r, after):
    """The fan never starts within min_rest_s of its last stop; power-up counts as a stop."""
    b, a = before.deciding, after.deciding
    rested_s = 0 if b.fan else b.rest_s + length(r)
    if starts(b, a) and rested_s < s.min_rest_s:
        return 0
    if a.fan:
        return 1 if a.rest_s == 0 else 0
    return 1 if min(rested_s, s.min_rest_s) <= a.rest_s <= rested_s else 0


def i2(s, before, r, after):
    """Once started it runs min_run_s, but for: hand, house lost in CHARGE, charging under frost guard."""
    b, a = before.deciding, after.deciding
    ran_s = b.run_s + length(r)
    if own(b) and not a.fan and ran_s < s.min_run_s:
        cut = b.phase == CHARGE and (not r.house_ok or a.guard)
        if not cut and r.hand != SWITCH_OFF:
            return 0
    return 1 if 0 <= a.run_s <= (ran_s if goes_on(b, a) else 0) else 0


def i3(s, before, r, after):
    """CHARGE and DISCHARGE never touch; BLIND brings heat back like DISCHARGE and does not touch CHARGE either."""
    b, a = before.deciding.phase, after.deciding.phase
    if b == CHARGE:
        return 0 if a in (DISCHARGE, BLIND) else 1
    return 0 if a == CHARGE and b in (DISCHARGE, BLIND) else 1


def damp_start(s, r):
    """Return 1 when the damp rule may start CHARGE."""
    if not s.humid_charge_pct or not r.humidity_ok or not r.dew_ok or not r.soil_ok:
        return 0
    damp = r.humidity_deci_pct >= s.humid_charge_pct * 10 and r.dew_centi_c >= 0
    over = r.dew_centi_c - r.soil_centi_c >= 100 and r.house_centi_c - r.soil_centi_c >= 100
    return 1 if damp and over and r.house_centi_c >= s.humid_charge_above_centi_c else 0


def trial_may(s, a, r):
    """Return 1 when a trial may run the fan."""
    warm = r.house_centi_c >= s.frost_guard_centi_c + 200
    return 1 if r.request == 1 and warm and r.soil_ok and not a.guard else 0


def retry_open(s, b, r):
    """Return 1 unless the outlet ended a run less than 1 h ago and still stands for a lost soil probe."""
    return 1 if b.retry_s + length(r) >= OUTLET_RETRY_S or not r.outlet_ok or own(b) else 0


def charge_may_start(s, b, a, r):
    """Return 1 when CHARGE may start on this reading."""
    warmer = r.house_centi_c - r.soil_centi_c
    wanted = r.house_centi_c >= s.charge_above_centi_c or trial_may(s, a, r)
    if not r.house_ok or a.guard:
        return 0
    if r.soil_ok:
        return 1 if (wanted and warmer >= s.least_gain_centi_c) or damp_start(s, r) else 0
    return 1 if r.house_centi_c >= s.charge_above_centi_c and retry_open(s, b, r) else 0


def discharge_may_start(s, b, a, r):
    """Return 1 when DISCHARGE may start on this reading."""
    if not r.house_ok:
        return 0
    warmer = r.soil_centi_c - r.house_centi_c
    if a.guard:
        return 1 if not r.soil_ok or warmer >= 100 else 0
    cold = r.house_centi_c <= s.discharge_below_centi_c
    if not r.soil_ok:
        return 1 if cold and retry_open(s, b, r) else 0
    flush = s.flush_above_centi_c and r.soil_centi_c >= s.flush_above_centi_c
    flush = flush and r.house_centi_c >= s.discharge_below_centi_c + 500
    return 1 if warmer >= s.least_gain_centi_c and (cold or flush or trial_may(s, a, r)) else 0


def outlet_refuses(s, b, a, r):
    """Return 1 when the outlet, standing for the lost soil probe, says that the run is not worth while."""
    if r.soil_ok or not r.outlet_ok or not r.house_ok or not own(b) or b.run_s + length(r) < OUTLET_AFTER_S:
        return 0
    if b.phase == CHARGE:
        return 1 if r.house_centi_c - r.outlet_centi_c < OUTLET_GAIN else 0
    if not a.guard:
        return 1 if r.outlet_centi_c - r.house_centi_c < OUTLET_GAIN else 0
    return 0


def i4(s, before, r, after):
    """CHARGE and DISCHARGE start only for a gain; with the soil lost the outlet stands for it."""
    b, a = before.deciding, after.deciding
    if a.phase == CHARGE and b.phase != CHARGE and not charge_may_start(s, b, a, r):
        return 0
    if a.phase == DISCHARGE and b.phase != DISCHARGE and not discharge_may_start(s, b, a, r):
        return 0
    if not outlet_refuses(s, b, a, r):
        return 1 if a.retry_s <= b.retry_s + length(r) else 0
    over = b.run_s + length(r) >= s.min_run_s
    kept = a.phase == b.phase and not over
    return 1 if a.retry_s == 0 and (kept or not own(a)) else 0


def on_account(d):
    """Return 1 while the fan runs on the allowance's account: not by hand, not under frost guard."""
    return 1 if own(d) and not (d.phase == DISCHARGE and d.guard) else 0


def parts(allowance):
    """Return an allowance in 1/86400 s, below 0 when it is owed."""
    return (allowance.left_s - allowance.overdrawn_s) * DAY_S + allowance.part


def i5(s, before, r, after):
    """Allowance: new <= old + refill - running, never below 0, at most max_run_s; a start needs enough of it.

    What one step draws too much is owed, an hour at most. No run of the allowance's own can owe more: it starts
    with min_run_s left. A run that frost guard started may go on to its min_run_s after the guard has ended (the
    house lost, or warm again) with nothing left: that tail counts as frost guard's.
    """
    b, a = before.deciding, after.deciding
    ran_s = length(r) if on_account(b) else 0
    right = max(parts(b.allowance) + length(r) * s.day_run_limit_s - ran_s * DAY_S, -LONGEST_STEP_S * DAY_S)
    full = s.max_run_s * DAY_S
    if not min(right, full) <= parts(a.allowance) <= right or parts(a.allowance) > full:
        return 0
    left_s = a.allowance.left_s
    if left_s < 0 or a.allowance.overdrawn_s < 0 or (left_s and a.allowance.overdrawn_s):
        return 0
    if not on_account(a):
        return 1
    if starts(b, a):
        needed_s = max(s.min_run_s, s.max_run_s // 2) if a.phase == CHARGE else s.min_run_s
        return 1 if left_s >= needed_s else 0
    return 1 if left_s > 0 or b.run_s + length(r) < s.min_run_s else 0


def i6(s, before, r, after):
    """Frost guard: from house <= frost_guard to frost_guard + frost_band; meanwhile the fan runs if the soil has heat.

    Leaving HAND and leaving CHARGE lead through REST, which the rule's "rested" is read to include.
    """
    b, a = before.deciding, after.deciding
    if a.guard != holds_guard(s, b.guard, r):
        return 0
    if not a.guard or r.hand != AUTO or not r.house_ok or b.phase == HAND or b.phase == CHARGE:
        return 1
    if not own(b) and b.rest_s + length(r) < s.min_rest_s:
        return 1
    least = 50 if own(b) and b.phase == DISCHARGE else 100
    if r.soil_ok and r.soil_centi_c - r.house_centi_c < least:
        return 1
    return 1 if a.fan and a.phase == DISCHARGE and decide.fan_pct(s, after) == 100 else 0


def in_domain(d):
    """Return 1 when every word-like field is one of its words."""
    bits = (d.fan | d.guard | d.heater | d.vent | d.blind_ran) in (0, 1)
    if not bits or d.phase < REST or d.phase > HAND or d.rule < 0 or d.rule > BY_TRIAL:
        return 0
    ruled = 1 if d.phase in (CHARGE, DISCHARGE) else 0
    if (d.phase == REST and d.fan) or (ruled and not d.fan):
        return 0
    return 1 if (d.rule > 0) == (ruled > 0) else 0


def greatest(d):
    """Return the greatest size among the timers of a Deciding."""
    return max(
        abs(d.run_s), abs(d.rest_s), abs(d.blind_s), abs(d.wake_s), abs(d.retry_s), abs(d.heater_s),
        abs(d.heat_wait_s), abs(d.vent_s), abs(d.allowance.left_s), abs(d.allowance.part), abs(d.allowance.overdrawn_s),
    )  # fmt: skip


def greatest_counter(c):
    """Return the greatest size among the totals of a Counters."""
    return max(
        c.starts, c.charge_s, c.discharge_s, c.blind_s, c.hand_s, c.guard_s, c.heater_s, c.vent_s, max(c.alarm_state)
    )  # fmt: skip


def i7(s, before, r, after):
    """Every pair of phase and condition is answered by a lawful state; timers stop; every int stays below 2**30."""
    a, c = after.deciding, after.counters
    if not in_domain(a) or a.rest_s > max(s.blind_rest_s, 1800) or a.run_s > s.max_run_s or a.blind_s > s.max_run_s:
        return 0
    if a.wake_s > s.lost_after_s or a.retry_s > OUTLET_RETRY_S or a.heat_wait_s > s.heat_delay_s:
        return 0
    if max(a.heater_s, a.vent_s) > s.min_rest_s or greatest(a) >= TOO_BIG or greatest_counter(c) >= TOO_BIG:
        return 0
    return 1 if 0 <= c.reason <= 32 and 0 <= c.alarms < 1024 else 0


def i8(s, before, r, after):
    """A run longer than max_run_s ends, except under frost guard."""
    b, a = before.deciding, after.deciding
    if not goes_on(b, a):
        return 1
    ran_s = b.run_s + length(r)
    if ran_s >= s.max_run_s and not (a.guard and a.phase == DISCHARGE):
        return 0
    return 1 if a.run_s >= min(ran_s, s.max_run_s) else 0


def i9(s, before, r, after):
    """Same inputs, same outputs: stepped once more, also without telling, the same state comes out."""
    same = decide.step(s, before, r) == after
    return 1 if same and decide.next_deciding(s, before.deciding, r) == after.deciding else 0


def heater_may_start(s, b, r):
    """Return 1 when the heater may come on: cold for long enough, or the fan cannot help."""
    if not s.heater_fitted or r.house_centi_c > s.heat_below_centi_c:
        return 0
    spent = r.soil_ok and r.soil_centi_c - r.house_centi_c < 100
    return 1 if b.heat_wait_s + length(r) >= s.heat_delay_s or spent or r.hand == SWITCH_OFF else 0


def i10(s, before, r, after):
    """No heat with the house unknown, never heater and vent together, each holds its state min_rest_s.

    A lost house, and for the vent a house as cold as the heater's setpoint, cut the vent's and heater's time short.
    """
    b, a = before.deciding, after.deciding
    if (a.heater and (not r.house_ok or a.vent)) or a.heater > s.heater_fitted or a.vent > s.vent_fitted:
        return 0
    if a.heater != b.heater and b.heater_s + length(r) < s.min_rest_s and not (b.heater and not r.house_ok):
        return 0
    if a.heater and not b.heater and not heater_may_start(s, b, r):
        return 0
    cold = s.heater_fitted and r.house_centi_c <= s.heat_below_centi_c
    if a.vent != b.vent and b.vent_s + length(r) < s.min_rest_s and not (b.vent and (not r.house_ok or cold)):
        return 0
    if a.vent and not b.vent and (not r.house_ok or r.house_centi_c < s.vent_above_centi_c):
        return 0
    if a.vent and not r.house_ok and not (r.outside_ok and r.outside_centi_c >= 1500):
        return 0
    heater_s = 0 if a.heater != b.heater else b.heater_s + length(r)
    vent_s = 0 if a.vent != b.vent else b.vent_s + length(r)
    return 1 if a.heater_s <= heater_s and a.vent_s <= vent_s and a.heat_wait_s <= b.heat_wait_s + length(r) else 0


ALL = (i1, i2, i3, i4, i5, i6, i7, i8, i9, i10)
NAMES = ("I1", "I2", "I3", "I4", "I5", "I6", "I7", "I8", "I9", "I10")


def broken(s, before, r, after):
    """Return 0 when all but I9 hold, else the number of the first that does not. Written out, so that numba can."""
    if not i1(s, before, r, after):
        return 1
    if not i2(s, before, r, after):
        return 2
    if not i3(s, before, r, after):
        return 3
    if not i4(s, before, r, after):
        return 4
    if not i5(s, before, r, after):
        return 5
    if not i6(s, before, r, after):
        return 6
    if not i7(s, before, r, after):
        return 7
    if not i8(s, before, r, after):
        return 8
    return 0 if i10(s, before, r, after) else 10


def broken_or_moody(s, before, r, after):
    """Return what broken does, and 9 when only I9 fails."""
    return broken(s, before, r, after) or (0 if i9(s, before, r, after) else 9)
