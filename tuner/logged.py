"""The log itself as a run: its words as the core's codes, beside which every replay is laid.

A log of another make may not name phases or reasons. Then the phase is told from the air: the fan charges while the
house is warmer than the soil and discharges while it is colder.
"""

from collections import namedtuple
from dataclasses import dataclass

import numpy as np

from controller.core import phases, reasons, screen

GAP_S = 3600  # rows further apart than this are not joined: what happened in between is not known [s]
AS_LOGGED = "as logged"
NOT_SAID = -1

# One int per log row; the *_s fields and starts count since the row before.
Outputs = namedtuple("Outputs", "phase fan_pct fan_s charge_s discharge_s starts heater vent reason alarms")


@dataclass(frozen=True)
class Run:
    """One replay, or the log itself.

    name : str
    settings : controller.core Settings, or None for the log itself
    out : Outputs of ndarray, shape (n,), int64; phase and reason NOT_SAID where a log does not tell
    """

    name: str
    settings: object
    out: Outputs


def seconds(index):
    """Return a UTC DatetimeIndex as whole seconds since 1970, ndarray of int64, shape (n,)."""
    return index.as_unit("s").asi8.astype(np.int64)


def power_ups(log):
    """Return at which rows of a Log the board starts anew: the first, restarts, after gaps. ndarray of bool, (n,)."""
    since = np.diff(seconds(log.frame.index), prepend=seconds(log.frame.index)[:1] - GAP_S - 1)
    return (since > GAP_S) | log.frame.index.isin(log.restarts)


def uptime_s(log):
    """Return the seconds since the last power-up at each row of a Log. ndarray of int64, shape (n,)."""
    times = seconds(log.frame.index)
    started = np.maximum.accumulate(np.where(power_ups(log), np.arange(len(times)), 0))
    return times - times[started]


def coded(frame, column, code_of):
    """Return a column of words as ints: code_of(word) for each row, NOT_SAID where there is none.

    code_of : callable taking a str; it is asked once per different word
    Returns ndarray of int64, shape (n,).
    """
    if column not in frame:
        return np.full(len(frame), NOT_SAID, dtype=np.int64)
    words = frame[column].astype("category").cat
    by_word = np.array([*(code_of(str(word)) for word in words.categories), NOT_SAID], dtype=np.int64)
    return by_word[words.codes.to_numpy()]  # a missing word has code -1: the last


def place_in(known):
    """Return a function giving the place of a word among the known ones, NOT_SAID for another."""
    places = {word: place for place, word in enumerate(known)}
    return lambda word: places.get(word, NOT_SAID)


def reason_codes(frame):
    """Return the reason of each log row as the core's code, NOT_SAID where there is none. ndarray of int64."""
    return coded(frame, "reason", place_in([word for word, _ in reasons.REASONS]))


def hand_positions(frame):
    """Return the hand switch's position at each log row, as the core numbers it. ndarray of int64, shape (n,)."""
    reason = reason_codes(frame)
    away = np.where(reason == reasons.HAND_OFF, screen.HAND_OFF, screen.HAND_AUTO)
    return np.where(reason == reasons.HAND_ON, screen.HAND_ON, away).astype(np.int64)


def trial_requests(frame):
    """Return whether a trial was asked for at each log row. ndarray of int64, shape (n,)."""
    trial = np.isin(reason_codes(frame), (reasons.TRIAL_RUN, reasons.TRIAL_REST))
    return np.where(trial, screen.REQUEST_TRIAL, screen.REQUEST_NONE).astype(np.int64)


def alarm_bits(frame):
    """Return the alarms of each log row as the core's bits. ndarray of int64, shape (n,)."""
    bit = {word: 1 << place for place, (word, _) in enumerate(reasons.ALARMS)}
    bits = coded(frame, "alarms", lambda text: sum(bit.get(word, 0) for word in set(text.split())))
    return np.where(bits == NOT_SAID, 0, bits)


def told_by_air(frame, on):
    """Return the phase of each row of a log that does not say: by house and soil, NOT_SAID where they do not tell."""
    warmer = frame["house"].to_numpy(dtype=float) - frame["soil"].to_numpy(dtype=float)
    running = np.where(warmer > 0, phases.CHARGE, np.where(warmer < 0, phases.DISCHARGE, NOT_SAID))
    return np.where(on, running, phases.REST).astype(np.int64)


def whole(values):
    """Return floats as ints, NaN as 0. ndarray of int64."""
    return np.nan_to_num(np.rint(np.asarray(values, dtype=float))).astype(np.int64)


def before_each(values, first):
    """Return the value of the row before each row; first for the first. ndarray, shape (n,)."""
    return np.concatenate(([first], values[:-1])) if len(values) else values


def as_logged(log):
    """Return the Run of what the fan really did, from the log's own columns.

    log : tuner.logs.Log
    A run that ended between two rows counts to the phase that was on at the row before it.
    """
    frame = log.frame
    pct = whole(frame["fan_pct"])
    on = pct > 0
    phase = coded(frame, "phase", place_in(reasons.PHASE_WORDS))
    phase = np.where(phase == NOT_SAID, told_by_air(frame, on), phase)
    since = np.diff(seconds(frame.index), prepend=seconds(frame.index)[:1])
    since = np.where(since > GAP_S, 0, since)
    was_on = before_each(on, False)
    fan_s = np.where(frame["fan_s"].isna(), np.where(was_on, since, 0), whole(frame["fan_s"]))
    ran_in = np.where(was_on, before_each(phase, phases.REST), phase)
    hand = phase == phases.HAND
    return Run(
        AS_LOGGED,
        None,
        Outputs(
            phase,
            pct,
            fan_s,
            np.where(ran_in == phases.CHARGE, fan_s, 0),
            np.where(ran_in == phases.DISCHARGE, fan_s, 0),
            (on & ~was_on & ~hand).astype(np.int64),
            (whole(frame["heater"]) > 0).astype(np.int64),
            (whole(frame["vent"]) > 0).astype(np.int64),
            reason_codes(frame),
            alarm_bits(frame),
        ),
    )
