"""What the core does when probes are lost: a few steady situations, stepped second by second, told as tables.

Nothing here knows what should happen: the rows are what controller.core does.
"""

from controller.core import decide, reasons, rows, screen
from controller.core.units import LOST

HEAD = ["time since the last good reading", "phase", "fan", "reason", "alarms"]
BEFORE_S = 1200  # the situation has lasted this long, all probes well, when the probe is lost
LASTS_S = 6000  # how long the tables look
WIGGLE_EVERY_S, WIGGLE = 60, 6  # a house probe in real air never stands still

NIGHT = {"house": 400, "soil": 1200, "outlet": 1000, "outside": LOST, "humid_air": LOST, "humidity": LOST}
DAY = {"house": 2600, "soil": 1400, "outlet": 1700, "outside": LOST, "humid_air": LOST, "humidity": LOST}

# name: (readings while all is well, the probes that are lost, other readings from then on)
CASES = {
    "house, night": (NIGHT, ("house",), {}),
    "house, bitter night": ({**NIGHT, "outside": -500}, ("house",), {}),
    "house, mild night": ({**NIGHT, "outside": 1100}, ("house",), {}),
    "house, day": (DAY, ("house",), {}),
    "house, humidity probe there": ({**NIGHT, "humid_air": 420, "humidity": 850}, ("house",), {}),
    "soil, outlet gives warmth": (NIGHT, ("soil",), {}),
    "soil, outlet gives none": ({**NIGHT, "outlet": 450}, ("soil",), {}),
    "soil and outlet": (NIGHT, ("soil", "outlet"), {}),
    "all": ({**NIGHT, "outside": 0, "humid_air": 420, "humidity": 850}, tuple(NIGHT), {}),
}


def raw(readings, second):
    """Return the Raw reading of one second."""
    values = [readings[name] for name in ("house", "soil", "outlet", "outside", "humid_air", "humidity")]
    if values[0] != LOST and second // WIGGLE_EVERY_S % 2:
        values[0] += WIGGLE
    return screen.Raw(1, *values, screen.HAND_AUTO, screen.REQUEST_NONE, screen.NOT_FITTED)


def told(state):
    """Return (phase, fan, reason, alarms) of a State in words."""
    words = [word for bit, (word, _) in enumerate(reasons.ALARMS) if state.counters.alarms >> bit & 1]
    return (
        reasons.PHASE_WORDS[state.deciding.phase].upper(),
        "on" if state.deciding.fan else "off",
        f"`{reasons.REASONS[state.counters.reason][0]}`",
        ", ".join(words) or "-",
    )


def changes(name):
    """Return [(seconds since the last good reading, what is told)] of one case: the start, then every change."""
    settings = rows.defaults()
    good, lost, then = CASES[name]
    bad = {**good, **then, **dict.fromkeys(lost, LOST)}
    screened, state, out = screen.start(), decide.start(settings), []
    for second in range(-BEFORE_S + 1, LASTS_S + 1):
        read = raw(good if second <= 0 else bad, second)
        screened = screen.step(screened, read)
        state = decide.step(settings, state, screen.reading(settings, screened, read))
        if second >= 0 and (not out or out[-1][1] != told(state)):
            out.append((second, told(state)))
    return out


def rows_of(name):
    """Return the table rows of one case."""
    return [[clock(second), *words] for second, words in changes(name)]


def clock(second):
    """Return seconds as h:mm:ss."""
    return f"{second // 3600}:{second // 60 % 60:02d}:{second % 60:02d}"
