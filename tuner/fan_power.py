"""What the fan draws: at full speed, at part speed, at rest. [W, kWh]

Lives here: the affinity laws and the power of a real fan by its speed. Never here: prices, logs.

Affinity laws of one fan in one duct (from memory, any fan engineering text): flow goes with speed, pressure with its
square, power with its cube; pressure and power also go with the density of the air. A real drive draws something of
its own at any speed, which makes the whole flatter than the cube:

    watts(n) = drive_watts + (watts - drive_watts) n**3,    n = share of full speed, above 0

Between measured points the power is straight in n**3, so that the law above runs through them where it is right; below
the lowest point it goes straight to drive_watts.
"""

import numpy as np

JOULES_PER_KWH = 3.6e6


def affinity(speed, density=1.0):
    """Return (flow, pressure, power) of a fan as factors of what they are at full speed.

    speed, density : shares of those at full speed, above 0
    """
    return speed, density * speed**2, density * speed**3


def running_watts(pct, fan):
    """Return the power of the running fan at each speed. ndarray, shape (n,). [W]

    pct : speed in percent, above 0, shape (n,); fan : site.Fan
    Without speed control the fan draws its full power whenever it runs.
    """
    pct = np.asarray(pct, dtype=float)
    if not fan.speed_control:
        return np.full(pct.shape, float(fan.watts))
    points = [(0.0, fan.drive_watts), *fan.points, (100.0, fan.watts)]
    speed, watts = zip(*dict(points).items(), strict=True)
    return np.interp((pct / 100) ** 3, (np.array(speed) / 100) ** 3, watts)


def airflow(pct, fan):
    """Return the air that the fan moves at each speed: flow goes with speed. ndarray, shape (n,). [m3/s]

    NaN where the site does not tell the airflow.
    """
    full = np.nan if fan.airflow_m3_h is None else fan.airflow_m3_h / 3600
    share = np.asarray(pct, dtype=float) / 100 if fan.speed_control else np.ones(np.shape(pct))
    return full * share


def fan_kwh(fan_s, pct, fan):
    """Return the energy that the fan takes while it runs, in each row. ndarray, shape (n,). [kWh]

    fan_s : seconds it ran, shape (n,); pct : the speed at which it ran [%]; fan : site.Fan
    """
    return np.asarray(fan_s) * running_watts(pct, fan) / JOULES_PER_KWH


def ran_pct(fan_pct):
    """Return the speed at which the fan ran before each row: that of the row before, else its own, else 100. [%]

    fan_pct : ndarray, shape (n,), the speed set at each row, which holds until the next
    """
    fan_pct = np.nan_to_num(np.asarray(fan_pct, dtype=float))
    before = np.concatenate(([0.0], fan_pct[:-1]))
    return np.where(before > 0, before, np.where(fan_pct > 0, fan_pct, 100.0))


def measured_watts(power, on):
    """Return (watts while running, watts at rest) in each row from a logged power. ndarrays, shape (n,), NaN unknown.

    power : the reading at each row [W]; on : does the fan run at that moment, bool; both shape (n,)
    A reading is that of its moment, so a row takes the mean of its two ends that belong: running readings for the
    time it ran, resting ones for the rest.
    """
    return mean_of_ends(np.where(on, power, np.nan)), mean_of_ends(np.where(on, np.nan, power))


def mean_of_ends(values):
    """Mean of each row's value and that before it, of those that are there; NaN where neither is."""
    before = np.concatenate(([np.nan], values[:-1]))
    return np.where(np.isnan(before), values, np.where(np.isnan(values), before, (values + before) / 2))
