"""The pin map of boards with an RP2040 or RP2350 (Pico, Pico 2). GP numbers, not package pins.

What lives here: numbers. Everything that differs between boards, but for the root main.py, is in such a file.
What never does: an object of the machine module.
"""

NAME = "pico"

# Outputs. After a reset these pins are inputs with a weak pull-down, so a relay module that switches on a high level
# stays off; one that switches on a low level needs a pull-up of its own to 3.3 V (see parts.md).
FAN, HEATER, VENT, ALARM, LIGHT = 18, 19, 20, 21, 22

# Inputs. Hand switch and readback close to ground.
HAND_ON, HAND_OFF, READBACK = 6, 7, 8

PROBES = 2  # 1-wire data, 4.7 kohm to 3.3 V
I2C, SDA, SCL = 0, 4, 5  # humidity probe, 4.7 kohm to 3.3 V each
PWM_HZ = 1000  # for a 0-10 V converter; see the fan's own sheet
