"""Does the search's loop add up what the closed loop does row by row, and do threads change nothing?"""

import numpy as np
import pytest

from controller.core import reasons, rows, screen
from tests.tune_help import fitted, only_logged
from tuner import closed_loop, house, kalman, track, trials, tryout, weathers
from tuner import cost as costs

OTHERS = [
    rows.defaults(),
    rows.defaults()._replace(charge_above_centi_c=1600, discharge_below_centi_c=800, soil_floor_centi_c=1000),
    rows.defaults()._replace(charge_fan_pct=60, discharge_fan_pct=80, charge_above_centi_c=1800),
    rows.defaults()._replace(heater_fitted=1, heat_below_centi_c=400, discharge_below_centi_c=500),
    rows.defaults()._replace(vent_fitted=1, vent_above_centi_c=2500, charge_above_centi_c=2000),
]


@pytest.fixture(scope="module")
def trial():
    return trials.trials(fitted(), weathers.weathers(fitted()), 2, workers=2)


@pytest.mark.parametrize("settings", OTHERS, ids=["defaults", "early", "part speed", "heater", "vent"])
@pytest.mark.parametrize("place", range(4))
def test_sums_are_those_of_the_closed_loop(trial, settings, place):
    """closed_loop.walk is the reference; sums agree to 1e-6, starts exactly."""
    weather = trial.weathers[place]
    sums = trials.run(trial, [settings], draws=(1,))[0, 0, place].sum(0)
    one = trials.course(trial, settings, weather, draw=1)
    hours = fitted().grid.dt / 3600
    needs = fitted().grid.site.needs
    assert sums[tryout.COLD] == pytest.approx(np.maximum(0, needs.frost_floor_c - one.house).sum() * hours, abs=1e-6)
    assert sums[tryout.HOT] == pytest.approx(np.maximum(0, one.house - needs.hot_limit_c).sum() * hours, abs=1e-6)
    on = one.fan_pct > 0
    watts = fitted().grid.site.fan.watts
    assert sums[tryout.KWH] == pytest.approx(on.sum() * hours * watts / 1000, abs=1e-9)
    assert sums[tryout.STARTS] == (np.diff(on.astype(int), prepend=0) == 1).sum()
    price = costs.prices(one.times, fitted().grid.site.energy, fitted().grid.site.site.zone)
    if place == 0:
        assert sums[tryout.MONEY] == pytest.approx((on * price).sum() * hours * watts / 1000, abs=1e-9)


def test_degree_hours_by_hand():
    """One hour at 1.0 degC with the floor at 2 is 1 K h; half an hour at 40 with the limit at 34 is 3 K h."""
    fit = fitted()
    (part,) = weathers.parts(fit, only_logged()[0], 0)
    count = 91
    acts = part.course.acts[:count].copy()
    acts[:, track.HOUSE] = [1.0] * 60 + [40.0] * 30 + [20.0]
    off = np.full(count, kalman.OFF)
    course = part.course._replace(state=part.course.state[:count], forcing=part.course.forcing[:count],
                                  level=off, acts=acts)  # fmt: skip
    seen = closed_loop.hand_off(weathers.seen(fit, rows.defaults(), only_logged()[0], part)[:count])
    assert (seen[:, screen.Reading._fields.index("hand")] == screen.HAND_OFF).all()
    account = tryout.Account(np.zeros(count, np.int64), np.ones(count), np.zeros(101), 2.0, 34.0, tryout.NO_HOLD)
    out = np.zeros((1, tryout.COLUMNS))
    delta = np.zeros((1, house.STATES))
    tryout.try_out(
        rows.defaults(), course, tryout.kicks(course), seen, np.zeros((1, 2)), account, delta, out
    )
    assert out[0, tryout.COLD] == pytest.approx(1.0)
    assert out[0, tryout.HOT] == pytest.approx(3.0)
    assert out[0, tryout.KWH] == 0.0 and not delta.any()


def test_with_the_soil_probe_lost_the_outlet_decides_alike(trial):
    """A third of the rows without a trusted soil: harm and starts of the search's loop are those of the closed loop."""
    fit, settings = fitted(), OTHERS[1]
    part, kick, account = trial.setting[1]["as logged"][0]
    seen = weathers.seen(fit, settings, trial.weathers[0], part).copy()
    fields = screen.Reading._fields
    count = len(seen) // 3
    seen[count : 2 * count, fields.index("soil_ok")] = 0
    out, delta = np.zeros((trial.nights, tryout.COLUMNS)), np.zeros((2, 1, house.STATES))
    tryout.try_out(settings, part.course, kick, seen, part.push, account, delta[0], out)
    floats, ints = np.empty((len(seen), 3)), np.zeros((len(seen), 8), np.int64)
    closed_loop.walk(settings, part.course, seen, part.push, True, delta[1], floats, ints)
    needs, hours = fit.grid.site.needs, fit.grid.dt / 3600
    harm = np.maximum(0, needs.frost_floor_c - floats[:, 0]).sum() * hours
    harm += np.maximum(0, floats[:, 0] - needs.hot_limit_c).sum() * hours
    assert out[:, [tryout.COLD, tryout.HOT]].sum() == pytest.approx(harm, abs=1e-6)
    assert out[:, tryout.STARTS].sum() == (np.diff(ints[:, 1], prepend=0) == 1).sum()
    assert delta[0] == pytest.approx(delta[1], abs=1e-9)
    assert (ints[count : 2 * count, 6] == reasons.OUTLET_SAID).any()


def test_threads_change_nothing(trial):
    few = trials.run(trial, OTHERS)
    one = trials.run(trials.trials(fitted(), trial.weathers, 2, workers=1), OTHERS)
    assert (few == one).all()


def test_backup_heat_holds_the_floor_and_costs_what_the_house_loses(trial):
    """The ideal heater leaves no degree-hour below the floor; without one some are left. Its heat lies between the
    loss of those degree-hours alone and ten times that (mass and floor take their share)."""
    weather = trial.weathers[-1]
    floor = fitted().grid.site.needs.frost_floor_c
    free = trials.run(trial, [rows.defaults()])[0, 0, -1].sum(0)
    held = np.zeros((trial.nights, tryout.COLUMNS))
    trials.add_up(trial, rows.defaults(), weather, 0, held, lambda part, account: account._replace(hold=floor))
    assert free[tryout.COLD] > 1.0
    assert held[:, tryout.COLD].sum() < 1e-3 * free[tryout.COLD] + 0.1  # the first row may begin below
    loss = fitted().values[house.INDEX["loss"]]
    alone = free[tryout.COLD] * loss / 1000
    assert alone < held[:, tryout.BACKUP].sum() < 10 * alone


def test_colder_is_colder_duller_is_duller_and_the_store_is_drawn_down(trial):
    log, cold, dull, both = (trials.course(trial, rows.defaults(), w) for w in trial.weathers)
    same = np.isin(log.times, cold.times)
    assert log.outside[same] - cold.outside == pytest.approx(np.full(same.sum(), weathers.COLDER))
    assert cold.soil[0] <= log.soil.min() + 0.05 and cold.soil[0] <= log.soil[same][0] - 1.9
    assert cold.house.mean() < log.house[same].mean() - 1.5
    day = dull.house - log.house[same]
    assert abs(day[0]) < 0.1 and day.min() < -1.0  # the dull days begin at noon: only the first row is untouched
    assert day.mean() < -0.5
    assert both.house.mean() < cold.house.mean()


def test_the_logged_weather_with_the_logged_settings_is_the_log(trial):
    from tests.tune_help import folder
    from tuner import settings_file

    one = trials.course(trial, settings_file.load_settings(folder() / "now.json"), trial.weathers[0])
    frame = fitted().grid.log.frame
    known = frame["house"].notna().to_numpy()
    assert one.house[known] == pytest.approx(frame["house"].to_numpy()[known], abs=0.3)
    assert abs((one.fan_pct > 0).mean() - (frame["fan_pct"] > 0).mean()) < 0.01
