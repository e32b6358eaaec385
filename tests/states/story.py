"""A counter-example told so that a person can follow it: each reading, and what the core made of it."""

from controller.core import decide
from controller.core.phases import PHASES
from controller.core.reasons import PHASE_WORDS, REASONS
from controller.core.rows import text_of
from tests import invariants

HANDS = ("auto", "on", "off")
assert len(PHASES) == len(PHASE_WORDS)


def seen(name, value, ok):
    """Return "house 5.01" or "house lost"."""
    return f"{name} {text_of(value, 'C')}" if ok else f"{name} lost"


def reading_words(r):
    """Return one reading in words."""
    parts = [
        f"+{r.elapsed_s} s", seen("house", r.house_centi_c, r.house_ok), seen("soil", r.soil_centi_c, r.soil_ok),
        seen("outlet", r.outlet_centi_c, r.outlet_ok), seen("outside", r.outside_centi_c, r.outside_ok),
        seen("dew point", r.dew_centi_c, r.dew_ok), f"hand {HANDS[r.hand]}",
    ]  # fmt: skip
    return ", ".join(parts) + (", trial asked for" if r.request else "")


def state_words(state):
    """Return what the core made of it."""
    d, c = state
    fan = "on" if d.fan else "off"
    return (
        f"{PHASE_WORDS[d.phase]} ({REASONS[c.reason][0]}), fan {fan}, ran {d.run_s} s, rested {d.rest_s} s, guard "
        f"{d.guard}, left {d.allowance.left_s} s owed {d.allowance.overdrawn_s} s, heater {d.heater}, vent {d.vent}"
    )


def tell(s, fault):
    """Return the story of a fault (invariant number, readings) under Settings s, one line a step."""
    number, readings = fault
    state = decide.start(s)
    lines = ["power-up: " + state_words(state)]
    for r in readings:
        state = decide.step(s, state, r)
        lines.append(f"{reading_words(r)}\n    -> {state_words(state)}")
    check = invariants.ALL[number - 1]
    meaning = (check.__doc__ or "").splitlines()[0]
    lines.append(f"{invariants.NAMES[number - 1]} is broken: {meaning}")
    return "\n".join(lines)
