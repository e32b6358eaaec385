"""The running time left: a store of seconds that refills all day and drains while the fan runs.

In any 24 h since power-up the fan then runs at most day_run_limit_s plus one max_run_s, frost guard and
the hand switch aside. A step so long that it drains more than is left is owed (overdrawn_s) and paid back first.
More than one longest step is never owed: only a run that frost guard started could, night after night, when the
guard ends before min_run_s is over; what such a run has left to go counts as the guard's.
"""

from collections import namedtuple

DAY_S = 86400
MOST_OWED_S = 3600  # one longest step

Allowance = namedtuple("Allowance", "left_s part overdrawn_s")  # part: of a second, in 1/86400


def full(settings):
    """Return the Allowance at power-up: one longest run."""
    return Allowance(settings.max_run_s, 0, 0)


def book(settings, allowance, elapsed_s, ran_s):
    """Return the Allowance after elapsed_s (at most 3600), ran_s of them with the fan on its account."""
    parts = elapsed_s * settings.day_run_limit_s + allowance.part  # at most 3600 * 86400 + 86399 < 2**30
    net = allowance.left_s - allowance.overdrawn_s + parts // DAY_S - ran_s
    if net >= settings.max_run_s:
        return Allowance(settings.max_run_s, 0, 0)
    return Allowance(max(net, 0), parts % DAY_S, min(max(-net, 0), MOST_OWED_S))


def enough(allowance, running, least_s):
    """Return 1 while a run may go on, or may start with at least least_s of running time left."""
    return 1 if allowance.left_s >= (1 if running else least_s) else 0
