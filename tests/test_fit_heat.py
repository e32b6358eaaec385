"""Is the heat of a fitted house consistent with itself, and with the plant once brought to the measured heat?"""

from dataclasses import replace

import numpy as np
import pytest

from tests.plant import make_demo
from tuner import closed_loop, cost_report, fit, fit_heat, logs, settings_file
from tuner.site import load_site

DEMO = make_demo.HOME


@pytest.fixture(scope="module")
def learned():
    """The house fitted to the demo's whole fortnight, with four plausible houses."""
    site = load_site(DEMO / "site.toml")
    log = logs.read_logs([str(DEMO / "log.csv.gz")], site)
    return site, log, fit.fit(log, site, draws=4, hold_out=False)


def replayed(house, name):
    chosen = settings_file.load_settings(DEMO / f"{name}.json")
    return [closed_loop.run(house, chosen, draw) for draw in range(len(house.plausible))]


@pytest.mark.slow
def test_replaying_the_logs_own_settings_moves_the_logs_own_heat(learned):
    """The two ways to it share no step: the smoothed states, and the wall had back from the predicted outlet."""
    _, _, house = learned
    logged, again = fit_heat.heat_rows(house), fit_heat.heat_rows(house, replayed(house, "as-logged"))
    assert np.abs(logged.joule).sum() > 0
    assert again.joule == pytest.approx(logged.joule, abs=1e4)  # 10 kJ in a row of a minute, 170 W
    assert again.joule.sum() == pytest.approx(logged.joule.sum(), rel=0.01)


# kWh that the plant itself moved under other settings than the log's: tests.plant.make_demo's house and weather run
# with thrifty.json and cautious.json; into the store while charging, and as warmth of the air while discharging.
PLANT = {"thrifty": (51.33, 35.72 - 4.24), "cautious": (91.74, 62.74 - 7.72)}


@pytest.mark.slow
@pytest.mark.parametrize("name", PLANT)
def test_heat_under_other_settings_against_the_plant(learned, name):
    """Heat in within 10 % of the plant (measured: 4 % over and less), heat out within 15 % (11 and 13 % over), though
    the fitted house alone stores 70 % too much: the measured heat mends it."""
    site, log, house = learned
    chosen = settings_file.load_all([str(DEMO / f"{name}.json")], site.fan.most_starts_per_hour)
    told = cost_report.costs(log, chosen, site, house)[1].tree["total"]
    stored, back = PLANT[name]
    assert told["heat_in_kwh"] == pytest.approx(stored, rel=0.10)
    assert told["heat_out_kwh"] == pytest.approx(back, rel=0.15)


@pytest.mark.slow
def test_nothing_is_told_of_a_store_that_was_not_learned(learned):
    _, _, house = learned
    assert fit_heat.heat_rows(replace(house, store_known=False)) is None
