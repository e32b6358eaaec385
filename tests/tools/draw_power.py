"""Draw what stands beyond the board: the 24 V circuit, the mains side in one line, and where the probes hang.

Drawn by python -m tests.tools.draw_wiring, together with the boards. Relay names come from draw_wiring.RELAYS.
"""

from tests.tools.draw_wiring import RELAYS
from tests.tools.svg import Drawing

FAN, HEATER, VENT, ALARM = (RELAYS[name] for name in ("FAN", "HEATER", "VENT", "ALARM"))


def control_svg():
    """Return the 24 V circuit as a ladder: +24 V left, 0 V right."""
    out = Drawing(1120, 710, "The 24 V circuit")
    out.text(24, 34, "24 V circuit (extra-low voltage, from an isolating safety supply)", kind="h")
    out.text(
        24, 56, f"Contacts {FAN} to {ALARM} belong to the board's relays. All shown at rest: board dead.", kind="s"
    )
    out.wire((90, 84), (90, 570), kind="t")
    out.wire((900, 84), (900, 570), kind="t")
    out.text(24, 78, "+24 V, after fuse F2", kind="b")
    out.text(900, 78, "0 V", "middle", "b")
    _fan_rung(out, 150)
    _plain_rung(
        out, 320, HEATER, "K11", ["heater contactor.", "The limit thermostat is on", "the mains side: next sheet"]
    )
    _plain_rung(out, 430, VENT, "vent", ["actuator that shuts by", "its own spring when", "the power goes"])
    out.wire((90, 520), (330, 520))
    out.resistor(330, 520, 60)
    out.text(360, 508, "fuse F3", "middle", "s")
    out.wire((390, 520), (560, 520))
    out.box(560, 498, 170, 44, radius=4)
    out.text(645, 525, "24 V to 5 V: board", "middle")
    out.wire((730, 520), (900, 520))
    _alarm(out, 630)
    return out.svg()


def _fan_rung(out, y):
    out.text(24, y - 22, "fan", kind="b")
    out.dot(90, y)
    out.wire((90, y), (200, y))
    out.make(200, y)
    out.text(222, y - 22, "S1 HAND", "middle", "s")
    out.wire((244, y), (560, y))
    out.dot(90, y + 80)
    out.wire((90, y + 80), (200, y + 80))
    out.make(200, y + 80)
    out.text(222, y + 58, "S1 AUTO", "middle", "s")
    out.wire((244, y + 80), (380, y + 80))
    out.make(380, y + 80)
    out.text(402, y + 58, f"{FAN} (board)", "middle", "s")
    out.wire((424, y + 80), (560, y + 80), (560, y))
    out.dot(560, y)
    out.wire((560, y), (640, y))
    out.coil(640, y, "K10", 60)
    out.wire((700, y), (900, y))
    out.dot(900, y)
    _diode(out, 620, 720, y)
    out.texts(
        920,
        y - 8,
        ["fan contactor.", "OFF: both S1 contacts open.", "HAND works with the board", "dead, not without 24 V."],
    )


def _diode(out, left, right, y):
    """A quenching diode across a coil, cathode at the + side."""
    middle = (left + right) / 2
    out.dot(left, y)
    out.dot(right, y)
    out.wire((left, y), (left, y + 44), (middle - 12, y + 44))
    out.wire((middle + 12, y + 32), (middle + 12, y + 56), (middle - 12, y + 44), (middle + 12, y + 32))
    out.wire((middle - 12, y + 32), (middle - 12, y + 56))
    out.wire((middle + 12, y + 44), (right, y + 44), (right, y))
    out.text(middle, y + 72, "diode", "middle", "s")


def _plain_rung(out, y, contact, load, words):
    out.text(24, y - 12, "heater" if load == "K11" else "vent", kind="b")
    out.dot(90, y)
    out.wire((90, y), (380, y))
    out.make(380, y)
    out.text(402, y - 22, f"{contact} (board)", "middle", "s")
    out.wire((424, y), (640, y))
    out.coil(640, y, load, 60)
    out.wire((700, y), (900, y))
    out.dot(900, y)
    out.texts(920, y - 8, words)
    if load == "K11":
        _diode(out, 620, 720, y)


def _alarm(out, y):
    out.text(24, y + 5, "alarm", kind="b")
    out.text(90, y - 34, "own battery", kind="s")
    out.wire((90, y), (120, y))
    out.wire((120, y - 18), (120, y + 18))
    out.wire((130, y - 9), (130, y + 9), kind="t")
    out.wire((130, y), (380, y))
    out.break_contact(380, y)
    out.text(402, y - 26, f"{ALARM} (board)", "middle", "s")
    out.wire((424, y), (640, y))
    out.circle(660, y, 20)
    out.text(660, y + 5, "H1", "middle", "b")
    out.wire((680, y), (760, y), (760, y + 44), (90, y + 44), (90, y))
    words = [
        f"sounder, lamp or dialler. {ALARM} holds this",
        "contact open while all is well: a dead",
        "board, a dead supply or a broken wire",
        f"to {ALARM} sounds it.",
    ]
    out.texts(790, y - 8, words)


def speed_svg():
    """Return the 24 V circuit and the speed signal of a fan with a 0-10 V input."""
    out = Drawing(1120, 470, "A fan with speed control")
    out.text(24, 34, "A fan with speed control: instead of the fan's part of the 24 V circuit", kind="h")
    out.text(24, 56, "Only where the fan's speed terminals are isolated from mains: ask its maker.", kind="s")
    out.wire((90, 84), (90, 230), kind="t")
    out.wire((900, 84), (900, 230), kind="t")
    out.text(24, 78, "+24 V, after fuse F2", kind="b")
    out.text(900, 78, "0 V", "middle", "b")
    for y, words in ((120, "S1 HAND"), (190, "S1 AUTO")):
        out.dot(90, y)
        out.wire((90, y), (200, y))
        out.make(200, y)
        out.text(222, y - 22, words, "middle", "s")
        out.wire((244, y), (560, y))
    out.wire((560, 190), (560, 120), (640, 120))
    out.dot(560, 120)
    out.coil(640, 120, "K10", 60)
    out.wire((700, 120), (900, 120))
    out.dot(900, 120)
    _diode(out, 620, 720, 120)
    out.texts(920, 116, ["fan contactor: on in HAND", "and AUTO, off in OFF"])
    _speed_signal(out, 300)
    return out.svg()


def _speed_signal(out, y):
    out.text(24, y - 14, "speed", kind="b")
    out.box(90, y - 30, 150, 60, radius=4)
    out.texts(165, y - 4, ["board, pin FAN", "0 to 100 % pulses"], "middle")
    out.wire((240, y), (320, y))
    out.box(320, y - 30, 170, 60, radius=4)
    out.texts(405, y - 4, ["converter, isolated,", "pulses to 0-10 V"], "middle")
    out.wire((490, y), (560, y))
    out.make(560, y)
    out.text(582, y - 22, "S1 AUTO", "middle", "s")
    out.wire((604, y), (740, y))
    out.box(740, y - 40, 180, 170, radius=4)
    out.text(830, y - 16, "fan", "middle", "b")
    out.texts(750, y + 5, ["speed input"])
    out.texts(750, y + 65, ["+10 V"])
    out.texts(750, y + 115, ["0 V"])
    out.wire((740, y + 60), (604, y + 60))
    out.make(560, y + 60)
    out.text(582, y + 82, "S1 HAND", "middle", "s")
    out.wire((560, y + 60), (520, y + 60), (520, y + 30))
    out.wire((520, y + 30), (680, y + 30), (680, y))
    out.dot(680, y)
    out.wire((405, y + 30), (405, y + 110), (740, y + 110))


def mains_svg():
    """Return the mains side in one line, for the electrician."""
    out = Drawing(1180, 560, "The mains side in one line")
    out.text(24, 34, "Mains side, in one line: for a licensed electrician, to local code", kind="h")
    out.text(
        24, 56, "Principle only. Ratings, poles, earthing and extra devices are the electrician's to decide.", kind="s"
    )
    out.box(20, 76, 1140, 420, kind="d")
    out.text(1150, 94, "mains box: a box of its own, opened with a tool", "end", "s")
    y = 240
    out.text(40, y - 14, "supply")
    out.wire((40, y), (110, y), kind="t")
    _block(out, 110, y, ["Q1 isolator,", "can be locked off"], 130)
    _block(out, 280, y, ["Q2 ground-fault", "protection"], 130)
    out.wire((240, y), (280, y), kind="t")
    out.wire((410, y), (450, y), kind="t")
    out.wire((450, 150), (450, 420), kind="t")
    _branch(out, 150, "F1", ["K10 contactor,", "motor rated"], ["Q3 motor", "protection"], "fan")
    _branch(out, 290, "F4", ["K11 contactor,", "heater's load"], ["B1 limit cut-out,", "reset by hand"], "heater")
    out.wire((450, 420), (480, 420), kind="t")
    _block(out, 480, 420, ["F5"], 60)
    out.wire((540, 420), (600, 420), kind="t")
    _block(out, 600, 420, ["24 V safety supply,", "isolating (SELV)"], 170)
    out.wire((770, 420), (940, 420))
    out.texts(950, 412, ["24 V to the control box:", "a separate cable gland,", "never in one cable with mains"])
    out.texts(
        24,
        520,
        [
            "B1 is in the heater's own supply, so that it ends the heat though K11 has welded. "
            "Every metal part is bonded to protective earth.",
            "K10 and K11 have 24 V coils (previous sheet), so hand switch, board and probes stay at extra-low voltage.",
        ],
    )
    return out.svg()


def _block(out, x, y, words, width):
    out.box(x, y - 24, width, 48, radius=4)
    top = y + 5 if len(words) == 1 else y - 3
    out.texts(x + width / 2, top, words, "middle")


def _branch(out, y, fuse, contactor, guard, load):
    out.wire((450, y), (480, y), kind="t")
    _block(out, 480, y, [fuse], 60)
    out.wire((540, y), (600, y), kind="t")
    _block(out, 600, y, contactor, 140)
    out.wire((740, y), (790, y), kind="t")
    _block(out, 790, y, guard, 140)
    out.wire((930, y), (1000, y), kind="t")
    out.circle(1040, y, 38)
    out.text(1040, y + 5, load, "middle", "b")


def drawn():
    """Return {file name: SVG text}."""
    from tests.tools import draw_house

    return {
        "wiring-control.svg": control_svg(),
        "wiring-speed.svg": speed_svg(),
        "wiring-mains.svg": mains_svg(),
        "places.svg": draw_house.places_svg(),
    }
