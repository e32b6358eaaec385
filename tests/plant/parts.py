"""What a house is made of, in the words of a builder.

Where a number stands for a property of a material or a flow, the class names its source or says "assumption" with a
range.
"""

from dataclasses import dataclass, field, replace

import numpy as np


@dataclass(frozen=True)
class Cover:
    """The glazing.

    layers : sheets of two surfaces. clear : share of light left by absorption, frame and dirt (assumption, 0.70-0.92).
    solar_absorbed : share of light taken up by cover and frame (assumption, 0.03-0.12).
    resistance : [m2 K/W] from inner to outer surface: 4 mm glass 0.0045 (k 0.9), film 0.0006 (k 0.33), twin wall 8 mm
      0.13 (0.12-0.15), inflated double film 0.11 (0.105-0.117 is what the extension note's U values of single and
      double layers differ by).
    heat_capacity : [J/m2 K] glass 4 mm 8,400 (2500 kg/m3, 840 J/kg K), twin wall 8 mm 1,800 (1.5 kg/m2),
      film 0.2 mm 420.
    infrared_through : film 0.2-0.5 dry, 0 for glass and polycarbonate (Nijskens et al. 1984, from memory).
    emissivity : 0.9 glass, 0.88 plastic (assumption, 0.7-0.95 for wet film).
    """

    layers: int = 1
    clear: float = 0.85
    solar_absorbed: float = 0.06
    resistance: float = 0.0045
    heat_capacity: float = 8400.0
    infrared_through: float = 0.0
    emissivity: float = 0.90


@dataclass(frozen=True)
class Ground:
    """Soil under and round the house. conductivity [W/m K], capacity [J/m3 K]; wet_: below the water table.

    Values: de Vries 1963 (sand 2.1-2.9, clay 0.9-1.4, peat 0.27-0.5); loam 1.0-1.4 and
    2.2e6-2.6e6 from memory. water_table, bottom [m]: the bottom is held at undisturbed ground's temperature.
    edge_path : [m] from the floor's edge to outside along the surface (assumption, 0.3-0.8).
    wetness : share of the floor that is bare wet soil (assumption, 0.02-0.6).
    """

    conductivity: float = 1.2
    capacity: float = 2.4e6
    wet_conductivity: float = 1.5
    wet_capacity: float = 3.0e6
    water_table: float = 9.0
    bottom: float = 5.0
    backfill_conductivity: float = 1.2
    backfill_capacity: float = 2.4e6
    edge_path: float = 0.5
    skirt_depth: float = 0.0
    skirt_resistance: float = 0.0
    wetness: float = 0.15


@dataclass(frozen=True)
class Floor:
    """The uppermost layer: thickness [m], conductivity [W/m K], capacity [J/m3 K]; absorbs 0.75 of light
    (soil albedo 0.15-0.3, Oke, Boundary Layer Climates, from memory)."""

    area: float
    perimeter: float
    thickness: float = 0.01
    conductivity: float = 1.1
    capacity: float = 2.1e6
    absorbs: float = 0.75


@dataclass(frozen=True)
class Pipes:
    """One bed of equal pipes side by side. bore, thickness, length, spacing, depth of the axis [m].

    wall_resistance : [m K/W] plastic wall and gaps to the soil: 1 mm of polyethylene (0.35 W/m K) 0.01, and a
      contact of 0.01 (assumption, 0-0.1). friction : Darcy factor of corrugated drain 0.07 (0.05-0.11).
    film_full : [kg/m2] water the wall can hold before it drains (assumption, 0.05-0.3).
    soil_wet : share of the wall through whose perforations moist soil gives vapour (assumption, 0-0.15).
    """

    count: int
    length: float
    bore: float
    spacing: float
    depth: float
    thickness: float = 0.004
    wall_resistance: float = 0.02
    friction: float = 0.07
    film_full: float = 0.10
    soil_wet: float = 0.03
    segments: int = 4


@dataclass(frozen=True)
class Fan:
    """airflow [m3/h] through all pipes at 100 %, watts [W] electric there (0.3-0.76 W per L/s is usual, 10 CFR 460)."""

    airflow_m3_h: float
    watts: float


@dataclass(frozen=True)
class Canopy:
    """leaf_index : m2 of leaf per m2 planted; planted : share of the floor.

    boundary [s/m] : leaf boundary layer, one side, 275 (Stanghellini 1987 thesis, Wageningen; 150-400).
    stomata [s/m] : least stomatal resistance, 82 for tomato there (80-400 for woody plants).
    heat_capacity : [J/m2 K leaf] 1,200 (Stanghellini 1987). absorbs : share of intercepted light kept, 0.75
    (leaves reflect and pass on about a quarter, Jones, Plants and Microclimate, from memory).
    """

    leaf_index: float = 1.5
    planted: float = 0.5
    boundary: float = 275.0
    stomata: float = 150.0
    heat_capacity: float = 1200.0
    absorbs: float = 0.75
    extinction: float = 0.7  # light, de Zwart 1996 thesis, Wageningen (0.5-0.9)
    extinction_infrared: float = 0.94  # de Zwart 1996


@dataclass(frozen=True)
class Mass:
    """Benches, walls, barrels: one node. capacity [J/K], area [m2] in the air, coefficient [W/m2 K] of still air
    with it (4-8, assumption), absorbs : share of the light that falls on it; catch : share of the low beam
    crossing the house that it meets (assumption, 0.1-0.6, 1 for a solid back wall).
    back_conductance [W/K] to a place at back_temperature [degC] (the building behind a lean-to)."""

    capacity: float
    area: float
    coefficient: float = 5.0
    catch: float = 0.3
    absorbs: float = 0.75
    light_share: float = 0.1  # share of diffuse light that falls on it
    back_conductance: float = 0.0
    back_temperature: float = 16.0


@dataclass(frozen=True)
class Openings:
    """leak_cm2 : effective leakage area [cm2]; stack, wind : coefficients of the basic model, (L/s)2/(cm4 K) and
    (L/s)2/(cm4 (m/s)2): 0.000145, and 0.000246 / 0.000174 / 0.000104 for shelter class 2 / 3 / 4, one storey
    (ASHRAE Fundamentals 2009 ch. 16, from memory). shelter : wind at the house over wind at 10 m (assumption 0.4-0.8).
    vent_m2, vent_height_m, vent_from_c, vent_full_c : self-opening vents (wax cylinders start at 15-25 degC and take
    6-10 K to open fully, common practice, no source); cylinder lag 600 s (assumption, 300-1200).
    motor_vent : True when the board opens the vents instead."""

    leak_cm2: float
    stack: float = 0.000145
    wind: float = 0.000174
    shelter: float = 0.6
    vent_m2: float = 0.0
    vent_height_m: float = 0.8
    vent_from_c: float = 22.0
    vent_full_c: float = 30.0
    vent_lag_s: float = 600.0
    motor_vent: bool = False


@dataclass(frozen=True)
class House:
    """One greenhouse. facets: rows (area m2, tilt deg, azimuth deg); volume [m3]; heater_w, at the air's disposal."""

    name: str
    facets: tuple
    volume: float
    floor: Floor
    pipes: Pipes
    fan: Fan
    cover: Cover = field(default_factory=Cover)
    ground: Ground = field(default_factory=Ground)
    canopy: Canopy = field(default_factory=Canopy)
    mass: Mass = field(default_factory=lambda: Mass(2e6, 10.0))
    openings: Openings = field(default_factory=lambda: Openings(200.0))
    heater_w: float = 0.0
    albedo: float = 0.2  # ground outside, grass 0.16-0.26 (Oke, from memory)

    @property
    def cover_area(self):
        """Area of the cover. [m2]"""
        return float(np.array(self.facets)[:, 0].sum())

    def but(self, **changes):
        """A copy with other values, for what-if checks; nested parts as dicts: but(ground={"bottom": 4})."""
        parts = {k: replace(getattr(self, k), **v) if isinstance(v, dict) else v for k, v in changes.items()}
        return replace(self, **parts)
