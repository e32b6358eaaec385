"""Builders for tests of the core: a reading, a state, a few steps, each with only what the test is about."""

from controller.core import decide, rows, screen
from controller.core.units import LOST

DEFAULTS = rows.defaults()
FREE_RUNNING = {"run_s": 0, "rest_s": 7200, "wake_s": 180}


def settings(**changed):
    """Return the default Settings with some fields changed (core units)."""
    return DEFAULTS._replace(**changed)


def reading(house=LOST, soil=LOST, outlet=LOST, outside=LOST, humid_air=LOST, humidity=LOST, **more):
    """Return a Reading in hundredths and tenths; what is not given is lost. elapsed_s is 60 unless given."""
    house_known, air_known = house != LOST, humid_air != LOST
    fields = {
        "elapsed_s": 60,
        "house_centi_c": house if house_known else humid_air,
        "house_ok": int(house_known or air_known),
        "house_probe_ok": int(house_known),
        "soil_centi_c": soil,
        "soil_ok": int(soil != LOST),
        "outlet_centi_c": outlet,
        "outlet_ok": int(outlet != LOST),
        "outside_centi_c": outside,
        "outside_ok": int(outside != LOST),
        "humid_air_centi_c": humid_air,
        "humid_air_ok": int(air_known),
        "humidity_deci_pct": humidity,
        "humidity_ok": int(humidity != LOST),
        "dew_centi_c": LOST,
        "dew_ok": 0,
        "hand": screen.HAND_AUTO,
        "request": screen.REQUEST_NONE,
        "readback": screen.NOT_FITTED,
        "stuck": 0,
    }
    if "dew" in more:
        fields.update(dew_centi_c=more.pop("dew"), dew_ok=1)
    fields.update(more)
    return screen.Reading(**fields)


def state(s=DEFAULTS, **deciding):
    """Return a State long past power-up and rested, with some deciding fields changed."""
    fresh = decide.start(s)
    awake = fresh.deciding._replace(wake_s=s.lost_after_s, rest_s=1800, heater_s=s.min_rest_s, vent_s=s.min_rest_s)
    alarm_state = fresh.counters.alarm_state._replace(up_s=s.lost_after_s)
    counters = fresh.counters._replace(alarm_state=alarm_state)
    return decide.State(awake._replace(**deciding), counters)


def step(s=DEFAULTS, before=None, **read):
    """Return the State one step after before (rested, by default) under a reading."""
    return decide.step(s, state(s) if before is None else before, reading(**read))


def steps(s, before, count, **read):
    """Return the list of States of count equal steps."""
    out = []
    for _ in range(count):
        before = decide.step(s, before, reading(**read))
        out.append(before)
    return out
