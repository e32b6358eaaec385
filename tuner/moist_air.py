"""Properties of moist air, for whole columns and inside compiled loops.

Numerically psychrolib's equations (a test holds them to it); psychrolib itself takes one value at a time.
Source of all: ASHRAE Handbook Fundamentals 2017, chapter 1, as printed in psychrolib.
"""

import numpy as np

from tuner.core_numba import jit

MASS_RATIO = 0.621945  # molar mass of water over that of dry air
_LOWEST, _HIGHEST, _STEP = -60.0, 90.0, 0.05


def saturation_pressure(temperature, over_water=False):
    """Pressure of water vapour at saturation [Pa], below the triple point over ice, or over_water as probes take it.

    temperature: ndarray or float, -100 to 200 [degC].
    """
    t = np.asarray(temperature, float) + 273.15
    ice = -5.6745359e3 / t + 6.3925247 + t * (
        -9.677843e-3 + t * (6.2215701e-7 + t * (2.0747825e-9 - 9.484024e-13 * t))
    )
    ice = ice + 4.1635019 * np.log(t)
    water = -5.8002206e3 / t + 1.3914993 + t * (-4.8640239e-2 + t * (4.1764768e-5 - 1.4452093e-8 * t))
    water = water + 6.5459673 * np.log(t)
    return np.exp(np.where((np.asarray(temperature) <= 0.01) & (not over_water), ice, water))


_GRID = _LOWEST + _STEP * np.arange(round((_HIGHEST - _LOWEST) / _STEP) + 2)
_TABLE = saturation_pressure(_GRID)


@jit
def saturation_ratio(temperature, pressure):
    """Humidity ratio of saturated air [kg/kg], inside compiled loops; temperature [degC], pressure [Pa].

    Linear between table values 0.05 K apart: within 2e-5 of saturation_pressure. Held at -60 and 90 degC.
    """
    place = (min(max(temperature, _LOWEST), _HIGHEST) - _LOWEST) / _STEP
    low = int(place)
    vapour = _TABLE[low] + (place - low) * (_TABLE[low + 1] - _TABLE[low])
    return MASS_RATIO * vapour / (pressure - vapour)


def humidity_ratio(temperature, humidity_pct, pressure):
    """Humidity ratio of air [kg/kg]; temperature [degC], humidity over water [percent], pressure [Pa], shape (n,)."""
    vapour = np.clip(humidity_pct, 0.0, 100.0) / 100.0 * saturation_pressure(temperature, over_water=True)
    return MASS_RATIO * vapour / (pressure - vapour)


def air_pressure(elevation_m):
    """Pressure of the standard atmosphere at a height above the sea [Pa]."""
    return 101325.0 * (1.0 - 2.25577e-5 * elevation_m) ** 5.2559
