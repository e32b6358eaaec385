"""What the search tries: settings files, and for each the readings on both sides of every threshold.

A file is made small where its rules allow it, so that every state can be walked: timers that a file does not
put to the test stop early. A field that no rule reads in a situation is not varied there (the outlet while the soil
is known, the outside while the house is known and no vent is fitted); test_states holds the core to that.
"""

from collections import namedtuple
from itertools import product

from controller.core.rows import defaults
from controller.core.screen import HAND_AUTO, HAND_OFF, HAND_ON, REQUEST_NONE, REQUEST_TRIAL, Reading
from controller.core.units import LOST

GRID_S = 300
SHORT = {"max_run_s": 1800, "blind_rest_s": 900}
TIGHT = {
    "min_run_s": 1800, "min_rest_s": 900, "max_run_s": 1800, "day_run_limit_s": 7200, "lost_after_s": 900,
    "blind_run_s": 1800, "blind_rest_s": 900, "charge_band_centi_c": 50, "discharge_band_centi_c": 50,
    "least_gain_centi_c": 100, "gain_band_centi_c": 30, "soil_band_centi_c": 20, "frost_band_centi_c": 30,
    "soil_ceiling_centi_c": 1500, "soil_floor_centi_c": 1000, "frost_guard_centi_c": 470,
}  # fmt: skip

# changed: what differs from the defaults. steps: lengths of step. outlet: 1 where it stands for a lost soil probe; its
# hour of waiting then multiplies the states by 13, so it is left out where the allowance has many values.
File = namedtuple("File", "changed steps outlet")
FILES = {
    "defaults": File({}, (GRID_S,), 1),
    "run limit 57600": File({"day_run_limit_s": 57600, "max_run_s": 3600, "blind_rest_s": 900}, (GRID_S,), 0),
    "heater and vent": File(
        {"heater_fitted": 1, "vent_fitted": 1, "heat_delay_s": 600, "min_rest_s": 600, **SHORT}, (GRID_S,), 0
    ),
    "damp and flush": File(
        {"humid_charge_pct": 80, "flush_above_centi_c": 2200, **SHORT}, (GRID_S,), 0
    ),
    "tightest": File(TIGHT, (GRID_S,), 0),
    "limit and outlet": File({"day_run_limit_s": 43200, "min_run_s": 900, "blind_run_s": 900, **SHORT}, (GRID_S,), 1),
    "uneven steps": File(
        {
            "min_run_s": 600, "max_run_s": 3600, "lost_after_s": 900, "heater_fitted": 1, "heat_delay_s": 600,
            "day_run_limit_s": 43200,
        },
        (0, 600, 3600),
        0,
    ),
}  # fmt: skip

# For every run of the tests, in plain Python: short timers, everything fitted.
QUICK = "quick"
FILES_OF_TESTS = {
    QUICK: File(
        {
            "min_run_s": 600, "max_run_s": 1800, "day_run_limit_s": 43200, "lost_after_s": 300, "blind_rest_s": 600,
            "min_rest_s": 600, "heater_fitted": 1, "heat_delay_s": 300, "vent_fitted": 1,
        },
        (GRID_S,),
        0,
    ),
}  # fmt: skip


def file_of(name):
    """Return the File of that name."""
    return FILES[name] if name in FILES else FILES_OF_TESTS[name]


def settings_of(name):
    """Return the Settings of one file of FILES."""
    s = defaults()
    changed = file_of(name).changed
    return type(s)(*[changed.get(field, value) for field, value in zip(s._fields, s, strict=True)])


def edges(*values):
    """Return each value and its neighbours one hundredth below and above, sorted, each once."""
    return sorted({value + step for value in values for step in (-1, 0, 1)})


def houses(s):
    """Return house temperatures on both sides of every threshold of s. [hundredths of a degree C]"""
    at = [
        s.frost_guard_centi_c, s.frost_guard_centi_c + s.frost_band_centi_c, s.discharge_below_centi_c,
        s.discharge_below_centi_c + s.discharge_band_centi_c, s.charge_above_centi_c - s.charge_band_centi_c,
        s.charge_above_centi_c, s.frost_guard_centi_c + 200,
    ]  # fmt: skip
    if s.humid_charge_pct:
        at += [s.humid_charge_above_centi_c, s.humid_charge_above_centi_c - s.charge_band_centi_c]
    if s.flush_above_centi_c:
        at += [s.discharge_below_centi_c + 500]
    if s.heater_fitted:
        at += [s.heat_below_centi_c, s.heat_below_centi_c + s.heat_band_centi_c]
    if s.vent_fitted:
        at += [s.vent_above_centi_c, s.vent_above_centi_c - s.vent_band_centi_c]
    return edges(*at)


def soils(s, house):
    """Return soil temperatures on both sides of every threshold of s and of every difference from house."""
    gains = (s.least_gain_centi_c, s.least_gain_centi_c - s.gain_band_centi_c)
    at = [house, *(house + gain for gain in gains), *(house - gain for gain in gains), house + 100, house + 50]
    at += [s.soil_floor_centi_c, s.soil_floor_centi_c + s.soil_band_centi_c]
    at += [s.soil_ceiling_centi_c, s.soil_ceiling_centi_c - s.soil_band_centi_c]
    if s.humid_charge_pct:
        at += [house - 100]
    if s.flush_above_centi_c:
        at += [s.flush_above_centi_c, s.flush_above_centi_c - s.soil_band_centi_c]
    return edges(*at)


def outsides(s):
    """Return (value, trusted) of the outside on both sides of what the rules ask of it."""
    at = [s.discharge_below_centi_c + 500, s.frost_guard_centi_c] + ([1500] if s.vent_fitted else [])
    return [(LOST, 0)] + [(value, 1) for value in edges(*at)]


def damps(s, soil):
    """Return (humidity, trusted, dew point, trusted) on both sides of the damp rule's thresholds."""
    if not s.humid_charge_pct:
        return [(900, 1, soil + 500, 1)]
    dews = [soil + 29, soil + 30, soil + 99, soil + 100, -1, 0]
    wet = s.humid_charge_pct * 10
    return [(LOST, 0, LOST, 0)] + [(humidity, 1, dew, 1) for humidity, dew in product((wet - 1, wet), dews)]


def air_and_soil(s, outlet, few):
    """Yield (house, ok, soil, ok, outlet, ok, outside, ok, humidity, ok, dew, ok) of every situation."""
    thin = slice(None, None, 3) if few else slice(None)
    dry = (LOST, 0, LOST, 0)
    mild = [(1000, 1)] if not s.vent_fitted else [(1499, 1), (1500, 1)]
    for house in houses(s):
        for soil in soils(s, house)[thin]:
            for damp, outside in product(damps(s, soil), mild):
                yield (house, 1, soil, 1, soil, 1, *outside, *damp)
        for value, ok in [(LOST, 0)] + [(value, 1) for value in edges(house - 100, house + 100) if outlet]:
            yield (house, 1, LOST, 0, value, ok, *mild[0], *dry)
    for (outside, ok), (soil, soil_ok) in product(outsides(s), ((LOST, 0), (2000, 1))):
        yield (LOST, 0, soil, soil_ok, LOST, 0, outside, ok, *dry)


def readings(name, few=False):
    """Return the list of Readings that the search offers to every state of one file; few: a third of the soils."""
    s = settings_of(name)
    hands, requests = (HAND_AUTO, HAND_ON, HAND_OFF), (REQUEST_NONE, REQUEST_TRIAL)
    out = []
    for place, hand, request, elapsed_s in product(
        air_and_soil(s, file_of(name).outlet, few), hands, requests, file_of(name).steps
    ):
        if hand != HAND_AUTO and request:  # the switch is asked first
            continue
        house, house_ok, soil, soil_ok, outlet, outlet_ok, outside, outside_ok, wet, wet_ok, dew, dew_ok = place
        reading = (
            elapsed_s, house, house_ok, house_ok, soil, soil_ok, outlet, outlet_ok, outside, outside_ok,
            LOST, 0, wet, wet_ok, dew, dew_ok, hand, request, 0, 0,
        )  # fmt: skip
        out.append(Reading(*reading))
    return out
