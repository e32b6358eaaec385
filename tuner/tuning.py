"""The whole search for one house: settings tried in all weathers, finalists, the pick, its simplest form, the proof.

Lives here: the order of the job. The parts: weathers, trials, space, search, judge. Words: tune_words.py.
"""

from dataclasses import dataclass

import numpy as np

from controller.core import rows
from tuner import judge, search, space, trials, weathers
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
    nights, columns)}. values: {name: (cold, hot, money)}. front: (k, 3) of all settings on it, by the screened
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
    front: np.ndarray
    gain: judge.Gain
    folds: list
    rows: list
    tried: int
    stopped: bool
    given: bool
    best_harm: tuple


class Judged:
    """Settings tried on some plausible houses, each once; sums kept."""

    def __init__(self, trial, prices, draws, tell=None):
        self.trial, self.prices, self.draws, self.sums, self.tell = trial, prices, draws, {}, tell

    def many(self, candidates):
        """Return judge.objectives, shape (k, 3 + weathers), of a list of Settings; inf where one is None."""
        fresh = list(dict.fromkeys(c for c in candidates if c is not None and c not in self.sums))
        if fresh:
            got = trials.run(self.trial, fresh, self.draws, self.tell)
            self.sums |= {one: sums.astype(np.float32) for one, sums in zip(fresh, got, strict=True)}
        width = 3 + len(self.trial.weathers)
        return np.array([self.values(c) if c is not None else np.full(width, np.inf) for c in candidates])

    def values(self, candidate):
        """Return judge.objectives of Settings that were tried, shape (3 + weathers,)."""
        return judge.objectives(self.sums[candidate].astype(float), self.prices)


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
        why = next((note for note in fit.notes if "fan" in note), "The log does not show what the fan does.")
        raise FitError(f"{why}\nWithout that no settings can be picked: the current ones stand.")
    say = tell or (lambda text, share: None)
    base = now or rows.defaults()
    made = space.space(fit.grid.site, base, limits)
    say("making the weathers", 0.0)
    count = trials.most_houses(fit, houses)
    trial = trials.trials(fit, others or weathers.weathers(fit, colder, dull), count, workers)
    mean_price = float(np.mean([account.price.mean() for _, _, account in trial.setting[0][trial.weathers[0].name]]))
    prices = judge.prices_of(fit, trial.weathers, mean_price)
    screened = Judged(trial, prices, tuple(range(min(SCREEN, count))))
    practice = base._replace(**PRACTICE)
    begins = [made.point(one) for one in (base, rows.defaults(), practice)]
    tried = search.search(
        lambda points: screened.many([made.settings(point) for point in points])[:, :3], made.lows, made.highs,
        begins, tries, seed, lambda done: say(f"{done} settings tried", 0.75 * min(1.0, done / tries)),
    )  # fmt: skip
    return _finish(fit, trial, prices, made, screened, base, now is not None, tried, say)


def _finish(fit, trial, prices, made, screened, base, given, tried, say):
    """From all that was tried to the pick."""
    say("finalists on every plausible house", 0.78)
    screened.many([base])
    known = list(screened.sums)
    values = np.array([screened.values(one) for one in known])
    front = search.front_of(values[:, :3])
    finalists = [base, *(known[i] for i in _finalists(values, front))]
    judged = Judged(trial, prices, trial.draws)
    stopped = tried.stopped
    try:
        pick = _best(judged, finalists)
        say("smaller steps around the best", 0.84)
        limit = _limit(judged)
        pick = _polished(made, screened, judged, pick, limit)
        say("rows that hardly matter", 0.92)
        pick = _simplest(made, judged, pick, base, _limit(judged))
    except KeyboardInterrupt:
        stopped = True
        judged.many([base, *finalists[:4]])
        pick = _best(judged, list(judged.sums))
    order = list(judged.sums)
    table = np.array([judged.values(one) for one in order])
    names = {
        "current": base,
        "pick": pick,
        "thriftiest": order[judge.thriftiest(table, order.index(base))],
        "safest": order[judge.safest(table)],
    }
    gain = judge.gain(judged.sums[base].astype(float), judged.sums[pick].astype(float), prices)
    folds = _folds(judged, base, prices)
    real = pick != base and gain.real and _holds(folds)
    say("what each row does", 0.96)
    told = _rows(made, judged, pick, base)
    names["pick"] = pick if real else base
    return Tuned(
        trial, prices, made, names, pick, {n: judged.sums[s].astype(float) for n, s in names.items()},
        {n: judged.values(s) for n, s in names.items()}, values[front][:, :3], gain, folds, told,
        len(tried.values), stopped, given, tuple(table[:, 3:].min(0).tolist()),
    )  # fmt: skip


def _finalists(values, front):
    """Places of at most FINALISTS settings: those nearest to being picked, then evenly along the front."""
    limit = judge.allowed(values)
    near = sorted(range(len(values)), key=lambda i: (*judge.rank(values[i], limit), i))[: FINALISTS // 2]
    count = min(len(front), FINALISTS - len(near))
    along = [front[i] for i in np.unique(np.linspace(0, len(front) - 1, count).round().astype(int))] if count else []
    return list(dict.fromkeys([*near, *along]))


def _best(judged, candidates):
    return candidates[judge.choose(judged.many(candidates))]


def _limit(judged):
    return judge.allowed([judged.values(one) for one in judged.sums])


def _polished(made, screened, judged, pick, limit):
    """Coordinate steps: proposed on the screened houses, accepted on all."""
    slack = _limit(screened)

    def value_of(points):
        some = [made.settings(point) for point in points]
        return list(zip(screened.many(some), some, strict=True))

    def better(new, old):
        if new[1] is None or judge.rank(new[0], slack) >= judge.rank(old[0], slack):
            return False
        full = judged.many([new[1], old[1]])
        return judge.rank(full[0], limit) < judge.rank(full[1], limit)

    point, _ = search.polish(made.point(pick), better, value_of, made.lows, made.highs)
    found = made.settings(point)
    return _best(judged, [pick, found]) if found is not None else pick


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
            if back == pick or not _valid(made, back):
                continue
            got = judged.many([back])[0]
            if _same(got, aim) and judge.rank(got, limit)[0] <= max(judge.rank(aim, limit)[0], 0.0) + 1e-9:
                pick = back
        if pick == before:
            break
    return pick


def _valid(made, settings):
    return space.repaired(settings, made.most_starts) == settings and not space.core.between_rows(settings)


def _folds(judged, base, prices):
    """Pick among the finalists on every other night and score on the rest, both ways."""
    order = list(judged.sums)
    sums = np.array([judged.sums[one] for one in order], float)
    nights = sums.shape[-2]
    out = []
    for part in (0, 1):
        learn = np.arange(nights) % 2 == part
        if learn.all() or not learn.any():
            continue
        place = judge.choose(judge.objectives(sums, prices, learn))
        at = order.index(base)
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


def _rows(made, judged, pick, base):
    """For each searched row: its value now, as picked, and what a few steps either way change."""
    moves = {}
    for k, key in enumerate(made.keys):
        name = rows.field_of(key)
        grid = made.grids[k]
        at = int(np.abs(grid - getattr(pick, name)).argmin())
        for side in (-2, 2):
            value = int(grid[min(max(at + side, 0), len(grid) - 1)])
            moved = pick._replace(**{name: value})
            if value != getattr(pick, name) and _valid(made, moved):
                moves[key, side] = moved
    judged.many(list(moves.values()))
    here = judged.values(pick)
    out = []
    for key in made.keys:
        name = rows.field_of(key)
        sides = []
        for side in (-2, 2):
            if (key, side) in moves:
                there = judged.values(moves[key, side])
                sides.append(
                    {
                        "value": getattr(moves[key, side], name),
                        "harm_k_h": float((there - here)[:2].sum()),
                        "money": float((there - here)[2]),
                    }
                )
        noise = MATTERS_MONEY * max(abs(here[2]), 1e-9)
        matters = any(abs(one["harm_k_h"]) > MATTERS_K_H or abs(one["money"]) > noise for one in sides)
        out.append({"key": key, "now": getattr(base, name), "pick": getattr(pick, name), "matters": matters,
                    "moved": sides})  # fmt: skip
    return out
