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


class Adder:
    """Adds up what lies in any set of stretches of a ledger's calendar.

    book : ledger.Ledger; table : DataFrame of runs.runs; site : Site
    """

    def __init__(self, book, table, site):
        self.book, self.site = book, site
        self.columns = {name: book.stretches[name].to_numpy(dtype=float) for name in book.stretches}
        self.covered = self.columns["known_s"] + self.columns["gap_s"]
        _, self.day = np.unique(book.calendar.day, return_inverse=True)
        self.day_share = np.diff(book.calendar.edges) / np.bincount(self.day, np.diff(book.calendar.edges))[self.day]
        self.run_first, self.run_last = (
            book.calendar.place(table[name].to_numpy(dtype=np.int64)) for name in ("start_s", "last_s")
        )
        self.runs = {name: table[name].to_numpy(dtype=float) for name in ("fan_h", "worth")}
        self.loss = table["loss"].to_numpy(dtype=bool)

    def everything(self):
        """Return the sums of the whole log."""
        return self.sums(np.ones(len(self.covered), dtype=bool))

    def periods(self, period):
        """Return one dict per night, week or month that the log touches, named as LABELS says."""
        label_of = keys(period, self.book.calendar)
        touched = self.covered + self.columns["starts"] > 0
        found = []
        for label in np.unique(label_of[touched]):
            word = str(label)[:7] if period == "months" else str(label)
            found.append({LABELS[period]: word, **self.sums(label_of == label)})
        return found

    def sums(self, use):
        """Return the sums over some stretches (ndarray of bool) as a dict with the keys of `cost --json`.

        Runs count where they begin, the longest one wherever it reaches; all else where it happens.
        """
        total = {name: float(values[use].sum()) for name, values in self.columns.items()}
        before = np.concatenate(([0], np.cumsum(use)))
        touching = self.runs["fan_h"][before[self.run_last + 1] > before[self.run_first]]
        known_h = total["known_s"] / 3600
        lengths = np.diff(self.book.calendar.edges)[use]
        days = float((self.day_share[use] * self.covered[use] / lengths).sum())
        return {
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
            "daily_charge": value(self.site.energy.daily_charge * days, 5),
            "bands": self._bands(use),
            **self._heat(total, use[self.run_first]),
        }

    def _bands(self, use):
        """Return one dict per price band that occurs, those without the fan too: hours, energy and money by band."""
        energy, band = self.site.energy, self.book.calendar.band[use]
        found = []
        for place in np.unique(band[self.covered[use] > 0]):
            inside = band == place
            fan_s, kwh, cost, most = (
                float(self.columns[name][use][inside].sum()) for name in ("fan_s", "run_kwh", "run_cost", "most_cost")
            )
            name = price_bands.name_of(energy.bands[place], place + 1) if place >= 0 else "other hours"
            found.append(
                {
                    "name": name if energy.bands else "all hours",
                    "price_per_kwh": energy.bands[place].price_per_kwh if place >= 0 else energy.price_per_kwh,
                    "fan_h": value(fan_s / 3600, 4),
                    "fan_kwh": value(kwh, 5),
                    "fan_cost": value(cost, 5),
                    "fan_cost_most": value(cost + most, 5),
                }
            )
        return found

    def _heat(self, total, begun):
        """Return the sums of heat and water, None where nothing is known of them. begun : which runs begin there."""
        known = total["heat_s"] > 0
        back, stored = total["out_j"] / JOULES_PER_KWH, total["in_j"] / JOULES_PER_KWH
        took, backup = total["heat_kwh"], self.site.energy.backup_price_per_kwh
        judged = ~np.isnan(self.runs["worth"][begun])
        return {
            "heat_known_h": value(total["heat_s"] / 3600, 4),
            "heat_in_kwh": value(stored if known else np.nan, 4),
            "heat_in_sd_kwh": value(self._spread(total, "in") if known else np.nan, 4),
            "heat_out_kwh": value(back if known else np.nan, 4),
            "heat_out_sd_kwh": value(self._spread(total, "out") if known else np.nan, 4),
            "cop_moved": value((stored + back) / took if took > 0 else np.nan, 3),
            "cop_back": value(back / took if took > 0 else np.nan, 3),
            "resistance_cost": value(total["resistance_cost"] if known else np.nan, 4),
            "backup_cost": value(back * backup if known and backup is not None else np.nan, 4),
            "runs": int(begun.sum()),
            "runs_judged": int(judged.sum()),
            "runs_at_a_loss": int(self.loss[begun].sum()) if judged.any() or not begun.any() else None,
            "water_l": value(total["water_kg"] if total["water_s"] > 0 else np.nan, 4),
        }

    def _spread(self, total, way):
        """Return the standard deviation of the heat moved one way: the common factor, the probes' difference. [kWh]"""
        factor = self.book.heat_share_sd * total[f"{way}_j"]
        return float(np.hypot(factor, heat.PROBES_SD * total[f"{way}_per_kelvin_j"])) / JOULES_PER_KWH


def value(number, places):
    """A plain float for JSON, None where there is none."""
    return None if np.isnan(number) else round(float(number), places)
