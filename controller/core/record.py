"""The log row: its columns, its 16 packed bytes, its CSV form, and the block that rows are kept in.

What lives here: the one description of the log that the board writes and the tuner reads.
What never does: a file, a clock. Days count from 2000-01-01 UTC, so that every int stays below 2**30.
"""

from collections import namedtuple

from controller.core.reasons import ALARMS, PHASE_WORDS, REASONS
from controller.core.units import LOST

HEADER = "time,uptime_s,house_c,soil_c,outlet_c,outside_c,humidity_pct,phase,fan_pct,fan_s,heater,vent,reason,alarms"

NO_DAY = -1  # the clock is not set
NO_HUMIDITY = 0xFFFF
VERSION = 1
ROW_BYTES, HEAD_BYTES, CRC_BYTES = 16, 16, 2
LONGEST_BLOCK = 255  # rows
ROW_STEP_S = 60  # rows in one block follow each other by this; a row that does not starts a block

# One row: what held during the time before it ended (fan_s: seconds the fan ran since the row before) and what
# was read at its end. day NO_DAY while the clock is not set. A temperature or humidity that is LOST was not trusted.
Row = namedtuple(
    "Row",
    "day second uptime_s house_centi_c soil_centi_c outlet_centi_c outside_centi_c humidity_deci_pct "
    "phase fan_pct fan_s heater vent reason alarms",
)


def row_of(day, second, uptime_s, reading_now, deciding, pct, fan_s, reason, alarms):
    """Return the Row of this moment. reading_now: the values trusted now, as screen.logged gives them."""
    house, soil, outlet, outside, humidity = reading_now
    return Row(
        day, second, uptime_s, house, soil, outlet, outside, humidity,
        deciding.phase, pct, fan_s, deciding.heater, deciding.vent, reason, alarms,
    )  # fmt: skip


def _put(buffer, place, number):
    buffer[place] = number & 0xFF
    buffer[place + 1] = (number >> 8) & 0xFF


def _get(data, place):
    return data[place] | data[place + 1] << 8


def _get_signed(data, place):
    number = _get(data, place)
    return number - 65536 if number >= 32768 else number


def pack(row):
    """Return a Row without its time as 16 bytes, low byte first."""
    out = bytearray(ROW_BYTES)
    _put(out, 0, row.house_centi_c)
    _put(out, 2, row.soil_centi_c)
    _put(out, 4, row.outlet_centi_c)
    _put(out, 6, row.outside_centi_c)
    _put(out, 8, NO_HUMIDITY if row.humidity_deci_pct == LOST else row.humidity_deci_pct)
    out[10] = row.phase | row.heater << 4 | row.vent << 5
    out[11] = row.fan_pct
    out[12] = min(row.fan_s, 255)
    out[13] = row.reason
    _put(out, 14, row.alarms)
    return bytes(out)


def unpack(data, day, second, uptime_s):
    """Return the Row of 16 bytes at a given time."""
    humidity = _get(data, 8)
    return Row(
        day,
        second,
        uptime_s,
        _get_signed(data, 0),
        _get_signed(data, 2),
        _get_signed(data, 4),
        _get_signed(data, 6),
        LOST if humidity == NO_HUMIDITY else humidity,
        data[10] & 15,
        data[11],
        data[12],
        data[10] >> 4 & 1,
        data[10] >> 5 & 1,
        data[13],
        _get(data, 14),
    )


# CRC of each half byte: a board checks a month of blocks with it in seconds rather than a minute.
CRC_HALF = (
    0x0000, 0x1021, 0x2042, 0x3063, 0x4084, 0x50A5, 0x60C6, 0x70E7,
    0x8108, 0x9129, 0xA14A, 0xB16B, 0xC18C, 0xD1AD, 0xE1CE, 0xF1EF,
)  # fmt: skip


def crc16(data):
    """Return the CRC-16 of data (polynomial 0x1021, start 0xFFFF, not reflected; "123456789" gives 0x29B1)."""
    crc, half = 0xFFFF, CRC_HALF
    for byte in data:
        crc = (crc << 4 & 0xFFFF) ^ half[crc >> 12 ^ byte >> 4]
        crc = (crc << 4 & 0xFFFF) ^ half[crc >> 12 ^ byte & 15]
    return crc


def pack_block(first, packed_rows):
    """Return a block: head, packed rows one minute apart, CRC. first is the Row that the first of them came from.

    Head, low byte first: "L", version, number of rows, 0, day + 1 (4 bytes), second (4), uptime_s (4).
    """
    head = bytearray(HEAD_BYTES)
    head[0], head[1], head[2] = 0x4C, VERSION, len(packed_rows)
    for place, number in ((4, first.day + 1), (8, first.second), (12, first.uptime_s)):
        _put(head, place, number & 0xFFFF)
        _put(head, place + 2, number >> 16)
    body = bytes(head) + b"".join(packed_rows)
    tail = bytearray(CRC_BYTES)
    _put(tail, 0, crc16(body))
    return body + bytes(tail)


def block_length(head):
    """Return the bytes of the block that head (at least 16 bytes) begins, or 0 when it begins none."""
    if len(head) < HEAD_BYTES or head[0] != 0x4C or head[1] != VERSION or head[2] == 0:
        return 0
    return HEAD_BYTES + head[2] * ROW_BYTES + CRC_BYTES


def unpack_block(data):
    """Return the list of Rows of one whole block, or [] when its length or CRC is wrong."""
    length = block_length(data)
    if length == 0 or len(data) != length or crc16(data[:-CRC_BYTES]) != _get(data, length - CRC_BYTES):
        return []
    day = (_get(data, 4) | _get(data, 6) << 16) - 1
    second = _get(data, 8) | _get(data, 10) << 16
    uptime_s = _get(data, 12) | _get(data, 14) << 16
    rows = []
    for i in range(data[2]):
        place = HEAD_BYTES + i * ROW_BYTES
        now = second + i * ROW_STEP_S
        time = (day, 0) if day == NO_DAY else (day + now // 86400, now % 86400)
        rows.append(unpack(data[place : place + ROW_BYTES], time[0], time[1], uptime_s + i * ROW_STEP_S))
    return rows


def date_of(day):
    """Return (year, month, day of the month) of a day counted from 2000-01-01, Gregorian calendar."""
    day -= 60  # from 2000-03-01: a leap day then ends its year, and 400 years are 146097 days
    era = day // 146097
    day -= era * 146097
    year = (day - day // 1460 + day // 36524 - day // 146096) // 365
    day -= 365 * year + year // 4 - year // 100
    month = (5 * day + 2) // 153
    of_month = day - (153 * month + 2) // 5 + 1
    month = month + 3 if month < 10 else month - 9
    return 2000 + era * 400 + year + (1 if month < 3 else 0), month, of_month


def time_text(day, second):
    """Return ISO 8601 UTC, or "" while the clock is not set."""
    if day == NO_DAY:
        return ""
    year, month, of_month = date_of(day)
    clock = (second // 3600, second // 60 % 60, second % 60)
    return "%04d-%02d-%02dT%02d:%02d:%02dZ" % (year, month, of_month, clock[0], clock[1], clock[2])


def decimal_text(number, places):
    """Return an int of hundredths (places 2) or tenths (places 1) as a decimal, "" when LOST."""
    if number == LOST:
        return ""
    scale = 10**places
    sign = "-" if number < 0 else ""
    digits = str(abs(number) % scale)
    return sign + str(abs(number) // scale) + "." + "0" * (places - len(digits)) + digits


def alarm_words(bits):
    """Return the words of the alarms that stand, with spaces between."""
    return " ".join([ALARMS[i][0] for i in range(len(ALARMS)) if bits >> i & 1])


def csv_line(row):
    """Return a Row as one CSV line, without a line end."""
    return ",".join(
        (
            time_text(row.day, row.second),
            str(row.uptime_s),
            decimal_text(row.house_centi_c, 2),
            decimal_text(row.soil_centi_c, 2),
            decimal_text(row.outlet_centi_c, 2),
            decimal_text(row.outside_centi_c, 2),
            decimal_text(row.humidity_deci_pct, 1),
            PHASE_WORDS[row.phase],
            str(row.fan_pct),
            str(row.fan_s),
            str(row.heater),
            str(row.vent),
            REASONS[row.reason][0],
            alarm_words(row.alarms),
        )
    )
