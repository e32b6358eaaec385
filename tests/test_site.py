"""Is a wrong site.toml refused with every fault named at once, and a right one read as written?

The messages are compared whole. Values are invented.
"""

from datetime import date

import pytest

from tuner.errors import SiteError
from tuner.site import COVERS, FIELDS, NEEDED, Band, load_site, site_from_tree

SHORT = """
[site]
time_zone = "America/Halifax"
[needs]
frost_floor_c = 2
hot_limit_c = 36.5
[fan]
watts = 62
[energy]
price_per_kwh = 0.21
"""

LONG = """
[site]
name = "the long house"
time_zone = "Pacific/Auckland"
latitude = -41.3
longitude = 174.8
elevation_m = 20
units = "F"
[needs]
frost_floor_c = 1.5
hot_limit_c = 38
[fan]
watts = 90
speed_control = true
airflow_m3_h = 700
most_starts_per_hour = 6
relay_life_operations = 30000
standby_watts = 2
drive_watts = 6
motor_in_air = false
[[fan.point]]
percent = 70
watts = 38
[[fan.point]]
percent = 40
watts = 14
[energy]
currency = "NZD"
backup_price_per_kwh = 0.3
holidays = [2026-12-25, "2026-12-26"]
daily_charge = 0.45
[[energy.band]]
name = "night"
months = [5, 6, 7, 8]
from = "23:00"
to = "07:30"
price_per_kwh = 0.11
[[energy.band]]
months = [5, 6, 7, 8]
from = "07:30"
to = "23:00"
price_per_kwh = 0.24
[[energy.band]]
months = [1, 2, 3, 4, 9, 10, 11, 12]
price_per_kwh = 0.2
[house]
floor_m2 = 24
volume_m3 = 60
cover_m2 = 70
cover = "double film"
[house.pipes]
count = 6
length_m = 7.5
diameter_m = 0.1
depth_m = 0.6
spacing_m = 0.4
[columns]
time = "when"
house = "T in"
missing = ["n/a", "---"]
day_first = true
decimal_comma = false
"""


def written(folder, text):
    path = folder / "site.toml"
    path.write_text(text, encoding="utf-8")
    return path


def refusal(path):
    with pytest.raises(SiteError) as caught:
        load_site(path)
    return str(caught.value)


def test_the_least_file_takes_the_defaults_of_the_table(tmp_path):
    site = load_site(written(tmp_path, SHORT))
    parts = {"site": site.site, "needs": site.needs, "fan": site.fan, "energy": site.energy}
    parts |= {"house": site.house, "house.pipes": site.house.pipes, "columns": site.columns}
    for section, key, *_, default in FIELDS:
        if default is not NEEDED and "." not in section.replace("house.pipes", "") and key != "price_per_kwh":
            assert getattr(parts[section], key) == default, key
    assert (site.site.time_zone, site.fan.watts, site.energy.price_per_kwh) == ("America/Halifax", 62, 0.21)
    assert (site.needs.frost_floor_c, site.needs.hot_limit_c) == (2, 36.5)
    assert site.energy.bands == ()


def test_every_value_of_the_long_file_is_read(tmp_path):
    site = load_site(written(tmp_path, LONG))
    assert site.energy.bands == (
        Band((5, 6, 7, 8), (0, 1, 2, 3, 4, 5, 6, 7), 1380, 450, 0.11, "night"),
        Band((5, 6, 7, 8), (0, 1, 2, 3, 4, 5, 6, 7), 450, 1380, 0.24),
        Band((1, 2, 3, 4, 9, 10, 11, 12), (0, 1, 2, 3, 4, 5, 6, 7), 0, 1440, 0.2),
    )
    assert site.energy.holidays == (date(2026, 12, 25), date(2026, 12, 26))
    assert site.energy.price_per_kwh is None
    assert vars(site.house.pipes) == {
        "count": 6,
        "length_m": 7.5,
        "diameter_m": 0.1,
        "depth_m": 0.6,
        "spacing_m": 0.4,
    }
    assert (site.house.cover, site.columns.house, site.columns.missing) == (
        "double film",
        "T in",
        ("n/a", "---"),
    )
    assert site.fan.points == ((40, 14), (70, 38))
    assert (site.fan.standby_watts, site.fan.drive_watts, site.fan.motor_in_air) == (2, 6, False)
    assert site.energy.daily_charge == 0.45
    assert (site.columns.day_first, site.columns.decimal_comma, site.columns.soil) == (True, False, None)
    assert (site.fan.speed_control, site.fan.relay_life_operations, site.site.units) == (True, 30000, "F")


def test_all_faults_at_once(tmp_path):
    path = written(
        tmp_path,
        """
[site]
time_zone = "Europe/Berln"
latitude = 91
units = "K"
nmae = "x"
[needs]
frost_floor_c = 30
hot_limit_c = nan
[fan]
watts = "sixty"
speed_control = 1
relay_life_operations = 3e4
[energy]
holidays = ["25.12.2026"]
[[energy.band]]
months = [13]
weekdays = ["monday"]
from = "7"
to = "24:01"
[[energy.band]]
from = "06:00"
to = "06:00"
price_per_kwh = true
[house]
pipes = 6
cover = "bubble"
[columns]
missing = "n/a"
[fans]
watts = 2
""",
    )
    covers = ", ".join(f'"{word}"' for word in COVERS)
    assert refusal(path) == "\n  ".join(
        [
            f"{path}: 20 faults.",
            '[fans]: there is no such section. Did you mean "fan"?',
            "[house] pipes = 6: a section is needed. Write [house.pipes].",
            '[site] nmae: there is no such key. Did you mean "name"?',
            '[site] time_zone = "Europe/Berln": It must be a time zone name, such as "Pacific/Auckland". '
            'Did you mean "Europe/Berlin"?',
            "[site] latitude = 91: It must be a number from -90 to 90 (degrees, north positive).",
            '[site] units = "K": It must be one of "C", "F".',
            "[needs] frost_floor_c = 30: It must be -20 to 20 degrees C (-4 to 68 F): a number such as 7 in degrees C, "
            'or text with its unit such as "7C" or "45F".',
            "[needs] hot_limit_c = nan: It must be 15 to 60 degrees C (59 to 140 F): a number such as 7 in degrees C, "
            'or text with its unit such as "7C" or "45F".',
            '[fan] watts = "sixty": It must be a number from 1 to 5000 (watts).',
            "[fan] speed_control = 1: It must be true or false.",
            "[fan] relay_life_operations = 30000.0: It must be a whole number from 1000 to 100000000 (operations).",
            '[energy] holidays = ["25.12.2026"]: '
            'It must be a country such as "NZ" or "US-NC", or a list of dates such as [2026-12-25].',
            f'[house] cover = "bubble": It must be one of {covers}.',
            '[columns] missing = "n/a": It must be a list of texts, such as ["n/a", "---"].',
            "[[energy.band]] number 1: months = [13]: It must be a list of months 1 to 12, such as [11, 12, 1].",
            '[[energy.band]] number 1: weekdays = ["monday"]: '
            'It must be a list of weekdays, such as ["mon", "tue"]; "holiday" counts as one.',
            '[[energy.band]] number 1: from = "7": It must be a time of day from "00:00" to "24:00".',
            '[[energy.band]] number 1: to = "24:01": It must be a time of day from "00:00" to "24:00".',
            "[[energy.band]] number 1: price_per_kwh: missing. "
            "It must be a number from 0 to 1000 (money per kilowatt hour).",
            "[[energy.band]] number 2: price_per_kwh = true: "
            "It must be a number from 0 to 1000 (money per kilowatt hour).",
        ]
    )


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (
            ("hot_limit_c = 36.5", "hot_limit_c = 15"),
            "[needs] hot_limit_c = 15 C (59 F): it must be at least 5 K (9 F) above frost_floor_c, "
            "which is 12 C (53.6 F).",
        ),
        (
            ("price_per_kwh = 0.21", ""),
            "[energy] price_per_kwh: missing. Give one price, or price bands as [[energy.band]].",
        ),
        (("watts = 62", ""), "[fan] watts: missing. It must be a number from 1 to 5000 (watts)."),
        (
            ("watts = 62", "watts = -inf"),
            "[fan] watts = -inf: It must be a number from 1 to 5000 (watts).",
        ),
        (
            ("price_per_kwh = 0.21", 'band = [{from = "06:00", to = "06:00", price_per_kwh = 1}]'),
            "[[energy.band]] number 1: from and to are the same time: no hour lies between them.",
        ),
        (
            ("price_per_kwh = 0.21", "price_per_kwh = 1\nband = 3"),
            "[energy] band: a list of sections is needed. Write [[energy.band]] above each.",
        ),
        (
            ("[site]", "fan_watts = 3\n[site]"),
            "[fan_watts]: there is no such section.",
        ),
        (
            ("[site]", "house = 3\n[site]"),
            "house = 3: a section is needed. Write [house] on a line of its own.",
        ),
    ],
)
def test_one_fault(tmp_path, change, fault):
    text = SHORT.replace("frost_floor_c = 2", "frost_floor_c = 12") if "hot_limit" in fault else SHORT
    path = written(tmp_path, text.replace(*change))
    assert refusal(path) == f"{path}: 1 fault.\n  {fault}"


def test_text_that_is_not_toml(tmp_path):
    path = written(tmp_path, "[site]\nname = \n")
    assert refusal(path) == (
        f"{path}: not valid TOML: Invalid value (at line 2, column 8).\n"
        "Write each value as key = value, text in double quotes."
    )


def test_files_that_cannot_be_read(tmp_path):
    gone = tmp_path / "none.toml"
    assert refusal(gone) == f"{gone}: there is no such file.\nCheck the name; a site.toml is needed here."
    assert refusal(tmp_path) == f"{tmp_path}: this is a folder.\nName a site.toml inside it."
    odd = tmp_path / "odd.toml"
    odd.write_bytes(b"[site]\nname = '\xff'\n")
    assert refusal(odd) == (
        f"{odd}: byte 16 (0xFF) is not UTF-8 text.\n"
        "Save a site.toml as plain UTF-8 text, or check that this is the right file."
    )


def test_no_tree_whatever_ends_in_a_traceback():
    """Every kind of value in every place is either taken or named in a fault."""
    odd = [None, True, -1, 10**400, float("nan"), "", "x" * 500, [], [[]], {}, {"a": 1}, date(2026, 1, 1)]
    for section, key, *_ in FIELDS:
        for value in odd:
            tree = {}
            place = tree
            for part in section.split("."):
                place = place.setdefault(part, {})
            place[key] = value
            if section == "energy.band":
                tree["energy"]["band"] = [tree["energy"]["band"]]
            site, faults = site_from_tree(tree)
            assert site is None and faults
