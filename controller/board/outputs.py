"""Fan, heater, vent, alarm and light: all off when made, and at any exit.

What lives here: levels on pins, and whether a pin follows. What never does: a decision.
The alarm's relay is energised while all is well, so a dead board alarms.
"""

DUTY_FULL = 65535


class Relay:
    """A relay or contactor coil driver on one pin. active: the level that switches it on."""

    def __init__(self, pin, active):
        self.pin, self.active = pin, active
        self.on = 0

    def set(self, on):
        """Switch; written each second anew, so that a disturbed level does not last."""
        self.on = on
        self.pin.value(self.active if on else 1 - self.active)

    def follows(self):
        """Return True when the pin has the level it was given."""
        return self.pin.value() == (self.active if self.on else 1 - self.active)


class PwmFan:
    """A fan with a speed input, 0 to 100 % of the duty."""

    def __init__(self, pwm):
        self.pwm = pwm
        self.on = 0

    def set(self, pct):
        """Set the speed in percent."""
        self.on = pct
        self.pwm.duty_u16(DUTY_FULL * pct // 100)

    def follows(self):
        """Return True when the duty is within 1 % of the one it was given."""
        return abs(self.pwm.duty_u16() - DUTY_FULL * self.on // 100) <= 656


class Outputs:
    """All outputs of a board. started: True when the last drive switched the fan, heater or vent on."""

    def __init__(self, fan, heater, vent, alarm, light):
        self.fan, self.heater, self.vent, self.alarm, self.light = fan, heater, vent, alarm, light
        self.started = False
        self.heater_held_s = 0
        self.off()

    def off(self):
        """Fan, heater and vent off, the alarm given, the light dark. Each is tried, whatever another does."""
        for relay in (self.heater, self.fan, self.vent, self.alarm):
            try:
                relay.set(0)
            except Exception as fault:
                print("an output did not go off:", repr(fault))
        self.light.value(0)

    def drive(self, fan_pct, heater, vent, well, elapsed_s):
        """Set every output. The heater never together with the vent, nor while a self-test holds it back."""
        self.heater_held_s = max(self.heater_held_s - elapsed_s, 0)
        heater = 1 if heater and not vent and not self.heater_held_s else 0
        self.started = (fan_pct and not self.fan.on) or (heater and not self.heater.on) or (vent and not self.vent.on)
        self.heater.set(heater)
        self.fan.set(fan_pct if isinstance(self.fan, PwmFan) else 1 if fan_pct else 0)
        self.vent.set(vent)
        self.alarm.set(1 if well else 0)

    def stray(self):
        """Return the names of outputs whose pins do not follow."""
        named = (("fan", self.fan), ("heater", self.heater), ("vent", self.vent), ("alarm", self.alarm))
        return [name for name, relay in named if not relay.follows()]
