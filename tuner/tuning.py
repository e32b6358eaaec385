"""The whole search for one house: settings tried in all weathers, finalists, the pick, its simplest form, the proof.

Lives here: the order of the job. The parts: weathers, trials, space, search, judge. Words: tune_words.py.
"""

from dataclasses import dataclass

import numpy as np

from controller.core import rows
from tuner import judge, search, space, trial_worth, trials, tryout, weathers
from tuner.errors import FitError
from tuner.trials import Trials

TRIES = 2000
SCREEN = 3  # plausible houses on which all settings are tried; finalists are tried on all
FINALISTS = 32
# Common practice, no source: two setpoints, 40 and 80 degrees F rounded, each with the usual differential.
PRACTICE = {"charge_above_centi_c": 2700, "discharge_below_centi_c": 450}


@dataclass
class Tuned:
    """What the search found. settings: {name: Settings} of "current", "pick", "thriftiest", "safest"; the pick is the
    current one where nothing was gained. found: what was picked before that was asked. sums: {name: (houses, weathers,
    nights, columns)}. values: {name: judge.objectives}. known: (k, 2) harm, and money of the log's own weather,
    of all that was tried on every plausible house; front: places in it that nothing beats. chart: Chart of two
    setpoints. idle: sums were the fan never to run, (houses, weathers, nights, columns). screened: Judged on few
    houses. gain: judge.Gain of `found`. folds: list of dicts, picked on some nights and scored on the others.
    rows: list of dicts, one for each row that was searched. tried; stopped: did Ctrl-C end it. given: was the current
    file given, else it is the defaults. best_harm: least harm found in each weather [K h].
    """

    trials: Trials
    prices: judge.Prices
    space: space.Space
    settings: dict
    found: rows.Settings
    sums: dict
    values: dict
    known: np.ndarray
    front: list
    chart: "Chart"
    idle: np.ndarray
    screened: "Judged"
    gain: judge.Gain
    folds: list
    rows: list
    tried: int
    stopped: bool
    given: bool
    best_harm: tuple


class Judged:
    """Settings tried on some plausible houses, each once. sums, worth: {Settings: sums by night, objectives}."""

    def __init__(self, trial, prices, draws, idle, base):
        self.trial, self.prices, self.draws, self.sums, self.worth = trial, prices, draws, {}, {}
        self.idle = float(judge.objectives(idle[: len(draws)], prices)[3])
        self.now = float(self.many([base])[0, 3])

    def many(self, candidates):
        """Return judge.objectives, shape (k, 3 + weathers), of a list of Settings; inf where one is None."""
        fresh = list(dict.fromkeys(c for c in candidates if c is not None and c not in self.sums))
        if fresh:
            got = trials.run(self.trial, fresh, self.draws)
            self.worth |= dict(zip(fresh, judge.objectives(got, self.prices), strict=True))
            self.sums |= {one: sums.astype(np.float32) for one, sums in zip(fresh, got, strict=True)}
        width = 3 + len(self.trial.weathers)
        return np.array([self.values(c) if c is not None else np.full(width, np.inf) for c in candidates])

    def values(self, candidate):
        """Return judge.objectives of Settings that were tried, shape (3 + weathers,)."""
        return self.worth[candidate]

    def limit(self):
        """Return judge.allowed of all that was tried here, (weathers,)."""
        return judge.allowed(list(self.worth.values()), self.idle, self.now)

    def ranked(self, candidates):
        """Return Settings that were tried, the one nearest to being picked first."""
        limit = self.limit()
        return sorted(candidates, key=lambda one: judge.rank(self.worth[one], limit))

    def best(self, candidates):
        """Return the one of some Settings that judge.choose takes."""
        return candidates[judge.choose(self.many(candidates), self.idle, self.now)]


def tune(fit, now=None, *, colder=weathers.COLDER, dull=weathers.DULL, tries=TRIES, houses=None, workers=None,
         seed=1, limits=(), tell=None, others=None):  # fmt: skip
    """Return the Tuned settings of a fitted house.

    fit : tuner.fit.Fit; now : the current Settings, None for the defaults; colder [K]; dull [%]; tries : about how
    many settings; houses : plausible houses for the finalists, None for all; workers : threads, None for all cores
    seed : of the search; limits : see space.space; tell : callable(text, share done) or None
    others : list of weathers.Weather in place of those that colder and dull make
    Raises FitError where the log does not show what the fan does, SettingsError for limits that cannot be.
    """
    if not fit.fan_known:
        notes = (note for note in trial_worth.notes(fit) if "fan" in note)
        why = next(notes, "The log does not show what the fan does.")
        raise FitError(f"{why}\nWithout that no settings can be picked: the current ones stand.")
    say = tell or (lambda text, share: None)
    base = now or rows.defaults()
    coldest = float(np.nanmin(np.concatenate([stretch.seen[:, 1] for stretch in fit.grid.stretches])))
    made = space.space(fit.grid.site, base, limits, coldest)
    say("making the weathers", 0.0)
    count = trials.most_houses(fit, houses)
    trial = trials.trials(fit, others or weathers.weathers(fit, colder, dull), count, workers)
    mean_price = float(np.mean([account.price.mean() for *_, account in trial.setting[0][trial.weathers[0].name]]))
    prices = judge.prices_of(fit, trial.weathers, mean_price)
    idle = trials.idle(trial, base)
    screened = Judged(trial, prices, tuple(range(min(SCREEN, count))), idle, base)
    begins = [made.point(one) for one in (base, rows.defaults(), *_guesses(base, fit.grid.site.needs))]
    tried = search.search(
        lambda points: screened.many([made.settings(point) for point in points])[:, :3], made.lows, made.highs,
        begins, tries, seed, lambda done: say(f"{done} settings tried", 0.75 * min(1.0, done / tries)),
    )  # fmt: skip
    return _finish(fit, trial, prices, idle, made, screened, base, now is not None, tried, say)


def _guesses(base, needs):
    """Settings that a search should have tried: the two-setpoint practice, and discharging just above the floor."""
    floor = round(100 * needs.frost_floor_c)
    just_above = [
        base._replace(discharge_below_centi_c=floor + over, discharge_band_centi_c=50, charge_above_centi_c=warm)
        for over, warm in ((0, 2700), (100, 2200), (250, 1800))
    ]
    return [base._replace(**PRACTICE), *just_above]


def _finish(fit, trial, prices, idle, made, screened, base, given, tried, say):
    """From all that was tried to the pick."""
    known = list(screened.sums)
    values = screened.many(known)
    finalists = [base, *(known[i] for i in _finalists(values, search.front_of(values[:, :3])))]
    judged = Judged(trial, prices, trial.draws, idle, base)
    stopped = tried.stopped
    try:
        if stopped:
            raise KeyboardInterrupt
        say("finalists on every plausible house", 0.78)
        pick = judged.best(finalists)
        say("smaller steps around the best", 0.80)
        pick = _polished(made, screened, judged, finalists)
        say("rows that hardly matter", 0.90)
        pick = _simplest(made, judged, pick, base, judged.limit())
        say("what each row does", 0.95)
        told = _rows(made, judged, pick, base)
        map_of = chart(made, screened, pick, base)
    except KeyboardInterrupt:  # what is known by now is enough for a pick, if not for the finest one
        stopped = True
        judged.many(finalists[:4])
        pick = judged.best(list(judged.sums))
        told = _rows(made, judged, pick, base, few=True)
        map_of = chart(made, screened, pick, base, few=True)
    order = list(judged.sums)
    table = np.array([judged.values(one) for one in order])
    cents = [judge.logged_money(judged.sums[one].astype(float), prices).mean() for one in order]
    known_points = np.column_stack([table[:, 3:].sum(1), cents])
    names = {
        "current": base,
        "pick": pick,
        "thriftiest": order[judge.thriftiest(table, order.index(base))],
        "safest": order[judge.safest(table)],
    }
    gain = judge.gain(judged.sums[base].astype(float), judged.sums[pick].astype(float), prices)
    folds = _folds(judged, base, prices, idle)
    real = pick != base and gain.real and _holds(folds)
    names["pick"] = pick if real else base
    return Tuned(
        trial, prices, made, names, pick, {n: judged.sums[s].astype(float) for n, s in names.items()},
        {n: judged.values(s) for n, s in names.items()}, known_points, search.front_of(known_points), map_of,
        idle, screened, gain, folds, told, len(screened.sums), stopped, given, tuple(table[:, 3:].min(0).tolist()),
    )  # fmt: skip


def _finalists(values, front):
    """Places of at most FINALISTS settings: those nearest to being picked, then evenly along the front."""
    limit = judge.allowed(values)
    near = sorted(range(len(values)), key=lambda i: (*judge.rank(values[i], limit), i))[: FINALISTS // 2]
    count = min(len(front), FINALISTS - len(near))
    along = [front[i] for i in np.unique(np.linspace(0, len(front) - 1, count).round().astype(int))] if count else []
    return list(dict.fromkeys([*near, *along]))


STARTS = 3  # of the finalists, from which steps are made
NEAR = 6  # settings nearest to being picked that are tried on every house after the steps


def _polished(made, screened, judged, finalists):
    """Steps from the best finalists on few houses, then from the best of those on all; returns the best of all."""
    for start in judged.ranked(finalists)[:STARTS]:
        _steps(made, screened, start, rounds=4)
    near = screened.ranked(screened.sums)[:NEAR]
    found = judged.best([*dict.fromkeys([*finalists, *near])])
    _steps(made, judged, found, rounds=1, steps=(1, 3), pairs=False)
    return judged.best(list(judged.sums))


def _steps(made, judged, start, rounds, steps=(1, 2, 4), pairs=True):
    """Try steps from some settings, on the houses of `judged`, which keeps what they came to."""
    limit = judged.limit()

    def value_of(points):
        values = judged.many([made.settings(point) for point in points])
        return [judge.rank(one, limit) if np.isfinite(one).all() else (np.inf, np.inf) for one in values]

    both = [tuple(made.keys.index(key) for key in keys) for keys in TOGETHER] if pairs else []
    search.polish(
        made.point(start), lambda new, old: new < old, value_of, made.lows, made.highs, steps, rounds, both
    )


MATTERS_MONEY, MATTERS_K_H = 0.01, 0.1  # share of the money, degree-hours: less than this is noise; our choice


def _same(new, old):
    """Is a value no worse than another by more than noise?"""
    money = MATTERS_MONEY * max(abs(old[2]), 1e-9)
    return bool((new[3:] <= old[3:] + MATTERS_K_H).all()) and new[2] <= old[2] + money


# Rows that the board checks against each other, so that they can often go back only together.
TOGETHER = (("least_gain_c", "gain_band_c"), ("min_run_s", "min_rest_s"), ("charge_above_c", "charge_band_c"),
            ("discharge_below_c", "discharge_band_c"), ("charge_above_c", "discharge_below_c"))  # fmt: skip


def _simplest(made, judged, pick, base, limit):
    """Put rows, and pairs of rows, back to their current value where that costs nothing that matters."""
    aim = judged.many([pick])[0]
    for _ in range(2):
        before = pick
        for keys in (*((key,) for key in made.keys), *TOGETHER):
            names = [rows.field_of(key) for key in keys]
            back = pick._replace(**{name: getattr(base, name) for name in names})
            if back == pick or not made.accepts(back):
                continue
            got = judged.many([back])[0]
            if _same(got, aim) and judge.rank(got, limit)[0] <= max(judge.rank(aim, limit)[0], 0.0) + 1e-9:
                pick = back
        if pick == before:
            break
    return pick


def _folds(judged, base, prices, idle):
    """Pick among the finalists on half of the nights and score on the rest, both ways.

    Each half has as many of the nights that would be hard without the fan, the hardest in turns: else one half could
    not know what the other asks for.
    """
    order = list(judged.sums)
    sums = np.array([judged.sums[one] for one in order], float)
    nights = sums.shape[-2]
    hard = idle[..., [tryout.COLD, tryout.HOT]].sum((-1, -3)).mean(0)
    half = np.empty(nights, np.int64)
    half[np.argsort(-hard, kind="stable")] = (np.arange(nights) + 1) // 2 % 2
    out = []
    for part in (0, 1):
        learn = half == part
        if learn.all() or not learn.any():
            continue
        values, at = judge.objectives(sums, prices, learn), order.index(base)
        place = judge.choose(values, float(judge.objectives(idle, prices, learn)[3]), float(values[at, 3]))
        seen = judge.gain(sums[at], sums[place], prices, learn)
        unseen = judge.gain(sums[at], sums[place], prices, ~learn)
        out.append(
            {
                "nights_picked_on": int(learn.sum()), "nights_scored_on": int((~learn).sum()),
                "harm_gain_picked": seen.harm, "money_gain_picked": seen.money,
                "harm_gain_scored": unseen.harm, "money_gain_scored": unseen.money, "slack_scored": unseen.slack,
            }
        )  # fmt: skip
    return out


def _holds(folds):
    """Does a gain show on nights that were not picked on: less harm, or less money at no more harm?"""
    if not folds:
        return False
    harm = float(np.mean([one["harm_gain_scored"] for one in folds]))
    money = float(np.mean([one["money_gain_scored"] for one in folds]))
    slack = float(np.mean([one["slack_scored"] for one in folds]))
    return harm > 0.05 or (money > 0.0 and harm > -slack)


def _rows(made, judged, pick, base, few=False):
    """For each searched row: its value now, as picked, and what two steps either way change; few: nothing new tried."""
    moves = {}
    for k, key in enumerate(made.keys):
        name = rows.field_of(key)
        grid = made.grids[k]
        at = int(np.abs(grid - getattr(pick, name)).argmin())
        for side in (-2, 2):
            value = int(grid[min(max(at + side, 0), len(grid) - 1)])
            moved = pick._replace(**{name: value})
            if value != getattr(pick, name) and made.accepts(moved) and (not few or moved in judged.sums):
                moves[key, side] = moved
    judged.many(list(moves.values()))
    harm_of = lambda one: float(judged.values(one)[:2].sum())  # noqa: E731
    money_of = lambda one: float(judge.logged_money(judged.sums[one].astype(float), judged.prices).mean())  # noqa: E731
    noise = MATTERS_MONEY * max(abs(money_of(pick)), 1e-9)
    out = []
    for key in made.keys:
        name = rows.field_of(key)
        sides = []
        for side in (-2, 2):
            if (key, side) in moves:
                there = moves[key, side]
                sides.append(
                    {
                        "value": getattr(there, name),
                        "harm_k_h": harm_of(there) - harm_of(pick),
                        "money": money_of(there) - money_of(pick),
                    }
                )
        matters = any(abs(one["harm_k_h"]) > MATTERS_K_H or abs(one["money"]) > noise for one in sides)
        out.append({"key": key, "now": getattr(base, name), "pick": getattr(pick, name), "matters": matters,
                    "moved": sides})  # fmt: skip
    return out


@dataclass(frozen=True)
class Chart:
    """Harm and money over two setpoints, all else as picked. warm, cold: values of charge_above and discharge_below,
    core units, rising; harm [K h], money of the log's own weather: (cold, warm), NaN where not allowed or not tried."""

    warm: list
    cold: list
    harm: np.ndarray
    money: np.ndarray


CHART_WARM, CHART_COLD = (1400, 1800, 2200, 2600, 3000, 3400), (-200, 0, 200, 400, 600, 900)  # the latter: above floor


def chart(made, screened, pick, base, few=False):
    """Return the Chart around a pick, on few houses; few: nothing new is tried."""
    floor = 100 * round(screened.trial.fit.grid.site.needs.frost_floor_c)
    axes = []
    for key, values in (("charge_above_c", CHART_WARM), ("discharge_below_c", [floor + over for over in CHART_COLD])):
        grid, name = made.grids[made.keys.index(key)], rows.field_of(key)
        near = {int(v) for v in values if grid[0] <= v <= grid[-1]}
        axes.append(sorted(near | {getattr(pick, name), getattr(base, name)}))
    warm, cold = axes
    there = {}
    for i, below in enumerate(cold):
        for k, above in enumerate(warm):
            one = pick._replace(charge_above_centi_c=above, discharge_below_centi_c=below)
            if made.accepts(one) and (not few or one in screened.sums):
                there[i, k] = one
    screened.many(list(there.values()))
    harm, money = np.full((2, len(cold), len(warm)), np.nan)
    for place, one in there.items():
        harm[place] = screened.values(one)[:2].sum()
        money[place] = judge.logged_money(screened.sums[one].astype(float), screened.prices).mean()
    return Chart(warm, cold, harm, money)
