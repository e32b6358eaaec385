"""One file of any other logger as a Piece: columns understood, cells read, units made ours, times made UTC."""

import re

import numpy as np

from controller.core.reasons import ALARMS, PHASE_WORDS, REASONS
from tuner.errors import LogError
from tuner.reader import clock, columns, dates, order, rows, table, units, values, zone
from tuner.reader.parts import TEMPERATURES, Fault, Piece, shorten

_KINDS = {
    "fan": "state",
    "fan_power": "state",
    "heater": "state",
    "vent": "state",
    "phase": "text",
    "reason": "text",
    "alarms": "text",
}
_NAMED = ("time", "house", "soil", "outlet", "outside", "humidity", "fan", "solar", "heater", "fan_power")
_OUR_UNIT = {"0/1": "on/off", "": "unit not told"}
_ZONE_IN_NAME = re.compile(r"\b(?:UTC|GMT)\s*([+-]\d{1,2}(?::?\d{2})?)?", re.IGNORECASE)


def named_columns(site):
    """Return {role: name} of the columns that a Site names; {} without a site."""
    said = getattr(site, "columns", None)
    return {role: getattr(said, role) for role in _NAMED if getattr(said, role, None)} if said else {}


def option(site, key):
    """Return a value of [columns], None without a site."""
    return getattr(getattr(site, "columns", None), key, None)


def plan(layout, path, site):
    """Return (Roles, {position: kind}) for a Dialect. Raises LogError where no column is understood."""
    roles = columns.guess(layout, path, named_columns(site))
    if not roles.at and not roles.asked:
        raise LogError(
            f"{path}, line {layout.header_line}: none of the columns is understood ("
            + ", ".join(f'"{shorten(name)}"' for name in layout.names[:8])
            + ').\nName them under [columns] in site.toml, for example house = "'
            + next((name for at, name in enumerate(layout.names) if at not in roles.time and name), "...")
            + '".'
        )
    kinds = {at: _KINDS.get(role, "number") for role, at in roles.at.items()}
    return roles, kinds | {at: "time" for at in roles.time}


def piece(read, roles, site):
    """Return the Piece of a Table, times in ms UTC and rising, our names and units.

    Raises LogError for a cell, line or column that cannot be used.
    """
    found = Piece(read.path, np.empty(0), {}, read.line)
    texts = [read.columns[at].values for at in roles.time]
    name = read.dialect.names[roles.time[0]]
    when = clock.read(read.path, texts, read.line, name, option(site, "day_first")) if len(read.line) else None
    if when is not None:
        rows.settle(read, when, texts, name, found)
    if when is None or not len(read.line):
        raise LogError(f"{read.path} holds a header line but no readings.\nName a log with at least one row.")
    found.faults += when.faults
    found.line = read.line
    given = {role: read.columns[at] for role, at in roles.at.items()}
    _refuse_bad_cells(read.path, given, roles, found)
    mark = values.decimal_mark(read.path, given, option(site, "decimal_comma"))
    found.understood["layout"] = _layout_text(read.dialect, mark)
    _fill(found, given, when.ms, site)
    for role in list(given):
        found.understood[role] = f'"{given[role].name}", {found.units[role_name(role)]} ({roles.why[role]})'
    for role, names in roles.asked.items():
        shown = " and ".join(f'"{one}"' for one in names)
        found.faults.append(
            Fault(
                "asked",
                f"{read.path}, line {read.dialect.header_line}",
                f"{shown} could each be {_article(role)}",
                "none of them was used",
                f"name the right one as {role} under [columns]",
                column=role_name(role),
            )
        )
    _set_utc(found, when, name, site)
    order.settle(found)
    return found


def role_name(role):
    """Return the name of a role's column in the table."""
    return "fan_pct" if role == "fan" else role


def _article(role):
    return {"humidity": "the humidity", "solar": "the light"}.get(role, f"the {role}")


def _layout_text(layout, mark):
    shown = {"\t": "tabs", " ": "blanks", ",": "commas", ";": "semicolons", "|": "bars"}[layout.delimiter]
    return f"{shown} between columns, decimal {mark}, header on line {layout.header_line}"


def _refuse_bad_cells(path, given, roles, found):
    """Raise LogError for the first bad cell of a column; one that is mostly words is left out and reported."""
    for role, column in list(given.items()):
        bad = [(line, text) for line, text in column.bad if line <= found.line[-1] and (found.line == line).any()]
        if not bad:
            continue
        count = column.seen["bad"][0]
        readings = int((~np.isnan(column.values)).sum())
        line, text = bad[0]
        if count > readings and roles.why[role] != "named in site.toml":
            found.faults.append(
                Fault(
                    "column of words",
                    f'{path}, line {line}, column "{column.name}"',
                    f"{shorten(text)!r} is not {values.NAMES[role]}, and most cells are like it",
                    "the column was not used",
                    f"name another column as {role} under [columns]",
                    column=role_name(role),
                )
            )
            del given[role]
            continue
        raise table.cell_error(
            path,
            line,
            column.name,
            text,
            f"is not {values.NAMES[role]}",
            ("A fan is on or off, yes or no, 0 or 1, % or W. " if role == "fan" else "")
            + "Leave the cell empty for a missing reading, or name the text for missing values under [columns] missing "
            "in site.toml.",
        )


def _fill(found, given, ms, site):
    """Put the columns into found.values in our units, and remember what was no reading."""
    span = int(ms.max() - ms.min())
    told = {role: _told_unit(column, role, site, found.file) for role, column in given.items()}
    if given.get("fan") is not None and given["fan"] is given.get("fan_power"):
        told["fan"] = told["fan_power"]
    temperatures = {role: given[role] for role in TEMPERATURES if role in given}
    unsure = {
        role: np.where(values.sentinels(column.values, role, "") | (np.abs(column.values) > 400), np.nan, column.values)
        for role, column in temperatures.items()
        if not told[role]
    }
    if unsure:
        unit = option(site, "temperature_unit") or values.temperature_unit(found.file, unsure, span)
        told |= dict.fromkeys(unsure, unit)
    for role, column in given.items():
        if column.kind == "text":
            _take_words(found, role, column)
            continue
        if role != "fan_power" or given.get("fan") is not column:  # else said once, for the fan
            _note_missing(found, role, column)
            column.values = _without_sentinels(found, role, column, told[role])
        ours, unit, faults = _in_our_unit(found.file, role, column, told[role], site)
        if role == "fan" and unit.startswith("W") and "fan_power" not in given:
            found.values["fan_power"], found.units["fan_power"] = units.to_ours(column.values, told[role]), "W"
        found.values[role_name(role)], found.units[role_name(role)] = ours, unit
        found.faults += faults


def _take_words(found, role, column):
    """Take a column of phases, reasons or alarms if it holds the board's own words; else leave it out and say so."""
    texts = np.array([text.lower() for text in column.values], dtype=object)
    known = {"phase": PHASE_WORDS, "reason": [word for word, _ in REASONS], "alarms": [word for word, _ in ALARMS]}
    strange = sorted({word for text in set(texts) for word in text.split()} - set(known[role]))
    if not strange:
        found.values[role], found.units[role] = texts, "words"
        return
    found.units[role] = "not used"
    found.faults.append(
        Fault(
            "column of words",
            f'{found.file}, column "{column.name}"',
            f"{strange[0]!r} is not a word that the board writes there",
            "the column was not used",
            column=role,
            grave=False,
        )
    )


def _told_unit(column, role, site, path):
    """Return the unit of a column as the site, the header, the units row or the cells tell it; "" if none does."""
    said = {
        "fan_power": "W" if not column.unit else None,
        "humidity": option(site, "humidity_unit"),
        "fan": option(site, "fan_unit"),
        "solar": option(site, "solar_unit"),
    }.get(role)
    if role in TEMPERATURES:
        said = option(site, "temperature_unit")
    if said:
        return {"0-1": "fraction", "on/off": "0/1"}.get(said, said)
    inside = sorted({units.known(unit) for unit in column.written_units} - {""})
    if len(inside) > 1 or (inside and column.unit and inside[0] != column.unit and role in TEMPERATURES):
        shown = " and ".join(inside if len(inside) > 1 else [column.unit, inside[0]])
        raise LogError(
            f'{path}, column "{column.name}": cells and header name different units ({shown}).\nWrite one '
            "unit in the header and bare numbers in the cells."
        )
    unit = column.unit or (inside[0] if inside else "")
    fits = {
        "humidity": ("%", "fraction"),
        "fan": ("%", "W", "kW", "0/1"),
        "heater": ("%", "W", "kW", "0/1"),
        "fan_power": ("W", "kW"),
        "vent": ("%", "0/1"),
        "solar": ("W/m2", "MJ/m2", "lux", "klux", "umol"),
    }.get(role, ("C", "F", "K"))
    return unit if unit in fits else ""


def _note_missing(found, role, column):
    if column.missing_words:
        shown = ", ".join(f"{word!r}{values.times(count)}" for word, count in column.missing_words.most_common(4))
        more = len(column.missing_words) - 4
        shown += f" and {more} more" if more > 0 else ""
        found.faults.append(
            Fault(
                "words for missing",
                f'{found.file}, column "{column.name}"',
                f"cells say {shown}",
                "they were taken as missing readings",
                rows=sum(column.missing_words.values()),
                column=role_name(role),
                grave=False,
            )
        )


def _without_sentinels(found, role, column, unit):
    """Return the column's numbers with those that stand for "no reading" as NaN, and list them."""
    numbers = column.values
    which = values.sentinels(numbers, role, unit)
    if which.any():
        at = int(np.argmax(which))
        found.faults.append(
            Fault(
                "sentinel",
                f'{found.file}, line {found.line[at]}, column "{column.name}"',
                f"{values.counted(numbers, which)} stands for no reading",
                "these cells were taken as missing",
                "",
                rows=int(which.sum()),
                column=role_name(role),
            )
        )
    return np.where(which, np.nan, numbers)


def _in_our_unit(path, role, column, unit, site):
    """Return (values in our unit, the unit for people, faults)."""
    if role == "humidity":
        return values.humidity(path, column.values, unit, column.name)
    if role == "fan":
        return values.fan(path, column, unit, getattr(site, "fan", None), column.name)
    numbers = units.to_ours(column.values, unit)
    if role in TEMPERATURES:
        return numbers, {"F": "degF", "K": "K"}.get(unit, "degC"), []
    if role == "vent":
        return np.where(np.isnan(numbers), np.nan, (numbers > 0).astype(float)), "on/off", []
    if role == "fan_power":
        return numbers, "W", []
    if role == "heater" and not unit:
        highest = np.nanmax(numbers) if not np.isnan(numbers).all() else 0.0
        unit = "0/1" if highest <= 1 else ""
    if role == "heater" and unit == "%":
        numbers = numbers / 100.0
    return numbers, _OUR_UNIT.get(unit, unit), []


def _set_utc(found, when, name, site):
    """Turn the clock's readings into UTC, by what the cells, the header or the site say."""
    spare = zone_in_name(name)
    if when.utc:
        found.time, how = when.ms, ""
    elif when.offset is not None and not np.isnan(when.offset).any():
        found.time, how = when.ms - (when.offset * 1000).astype(np.int64), "offset from UTC in each cell"
    elif when.offset is not None:
        at = int(np.argmax(np.isnan(when.offset)))
        raise LogError(
            f'{found.file}, line {found.line[at]}, column "{name}": this time names no offset from UTC, but '
            "others in the column do.\nWrite all times alike."
        )
    elif spare is not None and option(site, "clock") is None:
        found.time, how = when.ms - spare * 1000, f"UTC{spare / 3600:+g} h as the header says"
    else:
        zone_name = getattr(getattr(site, "site", None), "time_zone", None)
        local, turned = order.newest_last(when.ms)
        placed = zone.place(
            found.file, local, found.line[::-1] if turned else found.line, zone_name, option(site, "clock")
        )
        back = slice(None, None, -1) if turned else slice(None)
        found.time, how = placed.utc[back], placed.how
        found.faults += placed.faults
        if placed.lost.any():
            found.take(~placed.lost[back])
    found.understood["time"] = f'"{name}", ' + ", ".join(part for part in (when.how, how) if part)


def zone_in_name(name):
    """Return the offset from UTC that a time column's name tells ("Time, GMT-05:00", "time_utc"), in seconds."""
    match = _ZONE_IN_NAME.search(name.replace("_", " "))
    if not match:
        return None
    told = dates.parse_time("0:00" + _two_digits(match[1])) if match[1] else (0, 0)
    return told[1] if told else None


def _two_digits(offset):
    sign, rest = offset[0], offset[1:]
    hour, _, minute = rest.partition(":")
    if not minute and len(hour) > 2:
        hour, minute = hour[:-2], hour[-2:]
    return f"{sign}{hour.zfill(2)}:{minute or '00'}"
