"""The pin map of boards with an ESP32 (the first kind, 4 MB flash). GPIO numbers. Not tried on hardware.

What lives here: numbers. Everything that differs between boards, but for the root main.py, is in such a file.
What never does: an object of the machine module.
"""

NAME = "esp32"

# Outputs: neither strapping pins (0, 2, 5, 12, 15), nor the serial port (1, 3), nor the flash (6 to 11), nor pins
# that put out a signal while the chip starts (14). They float until the firmware runs: fit pull-downs (see parts.md).
FAN, HEATER, VENT, ALARM, LIGHT = 25, 26, 27, 32, 33

# Inputs. Hand switch and readback close to ground.
HAND_ON, HAND_OFF, READBACK = 18, 19, 4

PROBES = 23  # 1-wire data, 4.7 kohm to 3.3 V
I2C, SDA, SCL = 0, 21, 22  # humidity probe, 4.7 kohm to 3.3 V each
PWM_HZ = 1000  # for a 0-10 V converter; see the fan's own sheet
