"""The objects of the machine module, made from a pin map and the wiring: the one place that opens pins and buses.

What lives here: making them, outputs first and off. What never does: using them.
"""

import sys
import time

import machine
import onewire

from controller.board.outputs import Outputs, PwmFan, Relay

BUS_HZ = 50_000  # slow, for long leads
BUS_TIMEOUT_US = 20_000


def pin_map():
    """Return this board's pin map module."""
    if sys.platform == "esp32":
        from controller.board import pins_esp32 as pins
    else:
        from controller.board import pins_pico as pins
    return pins


def outputs(pins, wiring):
    """Return Outputs, every one of them off. Relays but the fan's switch on a high level only."""
    if wiring["fan"] == "pwm":
        fan = PwmFan(machine.PWM(machine.Pin(pins.FAN), freq=pins.PWM_HZ, duty_u16=0))
    else:
        active = wiring["fan_active"]
        fan = Relay(machine.Pin(pins.FAN, machine.Pin.OUT, value=1 - active), active)
    rest = [Relay(machine.Pin(n, machine.Pin.OUT, value=0), 1) for n in (pins.HEATER, pins.VENT, pins.ALARM)]
    return Outputs(fan, rest[0], rest[1], rest[2], machine.Pin(pins.LIGHT, machine.Pin.OUT, value=0))


def inputs(pins, wiring):
    """Return (hand on, hand off, readback) as pins that read 0 when closed, each None when it is not fitted."""
    wanted = ((pins.HAND_ON, "hand_fitted"), (pins.HAND_OFF, "hand_fitted"), (pins.READBACK, "readback_fitted"))
    return [machine.Pin(n, machine.Pin.IN, machine.Pin.PULL_UP) if wiring[key] else None for n, key in wanted]


def wire(pins):
    """Return the 1-wire bus."""
    return onewire.OneWire(machine.Pin(pins.PROBES))


def bus(pins):
    """Return the I2C bus."""
    return machine.I2C(
        pins.I2C, scl=machine.Pin(pins.SCL), sda=machine.Pin(pins.SDA), freq=BUS_HZ, timeout=BUS_TIMEOUT_US
    )


def free_bus(pins):
    """Clock out a probe that holds the data line low, and return the I2C bus made anew.

    Nine clocks end whatever byte it was sending (I2C-bus specification UM10204, section 3.1.16, from memory).
    """
    scl = machine.Pin(pins.SCL, machine.Pin.OUT, value=1)
    for _ in range(9):
        scl.value(0)
        time.sleep_us(20)
        scl.value(1)
        time.sleep_us(20)
    return bus(pins)
