"""Do the sums by night say what their names say?

A night runs from noon to noon, local time, and is named by its morning; its minimum is the lowest 10-minute mean.
Expected numbers are worked by hand; values are invented.
"""

import numpy as np
import pandas as pd
import pytest

from tests.tools.made_logs import made_log
from tuner import comparison, logged, nights
from tuner.site import site_from_tree

TREE = {
    "site": {"time_zone": "Europe/Dublin"},
    "needs": {"frost_floor_c": 3, "hot_limit_c": 30},
    "fan": {"watts": 50},
    "energy": {"price_per_kwh": 0.4},
}
KEYS = [
    "house_min_c",
    "house_max_c",
    "soil_end_c",
    "fan_h",
    "charge_h",
    "discharge_h",
    "starts",
    "cold_degree_h",
    "hot_degree_h",
    "fan_kwh",
    "fan_cost",
]


def site(**changes):
    made, faults = site_from_tree(TREE | changes)
    assert not faults, faults
    return made


def summed(log, where=None):
    return nights.summary(log, logged.as_logged(log), where or site())


def test_a_night_is_named_by_its_morning_and_changes_at_local_noon():
    zone = site(site={"time_zone": "America/St_Johns"}).site.zone  # 3.5 h behind UTC in winter
    times = pd.to_datetime(["2026-01-10T15:29Z", "2026-01-10T15:30Z", "2026-01-11T15:29Z", "2026-01-11T15:30Z"])
    named = nights.mornings(pd.DatetimeIndex(times), zone)
    assert [f"{day:%m-%d}" for day in named] == ["01-10", "01-11", "01-11", "01-12"]


@pytest.mark.parametrize(("day", "hours"), [("2026-03-29", 23), ("2026-10-25", 25), ("2026-06-10", 24)])
def test_nights_when_the_clocks_change_are_an_hour_shorter_or_longer(day, hours):
    """Ireland's clocks change on these two mornings; the length comes from the zone's own noons."""
    log = made_log([10.0] * (96 * 4), start=pd.Timestamp(day) - pd.Timedelta(days=2), step_s=900)
    night = next(one for one in summed(log)["nights"] if one["date"] == day)
    assert night["covered_h"] == hours


def test_keys_and_sums_of_one_hand_worked_night():
    """Ten hours in 5-min rows from 20:00: two at 2 degC, then 6, then one hour at 33; the fan ran for 90 minutes."""
    house = [2.0] * 24 + [6.0] * 84 + [33.0] * 12
    pct = np.zeros(120)
    pct[10:20] = pct[40:48] = 100
    fan_s = np.zeros(120)
    fan_s[11:21] = fan_s[41:49] = 300
    phase = np.where(pct > 0, np.where(np.arange(120) < 30, "discharge", "charge"), "rest")
    log = made_log(house, "2026-01-10T20:00Z", 300, soil=12.0, fan_pct=pct, fan_s=fan_s, phase=phase)
    result = summed(log)
    assert [night["date"] for night in result["nights"]] == ["2026-01-11"]
    night = result["nights"][0]
    assert list(night)[:12] == ["date", *KEYS]
    expected = {
        "house_min_c": 2.0,
        "house_max_c": 33.0,
        "soil_end_c": 12.0,
        "fan_h": 1.5,
        "charge_h": pytest.approx(8 / 12, abs=1e-4),
        "discharge_h": pytest.approx(10 / 12, abs=1e-4),
        "starts": 2,
        "cold_degree_h": pytest.approx(23 / 12, abs=1e-4),  # the first row stands for no time
        "hot_degree_h": 3.0,
        "fan_kwh": 0.075,
        "fan_cost": 0.03,
    }
    assert {key: night[key] for key in KEYS} == expected
    assert {key: result["total"][key] for key in KEYS} == expected


def test_the_minimum_is_a_ten_minute_mean_and_needs_half_of_its_readings():
    house = np.full(60, 8.0)
    house[30] = -2.0  # one reading moves the mean of ten by a tenth of its fall
    assert summed(made_log(house))["nights"][0]["house_min_c"] == 7.0
    house[26:36] = 5.0
    assert summed(made_log(house))["nights"][0]["house_min_c"] == 5.0
    house[20:50] = np.nan
    house[36] = 1.0  # alone among blanks: no mean of it is made
    assert summed(made_log(house))["nights"][0]["house_min_c"] == 8.0
    half_hourly = [6.0, 4.5, 6.0]
    assert summed(made_log(half_hourly, step_s=1800))["nights"][0]["house_min_c"] == 4.5


def test_a_night_without_readings_says_none_not_zero():
    result = summed(made_log([np.nan] * 30))
    night = result["nights"][0]
    assert (night["house_min_c"], night["house_max_c"], night["soil_end_c"]) == (None, None, None)
    assert (night["covered_h"], night["cold_degree_h"]) == (0.0, 0.0)


def test_no_time_is_counted_across_a_gap():
    times = pd.date_range("2026-01-10", periods=10, freq="60s", tz="UTC")
    times = times.append(times + pd.Timedelta(hours=5))
    result = summed(made_log([1.0] * 20, times=times))
    assert result["total"]["cold_degree_h"] == pytest.approx(2 * 18 / 60, abs=1e-4)


def test_no_decision_changes_a_logged_temperature():
    """Open loop: every run carries the log's own temperatures."""
    from controller.core.rows import defaults

    log = made_log([3.0] * 300 + [26.0] * 300, soil=14.0)
    runs = comparison.compare(log, [("a", defaults())], site()).summaries
    for key in ("house_min_c", "house_max_c", "soil_end_c", "cold_degree_h", "hot_degree_h"):
        assert runs[0]["total"][key] == runs[1]["total"][key]
    assert runs[0]["total"]["fan_h"] == 0 < runs[1]["total"]["fan_h"]
