"""Is each alarm raised at its limit, cleared where it should, and held 60 s?"""

import pytest

from controller.core import alarms, phases, screen
from controller.core.phases import CHARGE, DISCHARGE, HAND
from controller.core.reasons import ALARMS
from tests.core_help import DEFAULTS, state, step, steps

WORDS = [word for word, _ in ALARMS]
RUNNING = {"phase": DISCHARGE, "fan": 1, "rule": phases.BY_SETPOINT, "run_s": 540}


def raised(before=None, alarm_state=None, **read):
    """Return the words of the alarms after one step of 60 s."""
    start = state(**(before or {}))
    if alarm_state:
        counters = start.counters
        start = start._replace(counters=counters._replace(alarm_state=counters.alarm_state._replace(**alarm_state)))
    bits = step(before=start, **read).counters.alarms
    return [word for i, word in enumerate(WORDS) if bits >> i & 1]


ALL_WELL = {"house": 1500, "soil": 1500}


def test_no_alarm_when_all_is_well():
    assert raised(**ALL_WELL) == []


CASES = [
    ("frost", {}, {"house": 200, "soil": 1500}, {"house": 201, "soil": 1500}),
    ("hot", {}, {"house": 4000, "soil": 3000}, {"house": 3999, "soil": 3000}),
    ("house-lost", {}, {"soil": 1500}, ALL_WELL),
    ("house-lost", {}, {"soil": 1500, "humid_air": 1500}, ALL_WELL),
    ("soil-lost", {}, {"house": 1500}, ALL_WELL),
    ("stuck", {}, {**ALL_WELL, "stuck": 1}, ALL_WELL),
    ("probes-differ", {"differ_s": 1740}, {**ALL_WELL, "humid_air": 1800}, {**ALL_WELL, "humid_air": 1799}),
    ("probes-differ", {"differ_s": 1740}, {**ALL_WELL, "humid_air": 1200}, {**ALL_WELL, "humid_air": 1201}),
    ("contactor-on", {}, {**ALL_WELL, "readback": 2}, {**ALL_WELL, "readback": 1}),
]


@pytest.mark.parametrize(("word", "timers", "bad", "good"), CASES)
def test_each_alarm_to_the_hundredth(word, timers, bad, good):
    assert word in raised(alarm_state=timers, **bad)
    assert word not in raised(alarm_state=timers, **good)


def test_frost_and_hot_clear_one_kelvin_back_and_hold_through_an_unknown_house():
    frosty, hot = {"frost": 1}, {"hot": 1}
    assert "frost" in raised(alarm_state=frosty, house=299, soil=1500)
    assert "frost" not in raised(alarm_state=frosty, house=300, soil=1500)
    assert "hot" in raised(alarm_state=hot, house=3901, soil=3000)
    assert "hot" not in raised(alarm_state=hot, house=3900, soil=3000)
    assert raised(alarm_state={"frost": 1, "hot": 1}, soil=1500) == ["frost", "hot", "house-lost"]
    assert raised(soil=1500) == ["house-lost"]


def test_an_alarm_stands_sixty_seconds_and_no_longer():
    seen = steps(DEFAULTS, step(house=1500), 7, house=1500, soil=1500, elapsed_s=10)
    assert [x.counters.alarms for x in seen] == [8] * 5 + [0] * 2


def test_lost_probes_are_told_only_after_power_up_has_settled():
    fresh = {"up_s": 0}
    assert raised(alarm_state=fresh, elapsed_s=179) == []
    assert raised(alarm_state=fresh, elapsed_s=180) == ["house-lost", "soil-lost"]


def test_probes_differ_for_half_an_hour_without_a_break():
    apart = {**ALL_WELL, "humid_air": 1900}
    seen = steps(DEFAULTS, state(), 30, **apart)
    assert [x.counters.alarms for x in seen] == [0] * 29 + [32]
    assert step(before=seen[20], **ALL_WELL).counters.alarm_state.differ_s == 0
    assert raised(alarm_state={"differ_s": 1740}, soil=1500, humid_air=1900) == ["house-lost"]


NO_FLOW = [
    (RUNNING, {"house": 400, "soil": 1400, "outlet": 599}, True),
    (RUNNING, {"house": 400, "soil": 1400, "outlet": 600}, False),
    (RUNNING, {"house": 400, "soil": 900, "outlet": 499}, True),
    (RUNNING, {"house": 400, "soil": 899, "outlet": 450}, False),
    (RUNNING, {"house": 400, "soil": 1400, "outlet": 300}, True),
    ({**RUNNING, "run_s": 539}, {"house": 400, "soil": 1400, "outlet": 400}, False),
    ({**RUNNING, "phase": CHARGE}, {"house": 2400, "soil": 1400, "outlet": 2201}, True),
    ({**RUNNING, "phase": CHARGE}, {"house": 2400, "soil": 1400, "outlet": 2200}, False),
    (RUNNING, {"house": 400, "soil": 1400}, False),
    (RUNNING, {"house": 400, "outlet": 400}, False),
    (RUNNING, {"soil": 1400, "outlet": 400}, False),
    ({}, {"house": 400, "soil": 1400, "outlet": 400}, False),
]


@pytest.mark.parametrize(("before", "read", "is_raised"), NO_FLOW)
def test_no_flow(before, read, is_raised):
    assert ("no-flow" in raised(before, **read)) == is_raised


def test_store_spent_only_under_frost_guard():
    assert "store-spent" in raised(house=100, soil=199)
    assert "store-spent" not in raised(house=100, soil=200)
    assert "store-spent" not in raised(house=100)
    assert "store-spent" not in raised(house=101, soil=100)


READBACK = [
    # (state before, hand, readback, expected)
    ({}, screen.HAND_AUTO, screen.READ_ON, ["contactor-on"]),
    ({}, screen.HAND_AUTO, screen.READ_OFF, []),
    ({}, screen.HAND_AUTO, screen.NOT_FITTED, []),
    (RUNNING, screen.HAND_AUTO, screen.READ_ON, []),
    (RUNNING, screen.HAND_AUTO, screen.READ_OFF, ["contactor-off"]),
    (RUNNING, screen.HAND_AUTO, screen.NOT_FITTED, []),
    ({"phase": HAND, "fan": 1}, screen.HAND_ON, screen.READ_ON, []),
    ({"phase": HAND, "fan": 1}, screen.HAND_ON, screen.READ_OFF, ["contactor-off"]),
    ({}, screen.HAND_ON, screen.READ_ON, []),
    ({"phase": HAND, "fan": 0}, screen.HAND_OFF, screen.READ_ON, ["contactor-on"]),
    (RUNNING, screen.HAND_OFF, screen.READ_OFF, []),
]


@pytest.mark.parametrize(("before", "hand", "readback", "words"), READBACK)
def test_contactor_against_what_it_should_be(before, hand, readback, words):
    assert raised(before, house=1500, soil=1500, hand=hand, readback=readback) == words


def test_a_contactor_gets_ten_seconds():
    seen = steps(DEFAULTS, state(), 10, readback=screen.READ_ON, elapsed_s=1, **ALL_WELL)
    assert [x.counters.alarms for x in seen] == [0] * 9 + [256]
    seen = steps(DEFAULTS, state(**RUNNING), 10, readback=screen.READ_OFF, elapsed_s=1, house=400, soil=1400)
    assert [x.counters.alarms for x in seen] == [0] * 9 + [512]


def test_bits_are_in_the_order_of_the_words():
    names = alarms.Alarms._fields[: alarms.BITS]
    for i in range(alarms.BITS):
        assert alarms.bits(alarms.start()._replace(**{names[i]: 1})) == 1 << i
    assert len(ALARMS) == alarms.BITS == len(set(WORDS))


def test_each_count_starts_again_when_its_cause_ends():
    assert alarms.count(1, 5, 10, 60) == 15
    assert alarms.count(1, 55, 10, 60) == 60
    assert alarms.count(0, 55, 10, 60) == 0
