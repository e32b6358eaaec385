"""What the probes report: noise, steps, lag, sun, offsets, dropouts. All randomness is drawn before the run.

Order of probes everywhere: house, soil, outlet, outside, humid_air, humidity.
"""

from dataclasses import dataclass
from math import floor

import numpy as np

from controller.core.units import LOST, centi_c_from_raw
from tests.plant.jit import jit

PROBES = ("house", "soil", "outlet", "outside", "humid_air", "humidity")


@dataclass(frozen=True)
class Sensors:
    """Faults of the probes; times in seconds from the first logged step.

    noise : standard deviation, K for the five temperatures, percent for humidity (0.03 K: a DS18B20-type probe
      repeats to about half a count; assumption, 0.01-0.1).
    offset : K and percent. The data sheet allows 0.5 K and 2-3 percent.
    lag_s : time constant of house, outlet, outside, humid_air and humidity probes (60-120 s in a tube in still air,
      assumption 20-300); soil follows at once.
    sun_k_per_w : K per W/m2 of light inside on the house probe; 0 when shaded and drawn through, 0.005-0.02 hung in
      the open (assumption: 3-10 K at 600 W/m2).
    steps : True rounds the five-wire probes to 1/16 degC.
    lost : ((probe, from_s, to_s), ...). drop_rate : share of single readings lost by chance. fitted : probes present.
    """

    noise: tuple = (0.03, 0.02, 0.03, 0.03, 0.03, 0.4)
    offset: tuple = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    lag_s: tuple = (90.0, 1.0, 30.0, 90.0, 60.0, 60.0)
    sun_k_per_w: float = 0.0
    steps: bool = True
    lost: tuple = ()
    drop_rate: float = 0.0
    fitted: tuple = PROBES

    def but_lost(self, *spans):
        """A copy with more spans of lost probes, each (probe, from_s, to_s)."""
        from dataclasses import replace

        return replace(self, lost=self.lost + spans)


GOOD = Sensors()
PERFECT = Sensors(noise=(0.0,) * 6, lag_s=(1e-3,) * 6, steps=False)
POOR = Sensors(
    noise=(0.08, 0.04, 0.08, 0.08, 0.08, 1.0), offset=(0.4, -0.3, 0.3, 0.5, -0.3, 2.0), sun_k_per_w=0.006,
    lag_s=(180.0, 1.0, 60.0, 180.0, 120.0, 120.0), drop_rate=0.01,
)  # fmt: skip


def draw(sensors, steps, step_s, seed):
    """Noise with offset, and which readings are missing, for all steps. -> (shape (steps, 6) float32, same bool)

    Raises ValueError for a probe that is not one of PROBES.
    """
    rng = np.random.default_rng([seed, 104729])
    noise = rng.standard_normal((steps, 6), dtype=np.float32) * np.array(sensors.noise, dtype=np.float32)
    noise += np.array(sensors.offset, dtype=np.float32)
    drops = np.random.default_rng([seed, 104743])
    missing = drops.random((steps, 6), dtype=np.float32) < sensors.drop_rate
    for probe, begin, end in sensors.lost:
        if probe not in PROBES:
            raise ValueError(f'"{probe}" is not a probe. Probes: {", ".join(PROBES)}.')
        first, last = int(np.ceil(begin / step_s)), int(np.ceil(end / step_s))
        missing[max(first, 0) : max(last, 0), PROBES.index(probe)] = True
    for i, probe in enumerate(PROBES):
        if probe not in sensors.fitted:
            missing[:, i] = True
    return noise, missing


@jit
def to_centi_c(value, steps):
    """A temperature as the core's hundredths, through the probe's 1/16 degC when steps. Clipped to -55 ... 125."""
    value = max(-55.0, min(125.0, value))
    if steps:
        return centi_c_from_raw(floor(value * 16.0 + 0.5))
    return floor(value * 100.0 + 0.5)


@jit
def read(seen, noise, missing, steps, out):
    """One set of readings into out, shape (6,), ints as screen.Raw wants them. seen: lagged truth."""
    for i in range(5):
        out[i] = LOST if missing[i] else to_centi_c(seen[i] + noise[i], steps and i != 4)
    percent = max(0.0, min(100.0, seen[5] + noise[5]))
    out[5] = LOST if missing[5] else floor(percent * 10.0 + 0.5)
