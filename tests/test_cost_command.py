"""Does `loamstat cost` tell, write and draw what it should, and are the demo's totals those of a count by hand?"""

import csv
import datetime
import gzip
import json
import sys
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from controller.core.record import HEADER
from tests.cost_help import make_log, make_site, run_of
from tuner import __main__ as entry
from tuner import cost, cost_plots, logs
from tuner.site import load_site

DEMO = Path(logs.__file__).parent / "demo"
SITE = """
[site]
name = "Bean house"
time_zone = "UTC"
[needs]
frost_floor_c = 2
hot_limit_c = 32
[fan]
watts = 60
airflow_m3_h = 360
standby_watts = 2
[energy]
currency = "EUR"
price_per_kwh = 0.28
backup_price_per_kwh = 0.1
daily_charge = 0.5
[[energy.band]]
name = "peak"
from = "16:00"
to = "20:00"
price_per_kwh = 0.40
[[energy.band]]
name = "night"
from = "23:00"
to = "07:00"
price_per_kwh = 0.12
"""


def written(folder, minutes=range(1, 3 * 1440 + 1), site=SITE):
    """Three days of the board's own log: 10 minutes on, 20 off, house 5, soil 9, outlet 8, outside 1 degC."""
    lines = [HEADER]
    for minute in minutes:
        ran = 60 if 11 <= (minute - 1) % 30 + 1 <= 20 else 0
        on = 10 <= (minute - 1) % 30 + 1 <= 19
        at = datetime.datetime(2026, 1, 5) + datetime.timedelta(minutes=minute)
        state = f"{'discharge' if on else 'rest'},{100 if on else 0},{ran},0,0,{'cold' if on else 'idle'},"
        lines.append(f"{at:%Y-%m-%dT%H:%M:%SZ},{minute * 60},5.00,9.00,8.00,1.00,80.0,{state}")
    (folder / "log.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    (folder / "site.toml").write_text(site, encoding="utf-8")


@pytest.fixture
def place(tmp_path, monkeypatch):
    written(tmp_path)
    (tmp_path / "A.json").write_text('{"discharge_below_c": 6}', encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def ran(monkeypatch, capsys, *words):
    monkeypatch.setattr(sys, "argv", ["loamstat", "cost", *words])
    with pytest.raises(SystemExit) as ended:
        entry.main()
    out = capsys.readouterr()
    return ended.value.code or 0, out.out, out.err


TOLD = """\
Bean house: 4320 rows, 2026-01-05 00:01 to 2026-01-08 00:00 (UTC)
Fan 60 W. Energy by time of use, 2 bands, 0.28 in other hours, EUR a kWh.

night to    known h  fan h  duty %  starts  longest h   kWh  cost EUR  stored kWh  brought kWh  COP  water l
----------  -------  -----  ------  ------  ---------  ----  --------  ----------  -----------  ---  -------
2026-01-05     12.0    4.0    33.3      24        0.2  0.24      0.04           0          1.3  5.4        0
2026-01-06     24.0    8.0    33.3      48        0.2  0.48      0.12           0          2.6  5.4        0
2026-01-07     24.0    8.0    33.3      48        0.2  0.48      0.12           0          2.6  5.4        0
2026-01-08     12.0    4.0    33.3      24        0.2  0.24      0.07           0          1.3  5.4        0

week from   known h  fan h  duty %  starts  longest h   kWh  cost EUR  stored kWh  brought kWh  COP  water l
----------  -------  -----  ------  ------  ---------  ----  --------  ----------  -----------  ---  -------
2026-01-05     72.0   24.0    33.3     144        0.2  1.44      0.36           0          7.8  5.4        0

month    known h  fan h  duty %  starts  longest h   kWh  cost EUR  stored kWh  brought kWh  COP  water l
-------  -------  -----  ------  ------  ---------  ----  --------  ----------  -----------  ---  -------
2026-01     72.0   24.0    33.3     144        0.2  1.44      0.36           0          7.8  5.4        0

in all  known h  fan h  duty %  starts  longest h   kWh  cost EUR  stored kWh  brought kWh  COP  water l
------  -------  -----  ------  ------  ---------  ----  --------  ----------  -----------  ---  -------
           72.0   24.0    33.3     144        0.2  1.44      0.36           0          7.8  5.4        0
"""


def test_it_prints_the_tables_whole(place, monkeypatch, capsys):
    """Hours, kWh and money as in test_cost.test_a_day_of_three_prices, three times.

    Heat by hand: 0.1 m3/s of 1.26 kg/m3, 1014 J/kg/K, 3 K: 384 W, less 60 W of the motor: 7.8 kWh in 24 h, COP 5.4.
    """
    status, out, err = ran(monkeypatch, capsys, "log.csv", "--site", "site.toml")
    assert (status, err) == (0, "")
    assert out.startswith(TOLD)
    for line in (
        "Running by phase: charge 0 h, discharge 24.0 h.",
        "Standby, while the fan rests: 0.10 kWh, 0.02 EUR.",
        "Fixed daily charge, which the fan does not change: 1.50 EUR.",
        "Wear: 48.0 starts a day, at most 2 in an hour; the motor stands 10.",
        "A relay good for 100 000 operations lasts 5.7 years at this rate.",
        "All 144 runs whose heat is known earned what they cost or more.",
        "Outside it was below the plants' floor by 72 degree hours (C).",
        "  30 days from 2026-01-09: 14.4 kWh, 3.55 EUR (14.4 kWh, 3.55 EUR).",
    ):
        assert line in out.splitlines(), line


def test_json_holds_plain_numbers_for_each_run(place, monkeypatch, capsys):
    status, out, _ = ran(
        monkeypatch,
        capsys,
        "log.csv",
        "--site",
        "site.toml",
        "--settings",
        "A.json",
        "--open-loop",
        "--json",
        "out.json",
    )
    assert status == 0
    tree = json.loads((place / "out.json").read_text(encoding="utf-8"))
    assert [run["settings"] for run in tree["runs"]] == ["as logged", "A.json"]
    logged = tree["runs"][0]
    assert (logged["total"]["fan_kwh"], logged["total"]["fan_cost"]) == (1.44, pytest.approx(0.3552))
    assert [night["date"] for night in logged["nights"]] == ["2026-01-05", "2026-01-06", "2026-01-07", "2026-01-08"]
    assert logged["wear"]["relay_life_years"] == 5.704
    assert tree["runs"][1]["total"]["heat_out_kwh"] is None
    assert "Open loop: the temperatures stay as logged" in out


def test_figures_are_drawn_for_each_run(place, monkeypatch, capsys):
    status, out, _ = ran(
        monkeypatch, capsys, "log.csv", "--site", "site.toml", "--settings", "A.json", "--open-loop", "--out", "figures"
    )
    assert status == 0
    drawn = {path.name for path in (place / "figures").iterdir()}
    assert drawn == {"runs.csv", "running.png", "bands.png", "heat.png", "running-1.png", "bands-1.png"}
    assert all((place / "figures" / name).read_bytes()[:4] == b"\x89PNG" for name in drawn if name.endswith("png"))
    with (place / "figures" / "runs.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["settings"] == "as logged"]
    assert len(rows) == 144
    first = rows[0]
    assert (first["start"], first["end"]) == ("2026-01-05T00:10:00+00:00", "2026-01-05T00:20:00+00:00")
    assert (first["phase"], first["reason"], first["fan_kwh"], first["fan_cost"]) == (
        "discharge",
        "cold",
        "0.01000",
        "0.00120",
    )
    assert float(first["worth"]) == pytest.approx(float(first["heat_kwh"]) * 0.1, abs=1e-5)
    assert out.splitlines()[-1] == f"Cost by price band, A.json: {Path('figures') / 'bands-1.png'}"


def test_settings_without_enough_log_to_learn_from_are_refused(place, monkeypatch, capsys):
    """The house never changes in this log, so no closed loop can be had; the way out is named."""
    status, out, err = ran(monkeypatch, capsys, "log.csv", "--site", "site.toml", "--settings", "A.json")
    assert (status, out) == (1, "")
    assert err.splitlines() == [
        "loamstat: The house temperature stays at 5.0 C all the time (it moves by 0.00 K): nothing can be learned "
        "from it. Is the probe connected?",
        "To go without a learned house: add --open-loop.",
    ]


def test_missing_hours_are_told_as_a_range(tmp_path, monkeypatch, capsys):
    minutes = [*range(1, 14 * 60 + 1), *range(20 * 60 + 1, 2880)]
    written(tmp_path, minutes, SITE.replace("standby_watts = 2\n", ""))
    monkeypatch.chdir(tmp_path)
    status, out, _ = ran(monkeypatch, capsys, "log.csv", "--site", "site.toml")
    assert status == 0
    assert (
        "6.0 h are missing from the log. In them the fan took between nothing and full power: 0.84 to 1.20 kWh, "
        "0.19 to 0.32 EUR in all."
    ) in out.splitlines()


def test_bad_prices_are_refused_before_anything_is_read(tmp_path, monkeypatch, capsys):
    written(tmp_path, range(1, 60), SITE.replace('from = "16:00"', 'from = "06:00"'))
    monkeypatch.chdir(tmp_path)
    status, out, err = ran(monkeypatch, capsys, "no-such.csv", "--site", "site.toml", "--out", "figures")
    assert (status, out) == (1, "")
    assert err == (
        "loamstat: site.toml: 1 fault.\n"
        "  [[energy.band]] numbers 1 and 2 overlap: every month, every day, 06:00 to 07:00. An hour can have one "
        "price: change the months, weekdays, from or to of one of them.\n"
    )
    assert not (tmp_path / "figures").exists()


def test_a_named_power_column_of_another_logger_wins(tmp_path, monkeypatch, capsys):
    """Ten minutes at 80 W between rests at 3 W, logged each minute by another make."""
    rows = ["when,T in,T soil,blower,fan W"]
    for minute in range(40):
        on = 10 <= minute < 20
        rows.append(f"2026-01-05 01:{minute:02d}:00,5.0,9.0,{int(on)},{80 if on else 3}")
    (tmp_path / "other.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    columns = '[columns]\ntime = "when"\nhouse = "T in"\nsoil = "T soil"\nfan = "blower"\nfan_power = "fan W"\n'
    (tmp_path / "site.toml").write_text(SITE + columns, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    status, out, err = ran(monkeypatch, capsys, "other.csv", "--site", "site.toml", "--json", "out.json")
    assert (status, err) == (0, "")
    assert "Fan power as logged." in out
    total = json.loads((tmp_path / "out.json").read_text(encoding="utf-8"))["runs"][0]["total"]
    assert total["fan_kwh"] == pytest.approx(80 * 600 / 3.6e6, abs=1e-5)
    assert total["standby_kwh"] == pytest.approx(3 * 29 * 60 / 3.6e6, abs=1e-5)


def counted_by_hand():
    """Seconds of running in the demo's log by price band, counted line by line with the csv module alone.

    The demo's minutes end on full minutes, so that none lies across the edge of a band.
    """
    zone = ZoneInfo("America/New_York")
    counts = {"peak": 0, "night": 0, "other": 0}
    with gzip.open(DEMO / "log.csv.gz", "rt", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            end = datetime.datetime.fromisoformat(row["time"].replace("Z", "+00:00"))
            local = (end - datetime.timedelta(seconds=30)).astimezone(zone)
            if local.weekday() < 5 and 16 <= local.hour < 20:
                counts["peak"] += int(row["fan_s"] or 0)
            elif local.hour >= 23 or local.hour < 6:
                counts["night"] += int(row["fan_s"] or 0)
            else:
                counts["other"] += int(row["fan_s"] or 0)
    return counts


def demo_total(site):
    log = logs.read_logs([str(DEMO / "log.csv.gz")], site)
    return cost.cost(log, run_of(log), site).tree["total"]


def test_the_demo_by_time_of_use():
    """118 W; 0.41 from 16 to 20 h on weekdays, 0.15 from 23 to 6 h, 0.24 else, as the demo's site.toml says."""
    hours = {name: seconds / 3600 for name, seconds in counted_by_hand().items()}
    sums = demo_total(load_site(DEMO / "site.toml"))
    assert sums["fan_kwh"] == pytest.approx(sum(hours.values()) * 0.118, abs=1e-4)
    money = {"peak": hours["peak"] * 0.118 * 0.41, "night": hours["night"] * 0.118 * 0.15}
    money["other"] = hours["other"] * 0.118 * 0.24
    assert [band["fan_cost"] for band in sums["bands"]] == pytest.approx(
        [money["other"], money["peak"], money["night"]], abs=1e-4
    )
    assert sums["fan_cost"] == pytest.approx(sum(money.values()), abs=1e-4)


def test_the_demo_at_one_price(tmp_path):
    """The same hours at 0.24 all day."""
    text = (DEMO / "site.toml").read_text(encoding="utf-8")
    flat = text[: text.index("[[energy.band]]")] + text[text.index("[house]") :]
    (tmp_path / "flat.toml").write_text(flat, encoding="utf-8")
    sums = demo_total(load_site(tmp_path / "flat.toml"))
    assert sums["fan_cost"] == pytest.approx(sum(counted_by_hand().values()) / 3600 * 0.118 * 0.24, abs=1e-4)
    assert [band["name"] for band in sums["bands"]] == ["all hours"]


def drawn(log, site):
    return cost.cost(log, run_of(log), site)


def test_the_map_shows_minutes_run_and_leaves_missing_hours_open():
    """Six hours: rest, half an hour, all of it, then two hours missing, then all of it."""
    fan_s = [0] * 60 + [60] * 30 + [0] * 30 + [60] * 60 + [60] * 60
    at = [*range(1, 181), *range(301, 361)]
    index = (np.datetime64("2026-01-05T00:00") + np.array(at, "timedelta64[m]")).astype("datetime64[ns]")
    import pandas as pd

    log = make_log(None, 60, fan_s, times=pd.DatetimeIndex(index, tz="UTC", name="time"))
    days, share = cost_plots.shares(drawn(log, make_site()))
    assert list(days) == [np.datetime64("2026-01-05")]
    assert list(share[0][:6]) == pytest.approx([0, 0.5, 1, np.nan, np.nan, 1], nan_ok=True)
    assert np.isnan(share[0][6:]).all()


def test_the_repeated_hour_is_shown_once_as_a_share():
    """25 hours at rest but for the second of the two hours from 2 to 3: half of what the map's hour holds."""
    fan_s = [0] * 1500
    fan_s[180:240] = [60] * 60
    log = make_log("2026-10-24T22:01", 60, fan_s)
    days, share = cost_plots.shares(drawn(log, make_site(zone="Europe/Berlin")))
    assert [str(day) for day in days] == ["2026-10-25"]
    assert share[0][2] == pytest.approx(0.5)
    assert np.delete(share[0], 2) == pytest.approx(0)


def test_the_skipped_hour_stays_open_in_the_map():
    log = make_log("2026-03-28T23:01", 60, [60] * 1380)
    _, share = cost_plots.shares(drawn(log, make_site(zone="Europe/Berlin")))
    assert np.isnan(share[0][2])
    assert np.delete(share[0], 2) == pytest.approx(1)


def test_the_bars_of_bands_and_of_heat_add_up_to_the_totals():
    fan_s = np.tile(np.repeat([0, 60, 0], [10, 10, 10]), 96)
    log = make_log("2026-01-05T00:01", 60, fan_s, np.roll(np.where(fan_s > 0, 100, 0), -1), house=5, soil=9, outlet=8)
    energy = {"price_per_kwh": 0.2, "band": [{"from": "16:00", "to": "20:00", "price_per_kwh": 0.4}]}
    site = make_site(energy, fan={"airflow_m3_h": 360})
    result = drawn(log, site)
    bars = [bar for bar in cost_plots.by_band(result, site).axes[0].patches]
    assert sum(bar.get_height() for bar in bars) == pytest.approx(result.tree["total"]["fan_cost"], abs=1e-4)
    assert len({bar.get_facecolor() for bar in bars}) == 2
    heights = [bar.get_height() for bar in cost_plots.heat_by_day(result, site).axes[0].patches]
    assert sum(height for height in heights if height > 0) == pytest.approx(
        result.tree["total"]["heat_out_kwh"], abs=1e-3
    )


def test_replay_and_cost_tell_the_same_totals():
    """The two commands sum the same rows on two ways: by row prices, and by stretches of the calendar."""
    from tuner import cost_report, nights, settings_file

    site = load_site(DEMO / "site.toml")
    log = logs.read_logs([str(DEMO / "log.csv.gz")], site)
    chosen = settings_file.load_all([str(DEMO / "thrifty.json")], site.fan.most_starts_per_hour)
    for result, run in zip(
        cost_report.costs(log, chosen, site),
        [run_of(log), cost_report.replay.replay(log, *chosen[0][::-1])],
        strict=True,
    ):
        told = nights.summary(log, run, site)["total"]
        for key in ("fan_h", "charge_h", "discharge_h", "fan_kwh", "fan_cost"):
            assert result.tree["total"][key] == pytest.approx(told[key], abs=1e-3), key


def keys_of(tree):
    """Every key anywhere in a tree of dicts and lists."""
    if isinstance(tree, dict):
        return set(tree) | {key for value in tree.values() for key in keys_of(value)}
    return {key for value in tree for key in keys_of(value)} if isinstance(tree, list) else set()


def test_every_key_of_the_json_is_told_in_the_guide():
    guide = (DEMO.parents[1] / "DEVELOPERS.md").read_text(encoding="utf-8")
    site = load_site(DEMO / "site.toml")
    log = logs.read_logs([str(DEMO / "log.csv.gz")], site)
    tree = cost.cost(log, run_of(log), site).tree
    reasons = set(tree["losses"]["by_reason"])
    endings = ("_sd_kwh", "_low", "_high")
    for key in keys_of(tree) - reasons:
        bare = next((key.removesuffix(end) for end in endings if key.endswith(end)), key)
        assert f"`{key}`" in guide or f"`{bare}`" in guide or f"`{bare}_kwh`" in guide, key
