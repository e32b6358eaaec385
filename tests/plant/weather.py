"""Weather of one minute steps: real typical-year hours, with clouds and gusts put between them.

Hours: the TMY3 files inside the pvlib wheel (US National Solar Radiation Data Base, NREL). Between the hours a
seeded process, stated here in full:

clouds  x = Ornstein-Uhlenbeck, unit variance, time constant `cloud_s`. The share of the hour with sun, s, is the
        file's beam over a clear sky's beam, joined linearly between hours. The sun is out where x is below
        the s-quantile, with a soft edge; beam is then scaled so that each hour keeps the file's mean
        (as far as 1.6 x clear sky allows). Diffuse rises a quarter when the beam is hidden, hour kept.
gusts   wind = file's wind, joined linearly, times exp(OU - variance/2), time constant `gust_s`, so that the mean
        stays; the standard deviation of the log is `gustiness` (turbulence intensity of 0.2-0.4 is usual in the
        lowest 10 m over open to wooded ground; from memory of any wind engineering text).
air     temperature and dew point joined linearly, plus an OU wander of 0.15 K, time constant 10 min (assumption,
        range 0.05-0.4 K), so that no two minutes are alike; humidity follows from both.
sky     clear-sky emissivity from the dew point (Berdahl & Martin 1984, Solar Energy 32, 663), and cloud cover by
        0.84 n (Unsworth & Monteith 1975, Q. J. R. Met. Soc. 101, 13).
"""

from dataclasses import dataclass
from functools import lru_cache
from math import pi
from pathlib import Path

import numpy as np

from tests.plant import psychro, sun

SIGMA = 5.670374e-8  # [W/m2 K4] Stefan-Boltzmann
MINUTES = 60


@dataclass(frozen=True)
class Weather:
    """Which hours of which typical year, where, and how restless.

    start : "MM-DD" local standard date of the first logged day; year : the year the log is stamped with.
    warmer : [K] added to air and dew point, dull : factor on the sun, windier : factor on the wind.
    """

    name: str
    file: str
    start: str
    year: int = 2025
    warmer: float = 0.0
    dull: float = 1.0
    windier: float = 1.0
    cloud_s: float = 480.0
    gust_s: float = 150.0
    gustiness: float = 0.3
    seed: int = 1


MILD_SPRING = Weather("mild spring", "723170TYA.CSV", "03-20")
HARD_WINTER = Weather("hard winter", "723170TYA.CSV", "01-08", gustiness=0.35)
GREY_WET = Weather("grey and wet", "703165TY.csv", "11-01", cloud_s=360.0, gustiness=0.35)
WEATHERS = {w.name: w for w in (MILD_SPRING, HARD_WINTER, GREY_WET)}


@dataclass(frozen=True)
class Hours:
    """One typical year by the hour, local standard time; row i covers hour i to i + 1. Arrays shape (8760,)."""

    latitude: float
    longitude: float
    altitude: float
    zone_h: float
    beam: np.ndarray
    diffuse: np.ndarray
    air: np.ndarray
    dew: np.ndarray
    wind: np.ndarray
    cloud: np.ndarray
    pressure: float


@dataclass(frozen=True)
class Minutes:
    """Weather by the minute. Arrays shape (n,); unix_s is the UTC second at which each minute starts."""

    unix_s: np.ndarray
    air: np.ndarray  # [degC]
    ratio: np.ndarray  # [kg/kg]
    wind: np.ndarray  # [m/s] at 10 m
    sky: np.ndarray  # [degC] effective sky temperature
    beam: np.ndarray  # [W/m2] on a surface facing the sun
    diffuse: np.ndarray  # [W/m2] horizontal
    whole: np.ndarray  # [W/m2] global horizontal
    elevation: np.ndarray  # [deg]
    azimuth: np.ndarray  # [deg]
    pressure: float  # [Pa]
    altitude: float  # [m]


@lru_cache(maxsize=4)
def read_hours(name):
    """Read one typical year from the pvlib wheel. -> Hours. Raises FileNotFoundError when it is not there."""
    import pvlib

    path = Path(pvlib.__file__).parent / "data" / name
    table, about = pvlib.iotools.read_tmy3(path, map_variables=True, coerce_year=2001)
    column = {c.lower(): c for c in table.columns}

    def get(*names):
        for n in names:
            if n in column:
                return table[column[n]].to_numpy(dtype=float)
        raise KeyError(names)

    altitude = float(about["altitude"])
    return Hours(
        latitude=float(about["latitude"]),
        longitude=float(about["longitude"]),
        altitude=altitude,
        zone_h=float(about["TZ"]),
        beam=get("dni"),
        diffuse=get("dhi"),
        air=get("temp_air", "drybulb"),
        dew=get("temp_dew", "dewpoint"),
        wind=get("wind_speed", "wspd"),
        cloud=np.clip(get("totcld", "totcld (tenths)") / 10.0, 0.0, 1.0),
        pressure=psychro.standard_pressure(altitude),
    )


def wander(rng, n, constant_s, step_s=60.0):
    """Ornstein-Uhlenbeck path, unit variance, shape (n,), exact for any step (Gillespie 1996, Phys. Rev. E 54)."""
    from scipy.signal import lfilter

    keep = np.exp(-step_s / constant_s)
    noise = rng.standard_normal(n) * np.sqrt(1 - keep * keep)
    noise[:1] /= np.sqrt(1 - keep * keep)
    return lfilter([1.0], [1.0, -keep], noise)


def keep_hours(values, hourly, limit=None):
    """Scale each hour of minute values to the hourly mean, then shift what a limit cut off. shape (n,)"""
    block = values.reshape(-1, MINUTES)
    mean = block.mean(1, keepdims=True)
    block = np.where(mean > 1e-9, block * (hourly[:, None] / np.maximum(mean, 1e-9)), 0.0)
    if limit is not None:
        room = limit.reshape(-1, MINUTES)
        for _ in range(4):
            block = np.minimum(block, room)
            short = hourly[:, None] - block.mean(1, keepdims=True)
            gap = room - block
            block = block + gap * np.clip(short / np.maximum(gap.mean(1, keepdims=True), 1e-9), 0.0, 1.0)
    return block.reshape(-1)


def _join(hourly, first, n):
    """Join hourly values linearly to minutes; row i of a TMY3 file is read at the end of hour i (its manual)."""
    hours = hourly.size
    where = np.arange(n) / 60.0 + first - 1.0
    low = np.floor(where).astype(int)
    part = where - low
    return hourly[low % hours] * (1 - part) + hourly[(low + 1) % hours] * part


def _sun_minutes(weather, hours, first, n, unix_s, rng):
    """Minute beam, diffuse, elevation, azimuth; hourly means as in the file. Each shape (n,)."""
    elevation, azimuth = sun.sun_position(unix_s + 30.0, hours.latitude, hours.longitude)
    clear = sun.clear_beam(elevation, hours.altitude)
    index = (first + np.arange(n // MINUTES)) % hours.beam.size
    beam_h, diffuse_h = hours.beam[index] * weather.dull, hours.diffuse[index] * weather.dull
    clear_h = clear.reshape(-1, MINUTES).mean(1)
    # hours with the sun hardly up carry no beam; the file's few watts there are left out
    up = clear_h > 20.0
    share_h = np.where(up, np.clip(beam_h / np.maximum(clear_h, 1.0), 0.0, 1.0), 0.0)
    middle = np.arange(n) / MINUTES - 0.5
    share = np.interp(middle, np.arange(share_h.size), share_h)
    from scipy.special import ndtr, ndtri

    cover = ndtr(wander(rng, n, weather.cloud_s))
    edge = 0.05
    out = 1.0 / (1.0 + np.exp(np.clip((ndtri(cover) - ndtri(np.clip(share, 1e-4, 1 - 1e-4))) / edge, -50, 50)))
    out = np.where(share > 0.97, 1.0, out)
    beam = keep_hours(clear * np.maximum(out, 0.02), np.where(up, beam_h, 0.0), 1.6 * clear)
    sky_shape = np.maximum(np.sin(np.radians(elevation)) + 0.05, 0.0)
    hidden = np.where(share > 0.97, 0.0, 1.0 - out)
    diffuse = keep_hours(sky_shape * (1 + 0.25 * hidden), diffuse_h)
    return beam, diffuse, elevation, azimuth


@lru_cache(maxsize=12)
def minutes(weather, days, warmup_days):
    """Weather from warmup_days before the start to days after it, by the minute. -> Minutes

    Equal arguments give equal arrays, whatever the house or the settings.
    """
    hours = read_hours(weather.file)
    month, day = (int(x) for x in weather.start.split("-"))
    local = np.datetime64(f"{weather.year}-{month:02d}-{day:02d}T00:00:00") - np.timedelta64(int(warmup_days * 24), "h")
    unix_0 = int(local.astype("datetime64[s]").astype(int)) - round(hours.zone_h * 3600)
    n = int((days + warmup_days) * 24) * MINUTES
    day_of_year = (np.datetime64(f"2001-{month:02d}-{day:02d}") - np.datetime64("2001-01-01")).astype(int)
    first = int(day_of_year * 24 - warmup_days * 24)
    unix_s = unix_0 + 60.0 * np.arange(n)
    # one generator each, so that a shorter run is the beginning of a longer one
    clouds, air_wander, gusts = (np.random.default_rng([weather.seed, k]) for k in (7919, 7927, 7933))
    beam, diffuse, elevation, azimuth = _sun_minutes(weather, hours, first, n, unix_s, clouds)
    air = _join(hours.air, first, n) + weather.warmer + 0.15 * wander(air_wander, n, 600.0)
    dew = np.minimum(_join(hours.dew, first, n) + weather.warmer, air - 0.1)
    gust = weather.gustiness
    wind = (
        _join(hours.wind, first, n)
        * weather.windier
        * np.exp(gust * wander(gusts, n, weather.gust_s) - gust * gust / 2)
    )
    cloud = _join(hours.cloud, first, n)
    clear_sky = 0.711 + 0.56 * (dew / 100) + 0.73 * (dew / 100) ** 2
    emissivity = np.clip(clear_sky * (1 - 0.84 * cloud) + 0.84 * cloud, 0.5, 1.0)
    vapour = np.array([psychro.saturation_pressure(d) for d in dew])
    return Minutes(
        unix_s=unix_s,
        air=air,
        ratio=psychro.RATIO * vapour / (hours.pressure - vapour),
        wind=np.maximum(wind, 0.1),
        sky=(air + 273.15) * emissivity**0.25 - 273.15,
        beam=beam,
        diffuse=diffuse,
        whole=diffuse + beam * np.maximum(np.sin(np.radians(elevation)), 0.0),
        elevation=elevation,
        azimuth=azimuth,
        pressure=hours.pressure,
        altitude=hours.altitude,
    )


def ground_wave(hours):
    """Yearly wave of the surface: mean [degC], amplitude [K], day of the coldest surface [day].

    First harmonic of the air temperature. Taking the ground surface as the air's wave is the usual
    first guess (Kusuda & Achenbach 1965); bare ground differs by 0-2 K in the mean (assumption).
    """
    t = (np.arange(hours.air.size) + 0.5) / 24.0
    w = 2 * pi / 365.0
    c, s = 2 * (hours.air * np.cos(w * t)).mean(), 2 * (hours.air * np.sin(w * t)).mean()
    coldest = (np.arctan2(-s, -c) / w) % 365.0
    return float(hours.air.mean()), float(np.hypot(c, s)), float(coldest)
