"""Does the whole firmware, on real MicroPython, decide as the desktop does and run without a hitch?

Rests on: the same core on both sides; the simulated world of tests/rig/inner, which feeds it byte by byte. Hours here,
30 days in `bash .ci/run --full` (.ci/full.d/board-soak).
"""

import pytest

from controller.core import settings
from tests.rig import soaked
from tests.rig.run import micropython

pytestmark = pytest.mark.skipif(micropython() is None, reason="no MicroPython on this machine")
CORE_SETTINGS = settings.from_mapping(soaked.SETTINGS)[0]


@pytest.fixture(scope="module")
def calm(tmp_path_factory):
    folder = tmp_path_factory.mktemp("calm")
    return folder, soaked.soak(0.35, "calm", folder)


@pytest.fixture(scope="module")
def busy(tmp_path_factory):
    folder = tmp_path_factory.mktemp("busy")
    return folder, soaked.soak(0.15, "busy", folder)


def test_no_reset_no_late_feed_no_two_stages_at_once(calm, busy):
    for _, report in (calm, busy):
        assert report["ends"] == ["end", "end"]
        assert report["longest_feed_ms"] < 2500  # the watchdog bites at 8000
        assert report["both"] == 0


def test_the_fan_worked_in_the_simulation(calm, busy):
    assert calm[1]["starts"] >= 5
    assert busy[1]["starts"] >= 2


def test_one_second_readings_replayed_give_the_same_decisions_to_the_second(calm):
    seconds, differing = soaked.differing_seconds(calm[0], CORE_SETTINGS)
    assert seconds > 30000
    assert differing == 0


def test_minute_journal_replayed_starts_within_60_s_and_fan_hours_within_1_percent(calm):
    found = soaked.minute_replay(calm[0], CORE_SETTINGS)
    assert found["spoilt"] == 0
    assert found["rows"] >= 480
    assert found["starts"] == found["replayed_starts"] >= 5
    assert found["worst_s"] <= 60
    assert found["replayed_fan_h"] == pytest.approx(found["fan_h"], rel=0.01)
    assert found["logged_fan_h"] == pytest.approx(found["fan_h"], abs=0.01)
