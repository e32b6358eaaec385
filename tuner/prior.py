"""What is believed of a house before its log is read: centres and widths of the priors, from site.toml or its log.

Every figure is common practice or our assumption, and wide. A house's sizes only set the scale: temperatures alone
cannot tell a large house from a small one, so one size (the airflow, else the floor) carries it.
"""

import numpy as np

from tuner import house

AIR = 1206.0  # heat held by air [J/m3/K]
SOIL = 2.4e6  # heat held by moist soil [J/m3/K], de Vries 1963 gives 2.1 to 2.6 for sand to clay at theta 0.2
CONDUCTIVITY = 1.4  # of moist soil [W/m/K], range 0.9 to 2.1, same source
# Loss per square metre of cover, leaks included [W/m2/K]: single layer 5.7 to 6.8, double 3.4 to 4.0 by a
# university extension's glazing notes; leaks 10 to 20 percent of it.
LOSS = {"glass": 6.5, "film": 6.5, "double glass": 4.3, "double film": 4.3, "twin-wall sheet": 4.3, None: 5.5}


def sizes(site):
    """Return the sizes used, guessed where site.toml does not say: floor, volume, cover, pipe length, radius, spacing,
    depth.

    dict of floats in m2, m3, m2, m, m, m, m; "said": set of the names that site.toml gives.
    """
    told = site.house
    pipes = told.pipes
    said = {name for name in ("floor_m2", "volume_m3", "cover_m2") if getattr(told, name) is not None}
    floor = told.floor_m2 or (told.volume_m3 / 2.3 if told.volume_m3 else None) or (
        told.cover_m2 / 2.8 if told.cover_m2 else None
    ) or (site.fan.airflow_m3_h / 15.0 if site.fan.airflow_m3_h else 20.0)
    volume = told.volume_m3 or floor * 2.3
    cover = told.cover_m2 or 1.4 * floor + 6.0 * np.sqrt(floor)
    length = (pipes.count or max(1, round(floor / 4.0))) * (pipes.length_m or np.sqrt(floor) * 1.3)
    if pipes.count and pipes.length_m:
        said.add("pipes")
    spacing = pipes.spacing_m or 0.4
    radius = (pipes.diameter_m or 0.1) / 2.0
    return {
        "floor": floor, "volume": volume, "cover": cover, "length": length, "radius": radius,
        "spacing": max(spacing, 3.0 * radius),
        "depth": pipes.depth_m or 0.6, "said": said,
    }  # fmt: skip


def shell_ratio(size):
    """Half the pipe spacing over the pipe radius."""
    return size["spacing"] / 2.0 / size["radius"]


def centre(site, size, soil, mean_house, timed):
    """Return the centres of all priors in natural units, shape (P,).

    soil, mean_house: mean soil (or house) and house temperature of the log [degC]; timed: fan levels are shares of
    time, not speeds.
    """
    floor, length = size["floor"], size["length"]
    ratio = shell_ratio(size)
    half = size["spacing"] / 2.0
    depth = size["depth"]
    loss = LOSS[site.house.cover] * size["cover"]
    airflow = site.fan.airflow_m3_h or 15.0 * floor
    pressure = 1.0 - 1.1e-4 * site.site.elevation_m
    values = {row.name: row.centre for row in house.PARAMETERS}
    values.update(
        air_capacity=size["volume"] * AIR * 2.0,
        mass_capacity=floor * 7.0e4,
        surface_capacity=floor * 0.05 * SOIL,
        floor_capacity=floor * 0.7 * depth * SOIL,
        loss=loss,
        mass_exchange=floor * 4.0,
        surface_exchange=floor * 8.0,
        floor_exchange=floor * CONDUCTIVITY / (0.2 * depth),
        cover_over_store=floor * CONDUCTIVITY / (0.6 * depth),
        air_stream=airflow / 3600.0 * AIR * pressure,
        soil_capacity=length * np.pi * (half**2 - size["radius"] ** 2) * SOIL,
        soil_conductance=2.0 * np.pi * CONDUCTIVITY * length / np.log(ratio) * 1.3,
        below_capacity=length * size["spacing"] * 0.8 * SOIL,
        ground_exchange=length * size["spacing"] * CONDUCTIVITY / 0.5,
        ground=soil,
        damp_level=mean_house,
        sun_area=floor * 0.7,
        vent_loss=floor * 25.0,
        water_held=0.1 * 2.0 * np.pi * size["radius"] * length,  # 0.05 to 0.3 kg per m2 of wall, assumption
        heater_power=floor * 50.0,
        walk_night=loss * 0.01,
        walk_day=loss * 0.2,
        flow_exponent=1.0 if timed else house.TURBULENT,
    )
    return np.array([values[name] for name in house.NAMES])


# What moves together: (width as a factor of e, parameters). One soil has one conductivity and one heat capacity
# throughout, and a house of unknown scale is unknown in all its parts alike.
SHARED = (
    (0.35, ("soil_conductance", "floor_exchange", "cover_over_store", "ground_exchange")),
    (0.20, ("soil_capacity", "floor_capacity", "surface_capacity", "below_capacity")),
)


# A house whose size site.toml does not tell may be larger or smaller in all that grows with size.
EXTENSIVE = tuple(
    row.name for row in house.PARAMETERS if row.kind == "log" and row.unit in ("J/K", "W/K", "m2", "W/s^0.5", "kg")
)
UNSAID = 1.5  # width of that, as a factor of e


def said(site):
    """Does site.toml give a size that sets the scale: the airflow, the floor or the pipes?"""
    known = sizes(site)["said"]
    return bool(site.fan.airflow_m3_h or "floor_m2" in known or "pipes" in known)


def covariance(scale_said):
    """Return the joint prior covariance of all parameters on the fitted scale, shape (P, P); scale_said: see said."""
    wide = np.diag(np.array([row.spread for row in house.PARAMETERS]) ** 2)
    for width, names in SHARED if scale_said else (*SHARED, (UNSAID, EXTENSIVE)):
        moves = np.zeros(len(house.PARAMETERS))
        moves[[house.INDEX[name] for name in names]] = width
        wide += np.outer(moves, moves)
    return wide


def start(seen, loss):
    """Return (state (10,), covariance (10, 10)) before the first row of a stretch.

    seen: readings of the stretch, shape (n, 3); loss: prior loss [W/K], which scales the unexplained gain.
    """
    def first(column):
        good = seen[~np.isnan(seen[:, column]), column]
        return float(good[0]) if len(good) else np.nan

    air, soil = first(0), first(1)
    air = 10.0 if np.isnan(air) else air
    soil = air if np.isnan(soil) else soil
    state = np.array([air, air, air, (air + soil) / 2, soil, soil, soil, soil, soil, 0.0])
    wide = np.array([0.3, 4.0, 4.0, 3.0, 2.5, 1.7, 1.2, 0.7, 1.5, 8.0 * loss])
    return state, np.diag(wide**2)
