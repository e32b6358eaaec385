"""Replays summed up by night. A night runs from noon to noon, local time, and is named by its morning."""

import numpy as np
import pandas as pd

from tuner import cost
from tuner.logged import GAP_S, seconds

MEAN_S = 600  # a night's minimum is the lowest mean over this time [s]


def mornings(index, zone):
    """The date of the morning of each row's night; DatetimeIndex without zone, length n.

    index : DatetimeIndex in UTC; zone : tzinfo of the site
    """
    return (index.tz_convert(zone).tz_localize(None) + pd.Timedelta(hours=12)).normalize()


def stood_s(index):
    """Seconds that each row's reading stands for: since the row before, none after a gap. ndarray, shape (n,)."""
    since = np.diff(seconds(index), prepend=seconds(index)[:1])
    return np.where(since > GAP_S, 0, since)


def ten_minute_means(house):
    """Mean house temperature over the ten minutes up to each row; NaN where half of them or more is missing.

    house : Series of float on a UTC DatetimeIndex
    """
    steps = np.diff(seconds(house.index))
    step = max(1.0, float(np.median(steps))) if len(steps) else MEAN_S
    return house.rolling(f"{MEAN_S}s", min_periods=max(1, int(np.ceil(MEAN_S / step / 2)))).mean()


def rows_of(log, run, site):
    """Return a DataFrame, one row per log row: what one run adds up to, in hours, degree hours, kWh and money."""
    frame, out = log.frame, run.out
    hours = stood_s(frame.index) / 3600.0
    house = frame["house"].to_numpy(dtype=float)
    kwh = cost.fan_kwh(out.fan_s, cost.ran_pct(out.fan_pct), site.fan)
    return pd.DataFrame(
        {
            "night": mornings(frame.index, site.site.zone),
            "mean10": ten_minute_means(frame["house"]).to_numpy(),
            "house": house,
            "soil": frame["soil"].to_numpy(dtype=float),
            "covered_h": np.where(np.isnan(house), 0.0, hours),
            "fan_h": out.fan_s / 3600.0,
            "charge_h": out.charge_s / 3600.0,
            "discharge_h": out.discharge_s / 3600.0,
            "starts": out.starts,
            "cold_degree_h": np.nan_to_num(np.maximum(0.0, site.needs.frost_floor_c - house)) * hours,
            "hot_degree_h": np.nan_to_num(np.maximum(0.0, house - site.needs.hot_limit_c)) * hours,
            "fan_kwh": kwh,
            "fan_cost": kwh * cost.prices(frame.index, site.energy, site.site.zone),
        }
    )


def summed(rows):
    """Return the sums and extremes of some rows of rows_of as a dict with the keys of `replay --json`."""
    soil = rows["soil"].dropna()
    return {
        "house_min_c": _value(rows["mean10"].min(), 3),
        "house_max_c": _value(rows["house"].max(), 3),
        "soil_end_c": _value(soil.iloc[-1] if len(soil) else np.nan, 3),
        "fan_h": _value(rows["fan_h"].sum(), 4),
        "charge_h": _value(rows["charge_h"].sum(), 4),
        "discharge_h": _value(rows["discharge_h"].sum(), 4),
        "starts": int(rows["starts"].sum()),
        "cold_degree_h": _value(rows["cold_degree_h"].sum(), 4),
        "hot_degree_h": _value(rows["hot_degree_h"].sum(), 4),
        "fan_kwh": _value(rows["fan_kwh"].sum(), 5),
        "fan_cost": _value(rows["fan_cost"].sum(), 5),
        "covered_h": _value(rows["covered_h"].sum(), 4),
    }


def _value(number, places):
    """A plain float for JSON, None where there is none."""
    return None if np.isnan(number) else round(float(number), places)


def summary(log, run, site):
    """Return {"settings": name, "nights": [...], "total": {...}} for one run.

    Each night has its `date` (of the morning) and the keys of summed.
    """
    rows = rows_of(log, run, site)
    nights = [{"date": f"{night:%Y-%m-%d}", **summed(part)} for night, part in rows.groupby("night")]
    return {"settings": run.name, "nights": nights, "total": summed(rows)}
