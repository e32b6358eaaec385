"""Stand-in for a board's machine module. What it does not have, the firmware must not use."""

from world import world

PWRON_RESET = 1
WDT_RESET = 3


class Pin:
    IN, OUT, OPEN_DRAIN, PULL_UP = 0, 1, 2, 1

    def __init__(self, number, mode=-1, pull=-1, value=None):
        self.number = number
        if mode == Pin.OUT:
            world.out(number, 0 if value is None else int(value))

    def value(self, level=None):
        if level is None:
            return world.level(self.number)
        if self.number not in world.outs and not world.stopped:
            raise ValueError("pin %d is no output" % self.number)
        world.out(self.number, 1 if level else 0)


class PWM:
    def __init__(self, pin, freq=0, duty_u16=0):
        if not 8 <= freq <= 62_500_000:
            raise ValueError("freq")
        self.pin = pin
        self.duty_u16(duty_u16)

    def duty_u16(self, duty=None):
        if duty is None:
            return world.duty[self.pin.number]
        if not 0 <= duty <= 65535:
            raise ValueError("duty")
        if not world.stopped:
            world.duty[self.pin.number] = duty


class WDT:
    def __init__(self, id=0, timeout=5000):
        if timeout > 8388:
            raise ValueError("timeout exceeds 8388")
        world.watch(timeout)

    def feed(self):
        world.feed()


class I2C:
    def __init__(self, id=-1, scl=None, sda=None, freq=400_000, timeout=50_000):
        if world.i2c_fault == "none":
            raise ValueError("bad SCL pin")
        self.timeout_ms = timeout // 1000

    def _trouble(self):
        if world.i2c_fault == "gone":
            raise OSError(5)
        if world.i2c_fault == "hang":
            world.advance(self.timeout_ms)
            raise OSError(110)
        if world.i2c_fault == "lock":
            world.advance(100_000)

    def writeto(self, address, data):
        self._trouble()
        return len(data)

    def readfrom_into(self, address, buffer):
        from world import crc8

        self._trouble()
        for i in range(2):
            word = world.air_counts[i]
            buffer[3 * i] = word >> 8
            buffer[3 * i + 1] = word & 0xFF
            buffer[3 * i + 2] = crc8(bytes((word >> 8, word & 0xFF)), 0x31, 0xFF, False)
        if world.i2c_fault == "crc":
            buffer[2] ^= 1


class Registers:
    def __getitem__(self, address):
        return world.registers.get(address, 0)

    def __setitem__(self, address, value):
        if not world.stopped:
            world.registers[address] = value & 0xFFFFFFFF


mem32 = Registers()


def reset_cause():
    return world.cause


def reset():
    world.stop("reset")
