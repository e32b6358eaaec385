"""The ledger of a run summed up: any set of hours, and the nights, weeks and months that a log touches.

Lives here: sums and their names in `--json`. Never here: rows, words, figures.
"""

import numpy as np

from tuner import bands as price_bands
from tuner import heat
from tuner.fan_power import JOULES_PER_KWH

NOON_H = 12
PHASES = ("charge", "discharge", "blind", "hand", "unnamed")
# The key that names each night, week or month.
LABELS = {"nights": "date", "weeks": "week_from", "months": "month"}


def keys(period, times):
    """Return the label of each stretch: the morning, the Monday or the first of the month, as datetime64[D]."""
    if period == "nights":
        return times.day + (times.hour >= NOON_H).astype("timedelta64[D]")
    if period == "weeks":
        return times.day - ((times.day.astype("int64") + 3) % 7).astype("timedelta64[D]")  # 1970-01-01: a Thursday
    return times.day.astype("datetime64[M]").astype("datetime64[D]")


def periods(period, book, table, site):
    """Return one dict per night, week or month that the log touches."""
    label_of = keys(period, book.calendar)
    touched = (book.stretches["known_s"] + book.stretches["gap_s"] + book.stretches["starts"]).to_numpy() > 0
    found = []
    for label in np.unique(label_of[touched]):
        word = str(label)[:7] if period == "months" else str(label)
        found.append({LABELS[period]: word, **sums_of(book, table, label_of == label, site)})
    return found


def sums_of(book, table, use, site):
    """Return the sums over some stretches (ndarray of bool) as a dict with the keys of `cost --json`.

    Runs count where they begin, the longest one wherever it reaches; all else where it happens.
    """
    total = book.stretches[use].sum()
    first, last = (book.calendar.place(table[name].to_numpy(dtype=np.int64)) for name in ("start_s", "last_s"))
    begun = table[use[first]]
    before = np.concatenate(([0], np.cumsum(use)))
    touching = table["fan_h"].to_numpy(dtype=float)[before[last + 1] > before[first]]
    known_h = total["known_s"] / 3600
    days = _days(book, use)
    sums = {
        "known_h": value(known_h, 4),
        "unknown_h": value(total["gap_s"] / 3600, 4),
        "fan_h": value(total["fan_s"] / 3600, 4),
        **{f"{phase}_h": value(total[f"{phase}_s"] / 3600, 4) for phase in PHASES},
        "duty_pct": value(100 * total["fan_s"] / 3600 / known_h if known_h > 0 else np.nan, 3),
        "starts": int(total["starts"]),
        "hand_starts": int(total["hand_starts"]),
        "longest_run_h": value(touching.max(initial=0.0), 4),
        "fan_kwh": value(total["run_kwh"], 5),
        "fan_kwh_most": value(total["run_kwh"] + total["most_kwh"], 5),
        "standby_kwh": value(total["standby_kwh"], 5),
        "fan_cost": value(total["run_cost"], 5),
        "fan_cost_most": value(total["run_cost"] + total["most_cost"], 5),
        "standby_cost": value(total["standby_cost"], 5),
        "daily_charge": value(site.energy.daily_charge * days, 5),
        "bands": _bands(book, use, site.energy),
    }
    return sums | _heat_sums(total, begun, book, site)


def _days(book, use):
    """Return the local days covered, parts of days counted as such; a day of 23 or 25 hours is one day."""
    _, nth = np.unique(book.calendar.day, return_inverse=True)
    covered = (book.stretches["known_s"] + book.stretches["gap_s"]).to_numpy() * use
    length = np.bincount(nth, weights=np.diff(book.calendar.edges))
    return float((np.bincount(nth, weights=covered) / length).sum())


def _bands(book, use, energy):
    """Return one dict per price band that occurs, those without the fan too: hours, energy and money by band."""
    part = (
        book.stretches[use]
        .groupby(book.calendar.band[use])[["known_s", "gap_s", "fan_s", "run_kwh", "run_cost", "most_cost"]]
        .sum()
    )
    found = []
    for place, sums in part[part["known_s"] + part["gap_s"] > 0].iterrows():
        name = price_bands.name_of(energy.bands[place], place + 1) if place >= 0 else "other hours"
        found.append(
            {
                "name": name if energy.bands else "all hours",
                "price_per_kwh": energy.bands[place].price_per_kwh if place >= 0 else energy.price_per_kwh,
                "fan_h": value(sums["fan_s"] / 3600, 4),
                "fan_kwh": value(sums["run_kwh"], 5),
                "fan_cost": value(sums["run_cost"], 5),
                "fan_cost_most": value(sums["run_cost"] + sums["most_cost"], 5),
            }
        )
    return found


def _heat_sums(total, begun, book, site):
    """Return the sums of heat and water, None where nothing is known of them."""
    heat_h = total["heat_s"] / 3600
    known = heat_h > 0
    back, stored = total["out_j"] / JOULES_PER_KWH, total["in_j"] / JOULES_PER_KWH
    judged = begun["heat_kwh"].notna().to_numpy() if len(begun) else np.zeros(0, dtype=bool)
    took = total["heat_kwh"]
    backup = site.energy.backup_price_per_kwh
    resistance = float((begun["resistance_cost"] * ~begun["stores"].astype(bool)).sum()) if judged.any() else np.nan
    worth_known = bool(len(begun)) and bool(begun["worth"].notna().any())
    return {
        "heat_known_h": value(heat_h, 4),
        "heat_in_kwh": value(stored if known else np.nan, 4),
        "heat_in_sd_kwh": value(_spread(total, "in", book) if known else np.nan, 4),
        "heat_out_kwh": value(back if known else np.nan, 4),
        "heat_out_sd_kwh": value(_spread(total, "out", book) if known else np.nan, 4),
        "cop_moved": value((stored + back) / took if took > 0 else np.nan, 3),
        "cop_back": value(back / took if took > 0 else np.nan, 3),
        "resistance_cost": value(resistance, 4),
        "backup_cost": value(back * backup if known and backup is not None else np.nan, 4),
        "runs": len(begun),
        "runs_judged": int(begun["worth"].notna().sum()) if len(begun) else 0,
        "runs_at_a_loss": int(begun["loss"].sum()) if worth_known else (0 if not len(begun) else None),
        "water_l": value(total["water_kg"] if total["water_s"] > 0 else np.nan, 4),
    }


def _spread(total, way, book):
    """Return the standard deviation of the heat moved one way: the common factor, and the probes' difference. [kWh]"""
    factor = book.heat_share_sd * total[f"{way}_j"]
    return float(np.hypot(factor, heat.PROBES_SD * total[f"{way}_per_kelvin_j"])) / JOULES_PER_KWH


def value(number, places):
    """A plain float for JSON, None where there is none."""
    return None if np.isnan(number) else round(float(number), places)
