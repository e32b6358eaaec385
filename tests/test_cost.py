"""Does every second of the fan come into the sums once, at its right price, and is what is not known left open?

Sources are named beside each example; "own" examples are worked by hand.
"""

import json

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.core import reasons
from tests.cost_help import make_log, make_site, part_of, run_of
from tuner import cost, cost_text, spans, wear
from tuner.logged import Run

DAY_AND_NIGHT = {
    "price_per_kwh": 0.28,
    "band": [
        {"name": "peak", "from": "16:00", "to": "20:00", "price_per_kwh": 0.40},
        {"name": "night", "from": "23:00", "to": "07:00", "price_per_kwh": 0.12},
    ],
}


def costs(log, site):
    return cost.cost(log, run_of(log), site)


def total(log, site):
    return costs(log, site).tree["total"]


def ten_on_twenty_off(days=1, start="2026-01-05"):
    """60 s rows; the fan runs 10 minutes of every 30, as the logged row ends tell."""
    fan_s = np.tile(np.repeat([0, 60, 0], [10, 10, 10]), 48 * days)
    return make_log(f"{start}T00:01", 60, fan_s, np.roll(np.where(fan_s > 0, 100, 0), -1), house=5, soil=9)


def test_a_day_of_three_prices():
    """60 W, 10 minutes on and 20 off for a day: duty one third, 0.480 kWh, 48 starts, 0.02 kWh each hour.

    At 0.40 for 4 h, 0.28 for 12 h and 0.12 for 8 h: 0.08 x 0.40 + 0.24 x 0.28 + 0.16 x 0.12 = 0.1184 (own).
    """
    sums = total(ten_on_twenty_off(), make_site(DAY_AND_NIGHT))
    assert (sums["known_h"], sums["unknown_h"], sums["fan_h"], sums["discharge_h"]) == (24, 0, 8, 8)
    assert sums["duty_pct"] == pytest.approx(100 / 3, abs=1e-3)
    assert (sums["fan_kwh"], sums["fan_cost"], sums["starts"]) == (0.480, 0.1184, 48)
    assert (sums["fan_kwh_most"], sums["fan_cost_most"]) == (0.480, 0.1184)
    assert sums["longest_run_h"] == pytest.approx(1 / 6, abs=1e-4)
    by_band = {band["name"]: (band["fan_h"], band["fan_kwh"], band["fan_cost"]) for band in sums["bands"]}
    assert by_band == {
        "peak": (pytest.approx(4 / 3, abs=1e-4), 0.08, 0.032),
        "night": (pytest.approx(8 / 3, abs=1e-4), 0.16, 0.0192),
        "other hours": (4.0, 0.24, 0.0672),
    }


def test_thirty_days_at_one_price():
    """45 W for 8 h on 30 days at 0.30: 10.80 kWh, 3.24 (own)."""
    sums = total(ten_on_twenty_off(30), make_site(fan={"watts": 45}))
    assert (sums["fan_kwh"], sums["fan_cost"]) == (10.8, 3.24)


def test_relay_life():
    """48 starts a day use up 30 000 operations in 1.711 years, 100 000 in 5.704 (365.25 days; own)."""
    for operations, years in ((30_000, 1.711), (100_000, 5.704)):
        site = make_site(fan={"relay_life_operations": operations})
        found = costs(ten_on_twenty_off(3), site).tree["wear"]
        assert (found["starts_per_day"], found["relay_life_years"]) == (48, years)
        assert (found["most_starts_in_an_hour"], found["starts_over_limit"]) == (2, 0)
    still = make_log("2026-01-05", 60, np.zeros(1440))
    assert costs(still, make_site()).tree["wear"]["relay_life_years"] is None


def test_starts_per_hour_over_the_motors_limit():
    """Seven starts within 50 minutes, then one each hour: at most six an hour are allowed, one is over (own)."""
    times = [*range(0, 7 * 500, 500), 7200, 10800, 14400]
    assert (wear.most_in_an_hour(times), wear.starts_over(times, 6)) == (7, 1)
    assert (wear.most_in_an_hour([0, 3600]), wear.most_in_an_hour([])) == (1, 0)


@pytest.mark.parametrize(
    ("start", "rows", "hours"),
    [("2026-03-28T23:00", 23 * 60, 23), ("2026-10-24T22:00", 25 * 60, 25), ("2026-06-01T22:00", 24 * 60, 24)],
)
def test_days_of_23_24_and_25_hours(start, rows, hours):
    """A fan that never rests on one local day in Berlin: 23, 25 and 24 hours, one day of the fixed charge each.

    23:00 to 07:00 lasts 7, 9 and 8 hours of that day, 0.06 kWh in each (own).
    """
    site = make_site(DAY_AND_NIGHT | {"daily_charge": 0.50}, zone="Europe/Berlin")
    log = make_log(pd.Timestamp(start) + pd.Timedelta(minutes=1), 60, np.full(rows, 60))
    result = costs(log, site)
    sums = result.tree["total"]
    assert (sums["fan_h"], sums["fan_kwh"], sums["daily_charge"]) == (hours, round(0.06 * hours, 5), 0.50)
    night = next(band for band in sums["bands"] if band["name"] == "night")
    assert night["fan_h"] == hours - 16
    assert [month["fan_h"] for month in result.tree["months"]] == [hours]
    assert sum(night["fan_h"] for night in result.tree["nights"]) == hours


def test_a_run_across_an_edge_is_split_in_proportion():
    """One row of 15 minutes, 15:55 to 16:10, ran 450 s: a third of it before the edge, two thirds after (own)."""
    index = pd.DatetimeIndex(["2026-01-05T15:40Z", "2026-01-05T15:55Z", "2026-01-05T16:10Z"], name="time")
    log = make_log(None, 900, [0, 0, 450], [0, 100, 0], times=index)
    by_band = {band["name"]: band["fan_h"] for band in total(log, make_site(DAY_AND_NIGHT))["bands"]}
    assert by_band == {"other hours": pytest.approx(150 / 3600, abs=1e-4), "peak": pytest.approx(300 / 3600, abs=1e-4)}


def test_the_hours_of_a_gap_are_a_range():
    """One hour known, then six hours missing from 15:00 to 21:00, then an hour known, running all the time.

    In the gap the fan took nothing at least and 6 x 0.06 kWh at most: 4 h at 0.40 and 2 h at 0.28 (own).
    """
    known = np.full(60, 60)
    first = pd.date_range("2026-01-05T14:01Z", periods=60, freq="min")
    index = first.append(pd.date_range("2026-01-05T21:01Z", periods=60, freq="min")).rename("time")
    log = make_log(None, 60, np.concatenate((known, known)), times=index)
    sums = total(log, make_site(DAY_AND_NIGHT))
    assert (sums["known_h"], sums["unknown_h"], sums["fan_h"]) == (2, 6, 2)
    assert (sums["fan_kwh"], sums["fan_kwh_most"]) == (0.12, 0.48)
    assert sums["fan_cost"] == pytest.approx(0.12 * 0.28)
    assert sums["fan_cost_most"] == pytest.approx(0.12 * 0.28 + 0.06 * (4 * 0.40 + 2 * 0.28))
    assert sums["duty_pct"] == 100
    assert sums["starts"] == 0  # it was running when seen first, before and after the gap


def test_a_night_wholly_inside_a_gap_is_listed_as_unknown():
    index = pd.DatetimeIndex(["2026-01-05T00:00Z", "2026-01-05T00:01Z", "2026-01-08T00:00Z", "2026-01-08T00:01Z"])
    log = make_log(None, 60, [0, 0, 0, 0], times=index.rename("time"))
    nights = costs(log, make_site()).tree["nights"]
    assert [night["date"] for night in nights] == ["2026-01-05", "2026-01-06", "2026-01-07", "2026-01-08"]
    assert [(night["known_h"], night["unknown_h"]) for night in nights[1:3]] == [(0, 24), (0, 24)]
    assert nights[1]["duty_pct"] is None
    assert nights[1]["fan_kwh_most"] == 1.44


def test_a_short_hole_in_a_log_with_fan_s_is_unknown_too():
    """Five rows missing: the row after them tells of one minute."""
    index = pd.DatetimeIndex(["2026-01-05T00:01Z", "2026-01-05T00:02Z", "2026-01-05T00:08Z"], name="time")
    log = make_log(None, 60, [60, 60, 60], times=index)
    sums = total(log, make_site())
    assert (sums["fan_h"], sums["unknown_h"]) == (0.05, round(5 / 60, 4))


def test_a_log_with_the_fans_state_only_holds_it_until_the_next_row_for_an_hour_at_most():
    index = pd.DatetimeIndex(["2026-01-05T00:00Z", "2026-01-05T00:10Z", "2026-01-05T00:50Z", "2026-01-05T03:00Z"])
    log = make_log(None, 600, fan_pct=[0, 100, 0, 0], times=index.rename("time"))
    sums = total(log, make_site())
    assert (sums["fan_h"], sums["starts"]) == (round(40 / 60, 4), 1)
    assert (sums["known_h"], sums["unknown_h"]) == (round(50 / 60, 4), round(130 / 60, 4))


def test_starts_within_a_row():
    """15-minute rows: on at both ends but 5 minutes short is a stop and a start; so is a run between two ends that were
    off; a second short is only a matter of counting."""
    log = make_log("2026-01-05", 900, [0, 0, 900, 600, 899, 300, 200, 0], [0, 100, 100, 100, 100, 0, 0, 0])
    found = spans.starts(log.frame, run_of(log), spans.of_rows(log, run_of(log)))
    assert list(found.count) == [0, 1, 0, 1, 0, 0, 1, 0]
    assert list(found.run) == [-1, -1, 0, 1, 1, 1, 2, -1]


def test_starts_by_hand_wear_the_motor_too():
    words = ["rest", "hand", "hand", "rest"]
    log = make_log("2026-01-05", 60, [0, 30, 60, 20], [0, 100, 100, 0], phase=words)
    sums = total(log, make_site())
    assert (sums["starts"], sums["hand_starts"], sums["hand_h"]) == (1, 1, round(110 / 3600, 4))
    assert sums["fan_h"] == sums["hand_h"]


def test_standby_and_the_fixed_charge_stand_apart():
    """2 W in the 16 h of rest: 0.032 kWh, 0.0096 at 0.30; neither changes what the fan costs (own)."""
    site = make_site({"price_per_kwh": 0.30, "daily_charge": 0.25}, fan={"standby_watts": 2})
    sums = total(ten_on_twenty_off(), site)
    assert (sums["fan_kwh"], sums["standby_kwh"]) == (0.48, 0.032)
    assert (sums["fan_cost"], sums["standby_cost"], sums["daily_charge"]) == (0.144, 0.0096, 0.25)


def test_a_logged_power_wins():
    """80 W while it runs and 5 W at rest, whatever site.toml says."""
    log = ten_on_twenty_off()
    power = np.where(log.frame["fan_pct"] > 0, 80.0, 5.0)
    log.frame["fan_power"] = power
    sums = total(log, make_site())
    assert sums["fan_kwh"] == pytest.approx(0.64)
    assert sums["standby_kwh"] == pytest.approx(0.08)


def test_each_run_is_priced_by_its_speed():
    """Half an hour at 50 % after half an hour at full speed: 0.030 + 0.00375 kWh by the cube law (own)."""
    fan_s = [60] * 60 + [0]
    pct = [100] * 29 + [50] * 31 + [0]
    log = make_log("2026-01-05T00:01", 60, fan_s, pct, phase=["charge"] * 60 + ["rest"])
    sums = total(log, make_site(fan={"speed_control": True}))
    assert sums["fan_kwh"] == pytest.approx(0.030 + 0.00375)


ZONES = st.sampled_from(["UTC", "Europe/Berlin", "America/St_Johns"])
BOOKS = (
    "known_h",
    "unknown_h",
    "fan_h",
    "fan_kwh",
    "fan_kwh_most",
    "fan_cost",
    "fan_cost_most",
    "daily_charge",
    "starts",
)


@st.composite
def logs(draw):
    """A log of one-minute rows near a change of the clock, with gaps and runs at will."""
    start = pd.Timestamp(draw(st.sampled_from(["2026-03-28T20:00Z", "2026-10-24T20:00Z", "2026-01-31T20:00Z"])))
    minutes, fan_s, at = [], [], 0
    for _ in range(draw(st.integers(1, 8))):
        running = draw(st.booleans())
        for _ in range(draw(st.integers(1, 40))):
            at += 1
            minutes.append(at)
            fan_s.append(60 if running else 0)
        at += draw(st.sampled_from([0, 0, 0, 5, 200, 3000]))
    index = (start + pd.to_timedelta(minutes, unit="min")).rename("time")
    return make_log(None, 60, fan_s, times=index)


@settings(max_examples=30)
@given(logs(), ZONES, st.data())
def test_splitting_a_log_anywhere_gives_the_same_total(log, zone, data):
    """The hours between the two parts are no gap of either; all else adds up, in every band."""
    site = make_site(DAY_AND_NIGHT | {"daily_charge": 0.5}, zone=zone)
    at = data.draw(st.integers(1, max(1, len(log.frame) - 1)))
    whole = total(log, site)
    parts = [total(part, site) for part in (part_of(log, 0, at), part_of(log, at, None)) if len(part.frame)]
    lost = cost.cost(log, run_of(log), site).book  # the gap at the cut, when there is one, belongs to neither part
    cut_h = 0.0
    if len(parts) == 2:
        cut_h = (lost.rows["start_s"].iloc[at] - lost.rows["end_s"].iloc[at - 1]) / 3600
    assert sum(part["unknown_h"] for part in parts) + cut_h == pytest.approx(whole["unknown_h"], abs=2e-4)
    for key in ("known_h", "fan_h", "fan_kwh", "fan_cost"):
        assert sum(part[key] for part in parts) == pytest.approx(whole[key], abs=2e-4), key
    if cut_h == 0:
        for key in BOOKS:
            assert sum(part[key] for part in parts) == pytest.approx(whole[key], abs=2e-4), key
    for name in {band["name"] for band in whole["bands"]}:
        split = sum(band["fan_cost"] for part in parts for band in part["bands"] if band["name"] == name)
        assert split == pytest.approx(next(b["fan_cost"] for b in whole["bands"] if b["name"] == name), abs=1e-4)


@settings(max_examples=20)
@given(logs(), ZONES)
def test_nights_weeks_months_phases_and_bands_each_add_up_to_the_total(log, zone):
    result = costs(log, make_site(DAY_AND_NIGHT | {"daily_charge": 0.5}, zone=zone)).tree
    whole = result["total"]
    for period in ("nights", "weeks", "months"):
        for key in BOOKS:
            assert sum(one[key] for one in result[period]) == pytest.approx(whole[key], abs=1e-3), (period, key)
    phases = ("charge_h", "discharge_h", "blind_h", "hand_h", "unnamed_h")
    assert sum(whole[key] for key in phases) == pytest.approx(whole["fan_h"], abs=1e-3)
    for key in ("fan_h", "fan_kwh", "fan_cost", "fan_cost_most"):
        assert sum(band[key] for band in whole["bands"]) == pytest.approx(whole[key], abs=1e-3)


def test_runs_that_earned_less_than_they_cost_are_told_with_their_reasons():
    """Two runs of an hour at 360 m3/h and 60 W. The first brings 4 K (about 450 W), the second 0.5 K (about 4 W).

    Against a resistance heater at the same price a run earns what it costs if it brings as much as the fan takes.
    """
    fan_s = [0] + [60] * 60 + [0] * 60 + [60] * 60 + [0]
    on = [100] * 60 + [0] * 61 + [0] * 0 + [100] * 60 + [0] * 2
    on[60], on[120] = 0, 100
    on = on[: len(fan_s)]
    words = np.where(np.arange(len(fan_s)) < 90, "cold", "min-run")
    warmer = np.where(np.arange(len(fan_s)) < 90, 4.0, 0.5)
    log = make_log("2026-01-05", 60, fan_s, on, house=5, soil=9, outlet=5 + warmer, reason=words)
    result = costs(log, make_site(fan={"airflow_m3_h": 360}))
    sums = result.tree["total"]
    assert (sums["runs"], sums["runs_judged"], sums["runs_at_a_loss"]) == (2, 2, 1)
    lost = result.tree["losses"]
    assert lost["by_reason"] == {"min-run": 1}
    assert [(run["reason"], run["phase"], run["fan_h"]) for run in lost["runs"]] == [("min-run", "discharge", 1.0)]
    assert sums["resistance_cost"] == pytest.approx(sums["heat_out_kwh"] * 0.30, abs=1e-3)
    assert sums["backup_cost"] is None
    cheap = costs(log, make_site({"price_per_kwh": 0.30, "backup_price_per_kwh": 0.02}, fan={"airflow_m3_h": 360}))
    assert cheap.tree["total"]["runs_at_a_loss"] == 2
    assert cheap.tree["total"]["backup_cost"] == pytest.approx(sums["heat_out_kwh"] * 0.02, abs=1e-4)


def charge_then_discharge(outlet):
    """An hour of charging at 20 degC, a rest, an hour of discharging at 5 degC; the soil is at 12. 360 m3/h, 60 W."""
    fan_s = [0] + [60] * 60 + [0] * 30 + [60] * 60 + [0]
    on = [100] * 60 + [0] * 30 + [100] * 60 + [0, 0]
    on[90:91] = [100]
    house = np.where(np.arange(len(fan_s)) < 75, 20.0, 5.0)
    return make_log("2026-01-05", 60, fan_s, on, house=house, soil=12, outlet=house + outlet)


def test_stored_heat_is_worth_the_share_that_came_back():
    """4 K each way: less than half comes back, since the motor's heat goes into the soil and is no heat of the soil's.

    Each run is worth its heat at 0.10 a kWh; the stored one only the share that came back.
    """
    outlet = np.where(np.arange(152) < 75, -4.0, 4.0)
    result = costs(charge_then_discharge(outlet), make_site({"price_per_kwh": 0.30, "backup_price_per_kwh": 0.10},
                   fan={"airflow_m3_h": 360}))  # fmt: skip
    sums = result.tree["total"]
    back = sums["heat_out_kwh"] / sums["heat_in_kwh"]
    assert 0 < back < 1
    stored, brought = result.runs["worth"]
    assert stored == pytest.approx(sums["heat_in_kwh"] * 0.10 * back, abs=1e-4)
    assert brought == pytest.approx(sums["heat_out_kwh"] * 0.10, abs=1e-4)


def test_stored_heat_is_not_judged_before_any_came_back():
    log = make_log("2026-01-05", 60, [0] + [60] * 60, [100] * 60 + [0], house=20, soil=12, outlet=16)
    sums = total(log, make_site(fan={"airflow_m3_h": 360}))
    assert (sums["runs"], sums["runs_judged"], sums["runs_at_a_loss"]) == (1, 0, None)
    assert sums["heat_in_kwh"] > 0


@pytest.mark.parametrize(("missing", "judged"), [(20, 2), (40, 1)])
def test_a_run_is_judged_where_half_its_heat_is_known(missing, judged):
    """Of the second hour's outlet readings some are missing: a third leaves it judged, two thirds do not."""
    outlet = np.where(np.arange(152) < 75, -4.0, 4.0)
    outlet[95 : 95 + missing] = np.nan
    log = charge_then_discharge(outlet)
    sums = total(log, make_site(fan={"airflow_m3_h": 360}))
    assert sums["runs_judged"] == judged
    brought = costs(log, make_site(fan={"airflow_m3_h": 360})).runs["heat_kwh"].iloc[1]
    assert np.isnan(brought) == (judged == 1)


def test_heat_is_not_known_without_an_airflow():
    log = make_log("2026-01-05", 60, [0, 60, 60], [100, 100, 0], house=5, soil=9, outlet=8)
    sums = total(log, make_site())
    assert (sums["heat_known_h"], sums["heat_out_kwh"], sums["cop_moved"], sums["runs_at_a_loss"]) == (
        0,
        None,
        None,
        None,
    )


def test_the_spread_of_the_heat():
    """10 % of the airflow, and 0.2 K between the probes, for an hour at 4 K: 10 % and 5 % of the heat (own)."""
    log = make_log("2026-01-05", 60, [0] + [60] * 60, [100] * 60 + [0], house=5, soil=9, outlet=9)
    sums = total(log, make_site(fan={"airflow_m3_h": 360, "motor_in_air": False}))
    assert sums["heat_out_sd_kwh"] == pytest.approx(sums["heat_out_kwh"] * np.hypot(0.10, 0.05), abs=1e-4)
    assert sums["cop_moved"] == pytest.approx(sums["heat_out_kwh"] / 0.060, rel=1e-3)


def test_a_replay_knows_its_own_starts_and_no_measured_heat():
    log = make_log("2026-01-05", 60, [0, 60, 60, 0], [100, 100, 0, 0], house=5, soil=9, outlet=9)
    logged = run_of(log)
    replayed = Run("a.json", object(), logged.out._replace(starts=np.array([1, 0, 0, 0])))
    sums = cost.cost(log, replayed, make_site(fan={"airflow_m3_h": 360})).tree["total"]
    assert (sums["starts"], sums["fan_h"], sums["heat_out_kwh"]) == (1, round(2 / 60, 4), None)


def test_cold_outside_is_counted_row_by_row():
    """Half an hour at 0 and half at 6 degC against a floor of 2: 1 K h, though their mean is above the floor (own)."""
    log = make_log("2026-01-05T00:01", 60, np.zeros(60), outside=np.repeat([0.0, 6.0], 30))
    assert costs(log, make_site()).tree["cold"] == {"outside_known_h": 1.0, "outside_cold_degree_h": 1.0}


def test_every_reason_word_is_known_to_the_losses():
    assert len({word for word, _ in reasons.REASONS}) == len(reasons.REASONS)


def odd_logs():
    """Logs at the edges of what may come: one row, no running, no rest, unknown states, long rows, a long gap."""
    rng = np.random.default_rng(4)
    known = rng.random(600) > 0.3
    pct = np.where(known, np.where(rng.random(600) < 0.5, 100.0, 0.0), np.nan)
    apart = pd.DatetimeIndex(["2026-01-01T00:00Z", "2026-03-01T00:00Z"], name="time")
    return {
        "one row at rest": make_log("2026-01-05", 60, [0]),
        "one row, state only": make_log("2026-01-05", 60, fan_pct=[100]),
        "two rows months apart": make_log(None, 60, fan_pct=[100, 0], times=apart),
        "never on": make_log("2026-01-05", 60, np.zeros(600), house=5, soil=7, outlet=6),
        "never off": make_log("2026-03-28", 900, np.full(300, 900), house=5, soil=7, outlet=6, humidity=80),
        "state often unknown": make_log("2026-01-05", 60, fan_pct=pct, house=5, soil=7, outlet=6),
        "rows of two hours": make_log("2026-01-05", 7200, fan_pct=np.tile([0, 100], 60)),
    }


@pytest.mark.parametrize("name", odd_logs())
def test_odd_logs_give_finite_sums_and_ordered_ranges(name):
    result = costs(odd_logs()[name], make_site(DAY_AND_NIGHT, {"airflow_m3_h": 300}, "Europe/Berlin"))
    sums = result.tree["total"]
    assert 0 <= sums["fan_kwh"] <= sums["fan_kwh_most"]
    assert 0 <= sums["fan_cost"] <= sums["fan_cost_most"]
    assert sums["fan_h"] <= sums["known_h"] + 1e-3
    json.dumps(result.tree, allow_nan=False)
    assert cost_text.lines(result, make_site(DAY_AND_NIGHT), [])
