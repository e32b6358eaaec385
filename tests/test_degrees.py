"""Are degrees C and F read and told alike everywhere, and does --units change nothing but what people read?

F = 1.8 C + 32 for a temperature, 1.8 K for a difference: the definition of the scale.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.core import rows
from tuner import degrees
from tuner.site_values import check


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("7", 7), ("7C", 7), ("45F", 65 / 9), ("45 f", 65 / 9), ("-4 F", -20), ("32F", 0), ("212 degrees F", 100),
        ("-40F", -40), ("+5.5", 5.5), (".5C", 0.5), ("5.", 5), ("68°F", 20), ("20 deg C", 20),
    ],
)  # fmt: skip
def test_a_temperature_is_read_with_or_without_its_unit(text, value):
    assert degrees.parse(text) == pytest.approx(value, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "kelvin"), [("5", 5), ("5K", 5), ("5C", 5), ("9F", 5), ("-0.45 F", -0.25), ("0F", 0)]
)
def test_a_difference_has_no_zero_point(text, kelvin):
    assert degrees.parse(text, difference=True) == pytest.approx(kelvin, abs=1e-12)


@pytest.mark.parametrize("text", ["", "F", "warm", "7,5", "45 G", "7CF", "1e3", "nan", "--7", "4 5F", "45F F", "7K"])
def test_what_is_no_temperature_is_refused_with_an_example(text):
    with pytest.raises(ValueError, match=r"this is no temperature\. Write 7 or 7C, or in degrees F 45F\."):
        degrees.parse(text)


def test_what_is_no_difference_is_refused_with_an_example():
    with pytest.raises(ValueError, match=r"this is no difference of temperatures\. Write 5 or 5K, or in degrees F 9F"):
        degrees.parse("5X", difference=True)


@given(st.floats(-100, 200))
def test_what_is_told_is_read_back(value):
    for units in degrees.UNITS:
        told = degrees.marked(value, units, 2)
        assert degrees.parse(told) == pytest.approx(value, abs=0.005001)


@pytest.mark.parametrize("value", [-0.04, -0.0, 0.0, 0.04, -1e-9])
def test_zero_has_no_sign(value):
    assert degrees.fixed(value, 1) == degrees.fixed(value, 1, "+") == "0.0"
    assert degrees.apart(value, "F", 1, "+") == "+0.1 F" if value == 0.04 else "0.0 F"
    assert degrees.trimmed(value / 10) == "0"


def test_signs_and_decimals():
    assert degrees.fixed(0.06, 1, "+") == "+0.1" and degrees.fixed(-0.06, 1, "+") == "-0.1"
    assert degrees.marked(None, "F") == degrees.degrees(None, "C") == "-"
    assert [degrees.short(value, "F") for value in (7, 2, -3.25)] == ["44.6", "35.6", "26.15"]
    assert degrees.trimmed(100) == "100" and degrees.trimmed(10) == "10"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("at its lowest -0.5 degC in the 6 h after", "at its lowest 31.1 F in the 6 h after"),
        ("2 K or more, or 0.25 K", "3.6 F or more, or 0.45 F"),
        ("needs 5 K h and 12 W/K, 3 kWh", "needs 9 F h and 12 W/K, 3 kWh"),
        ("in C, F or K; T1 K", "in C, F or K; T1 K"),
        ("moved by 10 K.", "moved by 18 F."),
    ],
)
def test_sentences_in_degrees_f(text, told):
    assert degrees.sentence(text, "F") == told
    assert degrees.sentence(text, "C") == text.replace("degC", "C")


def test_differences_among_the_settings_are_known():
    """A row whose words speak of a difference is one; all others are temperatures."""
    found = {row[0] for row in rows.TABLE if row[4][0] == "C" and degrees.is_difference(row[0])}
    assert found == {
        "charge_band_c", "discharge_band_c", "least_gain_c", "gain_band_c", "soil_band_c", "frost_band_c",
        "heat_band_c", "vent_band_c",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "value", "found"),
    [
        ("temperature", "36F", 20 / 9), ("temperature", "2 C", 2), ("temperature", 2, 2), ("temperature", "80F", None),
        ("temperature", "mild", None), ("temperature", True, None), ("difference", "0.9F", 0.5),
        ("difference", "37F", None),
    ],
)  # fmt: skip
def test_site_toml_takes_a_unit(kind, value, found):
    value, want = check(kind, value, -20, 20, "degrees C")
    if found is None:
        assert value is None and ("45F" if kind == "temperature" else "9F") in want
    else:
        assert (value, want) == (pytest.approx(found, abs=1e-6), "")
