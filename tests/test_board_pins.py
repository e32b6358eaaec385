"""Is any output on a pin that is high while the chip starts, or that its boot loader or flash uses?

Rests on the chips' data sheets, from memory: RP2040 and RP2350 pads start as inputs with a pull-down; GP0 and GP1 are
the serial port that boot messages may use, GP23, GP24, GP25 and GP29 the Pico's own (supply mode, bus sense, light,
supply voltage). ESP32: strapping pins 0, 2, 5, 12, 15; serial port 1, 3; flash 6 to 11; 14 puts out a signal at start;
34 to 39 are inputs only; 16 and 17 belong to external memory on some modules.
"""

import pytest

from controller.board import pins_esp32, pins_pico
from tests.rig.run import INNER

OUTPUTS = ("FAN", "HEATER", "VENT", "ALARM", "LIGHT")
OTHERS = ("HAND_ON", "HAND_OFF", "READBACK", "PROBES", "SDA", "SCL")
FORBIDDEN = {
    "pico": {0, 1, 23, 24, 25, 29},
    "esp32": {0, 1, 2, 3, 5, 6, 7, 8, 9, 10, 11, 12, 14, 15, 16, 17, *range(34, 40)},
}
LAST = {"pico": 28, "esp32": 33}
# I2C0 of an RP2040 or RP2350: data on GP0, 4, 8, ... and clock on the next pin (data sheet, table GPIO functions).
I2C0_DATA = {0, 4, 8, 12, 16, 20}


@pytest.mark.parametrize("pins", [pins_pico, pins_esp32], ids=lambda pins: pins.NAME)
def test_no_output_on_a_pin_that_is_high_at_reset_or_the_boot_loaders(pins):
    for name in OUTPUTS + OTHERS:
        number = getattr(pins, name)
        assert 0 <= number <= LAST[pins.NAME], name
        assert number not in FORBIDDEN[pins.NAME], name


@pytest.mark.parametrize("pins", [pins_pico, pins_esp32], ids=lambda pins: pins.NAME)
def test_no_pin_is_used_twice(pins):
    numbers = [getattr(pins, name) for name in OUTPUTS + OTHERS]
    assert len(set(numbers)) == len(numbers)


def test_the_picos_i2c_pins_belong_to_its_bus():
    assert pins_pico.I2C == 0
    assert pins_pico.SDA in I2C0_DATA
    assert pins_pico.SCL == pins_pico.SDA + 1


def test_the_rig_drives_the_same_pins():
    text = (INNER / "stage.py").read_text(encoding="utf-8")
    assert f"FAN, HEATER, VENT, ALARM, LIGHT = {', '.join(str(getattr(pins_pico, name)) for name in OUTPUTS)} " in text
    hand = (pins_pico.HAND_ON, pins_pico.HAND_OFF, pins_pico.READBACK)
    assert f"HAND_ON, HAND_OFF, READBACK = {', '.join(map(str, hand))}" in text


def test_pin_maps_are_the_only_place_of_numbers():
    names = set(vars(pins_pico)) - set(vars(pins_esp32))
    assert not names, "both maps name the same things"
