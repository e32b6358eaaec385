"""What starts cost: the motor's limit per hour, the life of the relay. Nothing here knows of money."""

import numpy as np

HOUR_S = 3600
DAYS_PER_YEAR = 365.25


def most_in_an_hour(times):
    """Return the largest number of starts in any stretch of one hour.

    times : rising UTC seconds of the starts, shape (n,). Starts exactly an hour apart are not in one hour.
    """
    times = np.asarray(times)
    if not len(times):
        return 0
    return int((np.searchsorted(times, times + HOUR_S, side="left") - np.arange(len(times))).max())


def starts_over(times, limit):
    """Return how many starts came with more than `limit` of them, themselves included, in the hour before."""
    times = np.asarray(times)
    within = np.arange(len(times)) - np.searchsorted(times, times - HOUR_S, side="right") + 1
    return int((within > limit).sum())


def relay_life_years(operations, starts_per_day):
    """Return the years until a relay good for so many operations has done them; None where it never starts.

    One operation is one start with its stop. Contacts last fewer operations at a motor's load than without it:
    operations should be the figure of the part's data sheet at the motor's current.
    """
    return operations / starts_per_day / DAYS_PER_YEAR if starts_per_day > 0 else None
