"""The names of phases, conditions and rules, and the table that joins them.

What lives here: what follows for every phase under every condition, as one literal table.
What never does: how a condition is found (decide, wants) or told (reasons).
"""

REST, CHARGE, DISCHARGE, BLIND, HAND = 0, 1, 2, 3, 4
PHASES = (REST, CHARGE, DISCHARGE, BLIND, HAND)

# Why the fan runs in CHARGE and DISCHARGE. NO_RULE elsewhere.
NO_RULE, BY_SETPOINT, BY_DAMP, BY_FLUSH, BY_GUARD, BY_TRIAL = 0, 1, 2, 3, 4, 5

# Exactly one condition holds at each step.
SWITCH_OFF = 0  # hand switch off
SWITCH_ON = 1  # hand switch on
UNSEEN = 2  # no house reading yet since power-up
TIMED_RUN = 3  # house unknown, and a timed run is due or under way
TIMED_REST = 4  # house unknown, and no timed run is due
WANT_CHARGE = 5  # a rule asks for charging and no limit forbids it
WANT_DISCHARGE = 6  # a rule asks for discharging and no limit forbids it
MIN_RUN = 7  # nothing of that, but the fan has not yet run min_run_s
NOTHING = 8  # nothing of all that
CONDITIONS = (
    SWITCH_OFF, SWITCH_ON, UNSEEN, TIMED_RUN, TIMED_REST, WANT_CHARGE, WANT_DISCHARGE, MIN_RUN, NOTHING,
)  # fmt: skip

# What each condition means in words, for the drawing of this table.
CONDITION_WORDS = (
    "switch off", "switch on", "house not seen yet", "house unknown: timed run", "house unknown: timed rest",
    "charge wanted", "discharge wanted", "shortest run not over", "nothing wanted",
)  # fmt: skip

# TABLE[phase][condition] is the next phase. CHARGE and DISCHARGE never touch; HAND is left through REST.
TABLE = (
    # off   on    unseen timed run timed rest charge  discharge  min run    nothing
    (HAND, HAND, REST, BLIND, BLIND, CHARGE, DISCHARGE, REST, REST),  # REST
    (HAND, HAND, REST, REST, REST, CHARGE, REST, CHARGE, REST),  # CHARGE
    (HAND, HAND, BLIND, BLIND, BLIND, REST, DISCHARGE, DISCHARGE, REST),  # DISCHARGE
    (HAND, HAND, BLIND, BLIND, BLIND, REST, DISCHARGE, BLIND, REST),  # BLIND
    (HAND, HAND, REST, REST, REST, REST, REST, REST, REST),  # HAND
)  # fmt: skip


CELLS = tuple([cell for row in TABLE for cell in row])  # flat: one look-up, on every runtime


def next_phase(phase, condition):
    """Return the phase that follows."""
    return CELLS[phase * len(CONDITIONS) + condition]


def fan_of(phase, condition):
    """Return 1 when the fan runs in a phase that was entered or kept under this condition.

    In HAND the switch runs the fan by wire; the board only knows that it does.
    """
    if phase == BLIND:
        return 1 if condition in (TIMED_RUN, MIN_RUN) else 0
    if phase == HAND:
        return 1 if condition == SWITCH_ON else 0
    return 0 if phase == REST else 1
