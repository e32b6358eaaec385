"""The watch screen: lines of text for a terminal of a given size, from what the board last told.

What lives here: layout and words. What never does: a terminal, a port, a clock.
"""

import textwrap

from controller.core import rows
from tuner.link_words import alarms, duration, fan, humidity, reason, temperature

LEAST_WIDTH, LEAST_HEIGHT = 40, 12
LEFT = 26  # of the first of two columns


def cut(text, width):
    """Return text in at most width characters, its end marked where it was cut."""
    return text if len(text) <= width else text[: max(width - 1, 0)] + "…"


def wrapped(text, width, most):
    """Return at most so many lines of at most width characters, broken at blanks."""
    lines = textwrap.wrap(text, width, break_long_words=False, break_on_hyphens=False) or [""]
    if len(lines) > most:
        lines = [*lines[: most - 1], " ".join(lines[most - 1 :])]
    return [cut(line, width) for line in lines]


def readings(state, units):
    """Return rows of two pairs: what was read."""
    shown = {name: temperature(state, name, units) for name in ("house", "soil", "outlet", "outside", "dew")}
    pairs = (("house", "soil"), ("outlet", "outside"))
    lines = [f"{a:10}{shown[a]:>9}".ljust(LEFT) + f"{b:10}{shown[b]:>9}" for a, b in pairs]
    return [*lines, f"{'humidity':10}{humidity(state):>9}".ljust(LEFT) + f"{'dew point':10}{shown['dew']:>9}"]


def countdowns(state, settings):
    """Return [(what, when)]: what is awaited. settings: the core's Settings, or None where they are not known."""
    out = []
    if state["safe"]:
        return out
    if state["fan"]:
        if state.get("least_run_left_s"):
            out.append(("shortest run ends in", duration(state["least_run_left_s"])))
        if settings is not None and not state.get("guard"):
            out.append(("longest run ends in", duration(max(settings.max_run_s - state.get("run_s", 0), 0))))
    else:
        wait = state.get("next_start_s", 0)
        out.append(("earliest next start", f"in {duration(wait)}" if wait else "at any time"))
    limit = settings is None or settings.day_run_limit_s < rows.defaults().day_run_limit_s
    out.append(("running time left", duration(state.get("allowance_s", 0)) + ("" if limit else ", no daily limit")))
    if state.get("trial_s"):
        out.append(("trial ends in", duration(state["trial_s"])))
    return out


def outputs(state):
    """Return one line: heater, vent, switch."""
    parts = ["heater on" if state.get("heater") else "heater off", "vent open" if state.get("vent") else "vent shut"]
    parts.append(f"hand switch on {state.get('hand', 'auto')}")
    if state.get("readback"):
        parts.append("contactor " + ("on" if state["readback"] == 2 else "off"))
    return ", ".join(parts)


def screen(state, settings, units, size, port, quiet_s=0):
    """Return the lines of the screen, never more or longer than size = (width, height).

    state: of link_read.state, or None before the first; quiet_s: seconds since the board last answered.
    """
    width, height = max(size[0], LEAST_WIDTH), max(size[1], LEAST_HEIGHT)
    end = "Ctrl-C ends"
    if state is None:
        body = [cut(f"{port}: waiting for the board", width)]
    else:
        body = _body(state, settings, units, width, height, port)
    if quiet_s > 0:
        end = f"NO ANSWER for {duration(quiet_s)}; asking on. Ctrl-C ends"
    if len(body) > height - 1:
        body = [line for line in body if line]
    body = body[: height - 1]
    return [*body, *[""] * (height - 1 - len(body)), cut(end, width)]


def _body(state, settings, units, width, height, port):
    clock = state.get("time") or "clock not set"
    head = f"{port}  loamstat {state.get('version', '')}, slot {state['slot']}, settings {state['settings']}"
    lines = [cut(head, width), f"{clock.replace('T', ' ').replace('Z', ' UTC')}   up {duration(state['uptime_s'])}"]
    lines.append("-" * width)
    lines += [cut(line, width) for line in readings(state, units)]
    lines += ["", cut(f"{state['phase'].upper()}  {fan(state)}", width)]
    lines += wrapped(f"{reason(state)} ({state['reason']})", width, 2)
    lines += ["", *_alarm_lines(state, width, height - len(lines) - 7), ""]
    lines += [cut(f"{what:22}{when}", width) for what, when in countdowns(state, settings)]
    lines += [cut(outputs(state), width)]
    if state.get("guard"):
        lines.append(cut("FROST GUARD holds: the limits do not hold the fan back.", width))
    if state.get("test"):
        lines.append(cut(f"test of {state['test']}", width))
    if state.get("unsaved"):
        lines.append(cut("Settings not saved: a reset brings the ones before back.", width))
    return lines


def _alarm_lines(state, width, room):
    standing = alarms(state)
    if not standing:
        return ["alarms: none"]
    lines = [f"ALARMS: {len(standing)}"]
    for word, text in standing:
        lines.append(cut(f"  {word}: {text}", width))
    if len(lines) > max(room, 3):
        lines = lines[: max(room, 3) - 1]
        lines.append(cut(f"  and {len(standing) - len(lines) + 1} more: type faults on the console", width))
    return lines
