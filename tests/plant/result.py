"""What a run gives back, and the names of its flows."""

from dataclasses import dataclass

import numpy as np

from controller.core import screen
from tests.plant import balance

FLOWS = {
    "sun": balance.SUN,
    "sky_and_wind": balance.SKY_AND_WIND,
    "leak": balance.LEAK,
    "vent": balance.VENT,
    "fan": balance.FAN_HEAT,
    "heater": balance.HEATER,
    "back": balance.BACK,
    "to_soil": balance.TO_SOIL,
    "to_pipes": balance.TO_PIPES,
    "liquid": balance.LIQUID_IN,
    "edge": balance.EDGE,
    "deep": balance.DEEP,
    "transpired": balance.W_TRANSPIRED,
    "floor_water": balance.W_FLOOR,
    "soil_to_pipe": balance.W_SOIL_TO_PIPE,
    "leak_water": balance.W_LEAK,
    "runoff": balance.W_RUNOFF,
    "drained": balance.W_DRAINED,
    "condensed_pipe": balance.W_CONDENSED_PIPE,
    "condensed_cover": balance.W_CONDENSED_COVER,
    "cover_loss": balance.COVER_LOSS,
    "from_leaf": balance.CONV_LEAF,
    "from_floor": balance.CONV_FLOOR,
    "from_mass": balance.CONV_MASS,
    "to_cover": balance.CONV_COVER,
    "latent_pipes": balance.LATENT_PIPES,
}


@dataclass
class Result:
    """What came out. Rows are one a record (a minute, or a step when steps are longer); steps are one a decision.

    truth : dict of arrays, shape (rows,), names in loop.TRUTH: house, soil, outlet, outside [degC], humidity [%],
      solar [W/m2 horizontal] and more. fan_pct, phase, reason, heater, vent, alarms : shape (rows,), as decided at
      the row; fan_s : seconds the fan ran since the row before.
    flow : dict, shape (rows - 1,): mean flow until the next row, [W] and [kg/s].
    raws, decided : ints by the step, shape (steps, 6), probes in the order of sensors.PROBES, and phase, fan percent,
      heater, vent, reason, alarms. screened(result) gives the rows as the board would log them.
    totals : sums over the run [J], [kg]. stored : (first, last) energy [J] and water [kg] in the house.
    sections : soil temperatures of the first segment's slice, shape (k, layers, columns), each section_s.
    """

    house: object
    weather: object
    settings: object
    step_s: int
    row_s: int
    unix_s: np.ndarray
    truth: dict
    fan_s: np.ndarray
    raws: np.ndarray
    decided: np.ndarray
    every: int
    flow: dict
    totals: dict
    stored: tuple
    water: tuple
    sections: np.ndarray
    section_s: int
    grid: object
    plant: object
    body: object
    state: object

    def _rows(self, column):
        return self.decided[:: self.every, column]

    @property
    def phase(self):
        """Phase decided at each row, core codes. shape (rows,)"""
        return self._rows(0)

    @property
    def fan_pct(self):
        """Fan speed decided at each row. [%], shape (rows,)"""
        return self._rows(1)

    @property
    def heater(self):
        """Heater decided at each row, 0 or 1."""
        return self._rows(2)

    @property
    def vent(self):
        """Motor vent decided at each row, 0 or 1."""
        return self._rows(3)

    @property
    def reason(self):
        """Reason at each row, core codes."""
        return self._rows(4)

    @property
    def alarms(self):
        """Alarm bits at each row."""
        return self._rows(5)


def screened(r):
    """The rows as the board would log them: screen.logged at each row. -> ints, shape (rows, 5)"""
    out = np.zeros((r.fan_s.size, 5), dtype=np.int64)
    view = screen.start()
    for k in range(r.raws.shape[0]):
        raw = screen.Raw(r.step_s, *(int(v) for v in r.raws[k]), 0, 0, 0)
        view = screen.step(view, raw)
        if k % r.every == 0:
            out[k // r.every] = screen.logged(view, screen.reading(r.settings, view, raw))
    return out
