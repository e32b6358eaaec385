"""Written dates and times: which shapes are known, and what one cell means under a given order of day and month.

Nothing here knows of time zones or of other rows; `clock.py` sees to those.
"""

import re
from dataclasses import dataclass

MONTHS = {
    name: number
    for number, names in enumerate(
        (
            "jan january januar janvier enero januari gennaio",
            "feb february februar fevrier février febrero februari",
            "mar march märz maerz mrz mars marzo maart",
            "apr april avril abril aprile",
            "may mai mayo mei maggio",
            "jun june juni juin junio giugno",
            "jul july juli juillet julio luglio",
            "aug august août aout agosto augustus",
            "sep sept september septembre septiembre settembre",
            "oct october okt oktober octobre octubre ottobre",
            "nov november novembre noviembre",
            "dec december dez dezember décembre decembre diciembre dicembre",
        ),
        start=1,
    )
    for name in names.split()
}

_ZONE = r"(?P<zone>\s*(?:Z|UTC|GMT|[+-]\d\d:?\d\d|[+-]\d\d))?"
_TIME = re.compile(
    r"(?P<hour>\d{1,2})[:h](?P<minute>\d{2})(?::(?P<second>\d{2})(?:[.,](?P<fraction>\d{1,9}))?)?"
    r"\s*(?P<half>[AaPp]\.?[Mm]\.?)?" + _ZONE + r"$"
)
_YEAR_FIRST = re.compile(r"(?P<year>\d{4})([-/.])(?P<month>\d{1,2})\2(?P<day>\d{1,2})\.?$")
_COMPACT = re.compile(r"(?P<year>(?:19|20)\d\d)(?P<month>\d\d)(?P<day>\d\d)$")
_TWO_THEN_YEAR = re.compile(r"(?P<first>\d{1,2})([-/.])(?P<second>\d{1,2})\2(?P<year>\d{4}|\d{2})\.?$")
_DAY_NAME_YEAR = re.compile(r"(?P<day>\d{1,2})\.?[-/ ]?(?P<name>[^\W\d_]{3,10})\.?[-/ ,]+(?P<year>\d{4}|\d{2})$")
_NAME_DAY_YEAR = re.compile(r"(?P<name>[^\W\d_]{3,10})\.?[- ](?P<day>\d{1,2}),?[- ](?P<year>\d{4})$")
_WEEKDAY = re.compile(r"^(?:mon|tue|wed|thu|fri|sat|sun|mo|di|mi|do|fr|sa|so)[a-z]*[.,]*\s+", re.IGNORECASE)
_SPLIT = re.compile(r"^(?P<date>.*?\d)(?:T|[ ,;]\s*|\s+)(?P<time>\d{1,2}[:h]\d\d.*)$")
_COMPACT_BOTH = re.compile(r"^(\d{8})[T ]?(\d{2})(\d{2})(\d{2})?(Z?)$")
_NUMBER = re.compile(r"^\d+(?:[.,]\d+)?$")

SECONDS_PER_DAY = 86_400
# Day 0 of the spreadsheet serial dates in use since 1900, as a proleptic day; source: the OOXML standard,
# ECMA-376 part 1, 18.17.4.1 (the 1900 date system).
SERIAL_DAY_ZERO = "1899-12-30"


@dataclass(frozen=True)
class Written:
    """One date as written. order: "ymd" fixed, "named" fixed, or "two": first and second may be day or month."""

    order: str
    year: int
    first: int
    second: int
    mark: str = ""


def parse_date(text):
    """Return the Written date of a date cell, or None if it is none. A two-digit year means 2000 to 2099."""
    text = _WEEKDAY.sub("", text.strip())
    for pattern in (_YEAR_FIRST, _COMPACT):
        if match := pattern.match(text):
            return Written("ymd", int(match["year"]), int(match["month"]), int(match["day"]))
    if match := _TWO_THEN_YEAR.match(text):
        return Written("two", _full_year(match["year"]), int(match["first"]), int(match["second"]), match[2])
    for pattern in (_DAY_NAME_YEAR, _NAME_DAY_YEAR):
        match = pattern.match(text)
        if match and match["name"].lower() in MONTHS:
            return Written("named", _full_year(match["year"]), MONTHS[match["name"].lower()], int(match["day"]))
    return None


def _full_year(text):
    return int(text) + 2000 if len(text) == 2 else int(text)


def parse_time(text):
    """Return (seconds since midnight as float, offset from UTC in seconds or None) of a time cell, or None.

    24:00 is the end of the day. AM and PM are understood.
    """
    match = _TIME.match(text.strip())
    if not match:
        return None
    hour, minute, second = int(match["hour"]), int(match["minute"]), int(match["second"] or 0)
    half = (match["half"] or "").replace(".", "").lower()
    if half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half == "pm" else 0)
    if minute > 59 or second > 59 or hour > 24 or (hour == 24 and (minute or second)):
        return None
    fraction = float("0." + match["fraction"]) if match["fraction"] else 0.0
    return hour * 3600 + minute * 60 + second + fraction, _offset(match["zone"])


def _offset(zone):
    zone = (zone or "").strip()
    if not zone:
        return None
    if zone in ("Z", "UTC", "GMT"):
        return 0
    digits = zone[1:].replace(":", "").ljust(4, "0")
    size = int(digits[:2]) * 3600 + int(digits[2:]) * 60
    return -size if zone[0] == "-" else size


def split(text):
    """Return (date text, time text) of one cell; the time text is "" where the cell holds a date alone."""
    text = text.strip()
    if both := _COMPACT_BOTH.match(text):
        return both[1], f"{both[2]}:{both[3]}:{both[4] or '00'}{both[5]}"
    match = _SPLIT.match(text)
    return (match["date"], match["time"]) if match else (text, "")


def is_time(text):
    """True if the cell is a written date, alone or with a time; numbers of seconds or days do not count."""
    date, time = split(text)
    return parse_date(date) is not None and (not time or parse_time(time) is not None)


def is_clock(text):
    """True if the cell is a time of day alone."""
    return parse_time(text) is not None


def number_kind(value):
    """Return what a bare number in a time column counts: "unix", "unix_ms", "serial", or None.

    Seconds and milliseconds since 1970 from 2001 to 2100, spreadsheet days from 2000 to 2099.
    """
    if 1e9 <= value < 4.2e9:
        return "unix"
    if 1e12 <= value < 4.2e12:
        return "unix_ms"
    if 36_526 <= value < 73_051:
        return "serial"
    return None


def is_number(text):
    """True if the cell is a bare number without sign."""
    return bool(_NUMBER.match(text.strip()))
