"""The board's state in words for people: one line, or the parts of a screen."""

from controller.core.reasons import ALARMS, REASONS
from tuner.degrees import marked

REASON_TEXT = dict(REASONS)
ALARM_TEXT = dict(ALARMS)
# The board's own faults, beside the core's alarms (controller/board/setup.py has the same; a test compares).
FAULT_TEXT = {
    "settings-file": "settings.json cannot be used; its copy or the built-in settings run.",
    "roles-file": "roles.json cannot be used or is missing; without a copy no probe is read.",
    "wiring-file": "wiring.json cannot be used; its copy or the built-in wiring counts.",
    "journal": "The journal cannot be written; the newest two hours are kept in memory.",
    "output": "An output's pin does not follow: short circuit or broken pin.",
    "slot": "The slot that was live could not be run; the other one runs.",
    "resets": "The board was reset by itself at least once in the last hour.",
}
SAFE = "Safe loop: timed runs only. Find the cause (events on the console), then cycle the power."
PLACES = ("house", "soil", "outlet", "outside")


def duration(seconds):
    """Return "4 d 3 h", "3 h 07 min", "12 min 05 s" or "40 s": two units at most."""
    seconds = int(seconds)
    if seconds >= 86400:
        return f"{seconds // 86400} d {seconds % 86400 // 3600} h"
    if seconds >= 3600:
        return f"{seconds // 3600} h {seconds % 3600 // 60:02d} min"
    return f"{seconds // 60} min {seconds % 60:02d} s" if seconds >= 60 else f"{seconds} s"


def temperature(state, name, units):
    """Return "12.1 C" of a place or "dew" in a state, "--" where nothing is trusted."""
    value = state.get(f"{name}_centi_c")
    return "--" if value is None else marked(value / 100, units)


def humidity(state):
    """Return "87 %", "--" where it is not trusted."""
    value = state.get("humidity_deci_pct")
    return "--" if value is None else f"{value / 10:.0f} %"


def reason(state):
    """Return the sentence of the reason."""
    return SAFE if state["safe"] else REASON_TEXT.get(state["reason"], state["reason"])


def fan(state):
    """Return what the fan does, and until or from when at the earliest."""
    if state["fan"]:
        return f"fan on at {state['fan_pct']} % for {duration(state.get('run_s', 0))}"
    wait = state.get("next_start_s", 0)
    if state["safe"]:
        return "fan off"
    return "fan off, " + (f"may start in {duration(wait)}" if wait else "may start at any time")


def alarms(state):
    """Return [(word, sentence)] of all alarms and faults that stand."""
    texts = {**ALARM_TEXT, **FAULT_TEXT}
    safe = [("safe-loop", SAFE)] if state["safe"] else []
    return safe + [(word, texts.get(word, "")) for word in [*state["alarms"], *state["faults"]]]


def status_line(state, units):
    """Return one line: phase, reason, readings, fan, alarms."""
    shown = ", ".join(f"{name} {temperature(state, name, units)}" for name in PLACES)
    extra = "".join([", heater on" if state.get("heater") else "", ", vent open" if state.get("vent") else ""])
    left = "" if state["safe"] else f", running time left {duration(state.get('allowance_s', 0))}"
    trial = f", trial for {duration(state['trial_s'])} more" if state.get("trial_s") else ""
    words = " ".join(word for word, _ in alarms(state)) or "none"
    return (
        f"{state.get('time') or 'clock not set'}  {state['phase']} ({state['reason']}): {shown}, "
        f"humidity {humidity(state)}; {fan(state)}{extra}{left}{trial}; alarms: {words}"
    )
