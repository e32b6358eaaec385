"""Does a log row survive packing, and does it read as the CSV that the tuner expects?"""

import binascii
import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.core import decide, record
from controller.core.units import LOST
from tests.core_help import DEFAULTS, state

ROW = record.Row(9825, 45296, 86400, 1206, -5, LOST, -1234, 875, 1, 70, 42, 1, 0, 4, 0b1001)

temperature = st.integers(-4000, 7000) | st.just(LOST)
rows_of = st.builds(
    record.Row, st.just(0), st.just(0), st.just(0), temperature, temperature, temperature, temperature,
    st.integers(0, 1000) | st.just(LOST), st.integers(0, 4), st.integers(0, 100), st.integers(0, 255),
    st.integers(0, 1), st.integers(0, 1), st.integers(0, 32), st.integers(0, 1023),
)  # fmt: skip


def test_header_is_the_contract():
    assert record.HEADER == (
        "time,uptime_s,house_c,soil_c,outlet_c,outside_c,humidity_pct,phase,fan_pct,fan_s,heater,vent,reason,alarms"
    )


def test_csv_line_in_full():
    assert record.csv_line(ROW) == (
        "2026-11-25T12:34:56Z,86400,12.06,-0.05,,-12.34,87.5,charge,70,42,1,0,hot,frost soil-lost"
    )
    unset = ROW._replace(day=record.NO_DAY, humidity_deci_pct=LOST, alarms=0)
    assert record.csv_line(unset) == ",86400,12.06,-0.05,,-12.34,,charge,70,42,1,0,hot,"


@given(rows_of)
def test_a_row_is_sixteen_bytes_there_and_back(row):
    packed = record.pack(row)
    assert len(packed) == 16
    assert record.unpack(packed, 0, 0, 0) == row


def test_running_time_over_255_s_is_held():
    assert record.unpack(record.pack(ROW._replace(fan_s=300)), 0, 0, 0).fan_s == 255


@given(st.binary(max_size=80))
def test_crc_is_the_standard_one(data):
    # CRC-16 with polynomial 0x1021 and start 0xFFFF: the standard library's crc_hqx is the same.
    assert record.crc16(data) == binascii.crc_hqx(data, 0xFFFF)


def test_crc_check_value():
    assert record.crc16(b"123456789") == 0x29B1


@given(st.lists(rows_of, min_size=1, max_size=5), st.integers(0, 40000), st.integers(0, 86399), st.integers(0, 2**29))
def test_a_block_gives_its_rows_back_a_minute_apart(rows, day, second, uptime_s):
    first = rows[0]._replace(day=day, second=second, uptime_s=uptime_s)
    block = record.pack_block(first, [record.pack(row) for row in rows])
    assert record.block_length(block) == len(block) == 18 + 16 * len(rows)
    start = datetime.datetime(2000, 1, 1) + datetime.timedelta(days=day, seconds=second)
    for i, (back, row) in enumerate(zip(record.unpack_block(block), rows, strict=True)):
        now = start + datetime.timedelta(minutes=i)
        assert record.time_text(back.day, back.second) == now.isoformat() + "Z"
        assert back.uptime_s == uptime_s + 60 * i
        assert back._replace(day=0, second=0, uptime_s=0) == row


def test_a_block_without_a_clock_keeps_its_uptime():
    first = ROW._replace(day=record.NO_DAY, second=0)
    back = record.unpack_block(record.pack_block(first, [record.pack(ROW)] * 2))
    assert [(r.day, r.second, r.uptime_s) for r in back] == [(-1, 0, 86400), (-1, 0, 86460)]


def test_any_flipped_bit_and_any_cut_is_noticed():
    block = record.pack_block(ROW, [record.pack(ROW)] * 2)
    for place in range(len(block)):
        for bit in range(8):
            damaged = bytearray(block)
            damaged[place] ^= 1 << bit
            assert record.unpack_block(bytes(damaged)) == []
    for length in range(len(block)):
        assert record.unpack_block(block[:length]) == []
    assert record.unpack_block(block + b"x") == []


@pytest.mark.parametrize("head", [b"", b"L" * 15, b"M\x01\x01" + b"\0" * 13, b"L\x02\x01" + b"\0" * 13,
                                  b"L\x01\0" + b"\0" * 13])  # fmt: skip
def test_what_is_no_head_is_no_block(head):
    assert record.block_length(head) == 0


@given(st.integers(0, 73000))
def test_dates_are_the_calendars(day):
    date = datetime.date(2000, 1, 1) + datetime.timedelta(days=day)
    assert record.date_of(day) == (date.year, date.month, date.day)


def test_leap_days():
    for text in ("2000-02-29", "2000-03-01", "2024-02-29", "2100-02-28", "2100-03-01", "2099-12-31"):
        date = datetime.date.fromisoformat(text)
        assert record.time_text((date - datetime.date(2000, 1, 1)).days, 0) == text + "T00:00:00Z"


@pytest.mark.parametrize(("number", "places", "text"), [
    (1206, 2, "12.06"), (-5, 2, "-0.05"), (0, 2, "0.00"), (-100, 2, "-1.00"), (LOST, 2, ""), (1000, 1, "100.0"),
    (5, 1, "0.5"),
])  # fmt: skip
def test_decimals(number, places, text):
    assert record.decimal_text(number, places) == text


def test_row_of_a_moment():
    now = state(phase=2, fan=1, heater=1)
    row = record.row_of(1, 2, 3, (4, 5, 6, 7, 8), now.deciding, decide.fan_pct(DEFAULTS, now), 9, 10, 11)
    assert row == record.Row(1, 2, 3, 4, 5, 6, 7, 8, 2, 100, 9, 1, 0, 10, 11)
