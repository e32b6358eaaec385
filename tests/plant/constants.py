"""From the words of a builder (parts.House) to the flat numbers the jitted loop reads."""

from math import exp, pi

import numpy as np

from tests.plant import psychro, weather

NAMES = (
    # house
    "pressure density air_mass floor_area cover_area"
    # cover
    " cover_capacity cover_u cover_emissivity cover_clear_ir sky_view cover_film_full"
    # canopy
    " leaf_area leaf_capacity leaf_boundary leaf_stomata leaf_ir_area leaf_film_full"
    # mass and heater
    " mass_capacity mass_area mass_h back_g back_t heater_w"
    # floor
    " floor_capacity floor_half_r floor_ir_area floor_wet_area field_area bare_area"
    # openings
    " leak_stack leak_wind vent_m2 vent_height vent_from vent_full vent_lag motor_vent shelter"
    # pipes and fan
    " airflow fan_watts pipes pipe_length bore segments wall_area film_full soil_wet wall_r metres"
    # ground
    " ground_mean ground_amplitude ground_coldest ground_diffusivity bottom"
)
WHOLE = ("segments", "motor_vent")
# One flat record: numba hands it on as one pointer, where a namedtuple this long would be copied field by field.
PLANT = np.dtype([(name, np.int64 if name in WHOLE else np.float64) for name in NAMES.split()])


def plant_of(**values):
    """A record of PLANT, read as p.name. Every name must be given."""
    return np.rec.array([tuple(values[name] for name in PLANT.names)], dtype=PLANT)[0]


FILM_FULL = 0.08  # [kg/m2] water a cover holds before it runs off (assumption, 0.03-0.15)
LEAF_FILM_FULL = 0.15  # [kg/m2 leaf] (assumption, 0.1-0.3)
FLOOR_WARMER = 1.0  # [K] ground surface above the air's mean (assumption, 0-2)


def of(house, grid, hours):
    """Plant constants of a house. grid: soil.Grid, hours: weather.Hours of the place.

    Raises ValueError when the pipes' bed is larger than the floor.
    """
    floor, pipes, canopy, mass, ground, o = (
        house.floor,
        house.pipes,
        house.canopy,
        house.mass,
        house.ground,
        house.openings,
    )
    facets = np.array(house.facets)
    area = facets[:, 0].sum()
    sky_view = float((facets[:, 0] * (1 + np.cos(np.radians(facets[:, 1]))) / 2).sum() / area)
    density = psychro.dry_density(12.0, 0.007, hours.pressure)
    planted = floor.area * canopy.planted
    seen = 1.0 - exp(-canopy.extinction_infrared * canopy.leaf_index)
    mean, amplitude, coldest = weather.ground_wave(hours)
    field_area = pipes.count * pipes.spacing * pipes.length
    if field_area > floor.area * 1.001:
        raise ValueError(
            f"{house.name}: the pipes' bed, {field_area:.1f} m2, is larger than the floor, {floor.area:.1f} m2."
        )
    return plant_of(
        pressure=hours.pressure,
        density=density,
        air_mass=density * house.volume,
        floor_area=floor.area,
        cover_area=area,
        cover_capacity=house.cover.heat_capacity * area,
        cover_u=1.0 / house.cover.resistance,
        cover_emissivity=house.cover.emissivity,
        cover_clear_ir=house.cover.infrared_through,
        sky_view=sky_view,
        leaf_area=planted * canopy.leaf_index,
        leaf_capacity=planted * canopy.leaf_index * canopy.heat_capacity,
        leaf_boundary=canopy.boundary,
        leaf_stomata=canopy.stomata,
        leaf_ir_area=planted * seen,
        leaf_film_full=LEAF_FILM_FULL * planted * canopy.leaf_index,
        mass_capacity=mass.capacity,
        mass_area=mass.area,
        mass_h=mass.coefficient,
        back_g=mass.back_conductance,
        back_t=mass.back_temperature,
        floor_capacity=floor.capacity * floor.thickness * floor.area,
        floor_half_r=floor.thickness / 2 / floor.conductivity,
        floor_ir_area=floor.area - planted * seen,
        floor_wet_area=floor.area * ground.wetness,
        field_area=field_area,
        bare_area=max(floor.area - field_area, 0.0),
        leak_stack=o.leak_cm2**2 * o.stack * 1e-6,
        leak_wind=o.leak_cm2**2 * o.wind * 1e-6,
        vent_m2=o.vent_m2,
        vent_height=o.vent_height_m,
        vent_from=o.vent_from_c,
        vent_full=o.vent_full_c,
        vent_lag=o.vent_lag_s,
        motor_vent=1 if o.motor_vent else 0,
        shelter=o.shelter,
        airflow=house.fan.airflow_m3_h / 3600.0,
        fan_watts=house.fan.watts,
        pipes=pipes.count,
        pipe_length=pipes.length,
        bore=pipes.bore,
        segments=pipes.segments,
        wall_area=pi * pipes.bore * pipes.length * pipes.count,
        film_full=pipes.film_full,
        soil_wet=pipes.soil_wet,
        wall_r=1.0 / grid.wall_g / (pipes.count * pipes.length / pipes.segments),
        metres=pipes.count * pipes.length / pipes.segments,
        heater_w=house.heater_w,
        cover_film_full=FILM_FULL * area,
        ground_mean=mean + FLOOR_WARMER,
        ground_amplitude=amplitude,
        ground_coldest=coldest,
        ground_diffusivity=ground.conductivity / ground.capacity * 86400.0,
        bottom=ground.bottom,
    )


def light(house, minutes):
    """Light by the minute that each part of the house takes up.

    Returns ndarray, shape (n, 5): floor, leaves, mass, cover [W],
    and the light inside on the horizontal [W/m2] (for stomata and for a probe in the sun).

    Beam: what comes in through the sunny side is the sum over facets; of it the floor's plan catches its share of
    the horizontal beam, the rest crosses the house and meets the far side: `mass.catch` of that stays, the other part
    leaves again. Leaves stand in front of floor and far side (extinction). What floor and leaves throw back leaves
    through the cover by its diffuse share, the rest is taken up again.
    """
    from tests.plant import sun

    facets, canopy, mass, floor = np.array(house.facets), house.canopy, house.mass, house.floor
    every = slice(None, None, 5)  # the sun moves 1.25 deg in 5 min
    beam_in, beam_on = sun.cover_share(facets, minutes.elevation[every], minutes.azimuth[every], house.cover)
    at = np.arange(minutes.elevation.size)
    beam_in, beam_on = np.interp(at, at[every], beam_in), np.interp(at, at[every], beam_on)
    sky_in, ground_in, sky_on, ground_on = sun.diffuse_share(facets, house.cover, house.albedo)
    direct = minutes.beam * beam_in
    shadow = np.maximum(beam_on, 1e-6)
    plan = np.clip(floor.area * np.maximum(np.sin(np.radians(minutes.elevation)), 0.0) / shadow, 0.0, 1.0)
    on_plan, across = direct * plan, direct * (1 - plan)
    diffuse = minutes.diffuse * sky_in + minutes.whole * ground_in
    leaves = canopy.planted * (1 - np.exp(-canopy.extinction * canopy.leaf_index))
    # diffuse light comes in all round; what reaches no leaf, floor or mass leaves again: the catch, as for low beam
    inside = on_plan + across * mass.catch + diffuse * (0.6 + 0.4 * mass.catch)
    to_mass = across * mass.catch * (1 - leaves) + diffuse * mass.light_share
    rest = np.maximum(inside - to_mass, 0.0)
    to_leaves, to_floor = rest * leaves, rest * (1 - leaves)
    kept = np.stack([to_floor * floor.absorbs, to_leaves * canopy.absorbs, to_mass * mass.absorbs], 1)
    thrown = to_floor + to_leaves + to_mass - kept.sum(1)
    back_in = 0.3 * thrown  # share thrown back by the cover and taken up at the next meeting (assumption, 0.2-0.4)
    kept *= (1 + back_in / np.maximum(kept.sum(1), 1e-9))[:, None]
    cover = house.cover.solar_absorbed * (minutes.beam * beam_on + minutes.diffuse * sky_on + minutes.whole * ground_on)
    return np.ascontiguousarray(np.column_stack([kept, cover, rest / floor.area]))
