"""Why the pick is what it is: what each changed row does, when, and what the fan alone cannot do.

Lives here: facts, as plain dicts and numbers. Never here: sentences (tune_words.py), layout.
"""

from typing import Any

import numpy as np
import pandas as pd

from controller.core import reasons, rows
from tuner import judge, trials, tryout

STORE_SPENT = 1 << [word for word, _ in reasons.ALARMS].index("store-spent")


def changes(tuned):
    """Return a list of dicts, one for each row that the found settings change, the weightiest first.

    key; now, pick: core ints; alone: False where the row cannot go back by itself; else harm_k_h over all weathers,
    money in the log's own: what going back in this row alone would add; most_harm, most_money: dicts of the night that
    adds most: more, weather, night (morning), hour (local).
    """
    found, base, t = tuned.found, tuned.settings["current"], tuned.trials
    hourly = {w.name: trials.by_hour(t, found, w) for w in t.weathers}
    out = []
    for key in tuned.space.keys:
        name = rows.field_of(key)
        if getattr(found, name) == getattr(base, name):
            continue
        one = {"key": key, "now": getattr(base, name), "pick": getattr(found, name), "alone": False}
        back = found._replace(**{name: getattr(base, name)})
        if tuned.space.accepts(back):
            one |= {"alone": True, **_difference(tuned, back, hourly)}
        out.append(one)
    return sorted(out, key=lambda c: -abs(c.get("harm_k_h", 0.0)) - abs(c.get("money", 0.0)))


def _difference(tuned, back, hourly):
    """What `back` adds over the found settings, best house, and the night and hour at which it adds most."""
    t, zone = tuned.trials, tuned.trials.fit.grid.site.site.zone
    harm, money = 0.0, 0.0
    best: dict[str, tuple] = {"harm": (0.0,), "money": (0.0,)}
    for w in t.weathers:
        sums, first = trials.by_hour(t, back, w)
        more = sums - hourly[w.name][0]
        hurt = more[:, tryout.COLD] + more[:, tryout.HOT]
        paid = judge.paid(more, tuned.prices) if w is t.weathers[0] else np.zeros(len(more))
        harm += hurt.sum()
        money += paid.sum()
        at = pd.to_datetime(first + 3600 * np.arange(len(hurt)), unit="s", utc=True).tz_convert(zone)
        mornings = (at.tz_localize(None) + pd.Timedelta(hours=12)).normalize()
        for kind, values in (("harm", hurt), ("money", paid)):
            nights = pd.Series(values).groupby(mornings).sum()
            night = nights.abs().idxmax()
            if abs(nights[night]) > abs(best[kind][0]):
                inside = np.flatnonzero(mornings == night)
                hour = at[inside[int(np.abs(values[inside]).argmax())]]
                best[kind] = (float(nights[night]), w.name, f"{night:%Y-%m-%d}", f"{hour:%H} h")
    told: dict[str, Any] = {"harm_k_h": float(harm), "money": float(money)}
    for kind in ("harm", "money"):
        if len(best[kind]) == 4:
            names = ("more", "weather", "night", "hour")
            told[f"most_{kind}"] = dict(zip(names, best[kind], strict=True))
    return told


def beyond_the_fan(tuned, settings):
    """Return a list of dicts, one a weather: what the fan alone cannot do under some settings.

    weather; cold_k_h mean; backup_kwh mean, backup_low, backup_high: 90 % of the plausible houses; worst_night,
    worst_kwh; lowest_c of the best house (10-minute mean) and lowest_night; spent: local time of the coldest night
    at which the store is first spent, or None; below: local time at which the house first falls below the floor;
    fan_h of that night, soil_c at its coldest moment.
    """
    t = tuned.trials
    site = t.fit.grid.site
    floor, zone = site.needs.frost_floor_c, site.site.zone
    out = []
    for w in t.weathers:
        one = trials.course(t, settings, w)
        local = one.times.tz_convert(zone)
        mean = pd.Series(one.house).rolling(max(1, round(600 / t.fit.grid.dt)), min_periods=1).mean().to_numpy()
        low = int(mean.argmin())
        coldest = one.night == one.night[low]
        names = (local.tz_localize(None) + pd.Timedelta(hours=12)).normalize()
        heat = trials.backup(t, settings, w, floor)
        total, nights = heat.sum(1), heat.mean(0)
        spent = np.flatnonzero(coldest & ((one.alarms & STORE_SPENT) > 0))
        below = np.flatnonzero(coldest & (mean < floor))
        worst = int(nights.argmax())
        worst_at = np.flatnonzero(one.night == worst)
        out.append(
            {
                "weather": w.name,
                "lowest_c": float(mean[low]),
                "lowest_at": f"{local[low]:%Y-%m-%d %H:%M}",
                "night": f"{names[low]:%Y-%m-%d}",
                "backup_kwh": float(total.mean()),
                "backup_low": float(np.quantile(total, 0.05)),
                "backup_high": float(np.quantile(total, 0.95)),
                "worst_night": f"{names[worst_at[0]]:%Y-%m-%d}" if len(worst_at) and nights[worst] > 0 else None,
                "worst_kwh": float(nights[worst]),
                "spent": f"{local[spent[0]]:%H:%M}" if len(spent) else None,
                "below": f"{local[below[0]]:%H:%M}" if len(below) else None,
                "fan_h": float((one.fan_pct[coldest] > 0).sum() * t.fit.grid.dt / 3600.0),
                "soil_c": float(one.soil[low]),
            }
        )
    return out


def table(tuned):
    """Return {name: dict} of what each of the named settings comes to, by weather and together.

    Each: cold_k_h, hot_k_h in all weathers, money in the log's own, and weathers: {name: dict(cold_k_h, hot_k_h,
    fan_kwh, fan_money, starts)}, all means over the plausible houses; *_sd: of the houses; soil_end_c: mean of the
    last hour of the log under the best house.
    """
    out = {}
    for name, sums in tuned.sums.items():
        cold, hot, _ = judge.harm_and_money(sums, tuned.prices)
        money = judge.logged_money(sums, tuned.prices)
        nights = sums.sum(2).mean(0)
        out[name] = {
            "cold_k_h": float(cold.mean()), "hot_k_h": float(hot.mean()), "money": float(money.mean()),
            "harm_sd": float((cold + hot).std()), "money_sd": float(money.std()), "soil_end_c": _soil_end(tuned, name),
            "weathers": {
                w.name: {
                    "cold_k_h": float(nights[i, tryout.COLD]), "hot_k_h": float(nights[i, tryout.HOT]),
                    "fan_kwh": float(nights[i, tryout.KWH]), "fan_money": float(nights[i, tryout.MONEY]),
                    "starts": float(nights[i, tryout.STARTS]),
                }
                for i, w in enumerate(tuned.trials.weathers)
            },
        }  # fmt: skip
    return out


def _soil_end(tuned, name):
    """Soil at the end of the log's own weather under one of the named settings, mean of the last hour. [degC]"""
    t = tuned.trials
    last = max(1, round(3600 / t.fit.grid.dt))
    return float(trials.course(t, tuned.settings[name], t.weathers[0]).soil[-last:].mean())
