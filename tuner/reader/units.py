"""The units that logs name, and how each becomes ours (degC, %, W/m2, W).

A unit is known by a short text: "C", "F", "K", "%", "fraction", "lux", "klux", "W/m2", "MJ/m2", "W", "kW", "V".
"""

import re

# Visible sunlight carries about this many lux for each W/m2 of global radiation. From memory; common practice.
LUX_PER_W_M2 = 120.0

_SPELLINGS = {
    "C": ("°c", "degc", "deg c", "deg. c", "celsius", "c", "ºc", "℃", "grad c", "centigrade", "?c", "\ufffdc"),
    "F": ("°f", "degf", "deg f", "deg. f", "fahrenheit", "f", "ºf", "℉", "?f", "\ufffdf"),
    "K": ("k", "kelvin"),
    "%": ("%", "%rh", "% rh", "rh%", "rh", "pct", "percent", "% r.h.", "%rf", "% rf", "%rel"),
    "fraction": ("fraction", "0-1", "0..1"),
    "lux": ("lux", "lx"),
    "klux": ("klux", "klx", "kilolux"),
    "W/m2": ("w/m2", "w/m²", "w/m^2", "wm-2", "w m-2", "w/sqm"),
    "MJ/m2": ("mj/m2", "mj/m²", "mj/m^2"),
    "umol": ("umol/m2/s", "µmol/m²/s", "umol", "ppfd", "µmol"),
    "W": ("w", "watt", "watts"),
    "kW": ("kw", "kilowatt", "kilowatts"),
    "V": ("v", "volt", "volts", "mv"),
    "hPa": ("hpa", "mbar", "mb", "kpa", "pa"),
    "0/1": ("0/1", "1/0", "on/off", "off/on", "yes/no", "bool", "state"),
    "s": ("s", "sec", "seconds"),
    "time": (
        "utc",
        "gmt",
        "local",
        "date",
        "time",
        "iso 8601",
        "dd.mm.yyyy",
        "yyyy-mm-dd",
        "hh:mm",
        "hh:mm:ss",
        "dd/mm/yyyy",
        "mm/dd/yyyy",
        "dd.mm.yyyy hh:mm",
        "yyyy-mm-dd hh:mm:ss",
        "ts",
        "rn",
    ),
    "other": ("m/s", "km/h", "mph", "mm", "l", "ppm", "-", "avg", "min", "max", "smp", "deg", "°", "none", "m3/h"),
}
_KNOWN = {spelling: unit for unit, spellings in _SPELLINGS.items() for spelling in spellings}
_BRACKET = re.compile(r"[(\[{]([^)\]}]*)[)\]}]")
_TAIL = re.compile(r"[,;:/ ]\s*([^\s,;:]+(?:\s?/\s?m[2²])?)\s*$")
_SUFFIX = re.compile(r"(?:^|_)(c|f|k|pct|w|kw|lux|klux|w_m2|mj_m2|degc|degf)$")
_SUFFIX_UNITS = {"w_m2": "W/m2", "mj_m2": "MJ/m2"}


def known(text):
    """Return the unit that text spells, or "" when it spells none."""
    text = text.strip().strip("()[]{}").strip().lower()
    return _KNOWN.get(text, "")


def in_name(name):
    """Return the unit told by a column's name: in brackets, after a comma, or as a suffix like _c; else ""."""
    for inside in _BRACKET.findall(name):
        if unit := known(inside):
            return unit
    bare = _BRACKET.sub("", name).strip()
    if (match := _TAIL.search(bare)) and (unit := known(match[1])) and unit not in ("time", "other", "0/1", "s"):
        return unit
    if match := _SUFFIX.search(bare.lower()):
        return _SUFFIX_UNITS.get(match[1]) or known(match[1])
    return ""


def to_ours(values, unit):
    """Return values (float or ndarray) of the given unit in ours; an unknown unit is left as it is."""
    if unit == "F":
        return (values - 32.0) / 1.8
    if unit == "K":
        return values - 273.15
    if unit == "fraction":
        return values * 100.0
    if unit == "lux":
        return values / LUX_PER_W_M2
    if unit == "klux":
        return values * (1000.0 / LUX_PER_W_M2)
    if unit == "MJ/m2":
        return values * (1e6 / 86_400)
    if unit == "kW":
        return values * 1000.0
    return values
