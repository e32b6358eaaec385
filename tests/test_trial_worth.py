"""Does a trial narrow what the fan is known to move by as much as was said before it was run?

Judged on the plant: a log without any fan, then the same weather with the proposed trial run in it.
"""

import tempfile
from pathlib import Path

import numpy as np
import pytest

from tests import prediction_table as table
from tests.plant import simulate, write_log
from tuner import fit, logs, trial_worth

DAYS = 8
HOUSE, WEATHER = table.HOUSES["dome"], table.WEATHERS["hard winter"]


def fitted(fan):
    """Fit of the plant's noisy log, the fan run as asked for: percent by the minute."""
    own = table.LOGGED[WEATHER.name]
    with tempfile.TemporaryDirectory() as folder:
        r = simulate(HOUSE, WEATHER, own, days=DAYS, sensors_of=table.NOISY, warmup_settings=own, fan_override=fan)
        path = write_log(r, Path(folder) / "log.csv")
        site = table.site_of(HOUSE, WEATHER)
        return fit.fit(logs.read_logs([path], site), site, draws=2, hold_out=False)


@pytest.mark.slow
def test_the_trial_narrows_by_about_what_was_said():
    """Our measure: the obtained spread lies between 0.6 and 1.6 times the one told; both clearly below the prior's."""
    none = np.zeros(DAYS * 1440, np.int64)
    before = fitted(none)
    said = trial_worth.worth(before)
    k, first, apart = next(trial_worth.windows(before.grid))
    assert k == 0 and apart > 3.0 and said.runs >= trial_worth.LEAST_RUNS
    tried = none.copy()
    for run in range(said.runs):  # as the board does: rested 5 min, then 30 min on and 30 min off
        tried[first + 5 + 60 * run : first + 35 + 60 * run] = 100
    after = fitted(tried)
    assert after.fan_known and not before.fan_known
    active = after.problem.active
    aim = trial_worth.gradient(after, active)
    got = float(np.sqrt(aim @ after.covariance[np.ix_(active, active)] @ aim))
    assert said.often <= said.once < 0.75 * said.before
    assert 0.6 < got / said.once < 1.6
    note = next(text for text in trial_worth.notes(before) if text.startswith("The fan never ran"))
    assert f"after that trial it should be within {trial_worth.known_within(said.once)}" in note


def test_how_well_is_told_in_words():
    assert trial_worth.known_within(np.log(2.5) / trial_worth.NINETY) == "a factor of 2.5"
    assert trial_worth.known_within(np.log(1.15) / trial_worth.NINETY) == "+-15 %"
