"""Are settings read whole, and is every wrong one refused in words that name place, value and mend?"""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.core import rows, settings

KEYS = [row[0] for row in rows.TABLE]


def faults_of(**changed):
    result, faults = settings.from_mapping(changed)
    assert (result is None) == bool(faults)
    return faults


def test_defaults_lie_inside_their_bounds_and_agree():
    assert settings.from_mapping({}) == (rows.defaults(), [])
    for key, default, lowest, highest, unit, meaning in rows.TABLE:
        assert lowest <= default <= highest or (unit.endswith("off") and default == 0), key
        assert meaning


def test_every_design_row_is_there_in_order():
    # The settings' contract: names, defaults, bounds (core units).
    assert [row[:4] for row in rows.TABLE] == [
        ("charge_above_c", 2400, 800, 4000), ("charge_band_c", 200, 50, 1000),
        ("discharge_below_c", 500, -200, 2000), ("discharge_band_c", 150, 50, 800),
        ("least_gain_c", 300, 100, 1000), ("gain_band_c", 150, 30, 800),
        ("soil_ceiling_c", 3000, 1500, 3800), ("soil_floor_c", 600, -100, 2000), ("soil_band_c", 50, 20, 300),
        ("frost_guard_c", 100, -300, 1200), ("frost_band_c", 50, 30, 300),
        ("frost_alarm_c", 200, -300, 1500), ("hot_alarm_c", 4000, 2500, 5500),
        ("min_run_s", 300, 60, 1800), ("min_rest_s", 300, 60, 900), ("max_run_s", 14400, 1800, 86400),
        ("day_run_limit_s", 86400, 7200, 86400),
        ("charge_fan_pct", 100, 20, 100), ("discharge_fan_pct", 100, 20, 100),
        ("lost_after_s", 180, 30, 900), ("blind_run_s", 600, 300, 7200), ("blind_rest_s", 1800, 300, 7200),
        ("humid_charge_pct", 0, 50, 100), ("humid_charge_above_c", 1500, 800, 4000),
        ("flush_above_c", 0, 1500, 3800),
        ("heater_fitted", 0, 0, 1), ("heat_below_c", 200, -300, 1800), ("heat_band_c", 100, 30, 500),
        ("heat_delay_s", 900, 0, 7200),
        ("vent_fitted", 0, 0, 1), ("vent_above_c", 3000, 1500, 4500), ("vent_band_c", 200, 50, 800),
    ]  # fmt: skip


def test_mapping_goes_there_and_back_through_json():
    mapping = settings.to_mapping(rows.defaults())
    assert mapping["discharge_band_c"] == 1.5
    assert mapping["charge_above_c"] == 24
    assert settings.from_mapping(json.loads(json.dumps(mapping))) == (rows.defaults(), [])


@pytest.mark.parametrize("row", rows.TABLE, ids=KEYS)
def test_each_bound_is_inside_and_one_step_beyond_is_refused(row):
    scale = 100 if row[4].startswith("C") else 1
    for bound, beyond in ((row[2], row[2] - 1), (row[3], row[3] + 1)):
        assert settings.number_of(row, bound / scale) == (bound, "")
        if not (row[4].endswith("off") and beyond == 0):
            assert settings.number_of(row, beyond / scale)[1] == "is out of range"
    off = row[4].endswith("off") or row[2] <= 0 <= row[3]
    assert (settings.number_of(row, 0)[1] == "") == off


WRONG_VALUES = [
    ({"min_run_s": "300"}, "min_run_s: '300' is not a number. It must be 60 to 1800 seconds."),
    ({"min_run_s": None}, "min_run_s: None is not a number. It must be 60 to 1800 seconds."),
    ({"min_run_s": True}, "min_run_s: True is not a number. It must be 60 to 1800 seconds."),
    ({"min_run_s": [300]}, "min_run_s: [300] is not a number. It must be 60 to 1800 seconds."),
    ({"min_run_s": 300.5}, "min_run_s: 300.5 is not a whole number. It must be 60 to 1800 seconds."),
    ({"least_gain_c": math.nan}, "least_gain_c: nan is out of range. It must be 1 to 10 degrees C."),
    ({"least_gain_c": math.inf}, "least_gain_c: inf is out of range. It must be 1 to 10 degrees C."),
    ({"least_gain_c": 1e300}, "least_gain_c: 1e+300 is out of range. It must be 1 to 10 degrees C."),
    ({"least_gain_c": 3.125}, "least_gain_c: 3.125 is finer than 0.01. It must be 1 to 10 degrees C."),
    ({"soil_floor_c": -1.01}, "soil_floor_c: -1.01 is out of range. It must be -1 to 20 degrees C."),
    ({"humid_charge_pct": 49}, "humid_charge_pct: 49 is out of range. It must be 0 (off) or 50 to 100 percent."),
    ({"flush_above_c": 14}, "flush_above_c: 14 is out of range. It must be 0 (off) or 15 to 38 degrees C."),
    ({"vent_fitted": 2}, "vent_fitted: 2 is out of range. It must be 0 or 1."),
    ({"charge_abov_c": 20}, '"charge_abov_c" is not a setting. The nearest is "charge_above_c".'),
    ({"": 20}, '"" is not a setting. The nearest is "max_run_s".'),
]


@pytest.mark.parametrize(("mapping", "fault"), WRONG_VALUES)
def test_a_wrong_value_is_refused_in_full(mapping, fault):
    assert settings.from_mapping(mapping) == (None, [fault])


def test_true_and_false_switch_a_part():
    assert settings.from_mapping({"heater_fitted": True})[0].heater_fitted == 1
    assert settings.from_mapping({"heater_fitted": False})[0].heater_fitted == 0


def test_all_faults_are_listed_at_once_and_doubtful_rows_raise_no_second_one():
    mapping = {"min_run_s": "x", "soil_floor_c": 20, "soil_ceiling_c": 20.5, "colour": 1, "charge_above_c": 99}
    assert settings.from_mapping(mapping) == (
        None,
        [
            "charge_above_c: 99 is out of range. It must be 8 to 40 degrees C.",
            "min_run_s: 'x' is not a number. It must be 60 to 1800 seconds.",
            '"colour" is not a setting. The nearest is "max_run_s".',
            "soil_floor_c must be at least 5 below soil_ceiling_c (now soil_floor_c 20, soil_ceiling_c 20.5).",
        ],
    )


# (what is changed from the defaults, the words of the one fault, a change that just passes)
CHECKS = [
    ({"charge_above_c": 11.49}, "charge_above_c - charge_band_c must be at least 3 above discharge_below_c + "
     "discharge_band_c (now charge_above_c 11.49, charge_band_c 2, discharge_below_c 5, discharge_band_c 1.5).",
     {"charge_above_c": 11.5}),
    ({"humid_charge_pct": 80, "humid_charge_above_c": 11.49},
     "humid_charge_above_c - charge_band_c must be at least 3 above discharge_below_c + discharge_band_c "
     "(now humid_charge_above_c 11.49, charge_band_c 2, discharge_below_c 5, discharge_band_c 1.5).",
     {"humid_charge_pct": 80, "humid_charge_above_c": 11.5}),
    ({"frost_guard_c": 4.51}, "frost_guard_c + frost_band_c must not be above discharge_below_c "
     "(now frost_guard_c 4.51, frost_band_c 0.5, discharge_below_c 5).", {"frost_guard_c": 4.5}),
    ({"gain_band_c": 2.51}, "gain_band_c must be at least 0.5 below least_gain_c "
     "(now gain_band_c 2.51, least_gain_c 3).", {"gain_band_c": 2.5}),
    ({"soil_ceiling_c": 15, "soil_floor_c": 10.01}, "soil_floor_c must be at least 5 below soil_ceiling_c "
     "(now soil_floor_c 10.01, soil_ceiling_c 15).", {"soil_ceiling_c": 15, "soil_floor_c": 10}),
    ({"min_run_s": 601}, "blind_run_s must lie between min_run_s and max_run_s "
     "(now blind_run_s 600, min_run_s 601, max_run_s 14400).", {"min_run_s": 600}),
    ({"blind_run_s": 7200, "max_run_s": 7199}, "blind_run_s must lie between min_run_s and max_run_s "
     "(now blind_run_s 7200, min_run_s 300, max_run_s 7199).", {"blind_run_s": 7200, "max_run_s": 7200}),
    ({"blind_rest_s": 300, "min_rest_s": 301}, "blind_rest_s must not be below min_rest_s "
     "(now blind_rest_s 300, min_rest_s 301).", {"blind_rest_s": 301, "min_rest_s": 301}),
    ({"heater_fitted": 1, "heat_below_c": 18, "heat_band_c": 4},
     "heat_below_c + heat_band_c must be below charge_above_c - charge_band_c "
     "(now heat_below_c 18, heat_band_c 4, charge_above_c 24, charge_band_c 2).",
     {"heater_fitted": 1, "heat_below_c": 18, "heat_band_c": 3.99}),
    ({"vent_fitted": 1, "vent_above_c": 24.99, "vent_band_c": 0.5},
     "vent_above_c must be at least 1 above charge_above_c (now vent_above_c 24.99, charge_above_c 24).",
     {"vent_fitted": 1, "vent_above_c": 25, "vent_band_c": 0.5}),
    ({"vent_fitted": 1, "vent_above_c": 27, "vent_band_c": 5.01},
     "vent_above_c - vent_band_c must not be below charge_above_c - charge_band_c "
     "(now vent_above_c 27, vent_band_c 5.01, charge_above_c 24, charge_band_c 2).",
     {"vent_fitted": 1, "vent_above_c": 27, "vent_band_c": 5}),
    ({"vent_fitted": 1, "heater_fitted": 1, "heat_below_c": 18, "heat_band_c": 3, "vent_above_c": 26},
     "vent_above_c - vent_band_c must be more than 3 above heat_below_c + heat_band_c "
     "(now vent_above_c 26, vent_band_c 2, heat_below_c 18, heat_band_c 3).",
     {"vent_fitted": 1, "heater_fitted": 1, "heat_below_c": 18, "heat_band_c": 3, "vent_above_c": 26.01}),
    ({"flush_above_c": 31}, "flush_above_c must not be above soil_ceiling_c "
     "(now flush_above_c 31, soil_ceiling_c 30).", {"flush_above_c": 30}),
]  # fmt: skip


@pytest.mark.parametrize(("changed", "fault", "passing"), CHECKS)
def test_rows_that_contradict_each_other_are_refused(changed, fault, passing):
    assert settings.from_mapping(changed) == (None, [fault])
    assert faults_of(**passing) == []


def test_longest_run_below_shortest_run_is_refused_with_the_blind_run():
    # max_run_s starts at 1800, so the two can only meet there.
    assert settings.between_rows(rows.defaults()._replace(min_run_s=1800, max_run_s=1799, blind_run_s=1799)) == [
        "blind_run_s must lie between min_run_s and max_run_s (now blind_run_s 1799, min_run_s 1800, max_run_s 1799).",
        "min_run_s must not be above max_run_s (now min_run_s 1800, max_run_s 1799).",
    ]


def test_checks_of_parts_that_are_off_do_not_apply():
    unfitted = {"heat_below_c": 18, "heat_band_c": 5, "vent_above_c": 15, "humid_charge_above_c": 8}
    assert faults_of(**unfitted) == []


def test_common_practice_is_accepted():
    # Common practice, no source: a discharge setpoint of 40 degF (4.44 degC); charging when the house stands in
    # the 80s degF (27 degC and more); a house kept barely above freezing for plants that stand a little frost.
    assert faults_of(discharge_below_c=4.44, charge_above_c=27) == []
    assert faults_of(discharge_below_c=1, frost_guard_c=-1, frost_alarm_c=-0.5, soil_floor_c=3) == []


@given(st.dictionaries(st.sampled_from(KEYS) | st.text(max_size=12), st.none() | st.booleans() | st.integers()
       | st.floats() | st.text(max_size=5)))  # fmt: skip
def test_nothing_gets_past_the_checks_and_nothing_is_raised(mapping):
    result, faults = settings.from_mapping(mapping)
    if result is None:
        assert faults and all(isinstance(text, str) and text.endswith(".") for text in faults)
        return
    assert faults == []
    for number, row in zip(result, rows.TABLE, strict=True):
        assert isinstance(number, int)
        assert row[2] <= number <= row[3] or (number == 0 and row[4].endswith("off"))


def test_text_of_numbers_is_the_shortest_decimal():
    pairs = [(2400, "24"), (150, "1.5"), (-25, "-0.25"), (-100, "-1"), (5, "0.05"), (1010, "10.1"), (0, "0")]
    assert [(n, rows.text_of(n, "C")) for n, _ in pairs] == pairs
    assert rows.text_of(300, "s") == "300"


def test_distance_between_words():
    # Levenshtein's own measure on textbook pairs.
    assert settings.distance("kitten", "sitting") == 3
    assert settings.distance("", "abc") == 3
    assert settings.distance("same", "same") == 0
    assert settings.distance("abc", "") == 3
