"""Write the small nasty logs of tests/data/logs: each stands for one habit of loggers, spreadsheets and people.

    python -m tests.tools.nasty_logs

All of them tell one invented truth (`truth()`): a day and a half in a small house near Madrid, a row each half hour.
A file that can be read must give that truth again. The functions below are the list of habits.
"""

import gzip
import io
from pathlib import Path

import numpy as np
import pandas as pd

from controller.core.record import HEADER

FOLDER = Path(__file__).resolve().parent.parent / "data" / "logs"
ZONE = "Europe/Madrid"
FILES = {}


def truth(start="2026-03-02T17:00:00Z", hours=36, step_min=30):
    """Return the readings that the files tell: DataFrame on a UTC index, rounded as a logger would. Invented."""
    index = pd.date_range(start, periods=hours * 60 // step_min + 1, freq=f"{step_min}min", name="time")
    hour = (index - pd.Timestamp("2026-03-02T00:00:00Z")).total_seconds().to_numpy() / 3600
    sun = np.sin((hour - 8) / 24 * 2 * np.pi)
    house = np.round(9 + 8 * sun + 0.6 * np.sin(hour * 1.7), 2)
    frame = pd.DataFrame(
        {
            "house": house,
            "soil": np.round(12.3 + 0.6 * np.sin((hour - 13) / 24 * 2 * np.pi), 2),
            "outside": np.round(3 + 6 * sun + 0.3 * np.sin(hour * 2.9), 2),
            "humidity": np.round(78 - 15 * sun, 1),
            "fan": (house < 4.5).astype(int),
        },
        index=index,
    )
    return frame


def habit(name):
    """Register a function that returns one file's bytes or text, under its file name."""

    def register(function):
        FILES[name] = function
        return function

    return register


def local(index):
    return index.tz_convert(ZONE).tz_localize(None)


def table(frame, times, heads, mark=",", decimal=".", on="1", off="0", end="\n", quote=False):
    """Return the text of a plain table. heads : names for time, house, soil, outside, humidity, fan."""
    lines = [mark.join(f'"{head}"' if quote else head for head in heads)]
    for time, row in zip(times, frame.itertuples(index=False), strict=True):
        numbers = [f"{value:.2f}".replace(".", decimal) for value in (row.house, row.soil, row.outside)]
        cells = [time, *numbers, f"{row.humidity:.1f}".replace(".", decimal), on if row.fan else off]
        lines.append(mark.join(f'"{cell}"' if quote else cell for cell in cells))
    return end.join(lines) + end


HEADS = ("Time", "House temp (C)", "Soil temp (C)", "Outside temp (C)", "Humidity (%)", "Fan")
BARE = ("Time", "House", "Soil", "Outside", "Humidity", "Fan")


def iso(frame):
    return list(local(frame.index).strftime("%Y-%m-%d %H:%M:%S"))


@habit("semicolons-decimal-commas.csv")
def _():
    """A spreadsheet of much of Europe: semicolons between, decimal commas, day first with dots."""
    frame = truth()
    return table(frame, list(local(frame.index).strftime("%d.%m.%Y %H:%M")), HEADS, ";", ",")


@habit("tabs.txt")
def _():
    """Copied from a spreadsheet's cells."""
    return table(truth(), iso(truth()), HEADS, "\t")


@habit("bars.csv")
def _():
    """Bars between the columns."""
    return table(truth(), iso(truth()), HEADS, "|")


@habit("blanks.txt")
def _():
    """Columns set apart by blanks, lined up by eye; the date and the time become two columns."""
    lines = ["date        time      house_c   soil_c  outside_c  rh  fan"]
    for time, row in zip(iso(truth()), truth().itertuples(index=False), strict=True):
        lines.append(f"{time:<22}{row.house:>8.2f}{row.soil:>9.2f}{row.outside:>9.2f}{row.humidity:>8.1f}  {row.fan}")
    return "\n".join(lines) + "\n"


@habit("utf8-mark.csv")
def _():
    """UTF-8 with a byte-order mark, Windows line ends."""
    return (
        b"\xef\xbb\xbf"
        + table(
            truth(),
            iso(truth()),
            ("Zeit", "Gewächshaus °C", "Boden °C", "Außen °C", "Luftfeuchte %", "Lüfter"),
            end="\r\n",
        ).encode()
    )


@habit("utf16.csv")
def _():
    """ "Unicode text" of an older spreadsheet: UTF-16, tabs."""
    return table(truth(), iso(truth()), HEADS, "\t", end="\r\n").encode("utf-16")


@habit("utf16-no-mark.csv")
def _():
    """UTF-16 without the mark that says so."""
    return table(truth(), iso(truth()), HEADS).encode("utf-16-le")


@habit("latin1.csv")
def _():
    """A degree sign in an 8-bit Western encoding."""
    return table(truth(), iso(truth()), ("Date", "House °C", "Soil °C", "Outside °C", "RH %", "Fan")).encode("latin-1")


@habit("old-line-ends.csv")
def _():
    """Lines ended by a carriage return alone."""
    return table(truth(), iso(truth()), HEADS, end="\r")


@habit("preamble.csv")
def _():
    """Lines about the logger above the header, some of them with commas."""
    head = "Plot title: bench 3\nSerial,20871,v2.4\nInterval (s),1800\n\nLocation: north bench, left\n"
    return head + table(truth(), iso(truth()), HEADS)


@habit("units-row.csv")
def _():
    """A row of units under the header."""
    lines = table(truth(), iso(truth()), BARE, ";", ",").split("\n")
    return "\n".join([lines[0], ";°C;°C;°C;%;0/1", *lines[1:]])


@habit("statistics-at-the-end.csv")
def _():
    """A spreadsheet's own sums under the data, of other widths too."""
    return (
        table(truth(), iso(truth()), HEADS) + "Average,9.1,12.3,3.2,77.4,0\nMax,17.5,12.9,9.2,93.0,1\n\nEnd of data\n"
    )


@habit("day-first-slashes.csv")
def _():
    """Day first with slashes, no day above 12: only the order of the days tells."""
    return table(truth(), list(local(truth().index).strftime("%d/%m/%Y %H:%M")), HEADS)


@habit("month-first-am-pm.csv")
def _():
    """Month first, twelve hours with AM and PM, no leading zeros."""
    times = [f"{t.month}/{t.day}/{t.year} {(t.hour - 1) % 12 + 1}:{t.minute:02d}:00 {'AM' if t.hour < 12 else 'PM'}"
             for t in local(truth().index)]  # fmt: skip
    return table(truth(), times, HEADS)


@habit("month-by-name.csv")
def _():
    """Months by name, two-digit years."""
    return table(truth(), list(local(truth().index).strftime("%d-%b-%y %H:%M")), HEADS)


@habit("spreadsheet-days.csv")
def _():
    """Dates as a spreadsheet keeps them: days since 1900."""
    days = (local(truth().index) - pd.Timestamp("1899-12-30")).total_seconds() / 86_400
    return table(truth(), [f"{day:.6f}" for day in days], HEADS)


@habit("unix-seconds.csv")
def _():
    """Seconds since 1970."""
    return table(truth(), [str(int(t.timestamp())) for t in truth().index], ("timestamp", *HEADS[1:]))


@habit("unix-milliseconds.csv")
def _():
    """Milliseconds since 1970."""
    return table(truth(), [str(int(t.timestamp()) * 1000) for t in truth().index], ("timestamp", *HEADS[1:]))


@habit("date-and-time-columns.csv")
def _():
    """Date and time of day in two columns, behind a column of row numbers."""
    frame = truth()
    lines = ["No.;Date;Time;House;Soil;Outside;RH %;Fan"]
    for at, (time, row) in enumerate(zip(local(frame.index), frame.itertuples(index=False), strict=True), 1):
        lines.append(f"{at};{time:%d/%m/%Y};{time:%H:%M};{row.house:.2f};{row.soil:.2f};{row.outside:.2f};"
                     f"{row.humidity:.1f};{row.fan}")  # fmt: skip
    return "\n".join(lines) + "\n"


@habit("offsets-in-cells.csv")
def _():
    """ISO times with their offset from UTC."""
    return table(truth(), [t.isoformat() for t in truth().index.tz_convert(ZONE)], HEADS)


@habit("zone-in-the-header-quoted.csv")
def _():
    """Every cell quoted, a row number first, the offset of the clock in the header, commas inside names."""
    frame = truth()
    lines = ['"#","Date Time, GMT-05:00","Temp, °C (Greenhouse)","Temp, °C (Soil)","Temp, °C (Outside)","RH, %","Fan"']
    for at, (time, row) in enumerate(zip(frame.index.tz_convert("Etc/GMT+5"), frame.itertuples(index=False),
                                         strict=True), 1):  # fmt: skip
        lines.append(f'"{at}","{time:%m/%d/%y %I:%M:%S %p}","{row.house:.2f}","{row.soil:.2f}","{row.outside:.2f}",'
                     f'"{row.humidity:.1f}","{row.fan}"')  # fmt: skip
    return "\n".join(lines) + "\n"


def in_f(frame):
    warm = frame.copy()
    for name in ("house", "soil", "outside"):
        warm[name] = warm[name] * 1.8 + 32
    return warm


@habit("fahrenheit.csv")
def _():
    """Degrees F, told in the header."""
    return table(in_f(truth()), iso(truth()), ("Time", "House °F", "Soil °F", "Outside °F", "Humidity %", "Fan"))


@habit("fahrenheit-untold.csv")
def _():
    """Degrees F that nobody names: the soil shows it."""
    return table(in_f(truth()), iso(truth()), BARE)


@habit("unit-in-every-cell.csv")
def _():
    """The unit written behind every number."""
    frame = truth()
    lines = ["Time;House;Soil;Outside;Humidity;Fan"]
    for time, row in zip(iso(frame), frame.itertuples(index=False), strict=True):
        lines.append(f"{time};{row.house:.2f} °C;{row.soil:.2f} °C;{row.outside:.2f} °C;{row.humidity:.1f} %;{row.fan}")
    return "\n".join(lines) + "\n"


@habit("humidity-0-to-1.csv")
def _():
    """Humidity as a part of 1."""
    frame = truth()
    lines = table(frame, iso(frame), ("Time", "House C", "Soil C", "Outside C", "Humidity", "Fan")).split("\n")
    for at, value in enumerate(frame["humidity"], 1):
        cells = lines[at].split(",")
        cells[4] = f"{value / 100:.3f}"
        lines[at] = ",".join(cells)
    return "\n".join(lines)


@habit("fan-on-off.csv")
def _():
    """The fan as words."""
    return table(truth(), iso(truth()), HEADS, on="On", off="Off")


@habit("fan-yes-no.csv")
def _():
    """The fan as yes and no."""
    return table(truth(), iso(truth()), HEADS, on="yes", off="no")


@habit("fan-percent.csv")
def _():
    """The fan in percent."""
    return table(truth(), iso(truth()), (*HEADS[:5], "Fan %"), on="100", off="0")


@habit("fan-watts.csv")
def _():
    """The fan as the power of its socket, a little of it always on."""
    return table(truth(), iso(truth()), (*HEADS[:5], "Fan power (W)"), on="61.5", off="1.2")


@habit("trailing-delimiters.csv")
def _():
    """A delimiter too many at the end of every line, and empty lines of delimiters at the end."""
    text = table(truth(), iso(truth()), HEADS).replace("\n", ",\n")
    return text + ",,,,,,\n,,,,,,\n"


@habit("header-again.csv")
def _():
    """Two exports pasted together, preamble and header and all."""
    lines = table(truth(), iso(truth()), HEADS).split("\n")
    head = ["Plot title: bench 3", lines[0]]
    return "\n".join([*head, *lines[1:30], *head, *lines[30:]])


@habit("newest-first.csv")
def _():
    """The newest row first, as web pages export."""
    lines = table(truth(), iso(truth()), HEADS).strip().split("\n")
    return "\n".join([lines[0], *lines[:0:-1]]) + "\n"


@habit("blocks-out-of-order.csv")
def _():
    """Parts pasted together in the wrong order."""
    lines = table(truth(), iso(truth()), HEADS).strip().split("\n")
    return "\n".join([lines[0], *lines[40:], *lines[1:40]]) + "\n"


@habit("rows-twice.csv")
def _():
    """Some rows copied twice."""
    lines = table(truth(), iso(truth()), HEADS).strip().split("\n")
    return "\n".join([*lines[:20], *lines[10:20], *lines[20:]]) + "\n"


@habit("cut-off.csv")
def _():
    """The last line breaks off where the power went."""
    return table(truth(), iso(truth()), HEADS) + "2026-03-04 06:30:00,3.1"


@habit("nul-bytes.csv")
def _():
    """A card that lost power while writing: a stretch of NUL bytes."""
    lines = table(truth(), iso(truth()), HEADS).split("\n")
    return "\n".join(lines[:40]).encode() + b"\n" + b"\0" * 512 + b"\n" + "\n".join(lines[40:]).encode()


def spoiled(column, rows, texts):
    """The plain table with some cells of one column (0 time ... 5 fan) replaced."""
    lines = table(truth(), iso(truth()), HEADS).split("\n")
    for row, text in zip(rows, texts, strict=True):
        cells = lines[row].split(",")
        cells[column] = text
        lines[row] = ",".join(cells)
    return "\n".join(lines)


@habit("missing-in-many-ways.csv")
def _():
    """No reading as a blank, NaN, words, and the numbers that loggers write for it."""
    texts = ["", "NaN", "n/a", "---", "-127", "-127.00", "85.0", "-9999", "-2147483648", "-21474836.48", "327.67",
             "#N/A", "Error", "-999.9"]  # fmt: skip
    return spoiled(1, range(5, 5 + 4 * len(texts), 4), texts)


@habit("spike.csv")
def _():
    """One reading of the house and one of the soil that cannot be."""
    return spoiled(1, [20], ["31.50"]).replace(spoiled(1, [20], ["31.50"]).split("\n")[40], _spiked_soil(), 1)


def _spiked_soil():
    cells = spoiled(1, [], []).split("\n")[40].split(",")
    cells[2] = "19.90"
    return ",".join(cells)


@habit("impossible.csv")
def _():
    """Readings that nothing can have: a house of 72.4, a humidity of 130."""
    lines = spoiled(1, [20, 21], ["72.40", "-48.00"]).split("\n")
    cells = lines[30].split(",")
    cells[4] = "130.0"
    lines[30] = ",".join(cells)
    return "\n".join(lines)


@habit("clock-set-back.csv")
def _():
    """The logger's clock was set back by five hours in the middle."""
    frame = truth()
    times = local(frame.index)
    times = times.where(np.arange(len(times)) < 40, times - pd.Timedelta(hours=5))
    return table(frame, list(times.strftime("%Y-%m-%d %H:%M:%S")), HEADS)


@habit("day-and-month-swapped.csv")
def _():
    """A spreadsheet took day-first dates for month-first where it could: days up to 12 are turned round."""
    frame = truth("2026-03-08T17:00:00Z", hours=24 * 9, step_min=120)
    times = [f"{t:%Y-%d-%m %H:%M}" if t.day <= 12 else f"{t:%Y-%m-%d %H:%M}" for t in local(frame.index)]
    return table(frame, times, HEADS)


@habit("autumn-hour-twice.csv")
def _():
    """Local time over the night of autumn: the hour from 2 to 3 comes twice."""
    frame = truth("2026-10-24T12:00:00Z", hours=30)
    return table(frame, iso(frame), HEADS)


@habit("spring-hour-missing.csv")
def _():
    """Local time over the night of spring: there is no 02:30."""
    frame = truth("2026-03-28T12:00:00Z", hours=30)
    return table(frame, iso(frame), HEADS)


@habit("winter-time-all-year.csv")
def _():
    """A logger that stays on standard time: it has the hour that spring leaves out."""
    frame = truth("2026-03-28T12:00:00Z", hours=30)
    return table(frame, list((frame.index + pd.Timedelta(hours=1)).strftime("%Y-%m-%d %H:%M:%S")), HEADS)


@habit("winter-time-in-autumn.csv")
def _():
    """A logger that stays on standard time: in autumn no hour comes twice."""
    frame = truth("2026-10-24T12:00:00Z", hours=30)
    return table(frame, list((frame.index + pd.Timedelta(hours=1)).strftime("%Y-%m-%d %H:%M:%S")), HEADS)


def minutely(hours=72):
    frame = truth("2026-03-02T17:00:00Z", hours, 10)
    return frame, list(frame.index.strftime("%Y-%m-%dT%H:%M:%SZ"))


@habit("stuck-house.csv")
def _():
    """The house probe shows one number for seven hours while outside moves."""
    frame, times = minutely(36)
    frame.iloc[100:142, 0] = frame.iloc[100, 0]
    return table(frame, times, HEADS)


@habit("probe-in-the-sun.csv")
def _():
    """By day the house probe reads 30 K and more above outside, at night it does not."""
    frame, times = minutely(84)
    hour = frame.index.hour + frame.index.minute / 60
    frame["house"] += np.where((hour >= 9) & (hour <= 16), 28 * np.sin((hour - 9) / 7 * np.pi), 0)
    return table(frame, times, HEADS)


@habit("house-reads-low-at-dawn.csv")
def _():
    """The house probe reads 4 K too low: at dawn, the fan long off, the house seems colder than outside."""
    frame, times = minutely(96)
    frame["house"] = frame["outside"] + 1.0 - 4.0 + (frame["house"] - frame["house"].min()) * 0.3
    frame["fan"] = 0
    return table(frame, times, HEADS)


@habit("fan-never-changes.csv")
def _():
    """A fan column that is always off."""
    frame, times = minutely(36)
    frame["fan"] = 0
    return table(frame, times, HEADS)


@habit("degrees-f-called-c.csv")
def _():
    """A house at 70 "degC": degrees F under a header that says C."""
    frame = in_f(truth(hours=72))
    frame[["house", "soil", "outside"]] += 12
    return table(frame, iso(frame), HEADS)


@habit("kelvin-untold.csv")
def _():
    """Kelvin that nobody names."""
    frame = truth()
    frame[["house", "soil", "outside"]] += 273.15
    return table(frame, iso(frame), BARE)


@habit("unit-changes-midway.csv")
def _():
    """A logger switched from degrees C to F on the third day; the last day has only two hours."""
    frame, times = minutely(74)
    late = frame.index >= "2026-03-05T00:00:00Z"
    frame.loc[late, ["house", "soil", "outside"]] = in_f(frame[late])[["house", "soil", "outside"]]
    return table(frame, times, HEADS)


@habit("humidity-two-units.csv")
def _():
    """Humidity as a part of 1, and from the middle on in %."""
    lines = table(truth(), iso(truth()), HEADS).strip().split("\n")
    for at in range(1, 30):
        cells = lines[at].split(",")
        cells[4] = f"{float(cells[4]) / 100:.3f}"
        lines[at] = ",".join(cells)
    return "\n".join(lines) + "\n"


@habit("fan-mode.csv")
def _():
    """A fan column that tells the switch, not the fan."""
    return table(truth(), iso(truth()), HEADS, on="AUTO", off="AUTO")


@habit("fan-steps.csv")
def _():
    """The fan as steps of its speed, 0 to 3."""
    return table(truth(), iso(truth()), HEADS, on="3", off="0")


@habit("temperatures-in-tenths.csv")
def _():
    """Tenths of a degree, without a word about it."""
    frame = truth()
    frame[["house", "soil", "outside"]] *= 10
    return table(frame, iso(frame), BARE)


@habit("house-and-humidity-swapped.csv")
def _():
    """The names of house and humidity exchanged."""
    frame, times = minutely(72)
    frame[["house", "humidity"]] = frame[["humidity", "house"]].to_numpy()
    return table(frame, times, HEADS)


@habit("klux-turns-to-lux.csv")
def _():
    """Light that was logged in klux, and from the third day on in lux."""
    frame, times = minutely(96)
    hour = frame.index.hour + frame.index.minute / 60
    light = np.clip(np.sin((hour - 6) / 12 * np.pi), 0, None) * 60
    light = np.where(frame.index >= "2026-03-05T00:00:00Z", light * 1000, light)
    lines = table(frame, times, HEADS).strip().split("\n")
    lines = [lines[0] + ",Light (klux)"] + [f"{line},{value:.2f}" for line, value in zip(lines[1:], light, strict=True)]
    return "\n".join(lines) + "\n"


@habit("house-and-soil-swapped.csv")
def _():
    """The names of house and soil exchanged."""
    frame, times = minutely(72)
    frame[["house", "soil"]] = frame[["soil", "house"]].to_numpy()
    return table(frame, times, HEADS)


@habit("house-and-outside-swapped.csv")
def _():
    """The names of house and outside exchanged."""
    frame, times = minutely(72)
    frame[["house", "outside"]] = frame[["outside", "house"]].to_numpy()
    return table(frame, times, HEADS)


@habit("gap.csv")
def _():
    """Five hours without a row."""
    lines = table(truth(), iso(truth()), HEADS).strip().split("\n")
    return "\n".join(lines[:30] + lines[40:]) + "\n"


@habit("board-power-cut.csv")
def _():
    """The board's own log: it restarts twice, once not knowing the time until it is told."""
    lines = [HEADER]
    for minute in range(240):
        if 60 <= minute < 90 or 150 <= minute < 170:
            continue
        uptime = minute * 60 - (0 if minute < 60 else 90 * 60 - 20 if minute < 150 else 170 * 60 - 20)
        time = "" if 90 <= minute < 100 else f"2026-01-17T{minute // 60:02d}:{minute % 60:02d}:00Z"
        house = 6 - minute / 60
        lines.append(f"{time},{uptime},{house:.2f},11.80,,-1.50,88.0,rest,0,0,0,0,idle,")
    return "\n".join(lines) + "\n"


@habit("two-house-candidates.csv")
def _():
    """Two temperatures without a place: which is the house must be asked."""
    return table(truth(), iso(truth()), ("Time", "Temp 1", "Temp 2", "Temp 3", "Humidity", "Fan"))


@habit("day-or-month.csv")
def _():
    """Dates of a single day, 03/04: nobody can tell."""
    frame = truth("2026-04-02T23:00:00Z", hours=12)
    return table(frame, list(local(frame.index).strftime("%d/%m/%Y %H:%M")), HEADS)


@habit("thousands-or-decimals.csv")
def _():
    """1,250 lux: a decimal comma or a divided thousand?"""
    frame = truth(hours=12)
    lines = table(frame, iso(frame), BARE, ";").strip().split("\n")
    return (
        "\n".join([lines[0] + ";Light (lux)", *(f"{line};1,25{at % 10}" for at, line in enumerate(lines[1:]))]) + "\n"
    )


@habit("decimals-mixed.csv")
def _():
    """Decimal points, and from one row on commas."""
    lines = table(truth(), iso(truth()), BARE, ";").strip().split("\n")
    return "\n".join(line if at < 40 else line.replace(".", ",") for at, line in enumerate(lines)) + "\n"


@habit("decimal-commas-between-commas.csv")
def _():
    """Decimal commas in a file whose columns are divided by commas too."""
    return table(truth(), iso(truth()), HEADS, ",", ",")


@habit("text-in-a-cell.csv")
def _():
    """A word nobody has said is a missing reading."""
    return spoiled(1, [18], ["warm"])


@habit("short-row.csv")
def _():
    """A row with a cell too few."""
    lines = table(truth(), iso(truth()), HEADS).split("\n")
    return "\n".join([*lines[:12], lines[12].rpartition(",")[0], *lines[13:]])


@habit("long-row.csv")
def _():
    """A row with a cell too many."""
    lines = table(truth(), iso(truth()), HEADS).split("\n")
    return "\n".join([*lines[:12], lines[12] + ",0", *lines[13:]])


@habit("no-header.csv")
def _():
    """Readings without names."""
    return table(truth(), iso(truth()), HEADS).split("\n", 1)[1]


@habit("header-only.csv")
def _():
    """Names without readings."""
    return ",".join(HEADS) + "\n"


@habit("empty.csv")
def _():
    """Nothing at all."""
    return b""


@habit("no-time.csv")
def _():
    """Times of day without a date."""
    return table(truth(), list(local(truth().index).strftime("%H:%M")), HEADS)


@habit("500-columns.csv")
def _():
    """Far too many columns."""
    names = ",".join(["Time", *(f"v{at}" for at in range(499))])
    return names + "\n" + "\n".join(",".join([time, *["1.0"] * 499]) for time in iso(truth())[:3]) + "\n"


@habit("picture.csv")
def _():
    """A picture with its name changed."""
    return b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\1\0\0\0\1\x08\6\0\0\0\x1f\x15\xc4\x89"


@habit("spreadsheet.csv")
def _():
    """A spreadsheet file with its name changed."""
    return b"PK\x03\x04\x14\0\6\0\x08\0\0\0!\0" + bytes(range(64))


@habit("noise.csv")
def _():
    """Bytes of no kind."""
    return bytes((at * 7919 + at * at) % 256 for at in range(2000))


@habit("cut-short.csv.gz")
def _():
    """A gzip file whose end is missing."""
    return packed(table(truth(), iso(truth()), HEADS))[:-200]


@habit("packed.csv.gz")
def _():
    """A gzip file, whole."""
    return packed(table(truth(), iso(truth()), HEADS))


def packed(text):
    out = io.BytesIO()
    with gzip.GzipFile(fileobj=out, mode="wb", mtime=0) as stream:
        stream.write(text.encode())
    return out.getvalue()


def sensor(name, column, places=2, every=1, shift_s=0):
    """Register one file of a logger that keeps a file for each sensor."""

    @habit(f"one-file-per-sensor/{name}.csv")
    def _():
        """One sensor in a file of its own; each has its own times."""
        frame = truth()[::every]
        times = local(frame.index) + pd.Timedelta(seconds=shift_s)
        lines = ["Time,Temperature" if column != "fan" else "Time,State"]
        if column == "fan":
            lines = ["Time,Fan"]
        lines += [
            f"{time:%Y-%m-%d %H:%M:%S},{value:.{places}f}" for time, value in zip(times, frame[column], strict=True)
        ]
        return "\n".join(lines) + "\n"


sensor("greenhouse", "house")
sensor("soil", "soil", shift_s=420)
sensor("outside", "outside", every=2)
sensor("fan", "fan", places=0)


def write():
    """Write every file and the list of them."""
    lines = ["# Nasty logs", "", "Invented, like the readings in them: one habit a file, written by",
             "`python -m tests.tools.nasty_logs`, which also says what each should give.", "",
             "| file | habit |", "|---|---|"]  # fmt: skip
    for name, make in FILES.items():
        content = make()
        path = FOLDER / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        lines.append(f"| {name} | {' '.join(make.__doc__.split())} |")
    (FOLDER / "README.md").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    write()
