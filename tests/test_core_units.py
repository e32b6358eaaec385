"""Do sensor counts become the right hundredths, and does the dew point hold against published psychrometrics?"""

import math

import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.core import units

psychrolib.SetUnitSystem(psychrolib.SI)

# DS18B20 data sheet, table "Temperature/Data Relationship". Exact after rounding to 0.01 degC.
DATA_SHEET = [
    (0x07D0, 12500), (0x0550, 8500), (0x0191, 2506), (0x00A2, 1013), (0x0008, 50), (0x0000, 0),
    (0xFFF8, -50), (0xFF5E, -1013), (0xFE6F, -2506), (0xFC90, -5500),
]  # fmt: skip


@pytest.mark.parametrize(("register", "centi"), DATA_SHEET)
def test_ds18b20_register_gives_the_data_sheet_temperature(register, centi):
    assert units.centi_c_from_raw(units.signed_16(register)) == centi


@given(st.integers(-32767, 32767))
def test_ds18b20_rounds_alike_on_both_sides_of_zero(raw):
    assert units.centi_c_from_raw(-raw) == -units.centi_c_from_raw(raw)
    assert abs(units.centi_c_from_raw(raw) - raw * 100 / 16) <= 0.5


# T = -45 + 175 S / 65535, RH = 100 S / 65535 (3x), -6 + 125 S / 65535 clipped to 0-100 (4x): Linux kernel,
# drivers/hwmon/sht4x.c and the data sheets; values computed from the formulas. Exact after rounding.
HUMIDITY_PROBE = [
    (0x0000, -4500, 0, 0), (0x6666, 2500, 400, 440), (0x8000, 4250, 500, 565), (0xBEEF, 8552, 746, 872),
    (0xFFFF, 13000, 1000, 1000),
]  # fmt: skip


@pytest.mark.parametrize(("ticks", "centi", "deci_3x", "deci_4x"), HUMIDITY_PROBE)
def test_humidity_probe_words_give_the_published_values(ticks, centi, deci_3x, deci_4x):
    assert units.centi_c_from_sht(ticks) == centi
    assert units.deci_pct_from_sht3x(ticks) == deci_3x
    assert units.deci_pct_from_sht4x(ticks) == deci_4x


@given(st.integers(0, 0xFFFF))
def test_humidity_probe_stays_within_half_a_hundredth_of_the_formula(ticks):
    assert abs(units.centi_c_from_sht(ticks) - (17500 * ticks / 65535 - 4500)) <= 0.5 + 1e-6
    assert abs(units.deci_pct_from_sht3x(ticks) - 1000 * ticks / 65535) <= 0.5 + 1e-6


# 1-wire check bytes: application note 27 data (first row) and public test vectors; "123456789" gives A1.
ONE_WIRE_CRC = [
    ("02 1C B8 01 00 00 00", 0xA2), ("50 05 FF FF F0 FF FF FF", 0x5C), ("12 12 A2 14 5F 12 AA 12", 0x6D),
    ("50 05 4B 46 7F FF 0C 10", 0x1C), ("91 01 4B 46 7F FF 0C 10", 0x70), ("31 32 33 34 35 36 37 38 39", 0xA1),
]  # fmt: skip


@pytest.mark.parametrize(("data", "crc"), ONE_WIRE_CRC)
def test_one_wire_check_byte(data, crc):
    data = bytes.fromhex(data)
    assert units.crc8_1wire(data) == crc
    assert units.crc8_1wire(data + bytes([crc])) == 0


# Humidity probes' check byte: BE EF gives 92 in the data sheets; the others computed; "123456789" gives F7.
HUMIDITY_CRC = [
    ("BE EF", 0x92), ("00 00", 0x81), ("66 66", 0x93), ("80 00", 0xA2), ("FF FF", 0xAC), ("00", 0xAC),
    ("31 32 33 34 35 36 37 38 39", 0xF7),
]  # fmt: skip


@pytest.mark.parametrize(("data", "crc"), HUMIDITY_CRC)
def test_humidity_probe_check_byte(data, crc):
    assert units.crc8_humidity(bytes.fromhex(data)) == crc


def test_vapour_table_is_the_formula_it_claims():
    for i, entry in enumerate(units.VAPOUR_DECI_PA):
        t = units.TABLE_FROM_C + i
        assert entry == round(6112 * math.exp(17.62 * t / (243.12 + t)))


def test_vapour_pressure_against_psychrolib():
    # psychrolib GetSatVapPres (ASHRAE 2017 equations), 0 to 60 degC over water. Agreement claimed: 0.5 %.
    for centi in range(0, 6001, 7):
        assert units.vapour_deci_pa(centi) / 10 == pytest.approx(psychrolib.GetSatVapPres(centi / 100), rel=5e-3)


def test_dew_point_against_psychrolib():
    # psychrolib GetTDewPointFromRelHum. Agreement claimed: 0.3 K where the dew point is 0 degC or above,
    # 0-40 degC, 30-100 %. The largest difference seen is far smaller; hold it to 0.1 K.
    worst = 0.0
    for centi in range(0, 4001, 50):
        for deci in range(300, 1001, 10):
            expected = psychrolib.GetTDewPointFromRelHum(centi / 100, deci / 1000)
            if expected >= 0:
                worst = max(worst, abs(units.dew_point_centi_c(centi, deci) / 100 - expected))
    assert worst <= 0.1


# From the same library at single points; within 0.05 K.
DEW_POINTS = [(2500, 500, 13.864), (3500, 600, 26.068), (3000, 900, 28.177), (1000, 800, 6.713), (200, 950, 1.284)]


@pytest.mark.parametrize(("centi", "deci", "dew"), DEW_POINTS)
def test_dew_points_at_single_states(centi, deci, dew):
    assert units.dew_point_centi_c(centi, deci) / 100 == pytest.approx(dew, abs=0.05)


@given(st.integers(-20000, 20000), st.integers(-5000, 5000))
def test_dew_point_is_tame_for_any_input(centi, deci):
    dew = units.dew_point_centi_c(centi, deci)
    assert -4500 <= dew <= 6100
    if -4500 <= centi <= 6100:
        assert dew <= centi + 1


def test_dew_point_of_saturated_air_is_its_temperature():
    for centi in range(-4500, 6101, 13):  # below -20 degC a tenth of a pascal is some hundredths of a degree
        assert abs(units.dew_point_centi_c(centi, 1000) - centi) <= (2 if centi >= -2000 else 10)


@given(st.integers(-(10**6), 10**6), st.integers(1, 10**4))
def test_div_round_is_even_handed(top, bottom):
    assert units.div_round(-top, bottom) == -units.div_round(top, bottom)
    assert abs(units.div_round(top, bottom) * bottom - top) * 2 <= bottom


def test_clamp_holds_both_bounds():
    assert [units.clamp(v, -1, 1) for v in (-2, -1, 0, 1, 2)] == [-1, -1, 0, 1, 1]
