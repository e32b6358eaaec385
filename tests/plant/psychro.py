"""Moist air: the few equations the plant needs, scalar and fast.

Names: humidity ratio w [kg water per kg dry air], temperatures [degC], pressures [Pa], enthalpies [J/kg].
Source of every equation unless said otherwise: ASHRAE Handbook Fundamentals 2017, chapter 1, as restated in
the open library psychrolib, against which tests/test_plant_air.py holds this file.
"""

from math import exp, log

from tests.plant.jit import jit

CP_AIR = 1006.0  # [J/kg K] dry air, chapter 1 eq. 30
CP_VAPOUR = 1860.0  # [J/kg K] water vapour, chapter 1 eq. 30
CP_WATER = 4186.0  # [J/kg K] liquid water at 15 degC, from memory of any steam table
LATENT_0 = 2.501e6  # [J/kg] latent heat of evaporation at 0 degC, chapter 1 eq. 30
R_AIR = 287.042  # [J/kg K] gas constant of dry air, chapter 1 eq. 1
RATIO = 0.621945  # molar mass of water over that of dry air, chapter 1 eq. 20
LEWIS = 0.91  # Le ** (2/3) for water vapour in air, Le = 0.87; Incropera & DeWitt, heat and mass analogy (from memory)


@jit
def saturation_pressure(t):
    """Saturation pressure of water vapour at t [degC], over ice below 0.01 degC. [Pa] Source: eq. 5 and 6."""
    k = t + 273.15
    if t <= 0.01:
        return exp(
            -5.6745359e3 / k
            + 6.3925247
            - 9.677843e-3 * k
            + 6.2215701e-7 * k * k
            + 2.0747825e-9 * k * k * k
            - 9.484024e-13 * k * k * k * k
            + 4.1635019 * log(k)
        )
    return exp(
        -5.8002206e3 / k
        + 1.3914993
        - 4.8640239e-2 * k
        + 4.1764768e-5 * k * k
        - 1.4452093e-8 * k * k * k
        + 6.5459673 * log(k)
    )


@jit
def saturation_ratio(t, pressure):
    """Humidity ratio of saturated air at t. [kg/kg] Source: eq. 21, without the enhancement factor (0.5 %)."""
    p = saturation_pressure(t)
    return RATIO * p / (pressure - p)


@jit
def vapour_pressure(w, pressure):
    """Partial pressure of the vapour in air of humidity ratio w. [Pa] Source: eq. 20 solved for p_w."""
    return pressure * w / (RATIO + w)


@jit
def relative_humidity(t, w, pressure):
    """Relative humidity, 0 to 1 (above 1 in fog). [-] Source: eq. 12."""
    return vapour_pressure(w, pressure) / saturation_pressure(t)


@jit
def humidity_over_water(t, w, pressure):
    """Relative humidity as humidity chips report it: over water even below 0 degC. [-]

    Source: Magnus form 611.2 exp(17.62 t / (243.12 + t)) (WMO guide; coefficients from memory).
    """
    return vapour_pressure(w, pressure) / (611.2 * exp(17.62 * t / (243.12 + t)))


@jit
def ratio_from_humidity(t, humidity, pressure):
    """Humidity ratio of air at t with relative humidity 0 to 1. [kg/kg] Source: eq. 12 and 20."""
    p = humidity * saturation_pressure(t)
    return RATIO * p / (pressure - p)


@jit
def dew_point(w, pressure):
    """Dew point (frost point below 0 degC) by Newton on ln p. [degC] Source: the inverse of eq. 5 and 6."""
    target = log(max(vapour_pressure(w, pressure), 1e-3))
    t = 15.0
    for _ in range(30):
        here = log(saturation_pressure(t))
        slope = (log(saturation_pressure(t + 0.01)) - here) / 0.01
        move = (target - here) / slope
        t += max(-15.0, min(15.0, move))
        if abs(move) < 1e-6:
            break
    return t


@jit
def vapour_enthalpy(t):
    """Enthalpy of water vapour at t, liquid at 0 degC being zero. [J/kg] Source: eq. 30."""
    return LATENT_0 + CP_VAPOUR * t


@jit
def moist_enthalpy(t, w):
    """Enthalpy of moist air per kg dry air. [J/kg] Source: eq. 30."""
    return CP_AIR * t + w * (LATENT_0 + CP_VAPOUR * t)


@jit
def dry_density(t, w, pressure):
    """Kilograms of dry air in a cubic metre of moist air. [kg/m3] Source: eq. 26, one over it."""
    return pressure / (R_AIR * (t + 273.15) * (1.0 + w / RATIO))


@jit
def standard_pressure(elevation):
    """Pressure of the standard atmosphere at elevation [m]. [Pa] Source: chapter 1 eq. 3."""
    return 101325.0 * (1.0 - 2.25577e-5 * elevation) ** 5.2559
