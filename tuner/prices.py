"""The price of energy over time: bands of the local clock laid onto UTC, exact across both changes of the clock.

Lives here: local calendars as stretches of UTC, the price of each stretch, means over rows. Never here: fans, heat.

A Calendar cuts time at every full local hour, every edge of a band and every change of the clock. Within one of its
stretches the local date, the hour and the price stand still, so that whatever is summed over stretches is exact on
days of 23, 24 and 25 hours.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from tuner import bands as price_bands
from tuner.errors import SiteError
from tuner.site_values import DAYS

DAY_S, HOUR_S = 86400, 3600


@dataclass(frozen=True)
class Calendar:
    """Stretches of time, one value of each array per stretch, shape (n,).

    edges : int64, UTC seconds since 1970, shape (n + 1,), rising
    day : datetime64[D], the local date; hour : the local hour 0..23; day_class : 0 Monday to 6 Sunday, 7 a holiday
    band : place of the price band in site.energy.bands, -1 where no band covers it
    price : float, NaN where no price is known. [money per kWh]
    """

    edges: np.ndarray
    day: np.ndarray
    hour: np.ndarray
    day_class: np.ndarray
    band: np.ndarray
    price: np.ndarray

    def place(self, times):
        """Return the stretch that each UTC second lies in; a time on an edge belongs to the stretch after it."""
        found = np.searchsorted(self.edges, times, side="right") - 1
        return np.clip(found, 0, len(self.price) - 1)


def calendar(energy, zone, start_s, end_s):
    """Return the Calendar from start_s to end_s, UTC seconds, with a day to spare on both sides.

    energy : site.Energy; zone : tzinfo
    """
    minutes = sorted({60 * hour for hour in range(24)} | set(price_bands.edges(energy.bands)) - {1440})
    edges = local_edges(start_s - DAY_S, end_s + DAY_S, zone, minutes)
    local = pd.to_datetime(edges[:-1], unit="s", utc=True).tz_convert(zone).tz_localize(None)
    day = local.to_numpy().astype("datetime64[D]")
    minute = (local.hour * 60 + local.minute).to_numpy()
    day_class = np.where(is_holiday(day, energy.holidays), price_bands.HOLIDAY, local.day_of_week.to_numpy())
    band = band_places(energy.bands, local.month.to_numpy(), day_class, minute)
    rest = np.nan if energy.price_per_kwh is None else energy.price_per_kwh
    price = np.array([one.price_per_kwh for one in energy.bands] + [rest], dtype=float)[band]
    return Calendar(edges, day, local.hour.to_numpy(), day_class, band, price)


def local_edges(start_s, end_s, zone, minutes):
    """Return the UTC seconds, rising, at which the local clock shows one of minutes, or is changed.

    The first and the last edge are at or beyond start_s and end_s. A time that the clock shows twice gives two
    edges; one that it skips gives the moment of the change.
    """
    ends = pd.to_datetime([start_s, end_s], unit="s", utc=True).tz_convert(zone).tz_localize(None).normalize()
    days = pd.date_range(ends[0], ends[1] + pd.Timedelta(days=1))
    clock = pd.DatetimeIndex(np.add.outer(days.to_numpy(), pd.to_timedelta(list(minutes), unit="min")).ravel())
    found = [
        clock.tz_localize(zone, ambiguous=np.full(len(clock), first), nonexistent="shift_forward")
        .tz_convert("UTC")
        .as_unit("s")
        .asi8
        for first in (True, False)
    ]
    changes = clock_changes(int(found[0][0]), int(found[1][-1]), zone)
    return np.unique(np.concatenate([*found, changes])).astype(np.int64)


def offset_at(time_s, zone):
    """Return how far the local clock is ahead of UTC at a UTC second. [s]"""
    local = pd.Timestamp(time_s, unit="s", tz="UTC").tz_convert(zone)
    return local.utcoffset().total_seconds()


def clock_changes(start_s, end_s, zone):
    """Return the UTC seconds at which the local clock is set forward or back between two times."""
    grid = np.append(np.arange(start_s, end_s, 6 * HOUR_S), end_s)
    times = pd.to_datetime(grid, unit="s", utc=True)
    ahead = times.tz_convert(zone).tz_localize(None).as_unit("s").asi8 - grid
    found = []
    for place in np.flatnonzero(np.diff(ahead)):
        low, high = int(grid[place]), int(grid[place + 1])
        before = offset_at(low, zone)
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if offset_at(middle, zone) == before else (low, middle)
        found.append(high)
    return np.array(found, dtype=np.int64)


def is_holiday(days, holidays):
    """Return which local dates are public holidays. ndarray of bool, shape (n,)

    days : datetime64[D]; holidays : dates, and countries such as "NZ" or "US-NC" (see site.Energy)
    Countries are answered by the `holidays` library: the public holidays of each year, observed days included.
    """
    if not len(days) or not holidays:
        return np.zeros(len(days), dtype=bool)
    dates = {one for one in holidays if not isinstance(one, str)}
    years = range(days.min().astype(object).year, days.max().astype(object).year + 1)
    for country in (one for one in holidays if isinstance(one, str)):
        import holidays as library

        code, _, part = country.partition("-")
        dates |= set(library.country_holidays(code, subdiv=part or None, years=years))
    return np.isin(days, np.array(sorted(dates), dtype="datetime64[D]"))


def band_places(bands, month, day_class, minute):
    """Return the place of the band that covers each time, -1 for none. ndarray of int, shape (n,)

    month 1..12; day_class 0..6, 7 a holiday; minute of the local day: arrays, shape (n,)
    """
    apart = price_bands.holidays_apart(bands)
    found = np.full(len(month), -1)
    for place, band in enumerate(bands):
        inside = np.zeros(len(month), dtype=bool)
        for start, end in price_bands.clock_parts(band):
            inside |= (minute >= start) & (minute < end)
        days = np.isin(day_class, sorted(price_bands.days_of(band, apart)))
        found[inside & days & np.isin(month, band.months)] = place
    return found


def row_prices(start_s, end_s, times):
    """Return the mean price over each row's stretch of time, NaN where some of it has none. ndarray, shape (n,)

    start_s, end_s : UTC seconds of each row, shape (n,); times : Calendar that covers them
    Energy spread evenly over the row, times this, is its cost: a run across an edge is split in proportion.
    """
    first, last = times.place(start_s), times.place(np.maximum(end_s - 1, start_s))
    price = times.price[first]
    for row in np.flatnonzero(first != last):
        parts = slice(first[row], last[row] + 1)
        cuts = np.clip(times.edges[first[row] : last[row] + 2], start_s[row], end_s[row])
        price[row] = np.average(times.price[parts], weights=np.diff(cuts))
    return price


def refuse_unpriced(times, start_s, end_s, zone):
    """Raise SiteError if some time from start_s to end_s has no price.

    A site read by load_site has none; one put together by hand may.
    """
    bare = np.flatnonzero(np.isnan(times.price) & (times.edges[1:] > start_s) & (times.edges[:-1] < end_s))
    if len(bare):
        local = pd.Timestamp(times.edges[bare[0]], unit="s", tz="UTC").tz_convert(zone)
        kind = "holiday" if times.day_class[bare[0]] == price_bands.HOLIDAY else DAYS[local.day_of_week]
        raise SiteError(
            f"site.toml, [energy]: no price for {local:%Y-%m-%d %H:%M} ({kind}).\n"
            "Give price_per_kwh for the hours that no [[energy.band]] covers."
        )


def whole_days(times, start_s, end_s):
    """Return {local date: share of it that lies between start_s and end_s}, each above 0 and at most 1.

    A day of 23 or 25 hours is whole when all its hours are inside.
    """
    length, inside = {}, {}
    cuts = np.clip(times.edges, start_s, end_s)
    for day, whole, part in zip(times.day, np.diff(times.edges), np.diff(cuts), strict=True):
        length[day] = length.get(day, 0) + int(whole)
        inside[day] = inside.get(day, 0) + int(part)
    return {day: inside[day] / length[day] for day in length if inside[day] > 0}
