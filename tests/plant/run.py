"""simulate(): one house, one weather, one set of settings -> what truly happened and what the board saw.

Weather, clouds, gusts, sensor noise and dropouts depend on the seeds alone, never on settings or on what the fan
does. The warm-up always runs under `warmup_settings`, so the first logged minute is the same for all settings.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tests.plant import account, balance, constants, control, loop, psychro, sensors, soil, weather
from tests.plant.result import FLOWS, Result

LIGHT_COLUMNS = ("floor", "leaves", "mass", "cover", "inside")
MINUTE = 60.0


@dataclass(frozen=True)
class Steps:
    """How finely the plant is stepped: longest air step and soil step [s], and how many times finer the grid."""

    air_s: float = 7.5
    soil_s: float = 60.0
    fine: int = 1


USUAL = Steps()


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


@lru_cache(maxsize=24)
def prepared(house, climate, days, warmup_days, fine):
    """What a run needs that settings do not change: (minutes, grid, plant record, weather table, light)."""
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


def _go(ready, body, first_s, steps, step_s, s, driver, override, noise, missing, probes, steps_of, totals, start):
    """Run the loop once and return its arrays."""
    _, g, p, table, light = ready
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
    ready = prepared(house, climate, days, warmup_days, steps_of.fine)
    minutes, g, p = ready[:3]
    body = fresh_body(p, g, float(minutes.air[:1440].mean()), house.pipes, minutes.unix_s[0])
    steps = round(warmup_days * 1440)
    if steps:
        noise, missing = sensors.draw(sensors.PERFECT, steps, 60, 0)
        _go(
            ready,
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
    ready = prepared(house, climate, days, warmup_days, steps_of.fine)
    minutes, g, p = ready[:3]
    body = copy(_warmed(house, climate, days, warmup_days, steps_of, control.settings_of(warmup_settings)))
    steps = int(days * 86400) // step_s
    noise, missing = sensors.draw(sensors_of, steps, step_s, seed)
    override = np.zeros(0, dtype=np.int64) if fan_override is None else np.asarray(fan_override, dtype=np.int64)
    if fan_override is not None and override.size != steps:
        raise ValueError(f"fan_override has {override.size} values; {steps} steps need one each.")
    totals = np.zeros(balance.TOTALS)
    first = account.energy(p, g, body), account.water(p, body)
    every, raws, decided, truth, running, sums, sections, (state, _) = _go(
        ready, body, warmup_days * 86400.0, steps, step_s, s, control.DRIVERS[driver], override, noise, missing,
        sensors_of, steps_of, totals, control.power_up(s),
    )  # fmt: skip
    row_s = every * step_s
    flow = {name: np.diff(sums[:, place]) / row_s for name, place in FLOWS.items()}
    return Result(
        house=house, weather=climate, settings=s, step_s=step_s, row_s=row_s,
        unix_s=minutes.unix_s[0] + warmup_days * 86400.0 + row_s * np.arange(running.size),
        truth={name: truth[:, i] for i, name in enumerate(loop.TRUTH)}, fan_s=running, raws=raws, decided=decided,
        every=every, flow=flow, totals={name: float(totals[place]) for name, place in FLOWS.items()},
        stored=(first[0], account.energy(p, g, body)), water=(first[1], account.water(p, body)), sections=sections,
        section_s=max(1, round(3600 / step_s)) * step_s, grid=g, plant=p, body=body, state=state,
    )  # fmt: skip
