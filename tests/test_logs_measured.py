"""Are measured files read right? Statistics of every column are those of plain pandas on the same file.

tests/data/README.md names where the files come from.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.test_logs_foreign import site_of
from tuner.logs import read_logs

DATA = Path(__file__).resolve().parent / "data"
STATISTICS = ("count", "mean", "std", "min", "25%", "50%", "75%", "max")

# our column, the file's column, the file's unit in ours
ROOM = [("house", "Ti", 1.0), ("outside", "Ta", 1.0), ("heater", "Ph", 1.0)]
SOIL = [("house", "T_DAILY_AVG", 1.0), ("soil", "SOIL_TEMP_50_DAILY", 1.0), ("outside", "T_DAILY_MIN", 1.0),
        ("solar", "SOLARAD_DAILY", 1e6 / 86_400)]  # fmt: skip


def assert_same_statistics(ours, theirs):
    for name in STATISTICS:
        assert ours.describe()[name] == pytest.approx(theirs.describe()[name], rel=1e-12), name


@pytest.mark.parametrize("ours, column, scale", ROOM)
def test_room_and_heater_hourly(ours, column, scale):
    named = {role: name for role, name, _ in ROOM}
    log = read_logs(DATA / "room_heater_hourly.csv", site_of("UTC", **named), needs=("house", "outside"))
    plain = pd.read_csv(DATA / "room_heater_hourly.csv", index_col=0, parse_dates=True)
    assert_same_statistics(log.frame[ours], plain[column] * scale)
    assert (log.frame.index == plain.index).all() and log.step_s == 3600


@pytest.mark.parametrize("ours, column, scale", SOIL)
def test_soil_profile_daily(ours, column, scale):
    named = {role: name for role, name, _ in SOIL} | {"clock": "standard", "solar_unit": "MJ/m2"}
    log = read_logs(DATA / "soil_profile_daily.csv", site_of("America/Indiana/Indianapolis", **named), needs=("soil",))
    plain = pd.read_csv(DATA / "soil_profile_daily.csv", na_values=[-9999])
    assert_same_statistics(log.frame[ours], plain[column] * scale)
    days = pd.to_datetime(plain["LST_DATE"].astype(str), format="%Y%m%d")
    # local standard time there is UTC - 5 h all year
    assert (log.frame.index == days.dt.tz_localize("Etc/GMT+5").dt.tz_convert("UTC")).all()
    missing = [fault for fault in log.faults if fault.kind == "sentinel"]
    assert sum(fault.rows for fault in missing) == int((plain[[name for _, name, _ in SOIL]].isna()).to_numpy().sum())
    assert np.isnan(log.frame[ours].to_numpy()).sum() == plain[column].isna().sum()


def test_without_names_the_columns_are_not_guessed():
    from tuner.errors import LogError

    with pytest.raises(LogError) as caught:
        read_logs(DATA / "room_heater_hourly.csv", needs=())
    assert str(caught.value) == (
        f'{DATA / "room_heater_hourly.csv"}, line 1: none of the columns is understood ("", "Ph", "Ti", "Ta", "Th").\n'
        'Name them under [columns] in site.toml, for example house = "Ph".'
    )
