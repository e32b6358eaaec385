"""The board's own decision code, made callable from compiled loops. No rule is written a second time.

Every function of controller.core is registered with numba from outside, so the core itself never imports it.
Without numba the same loops run as plain Python, some hundred times slower; `HAVE_NUMBA` tells which.

numba's cache looks only at the file of the compiled loop: after an edit of the core it would replay the old
rules. So the cache lives in a folder named by a hash of every source that a loop can reach.
"""

import hashlib
import importlib
import inspect
import os
import pkgutil
import shutil
import sys
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import controller.core

KEEP_CACHES = 6
SLOW = "Without numba the plain Python loop runs, some hundred times slower."


def sources_hash():
    """Return a short text that changes whenever the core, the tuner's loops, numba or Python change."""
    digest = hashlib.sha256(f"{sys.version} numba {_numba_version()}".encode())
    for folder in (Path(controller.core.__file__).parent, Path(__file__).parent):
        for path in sorted(folder.glob("*.py")):
            digest.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()[:16]


def _numba_version():
    try:
        return version("numba")
    except PackageNotFoundError:
        return None


def _cache_home():
    """The user's cache folder for compiled loops, by each system's custom."""
    if os.environ.get("NUMBA_CACHE_DIR"):
        return Path(os.environ["NUMBA_CACHE_DIR"])
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local"
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Caches"
    else:
        base = os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache"
    return Path(base) / "loamstat" / "compiled"


def _prepare_cache():
    """Make the cache folder for today's sources, forget the oldest others, and return it; None if not possible."""
    name = sources_hash()
    try:
        home = _cache_home()
        if home.name == name:  # we were started by a process of our own, which handed its folder down
            return home
        folder = home / name
        folder.mkdir(parents=True, exist_ok=True)
        os.utime(folder)
        others = [one for one in home.iterdir() if len(one.name) == len(name)]
        for old in sorted(others, key=lambda one: one.stat().st_mtime)[:-KEEP_CACHES]:
            shutil.rmtree(old, ignore_errors=True)
        return folder if os.access(folder, os.W_OK) else None
    except (OSError, RuntimeError):  # RuntimeError: no home folder
        return None


def _load_numba():
    """Import numba with its cache in our folder; return (numba or None, the folder or None)."""
    if _numba_version() is None or os.environ.get("LOAMSTAT_PLAIN") == "1":
        return None, None
    folder = _prepare_cache()
    if folder is not None:
        os.environ["NUMBA_CACHE_DIR"] = str(folder)
    try:
        import numba
        import numba.extending
    except ImportError:
        return None, None
    return numba, folder


_numba: Any
_numba, _cache_folder = _load_numba()
HAVE_NUMBA = _numba is not None


def core_modules():
    """Return the modules of controller.core, imported, in the order of their names."""
    names = sorted(found.name for found in pkgutil.iter_modules(controller.core.__path__))
    return [importlib.import_module(f"controller.core.{name}") for name in names]


def _register(function):
    # Without forced inlining every call passes its namedtuples field by field: seventy arguments, six times slower.
    return _numba.extending.register_jitable(forceinline=True)(function)


def _register_core():
    for module in core_modules():
        for function in vars(module).values():
            if inspect.isfunction(function) and function.__module__ == module.__name__:
                _register(function)


if HAVE_NUMBA:
    _register_core()


def helper(function):
    """Mark a plain function of the tuner as callable from compiled loops; it stays plain Python itself."""
    return _register(function) if HAVE_NUMBA else function


def jit(function, cache=True):
    """Return function compiled by numba, or itself where there is no numba.

    cache keeps the compiled form between runs. It is safe for loops in tuner/; give False for a loop that lives
    elsewhere and calls helpers from a third file, since only core and tuner sources name the cache.
    """
    if not HAVE_NUMBA:
        return function
    if _cache_folder is not None:
        _numba.config.CACHE_DIR = str(_cache_folder)  # where something else imported numba before us
    # Without the interpreter's lock, so that a search can use every core with threads.
    return _numba.njit(cache=cache and _cache_folder is not None, nogil=True)(function)
