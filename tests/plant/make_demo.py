"""Write tuner/demo: the invented log, its site.toml, three settings files and a README.

    python -m tests.plant.make_demo            into tuner/demo
    python -m tests.plant.make_demo FOLDER     elsewhere

The log comes from the plant (tests/plant/README.md) driven by controller.core.decide, read by probes with noise,
1/16 degC steps, lag and a few lost readings. Same sources, same bytes.
"""

import json
import sys
from pathlib import Path

from tests.plant import demo_house, log, run
from tests.plant.sensors import Sensors

HOME = Path(__file__).parents[2] / "tuner" / "demo"
DAY = 86400
# the outlet probe came loose for two hours, the soil probe's plug for twenty minutes
PROBES = Sensors(
    offset=(0.1, -0.1, 0.05, 0.2, 0.1, 1.0),
    sun_k_per_w=0.0015,
    drop_rate=0.0005,
    lost=(("outlet", 4 * DAY + 50400, 4 * DAY + 57600), ("soil", 9 * DAY + 30000, 9 * DAY + 31200)),
)

SITE = """\
# Invented, like everything in this folder: see README.md.

[site]
name = "Larkfold sunk house (invented)"
time_zone = "America/New_York"
latitude = 36.1
longitude = -79.95
elevation_m = 273
units = "C"

[needs]
frost_floor_c = 2.0
hot_limit_c = 34.0

[fan]
watts = 118
speed_control = false
airflow_m3_h = 780
most_starts_per_hour = 8
relay_life_operations = 60000

[energy]
currency = "EUR"
price_per_kwh = 0.24
backup_price_per_kwh = 0.16

[[energy.band]]
weekdays = ["mon", "tue", "wed", "thu", "fri"]
from = "16:00"
to = "20:00"
price_per_kwh = 0.41

[[energy.band]]
from = "23:00"
to = "06:00"
price_per_kwh = 0.15

[house]
floor_m2 = 25.2
volume_m3 = 47
cover_m2 = 48.2
cover = "twin-wall sheet"

[house.pipes]
count = 8
length_m = 6.9
diameter_m = 0.10
depth_m = 0.65
spacing_m = 0.40
"""

README = """\
# The demonstration's data: invented

Larkfold does not exist, and neither do its sunk propagating house, its babaco and pepino in tubs, or this log.
It is here so that the commands have something to work on, and so that tests know what truly happened.

| file | what |
|---|---|
| log.csv.gz | a fortnight of rows, one a minute, in the board's own format |
| site.toml | the invented house, its plants' needs, its fan and its prices |
| as-logged.json | the settings the log was made with |
| thrifty.json | fewer fan hours |
| cautious.json | warmer nights |

How it was made: `python -m tests.plant.make_demo`, from a clone of the project. A simulation that is finer than the
model the tuner fits, and shares no code with it (tests/plant/README.md), was driven by the board's own decision
code through probes with noise, 1/16 degC steps, lag, small offsets and a few lost readings: the outlet probe for
two hours on the fifth day, the soil probe for twenty minutes on the tenth. The weather is one fortnight of a typical
meteorological year (NREL TMY3 723170, as shipped with the open library pvlib), made {warmer:g} K warmer, with clouds
and gusts between the hours from a stated random process.

What happened in it, by the simulation's own account:

{story}
"""


def simulated(days=demo_house.DAYS):
    """The Result behind the log; fewer days give its beginning."""
    return run.simulate(
        demo_house.HOUSE,
        demo_house.WEATHER,
        demo_house.AS_LOGGED,
        days=days,
        warmup_days=demo_house.WARMUP_DAYS,
        sensors_of=PROBES,
        seed=demo_house.SEED,
        warmup_settings=demo_house.AS_LOGGED,
    )


def story(result):
    """A table of the days, local time. -> text"""
    lines = [
        "| day | outside min | house min | house max | soil at the end | sun kWh/m2 | charged h | discharged h |",
        "|---|---|---|---|---|---|---|---|",
    ]
    t = result.truth
    for day in range(demo_house.DAYS):
        span = slice(day * 1440, (day + 1) * 1440)
        lines.append(
            f"| {day + 1} | {t['outside'][span].min():.1f} | {t['house'][span].min():.1f} "
            f"| {t['house'][span].max():.1f} "
            f"| {t['soil'][span][-1]:.1f} | {t['solar'][span].sum() / 60000:.1f} "
            f"| {(result.phase[span] == 1).sum() / 60:.1f} | {(result.phase[span] == 2).sum() / 60:.1f} |"
        )
    return "\n".join(lines)


def write(folder):
    """Write all files into folder (made when missing). -> names written"""
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    result = simulated()
    log.write_log(result, folder / "log.csv.gz")
    (folder / "site.toml").write_text(SITE, encoding="utf-8")
    for name, mapping in demo_house.SETTINGS.items():
        (folder / f"{name}.json").write_text(json.dumps(mapping, indent=2) + "\n", encoding="utf-8")
    words = README.format(warmer=demo_house.WEATHER.warmer, story=story(result))
    (folder / "README.md").write_text(words, encoding="utf-8")
    return sorted(p.name for p in folder.iterdir() if p.is_file())


def main():
    """Write the files and say which."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else HOME
    for name in write(folder):
        print(f"{folder / name}")


if __name__ == "__main__":
    main()
