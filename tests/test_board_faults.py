"""Does every fault of the table end as it must? One test a fault; the scenes are in tests/rig/inner/faults_*.py.

Rests on: the whole firmware on real MicroPython in the simulated world. What must happen is our own rule (design of
the safe states), no source. `python -m tests.rig.faults` prints the table.
"""

from concurrent.futures import ThreadPoolExecutor

import pytest

from tests.rig import faults
from tests.rig.run import micropython

pytestmark = pytest.mark.skipif(micropython() is None, reason="no MicroPython on this machine")


@pytest.fixture(scope="module")
def played(request, tmp_path_factory):
    """Every chosen fault's result to come, two played at a time."""
    chosen = [item.callspec.params["name"] for item in request.session.items if item.path == request.path]
    image = faults.prepare(tmp_path_factory.mktemp("flash"))
    with ThreadPoolExecutor(faults.WORKERS) as pool:
        yield {name: pool.submit(faults.play, image, name) for name in chosen}


@pytest.mark.parametrize(
    ("name", "must"),
    [
        pytest.param(name, must, id=name, marks=[pytest.mark.slow] if name in faults.LONG else [])
        for _, name, must in faults.table()
    ],
)
def test_fault(played, name, must):
    found = played[name].result()
    assert found["ok"], f"{name}: {must}. Seen: {found['seen']}"
