"""Are the filter, its smoother and its score right?

Outside source: statsmodels' general state-space Kalman filter and smoother on one small case.
"""

import numpy as np
import pytest
from statsmodels.tsa.statespace.kalman_smoother import KalmanSmoother

from tests.test_house import LINKS, SHARES, parameters
from tuner import estimate, house, kalman, prior, track

ROWS, DT = 240, 60.0


def stretch_of(seed=3):
    """A made stretch: fan on now and then, vents shut, no moisture, some readings lost."""
    rng = np.random.default_rng(seed)
    t = np.arange(ROWS)
    house_c = 9 + 2 * np.sin(t / 40) + rng.normal(0, 0.05, ROWS)
    soil = 13 - t / 400 + rng.normal(0, 0.05, ROWS)
    level = kalman.OFF + 20 * ((t // 45) % 2)
    outlet = house_c + 0.6 * (soil - house_c) + rng.normal(0, 0.1, ROWS)
    seen = np.stack([house_c, soil, outlet], 1)
    seen[50:60, 0] = np.nan
    seen[::7, 1] = np.nan
    ok = np.zeros(ROWS, bool)
    ok[1:] = level[:-1] != kalman.OFF
    none = np.zeros(ROWS)
    return kalman.Stretch(
        DT, seen, 2 + np.cos(t / 60), none + 50.0, none + 0.3, none, none, none + np.nan, level, ok, 101325.0, 80.0,
        slice(0, ROWS),
    )  # fmt: skip


def filtered(model, stretch, state, spread):
    errors = np.empty((ROWS, 3))
    variances = np.full_like(errors, np.nan)
    return kalman.run_filter(
        model, stretch, state.copy(), spread.copy(), np.zeros(1), np.inf, errors, variances,
        np.zeros((0, 3, house.STATES)), np.zeros((0, house.STATES)),
    )  # fmt: skip


def statsmodels_of(model, stretch, state, spread):
    """The same system, one matrix per row, in statsmodels' terms."""
    n = house.STATES
    other = KalmanSmoother(k_endog=3, k_states=n, k_posdef=n)
    seen = stretch.seen.copy()
    seen[~stretch.outlet_ok, 2] = np.nan
    seen[:, 2] -= model.p[house.INDEX["outlet_offset"]]
    other.bind(seen)
    design, moves = np.zeros((3, n, ROWS)), np.zeros((n, n, ROWS))
    pushes, noise, probes = np.zeros((n, ROWS)), np.zeros((n, n, ROWS)), np.zeros((3, 3, ROWS))
    for t in range(ROWS):
        z, f, q = np.zeros(n), np.zeros(n), np.zeros((n, n))
        for probe in range(3):
            level = stretch.level[max(t - 1, 0)] if probe == 2 else stretch.level[t]
            probes[probe, probe, t] = kalman.see(model, level, probe, z)
            design[probe, :, t] = z
        kalman.row_forcing(model, stretch, t, state, 0.0, f)
        kalman.add_noise(model.p, DT, stretch.shine[t], q)
        moves[:, :, t] = model.power[stretch.level[t]]
        pushes[:, t] = model.integral[stretch.level[t]] @ f
        noise[:, :, t] = q
    for name, value in (
        ("design", design), ("transition", moves), ("state_intercept", pushes), ("state_cov", noise),
        ("obs_cov", probes),
    ):  # fmt: skip
        other[name] = value
    other["selection"] = np.eye(n)
    other.initialize_known(state, spread)
    return other


def case():
    stretch = stretch_of()
    p = parameters(vent_start=90.0)
    state, spread = prior.start(stretch.seen, 250.0)
    return kalman.build(p, SHARES, LINKS, DT, [kalman.OFF, kalman.OFF + 20]), stretch, state, spread


def test_likelihood_equals_statsmodels():
    """Sum of log-likelihoods with the constant put back; relative 1e-8."""
    model, stretch, state, spread = case()
    ours = filtered(model, stretch, state, spread)
    count = (~np.isnan(stretch.seen[:, :2])).sum() + (stretch.outlet_ok & ~np.isnan(stretch.seen[:, 2])).sum()
    other = statsmodels_of(model, stretch, state, spread)
    assert ours - 0.5 * count * np.log(2 * np.pi) == pytest.approx(other.loglike(), rel=1e-8)


def test_smoothed_states_equal_statsmodels():
    """All ten states at all rows; 1e-5 K, and 1e-3 W for the unexplained gain."""
    model, stretch, state, spread = case()
    got = track.follow(model, stretch, state, spread, np.inf)[0].state
    want = statsmodels_of(model, stretch, state, spread).smooth().smoothed_state.T
    assert np.abs(got[:, :-1] - want[:, :-1]).max() < 1e-5
    assert np.abs(got[:, -1] - want[:, -1]).max() < 1e-3 * max(1.0, np.abs(want[:, -1]).max())


def test_score_equals_finite_differences():
    """Central differences of the log-posterior at a step of 1e-4; 1 % of the largest component."""
    _, stretch, state, spread = case()
    fixed = house.fitted_scale(parameters(vent_start=90.0))
    active = np.array([house.INDEX[name] for name in ("loss", "air_capacity", "air_stream", "effectiveness", "sky")])
    precision = np.eye(5)
    centre = fixed[active] - 0.1
    problem = estimate.Problem([stretch], [state], [spread], SHARES, LINKS, active, centre, precision, fixed)
    here = estimate.point(problem, fixed, cut=np.inf)
    want = []
    for i in active:
        up, down = fixed.copy(), fixed.copy()
        up[i] += 1e-4
        down[i] -= 1e-4
        want.append((estimate.value(problem, up, np.inf) - estimate.value(problem, down, np.inf)) / 2e-4)
    assert np.abs(here.score - want).max() < 0.01 * np.abs(want).max()
    assert here.value == pytest.approx(estimate.value(problem, fixed, np.inf), rel=1e-12)


def test_the_track_follows_the_log_exactly():
    """State and forcing of each row give the next row's state; 1e-9 K."""
    model, stretch, state, spread = case()
    course = track.follow(model, stretch, state, spread, np.inf)[0]
    for t in range(ROWS - 1):
        k = stretch.level[t]
        nxt = model.power[k] @ course.state[t] + model.integral[k] @ course.forcing[t]
        assert np.abs(nxt - course.state[t + 1])[:-1].max() < 1e-9
