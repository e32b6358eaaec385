"""Does every phase answer every condition as the table says, and does step find the right condition?"""

import pytest

from controller.core import decide, phases, screen, timers
from controller.core.phases import BLIND, CHARGE, DISCHARGE, HAND, REST
from tests.core_help import DEFAULTS, reading, state

# What each phase is like when the fan has run long enough to stop (an hour), or rested long enough to start.
STANDING = {
    REST: {"phase": REST},
    CHARGE: {"phase": CHARGE, "fan": 1, "rule": phases.BY_SETPOINT, "run_s": 3600, "rest_s": 0},
    DISCHARGE: {"phase": DISCHARGE, "fan": 1, "rule": phases.BY_SETPOINT, "run_s": 3600, "rest_s": 0},
    BLIND: {"phase": BLIND, "fan": 1, "run_s": 400, "rest_s": 0, "blind_s": 400, "blind_ran": 1},
    HAND: {"phase": HAND, "fan": 0},
}

# What brings each condition about: (changes to the state, the reading).
BROUGHT = {
    phases.SWITCH_OFF: ({}, {"house": 1000, "soil": 1200, "hand": screen.HAND_OFF}),
    phases.SWITCH_ON: ({}, {"house": 1000, "soil": 1200, "hand": screen.HAND_ON}),
    phases.UNSEEN: ({"wake_s": 0}, {"soil": 1200}),
    phases.TIMED_RUN: ({}, {"soil": 1200}),
    phases.TIMED_REST: ({}, {"soil": 1200, "outside": 1000}),
    phases.WANT_CHARGE: ({}, {"house": 2600, "soil": 1200}),
    phases.WANT_DISCHARGE: ({}, {"house": 400, "soil": 1200}),
    phases.MIN_RUN: ({"run_s": 100}, {"house": 1500, "soil": 1500}),
    phases.NOTHING: ({}, {"house": 1500, "soil": 1500}),
}

CELLS = [(phase, condition) for phase in phases.PHASES for condition in phases.CONDITIONS]

# REST and HAND never owe a shortest run: those cells can't be met and are only looked up.
OUT_OF_REACH = [(REST, phases.MIN_RUN), (HAND, phases.MIN_RUN)]


@pytest.mark.parametrize(("phase", "condition"), CELLS)
def test_every_cell_is_answered_with_a_phase(phase, condition):
    after = phases.next_phase(phase, condition)
    assert after in phases.PHASES
    assert (phase, after) not in ((CHARGE, DISCHARGE), (DISCHARGE, CHARGE))
    if phase == HAND:
        assert after in (HAND, REST)
    fan = phases.fan_of(after, condition)
    assert fan in (0, 1)
    assert fan == {REST: 0, CHARGE: 1, DISCHARGE: 1}.get(after, fan)


@pytest.mark.parametrize(("phase", "condition"), [cell for cell in CELLS if cell not in OUT_OF_REACH])
def test_step_finds_the_condition_and_takes_the_cell(phase, condition):
    change, read = BROUGHT[condition]
    before = state(**{**STANDING[phase], **change})
    r = reading(**read)
    t = timers.timed(DEFAULTS, before.deciding, r, 60)
    charge, discharge = condition == phases.WANT_CHARGE, condition == phases.WANT_DISCHARGE
    assert decide.condition_of(DEFAULTS, t, r, charge, discharge) == condition
    after = decide.step(DEFAULTS, before, r).deciding
    assert after.phase == phases.next_phase(phase, condition)
    assert after.fan == phases.fan_of(after.phase, condition)


def test_there_is_a_word_for_each_phase_and_condition():
    assert len(phases.CONDITION_WORDS) == len(phases.CONDITIONS) == len(phases.TABLE[0])
    assert len(phases.TABLE) == len(phases.PHASES)


def test_a_short_run_is_completed_whatever_else_is_wanted():
    for phase, read in ((CHARGE, {"house": 400, "soil": 1200}), (DISCHARGE, {"house": 2600, "soil": 1200}),
                        (BLIND, {"house": 2600, "soil": 1200})):  # fmt: skip
        before = state(**{**STANDING[phase], "run_s": 239, "blind_s": 239})
        after = decide.step(DEFAULTS, before, reading(**read)).deciding
        assert (after.phase, after.fan, after.run_s) == (phase, 1, 299)
        after = decide.step(DEFAULTS, before, reading(elapsed_s=61, **read)).deciding
        assert (after.phase, after.fan, after.run_s, after.rule) == (REST, 0, 0, phases.NO_RULE)


def test_a_short_blind_run_passes_to_discharge_at_once():
    before = state(**{**STANDING[BLIND], "run_s": 60, "blind_s": 60})
    after = decide.step(DEFAULTS, before, reading(house=400, soil=1200)).deciding
    assert (after.phase, after.fan, after.run_s, after.rule) == (DISCHARGE, 1, 120, phases.BY_SETPOINT)


def test_frost_guard_cuts_a_short_charge():
    before = state(**{**STANDING[CHARGE], "run_s": 10})
    after = decide.step(DEFAULTS, before, reading(house=100, soil=50)).deciding
    assert (after.phase, after.fan, after.guard) == (REST, 0, 1)


def test_lost_house_cuts_a_short_charge_but_not_a_discharge():
    before = state(**{**STANDING[CHARGE], "run_s": 10})
    assert decide.step(DEFAULTS, before, reading(soil=1200)).deciding.phase == REST
    before = state(**{**STANDING[DISCHARGE], "run_s": 10})
    after = decide.step(DEFAULTS, before, reading(soil=1200, outside=1000)).deciding
    assert (after.phase, after.fan, after.run_s, after.blind_s) == (BLIND, 1, 70, 0)


def test_power_up_rests_first_and_takes_the_first_reading():
    s = DEFAULTS
    now = decide.start(s)
    assert now.deciding.phase == REST
    seen = []
    for _ in range(6):
        now = decide.step(s, now, reading(house=400, soil=1200))
        seen.append((now.deciding.phase, now.deciding.fan))
    assert seen == [(REST, 0)] * 4 + [(DISCHARGE, 1)] * 2


def test_power_up_without_a_reading_goes_blind_after_the_set_time():
    now = decide.start(DEFAULTS)
    seen = []
    for _ in range(6):
        now = decide.step(DEFAULTS, now, reading())
        seen.append((now.deciding.phase, now.deciding.fan))
    # lost_after_s 180, min_rest_s 300
    assert seen == [(REST, 0)] * 2 + [(BLIND, 0)] * 2 + [(BLIND, 1)] * 2


def test_a_nonsense_switch_position_counts_as_auto():
    after = decide.step(DEFAULTS, state(), reading(house=400, soil=1200, hand=7)).deciding
    assert after.phase == DISCHARGE


def test_the_step_length_is_held_to_an_hour_and_never_negative():
    before = state(**STANDING[DISCHARGE])
    for elapsed, counted in ((-60, 0), (99999, 3600), (60, 60)):
        after = decide.step(DEFAULTS, before, reading(house=400, soil=1200, elapsed_s=elapsed))
        assert after.counters.discharge_s == counted
        assert after.deciding.run_s == 3600 + counted


def test_whole_state_after_one_plain_start():
    before = state()
    after = decide.step(DEFAULTS, before, reading(house=400, soil=1200))
    assert after.deciding == before.deciding._replace(
        phase=DISCHARGE, fan=1, rule=phases.BY_SETPOINT, run_s=0, rest_s=0
    )
