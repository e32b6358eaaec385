"""Settings tried, trade-offs kept: a seeded multi-objective search over whole numbers.

Lives here: the search itself, for any objectives over integer points, and nothing about fans. NSGA-II of the library
pymoo proposes (Deb, Pratap, Agarwal, Meyarivan 2002, IEEE Trans. Evolutionary Computation 6, 182-197); coordinate
steps polish. Every point that was tried is kept: the front is that of all of them, not of the last generation.
"""

from dataclasses import dataclass, field

import numpy as np

POPULATION = 48


@dataclass
class Tried:
    """All points tried, in order. points: {tuple: place}; values: list of objective tuples, inf where not allowed."""

    points: dict = field(default_factory=dict)
    values: list = field(default_factory=list)
    stopped: bool = False

    def ask(self, points, evaluate):
        """Return objectives (k, m) of points (k, n); only those not tried before are evaluated, each once."""
        keys = [tuple(int(v) for v in point) for point in points]
        fresh = list(dict.fromkeys(key for key in keys if key not in self.points))
        if fresh:
            values = evaluate(np.array(fresh))
            for key, value in zip(fresh, values, strict=True):
                self.points[key] = len(self.values)
                self.values.append(tuple(float(v) for v in value))
        return np.array([self.values[self.points[key]] for key in keys])

    def front(self):
        """Return places of the points that no other point beats, by rising last objective, without doubles."""
        values = np.array(self.values)
        return front_of(values)


def front_of(values):
    """Return the places of the rows of values (k, m) that no other row beats; of equal rows the first.

    A row beats another when it is nowhere larger and somewhere smaller. Sorted by the last objective.
    """
    values = np.asarray(values, float)
    kept = []
    for i in np.lexsort(values.T):
        if not np.isfinite(values[i]).all():
            continue
        rest = values[kept] if kept else np.empty((0, values.shape[1]))
        if not (rest <= values[i]).all(1).any():  # sorted: none that comes later can beat or equal it
            kept.append(int(i))
    return kept


def search(evaluate, lows, highs, begins, tries, seed=1, tell=None):
    """Return the Tried of a search for the smallest objectives.

    evaluate : callable, int points (k, n) -> objectives (k, m), inf for points that are not allowed
    lows, highs : int (n,), inclusive; begins : list of points tried first; tries : about how many in all
    tell : callable(number tried), or None. KeyboardInterrupt ends the search and keeps what was tried.
    """
    from pymoo.algorithms.moo.nsga2 import NSGA2
    from pymoo.core.evaluator import Evaluator
    from pymoo.core.problem import Problem
    from pymoo.operators.crossover.sbx import SBX
    from pymoo.operators.mutation.pm import PM
    from pymoo.operators.repair.rounding import RoundingRepair
    from pymoo.problems.static import StaticProblem

    tried = Tried()
    lows, highs = np.asarray(lows), np.asarray(highs)
    rng = np.random.default_rng(seed)
    size = max(4, min(POPULATION, tries // 4))
    first = [np.clip(b, lows, highs) for b in begins][:size]
    for k in range(size - len(first)):
        # Half the rest near the points given, half anywhere.
        if begins and k % 2:
            shift = np.round(rng.normal(0, 0.12, len(lows)) * (highs - lows)).astype(int)
            first.append(np.clip(np.asarray(begins[k % len(begins)]) + shift, lows, highs))
        else:
            first.append(rng.integers(lows, highs + 1))
    try:
        values = tried.ask(np.array(first), evaluate)
        wide = Problem(n_var=len(lows), n_obj=values.shape[1], xl=lows, xu=highs, vtype=int)
        algorithm = NSGA2(
            pop_size=size,
            sampling=np.array(first),  # pyright: ignore[reportArgumentType]
            crossover=SBX(prob=0.9, eta=8, vtype=float, repair=RoundingRepair()),
            mutation=PM(eta=10, vtype=float, repair=RoundingRepair()),
            eliminate_duplicates=True,
        )
        algorithm.setup(wide, termination=("n_gen", 10**6), seed=seed, verbose=False)
        idle = 0
        while len(tried.values) < tries and idle < 12:
            asked = algorithm.ask()
            if asked is None or len(asked) == 0:
                break
            before = len(tried.values)
            points = np.asarray(asked.get("X")).round().astype(int)
            got = tried.ask(points, evaluate)
            Evaluator().eval(StaticProblem(wide, F=np.where(np.isfinite(got), got, 1e9)), asked)
            algorithm.tell(infills=asked)
            idle = idle + 1 if len(tried.values) == before else 0
            if tell:
                tell(len(tried.values))
    except KeyboardInterrupt:
        if not tried.values:
            raise
        tried.stopped = True
    return tried


def polish(point, better, value_of, lows, highs, steps=(1, 2, 4), rounds=4, pairs=()):
    """Return (point, value) after steps of one row, or of two together, that `better` accepts; ends when none helps.

    better : callable(new value, old value) -> bool; value_of : callable, points (k, n) -> list of k values
    pairs : [(row, row)] that are also moved by one step at once, the same way and against each other
    """
    point = np.array(point)
    (value,) = value_of(point[None])
    for _ in range(rounds):
        moved = False
        for rows in (*((row,) for row in range(len(point))), *pairs):
            moves = _moves(point, rows, steps, lows, highs)
            for new, got in zip(moves, value_of(np.array(moves)) if moves else [], strict=True):
                if better(got, value):
                    point, value, moved = new, got, True
        if not moved:
            break
    return point, value


def _moves(point, rows, steps, lows, highs):
    """The neighbours of a point: one row by each of the steps, or two rows by one step."""
    shifts = [(s,) for one in steps for s in (one, -one)] if len(rows) == 1 else [(1, 1), (-1, -1), (1, -1), (-1, 1)]
    found = []
    for shift in shifts:
        new = point.copy()
        for row, step in zip(rows, shift, strict=True):
            new[row] = min(max(new[row] + step, lows[row]), highs[row])
        if (new != point).any():
            found.append(new)
    return found
