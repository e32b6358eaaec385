"""The plant's rows in the project's own log format."""

import gzip
from pathlib import Path

from controller.core import record
from tests.plant import result as results

SECONDS_TO_2000 = 946684800
DAY = 86400


def rows_of(result):
    """The log's Rows of a Result, as the board would write them, clock set."""
    logged = results.screened(result)
    rows = []
    for i in range(logged.shape[0]):
        second = int(result.unix_s[i]) - SECONDS_TO_2000
        house, soil, outlet, outside, humidity = (int(v) for v in logged[i])
        rows.append(record.Row(
            second // DAY, second % DAY, i * result.row_s, house, soil, outlet, outside, humidity,
            int(result.phase[i]), int(result.fan_pct[i]), int(result.fan_s[i]),
            int(result.heater[i]), int(result.vent[i]),
            int(result.reason[i]), int(result.alarms[i]),
        ))  # fmt: skip
    return rows


def log_text(result):
    """The whole log as CSV text, line ends "\\n"."""
    return "\n".join([record.HEADER, *(record.csv_line(row) for row in rows_of(result))]) + "\n"


def write_log(result, path):
    """Write the log to path, gzipped when the name ends in .gz (same bytes for same rows). -> Path"""
    path = Path(path)
    data = log_text(result).encode("ascii")
    if path.suffix == ".gz":
        data = gzip.compress(data, mtime=0)
    path.write_bytes(data)
    return path
