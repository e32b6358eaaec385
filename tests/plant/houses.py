"""The houses: what they are made of, in the words of a builder. All invented.

Every number is a choice for an invented house; where it stands for a property of a material or a flow, the class
below names its source or says "assumption" with a range.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from tests.plant import shapes


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

    Values: de Vries 1963 as tabulated in check-values (sand 2.1-2.9, clay 0.9-1.4, peat 0.27-0.5); loam 1.0-1.4 and
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


TWIN_WALL = Cover(2, 0.80, 0.08, 0.13, 1800.0, 0.0, 0.88)
SINGLE_FILM = Cover(1, 0.87, 0.04, 0.0006, 420.0, 0.35, 0.85)
DOUBLE_FILM = Cover(2, 0.83, 0.06, 0.11, 840.0, 0.15, 0.85)
GLASS = Cover(1, 0.85, 0.06, 0.0045, 8400.0)
OLD_GLASS = Cover(1, 0.74, 0.10, 0.0035, 7000.0)

LEAN_TO = House(
    "small lean-to",
    shapes.lean_to(4.2, 2.3, 2.7, 1.9, 180.0),
    22.2,
    Floor(9.7, 8.8, conductivity=1.4),
    Pipes(5, 3.7, 0.080, 0.42, 0.50),
    Fan(260.0, 46.0),
    GLASS,
    Ground(
        1.15,
        2.35e6,
        1.4,
        2.9e6,
        water_table=9.0,
        backfill_conductivity=1.15,
        backfill_capacity=2.35e6,
        wetness=0.06,
        skirt_depth=0.5,
        skirt_resistance=1.2,
    ),
    Canopy(1.2, 0.4, stomata=200.0),
    Mass(4.6e6, 16.0, 5.0, 1.0, 0.65, 0.25, 4.5, 14.0),
    Openings(75.0, wind=0.000104, shelter=0.5, vent_m2=0.5, vent_height_m=0.6),
)
TUNNEL = House(
    "tunnel",
    shapes.tunnel(12.0, 5.6, 2.7, 100.0),
    142.0,
    Floor(67.2, 35.2),
    Pipes(8, 11.2, 0.100, 0.62, 0.70),
    Fan(1150.0, 190.0),
    SINGLE_FILM,
    Ground(
        2.1,
        2.15e6,
        2.5,
        2.9e6,
        water_table=1.6,
        bottom=3.5,
        backfill_conductivity=2.1,
        backfill_capacity=2.15e6,
        wetness=0.30,
    ),
    Canopy(2.2, 0.6, stomata=110.0),
    Mass(1.3e6, 14.0, catch=0.25),
    Openings(820.0, wind=0.000246, shelter=0.7, vent_m2=4.0, vent_height_m=1.5, vent_from_c=23.0, vent_full_c=31.0),
)
DOME = House(
    "dome",
    shapes.dome(3.1),
    62.4,
    Floor(30.2, 19.5),
    Pipes(7, 5.2, 0.100, 0.55, 0.62),
    Fan(520.0, 85.0),
    TWIN_WALL,
    Ground(
        1.05,
        2.55e6,
        1.4,
        3.05e6,
        water_table=2.2,
        backfill_conductivity=1.05,
        backfill_capacity=2.55e6,
        wetness=0.12,
        skirt_depth=0.6,
        skirt_resistance=1.5,
    ),
    Canopy(1.6, 0.5, stomata=160.0),
    Mass(6.3e6, 9.0, 6.5, 0.35, 0.8, 0.2),
    Openings(170.0, wind=0.000246, shelter=0.6, vent_m2=1.4, vent_height_m=0.5, vent_from_c=21.0, vent_full_c=29.0),
)
OLD_GLASSHOUSE = House(
    "leaky old glass",
    shapes.gable(8.0, 3.8, 1.7, 2.9, 90.0),
    69.9,
    Floor(30.4, 23.6, conductivity=0.9),
    Pipes(6, 7.2, 0.110, 0.60, 0.45),
    Fan(700.0, 120.0),
    OLD_GLASS,
    Ground(
        0.55,
        2.3e6,
        0.75,
        3.4e6,
        water_table=1.1,
        bottom=3.0,
        backfill_conductivity=0.9,
        backfill_capacity=2.0e6,
        wetness=0.22,
    ),
    Canopy(0.9, 0.45, stomata=180.0),
    Mass(5.5e6, 26.0, catch=0.3),
    Openings(900.0, wind=0.000174, shelter=0.6, vent_m2=1.6, vent_height_m=0.6, vent_from_c=20.0, vent_full_c=28.0),
)
TIGHT = House(
    "tight and damp",
    shapes.gable(5.0, 3.2, 2.0, 3.1, 160.0),
    40.8,
    Floor(16.0, 16.4),
    Pipes(8, 4.4, 0.080, 0.36, 0.80, film_full=0.15, soil_wet=0.10),
    Fan(420.0, 70.0),
    TWIN_WALL,
    Ground(
        1.35,
        3.0e6,
        1.4,
        3.1e6,
        water_table=1.4,
        backfill_conductivity=1.35,
        backfill_capacity=3.0e6,
        wetness=0.55,
        skirt_depth=0.8,
        skirt_resistance=2.0,
    ),
    Canopy(3.2, 0.75, stomata=82.0),
    Mass(0.9e6, 8.0, catch=0.45),
    Openings(45.0, wind=0.000104, shelter=0.5, vent_m2=0.45, vent_height_m=0.5, vent_from_c=24.0, vent_full_c=32.0),
)
HOUSES = {h.name: h for h in (LEAN_TO, TUNNEL, DOME, OLD_GLASSHOUSE, TIGHT)}
