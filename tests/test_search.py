"""Does the search find trade-offs, does nothing tried beat its front, and can it be repeated and stopped?"""

import itertools

import numpy as np
import pytest

from tests.tune_help import brute_front
from tuner import search

FINE = 100


def zdt(kind, points):
    """Test problems 1 to 3 of Zitzler, Deb & Thiele 2000, Evolutionary Computation 8, 173-195 (from memory), on a
    grid of FINE steps a variable."""
    x = np.asarray(points) / FINE
    first, g = x[:, 0], 1 + 9 * x[:, 1:].mean(1)
    ratio = first / g
    shape = {1: 1 - np.sqrt(ratio), 2: 1 - ratio**2, 3: 1 - np.sqrt(ratio) - ratio * np.sin(10 * np.pi * first)}
    return np.stack([first, g * shape[kind]], 1)


@pytest.mark.parametrize("kind", [1, 2, 3])
def test_standard_problems_reach_their_known_fronts(kind):
    """The true front has all later variables at 0. Mean distance in the second objective below 0.01 after 3000 of
    101**6 points, and the front reaches both ends (for ZDT3: its known lowest value -0.773)."""
    tried = search.search(lambda p: zdt(kind, p), [0] * 6, [FINE] * 6, [], 3000, seed=3)
    front = np.array(tried.values)[tried.front()]
    x = (front[:, :1] * FINE).round()
    best = zdt(kind, np.hstack([x, np.zeros((len(x), 5))]))
    assert (front[:, 1] - best[:, 1]).mean() < 0.01
    assert front[:, 0].min() == 0.0
    assert front[:, 1].min() < {1: 0.02, 2: 0.02, 3: -0.76}[kind]
    assert len(front) > 20


def bumpy(points):
    """Three objectives on a small grid, some points not allowed."""
    p = np.asarray(points, float)
    values = np.stack([(p[:, 0] - 3) ** 2 + p[:, 1], (p[:, 1] - 4) ** 2 + p[:, 2], np.cos(p).sum(1)], 1)
    return np.where((p.sum(1) % 5 == 0)[:, None], np.inf, values)


def test_the_front_is_that_of_brute_force_on_a_small_grid():
    points = np.array(list(itertools.product(range(6), range(6), range(5))))
    truth = bumpy(points)
    allowed = np.flatnonzero(np.isfinite(truth).all(1))
    best = {tuple(truth[allowed[i]]) for i in brute_front(truth[allowed])}
    tried = search.search(bumpy, [0, 0, 0], [5, 5, 4], [np.array([1, 1, 1])], 180, seed=1)
    found = {tried.values[i] for i in tried.front()}
    tried_all = np.array([v for v in tried.values if np.isfinite(v).all()])
    for one in found:  # nothing that was tried beats what is on the front
        assert not ((tried_all <= one).all(1) & (tried_all < one).any(1)).any()
    assert len(tried.values) <= 180 and len(found & best) / len(best) > 0.9


def test_front_of_against_the_plain_definition():
    values = np.random.default_rng(5).integers(0, 6, (120, 3)).astype(float)
    kept = search.front_of(values)
    plain = brute_front(values)
    assert {tuple(values[i]) for i in kept} == {tuple(values[i]) for i in plain}
    assert len(kept) == len({tuple(values[i]) for i in kept})
    assert search.front_of([[np.inf, 1.0]]) == []


def test_the_same_seed_tries_the_same_points_and_another_does_not():
    runs = [search.search(lambda p: zdt(1, p), [0] * 4, [FINE] * 4, [], 300, seed=s) for s in (7, 7, 8)]
    assert runs[0].points == runs[1].points and runs[0].values == runs[1].values
    assert runs[0].points != runs[2].points


def test_no_point_is_evaluated_twice():
    asked = []
    search.search(lambda p: asked.extend(map(tuple, p)) or bumpy(p), [0] * 3, [4] * 3, [], 110, seed=2)
    assert len(asked) == len(set(asked))


def test_ctrl_c_keeps_what_was_tried():
    def evaluate(points):
        evaluate.calls += 1
        if evaluate.calls > 3:
            raise KeyboardInterrupt
        return zdt(1, points)

    evaluate.calls = 0
    tried = search.search(evaluate, [0] * 4, [FINE] * 4, [], 5000, seed=1)
    assert tried.stopped and len(tried.values) > 48 and tried.front()
    with pytest.raises(KeyboardInterrupt):  # before anything was tried there is nothing to keep
        search.search(evaluate, [0] * 4, [FINE] * 4, [], 5000, seed=1)


def test_polish_walks_to_the_bottom_and_stays_inside():
    value_of = lambda points: [float(((p - [3, 9]) ** 2).sum()) for p in points]  # noqa: E731
    point, value = search.polish([0, 0], lambda a, b: a < b, value_of, [0, 0], [5, 7], rounds=20)
    assert point.tolist() == [3, 7] and value == 4.0


def test_polish_walks_along_a_ridge_only_with_pairs():
    """On x + y <= 6 the lowest of (x - 6)^2 + y is at (6, 0); from (0, 6) no single step up in x is allowed."""
    value_of = lambda points: [  # noqa: E731
        float((p[0] - 6) ** 2 + p[1]) if p.sum() == 6 else np.inf for p in points
    ]
    alone, _ = search.polish([0, 6], lambda a, b: a < b, value_of, [0, 0], [6, 6], rounds=20)
    both, _ = search.polish([0, 6], lambda a, b: a < b, value_of, [0, 0], [6, 6], rounds=20, pairs=[(0, 1)])
    assert alone.tolist() == [0, 6] and both.tolist() == [6, 0]
