"""When it is clearly day and clearly night at a site, as far as finding faults needs it; twilight is neither."""

import numpy as np

DAY_ELEVATION, NIGHT_ELEVATION = 8.0, -6.0  # degrees; between them is twilight, where nothing is judged
DAY_MS = 86_400_000


def solar_elevation(time_ms, latitude, longitude):
    """Return the sun's height over the horizon. [degrees], shape (n,)

    time_ms : int64 ms UTC, shape (n,). latitude, longitude : degrees, north and east positive.
    Declination by Cooper's formula (P. I. Cooper, Solar Energy 12, 1969; from memory), no equation of time: good to
    about 4 degrees, which is enough to tell day from night.
    """
    day_of_year = (time_ms % (DAY_MS * 365.2425)) / DAY_MS
    declination = np.radians(23.45 * np.sin(2 * np.pi * (284 + day_of_year) / 365))
    hour_angle = 2 * np.pi * (time_ms % DAY_MS) / DAY_MS - np.pi + np.radians(longitude)
    high = np.radians(latitude)
    sine = np.sin(high) * np.sin(declination) + np.cos(high) * np.cos(declination) * np.cos(hour_angle)
    return np.degrees(np.arcsin(np.clip(sine, -1, 1)))


def warmest_hour(time_ms, house):
    """Return the hour of the day (UTC, 0 to 24) round which the house is warmest, or None without a daily rhythm.

    The direction of the first harmonic of the mean day; the day must swing by 1 K or more.
    """
    known = ~np.isnan(house)
    if known.sum() < 48 or time_ms[-1] - time_ms[0] < 2 * DAY_MS:
        return None
    hours = ((time_ms[known] // 1_800_000) % 48).astype(int)
    counts = np.bincount(hours, minlength=48)
    if (counts == 0).any():
        return None
    means = np.bincount(hours, weights=house[known], minlength=48) / counts
    wave = np.sum(means * np.exp(2j * np.pi * (np.arange(48) + 0.5) / 48)) / 24
    return float(np.angle(wave) / (2 * np.pi) * 24 % 24) if abs(wave) >= 0.5 else None


def parts(time_ms, house, place):
    """Return (day, night): bool arrays, shape (n,), or (None, None) where neither site nor rhythm tells.

    place : the site's [site] or None. With latitude and longitude by the sun's height, else by the hour of the day
    counted from the house's own warmest hour, taken as 14 o'clock.
    """
    if place is not None and place.latitude is not None and place.longitude is not None:
        height = solar_elevation(time_ms, place.latitude, place.longitude)
        return height > DAY_ELEVATION, height < NIGHT_ELEVATION
    warmest = warmest_hour(time_ms, house)
    if warmest is None:
        return None, None
    hour = ((time_ms % DAY_MS) / 3_600_000 - warmest + 14) % 24
    return (hour >= 10) & (hour < 16), (hour >= 21) | (hour < 5)


def dawn(day, night):
    """Return True in the last part of each night, before day begins: the rows just before a change from night.

    day, night : bool arrays, shape (n,). Takes the last tenth of each stretch of night, at least one row.
    """
    found = np.zeros(len(night), dtype=bool)
    edges = np.diff(np.concatenate([[False], night, [False]]).astype(np.int8))
    for first, after in zip(np.flatnonzero(edges == 1), np.flatnonzero(edges == -1), strict=True):
        if after < len(night):
            found[after - max(1, (after - first) // 10) : after] = True
    return found
