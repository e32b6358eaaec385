"""Does the weekly habit work from end to end, and does a lead pulled anywhere leave a board that decides?

Rests on: tests/rig/habit.py and tests/rig/lead_cuts.py, real MicroPython behind a real pty. `bash .ci/run --full` cuts
at 200 places and more and lets the habit tune.
"""

import pytest

from tests import link_help
from tests.rig import habit, lead_cuts
from tuner import link_flash

pytestmark = link_help.needs_board
SEED = 20  # of the places; another one, other places


def test_flash_a_week_pull_inspect_flash_watch(tmp_path):
    go = habit.habit(tmp_path, tries=0, show=lambda text: None)
    assert "log.csv: 10,080 new rows." in go.told and "Faults: none found." in go.told
    assert go.told.count("Proved: 240 decisions") == 2 and "settings: discharge_below_c 6 -> 5.5 C" in go.told
    assert "The board and tuned/settings.json: alike." in go.told


@pytest.mark.slow
def test_the_same_with_the_tuner_in_it(tmp_path):
    go = habit.habit(tmp_path, tries=100, show=lambda text: None)
    assert "Settings to flash: tuned/settings.json" in go.told
    assert "The board and tuned/settings.json: alike." in go.told


def test_the_lead_pulled_at_a_few_places_of_a_flash(tmp_path, monkeypatch):
    monkeypatch.setattr(link_flash, "RETURN_S", 0.1)
    found = lead_cuts.flashes(4, SEED, tmp_path)
    assert found.cuts >= 3 and found.wrong == []
    assert found.old + found.new == 4 and found.old >= 1
