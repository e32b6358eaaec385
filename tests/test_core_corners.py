"""Corners of the core that only the condition coverage (tests/conditions.py) or a mutant pointed at."""

import datetime
import functools
import json
import math
from fractions import Fraction

from hypothesis import example, given
from hypothesis import strategies as st

from controller.core import (
    alarms,
    allowance,
    decide,
    limits,
    phases,
    reasons,
    record,
    rows,
    screen,
    selfcheck,
    settings,
    timers,
    units,
    wants,
)
from controller.core.phases import BLIND, CHARGE, DISCHARGE, HAND, REST
from controller.core.units import LOST
from tests.core_help import DEFAULTS, reading, state, step
from tests.core_help import settings as settings_of


def blind_run(run_s, **more):
    """Return the State of a blind run under way."""
    return state(phase=BLIND, fan=1, run_s=run_s, blind_s=run_s, rest_s=0, blind_ran=1, **more)


def test_house_back_while_the_outlet_shows_no_gain_ends_the_blind_run():
    """Soil lost: the outlet stands for it once the fan has run ten minutes, in a blind run too."""
    useless = step(before=blind_run(540), house=400, outlet=499)
    assert (useless.deciding.phase, useless.deciding.fan, useless.deciding.retry_s) == (REST, 0, 0)
    worth = step(before=blind_run(540), house=400, outlet=500)
    assert (worth.deciding.phase, worth.deciding.retry_s) == (DISCHARGE, limits.OUTLET_RETRY_S)
    too_early = step(before=blind_run(539), house=400, outlet=499)
    assert too_early.deciding.phase == DISCHARGE


def test_house_back_in_frost_runs_on_whatever_the_outlet_shows():
    assert step(before=blind_run(600), house=90, outlet=90).deciding.phase == DISCHARGE


def test_a_run_that_began_with_the_soil_known_goes_on_within_the_hour_of_the_outlets_no():
    under_way = state(phase=DISCHARGE, fan=1, rule=1, run_s=60, rest_s=0, retry_s=1200)
    after = step(before=under_way, house=400, outlet=900)
    assert (after.deciding.phase, after.deciding.fan, after.deciding.retry_s) == (DISCHARGE, 1, 1260)


def test_no_trial_under_frost_guard():
    r = reading(house=700, soil=1200, request=screen.REQUEST_TRIAL)
    free, guarded = state().deciding, state(guard=1).deciding
    assert (wants.trial_owns(DEFAULTS, free, r), wants.trial_owns(DEFAULTS, guarded, r)) == (1, 0)


def test_a_check_between_rows_waits_until_both_rows_are_right():
    """A row at fault stands at its default meanwhile: what it then clashes with is not the writer's fault."""
    wrong, faults = settings.from_mapping({"charge_above_c": "warm", "discharge_below_c": 19})
    assert wrong is None and len(faults) == 1 and faults[0].startswith("charge_above_c: ")
    wrong, faults = settings.from_mapping({"charge_above_c": "warm", "soil_floor_c": 20, "soil_ceiling_c": 24})
    assert [fault.split()[0] for fault in faults] == ["charge_above_c:", "soil_floor_c"]


def test_nothing_is_trusted_before_the_first_reading():
    assert screen.trusted_now(screen.NEW_PROBE) == LOST


def test_without_any_house_reading_the_log_has_none():
    raw = screen.Raw(60, LOST, 1200, LOST, LOST, LOST, LOST, 0, 0, 0)
    sensed = screen.step(screen.start(), raw)
    assert screen.logged(sensed, screen.reading(DEFAULTS, sensed, raw)) == (LOST, 1200, LOST, LOST, LOST)


def test_with_the_house_unknown_the_outlet_says_nothing():
    t = blind_run(900).deciding
    assert wants.outlet_refuses(t, reading(outlet=900)) == 0
    assert wants.outlet_refuses(t, reading(house=900, outlet=900)) == 1


def test_only_a_charge_under_frost_guard_is_cut_short():
    for phase, guard, bound in ((CHARGE, 0, 1), (CHARGE, 1, 0), (DISCHARGE, 0, 1), (DISCHARGE, 1, 1)):
        assert timers.bound(DEFAULTS, state(phase=phase, fan=1, guard=guard).deciding) == bound


# Counted by hand from x' = (75 x + 74) mod 65537: 1 -> 149 -> 11249 -> 57305.
def test_selfcheck_draws_its_course():
    assert [selfcheck.draw(x) for x in (1, 149, 11249)] == [149, 11249, 57305]


def test_selfcheck_wanders_within_bounds():
    assert selfcheck.wander(100, 0, 5, 0, 200) == 95 and selfcheck.wander(100, 10, 5, 0, 200) == 105
    assert selfcheck.wander(3, 0, 5, 0, 200) == 0 and selfcheck.wander(198, 10, 5, 0, 200) == 200
    assert selfcheck.wander(100, 11, 5, 0, 200) == 95


def test_selfcheck_course_visits_phases_and_losses():
    course, lines, phases_seen, lost = selfcheck.start(DEFAULTS), set(), set(), 0
    for _ in range(selfcheck.STEPS):
        course = selfcheck.step(DEFAULTS, course)
        text = selfcheck.line(course.state)
        assert text.endswith("\n") and len(text.split(",")) == 18 + 10 + 14
        lines.add(text)
        phases_seen.add(course.state.deciding.phase)
        lost += course.screen.soil.age_s > 0
    assert len(lines) > 150 and len(phases_seen) >= 4 and lost > 5


def test_a_doubted_value_that_changes_is_doubted_anew():
    first = screen.Probe(1000, 60, 4000, 29, 2)
    assert screen.probe_step(first, 6000, 1) == screen.Probe(1000, 61, 6000, 0, 1)


def test_alarms_and_weather_answer_yes_as_one():
    lost = reading()
    assert [alarms.hot(DEFAULTS, lost, held) for held in (0, 1)] == [0, 1]
    assert [alarms.frost(DEFAULTS, lost, held) for held in (0, 1)] == [0, 1]
    assert [limits.bitter(DEFAULTS, reading(outside=outside)) for outside in (100, 101)] == [1, 0]


def test_the_first_blind_run_is_remembered_until_the_house_is_back():
    first = step(before=state(), outside=500)
    assert (first.deciding.phase, first.deciding.fan, first.deciding.blind_ran) == (BLIND, 1, 1)
    rest = step(before=blind_run(540), outside=500)
    assert (rest.deciding.fan, rest.deciding.blind_ran) == (0, 1)
    assert step(before=rest, house=1500, soil=1200).deciding.blind_ran == 0


def test_belief_clears_all_doubt():
    assert screen.probe_step(screen.Probe(1000, 60, 4000, 29, 2), 4001, 1) == screen.Probe(4001, 0, LOST, 0, 0)
    assert screen.probe_step(screen.Probe(1000, 60, 4000, 28, 2), 4001, 1) == screen.Probe(1000, 61, 4001, 29, 3)


def test_humidity_keeps_its_value_and_ages():
    probe = screen.humidity_step(screen.Probe(800, 0, LOST, 0, 0), LOST, 60)
    assert probe == screen.Probe(800, 60, LOST, 0, 0)
    assert screen.humidity_step(probe, 200, 60) == screen.Probe(200, 0, LOST, 0, 0)


def nearest(top, bottom):
    """Return top / bottom to the nearest int, halves away from zero, by exact fractions."""
    return int(abs(Fraction(top, bottom)) + Fraction(1, 2)) * (-1 if top < 0 else 1)


# The data sheets' fractions, exact, for every word that a probe can send.
def test_humidity_of_every_word():
    for ticks in range(0, 65536):
        assert units.deci_pct_from_sht3x(ticks) == nearest(1000 * ticks, 65535)
        expected = nearest(1250 * ticks, 65535) - 60
        assert units.deci_pct_from_sht4x(ticks) == min(max(expected, 0), 1000)


def test_signed_16_at_its_edges():
    assert [units.signed_16(raw) for raw in (0, 32767, 32768, 65535)] == [0, 32767, -32768, -1]


def test_vapour_pressure_between_and_beyond_the_tables_entries():
    table = units.VAPOUR_DECI_PA
    assert units.vapour_deci_pa(6050) == (table[-2] + table[-1]) // 2
    assert units.vapour_deci_pa(6200) == units.vapour_deci_pa(6100) == table[-1]
    assert units.vapour_deci_pa(-9000) == table[0]


# Magnus form with the coefficients that units.py states; every entry to its last digit.
def test_every_entry_of_the_vapour_table():
    for place, entry in enumerate(units.VAPOUR_DECI_PA):
        degree = units.TABLE_FROM_C + place
        assert entry == round(6112 * math.exp(17.62 * degree / (243.12 + degree)))


def test_dew_point_at_its_edges():
    for degree in range(-45, 62):
        assert units.dew_point_centi_c(degree * 100, 1000) == degree * 100
        assert units.dew_point_centi_c(degree * 100, 1001) == degree * 100
    assert units.dew_point_centi_c(6100, 0) == units.dew_point_centi_c(6100, -5) == -4500
    # Half way between two entries, counted by hand: 20 degC is 23326, 21 degC 24809 tenths of a pascal.
    assert units.dew_point_centi_c(2050, 1000) == 2000 + (24067 - 23326) * 100 // (24809 - 23326)


def test_a_charge_that_cooled_into_the_discharge_band_has_reached_its_end():
    before = state(phase=CHARGE, fan=1, rule=1, run_s=900, rest_s=0)
    assert step(before=before, house=600, soil=650).counters.reason == reasons.REACHED


def test_what_nobody_asks_for_is_held_back_by_nothing():
    ask = decide.asked(DEFAULTS, state().deciding, reading(house=1500, soil=500))
    assert ask == (0, limits.FREE, 0, limits.FREE)


def test_blind_seconds_end_with_the_blind_run():
    ends = step(before=blind_run(540), outside=500)
    assert (ends.deciding.phase, ends.deciding.fan, ends.deciding.blind_s) == (BLIND, 0, 0)
    back = step(before=blind_run(240), house=400, soil=1200)
    assert (back.deciding.phase, back.deciding.run_s, back.deciding.blind_s) == (DISCHARGE, 300, 0)


def test_a_mild_night_ends_a_blind_run_at_its_shortest():
    assert step(before=blind_run(239), outside=1000).deciding.fan == 1
    assert step(before=blind_run(240), outside=1000).deciding.fan == 0


def test_allowance_at_its_edges():
    s = settings_of(max_run_s=3600, day_run_limit_s=50000)
    # 60 s bring 60 * 50000 / 86400 = 34 s and 62400 parts.
    assert allowance.book(s, allowance.Allowance(3566, 0, 0), 60, 0) == (3600, 0, 0)
    assert allowance.book(s, allowance.Allowance(3565, 0, 0), 60, 0) == (3599, 62400, 0)
    one = allowance.Allowance(1, 0, 0)
    assert (allowance.enough(one, 1, 300), allowance.enough(one, 0, 300), allowance.enough(one, 0, 1)) == (1, 0, 1)
    assert allowance.enough(allowance.Allowance(0, 9, 0), 1, 300) == 0


def test_a_fault_gives_no_number():
    row = rows.TABLE[0]
    for value in ("24", 7.99, 24.0015, None, True):
        number, words = settings.number_of(row, value)
        assert number == 0 and words


def test_a_thousandth_of_slack_for_boards_with_24_bit_floats():
    guard = rows.TABLE[[row[0] for row in rows.TABLE].index("frost_guard_c")]
    assert settings.number_of(guard, 0.001) == (0, "")
    assert settings.number_of(guard, 0.0015) == (0, "is finer than 0.01")


@functools.cache
def by_definition(left, right):
    """Return the edit distance straight from its definition (Levenshtein 1966)."""
    if not left or not right:
        return len(left) + len(right)
    change = 0 if left[-1] == right[-1] else 1
    shorter = (by_definition(left[:-1], right), by_definition(left, right[:-1]))
    return min(by_definition(left[:-1], right[:-1]) + change, shorter[0] + 1, shorter[1] + 1)


@given(st.text("abc", max_size=7), st.text("abc", max_size=7))
@example("abcbc", "bc")
@example("aabb", "bb")
def test_distance_is_the_definitions(left, right):
    assert settings.distance(left, right) == by_definition(left, right)


def test_faults_of_switches_leave_their_parts_off():
    for key, other in (("humid_charge_pct", {"humid_charge_above_c": 8}), ("heater_fitted", {"heat_below_c": 18})):
        _, faults = settings.from_mapping({key: "on", **other, "charge_above_c": 20})
        assert len(faults) == 1 and faults[0].startswith(key)


def test_checks_between_rows_at_their_edges():
    equal = {"min_run_s": 1800, "blind_run_s": 1800, "max_run_s": 1800, "blind_rest_s": 1800}
    assert settings.from_mapping(equal)[1] == []
    no_heater = {"charge_above_c": 20, "vent_fitted": 1, "vent_above_c": 21, "vent_band_c": 1, "heat_below_c": 18,
                 "heat_band_c": 5}  # fmt: skip
    assert settings.from_mapping(no_heater)[1] == []
    assert len(settings.from_mapping({**no_heater, "heater_fitted": 1})[1]) == 2


def test_whole_degrees_are_written_without_a_point():
    text = json.dumps(settings.to_mapping(DEFAULTS))
    assert '"charge_above_c": 24,' in text and '"discharge_band_c": 1.5,' in text


def test_field_names_carry_the_unit():
    assert rows.field_of("charge_above_c") == "charge_above_centi_c"
    assert rows.field_of("min_run_s") == "min_run_s" and rows.field_of("heater_fitted") == "heater_fitted"


def test_stale_values_of_a_lost_house_want_nothing():
    t = state().deciding
    for house, soil in ((3000, 1000), (400, 1200)):
        r = reading(house=house, soil=soil)
        asked = (wants.charge_rule(DEFAULTS, t, r), wants.discharge_rule(DEFAULTS, t, r))
        assert sorted(asked) == [0, 1]
        r = r._replace(house_ok=0, house_probe_ok=0)
        assert (wants.charge_rule(DEFAULTS, t, r), wants.discharge_rule(DEFAULTS, t, r)) == (0, 0)


def test_a_band_belongs_to_its_own_phase():
    discharging = state(phase=DISCHARGE, fan=1, rule=1, run_s=600).deciding
    assert wants.charge_rule(DEFAULTS, discharging, reading(house=2250, soil=1500)) == 0
    charging = state(phase=CHARGE, fan=1, rule=1, run_s=600).deciding
    assert wants.discharge_rule(DEFAULTS, charging, reading(house=600, soil=1200)) == 0


def test_no_charge_under_frost_guard_however_warm():
    assert wants.charge_rule(DEFAULTS, state(guard=1).deciding, reading(house=3000, soil=1000)) == 0


def test_timers_of_a_resting_fan():
    t = timers.timed(DEFAULTS, state(rest_s=0).deciding, reading(house=1000), 60)
    assert (t.run_s, t.rest_s, t.wake_s) == (0, 60, DEFAULTS.lost_after_s)
    hand = timers.timed(DEFAULTS, state(phase=HAND, fan=1, rest_s=0).deciding, reading(house=1000), 60)
    assert (hand.run_s, hand.rest_s) == (0, 0)
    fresh = timers.timed(DEFAULTS, decide.start(DEFAULTS).deciding, reading(house=1000), 1)
    assert fresh.wake_s == DEFAULTS.lost_after_s


def test_a_block_across_midnight_and_far_ahead():
    row = record.Row(70000, 86340, 120, 1206, LOST, 1550, -320, 875, 2, 100, 60, 1, 0, 7, 5)
    block = record.pack_block(row, [record.pack(row)] * 3)
    assert record.block_length(block[:16]) == len(block) and record.block_length(block[:15]) == 0
    found = record.unpack_block(block)
    assert [(one.day, one.second, one.uptime_s) for one in found] == [(70000, 86340, 120), (70001, 0, 180),
                                                                      (70001, 60, 240)]  # fmt: skip
    assert found[0] == row
    assert record.csv_line(row._replace(day=0)) == (
        "2000-01-01T23:59:00Z,120,12.06,,15.50,-3.20,87.5,discharge,100,60,1,0,cold,frost house-lost"
    )
    assert record.time_text(0, 3600) == "2000-01-01T01:00:00Z"


def test_dates_of_five_centuries():
    first = datetime.date(2000, 1, 1)
    for day in range(0, 190000, 1):
        there = first + datetime.timedelta(day)
        date = record.date_of(day)
        assert date == (there.year, there.month, there.day)
    assert all(type(part) is int for part in date)


def follows_by_the_rules(phase, condition):
    """Return the next phase, written from the rules instead of the table."""
    if condition in (phases.SWITCH_OFF, phases.SWITCH_ON):
        return HAND  # the switch is asked first, everywhere
    if phase == HAND:
        return REST  # left through REST
    if condition in (phases.UNSEEN, phases.TIMED_RUN, phases.TIMED_REST):  # house unknown
        if phase == CHARGE:
            return REST  # charging stops at once
        return REST if phase == REST and condition == phases.UNSEEN else BLIND
    if condition == phases.MIN_RUN:
        return phase
    if condition == phases.NOTHING:
        return REST
    wanted = CHARGE if condition == phases.WANT_CHARGE else DISCHARGE
    if phase in (REST, wanted) or (phase == BLIND and wanted == DISCHARGE):
        return wanted
    return REST  # CHARGE and what brings heat back never touch


def test_every_cell_of_the_table_follows_from_the_rules():
    for phase in phases.PHASES:
        for condition in phases.CONDITIONS:
            assert phases.next_phase(phase, condition) == follows_by_the_rules(phase, condition), (phase, condition)


def test_long_keys_and_values_are_cut_at_forty_letters():
    _, faults = settings.from_mapping({"k" * 50: 1, "min_run_s": "v" * 50})
    assert "'" + "v" * 39 + " " in faults[0] and '"' + "k" * 40 + '"' in faults[1]
