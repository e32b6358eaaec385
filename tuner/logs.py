"""Log files to one clean table. Every refusal names file, line, column and value; what was doubted is listed.

`read_logs` is all that other modules need. How a file is read is in `tuner/reader/`; what is wrong with the readings
is found in `faults.py` and `probe_faults.py`.
"""

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from tuner import faults, probe_faults, unit_faults
from tuner.errors import LogError, SiteError, nearest
from tuner.reader import columns, foreign, join, own, own_join, sources, table
from tuner.reader.parts import MS, NUMBERS, TEMPERATURES, WORDS, mark_file

# What a job may need, and the column names that people are told.
_TOLD = {
    "house": "house_c",
    "soil": "soil_c",
    "outlet": "outlet_c",
    "outside": "outside_c",
    "humidity": "humidity_pct",
    "fan": "fan_pct",
    "solar": "solar",
    "heater": "heater",
}
GAP_MS = 3_600_000  # over a longer gap nobody knows whether the fan ran
_FINDERS = (
    probe_faults.find_humidity_swapped,
    unit_faults.find_units,
    unit_faults.find_light_unit,
    faults.find_impossible,
    faults.find_doubtful,
    probe_faults.find_still,
    faults.find_missing,
    faults.find_gaps,
    faults.find_power_cuts,
    faults.find_fan,
    probe_faults.find_sun,
    probe_faults.find_dawn,
    probe_faults.find_swapped,
    probe_faults.find_clock,
)


@dataclass(frozen=True)
class Log:
    """One log, joined and screened.

    frame : DataFrame, one row per reading, index "time" (UTC, rising, no value twice). Columns of float:
        house, soil, outlet, outside [degC], humidity [%], fan_pct [%], fan_s [s the fan ran since the row before],
        heater, vent [0 or 1; a heater logged as power is in W], and, where logged, solar [W/m2 where units says so] and
        fan_power [W, measured].
        Columns of words (categories): phase, reason, alarms ("" where unknown). NaN: no trusted reading, or no
        such column.
    step_s : the usual distance of rows. [s]
    faults : list of reader.parts.Fault, in order of time.
    restarts : times of the first row after each restart of the board.
    left_out : column -> Series of the readings that were not trusted and are NaN in frame, on their own times.
    files : list of Path. units : column -> unit as understood in the file. understood : list of (file, {what: how}).
    """

    frame: pd.DataFrame
    step_s: float
    faults: list
    restarts: pd.DatetimeIndex
    left_out: dict = field(default_factory=dict)
    files: list = field(default_factory=list)
    units: dict = field(default_factory=dict)
    understood: list = field(default_factory=list)


def read_logs(paths, site=None, needs=("house", "soil", "fan"), progress=None):
    """Return the Log of one or many files.

    paths : a name, a pattern such as "logs/*.csv", or a list of them; gzip is unpacked.
    site : Site from site.load_site, or None. needs : what the caller cannot do without.
    progress : callable taking (path, bytes read so far), or None.
    Raises LogError where a file cannot be read, a cell is not what its column holds, or a needed column is missing.
    """
    files = sources.expand(paths)
    _refuse_keep(foreign.option(site, "keep") or ())
    own_parts, others, headers, understood = [], [], [], []
    for number, path in enumerate(files):
        pieces, names = _read_file(path, site, progress)
        headers.append((path, names))
        understood.append((path, pieces[0].understood))
        for piece in pieces:
            mark_file(piece, number)
            (own_parts if piece.own else others).append(piece)
    if others:
        columns.refuse_unknown(foreign.named_columns(site), headers)
    whole = join.join(([own_join.join(own_parts)] if own_parts else []) + others)
    found = faults.Finding(whole, files, site, list(whole.faults))
    _add_offsets(whole, site)
    as_read = dict(whole.values)
    for finder in _FINDERS:
        finder(found)
    log = _log(found, as_read, understood)
    require(log, needs)
    return log


def _refuse_keep(kinds):
    """Raise SiteError for a kind of fault that cannot be kept, which is most likely a slip of the pen."""
    for kind in kinds:
        if kind not in faults.KEEPABLE:
            raise SiteError(
                f'[columns] keep = ["{kind}"]: there is no such kind of fault to keep.'
                f"{nearest(kind, faults.KEEPABLE)}\nIt must be a list of {', '.join(faults.KEEPABLE)}."
            )


def _read_file(path, site, progress):
    """Return (the Pieces of one file, its column names)."""
    told = (lambda done: progress(path, done)) if progress else None
    missing = foreign.option(site, "missing") or ()
    roles = {}

    def plan(layout):
        if own.is_own(layout):
            return own.plan(path, layout)
        roles["found"], kinds = foreign.plan(layout, path, site)
        return kinds

    read = table.read_table(path, plan, missing, own.is_own, told)
    if own.is_own(read.dialect):
        pieces = own.pieces(read)
        pieces[0].understood["layout"] = "the board's own log"
        for piece in pieces:
            piece.units = {name: unit for name, unit in own.UNITS.items() if name in piece.values}
    else:
        pieces = [foreign.piece(read, roles["found"], site)]
    return pieces, read.dialect.names


def _add_offsets(whole, site):
    for name in TEMPERATURES:
        offset = foreign.option(site, f"{name}_offset_c")
        if offset and name in whole.values:
            whole.values[name] = whole.values[name] + offset


def require(log, needs):
    """Raise LogError unless the log has at least one reading of each name in needs ("fan" means the fan state)."""
    for need in needs:
        name = "fan_pct" if need == "fan" else need
        if name in log.frame and log.frame[name].notna().any():
            continue
        files = ", ".join(str(path) for path in log.files[:3]) + (", ..." if len(log.files) > 3 else "")
        asked = next((f" ({fault.text})" for fault in log.faults if fault.kind == "asked" and fault.column == name), "")
        raise LogError(
            f'{files}: there is no column "{_TOLD[need]}" with readings{asked}.\nThis needs '
            f"{' and '.join(needs)}: add the column, or name it under [columns] {need} in site.toml."
        )


def _log(found, as_read, understood):
    whole = found.whole
    index = pd.DatetimeIndex(whole.time.astype("datetime64[ms]").astype("datetime64[ns]"), name="time", tz="UTC")
    if "fan_s" not in whole.values and "fan_pct" in whole.values:
        whole.values["fan_s"] = _fan_seconds(whole.time, whole.values["fan_pct"])
    held = {}
    for name in NUMBERS:
        if name in whole.values:
            held[name] = whole.values[name]
        elif name not in ("solar", "fan_power"):
            held[name] = np.full(len(index), np.nan)
    for name in WORDS:
        words = whole.values.get(name)
        held[name] = pd.Categorical(words if words is not None else np.zeros(len(index), dtype="U1"))
    frame = pd.DataFrame(held, index=index, copy=False)
    restarts = index[np.flatnonzero(np.diff(whole.boot, prepend=whole.boot[:1]) != 0)]
    listed = sorted(found.faults, key=lambda fault: (fault.start is not None, fault.start or 0))
    left_out = {}
    for name in (*TEMPERATURES, "humidity"):
        if name in as_read and as_read[name] is not whole.values[name]:
            gone = ~np.isnan(as_read[name]) & np.isnan(whole.values[name])
            left_out[name] = pd.Series(as_read[name][gone], index=index[gone])
    return Log(frame, found.step_ms / MS, listed, restarts, left_out, list(found.files), whole.units, understood)


def _fan_seconds(time, fan_pct):
    """Return the seconds that the fan ran since the row before, by its state at that row; none over a gap. (n,)"""
    since = np.diff(time, prepend=time[:1])
    on = np.concatenate([[False], np.nan_to_num(fan_pct[:-1]) > 0])
    seconds = np.where(on & (since <= GAP_MS), since / MS, 0.0)
    return np.where(np.isnan(fan_pct), np.nan, seconds)
