"""The houses, all invented: every number is a choice. What the numbers mean, with sources and ranges: parts.py."""

from tests.plant import shapes
from tests.plant.parts import Canopy, Cover, Fan, Floor, Ground, House, Mass, Openings, Pipes

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
