"""Does the flash stay whole when the power goes before any of its operations, in the middle of a write?

Rests on: littlefs of the same MicroPython on a simulated NOR flash (tests/rig/inner/nor.py) whose last write is torn,
and the firmware's own code for writing and reading. No source: what must hold is our own rule.
"""

import pytest

from tests.rig.run import inner_json, micropython

pytestmark = pytest.mark.skipif(micropython() is None, reason="no MicroPython on this machine")


@pytest.fixture(scope="module")
def report():
    return inner_json("cuts.py", heap="9M")


def test_nothing_older_than_the_batch_is_lost_and_a_whole_slot_is_live(report):
    assert {name: part["failures"] for name, part in report.items() if part["failures"]} == {}


def test_at_least_500_cut_points(report):
    assert sum(part["points"] for part in report.values()) >= 500


def test_both_outcomes_were_seen(report):
    assert set(report["save settings"]["found"]) == {"old settings, slot a", "new settings, slot a"}
    assert set(report["send and switch a slot"]["found"]) == {"old settings, slot a", "old settings, slot b"}
