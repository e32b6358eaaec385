"""site.toml: what the plants need, the fan, the price of energy, the house, and the columns of the log.

The values that it may hold stand in site_fields.py, one row each. Nothing here computes.
"""

import tomllib
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from zoneinfo import ZoneInfo

from tuner import bands as price_bands
from tuner import degrees
from tuner.errors import SiteError, nearest
from tuner.files import read_text
from tuner.site_fields import COVERS, FIELDS, NEEDED
from tuner.site_values import DAYS, check, shown, wanted

__all__ = ["COVERS", "FIELDS", "NEEDED", "Band", "Energy", "Fan", "Site", "load_site", "site_from_tree"]


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
    """[fan]. watts at full speed; airflow_m3_h at full speed or None; speed_control: can it run slower.

    standby_watts are drawn while the fan rests, drive_watts by the speed drive while it runs (part of watts).
    points : measured (percent, watts), rising. motor_in_air: the motor sits in the stream that it moves.
    """

    watts: float
    speed_control: bool
    airflow_m3_h: float | None
    most_starts_per_hour: float
    relay_life_operations: int
    standby_watts: float = 0.0
    drive_watts: float = 0.0
    motor_in_air: bool = True
    points: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class Band:
    """One [[energy.band]]: the price in these months, on these days, between these minutes of the local day.

    weekdays : 0 Monday to 6 Sunday, 7 a holiday. from_minute > to_minute covers the end and the beginning of each
    such day; see tuner/bands.py.
    """

    months: tuple[int, ...]
    weekdays: tuple[int, ...]
    from_minute: int
    to_minute: int
    price_per_kwh: float
    name: str = ""


@dataclass(frozen=True)
class Energy:
    """[energy]. Each hour has the price of the one band that covers it, or price_per_kwh where none does.

    holidays : dates, and countries such as "NZ" or "US-NC". daily_charge is due whether or not the fan runs.
    """

    currency: str
    price_per_kwh: float | None
    bands: tuple[Band, ...]
    holidays: tuple[date | str, ...]
    backup_price_per_kwh: float | None
    daily_charge: float = 0.0


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
    fan_power: str | None
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


def load_site(path, units=None):
    """Return the Site that a site.toml describes.

    path : str or Path
    units : "C" or "F", in place of the file's own for what people read
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
    return site if units is None else replace(site, site=replace(site.site, units=units))


def site_from_tree(tree):
    """Return (Site or None, [fault texts]) for a parsed site.toml (nested dicts). Never raises."""
    faults = []
    sections, lists = _sections(tree, faults)
    values = {name: _values(name, table, faults) for name, table in sections.items()}
    prices = [_band(number, table, faults) for number, table in enumerate(lists["energy.band"], 1)]
    points = [_point(number, table, faults) for number, table in enumerate(lists["fan.point"], 1)]
    _check_between(values, "price_per_kwh" in sections["energy"] or lists["energy.band"], faults)
    if all(prices) and not (values["energy"]["price_per_kwh"] is None and "price_per_kwh" in sections["energy"]):
        faults += price_bands.faults(prices, values["energy"]["price_per_kwh"], bool(values["energy"]["holidays"]))
    right = sorted(point for point in points if point)
    if len(right) == len(points):
        _check_points(right, values["fan"], faults)
    if faults:
        return None, faults
    return Site(
        Place(**values["site"]),
        Needs(**values["needs"]),
        Fan(points=tuple(right), **values["fan"]),
        Energy(bands=tuple(band for band in prices if band), **values["energy"]),
        House(pipes=Pipes(**values["house.pipes"]), **values["house"]),
        Columns(**values["columns"]),
    ), []


LISTS = {"energy.band": "price bands", "fan.point": "measured points"}


def _sections(tree, faults):
    """Split the tree into its known tables, {name: dict}, and its lists of tables, {name: list}; report the rest."""
    known = list(dict.fromkeys(row[0] for row in FIELDS if "." not in row[0]))
    sections = {name: {} for name in [*known, "house.pipes"]}
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
    return sections, {name: _list_of(name, sections, faults) for name in LISTS}


def _list_of(name, sections, faults):
    """Take the list of tables `section.key` out of its section; [] with a fault where it is no such list."""
    section, key = name.split(".")
    found = sections[section].pop(key, [])
    if isinstance(found, list) and all(isinstance(one, dict) for one in found):
        return found
    faults.append(f"[{section}] {key}: a list of sections is needed. Write [[{name}]] above each.")
    return []


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
    days = tuple(DAYS.index(day) for day in value["weekdays"])
    return Band(value["months"], days, value["from"], value["to"], value["price_per_kwh"], value["name"])


def _point(number, table, faults):
    """Return (percent, watts) of one [[fan.point]], or None with faults said."""
    before = len(faults)
    value = _values("fan.point", table, faults, place=f"[[fan.point]] number {number}:")
    return None if len(faults) > before else (value["percent"], value["watts"])


def _check_points(points, fan, faults):
    """Measured points must rise towards full power, and the drive's own loss must leave room below them."""
    watts, drive = fan["watts"], fan["drive_watts"]
    if points and fan["speed_control"] is False:
        faults.append("[[fan.point]]: measured points need [fan] speed_control = true.")
    if watts is None or drive is None:
        return
    if drive > watts:
        faults.append(f"[fan] drive_watts = {drive:g}: it is part of watts ({watts:g}) and cannot be more.")
    whole = [*points, (100.0, watts)] if not points or points[-1][0] < 100 else points
    if whole[-1][1] != watts:
        faults.append(
            f"[[fan.point]] percent = 100, watts = {whole[-1][1]:g}: [fan] watts says {watts:g} at full speed. "
            "Give both the same value."
        )
    for (low, less), (high, more) in zip([(0.0, drive), *whole], whole, strict=False):
        if high == low or more < less:
            faults.append(
                f"[[fan.point]]: {more:g} W at {high:g} % after {less:g} W at {low:g} %: power must rise with speed, "
                "one value for each speed."
            )


def _check_between(values, priced, faults):
    """Checks that need two values. priced: was a price or a band given, right or wrong."""
    floor, limit = values["needs"]["frost_floor_c"], values["needs"]["hot_limit_c"]
    if floor is not None and limit is not None and limit < floor + 5:
        faults.append(
            f"[needs] hot_limit_c = {degrees.both(limit)}: it must be at least 5 K (9 F) above frost_floor_c, "
            f"which is {degrees.both(floor)}."
        )
    if not priced:
        faults.append("[energy] price_per_kwh: missing. Give one price, or price bands as [[energy.band]].")
