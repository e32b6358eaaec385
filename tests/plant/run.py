"""simulate(): one house, one weather, one set of settings -> what truly happened and what the board saw.

Weather, clouds, gusts, sensor noise and dropouts depend on the seeds alone, never on settings or on what the fan
does. The warm-up always runs under `warmup_settings`, so the first logged minute is the same for all settings.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from controller.core import screen
from tests.plant import balance, constants, control, loop, psychro, sensors, soil, weather

LIGHT_COLUMNS = ("floor", "leaves", "mass", "cover", "inside")
MINUTE = 60.0


@dataclass(frozen=True)
class Steps:
    """How finely the plant is stepped: longest air step and soil step [s], and how many times finer the grid."""

    air_s: float = 7.5
    soil_s: float = 60.0
    fine: int = 1


USUAL = Steps()


@dataclass
class Result:
    """What came out. Rows are one a record (a minute, or a step when steps are longer); steps are one a decision.

    truth : dict of arrays, shape (rows,), names in loop.TRUTH: house, soil, outlet, outside [degC], humidity [%],
      solar [W/m2 horizontal] and more. fan_pct, phase, reason, heater, vent, alarms : shape (rows,), as decided at
      the row; fan_s : seconds the fan ran since the row before.
    flow : dict, shape (rows - 1,): mean flow until the next row, [W] and [kg/s].
    raws, decided : ints by the step, shape (steps, 6), probes in the order of sensors.PROBES, and phase, fan percent,
      heater, vent, reason, alarms. logged : screened ints by the row as the board would log them, shape (rows, 5).
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


def _day_of_year(unix_s):
    day = np.datetime64(int(unix_s), "s")
    return float((day - day.astype("datetime64[Y]")) / np.timedelta64(1, "s")) / 86400.0


def fresh_body(p, g, first_air, ground, unix_s):
    """A Body at rest: soil as undisturbed ground, warmer by 4 K towards the floor (assumption, 2-6 K), all else at
    the first air temperature and 5 degC at least."""
    segments, nx = p.segments, g.dx.size
    day = _day_of_year(unix_s)
    profile = soil.undisturbed(g.depth, day, p.ground_mean, p.ground_amplitude, p.ground_coldest, p.ground_diffusivity)
    profile = profile + 4.0 * np.exp(-g.depth / 2.0)
    slices = np.repeat(np.repeat(profile[None, :, None], segments, 0), nx, 2)
    at_pipe = float(np.interp(ground.depth, g.depth, profile))
    start = max(first_air, 5.0)
    y = np.array([start, 0.8 * psychro.saturation_ratio(start, p.pressure), start, start, start, float(profile[0])])
    small = np.zeros(8)
    small[loop.WAX], small[loop.OUTER], small[loop.OUTLET], small[loop.DAY] = start, first_air, at_pipe, day
    small[loop.GROUND_DAY], small[loop.TOP] = -9.0, profile[0]
    return loop.Body(
        y=y, film=np.zeros(2 + segments), wall_t=np.full(segments, at_pipe),
        wall_w=np.full(segments, psychro.saturation_ratio(at_pipe, p.pressure)),
        rings=np.full((segments, g.ring_capacity.size), at_pipe), slices=slices, column=profile.copy(),
        column_capacity=_column_capacity(g), hole_flow=np.zeros((segments, g.hole_g.shape[0])),
        outside_ground=profile.copy(), small=small, seen=np.array([start, at_pipe, at_pipe, first_air, start, 80.0]),
    )  # fmt: skip


def _column_capacity(g):
    """Heat capacity of the layers under floor without pipes. [J/m2 K], shape (layers,)"""
    return np.ascontiguousarray((g.capacity / (2 * g.dx[None, :]))[:, -1])


def copy(body):
    """A Body of its own."""
    return loop.Body(*(np.array(a) for a in body))


def energy(p, g, body):
    """Heat and vapour enthalpy stored in the house and the soil, against 0 degC and liquid water. [J]"""
    y = body.y
    quick = p.air_mass * psychro.moist_enthalpy(y[0], y[1])
    quick += p.cover_capacity * y[2] + p.leaf_capacity * y[3] + p.mass_capacity * y[4] + p.floor_capacity * y[5]
    slices = (body.slices * (g.capacity * g.live)[None]).sum() * p.metres
    rings = (body.rings * g.ring_capacity[None]).sum() * p.metres
    column = (body.column * body.column_capacity).sum() * p.bare_area
    return float(quick + slices + rings + column - _on_the_way(p, body))


def _on_the_way(p, body):
    """Heat that left the floor (negative) or the rings but has not reached the grid yet. [J]"""
    return -(body.small[loop.SOIL_HEAT] + body.hole_flow.sum() * p.metres)


def water(p, body):
    """Vapour and water films in the house. [kg]"""
    return float(p.air_mass * body.y[1] + body.film.sum())


@lru_cache(maxsize=24)
def _prepared(house, climate, days, warmup_days, fine):
    hours = weather.read_hours(climate.file)
    minutes = weather.minutes(climate, days, warmup_days)
    g = soil.build(house, fine)
    p = constants.of(house, g, hours)
    table = np.ascontiguousarray(
        np.column_stack([minutes.air, minutes.ratio, minutes.wind, minutes.sky, minutes.whole])
    )
    return minutes, g, p, table, constants.light(house, minutes)


def _scratch(p, g, h_most):
    work = np.zeros((5, max(32, p.segments + 2, balance.TOTALS)))
    return h_most, work, np.zeros((g.depth.size, g.dx.size)), np.zeros(p.segments), np.zeros(p.segments)


def _go(prepared, body, first_s, steps, step_s, s, driver, override, noise, missing, probes, steps_of, totals, start):
    """Run the loop once and return its arrays."""
    _, g, p, table, light = prepared
    every = max(1, round(MINUTE / step_s))
    if every * step_s != MINUTE and step_s < MINUTE:
        raise ValueError(f"step_s {step_s}: it must divide 60, or be 60 or more.")
    rows = (steps + every - 1) // every
    section_every = max(1, round(3600 / step_s))
    raws = np.zeros((steps, 6), dtype=np.int64)
    decided = np.zeros((steps, 6), dtype=np.int64)
    truth = np.zeros((rows, len(loop.TRUTH)))
    running = np.zeros(rows, dtype=np.int64)
    sums = np.zeros((rows, balance.TOTALS))
    sections = np.zeros(((steps + section_every - 1) // section_every, g.depth.size, g.dx.size))
    follow = 1.0 - np.exp(-step_s / np.array(probes.lag_s))
    h_most, work, soil_work, heat, condensed = _scratch(p, g, min(steps_of.air_s, 0.7 * g.ring_limit_s))
    soil_s = min(steps_of.soil_s, 0.7 * g.slice_limit_s)
    state, view = loop.run(
        p, g, body, table, light, float(first_s), steps, step_s, every, s, start[0], start[1], driver, override,
        noise, missing, probes.sun_k_per_w, follow, probes.steps, h_most, soil_s, work, soil_work, heat, condensed,
        totals, raws, decided, truth, running, sums, sections, section_every,
    )  # fmt: skip
    return every, raws, decided, truth, running, sums, sections, (state, view)


@lru_cache(maxsize=48)
def _warmed(house, climate, days, warmup_days, steps_of, s):
    """Body at the end of the warm-up, under Settings s with perfect probes at 60 s steps."""
    prepared = _prepared(house, climate, days, warmup_days, steps_of.fine)
    minutes, g, p = prepared[:3]
    body = fresh_body(p, g, float(minutes.air[:1440].mean()), house.pipes, minutes.unix_s[0])
    steps = round(warmup_days * 1440)
    if steps:
        noise, missing = sensors.draw(sensors.PERFECT, steps, 60, 0)
        _go(
            prepared,
            body,
            0,
            steps,
            60,
            s,
            control.BY_CORE,
            np.zeros(0, dtype=np.int64),
            noise,
            missing,
            sensors.PERFECT,
            steps_of,
            np.zeros(balance.TOTALS),
            control.power_up(s),
        )
    return body


def simulate(
    house,
    climate,
    settings=None,
    days=14,
    step_s=60,
    warmup_days=21,
    sensors_of=sensors.GOOD,
    seed=1,
    fan_override=None,
    driver="core",
    warmup_settings=None,
    steps_of=USUAL,
):
    """Simulate one house under one weather.

    house : houses.House. climate : weather.Weather. settings : Settings, a file's mapping, or None for defaults.
    days : logged days; step_s : whole seconds between decisions, dividing 60, or 60 and more; warmup_days before.
    sensors_of : sensors.Sensors. seed : of the probes' noise; the weather has its own in `climate`.
    fan_override : fan percent by the step, shape (steps,), instead of any decision (logged as phase hand).
    driver : "core" or "two_setpoint" (a plain thermostat on the same setpoints).
    Returns Result. Raises ValueError for settings or a step that cannot be.
    """
    s = control.settings_of(settings)
    step_s = int(step_s)
    prepared = _prepared(house, climate, days, warmup_days, steps_of.fine)
    minutes, g, p = prepared[:3]
    body = copy(_warmed(house, climate, days, warmup_days, steps_of, control.settings_of(warmup_settings)))
    steps = int(days * 86400) // step_s
    noise, missing = sensors.draw(sensors_of, steps, step_s, seed)
    override = np.zeros(0, dtype=np.int64) if fan_override is None else np.asarray(fan_override, dtype=np.int64)
    if fan_override is not None and override.size != steps:
        raise ValueError(f"fan_override has {override.size} values; {steps} steps need one each.")
    totals = np.zeros(balance.TOTALS)
    first = energy(p, g, body), water(p, body)
    every, raws, decided, truth, running, sums, sections, (state, _) = _go(
        prepared, body, warmup_days * 86400.0, steps, step_s, s, control.DRIVERS[driver], override, noise, missing,
        sensors_of, steps_of, totals, control.power_up(s),
    )  # fmt: skip
    row_s = every * step_s
    flow = {name: np.diff(sums[:, place]) / row_s for name, place in FLOWS.items()}
    return Result(
        house=house, weather=climate, settings=s, step_s=step_s, row_s=row_s,
        unix_s=minutes.unix_s[0] + warmup_days * 86400.0 + row_s * np.arange(running.size),
        truth={name: truth[:, i] for i, name in enumerate(loop.TRUTH)}, fan_s=running, raws=raws, decided=decided,
        every=every, flow=flow, totals={name: float(totals[place]) for name, place in FLOWS.items()},
        stored=(first[0], energy(p, g, body)), water=(first[1], water(p, body)), sections=sections,
        section_s=max(1, round(3600 / step_s)) * step_s, grid=g, plant=p, body=body, state=state,
    )  # fmt: skip


def energy_error(r):
    """What the account of heat leaves open, over all heat that came in. [-]

    Came in: sun, fan, heater, and all that the soil and pipes gave back are internal. A run whose steps were
    exact would give 0.
    """
    t = r.totals
    net = (
        t["sun"]
        - t["sky_and_wind"]
        + t["leak"]
        + t["vent"]
        + t["fan"]
        + t["heater"]
        - t["back"]
        + t["liquid"]
        - t["edge"]
        - t["deep"]
    )
    return (r.stored[1] - r.stored[0] - net) / (t["sun"] + t["fan"] + t["heater"])


def water_error(r):
    """What the account of water leaves open, over all water that came into the air. [-]"""
    t = r.totals
    net = t["transpired"] + t["floor_water"] + t["soil_to_pipe"] + t["leak_water"] - t["runoff"] - t["drained"]
    return (r.water[1] - r.water[0] - net) / max(t["transpired"] + abs(t["floor_water"]) + t["soil_to_pipe"], 1e-9)


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
