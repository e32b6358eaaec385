"""The independent plant: a greenhouse with a buried-pipe store, finer than anything the tuner fits.

    from tests.plant import HOUSES, WEATHERS, simulate, write_log
    r = simulate(HOUSES["dome"], WEATHERS["hard winter"], {"discharge_below_c": 6})
    r.truth["house"]; write_log(r, "dome.csv")

Tests may import it; the tuner never does. See README.md beside this file.
"""

from tests.plant.account import energy_error, water_error
from tests.plant.houses import HOUSES
from tests.plant.log import write_log
from tests.plant.parts import House
from tests.plant.result import Result
from tests.plant.run import Steps, simulate
from tests.plant.sensors import GOOD, PERFECT, POOR, Sensors
from tests.plant.weather import WEATHERS, Weather

__all__ = [
    "GOOD", "HOUSES", "PERFECT", "POOR", "WEATHERS", "House", "Result", "Sensors", "Steps", "Weather", "energy_error",
    "simulate", "water_error", "write_log",
]  # fmt: skip
