"""The table of settings: one row each, with its bounds.

What lives here: names, defaults, bounds, units and meanings, read by board, console, tuner and docs alike.
What never does: a check between rows or a file (settings). In files temperatures are
decimal degrees C; here they are hundredths.
"""

from collections import namedtuple

# (key in files, default, lowest, highest, unit, what it does). Unit C: hundredths of a degree.
# A row with unit "C or off" or "pct or off" may also be 0, which switches that rule off.
# Defaults are our choice, but those marked * are common practice in the trade, no source.
TABLE = (
    ("charge_above_c", 2400, 800, 4000, "C", "start to charge the soil when the house is at or above this *"),
    ("charge_band_c", 200, 50, 1000, "C", "stop charging this far below charge_above_c"),
    ("discharge_below_c", 500, -200, 2000, "C", "start to warm the house from the soil at or below this *"),
    ("discharge_band_c", 150, 50, 800, "C", "stop warming this far above discharge_below_c"),
    ("least_gain_c", 300, 100, 1000, "C", "difference between air and soil that is worth a start"),
    ("gain_band_c", 150, 30, 800, "C", "stop when the difference is this much below least_gain_c"),
    ("soil_ceiling_c", 3000, 1500, 3800, "C", "the store is full: roots suffer above this"),
    ("soil_floor_c", 600, -100, 2000, "C", "reserve of the store, kept for frost guard"),
    ("soil_band_c", 50, 20, 300, "C", "start again this far inside ceiling and floor"),
    ("frost_guard_c", 100, -300, 1200, "C", "the plants' danger line: limits no longer hold the fan back"),
    ("frost_band_c", 50, 30, 300, "C", "frost guard ends this far above frost_guard_c"),
    ("frost_alarm_c", 200, -300, 1500, "C", "frost alarm at or below this"),
    ("hot_alarm_c", 4000, 2500, 5500, "C", "heat alarm at or above this"),
    ("min_run_s", 300, 60, 1800, "s", "shortest run of the fan, to spare motor and relay *"),
    ("min_rest_s", 300, 60, 900, "s", "shortest rest of the fan, heater and vent *"),
    ("max_run_s", 14400, 1800, 86400, "s", "longest run; a rest of min_rest_s follows"),
    (
        "day_run_limit_s",
        86400,
        7200,
        86400,
        "s",
        "running time that flows back per day; 86400 means no limit",
    ),
    ("charge_fan_pct", 100, 20, 100, "pct", "fan speed while charging; 100 without speed control"),
    ("discharge_fan_pct", 100, 20, 100, "pct", "fan speed while warming; 100 without speed control"),
    ("lost_after_s", 180, 30, 900, "s", "a probe without a trusted reading for this long is lost"),
    ("blind_run_s", 600, 300, 7200, "s", "length of a timed run while the house temperature is unknown"),
    ("blind_rest_s", 1800, 300, 7200, "s", "rest between timed runs"),
    ("humid_charge_pct", 0, 50, 100, "pct or off", "damp rule: charge from this humidity on; 0 is off"),
    ("humid_charge_above_c", 1500, 800, 4000, "C", "damp rule: only with the house at or above this"),
    ("flush_above_c", 0, 1500, 3800, "C or off", "cool soil this warm through the house at night; 0 is off"),
    ("heater_fitted", 0, 0, 1, "0 or 1", "1 when the heater output is wired"),
    ("heat_below_c", 200, -300, 1800, "C", "heater on at or below this, after heat_delay_s"),
    ("heat_band_c", 100, 30, 500, "C", "heater off this far above heat_below_c"),
    ("heat_delay_s", 900, 0, 7200, "s", "the fan's head start on the heater"),
    ("vent_fitted", 0, 0, 1, "0 or 1", "1 when the vent output is wired"),
    ("vent_above_c", 3000, 1500, 4500, "C", "vent opens at or above this"),
    ("vent_band_c", 200, 50, 800, "C", "vent shuts this far below vent_above_c"),
)


def field_of(key):
    """Return the field name of a file key: temperatures carry the core's unit."""
    return key[:-2] + "_centi_c" if key[-2:] == "_c" else key


Settings = namedtuple("Settings", [field_of(row[0]) for row in TABLE])


def defaults():
    """Return the built-in Settings; they pass every check."""
    return Settings(*[row[1] for row in TABLE])


def text_of(number, unit):
    """Return number (core units) as people write it: 24, 1.5, -0.25."""
    if unit[0] != "C":
        return str(number)
    whole, part = abs(number) // 100, abs(number) % 100
    text = ("-" if number < 0 else "") + str(whole)
    if part:
        text += ("." + ("0" if part < 10 else "") + str(part)).rstrip("0")
    return text


def bounds_text(row):
    """Return "8 to 40 degrees C", "0 (off) or 50 to 100 percent", ... of one row."""
    unit = row[4]
    name = {"C": " degrees C", "s": " seconds", "p": " percent", "0": ""}[unit[0]]
    span = text_of(row[2], unit) + " to " + text_of(row[3], unit) + name
    return ("0 (off) or " if unit[-3:] == "off" else "") + ("0 or 1" if unit == "0 or 1" else span)
