"""Numbers in another unit than their name says: degrees F or K called C, klux that turn to lux.

The limits are common practice or ours, no source: no house has a whole day's middle value above 45 degC, no soil store
one above 38 degC.
"""

import numpy as np

from tuner.faults import KEEP
from tuner.reader.parts import TEMPERATURES, number_of

HOT_DAY_C, HOT_SOIL_C = 45.0, 38.0
WARM_NIGHT_C = 25.0  # a house falls below this in any night that matters
OTHERS = (("degF", lambda numbers: (numbers - 32.0) / 1.8), ("K", lambda numbers: numbers - 273.15))
LUX_LEAP = (300.0, 3000.0)


def find_units(found):
    """Temperatures that cannot be degC, over the whole log or some of its days."""
    names = [name for name in TEMPERATURES if name in found.whole.values
             and found.whole.units.get(name) not in ("degF", "K")]  # fmt: skip
    if any(fault.kind == "looks swapped" and fault.column == "humidity" for fault in found.faults):
        names = [name for name in names if name != "house"]
    middle = {name: found.daily(name, np.median) for name in names}
    hot = {name: {day for day, value in days.items() if value > limit(name)} for name, days in middle.items()}
    some = [name for name in names if hot[name]]
    if "unit" in found.keep:
        for name in some:
            which = np.isin(found.days()[0], list(hot[name])) & ~np.isnan(found.whole.values[name])
            found.add("unit", which, seen(name, middle), "used all the same, as site.toml says", column=name)
        return
    whole = [name for name in some if len(hot[name]) >= 0.8 * len(middle[name])]
    for name in whole:
        _whole_column(found, name, middle)
    parts = [name for name in some if name not in whole]
    if parts:
        _some_days(found, parts, [name for name in names if name not in whole], hot, middle)


def limit(name):
    """Return the highest middle value that a day can have. [degC]"""
    return HOT_SOIL_C if name == "soil" else HOT_DAY_C


def seen(name, middle):
    return f"{name}: a whole day's middle value is {max(middle[name].values()):.0f} degC"


def _whole_column(found, name, middle):
    """Read a whole column as degF or K where that makes sense; else leave it out."""
    numbers = found.whole.values[name]
    known = ~np.isnan(numbers)
    for unit, to_c in OTHERS:
        turned = to_c(np.median(list(middle[name].values())))
        if -10.0 <= turned <= limit(name):
            found.add("unit", known, f"{seen(name, middle)}, so the column must be {unit}", f"it was read as {unit}",
                      'temperature_unit under [columns], or keep = ["unit"]', name)  # fmt: skip
            found.whole.values[name] = to_c(numbers)
            found.whole.units[name] = unit
            return
    found.add("unit", known, f"{seen(name, middle)}, which is no temperature in C, F or K", "the column was left out",
              "write degrees; " + KEEP.format("unit"), name)  # fmt: skip
    found.whole.values[name] = np.full(len(numbers), np.nan)


def _some_days(found, parts, names, hot, middle):
    """Leave out the days on which a logger seems to have changed its unit, in every temperature."""
    days = set().union(*(hot[name] for name in parts))
    lowest = {name: found.daily(name, np.min) for name in names if name in ("house", "outlet", "soil")}
    for day in sorted(days):
        for step in (-1, 1):
            near = day + step
            while near not in days and any(low.get(near, -99.0) > WARM_NIGHT_C for low in lowest.values()):
                days.add(near)
                near += step
    rows = np.isin(found.days()[0], list(days))
    for name in names:
        which = rows & ~np.isnan(found.whole.values[name])
        if not which.any():
            continue
        what = seen(name, middle) if name in parts else f"{name}: logged beside {' and '.join(parts)}"
        found.add("unit", which, f"{what}; on {number_of(len(days), 'day')} the unit seems to be another",
                  "the readings of those days were left out", KEEP.format("unit"), name)  # fmt: skip
        found.whole.values[name] = np.where(which, np.nan, found.whole.values[name])


def find_light_unit(found):
    """Light that leaps by a factor of about 1000 from one day on: klux and lux mixed."""
    if "solar" not in found.whole.values:
        return
    peaks = {day: peak for day, peak in found.daily("solar", np.max).items() if peak > 0}
    days = sorted(peaks)
    at, ratio = _leap(np.log(np.array([peaks[day] for day in days])))
    if not LUX_LEAP[0] <= ratio <= LUX_LEAP[1] or "unit" in found.keep:
        return
    low = [peaks[day] for day in days[:at]]
    high = [peaks[day] for day in days[at:]]
    rows = found.days()[0] >= days[at]
    numbers = found.whole.values["solar"]
    # The numbers that make sense as W/m2 (at most about 1400) are kept; where the unit is unknown, the small ones.
    grow = max(np.median(low), np.median(high)) <= 1500
    which = rows == ((np.median(high) > np.median(low)) != grow)
    found.add(
        "unit",
        which & ~np.isnan(numbers),
        f"solar: the daily peaks leap by a factor of {ratio:.0f}, as from klux to lux",
        f"these readings were {'multiplied' if grow else 'divided'} by 1000",
        KEEP.format("unit"),
        "solar",
    )
    found.whole.values["solar"] = np.where(which, numbers * (1000.0 if grow else 0.001), numbers)


def _leap(logs):
    """Return (place, factor) of the one step that divides a series of logarithms best; (0, 1.0) for none."""
    if len(logs) < 2:
        return 0, 1.0
    spread = [np.ptp(logs[:at]) + np.ptp(logs[at:]) for at in range(1, len(logs))]
    at = int(np.argmin(spread)) + 1
    return at, float(np.exp(abs(np.median(logs[at:]) - np.median(logs[:at]))))
