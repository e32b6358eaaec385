"""Does the core decide the same, to the bit, on every runtime (I9), with every int below 2**30 (I7)?

Seeded steps, nasty values included, from raw readings to counters: 40,000 here, 100,000 in `python -m tests.steps`
(in `.ci/run --full`).
"""

import pytest

from controller.core import decide, screen
from tests.steps import portable, runtimes
from tests.steps.__main__ import SEED

EACH = 40_000 // len(portable.CHANGES)
TOO_BIG = 1 << 30


@pytest.fixture(scope="module")
def here():
    return runtimes.on_cpython(SEED, EACH)


def test_steps_visit_every_phase_and_stay_small(here):
    assert [row[0] for row in here] == [EACH] * len(portable.CHANGES)
    assert all(row[2] < TOO_BIG for row in here)
    assert {row[3] for row in here} == {0b11111}


@pytest.mark.parametrize("name", [name for name in runtimes.RUNTIMES if name != "CPython"])
def test_same_digest(name, here):
    found = runtimes.RUNTIMES[name](SEED, EACH)
    if found is None:
        pytest.skip(f"not installed here: {name}")
    assert found == here


def test_digest_sees_one_hundredth_once():
    """A digest that could not fail would prove nothing."""
    s, sensed, state = portable.settings_of(0), screen.start(), decide.start(portable.settings_of(0))
    g, w = portable.seeded(SEED), portable.first_weather()
    raw = portable.next_raw(g, w)._replace(soil_centi_c=900)
    one = portable.one(s, sensed, state, raw, 1)
    assert portable.one(s, sensed, state, raw._replace(soil_centi_c=901), 1)[2] != one[2]


class Watched(int):
    """An int whose sums, differences, products and quotients are watched, and theirs."""

    greatest = 0


def _watch(name):
    plain = getattr(int, name)

    def operation(*numbers):
        result = plain(*numbers)
        Watched.greatest = max(Watched.greatest, abs(result))
        return Watched(result)

    return operation


for _name in ("add", "sub", "mul", "floordiv", "mod", "neg", "abs", "lshift", "rshift"):
    for _kind in (f"__{_name}__", f"__r{_name}__"):
        if hasattr(int, _kind):
            setattr(Watched, _kind, _watch(_kind))


def test_numbers_on_the_way_stay_small_too():
    """Not only what is kept: every intermediate result of screening and deciding, nasty readings included."""
    Watched.greatest = 0
    for number in range(len(portable.CHANGES)):
        s = portable.settings_of(number)
        s = type(s)(*map(Watched, s))
        g, w = portable.seeded(SEED), portable.first_weather()
        sensed, state = screen.start(), decide.start(s)
        for _ in range(1500):
            raw = screen.Raw(*map(Watched, portable.next_raw(g, w)))
            sensed = screen.step(sensed, raw)
            state = decide.step(s, state, screen.reading(s, sensed, raw))
    # The allowance's parts of a second are the greatest: an hour times a day.
    assert 3600 * 86400 <= Watched.greatest < TOO_BIG
