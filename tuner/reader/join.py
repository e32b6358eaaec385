"""Several Pieces to one: parts that follow each other in time, and files that each hold one sensor.

Files that share a column must not disagree: then they are asked for, not mixed.
"""

import numpy as np

from tuner.errors import LogError
from tuner.reader.order import same_reading
from tuner.reader.parts import MS, Fault, Piece, length_text, line_of, number_of, stack, time_text

BRIDGED_STEPS = 3  # a sensor in a file of its own is read between two of its rows up to this many steps apart
BRIDGED_S = 300
_HELD = ("fan_pct", "fan_power", "heater", "vent")


def join(pieces):
    """Return one Piece of all Pieces (each rising in time). Raises LogError where two files disagree."""
    streams = []
    for piece in sorted(pieces, key=lambda one: int(one.time[0])):
        sharing = [stream for stream in streams if set(stream.values) & set(piece.values) - {"uptime_s"}]
        for stream in sharing:
            streams.remove(stream)
        if not sharing:
            streams.append(piece)
            continue
        streams.append(_append(_align(sharing), piece))
    whole = _align(streams)
    if whole.boot is None:
        whole.boot = np.zeros(len(whole.time), dtype=np.int64)
    return whole


def _append(stream, piece):
    """Return stream continued by piece; rows that both hold count once."""
    shared = [name for name in piece.values if name in stream.values and name != "uptime_s"]
    inside = piece.time <= stream.time[-1]
    if inside.any():
        at = np.minimum(np.searchsorted(stream.time, piece.time[inside]), len(stream.time) - 1)
        met = stream.time[at] == piece.time[inside]
        for name in shared:
            mine, theirs = piece.values[name][inside], stream.values[name][at]
            differs = ~same_reading(theirs, mine) & met
            if mine.dtype == float:
                differs &= ~(np.isnan(mine) | np.isnan(theirs))
            if differs.any() or not met.any():
                _refuse(stream, piece, name, int(np.argmax(differs if differs.any() else ~met)))
        rows = np.flatnonzero(inside)[met]
        piece.faults.append(
            Fault(
                "overlap",
                str(piece.file),
                f"{number_of(len(rows), 'row')} also in {stream.file}",
                "they were counted once",
                rows=len(rows),
                grave=False,
            )
        )
        keep = np.ones(len(piece.time), dtype=bool)
        keep[rows] = False
        piece.take(keep)
    joined = stack([stream, piece])
    joined.boot = np.concatenate([_boots(stream), _boots(piece) + _boots(stream)[-1]])
    joined.take(np.argsort(joined.time, kind="stable"))
    return joined


def _boots(piece):
    return piece.boot if piece.boot is not None else np.zeros(len(piece.time), dtype=np.int64)


def _refuse(stream, piece, name, at):
    when = time_text(piece.time[at])
    raise LogError(
        f'{piece.file}, line {line_of(piece.line[at])}: "{name}" is also in {stream.file} at that time ({when}), with '
        "other readings.\nAre these two probes, or two houses? Name only one of the files, or write the file before "
        f'the column under [columns] in site.toml: {name} = "{getattr(piece.file, "name", piece.file)}:its column".'
    )


def _align(streams):
    """Return one Piece on the rows of the stream that has the house (else the most rows), the others read at them."""
    if len(streams) == 1:
        return streams[0]
    base = max(streams, key=lambda one: ("house" in one.values, len(one.time)))
    whole = Piece(
        base.file,
        base.time,
        dict(base.values),
        base.line,
        base.own,
        base.boot,
        dict(base.units),
        list(base.faults),
        dict(base.understood),
    )
    for other in streams:
        if other is base:
            continue
        for name, values in other.values.items():
            if name not in whole.values and name != "uptime_s":
                whole.values[name] = _read_at(base.time, other.time, values, name)
        if "fan_pct" in other.values and "fan_s" not in other.values and "fan_s" not in base.values:
            whole.values["fan_s"] = _ran_between(base.time, other.time, other.values["fan_pct"])
        whole.units = other.units | whole.units
        whole.faults += other.faults
        whole.understood |= {what: how for what, how in other.understood.items() if what not in whole.understood}
        _say_spare(whole, other)
    return whole


def _say_spare(whole, other):
    """List what of a sensor's file lies outside the rows that it was read at."""
    spare = (other.time < whole.time[0] - 3_600_000) | (other.time > whole.time[-1] + 3_600_000)
    names = ", ".join(name for name in other.values)
    whole.faults.append(
        Fault(
            "joined",
            f"{other.file}",
            f"{names} come from a file of their own",
            f"they were read at the times of {whole.file}",
            rows=len(other.time),
            grave=False,
        )
    )
    if spare.any():
        whole.faults.append(
            Fault(
                "not joined",
                f"{other.file}",
                f"{number_of(spare.sum(), 'row')} before or after "
                f"{whole.file} ({length_text(_longest(other.time[spare]))})",
                "they were not used",
                "give the other sensors' files of that time too",
                rows=int(spare.sum()),
            )
        )


def _longest(times):
    return (int(times[-1]) - int(times[0])) / MS


def bridge_ms(times):
    """Return how far apart two rows of a sensor may be for a reading between them. [ms]"""
    step = float(np.median(np.diff(times))) if len(times) > 1 else 0.0
    return max(BRIDGED_STEPS * step, BRIDGED_S * MS)


def _read_at(wanted, times, values, name):
    """Return values (at times) read at the times wanted: in proportion between two rows, states held."""
    if values.dtype == object:
        at = np.searchsorted(times, wanted, side="right") - 1
        near = (at >= 0) & (wanted - times[np.maximum(at, 0)] <= bridge_ms(times))
        return np.where(near, values[np.maximum(at, 0)], "")
    known = ~np.isnan(values)
    times, values = times[known], values[known]
    if not len(times):
        return np.full(len(wanted), np.nan)
    reach = bridge_ms(times)
    left = np.searchsorted(times, wanted, side="right") - 1
    right = np.minimum(left + 1, len(times) - 1)
    before = np.maximum(left, 0)
    if name in _HELD:
        return np.where((left >= 0) & (wanted - times[before] <= reach), values[before], np.nan)
    exact = times[before] == wanted
    between = (left >= 0) & (left + 1 < len(times)) & (times[right] - times[before] <= reach)
    return np.where(exact, values[before], np.where(between, np.interp(wanted, times, values), np.nan))


def _ran_between(wanted, times, pct):
    """Return the seconds that the fan ran between each wanted time and the one before. shape (n,)"""
    on = np.nan_to_num(pct) > 0
    gaps = np.minimum(np.diff(times), bridge_ms(times))
    total = np.concatenate([[0.0], np.cumsum(np.where(on[:-1], gaps, 0.0))]) / MS
    found = np.diff(np.interp(wanted, times, total), prepend=np.nan)
    found[0] = 0.0
    return found
