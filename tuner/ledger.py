"""Every row of a run booked: seconds, energy, money, heat and water, cut wherever the local calendar changes.

Lives here: the one table that all sums of `loamstat cost` are taken from. Never here: periods, words, figures.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from controller.core import phases
from tuner import fan_power, heat, prices, spans
from tuner.logged import NOT_SAID
from tuner.spans import Spans, Starts

JOULES_PER_KWH = fan_power.JOULES_PER_KWH
PHASE_COLUMNS = {
    phases.CHARGE: "charge_s",
    phases.DISCHARGE: "discharge_s",
    phases.BLIND: "blind_s",
    phases.HAND: "hand_s",
    NOT_SAID: "unnamed_s",
}


@dataclass(frozen=True)
class Ledger:
    """What one run took and gave. Money in the site's currency.

    rows : DataFrame, one row per log row: start_s, end_s (UTC seconds spoken for), starts, hand_starts, run_no,
        run_cost and the columns of SPLIT: fan_s and the *_s of PHASE_COLUMNS (seconds run), run_kwh, standby_kwh,
        heat_s (seconds run with known heat), heat_kwh (what the fan took meanwhile), in_j, out_j (heat into the store
        and out of it, by which way the run goes), in_per_kelvin_j, out_per_kelvin_j (see heat.HeatRows), water_s,
        water_kg.
    stretches : DataFrame, one row per stretch of the calendar: known_s, the columns of SPLIT (split in proportion to
        time), starts, hand_starts, run_cost, standby_cost, resistance_cost (of the heat brought back); gap_s, most_kwh
        and most_cost: seconds not known, and the fan at full speed in all of them.
    calendar : prices.Calendar. starts : spans.Starts. source : where the heat comes from, "" for nowhere.
    heat_share_sd : see heat.HeatRows.
    """

    rows: pd.DataFrame
    stretches: pd.DataFrame
    calendar: prices.Calendar
    starts: Starts
    source: str
    heat_share_sd: float


SPLIT = [
    "fan_s", "charge_s", "discharge_s", "blind_s", "hand_s", "unnamed_s", "run_kwh", "standby_kwh",
    "heat_s", "heat_kwh", "in_j", "out_j", "in_per_kelvin_j", "out_per_kelvin_j", "water_s", "water_kg",
]  # fmt: skip


def ledger(log, run, site, fitted=None):
    """Return the Ledger of a run over a log.

    log : tuner.logs.Log; run : logged.Run; site : Site
    fitted : heat.HeatRows of a fitted house for this run, or None; it fills the rows that no probe measured
    Raises SiteError where a time has no price.
    """
    stretch = spans.of_rows(log, run)
    found = spans.starts(log.frame, run, stretch)
    rows = _rows(log, run, site, stretch, found)
    source, share_sd = _book_heat(rows, log, run, site, fitted)
    whole = (int(stretch.start.min()), int(stretch.end.max())) if len(rows) else (0, 1)
    times = prices.calendar(site.energy, site.site.zone, *whole)
    prices.refuse_unpriced(times, *whole, site.site.zone)
    stretches = _known(rows, stretch, times)
    _add_gaps(stretches, stretch.gaps, times, site.fan.watts)
    return Ledger(rows, stretches, times, found, source, share_sd)


def powers(log, run, site):
    """Return (watts while running, watts at rest) for each row. ndarrays, shape (n,). [W]

    A logged power wins over the site's watts, for the run that it was logged in.
    """
    running = fan_power.running_watts(fan_power.ran_pct(run.out.fan_pct), site.fan)
    resting = np.full(len(running), float(site.fan.standby_watts))
    if run.settings is None and "fan_power" in log.frame:
        seen = fan_power.measured_watts(log.frame["fan_power"].to_numpy(dtype=float), run.out.fan_pct > 0)
        running, resting = (
            np.where(np.isnan(measured), stated, measured)
            for measured, stated in zip(seen, (running, resting), strict=True)
        )
    return running, resting


def _rows(log, run, site, stretch, found):
    out = run.out
    running, resting = powers(log, run, site)
    rest_s = np.maximum(0, stretch.end - stretch.start - out.fan_s)
    rows = pd.DataFrame(
        {
            "start_s": stretch.start,
            "end_s": stretch.end,
            "fan_s": out.fan_s.astype(float),
            "charge_s": out.charge_s.astype(float),
            "discharge_s": out.discharge_s.astype(float),
            "blind_s": 0.0,
            "hand_s": 0.0,
            "unnamed_s": 0.0,
            "starts": found.count,
            "hand_starts": found.by_hand,
            "run_no": found.run,
            "run_kwh": out.fan_s * running / JOULES_PER_KWH,
            "standby_kwh": rest_s * resting / JOULES_PER_KWH,
        }
    )
    rest = np.maximum(0.0, rows["fan_s"] - rows["charge_s"] - rows["discharge_s"])
    for phase, column in PHASE_COLUMNS.items():
        rows[column] += np.where(found.phase == phase, rest, 0.0)
    return rows


def _book_heat(rows, log, run, site, fitted):
    """Fill the columns of heat and water in rows; return (source, share_sd)."""
    fan_s = rows["fan_s"].to_numpy()
    running, _ = powers(log, run, site)
    nothing = np.full(len(rows), np.nan)
    parts = []
    if run.settings is None and site.fan.airflow_m3_h is not None:
        on, pct = run.out.fan_pct > 0, fan_power.ran_pct(run.out.fan_pct)
        parts.append(heat.measured(log.frame, fan_s, on, pct, running, site))
    parts += [fitted] if fitted is not None else []
    joule, per_kelvin, water, used = nothing.copy(), np.zeros(len(rows)), nothing.copy(), []
    for part in parts:
        fresh = np.isnan(joule) & ~np.isnan(part.joule) & (fan_s > 0)
        if fresh.any():
            used.append(part)
        joule[fresh], per_kelvin[fresh] = part.joule[fresh], part.per_kelvin[fresh]
        wet = np.isnan(water) & ~np.isnan(part.water) & (fan_s > 0)
        water[wet] = part.water[wet]
    known = ~np.isnan(joule)
    rows["heat_s"] = np.where(known, fan_s, 0.0)
    rows["heat_kwh"] = np.where(known, rows["run_kwh"], 0.0)
    joule = np.where(known, joule, 0.0)
    per_kelvin = np.where(known, np.nan_to_num(per_kelvin), 0.0)
    storing = _storing(rows, joule)
    rows["in_j"] = np.where(storing, -joule, 0.0)
    rows["out_j"] = np.where(storing, 0.0, joule)
    rows["in_per_kelvin_j"] = np.where(storing, per_kelvin, 0.0)
    rows["out_per_kelvin_j"] = np.where(storing, 0.0, per_kelvin)
    rows["water_s"] = np.where(np.isnan(water), 0.0, fan_s)
    rows["water_kg"] = np.nan_to_num(water)
    return "; ".join(part.source for part in used), max((part.share_sd for part in used), default=0.0)


def _storing(rows, joule):
    """Which rows store heat: those of CHARGE, and of other phases those of runs that stored on the whole.

    Heat is never sorted row by row by its sign: the noise of the probes would then count as heat both ways.
    """
    of_run = np.bincount(rows["run_no"] + 1, weights=joule, minlength=1)[rows["run_no"] + 1]
    other = (rows["charge_s"] == 0) & (rows["discharge_s"] == 0)
    return (rows["charge_s"] > 0) | (other & (of_run < 0))


def _known(rows, stretch, times):
    """Return the stretches of what is known, and add run_cost to rows."""
    row, start, end, share = spans.cut(stretch, times.edges)
    place = times.place(start)
    count = len(times.price)
    found = {"known_s": np.bincount(place, weights=end - start, minlength=count)}
    for name in SPLIT:
        found[name] = np.bincount(place, weights=rows[name].to_numpy()[row] * share, minlength=count)
    last = np.concatenate((row[1:] != row[:-1], [True])) if len(row) else np.zeros(0, dtype=bool)
    for name in ("starts", "hand_starts"):  # whole: told of when the row ends
        found[name] = np.bincount(place[last], weights=rows[name].to_numpy()[row[last]], minlength=count)
    for name in ("run", "standby"):
        found[f"{name}_cost"] = found[f"{name}_kwh"] * times.price
    found["resistance_cost"] = found["out_j"] / JOULES_PER_KWH * times.price
    kwh = rows["run_kwh"].to_numpy()[row] * share
    rows["run_cost"] = np.bincount(row, weights=kwh * times.price[place], minlength=len(rows))
    return pd.DataFrame(found)


def _add_gaps(stretches, gaps, times, watts):
    """Add what is not known to the stretches."""
    start, end = np.array(gaps, dtype=np.int64).reshape(-1, 2).T
    _, start, end, _ = spans.cut(Spans(start, end, []), times.edges)
    seconds = np.bincount(times.place(start), weights=end - start, minlength=len(times.price))
    stretches["gap_s"] = seconds
    stretches["most_kwh"] = seconds * watts / JOULES_PER_KWH
    stretches["most_cost"] = stretches["most_kwh"] * times.price
