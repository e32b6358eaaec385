"""The invented scenario of the demonstration: a place, a house, a crop and a fortnight that do not exist.

Larkfold is an invented hamlet. Its weather borrows the hours of a real typical year (see make_demo), made 0.5 K
warmer and put where that year's sun stands; nothing else about it is real. The house: a sunk propagating house,
3.4 m x 7.4 m, its north side an earth bank faced with stone, its south side a steep slope of twin wall, over heavy
loam, for babaco and pepino in tubs.
"""

from tests.plant.houses import TWIN_WALL
from tests.plant.parts import Canopy, Fan, Floor, Ground, House, Mass, Openings, Pipes
from tests.plant.weather import Weather

# South slope 7.4 m x 2.9 m at 60 deg, a flat upper slope 7.4 m x 1.9 m at 22 deg, two glazed ends.
FACETS = ((21.5, 60.0, 170.0), (14.1, 22.0, 170.0), (6.3, 90.0, 80.0), (6.3, 90.0, 260.0))

HOUSE = House(
    "sunk house at Larkfold",
    FACETS,
    volume=47.0,
    floor=Floor(25.2, 21.6),
    pipes=Pipes(8, 6.9, 0.100, 0.40, 0.65),
    fan=Fan(780.0, 118.0),
    cover=TWIN_WALL,
    ground=Ground(
        1.25,
        2.5e6,
        1.5,
        3.0e6,
        3.0,
        backfill_conductivity=1.25,
        backfill_capacity=2.5e6,
        skirt_depth=0.6,
        skirt_resistance=1.2,
        wetness=0.10,
    ),
    canopy=Canopy(1.4, 0.45, stomata=140.0),
    mass=Mass(3.2e6, 22.0, 5.0, 0.8, 0.7, 0.2, 6.0, 6.0),
    openings=Openings(
        240.0, wind=0.000174, shelter=0.55, vent_m2=1.1, vent_height_m=0.7, vent_from_c=25.0, vent_full_c=33.0
    ),
)

WEATHER = Weather("Larkfold, around the first of February", "723170TYA.CSV", "01-28", 2026, warmer=0.5, seed=11)
DAYS = 14
WARMUP_DAYS = 28
SEED = 5

# Settings files beside the log. Keys left out take the core's defaults.
AS_LOGGED = {
    "charge_above_c": 22,
    "discharge_below_c": 7,
    "frost_guard_c": 3,
    "frost_alarm_c": 3,
    "hot_alarm_c": 36,
}
THRIFTY = {
    **AS_LOGGED,
    "charge_above_c": 26,
    "discharge_below_c": 5,
    "least_gain_c": 5,
    "gain_band_c": 3,
    "day_run_limit_s": 28800,
}
CAUTIOUS = {
    **AS_LOGGED,
    "charge_above_c": 18,
    "discharge_below_c": 8,
    "soil_floor_c": 8,
    "frost_guard_c": 4,
    "frost_alarm_c": 4,
}
SETTINGS = {"as-logged": AS_LOGGED, "thrifty": THRIFTY, "cautious": CAUTIOUS}
