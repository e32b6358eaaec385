"""Does the fan start, keep and stop at the very hundredth and second that each rule names?"""

import pytest

from controller.core import allowance, decide, limits, phases, reasons, screen, wants
from controller.core.phases import BLIND, CHARGE, DISCHARGE, HAND, REST
from tests.core_help import DEFAULTS, reading, settings, state, step, steps

CHARGING = {"phase": CHARGE, "fan": 1, "rule": phases.BY_SETPOINT, "run_s": 3000}
WARMING = {"phase": DISCHARGE, "fan": 1, "rule": phases.BY_SETPOINT, "run_s": 3000}


def phase_after(s=DEFAULTS, before=None, **read):
    return step(s, state(s, **(before or {})), **read).deciding.phase


# Charging: charge_above_c 24, charge_band_c 2, least_gain_c 3, gain_band_c 1.5, soil_ceiling_c 30, soil_band_c 0.5.
CHARGE_EDGES = [
    ({}, {"house": 2400, "soil": 1000}, CHARGE),
    ({}, {"house": 2399, "soil": 1000}, REST),
    ({}, {"house": 2400, "soil": 2100}, CHARGE),
    ({}, {"house": 2400, "soil": 2101}, REST),
    ({}, {"house": 3300, "soil": 2950}, CHARGE),
    ({}, {"house": 3400, "soil": 2951}, REST),
    (CHARGING, {"house": 2200, "soil": 1000}, CHARGE),
    (CHARGING, {"house": 2199, "soil": 1000}, REST),
    (CHARGING, {"house": 2300, "soil": 2150}, CHARGE),
    (CHARGING, {"house": 2300, "soil": 2151}, REST),
    (CHARGING, {"house": 3300, "soil": 2999}, CHARGE),
    (CHARGING, {"house": 3300, "soil": 3000}, REST),
]

# Discharging: discharge_below_c 5, discharge_band_c 1.5, soil_floor_c 6.
DISCHARGE_EDGES = [
    ({}, {"house": 500, "soil": 1000}, DISCHARGE),
    ({}, {"house": 501, "soil": 1000}, REST),
    ({}, {"house": 500, "soil": 800}, DISCHARGE),
    ({}, {"house": 500, "soil": 799}, REST),
    ({}, {"house": 300, "soil": 650}, DISCHARGE),
    ({}, {"house": 300, "soil": 649}, REST),
    (WARMING, {"house": 649, "soil": 1000}, DISCHARGE),
    (WARMING, {"house": 650, "soil": 1000}, REST),
    (WARMING, {"house": 600, "soil": 750}, DISCHARGE),
    (WARMING, {"house": 600, "soil": 749}, REST),
    (WARMING, {"house": 300, "soil": 601}, DISCHARGE),
    (WARMING, {"house": 300, "soil": 600}, REST),
]


@pytest.mark.parametrize(("before", "read", "after"), CHARGE_EDGES + DISCHARGE_EDGES)
def test_setpoints_gains_and_store_limits_to_the_hundredth(before, read, after):
    assert phase_after(before=before, **read) == after


def test_longest_run_ends_and_a_shortest_rest_follows():
    before = state(**{**WARMING, "run_s": 14399})
    ended = decide.step(DEFAULTS, before, reading(house=400, soil=1500, elapsed_s=0))
    assert ended.deciding.phase == DISCHARGE
    ended = decide.step(DEFAULTS, before, reading(house=400, soil=1500, elapsed_s=1))
    assert (ended.deciding.phase, ended.counters.reason) == (REST, reasons.LONGEST)
    after = steps(DEFAULTS, ended, 6, house=400, soil=1500)
    assert [x.deciding.phase for x in after] == [REST] * 4 + [DISCHARGE] * 2
    assert after[0].counters.reason == reasons.RESTING


def test_a_start_waits_for_the_shortest_rest():
    assert phase_after(before={"rest_s": 239}, house=400, soil=1500) == REST
    assert phase_after(before={"rest_s": 240}, house=400, soil=1500) == DISCHARGE


# --- the allowance -------------------------------------------------------------------------------------------------

TIGHT = settings(day_run_limit_s=7200, max_run_s=3600)


def test_allowance_refills_drains_and_carries_the_remainder():
    book = allowance.book
    assert allowance.full(TIGHT) == (3600, 0, 0)
    assert book(TIGHT, allowance.full(TIGHT), 60, 60) == (3545, 0, 0)  # 60 s refill 5 s
    assert book(TIGHT, allowance.Allowance(100, 0, 0), 1, 1) == (99, 7200, 0)
    assert book(TIGHT, allowance.Allowance(100, 79200, 0), 1, 0) == (101, 0, 0)
    assert book(TIGHT, allowance.Allowance(3599, 79200, 0), 1, 0) == (3600, 0, 0)
    assert book(TIGHT, allowance.Allowance(100, 0, 0), 3600, 3600) == (0, 0, 3200)
    assert book(TIGHT, allowance.Allowance(0, 0, 3200), 3600, 0) == (0, 0, 2900)
    assert book(TIGHT, allowance.Allowance(0, 0, 100), 3600, 0) == (200, 0, 0)


def test_no_day_limit_never_drains():
    now = allowance.full(DEFAULTS)
    for _ in range(1000):
        now = allowance.book(DEFAULTS, now, 60, 60)
    assert now == allowance.full(DEFAULTS)


def test_a_start_needs_the_shortest_run_and_charging_half_of_all():
    def after(left_s, **read):
        return phase_after(TIGHT, {"allowance": allowance.Allowance(left_s, 0, 0)}, elapsed_s=0, **read)

    assert after(299, house=400, soil=1500) == REST
    assert after(300, house=400, soil=1500) == DISCHARGE
    assert after(1799, house=2600, soil=1500) == REST
    assert after(1800, house=2600, soil=1500) == CHARGE


def test_charging_needs_the_shortest_run_where_that_is_more_than_half():
    s = settings(max_run_s=1800, min_run_s=1200, blind_run_s=1200)
    assert limits.start_needs_s(s, CHARGE) == 1200
    assert limits.start_needs_s(s, DISCHARGE) == 1200


def test_a_run_ends_with_the_allowance_and_says_so():
    before = state(TIGHT, **{**WARMING, "allowance": allowance.Allowance(1, 0, 0)})
    ended = decide.step(TIGHT, before, reading(house=400, soil=1500, elapsed_s=1))
    assert (ended.deciding.phase, ended.counters.reason) == (REST, reasons.SPARED)
    assert ended.deciding.allowance == (0, 7200, 0)


def test_frost_guard_and_hand_run_on_nobodys_account():
    empty = allowance.Allowance(0, 0, 0)
    guarded = state(TIGHT, **{**WARMING, "guard": 1, "allowance": empty})
    after = decide.step(TIGHT, guarded, reading(house=100, soil=1500))
    assert (after.deciding.phase, after.deciding.allowance) == (DISCHARGE, (5, 0, 0))
    by_hand = state(TIGHT, phase=HAND, fan=1, allowance=empty)
    after = decide.step(TIGHT, by_hand, reading(house=1000, soil=1500, hand=screen.HAND_ON))
    assert after.deciding.allowance == (5, 0, 0)


# --- frost guard ---------------------------------------------------------------------------------------------------


def test_frost_guard_holds_over_its_band():
    def guard(house, held):
        return step(before=state(guard=held), house=house, soil=1000).deciding.guard

    assert [guard(100, 0), guard(101, 0), guard(149, 1), guard(150, 1), guard(149, 0)] == [1, 0, 1, 0, 0]
    assert step(before=state(guard=1), soil=1000).deciding.guard == 1
    assert step(before=state(guard=0), soil=1000).deciding.guard == 0


def test_frost_guard_runs_at_full_speed_on_one_kelvin_until_half_a_kelvin():
    s = settings(discharge_fan_pct=40)
    started = step(s, state(s), house=100, soil=200)
    assert (started.deciding.phase, started.counters.reason) == (DISCHARGE, reasons.GUARD)
    assert decide.fan_pct(s, started) == 100
    assert phase_after(house=100, soil=199) == REST
    guarding = {**WARMING, "rule": phases.BY_GUARD, "guard": 1}
    assert phase_after(before=guarding, house=100, soil=150) == DISCHARGE
    assert phase_after(before=guarding, house=100, soil=149) == REST


def test_frost_guard_knows_no_limit_but_the_rest():
    spent = {"allowance": allowance.Allowance(0, 0, 0), "retry_s": 0}
    s = settings(day_run_limit_s=7200)
    assert phase_after(s, spent, house=50, soil=300) == DISCHARGE  # soil far below its floor
    assert phase_after(s, {**spent, "rest_s": 100}, house=50, soil=300) == REST
    long_run = {**WARMING, "run_s": 14400, "guard": 1, "rule": phases.BY_GUARD}
    assert phase_after(before=long_run, house=50, soil=1500) == DISCHARGE


def test_frost_guard_runs_with_the_soil_unknown_whatever_the_outlet_says():
    assert phase_after(house=50) == DISCHARGE
    guarding = {**WARMING, "guard": 1, "rule": phases.BY_GUARD}
    assert phase_after(before=guarding, house=50, outlet=40) == DISCHARGE


def test_after_frost_guard_the_run_goes_on_by_the_setpoint():
    guarding = {**WARMING, "guard": 1, "rule": phases.BY_GUARD}
    after = step(before=state(**guarding), house=160, soil=700).deciding
    assert (after.phase, after.rule, after.guard) == (DISCHARGE, phases.BY_SETPOINT, 0)
    assert phase_after(before=guarding, house=160, soil=600) == REST  # the reserve binds again


# --- lost soil -----------------------------------------------------------------------------------------------------


def test_without_soil_and_outlet_the_house_decides_like_a_plain_thermostat():
    assert step(house=2400).counters.reason == reasons.CHARGE_HOT_ALONE
    assert step(house=500).counters.reason == reasons.DISCHARGE_COLD_ALONE
    assert phase_after(before=CHARGING, house=2200) == CHARGE
    assert phase_after(before=CHARGING, house=2199) == REST
    assert phase_after(before=WARMING, house=649) == DISCHARGE
    assert phase_after(before=WARMING, house=650) == REST


def test_the_outlet_stands_in_after_ten_minutes():
    early, late = {**CHARGING, "run_s": 539}, {**CHARGING, "run_s": 540}
    assert phase_after(before=early, house=2600, outlet=2590) == CHARGE
    assert phase_after(before=late, house=2600, outlet=2501) == REST
    assert phase_after(before=late, house=2600, outlet=2500) == CHARGE
    assert phase_after(before=late, house=2600, outlet=2700) == REST
    assert phase_after(before={**WARMING, "run_s": 540}, house=400, outlet=499) == REST
    assert phase_after(before={**WARMING, "run_s": 540}, house=400, outlet=500) == DISCHARGE
    assert phase_after(before={**WARMING, "run_s": 540}, house=400, outlet=300) == REST


def test_after_the_outlet_ended_a_run_the_next_try_is_an_hour_later():
    ended = step(before=state(**WARMING), house=400, outlet=410)
    assert (ended.deciding.phase, ended.deciding.retry_s) == (REST, 0)
    assert ended.counters.reason == reasons.OUTLET_SAID
    after = steps(DEFAULTS, ended, 60, house=400, outlet=410)
    assert [x.deciding.phase for x in after] == [REST] * 59 + [DISCHARGE]
    assert after[0].counters.reason == reasons.OUTLET_SAID
    assert phase_after(before={"retry_s": 0}, house=400) == DISCHARGE  # no outlet: no verdict to wait for
    assert phase_after(before={"retry_s": 0}, house=400, soil=1500, outlet=410) == DISCHARGE


# --- damp rule -----------------------------------------------------------------------------------------------------

DAMP = settings(humid_charge_pct=85, humid_charge_above_centi_c=1500)
DAMP_AIR = {"house": 1600, "soil": 1400, "humidity": 900, "dew": 1500}
DAMP_RUN = {**CHARGING, "rule": phases.BY_DAMP}
DAMP_START = [
    ({}, CHARGE), ({"humidity": 850}, CHARGE), ({"humidity": 849}, REST), ({"house": 1500, "soil": 1300}, CHARGE),
    ({"house": 1499, "soil": 1300}, REST), ({"soil": 1401}, REST), ({"house": 1550, "soil": 1451, "dew": 1551}, REST),
    ({"house": 1550, "soil": 1450, "dew": 1550}, CHARGE), ({"dew_ok": 0}, REST), ({"soil_ok": 0}, REST),
]  # fmt: skip
DAMP_KEEP = [
    ({}, CHARGE), ({"humidity": 300}, CHARGE), ({"dew": 1430}, CHARGE), ({"dew": 1429}, REST),
    ({"house": 1300, "soil": 1100}, CHARGE), ({"house": 1299, "soil": 1100}, REST), ({"dew_ok": 0}, REST),
]  # fmt: skip


@pytest.mark.parametrize(("change", "after"), DAMP_START)
def test_damp_rule_starts(change, after):
    assert phase_after(DAMP, {}, **{**DAMP_AIR, **change}) == after


@pytest.mark.parametrize(("change", "after"), DAMP_KEEP)
def test_damp_rule_keeps(change, after):
    assert phase_after(DAMP, DAMP_RUN, **{**DAMP_AIR, **change}) == after


def test_damp_rule_is_off_by_default_and_never_works_below_freezing():
    assert phase_after(house=1600, soil=1400, humidity=900, dew=1500) == REST
    assert wants.damp_holds(DAMP, reading(house=1600, soil=-200, humidity=900, dew=-1), 0) == 0
    assert wants.damp_holds(DAMP, reading(house=1600, soil=-200, humidity=900, dew=0), 0) == 1


def test_a_damp_run_passes_to_the_setpoint_without_a_stop():
    after = step(DAMP, state(DAMP, **DAMP_RUN), house=2500, soil=1400, humidity=400, dew=1000).deciding
    assert (after.phase, after.rule, after.run_s) == (CHARGE, phases.BY_SETPOINT, 3060)


# --- flush ---------------------------------------------------------------------------------------------------------

FLUSH = settings(flush_above_centi_c=2000)
FLUSH_RUN = {**WARMING, "rule": phases.BY_FLUSH}
FLUSH_CASES = [
    ({}, {"house": 1500, "soil": 2000}, DISCHARGE), ({}, {"house": 1500, "soil": 1999}, REST),
    ({}, {"house": 1701, "soil": 2000}, REST), ({}, {"house": 1700, "soil": 2000}, DISCHARGE),
    ({}, {"house": 999, "soil": 2000}, REST), ({}, {"house": 1000, "soil": 2000}, DISCHARGE),
    (FLUSH_RUN, {"house": 1500, "soil": 1950}, DISCHARGE), (FLUSH_RUN, {"house": 1500, "soil": 1949}, REST),
    (FLUSH_RUN, {"house": 1000, "soil": 2000}, DISCHARGE), (FLUSH_RUN, {"house": 999, "soil": 2000}, REST),
    (FLUSH_RUN, {"house": 1850, "soil": 2000}, DISCHARGE), (FLUSH_RUN, {"house": 1851, "soil": 2000}, REST),
    ({}, {"house": 1500}, REST),
]  # fmt: skip


@pytest.mark.parametrize(("before", "read", "after"), FLUSH_CASES)
def test_flush_starts_and_stops(before, read, after):
    assert phase_after(FLUSH, before, **read) == after


def test_flush_is_off_by_default():
    assert phase_after(house=1500, soil=2900) == REST


# --- trial ---------------------------------------------------------------------------------------------------------

ASKED = {"request": screen.REQUEST_TRIAL}


def test_trial_alternates_half_hours_both_ways():
    for read, phase in (({"house": 1000, "soil": 1500}, DISCHARGE), ({"house": 1800, "soil": 1500}, CHARGE)):
        after = steps(DEFAULTS, state(rest_s=0), 150, **read, **ASKED)
        assert [x.deciding.phase for x in after] == ([REST] * 29 + [phase] * 30 + [REST]) * 2 + [REST] * 29 + [phase]
        assert after[30].counters.reason == reasons.TRIAL_RUN
        assert after[60].counters.reason == reasons.TRIAL_REST


TRIAL_EDGES = [
    ({"house": 300, "soil": 650}, DISCHARGE), ({"house": 299, "soil": 700}, REST),
    ({"house": 1000, "soil": 1300}, DISCHARGE), ({"house": 1000, "soil": 1299}, REST),
    ({"house": 1300, "soil": 1000}, CHARGE), ({"house": 1000}, REST), ({"house": 300, "soil": 649}, REST),
]  # fmt: skip


@pytest.mark.parametrize(("read", "after"), TRIAL_EDGES)
def test_trial_only_where_it_is_safe_and_shows_something(read, after):
    s = settings(discharge_below_centi_c=200)
    assert phase_after(s, {}, **read, **ASKED) == after


def test_trial_ends_when_it_is_no_longer_asked_for():
    running = {**WARMING, "rule": phases.BY_TRIAL, "run_s": 900}
    assert phase_after(before=running, house=1000, soil=1500, **ASKED) == DISCHARGE
    assert phase_after(before=running, house=1000, soil=1500) == REST


def test_trial_keeps_over_the_gain_band_and_leaves_a_wanted_run_alone():
    running = {**WARMING, "rule": phases.BY_TRIAL, "run_s": 900}
    assert phase_after(before=running, house=1000, soil=1150, **ASKED) == DISCHARGE
    assert phase_after(before=running, house=1000, soil=1149, **ASKED) == REST
    after = step(before=state(**WARMING), house=500, soil=1500, **ASKED).deciding
    assert (after.phase, after.rule) == (DISCHARGE, phases.BY_SETPOINT)


def test_in_a_trials_rest_no_other_rule_starts():
    assert phase_after(before={"rest_s": 1000}, house=450, soil=1500, **ASKED) == REST
    assert phase_after(before={"rest_s": 1000}, house=2600, soil=1500, **ASKED) == REST


# --- blind ---------------------------------------------------------------------------------------------------------


def minutes_on(s, before, count, **read):
    return [x.deciding.fan for x in steps(s, before, count, **read)]


def test_blind_runs_ten_minutes_in_forty():
    assert minutes_on(DEFAULTS, state(rest_s=0), 95) == [0] * 4 + ([1] * 10 + [0] * 30) * 2 + [1] * 10 + [0]


def test_blind_in_bitter_cold_runs_the_longest_run_and_rests_the_shortest():
    s = settings(max_run_s=3600)
    assert minutes_on(s, state(s, rest_s=0), 130, outside=100) == [0] * 4 + ([1] * 60 + [0] * 5) * 1 + [1] * 60 + [0]
    assert sum(minutes_on(s, state(s, rest_s=0), 130, outside=101)) < 40


def test_blind_in_mild_air_rests():
    assert minutes_on(DEFAULTS, state(), 5, outside=1000) == [0] * 5
    assert minutes_on(DEFAULTS, state(), 5, outside=999) == [1] * 5
    assert step(outside=1000).counters.reason == reasons.BLIND_MILD


def test_a_discharge_that_goes_blind_gets_a_whole_timed_run():
    after = steps(DEFAULTS, state(**WARMING), 12)
    assert [x.deciding.phase for x in after] == [BLIND] * 12
    assert [x.deciding.fan for x in after] == [1] * 10 + [0] * 2
    assert decide.fan_pct(settings(discharge_fan_pct=30), after[0]) == 100


def test_a_blind_run_respects_the_longest_run_and_the_allowance():
    assert step(before=state(**{**WARMING, "run_s": 14340})).deciding.fan == 0
    spent = state(TIGHT, allowance=allowance.Allowance(200, 0, 0))
    after = step(TIGHT, spent)
    assert (after.deciding.phase, after.deciding.fan, after.counters.reason) == (BLIND, 0, reasons.BLIND_SPARED)


def test_the_house_comes_back():
    blind_on = {"phase": BLIND, "fan": 1, "run_s": 400, "blind_s": 400, "blind_ran": 1}
    assert step(before=state(**blind_on), house=450, soil=1500).deciding.phase == DISCHARGE
    after = step(before=state(**blind_on), house=1500, soil=1500).deciding
    assert (after.phase, after.fan, after.blind_ran) == (REST, 0, 0)
    assert step(before=state(**blind_on), house=2600, soil=1500).counters.reason == reasons.TURN


def test_the_humidity_probes_temperature_keeps_it_seeing():
    after = step(humid_air=400, soil=1500)
    assert (after.deciding.phase, after.counters.alarms & 4) == (DISCHARGE, 4)


# --- hand ----------------------------------------------------------------------------------------------------------


def test_hand_is_followed_at_once_and_left_through_a_rest():
    on = step(before=state(**CHARGING), house=2600, soil=1500, hand=screen.HAND_ON)
    assert (on.deciding.phase, on.deciding.fan, decide.fan_pct(DEFAULTS, on)) == (HAND, 1, 100)
    off = steps(DEFAULTS, on, 3, house=2600, soil=1500, hand=screen.HAND_OFF)
    assert [(x.deciding.fan, x.deciding.rest_s) for x in off] == [(0, 0), (0, 60), (0, 120)]
    left = steps(DEFAULTS, off[-1], 4, house=2600, soil=1500)
    assert [(x.deciding.phase, x.counters.reason) for x in left] == [
        (REST, reasons.HAND_LEFT), (REST, reasons.RESTING), (CHARGE, reasons.CHARGE_HOT), (CHARGE, reasons.CHARGE_HOT),
    ]  # fmt: skip


def test_leaving_hand_on_counts_the_rest_from_that_very_moment():
    left = step(before=state(phase=HAND, fan=1, rest_s=0), house=2600, soil=1500)
    assert (left.deciding.phase, left.deciding.fan, left.deciding.rest_s) == (REST, 0, 0)


def test_fan_speed_follows_the_phase():
    s = settings(charge_fan_pct=70, discharge_fan_pct=50)
    assert decide.fan_pct(s, state(s)) == 0
    assert decide.fan_pct(s, state(s, **CHARGING)) == 70
    assert decide.fan_pct(s, state(s, **WARMING)) == 50
    assert decide.fan_pct(s, state(s, **{**WARMING, "guard": 1})) == 100
