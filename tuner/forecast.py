"""From the nights of a log to a month and a winter at the same rate, and how far that may be off.

Lives here: rates of nights to sums of days to come, and the prices of those days. Never here: logs, weather.

Nights follow each other in mild and cold spells, so that n nights tell less than n separate ones would. With r the
correlation of each night with the next, the mean of n nights has the variance s^2 k / n, k = (1 + r) / (1 - r), and
the sum of N nights to come has N s^2 k about it. The weather of the log is taken as the weather to come: a forecast
from mild nights knows nothing of frost.
Source of k: the variance of the mean of a first-order autoregressive series, any time-series text (from memory).
"""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

LEAST_KNOWN = 0.5  # a night is used where its fan is known for this share of it or more
LEAST_NIGHTS = 3  # fewer tell no spread
LEVEL = 0.9  # nine of ten such months should lie within the range
MOST_MEMORY = 0.9  # r is held below this: a short log cannot tell more


@dataclass(frozen=True)
class Range:
    """middle, low, high: what is expected, and the range that LEVEL of such stretches should fall in; None unknown."""

    middle: float
    low: float | None
    high: float | None

    def times(self, factor):
        """Return the Range in another unit."""
        low, high = (None if one is None else one * factor for one in (self.low, self.high))
        return Range(self.middle * factor, low, high)


def ahead(rates, days):
    """Return the Range of the sum over so many days to come.

    rates : ndarray, one amount per night of the log, shape (n,), in the order of time, at least one
    """
    from scipy.special import stdtrit

    rates = np.asarray(rates, dtype=float)
    count = len(rates)
    middle = float(rates.mean() * days)
    if count < LEAST_NIGHTS:
        return Range(middle, None, None)
    stretch = (1 + memory(rates)) / (1 - memory(rates))
    apart = max(2.0, count / stretch)  # nights that tell as much, were they separate
    spread = rates.std(ddof=1) * np.sqrt(days * stretch + days**2 / apart)
    away = float(stdtrit(apart - 1, (1 + LEVEL) / 2) * spread)
    return Range(middle, max(0.0, middle - away), middle + away)


def memory(rates):
    """Return the correlation of each night with the next, between 0 and MOST_MEMORY, corrected for a short log.

    The plain estimate is low by (1 + 4 r) / n (Marriott & Pope 1954, Biometrika 41, 390, from memory).
    """
    away = np.asarray(rates, dtype=float) - np.mean(rates)
    total = float((away**2).sum())
    if total <= 0:
        return 0.0
    plain = float((away[1:] * away[:-1]).sum()) / total
    count = len(away)
    better = plain + (1 + 4 * plain) / count if count > 4 else plain
    return float(np.clip(better, 0.0, MOST_MEMORY))


def winter_of(day, latitude):
    """Return (first day, day after the last) of the winter that a date lies in, or of the next one.

    November to March where latitude is north of the equator or not known, May to September south of it.
    """
    if latitude is not None and latitude < 0:
        year = day.year if day.month < 10 else day.year + 1
        return date(year, 5, 1), date(year, 10, 1)
    year = day.year - 1 if day.month < 4 else day.year
    return date(year, 11, 1), date(year + 1, 4, 1)


def month_after(day):
    """Return (first day, day after the last) of the thirty days that follow a date."""
    return day + timedelta(days=1), day + timedelta(days=31)


def mean_price(times, hourly, first, after):
    """Return the mean price of energy used over the hours of the day as in `hourly`, on the days from first to after.

    times : prices.Calendar that covers them; hourly : energy by local hour, shape (24,), any unit; dates: first
    included, after not. The fan follows the weather, which knows no weekdays, so each hour takes its mean price.
    """
    day = times.day
    inside = (day >= np.datetime64(first)) & (day < np.datetime64(after))
    length = np.diff(times.edges)[inside].astype(float)
    hour = times.hour[inside]
    by_hour = np.bincount(hour, weights=length * times.price[inside], minlength=24)
    lengths = np.maximum(np.bincount(hour, weights=length, minlength=24), 1e-9)
    hourly = np.asarray(hourly, dtype=float)
    weights = hourly if hourly.sum() > 0 else np.ones(24)
    return float((weights * by_hour / lengths).sum() / weights.sum())
