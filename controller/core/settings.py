"""Settings from and to a file's mapping, with every fault in words.

What lives here: the checks of one value and between rows; board console and desktop refuse in the same words.
What never does: the rows themselves (rows), a file, a decision.
"""

from controller.core.rows import TABLE, Settings, bounds_text, text_of

LONGEST_SHOWN = 40  # letters of a key or value that are echoed back


def _is_number(value):
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def number_of(row, value):
    """Return (core int, "") for the file's value of one row, or (0, what is wrong with it)."""
    unit = row[4]
    if unit == "0 or 1" and isinstance(value, bool):
        value = 1 if value else 0
    if not _is_number(value):
        return 0, "is not a number"
    scale = 100 if unit[0] == "C" else 1
    if unit[-3:] == "off" and value == 0:
        return 0, ""
    if not row[2] <= value * scale <= row[3]:  # false for NaN too
        return 0, "is out of range"
    number = round(value * scale)
    # One thousandth of slack, for boards whose floats hold 24 bits.
    if abs(value * scale * 10 - number * 10) > 1:
        return 0, "is finer than 0.01" if scale == 100 else "is not a whole number"
    return number, ""


def distance(left, right):
    """Return the number of letters to insert, drop or change between two words (Levenshtein 1966)."""
    before = list(range(len(right) + 1))
    for i in range(len(left)):
        now = [i + 1]
        for j in range(len(right)):
            change = 0 if left[i] == right[j] else 1
            now.append(min(before[j + 1] + 1, now[j] + 1, before[j] + change))
        before = now
    return before[-1]


def nearest(word, known):
    """Return the name among known that differs least from word."""
    return min([(distance(word, name), name) for name in known])[1]


def from_mapping(mapping):
    """Return (Settings, []) for a mapping of file keys, or (None, [every fault in words]).

    Rows that the mapping leaves out take their defaults. Nothing is changed when there is a fault.
    """
    known = [row[0] for row in TABLE]
    numbers, faults, unsure = [], [], []
    for row in TABLE:  # in the table's order: a board's mappings have none
        number, wrong = number_of(row, mapping[row[0]]) if row[0] in mapping else (row[1], "")
        numbers.append(row[1] if wrong else number)
        if wrong:
            unsure.append(row[0])
            shown = repr(mapping[row[0]])[:LONGEST_SHOWN]
            faults.append("%s: %s %s. It must be %s." % (row[0], shown, wrong, bounds_text(row)))
    for key in sorted([str(key)[:LONGEST_SHOWN] for key in mapping if key not in known]):
        faults.append('"%s" is not a setting. The nearest is "%s".' % (key, nearest(key, known)))
    settings = Settings(*numbers)
    faults += between_rows(settings, unsure)
    return (None if faults else settings), faults


def to_mapping(settings):
    """Return the file mapping of Settings: degrees C as decimals, the rest as ints."""
    out = {}
    for i in range(len(TABLE)):
        number = settings[i]
        if TABLE[i][4][0] == "C":
            text = text_of(number, "C")
            out[TABLE[i][0]] = float(text) if "." in text else int(text)
        else:
            out[TABLE[i][0]] = number
    return out


def between_rows(s, unsure=()):
    """Return the faults between rows of Settings s, each in words; [] when they agree.

    Checks that name a row in unsure (its value was refused) are left out.
    """
    heat_off = s.heat_below_centi_c + s.heat_band_centi_c
    charge_off = s.charge_above_centi_c - s.charge_band_centi_c
    damp_off = s.humid_charge_above_centi_c - s.charge_band_centi_c
    warm_off = s.discharge_below_centi_c + s.discharge_band_centi_c
    vent_shut = s.vent_above_centi_c - s.vent_band_centi_c
    damp, flush = s.humid_charge_pct > 0, s.flush_above_centi_c != 0
    heater, vent = s.heater_fitted == 1, s.vent_fitted == 1
    guard_off = s.frost_guard_centi_c + s.frost_band_centi_c
    checks = (
        (charge_off >= warm_off + 300,
         "charge_above_c - charge_band_c must be at least 3 above discharge_below_c + discharge_band_c"),
        (not damp or damp_off >= warm_off + 300,
         "humid_charge_above_c - charge_band_c must be at least 3 above discharge_below_c + discharge_band_c"),
        (guard_off <= s.discharge_below_centi_c,
         "frost_guard_c + frost_band_c must not be above discharge_below_c"),
        (s.gain_band_centi_c <= s.least_gain_centi_c - 50,
         "gain_band_c must be at least 0.5 below least_gain_c"),
        (s.soil_floor_centi_c + 500 <= s.soil_ceiling_centi_c,
         "soil_floor_c must be at least 5 below soil_ceiling_c"),
        (s.min_run_s <= s.blind_run_s <= s.max_run_s,
         "blind_run_s must lie between min_run_s and max_run_s"),
        (s.min_run_s <= s.max_run_s, "min_run_s must not be above max_run_s"),
        (s.blind_rest_s >= s.min_rest_s, "blind_rest_s must not be below min_rest_s"),
        (not heater or heat_off < charge_off,
         "heat_below_c + heat_band_c must be below charge_above_c - charge_band_c"),
        (not vent or s.vent_above_centi_c >= s.charge_above_centi_c + 100,
         "vent_above_c must be at least 1 above charge_above_c"),
        (not vent or vent_shut >= charge_off,
         "vent_above_c - vent_band_c must not be below charge_above_c - charge_band_c"),
        (not vent or not heater or vent_shut > heat_off + 300,
         "vent_above_c - vent_band_c must be more than 3 above heat_below_c + heat_band_c"),
        (not flush or s.flush_above_centi_c <= s.soil_ceiling_centi_c,
         "flush_above_c must not be above soil_ceiling_c"),
    )  # fmt: skip
    return [words + _values(words, s) for right, words in checks if not right and not _names_any(words, unsure)]


def _names_any(words, keys):
    return any(key in words.split(" ") for key in keys)


def _values(words, s):
    """Return " (now a 24, b 2)." with the value of each setting that words names, in their order."""
    values = {TABLE[i][0]: text_of(s[i], TABLE[i][4]) for i in range(len(TABLE))}
    named = [word for word in words.split(" ") if word in values]
    return " (now " + ", ".join([word + " " + values[word] for word in named]) + ")."
