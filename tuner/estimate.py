"""Find the parameters: Fisher scoring on the likelihood of the one-step errors plus weak priors.

Lives here: the score, its Fisher information and the search. Never here: logs, sites, words.

The log-likelihood of the filter is -1/2 sum(log F + v^2 / F). With dv and dF its derivatives
(one filter run each, forward differences), the score is sum(-v dv / F + (v^2 / F - 1) dF / (2 F)) and the expected
information sum(dv dv' / F + dF dF' / (2 F^2)). One step costs a filter run per parameter, whatever the number of
steps a numeric Hessian would want. Source: Harvey 1989, Forecasting, Structural Time Series Models and the Kalman
Filter, section 3.4.5 (from memory); checked against finite differences in the tests.
"""

import os
from collections import namedtuple
from concurrent.futures import ThreadPoolExecutor
from functools import cache

import numpy as np

from tuner import house, kalman

DIFFERENCE = 1e-5  # on the fitted scale, where one is a factor of e
BLOCK_S = 86400.0  # score blocks: a day each, for the spread that allows for a wrong model
CUT = 5.0  # one-step errors beyond this many standard deviations count as more noise

Problem = namedtuple("Problem", "stretches starts spreads shares links active centre precision fixed")
Problem.__doc__ = """What is to be fitted.

stretches: list of kalman.Stretch; starts (10,) and spreads (10, 10): state before each; shares, links: shell shape;
active: indices of the fitted parameters; centre (k,), precision (k, k): their joint prior on the fitted scale;
fixed: all parameters on the fitted scale, the active ones to be overwritten."""

Point = namedtuple("Point", "free value score information block_scores")
Point.__doc__ = """free (29,) on the fitted scale; value: log-posterior; score (k,), information (k, k) of
likelihood and prior; block_scores (blocks, k) of the likelihood alone."""

_NO_GAINS = np.zeros((0, kalman.PROBES, house.STATES))
_NO_STATES = np.zeros((0, house.STATES))


@cache
def _threads():
    """One thread for each core; the compiled filter holds no lock."""
    return ThreadPoolExecutor(os.cpu_count() or 1)


def levels_of(stretches):
    """Return the sorted fan level indices that occur."""
    return np.unique(np.concatenate([s.level for s in stretches]))


def model_of(problem, free, stretch):
    """Return the kalman.Model of one stretch's step for parameters on the fitted scale."""
    return kalman.build(
        house.natural(free), problem.shares, problem.links, stretch.dt, levels_of(problem.stretches)
    )


def start_of(problem, free, k):
    """Return the state before stretch k and its covariance, copies."""
    return problem.starts[k].copy(), problem.spreads[k].copy()


def value(problem, free, cut=CUT):
    """Return the log-posterior (without constants) at `free`; -inf where the filter breaks."""
    total = _prior_value(problem, free)
    for k, stretch in enumerate(problem.stretches):
        errors = np.empty((len(stretch.level), kalman.PROBES))
        state, spread = start_of(problem, free, k)
        total += kalman.run_filter(
            model_of(problem, free, stretch), stretch, state, spread, np.zeros(1), cut, errors,
            np.empty_like(errors), _NO_GAINS, _NO_STATES,
        )  # fmt: skip
    return total if np.isfinite(total) else -np.inf


def point(problem, free, cut=CUT):
    """Return the Point at `free`: value, score and information."""
    active = problem.active
    size = len(active)
    total = _prior_value(problem, free)
    score = np.zeros(size)
    information = np.zeros((size, size))
    blocks = []
    frees = np.tile(free, (size + 1, 1))
    frees[np.arange(1, size + 1), active] += DIFFERENCE
    for k, stretch in enumerate(problem.stretches):
        rows = len(stretch.level)
        errors = np.empty((size + 1, rows, kalman.PROBES))
        variances = np.full_like(errors, np.nan)

        def run(m, k=k, stretch=stretch, errors=errors, variances=variances):
            state, spread = start_of(problem, frees[m], k)
            return kalman.run_filter(
                model_of(problem, frees[m], stretch), stretch, state, spread, np.zeros(1), cut, errors[m],
                variances[m], _NO_GAINS, _NO_STATES,
            )  # fmt: skip

        total += run(0)  # the first one alone: it may have to be compiled
        list(_threads().map(run, range(1, size + 1)))  # each fills its own place, so threads change no result
        chunk = max(1, round(BLOCK_S / stretch.dt))
        for first in range(0, rows, chunk):
            block, more = _block(errors[:, first : first + chunk], variances[:, first : first + chunk], size)
            score += block
            information += more
            blocks.append(block)
    score -= problem.precision @ (free[active] - problem.centre)
    information += problem.precision
    return Point(free, total if np.isfinite(total) else -np.inf, score, information, np.array(blocks))


def _block(errors, variances, size):
    """Return score and information of one chunk from the errors of the base and of each shifted parameter."""
    seen = ~np.isnan(errors[0])
    v = errors[:, seen]
    f = variances[:, seen]
    dv = (v[1:] - v[0]) / DIFFERENCE
    df = (f[1:] - f[0]) / DIFFERENCE / f[0]
    score = dv @ (-v[0] / f[0]) + df @ (0.5 * (v[0] ** 2 / f[0] - 1.0))
    scaled = dv / np.sqrt(f[0])
    return score, scaled @ scaled.T + 0.5 * df @ df.T


def _prior_value(problem, free):
    away = free[problem.active] - problem.centre
    return -0.5 * float(away @ problem.precision @ away)


def climb(problem, free, most=30, enough=0.02, report=None):
    """Return the Point of the highest log-posterior reached from `free` by damped Fisher scoring.

    most: steps at most; enough: the climb ends when a full step promises less than this in log-posterior.
    """
    here = point(problem, free)
    damping = 1e-3
    for _ in range(most):
        moved = None
        while damping < 1e6:
            scale = np.diag(here.information)
            step = np.linalg.solve(here.information + damping * np.diag(scale), here.score)
            step *= min(1.0, 1.0 / np.abs(step).max()) if np.abs(step).max() > 0 else 1.0
            trial = here.free.copy()
            trial[problem.active] += step
            got = value(problem, trial)
            if got > here.value:
                moved = trial
                break
            damping = max(damping, 1e-4) * 6.0
        if moved is None:
            return here
        promised = float(step @ here.score) / 2
        gained = got - here.value
        here = point(problem, moved)
        damping = damping / 6.0 if gained > 0.25 * promised else damping
        if report:
            report(here)
        if gained < enough:
            return here
    return here
