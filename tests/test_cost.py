"""Is running time turned into energy and money rightly?

Sources are named beside each example; "own" examples are worked by hand.
"""

from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from tuner import cost
from tuner.errors import SiteError
from tuner.site import Energy, Fan, site_from_tree

UTC = ZoneInfo("UTC")


def energy(price=None, holidays=(), bands=()):
    """An Energy made through site.toml's own checks."""
    tree = {
        "site": {"time_zone": "UTC"},
        "needs": {"frost_floor_c": 2, "hot_limit_c": 35},
        "fan": {"watts": 60},
        "energy": {"holidays": list(holidays), "band": list(bands)}
        | ({} if price is None else {"price_per_kwh": price}),
    }
    site, faults = site_from_tree(tree)
    assert site is not None, faults
    return site.energy


def hours(start, count):
    return pd.date_range(start, periods=count, freq="h", tz="UTC")


def at(times, one, zone=UTC):
    return list(cost.prices(pd.DatetimeIndex(times), one, zone))


def test_a_week_of_two_prices():
    """1 kWh in each hour of a week, 80 h at 0.29711 and 88 h at 0.1084 come to 33.3080, on average 0.198262.

    Source: worked example of a public page on time-of-day prices, wotid.com.
    """
    bands = [
        {"weekdays": ["mon", "tue", "wed", "thu", "fri"], "from": "07:00", "to": "23:00", "price_per_kwh": 0.29711}
    ]
    price = cost.prices(hours("2026-01-05", 168), energy(0.1084, bands=bands), UTC)
    assert (np.isclose(price, 0.29711).sum(), np.isclose(price, 0.1084).sum()) == (80, 88)
    assert price.sum() == pytest.approx(33.3080, abs=5e-5)
    assert price.mean() == pytest.approx(0.198262, abs=5e-7)


def test_a_public_utilitys_monthly_example():
    """1000 kWh, 80 % off-peak at 0.08473 and 20 % on-peak at 0.13 cost 93.78; with 85 % off-peak 91.52.

    Source: a public utility's page on its time-of-use rate, faypwc.com; on-peak there in winter is 6 to 10 h, not at
    weekends and holidays.
    """
    bands = [
        {
            "months": [11, 12, 1, 2, 3],
            "weekdays": ["mon", "tue", "wed", "thu", "fri"],
            "from": "06:00",
            "to": "10:00",
            "price_per_kwh": 0.13,
        }
    ]
    one = energy(0.08473, holidays=["2026-01-01"], bands=bands)
    on_peak, off_peak = at(["2026-01-05T07:00Z", "2026-01-05T12:00Z"], one)
    assert round(800 * off_peak + 200 * on_peak, 2) == 93.78
    assert round(850 * off_peak + 150 * on_peak, 2) == 91.52
    # edges, a Saturday, the holiday, and a month outside
    times = ["2026-01-05T05:59Z", "2026-01-05T06:00Z", "2026-01-05T09:59Z", "2026-01-05T10:00Z"]
    times += ["2026-01-03T07:00Z", "2026-01-01T07:00Z", "2026-04-06T07:00Z"]
    assert at(times, one) == [0.08473, 0.13, 0.13] + [0.08473] * 4


def test_a_band_over_midnight_belongs_to_the_day_it_starts_on():
    bands = [{"weekdays": ["fri"], "from": "22:00", "to": "06:00", "price_per_kwh": 1.0}]
    times = ["2026-01-09T21:59Z", "2026-01-09T22:00Z", "2026-01-10T05:59Z", "2026-01-10T06:00Z", "2026-01-09T03:00Z"]
    assert at(times, energy(2.0, bands=bands)) == [2.0, 1.0, 1.0, 2.0, 2.0]


def test_the_first_band_that_fits_wins_and_local_time_counts():
    bands = [{"from": "08:00", "to": "09:00", "price_per_kwh": 3.0}, {"price_per_kwh": 1.0}]
    zone = ZoneInfo("Asia/Kathmandu")  # 5 h 45 min before UTC
    assert at(["2026-01-09T02:15Z", "2026-01-09T02:14Z"], energy(bands=bands), zone) == [3.0, 1.0]


def test_an_hour_without_a_price_is_named():
    one = energy(bands=[{"from": "08:00", "to": "09:00", "price_per_kwh": 3.0}])
    with pytest.raises(SiteError) as caught:
        cost.prices(hours("2026-01-09T08:00", 3), one, UTC)
    assert str(caught.value) == (
        "site.toml, [energy]: no price for Friday 2026-01-09 09:00.\n"
        "Give price_per_kwh for the hours that no [[energy.band]] covers."
    )


def fan(watts, speed_control=False):
    return Fan(watts, speed_control, None, 10.0, 100_000)


def test_energy_of_hand_worked_running():
    """60 W, a third of the day: 0.480 kWh. 45 W for 8 h on 30 days: 10.8 kWh, 3.24 at 0.30 (own examples)."""
    assert cost.fan_kwh(np.full(48, 600), np.full(48, 100), fan(60)).sum() == pytest.approx(0.480)
    month = cost.fan_kwh(np.full(30, 8 * 3600), np.full(30, 100), fan(45))
    assert month.sum() == pytest.approx(10.80)
    assert (month * cost.prices(hours("2026-01-01", 30), energy(0.30), UTC)).sum() == pytest.approx(3.24)


@pytest.mark.parametrize(("pct", "share"), [(100, 1.0), (90, 0.729), (80, 0.512), (50, 0.125)])
def test_power_goes_with_the_cube_of_speed(pct, share):
    """Fan affinity laws; shares as published at nrmurphy.com. Without speed control the fan takes full power."""
    assert cost.fan_kwh([3600], [pct], fan(100, True))[0] == pytest.approx(0.1 * share)
    assert cost.fan_kwh([3600], [pct], fan(100, False))[0] == pytest.approx(0.1)


def test_the_speed_of_a_run_is_the_one_set_before_it():
    assert list(cost.ran_pct(np.array([0, 60, 80, 0, 0]))) == [100, 60, 60, 80, 100]


def test_flat_price_needs_no_band():
    assert at(["2026-01-09T02:15Z"], Energy("EUR", 0.25, (), (), None)) == [0.25]
