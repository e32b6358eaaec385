"""One cell of a value column: a number, a state word, nothing, or a refusal. Knows no other rows.

The same text always means the same, so a column is read by its distinct texts.
"""

import math
import re
from dataclasses import dataclass

import numpy as np

# A reading that is plainly absent. Own logs leave the cell empty; anything else there is refused.
_MISSING_WORDS = """nan na n/a null none nil - -- --- ---- -.- --.- . .. ... x error err fail failed fault lost missing
invalid bad open short ol over under no_data nodata #n/a #na #div/0! #value! #num! #ref! #null! #name? unavailable
unknown offline disconnected nc n.c. k.a. timeout ? * crc"""
_ON_WORDS = "on yes true running run open high ein an ja marche oui si sí encendido aan active y wahr"
_OFF_WORDS = """off no false stopped stop closed low aus nein arret arrêt non apagado uit idle n inactive falsch
standby stand-by ready"""
WORDS_FOR_MISSING = frozenset(_MISSING_WORDS.split()) | {"no data", "out of range", "not connected"}
WORDS_ON = frozenset(_ON_WORDS.split())
WORDS_OFF = frozenset(_OFF_WORDS.split())

_PLAIN_MARKS = frozenset("0123456789.+-")
_COMMA_MARKS = frozenset("0123456789,+-")
_PLAIN = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?$", re.ASCII)
_COMMA = re.compile(r"[+-]?(?:\d+,\d*|,\d+)(?:[eE][+-]?\d{1,3})?$", re.ASCII)
_GROUPS_POINT = re.compile(r"[+-]?\d{1,3}(?:[,'  ]\d{3})+\.\d*$", re.ASCII)
_GROUPS_COMMA = re.compile(r"[+-]?\d{1,3}(?:[.'  ]\d{3})+,\d*$", re.ASCII)
_THREE = re.compile(r"[+-]?[1-9]\d{0,2}[.,]\d{3}$", re.ASCII)
_UNIT_TAIL = re.compile(r"^(.*?[\d.,])\s*(°\s?[CF]|º[CF]|[CF]|%(?:\s?RH)?|[kK]?[Ww]|[kK]?lu?x)$")


@dataclass(frozen=True)
class Cell:
    """value: float, NaN when missing. how: "point", "comma", "point?", "comma?" (three digits after the mark: it
    may divide thousands), "plain", "word" (a state), "missing", "empty" or "bad". unit: as written, or "".
    """

    value: float
    how: str
    unit: str = ""


_BAD = Cell(math.nan, "bad")
_EMPTY = Cell(math.nan, "empty")
_MISSING = Cell(math.nan, "missing")


def read(text, missing=(), own=False, states=False):
    """Return the Cell that a text means.

    missing : texts that the site names as missing. own : the project's own format, where only an empty cell is a
    missing reading. states : words such as on and off are numbers 1 and 0.
    """
    text = text.strip().strip('"').strip()
    if not text:
        return _EMPTY
    if text in missing:
        return _MISSING
    lower = text.lower()
    if states and not own:
        if lower in WORDS_ON:
            return Cell(1.0, "word")
        if lower in WORDS_OFF:
            return Cell(0.0, "word")
    if not own and lower in WORDS_FOR_MISSING:
        return _MISSING
    return _number(text, own)


def many_plain(texts, own=False):
    """Return (float array, {how: place of the first}) of many texts, or None unless all are plain numbers.

    The quick road for columns of many different numbers; it reads nothing that `read` reads otherwise.
    """
    marks = set("".join(texts))
    comma = "," in marks and "." not in marks and not own
    if not marks <= (_COMMA_MARKS if comma else _PLAIN_MARKS):
        return None
    try:
        pointed = "\n".join(texts).replace(",", ".").split("\n") if comma else texts
        values = np.array(pointed, dtype=str).astype(float)
    except ValueError:
        return None
    mark, firsts = ("comma", {}) if comma else ("point", {})
    for place, text in enumerate(pointed):
        how = mark if "." in text else "plain"
        if how == mark and text[-4:-3] == "." and _THREE.match(text):
            how = mark + "?"
        if how not in firsts:
            firsts[how] = place
            if len(firsts) == 3:
                break
    return (values, firsts) if np.isfinite(values).all() else None


def _number(text, own):
    if _PLAIN.match(text):
        how = "plain" if "." not in text else ("point?" if _THREE.match(text) else "point")
        return _finite(text, how)
    if own:
        return _BAD
    if _COMMA.match(text):
        return _finite(text.replace(",", "."), "comma?" if _THREE.match(text) else "comma")
    if _GROUPS_POINT.match(text):
        return _finite(re.sub("[,'  ]", "", text), "point")
    if _GROUPS_COMMA.match(text):
        return _finite(re.sub("[.'  ]", "", text).replace(",", "."), "comma")
    text = text.replace("−", "-")
    if match := _UNIT_TAIL.match(text):
        inner = _number(match[1].strip(), own)
        return Cell(inner.value, inner.how, match[2].replace("°", "").replace("º", "").strip())
    return _number(text, own) if text.startswith("-") and _PLAIN.match(text.replace(",", ".")) else _BAD


def _finite(text, how):
    value = float(text)
    return Cell(value, how) if math.isfinite(value) else _BAD
