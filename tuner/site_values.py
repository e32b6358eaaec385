"""The kinds of values that site.toml holds: each checked, and each able to say what it must be.

A kind is a word of _CHECKS, or a tuple of the words allowed.
"""

from datetime import date
from zoneinfo import available_timezones

from tuner import degrees
from tuner.errors import nearest

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun", "holiday")


def shown(value):
    """A value as it stands in TOML, cut to a readable length."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        text = "[" + ", ".join(shown(one) for one in value) + "]"
    else:
        text = f'"{value}"' if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."


def wanted(kind, lowest, highest, unit):
    """Say what a value of this kind must be."""
    if isinstance(kind, tuple):
        return "It must be one of " + ", ".join(f'"{word}"' for word in kind) + "."
    if kind in ("temperature", "difference"):
        return degrees.wanted(lowest, highest, kind == "difference")
    return {
        "number": f"It must be a number from {lowest} to {highest} ({unit}).",
        "whole": f"It must be a whole number from {lowest} to {highest} ({unit}).",
        "text": f"It must be text in double quotes, {lowest} to {highest} {unit}.",
        "yes/no": "It must be true or false.",
        "texts": 'It must be a list of texts, such as ["n/a", "---"].',
        "holidays": 'It must be a country such as "NZ" or "US-NC", or a list of dates such as [2026-12-25].',
        "zone": 'It must be a time zone name, such as "Pacific/Auckland".',
        "months": "It must be a list of months 1 to 12, such as [11, 12, 1].",
        "weekdays": 'It must be a list of weekdays, such as ["mon", "tue"]; "holiday" counts as one.',
        "clock": 'It must be a time of day from "00:00" to "24:00".',
    }[kind]


def _number(value, lowest, highest):
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    return float(value) if number and lowest <= value <= highest else None  # a NaN is in no range


def _temperature(value, lowest, highest, difference=False):
    """Degrees C (or kelvin) of a number, or of a text with its unit such as "45F"; or None."""
    if isinstance(value, str):
        try:
            value = round(degrees.parse(value, difference), 6)
        except ValueError:
            return None
    return _number(value, lowest, highest)


def _whole(value, lowest, highest):
    good = isinstance(value, int) and not isinstance(value, bool) and lowest <= value <= highest
    return value if good else None


def _text(value, lowest, highest):
    good = isinstance(value, str) and lowest <= len(value.strip()) <= highest
    return value.strip() if good else None


def _list(value, check, some=False):
    if not isinstance(value, list) or (some and not value):
        return None
    checked = tuple(check(one) for one in value)
    return None if any(one is None for one in checked) else checked


def _date(value):
    if type(value) is date:
        return value
    try:
        return date.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        return None


def _weekday(value):
    return value if isinstance(value, str) and value in DAYS else None


def _country(value):
    """A country code, with the code of its part after a dash, that the holidays library knows; or None."""
    import holidays

    country, _, part = value.partition("-") if isinstance(value, str) else ("", "", "")
    known = holidays.list_supported_countries()
    return value if country in known and (not part or part in known[country]) else None


def _holidays(value):
    """A country, or a list of dates and countries; tuple of date and str, or None."""
    return _list(value if isinstance(value, list) else [value], lambda one: _date(one) or _country(one))


def _clock(value):
    """Minutes since midnight of a "HH:MM" text, 0 to 1440, or None."""
    hour, colon, minute = value.partition(":") if isinstance(value, str) else ("", "", "")
    if not (colon and hour.isdecimal() and minute.isdecimal() and len(minute) == 2 and int(minute) < 60):
        return None
    minutes = int(hour) * 60 + int(minute)
    return minutes if minutes <= 1440 else None


def _zone(value):
    names = available_timezones()
    if not isinstance(value, str) or value not in names:
        return None, wanted("zone", None, None, "") + nearest(value, names)
    return value, ""


_CHECKS = {
    "number": _number,
    "temperature": _temperature,
    "difference": lambda value, low, high: _temperature(value, low, high, difference=True),
    "whole": _whole,
    "text": _text,
    "yes/no": lambda value, low, high: value if isinstance(value, bool) else None,
    "texts": lambda value, low, high: _list(value, lambda one: one if isinstance(one, str) else None),
    "holidays": lambda value, low, high: _holidays(value),
    "months": lambda value, low, high: _list(value, lambda one: _whole(one, 1, 12), some=True),
    "weekdays": lambda value, low, high: _list(value, _weekday, some=True),
    "clock": lambda value, low, high: _clock(value),
}


def check(kind, value, lowest, highest, unit):
    """Return (value, "") when it fits its kind and range, else (None, what is wanted)."""
    if kind == "zone":
        return _zone(value)
    if isinstance(kind, tuple):
        good = value if isinstance(value, str) and value in kind else None
    else:
        good = _CHECKS[kind](value, lowest, highest)
    return (None, wanted(kind, lowest, highest, unit)) if good is None else (good, "")
