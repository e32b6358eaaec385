"""Where the sun stands and what a cover lets in. All arrays; computed once per run, outside the jitted loop.

Angles in degrees; azimuth from north through east; times as UTC seconds since 1970.
"""

import numpy as np

SOLAR_CONSTANT = 1353.0  # [W/m2] the value the Meinel formula below was fitted with


def sun_position(unix_s, latitude, longitude):
    """Elevation and azimuth of the sun's centre, without refraction. [deg], each shape (n,)

    Source: Michalsky 1988, Solar Energy 40, 227-235 (the Astronomical Almanac's low-precision formula,
    0.01 deg from 1950 to 2050).
    """
    unix_s = np.asarray(unix_s, dtype=float)
    n = unix_s / 86400.0 + 2440587.5 - 2451545.0
    hour = (unix_s % 86400.0) / 3600.0
    mean_longitude = 280.460 + 0.9856474 * n
    anomaly = np.radians(357.528 + 0.9856003 * n)
    ecliptic = np.radians(mean_longitude + 1.915 * np.sin(anomaly) + 0.020 * np.sin(2 * anomaly))
    tilt = np.radians(23.439 - 4e-7 * n)
    right_ascension = np.arctan2(np.cos(tilt) * np.sin(ecliptic), np.cos(ecliptic))
    declination = np.arcsin(np.sin(tilt) * np.sin(ecliptic))
    sidereal_hour = 6.697375 + 0.0657098242 * n + hour
    hour_angle = np.radians(sidereal_hour * 15.0 + longitude) - right_ascension
    lat = np.radians(latitude)
    sin_el = np.sin(lat) * np.sin(declination) + np.cos(lat) * np.cos(declination) * np.cos(hour_angle)
    east = -np.cos(declination) * np.sin(hour_angle)
    north = np.cos(lat) * np.sin(declination) - np.sin(lat) * np.cos(declination) * np.cos(hour_angle)
    return np.degrees(np.arcsin(np.clip(sin_el, -1, 1))), np.degrees(np.arctan2(east, north)) % 360.0


def clear_beam(elevation, altitude_m):
    """Beam of a clear sky on a surface facing the sun. [W/m2], shape as elevation [deg]

    Source: Meinel & Meinel 1976, Applied Solar Energy, with Laue's altitude term (from memory); it only gives
    the shape within the hour: hourly sums come from the weather file.
    """
    el = np.maximum(elevation, 0.5)
    # Kasten & Young 1989, Applied Optics 28, 4735: relative air mass
    air_mass = 1.0 / (np.sin(np.radians(el)) + 0.50572 * (el + 6.07995) ** -1.6364)
    rise = 0.14 * altitude_m / 1000.0
    beam = SOLAR_CONSTANT * ((1 - rise) * 0.7 ** (air_mass**0.678) + rise)
    return np.where(elevation > 0.5, beam, 0.0)


def fresnel_transmission(incidence, layers, index=1.526):
    """Share of a beam that gets past the surfaces of a clear cover, absorption aside. [-], shape as incidence [deg]

    layers: sheets of two surfaces each. Source: Duffie & Beckman, Solar Engineering of Thermal Processes,
    section 5.1 (Fresnel reflection, mean of the two polarisations).
    """
    a = np.radians(np.clip(incidence, 0.05, 89.9))
    b = np.arcsin(np.sin(a) / index)
    across = (np.sin(b - a) / np.sin(b + a)) ** 2
    along = (np.tan(b - a) / np.tan(b + a)) ** 2
    many = 2 * layers - 1
    both = 0.5 * ((1 - across) / (1 + many * across) + (1 - along) / (1 + many * along))
    return np.where(np.asarray(incidence) >= 90.0, 0.0, both)


def cover_share(facets, elevation, azimuth, cover):
    """What one W/m2 of each kind of light brings in through the whole cover.

    facets : ndarray, shape (f, 3): area [m2], tilt from horizontal, azimuth of the outward normal [deg].
    cover : object with .layers, .clear (absorption and frame, 0 to 1), .solar_absorbed.
    Returns (beam_in, beam_on), each shape (n,): m2 of beam that gets in, and that strikes the cover.
    Isotropic: a facet sees cos(incidence) of the beam. Source: Duffie & Beckman eq. 1.6.3.
    """
    el, az = np.radians(elevation)[:, None], np.radians(azimuth)[:, None]
    area, tilt, face = facets[:, 0], np.radians(facets[:, 1]), np.radians(facets[:, 2])
    cosine = np.sin(el) * np.cos(tilt) + np.cos(el) * np.sin(tilt) * np.cos(az - face)
    cosine = np.where(el > 0, np.clip(cosine, 0.0, 1.0), 0.0)
    incidence = np.degrees(np.arccos(cosine))
    through = fresnel_transmission(incidence, cover.layers) * cover.clear
    return (area * cosine * through).sum(1), (area * cosine).sum(1)


def diffuse_share(facets, cover, albedo):
    """m2 of horizontal diffuse and global radiation that get in through the whole cover, and that strike it.

    Returns (sky_in, ground_in, sky_on, ground_on): multiply the first of each pair by diffuse horizontal,
    the second by global horizontal radiation. Source: isotropic sky, Liu & Jordan 1963, as in Duffie & Beckman
    section 2.15; a diffuse sky is passed as a beam at 60 deg (Brandemuehl & Beckman 1980).
    """
    area, tilt = facets[:, 0], np.radians(facets[:, 1])
    through = float(fresnel_transmission(np.array([60.0]), cover.layers)[0]) * cover.clear
    sky = (area * (1 + np.cos(tilt)) / 2).sum()
    ground = (area * albedo * (1 - np.cos(tilt)) / 2).sum()
    return sky * through, ground * through, sky, ground
