"""Every state that the readings of one file can reach, found breadth first; all invariants on every transition.

The counters are projected out (each step starts from those at power-up) and checked on the transition. Two
walks: a plain one that any test can fault, and one compiled by numba, some fifty times faster, for the whole grid.
They must find the same states; test_states compares them.
"""

from collections import namedtuple

import numpy as np

from controller.core import counters, decide
from controller.core.allowance import Allowance
from controller.core.reasons import REASONS, WAKING
from controller.core.screen import Reading
from controller.core.state import Deciding, State
from tests import invariants
from tuner.core_numba import helper, jit

# fault: None, or (invariant number, [readings from power-up to the broken transition]). digest: of all states.
Found = namedtuple("Found", "states transitions reasons digest fault")

FIELDS = 18
ROOM = 4_000_000  # states
SLOTS = 1 << 23


@helper
def flat(d):
    """Return a Deciding as a flat tuple of FIELDS ints."""
    return (
        d.phase, d.fan, d.rule, d.run_s, d.rest_s, d.blind_s, d.blind_ran, d.wake_s, d.retry_s, d.guard,
        d.allowance.left_s, d.allowance.part, d.allowance.overdrawn_s,
        d.heater, d.heater_s, d.heat_wait_s, d.vent, d.vent_s,
    )  # fmt: skip


@helper
def state_of(row):
    """Return the State of a flat row, its counters as at power-up."""
    allowance = Allowance(row[10], row[11], row[12])
    deciding = Deciding(
        row[0], row[1], row[2], row[3], row[4], row[5], row[6], row[7], row[8], row[9], allowance,
        row[13], row[14], row[15], row[16], row[17],
    )  # fmt: skip
    return State(deciding, counters.start(row[0] * 0 + WAKING))


@helper
def reading_of(row):
    """Return the Reading of a flat row."""
    return Reading(
        row[0], row[1], row[2], row[3], row[4], row[5], row[6], row[7], row[8], row[9], row[10], row[11], row[12],
        row[13], row[14], row[15], row[16], row[17], row[18], row[19],
    )  # fmt: skip


@helper
def mix(row):
    """Return a hash of a flat row, 0 ... 2**31 - 1."""
    value = 17
    for number in row:
        value = (value * 31 + number * 7919 + 13) & 0x7FFFFFFF
        value = value ^ (value >> 13)
    return value & 0x7FFFFFFF


def path(parents, by, i, all_readings, last):
    """Return the readings that lead from power-up to state i, and then last."""
    out = [last]
    while i > 0:
        out.append(all_readings[by[i]])
        i = parents[i]
    return out[::-1]


def plain(s, all_readings, most=ROOM):
    """Walk in plain Python, from at most most states; stop at the first transition that breaks an invariant."""
    first = decide.start(s)
    seen = {first.deciding: 0}
    queue, parents, by = [first.deciding], [0], [0]
    reasons, transitions, i = set(), 0, 0
    while i < len(queue) and i < most:
        before = State(queue[i], first.counters)
        for j, r in enumerate(all_readings):
            after = decide.step(s, before, r)
            transitions += 1
            wrong = invariants.broken_or_moody(s, before, r, after)
            if wrong:
                return Found(len(queue), transitions, reasons, 0, (wrong, path(parents, by, i, all_readings, r)))
            reasons.add(after.counters.reason)
            if after.deciding not in seen:
                seen[after.deciding] = len(queue)
                queue.append(after.deciding)
                parents.append(i)
                by.append(j)
        i += 1
    return Found(len(queue), transitions, reasons, sum(mix(flat(d)) for d in queue), None)


def _compiled(s, inputs, most, rows, slots, parents, by, reasons):
    """Walk into the arrays given; return (states, broken invariant or 0, state, input)."""
    first = flat(decide.start(s).deciding)
    for k in range(FIELDS):
        rows[0, k] = first[k]
    slots[mix(first) & (SLOTS - 1)] = 1
    count, i = 1, 0
    while i < count and i < most:
        row = rows[i]
        before = state_of(row)
        for j in range(inputs.shape[0]):
            r = reading_of(inputs[j])
            after = decide.step(s, before, r)
            wrong = invariants.broken(s, before, r, after)
            if wrong:
                return count, wrong, i, j
            reasons[after.counters.reason] = 1
            new = flat(after.deciding)
            slot = mix(new) & (SLOTS - 1)
            while slots[slot]:
                old = rows[slots[slot] - 1]
                same = True
                for k in range(FIELDS):
                    if old[k] != new[k]:
                        same = False
                        break
                if same:
                    break
                slot = (slot + 1) & (SLOTS - 1)
            if not slots[slot]:
                if count >= rows.shape[0]:
                    return count, -1, i, j
                for k in range(FIELDS):
                    rows[count, k] = new[k]
                parents[count] = i
                by[count] = j
                count += 1
                slots[slot] = count
        i += 1
    return count, 0, 0, 0


_walk = []


def compiled(s, all_readings, most=ROOM):
    """Walk with numba, from at most most states. Raises MemoryError when there are more than ROOM states."""
    if not _walk:
        for function in vars(invariants).values():
            if callable(function) and getattr(function, "__module__", "") == invariants.__name__:
                helper(function)
        _walk.append(jit(_compiled, cache=False))
    inputs = np.array(all_readings, dtype=np.int64)
    rows = np.zeros((ROOM, FIELDS), dtype=np.int64)
    slots = np.zeros(SLOTS, dtype=np.int32)
    parents, by = np.zeros(ROOM, dtype=np.int32), np.zeros(ROOM, dtype=np.int32)
    reasons = np.zeros(len(REASONS), dtype=np.int64)
    count, wrong, i, j = _walk[0](s, inputs, most, rows, slots, parents, by, reasons)
    if wrong < 0:
        raise MemoryError(f"more than {ROOM} states: make a settings file smaller in tests/states/grid.py")
    told = {int(code) for code in np.flatnonzero(reasons)}
    if wrong:
        fault = (int(wrong), path(parents, by, int(i), all_readings, all_readings[j]))
        return Found(int(count), 0, told, 0, fault)
    digest = sum(mix(tuple(int(number) for number in row)) for row in rows[: int(count)])
    return Found(int(count), min(int(count), most) * len(all_readings), told, digest, None)
