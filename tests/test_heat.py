"""Is the heat that the pipe air carries worked out rightly from the probes? Moist air against tables and psychrolib."""

import numpy as np
import pandas as pd
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.cost_help import make_log, make_site, run_of
from tuner import heat, ledger

psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.parametrize(
    ("temperature", "pressure"), [(0, 611.15), (5, 872.49), (10, 1228.00), (20, 2338.80), (30, 4246.03), (40, 7383.46)]
)
def test_saturation_pressure(temperature, pressure):
    """psychrolib 2.5.0, which follows ASHRAE Fundamentals 2017 chapter 1; 0.02 % at the triple point's side."""
    assert heat.saturation_pressure(temperature) == pytest.approx(pressure, rel=2e-4)


def test_saturation_pressure_of_the_printed_table():
    """ASHRAE Fundamentals 2017 chapter 1 table 3: 872.6 Pa at 5, 3169.7 Pa at 25, 12351.3 Pa at 50 degC; rel 3e-4."""
    assert heat.saturation_pressure(np.array([5.0, 25.0, 50.0])) == pytest.approx([872.6, 3169.7, 12351.3], rel=3e-4)


@given(st.floats(1, 45), st.floats(5, 100), st.floats(80_000, 103_000))
def test_moist_air_agrees_with_psychrolib(temperature, humidity, pressure):
    """rel 1e-4: the same equations."""
    ratio = psychrolib.GetHumRatioFromRelHum(temperature, humidity / 100, pressure)
    assert heat.humidity_ratio(temperature, humidity, pressure) == pytest.approx(ratio, rel=2e-4)
    moist = psychrolib.GetMoistAirDensity(temperature, ratio, pressure)
    assert heat.dry_air_density(temperature, ratio, pressure) * (1 + ratio) == pytest.approx(moist, rel=2e-4)


def test_pressure_by_height():
    """ASHRAE Fundamentals 2017 chapter 1 table 1: 101325, 95461, 89875 Pa at 0, 500, 1000 m; 1 Pa."""
    assert [heat.pressure_at(h) for h in (0, 500, 1000)] == pytest.approx([101325, 95461, 89875], abs=1)


@pytest.mark.parametrize(
    ("house", "humidity", "outlet", "watts", "water", "latent_share"),
    [(30, 80, 20, 872.8, 0.774, 0.6253), (28, 85, 18, 924.0, 0.845, 0.6438), (25, 70, 15, 598.3, 0.379, 0.4452)],
)
def test_cooling_to_a_saturated_outlet(house, humidity, outlet, watts, water, latent_share):
    """100 m3/h of house air cooled below its dew point, by psychrolib; 0.2 % (a rounded table).

    watts is the fall of the air's enthalpy; what the soil gets is less by the warmth of the water that is left in the
    pipe at the outlet's temperature.
    """
    sensible, _, left = (float(x) for x in heat.carried(house, outlet, humidity, 100 / 3600, 101325.0))
    latent = left * float(heat.vaporisation_heat(outlet))
    in_drops = water / 3600 * 4186 * outlet
    assert -sensible + latent == pytest.approx(watts - in_drops, rel=0.002)
    assert left * 3600 == pytest.approx(water, rel=0.002)
    assert (watts + sensible) / watts == pytest.approx(latent_share, abs=0.002)


def test_air_that_stays_above_its_dew_point_leaves_no_water():
    """35 degC, 40 % (dew point 19.4) to 20 degC: 481.8 W per 100 m3/h, all sensible (psychrolib)."""
    sensible, _, water = (float(x) for x in heat.carried(35, 20, 40, 100 / 3600, 101325.0))
    assert (-sensible, water) == (pytest.approx(481.8, rel=0.005), 0.0)


def test_heat_of_condensation():
    """2454 kJ/kg at 20 degC, 2501 at 0 (steam tables, from memory); 0.1 %."""
    assert heat.vaporisation_heat(np.array([0.0, 20.0])) == pytest.approx([2.501e6, 2.4543e6], rel=1e-3)


def day_of(house, outlet, humidity=np.nan, **fan):
    """Ten minutes of running between rests, one row a minute."""
    fan_s = [0] + [60] * 10 + [0]
    on = [100] * 10 + [0, 0]
    site = make_site(fan={"watts": 60, "airflow_m3_h": 360} | fan)
    log = make_log("2026-01-05", 60, fan_s, on, house=house, soil=12, outlet=outlet, humidity=humidity)
    return ledger.ledger(log, run_of(log), site).rows


def test_heat_brought_back_by_hand():
    """0.1 m3/s of dry air of 5 degC, 1.2691 kg/m3, warmed by 4 K: 510.7 W, less 60 W of the motor (own)."""
    rows = day_of(5.0, 9.0)
    density = 101325 / (287.042 * 278.15)
    watts = 0.1 * density * 1006 * 4
    assert rows["out_j"].sum() == pytest.approx((watts - 60) * 600)
    assert rows["in_j"].sum() == 0
    assert day_of(5.0, 9.0, motor_in_air=False)["out_j"].sum() == pytest.approx(watts * 600)
    assert rows["out_per_kelvin_j"].sum() == pytest.approx(0.1 * density * 1006 * 600)
    assert rows["water_s"].sum() == 0


def test_stored_heat_is_sensible_latent_and_the_motors():
    rows = day_of(28.0, 18.0, 85.0)
    expected = (924.0 - 0.845 / 3600 * 4186 * 18) * 3.6  # W for 360 m3/h, psychrolib, see the table above
    assert rows["in_j"].sum() == pytest.approx((expected + 60) * 600, rel=0.002)
    assert rows["water_kg"].sum() == pytest.approx(0.845 * 3.6 / 6, rel=0.005)
    assert rows["out_j"].sum() == 0


def test_a_run_the_wrong_way_counts_against_its_phase():
    """The soil is warmer, so the run should warm the house; yet the outlet is colder: heat out is below 0."""
    rows = day_of(10.0, 9.5)
    assert rows["out_j"].sum() < 0
    assert rows["in_j"].sum() == 0


def test_runs_by_hand_store_or_bring_back_as_each_does_on_the_whole():
    """Two runs by hand: ten minutes at 28 degC with a colder outlet, ten at 5 degC with a warmer one."""
    fan_s = [0] + [60] * 10 + [0] * 10 + [60] * 10 + [0]
    on = [100] * 10 + [0] * 10 + [100] * 10 + [0] * 2
    hot = np.arange(len(fan_s)) < 15
    house, outlet = np.where(hot, 28.0, 5.0), np.where(hot, 24.0, 8.0)
    words = np.where(np.array(on) > 0, "hand", "rest")
    log = make_log("2026-01-05", 60, fan_s, on, house=house, soil=12, outlet=outlet, phase=words)
    rows = ledger.ledger(log, run_of(log), make_site(fan={"watts": 60, "airflow_m3_h": 360})).rows
    first = np.arange(len(rows)) < 15
    assert rows["in_j"][first].sum() > 0
    assert rows["out_j"][~first].sum() > 0
    assert (rows["out_j"][first].sum(), rows["in_j"][~first].sum()) == (0, 0)
    assert rows["hand_s"].sum() == rows["fan_s"].sum() == 1200


def test_noise_of_the_probes_does_not_become_heat_both_ways():
    rng = np.random.default_rng(5)
    rows = day_of(5.0, 5.0 + rng.normal(0, 1.0, 12), motor_in_air=False)
    assert rows["in_j"].sum() == 0
    assert abs(rows["out_j"].sum()) < 600 * 128 * 1.0


def test_rows_without_an_outlet_reading_are_not_known():
    outlet = np.full(12, 9.0)
    outlet[3:7] = np.nan
    rows = day_of(5.0, outlet)
    assert rows["heat_s"].sum() == 600 - 3 * 60  # a row with one good end takes that end
    assert rows["heat_kwh"].sum() == pytest.approx(0.060 * 420 / 3600)


def rows_of_heat(joule, source="the fitted house"):
    joule = np.asarray(joule, dtype=float)
    return heat.HeatRows(joule, np.zeros(len(joule)), 0.15, np.full(len(joule), np.nan), source)


def test_a_fitted_house_fills_what_the_probes_do_not_tell():
    """The outlet is lost in the last five minutes of ten; there the fitted house counts, 300 W (own)."""
    outlet = np.full(12, 9.0)
    outlet[6:] = np.nan
    fan_s = [0] + [60] * 10 + [0]
    log = make_log("2026-01-05", 60, fan_s, [100] * 10 + [0, 0], house=5, soil=12, outlet=outlet)
    site = make_site(fan={"watts": 60, "airflow_m3_h": 360})
    book = ledger.ledger(log, run_of(log), site, rows_of_heat(np.full(12, 300.0 * 60)))
    probes = ledger.ledger(log, run_of(log), site)
    assert (probes.rows["heat_s"].sum(), book.rows["heat_s"].sum()) == (360, 600)
    assert book.rows["out_j"].sum() == pytest.approx(probes.rows["out_j"].sum() + 300 * 240)
    assert book.heat_share_sd == 0.15
    assert book.source == "outlet and house probes and the airflow of site.toml; the fitted house"
    assert probes.source == "outlet and house probes and the airflow of site.toml"


def test_a_fitted_house_is_brought_to_the_measured_heat_each_way():
    """Half as much stored as the fitted house says, a quarter more brought back; less than half a kWh is let be."""
    kwh = heat.JOULES_PER_KWH
    rows = pd.DataFrame({"heat_s": [60, 60, 0], "in_j": [1.0 * kwh, 0, 0], "out_j": [0, 1.25 * kwh, 0]})
    fitted = rows_of_heat([-2.0 * kwh, 1.0 * kwh, 9.0 * kwh])
    assert heat.calibration(rows, fitted) == (0.5, 1.25)
    small = pd.DataFrame({"heat_s": [60, 60, 0], "in_j": [0.1 * kwh, 0, 0], "out_j": [0, 1.25 * kwh, 0]})
    assert heat.calibration(small, fitted) == (1.0, 1.25)
    brought = heat.calibrated(fitted, 0.5, 1.25)
    assert list(brought.joule / kwh) == [-1.0, 1.25, 11.25]
    assert brought.share_sd == pytest.approx(np.hypot(0.15, 0.10))
    assert brought.source == "the fitted house, brought to the heat that the log's probes measured"
    assert heat.calibrated(fitted, 1.0, 1.0) is fitted


def test_degree_hours_published():
    """0.97 W/m2K x 17.9 m2 x 37 440 K h x 0.08 = 52.0057 (650.07 kWh; stephenhall.org.uk prints 650 071 and 52)."""
    kwh = heat.heating_kwh(0.97 * 17.9, 37_440)
    assert kwh == pytest.approx(650.07072)
    assert kwh * 0.08 == pytest.approx(52.0057, abs=5e-5)


def test_mean_then_clip_is_not_clip_then_mean():
    """Hourly [4,3,2,1,0,-1,-2,-1,1,3,6,8] below 5: 40 K h, 1.6 kWh at 40 W/K; their mean gives 36 K h (own)."""
    hourly = np.array([4, 3, 2, 1, 0, -1, -2, -1, 1, 3, 6, 8.0])
    hours = np.ones(12)
    assert heat.degree_hours(hourly, 5.0, hours) == 40
    assert heat.heating_kwh(40, 40) == pytest.approx(1.6)
    assert heat.degree_hours(np.full(12, hourly.mean()), 5.0, hours) == pytest.approx(36)


def test_missing_temperatures_are_no_degree_hours():
    assert heat.degree_hours([1.0, np.nan, 9.0], 5.0, np.full(3, 2.0)) == 8
