"""Does every state that can be reached keep I1 to I10, and would the search find it if one did not?

The whole search is `python -m tests.states` (in `.ci/run --full`). Here: a small settings file, walked whole; the
compiled walk against the plain one; and one seeded fault an invariant, each of which must be found.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.core import allowance, decide, limits, phases, stages, timers, wants
from controller.core.allowance import Allowance
from controller.core.screen import Reading
from controller.core.settings import TABLE, between_rows
from tests import invariants
from tests.states import grid, story, walk
from tuner.core_numba import HAVE_NUMBA

QUICK = grid.settings_of(grid.QUICK)
ALL_NAMES = [*grid.FILES, *grid.FILES_OF_TESTS]


@pytest.mark.parametrize("name", ALL_NAMES)
def test_the_settings_files_of_the_search_are_lawful(name):
    s = grid.settings_of(name)
    assert between_rows(s) == []
    for row, value in zip(TABLE, s, strict=True):
        assert row[2] <= value <= row[3] or (value == 0 and row[4].endswith("off"))


@pytest.mark.parametrize("name", ALL_NAMES)
def test_readings_straddle_thresholds_by_one_hundredth(name):
    s = grid.settings_of(name)
    houses = {r.house_centi_c for r in grid.readings(name) if r.house_ok}
    pairs = {(r.house_centi_c, r.soil_centi_c) for r in grid.readings(name) if r.house_ok and r.soil_ok}
    assert len(houses) >= 11 and len({soil for _, soil in pairs}) >= 11
    for edge in (s.frost_guard_centi_c, s.discharge_below_centi_c, s.charge_above_centi_c):
        assert {edge - 1, edge, edge + 1} <= houses
    for house in houses:
        gains = {soil - house for at, soil in pairs if at == house}
        assert {s.least_gain_centi_c, s.least_gain_centi_c - 1, -s.least_gain_centi_c} <= gains


def test_plain_walk_keeps_all_invariants():
    found = walk.plain(QUICK, grid.readings(grid.QUICK, few=True)[::11], most=400)
    assert found.fault is None, story.tell(QUICK, found.fault)
    assert found.transitions > 100_000


@pytest.mark.skipif(not HAVE_NUMBA, reason="numba is not installed: the compiled walk has nothing to compile")
def test_compiled_walk_keeps_all_invariants_and_finds_the_states_of_the_plain_one():
    readings = grid.readings(grid.QUICK, few=True)
    whole = walk.compiled(QUICK, readings)
    assert whole.fault is None, story.tell(QUICK, whole.fault)
    assert whole.states > 5000
    some = readings[::29]
    assert walk.compiled(QUICK, some, most=400) == walk.plain(QUICK, some, most=400)


# One fault an invariant. Each is a slip that an edit of the core could make.


def starts_unrested(patch):
    real = limits.limit_of
    patch.setattr(limits, "limit_of", lambda *a: limits.FREE if real(*a) == limits.RESTING else real(*a))


def stops_early(patch):
    patch.setattr(timers, "bound", lambda s, t: 0)


def charge_touches_discharge(patch):
    cells = list(phases.CELLS)
    cells[phases.CHARGE * len(phases.CONDITIONS) + phases.WANT_DISCHARGE] = phases.DISCHARGE
    patch.setattr(phases, "CELLS", cells)


def gain_a_hundredth_short(patch):
    real = wants.worth
    patch.setattr(wants, "worth", lambda s, t, r, warmer, kept: real(s, t, r, warmer + 1, kept))


def outlet_tried_at_once(patch):
    patch.setattr(limits, "OUTLET_RETRY_S", 600)


def running_half_booked(patch):
    real = allowance.book
    patch.setattr(allowance, "book", lambda s, a, elapsed_s, ran_s: real(s, a, elapsed_s, ran_s // 2))


def reserve_kept_from_frost_guard(patch):
    patch.setattr(limits, "BY_GUARD", -1)


def guard_ends_early(patch):
    patch.setattr(
        wants, "guard_holds", lambda s, held, r: 1 if r.house_ok and r.house_centi_c <= s.frost_guard_centi_c else 0
    )


def timers_run_on(patch):
    patch.setattr(timers, "min", lambda a, b: a, raising=False)


def longest_run_forgotten(patch):
    real = limits.limit_of
    patch.setattr(limits, "limit_of", lambda *a: limits.FREE if real(*a) == limits.LONGEST else real(*a))


def moody(patch):
    real, calls = wants.hot, []

    def hot(s, r, kept):
        calls.append(1)
        return real(s, r, kept) if len(calls) % 1000 else 0

    patch.setattr(wants, "hot", hot)


def heats_blindly(patch):
    real = stages.heater_step
    patch.setattr(stages, "heater_step", lambda s, t, r, vent: real(s, t, r, vent) if r.house_ok else t.heater)


def vent_and_heater_together(patch):
    patch.setattr(stages, "vent_step", lambda s, t, r, phase, limit: 1 if t.heater else t.vent)


FAULTS = [
    (1, starts_unrested), (2, stops_early), (3, charge_touches_discharge), (4, gain_a_hundredth_short),
    (4, outlet_tried_at_once), (5, running_half_booked), (6, reserve_kept_from_frost_guard),
    (6, guard_ends_early), (7, timers_run_on), (8, longest_run_forgotten), (9, moody), (10, heats_blindly),
    (10, vent_and_heater_together),
]  # fmt: skip


@pytest.mark.parametrize("number, fault", FAULTS, ids=[fault.__name__ for _, fault in FAULTS])
def test_search_finds_a_seeded_fault(monkeypatch, number, fault):
    outlet = fault is outlet_tried_at_once
    name = "limit and outlet" if outlet else grid.QUICK
    s, readings = grid.settings_of(name), grid.readings(name, few=True)
    fault(monkeypatch)
    stride = {gain_a_hundredth_short: 7, longest_run_forgotten: 61}.get(fault, 19)
    found = walk.plain(s, [r for r in readings if r.soil_ok == 0] if outlet else readings[::stride], most=3000)
    assert found.fault is not None
    assert invariants.NAMES[found.fault[0] - 1] == f"I{number}"
    told = story.tell(s, found.fault)
    assert told.startswith("power-up: rest (waking)") and f"I{number} is broken" in told


def test_no_debt_without_end(monkeypatch):
    """Found by the search: frost guard starts a run, ends at once, and min_run_s is run with nothing left. Nightly."""
    s = grid.settings_of("tightest")
    quiet, frost = reading(elapsed_s=300, house_centi_c=471, soil_centi_c=370), {"elapsed_s": 300, "house_centi_c": 469}
    night = 3 * [reading(soil_centi_c=368, **frost)] + [reading(soil_centi_c=569, **frost)]
    night += [reading(elapsed_s=300, house_centi_c=500, soil_centi_c=399)] + 4 * [quiet]

    def first_broken():
        state = decide.start(s)
        for r in 10 * night:
            before, state = state, decide.step(s, state, r)
            wrong = invariants.broken(s, before, r, state)
            if wrong:
                return wrong
        return 0

    assert first_broken() == 0
    monkeypatch.setattr(allowance, "MOST_OWED_S", 1 << 29)  # as it was
    assert first_broken() == 5


def test_every_invariant_has_a_seeded_fault():
    assert {number for number, _ in FAULTS} == set(range(1, 11))


def reading(**given_fields):
    """Return a Reading with everything trusted, but for what is given."""
    plain = {field: 1 if field.endswith("_ok") else 0 for field in Reading._fields}
    return Reading(**{**plain, "elapsed_s": 60, **given_fields})


TEMPERATURE = st.integers(-4000, 7000)


@given(
    house=TEMPERATURE, soil=TEMPERATURE, others=st.tuples(*[TEMPERATURE] * 6), hand=st.integers(0, 2),
    run_s=st.integers(0, 1800), phase=st.integers(0, 4), debt=st.integers(0, 3600),
)  # fmt: skip
def test_fields_that_the_grid_does_not_vary_are_not_read(house, soil, others, hand, run_s, phase, debt):
    """House known and soil known: no outlet, outside (no vent) or humidity (no damp rule) changes the decision."""
    s = grid.settings_of("defaults")
    fan = 1 if phase in (1, 2) else 0
    d = decide.start(s).deciding._replace(
        phase=phase, fan=fan, rule=fan, run_s=run_s * fan, rest_s=0 if fan else run_s, allowance=Allowance(0, 0, debt)
    )
    outlet, outside, outlet_2, outside_2, dew, dew_2 = others
    r = reading(house_centi_c=house, soil_centi_c=soil, hand=hand)
    one = r._replace(outlet_centi_c=outlet, outside_centi_c=outside, dew_centi_c=dew, humidity_deci_pct=900)
    two = r._replace(outlet_centi_c=outlet_2, outside_centi_c=outside_2, dew_centi_c=dew_2, outlet_ok=0, dew_ok=0)
    assert decide.next_deciding(s, d, one) == decide.next_deciding(s, d, two)
