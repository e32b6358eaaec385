"""One small fitted house for the tests of tuning: five days of the invented log, learned once in a process."""

import functools
import gzip
import tempfile
from importlib import resources
from pathlib import Path

import numpy as np

from tuner import fit, logs, tuning, weathers
from tuner import site as sites

ROWS = 5 * 1440
FIRST = 5 * 1440  # the cold days of the invented log


@functools.cache
def folder():
    """Return a folder with site.toml and log.csv, five cold days of the invented log."""
    path = Path(tempfile.mkdtemp())
    kept = resources.files("tuner.demo")
    lines = gzip.decompress(kept.joinpath("log.csv.gz").read_bytes()).decode().splitlines(keepends=True)
    (path / "log.csv").write_text("".join([lines[0], *lines[1 + FIRST : 1 + FIRST + ROWS]]), encoding="utf-8")
    (path / "site.toml").write_bytes(kept.joinpath("site.toml").read_bytes())
    (path / "now.json").write_bytes(kept.joinpath("as-logged.json").read_bytes())
    return path


@functools.cache
def fitted():
    """Return the Fit of that log: three plausible houses, nothing held out."""
    site = sites.load_site(folder() / "site.toml")
    return fit.fit(logs.read_logs([folder() / "log.csv"], site), site, draws=3, hold_out=False)


@functools.cache
def tuned():
    """Return the Tuned of that house from few tries."""
    return tuning.tune(fitted(), tries=80, workers=2)


def only_logged():
    """Return the logged weather alone, as a list of Weathers."""
    return weathers.weathers(fitted(), colder=0, dull=0)


def brute_front(values):
    """The plain definition of a front: places of the rows that no other row beats; equal rows all stay."""
    values = np.asarray(values)
    return [
        i
        for i, one in enumerate(values)
        if not any((other <= one).all() and (other < one).any() for other in values)
    ]
