"""Keep tuner/site.md true: one row per value of site.toml, from the rows that check it and the words below.

    python -m tests.tools.write_site_doc

A test fails while the page differs from what this writes, while a value has no words, or an example is refused.
"""

from pathlib import Path

from tuner import degrees
from tuner.site_fields import FIELDS, NEEDED
from tuner.site_values import shown

PAGE = Path(__file__).resolve().parents[2] / "tuner" / "site.md"

# (section, key): (example as TOML, what it is). Every row of FIELDS has one.
WORDS = {
    ("site", "name"): ('"the long house"', "What reports call it."),
    ("site", "time_zone"): ('"Pacific/Auckland"', "Local time: nights, days and price bands follow its clock."),
    ("site", "latitude"): ("-41.3", "For the height of the sun, and for which months are winter."),
    ("site", "longitude"): ("174.8", "For the height of the sun."),
    ("site", "elevation_m"): ("20", "For the pressure, and so the weight, of the air."),
    ("site", "units"): ('"C"', "Degrees in what people read; files are always in C."),
    ("needs", "frost_floor_c"): (
        '"36F"',
        "The coldest that the plants stand. A text with its unit, or a number in degrees C: `2`.",
    ),
    ("needs", "hot_limit_c"): ("36", "The hottest that the plants stand; 5 K (9 F) or more above the floor."),
    ("fan", "watts"): ("62", "What the fan takes from the mains at full speed: read a plug-in meter."),
    ("fan", "speed_control"): ("true", "Whether it can run slower than full speed."),
    ("fan", "airflow_m3_h"): ("390", "Air through all pipes at full speed. Heat in kWh is only told with it."),
    ("fan", "most_starts_per_hour"): ("6", "What the motor's maker allows."),
    ("fan", "relay_life_operations"): ("60000", "On and off once is one. The relay's data sheet, at the motor's load."),
    ("fan", "standby_watts"): ("1.5", "Drawn by fan and drive while the fan rests. Shown apart from the fan's cost."),
    ("fan", "drive_watts"): ("6", "Drawn by the speed drive itself while the fan runs; part of `watts`."),
    ("fan", "motor_in_air"): ("true", "Whether the motor sits in the stream between house intake and outlet."),
    ("fan.point", "percent"): ("70", "A speed at which the power was measured."),
    ("fan.point", "watts"): ("31", "The power at that speed. Power must rise with speed."),
    ("energy", "currency"): ('"NZD"', "Written after amounts of money."),
    ("energy", "price_per_kwh"): ("0.28", "The one price, or that of the hours no band names."),
    ("energy", "daily_charge"): ("0.45", "Due each day whether or not the fan runs; shown apart."),
    ("energy", "holidays"): (
        '["NZ", 2026-12-24]',
        "Public holidays: a country, a part of one, dates, or a list of these. They count as Sundays, unless a band "
        "names `holiday` among its weekdays.",
    ),
    ("energy", "backup_price_per_kwh"): (
        "0.16",
        "A kWh of heat from the backup: the fuel's price over its heat and the heater's efficiency. Without it heat is "
        "valued as from a resistance heater.",
    ),
    ("energy.band", "name"): ('"peak"', "What reports call the band."),
    ("energy.band", "months"): ("[11, 12, 1, 2, 3]", "Months of the hour itself. Left out: every month."),
    ("energy.band", "weekdays"): ('["mon", "fri"]', "Days of the hour itself. Left out: every day."),
    ("energy.band", "from"): ('"23:00"', "First minute, local time. Left out: midnight."),
    ("energy.band", "to"): (
        '"07:00"',
        "The minute after the last. Before `from`: end and beginning of each day.",
    ),
    ("energy.band", "price_per_kwh"): ("0.12", "The price in these hours."),
    ("house", "floor_m2"): ("24", "Floor area."),
    ("house", "volume_m3"): ("60", "Volume of air."),
    ("house", "cover_m2"): ("70", "Area of roof and walls to the outside."),
    ("house", "cover"): ('"double film"', "What they are made of."),
    ("house.pipes", "count"): ("6", "Pipes side by side."),
    ("house.pipes", "length_m"): ("7.5", "Length of each."),
    ("house.pipes", "diameter_m"): ("0.1", "Inner diameter."),
    ("house.pipes", "depth_m"): ("0.6", "Depth of the pipes' middle below the floor."),
    ("house.pipes", "spacing_m"): ("0.4", "Distance between neighbours."),
    ("columns", "time"): ('"when"', "The column of times; a time of day in a column of its own is found beside it."),
    ("columns", "house"): ('"T in"', "The column of house temperatures."),
    ("columns", "soil"): ('"T soil"', "The column of soil temperatures."),
    ("columns", "outlet"): ('"T pipe out"', "The column of temperatures of the air that leaves the pipes."),
    ("columns", "outside"): ('"T out"', "The column of outside temperatures."),
    ("columns", "humidity"): ('"RH"', "The column of the house's relative humidity."),
    ("columns", "fan"): ('"blower"', "The column of the fan: on and off, percent, or watts."),
    ("columns", "solar"): ('"light"', "The column of sunlight."),
    ("columns", "heater"): ('"heater"', "The column of the heater: on and off, or watts."),
    ("columns", "fan_power"): ('"fan W"', "The column of the fan's measured power. It wins over `watts`."),
    ("columns", "missing"): ('["n/a", "---"]', "Texts that mean no reading."),
    ("columns", "day_first"): ("true", "Whether 3/4/2026 is the third of April."),
    ("columns", "decimal_comma"): ("false", "Whether 1,5 is one and a half."),
    ("columns", "clock"): ('"standard"', "What the logger's clock shows: local time, winter time all year, or UTC."),
    ("columns", "temperature_unit"): ('"C"', "Where the log does not tell."),
    ("columns", "humidity_unit"): ('"%"', "Where the log does not tell."),
    ("columns", "fan_unit"): ('"W"', "Where the log does not tell."),
    ("columns", "solar_unit"): ('"lux"', "Where the log does not tell."),
    ("columns", "house_offset_c"): ('"-0.5F"', "Added to each house reading, from a comparison with a good one."),
    ("columns", "soil_offset_c"): ("0.2", "The same for the soil."),
    ("columns", "outlet_offset_c"): ("0", "The same for the outlet. Heat in kWh rests on outlet less house."),
    ("columns", "outside_offset_c"): ("0.5", "The same for outside."),
    ("columns", "keep"): (
        '["stuck"]',
        "Kinds of doubted readings to keep after all: see loamstat inspect.",
    ),
}
UNITS_OF_KIND = {
    "yes/no": "true or false",
    "zone": "a name of the IANA time zone database",
    "texts": "a list of texts",
    "holidays": "a country code such as NZ or US-NC, dates, or a list of both",
    "months": "a list of 1 to 12",
    "weekdays": "a list of mon tue wed thu fri sat sun holiday",
    "clock": "00:00 to 24:00",
}
ABOUT = {
    "site": "The place.",
    "needs": "What the plants stand.",
    "fan": "The fan and what switches it. Without `speed_control` it takes `watts` whenever it runs; with it\n"
    "`drive_watts + (watts - drive_watts) x speed^3`, or what `[[fan.point]]` says.",
    "fan.point": "Measured powers at part speed, one `[[fan.point]]` each; two or three are enough. Between them the\n"
    "power is straight against the cube of the speed.",
    "energy": "What energy costs. Give `price_per_kwh`, or bands, or both: every hour of every month needs one price.\n"
    "Bands that overlap, and hours without a price, are refused by name.",
    "energy.band": "A price for some hours, one `[[energy.band]]` each. An hour is priced by its own month, its own\n"
    "day and the local clock, through both changes of the clock.",
    "house": "Optional: the more is told, the narrower is the fitted house.",
    "house.pipes": "Optional: the buried pipes.",
    "columns": "How to read the log of another logger. The board's own log needs none of it.",
}


def range_of(kind, lowest, highest, unit):
    """Say what a value may be."""
    if isinstance(kind, tuple):
        return ", ".join(f'"{word}"' for word in kind)
    if kind in ("temperature", "difference"):
        return degrees.span_text(lowest, highest, kind == "difference")
    if kind in ("number", "whole"):
        return f"{lowest:.10g} to {highest:.10g} {unit}" + (", whole" if kind == "whole" else "")
    return f"text, {lowest} to {highest} {unit}" if kind == "text" else UNITS_OF_KIND[kind]


def default_of(kind, default):
    """Say what holds where a value is left out."""
    if default is NEEDED:
        return "needed"
    if kind in ("months", "weekdays"):
        return "all"
    if kind == "clock":
        return f"{default // 60:02d}:00"
    if default in (None, "", ()):
        return "-"
    return shown(list(default)) if isinstance(default, tuple) else shown(default)


def page():
    """Return the text of tuner/site.md."""
    lines = [
        "# site.toml",
        "",
        "One file for one house: UTF-8 text in TOML. Unknown names are refused and the nearest known one offered; all",
        "faults are listed at once. The rows come from `tuner/site_fields.py`, which checks them.",
    ]
    sections = list(dict.fromkeys(row[0] for row in FIELDS))
    for section in sorted(sections, key=lambda name: sections.index(name.split(".")[0])):
        head = f"[[{section}]]" if section in ("fan.point", "energy.band") else f"[{section}]"
        lines += ["", f"## {head}", "", ABOUT[section], "", "| key | may be | left out | example | what it is |"]
        lines += ["|---|---|---|---|---|"]
        for _, key, kind, lowest, highest, unit, default in (row for row in FIELDS if row[0] == section):
            example, meaning = WORDS[section, key]
            may_be = range_of(kind, lowest, highest, unit)
            lines.append(f"| `{key}` | {may_be} | {default_of(kind, default)} | `{key} = {example}` | {meaning} |")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8", newline="\n")
    print(PAGE)
