"""Does the board decide in the simulated plant's days as the plant's own controller did, to the second?

Rests on: tests/plant (an independent house), stepped a second at a time with the core on the desktop; its readings
are then fed to the whole firmware on real MicroPython, probe by probe, byte by byte.
"""

import os

import numpy as np
import pytest

from controller.core import settings
from tests.rig import replay, soaked
from tests.rig.run import micropython

pytestmark = [
    pytest.mark.skipif(micropython() is None, reason="no MicroPython on this machine"),
    pytest.mark.slow,
]
CORE_SETTINGS = settings.from_mapping(soaked.SETTINGS)[0]
DAYS = int(os.environ.get("LOAMSTAT_PLANT_DAYS", "1"))  # 7 in .ci/full.d/board-plant


@pytest.fixture(scope="module")
def week(tmp_path_factory):
    from tests.plant import HOUSES, WEATHERS, simulate

    result = simulate(
        HOUSES[min(HOUSES)], WEATHERS[min(WEATHERS)], CORE_SETTINGS, days=DAYS, step_s=1, warmup_settings=CORE_SETTINGS
    )
    folder = tmp_path_factory.mktemp("plant")
    result.raws.astype("<i2").tofile(folder / "feed.bin")
    report = soaked.soak(DAYS, "fed", folder)
    assert report["ends"] == ["end", "end"]
    return folder, result, replay.seconds(folder / "seconds.bin")


def test_same_decisions_to_the_second_from_the_readings_that_were_fed(week):
    seconds, differing = soaked.differing_seconds(week[0], CORE_SETTINGS)
    assert seconds > DAYS * 86400 - 10
    assert differing == 0


def test_the_fan_ran_when_the_plants_did(week):
    _, result, seconds = week
    plants, boards = result.decided[:, 1] > 0, seconds["pct"] > 0
    n = min(len(plants), len(boards)) - 5
    # The board reads a conversion of the second before, so it may lag by a second or two.
    assert min(np.mean(plants[:n] != boards[lag : lag + n]) for lag in range(4)) < 1e-4
    assert plants.sum() > 3600


def test_the_minute_journal_replays_it(week):
    found = soaked.minute_replay(week[0], CORE_SETTINGS)
    assert found["spoilt"] == 0
    assert found["starts"] == found["replayed_starts"]
    assert found["worst_s"] <= 60
    assert found["replayed_fan_h"] == pytest.approx(found["fan_h"], rel=0.01)
