"""The status light's code: what it blinks.

Every 4 s: as many short blinks as the phase's number plus one (1 rest, 2 charge, 3 discharge, 4 blind, 5 hand), and
while an alarm stands one long blink after them. In the safe loop it flickers without a pause.
"""

CYCLE_MS, BLINK_MS, LONG_FROM_MS, LONG_TO_MS, FLICKER_MS = 4000, 150, 2200, 3400, 100


def level(phase, alarm, safe, ms):
    """Return 1 when the light is to be on, ms milliseconds into any cycle."""
    if safe:
        return ms // FLICKER_MS & 1
    ms %= CYCLE_MS
    if ms < 2 * BLINK_MS * (phase + 1):
        return 1 - (ms // BLINK_MS & 1)
    return 1 if alarm and LONG_FROM_MS <= ms < LONG_TO_MS else 0
