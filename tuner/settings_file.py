"""Settings files for people: JSON in, checked by the core's own table; every fault at once, with the file's name."""

import json
from pathlib import Path

from controller.core import settings as core
from tuner.errors import SettingsError
from tuner.files import read_text

WHAT = "a settings file (JSON)"


def load_settings(path, most_starts_per_hour=None):
    """Return the core's Settings (ints) that a JSON settings file describes.

    path : str or Path
    most_starts_per_hour : float or None, the motor's limit from site.toml, checked when given

    Keys that are left out take the defaults of the core's table.
    Raises SettingsError naming the file and every fault at once.
    """
    table = read_table(path)
    settings, faults = core.from_mapping(table)
    if settings is not None and most_starts_per_hour is not None:
        faults = starts_faults(settings, most_starts_per_hour)
    if faults:
        raise SettingsError(fault_list(path, faults))
    return settings


def load_all(paths, most_starts_per_hour=None):
    """Return [(name, Settings)] for several files; the faults of all bad files are told together.

    The name is the path as it was given. Raises SettingsError, also when one file is named twice.
    """
    found, wrong = [], []
    for path in dict.fromkeys(paths):
        try:
            found.append((str(path), load_settings(path, most_starts_per_hour)))
        except SettingsError as fault:
            wrong.append(str(fault))
    if len(set(paths)) < len(paths):
        twice = next(path for path in paths if list(paths).count(path) > 1)
        wrong.append(f"{twice}: named twice. Compare different files.")
    if wrong:
        raise SettingsError("\n".join(wrong))
    return found


def fault_list(path, faults):
    """Return one message for all faults of one file: its name, their number, one line each."""
    count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
    return "\n  ".join([f"{Path(path)}: {count}.", *faults])


def starts_faults(settings, most_starts_per_hour):
    """Return the fault, if any, of run and rest times that let the motor start too often. [starts an hour]"""
    shortest = settings.min_run_s + settings.min_rest_s
    if 3600 / shortest <= most_starts_per_hour:
        return []
    return [
        f"min_run_s + min_rest_s = {shortest} s lets the fan start {3600 / shortest:.3g} times an hour; "
        f"site.toml allows {most_starts_per_hour:g} ([fan] most_starts_per_hour). "
        f"Make the sum at least {-(-3600 // most_starts_per_hour):.0f} s."
    ]


def read_table(path):
    """Return the JSON object in a file as a dict, numbers as int or float.

    Raises SettingsError for text that is not JSON, is no object, names a key twice, or holds NaN or Infinity.
    """
    text = read_text(path, SettingsError, WHAT)
    twice = []

    def one_object(pairs):
        keys = [key for key, _ in pairs]
        twice.extend(sorted({key for key in keys if keys.count(key) > 1}))
        return dict(pairs)

    try:
        table = json.loads(text, object_pairs_hook=one_object)
    except json.JSONDecodeError as fault:
        raise SettingsError(
            f"{path}, line {fault.lineno}, column {fault.colno}: not valid JSON: {fault.msg}.\n"
            'Write {"setting": number, ...} with a comma between the settings and none after the last.'
        ) from None
    except (RecursionError, ValueError):  # brackets nested or numbers written without end
        raise SettingsError(
            f"{path}: not a settings file: brackets nested too deep, or a number of thousands of digits.\n"
            'Write {"setting": number, ...}, for example {"discharge_below_c": 5}.'
        ) from None
    if not isinstance(table, dict):
        raise SettingsError(
            f"{path}: holds a {_kind(table)}, not settings.\n"
            'Write {"setting": number, ...}, for example {"discharge_below_c": 5}.'
        )
    if twice:
        raise SettingsError(fault_list(path, [f"{key}: named twice. Keep one of the two." for key in twice]))
    return table


def _kind(value):
    if isinstance(value, list):
        return "list"
    if isinstance(value, str):
        return "text"
    return "single value"


def settings_text(settings):
    """Return the JSON text, ending in a newline, that load_settings reads back as the same Settings."""
    return json.dumps(core.to_mapping(settings), indent=2) + "\n"
