"""Has every second its right price: by month, weekday, hour and holiday, across both changes of the clock?

Sources are named beside each example; "own" examples are worked by hand.
"""

from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.cost_help import make_site
from tuner import bands, cost, prices
from tuner.errors import SiteError
from tuner.site import Band, Energy, site_from_tree

UTC = ZoneInfo("UTC")
WORKDAYS = ["mon", "tue", "wed", "thu", "fri"]
EVERY_MONTH, EVERY_DAY = tuple(range(1, 13)), tuple(range(8))

# The windows of a public utility, faypwc.com: on-peak 15 to 19 h in April to October, 6 to 10 h in November to March,
# not on Saturdays, Sundays and holidays; 0.13 and 0.08473 a kWh.
UTILITY = {
    "price_per_kwh": 0.08473,
    "band": [
        {"months": [4, 5, 6, 7, 8, 9, 10], "weekdays": WORKDAYS, "from": "15:00", "to": "19:00", "price_per_kwh": 0.13},
        {"months": [11, 12, 1, 2, 3], "weekdays": WORKDAYS, "from": "06:00", "to": "10:00", "price_per_kwh": 0.13},
    ],
}


def seconds(text, zone="UTC"):
    return int(pd.Timestamp(text, tz=zone).timestamp())  # the zone of a text without one


def price_at(text, energy, zone="UTC"):
    at = seconds(text, zone)
    times = prices.calendar(energy, ZoneInfo(zone), at, at + 1)
    return float(times.price[times.place(at)])


def refusal(energy):
    site, faults = site_from_tree(
        {
            "site": {"time_zone": "UTC"},
            "needs": {"frost_floor_c": 2, "hot_limit_c": 35},
            "fan": {"watts": 60},
            "energy": energy,
        }
    )
    assert site is None
    return faults


def test_a_week_of_two_prices():
    """1 kWh in each hour of a week, 80 h at 0.29711 and 88 h at 0.1084 come to 33.3080, on average 0.198262.

    Source: worked example of a public page on time-of-day prices, wotid.com.
    """
    band = {"weekdays": WORKDAYS, "from": "07:00", "to": "23:00", "price_per_kwh": 0.29711}
    energy = make_site({"price_per_kwh": 0.1084, "band": [band]}).energy
    index = pd.date_range("2026-01-05T00:00Z", periods=169, freq="h")
    price = cost.prices(index, energy, UTC)[1:]
    assert (np.isclose(price, 0.29711).sum(), np.isclose(price, 0.1084).sum()) == (80, 88)
    assert price.sum() == pytest.approx(33.3080, abs=5e-5)
    assert price.mean() == pytest.approx(0.198262, abs=5e-7)


def test_a_utilitys_windows_by_season_weekday_and_holiday():
    """Source: the rate's page, see UTILITY. Edges belong to the hour that begins there."""
    energy = make_site(UTILITY | {"holidays": ["2026-01-01"]}).energy
    on_peak = ["2026-01-05 06:00", "2026-01-05 09:59", "2026-11-02 06:00", "2026-03-31 07:00"]
    on_peak += ["2026-04-01 15:00", "2026-10-30 18:59", "2026-07-03 16:00"]
    off_peak = ["2026-01-05 05:59", "2026-01-05 10:00", "2026-01-03 07:00", "2026-01-04 07:00", "2026-01-01 07:00"]
    off_peak += ["2026-04-01 07:00", "2026-04-01 19:00", "2026-11-02 16:00", "2026-10-31 16:00"]
    assert [price_at(text, energy) for text in on_peak] == [0.13] * len(on_peak)
    assert [price_at(text, energy) for text in off_peak] == [0.08473] * len(off_peak)


def test_a_utilitys_monthly_example():
    """1000 kWh, 80 % off-peak, 20 % on-peak: 93.78; with 85 % off-peak 91.52, 2.26 less. Source: see UTILITY."""
    energy = make_site(UTILITY).energy
    off_peak, on_peak = price_at("2026-01-05 12:00", energy), price_at("2026-01-05 07:00", energy)
    assert 800 * off_peak + 200 * on_peak == pytest.approx(93.784, abs=1e-9)
    assert 850 * off_peak + 150 * on_peak == pytest.approx(91.5205, abs=1e-9)


def test_a_band_over_midnight_takes_both_ends_of_its_own_days():
    """Our choice, so that two bands split a week as tariff sheets print it: Friday night ends at midnight."""
    band = {"weekdays": ["fri"], "from": "22:00", "to": "06:00", "price_per_kwh": 1.0}
    energy = make_site({"price_per_kwh": 2.0, "band": [band]}).energy
    dear = ["2026-01-09 21:59", "2026-01-10 00:00", "2026-01-09 06:00"]
    assert [price_at(text, energy) for text in dear] == [2.0] * 3
    assert [price_at(text, energy) for text in ("2026-01-09 22:00", "2026-01-09 23:59", "2026-01-09 00:00")] == [
        1.0
    ] * 3


@pytest.mark.parametrize(
    ("zone", "day", "hours"),
    [
        ("Europe/Berlin", "2026-03-29", 23),
        ("Europe/Berlin", "2026-10-25", 25),
        ("Europe/Berlin", "2026-06-01", 24),
        ("Pacific/Auckland", "2026-04-05", 25),
        ("Pacific/Auckland", "2026-09-27", 23),
        ("Australia/Lord_Howe", "2026-04-05", 24.5),
        ("Australia/Lord_Howe", "2026-10-04", 23.5),
    ],
)
def test_days_of_23_and_25_hours(zone, day, hours):
    """The calendar's hours of a local day add up to its true length, and to one whole day.

    Source of the dates: the IANA time zone database, read through another path (whole local days in UTC).
    """
    start = pd.Timestamp(day, tz=zone)
    end = start + pd.DateOffset(days=1)
    assert (end - start).total_seconds() == hours * 3600
    energy = make_site(zone=zone).energy
    times = prices.calendar(energy, ZoneInfo(zone), int(start.timestamp()), int(end.timestamp()))
    length = np.diff(times.edges)
    assert length[times.day == np.datetime64(day)].sum() == hours * 3600
    covered = prices.whole_days(times, int(start.timestamp()), int(end.timestamp()))
    assert covered == {np.datetime64(day): 1.0}


def test_a_night_price_through_both_changes_of_the_clock():
    """23:00 to 07:00 lasts 8 h on a plain night, 7 h into the spring change, 9 h into the autumn change (own)."""
    band = {"from": "23:00", "to": "07:00", "price_per_kwh": 0.1}
    energy = make_site({"price_per_kwh": 0.3, "band": [band]}).energy
    zone = ZoneInfo("Europe/Berlin")
    for morning, hours in (("2026-03-20", 8), ("2026-03-29", 7), ("2026-10-25", 9)):
        noon = pd.Timestamp(f"{morning} 12:00", tz=zone)
        start, end = int((noon - pd.DateOffset(days=1)).timestamp()), int(noon.timestamp())
        times = prices.calendar(energy, zone, start, end)
        length = np.diff(np.clip(times.edges, start, end))
        assert length[times.price == 0.1].sum() == hours * 3600, morning


def test_an_edge_inside_the_repeated_hour_comes_twice():
    """02:30 local comes twice on 2026-10-25 in Berlin: dear 02:30 to 03:00 is two half hours (own)."""
    band = {"from": "02:30", "to": "03:00", "price_per_kwh": 1.0}
    energy = make_site({"price_per_kwh": 0.0, "band": [band]}).energy
    zone = ZoneInfo("Europe/Berlin")
    start, end = seconds("2026-10-24T22:00"), seconds("2026-10-25T23:00")
    times = prices.calendar(energy, zone, start, end)
    dear = [
        (a - start, b - start) for a, b, p in zip(times.edges, times.edges[1:], times.price, strict=False) if p == 1
    ]
    inside = [pair for pair in dear if pair[0] >= 0 and pair[1] <= end - start]
    assert inside == [(9000, 10800), (12600, 14400)]


@given(st.integers(0, 365 * 24 * 60), st.sampled_from(["Europe/Berlin", "America/St_Johns", "Australia/Lord_Howe"]))
def test_the_calendar_agrees_with_the_wall_clock_at_any_minute(minute, zone):
    """Every minute's price is that which its own local time tells, asked one by one."""
    place = ZoneInfo(zone)
    band = {"weekdays": ["sat", "sun"], "from": "21:15", "to": "01:45", "price_per_kwh": 1.0}
    energy = make_site({"price_per_kwh": 0.0, "band": [band]}, zone=zone).energy
    at = seconds("2026-01-01") + 60 * minute
    local = pd.Timestamp(at, unit="s", tz="UTC").tz_convert(place)
    clock = local.hour * 60 + local.minute
    times = prices.calendar(energy, place, at, at)
    found = times.place(at)
    assert times.price[found] == float(local.day_of_week >= 5 and (clock >= 1275 or clock < 105))
    assert (str(times.day[found]), times.hour[found]) == (f"{local:%Y-%m-%d}", local.hour)


def test_a_row_across_an_edge_takes_its_mean_price():
    """A row from 21:50 to 22:10 at 0.30 and 0.10: 0.20. One of an hour, a quarter of it dear: 0.15 (own)."""
    band = {"from": "22:00", "to": "24:00", "price_per_kwh": 0.10}
    energy = make_site({"price_per_kwh": 0.30, "band": [band]}).energy
    index = pd.DatetimeIndex(["2026-01-05T21:50Z", "2026-01-05T22:10Z"])
    assert cost.prices(index, energy, UTC) == pytest.approx([0.30, 0.20])
    index = pd.DatetimeIndex(["2026-01-05T21:45Z", "2026-01-05T22:45Z"])
    assert cost.prices(index, energy, UTC)[1] == pytest.approx(0.15)


def test_holidays_of_a_country_and_of_its_part():
    """2026-01-06 is a holiday in Bavaria and not in all of Germany; 2026-12-25 in both. Source: the states' law."""
    days = np.array(["2026-01-06", "2026-12-25", "2026-12-24"], dtype="datetime64[D]")
    assert list(prices.is_holiday(days, ("DE",))) == [False, True, False]
    assert list(prices.is_holiday(days, ("DE-BY",))) == [True, True, False]
    assert list(prices.is_holiday(days, ("DE-BY", date(2026, 12, 24)))) == [True, True, True]


def test_holidays_count_as_sundays_unless_a_band_names_them():
    night = {"weekdays": ["sun"], "price_per_kwh": 1.0}
    sunday = make_site({"price_per_kwh": 2.0, "band": [night], "holidays": "DE"}).energy
    assert price_at("2026-12-25 12:00", sunday) == 1.0  # a Friday
    apart = {"weekdays": ["holiday"], "price_per_kwh": 0.5}
    named = make_site({"price_per_kwh": 2.0, "band": [night, apart], "holidays": "DE"}).energy
    assert price_at("2026-12-25 12:00", named) == 0.5
    assert price_at("2026-12-27 12:00", named) == 1.0


def test_an_unknown_country_is_refused():
    assert refusal({"price_per_kwh": 0.3, "holidays": "Germany"}) == [
        '[energy] holidays = "Germany": It must be a country such as "NZ" or "US-NC", or a list of dates such as '
        "[2026-12-25]."
    ]
    assert len(refusal({"price_per_kwh": 0.3, "holidays": ["DE-XX"]})) == 1


def test_overlaps_are_named_by_hours_days_and_months():
    winter = {"months": [11, 12, 1, 2, 3], "weekdays": WORKDAYS, "from": "06:00", "to": "10:00", "price_per_kwh": 0.13}
    morning = {
        "months": [3, 4],
        "weekdays": ["fri", "sat", "sun"],
        "from": "05:00",
        "to": "08:30",
        "price_per_kwh": 0.1,
    }
    assert refusal({"price_per_kwh": 0.08, "band": [winter, morning]}) == [
        "[[energy.band]] numbers 1 and 2 overlap: Mar, fri, 06:00 to 08:30. An hour can have one price: change the "
        "months, weekdays, from or to of one of them."
    ]


def test_holes_are_named_by_hours_days_and_months():
    day = {"weekdays": WORKDAYS, "from": "07:00", "to": "23:00", "price_per_kwh": 0.3}
    night = {"months": [1, 2, 3, 4, 9, 10, 11, 12], "from": "23:00", "to": "07:00", "price_per_kwh": 0.1}
    assert refusal({"band": [day, night]}) == [
        "[[energy.band]]: no price for May to Aug, mon to fri, 00:00 to 07:00; May to Aug, sat and sun, 00:00 to "
        "24:00; Sep to Apr, sat and sun, 07:00 to 23:00; May to Aug, mon to fri, 23:00 to 24:00. Add a band for these "
        "hours, or give [energy] price_per_kwh for every hour that no band names."
    ]


def test_bands_that_fill_the_week_are_taken():
    bands_of_week = [
        {"weekdays": WORKDAYS, "from": "07:00", "to": "23:00", "price_per_kwh": 0.3},
        {"weekdays": WORKDAYS, "from": "23:00", "to": "07:00", "price_per_kwh": 0.1},
        {"weekdays": ["sat", "sun"], "price_per_kwh": 0.2},
    ]
    assert len(make_site({"band": bands_of_week, "holidays": "NZ"}).energy.bands) == 3


band = st.builds(
    Band,
    st.lists(st.integers(1, 12), min_size=1, unique=True).map(tuple),
    st.lists(st.integers(0, 7), min_size=1, unique=True).map(tuple),
    st.sampled_from([0, 60, 360, 1320]),
    st.sampled_from([90, 420, 1440]),
    st.just(1.0),
)


@given(st.lists(band, min_size=1, max_size=3), st.booleans())
def test_faults_are_told_exactly_where_an_hour_has_two_prices_or_none(some, holidays):
    """Against every half hour of every day of every month, asked one by one."""
    apart = bands.holidays_apart(some)
    counts = [
        len(bands.covering(some, month, day, minute, apart))
        for month in range(1, 13)
        for day in range(8 if holidays else 7)
        for minute in range(0, 1440, 30)
    ]
    told = bands.faults(some, None, holidays)
    assert any("overlap" in text for text in told) == (max(counts) > 1)
    assert any("no price" in text for text in told) == (min(counts) == 0)
    assert not any("no price" in text for text in bands.faults(some, 0.2, holidays))


def test_an_hour_without_a_price_is_named_even_for_a_site_made_by_hand():
    one = Energy("EUR", None, (Band(EVERY_MONTH, EVERY_DAY, 480, 540, 3.0),), (), None)
    with pytest.raises(SiteError) as caught:
        cost.prices(pd.date_range("2026-01-09T09:00Z", periods=3, freq="h"), one, UTC)
    assert str(caught.value) == (
        "site.toml, [energy]: no price for 2026-01-09 09:00 (fri).\n"
        "Give price_per_kwh for the hours that no [[energy.band]] covers."
    )


def test_flat_price_needs_no_band():
    assert cost.prices(pd.DatetimeIndex(["2026-01-09T02:15Z"]), Energy("EUR", 0.25, (), (), None), UTC)[0] == 0.25


def test_a_change_of_the_clock_between_edges_is_an_edge():
    """Lord Howe, 2026-04-05: at 02:00 the clock goes back to 01:30, so the band until 01:45 begins a second time.

    The night price from 21:15 to 01:45 then lasts 4 h 30 min, a quarter of an hour of rest, and 15 minutes more (own).
    """
    band = {"from": "21:15", "to": "01:45", "price_per_kwh": 0.1}
    energy = make_site({"price_per_kwh": 0.3, "band": [band]}).energy
    zone = ZoneInfo("Australia/Lord_Howe")
    start, end = (int(pd.Timestamp(text, tz=zone).timestamp()) for text in ("2026-04-04 21:15", "2026-04-05 03:00"))
    times = prices.calendar(energy, zone, start, end)
    length = np.diff(np.clip(times.edges, start, end))
    assert length[times.price == 0.1].sum() == (4 * 60 + 45) * 60
    assert length.sum() == (5 * 60 + 45 + 30) * 60
