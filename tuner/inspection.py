"""What is in a log: span, columns, faults, nights and days, fan hours, and whether a fit can learn from it.

Computes only; inspection_text.py lays it out, log_plot.py draws it.
"""

import numpy as np
import pandas as pd

from tuner import nights
from tuner.logged import GAP_S, seconds
from tuner.reader.parts import time_text

HUMID_PCT = 95.0  # from here on moulds such as grey mould spread on wet leaves; common practice, no source
COLUMNS = ("house", "soil", "outlet", "outside", "humidity", "fan_pct", "heater", "vent", "solar", "fan_power")
LEAST_DAYS, GOOD_DAYS = 2.0, 7.0
LEAST_STARTS = 6
APART_K = 3.0  # house and soil this far apart: only then does the fan show what it can do


def inspect(log, site=None, units=None):
    """Return all that `loamstat inspect` tells about a log, as a tree of plain values (the tree of --json).

    log : logs.Log. site : Site or None; without it days and nights are those of UTC.
    units : "C" or "F" for what people read; else those of the site, else C. The values are degrees C either way.
    """
    zone = site.site.time_zone if site else "UTC"
    frame = log.frame
    held = held_s(frame.index, log.step_s)
    span = (frame.index[-1] - frame.index[0]).total_seconds()
    return {
        "name": site.site.name if site else None,
        "units": units or (site.site.units if site else "C"),
        "time_zone": zone,
        "from": frame.index[0].isoformat(),
        "to": frame.index[-1].isoformat(),
        "rows": len(frame),
        "step_s": log.step_s,
        "span_h": round(span / 3600, 4),
        "covered_pct": round(100 * min(1.0, float(held.sum()) / span), 3) if span else 100.0,
        "files": [{"file": str(path), "understood": dict(how)} for path, how in log.understood],
        "columns": columns(log),
        "faults": [fault_tree(fault) for fault in log.faults],
        "nights": by_night(log, held, zone),
        "total": totals(log, held),
        "fit": fit_support(log, held),
    }


def held_s(index, step_s):
    """Return the seconds that each row stands for: since the row before, none after a gap. shape (n,)

    A log with rows further apart than an hour stands for its own step all the same.
    """
    since = np.diff(seconds(index), prepend=seconds(index)[:1])
    return np.where(since > max(GAP_S, 1.5 * step_s), 0, since)


def fault_tree(fault):
    """Return one Fault as plain values; from and to are null where it has no place in time."""
    return {
        "kind": fault.kind,
        "grave": fault.grave,
        "where": fault.where,
        "text": fault.text,
        "done": fault.done,
        "overrule": fault.overrule,
        "column": fault.column,
        "rows": int(fault.rows),
        "from": None if fault.start is None else time_text(fault.start),
        "to": None if fault.end is None else time_text(fault.end),
    }


def columns(log):
    """Return one dict for each column that the log has: name, unit, readings and their range."""
    found = []
    for name in COLUMNS:
        if name not in log.frame or not (log.frame[name].notna().any() or name in log.units):
            continue
        values = log.frame[name]
        found.append({
            "column": name,
            "unit": log.units.get(name, ""),
            "readings": int(values.notna().sum()),
            "covered_pct": round(100 * float(values.notna().mean()), 3),
            "lowest": number(values.min()),
            "mean": number(values.mean()),
            "highest": number(values.max()),
        })  # fmt: skip
    return found


def number(value, places=3):
    """Return a float for JSON, None for NaN."""
    return None if pd.isna(value) else round(float(value), places)


def starts_of(frame):
    """Return True at each row where the fan is on and was not at the row before. shape (n,) bool"""
    on = frame["fan_pct"].fillna(0).to_numpy() > 0
    return on & ~np.concatenate([[False], on[:-1]])


def by_night(log, held, zone):
    """Return one dict for each night (noon to noon, named by its morning) with the day of that date beside it."""
    frame = log.frame
    humid = np.where(frame["humidity"].to_numpy() >= HUMID_PCT, held / 3600, 0.0)
    rows = pd.DataFrame({
        "night": nights.mornings(frame.index, zone),
        "day": frame.index.tz_convert(zone).tz_localize(None).normalize(),
        "mean10": nights.ten_minute_means(frame["house"]).to_numpy(),
        "house": frame["house"].to_numpy(),
        "outside": frame["outside"].to_numpy(),
        "soil": frame["soil"].to_numpy(),
        "fan_h": frame["fan_s"].fillna(0).to_numpy() / 3600,
        "starts": starts_of(frame),
        "humid_h": humid,
    })  # fmt: skip
    highest = rows.groupby("day").agg({"house": "max"})["house"].to_dict()
    coldest = rows.groupby("night").agg({"outside": "min"})["outside"].to_dict()
    found = []
    for night, part in rows.groupby("night"):
        soil = part["soil"].dropna()
        found.append({
            "date": f"{night:%Y-%m-%d}",
            "house_min_c": number(part["mean10"].min()),
            "outside_min_c": number(coldest.get(night, np.nan)),
            "day_house_max_c": number(highest.get(night, np.nan)),
            "soil_end_c": number(soil.iloc[-1] if len(soil) else np.nan),
            "fan_h": number(part["fan_h"].sum(), 4),
            "starts": int(part["starts"].to_numpy().sum()),
            "humid_h": number(part["humid_h"].sum(), 4),
        })  # fmt: skip
    return found


def totals(log, held):
    """Return fan hours and starts, and the hours at HUMID_PCT or more, over the whole log; None where not logged."""
    frame = log.frame
    has_fan, has_humidity = frame["fan_pct"].notna().any(), frame["humidity"].notna().any()
    humid = np.where(frame["humidity"].to_numpy() >= HUMID_PCT, held / 3600, 0.0)
    return {
        "fan_h": number(frame["fan_s"].sum() / 3600, 4) if has_fan else None,
        "starts": int(starts_of(frame).sum()) if has_fan else None,
        "humid_h": number(humid.sum(), 4) if has_humidity else None,
        "house_min_c": number(nights.ten_minute_means(frame["house"]).min()),
        "house_max_c": number(frame["house"].max()),
    }


def fit_support(log, held):
    """Return {"possible": bool, "lacks": [texts], "better": [texts]}: can a fit learn the house from this log?

    The limits are our choice: two days at least, a week to be trusted.
    """
    frame = log.frame
    lacks, better = [], []
    for name, told in (("house", "the house temperature"), ("soil", "the soil temperature"), ("fan_pct", "the fan")):
        if not frame[name].notna().any():
            lacks.append(f"no readings of {told}")
    days = float(held.sum()) / 86_400
    if days < LEAST_DAYS:
        lacks.append(f"{days:.1f} days of rows; a fit needs {LEAST_DAYS:.0f}, a week is good")
    elif days < GOOD_DAYS:
        better.append(f"more days: {days:.1f} are here, a week is good")
    if log.step_s > 3600:
        lacks.append(f"a row each {log.step_s / 3600:g} h; a fit needs one an hour, one a minute is best")
    elif log.step_s > 300:
        better.append(f"rows closer together: one each {log.step_s / 60:g} min hides how fast the air answers")
    if frame["fan_pct"].notna().any():
        better += _fan_lessons(frame)
    wanted = (("outside", "outside temperature: without it the loss of the house cannot be told from the weather"),
              ("humidity", "humidity: the heat of condensing moisture stays unknown"),
              ("outlet", "the air leaving the pipes: it shows what the pipes give"),
              ("solar", "light or solar radiation: the sun's heat is then not guessed"))  # fmt: skip
    better += [text for name, text in wanted if name not in frame or not frame[name].notna().any()]
    return {"possible": not lacks, "lacks": lacks, "better": better}


def _fan_lessons(frame):
    """Return what runs of the fan would teach more."""
    count = int(starts_of(frame).sum())
    on = frame["fan_pct"].fillna(0) > 0
    warmer = frame["house"] - frame["soil"]
    lessons = []
    if count == 0:
        lessons.append("a trial night (loamstat trial): the fan never starts here, so nothing shows what it does")
    elif count < LEAST_STARTS:
        lessons.append(f"a trial night (loamstat trial): {count} starts of the fan show little of what it does")
    if count and warmer.notna().any():
        if not (on & (warmer > APART_K)).any():
            lessons.append("a run by day: the fan never runs while the house is 3 K warmer than the soil (charging)")
        if not (on & (warmer < -APART_K)).any():
            lessons.append("a run by night: the fan never runs while the soil is 3 K warmer than the house")
        if not (~on & (warmer.abs() > APART_K)).any():
            lessons.append("hours without the fan: house and soil are never 3 K apart while it rests")
    return lessons
