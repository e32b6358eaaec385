"""The date and time, for the log alone: set by a host, counted in seconds, kept through a reset, lost at power off.

What lives here: day and second of an uptime; ISO 8601 in. What never does: anything that control reads.
Days count from 2000-01-01 UTC, as in core.record.
"""

from controller.core.record import NO_DAY, time_text

DAY_S = 86400
FIRST_DAY, LAST_DAY = 9132, 36524  # 2025-01-01 to 2099-12-31: a clock outside is wrong
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def days_of(year, month, day):
    """Return the day number of a date from 2000-01-01 on, or NO_DAY when there is no such date."""
    leap = 1 if year % 4 == 0 and (year % 100 != 0 or year % 400 == 0) else 0
    if not 2000 <= year <= 2099 or not 1 <= month <= 12:
        return NO_DAY
    if not 1 <= day <= MONTH_DAYS[month - 1] + (leap if month == 2 else 0):
        return NO_DAY
    years = year - 2000
    days = years * 365 + (years + 3) // 4 - (1 if years > 100 else 0) + sum(MONTH_DAYS[: month - 1]) + day - 1
    return days + (leap if month > 2 else 0)


def parse(text):
    """Return (day, second) of "2026-03-01T06:30:00Z". Raises ValueError saying how to write it."""
    wrong = ValueError("%s is no time. Write UTC as 2026-03-01T06:30:00Z." % text[:40])
    if len(text) != 20 or text[4] + text[7] + text[10] + text[13] + text[16] + text[19] != "--T::Z":
        raise wrong
    parts = [text[0:4], text[5:7], text[8:10], text[11:13], text[14:16], text[17:19]]
    if not all([part.isdigit() for part in parts]):
        raise wrong
    year, month, day, hour, minute, second = [int(part) for part in parts]
    days = days_of(year, month, day)
    if days == NO_DAY or hour > 23 or minute > 59 or second > 59:
        raise wrong
    if not FIRST_DAY <= days <= LAST_DAY:
        raise ValueError("%s is not between 2025 and 2099." % text)
    return days, hour * 3600 + minute * 60 + second


class Clock:
    """Uptime in seconds, and what day and second of the day it is once that was set."""

    def __init__(self):
        self.uptime_s = 0
        self.zero = (NO_DAY, 0)  # day and second when uptime was 0

    def add(self, elapsed_s):
        """Let elapsed_s pass."""
        self.uptime_s += elapsed_s

    def set(self, day, second):
        """Say what time it is now."""
        back = self.uptime_s - second
        days = -(-back // DAY_S) if back > 0 else 0
        self.zero = day - days, days * DAY_S - back

    def at(self, uptime_s):
        """Return (day, second) at an uptime, (NO_DAY, 0) while the clock is not set."""
        day, second = self.zero
        if day == NO_DAY:
            return NO_DAY, 0
        second += uptime_s
        return day + second // DAY_S, second % DAY_S

    def now(self):
        """Return (day, second)."""
        return self.at(self.uptime_s)

    def text(self):
        """Return ISO 8601 UTC, "" while not set."""
        day, second = self.now()
        return time_text(day, second)
