"""The thermal equations of a house with a buried-pipe store, and their exact stepping.

Lives here: the parameters (one row each), the heat balances, the step by matrix exponential, and what one row
of measurements sees of the state. Never here: logs, fitting, decisions.

Heat balances, one per node [W]; every temperature in degC:

    Ca dTa/dt = (1 + w n) UA (To - sky - Ta) + d UA (Tn - Ta) + Hm (Tm - Ta) + (1 + 2 w n) Ht (F0 - Ta)
                + H (S1 - Ta) + (1 - s)(sun + q) + heater - vent
    Cm dTm/dt = Hm (Ta - Tm) + s b (sun + q)
    C0 dF0/dt = (1 + 2 w n) Ht (Ta - F0) + Kf (F1 - F0) + s (1 - b)(sun + q)
    C1 dF1/dt = Kf (F0 - F1) + Kf/2 (F2 - F1)
    C2 dF2/dt = Kf/2 (F1 - F2) + Kg (S3 - F2)
    c1 dS1/dt = H (Ta - S1) + K12 (S2 - S1) + latent
    c2 dS2/dt = K12 (S1 - S2) + K23 (S3 - S2)
    c3 dS3/dt = K23 (S2 - S3) + Kg (F2 - S3) + Kd (B - S3)
    Cb dB/dt  = Kd (S3 - B) + Kd/2 (Td - B)
    dq/dt     = -q / memory + noise (what nothing else explains)

d UA: a warmer house dries its leaves and soil and wets its cover more, a loss that follows the house and not the
outside; between 5 and 15 degC saturated air holds about as much again in its vapour, per kelvin, as in its heat.
w n: the fan at speed n (0..1) stirs the air, which then gives more heat to cover and floor. That adds 0 to 3 W/m2 K
to the cover's inner film (assumption): for 8 W/m2 K inside and 15 outside, single cover, 0 to 20 percent of what is
lost through it, less for more layers and for leaks.
Ta house air, Tm inner mass (benches, pots, water), F0 floor surface, F1 and F2 the floor below it down to the pipes,
S1, S2, S3 soil shells from the pipe wall to midway between two pipes, B soil below them, q unexplained heat gain.
Source: lumped heat balances, any building-physics text; soil by the radial conduction resistance
ln(r2/r1)/(2 pi k L), Incropera & DeWitt, Fundamentals of Heat and Mass Transfer (from memory, chapter 3).
"""

from collections import namedtuple

import numpy as np

from tuner.core_numba import helper, jit
from tuner.moist_air import saturation_ratio

AIR, MASS, SURFACE, FLOOR_1, FLOOR_2, SHELL_1, SHELL_2, SHELL_3, BELOW, GAIN = range(10)
STATES = 10
SHELLS = 3
FURTHER = 0.5  # conduction from the soil below the pipes to the undisturbed ground, over ground_exchange
STIRS_FLOOR = 2.0  # the floor's film gains this much more than the loss, which has cover and leaks in it: assumption
UPPER = 1.0 / 3.0  # share of the floor's heat capacity in its upper layer
LEVELS = 20  # fan levels per direction: steps of 5 percent
CP_AIR = 1006.0  # [J/kg/K]
LATENT_HEAT = 2.48e6  # of water at pipe temperatures, 5 to 15 degC [J/kg], from memory
TURBULENT = 0.8  # Nu ~ Re**0.8 in a turbulent pipe: Dittus & Boelter, see `effectiveness`

Row = namedtuple("Row", "name unit kind centre spread meaning")

# kind: "log" fitted as its logarithm, "share" as its logit, "plain" as it is; spread is the prior's standard
# deviation on that scale. centre None: set from the site or the log (see tuner/prior.py).
PARAMETERS = (
    Row("air_capacity", "J/K", "log", None, 0.7, "heat held by the air and all that follows it at once"),
    Row("mass_capacity", "J/K", "log", None, 1.0, "heat held by benches, pots, beds, water"),
    Row("surface_capacity", "J/K", "log", None, 0.5, "heat held by the floor's surface"),
    Row("floor_capacity", "J/K", "log", None, 0.3, "heat held by the floor below it"),
    Row("loss", "W/K", "log", None, 0.4, "loss to the outside air per degree"),
    Row("damp_share", "1", "log", 0.5, 0.5, "loss that follows the house alone (drying and dew), over `loss`"),
    Row("damp_level", "degC", "plain", None, 3.0, "house temperature at which that is counted as nil"),
    Row("stirred", "1", "log", 0.07, 0.15, "how much more is lost to outside while the fan stirs the air, over `loss`"),
    Row("mass_exchange", "W/K", "log", None, 0.9, "exchange of air and inner mass"),
    Row("surface_exchange", "W/K", "log", None, 0.5, "exchange of air and floor surface"),
    Row("floor_exchange", "W/K", "log", None, 0.3, "conduction from floor surface to floor"),
    Row("cover_over_store", "W/K", "log", None, 0.4, "conduction from floor to the soil at pipe depth"),
    Row("sun_on_solids", "1", "share", 0.6, 0.8, "share of the sun that falls on mass and floor, not on leaves"),
    Row("sun_on_mass", "1", "share", 0.3, 0.8, "share of that on the inner mass"),
    Row("air_stream", "W/K", "log", None, 0.25, "heat carried by the pipe air per degree at full speed"),
    Row("effectiveness", "1", "share", 0.75, 1.0, "exchange effectiveness of the pipes at full speed"),
    Row("charge_ratio", "1", "log", 1.0, 0.15, "transfer units when charging over those when discharging"),
    Row("flow_exponent", "1", "plain", TURBULENT, 0.1, "0.8 for fan speed; 1 where a level is a share of time"),
    Row("soil_capacity", "J/K", "log", None, 0.35, "heat held by the soil between the pipes"),
    Row("soil_conductance", "W/K", "log", None, 0.35, "conduction from pipe wall to midway"),
    Row("below_capacity", "J/K", "log", None, 0.35, "heat held by the soil below and beside the pipes"),
    Row("ground_exchange", "W/K", "log", None, 0.35, "conduction from between the pipes to that soil"),
    Row("ground", "degC", "plain", None, 3.0, "temperature of the ground around the store"),
    Row("probe_place", "1", "share", 0.85, 1.0, "soil probe: 0 at the pipe wall, 1 midway between two pipes"),
    Row("sun_area", "m2", "log", None, 0.8, "sun let in, as area of horizontal ground"),
    Row("sky", "K", "plain", 1.5, 1.5, "how much colder than the outside probe the surroundings act"),
    Row("vent_loss", "W/K", "log", None, 1.0, "extra loss with the vents wide open"),
    Row("vent_start", "degC", "plain", 23.0, 4.0, "house temperature at which the vents begin to open"),
    Row("vent_span", "K", "log", 6.0, 0.5, "further rise until they are wide open"),
    Row("condensing", "1", "log", 1.0, 0.1, "condensation in the pipes over its computed value"),
    Row("evaporating", "1", "log", 0.8, 0.2, "evaporation from the wet pipes over its computed value"),
    Row("water_held", "kg", "log", None, 0.7, "water that the wet pipes can hold before it drains away"),
    Row("heater_power", "W", "log", None, 1.0, "heater, where the log only says on or off"),
    Row("outlet_offset", "K", "plain", 0.2, 0.3, "outlet probe above the pipe equation: fan heat, probe offset"),
    Row("memory", "s", "log", 14400.0, 0.7, "how long the unexplained gain is remembered"),
    Row("walk_night", "W/s^0.5", "log", None, 1.0, "how fast the unexplained gain wanders at night"),
    Row("walk_day", "W/s^0.5", "log", None, 1.0, "the same under full sun, added"),
    Row("walk_mass", "K/s^0.5", "log", 3e-4, 0.5, "unexplained change of mass and floor"),
    Row("walk_wall", "K/s^0.5", "log", 5e-4, 0.5, "unexplained change of the soil at the pipe wall"),
    Row("walk_soil", "K/s^0.5", "log", 1e-4, 0.3, "unexplained change of the soil further out"),
    Row("noise_house", "K", "log", 0.05, 0.4, "noise of the house probe"),
    Row("noise_soil", "K", "log", 0.05, 0.4, "noise of the soil probe"),
    Row("noise_outlet", "K", "log", 0.3, 0.2, "noise of the outlet probe and of the pipe equation"),
)
NAMES = tuple(row.name for row in PARAMETERS)
INDEX = {name: i for i, name in enumerate(NAMES)}
(_CA, _CM, _C0, _CF, _UA, _DAMP, _DAMP_T, _STIRRED, _HM, _HT, _KF, _KG, _SHARE, _ON_MASS, _FLOW, _EFF, _CHARGE, _POWER,
 _CS, _KS, _CB, _KD, _TD,
 _PLACE, _SUN, _SKY, _VENT, _VENT_T, _VENT_W, _LATENT, _EVAPORATING, _HELD, _HEATER, _OFFSET, _MEMORY, _Q_NIGHT, _Q_DAY,
 _W_MASS, _W_WALL, _W_SOIL, _R_HOUSE, _R_SOIL, _R_OUT) = range(len(PARAMETERS))  # fmt: skip
KINDS = np.array([{"log": 0, "share": 1, "plain": 2}[row.kind] for row in PARAMETERS])


def natural(free):
    """Return the parameters in their own units from the fitted scale, shape (..., len(PARAMETERS))."""
    free = np.asarray(free, float)
    grown = np.exp(np.clip(free, -60, 60))
    return np.where(KINDS == 0, grown, np.where(KINDS == 1, grown / (1 + grown), free))


def fitted_scale(values):
    """Return the parameters on the fitted scale: inverse of `natural`."""
    values = np.asarray(values, float)
    safe = np.where(KINDS == 2, 1.0, values)
    share = np.where(KINDS == 1, values, 0.5)
    return np.where(KINDS == 0, np.log(safe), np.where(KINDS == 1, np.log(share / (1 - share)), values))


def shell_shape(radius_ratio):
    """Share of the capacity of each shell and relative conductances between them.

    radius_ratio: half the pipe spacing over the pipe radius, above 1. Shell walls grow by a fixed factor.
    Returns (shares shape (3,) summing to 1, conductances shape (2,) whose series connection is 1).
    Source: annulus area, and ln(r2/r1)/(2 pi k L) between the shells' mean radii.
    """
    walls = radius_ratio ** (np.arange(SHELLS + 1) / SHELLS)
    shares = np.diff(walls**2) / (walls[-1] ** 2 - 1)
    middle = np.sqrt((walls[1:] ** 2 + walls[:-1] ** 2) / 2)
    resistance = np.log(middle[1:] / middle[:-1])
    return shares, resistance.sum() / resistance


@jit
def effectiveness(full, ratio, level, exponent):
    """Exchange effectiveness of the pipes at a fan level (share of full airflow, above 0).

    full: effectiveness at full airflow when discharging; ratio multiplies the number of transfer units.
    eff = 1 - exp(-NTU), NTU = h A / (m cp), h ~ m**exponent, so NTU ~ m**-0.2 in turbulent flow.
    Source: Incropera & DeWitt chapters 8 and 11 (from memory); checked against `ht` in the tests.
    """
    units = -np.log(1.0 - full) * ratio * level ** (exponent - 1.0)
    return 1.0 - np.exp(-units)


@jit
def share_moved(p, level):
    """Effectiveness at a signed fan level: above 0 the soil is the warmer side (discharge), below 0 charge."""
    if level == 0.0:
        return 0.0
    return effectiveness(p[_EFF], p[_CHARGE] if level < 0.0 else 1.0, abs(level), p[_POWER])


@jit
def exchange(p, level):
    """Heat moved by the fan per degree of house minus pipe soil [W/K], at a signed fan level -1..1."""
    return p[_FLOW] * abs(level) * share_moved(p, level)


@jit
def motor_heat(p, full, level):
    """Heat of a fan motor that sits in the stream [W]; full: at full speed. Cube law of fans (affinity laws)."""
    return full * abs(level) if p[_POWER] == 1.0 else full * abs(level) ** 3


@helper
def outward(p, level):
    """Loss to outside [W/K] at a signed fan level -1..1 (or an array): stirred air gives the cover more heat."""
    return p[_UA] * (1.0 + p[_STIRRED] * abs(level))


@jit
def balance(p, shares, links, level, out):
    """Fill `out`, shape (10, 10), with the heat balances divided by capacity [1/s]; see the module's head."""
    out[:] = 0.0
    h, lost = exchange(p, level), outward(p, level)
    floor = p[_HT] * (1.0 + STIRS_FLOOR * p[_STIRRED] * abs(level))
    out[AIR, AIR] = -(lost + p[_UA] * p[_DAMP] + p[_HM] + floor + h) / p[_CA]
    out[AIR, MASS] = p[_HM] / p[_CA]
    out[AIR, SURFACE] = floor / p[_CA]
    out[AIR, SHELL_1] = h / p[_CA]
    out[AIR, GAIN] = (1.0 - p[_SHARE]) / p[_CA]
    out[GAIN, GAIN] = -1.0 / p[_MEMORY]
    out[MASS, AIR] = p[_HM] / p[_CM]
    out[MASS, MASS] = -p[_HM] / p[_CM]
    out[MASS, GAIN] = p[_SHARE] * p[_ON_MASS] / p[_CM]
    out[SURFACE, AIR] = floor / p[_C0]
    out[SURFACE, FLOOR_1] = p[_KF] / p[_C0]
    out[SURFACE, SURFACE] = -(floor + p[_KF]) / p[_C0]
    out[SURFACE, GAIN] = p[_SHARE] * (1.0 - p[_ON_MASS]) / p[_C0]
    upper, lower = UPPER * p[_CF], (1.0 - UPPER) * p[_CF]
    between = 0.5 * p[_KF]
    out[FLOOR_1, SURFACE] = p[_KF] / upper
    out[FLOOR_1, FLOOR_2] = between / upper
    out[FLOOR_1, FLOOR_1] = -(p[_KF] + between) / upper
    out[FLOOR_2, FLOOR_1] = between / lower
    out[FLOOR_2, SHELL_3] = p[_KG] / lower
    out[FLOOR_2, FLOOR_2] = -(between + p[_KG]) / lower
    for i in range(SHELLS - 1):
        flow = p[_KS] * links[i]
        a, b = SHELL_1 + i, SHELL_1 + i + 1
        ca, cb = p[_CS] * shares[i], p[_CS] * shares[i + 1]
        out[a, a] -= flow / ca
        out[a, b] += flow / ca
        out[b, b] -= flow / cb
        out[b, a] += flow / cb
    first, last = p[_CS] * shares[0], p[_CS] * shares[SHELLS - 1]
    out[SHELL_1, SHELL_1] -= h / first
    out[SHELL_1, AIR] += h / first
    out[SHELL_3, SHELL_3] -= (p[_KG] + p[_KD]) / last
    out[SHELL_3, FLOOR_2] += p[_KG] / last
    out[SHELL_3, BELOW] += p[_KD] / last
    out[BELOW, SHELL_3] = p[_KD] / p[_CB]
    out[BELOW, BELOW] = -(p[_KD] + FURTHER * p[_KD]) / p[_CB]


@jit
def step_matrices(rate, dt, power, integral):
    """Fill power = exp(rate dt) and integral = its integral from 0 to dt, both shape (n, n).

    x(t + dt) = power x(t) + integral f for a constant forcing f [K/s]. Exact: Taylor series of the integral on a
    step halved until it converges to rounding, then doubled by I(2h) = I(h) (2 + rate I(h)).
    Source: Van Loan 1978, IEEE Trans. Automatic Control 23, 395 (from memory); checked against scipy.
    """
    n = rate.shape[0]
    largest = 0.0
    for i in range(n):
        total = 0.0
        for j in range(n):
            total += abs(rate[i, j])
        largest = max(largest, total)
    halvings = 0
    h = dt
    while largest * h > 0.25 and halvings < 60:
        h *= 0.5
        halvings += 1
    term, spare = np.zeros((n, n)), np.zeros((n, n))
    for i in range(n):
        term[i, i] = h
        for j in range(n):
            integral[i, j] = term[i, j]
    for k in range(2, 14):
        multiply(term, rate, spare)
        for i in range(n):
            for j in range(n):
                term[i, j] = spare[i, j] * (h / k)
                integral[i, j] += term[i, j]
    for _ in range(halvings):
        multiply(rate, integral, spare)
        for i in range(n):
            spare[i, i] += 2.0
        multiply(integral, spare, term)
        for i in range(n):
            for j in range(n):
                integral[i, j] = term[i, j]
    multiply(rate, integral, power)
    for i in range(n):
        power[i, i] += 1.0


@jit
def multiply(a, b, out):
    """Fill out with a times b, all (n, n). Plain loops: numba takes seconds to compile its products of arrays."""
    n = a.shape[0]
    for i in range(n):
        for j in range(n):
            out[i, j] = 0.0
        for k in range(n):
            for j in range(n):
                out[i, j] += a[i, k] * b[k, j]


@jit
def forcing(p, shares, outside, sun, heater, level, out):
    """Fill `out`, shape (10,), with the known forcing of one row [K/s]: outside, sun, heater, ground.

    outside [degC], sun [W/m2], heater [W], level: signed, of the fan.
    """
    out[:] = 0.0
    gain = p[_SUN] * sun
    lost = outward(p, level) * (outside - p[_SKY]) + p[_UA] * p[_DAMP] * p[_DAMP_T]
    out[AIR] = (lost + (1.0 - p[_SHARE]) * gain + heater) / p[_CA]
    out[MASS] = p[_SHARE] * p[_ON_MASS] * gain / p[_CM]
    out[SURFACE] = p[_SHARE] * (1.0 - p[_ON_MASS]) * gain / p[_C0]
    out[BELOW] = FURTHER * p[_KD] * p[_TD] / p[_CB]


@jit
def vent_heat(p, house, outside, opened):
    """Heat let out by the vents [W]: opened by the board (0..1), or by themselves from vent_start on, saturating."""
    opening = max(opened, min(1.0, max(0.0, (house - p[_VENT_T]) / p[_VENT_W])))
    return p[_VENT] * opening * (house - outside)


@jit
def heater_watts(p, heater):
    """Heat of the heater [W]: logged in W, or 0..1 of heater_power."""
    return heater * p[_HEATER] if heater <= 1.0 else heater


@jit
def latent_heat(p, exchanged, moisture, wall, pressure, water, dt):
    """Heat freed in the pipes by condensing moisture [W]; below 0 while water left there evaporates.

    exchanged: heat exchange of the pipes, see `exchange` [W/K]; moisture: humidity ratio of the house air [kg/kg],
    NaN when unknown (then 0); wall: first shell [degC]; water: lying in the pipes [kg]; dt [s]. Evaporation takes no
    more than that water in dt.
    Lewis relation: moisture passes to and from the wall with the same effectiveness as heat (ASHRAE Fundamentals
    2017, chapter 6, from memory).
    """
    if exchanged == 0.0 or not moisture > 0.0:
        return 0.0
    carried = exchanged / CP_AIR
    excess = moisture - saturation_ratio(wall, pressure)
    if excess >= 0.0:
        return p[_LATENT] * carried * LATENT_HEAT * excess
    dried = min(p[_EVAPORATING] * carried * -excess, water / dt)
    return -LATENT_HEAT * dried


@jit
def water_after(p, water, wet, dt):
    """Water lying in the pipes [kg] dt seconds later, when `wet` [W] was freed: more than water_held drains away."""
    return min(max(0.0, water + wet / LATENT_HEAT * dt), p[_HELD])


@jit
def probe_weights(place, out):
    """Fill `out`, shape (10,), with the share of each shell in the soil probe's reading (between two shells)."""
    out[:] = 0.0
    at = min(max(place, 0.0), 1.0) * (SHELLS - 1)
    low = min(int(at), SHELLS - 2)
    out[SHELL_1 + low] = 1.0 - (at - low)
    out[SHELL_1 + low + 1] = at - low
