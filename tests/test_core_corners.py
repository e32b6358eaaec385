"""Corners of the core that only the condition coverage (tests/conditions.py) or a mutant pointed at."""

from controller.core import limits, screen, selfcheck, settings, timers, wants
from controller.core.phases import BLIND, CHARGE, DISCHARGE, REST
from controller.core.units import LOST
from tests.core_help import DEFAULTS, reading, state, step


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
