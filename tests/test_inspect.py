"""Does `loamstat inspect` say what is in a log, write it clean, and draw it? Reports are compared whole."""

import json
import re
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.core.record import HEADER
from tests.test_logs_foreign import FOLDER, site_of
from tests.tools import nasty_logs
from tuner import __main__ as entry
from tuner import clean_log, daypart, inspection, inspection_text, log_plot, screening
from tuner.logs import read_logs
from tuner.site import FIELDS

ROOT = Path(__file__).resolve().parent.parent

SITE = """
[site]
name = "Bench house"
time_zone = "Europe/Madrid"
latitude = 40.4
longitude = -3.7
[needs]
frost_floor_c = 2
hot_limit_c = 35
[fan]
watts = 60
[energy]
price_per_kwh = 0.2
"""


@pytest.fixture
def place(tmp_path, monkeypatch):
    """A folder with a site.toml and a copy of one nasty log; it is the working folder."""
    (tmp_path / "site.toml").write_text(SITE, encoding="utf-8")
    for name in ("impossible.csv", "two-house-candidates.csv", "picture.csv"):
        (tmp_path / name).write_bytes((FOLDER / name).read_bytes())
    monkeypatch.chdir(tmp_path)
    return tmp_path


def ran(monkeypatch, capsys, *words):
    """Return (exit status, stdout, stderr) of the command in this process."""
    monkeypatch.setattr(sys, "argv", ["loamstat", *words])
    with pytest.raises(SystemExit) as ended:
        entry.main()
    out = capsys.readouterr()
    return ended.value.code or 0, out.out, out.err


REPORT = """\
Bench house: 73 rows, 2026-03-02 18:00 to 2026-03-04 06:00 (Europe/Madrid), 36 h; a row each 30 min, 100 % of the time \
covered

Files, as understood:
  impossible.csv: commas between columns, decimal point, header on line 1
    house: "House temp (C)", degC (by its name)
    soil: "Soil temp (C)", degC (by its name)
    outside: "Outside temp (C)", degC (by its name)
    humidity: "Humidity (%)", % (by its name)
    fan: "Fan", on/off (by its name)
    time: "Time", year first, local time of Europe/Madrid with its summer time

column    logged in  readings  of rows  lowest  mean  highest
--------  ---------  --------  -------  ------  ----  -------
house          degC        71   97.3 %     0.6   8.0     17.6
soil           degC        73    100 %    11.7  12.4     12.9
outside        degC        73    100 %    -3.2   2.1      9.2
humidity          %        72   98.6 %    63.0  80.2     93.0
fan          on/off        73    100 %       0  39.7    100.0
Temperatures are shown in C.

Faults: 2 to look at, 0 remarks.
  1. impossible, impossible.csv, line 21 (2026-03-03T02:30:00Z):
     house: 72.4, -48 cannot be; readings run from -40 to 70; these cells were taken as missing.
  2. impossible, impossible.csv, line 31 (2026-03-03T07:30:00Z):
     humidity: 130 cannot be; readings run from 0 to 100; these cells were taken as missing.

Nights from noon to noon, named by their morning; the lowest reading, and that day's highest:
night to    house min C  outside min C  day max C  soil end C  fan h  starts  h at 95 %
----------  -----------  -------------  ---------  ----------  -----  ------  ---------
2026-03-03          0.7           -3.2       17.6        11.9    7.5       1          0
2026-03-04          0.6           -3.2        3.9        11.8    6.5       1          0

House: lowest reading 0.6 C, highest reading 17.6 C.
Fan: 14.0 h, 2 starts.
Air at 95 % humidity or more: 0 h.

This log cannot carry a fit:
  - 1.5 days of rows; a fit needs 2, a week is good
What would make it better:
  - rows closer together: one each 30 min hides how fast the air answers
  - a trial night (loamstat trial): 2 starts of the fan show little of what it does
  - a run by day: the fan never runs while the house is 3 K warmer than the soil (charging)
  - the air leaving the pipes: it shows what the pipes give
  - light or solar radiation: the sun's heat is then not guessed
Numbers: out.json
Clean log: clean.csv
Figure: out.png
"""


def test_the_report_whole(place, monkeypatch, capsys):
    words = ["inspect", "impossible.csv", "--site", "site.toml"]
    outputs = ["--json", "out.json", "--clean", "clean.csv", "--figure", "out.png"]
    status, out, err = ran(monkeypatch, capsys, *words, *outputs)
    assert (status, err) == (0, "")
    assert out == REPORT
    assert (place / "out.png").read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"


def test_the_json_has_the_same_numbers_with_their_units(place, monkeypatch, capsys):
    ran(monkeypatch, capsys, "inspect", "impossible.csv", "--site", "site.toml", "--json", "out.json")
    tree = json.loads((place / "out.json").read_text(encoding="utf-8"))
    assert (tree["rows"], tree["step_s"], tree["span_h"], tree["covered_pct"]) == (73, 1800.0, 36.0, 100.0)
    assert tree["from"] == "2026-03-02T17:00:00+00:00"
    assert tree["faults"][0] == {
        "kind": "impossible", "grave": True, "where": "impossible.csv, line 21 (2026-03-03T02:30:00Z)",
        "text": "house: 72.4, -48 cannot be; readings run from -40 to 70",
        "done": "these cells were taken as missing", "overrule": "", "column": "house", "rows": 2,
        "from": "2026-03-03T02:30:00Z", "to": "2026-03-03T03:00:00Z",
    }  # fmt: skip
    truth = nasty_logs.truth()
    assert tree["total"]["starts"] == 2
    ran_h = float(truth["fan"].iloc[:-1].sum()) / 2  # each row's state holds for half an hour
    assert tree["total"]["fan_h"] == ran_h == sum(night["fan_h"] for night in tree["nights"])
    assert tree["fit"]["possible"] is False


def test_the_clean_log_is_the_boards_own_and_reads_back(place, monkeypatch, capsys):
    ran(monkeypatch, capsys, "inspect", "impossible.csv", "--site", "site.toml", "--clean", "clean.csv")
    text = (place / "clean.csv").read_text(encoding="utf-8")
    assert text.split("\n", 1)[0] == HEADER
    first, again = read_logs("impossible.csv", site_of(), needs=()), read_logs("clean.csv")
    pd.testing.assert_frame_equal(again.frame, first.frame, check_categorical=False, atol=0.0051, rtol=0)
    assert again.faults == []


def test_outputs_that_cannot_be_are_refused_before_reading(place, monkeypatch, capsys):
    status, out, err = ran(monkeypatch, capsys, "inspect", "impossible.csv", "--clean", "no/such/clean.csv")
    assert (status, out) == (1, "")
    assert err == "loamstat: no/such/clean.csv: its folder does not exist.\nMake the folder first, or name another.\n"
    status, out, err = ran(monkeypatch, capsys, "inspect", "impossible.csv", "--figure", "out.gif")
    assert (status, out) == (1, "")
    status, _, err = ran(monkeypatch, capsys, "inspect", "impossible.csv", "--clean", "./impossible.csv")
    assert status == 1
    assert err == "loamstat: impossible.csv: would be written over, and it is read here.\nName another file to write.\n"
    status, _, err = ran(monkeypatch, capsys, "inspect", "imp*.csv", "--clean", "./impossible.csv")  # behind a pattern
    assert status == 1
    assert err == "loamstat: ./impossible.csv: this is one of the logs that were read.\nName another file to write.\n"
    assert (place / "impossible.csv").read_bytes() == (FOLDER / "impossible.csv").read_bytes()


def test_a_picture_is_one_message_and_status_1(place, monkeypatch, capsys):
    status, out, err = ran(monkeypatch, capsys, "inspect", "picture.csv")
    assert (status, out) == (1, "")
    assert err == (
        "loamstat: picture.csv is a picture (PNG), not a text file.\n"
        "Save or export the log as CSV and name that file.\n"
    )


def test_wrong_usage_is_status_2(place, monkeypatch, capsys):
    assert ran(monkeypatch, capsys, "inspect")[0] == 2
    assert ran(monkeypatch, capsys, "inspect", "impossible.csv", "--sight", "site.toml")[0] == 2


def test_without_a_site_days_are_those_of_utc_and_the_zone_is_asked_for(place, monkeypatch, capsys):
    status, out, _ = ran(monkeypatch, capsys, "inspect", "impossible.csv")
    assert status == 0 and "(UTC)" in out.splitlines()[0]
    assert "no time zone" in out and "give --site with the site's time_zone" in out


@pytest.mark.parametrize("name", ["gap.csv", "board-power-cut.csv", "two-house-candidates.csv", "spike.csv"])
def test_every_log_can_be_drawn_and_told(name, tmp_path):
    log = read_logs(FOLDER / name, site_of(), needs=())
    tree = inspection.inspect(log, site_of())
    json.dumps(tree, allow_nan=False)
    assert inspection_text.lines(tree)
    log_plot.write(tmp_path / "out.svg", log, tree)
    drawn = (tmp_path / "out.svg").read_text(encoding="utf-8")
    assert drawn.startswith("<?xml") and len(drawn) > 5000


def test_rows_further_apart_than_an_hour_stand_for_their_own_step():
    from tests.test_logs_measured import DATA, SOIL

    named = {role: name for role, name, _ in SOIL} | {"clock": "standard"}
    site = site_of("America/Indiana/Indianapolis", **named)
    log = read_logs(DATA / "soil_profile_daily.csv", site, needs=())
    tree = inspection.inspect(log, site)
    assert tree["covered_pct"] == 100.0 and len(tree["nights"]) == len(log.frame)
    assert tree["fit"]["lacks"] == [
        "no readings of the fan", "a row each 24 h; a fit needs one an hour, one a minute is best",
    ]  # fmt: skip
    drawn = log_plot.draw(log, tree).axes[0].lines
    assert all(np.isfinite(line.get_ydata()).sum() > 1800 for line in drawn)


def test_a_single_row_can_be_inspected(tmp_path):
    (tmp_path / "one.csv").write_text("Time,House C\n2026-03-02 10:00,8.5\n")
    log = read_logs(tmp_path / "one.csv", site_of(), needs=())
    tree = inspection.inspect(log, site_of())
    assert tree["span_h"] == 0 and tree["rows"] == 1
    assert inspection_text.lines(tree)
    log_plot.write(tmp_path / "one.png", log, tree)
    clean_log.write(log, tmp_path / "clean.csv")
    assert read_logs(tmp_path / "clean.csv", needs=("house",)).frame["house"].tolist() == [8.5]


def test_units_of_the_site_are_used_for_people():
    log = read_logs(FOLDER / "tabs.txt", site_of(), needs=())
    tree = inspection.inspect(log, site_of()) | {"units": "F"}
    text = "\n".join(inspection_text.lines(tree))
    low = float(log.frame["house"].min()) * 1.8 + 32
    assert f"House: lowest reading {low:.1f} F" in text and "house min F" in text


def test_percent_says_0_and_100_only_when_it_is_so():
    assert [inspection_text.percent(value) for value in (0, 0.001, 50, 99.999, 100)] == [
        "0 %", "0.1 %", "50.0 %", "99.9 %", "100 %",
    ]  # fmt: skip


@pytest.mark.parametrize("date, latitude, longitude", [("2026-06-21", 52.0, 0.0), ("2026-12-21", -33.9, 18.4)])
def test_solar_elevation_at_noon_on_the_solstices(date, latitude, longitude):
    """Noon height at the summer solstice is 90 - |latitude| + 23.44 degrees, any astronomy text; within 1 degree."""
    day = int(np.datetime64(date, "ms").astype(np.int64))
    minutes = day + np.arange(1440) * 60_000
    highest = daypart.solar_elevation(minutes, latitude, longitude).max()
    assert highest == pytest.approx(90 - abs(latitude) + 23.44, abs=1.0)


def test_every_kind_of_fault_is_in_the_growers_page():
    page = (ROOT / "tuner" / "README-logs.md").read_text(encoding="utf-8")
    table = page.split("## Faults")[1].split("## ")[0]
    kinds = set()
    for path in [*(ROOT / "tuner").glob("*.py"), *(ROOT / "tuner" / "reader").glob("*.py")]:
        source = path.read_text(encoding="utf-8")
        kinds |= set(re.findall(r'(?:Fault|found\.add|_blank)\(\s*(?:found,\s*)?"([a-z ,]+)"', source))
    assert len(kinds) > 25
    assert sorted(kind for kind in kinds if kind not in table) == []


def test_every_key_of_columns_is_in_the_growers_page():
    page = (ROOT / "tuner" / "README-logs.md").read_text(encoding="utf-8")
    keys = [key for section, key, *_ in FIELDS if section == "columns"]
    shown = {key for key in keys if re.search(rf"\b{key}\b", page)}
    assert sorted(set(keys) - shown - {f"{name}_offset_c" for name in ("house", "outlet", "outside")}) == []


readings = st.one_of(st.none(), st.integers(-60, 100).map(float), st.floats(-45, 75), st.just(12.0))
steps = st.sampled_from([1, 30, 60, 61, 600, 1800, 3600, 3601, 86_400])


@given(st.lists(st.tuples(steps, readings, readings, readings), min_size=1, max_size=40))
def test_the_quick_look_says_what_the_screen_would(rows):
    """screening.believed with its shortcut agrees with the board's screen stepped row by row."""
    time = np.cumsum([step for step, *_ in rows]) * 1000
    values = {name: np.array([np.nan if row[at] is None else row[at] for row in rows], dtype=float)
              for at, name in ((1, "house"), (2, "soil"), (3, "outside"))}  # fmt: skip
    quick = screening.believed(time, values)
    size = len(rows)
    columns = screening.Columns(time // 1000, *(
        screening.counts(values.get(name, np.full(size, np.nan)), 10 if name == "humidity" else 100)
        for name in screening.NAMES))  # fmt: skip
    out = screening.Believed(*(np.zeros(size, dtype=np.int64) for _ in screening.Believed._fields))
    screening.walk(columns, out)
    for name, plain in out._asdict().items():
        assert (quick[name] == plain.astype(bool)).all(), name
