"""Raw readings to trusted readings: plausible, jump, stuck, lost, stand-ins.

What lives here: everything that decides whether a number is believed. One Probe per wire, one Stuck for the house.
What never does: what the fan does with it. Screening a screened log changes nothing: a reading that is not
trusted is a blank, and blanks count like doubtful readings when a new value asks to be believed.
"""

from collections import namedtuple

from controller.core.units import LOST, dew_point_centi_c

HAND_AUTO, HAND_ON, HAND_OFF = 0, 1, 2
REQUEST_NONE, REQUEST_TRIAL = 0, 1
NOT_FITTED, READ_OFF, READ_ON = 0, 1, 2

LONGEST_STEP_S = 3600  # a longer step counts as this
AIR_LOWEST, AIR_HIGHEST = -4000, 7000  # what air in or round a house can be; excludes 85.00 and -127
SOIL_LOWEST, SOIL_HIGHEST = -2000, 5000
JUMP_CENTI_C = 500  # a jump is more than this ...
JUMP_PER_S = 10  # ... plus this for each second since the last trusted reading
STAND_S, STAND_READINGS = 30, 3  # both, before a jump is believed
STUCK_S = 10800  # house reading unchanged for this long
STUCK_MOVED = 200  # and another air probe moved this much: not believed

# What the drivers (or a log) deliver; LOST where there is nothing. humidity in tenths of a percent.
Raw = namedtuple(
    "Raw",
    "elapsed_s house_centi_c soil_centi_c outlet_centi_c outside_centi_c humid_air_centi_c humidity_deci_pct "
    "hand request readback",
)

# What decide reads. x_ok: a trusted value no older than lost_after_s. house may be the humidity probe's own
# temperature (house_probe_ok 0). dew_centi_c comes from that house value and the humidity: hang both together.
Reading = namedtuple(
    "Reading",
    "elapsed_s house_centi_c house_ok house_probe_ok soil_centi_c soil_ok outlet_centi_c outlet_ok "
    "outside_centi_c outside_ok humid_air_centi_c humid_air_ok humidity_deci_pct humidity_ok dew_centi_c dew_ok "
    "hand request readback stuck",
)

# value: last trusted. age_s: since then, saturating. doubt_s, doubt_n: how long and how many readings since trust
# ended. doubt: the value that asks to be believed, LOST when there were only blanks.
Probe = namedtuple("Probe", "value age_s doubt doubt_s doubt_n")

# same_s: since the house's trusted value last changed; the others' lowest and highest meanwhile.
Stuck = namedtuple("Stuck", "same_s outside_low outside_high humid_low humid_high outlet_low outlet_high")

Screen = namedtuple("Screen", "house soil outlet outside humid_air humidity stuck")

NEW_PROBE = Probe(LOST, LONGEST_STEP_S, LOST, 0, 0)
NEW_STUCK = Stuck(0, -LOST, LOST, -LOST, LOST, -LOST, LOST)


def start():
    """Return the Screen at power-up: nothing seen yet."""
    return Screen(NEW_PROBE, NEW_PROBE, NEW_PROBE, NEW_PROBE, NEW_PROBE, NEW_PROBE, NEW_STUCK)


def step_length(elapsed_s):
    """Return elapsed_s held to 0 ... 3600."""
    return min(max(elapsed_s, 0), LONGEST_STEP_S)


def within(value, lowest, highest):
    """Return value, or LOST when it is outside what is possible there."""
    return value if lowest <= value <= highest else LOST


def follows(value, before, elapsed_s):
    """Return 1 when value can have followed before after elapsed_s without a jump."""
    return 1 if abs(value - before) <= JUMP_CENTI_C + JUMP_PER_S * elapsed_s else 0


def probe_step(probe, value, elapsed_s):
    """Return the Probe after one reading, value LOST when there was none. age_s is 0 when it was trusted."""
    age_s = min(probe.age_s + elapsed_s, LONGEST_STEP_S)
    fresh = probe.doubt_n == 0
    doubt_s = 0 if fresh else min(probe.doubt_s + elapsed_s, STAND_S)
    doubt_n = min(probe.doubt_n + 1, STAND_READINGS)
    if value == LOST:
        return Probe(probe.value, age_s, probe.doubt, doubt_s, doubt_n)
    if probe.value == LOST or follows(value, probe.value, age_s):
        return Probe(value, 0, LOST, 0, 0)
    if probe.doubt != LOST and not follows(value, probe.doubt, elapsed_s):
        return Probe(probe.value, age_s, value, 0, 1)
    if doubt_s >= STAND_S and doubt_n >= STAND_READINGS:
        return Probe(value, 0, LOST, 0, 0)
    return Probe(probe.value, age_s, value, doubt_s, doubt_n)


def humidity_step(probe, value, elapsed_s):
    """Return the humidity's Probe: it may move fast, so only what is impossible is refused."""
    if value == LOST:
        return Probe(probe.value, min(probe.age_s + elapsed_s, LONGEST_STEP_S), LOST, 0, 0)
    return Probe(value, 0, LOST, 0, 0)


def trusted_now(probe):
    """Return the value trusted at this very reading, or LOST."""
    return probe.value if probe.age_s == 0 else LOST


def stuck_step(stuck, changed, elapsed_s, outside, humid_air, outlet):
    """Return Stuck after one reading of the others, each a value trusted now or LOST."""
    old = NEW_STUCK if changed else stuck
    return Stuck(
        0 if changed else min(stuck.same_s + elapsed_s, STUCK_S),
        lower(old.outside_low, outside),
        max(old.outside_high, outside),
        lower(old.humid_low, humid_air),
        max(old.humid_high, humid_air),
        lower(old.outlet_low, outlet),
        max(old.outlet_high, outlet),
    )


def lower(low, value):
    """Return the lower of the two, where value LOST does not count."""
    return low if value == LOST else min(low, value)


def disproved(stuck):
    """Return 1 when the house reading stood still while another air probe moved."""
    moved = max(
        stuck.outside_high - stuck.outside_low,
        stuck.humid_high - stuck.humid_low,
        stuck.outlet_high - stuck.outlet_low,
    )
    return 1 if stuck.same_s >= STUCK_S and moved >= STUCK_MOVED else 0


def step(state, raw):
    """Return the Screen after one Raw reading."""
    elapsed_s = step_length(raw.elapsed_s)
    outlet = probe_step(state.outlet, within(raw.outlet_centi_c, AIR_LOWEST, AIR_HIGHEST), elapsed_s)
    outside = probe_step(state.outside, within(raw.outside_centi_c, AIR_LOWEST, AIR_HIGHEST), elapsed_s)
    humid_air = probe_step(state.humid_air, within(raw.humid_air_centi_c, AIR_LOWEST, AIR_HIGHEST), elapsed_s)
    house = probe_step(state.house, within(raw.house_centi_c, AIR_LOWEST, AIR_HIGHEST), elapsed_s)
    changed = 1 if house.value != state.house.value else 0
    stuck = stuck_step(
        state.stuck, changed, elapsed_s, trusted_now(outside), trusted_now(humid_air), trusted_now(outlet)
    )
    return Screen(
        probe_step(state.house, LOST, elapsed_s) if disproved(stuck) else house,
        probe_step(state.soil, within(raw.soil_centi_c, SOIL_LOWEST, SOIL_HIGHEST), elapsed_s),
        outlet,
        outside,
        humid_air,
        humidity_step(state.humidity, within(raw.humidity_deci_pct, 0, 1000), elapsed_s),
        stuck,
    )


def known(settings, probe):
    """Return 1 while the probe's last trusted value is younger than lost_after_s."""
    return 1 if probe.value != LOST and probe.age_s < settings.lost_after_s else 0


def reading(settings, state, raw):
    """Return the Reading for decide. Raw supplies the step's length, the switch, the request and the readback."""
    probe_ok, humid_air_ok = known(settings, state.house), known(settings, state.humid_air)
    house = state.house.value if probe_ok or not humid_air_ok else state.humid_air.value
    house_ok = 1 if probe_ok or humid_air_ok else 0
    humidity_ok = known(settings, state.humidity)
    dew_ok = 1 if humidity_ok and house_ok else 0
    dew = dew_point_centi_c(house, state.humidity.value) if dew_ok else LOST
    return Reading(
        step_length(raw.elapsed_s),
        house,
        house_ok,
        probe_ok,
        state.soil.value,
        known(settings, state.soil),
        state.outlet.value,
        known(settings, state.outlet),
        state.outside.value,
        known(settings, state.outside),
        state.humid_air.value,
        humid_air_ok,
        state.humidity.value,
        humidity_ok,
        dew,
        dew_ok,
        raw.hand,
        raw.request,
        raw.readback,
        1 if state.stuck.same_s >= STUCK_S and state.house.value != LOST else 0,
    )


def logged(state, r):
    """Return (house, soil, outlet, outside, humidity) for the log: trusted at this very reading, or LOST.

    The humidity probe's own temperature is logged as the house while it stands in for it.
    """
    stands_in = r.house_ok and not r.house_probe_ok
    return (
        trusted_now(state.humid_air if stands_in else state.house),
        trusted_now(state.soil),
        trusted_now(state.outlet),
        trusted_now(state.outside),
        trusted_now(state.humidity),
    )
