"""Does the tuner read what other loggers, spreadsheets and people make of one and the same log?

The files stand in tests/data/logs, one habit each, written by tests/tools/nasty_logs.py, whose `truth` they all
tell. A file is either read to that truth, or refused with a message that is compared whole.
"""

import os
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from tests.tools import nasty_logs
from tuner.errors import LogError, SiteError
from tuner.logs import read_logs
from tuner.site import site_from_tree

FOLDER = nasty_logs.FOLDER


def site_of(zone=nasty_logs.ZONE, **columns):
    tree = {
        "site": {"time_zone": zone, "latitude": 40.4, "longitude": -3.7},
        "needs": {"frost_floor_c": 2, "hot_limit_c": 35},
        "fan": {"watts": 60},
        "energy": {"price_per_kwh": 0.2},
        "columns": columns,
    }
    site, faults = site_from_tree(tree)
    assert faults == []
    return site


def read(name, **columns):
    return read_logs(FOLDER / name, site_of(**columns), needs=())


def refusal(call):
    with pytest.raises(LogError) as caught:
        call()
    return str(caught.value).replace(str(FOLDER) + os.sep, "")


def assert_tells(log, frame, but=()):
    """The log holds the frame's rows and readings, but for NaN in the columns named."""
    assert (log.frame.index == frame.index).all()
    for name in ("house", "soil", "outside", "humidity"):
        got, meant = log.frame[name].to_numpy(), frame[name].to_numpy()
        known = ~np.isnan(got)
        assert known.all() or name in but, name
        assert np.abs(got - meant)[known].max() <= 0.0051, name  # half of the last digit in degF or as a part of 1
    assert (log.frame["fan_pct"].to_numpy() == frame["fan"].to_numpy() * 100).all()


def test_the_files_are_what_the_tool_writes():
    for name, make in nasty_logs.FILES.items():
        content = make()
        assert (FOLDER / name).read_bytes() == (content.encode() if isinstance(content, str) else content), name
        assert name in (FOLDER / "README.md").read_text(encoding="utf-8")


# Read to the truth, with nothing to remark.
PLAIN = """semicolons-decimal-commas.csv tabs.txt bars.csv blanks.txt utf8-mark.csv utf16.csv utf16-no-mark.csv
latin1.csv old-line-ends.csv preamble.csv units-row.csv day-first-slashes.csv month-first-am-pm.csv month-by-name.csv
spreadsheet-days.csv unix-seconds.csv unix-milliseconds.csv date-and-time-columns.csv offsets-in-cells.csv
zone-in-the-header-quoted.csv fahrenheit.csv fahrenheit-untold.csv kelvin-untold.csv unit-in-every-cell.csv
humidity-0-to-1.csv fan-on-off.csv fan-yes-no.csv fan-percent.csv fan-watts.csv trailing-delimiters.csv header-again.csv
packed.csv.gz"""


@pytest.mark.parametrize("name", PLAIN.split())
def test_a_habit_is_read_to_the_truth_without_a_remark(name):
    log = read(name)
    assert_tells(log, nasty_logs.truth())
    assert log.faults == []


# Read to the truth, but something is to be said: file -> (kind, text, rows).
REMARKED = {
    "statistics-at-the-end.csv": ("lines at the end", "3 lines without a reading at the end ('Average')", 3),
    "newest-first.csv": ("newest first", "the newest row stands first", 73),
    "blocks-out-of-order.csv": ("out of order", "the rows from here on begin 36 h before the row above", 39),
    "rows-twice.csv": ("duplicates", "10 repeated rows", 10),
    "cut-off.csv": ("cut off", "the last line breaks off ('2026-03-04 06:30:00,3.1')", 1),
    "nul-bytes.csv": ("damaged lines", "1 line with NUL bytes, as a power cut leaves on a card", 1),
}


@pytest.mark.parametrize("name", REMARKED)
def test_what_is_mended_is_said(name):
    log = read(name)
    assert_tells(log, nasty_logs.truth())
    assert [(fault.kind, fault.text, fault.rows) for fault in log.faults] == [REMARKED[name]]


def test_every_way_of_missing_is_missing_and_listed():
    log = read("missing-in-many-ways.csv")
    assert_tells(log, nasty_logs.truth(), but=("house",))
    assert list(np.flatnonzero(log.frame["house"].isna())) == list(range(4, 4 + 4 * 14, 4))
    assert [(fault.kind, fault.text, fault.rows) for fault in log.faults] == [
        ("words for missing", "cells say 'NaN', 'n/a', '---', '#N/A' and 1 more", 5),
        ("sentinel", "-127 (2 times), 85, -9999, -2147483648 and 3 more stands for no reading", 8),
    ]


BLANKED = {
    "spike.csv": [
        ("spike", "house: 1 reading out of line with those round them (the first: 31.5 after 1.13)", "house", [19]),
        ("spike", "soil: 1 reading out of line with those round them (the first: 19.9 after 12.14)", "soil", [39]),
    ],
    "impossible.csv": [
        ("impossible", "house: 72.4, -48 cannot be; readings run from -40 to 70", "house", [19, 20]),
        ("impossible", "humidity: 130 cannot be; readings run from 0 to 100", "humidity", [29]),
    ],
}


@pytest.mark.parametrize("name", BLANKED)
def test_readings_that_cannot_be_are_left_out_and_listed(name):
    log = read(name)
    assert [(fault.kind, fault.text, fault.column) for fault in log.faults] == [one[:3] for one in BLANKED[name]]
    assert_tells(log, nasty_logs.truth(), but=[one[2] for one in BLANKED[name]])
    for _, _, column, rows in BLANKED[name]:
        assert list(np.flatnonzero(log.frame[column].isna())) == rows


def test_only_kinds_of_faults_can_be_kept():
    with pytest.raises(SiteError) as caught:
        read("spike.csv", keep=["spikes"])
    assert str(caught.value) == (
        '[columns] keep = ["spikes"]: there is no such kind of fault to keep. Did you mean "spike"?\n'
        "It must be a list of spike, stuck, unit."
    )


def test_a_spike_is_used_where_the_site_keeps_spikes():
    log = read("spike.csv", keep=["spike"])
    assert log.frame["house"].iloc[19] == 31.5 and log.frame["soil"].iloc[39] == 19.9
    assert {fault.done for fault in log.faults} == {"they were used all the same, as site.toml says"}


# Files with rows of their own; used as they are, and said: file -> [(kind, column, text)].
LISTED = {
    "stuck-house.csv": [
        ("stuck", "house", "house: unchanged for 3.83 h while another probe moved 2 K or more")
    ],
    "probe-in-the-sun.csv": [
        ("in the sun", "house", "house: up to 37 K above every other air probe, by day only (at night 5 K): the probe "
         "may stand in the sun")
    ],
    "house-reads-low-at-dawn.csv": [
        ("fan never changes", "fan_pct", "the fan is off in every row"),
        ("disagree at dawn", "house", "on 4 mornings, the fan off for 4 h or more, house at dawn lies 1.9 K below "
         "outside"),
    ],
    "fan-never-changes.csv": [("fan never changes", "fan_pct", "the fan is off in every row")],
    "klux-turns-to-lux.csv": [
        ("unit", "solar", "solar: the daily peaks leap by a factor of 1000, as from klux to lux")
    ],
    "house-and-soil-swapped.csv": [
        ("looks swapped", "soil", "soil swings 16.7 K a day, the house only 1.2 K: are the two columns exchanged?")
    ],
    "house-and-outside-swapped.csv": [
        ("looks swapped", "outside", "the house is on average 6.0 K colder than outside: are the two columns "
         "exchanged?")
    ],
    "gap.csv": [("gap", "", "no rows for 5.5 h; the house was at its lowest 13.4 degC in the 6 h after")],
    "board-power-cut.csv": [
        ("power cut", "", "the board was off for up to 31 min and started again; the house was at its lowest 2.0 degC "
         "in the 6 h after"),
        ("power cut", "", "the board was off for up to 21 min and started again; the house was at its lowest 2.0 degC "
         "in the 6 h after"),
    ],
    "clock-set-back.csv": [
        ("backward step", "", "time runs back by 4.5 h here, over times that other rows already have")
    ],
}  # fmt: skip


@pytest.mark.parametrize("name", LISTED)
def test_what_looks_wrong_is_listed(name):
    log = read(name)
    assert [(fault.kind, fault.column, fault.text) for fault in log.faults] == LISTED[name]
    assert all(fault.done for fault in log.faults)


def test_a_stuck_probe_is_left_out_from_when_the_board_would_stop_believing_it():
    frame, _ = nasty_logs.minutely(36)
    log = read("stuck-house.csv")
    lost = np.flatnonzero(log.frame["house"].isna())
    assert frame.index[lost[0]] - frame.index[100] == pd.Timedelta(hours=3, minutes=0)
    assert list(lost) == list(range(118, 142))


def test_light_that_changes_its_unit_is_one_unit_after():
    log = read("klux-turns-to-lux.csv")
    peaks = log.frame["solar"].groupby(log.frame.index.date).max()
    assert peaks.iloc[1:4].tolist() == pytest.approx([500.0, 500.0, 500.0])  # 60 klux at 120 lux for each W/m2


def test_degrees_f_under_a_header_of_c_are_read_as_f_and_said():
    frame = nasty_logs.in_f(nasty_logs.truth(hours=72))
    log = read("degrees-f-called-c.csv")
    assert [fault.text for fault in log.faults] == [
        f"{name}: a whole day's middle value is {middle} degC, so the column must be degF"
        for name, middle in (("house", 61), ("soil", 67), ("outside", 51))
    ]
    assert log.frame["house"].to_numpy() == pytest.approx((frame["house"].to_numpy() + 12 - 32) / 1.8, abs=0.006)


def test_days_in_another_unit_are_left_out_whole_in_every_temperature():
    frame, _ = nasty_logs.minutely(74)
    log = read("unit-changes-midway.csv")
    late = frame.index >= "2026-03-05T00:00:00Z"
    for name in ("house", "soil", "outside"):
        assert log.frame[name][~late].to_numpy() == pytest.approx(frame[name][~late].to_numpy(), abs=0.006)
        assert log.frame[name][late].isna().all()
    assert [(fault.kind, fault.column) for fault in log.faults if fault.grave] == [
        ("unit", "house"), ("unit", "soil"), ("unit", "outside"),
    ]  # fmt: skip


def test_humidity_in_two_units_is_not_read_as_one_percent():
    log = read("humidity-two-units.csv")
    assert log.frame["humidity"].iloc[:29].isna().all() and log.frame["humidity"].iloc[29:].min() > 60
    fault = next(fault for fault in log.faults if fault.kind == "unit")
    assert fault.text == "29 readings of 1 % or less, as where parts of 1 and % are mixed"


def test_a_column_of_words_is_not_the_fan():
    log = read("fan-mode.csv")
    assert log.frame["fan_pct"].isna().all()
    assert [(fault.kind, fault.text) for fault in log.faults] == [
        ("column of words", "'AUTO' is not a state of the fan, and most cells are like it")
    ]
    assert refusal(lambda: read("fan-mode.csv", fan="Fan")) == (
        "fan-mode.csv, line 2, column \"Fan\": 'AUTO' is not a state of the fan.\nA fan is on or off, yes or no, 0 or "
        "1, % or W. Leave the cell empty for a missing reading, or name the text for missing values under [columns] "
        "missing in site.toml."
    )


def test_house_and_humidity_exchanged_are_not_taken_for_degrees_f():
    log = read("house-and-humidity-swapped.csv")
    assert "unit" not in [fault.kind for fault in log.faults if fault.column == "house"]
    assert next(fault.column for fault in log.faults if fault.kind == "looks swapped") == "humidity"
    assert log.frame["house"].max() <= 70


def test_dates_that_a_spreadsheet_turned_round_are_turned_back():
    frame = nasty_logs.truth("2026-03-08T17:00:00Z", hours=24 * 9, step_min=120)
    log = read("day-and-month-swapped.csv")
    assert_tells(log, frame)
    assert [fault.text for fault in log.faults] == [
        "5 dates have day and month swapped, as a spreadsheet does (2026-08-03 on line 2)"
    ]


CHANGES = {
    "autumn-hour-twice.csv": "2026-10-24T12:00:00Z",
    "spring-hour-missing.csv": "2026-03-28T12:00:00Z",
    "winter-time-all-year.csv": "2026-03-28T12:00:00Z",
    "winter-time-in-autumn.csv": "2026-10-24T12:00:00Z",
}
# The days of 23, 25 and 24 hours of each zone in 2026, by its law. Lord Howe moves its clocks by half an hour.
DAYS = {
    "Europe/Madrid": {23: "2026-03-29", 25: "2026-10-25", 24: "2026-06-01"},
    "Europe/Dublin": {23: "2026-03-29", 25: "2026-10-25", 24: "2026-06-01"},
    "America/New_York": {23: "2026-03-08", 25: "2026-11-01", 24: "2026-06-01"},
    "Australia/Lord_Howe": {23: "2026-10-04", 25: "2026-04-05", 24: "2026-06-01"},
}


@pytest.mark.parametrize("name", CHANGES)
def test_the_nights_on_which_clocks_change(name):
    log = read(name)
    assert_tells(log, nasty_logs.truth(CHANGES[name], hours=30))
    assert log.faults == []


@pytest.mark.parametrize("hours", [23, 24, 25])
@pytest.mark.parametrize("zone", DAYS)
@pytest.mark.parametrize("minutes", [1, 10, 60])
def test_a_day_of_every_length_against_zoneinfo(tmp_path, hours, zone, minutes):
    """zoneinfo says when each local minute is; the reader must find the same from the bare clock readings."""
    info, day = ZoneInfo(zone), DAYS[zone][hours]
    start = pd.Timestamp(day, tz=info).tz_convert("UTC") - pd.Timedelta(hours=5)
    index = pd.date_range(start, start + pd.Timedelta(hours=35), freq=f"{minutes}min")
    clock = [t.to_pydatetime().astimezone(info).strftime("%Y-%m-%d %H:%M") for t in index]
    path = tmp_path / "log.csv"
    path.write_text("Time,House C,Soil C\n" + "".join(f"{t},{8 + at % 7},12\n" for at, t in enumerate(clock)))
    log = read_logs(path, site_of(zone), needs=())
    assert (log.frame.index == index).all()
    local_day = log.frame.index.tz_convert(zone).date == pd.Timestamp(day).date()
    shift = {23: -1, 25: 1, 24: 0}[hours] * (0.5 if zone == "Australia/Lord_Howe" else 1)
    assert local_day.sum() == pytest.approx((24 + shift) * 60 / minutes, abs=0.5)


REFUSED = {
    "day-or-month.csv": "day-or-month.csv, line 2, column \"Time\": '03/04/2026' can be read with the day or the month "
    "first, and no other date tells.\nWrite day_first = true or day_first = false under [columns] in site.toml.",
    "thousands-or-decimals.csv": "thousands-or-decimals.csv, line 2, column \"Light (lux)\": '1,250' may be a decimal "
    "comma or may divide thousands.\nSet decimal_comma = true under [columns] in site.toml, or write the number "
    "without the comma.",
    "decimals-mixed.csv": "decimals-mixed.csv, line 41, column \"House\": '15,97' is written with another decimal mark "
    "than '14.31' on line 2.\nWrite all decimals alike.",
    "decimal-commas-between-commas.csv": "decimal-commas-between-commas.csv, line 2: 10 cells where the header on line "
    "1 has 6 ('2026-03-02 18:00:00,14,31,12,82,7,00,67,4,0').\nGive each column a name. Where decimals are written "
    "with a comma, write semicolons between the columns.",
    "fan-steps.csv": 'fan-steps.csv, column "Fan": the fan has numbers from 0 to 3, which can be percent, watts or '
    'steps.\nWrite fan_unit = "%" or "W" under [columns] in site.toml, or write the unit into the header.',
    "temperatures-in-tenths.csv": "temperatures-in-tenths.csv: the temperatures name no unit, and can be C, F or "
    'neither (soil runs from 117 to 129).\nWrite temperature_unit = "C" or "F" under [columns] in site.toml, or write '
    "the unit into the header.",
    "text-in-a-cell.csv": "text-in-a-cell.csv, line 19, column \"House temp (C)\": 'warm' is not a temperature.\nLeave "
    "the cell empty for a missing reading, or name the text for missing values under [columns] missing in site.toml.",
    "short-row.csv": "short-row.csv, line 13: 5 cells where the header has 6 ('2026-03-02 "
    "23:30:00,4.44,12.67,-0.45,87.1').\nMend the line or delete it.",
    "long-row.csv": "long-row.csv, line 13: 7 cells where the header has 6 ('2026-03-02 "
    "23:30:00,4.44,12.67,-0.45,87.1,1,0').\nMend the line or delete it. Decimal commas need semicolons between the "
    "columns.",
    "no-header.csv": "no-header.csv, line 1: the readings begin without a header line above them ('2026-03-02 "
    "18:00:00,14.31,12.82,7.00,67.4,0').\nWrite one line above with a name for each column, for example "
    "time,house_c,soil_c,fan.",
    "header-only.csv": "header-only.csv holds a header line but no readings.\nName a log with at least one row.",
    "empty.csv": "empty.csv is empty.\nName a log with a header line and at least one row.",
    "no-time.csv": "no-time.csv: no line begins with a date, and a time of day alone does not place a reading (line 2 "
    "reads '18:00,14.31,12.82,7.00,67.4,0').\nWrite each time as 2026-01-31 18:05.",
    "500-columns.csv": '500-columns.csv has 500 columns (divided at ","); a log may have 100.\nKeep the time and the '
    "columns that belong to the house.",
    "picture.csv": "picture.csv is a picture (PNG), not a text file.\nSave or export the log as CSV and name that "
    "file.",
    "spreadsheet.csv": "spreadsheet.csv is a spreadsheet or zip archive, not a text file.\nSave or export the log as "
    "CSV and name that file.",
    "noise.csv": "noise.csv is not a text file.\nSave or export the log as CSV and name that file.",
    "cut-short.csv.gz": "cut-short.csv.gz: the gzip file is cut short.\nCopy it again, or unpack what is left of it "
    "with gzip and read that.",
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_read_is_refused_in_one_message(name):
    assert refusal(lambda: read(name)) == REFUSED[name]


def test_every_nasty_file_is_in_some_test():
    source = Path(__file__).read_text(encoding="utf-8")
    assert [name for name in nasty_logs.FILES if name not in source and "/" not in name] == []


def test_a_guess_between_two_is_asked_for():
    path = FOLDER / "two-house-candidates.csv"
    log = read_logs(path, site_of(), needs=())
    assert [(fault.kind, fault.text, fault.overrule) for fault in log.faults] == [
        ("asked", '"Temp 1" and "Temp 2" and "Temp 3" could each be the house', "name the right one as house under "
         "[columns]")
    ]  # fmt: skip
    assert refusal(lambda: read_logs(path, site_of())) == (
        'two-house-candidates.csv: there is no column "house_c" with readings ("Temp 1" and "Temp 2" and "Temp 3" '
        "could each be the house).\nThis needs house and soil and fan: add the column, or name it under [columns] "
        "house in site.toml."
    )
    named = read("two-house-candidates.csv", house="Temp 1", soil="Temp 2", outside="Temp 3")
    assert_tells(named, nasty_logs.truth())


def test_what_the_site_says_settles_what_could_not_be_told():
    start = nasty_logs.truth("2026-04-02T23:00:00Z", hours=12)
    assert_tells(read("day-or-month.csv", day_first=True), start)
    assert read("day-or-month.csv", day_first=False).frame.index[0].month == 3
    lux = read("thousands-or-decimals.csv", decimal_comma=True)
    assert lux.frame["solar"].iloc[0] == pytest.approx(1.25 / 120)
    assert read("text-in-a-cell.csv", missing=["warm"]).frame["house"].isna().sum() == 1


def test_a_date_against_what_the_site_says_is_refused(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("Time,House C\n11/03/2026 10:00,8.5\n13/03/2026 10:00,8.6\n")
    with pytest.raises(LogError) as caught:
        read_logs(path, site_of(day_first=False), needs=())
    assert str(caught.value) == (
        f"{path}, line 3, column \"Time\": '13/03/2026' cannot be a date with the month first.\n"
        "Correct the date, or day_first under [columns] in site.toml."
    )


def test_a_named_column_that_is_not_there_is_refused_with_the_nearest():
    assert refusal(lambda: read("tabs.txt", house="House tmp (C)")) == (
        'tabs.txt: site.toml names the column "House tmp (C)" as house, but there is none. Did you mean "House temp '
        '(C)"?\nThe columns are "Time", "House temp (C)", "Soil temp (C)", "Outside temp (C)", "Humidity (%)", "Fan".'
    )


def test_one_file_for_each_sensor_is_joined_at_the_times_of_the_house():
    log = read_logs(str(FOLDER / "one-file-per-sensor" / "*.csv"), site_of(), needs=("house", "soil", "fan"))
    frame = nasty_logs.truth()
    assert (log.frame.index == frame.index).all()
    assert log.frame["house"].to_numpy() == pytest.approx(frame["house"].to_numpy())
    # soil stands 7 min after the house: in proportion between its rows, none before its first
    late = frame.index + pd.Timedelta(minutes=7)
    meant = np.interp(frame.index.asi8, late.asi8, frame["soil"].to_numpy())
    assert np.isnan(log.frame["soil"].iloc[0])
    assert log.frame["soil"].to_numpy()[1:] == pytest.approx(meant[1:], abs=1e-9)
    assert (log.frame["fan_pct"] == frame["fan"] * 100).all()
    ran = log.frame["fan_s"].iloc[1:].to_numpy()
    assert (ran == frame["fan"].to_numpy()[:-1] * 1800).all()
    assert log.frame["outside"].notna().all()  # every second row of its own, read between them
    assert sorted(fault.kind for fault in log.faults) == ["joined"] * 3


def test_two_files_that_disagree_about_the_house_are_refused(tmp_path):
    for name, shift in (("north.csv", 0), ("south.csv", 1)):
        lines = [f"2026-03-02 {hour:02d}:00,{8 + hour / 10 + shift:.1f}" for hour in range(24)]
        (tmp_path / name).write_text("Time,House temp (C)\n" + "\n".join(lines) + "\n")
    with pytest.raises(LogError) as caught:
        read_logs([tmp_path / "north.csv", tmp_path / "south.csv"], site_of(), needs=())
    assert str(caught.value).replace(str(tmp_path) + os.sep, "") == (
        'south.csv, line 2: "house" is also in north.csv at that time (2026-03-01T23:00:00Z), with other readings.\n'
        "Are these two probes, or two houses? Name only one of the files, or write the file before the column under "
        '[columns] in site.toml: house = "south.csv:its column".'
    )
    both = site_of(house="south.csv:House temp (C)", outside="north.csv:House temp (C)")
    named = read_logs([tmp_path / "north.csv", tmp_path / "south.csv"], both, needs=())
    assert (named.frame["house"] - named.frame["outside"]).to_numpy() == pytest.approx(1.0)


def test_logs_of_two_formats_follow_each_other(tmp_path):
    """The grower's old logger until noon, the board's own log from then on."""
    frame = nasty_logs.truth()
    (tmp_path / "old.csv").write_text(nasty_logs.table(frame[:36], nasty_logs.iso(frame[:36]), nasty_logs.HEADS))
    lines = [nasty_logs.HEADER]
    for at, (time, row) in enumerate(zip(frame.index[36:], frame[36:].itertuples(), strict=True)):
        on = int(row.fan)
        lines.append(f"{time:%Y-%m-%dT%H:%M:%SZ},{at * 1800},{row.house:.2f},{row.soil:.2f},,{row.outside:.2f},"
                     f"{row.humidity:.1f},{'discharge' if on else 'rest'},{on * 100},{on * 1800},0,0,,")  # fmt: skip
    (tmp_path / "board.csv").write_text("\n".join(lines) + "\n")
    log = read_logs([tmp_path / "board.csv", tmp_path / "old.csv"], site_of())
    assert_tells(log, frame)
    assert set(log.frame["phase"].iloc[:36]) == {""} and "rest" in set(log.frame["phase"].iloc[36:])


def test_without_a_site_local_times_are_taken_as_utc_and_said():
    log = read_logs(FOLDER / "tabs.txt", needs=())
    assert log.frame.index[0] == pd.Timestamp("2026-03-02T18:00:00Z")
    assert [fault.kind for fault in log.faults] == ["no time zone"]


def test_summer_time_that_no_change_shows_is_said(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("Time,House C\n" + "".join(f"2026-07-01 {hour:02d}:00,{hour + 5}\n" for hour in range(24)))
    log = read_logs(path, site_of(), needs=())
    assert log.frame.index[0] == pd.Timestamp("2026-06-30T22:00:00Z")
    assert [fault.kind for fault in log.faults] == ["summer time assumed"]
    assert read_logs(path, site_of(clock="standard"), needs=()).frame.index[0] == pd.Timestamp("2026-06-30T23:00:00Z")
    assert read_logs(path, site_of(clock="utc"), needs=()).frame.index[0] == pd.Timestamp("2026-07-01T00:00:00Z")


def test_an_offset_of_the_site_is_added():
    frame = nasty_logs.truth()
    log = read("tabs.txt", house_offset_c=-0.75)
    assert log.frame["house"].to_numpy() == pytest.approx(frame["house"].to_numpy() - 0.75)


def test_a_fan_known_by_its_power_keeps_the_power():
    frame = nasty_logs.truth()
    watts = read("fan-watts.csv").frame["fan_power"].to_numpy()
    assert (watts == np.where(frame["fan"] == 1, 61.5, 1.2)).all()


def test_the_state_of_the_fan_and_its_power_may_both_be_logged(tmp_path):
    path = tmp_path / "log.csv"
    lines = [f"2026-03-02 {hour:02d}:00,{hour + 1},{int(hour > 5)},{hour * 2.5:.1f}" for hour in range(24)]
    path.write_text("Time,House C,Fan,Fan power\n" + "\n".join(lines) + "\n")
    log = read_logs(path, site_of(), needs=())
    assert (log.frame["fan_pct"].to_numpy() == np.where(np.arange(24) > 5, 100, 0)).all()
    assert (log.frame["fan_power"].to_numpy() == np.arange(24) * 2.5).all()
    named = read_logs(path, site_of(fan="Fan", fan_power="Fan power"), needs=())
    pd.testing.assert_frame_equal(named.frame, log.frame)


def test_what_is_no_file_is_refused(tmp_path, monkeypatch):
    for path, text in (
        (tmp_path, f'{tmp_path} is a folder.\nName the files in it, for example "{tmp_path}/*.csv".'),
        (tmp_path / "no.csv", f"{tmp_path / 'no.csv'}: there is no such file.\nCheck the name; a pattern such as *.csv "
         "works too."),
        (tmp_path / "*.csv", f'No file matches "{tmp_path / "*.csv"}".\nCheck the folder and the pattern.'),
    ):  # fmt: skip
        with pytest.raises(LogError) as caught:
            read_logs(path, site_of())
        assert str(caught.value) == text
    with pytest.raises(LogError) as caught:
        read_logs([])
    assert str(caught.value) == "No log file was named.\nName one or more CSV files."

    def refuse(*args, **kwargs):
        raise PermissionError(13, "Permission denied")

    (tmp_path / "locked.csv").write_text("x")
    monkeypatch.setattr("builtins.open", refuse)
    with pytest.raises(LogError) as caught:
        read_logs(tmp_path / "locked.csv")
    assert str(caught.value) == (
        f"{tmp_path / 'locked.csv'}: cannot be read (Permission denied).\nCheck that the file is there and that you "
        "may read it."
    )


def test_progress_is_told_while_reading(tmp_path):
    told = []
    read_logs(FOLDER / "packed.csv.gz", site_of(), progress=lambda path, done: told.append((path.name, done)))
    size = (FOLDER / "packed.csv.gz").stat().st_size
    assert told and all(name == "packed.csv.gz" and 0 < done <= size for name, done in told)
