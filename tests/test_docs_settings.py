"""Do the starting settings pass every check, and do the pages explain every setting, with the values of the files?"""

import re
import textwrap
import tomllib

import pytest

from controller.core import rows, settings
from tests.docs_help import NOTES, ROOT, blocks, flat, read
from tests.tools import play_starts, write_tables
from tuner.errors import SettingsError
from tuner.settings_file import load_settings
from tuner.site import site_from_tree

KEYS = [row[0] for row in rows.TABLE]
CHOOSING, SETTINGS = read(NOTES / "choosing.md"), read(NOTES / "settings.md")
STARTS_PER_HOUR = 6  # what the parts page tells of the default run and rest; no file may ask for more


@pytest.mark.parametrize("file", [file for _, file in write_tables.STARTS])
def test_a_starting_file_passes_every_check(file):
    loaded = load_settings(NOTES / "starting-settings" / file, STARTS_PER_HOUR)
    assert settings.to_mapping(loaded) == write_tables.load_start(file)  # whole: no key left to a default
    assert list(write_tables.load_start(file)) == KEYS


def test_every_starting_file_is_on_the_page():
    files = {path.name for path in (NOTES / "starting-settings").iterdir()}
    assert files == {file for _, file in write_tables.STARTS}


@pytest.mark.parametrize("file", [file for _, file in write_tables.STARTS])
def test_the_reasons_tell_the_values_of_the_file(file):
    section = CHOOSING.partition(f"starting-settings/{file})")[2].partition("\n## ")[0].partition("\n### ")[0]
    told = re.findall(r"`(\w+)` (-?\d+(?:\.\d+)?)", section)
    values = write_tables.load_start(file)
    assert len(told) >= 6
    assert [(key, values[key]) for key, _ in told] == [(key, float(number)) for key, number in told]
    default = settings.to_mapping(rows.defaults())
    changed = {key for key in KEYS if values[key] != default[key]}
    silent = changed - {key for key, _ in told}
    bands = {key for key in silent if key.endswith("_band_c")}
    follow = {"humid_charge_above_c", "heater_fitted", "frost_alarm_c", "hot_alarm_c", "soil_ceiling_c", "soil_floor_c"}
    assert silent <= bands | follow, f"no reason given for {sorted(silent - bands - follow)}"


@pytest.mark.parametrize("file", [file for _, file in write_tables.STARTS])
def test_a_starting_file_keeps_to_the_pages_own_steps(file):
    s = write_tables.load_start(file)
    assert 1.5 <= s["discharge_below_c"] - s["frost_guard_c"] <= 4
    assert 0.5 <= s["frost_alarm_c"] - s["frost_guard_c"] <= 1
    if s["heater_fitted"]:
        assert s["frost_guard_c"] <= s["heat_below_c"] < s["discharge_below_c"]


def test_every_setting_is_explained_once():
    explained = re.findall(r"\*\*(\w+)\*\*", SETTINGS)
    named = [word for word in explained if word in KEYS]
    assert sorted(named) == sorted(KEYS)


def test_settings_named_on_any_page_exist():
    like = re.compile(r"`([a-z]+(?:_[a-z]+)*_(?:c|s|pct))`")
    for page in NOTES.glob("*.md"):
        for key in like.findall(read(page)):
            assert key in KEYS + ["house_c", "soil_c", "outlet_c", "outside_c", "humidity_pct", "fan_pct", "fan_s"], (
                page,
                key,
            )


def test_the_example_in_the_settings_page_is_a_settings_file(tmp_path):
    (example,) = blocks(SETTINGS, "json")
    path = tmp_path / "example.json"
    path.write_text(example, encoding="utf-8")
    assert load_settings(path).frost_guard_centi_c == 200


def test_the_default_starts_an_hour_on_the_page():
    s = rows.defaults()
    assert 3600 / (s.min_run_s + s.min_rest_s) == STARTS_PER_HOUR
    assert "3600 / (300 + 300) = 6 an hour" in flat(NOTES / "settings.md")


def test_a_wrong_starting_file_would_be_found(tmp_path):
    path = tmp_path / "bad.json"
    path.write_text('{"frost_guard_c": 9, "discharge_below_c": 5}', encoding="utf-8")
    with pytest.raises(SettingsError, match="frost_guard_c"):
        load_settings(path, STARTS_PER_HOUR)


@pytest.mark.slow
def test_the_played_table_and_what_is_learned_from_it():
    """The plant's own numbers; 0.2 K and 3 h of slack for other processors' rounding over 60,000 steps."""
    table = CHOOSING.partition(play_starts.BEGIN)[2].partition(play_starts.END)[0]
    shown = [re.findall(r"\| ([^|]+?) (?=\|)", line) for line in table.splitlines() if " h |" in line]
    played = play_starts.numbers()
    for cells, (name, low, below, hours, soil) in zip(shown, played, strict=True):
        values = [float(cell.split()[0]) for cell in cells[1:]]
        assert cells[0] == name and values[1] == below
        assert values[0] == pytest.approx(low, abs=0.2) and values[3] == pytest.approx(soil, abs=0.2)
        assert values[2] == pytest.approx(hours, abs=3)
    assert 5 <= played[0][1] - played[3][1] <= 6
    citrus = write_tables.load_start("frost-free-citrus.json")
    early = play_starts.row_of("early", {**citrus, "discharge_below_c": 8})
    assert 0.05 < played[0][1] - early[1] < 0.5
    lows = [play_starts.play({**citrus, "max_run_s": longest}, True).truth["house"].min() for longest in (14400, 86400)]
    assert 0.7 < lows[1] - lows[0] < 1.4


def test_the_site_toml_of_the_readme_is_taken():
    text = read(ROOT / "README.md").partition("## site.toml")[2].partition("\nEvery key")[0]
    found, faults = site_from_tree(tomllib.loads(textwrap.dedent(text)))
    assert faults == [] and found.needs.frost_floor_c == 2 and len(found.energy.bands) == 1
