"""The heat that the pipe air carries between store and house, from what the probes say. [J, kg]

Lives here: moist air and one row's heat. Never here: money, fitted houses (they bring their own heat, see HeatRows).

Control volume from the house intake to the outlet: the air gains what the soil gives it and what the motor in the
stream adds, and it leaves behind the water that its outlet temperature cannot hold.
"""

from dataclasses import dataclass, replace

import numpy as np

from tuner import fan_power

CP_DRY, CP_VAPOUR = 1006.0, 1860.0  # [J/kg/K], ASHRAE Fundamentals 2017 chapter 1
R_DRY, R_VAPOUR = 287.042, 461.52  # [J/kg/K], the same
WATER_SHARE = 0.621945  # molar mass of water over that of dry air, the same
JOULES_PER_KWH = 3.6e6

# How well the heat is known where probes and a stated airflow give it (one standard deviation, our estimate: few
# growers measure airflow better, and two DS18B20-type probes side by side agree about this well).
AIRFLOW_SD = 0.10  # share of the airflow
PROBES_SD = 0.2  # outlet minus house [K]
LEAST_KWH = 0.5  # less heat than this is not compared


@dataclass(frozen=True)
class HeatRows:
    """Heat from the store to the house in each row, below 0 when it is stored; arrays of float, shape (n,).

    joule : NaN where it is not known. [J]
    per_kelvin : heat for each kelvin that outlet and house are really apart more than read; 0 for a fitted house. [J/K]
    share_sd : standard deviation of a common factor on all of joule, such as that of the airflow
    water : condensed in the pipes, NaN where it is not known. [kg]
    source : for people, where this comes from
    """

    joule: np.ndarray
    per_kelvin: np.ndarray
    share_sd: float
    water: np.ndarray
    source: str


def pressure_at(elevation):
    """Return the pressure of the standard atmosphere. [Pa]

    elevation : metres above the sea. Source: ASHRAE Fundamentals 2017, chapter 1, equation 3.
    """
    return 101325.0 * (1 - 2.25577e-5 * elevation) ** 5.2559


def saturation_pressure(temperature):
    """Return the vapour pressure over liquid water, below freezing too, as humidity probes take it. [Pa]

    temperature : degC, float or ndarray. Source: Hyland & Wexler 1983, as ASHRAE Fundamentals 2017, chapter 1,
    equation 6.
    """
    kelvin = np.asarray(temperature, dtype=float) + 273.15
    return np.exp(
        -5.8002206e3 / kelvin
        + 1.3914993
        - 4.8640239e-2 * kelvin
        + 4.1764768e-5 * kelvin**2
        - 1.4452093e-8 * kelvin**3
        + 6.5459673 * np.log(kelvin)
    )


def humidity_ratio(temperature, humidity_pct, pressure):
    """Return the water in the air, kg per kg of dry air.

    temperature [degC], humidity_pct [%], pressure [Pa]. Source: ASHRAE Fundamentals 2017, chapter 1, equation 20.
    """
    vapour = np.asarray(humidity_pct) / 100 * saturation_pressure(temperature)
    return WATER_SHARE * vapour / (pressure - vapour)


def dry_air_density(temperature, ratio, pressure):
    """Return kg of dry air in a cubic metre of moist air. temperature [degC], ratio [kg/kg], pressure [Pa]

    Source: ideal gas, ASHRAE Fundamentals 2017, chapter 1, equation 26.
    """
    return pressure / (R_DRY * (np.asarray(temperature) + 273.15) * (1 + ratio / WATER_SHARE))


def vaporisation_heat(temperature):
    """Return the heat of condensation at a temperature. [J/kg]

    temperature [degC]. Source: ASHRAE Fundamentals 2017, chapter 1 (enthalpies of equation 30 less liquid water).
    """
    return 2.501e6 + (CP_VAPOUR - 4186.0) * np.asarray(temperature)


def carried(house, outlet, humidity_pct, flow, pressure):
    """Return (sensible heat the air gains [W], W per kelvin, water it leaves behind [kg/s]); arrays, shape (n,).

    house, outlet [degC]; humidity_pct of the house, NaN unknown; flow of house air [m3/s]; pressure [Pa]
    Without humidity the air counts as dry for its heat, and water is NaN. The water is the least possible: outlet air
    holds at most what saturates it. Water that evaporates again on the way is not seen by these probes.
    """
    ratio = humidity_ratio(house, humidity_pct, pressure)
    dry = np.nan_to_num(ratio)
    stream = flow * dry_air_density(house, dry, pressure)
    water = stream * np.maximum(0.0, ratio - humidity_ratio(outlet, 100.0, pressure))
    per_kelvin = stream * (CP_DRY + CP_VAPOUR * dry)
    return per_kelvin * (outlet - house), per_kelvin, water


def measured(frame, fan_s, on, pct, watts, site):
    """Return the HeatRows that outlet and house probes and the site's airflow give.

    frame : the log's DataFrame, length n
    fan_s, pct, watts : seconds, speed and power at which it ran in each row; on : does it run at each row; shape (n,)

    Each row takes the mean of its ends at which the fan runs.
    The heat of the motor is no heat of the store and is taken off where the motor sits in the stream.
    """
    house, outlet, humidity = (frame[name].to_numpy(dtype=float) for name in ("house", "outlet", "humidity"))
    at_rest = ~on
    house, outlet, humidity = (np.where(at_rest, np.nan, values) for values in (house, outlet, humidity))
    house[np.isnan(outlet)] = np.nan
    outlet[np.isnan(house)] = np.nan
    ends = [fan_power.mean_of_ends(values) for values in (house, outlet, humidity)]
    pressure = pressure_at(site.site.elevation_m)
    sensible, per_kelvin, water = carried(ends[0], ends[1], ends[2], fan_power.airflow(pct, site.fan), pressure)
    motor = np.asarray(watts) if site.fan.motor_in_air else 0.0
    latent = np.nan_to_num(water) * vaporisation_heat(ends[1])
    return HeatRows(
        np.where(fan_s > 0, (sensible - latent - motor) * fan_s, 0.0),
        np.where(fan_s > 0, per_kelvin * fan_s, 0.0),
        AIRFLOW_SD,
        np.where(fan_s > 0, water * fan_s, 0.0),
        "outlet and house probes and the airflow of site.toml",
    )


def calibration(rows, fitted):
    """Return (into, out): what a fitted house's heat must be multiplied by to agree with the measured, each way.

    rows : DataFrame of ledger.Ledger.rows, booked from probes alone; fitted : HeatRows of the same run
    1.0 for a way in which either moved less than LEAST_KWH: too little to compare.
    """
    factors = []
    for way, sign in (("in", -1), ("out", 1)):
        there = (rows["heat_s"] > 0).to_numpy() & (rows[f"{way}_j"] != 0).to_numpy() & ~np.isnan(fitted.joule)
        measured = float(rows[f"{way}_j"].to_numpy()[there].sum())
        told = sign * float(fitted.joule[there].sum())
        enough = min(measured, told) >= LEAST_KWH * JOULES_PER_KWH
        factors.append(measured / told if enough else 1.0)
    return tuple(factors)


def calibrated(fitted, into, out):
    """Return HeatRows with the stored heat times `into` and the heat brought back times `out`."""
    joule = fitted.joule * np.where(fitted.joule < 0, into, out)
    if (into, out) == (1.0, 1.0):
        return fitted
    words = f"{fitted.source}, brought to the heat that the log's probes measured"
    return replace(fitted, joule=joule, share_sd=float(np.hypot(fitted.share_sd, AIRFLOW_SD)), source=words)


def degree_hours(temperatures, base, hours):
    """Return the degree hours below base: each row clipped first, then summed. [K h]

    temperatures [degC], NaN counts nothing; hours that each stands for; shape (n,). Clipping a mean instead would
    lose what warm hours cannot make good.
    """
    below = np.nan_to_num(np.maximum(0.0, base - np.asarray(temperatures, dtype=float)))
    return float((below * hours).sum())


def heating_kwh(loss, degree_h):
    """Return the heat that holds a house with this loss [W/K] at the base of its degree hours [K h]. [kWh]"""
    return loss * degree_h / 1000
