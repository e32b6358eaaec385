"""One door to numba, so that the plant also runs (slowly) where numba has no wheel.

Compiled loops are kept between processes in a folder named by a hash of every source they can reach: numba's own
cache looks at one file only and would replay old physics, or old decisions, after an edit elsewhere.
"""

import hashlib
import os
import shutil
import tempfile
from pathlib import Path

from tuner import core_numba  # registers controller.core with numba, from outside

HAVE_NUMBA = core_numba.HAVE_NUMBA
KEEP = 4
HERE = Path(__file__).parent


def _hash():
    digest = hashlib.sha256(core_numba.sources_hash().encode())
    for path in sorted(HERE.glob("*.py")):
        digest.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()[:16]


def _folder():
    """The folder for today's sources, in the system's place for temporary files; None when it cannot be made."""
    try:
        home = Path(os.environ.get("LOAMSTAT_PLANT_CACHE") or Path(tempfile.gettempdir()) / f"loamstat-plant-{_user()}")
        folder = home / _hash()
        folder.mkdir(parents=True, exist_ok=True)
        os.utime(folder)
        for old in sorted(home.iterdir(), key=lambda one: one.stat().st_mtime)[:-KEEP]:
            shutil.rmtree(old, ignore_errors=True)
        return str(folder)
    except OSError:
        return None


def _user():
    return os.getuid() if hasattr(os, "getuid") else "me"


def jit(function):
    """Return the function compiled by numba, or unchanged where numba is missing."""
    if not HAVE_NUMBA:
        return function
    from numba import njit

    return njit(function, error_model="numpy")


def jit_kept(function):
    """As jit, and keep the compiled form between processes: for the outermost loops only."""
    folder = _folder() if HAVE_NUMBA else None
    if folder is None:
        return jit(function)
    from numba import config, njit

    before, config.CACHE_DIR = config.CACHE_DIR, folder
    try:
        return njit(function, error_model="numpy", cache=True)
    finally:
        config.CACHE_DIR = before
