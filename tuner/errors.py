"""The errors that a person can mend. Each message says where, what, and what to do.

`tuner.__main__` catches TunerError once, prints its text and ends with status 1. Any other exception is a
fault of this program and keeps its traceback.
"""

import difflib


class TunerError(Exception):
    """Base of all errors that the user can mend; str(error) is the whole message."""


class SiteError(TunerError):
    """site.toml cannot be used."""


class SettingsError(TunerError):
    """A settings file cannot be used."""


class LogError(TunerError):
    """A log file cannot be used."""


class FitError(TunerError):
    """The log cannot carry the fit that was asked for."""


class LinkError(TunerError):
    """The board does not answer, or not as it should."""


class OutputError(TunerError):
    """A result cannot be written where it was asked for."""


def nearest(name, known):
    """Return " Did you mean "x"?" for the known name closest to name, or an empty text when none is close.

    name : str
    known : iterable of str
    """
    close = difflib.get_close_matches(str(name), list(known), n=1, cutoff=0.6)
    return f' Did you mean "{close[0]}"?' if close else ""
