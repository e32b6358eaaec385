"""Does the tuner read the board's own log right, parts without a clock and overlapping pulls included?

Every refusal is compared whole. The rows are invented.
"""

import gzip
import os

import numpy as np
import pandas as pd
import pytest

from controller.core.record import HEADER
from tuner.errors import LogError
from tuner.logs import read_logs


def row(minute, uptime=None, house="12.06", clock=True, start="2026-01-05T18:00:00"):
    time = f"{np.datetime64(start) + np.timedelta64(minute, 'm')}Z" if clock else ""
    uptime = 600 + 60 * minute if uptime is None else uptime
    return f"{time},{uptime},{house},14.50,,3.25,87.5,rest,0,0,0,0,idle,"


def write(tmp_path, rows, name="march.csv", header=HEADER):
    path = tmp_path / name
    path.write_text("\n".join([header, *rows]) + "\n")
    return path


def refusal(tmp_path, rows, header=HEADER):
    """The message for a file, its folder taken off."""
    path = write(tmp_path, rows, header=header)
    with pytest.raises(LogError) as caught:
        read_logs(path)
    return str(caught.value).replace(str(tmp_path) + os.sep, "")


def test_a_plain_log_is_read_as_written(tmp_path):
    path = write(tmp_path, [row(0), row(1, house=""), row(2, house="-0.50")])
    log = read_logs(path)
    assert list(log.frame.index.strftime("%Y-%m-%dT%H:%M:%SZ")) == [
        "2026-01-05T18:00:00Z", "2026-01-05T18:01:00Z", "2026-01-05T18:02:00Z",
    ]  # fmt: skip
    assert log.frame.index.name == "time"
    assert log.frame["house"].tolist()[::2] == [12.06, -0.5]
    assert np.isnan(log.frame["house"].iloc[1]) and np.isnan(log.frame["outlet"]).all()
    assert log.frame["humidity"].tolist() == [87.5] * 3
    assert log.frame["phase"].tolist() == ["rest"] * 3 and log.frame["alarms"].tolist() == [""] * 3
    assert log.step_s == 60 and log.faults == [] and len(log.restarts) == 0


def test_gzip_and_globs_are_unpacked_and_sorted(tmp_path):
    write(tmp_path, [row(0), row(1)], "a.csv")
    with gzip.open(tmp_path / "b.csv.gz", "wt") as packed:
        packed.write("\n".join([HEADER, row(2), row(3)]) + "\n")
    log = read_logs(str(tmp_path / "*.csv*"))
    assert len(log.frame) == 4 and len(log.files) == 2


def test_rows_of_overlapping_pulls_count_once(tmp_path):
    first = write(tmp_path, [row(i) for i in range(6)], "first.csv")
    second = write(tmp_path, [row(i) for i in range(3, 9)], "second.csv")
    log = read_logs([second, first])
    assert len(log.frame) == 9 and len(log.restarts) == 0
    assert [fault.kind for fault in log.faults] == ["overlap"]
    assert log.faults[0].rows == 3


def test_rows_before_the_clock_was_set_hang_on_uptime(tmp_path):
    rows = [row(i, uptime=60 * i, clock=False) for i in range(5)] + [row(i, uptime=60 * i) for i in range(5, 8)]
    log = read_logs(write(tmp_path, rows))
    expected = pd.date_range("2026-01-05T18:00:00Z", periods=8, freq="min")
    assert (log.frame.index == expected).all()


def test_a_part_whose_clock_was_never_set_is_placed_after_the_rows_above_and_said(tmp_path):
    rows = [row(i, uptime=60 * i) for i in range(3)]
    rows += [row(0, uptime=60 * i, clock=False, house="9.00") for i in range(1, 4)]
    rows += [row(20 + i, uptime=60 * i) for i in range(3)]
    log = read_logs(write(tmp_path, rows))
    lost = log.frame[log.frame["house"] == 9.0]
    assert list(lost.index.strftime("%H:%M")) == ["18:03", "18:04", "18:05"]
    fault = next(fault for fault in log.faults if fault.kind == "clock never set")
    assert fault.where.endswith("march.csv, lines 5 to 7") and fault.rows == 3
    assert fault.done == "the rows were placed right after the rows above it; they may be up to 15 min later"
    assert len(log.restarts) == 2


def test_a_first_part_without_a_clock_ends_at_the_restart_below_it(tmp_path):
    rows = [row(0, uptime=60 * i, clock=False) for i in range(1, 4)] + [row(i, uptime=60 + 60 * i) for i in range(2)]
    log = read_logs(write(tmp_path, rows))
    assert list(log.frame.index.strftime("%H:%M")) == ["17:57", "17:58", "17:59", "18:00", "18:01"]


def test_unset_rows_shared_by_two_pulls_count_once_and_get_the_later_clock(tmp_path):
    unset = [row(i, uptime=60 * i, clock=False, house=f"{10 + i}.00") for i in range(5)]
    early = write(tmp_path, unset, "early.csv")
    late = write(tmp_path, unset[2:] + [row(i, uptime=60 * i) for i in range(5, 8)], "late.csv")
    log = read_logs([early, late])
    assert (log.frame.index == pd.date_range("2026-01-05T18:00:00Z", periods=8, freq="min")).all()
    assert log.frame["house"].tolist()[:5] == [10, 11, 12, 13, 14]


def test_a_restart_is_a_power_cut_with_its_length(tmp_path):
    log = read_logs(write(tmp_path, [row(0), row(1), row(31, uptime=60), row(32, uptime=120)]))
    assert [fault.kind for fault in log.faults] == ["power cut"]
    assert log.faults[0].text == (
        "the board was off for up to 29 min and started again; the house was at its lowest 12.1 degC in the 6 h after"
    )
    assert list(log.restarts.strftime("%H:%M")) == ["18:31"]


def test_many_restarts_are_summed_up_but_for_the_longest(tmp_path):
    rows = [row(10 * boot + minute, uptime=60 * minute) for boot in range(40) for minute in range(1 + boot % 7)]
    log = read_logs(write(tmp_path, rows))
    cuts = [fault for fault in log.faults if fault.kind == "power cut"]
    assert len(cuts) == 7 and len(log.restarts) == 39
    assert cuts[0].spans or any(fault.spans for fault in cuts)
    assert next(fault.text for fault in cuts if fault.spans).startswith("33 more restarts of the board, ")


def test_a_clock_set_back_a_little_is_a_remark(tmp_path):
    rows = [row(i) for i in range(10)] + [row(i - 2, uptime=600 + 60 * i) for i in range(10, 20)]
    log = read_logs(write(tmp_path, rows))
    assert log.frame.index.is_monotonic_increasing and len(log.frame) == 18
    fault = next(fault for fault in log.faults if fault.kind == "clock set back")
    assert fault.text == "the board's clock was set back by 120 s" and fault.rows == 2


BAD_CELLS = [
    ("house_c", "n/a", "is not a temperature"), ("house_c", "12,06", "is not a temperature"),
    ("soil_c", "nan", "is not a temperature"), ("soil_c", "inf", "is not a temperature"),
    ("soil_c", "1e999", "is not a temperature"), ("outlet_c", "1_0", "is not a temperature"),
    ("outside_c", "0x10", "is not a temperature"), ("humidity_pct", "87%", "is not a humidity"),
    ("fan_pct", "on", "is not a percentage"), ("fan_s", "--", "is not a number of seconds"),
    ("heater", "yes", "is not 0 or 1"), ("vent", "True", "is not 0 or 1"),
    ("uptime_s", "x", "is not a number of seconds"),
]  # fmt: skip


@pytest.mark.parametrize("column, text, what", BAD_CELLS)
def test_a_bad_cell_is_refused_with_its_place(tmp_path, column, text, what):
    cells = row(1).split(",")
    if "," in text:
        text = f'"{text}"'
    cells[HEADER.split(",").index(column)] = text
    assert refusal(tmp_path, [row(0), ",".join(cells), row(2)]) == (
        f'march.csv, line 3, column "{column}": {text.strip(chr(34))!r} {what}.\n'
        "Leave the cell empty for a missing reading, or name the text for missing values under [columns] missing "
        "in site.toml."
    )


BAD_TIMES = ["2026-02-30T18:00:00Z", "2026-01-05 18:01:00", "05/01/2026", "2026-01-05T24:00:00Z", "yesterday",
             "1999-12-31T23:59:59Z", "2026-01-05T18:01:00+01", "２026-01-05T18:01:00Z"]  # fmt: skip


@pytest.mark.parametrize("text", BAD_TIMES)
def test_a_bad_time_is_refused_with_its_place(tmp_path, text):
    assert refusal(tmp_path, [row(0), text + row(1)[20:], row(2)]) == (
        f'march.csv, line 3, column "time": {text!r} is not a time.\nTimes are ISO 8601 UTC such as '
        "2026-01-31T18:05:00Z; leave the cell empty where the clock was not set."
    )


def test_time_running_backward_is_refused(tmp_path):
    rows = [row(0), row(1), row(-120, uptime=720), row(3)]
    assert refusal(tmp_path, rows) == (
        "march.csv, line 4, column \"time\": '2026-01-05T16:00:00Z' is 2.02 h before the row above, while uptime_s "
        "runs on.\nCorrect the times of the rows that are wrong, or empty their time cells: uptime_s then places them."
    )


def test_two_different_rows_at_one_time_are_refused(tmp_path):
    first = write(tmp_path, [row(i) for i in range(3)], "first.csv")
    second = write(tmp_path, [row(i, house="8.00") for i in range(2, 5)], "second.csv")
    with pytest.raises(LogError) as caught:
        read_logs([first, second])
    assert str(caught.value).replace(str(tmp_path) + os.sep, "") == (
        "second.csv, line 2: 2026-01-05T18:02:00Z is there twice with different readings (house 12.06 on line 4 of "
        "first.csv, house 8.0 here).\nAre these logs of two boards, or was the clock wrong? Delete the wrong rows, or "
        "name only one of the files."
    )


def test_other_refusals_are_whole(tmp_path):
    assert refusal(tmp_path, []) == (
        "march.csv holds a header line but no readings.\nName a log with at least one row."
    )
    assert refusal(tmp_path, [row(0), row(1) + ",7", row(2)]) == (
        f"march.csv, line 3: 15 cells where the header has 14 ({(row(1) + ',7')[:60]!r}).\nMend the line or delete it."
    )
    assert refusal(tmp_path, [row(0), row(1).replace("rest", "resting"), row(2)]) == (
        "march.csv, line 3, column \"phase\": 'resting' is not a phase.\nPhases are rest, charge, discharge, blind, "
        'hand. Did you mean "rest"?'
    )
    assert refusal(tmp_path, [row(0).replace("87.5", "187.5")]) == (
        "march.csv, line 2, column \"humidity_pct\": '187.5' is not between 0 and 100.\nCorrect the cell, or leave it "
        "empty."
    )
    assert refusal(tmp_path, [row(i, clock=False) for i in range(3)]) == (
        "march.csv: no row has a time; the board's clock was never set.\nWrite the time of one row into its time cell "
        "(ISO 8601 UTC, such as 2026-01-31T18:05:00Z): uptime_s then places the others."
    )


def test_a_missing_column_is_named(tmp_path):
    header = ",".join(name for name in HEADER.split(",") if name != "soil_c")
    rows = [",".join(cell for at, cell in enumerate(row(i).split(",")) if at != 3) for i in range(3)]
    assert refusal(tmp_path, rows, header) == (
        'march.csv: there is no column "soil_c" with readings.\nThis needs house and soil and fan: add the column, or '
        "name it under [columns] soil in site.toml."
    )
    header = HEADER.replace("time,", "date_of_row,", 1)
    assert refusal(tmp_path, [row(0)], header) == (
        f'march.csv, line 1: there is no column "time".\nA log of the board has the header {HEADER}.'
    )
