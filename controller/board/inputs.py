"""The hand-off-auto switch and the contactor's readback.

What lives here: contacts to the core's codes. A contact counts when two seconds in a row agree.
"""

from controller.core.screen import HAND_AUTO, HAND_OFF, HAND_ON, NOT_FITTED, READ_OFF, READ_ON


class Inputs:
    """Each pin reads 0 while its contact is closed to ground, and is None when it is not fitted."""

    def __init__(self, hand_on, hand_off, readback):
        self.pins = hand_on, hand_off, readback
        self.before = self._levels()
        self.held = self.before

    def _levels(self):
        return [1 if pin is not None and pin.value() == 0 else 0 for pin in self.pins]

    def read(self):
        """Return (hand, readback) as core.screen.Raw wants them. Call it once a second.

        Both hand contacts closed is a damp or broken switch: it counts as auto, so that it cannot cost the plants.
        """
        now = self._levels()
        self.held = [now[i] if now[i] == self.before[i] else self.held[i] for i in range(3)]
        self.before = now
        on, off, read_on = self.held
        hand = HAND_AUTO if on == off else HAND_ON if on else HAND_OFF
        readback = NOT_FITTED if self.pins[2] is None else READ_ON if read_on else READ_OFF
        return hand, readback
