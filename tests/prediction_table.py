"""How right the closed-loop replay is: fitted on a noisy log of the plant, judged against the plant's truth.

    python -m tests.prediction_table [--quick] [--step 60] [--houses "dome,tunnel"] [--weathers ...]

Each case: one house in one weather for a fortnight under one settings file gives the log (probe noise 0.05 K, steps
of 1/16 degC). The house is learned from that log alone; then other settings are replayed and laid beside what the
plant truly does with them, no noise. Baselines: the open-loop replay for fan hours, "no change" (the log itself).
"""

import argparse
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from controller.core import settings as core_settings
from tests.plant import HOUSES, WEATHERS, Sensors, simulate, write_log
from tuner import closed_loop, fit, logs, replay
from tuner import site as sites

PLACES = {
    "723170TYA.CSV": ("America/New_York", 36.1, -79.95, 273),
    "703165TY.csv": ("America/Anchorage", 55.32, -160.5, 7),
}
NOISY = Sensors(noise=(0.05, 0.05, 0.05, 0.05, 0.05, 0.5))
RATED_OVER_TRUE = 1.15  # the airflow that the grower reads on the fan is not what the pipes let through
NOT_DEVELOPED_ON = ("small lean-to", "tight and damp")
MEAN_S = 600

LOGGED = {
    "mild spring": {"charge_above_c": 22, "discharge_below_c": 7, "frost_guard_c": 1},
    "hard winter": {"charge_above_c": 16, "discharge_below_c": 4, "frost_guard_c": -1, "soil_floor_c": 3},
    "grey and wet": {"charge_above_c": 14, "discharge_below_c": 4.5, "frost_guard_c": 0, "soil_floor_c": 3},
}
NO_FAN = "no fan"


def others(logged):
    """Return {name: settings mapping} to be predicted from a log under `logged`; None: the fan is switched off."""
    warm, cold = logged["charge_above_c"], logged["discharge_below_c"]
    guard = min(logged["frost_guard_c"], cold - 4)
    slow = {
        "discharge_band_c": 3, "charge_band_c": 3, "least_gain_c": 4.5, "gain_band_c": 3, "min_run_s": 900,
        "min_rest_s": 900, "blind_run_s": 900, "blind_rest_s": 1800,
    }  # fmt: skip
    return {
        "discharge 3 K lower": logged | {"discharge_below_c": cold - 3, "frost_guard_c": guard},
        "discharge 4 K higher": logged | {"discharge_below_c": cold + 4, "charge_above_c": max(warm, cold + 11)},
        "charge 4 K lower": logged | {"charge_above_c": max(warm - 4, cold + 6.5)},
        "charge 6 K higher": logged | {"charge_above_c": warm + 6},
        "wide bands, slow motor": logged | slow,
        "seven hours a day": logged | {"day_run_limit_s": 25200, "max_run_s": 5400},
        NO_FAN: None,
    }


def site_of(house, weather):
    """Return the Site that a grower would write for one of the plant's houses."""
    zone, latitude, longitude, height = PLACES[weather.file]
    pipes = house.pipes
    cover = {1: "glass", 2: "twin-wall sheet"}[house.cover.layers]
    tree = {
        "site": {"time_zone": zone, "latitude": latitude, "longitude": longitude, "elevation_m": height},
        "needs": {"frost_floor_c": 2, "hot_limit_c": 34},
        "fan": {"watts": house.fan.watts, "airflow_m3_h": house.fan.airflow_m3_h * RATED_OVER_TRUE},
        "energy": {"price_per_kwh": 0.2},
        "house": {
            "floor_m2": house.floor.area, "volume_m3": house.volume, "cover_m2": house.cover_area, "cover": cover,
            "pipes": {"count": pipes.count, "length_m": pipes.length, "diameter_m": pipes.bore,
                      "depth_m": pipes.depth, "spacing_m": pipes.spacing},
        },
    }  # fmt: skip
    site, faults = sites.site_from_tree(tree)
    assert site is not None, faults
    return site


def settings_from(mapping):
    """Return the Settings of a mapping that must be right."""
    got, faults = core_settings.from_mapping(mapping)
    assert got is not None, faults
    return got


def truth_of(house, weather, mapping, logged, days):
    """Return (house (n,), soil (n,), fan hours) of the plant itself by the minute, no noise."""
    off = None if mapping is not None else np.zeros(days * 1440, np.int64)
    r = simulate(
        house, weather, logged if mapping is None else mapping, days=days, warmup_settings=logged, fan_override=off
    )
    return r.truth["house"], r.truth["soil"], float(r.fan_s.sum()) / 3600.0


def night_minima(values, unix_s, zone):
    """Return {night: lowest 10-minute mean}, whole nights only; values (n,) evenly spaced."""
    step = int(unix_s[1] - unix_s[0])
    index = pd.to_datetime(unix_s, unit="s", utc=True)
    mean = pd.Series(values, index).rolling(f"{MEAN_S}s", min_periods=max(1, MEAN_S // step)).mean()
    night = (index.tz_convert(zone).tz_localize(None) + pd.Timedelta(hours=12)).normalize()
    grouped = mean.groupby(night)
    whole = grouped.size() >= 0.98 * 86400 / step
    return grouped.min()[whole]


@dataclass
class Case:
    """One prediction beside the truth; arrays by night."""

    house: str
    weather: str
    settings: str
    truth: np.ndarray
    predicted: np.ndarray
    spread: np.ndarray
    logged: np.ndarray
    fan_h: tuple  # truth, closed loop, open loop, logged
    soil_end: tuple  # truth, predicted, logged


def logged_fit(house, weather, days, step_s, folder):
    """Return (plant Result of the log, Site, Fit)."""
    logged = LOGGED[weather.name]
    r = simulate(house, weather, logged, days=days, step_s=60, sensors_of=NOISY, warmup_settings=logged)
    path = write_log(r, Path(folder) / "log.csv")
    site = site_of(house, weather)
    log = logs.read_logs([path], site)
    if step_s > 60:
        log = thinned(log, step_s)
    return r, site, fit.fit(log, site)


def thinned(log, step_s):
    """Return the Log with a row each step_s, fan_s summed."""
    times = step_s // round(log.step_s)
    frame = log.frame.iloc[::times].copy()
    ran = log.frame["fan_s"].fillna(0).to_numpy()
    sums = np.add.reduceat(ran[1:], np.arange(0, len(ran) - 1, times))
    frame["fan_s"] = np.concatenate(([0.0], sums))[: len(frame)]
    return logs.Log(frame, float(step_s), [], log.restarts)


def cases_of(house, weather, days, step_s):
    """Yield the Cases of one house in one weather, then the seconds that the fit took."""
    logged = LOGGED[weather.name]
    with tempfile.TemporaryDirectory() as folder:
        began = time.perf_counter()
        r, site, learned = logged_fit(house, weather, days, step_s, folder)
        took = time.perf_counter() - began
    zone = site.site.zone
    grid_s = r.unix_s[0] + learned.grid.dt * np.arange(int(learned.grid.edges[-1]))
    open_log = learned.grid.log
    log_min = night_minima(r.truth["house"], r.unix_s, zone)
    for name, mapping in others(logged).items():
        true_house, true_soil, true_h = truth_of(house, weather, mapping, logged, days)
        true_min = night_minima(true_house, r.unix_s, zone)
        used = settings_from(logged if mapping is None else mapping)
        minima, fans, soils = [], [], []
        for draw in range(len(learned.plausible)):
            trace = closed_loop.run(learned, used, draw, fan=mapping is not None)
            minima.append(night_minima(trace.house, grid_s, zone))
            if draw == 0:
                changed = changed_by_night(learned, trace, grid_s, zone, minima[0].index)
            fans.append(trace.fan_s.sum() / 3600.0)
            soils.append(float(trace.soil[-30:].mean()))
        low, spread = closed_loop.night_spread(minima, minima_logged(learned, grid_s, zone), changed)
        both = true_min.index.intersection(minima[0].index)
        at = [minima[0].index.get_loc(one) for one in both]
        open_h = 0.0
        if mapping is not None:
            open_h = replay.replay(open_log, used, name).out.fan_s.sum() / 3600.0
        yield Case(
            house.name, weather.name, name, true_min[both].to_numpy(), low[at], spread[at],
            log_min[both].to_numpy(), (true_h, fans[0], open_h, float(r.fan_s.sum()) / 3600.0),
            (float(true_soil[-30:].mean()), soils[0], float(r.truth["soil"][-30:].mean())),
        )  # fmt: skip
    yield took


def minima_logged(learned, grid_s, zone):
    """Return the night minima of the log itself."""
    return night_minima(np.concatenate([c.acts[:, 0] for c in learned.courses(0)]), grid_s, zone)


def changed_by_night(learned, trace, grid_s, zone, nights):
    """Return the hours of each night in which the fan ran otherwise than logged."""
    index = pd.to_datetime(grid_s, unit="s", utc=True).tz_convert(zone).tz_localize(None)
    night = (index + pd.Timedelta(hours=12)).normalize()
    return pd.Series(closed_loop.changed_s(learned, trace)).groupby(night).sum().reindex(nights).to_numpy() / 3600.0


def rms(values):
    """Root mean square."""
    return float(np.sqrt(np.mean(np.square(values)))) if len(values) else float("nan")


def inside(cases):
    """Share of nights whose truth lies in the stated 90 % band."""
    return float(np.concatenate([_hits(c) for c in cases]).mean())


def summary_row(name, cases):
    """Return one line of the table."""
    fans = [c for c in cases if c.settings != NO_FAN]
    none = [c for c in cases if c.settings == NO_FAN]

    def nights(some, what):
        return rms(np.concatenate([getattr(c, what) - c.truth for c in some])) if some else float("nan")

    hours = np.array([abs(c.fan_h[1] / c.fan_h[0] - 1) for c in fans if c.fan_h[0] > 5])
    opened = np.array([abs(c.fan_h[2] / c.fan_h[0] - 1) for c in fans if c.fan_h[0] > 5])
    same = np.array([abs(c.fan_h[3] / c.fan_h[0] - 1) for c in fans if c.fan_h[0] > 5])
    soil = rms([c.soil_end[1] - c.soil_end[0] for c in cases])
    soil_same = rms([c.soil_end[2] - c.soil_end[0] for c in cases])
    mean = lambda x: 100 * x.mean() if len(x) else float("nan")  # noqa: E731
    worst = lambda x: 100 * x.max() if len(x) else float("nan")  # noqa: E731
    return (
        f"{name:32s} {nights(fans, 'predicted'):6.3f} {nights(fans, 'logged'):6.2f} | "
        f"{nights(none, 'predicted'):6.3f} {nights(none, 'logged'):6.2f} | "
        f"{mean(hours):5.1f} {worst(hours):5.1f} {mean(opened):6.1f} {worst(opened):6.1f} {mean(same):6.1f} | "
        f"{soil:5.2f} {soil_same:5.2f} | {100 * inside(cases):5.1f}"
    )


HEAD = (
    f"{'':32s} night minimum   | fan removed     | fan hours off by, %               | soil end    | in 90 %\n"
    f"{'':32s}  rms K no chg   |  rms K no chg  |  mean worst  open  worst no chg   |  rms no chg | band, %"
)


def bootstrap_band(cases, draws=2000):
    """5 and 95 % of the share inside the band, drawing whole fortnights (house and weather) with replacement."""
    names = sorted({(c.house, c.weather) for c in cases})
    hits = [np.concatenate([_hits(c) for c in cases if (c.house, c.weather) == name]) for name in names]
    rng = np.random.default_rng(1)
    shares = []
    for _ in range(draws):
        picked = rng.integers(0, len(names), len(names))
        shares.append(np.concatenate([hits[i] for i in picked]).mean())
    return np.quantile(shares, [0.05, 0.95])


def _hits(case):
    return np.abs(case.truth - case.predicted) <= 1.645 * case.spread


def detail(c):
    """Return one line on one Case."""
    off = c.predicted - c.truth
    return (
        f"    {c.settings:24s} night rms {rms(off):.3f} bias {np.mean(off):+.3f} "
        f"(no change {rms(c.logged - c.truth):.2f}) "
        f"fan h {c.fan_h[0]:.1f} true, {c.fan_h[1]:.1f} closed, {c.fan_h[2]:.1f} open, {c.fan_h[3]:.1f} log; "
        f"soil {c.soil_end[1] - c.soil_end[0]:+.2f} (no change {c.soil_end[2] - c.soil_end[0]:+.2f}) "
        f"sd {c.spread.mean():.2f}"
    )


def worst_lines(every):
    """Yield lines that name the worst cases."""
    for kind, cases in (
        ("with a fan", [c for c in every if c.settings != NO_FAN]),
        ("fan removed", [c for c in every if c.settings == NO_FAN]),
    ):
        worst = max(cases, key=lambda c: rms(c.predicted - c.truth))
        off = rms(worst.predicted - worst.truth)
        yield f"worst nights {kind}: {worst.house}, {worst.weather}, {worst.settings}: {off:.2f} K"
    hours = [c for c in every if c.settings != NO_FAN and c.fan_h[0] > 5]
    worst = max(hours, key=lambda c: abs(c.fan_h[1] / c.fan_h[0] - 1))
    yield (
        f"worst fan hours: {worst.house}, {worst.weather}, {worst.settings}: "
        f"{worst.fan_h[1]:.1f} h for {worst.fan_h[0]:.1f} h"
    )


def main(arguments=None):
    """Print the table."""
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--quick", action="store_true", help="one house and weather, 7 days")
    ask.add_argument("--step", type=int, default=60, help="seconds between rows of the log")
    ask.add_argument("--houses", default=",".join(HOUSES))
    ask.add_argument("--weathers", default=",".join(WEATHERS))
    ask.add_argument("--days", type=int, default=14)
    ask.add_argument("--each", action="store_true", help="a line for every case")
    asked = ask.parse_args(arguments)
    chosen = ["dome"] if asked.quick else asked.houses.split(",")
    weathers = ["mild spring"] if asked.quick else asked.weathers.split(",")
    print(HEAD)
    every = []
    for house in chosen:
        for weather in weathers:
            *cases, took = cases_of(HOUSES[house], WEATHERS[weather], 7 if asked.quick else asked.days, asked.step)
            mark = "*" if house in NOT_DEVELOPED_ON else " "
            print(summary_row(f"{mark}{house}, {weather}", cases), f" fit {took:.1f} s", flush=True)
            if asked.each:
                print("\n".join(detail(c) for c in cases), flush=True)
            every += cases
    print(summary_row("all", every))
    developed = [c for c in every if c.house not in NOT_DEVELOPED_ON]
    fresh = [c for c in every if c.house in NOT_DEVELOPED_ON]
    if developed and fresh:
        print(summary_row("developed on", developed))
        print(summary_row("* not developed on", fresh))
    low, high = bootstrap_band(every)
    print(
        f"nights inside the 90 % band: {100 * inside(every):.1f} % "
        f"(fortnights drawn again: {100 * low:.1f} to {100 * high:.1f})"
    )
    print("\n".join(worst_lines(every)))
    return every


if __name__ == "__main__":
    main(sys.argv[1:])
