"""The single runs of the fan: when, why, what each took and brought, and which were not worth it.

Lives here: a table with one row per run. Never here: sums over nights or months.
"""

import numpy as np
import pandas as pd

from controller.core import phases, reasons
from tuner.fan_power import JOULES_PER_KWH
from tuner.logged import NOT_SAID

KNOWN_SHARE = 0.5  # a run is judged where its heat is known for this share of its time or more


def runs(book, run, site, zone):
    """Return a DataFrame, one row per run, in the order of time.

    book : ledger.Ledger; run : logged.Run; site : Site; zone : tzinfo

    start, end : local time; start_s, last_s : UTC seconds, of its first and its last second; phase : code; reason :
    code at its start, NOT_SAID unknown; fan_h; kwh; cost; heat_kwh : brought or stored, NaN where not known for
    KNOWN_SHARE of the run; resistance_cost : of the same heat from a resistance heater at the prices of that time;
    worth : of that heat, see worth; loss : bool, known and worth less than it cost. Money in the site's currency.
    """
    rows = book.rows[book.rows["run_no"] >= 0]
    if not len(rows):
        return pd.DataFrame(columns=COLUMNS)
    first = rows.groupby("run_no").head(1)
    number = rows["run_no"].to_numpy()
    place = first.index.to_numpy()
    last = rows.groupby("run_no").tail(1)["end_s"].to_numpy()
    start = (first["end_s"] - np.minimum(first["fan_s"], first["end_s"] - first["start_s"])).to_numpy(dtype=np.int64)
    table = pd.DataFrame(
        {
            "start_s": start,
            "last_s": np.maximum(last - 1, start),
            "start": pd.to_datetime(start, unit="s", utc=True).tz_convert(zone),
            "end": pd.to_datetime(last, unit="s", utc=True).tz_convert(zone),
            "phase": book.starts.phase[place],
            "reason": run.out.reason[place],
            "fan_h": _sum(number, rows["fan_s"]) / 3600,
            "kwh": _sum(number, rows["run_kwh"]),
            "cost": _sum(number, rows["run_cost"]),
        }
    )
    heat = _sum(number, rows["in_j"] + rows["out_j"]) / JOULES_PER_KWH
    known = _sum(number, rows["heat_s"]) / 3600 >= KNOWN_SHARE * table["fan_h"].to_numpy()
    table["heat_kwh"] = np.where(known, heat, np.nan)
    table["stores"] = _sum(number, rows["in_j"] != 0) > 0
    price = np.divide(table["cost"], table["kwh"], out=np.full(len(table), np.nan), where=table["kwh"].to_numpy() > 0)
    table["resistance_cost"] = table["heat_kwh"] * price
    table["worth"] = worth(table, site.energy.backup_price_per_kwh, returned(book))
    table["loss"] = (table["worth"] < table["cost"]).to_numpy()
    return table


COLUMNS = [
    "start_s", "last_s", "start", "end", "phase", "reason", "fan_h", "kwh", "cost", "heat_kwh", "stores",
    "resistance_cost", "worth", "loss",
]  # fmt: skip


def _sum(number, values):
    """Sum values by run number; runs are numbered from 0 but some may have no row."""
    _, nth = np.unique(number, return_inverse=True)
    return np.bincount(nth, weights=np.asarray(values, dtype=float))


def returned(book):
    """Return the share of the stored heat that came back within the log, 0 to 1; None where none of it did."""
    stored, back = float(book.rows["in_j"].sum()), float(book.rows["out_j"].sum())
    return min(1.0, back / stored) if stored > 0 and back > 0 else None


def worth(table, backup_price, share_back):
    """Return what the heat of each run is worth, NaN where that is not known. ndarray, shape (runs,)

    Heat brought back saves as much heat of the backup at its price; without one, of a resistance heater at the price
    of that time. Stored heat is worth the share of it that comes back; nothing is said where none came back yet.
    """
    price = table["resistance_cost"] if backup_price is None else table["heat_kwh"] * backup_price
    share = np.nan if share_back is None else share_back
    return (price * np.where(table["stores"], share, 1.0)).to_numpy()


def losses(table):
    """Return {reason word: number of runs} of the runs that earned less than they cost, the most frequent first."""
    found = table.loc[table["loss"].to_numpy(dtype=bool), "reason"]
    counts = found.map(reason_word).value_counts()
    return {word: int(count) for word, count in counts.items()}


def reason_word(code):
    """Return the word of a reason's code; "not said" where the log gives none."""
    return "not said" if code == NOT_SAID else reasons.REASONS[code][0]


def phase_word(code):
    """Return the word of a phase's code."""
    return reasons.PHASE_WORDS[code] if code in phases.PHASES else "not said"
