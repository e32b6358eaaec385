"""Which column is what: named by the site, named as in our own log, or guessed from the words in its name.

A guess between two candidates is never made: the column is left out and both are reported as asked for.
"""

import re
from dataclasses import dataclass, field

from tuner.errors import LogError, nearest
from tuner.reader import dates, units
from tuner.reader.parts import shorten

OWN = {
    "house_c": "house",
    "soil_c": "soil",
    "outlet_c": "outlet",
    "outside_c": "outside",
    "humidity_pct": "humidity",
    "fan_pct": "fan",
    "heater": "heater",
    "vent": "vent",
    "phase": "phase",
    "reason": "reason",
    "alarms": "alarms",
    "solar_w_m2": "solar",
    "fan_power_w": "fan_power",
}
_PLACES = {
    "outlet": "outlet duct pipe pipes tube exhaust ausblas auslass blown discharge",
    "soil": "soil ground earth store bed floor substrate boden erde erdreich sol suelo bodem grond subsoil",
    "outside": "outside outdoor outdoors outer exterior external ambient aussen außen draussen exterieur extérieur "
               "dehors buiten weather afuera",
    "house": "house greenhouse glasshouse polytunnel hothouse inside indoor indoors inner interior interieur "
             "intérieur room gewachshaus gewächshaus gewaechshaus haus innen serre kas binnen invernadero",
}  # fmt: skip
_QUANTITIES = {
    "moisture": "moisture vwc wetness bodenfeuchte",
    "dew": "dew dewpoint taupunkt",
    "humidity": "humidity humid rh hum feuchte luftfeuchte luftfeuchtigkeit humidite humidité vocht "
                "vochtigheid humedad",
    "solar": "light lux solar sun irradiance radiation solarad par ppfd pyranometer strahlung globalstrahlung licht "
             "lumiere lumière luz zon sunlight sunshine illuminance ghi",
    "fan": "fan blower ventilator lüfter luefter ventilateur ventilador",
    "heater": "heater heating heat boiler heizung chauffage calefaccion calefacción verwarming radiator",
    "vent": "vent window flap louvre louver fenster",
    "time": "time date datetime timestamp datum zeit uhrzeit zeitstempel fecha hora heure tijd when clock",
    "other": "pressure wind rain battery batt voltage co2 record index sample nr no id count pump valve water status "
             "signal rssi dbm uptime gust",
    "temperature": "temp temperature temperatur température temperatura temperatuur tmp thermo thermometer t",
}  # fmt: skip
_EXTREMES = frozenset(["min", "max", "minimum", "maximum", "std", "sd", "hi", "lo", "high", "low"])
_MEANS = frozenset(["avg", "average", "mean", "mittel", "moyenne", "tavg"])
_POWER = frozenset(("power", "watt", "watts", "leistung", "puissance", "potencia", "vermogen"))
_PLACE_OF = {word: place for place, words in _PLACES.items() for word in words.split()}
_QUANTITY_OF = {word: kind for kind, words in _QUANTITIES.items() for word in words.split()}
_WORD = re.compile(r"[^\W\d_]+|\d+")
_COMPOUND = re.compile(r"(.{2,}?)(temperature|temperatur|temp|humidity|hum|luftfeuchte)$")
_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])")
_QUANTITY_OF_UNIT = {
    "C": "temperature",
    "F": "temperature",
    "K": "temperature",
    "lux": "solar",
    "klux": "solar",
    "W/m2": "solar",
    "MJ/m2": "solar",
    "umol": "solar",
    "hPa": "other",
    "V": "other",
    "s": "other",
}


@dataclass
class Roles:
    """at: role -> column position; time: positions of one or two time columns. why: role -> for people.

    asked: role -> the names between which no guess was made.
    """

    at: dict = field(default_factory=dict)
    time: tuple = ()
    why: dict = field(default_factory=dict)
    asked: dict = field(default_factory=dict)


def words_of(name):
    """Return the words of a column name in lower case, without a unit in brackets."""
    bare = re.sub(r"[(\[{](.*?)[)\]}]", lambda match: " " if units.known(match[1]) else f" {match[1]} ", name)
    words = []
    for word in _WORD.findall(_CAMEL.sub(" ", bare)):
        match = _COMPOUND.match(word.lower())
        words += [part for part in match.groups() if part] if match else [word.lower()]
    return words


def understand(name, unit="", file_words=()):
    """Return (quantity, place, strength) that a column's name tells; "" where it does not.

    strength: 2 the name has a word for the place, 1 only "air" or "in", 0 none (the file's name may tell).
    """
    words = words_of(name)
    quantity = next((_QUANTITY_OF[word] for word in words if _QUANTITY_OF.get(word, "time") not in ("time",)), "")
    if quantity == "temperature" or not quantity:
        told = next((kind for kind in _QUANTITIES if any(_QUANTITY_OF.get(word) == kind for word in words)), "")
        quantity = told or _QUANTITY_OF_UNIT.get(unit, "")
    places = {_PLACE_OF[word] for word in words if word in _PLACE_OF}
    place = next((place for place in _PLACES if place in places), "")
    if quantity in ("", "temperature") and not place:
        if "air" in words or "in" in words or "luft" in words:
            return quantity, "house", 1
        if "out" in words or "ext" in words:
            return quantity, "outside", 1
        from_file = {_PLACE_OF[word] for word in file_words if word in _PLACE_OF}
        place = next((place for place in _PLACES if place in from_file), "")
        return quantity, place, 0
    return quantity, place, 2 if place else 0


def _role_of(name, unit, file_words):
    """Return (role or "", strength) for one column."""
    quantity, place, strength = understand(name, unit, file_words)
    words = words_of(name)
    if quantity in ("moisture", "dew", "other", "time"):
        return "", 0
    if quantity == "humidity" or (unit == "%" and quantity in ("", "temperature") and place in ("house", "")):
        if place == "soil" or place == "outside" or place == "outlet":
            return "", 0
        known = quantity == "humidity"
        return ("humidity", 1 + strength) if known or place == "house" else ("", 0)
    if quantity == "fan" and (unit in ("W", "kW") or set(words) & _POWER):
        return "fan_power", 2
    if quantity in ("solar", "fan", "heater", "vent"):
        return ("", 0) if unit in ("C", "F") else (quantity, 2)
    if place:
        return place, strength + (1 if quantity == "temperature" or unit in ("C", "F", "K") else 0)
    if quantity == "temperature" and not set(words) & {"cpu", "board", "logger", "internal", "chip", "battery"}:
        return "house", 0
    return "", 0


def guess(layout, path, named=None):
    """Return the Roles of a Dialect's columns.

    named : {role: the column's name in the site.toml}, only those that are said.
    Raises LogError where no time column is found or several could be.
    """
    roles = Roles()
    named = {role: _wanted(name, path) for role, name in (named or {}).items()}
    for role, name in named.items():
        at = _find(layout.names, name) if name else None
        if at is not None and role != "time":
            roles.at[role] = at
            roles.why[role] = "named in site.toml"
    _time_columns(roles, layout, path, named.get("time"))
    taken = set(roles.at.values()) | set(roles.time)
    candidates = {}
    others = [at for at, name in enumerate(layout.names) if name and at not in taken]
    file_words = words_of(path.stem.replace(".csv", ""))
    for at, name in enumerate(layout.names):
        if at in taken:
            continue
        if name in OWN or name == "fan_s":
            role, strength = OWN.get(name, ""), 9
        else:
            alone = len(others) == 1 or understand(name, layout.units[at])[0] == "temperature"
            role, strength = _role_of(name, layout.units[at], file_words if alone else ())
        if role and role not in named:
            candidates.setdefault(role, []).append((strength, at))
    for role, found in candidates.items():
        _choose(roles, role, found, layout.names)
    if "fan" not in roles.at and "fan" not in roles.asked and "fan_power" in roles.at:
        roles.at["fan"] = roles.at["fan_power"]  # the power shows the state too
        roles.why["fan"] = "by its power"
    return roles


def _wanted(name, path):
    """Return the column name meant for this file: "soil.csv:Temperature" counts only in soil.csv."""
    file, colon, column = name.partition(":")
    if colon and file.lower().endswith((".csv", ".txt", ".gz", ".tsv", ".log")):
        return column.strip() if file == path.name else ""
    return name


def _find(names, wanted):
    """Return the position of a column by its name: as written, else in any case, else without its bracket."""
    for shape in (str.strip, str.lower, lambda text: re.sub(r"\s*[(\[{].*?[)\]}]", "", text).strip().lower()):
        shaped = [shape(name) for name in names]
        if shaped.count(shape(wanted)) == 1:
            return shaped.index(shape(wanted))
    return None


def _choose(roles, role, found, names):
    """Take the one best candidate, or note that several are equally good."""
    means = [(s, at) for s, at in found if set(words_of(names[at])) & _MEANS]
    plain = [(s, at) for s, at in found if not set(words_of(names[at])) & _EXTREMES]
    found = means if len(means) == 1 and len(plain) == 1 else (plain or found)
    best = max(strength for strength, _ in found)
    top = [at for strength, at in found if strength == best]
    if len(top) == 1:
        roles.at[role] = top[0]
        roles.why[role] = "by its name" if best else "the only temperature without a place"
    else:
        roles.asked[role] = [names[at] for at in top]


def _time_columns(roles, layout, path, wanted):
    kinds = [_time_kind([row[at] for row in layout.sample]) for at in range(len(layout.names))]
    if wanted:
        at = _find(layout.names, wanted)
        if at is not None:
            clock = next((other for other, kind in enumerate(kinds) if kind == "clock" and other != at), None)
            roles.time = (at, clock) if kinds[at] == "date" and clock is not None else (at,)
            roles.why["time"] = "named in site.toml"
            return
    for kind, partner in (("both", None), ("date", "clock"), ("date", None), ("number", None)):
        found = [at for at, told in enumerate(kinds) if told == kind]
        if kind == "number":
            found = [at for at in found if "time" in _time_words(layout.names[at]) or at == 0] or found[:0]
        if partner:
            clocks = [at for at, told in enumerate(kinds) if told == partner]
            if len(found) == 1 and len(clocks) == 1:
                roles.time = (found[0], clocks[0])
                roles.why["time"] = "date and time of day in two columns"
                return
            continue
        if len(found) > 1:
            found = [at for at in found if "utc" in _time_words(layout.names[at])] or found
        if len(found) > 1:
            raise LogError(
                f"{path}, line {layout.header_line}: several columns could be the time: "
                + " and ".join(f'"{shorten(layout.names[at])}"' for at in found[:8])
                + '.\nName the right one as time = "..." under [columns] in site.toml.'
            )
        if found:
            roles.time = (found[0],)
            roles.why["time"] = "the only column of times"
            return
    raise LogError(
        f"{path}, line {layout.header_line}: no column holds the time (the columns are "
        + ", ".join(f'"{shorten(name)}"' for name in layout.names[:8])
        + ").\nA time is a date with a time of day, such as "
        '2026-01-31 18:05; name its column as time = "..." under [columns] in site.toml.'
    )


def _time_words(name):
    words = re.findall(r"[^\W\d_]+", name.lower())
    return {_QUANTITY_OF.get(word, word) for word in words} | set(words)


def _time_kind(cells):
    """Return "both", "date", "clock", "number" or "" for what most filled cells of a column are."""
    counts = {}
    for cell in cells:
        if cell:
            counts[_cell_kind(cell)] = counts.get(_cell_kind(cell), 0) + 1
    best = max(counts, key=lambda kind: counts[kind], default="")
    return best if counts.get(best, 0) * 2 > sum(counts.values()) else ""


def _cell_kind(cell):
    if dates.is_time(cell):
        return "both" if dates.split(cell)[1] else "date"
    if dates.is_clock(cell):
        return "clock"
    if dates.is_number(cell) and dates.number_kind(float(cell.replace(",", "."))):
        return "number"
    return ""


def refuse_unknown(named, tables):
    """Raise LogError for a column that site.toml names but no file has.

    named : {role: name}; tables : list of (path, names).
    """
    for role, name in named.items():
        if not any(_wanted(name, path) and _find(names, _wanted(name, path)) is not None for path, names in tables):
            every = [known for _, names in tables for known in names]
            files = ", ".join(str(path) for path, _ in tables[:3]) + (", ..." if len(tables) > 3 else "")
            raise LogError(
                f'{files}: site.toml names the column "{name}" as {role}, but there is none.'
                f"{nearest(name, every)}\nThe columns are "
                + ", ".join(f'"{shorten(known)}"' for known in dict.fromkeys(every[:12]))
                + (
                    "; a name that comes twice in a file names neither."
                    if len(set(every)) < len(every) and any(names.count(name) > 1 for _, names in tables)
                    else "."
                )
            )
