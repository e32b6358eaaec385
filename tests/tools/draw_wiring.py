"""Draw the wiring of each board from its pin map: hardware-notes/wiring-*.svg and the pin tables in wiring.md.

    python -m tests.tools.draw_wiring

The numbers come from controller/board/pins_*.py alone. A test fails while drawing, table and pin map differ, and
when a pin map has a pin that is drawn nowhere.
"""

import importlib

from tests.tools.draw_states import FOLDER
from tests.tools.svg import Drawing

BOARDS = ("pico", "esp32")
BOARD_NAMES = {"pico": "Pico or Pico 2 (RP2040, RP2350)", "esp32": "ESP32 (first kind, 4 MB)"}
# pin map name: the relay that the output drives, named alike on every sheet
RELAYS = {"FAN": "K1", "HEATER": "K2", "VENT": "K3", "ALARM": "K4"}
NO_PIN = ("NAME", "I2C", "PWM_HZ")  # what a pin map holds beside pins

# GP number to the package's leg, counted from the USB socket: Pico data sheet, from memory. Two boards of a kind
# may place an ESP32's pins differently, so there only the GPIO number is told.
PICO_LEGS = {
    0: 1, 1: 2, 2: 4, 3: 5, 4: 6, 5: 7, 6: 9, 7: 10, 8: 11, 9: 12, 10: 14, 11: 15, 12: 16, 13: 17, 14: 19, 15: 20,
    16: 21, 17: 22, 18: 24, 19: 25, 20: 26, 21: 27, 22: 29, 26: 31, 27: 32, 28: 34,
}  # fmt: skip

# pin map name: (which side of the drawing, what it is, what goes between pin and terminal), in the drawing's order
PINS = {
    "PROBES": ("in", "1-wire data of all DS18B20-type probes", "4.7 kΩ to 3.3 V; 100 Ω in the lead"),
    "SDA": ("in", "humidity probe, data", "4.7 kΩ to 3.3 V"),
    "SCL": ("in", "humidity probe, clock", "4.7 kΩ to 3.3 V"),
    "HAND_ON": ("in", "hand switch: closed to ground in HAND", "10 kΩ to 3.3 V; 1 kΩ in the lead"),
    "HAND_OFF": ("in", "hand switch: closed to ground in OFF", "10 kΩ to 3.3 V; 1 kΩ in the lead"),
    "READBACK": (
        "in",
        "contactor K10, auxiliary contact: closed to ground while on",
        "10 kΩ to 3.3 V; 1 kΩ in the lead",
    ),
    "FAN": ("out", "relay K1, or the 0-10 V converter: fan", "10 kΩ to ground, driver"),
    "HEATER": ("out", "relay K2: heater", "10 kΩ to ground, driver"),
    "VENT": ("out", "relay K3: vent", "10 kΩ to ground, driver"),
    "ALARM": ("out", "relay K4: alarm, energised while all is well", "10 kΩ to ground, driver"),
    "LIGHT": ("out", "status light", "470 Ω, light to ground"),
}


def pin_map(board):
    """Return {name: number} of the pins of a board's map."""
    module = importlib.import_module(f"controller.board.pins_{board}")
    names = [name for name in vars(module) if name.isupper() and name not in NO_PIN]
    return {name: getattr(module, name) for name in names}


def pin_words(board, number):
    """Return how people find a pin: "GP18 (leg 24)" or "GPIO25"."""
    return f"GP{number} (leg {PICO_LEGS[number]})" if board == "pico" else f"GPIO{number}"


def board_svg(board):
    """Return the drawing of one board with everything that is wired to it."""
    pins = pin_map(board)
    out = Drawing(1290, 760, f"Wiring of the {BOARD_NAMES[board]}")
    out.text(24, 34, f"Low-voltage wiring: {BOARD_NAMES[board]}", kind="h")
    out.text(24, 56, "Nothing on this sheet is at mains voltage. K1 to K4 stand again in the 24 V circuit.", kind="s")
    out.box(500, 84, 250, 560, "#f4f6f4", radius=8)
    out.text(625, 108, "board", "middle", "b")
    left = [name for name in PINS if PINS[name][0] == "in"]
    right = [name for name in PINS if PINS[name][0] == "out"]
    for place, name in enumerate(left):
        _input(out, board, name, pins[name], 150 + 80 * place)
    for place, name in enumerate(right):
        _output(out, board, name, pins[name], 150 + 96 * place)
    _inputs_beyond(out)
    _power(out, board)
    return out.svg()


def _terminal(out, board, name, number, y, side):
    """The pin's name and number at the board's edge."""
    out.group(pin=name, number=number)
    x, anchor = (508, "start") if side == "in" else (742, "end")
    out.text(x, y - 2, pin_words(board, number), anchor, "b")
    out.text(x, y + 14, name, anchor, "s")
    out.done()
    out.circle(500 if side == "in" else 750, y, 4)


def _input(out, board, name, number, y):
    """One input: its pull-up to 3.3 V, and a resistor in the lead where there is one."""
    _terminal(out, board, name, number, y, "in")
    out.wire((496, y), (440, y))
    out.dot(440, y)
    out.wire((440, y), (440, y - 8))
    out.resistor_down(440, y - 42, 34)
    out.wire((440, y - 42), (440, y - 50))
    out.text(452, y - 28, PINS[name][2].partition(" to")[0], kind="s")
    out.text(440, y - 54, "3.3 V", "middle", "s")
    series = PINS[name][2].rpartition("; ")[2].removesuffix(" in the lead") if ";" in PINS[name][2] else ""
    if series:
        out.wire((440, y), (404, y))
        out.resistor(360, y)
        out.text(382, y - 12, series, "middle", "s")
        out.wire((360, y), (300, y))
    else:
        out.wire((440, y), (300, y))


def _inputs_beyond(out):
    """What the inputs lead to: probes, humidity probe, switch, spare contact."""
    out.box(24, 104, 276, 92, radius=6)
    out.texts(34, 124, ["1-wire probes, one line, no star:", "house, soil, outlet, outside."], kind="")
    out.texts(34, 160, ["Each: 3.3 V, data, ground. The third wire", "carries power; do not leave it off."])
    out.box(24, 212, 276, 116, radius=6)
    out.text(34, 236, "humidity probe, SHT3x/SHT4x type")
    out.texts(34, 258, ["hangs beside the house probe,", "lead 1 m or less (I2C).", "Also needs 3.3 V and ground."])
    for y, words in ((390, "HAND"), (470, "OFF")):
        out.make(256, y)
        out.wire((256, y), (218, y), (218, y + 6))
        out.ground(218, y + 6)
        out.text(278, y + 20, words, "middle", "b")
    out.texts(
        24,
        392,
        [
            "hand-off-auto switch S1,",
            "second deck, low-signal",
            "kind. AUTO: both open;",
            "both closed counts as AUTO.",
        ],
    )
    out.make(256, 550)
    out.wire((256, 550), (218, 550), (218, 556))
    out.ground(218, 556)
    out.text(278, 570, "K10", "middle", "b")
    out.texts(24, 552, ["contactor K10,", "auxiliary contact,", "low-signal kind"])


def _output(out, board, name, number, y):
    """One output: its pull-down, its driver, its relay."""
    _terminal(out, board, name, number, y, "out")
    if name == "LIGHT":
        out.wire((754, y), (810, y))
        out.resistor(810, y)
        out.text(832, y - 12, "470 Ω", "middle", "s")
        out.wire((854, y), (912, y))
        out.circle(928, y, 16)
        out.wire((917, y - 11), (939, y + 11))
        out.wire((917, y + 11), (939, y - 11))
        out.wire((944, y), (980, y), (980, y + 4))
        out.ground(980, y + 4)
        out.text(1002, y + 5, "status light (LED)")
        return
    out.wire((754, y), (840, y))
    out.dot(794, y)
    out.wire((794, y), (794, y + 8))
    out.resistor_down(794, y + 8, 30)
    out.ground(794, y + 38)
    out.text(806, y + 28, "10 kΩ", kind="s")
    out.wire((840, y - 18), (840, y + 18), (876, y), (840, y - 18))
    out.wire((876, y), (912, y))
    relay = RELAYS[name]
    out.coil(912, y, relay)
    out.wire((962, y), (990, y))
    out.text(994, y + 5, "+24 V", kind="b")
    words = {
        "FAN": ["calls the fan's contactor K10", "(or 0-10 V converter, see text)"],
        "HEATER": ["calls the heater's contactor K11"],
        "VENT": ["opens the vent"],
        "ALARM": ["energised while all is well"],
    }[name]
    out.texts(1050, y - 2 if len(words) > 1 else y + 5, words)


def _power(out, board):
    """Supplies, and the notes that the eye should not miss."""
    five = "VSYS (leg 39)" if board == "pico" else "5V or VIN"
    three = "3V3 (leg 36)" if board == "pico" else "3V3"
    out.text(625, 616, f"5 V in, through diode D1: {five}", "middle", "s")
    out.text(625, 634, f"3.3 V out: {three}; GND", "middle", "s")
    out.texts(
        24,
        676,
        [
            "Drivers: one transistor array of the ULN2803 type with its COM leg at +24 V (its diodes quench the "
            "coils), or a relay module that switches on a HIGH level.",
            "10 kΩ to ground on every relay output: the pins float while the board starts; nothing may close then.",
            "All grounds (0 V) meet at one terminal. 5 V comes from a converter on the 24 V supply: see parts.",
            "This sheet is drawn from the board's pin map; a test fails when they differ.",
        ],
    )


def table(board):
    """Return the rows of a board's pin table."""
    pins = pin_map(board)
    return [[f"`{name}`", pin_words(board, pins[name]), PINS[name][1], PINS[name][2]] for name in PINS]


HEAD = ["name in the pin map", "pin", "what it is", "between pin and terminal"]


def drawn():
    """Return {file name: SVG text} of all wiring drawings."""
    from tests.tools import draw_power

    boards = {f"wiring-{board}.svg": board_svg(board) for board in BOARDS}
    return {**boards, **draw_power.drawn()}


if __name__ == "__main__":
    for name, text in drawn().items():
        (FOLDER / name).write_text(text, encoding="utf-8", newline="\n")
        print(FOLDER / name)
