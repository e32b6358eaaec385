"""Is every reading believed, doubted, lost and replaced as the rules say, at 1 s and at 60 s alike?"""

import pytest

from controller.core import screen
from controller.core.units import LOST, dew_point_centi_c
from tests.core_help import DEFAULTS, settings


def raw(house=LOST, elapsed_s=1, **more):
    fields = dict.fromkeys(screen.Raw._fields, 0)
    fields.update({name: LOST for name in screen.Raw._fields[1:7]})
    fields.update(house_centi_c=house, elapsed_s=elapsed_s, **more)
    return screen.Raw(**fields)


def feed(values, elapsed_s=1, state=None, **more):
    """Return (last Screen, [house value trusted now or LOST after each])."""
    state = screen.start() if state is None else state
    trusted = []
    for value in values:
        state = screen.step(state, raw(value, elapsed_s, **more))
        trusted.append(screen.trusted_now(state.house))
    return state, trusted


def test_first_plausible_value_is_believed_at_once():
    assert feed([1234])[1] == [1234]


# 85.00 is the probe's power-on value, -127 and -2147483648 drivers' words for "nothing there" (common practice).
@pytest.mark.parametrize("value", [8500, -12700, 7001, -4001, LOST])
def test_impossible_air_is_a_blank(value):
    assert feed([1000, value])[1] == [1000, LOST]


@pytest.mark.parametrize("value", [7000, -4000])
def test_the_ends_of_possible_air_are_believed(value):
    assert feed([value])[1] == [value]


def test_soil_has_its_own_narrower_range():
    for value, seen in ((5000, 5000), (5001, LOST), (-2000, -2000), (-2001, LOST)):
        state = screen.step(screen.start(), raw(soil_centi_c=value))
        assert screen.trusted_now(state.soil) == seen


def test_a_step_of_5_k_and_a_tenth_per_second_is_no_jump():
    assert feed([1000, 1510])[1] == [1000, 1510]
    assert feed([1000, 1511])[1] == [1000, LOST]
    assert feed([1000, 490])[1] == [1000, 490]
    assert feed([1000, 2100], elapsed_s=60)[1] == [1000, 2100]
    assert feed([1000, 2101], elapsed_s=60)[1] == [1000, LOST]


def test_a_jump_is_believed_after_30_s_when_read_each_second():
    trusted = feed([1000] + [3000] * 40)[1]
    assert trusted[1:31] == [LOST] * 30
    assert trusted[31:] == [3000] * 10


def test_a_jump_is_believed_at_the_third_reading_when_read_each_minute():
    assert feed([1000, 3000, 3000, 3000, 3000], elapsed_s=60)[1] == [1000, LOST, LOST, 3000, 3000]


def test_a_jump_needs_both_three_readings_and_30_s():
    assert feed([1000, 3000, 3000, 3000], elapsed_s=10)[1] == [1000, LOST, LOST, LOST]
    assert feed([1000, 3000, 3000, 3000, 3000], elapsed_s=10)[1] == [1000, LOST, LOST, LOST, 3000]


def test_a_jump_that_jumps_again_starts_over():
    values = [1000, 3000, 3000, 6000, 6000, 6000]
    assert feed(values, elapsed_s=60)[1] == [1000, LOST, LOST, LOST, LOST, 6000]


def test_a_spike_leaves_no_trace():
    assert feed([1000, 6000, 1010])[1] == [1000, LOST, 1010]
    assert feed([1000, 6000, 1010])[0].house == screen.Probe(1010, 0, LOST, 0, 0)


def test_blanks_count_as_doubt_so_that_a_screened_log_screens_the_same():
    assert feed([1000, LOST, LOST, 6000], elapsed_s=40)[1] == [1000, LOST, LOST, 6000]
    assert feed([1000, LOST, 6000], elapsed_s=20)[1] == [1000, LOST, LOST]


def test_lost_after_the_set_time_and_not_a_second_before():
    s = settings(lost_after_s=90)
    state, _ = feed([1000] + [LOST] * 89)
    assert screen.reading(s, state, raw()).house_ok == 1
    state, _ = feed([LOST], state=state)
    assert screen.reading(s, state, raw()).house_ok == 0


def test_a_probe_never_seen_is_not_known():
    assert screen.reading(DEFAULTS, screen.start(), raw()).house_ok == 0
    state, _ = feed([LOST] * 3)
    assert screen.reading(DEFAULTS, state, raw()).house_ok == 0


def test_step_length_is_held():
    assert [screen.step_length(x) for x in (-5, 0, 1, 3600, 3601)] == [0, 0, 1, 3600, 3600]


def test_the_humidity_probes_own_temperature_stands_in_for_the_house():
    state = screen.step(screen.start(), raw(LOST, humid_air_centi_c=700, humidity_deci_pct=800))
    r = screen.reading(DEFAULTS, state, raw(LOST, humid_air_centi_c=700))
    assert (r.house_centi_c, r.house_ok, r.house_probe_ok) == (700, 1, 0)
    assert (r.dew_centi_c, r.dew_ok) == (dew_point_centi_c(700, 800), 1)
    assert screen.logged(state, r) == (700, LOST, LOST, LOST, 800)


def test_the_house_probe_goes_first_when_it_is_there():
    state = screen.step(screen.start(), raw(500, humid_air_centi_c=700))
    r = screen.reading(DEFAULTS, state, raw())
    assert (r.house_centi_c, r.house_ok, r.house_probe_ok, r.humid_air_centi_c) == (500, 1, 1, 700)
    assert (r.dew_centi_c, r.dew_ok) == (LOST, 0)
    assert screen.logged(state, r) == (500, LOST, LOST, LOST, LOST)


def test_all_readings_arrive_in_their_places():
    given = raw(
        100, 7, soil_centi_c=200, outlet_centi_c=300, outside_centi_c=400, humid_air_centi_c=500,
        humidity_deci_pct=600, hand=2, request=1, readback=1,
    )  # fmt: skip
    state = screen.step(screen.start(), given)
    r = screen.reading(DEFAULTS, state, given)
    assert r == screen.Reading(7, 100, 1, 1, 200, 1, 300, 1, 400, 1, 500, 1, 600, 1, dew_point_centi_c(100, 600), 1,
                               2, 1, 1, 0)  # fmt: skip
    assert screen.logged(state, r) == (100, 200, 300, 400, 600)


@pytest.mark.parametrize(("value", "seen"), [(0, 0), (1000, 1000), (-1, LOST), (1001, LOST), (LOST, LOST)])
def test_humidity_only_has_to_be_possible(value, seen):
    state = screen.step(screen.start(), raw(humidity_deci_pct=500))
    state = screen.step(state, raw(humidity_deci_pct=value))
    assert screen.trusted_now(state.humidity) == seen


def test_humidity_ages_like_the_others():
    state = screen.step(screen.start(), raw(humidity_deci_pct=500))
    for _ in range(3):
        assert screen.reading(DEFAULTS, state, raw()).humidity_ok == 1
        state = screen.step(state, raw(elapsed_s=60))
    assert screen.reading(DEFAULTS, state, raw()).humidity_ok == 0


def stuck_hours(minutes, other=None, name="outside_centi_c", house=1000):
    """Feed an unchanging house for some minutes while another probe goes from 0 to other at half time."""
    state = screen.start()
    for minute in range(minutes):
        value = LOST if other is None else (0 if minute < minutes // 2 else other)
        given = raw(house, 60, **{name: value})
        state = screen.step(state, given)
    return state, screen.reading(DEFAULTS, state, given)


def test_stuck_for_three_hours_is_told_but_still_believed():
    assert stuck_hours(180)[1].stuck == 0  # the first reading starts the clock
    state, r = stuck_hours(181)
    assert (r.stuck, r.house_ok) == (1, 1)
    assert screen.trusted_now(state.house) == 1000


@pytest.mark.parametrize("name", ["outside_centi_c", "humid_air_centi_c", "outlet_centi_c"])
def test_stuck_while_another_air_probe_moved_two_kelvin_is_not_believed(name):
    state, r = stuck_hours(181, 199, name)
    assert (r.stuck, screen.trusted_now(state.house)) == (1, 1000)
    state, r = stuck_hours(181, 200, name)
    assert (r.stuck, screen.trusted_now(state.house)) == (1, LOST)
    state, r = stuck_hours(184, -200, name)
    assert r.house_probe_ok == 0


def test_stuck_ends_with_the_first_change():
    state, _ = stuck_hours(190, 500)
    state = screen.step(state, raw(1006, 60, outside_centi_c=500))
    r = screen.reading(DEFAULTS, state, raw())
    assert (screen.trusted_now(state.house), r.stuck, r.house_probe_ok) == (1006, 0, 1)
    assert state.stuck == screen.Stuck(0, 500, 500, -LOST, LOST, -LOST, LOST)


def test_a_house_never_seen_is_lost_but_not_stuck():
    assert stuck_hours(400, house=LOST)[1].stuck == 0


def test_soil_does_not_count_as_a_moving_air_probe():
    state = screen.start()
    for minute in range(200):
        state = screen.step(state, raw(1000, 60, soil_centi_c=minute * 10))
    assert screen.trusted_now(state.house) == 1000
