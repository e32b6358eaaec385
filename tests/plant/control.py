"""Who switches the fan: the board's own rules (controller.core, called by the loop), or a plain thermostat."""

from controller.core import decide, screen, settings, units
from tests.plant.jit import jit

BY_CORE, BY_TWO_SETPOINTS = 0, 1
DRIVERS = {"core": BY_CORE, "two_setpoint": BY_TWO_SETPOINTS}


@jit
def two_setpoints(s, fan, house_centi_c):
    """A plain two-setpoint thermostat with one probe: 1 fan on, 0 off.

    Uses only the setpoints and bands of Settings s; knows no soil, no timers. With its probe lost it keeps the fan off
    (an open probe circuit opens the contact; common practice, no source).
    """
    if house_centi_c == units.LOST:
        return 0
    if house_centi_c >= s.charge_above_centi_c or house_centi_c <= s.discharge_below_centi_c:
        return 1
    hot_side = house_centi_c > s.charge_above_centi_c - s.charge_band_centi_c
    cold_side = house_centi_c < s.discharge_below_centi_c + s.discharge_band_centi_c
    return 1 if fan and (hot_side or cold_side) else 0


def settings_of(given):
    """Core Settings from None (defaults), a file's mapping, or Settings. Raises ValueError with every fault."""
    if given is None:
        return settings.from_mapping({})[0]
    if isinstance(given, tuple):
        return given
    made, faults = settings.from_mapping(given)
    if faults:
        raise ValueError("; ".join(faults))
    return made


def power_up(s):
    """(State, Screen) at power-up under Settings s."""
    return decide.start(s), screen.start()
