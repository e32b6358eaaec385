"""Does the fan's power follow its speed as the laws, or the grower's own measurements, say?"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.cost_help import make_site
from tests.test_prices import refusal
from tuner import fan_power
from tuner.site import site_from_tree


def fan(**more):
    return make_site(fan={"watts": 100, "speed_control": True} | more).fan


def test_affinity_laws():
    """1200 to 1500 rpm: flow 10 000 to 12 500, pressure 2.0 to 3.125, power 5 to 9.766 (laws applied to round figures).

    Thinner air at the same speed: the same flow, less pressure and power. Source: nrmurphy.com and the laws themselves.
    """
    flow, pressure, power = fan_power.affinity(1500 / 1200)
    assert (10_000 * flow, 2.0 * pressure, 5 * power) == pytest.approx((12_500, 3.125, 9.765625))
    assert fan_power.affinity(1.0, 0.8) == pytest.approx((1.0, 0.8, 0.8))


@pytest.mark.parametrize(("pct", "share"), [(100, 1.0), (90, 0.729), (80, 0.512), (50, 0.125)])
def test_power_goes_with_the_cube_of_speed(pct, share):
    """Shares as published at nrmurphy.com. Without speed control the fan takes full power at any setting."""
    assert fan_power.fan_kwh([3600], [pct], fan())[0] == pytest.approx(0.1 * share)
    assert fan_power.fan_kwh([3600], [pct], fan(speed_control=False))[0] == pytest.approx(0.1)


def test_a_drives_own_loss_makes_the_curve_flatter():
    """20 W of the drive and 80 W of air power: at half speed 20 + 80 / 8 = 30 W (own)."""
    assert fan_power.running_watts([100, 50], fan(drive_watts=20)) == pytest.approx([100, 30])


def test_measured_points_are_met_and_straight_between_in_the_cube():
    """Points 40 W at 70 % and 15 W at 40 %; halfway between them in n cubed the power is halfway (own)."""
    points = [{"percent": 70, "watts": 40}, {"percent": 40, "watts": 15}]
    one = fan(drive_watts=5, point=points)
    middle = 100 * ((0.7**3 + 0.4**3) / 2) ** (1 / 3)
    assert fan_power.running_watts([100, 70, 40, middle, 1e-6], one) == pytest.approx([100, 40, 15, 27.5, 5])


@given(st.floats(0, 60), st.floats(5, 100), st.floats(5, 100))
def test_power_never_falls_as_speed_rises(drive, one, other):
    low, high = sorted((one, other))
    watts = fan_power.running_watts([low, high], fan(drive_watts=drive))
    assert drive <= watts[0] <= watts[1] <= 100


def test_points_that_cannot_be_are_refused():
    def faults(**more):
        tree = {
            "site": {"time_zone": "UTC"},
            "needs": {"frost_floor_c": 2, "hot_limit_c": 35},
            "fan": {"watts": 100, "speed_control": True} | more,
            "energy": {"price_per_kwh": 0.3},
        }
        return site_from_tree(tree)[1]

    falling = [{"percent": 50, "watts": 60}, {"percent": 70, "watts": 40}]
    assert faults(point=falling) == [
        "[[fan.point]]: 40 W at 70 % after 60 W at 50 %: power must rise with speed, one value for each speed."
    ]
    assert faults(drive_watts=120) == [
        "[fan] drive_watts = 120: it is part of watts (100) and cannot be more.",
        "[[fan.point]]: 100 W at 100 % after 120 W at 0 %: power must rise with speed, one value for each speed.",
    ]
    assert faults(point=[{"percent": 100, "watts": 90}]) == [
        "[[fan.point]] percent = 100, watts = 90: [fan] watts says 100 at full speed. Give both the same value."
    ]
    assert faults(speed_control=False, point=[{"percent": 50, "watts": 30}]) == [
        "[[fan.point]]: measured points need [fan] speed_control = true."
    ]
    assert faults(point={"percent": 50, "watts": 30}) == [
        "[fan] point: a list of sections is needed. Write [[fan.point]] above each."
    ]
    assert faults(watts=-60) == ["[fan] watts = -60: It must be a number from 1 to 5000 (watts)."]


def test_negative_prices_are_refused():
    assert refusal({"price_per_kwh": -0.1}) == [
        "[energy] price_per_kwh = -0.1: It must be a number from 0 to 1000 (money per kilowatt hour)."
    ]


def test_energy_of_hand_worked_running():
    """2 h of 5000 W: 10 kWh (lakefrontutilities.on.ca). 60 W for a third of a day: 0.480 kWh; 45 W for 8 h on 30 days:
    10.80 kWh (own)."""
    assert fan_power.fan_kwh([7200], [100], fan(watts=5000)).sum() == pytest.approx(10)
    assert fan_power.fan_kwh(np.full(48, 600), np.full(48, 100), fan(watts=60)).sum() == pytest.approx(0.480)
    assert fan_power.fan_kwh(np.full(30, 8 * 3600), np.full(30, 100), fan(watts=45)).sum() == pytest.approx(10.80)


def test_the_speed_of_a_run_is_the_one_set_before_it():
    assert list(fan_power.ran_pct(np.array([0, 30, 80, 0, 0]))) == [100, 30, 30, 80, 100]


def test_airflow_goes_with_speed():
    """720 m3/h are 0.2 m3/s; at half speed half of it."""
    assert fan_power.airflow([100, 50], fan(airflow_m3_h=720)) == pytest.approx([0.2, 0.1])
    assert fan_power.airflow([50], fan(airflow_m3_h=720, speed_control=False)) == pytest.approx([0.2])
    assert np.isnan(fan_power.airflow([50], fan()))


def test_logged_power_is_taken_at_the_ends_that_belong():
    """Running at rows 2 and 3 only: the row between takes both, the rows of start and stop take one (own)."""
    running, resting = fan_power.measured_watts(np.array([2.0, 60.0, 64.0, 3.0]), np.array([False, True, True, False]))
    assert list(running) == [pytest.approx(np.nan, nan_ok=True), 60, 62, 64]
    assert list(resting) == [2, 2, pytest.approx(np.nan, nan_ok=True), 3]
