"""Do heater and vent follow the house, hold their state, and never contradict each other?"""

import pytest

from controller.core import decide, phases, screen
from controller.core.phases import CHARGE
from tests.core_help import reading, settings, state, step, steps

HEATER = settings(heater_fitted=1)  # heat_below_c 2, heat_band_c 1, heat_delay_s 900
VENT = settings(vent_fitted=1)  # vent_above_c 30, vent_band_c 2
BOTH = settings(heater_fitted=1, vent_fitted=1)
ON = {"heater": 1, "heater_s": 300}
OPEN = {"vent": 1, "vent_s": 300}


def heater(before=None, s=HEATER, **read):
    return step(s, state(s, **(before or {})), **read).deciding.heater


def vent(before=None, s=VENT, **read):
    return step(s, state(s, **(before or {})), **read).deciding.vent


def test_the_fan_gets_its_head_start():
    after = steps(HEATER, state(HEATER), 16, house=200, soil=1500)
    assert [x.deciding.heater for x in after] == [0] * 14 + [1] * 2
    assert after[5].deciding.heat_wait_s == 360


def test_a_warmer_reading_starts_the_wait_again():
    assert step(HEATER, state(HEATER, heat_wait_s=840), house=201, soil=1500).deciding.heat_wait_s == 0


@pytest.mark.parametrize(("read", "on"), [
    ({"house": 200, "soil": 299}, 1), ({"house": 200, "soil": 300}, 0), ({"house": 201, "soil": 200}, 0),
    ({"house": 200, "soil": 1500, "hand": screen.HAND_OFF}, 1), ({"house": 200, "soil": 1500, "hand": 1}, 0),
    ({"house": 200}, 0),
])  # fmt: skip
def test_no_wait_when_the_fan_can_not_help(read, on):
    assert heater(**read) == on


def test_heater_off_over_its_band_and_off_when_not_fitted():
    assert [heater(ON, house=h, soil=1500) for h in (299, 300)] == [1, 0]
    assert heater(s=settings(), house=0, soil=0) == 0


def test_heater_holds_its_state_for_the_shortest_rest():
    assert heater({"heater": 1, "heater_s": 239}, house=1000, soil=1500) == 1
    assert heater({"heater": 1, "heater_s": 240}, house=1000, soil=1500) == 0
    assert heater({"heater": 0, "heater_s": 239}, house=0, soil=0) == 0
    assert heater({"heater": 0, "heater_s": 240}, house=0, soil=0) == 1


def test_heater_is_off_at_once_with_the_house_unknown():
    assert heater({"heater": 1, "heater_s": 0}, soil=1500) == 0
    assert heater(ON, humid_air=150) == 1  # the humidity probe's temperature is a house temperature


def test_stage_timers_start_again_at_each_change():
    after = step(HEATER, state(HEATER, **ON), house=300, soil=1500).deciding
    assert (after.heater, after.heater_s) == (0, 0)
    after = step(VENT, state(VENT, **OPEN), house=2800, soil=1500).deciding
    assert (after.vent, after.vent_s) == (0, 0)


CHARGED = {"phase": CHARGE, "fan": 1, "rule": phases.BY_SETPOINT, "run_s": 240}
VENT_EDGES = [
    ({}, {"house": 3000, "soil": 3000}, 1), ({}, {"house": 2999, "soil": 3000}, 0),
    (OPEN, {"house": 2801, "soil": 3000}, 1), (OPEN, {"house": 2800, "soil": 3000}, 0),
    ({"vent": 1, "vent_s": 239}, {"house": 2000, "soil": 3000}, 1),
    ({"vent": 0, "vent_s": 239}, {"house": 3500, "soil": 3000}, 0),
    (CHARGED, {"house": 3000, "soil": 2000}, 1), ({**CHARGED, "run_s": 239}, {"house": 3000, "soil": 2000}, 0),
    ({}, {"house": 3000, "soil": 2000}, 0),  # charging starts first
    ({"rest_s": 0}, {"house": 3000, "soil": 2000}, 0),  # charging only rests
    ({"rest_s": 0}, {"house": 3000, "soil": 2990}, 1),  # nothing to charge
    ({}, {"house": 3000, "soil": 2000, "hand": screen.HAND_OFF}, 1),
    ({"rest_s": 0, "vent_s": 300}, {"house": 3000, "soil": 2000, "hand": screen.HAND_ON}, 1),
]  # fmt: skip


@pytest.mark.parametrize(("before", "read", "is_open"), VENT_EDGES)
def test_the_vent_gives_the_store_the_first_go(before, read, is_open):
    assert vent(before, **read) == is_open


def test_the_vent_shuts_with_the_house_unknown_unless_it_is_warm_outside():
    assert vent(OPEN, soil=2000) == 0
    assert vent(OPEN, soil=2000, outside=1499) == 0
    assert vent(OPEN, soil=2000, outside=1500) == 1
    assert vent({"vent": 1, "vent_s": 0}, soil=2000) == 0
    assert vent({}, soil=2000, outside=2500) == 0


def test_no_vent_when_none_is_fitted():
    assert vent(s=settings(), house=4000, soil=3000) == 0


def test_heater_and_vent_shut_each_other_out():
    cold_but_open = state(BOTH, vent=1, vent_s=0, heat_wait_s=900)
    after = step(BOTH, cold_but_open, house=100, soil=100).deciding
    assert (after.vent, after.heater) == (0, 1)  # a vent open in frost shuts at once, its hold notwithstanding
    hot_but_heating = state(BOTH, heater=1, heater_s=0)
    after = step(BOTH, hot_but_heating, house=3500, soil=3500).deciding
    assert (after.vent, after.heater) == (0, 1)
    after = decide.step(BOTH, state(BOTH, heater=1, heater_s=240), reading(house=3500, soil=3500)).deciding
    assert (after.vent, after.heater) == (0, 0)
    after = decide.step(BOTH, state(BOTH), reading(house=3500, soil=3500)).deciding
    assert (after.vent, after.heater) == (1, 0)


def test_stages_keep_their_rules_in_hand():
    assert heater({**ON, "phase": phases.HAND}, house=299, soil=1500, hand=screen.HAND_ON) == 1
    assert vent({**OPEN, "phase": phases.HAND}, house=2801, soil=1500, hand=screen.HAND_OFF) == 1
