"""Numbers as people read them: temperatures in the units of choice, times of day, durations.

What lives here: text. What never does: a value that is used again.
"""

from controller.core.record import decimal_text
from controller.core.units import LOST, div_round


def degrees(centi_c, units, difference=False):
    """Return "12.06 C" or "53.71 F", "--" when LOST. difference: no zero point is added."""
    if centi_c == LOST:
        return "--"
    if units == "F":
        centi_c = div_round(centi_c * 9, 5) + (0 if difference else 3200)
    return decimal_text(centi_c, 2) + " " + units


def percent(deci_pct):
    """Return "87.5 %", "--" when LOST."""
    return "--" if deci_pct == LOST else decimal_text(deci_pct, 1) + " %"


def duration(seconds):
    """Return "3 d 04:05:06" or "04:05:06"."""
    days = "%d d " % (seconds // 86400) if seconds >= 86400 else ""
    return days + "%02d:%02d:%02d" % (seconds // 3600 % 24, seconds // 60 % 60, seconds % 60)
