"""The settings that a search may move, in useful steps, and how a point becomes settings that the board accepts.

Lives here: rows, steps, limits, repair. Never here: what a setting does.
"""

from dataclasses import dataclass

import numpy as np

from controller.core import rows
from controller.core import settings as core
from tuner import settings_file
from tuner.errors import SettingsError, nearest

# (row, step in core units). Steps finer than these drown in the spread of any prediction; our choice.
STEPS = (
    ("charge_above_c", 50), ("charge_band_c", 50), ("discharge_below_c", 50), ("discharge_band_c", 50),
    ("least_gain_c", 50), ("gain_band_c", 50), ("soil_floor_c", 100), ("min_run_s", 60), ("min_rest_s", 60),
    ("max_run_s", 1800), ("day_run_limit_s", 3600),
)  # fmt: skip
SPEED_STEPS = (("charge_fan_pct", 10), ("discharge_fan_pct", 10))  # only where the fan has speed control
# Narrower than the board allows: beyond these lies nothing that a grower would flash, or motor and
# relay suffer. What is on the board now may lie beyond, and is tried too.
NARROWER = {
    "min_run_s": (300, 1800), "min_rest_s": (300, 900), "charge_above_c": (1000, 3600), "charge_band_c": (50, 600),
    "discharge_band_c": (50, 500),
}  # fmt: skip
TABLE = {row[0]: row for row in rows.TABLE}


@dataclass(frozen=True)
class Space:
    """keys: rows that move. grids: list of int arrays, core units. base: Settings for all others.

    most_starts: of the motor, an hour.
    """

    keys: tuple
    grids: list
    base: rows.Settings
    most_starts: float

    @property
    def lows(self):
        """Lowest point, int array, shape (keys,)."""
        return np.zeros(len(self.keys), np.int64)

    @property
    def highs(self):
        """Highest point, int array, shape (keys,)."""
        return np.array([len(grid) - 1 for grid in self.grids])

    def settings(self, point):
        """Return the Settings of a point, repaired where rows contradict each other; None if that cannot be."""
        found = {rows.field_of(k): int(g[i]) for k, g, i in zip(self.keys, self.grids, point, strict=True)}
        made = repaired(self.base._replace(**found), self.most_starts)
        inside = all(
            grid[0] <= getattr(made, rows.field_of(key)) <= grid[-1]
            for key, grid in zip(self.keys, self.grids, strict=True)
        )
        fine = inside and not core.between_rows(made) and not settings_file.starts_faults(made, self.most_starts)
        return made if fine else None

    def accepts(self, settings):
        """Tell whether Settings stand as they are: nothing to repair, and no row against another."""
        return repaired(settings, self.most_starts) == settings and not core.between_rows(settings)

    def point(self, settings):
        """Return the nearest point to some Settings."""
        return np.array(
            [
                int(np.abs(grid - getattr(settings, rows.field_of(key))).argmin())
                for key, grid in zip(self.keys, self.grids, strict=True)
            ]
        )


def space(site, base, limits=(), coldest_soil=None):
    """Return the Space of a site around the Settings base.

    site : Site; limits : [(key, lowest, highest)] in file units, narrower bounds asked for; coldest_soil : of the log
    [degC], None if unknown: soil_floor_c is not raised above it, where it would forbid all but the frost guard.
    Raises SettingsError for limits that name no row that moves, or leave nothing.
    """
    steps = STEPS + (SPEED_STEPS if site.fan.speed_control else ())
    asked = {}
    for key, low, high in limits:
        if key not in dict(steps):
            raise SettingsError(
                f'--limit {key}: this row is not tuned.{nearest(key, dict(steps))}\n'
                f"Rows that are: {', '.join(dict(steps))}."
            )
        scale = 100 if TABLE[key][4][0] == "C" else 1
        if not low <= high:
            raise SettingsError(f"--limit {key}={low:g}:{high:g}: the lower bound is above the upper.\nSwap them.")
        asked[key] = (round(low * scale), round(high * scale))
    narrower = dict(NARROWER)
    if coldest_soil is not None:
        narrower["soil_floor_c"] = (TABLE["soil_floor_c"][2], int(coldest_soil // 1) * 100)
    grids = [
        _grid(key, step, asked.get(key), getattr(base, rows.field_of(key)), narrower.get(key)) for key, step in steps
    ]
    made = Space(tuple(key for key, _ in steps), grids, base, site.fan.most_starts_per_hour)
    if asked and made.settings(made.point(base)) is None:
        _refuse_contradiction(made)
    return made


def _refuse_contradiction(made):
    rng = np.random.default_rng(0)
    for _ in range(2000):
        if made.settings(rng.integers(made.lows, made.highs + 1)) is not None:
            return
    raw = made.base._replace(
        **{rows.field_of(k): int(g[0]) for k, g in zip(made.keys, made.grids, strict=True)}
    )
    words = core.between_rows(raw) or settings_file.starts_faults(raw, made.most_starts)
    raise SettingsError(
        "The limits asked for leave no settings that the board would accept.\n  "
        + "\n  ".join(words or ["The rows contradict each other within these limits."])
        + "\nWiden one of the --limit options."
    )


def _grid(key, step, asked, own, within):
    """Values of one row that are tried: even steps within its bounds, and its own value now."""
    _, _, lowest, highest, unit, _ = TABLE[key]
    low, high = within or (lowest, highest)
    high = min(max(high, lowest), highest)
    low, high = min(low, own), max(high, own)
    if asked is not None:
        low, high = asked
        if low < lowest or high > highest:
            scale = 100 if unit[0] == "C" else 1
            raise SettingsError(
                f"--limit {key}={low / scale:g}:{high / scale:g}: the board allows {rows.bounds_text(TABLE[key])}.\n"
                "Stay inside."
            )
    values = np.arange(-(-low // step) * step, high + 1, step)
    values = np.unique(np.concatenate((values, [own] if low <= own <= high else [], [low, high]))).astype(np.int64)
    return values[(values >= lowest) & (values <= highest)]


def repaired(s, most_starts):
    """Return Settings s moved, row after row, until the checks between rows agree, as far as that goes."""
    s = s._replace(discharge_below_centi_c=max(s.discharge_below_centi_c, s.frost_guard_centi_c + s.frost_band_centi_c))
    warm = s.discharge_below_centi_c + s.discharge_band_centi_c + 300
    s = s._replace(charge_above_centi_c=max(s.charge_above_centi_c, warm + s.charge_band_centi_c))
    s = s._replace(gain_band_centi_c=min(s.gain_band_centi_c, s.least_gain_centi_c - 50))
    s = s._replace(soil_floor_centi_c=min(s.soil_floor_centi_c, s.soil_ceiling_centi_c - 500))
    shortest = int(-(-3600 // most_starts))
    s = s._replace(min_run_s=min(max(s.min_run_s, shortest - s.min_rest_s), s.blind_run_s))
    s = s._replace(min_rest_s=min(max(s.min_rest_s, shortest - s.min_run_s), s.blind_rest_s))
    s = s._replace(max_run_s=max(s.max_run_s, s.min_run_s, s.blind_run_s))
    if s.vent_fitted:
        s = s._replace(charge_above_centi_c=min(s.charge_above_centi_c, s.vent_above_centi_c - 100))
    return s
