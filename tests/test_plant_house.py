"""Whole houses of the plant: balances, steps, losses, and that they answer to what they are told."""

import numpy as np
import pytest

pytest.importorskip("pvlib")

from tests.plant import HOUSES, PERFECT, WEATHERS, checking, checks_house, simulate

TIGHT, SPRING, WINTER = HOUSES["tight and damp"], WEATHERS["mild spring"], WEATHERS["hard winter"]


def failed(rows):
    assert rows
    return [row for row in rows if not row.holds]


def test_losses_and_edges_lie_in_published_ranges():
    assert failed(checks_house.losses() + checks_house.edges()) == []


def test_heat_and_water_close_to_a_thousandth():
    # All houses in all weathers for a fortnight: the slow test below, and `python -m tests.plant.checks`.
    assert failed(checks_house.balances([(TIGHT, SPRING)], 3, 2)) == []


def test_half_the_step_moves_no_temperature_by_0_05_K():
    assert failed(checks_house.steps([(TIGHT, SPRING)], 2, 2)) == []


@pytest.mark.slow
def test_every_house_in_every_weather_in_full():
    assert failed(checks_house.all_checks()) == []


def test_a_finer_step_of_decisions_sees_the_same_weather():
    each = [simulate(TIGHT, WINTER, days=1, warmup_days=2, step_s=s) for s in (20, 60)]
    assert np.array_equal(each[0].truth["outside"], each[1].truth["outside"])
    assert np.array_equal(each[0].truth["solar"], each[1].truth["solar"])
    # same start, same weather, other reading times: the fan's hours agree to a tenth
    hours = [r.fan_s.sum() / 3600 for r in each]
    assert hours[0] == pytest.approx(hours[1], rel=0.1, abs=0.3)


def test_other_settings_start_from_the_same_house():
    each = [
        simulate(TIGHT, WINTER, s, days=1, warmup_days=2) for s in ({"discharge_below_c": 4}, {"discharge_below_c": 9})
    ]
    assert each[0].truth["house"][0] == each[1].truth["house"][0]
    assert np.array_equal(each[0].truth["outside"], each[1].truth["outside"])
    assert each[1].fan_s.sum() > each[0].fan_s.sum()
    assert each[1].truth["house"][:480].min() >= each[0].truth["house"][:480].min() - 0.05


def test_a_shorter_run_is_the_beginning_of_a_longer_one():
    short, long = (simulate(TIGHT, WINTER, days=d, warmup_days=2) for d in (1, 2))
    assert np.allclose(short.truth["house"], long.truth["house"][:1440], atol=1e-9)
    assert np.array_equal(short.raws, long.raws[:1440])


def test_the_fan_warms_a_cold_house_and_cools_the_soil():
    on = simulate(TIGHT, WINTER, days=1, warmup_days=2, fan_override=np.full(1440, 100))
    off = simulate(TIGHT, WINTER, days=1, warmup_days=2, fan_override=np.zeros(1440))
    night = slice(60, 420)
    assert on.truth["house"][night].mean() > off.truth["house"][night].mean() + 0.5
    assert on.truth["soil_mean"][419] < off.truth["soil_mean"][419]
    assert on.totals["fan"] == pytest.approx(TIGHT.fan.watts * 86400)
    assert set(on.phase) == {4}


def test_a_fan_at_half_speed_takes_an_eighth_of_the_power():
    # affinity laws: power by the cube of the speed
    half = simulate(TIGHT, WINTER, days=1, warmup_days=2, fan_override=np.full(1440, 50))
    assert half.totals["fan"] == pytest.approx(TIGHT.fan.watts * 86400 / 8)


def test_heater_and_motor_vent_are_the_boards():
    house = TIGHT.but(heater_w=1500.0, openings={"motor_vent": True})
    keys = {"heater_fitted": 1, "heat_below_c": 6, "vent_fitted": 1}
    r = simulate(house, WINTER, keys, days=1, warmup_days=2)
    assert r.totals["heater"] == pytest.approx(1500.0 * 60 * r.heater.sum(), rel=0.01)
    assert r.heater.sum() > 30
    warm = simulate(house, SPRING, keys, days=2, warmup_days=2)
    assert warm.vent.sum() > 30
    assert warm.flow["vent"][warm.vent[:-1] == 0].max() == 0.0


def test_a_moist_house_leaves_water_in_cold_pipes_and_takes_some_back():
    # the damp rule's season: warm moist days, soil still cold
    r = simulate(TIGHT, SPRING, {"charge_above_c": 14, "discharge_below_c": 6}, days=3, warmup_days=2)
    assert r.totals["condensed_pipe"] > 1.0
    assert r.totals["drained"] < r.totals["condensed_pipe"]
    charge = r.phase[:-1] == 1
    assert r.flow["latent_pipes"][charge].sum() > 0.1 * r.flow["to_pipes"][charge].sum()


def test_refuses_what_cannot_be():
    with pytest.raises(ValueError, match="larger than the floor"):
        simulate(TIGHT.but(pipes={"count": 40}), SPRING, days=1, warmup_days=0)
    with pytest.raises(ValueError, match="must divide 60"):
        simulate(TIGHT, SPRING, days=1, warmup_days=0, step_s=7)
    with pytest.raises(ValueError, match="one each"):
        simulate(TIGHT, SPRING, days=1, warmup_days=0, fan_override=np.zeros(3))
    with pytest.raises(ValueError, match="charge_above_c"):
        simulate(TIGHT, SPRING, {"charge_above_c": 99}, days=1, warmup_days=0)


def test_perfect_probes_read_the_truth():
    r = simulate(TIGHT, WINTER, days=1, warmup_days=2, sensors_of=PERFECT)
    assert np.abs(r.raws[:, 0] / 100 - r.truth["house"]).max() <= 0.0051
    assert np.abs(r.raws[:, 1] / 100 - r.truth["soil"]).max() <= 0.0051


def test_a_table_row_that_fails_says_so():
    rows = [checking.near("a", "b", 1.0, 2.0, 0.1), checking.within("c", "d", 1.0, -0.5)]
    assert [row.holds for row in rows] == [False, True]
    assert checking.table(rows).splitlines()[-1] == "2 checks, 1 failed"
