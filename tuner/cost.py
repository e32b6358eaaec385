"""What the fan costs and what it earns: one run over a log summed up by night, week, month and in all.

Lives here: what `loamstat cost` computes, joined. The rows are booked in ledger.py and added up in sums.py; the result
is told in cost_text.py and drawn in cost_plots.py.

A night runs from local noon to noon and is named by its morning; a week from Monday and a month from its first day,
at local midnight. Hours that a log does not tell are neither dropped nor invented: their cost is given as a range,
from the fan at rest to the fan at full speed in all of them.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from tuner import forecast, heat, ledger, runs, spans, sums, wear
from tuner import prices as pricing
from tuner.fan_power import fan_kwh, ran_pct
from tuner.logged import seconds
from tuner.sums import value

__all__ = ["Cost", "cost", "fan_kwh", "prices", "ran_pct"]


@dataclass(frozen=True)
class Cost:
    """name : of the run. book : ledger.Ledger. runs : DataFrame of runs.runs. tree : dict, what `--json` writes."""

    name: str
    book: ledger.Ledger
    runs: pd.DataFrame
    tree: dict


def prices(index, energy, zone):
    """Return the price of the energy used in each row: its mean since the row before. ndarray, shape (n,)

    index : DatetimeIndex in UTC, rising, length n; energy : site.Energy; zone : tzinfo of the site. [money per kWh]
    The first row and one after missing rows take the price of one usual step. Raises SiteError where a time has no
    price.
    """
    end = seconds(index)
    since = np.diff(end, prepend=end[:1])
    step = int(np.median(since[1:])) if len(end) > 1 else 60
    start = end - np.where((since > spans.HOLE * step) | (since == 0), step, since)
    times = pricing.calendar(energy, zone, int(start[0]), int(end[-1]))
    pricing.refuse_unpriced(times, int(start[0]), int(end[-1]), zone)
    return pricing.row_prices(start, end, times)


def cost(log, run, site, fitted=None):
    """Return the Cost of one run over a log.

    log : tuner.logs.Log; run : logged.Run, the log itself or a replay; site : Site
    fitted : heat.HeatRows of the fitted house for this run, or None
    Raises SiteError where a time has no price.
    """
    book = ledger.ledger(log, run, site, fitted)
    table = runs.runs(book, run, site, site.site.zone)
    adder = sums.Adder(book, table, site)
    tree = {"settings": run.name}
    for period in sums.LABELS:
        tree[period] = adder.periods(period)
    tree["total"] = adder.everything()
    tree["heat_source"] = book.source
    tree["wear"] = _wear(book, table, tree["total"], site)
    tree["losses"] = _losses(table)
    tree["cold"] = _cold(log, book, site)
    tree["forecast"] = _forecast(book, site)
    return Cost(run.name, book, table, tree)


def _wear(book, table, total, site):
    """Return what starts do to motor and relay."""
    times = np.repeat(book.rows["end_s"].to_numpy(), book.rows["starts"].to_numpy())
    days = total["known_h"] / 24
    rate = len(times) / days if days > 0 else None
    limit = site.fan.most_starts_per_hour
    life = None if rate is None else wear.relay_life_years(site.fan.relay_life_operations, rate)
    return {
        "starts_per_day": value(np.nan if rate is None else rate, 4),
        "most_starts_in_an_hour": wear.most_in_an_hour(times),
        "motor_limit_per_hour": limit,
        "starts_over_limit": wear.starts_over(times, limit),
        "relay_life_operations": site.fan.relay_life_operations,
        "relay_life_years": value(np.nan if life is None else life, 3),
    }


def _losses(table):
    """Return the runs that earned less than they cost: how many per reason, and each of them."""
    lost = table[table["loss"].to_numpy(dtype=bool)] if len(table) else table
    return {
        "by_reason": runs.losses(table) if len(table) else {},
        "runs": [
            {
                "start": row.start.isoformat(),
                "phase": runs.phase_word(row.phase),
                "reason": runs.reason_word(row.reason),
                "fan_h": value(row.fan_h, 4),
                "fan_cost": value(row.cost, 5),
                "heat_kwh": value(row.heat_kwh, 4),
                "worth": value(row.worth, 5),
            }
            for row in lost.itertuples()
        ],
    }


def _cold(log, book, site):
    """Return the degree hours of the outside air below the plants' floor, None where no outside is logged."""
    outside = log.frame["outside"].to_numpy(dtype=float)
    hours = (book.rows["end_s"] - book.rows["start_s"]).to_numpy() / 3600
    told = float(hours[~np.isnan(outside)].sum())
    below = heat.degree_hours(outside, site.needs.frost_floor_c, hours)
    return {"outside_known_h": value(told, 4), "outside_cold_degree_h": value(below if told else np.nan, 4)}


def _forecast(book, site):
    """Return a month and a winter at the rate of the log's nights: energy and money, with their ranges."""
    times, booked = book.calendar, book.stretches
    labels, nth = np.unique(sums.keys("nights", times), return_inverse=True)
    known = np.bincount(nth, weights=booked["known_s"]) / 86400
    kwh = np.bincount(nth, weights=booked["run_kwh"])
    use = known >= forecast.LEAST_KNOWN
    if not use.any():
        return None
    last = labels[use][-1].astype(object)
    hourly = np.bincount(times.hour, weights=booked["run_kwh"], minlength=24)
    spans_ahead = {
        "month": forecast.month_after(last),
        "winter": forecast.winter_of(last, site.site.latitude),
    }
    return {
        "nights_used": int(use.sum()),
        "level_pct": 100 * forecast.LEVEL,
        **{
            name: _ahead(kwh[use] / known[use], hourly, first, after, site)
            for name, (first, after) in spans_ahead.items()
        },
    }


def _ahead(rates, hourly, first, after, site):
    """Return the forecast of the days from first to after (not included) as a dict."""
    edges = [int(pd.Timestamp(day, tz=site.site.zone).timestamp()) for day in (first, after)]
    times = pricing.calendar(site.energy, site.site.zone, *edges)
    energy = forecast.ahead(rates, (after - first).days)
    money = energy.times(forecast.mean_price(times, hourly, first, after))
    return {
        "from": first.isoformat(),
        "days": (after - first).days,
        "fan_kwh": value(energy.middle, 3),
        "fan_kwh_low": None if energy.low is None else value(energy.low, 3),
        "fan_kwh_high": None if energy.high is None else value(energy.high, 3),
        "fan_cost": value(money.middle, 4),
        "fan_cost_low": None if money.low is None else value(money.low, 4),
        "fan_cost_high": None if money.high is None else value(money.high, 4),
        "daily_charge": value(site.energy.daily_charge * (after - first).days, 4),
    }
