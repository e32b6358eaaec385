"""How good the picks are: true closed loop on the plant under the picked settings, beside an oracle that knows it.

    python -m tests.tuning_table            one house, two weathers: minutes
    python -m tests.tuning_table --full     every house and weather

Each case: a fortnight of one house; its first week, read by noisy probes, is the log. From that log alone settings
are picked twice: for the logged weather only, and for the harder weathers too (as `loamstat tune` does). The oracle
tries a grid of settings, a search and single steps in every row on the plant itself, no noise; steps also from what
the tuner picked, at no more harm than that. Its pick is the cheapest within judge's allowance on the least harm of the
logged week. All then run on the plant, three times: the logged week, the fortnight's unseen second week, and the logged
week 5 K colder. Beside them the defaults and the two-setpoint practice (27 and 4.4 degC, no soil probe).
Harm: degree hours below the floor and above the limit. Money: the fan's energy and the wear of its starts; nothing
for backup heat, so that harm and money stay apart.
"""

import argparse
import itertools
import pickle
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np

from controller.core import rows
from tests import prediction_table as cases
from tests.plant import HOUSES, PERFECT, WEATHERS, simulate, write_log
from tuner import fit, judge, logs, search, space, tuning, weathers
from tuner import site as sites

WEEK = 7
ORACLE = {"charge_above_c": (14, 18, 22, 27), "soil_floor_c": (0, 6, 12), "least_gain_c": (2, 4)}
OVER_FLOOR = (-0.5, 1, 2.5, 5)  # discharge_below_c, above the plants' floor [K]
TRUE_TRIES = 150  # of the oracle's search
NO_MONEY = 0.02  # less money than this is told as such, not as a share
PRACTICE = {"charge_above_c": 27, "charge_band_c": 2, "discharge_below_c": 4.4, "discharge_band_c": 1.5,
            "frost_guard_c": 0}  # fmt: skip


def needs_of(house, weather, result):
    """Return (floor, limit) that the logged week makes hard: a quarter or more of its nights fall below the floor."""
    low = cases.night_minima(result.truth["house"], result.unix_s, cases.site_of(house, weather).site.zone)
    return max(0.0, float(np.round(np.quantile(low, 0.25) + 0.5, 1))), 34.0


def site_with(site, floor, limit):
    """The site with other needs."""
    return replace(site, needs=sites.Needs(floor, limit))


def outcome(result, site, first=0, last=None):
    """Return (harm [K h], money) of the rows first..last of a plant Result."""
    house = result.truth["house"][first:last]
    hours = result.row_s / 3600.0
    cold = np.maximum(0, site.needs.frost_floor_c - house).sum() * hours
    hot = np.maximum(0, house - site.needs.hot_limit_c).sum() * hours
    fan_s = result.fan_s[first:last]
    on = fan_s > 0
    starts = int((on[1:] & ~on[:-1]).sum()) + int(on[0])
    kwh = fan_s.sum() / 3600.0 * site.fan.watts / 1000.0
    price = site.energy.price_per_kwh
    start = site.fan.watts * judge.WEAR_MINUTES / 60.0 / 1000.0 * price
    return float(cold + hot), float(kwh * price + starts * start)


def played(house, weather, mapping, logged, site, driver="core"):
    """Return {"logged": , "next": , "colder": (harm, money)} of settings on the plant, no noise."""
    how = {"warmup_settings": logged, "sensors_of": PERFECT, "driver": driver}
    both = simulate(house, weather, mapping, days=2 * WEEK, **how)
    half = WEEK * 1440
    cold = simulate(house, replace(weather, warmer=weather.warmer - 5.0, name=f"{weather.name}, colder"), mapping,
                    days=WEEK, **how)  # fmt: skip
    return {
        "logged": outcome(both, site, 0, half),
        "next": outcome(both, site, half, 2 * half),
        "colder": outcome(cold, site),
    }


class Plant:
    """What the plant does in its logged week under any settings, each tried once. known: {Settings: (harm, money)}."""

    def __init__(self, house, weather, logged, site):
        self.house, self.weather, self.logged, self.site, self.known = house, weather, logged, site, {}
        off = simulate(house, weather, logged, days=WEEK, warmup_settings=logged, sensors_of=PERFECT,
                       fan_override=np.zeros(WEEK * 1440, np.int64))  # fmt: skip
        self.idle = outcome(off, site)[0]  # harm were the fan never to run

    def __call__(self, settings):
        from controller.core import settings as core

        if settings not in self.known:
            r = simulate(self.house, self.weather, core.to_mapping(settings), days=WEEK, warmup_settings=self.logged,
                         sensors_of=PERFECT)  # fmt: skip
            self.known[settings] = outcome(r, self.site)
        return self.known[settings]

    def limit(self):
        """Return the harm that judge's allowance leaves to the pick. [K h]"""
        now = self(cases.settings_from(self.logged))[0]
        values = [(0.0, 0.0, money, harm) for harm, money in self.known.values()]
        return float(judge.allowed(values, self.idle, now)[0])

    def best(self, allowance=True, most=np.inf):
        """Return the cheapest settings within judge's allowance on the least harm known, or of harm `most` or less."""
        limit = self.limit() if allowance else most
        return min(self.known, key=lambda s: (max(0.0, self.known[s][0] - limit), self.known[s][1]))


def explored(plant):
    """Fill plant.known: ORACLE's grid, a search, and steps in every row that the tuner may move."""
    base = cases.settings_from(plant.logged)
    made = space.space(plant.site, base)
    over = [min(max(plant.site.needs.frost_floor_c + k, -2), 20) for k in OVER_FLOOR]
    for below, *values in itertools.product(over, *ORACLE.values()):
        moved = dict(zip(ORACLE, values, strict=True)) | {"discharge_below_c": below}
        wished = base._replace(**{rows.field_of(key): round(100 * value) for key, value in moved.items()})
        found = made.settings(made.point(wished))
        if found is not None:
            plant(found)

    front = search.front_of(np.array(list(plant.known.values())))
    begins = [made.point(list(plant.known)[i]) for i in front[:: max(1, len(front) // 12)]]
    search.search(lambda points: answers(plant, made, points), made.lows, made.highs, begins, TRUE_TRIES, seed=1)
    for _ in range(2):
        stepped(plant, made, plant.best(), plant.limit())


def answers(plant, made, points):
    """Return (harm, money) of the points of a Space on the plant, shape (k, 2); inf where none is accepted."""
    some = [made.settings(point) for point in points]
    return np.array([plant(one) if one is not None else (np.inf, np.inf) for one in some])


def stepped(plant, made, start, limit):
    """Try steps in every row on the plant, from some settings on, for less money at no more harm than limit."""
    search.polish(
        made.point(start), lambda new, old: new < old,
        lambda points: [(max(0.0, harm - limit), money) for harm, money in answers(plant, made, points)],
        made.lows, made.highs, rounds=1,
    )  # fmt: skip


def picks(house, weather, logged, site, tries):
    """Return {name: mapping} picked from the noisy log of the first week."""
    from controller.core import settings as core

    r = simulate(house, weather, logged, days=WEEK, sensors_of=cases.NOISY, warmup_settings=logged)
    with tempfile.TemporaryDirectory() as folder:
        log = logs.read_logs([write_log(r, Path(folder) / "log.csv")], site)
    learned = fit.fit(log, site, hold_out=False)
    now = cases.settings_from(logged)
    alone = weathers.weathers(learned, 0, 0)
    found = {
        "tuned, logged weather": tuning.tune(learned, now, tries=tries, houses=8, others=alone),
        "tuned, all weathers": tuning.tune(learned, now, tries=tries, houses=8),
    }
    return {name: core.to_mapping(one.settings["pick"]) for name, one in found.items()}


def case(house, weather, tries, keep=None):
    """Return ({name: played(...)} of one house in one weather, the oracle first, Site, Plant)."""
    from controller.core import settings as core

    logged = cases.LOGGED[weather.name]
    first = simulate(house, weather, logged, days=WEEK, warmup_settings=logged, sensors_of=PERFECT)
    site = site_with(cases.site_of(house, weather), *needs_of(house, weather, first))
    plant = Plant(house, weather, logged, site)
    kept = Path(keep) / f"{house.name}-{weather.name}.pickle" if keep else None
    if kept and kept.exists():
        plant.known = pickle.loads(kept.read_bytes())  # one's own file of an earlier run
    else:
        explored(plant)
        if kept:
            kept.write_bytes(pickle.dumps(plant.known))
    chosen = picks(house, weather, logged, site, tries)
    for mapping in chosen.values():
        plant(cases.settings_from(mapping))
    pick = cases.settings_from(chosen["tuned, logged weather"])
    stepped(plant, space.space(site, cases.settings_from(logged)), pick, plant(pick)[0])
    chosen = {"oracle": core.to_mapping(plant.best()), **chosen, "as logged": logged, "defaults": {}}
    out = {name: played(house, weather, mapping, logged, site) for name, mapping in chosen.items()}
    out["two setpoints"] = played(house, weather, PRACTICE, logged, site, driver="two_setpoint")
    return out, site, plant, chosen


def row(name, got):
    """Return one line."""
    cells = [f"{got[week][0]:8.1f} {got[week][1]:7.2f}" for week in ("logged", "next", "colder")]
    return f"  {name:24}" + "   ".join(cells)


HEAD = f"  {'':24}" + "   ".join(f"{week:>16}" for week in ("logged week", "next week", "5 K colder"))


def verdicts(got, plant):
    """Return the measures of one case. Harm is told against the oracle's pick, money against the oracle's pick and
    against the cheapest settings known that do no more harm than the tuner's pick truly did."""
    best, alone, robust = got["oracle"], got["tuned, logged weather"], got["tuned, all weathers"]
    harm, money = alone["logged"]
    equal = plant.known[plant.best(allowance=False, most=harm + 1e-9)][1]
    return {
        "harm over": harm - best["logged"][0],
        "money over": money - best["logged"][1],
        "money over, %": 100 * (money / max(best["logged"][1], NO_MONEY) - 1),
        "money at equal harm, %": 100 * (money / max(equal, NO_MONEY) - 1),
        "next": robust["next"][0] - best["next"][0],
        "colder": robust["colder"][0] - best["colder"][0],
    }


def main(arguments=None):
    """Print the table."""
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--full", action="store_true", help="every house and weather")
    ask.add_argument("--houses", help="names, by commas")
    ask.add_argument("--weathers", help="names, by commas")
    ask.add_argument("--tries", type=int, default=600)
    ask.add_argument("--settings", action="store_true", help="also print every settings file")
    ask.add_argument("--keep", help="folder for what the plant answered: a second run goes on from there")
    asked = ask.parse_args(arguments)
    houses = asked.houses.split(",") if asked.houses else list(HOUSES) if asked.full else ["dome"]
    chosen = asked.weathers.split(",") if asked.weathers else list(WEATHERS) if asked.full else list(WEATHERS)[:2]
    print("harm K h and money; harm: below the floor, above the limit\n" + HEAD)
    reached = []
    for house, weather in itertools.product(houses, chosen):
        got, site, plant, settings = case(HOUSES[house], WEATHERS[weather], asked.tries, asked.keep)
        print(f"{house}, {weather} (floor {site.needs.frost_floor_c:g} C; {len(plant.known)} settings on the plant)")
        for name, one in got.items():
            print(row(name, one), flush=True)
        told = verdicts(got, plant)
        reached.append(told)
        print("  " + "; ".join(f"{name} {value:+.2f}" for name, value in told.items()), flush=True)
        if asked.settings:
            for name, mapping in settings.items():
                print(f"    {name}: {mapping}", flush=True)
    print("\n".join(summary(reached)))


def summary(reached):
    """Return the lines that count the measures over all cases."""
    count = len(reached)
    cheap = [one["money over, %"] <= 5 or one["money over"] <= NO_MONEY for one in reached]
    safe = [one["harm over"] <= 0.05 for one in reached]
    equal = [one["money at equal harm, %"] for one in reached]
    lines = [
        f"logged week: cost within 5 % of the oracle's pick at equal or less harm: "
        f"{sum(a and b for a, b in zip(cheap, safe, strict=True))} of {count}; cost alone {sum(cheap)}, "
        f"harm alone {sum(safe)}",
        f"logged week: harm over the oracle's pick, median {np.median([one['harm over'] for one in reached]):+.2f}, "
        f"worst {max(one['harm over'] for one in reached):+.2f} K h",
        f"logged week: money over the cheapest known settings of no more harm: median {np.median(equal):.0f} %, "
        f"worst {max(equal):.0f} %, within 5 % in {sum(one <= 5 for one in equal)} of {count}",
    ]
    for key, week in (("next", "next week"), ("colder", "5 K colder")):
        over = [one[key] for one in reached]
        lines.append(f"{week}: harm at most 1 K h above the oracle's: {sum(one <= 1.0 for one in over)} of {count}; "
                     f"median {np.median(over):+.2f}, worst {max(over):+.2f} K h")  # fmt: skip
    return lines


if __name__ == "__main__":
    main(sys.argv[1:])
