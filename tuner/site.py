"""site.toml: what the plants need, the fan, the price of energy, the house, and the columns of the log.

One row of FIELDS is one value; the rows make the checks, the messages and the docs. Nothing here computes.
"""

import tomllib
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from zoneinfo import ZoneInfo

from tuner.errors import SiteError, nearest
from tuner.files import read_text
from tuner.site_values import WEEKDAYS, check, shown, wanted

COVERS = ("glass", "film", "double glass", "double film", "twin-wall sheet")
NEEDED = object()

# (section, key, kind, lowest, highest, unit, default). Kinds: see site_values. The lowest and highest of a text
# are lengths. NEEDED: there is no default.
FIELDS = [
    ("site", "name", "text", 1, 80, "characters", "this house"),
    ("site", "time_zone", "zone", None, None, "", NEEDED),
    ("site", "latitude", "number", -90, 90, "degrees, north positive", None),
    ("site", "longitude", "number", -180, 180, "degrees, east positive", None),
    ("site", "elevation_m", "number", -430, 6000, "metres above the sea", 0.0),
    ("site", "units", ("C", "F"), None, None, "", "C"),
    ("needs", "frost_floor_c", "number", -20, 20, "degrees C", NEEDED),
    ("needs", "hot_limit_c", "number", 15, 60, "degrees C", NEEDED),
    ("fan", "watts", "number", 1, 5000, "watts", NEEDED),
    ("fan", "speed_control", "yes/no", None, None, "", False),
    ("fan", "airflow_m3_h", "number", 1, 100000, "cubic metres an hour", None),
    ("fan", "most_starts_per_hour", "number", 1, 60, "starts an hour", 10.0),
    ("fan", "relay_life_operations", "whole", 1000, 100_000_000, "operations", 100_000),
    ("energy", "currency", "text", 1, 12, "characters", ""),
    ("energy", "price_per_kwh", "number", 0, 1000, "money per kilowatt hour", None),
    ("energy", "holidays", "dates", None, None, "", ()),
    ("energy", "backup_price_per_kwh", "number", 0, 1000, "money per kilowatt hour of heat", None),
    ("house", "floor_m2", "number", 0.5, 20000, "square metres", None),
    ("house", "volume_m3", "number", 0.5, 100000, "cubic metres", None),
    ("house", "cover_m2", "number", 0.5, 50000, "square metres", None),
    ("house", "cover", COVERS, None, None, "", None),
    ("house.pipes", "count", "whole", 1, 1000, "pipes", None),
    ("house.pipes", "length_m", "number", 0.5, 200, "metres each", None),
    ("house.pipes", "diameter_m", "number", 0.02, 1, "metres", None),
    ("house.pipes", "depth_m", "number", 0.05, 5, "metres", None),
    ("house.pipes", "spacing_m", "number", 0.05, 10, "metres between centres", None),
    ("columns", "time", "text", 1, 200, "characters", None),
    ("columns", "house", "text", 1, 200, "characters", None),
    ("columns", "soil", "text", 1, 200, "characters", None),
    ("columns", "outlet", "text", 1, 200, "characters", None),
    ("columns", "outside", "text", 1, 200, "characters", None),
    ("columns", "humidity", "text", 1, 200, "characters", None),
    ("columns", "fan", "text", 1, 200, "characters", None),
    ("columns", "solar", "text", 1, 200, "characters", None),
    ("columns", "heater", "text", 1, 200, "characters", None),
    ("columns", "missing", "texts", None, None, "", ()),
    ("columns", "day_first", "yes/no", None, None, "", None),
    ("columns", "decimal_comma", "yes/no", None, None, "", None),
    ("columns", "clock", ("local", "standard", "utc"), None, None, "", None),
    ("columns", "temperature_unit", ("C", "F"), None, None, "", None),
    ("columns", "humidity_unit", ("%", "0-1"), None, None, "", None),
    ("columns", "fan_unit", ("on/off", "%", "W"), None, None, "", None),
    ("columns", "solar_unit", ("W/m2", "MJ/m2", "lux", "klux"), None, None, "", None),
    ("columns", "house_offset_c", "number", -10, 10, "degrees C, added to each reading", 0.0),
    ("columns", "soil_offset_c", "number", -10, 10, "degrees C, added to each reading", 0.0),
    ("columns", "outlet_offset_c", "number", -10, 10, "degrees C, added to each reading", 0.0),
    ("columns", "outside_offset_c", "number", -10, 10, "degrees C, added to each reading", 0.0),
    ("columns", "keep", "texts", None, None, "", ()),
    ("energy.band", "months", "months", None, None, "", tuple(range(1, 13))),
    ("energy.band", "weekdays", "weekdays", None, None, "", WEEKDAYS),
    ("energy.band", "from", "clock", None, None, "", 0),
    ("energy.band", "to", "clock", None, None, "", 1440),
    ("energy.band", "price_per_kwh", "number", 0, 1000, "money per kilowatt hour", NEEDED),
]


@dataclass(frozen=True)
class Place:
    """[site]. latitude, longitude in degrees or None; elevation_m in metres; units "C" or "F", for people."""

    name: str
    time_zone: str
    latitude: float | None
    longitude: float | None
    elevation_m: float
    units: str

    @property
    def zone(self):
        """The time zone as a tzinfo."""
        return ZoneInfo(self.time_zone)


@dataclass(frozen=True)
class Needs:
    """[needs]. What the plants stand: no colder than frost_floor_c, no hotter than hot_limit_c. [degC]"""

    frost_floor_c: float
    hot_limit_c: float


@dataclass(frozen=True)
class Fan:
    """[fan]. watts at full speed; airflow_m3_h at full speed or None; speed_control: can it run slower."""

    watts: float
    speed_control: bool
    airflow_m3_h: float | None
    most_starts_per_hour: float
    relay_life_operations: int


@dataclass(frozen=True)
class Band:
    """One [[energy.band]]: the price in these months, on these weekdays (0 Monday), between these minutes.

    from_minute > to_minute crosses midnight and belongs to the day it starts on.
    """

    months: tuple[int, ...]
    weekdays: tuple[int, ...]
    from_minute: int
    to_minute: int
    price_per_kwh: float


@dataclass(frozen=True)
class Energy:
    """[energy]. The first band that fits an hour sets its price; price_per_kwh holds where none fits."""

    currency: str
    price_per_kwh: float | None
    bands: tuple[Band, ...]
    holidays: tuple[date, ...]
    backup_price_per_kwh: float | None


@dataclass(frozen=True)
class Pipes:
    """[house.pipes]. Any value may be None: not said."""

    count: int | None
    length_m: float | None
    diameter_m: float | None
    depth_m: float | None
    spacing_m: float | None


@dataclass(frozen=True)
class House:
    """[house]. Any value may be None: not said. cover is one of COVERS."""

    floor_m2: float | None
    volume_m3: float | None
    cover_m2: float | None
    cover: str | None
    pipes: Pipes


@dataclass(frozen=True)
class Columns:
    """[columns]. The log's own column names, None where not said; missing: words that mean no reading.

    clock: what the log's times are, "local" (with summer time), "standard" or "utc"; keep: kinds of faults whose
    rows are used all the same.
    """

    time: str | None
    house: str | None
    soil: str | None
    outlet: str | None
    outside: str | None
    humidity: str | None
    fan: str | None
    solar: str | None
    heater: str | None
    missing: tuple[str, ...]
    day_first: bool | None
    decimal_comma: bool | None
    clock: str | None = None
    temperature_unit: str | None = None
    humidity_unit: str | None = None
    fan_unit: str | None = None
    solar_unit: str | None = None
    house_offset_c: float = 0.0
    soil_offset_c: float = 0.0
    outlet_offset_c: float = 0.0
    outside_offset_c: float = 0.0
    keep: tuple[str, ...] = ()


@dataclass(frozen=True)
class Site:
    """The whole of site.toml."""

    site: Place
    needs: Needs
    fan: Fan
    energy: Energy
    house: House
    columns: Columns


def load_site(path):
    """Return the Site that a site.toml describes.

    path : str or Path
    Raises SiteError naming the file and every fault in it at once.
    """
    try:
        tree = tomllib.loads(read_text(path, SiteError, "a site.toml"))
    except tomllib.TOMLDecodeError as fault:
        raise SiteError(
            f"{path}: not valid TOML: {fault}.\nWrite each value as key = value, text in double quotes."
        ) from None
    site, faults = site_from_tree(tree)
    if site is None:
        count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
        raise SiteError("\n  ".join([f"{Path(path)}: {count}.", *faults]))
    return site


def site_from_tree(tree):
    """Return (Site or None, [fault texts]) for a parsed site.toml (nested dicts). Never raises."""
    faults = []
    sections, bands = _sections(tree, faults)
    values = {name: _values(name, table, faults) for name, table in sections.items()}
    prices = [_band(number, table, faults) for number, table in enumerate(bands, 1)]
    _check_between(values, bands, faults)
    if faults:
        return None, faults
    return Site(
        Place(**values["site"]),
        Needs(**values["needs"]),
        Fan(**values["fan"]),
        Energy(bands=tuple(band for band in prices if band), **values["energy"]),
        House(pipes=Pipes(**values["house.pipes"]), **values["house"]),
        Columns(**values["columns"]),
    ), []


def _sections(tree, faults):
    """Split the tree into its known tables, {name: dict}, and the list of price bands; report the rest."""
    known = list(dict.fromkeys(row[0] for row in FIELDS if "." not in row[0]))
    sections = {name: {} for name in [*known, "house.pipes"]}
    bands = []
    for name, table in tree.items():
        if name not in known:
            faults.append(f"[{name}]: there is no such section.{nearest(name, known)}")
        elif not isinstance(table, dict):
            faults.append(f"{name} = {table!r}: a section is needed. Write [{name}] on a line of its own.")
        else:
            sections[name] = dict(table)
    if "pipes" in sections["house"]:
        pipes = sections["house"].pop("pipes")
        if isinstance(pipes, dict):
            sections["house.pipes"] = pipes
        else:
            faults.append(f"[house] pipes = {pipes!r}: a section is needed. Write [house.pipes].")
    if "band" in sections["energy"]:
        bands = sections["energy"].pop("band")
        if not isinstance(bands, list) or not all(isinstance(band, dict) for band in bands):
            faults.append("[energy] band: a list of sections is needed. Write [[energy.band]] above each.")
            bands = []
    return sections, bands


def _values(section, table, faults, place=None):
    """Return {key: checked value} for one section; faults grow by what is wrong in it."""
    place = place or f"[{section}]"
    rows = [row for row in FIELDS if row[0] == section]
    known = [row[1] for row in rows]
    for key in table:
        if key not in known:
            faults.append(f"{place} {key}: there is no such key.{nearest(key, known)}")
    checked = {}
    for _, key, kind, lowest, highest, unit, default in rows:
        if key in table:
            value, want = check(kind, table[key], lowest, highest, unit)
            if want:
                faults.append(f"{place} {key} = {shown(table[key])}: {want}")
            checked[key] = value
        elif default is NEEDED:
            faults.append(f"{place} {key}: missing. {wanted(kind, lowest, highest, unit)}")
            checked[key] = None
        else:
            checked[key] = default
    return checked


def _band(number, table, faults):
    """Return the Band of one [[energy.band]], or None with faults said."""
    before = len(faults)
    value = _values("energy.band", table, faults, place=f"[[energy.band]] number {number}:")
    if len(faults) > before:
        return None
    if value["from"] == value["to"]:
        faults.append(f"[[energy.band]] number {number}: from and to are the same time: no hour lies between them.")
        return None
    days = tuple(WEEKDAYS.index(day) for day in value["weekdays"])
    return Band(value["months"], days, value["from"], value["to"], value["price_per_kwh"])


def _check_between(values, bands, faults):
    """Checks that need two values."""
    floor, limit = values["needs"]["frost_floor_c"], values["needs"]["hot_limit_c"]
    if floor is not None and limit is not None and limit < floor + 5:
        faults.append(
            f"[needs] hot_limit_c = {limit:g}: it must be at least 5 degrees above frost_floor_c ({floor:g})."
        )
    if values["energy"]["price_per_kwh"] is None and not bands:
        faults.append("[energy] price_per_kwh: missing. Give one price, or price bands as [[energy.band]].")
