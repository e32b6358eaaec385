"""What a simulated board did, replayed on the desktop through the very same core."""

import base64
import binascii

import numpy as np

from controller.core import decide, record, screen, thin
from controller.core.phases import HAND, REST
from controller.core.units import LOST

# inner/stage.SECOND
SECOND = np.dtype(
    [("raw", "<u1"), ("probes", "<i2", 6), ("hand", "u1"), ("request", "u1"), ("readback", "u1")]
    + [("phase", "u1"), ("pct", "u1"), ("bits", "u1"), ("reason", "u1"), ("alarms", "<u2")]
)  # fmt: skip


def seconds(path):
    """Return the recorded seconds, one row each."""
    return np.fromfile(path, dtype=SECOND)


def raws_of(rows):
    """Yield the Raw of each recorded second."""
    for row in rows:
        elapsed, probes, *rest = row.item()[:5]
        yield screen.Raw(elapsed, *probes.tolist(), *rest)


def decisions(settings, raws):
    """Yield (State, percent) after each Raw, from power-up on."""
    state, seen = decide.start(settings), screen.start()
    for raw in raws:
        seen = screen.step(seen, raw)
        state = decide.step(settings, state, screen.reading(settings, seen, raw))
        yield state, decide.fan_pct(settings, state)


def second_of(state, pct):
    """Return what stage.Record keeps of a decision."""
    d, c = state.deciding, state.counters
    return d.phase, pct, d.heater | d.vent << 1 | d.guard << 2 | d.rule << 3, c.reason, c.alarms


def sent_rows(said):
    """Return the Rows of a console's answer to `send`, and the number of blocks that were spoilt."""
    rows, spoilt = [], 0
    for line in said.splitlines():
        parts = line.split()
        if len(parts) != 3 or not (parts[0].isdigit() or parts[0] == "memory") or not parts[1].isdigit():
            continue
        try:
            block = record.unpack_block(thin.thick(base64.b64decode(parts[2], validate=True)))
        except binascii.Error:
            continue
        rows += block
        spoilt += not block
    return rows, spoilt


def raws_of_rows(rows):
    """Yield the Raw of each row of a journal. The humidity probe's own temperature is not in it."""
    for row in rows:
        hand = screen.HAND_AUTO
        if row.phase == HAND:
            hand = screen.HAND_ON if row.fan_pct else screen.HAND_OFF
        yield screen.Raw(
            record.ROW_STEP_S, row.house_centi_c, row.soil_centi_c, row.outlet_centi_c, row.outside_centi_c, LOST,
            row.humidity_deci_pct, hand, screen.REQUEST_NONE, screen.NOT_FITTED,
        )  # fmt: skip


def starts(times, phases, fans):
    """Return the times at which the fan came on by the board's own decision."""
    out, before = [], 0
    for time, phase, fan in zip(times, phases, fans, strict=True):
        if fan and not before and phase not in (REST, HAND):
            out.append(time)
        before = fan
    return out
