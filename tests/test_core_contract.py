"""Do the core's functions keep to their dialect: plain ints in and out, yes and no as 1 and 0, nothing undefined?

numba and the boards depend on it: a name that is an int here and a bool, float or None there fails on one of them.
Every call between functions of the core is watched during seeded steps from raw readings to counters.
"""

import importlib
import inspect

import pytest

from controller.core import decide, screen
from tests.steps import portable

MODULES = ("alarms", "allowance", "counters", "decide", "limits", "phases", "reasons", "screen", "stages", "timers",
           "units", "wants")  # fmt: skip
ANSWERS = {
    "bitter", "bound", "cold", "damp_holds", "differs", "disproved", "enough", "flush_holds", "follows", "free",
    "frost", "guard_holds", "heat_wanted", "heater_step", "hot", "known", "mild", "no_flow", "outlet_refuses",
    "outlet_stands", "should_run", "store_spent", "timed_run_due", "trial_owns", "trial_runs", "vent_step", "worth",
    "fan_of",
}  # fmt: skip
YES_NO = {"kept", "held", "running", "fan", "vent", "true", "raised"}  # names of parameters


def plain(value):
    """Return whether value is an int, or a tuple of such."""
    return all(plain(part) for part in value) if isinstance(value, tuple) else type(value) is int


def watched(function, calls):
    """Return function with every call held to the dialect."""
    names = list(inspect.signature(function).parameters)

    def call(*arguments):
        for name, value in zip(names, arguments, strict=False):
            assert value is not None, f"{function.__name__}({name} = None)"
            if name in YES_NO and not name.endswith("_s"):
                assert value in (0, 1), f"{function.__name__}({name} = {value})"
        result = function(*arguments)
        assert plain(result), f"{function.__name__} returned {result!r}"
        if function.__name__ in ANSWERS:
            assert result in (0, 1), f"{function.__name__} answered {result}"
        calls.add(function.__name__)
        return result

    return call


@pytest.fixture
def calls(monkeypatch):
    """Watch every function of the core; the names of those that were called are in this set."""
    seen = set()
    for name in MODULES:
        module = importlib.import_module("controller.core." + name)
        for attribute, function in list(vars(module).items()):
            ours = inspect.isfunction(function) and function.__module__.startswith("controller.core.")
            if ours and "mutmut" not in attribute:
                monkeypatch.setattr(module, attribute, watched(function, seen))
    return seen


def test_calls_keep_to_the_dialect(calls):
    for number in range(len(portable.CHANGES)):
        portable.run(number, 7, 2500)
    assert calls >= ANSWERS


def test_every_field_is_a_plain_int_from_power_up_on():
    for number in range(len(portable.CHANGES)):
        s = portable.settings_of(number)
        state = decide.start(s)
        assert plain(tuple(state))
        assert state.deciding == (0, 0, 0, 0, 0, 0, 0, 0, 3600, 0, (s.max_run_s, 0, 0), 0, 0, 0, 0, 0)
        assert state.counters == (23, 0, (0,) * 14, 0, 0, 0, 0, 0, 0, 0, 0)


def test_deciding_without_telling_is_the_same_decision():
    for number in range(len(portable.CHANGES)):
        s, g, w = portable.settings_of(number), portable.seeded(7), portable.first_weather()
        state, sensed = decide.start(s), screen.start()
        for _ in range(3000):
            raw = portable.next_raw(g, w)
            sensed = screen.step(sensed, raw)
            r = screen.reading(s, sensed, raw)
            alone, state = decide.next_deciding(s, state.deciding, r), decide.step(s, state, r)
            assert alone == state.deciding
