"""Checks of moist air, sun and weather against outside sources."""

import numpy as np

from tests.plant import psychro, shapes, sun, weather
from tests.plant.checking import between, near, within
from tests.plant.houses import HOUSES, TWIN_WALL

# ASHRAE Fundamentals 2017 ch. 1 table 3, as reproduced in psychrolib's own tests. [degC], [Pa]
SATURATION = ((-20.0, 103.24), (-5.0, 401.74), (5.0, 872.6), (25.0, 3169.7), (50.0, 12351.3))
STATES = (
    (25.0, 0.50, 101325.0),
    (35.0, 0.60, 101325.0),
    (30.0, 0.90, 101325.0),
    (20.0, 0.95, 101325.0),
    (10.0, 0.80, 101325.0),
    (2.0, 0.95, 101325.0),
    (0.0, 0.90, 101325.0),
    (-5.0, 0.80, 101325.0),
    (40.0, 0.30, 101325.0),
    (30.0, 0.70, 85000.0),
)
# Times (UTC seconds), latitude, longitude. The first is the case of NREL's solar position algorithm report.
PLACES = (
    (1066419030, 39.742476, -105.1786),
    (1766318400, 52.0, 0.0),
    (1750507200, 52.0, 0.0),
    (1742461200, 52.0, 0.0),
    (1766343600, 35.05, -106.54),
    (1750532400, 35.05, -106.54),
)


def moist_air():
    """Moist air against psychrolib and the printed table."""
    import psychrolib as p

    p.SetUnitSystem(p.SI)
    rows = [
        within(
            f"saturation pressure at {t:g} degC, share off",
            "ASHRAE Fundamentals 2017 ch. 1 table 3",
            3e-4,
            psychro.saturation_pressure(t) / e - 1,
        )
        for t, e in SATURATION
    ]
    for t, humidity, pressure in STATES:
        w = psychro.ratio_from_humidity(t, humidity, pressure)
        name, source = f"at {t:g} degC, {100 * humidity:g} %, {pressure:g} Pa", "psychrolib 2.5"
        expected = p.GetHumRatioFromRelHum(t, humidity, pressure)
        dry = p.GetMoistAirDensity(t, w, pressure) / (1 + w)
        rows += [
            within(f"humidity ratio {name}, share off", source, 1e-4, w / expected - 1),
            near(
                f"dew point {name} [degC]",
                source,
                p.GetTDewPointFromRelHum(t, humidity),
                psychro.dew_point(w, pressure),
                0.01,
            ),
            near(f"enthalpy {name} [J/kg]", source, p.GetMoistAirEnthalpy(t, w), psychro.moist_enthalpy(t, w), 5.0),
            within(f"dry air density {name}, share off", source, 1e-4, psychro.dry_density(t, w, pressure) / dry - 1),
            near(f"relative humidity {name}", "the inverse", humidity, psychro.relative_humidity(t, w, pressure), 1e-6),
        ]
    rows.append(
        near(
            "standard pressure at 500 m [Pa]",
            "ASHRAE Fundamentals 2017 ch. 1 table 1",
            95461.0,
            psychro.standard_pressure(500.0),
            2.0,
        )
    )
    return rows


def sun_and_cover():
    """Sun position against pvlib, light on facets against closed forms, Fresnel against textbook values."""
    import pandas as pd
    import pvlib

    rows = []
    for unix_s, latitude, longitude in PLACES:
        moment = pd.DatetimeIndex([pd.Timestamp(unix_s, unit="s", tz="UTC")])
        expected = pvlib.solarposition.get_solarposition(moment, latitude, longitude)
        elevation, azimuth = sun.sun_position(np.array([unix_s]), latitude, longitude)
        rows += [
            near(
                f"sun elevation, {moment[0]:%Y-%m-%d %H:%M} UTC [deg]",
                "pvlib 0.16, NREL SPA",
                float(expected["elevation"].iloc[0]),
                float(elevation[0]),
                0.03,
            ),
            near(
                f"sun azimuth, {moment[0]:%Y-%m-%d %H:%M} UTC [deg]",
                "pvlib 0.16, NREL SPA",
                float(expected["azimuth"].iloc[0]),
                float(azimuth[0]),
                0.05,
            ),
        ]
    facet = np.array([[1.0, 35.0, 200.0]])
    aoi = float(pvlib.irradiance.aoi_projection(35.0, 200.0, 60.0, 150.0))
    _, on = sun.cover_share(facet, np.array([30.0]), np.array([150.0]), TWIN_WALL)
    rows.append(near("cosine of incidence on a facet", "pvlib aoi_projection", aoi, float(on[0]), 1e-9))
    _, _, sky_on, _ = sun.diffuse_share(facet, TWIN_WALL, 0.2)
    rows.append(
        near("diffuse light on a facet", "pvlib isotropic", float(pvlib.irradiance.isotropic(35.0, 1.0)), sky_on, 1e-9)
    )
    dome = np.array(shapes.dome(3.0, 24, 72))
    for elevation in (15.0, 45.0, 90.0):
        _, on = sun.cover_share(dome, np.array([elevation]), np.array([123.0]), TWIN_WALL)
        exact = np.pi * 9.0 * (1 + np.sin(np.radians(elevation))) / 2
        rows.append(
            within(
                f"shadow of a dome, sun at {elevation:g} deg, share off",
                "half sphere: pi r2 (1 + sin e) / 2",
                0.01,
                on[0] / exact - 1,
            )
        )
    one = np.array([0.05, 60.0])
    through = sun.fresnel_transmission(one, 1)
    rows += [
        near(
            "one sheet, straight on: transmission",
            "reflectance 0.0434 a surface, n 1.526, Duffie & Beckman ex. 5.1.1",
            (1 - 0.0434) / 1.0434,
            float(through[0]),
            1e-3,
        ),
        near(
            "one sheet at 60 deg: transmission",
            "reflectances 0.185 and 0.001, same example",
            0.5 * ((1 - 0.185) / 1.185 + 0.999 / 1.001),
            float(through[1]),
            3e-3,
        ),
    ]
    # twin-wall polycarbonate passes 78-82 % of light (extension note on glazing); ours is the sheet with dirt and frame
    bare = float(sun.fresnel_transmission(np.array([0.05]), 2)[0])
    rows.append(
        between("twin wall straight on, without frame", "extension.org glazing note: 78-82 %", 0.76, 0.86, bare * 0.95)
    )
    return rows


def hours_kept():
    """Minutes between the hours: the file's sums and the shape of a sky."""
    rows = []
    for climate in weather.WEATHERS.values():
        hours, m = weather.read_hours(climate.file), weather.minutes(climate, 14, 7)
        month, day = (int(x) for x in climate.start.split("-"))
        start = (np.datetime64(f"2001-{month:02d}-{day:02d}") - np.datetime64("2001-01-01")).astype(int) * 24 - 7 * 24
        index = (start + np.arange(21 * 24)) % 8760
        beam, diffuse = hours.beam[index].sum(), hours.diffuse[index].sum()
        depression = float((m.air - m.sky).mean())
        rows += [
            # a beam the file has while the sun is hardly up is left out: up to 5 % of a November at 55 N
            within(f"{climate.name}: beam of 3 weeks, share off", "the TMY3 file", 0.05, m.beam.sum() / 60 / beam - 1),
            within(
                f"{climate.name}: diffuse of 3 weeks, share off",
                "the TMY3 file",
                0.02,
                m.diffuse.sum() / 60 / diffuse - 1,
            ),
            within(f"{climate.name}: mean air, K off", "the TMY3 file", 0.15, m.air.mean() - hours.air[index].mean()),
            within(
                f"{climate.name}: mean wind, share off",
                "the TMY3 file",
                0.04,
                m.wind.mean() / hours.wind[index].mean() - 1,
            ),
            between(f"{climate.name}: sky below air [K]", "5 to 25 K, from memory", 3.0, 25.0, depression),
        ]
    mean = weather.read_hours("723170TYA.CSV").air.mean()
    rows.append(near("723170TYA.CSV: mean air of the year [degC]", "pvlib's own reader", 14.422, float(mean), 0.001))
    return rows


def covers():
    """Facets: a closed shape shades at least its floor."""
    rows = []
    for house in HOUSES.values():
        _, on = sun.cover_share(np.array(house.facets), np.array([50.0]), np.array([180.0]), house.cover)
        floor = house.floor.area * np.sin(np.radians(50.0))
        rows.append(
            between(
                f"{house.name}: shadow over its floor's, sun at 50 deg S",
                "a closed cover shades its floor",
                0.98,
                2.5,
                float(on[0] / floor),
            )
        )
    return rows


def all_checks():
    """Every row of this module."""
    return moist_air() + sun_and_cover() + hours_kept() + covers()
