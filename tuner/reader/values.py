"""What the numbers of a column mean: the decimal mark, the unit, the values that stand for "no reading".

Everything here looks at one column or file at a time, before files are joined.
"""

from collections import Counter

import numpy as np

from controller.core import screen
from tuner.errors import LogError
from tuner.reader import units
from tuner.reader.parts import TEMPERATURES, Fault, number_of
from tuner.reader.table import cell_error

# What loggers write where there is no reading: the lowest and highest numbers of 16 and 32 bits, whole or divided
# by 10, 100 or 1000, and round numbers of nines. Common practice, no source.
_EXTREMES = (-2147483648, 2147483647, 4294967295, -32768, 32767, 65535)
_NINES = (-9999, -999, -99.9, -999.9, -9999.9, -99999, -9999999, 9999, 999, 999.9, 9999.9, 99999, -6999, -7999, -888.8)
SENTINELS = np.unique([number / scale for number in _EXTREMES for scale in (1, 10, 100, 1000)] + list(_NINES))
# A DS18B20-type probe: 85 degC is its register at power-on (its data sheet); -127 degC what drivers give for an
# absent probe (common practice, no source). The same in degF.
PROBE_SENTINELS = {"C": (85.0, -127.0), "F": (185.0, -196.6)}
NAMES = {"house": "a temperature", "soil": "a temperature", "outlet": "a temperature", "outside": "a temperature",
         "humidity": "a humidity", "fan": "a state of the fan", "heater": "a state or power of the heater",
         "vent": "a state of the vent", "solar": "a number", "fan_power": "a power"}  # fmt: skip
DAY_MS = 86_400_000


def decimal_mark(path, columns, said):
    """Check that numbers were read with the right decimal mark.

    columns : {role: table.Column}. said : decimal_comma of the site, True, False or None.
    Raises LogError where a column mixes marks or "1,234" could be either.
    """
    sure = any("comma" in column.seen for column in columns.values())
    for column in columns.values():
        seen = column.seen
        if said is False and ("comma" in seen or "comma?" in seen):
            _, line, text = seen.get("comma") or seen["comma?"]
            raise cell_error(
                path,
                line,
                column.name,
                text,
                "has a comma",
                "Write the decimals with a point, or set decimal_comma = true under [columns] in site.toml.",
            )
        comma, point = seen.get("comma") or seen.get("comma?"), seen.get("point") or seen.get("point?")
        if comma and point:
            later, earlier = sorted((comma, point), key=lambda entry: -entry[1])
            raise cell_error(
                path,
                later[1],
                column.name,
                later[2],
                f"is written with another decimal mark than {earlier[2]!r} on line {earlier[1]}",
                "Write all decimals alike.",
            )
        if "comma?" in seen and not sure and said is not True and "comma" not in seen:
            _, line, text = seen["comma?"]
            raise cell_error(
                path,
                line,
                column.name,
                text,
                "may be a decimal comma or may divide thousands",
                "Set decimal_comma = true under [columns] in site.toml, or write the number without the comma.",
            )
        if "point?" in seen and "point" not in seen and (sure or said):
            _, line, text = seen["point?"]
            raise cell_error(
                path,
                line,
                column.name,
                text,
                "may be a decimal point or may divide thousands",
                "Write the number without the point, or with a decimal comma.",
            )
    return "comma" if sure or said else "point"


def sentinels(values, role, unit):
    """Return True where a value stands for "no reading". shape (n,) bool

    unit : "C" or "F" for temperatures, else anything.
    """
    found = np.isin(values, SENTINELS)
    if role in TEMPERATURES:
        low, high = (-40.0, 158.0) if unit == "F" else (-40.0, 70.0)
        found &= (values < low) | (values > high)
        found |= np.isin(values, PROBE_SENTINELS["F" if unit == "F" else "C"])
    elif role == "humidity":
        found &= (values < 0) | (values > 105)
    else:
        found &= (values < 0) | (values > 30_000)
    return found


def bounds(role):
    """Return (lowest, highest) that a reading can be, in our units; the core's own for temperatures."""
    if role == "soil":
        return screen.SOIL_LOWEST / 100, screen.SOIL_HIGHEST / 100
    if role in TEMPERATURES:
        return screen.AIR_LOWEST / 100, screen.AIR_HIGHEST / 100
    others = {"humidity": (0.0, 100.0), "solar": (-20.0, np.inf), "fan_pct": (0.0, 100.0), "fan_power": (0.0, 30_000.0)}
    return others.get(role, (-np.inf, np.inf))


def temperature_unit(path, readings, span_ms):
    """Return "C", "F" or "K" for temperatures whose unit nobody tells, by what soil and house can be.

    readings : {role: float array without sentinels}. Soil is 0 to 32 degC or 38 degF up; a house over a whole day
    falls below 25 degC, and seldom below 30 degF; 263 to 315 are K. Common practice, no source.
    Raises LogError when two are possible, or none.
    """
    judged = {}
    for role, values in readings.items():
        values = values[~np.isnan(values)]
        if not len(values):
            continue
        middle, low = float(np.median(values)), float(np.percentile(values, 1))
        if role == "soil":
            judged[role] = "C" if -10 <= middle <= 32 else "F" if 38 <= middle <= 100 else ""
        elif role in ("house", "outlet") and span_ms >= 0.8 * DAY_MS:
            judged[role] = "C" if low <= 24 and middle <= 36 else "F" if low >= 30 and 38 <= middle <= 110 else ""
        else:
            judged[role] = "C" if middle <= 12 else "F" if 60 <= middle <= 110 else ""
        if 263 <= middle <= 315:
            judged[role] = "K"
        elif middle > 110:
            judged = {role: ""}  # in no unit: the others shall not outvote it
            break
    for role in ("soil", "house", "outlet", "outside"):
        if judged.get(role):
            return judged[role]
    if not judged:
        return "C"
    role = next(iter(judged))
    values = readings[role][~np.isnan(readings[role])]
    raise LogError(
        f"{path}: the temperatures name no unit, and can be C, F or neither ({role} runs from {values.min():g} to "
        f'{values.max():g}).\nWrite temperature_unit = "C" or "F" under [columns] in site.toml, or write the unit into '
        "the header."
    )


def humidity(path, values, unit, name):
    """Return (humidity in %, unit as understood, faults): 0 to 1 becomes 0 to 100; a little over 100 is 100."""
    faults = []
    highest = np.nanmax(values) if not np.isnan(values).all() else np.nan
    if unit != "fraction" and highest <= 1.0:
        if unit == "%":
            faults.append(
                Fault(
                    "unit",
                    f'{path}, column "{name}"',
                    "the header says % but no value is above 1",
                    "the values were read as parts of 1 and multiplied by 100",
                    'humidity_unit = "%" under [columns]',
                    rows=len(values),
                    column="humidity",
                )
            )
        unit = "fraction"
    values = units.to_ours(values, unit)
    tiny = values <= 1.0  # no house with plants is that dry
    if tiny.any() and unit != "fraction":
        faults.append(
            Fault(
                "unit",
                f'{path}, column "{name}"',
                f"{number_of(tiny.sum(), 'reading')} of 1 % or less, as where parts of 1 and % are mixed",
                "they were left out",
                'humidity_unit = "0-1" under [columns] if all are parts of 1',
                rows=int(tiny.sum()),
                column="humidity",
            )
        )
        values = np.where(tiny, np.nan, values)
    over = (values > 100) & (values <= 105)
    return np.where(over, 100.0, values), "0-1" if unit == "fraction" else "%", faults


def fan(path, column, unit, site_fan, name):
    """Return (fan in % 0 to 100, unit as understood, faults) from words, 0/1, % or watts.

    unit : "", "%", "W", "kW" or "0/1". site_fan : the site's Fan or None.
    Raises LogError when numbers can be percent or watts.
    """
    values = column.values
    known = values[~np.isnan(values)]
    highest = known.max() if len(known) else 0.0
    if "word" in column.seen and highest <= 1.0:
        unit = "0/1"
    if not unit:
        kinds = np.unique(known)
        if highest <= 1.0:
            unit = "0/1"
        elif highest > 100:
            unit = "W"
        elif set(kinds) <= {0.0, 100.0}:
            unit = "%"
        else:
            raise LogError(
                f'{path}, column "{name}": the fan has numbers from {known.min():g} to {highest:g}, which '
                'can be percent, watts or steps.\nWrite fan_unit = "%" or "W" under [columns] in site.toml, or '
                "write the unit into the header."
            )
    if unit in ("W", "kW"):
        return _fan_from_power(path, units.to_ours(values, unit), site_fan, name)
    if unit == "0/1":
        return np.clip(values, 0, 1) * 100.0, "on/off", []
    if unit == "%" and 0 < highest <= 1.0:
        return values * 100.0, "0-1", []
    return values, "%", []


def _fan_from_power(path, watts, site_fan, name):
    known = watts[~np.isnan(watts)]
    full = float(np.percentile(known, 99.5)) if len(known) else 0.0
    if site_fan is not None:
        full = max(min(full, site_fan.watts), 0.2 * site_fan.watts)
    threshold = max(full / 2, 3.0)
    between = float(np.mean((known > 0.35 * full) & (known < 0.65 * full))) if len(known) and full > 6 else 0.0
    faults = []
    if between > 0.02:
        faults.append(
            Fault(
                "fan power",
                f'{path}, column "{name}"',
                f"{between:.0%} of the readings lie between off and on (35 to 65 % of {full:.0f} W)",
                f"the fan was taken as on above {threshold:.0f} W",
                "log the fan's state, or correct watts under [fan]",
                rows=int(between * len(known)),
                column="fan_pct",
            )
        )
    state = np.where(np.isnan(watts), np.nan, np.where(watts > threshold, 100.0, 0.0))
    return state, f"W, on above {threshold:.0f} W", faults


def counted(values, which):
    """Return "85 (12 times), -127 (3 times)" for the values picked by which, most frequent first."""
    counts = Counter(values[which].tolist()).most_common(4)
    more = len(set(values[which].tolist())) - len(counts)
    return ", ".join(f"{_short(value)}{times(count)}" for value, count in counts) + (
        f" and {more} more" if more else ""
    )


def _short(value):
    return f"{value:.10g}" if value == round(value) else f"{value:.5g}"


def times(count):
    """Return " (3 times)", or "" for once."""
    return f" ({count} times)" if count > 1 else ""
