"""Running time to energy to money. [kWh, and money in the site's own currency]"""

import numpy as np

from tuner.errors import SiteError

JOULES_PER_KWH = 3.6e6


def fan_kwh(fan_s, ran_pct, fan):
    """Energy that the fan takes in each row.

    fan_s : ndarray, shape (n,), seconds the fan ran since the row before
    ran_pct : ndarray, shape (n,), the speed at which it ran [%]
    fan : site.Fan; without speed control the fan takes its full power whenever it runs

    Returns ndarray, shape (n,). [kWh]
    Source: fan affinity laws, power goes with the cube of speed.
    """
    share = (np.asarray(ran_pct) / 100.0) ** 3 if fan.speed_control else 1.0
    return np.asarray(fan_s) * fan.watts * share / JOULES_PER_KWH


def ran_pct(fan_pct):
    """The speed at which the fan ran before each row: that of the row before, else its own, else 100. [%]

    fan_pct : ndarray, shape (n,), the speed set at each row, which holds until the next
    """
    before = np.concatenate(([0], fan_pct[:-1]))
    return np.where(before > 0, before, np.where(fan_pct > 0, fan_pct, 100))


def prices(index, energy, zone):
    """The price of energy at each time: the first band that fits, else the flat price.

    index : DatetimeIndex in UTC, length n; energy : site.Energy; zone : tzinfo of the site

    A holiday counts as a Sunday. A band that crosses midnight belongs to the day on which it starts.
    Returns ndarray, shape (n,). [money per kWh]
    Raises SiteError where no band fits and there is no flat price.
    """
    flat = np.nan if energy.price_per_kwh is None else energy.price_per_kwh
    price = np.full(len(index), float(flat))
    if energy.bands:
        local = index.tz_convert(zone).tz_localize(None)
        for band in reversed(energy.bands):
            price[_in_band(local, band, energy.holidays)] = band.price_per_kwh
        if np.isnan(price).any():
            bare = local[np.isnan(price)][0]
            raise SiteError(
                f"site.toml, [energy]: no price for {bare:%A %Y-%m-%d %H:%M}.\n"
                "Give price_per_kwh for the hours that no [[energy.band]] covers."
            )
    return price


def _in_band(local, band, holidays):
    """Which local times lie in the band; ndarray of bool, shape (n,)."""
    import pandas as pd

    minute = local.hour * 60 + local.minute
    start = local.normalize()
    if band.from_minute < band.to_minute:
        inside = (minute >= band.from_minute) & (minute < band.to_minute)
    else:
        inside = (minute >= band.from_minute) | (minute < band.to_minute)
        start = start.where(minute >= band.from_minute, start - pd.Timedelta(days=1))
    weekday = np.asarray(start.day_of_week)
    if holidays:
        weekday = np.where(start.isin(pd.to_datetime(list(holidays))), 6, weekday)
    return np.asarray(inside) & np.isin(weekday, band.weekdays) & np.asarray(start.month.isin(band.months))
