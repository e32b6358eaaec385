"""Which stretch of time each log row speaks for, what in a log is not known, and where runs begin.

Lives here: rows to stretches of UTC and to runs of the fan. Never here: power, prices, heat.

A row tells of the time since the row before. Where rows are missing, a row of a log with fan_s tells of one usual
step, and the rest of the gap is unknown; a log with only the fan's state tells that it held until the next row, but
no longer than GAP_S. A replay decided at every moment it stepped through, so only its power-ups are unknown.
"""

from dataclasses import dataclass

import numpy as np

from controller.core import phases
from tuner.logged import GAP_S, before_each, power_ups, seconds, told_by_air

LEAST_REST_S = 60  # no setting lets the fan rest for less, so a shorter pause in a row is a matter of counting
WHOLE = 0.95  # a fan that ran for this share of a row or more ran all through it
HOLE = 2.5  # rows further apart than this many usual steps have others missing between them


@dataclass(frozen=True)
class Spans:
    """start, end : UTC seconds that each row speaks for, int64, shape (n,); equal where it tells nothing.

    gaps : [(start, end)] of the unknown stretches between them, UTC seconds.
    """

    start: np.ndarray
    end: np.ndarray
    gaps: list


@dataclass(frozen=True)
class Starts:
    """began : does a run begin in this row; run : number of the run that the row's fan_s belongs to, -1 for none.

    count : starts in the row; by_hand : of these, in phase HAND; phase : in which the fan ran, REST where it did not,
    NOT_SAID where the log does not tell. shape (n,)
    """

    began: np.ndarray
    run: np.ndarray
    count: np.ndarray
    by_hand: np.ndarray
    phase: np.ndarray


def of_rows(log, run):
    """Return the Spans of a run over a Log (tuner.logs.Log, logged.Run)."""
    end = seconds(log.frame.index)
    since = np.diff(end, prepend=end[:1])
    step = max(1, round(log.step_s))
    told = since.copy()
    if run.settings is not None:
        told[power_ups(log)] = 0
    else:
        # The reader works fan_s out where only the state is logged; then it counts nothing that the state does not say.
        counted = log.frame["fan_s"].notna().to_numpy() & ("fan_s" in log.units)
        state = log.frame["fan_pct"].notna().to_numpy()
        hole = counted & (since > HOLE * step)
        told[hole] = np.minimum(since, np.maximum(step, run.out.fan_s))[hole]
        told[~counted & ((since > GAP_S) | ~before_each(state, False))] = 0
        if counted[:1].any():
            told[0] = max(step, int(run.out.fan_s[0]))
    before = np.concatenate((end[:1] - told[:1], end[:-1]))
    start = end - told
    gaps = [(int(before[row]), int(start[row])) for row in np.flatnonzero(start > before)]
    return Spans(start, end, gaps)


def starts(frame, run, spans):
    """Return the Starts of a run.

    A start is seen where the fan ran or runs after a row at which it rested, and where it was on at both ends of a row
    but rested in it. A run under way when the log begins, or when it goes on after a gap, was not seen to start.
    """
    out = run.out
    on = out.fan_pct > 0
    was_on = before_each(on, False)
    told = spans.end - spans.start
    fresh = np.concatenate(([True], spans.start[1:] > spans.end[:-1])) | (told == 0)
    under_way = fresh & on & (out.fan_s >= WHOLE * told)
    began = ~was_on & (on | (out.fan_s > 0)) | (was_on & on & ~fresh & (told - out.fan_s >= LEAST_REST_S))
    began |= fresh & (on | (out.fan_s > 0))
    count = out.starts if run.settings is not None else (began & ~under_way).astype(np.int64)
    began |= count > 0
    ran_in = np.where(was_on & ~fresh, before_each(out.phase, phases.REST), out.phase)
    hidden = (out.fan_s > 0) & (ran_in == phases.REST)
    ran_in = np.where(hidden, told_by_air(frame, hidden), ran_in)
    number = np.cumsum(began) - 1
    return Starts(
        began,
        np.where((out.fan_s > 0) & (number >= 0), number, -1),
        count,
        np.where((out.phase == phases.HAND) & began, count, 0),
        np.where(out.fan_s > 0, ran_in, phases.REST),
    )


def cut(spans, edges):
    """Cut rows at edges: return (row, start, end, share) of the pieces, shape (m,), in the order of time.

    edges : rising UTC seconds, shape (k,). share : the piece's part of its row, in proportion to time; 1 for a row
    that takes no time. The shares of a row add up to 1.
    """
    first = np.searchsorted(edges, spans.start, side="right")
    last = np.maximum(np.searchsorted(edges, spans.end, side="left"), first)
    count = last - first + 1
    row = np.repeat(np.arange(len(count)), count)
    nth = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
    inner = first[row] + nth
    start = np.where(nth == 0, spans.start[row], edges[np.maximum(inner - 1, 0)])
    end = np.where(nth == count[row] - 1, spans.end[row], edges[np.minimum(inner, len(edges) - 1)])
    length = (spans.end - spans.start)[row]
    return row, start, end, np.where(length > 0, (end - start) / np.maximum(length, 1), 1.0)
