"""Degrees C and F, in and out: the one place where a temperature is turned into text for people or read from it.

Inside the tuner, and in every file for machines, temperatures are degrees C and differences kelvin. A difference has
no zero point: it is scaled only, and so is what counts per degree.
"""

import re

UNITS = ("C", "F")
SIZE = {"C": 1.0, "F": 9 / 5}  # degrees of that scale in one kelvin
DIFFERENCES = ("_band_c", "_gain_c", "_offset_c")  # ends of the keys that hold a difference
EXAMPLES = {False: ("7", "7C", "45F"), True: ("5", "5K", "9F")}  # of a temperature, of a difference


def in_units(value_c, units):
    """Return a temperature, or an array of them, in degrees C as units ("C" or "F")."""
    return value_c * 9 / 5 + 32 if units == "F" else value_c


def fixed(value, places, sign=""):
    """Return a number with so many decimals and never a minus before zero. sign "+": a plus before what is above."""
    text = f"{value:{sign}.{places}f}"
    return text[1:] if text[0] in "+-" and not text.strip("+-0.") else text


def degrees(value_c, units, places=1):
    """Return a temperature in degrees C as text in units, without the unit; "-" for None."""
    return "-" if value_c is None else fixed(in_units(value_c, units), places)


def marked(value_c, units, places=1):
    """Return a temperature in degrees C as text with its unit: "12.3 C", "54.1 F"; "-" for None."""
    return "-" if value_c is None else f"{degrees(value_c, units, places)} {units}"


def short(value_c, units):
    """Return a setpoint without needless decimals: "7", "44.6"."""
    return trimmed(in_units(value_c, units))


def trimmed(value):
    """Return a number with two decimals at most and none that is not needed."""
    text = fixed(value, 2)
    return text.rstrip("0").rstrip(".")


def both(value_c):
    """Return a temperature in both scales: "7 C (44.6 F)"."""
    return f"{trimmed(value_c)} C ({short(value_c, 'F')} F)"


def size(units):
    """Return how many degrees of units one kelvin is: scales differences, degree hours and, divided, W per degree."""
    return SIZE[units]


def apart(value_k, units, places=1, sign=""):
    """Return a difference in kelvin as text with its unit: "2.5 K", "4.5 F"."""
    return f"{fixed(value_k * SIZE[units], places, sign)} {apart_word(units)}"


def apart_word(units):
    """Return what a difference is counted in: "K" beside degrees C, "F" beside degrees F."""
    return "K" if units == "C" else "F"


def is_difference(key):
    """Tell whether a key of settings or site.toml holds a difference: a band, a gain, an offset."""
    return key.endswith(DIFFERENCES)


def setting_text(key, value_c, units):
    """Return a setting in degrees C as text in units, without the unit and without needless decimals."""
    return trimmed(value_c * SIZE[units] if is_difference(key) else in_units(value_c, units))


_MARKED = re.compile(r"(?<![\w.])([+-]?\d+(?:\.(\d+))?) (degC|K)(?![\w/])")


def sentence(text, units):
    """Return a sentence of the program with each "5.0 degC" and "3 K" in it told in units, with as many decimals.

    Sentences that also go into files for machines (faults of a log, notes of a fit) are written in degrees C.
    """

    def told(found):
        number, decimals, unit = float(found[1]), len(found[2] or ""), found[3]
        value = in_units(number, units) if unit == "degC" else number * SIZE[units]
        if units == "C":
            shown = found[1]
        elif decimals:
            shown = fixed(value, decimals)
        else:
            shown = trimmed(round(value, 1))
        return f"{shown} {units if unit == 'degC' else apart_word(units)}"

    return _MARKED.sub(told, text)


def parse(text, difference=False):
    """Return the degrees C of what a person wrote: "7", "7C", "45F", "45 degrees F"; a plain number is degrees C.

    difference : kelvin instead: "5", "5K", "9F"
    Raises ValueError with what should be written.
    """
    found = re.fullmatch(r"\s*([+-]?(?:\d+(?:\.\d*)?|\.\d+))\s*(?:°|deg(?:rees?)?\.?)?\s*([A-Za-z]*)\s*", text)
    word = found[2].upper() if found else ""
    if not found or word not in (("", "C", "K", "F") if difference else ("", "C", "F")):
        kind = "difference of temperatures" if difference else "temperature"
        plain, celsius, fahrenheit = EXAMPLES[difference]
        raise ValueError(f"this is no {kind}. Write {plain} or {celsius}, or in degrees F {fahrenheit}.")
    number = float(found[1])
    if word != "F":
        return number
    return number * 5 / 9 if difference else (number - 32) * 5 / 9


def unmarked(key, text):
    """Return the text of a setting's value without its unit, in degrees C; other texts as they are.

    Raises ValueError where a temperature ends in letters that are no unit.
    """
    if key.endswith("_c") and text[-1:].isalpha():
        return trimmed(parse(text, is_difference(key)))
    return text


def span_text(lowest, highest, difference=False):
    """Return what may be written, in both scales: "-20 to 20 degrees C (-4 to 68 F)"."""
    if difference:
        low, high = (trimmed(one * SIZE["F"]) for one in (lowest, highest))
        return f"{lowest:g} to {highest:g} K ({low} to {high} F)"
    low, high = (trimmed(in_units(one, "F")) for one in (lowest, highest))
    return f"{lowest:g} to {highest:g} degrees C ({low} to {high} F)"


def wanted(lowest, highest, difference=False):
    """Say what must be written for a temperature, or for a difference."""
    plain, celsius, fahrenheit = EXAMPLES[difference]
    return (
        f"It must be {span_text(lowest, highest, difference)}: a number such as {plain} in "
        f"{'kelvin' if difference else 'degrees C'}, or text with its unit such as \"{celsius}\" or \"{fahrenheit}\"."
    )


def number_for(key, text):
    """Return the file value (degrees C, seconds, percent) of a setting as a person wrote it; a unit mark is obeyed.

    Raises ValueError with what should be written.
    """
    if key.endswith("_c"):
        return round(parse(text, is_difference(key)), 2)
    try:
        return int(text) if re.fullmatch(r"\s*[+-]?\d+\s*", text) else float(text)
    except ValueError:
        raise ValueError("this is no number.") from None
