"""Sensor counts to hundredths of a degree C and tenths of a percent; the dew point.

What lives here: integer conversions that board and tuner share, with their rounding written down.
What never does: a decision, a setting, or anything that remembers.
"""

LOST = -32768  # a raw value that is not there; outside every probe's range
POWER_ON_COUNTS = 0x0550  # +85 degC: a DS18B20 conversion that did not happen

# Saturation vapour pressure over water in tenths of a pascal, one entry a degree from -45 to +61 degC.
# Magnus form, 611.2 exp(17.62 t / (243.12 + t)) Pa, coefficients from memory. The tests hold it to psychrolib.
TABLE_FROM_C = -45
VAPOUR_DECI_PA = (
    112, 125, 139, 154, 171, 190, 211, 234, 259, 286, 316, 348, 384, 423, 465, 512, 562, 617, 676, 741,
    811, 887, 970, 1059, 1155, 1260, 1372, 1494, 1625, 1766, 1919, 2083, 2259, 2448, 2652, 2870, 3105, 3356,
    3625, 3913, 4222, 4552, 4904, 5281, 5683, 6112, 6569, 7057, 7576, 8129, 8717, 9343, 10008, 10714, 11464,
    12260, 13105, 14000, 14948, 15953, 17017, 18142, 19333, 20591, 21921, 23326, 24809, 26374, 28025, 29766,
    31601, 33533, 35569, 37711, 39966, 42337, 44830, 47450, 50203, 53094, 56128, 59313, 62653, 66156, 69827,
    73675, 77704, 81924, 86341, 90963, 95797, 100852, 106137, 111659, 117427, 123452, 129741, 136304, 143152,
    150294, 157742, 165504, 173593, 182020, 190796, 199933, 209443,
)  # fmt: skip


def div_round(top, bottom):
    """Return top / bottom to the nearest int, halves away from zero. bottom is above zero."""
    size = (abs(top) * 2 + bottom) // (2 * bottom)
    return -size if top < 0 else size


def clamp(value, lowest, highest):
    """Return value, or the bound that it passes."""
    return min(max(value, lowest), highest)


def signed_16(raw):
    """Return the unsigned 16-bit register value raw as a signed int."""
    return raw - 65536 if raw >= 32768 else raw


def centi_c_from_raw(raw):
    """Return a DS18B20 reading in hundredths of a degree C.

    raw is the signed 16-bit register value, 1/16 degree C per count.
    Halves round away from zero, so +t and -t round alike.
    Source: DS18B20 data sheet, table "Temperature/Data Relationship".
    """
    return div_round(raw * 100, 16)


def centi_c_from_sht(ticks):
    """Return the temperature of an SHT3x/SHT4x-type probe in hundredths of a degree C.

    ticks is the unsigned 16-bit word S of T = -45 + 175 S / 65535 degC.
    3500 S // 13107 is the same fraction as 17500 S / 65535 and stays below 2**30.
    Source: the probes' data sheets, as used by the Linux driver drivers/hwmon/sht4x.c.
    """
    return div_round(3500 * ticks, 13107) - 4500


def deci_pct_from_sht3x(ticks):
    """Return the relative humidity of an SHT3x-type probe, RH = 100 S / 65535 %, in tenths of a percent.

    Source: the probe's data sheet.
    """
    return div_round(200 * ticks, 13107)


def deci_pct_from_sht4x(ticks):
    """Return the relative humidity of an SHT4x-type probe in tenths of a percent, held to 0-100 %.

    RH = -6 + 125 S / 65535 %; the data sheet tells the reader to clip what lies outside.
    Source: the probe's data sheet, as used by the Linux driver drivers/hwmon/sht4x.c.
    """
    return clamp(div_round(250 * ticks, 13107) - 60, 0, 1000)


def crc8_1wire(data):
    """Return the 1-wire check byte of data (polynomial x8+x5+x4+1, reflected, start 0)."""
    crc = 0
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = (crc >> 1) ^ 0x8C if crc & 1 else crc >> 1
    return crc


def crc8_humidity(data):
    """Return the check byte of an SHT-type probe's word (polynomial 0x31, start 0xFF, not reflected)."""
    crc = 0xFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = ((crc << 1) ^ 0x31) & 0xFF if crc & 0x80 else (crc << 1) & 0xFF
    return crc


def vapour_deci_pa(temperature_centi_c):
    """Return the saturation vapour pressure over water in tenths of a pascal (-45 to +61 degC, clipped)."""
    last = len(VAPOUR_DECI_PA) - 1
    place = clamp(temperature_centi_c - TABLE_FROM_C * 100, 0, last * 100)
    left = min(place // 100, last - 1)
    low = VAPOUR_DECI_PA[left]
    return low + (VAPOUR_DECI_PA[left + 1] - low) * (place - left * 100) // 100


def dew_point_centi_c(air_centi_c, humidity_deci_pct):
    """Return the dew point over water in hundredths of a degree C, -45.00 at the lowest.

    air_centi_c is the temperature of the air that the humidity (tenths of a percent) was measured in.
    Below freezing it stays the dew point over water, as humidity probes report; frost forms a little above it.
    """
    pressure = vapour_deci_pa(air_centi_c) * clamp(humidity_deci_pct, 0, 1000) // 1000
    low, high = 0, len(VAPOUR_DECI_PA) - 1
    while high - low > 1:
        middle = (low + high) // 2
        if VAPOUR_DECI_PA[middle] <= pressure:
            low = middle
        else:
            high = middle
    step = VAPOUR_DECI_PA[high] - VAPOUR_DECI_PA[low]
    part = clamp((pressure - VAPOUR_DECI_PA[low]) * 100 // step, 0, 100)
    return (TABLE_FROM_C + low) * 100 + part
