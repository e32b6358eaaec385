"""Draw a cold day and night of the invented log: day-and-night.svg, and what lost probes would have changed in it.

    python -m tests.tools.draw_days

The curves are the demonstration's log; phases and reasons are what controller.core decides when it is stepped through
it, minute by minute. Open loop: the temperatures stay as logged.
"""

import csv
import gzip
import json
from datetime import datetime, timedelta

from controller.core import decide, reasons, screen, settings
from controller.core.units import LOST
from tests.tools.draw_states import COLOURS, FOLDER
from tests.tools.svg import INK, Drawing

DEMO = FOLDER.parent / "tuner" / "demo"
FIRST, LAST = "2026-02-04T17:00:00Z", "2026-02-05T23:00:00Z"  # noon to six in the evening there
BEFORE_MIN = 24 * 60  # stepped before the first shown minute, so that timers are in their stride
ZONE_H = -5  # the demonstration's clock in winter
COLUMNS = ("house_c", "soil_c", "outlet_c", "outside_c")
LOST_AT_H = 8  # after the first shown hour: eight in the evening

LEFT, RIGHT, TOP, FLOOR = 64, 1010, 70, 400  # of the curves [px]
LOW, HIGH = -18, 28  # [degC]
CURVES = (
    ("outside_c", "outside", "#6b756f", "3 3"),
    ("soil_c", "soil", "#00664b", "9 4"),
    ("house_c", "house", INK, ""),
)
CASES = (
    ("all well", ()),
    ("house lost", ("house_c",)),
    ("house, outside lost", ("house_c", "outside_c")),
    ("soil lost", ("soil_c",)),
    ("soil, outlet lost", ("soil_c", "outlet_c")),
)


def rows():
    """Return the log's rows from BEFORE_MIN before FIRST to LAST, as dicts of text."""
    with gzip.open(DEMO / "log.csv.gz", "rt", encoding="utf-8", newline="") as file:
        found = list(csv.DictReader(file))
    first = next(place for place, row in enumerate(found) if row["time"] == FIRST)
    last = next(place for place, row in enumerate(found) if row["time"] == LAST)
    return found[first - BEFORE_MIN : last + 1]


def centi(text):
    """Return a cell's hundredths of a degree, LOST when it is empty."""
    return round(float(text) * 100) if text else LOST


def stepped(found, lost):
    """Return [(phase, fan, reason code)] for each row, with the columns in lost empty from LOST_AT_H on."""
    chosen, _ = settings.from_mapping(json.loads((DEMO / "as-logged.json").read_text(encoding="utf-8")))
    screened, state, out = screen.start(), decide.start(chosen), []
    for place, row in enumerate(found):
        gone = lost if place >= BEFORE_MIN + 60 * LOST_AT_H else ()
        values = [LOST if name in gone else centi(row[name]) for name in COLUMNS]
        humidity = round(float(row["humidity_pct"]) * 10) if row["humidity_pct"] else LOST
        raw = screen.Raw(60, *values, LOST, humidity, screen.HAND_AUTO, screen.REQUEST_NONE, screen.NOT_FITTED)
        screened = screen.step(screened, raw)
        state = decide.step(chosen, state, screen.reading(chosen, screened, raw))
        out.append((state.deciding.phase, state.deciding.fan, state.counters.reason))
    return chosen, out


def place_x(minute, count):
    """Where a minute after FIRST stands. [px]"""
    return LEFT + (RIGHT - LEFT) * minute / (count - 1)


def place_y(degrees):
    """Where a temperature stands. [px]"""
    return FLOOR - (FLOOR - TOP) * (degrees - LOW) / (HIGH - LOW)


def runs(codes):
    """Return [(code, first, one past last)] of stretches of equal codes."""
    out = []
    for place, code in enumerate(codes):
        if out and out[-1][0] == code:
            out[-1][2] = place + 1
        else:
            out.append([code, place, place + 1])
    return out


def clock(minute):
    """Return the local time of a minute after FIRST."""
    return f"{datetime.fromisoformat(FIRST) + timedelta(hours=ZONE_H, minutes=minute):%H:%M}"


def bands(out, phases, count, top, high, words=True):
    """Shade the running phases between top and top + high, and name those that are wide enough."""
    for (phase, fan), first, end in runs(phases):
        if not fan:
            continue
        x = place_x(first, count)
        width = place_x(min(end, count - 1), count) - x
        out.lines.append(f'<rect x="{x:.1f}" y="{top}" width="{width:.1f}" height="{high}" fill="{COLOURS[phase]}"/>')
        if words and width > 70:
            out.text(x + width / 2, top + 14, reasons.PHASE_WORDS[phase].upper(), "middle", "s")


def axes(out, count, floor):
    """Draw the hours below and a line every three hours."""
    for minute in range(0, count, 180):
        x = place_x(minute, count)
        out.wire((x, floor), (x, floor + 5))
        out.text(x, floor + 20, clock(minute), "middle", "s")


def curves(out, found, count):
    """Draw the temperatures, broken where a reading is missing."""
    for degrees in range(-15, 30, 5):
        y = place_y(degrees)
        out.lines.append(
            f'<line x1="{LEFT}" y1="{y:.1f}" x2="{RIGHT}" y2="{y:.1f}" stroke="#c9cfc9" stroke-width="0.6"/>'
        )
        out.text(LEFT - 8, y + 4, str(degrees), "end", "s")
    for column, _, colour, dashes in CURVES:
        points = [
            (place_x(n, count), place_y(float(row[column])))
            for n, row in enumerate(found)
            if row[column] and n % 3 == 0
        ]
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        out.lines.append(
            f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="1.8" stroke-dasharray="{dashes}"/>'
        )
    out.text(LEFT - 8, TOP + 8, "°C", "end", "s")


def names(out, found):
    """Name the curves and the setpoints at the right edge, pushed apart where they would touch."""
    chosen = settings.from_mapping(json.loads((DEMO / "as-logged.json").read_text(encoding="utf-8")))[0]
    told = [(label, float(found[-1][column])) for column, label, _, _ in CURVES]
    told += [
        ("charge_above_c", chosen.charge_above_centi_c / 100),
        ("discharge_below_c", chosen.discharge_below_centi_c / 100),
        ("frost_guard_c", chosen.frost_guard_centi_c / 100),
    ]
    below = None
    for label, degrees in sorted(told, key=lambda one: -one[1]):
        y = place_y(degrees) + 4
        y = y if below is None else max(y, below + 15)
        below = y
        if label.endswith("_c"):
            out.wire((LEFT, place_y(degrees)), (RIGHT, place_y(degrees)), kind="d")
        out.text(RIGHT + 8, y, f"{label} {degrees:g}" if label.endswith("_c") else label, kind="s")


def day_svg():
    """Return the picture of one day and night, with the first use of each reason numbered and explained."""
    found = rows()
    _, decided = stepped(found, ())
    found, decided = found[BEFORE_MIN:], decided[BEFORE_MIN:]
    count = len(found)
    firsts = []
    for place, (_, _, reason) in enumerate(decided):
        if place and reason != decided[place - 1][2] and reason not in [one[1] for one in firsts]:
            firsts.append((place, reason))
    out = Drawing(1180, 480 + 20 * len(firsts), "A cold day and night, minute by minute")
    out.text(24, 30, "A cold day and night of the invented log: what the board did, and why", kind="h")
    out.text(24, 50, "Shaded: the fan runs. Numbers: the first time that each reason is given.", kind="s")
    bands(out, [(phase, fan) for phase, fan, _ in decided], count, TOP, FLOOR - TOP)
    curves(out, found, count)
    names(out, found)
    axes(out, count, FLOOR)
    taken = []
    for number, (place, _) in enumerate(firsts, 1):
        x, y = place_x(place, count), place_y(float(found[place]["house_c"])) - 16
        while any(abs(x - other_x) < 20 and abs(y - other_y) < 20 for other_x, other_y in taken):
            y -= 20
        taken.append((x, y))
        out.circle(x, y, 9)
        out.text(x, y + 4, str(number), "middle", "s")
    for number, (place, reason) in enumerate(firsts, 1):
        word, sentence = reasons.REASONS[reason]
        out.text(LEFT, 440 + 20 * number, f"{number}  {clock(place)}  {word}: {sentence}", kind="s")
    return out.svg()


def lost_svg():
    """Return the picture of the same hours, one strip a case of lost probes."""
    found = rows()
    shown = found[BEFORE_MIN:]
    count = len(shown)
    out = Drawing(1180, 470 + 62 * len(CASES), "The same night with probes lost")
    out.text(24, 30, "The same hours with probes lost from 20:00 on (temperatures as logged: open loop)", kind="h")
    curves(out, shown, count)
    names(out, shown)
    axes(out, count, FLOOR)
    x = place_x(60 * LOST_AT_H, count)
    out.wire((x, TOP), (x, 440 + 62 * len(CASES)), kind="d")
    out.text(x + 6, TOP + 12, "lost from here", kind="s")
    for place, (name, lost) in enumerate(CASES):
        top = 446 + 62 * place
        _, decided = stepped(found, lost)
        decided = decided[BEFORE_MIN:]
        hours = sum(fan for _, fan, _ in decided[60 * LOST_AT_H :]) / 60
        out.box(LEFT, top, RIGHT - LEFT, 34)
        bands(out, [(phase, fan) for phase, fan, _ in decided], count, top, 34)
        out.text(LEFT, top - 6, name, kind="b")
        out.text(RIGHT + 8, top + 22, f"fan {hours:.1f} h after 20:00", kind="s")
    return out.svg()


def drawn():
    """Return {file name: SVG text}."""
    return {"day-and-night.svg": day_svg(), "lost-probes.svg": lost_svg()}


if __name__ == "__main__":
    for name, text in drawn().items():
        (FOLDER / name).write_text(text, encoding="utf-8", newline="\n")
        print(FOLDER / name)
