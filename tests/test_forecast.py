"""Does a month or a winter to come fall within the forecast as often as it says, and is it priced by its own bands?"""

from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from tests.cost_help import make_site
from tuner import forecast, prices


def test_equal_nights_leave_no_doubt():
    assert forecast.ahead([0.5] * 10, 30) == forecast.Range(15.0, 15.0, 15.0)


def test_two_nights_tell_no_spread():
    assert forecast.ahead([0.4, 0.6], 30) == forecast.Range(15.0, None, None)
    assert forecast.Range(15.0, None, None).times(0.3) == forecast.Range(4.5, None, None)


def test_separate_nights_against_the_textbook():
    """Nights 1 and 3 by turns have no memory left after clipping: sd of the sum of 30 by n = 8, hand-worked with t(7).

    s2 = 8/7, 30 s2 + 900 s2 / 8 = 162.857, sd 12.7616, t(0.95; 7) = 1.894579 (Student's table): 60 -+ 24.178.
    """
    found = forecast.ahead([1.0, 3.0] * 4, 30)
    assert (found.middle, found.high - 60, 60 - found.low) == pytest.approx((60, 24.178, 24.178), abs=1e-3)


@pytest.mark.parametrize("memory", [0.0, 0.5])
def test_the_range_holds_as_often_as_it_says(memory):
    """Invented nights with a first-order memory; 14 are seen, 30 to come. Nine in ten should fall inside; 82 to 97 %
    of 400 do (seeded). Two weeks cannot tell a memory of 0.5 well, so its share may be a little low."""
    rng = np.random.default_rng(11)
    inside = 0
    for _ in range(400):
        shocks = rng.normal(0, 1, 144)
        nights = np.zeros(144)
        for n in range(1, 144):
            nights[n] = memory * nights[n - 1] + shocks[n]
        nights = 20 + nights[100:]
        found = forecast.ahead(nights[:14], 30)
        inside += found.low <= nights[14:].sum() <= found.high
    assert 0.82 <= inside / 400 <= 0.97


def test_cost_cannot_fall_below_nothing():
    assert forecast.ahead([0.0, 0.0, 3.0, 0.0], 30).low == 0.0


@pytest.mark.parametrize(
    ("day", "latitude", "first", "after"),
    [
        (date(2026, 1, 12), 52, date(2025, 11, 1), date(2026, 4, 1)),
        (date(2026, 5, 2), 52, date(2026, 11, 1), date(2027, 4, 1)),
        (date(2026, 12, 2), None, date(2026, 11, 1), date(2027, 4, 1)),
        (date(2026, 7, 2), -41, date(2026, 5, 1), date(2026, 10, 1)),
        (date(2026, 11, 2), -41, date(2027, 5, 1), date(2027, 10, 1)),
    ],
)
def test_which_winter_is_meant(day, latitude, first, after):
    assert forecast.winter_of(day, latitude) == (first, after)


def test_days_to_come_take_their_own_prices():
    """A fan that runs at 17 h pays the winter peak on workdays only: March 2026 has 22 of 31 days (own)."""
    peak = {"months": [3], "weekdays": ["mon", "tue", "wed", "thu", "fri"], "from": "16:00", "to": "20:00"}
    energy = make_site({"price_per_kwh": 0.2, "band": [peak | {"price_per_kwh": 0.51}]}).energy
    edges = [int(pd.Timestamp(day, tz="UTC").timestamp()) for day in ("2026-03-01", "2026-04-01")]
    times = prices.calendar(energy, ZoneInfo("UTC"), *edges)
    hourly = np.zeros(24)
    hourly[17] = 3.0
    found = forecast.mean_price(times, hourly, date(2026, 3, 1), date(2026, 4, 1))
    assert found == pytest.approx(0.2 + 0.31 * 22 / 31)
    hourly[17], hourly[3] = 0, 1.0
    assert forecast.mean_price(times, hourly, date(2026, 3, 1), date(2026, 4, 1)) == pytest.approx(0.2)
