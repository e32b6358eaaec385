"""Does every fault of the table end as it must? One test a fault; the scenes are in tests/rig/inner/faults_*.py.

Rests on: the whole firmware on real MicroPython in the simulated world. What must happen is our own rule (design of
the safe states), no source. `python -m tests.rig.faults` prints the table.
"""

import pytest

from tests.rig import faults
from tests.rig.run import micropython

pytestmark = pytest.mark.skipif(micropython() is None, reason="no MicroPython on this machine")


@pytest.fixture(scope="module")
def image(tmp_path_factory):
    return faults.prepare(tmp_path_factory.mktemp("flash"))


@pytest.mark.parametrize(
    ("name", "must"),
    [
        pytest.param(name, must, id=name, marks=[pytest.mark.slow] if name in faults.LONG else [])
        for _, name, must in faults.table()
    ],
)
def test_fault(image, name, must):
    found = faults.play(image, name)
    assert found["ok"], f"{name}: {must}. Seen: {found['seen']}"
