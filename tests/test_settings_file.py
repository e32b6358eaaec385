"""Is a wrong settings file refused with every fault at once, and what is written read back the same?

Messages are compared whole. The core's own words are tested with the core; here: the file, and what the tuner adds.
"""

import json

import pytest

from controller.core.rows import TABLE, defaults
from controller.core.settings import from_mapping
from tuner import settings_file
from tuner.errors import SettingsError


def written(folder, text, name="a.json"):
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def refusal(path, starts=None):
    with pytest.raises(SettingsError) as caught:
        settings_file.load_settings(path, starts)
    return str(caught.value)


def test_an_empty_object_is_the_defaults(tmp_path):
    assert settings_file.load_settings(written(tmp_path, "{}")) == defaults()


def test_a_file_with_a_byte_order_mark_is_read(tmp_path):
    path = tmp_path / "a.json"
    path.write_bytes(b'\xef\xbb\xbf{"max_run_s": 3600}')
    assert settings_file.load_settings(path).max_run_s == 3600


def test_what_is_written_reads_back_the_same(tmp_path):
    chosen, faults = from_mapping({"charge_above_c": 21.25, "frost_guard_c": -1.5, "heater_fitted": 1})
    assert not faults
    text = settings_file.settings_text(chosen)
    assert settings_file.load_settings(written(tmp_path, text)) == chosen
    assert list(json.loads(text)) == [row[0] for row in TABLE]


def test_all_faults_of_a_file_at_once(tmp_path):
    text = '{"charge_abov_c": 20, "min_run_s": "long", "least_gain_c": NaN, "soil_floor_c": 1e999, "max_run_s": true}'
    path = written(tmp_path, text)
    assert refusal(path) == "\n  ".join(
        [
            f"{path}: 5 faults.",
            "least_gain_c: nan is out of range. It must be 1 to 10 degrees C.",
            "soil_floor_c: inf is out of range. It must be -1 to 20 degrees C.",
            "min_run_s: 'long' is not a number. It must be 60 to 1800 seconds.",
            "max_run_s: True is not a number. It must be 1800 to 86400 seconds.",
            '"charge_abov_c" is not a setting. The nearest is "charge_above_c".',
        ]
    )


def test_rows_that_contradict_each_other(tmp_path):
    path = written(tmp_path, '{"discharge_below_c": 19, "frost_guard_c": 1}')
    assert refusal(path) == "\n  ".join(
        [
            f"{path}: 1 fault.",
            "charge_above_c - charge_band_c must be at least 3 above discharge_below_c + discharge_band_c "
            "(now charge_above_c 24, charge_band_c 2, discharge_below_c 19, discharge_band_c 1.5).",
        ]
    )


NOT_JSON = 'Write {"setting": number, ...} with a comma between the settings and none after the last.'


@pytest.mark.parametrize(
    ("text", "place", "what"),
    [
        ("", "line 1, column 1", "Expecting value"),
        ('{"min_run_s": 300,\n "max_run_s": }', "line 2, column 15", "Expecting value"),
        ("{'min_run_s': 300}", "line 1, column 2", "Expecting property name enclosed in double quotes"),
        ('{"min_run_s": 300} {', "line 1, column 20", "Extra data"),
        ('{"min_run_s": 300 "max_run_s": 1}', "line 1, column 19", "Expecting ',' delimiter"),
    ],
)
def test_text_that_is_not_json(tmp_path, text, place, what):
    path = written(tmp_path, text)
    assert refusal(path) == f"{path}, {place}: not valid JSON: {what}.\n{NOT_JSON}"


EXAMPLE = 'Write {"setting": number, ...}, for example {"discharge_below_c": 5}.'


@pytest.mark.parametrize(
    ("text", "kind"), [("[1]", "list"), ('"x"', "text"), ("3", "single value"), ("null", "single value")]
)
def test_json_that_holds_no_settings(tmp_path, text, kind):
    path = written(tmp_path, text)
    assert refusal(path) == f"{path}: holds a {kind}, not settings.\n{EXAMPLE}"


@pytest.mark.parametrize("text", ["[" * 100_000, '{"min_run_s": ' + "9" * 5000 + "}"])
def test_json_without_end(tmp_path, text):
    path = written(tmp_path, text)
    told = f"{path}: not a settings file: brackets nested too deep, or a number of thousands of digits.\n{EXAMPLE}"
    assert refusal(path) == told


def test_a_key_named_twice(tmp_path):
    path = written(tmp_path, '{"min_run_s": 300, "min_run_s": 600}')
    assert refusal(path) == f"{path}: 1 fault.\n  min_run_s: named twice. Keep one of the two."


def test_the_motors_starts_per_hour(tmp_path):
    path = written(tmp_path, '{"min_run_s": 120, "min_rest_s": 60}')
    assert settings_file.load_settings(path, 20.0).min_run_s == 120
    assert refusal(path, 6.0) == (
        f"{path}: 1 fault.\n  min_run_s + min_rest_s = 180 s lets the fan start 20 times an hour; "
        "site.toml allows 6 ([fan] most_starts_per_hour). Make the sum at least 600 s."
    )


def test_the_faults_of_several_files_are_told_together(tmp_path):
    one = written(tmp_path, '{"min_run_s": 1}', "one.json")
    two = written(tmp_path, "[]", "two.json")
    good = written(tmp_path, "{}", "good.json")
    with pytest.raises(SettingsError) as caught:
        settings_file.load_all([str(one), str(good), str(two), str(good)])
    assert str(caught.value) == "\n".join(
        [
            f"{one}: 1 fault.\n  min_run_s: 1 is out of range. It must be 60 to 1800 seconds.",
            f"{two}: holds a list, not settings.\n{EXAMPLE}",
            f"{good}: named twice. Compare different files.",
        ]
    )
    assert [name for name, _ in settings_file.load_all([str(good)])] == [str(good)]


def test_files_that_cannot_be_read(tmp_path):
    gone = tmp_path / "gone.json"
    assert refusal(gone) == f"{gone}: there is no such file.\nCheck the name; a settings file (JSON) is needed here."
    assert refusal(tmp_path) == f"{tmp_path}: this is a folder.\nName a settings file (JSON) inside it."
