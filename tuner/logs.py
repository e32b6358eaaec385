"""Log files to one clean table. Every refusal names file, line, column and value; what was doubted is listed.

`read_logs` is all that other modules need. How a file is read is in `tuner/reader/`.
"""

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from tuner.errors import LogError
from tuner.reader import own, own_join, sources, table
from tuner.reader.parts import MS, NUMBERS, WORDS

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


@dataclass(frozen=True)
class Log:
    """One log, joined and screened.

    frame : DataFrame, one row per reading, index "time" (UTC, rising, no value twice). Columns of float:
        house, soil, outlet, outside [degC], humidity [%], fan_pct [%], fan_s [s the fan ran since the row before],
        heater, vent [0 or 1; a heater logged as power is in W], solar [W/m2 where the unit is known].
        Columns of words (categories): phase, reason, alarms ("" where unknown). NaN: no trusted reading, or no
        such column.
    step_s : the usual distance of rows. [s]
    faults : list of parts.Fault, in order of time.
    restarts : times of the first row after each restart of the board.
    files : list of Path. units : column -> unit as understood. understood : list of (file, {what: how}).
    """

    frame: pd.DataFrame
    step_s: float
    faults: list
    restarts: pd.DatetimeIndex
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
    pieces = []
    for path in files:
        pieces += _read_file(path, site, progress)
    whole = own_join.join(pieces)
    log = _log(whole, files)
    require(log, needs)
    return log


def _read_file(path, site, progress):
    """Return the Pieces of one file."""
    told = (lambda done: progress(path, done)) if progress else None
    missing = tuple(getattr(getattr(site, "columns", None), "missing", ()) or ())
    read = table.read_table(path, lambda layout: own.plan(path, layout), missing, own.is_own, told)
    return own.pieces(read)


def require(log, needs):
    """Raise LogError unless the log has at least one reading of each name in needs ("fan" means the fan state)."""
    for need in needs:
        name = "fan_pct" if need == "fan" else need
        if log.frame[name].notna().any():
            continue
        files = ", ".join(str(path) for path in log.files[:3]) + (", ..." if len(log.files) > 3 else "")
        raise LogError(
            f'{files}: there is no column "{_TOLD[need]}" with readings.\nThis needs '
            f"{' and '.join(needs)}: add the column, or name it under [columns] {need} in site.toml."
        )


def _log(whole, files):
    index = pd.DatetimeIndex(whole.time.astype("datetime64[ms]").astype("datetime64[ns]"), name="time", tz="UTC")
    columns = {}
    for name in NUMBERS:
        if name in whole.values:
            columns[name] = whole.values[name]
        elif name != "solar":
            columns[name] = np.full(len(index), np.nan)
    for name in WORDS:
        words = whole.values.get(name)
        columns[name] = pd.Categorical(words if words is not None else np.zeros(len(index), dtype="U1"))
    frame = pd.DataFrame(columns, index=index, copy=False)
    step = float(np.median(np.diff(whole.time))) / MS if len(index) > 1 else 60.0
    restarts = index[np.flatnonzero(np.diff(whole.boot, prepend=whole.boot[:1]) != 0)]
    return Log(
        frame, step, sorted(whole.faults, key=lambda fault: fault.start or 0), restarts, list(files), whole.units
    )
