"""Are the core's fixed numbers those of its rules? Our choices all, but where a source is named.

A number that two tests would notice anyway stands here too: one place to compare with the rules.
"""

from controller.core import (
    alarms,
    allowance,
    counters,
    limits,
    phases,
    reasons,
    record,
    screen,
    stages,
    thin,
    units,
    wants,
)

NUMBERS = {
    alarms: {
        "HOLD_S": 60, "CLEAR_BACK": 100, "DIFFER": 300, "DIFFER_S": 1800, "NO_FLOW_AFTER_S": 600, "NO_FLOW_APART": 500,
        "NO_FLOW_SHARE": 5, "CONTACTOR_S": 10, "BITS": 10,
    },
    allowance: {"DAY_S": 86400, "MOST_OWED_S": 3600},
    counters: {"TOP": 1073741823},
    limits: {
        "OUTLET_RETRY_S": 3600, "MILD": 500,
        "FREE": 0, "FULL": 1, "RESERVE": 2, "LONGEST": 3, "SPARED": 4, "OUTLET_SAID": 5, "RESTING": 6,
    },
    record: {
        "NO_DAY": -1, "NO_HUMIDITY": 65535, "VERSION": 1, "ROW_BYTES": 16, "HEAD_BYTES": 16, "CRC_BYTES": 2,
        "LONGEST_BLOCK": 255, "ROW_STEP_S": 60,
    },
    screen: {
        "HAND_AUTO": 0, "HAND_ON": 1, "HAND_OFF": 2, "REQUEST_NONE": 0, "REQUEST_TRIAL": 1,
        "NOT_FITTED": 0, "READ_OFF": 1, "READ_ON": 2, "LONGEST_STEP_S": 3600,
        "AIR_LOWEST": -4000, "AIR_HIGHEST": 7000, "SOIL_LOWEST": -2000, "SOIL_HIGHEST": 5000,
        "JUMP_CENTI_C": 500, "JUMP_PER_S": 10, "STAND_S": 30, "STAND_READINGS": 3, "STUCK_S": 10800, "STUCK_MOVED": 200,
        "NEW_PROBE": (-32768, 3600, -32768, 0, 0),
        "NEW_STUCK": (0, 32768, -32768, 32768, -32768, 32768, -32768),
    },
    stages: {"VENT_STAYS_C": 1500},
    thin: {"THICK": 0x4C, "THIN": 0x6C},
    units: {"LOST": -32768, "POWER_ON_COUNTS": 0x0550, "TABLE_FROM_C": -45},
    wants: {
        "OUTLET_AFTER_S": 600, "OUTLET_GAIN": 100, "GUARD_START": 100, "GUARD_STOP": 50, "DAMP_START": 100,
        "DAMP_STOP": 30, "DAMP_GAIN": 100, "FLUSH_HOUSE": 500, "TRIAL_RUN_S": 1800,
        "TRIAL_REST_S": 1800, "TRIAL_MARGIN": 200,
    },
    phases: {
        "PHASES": (0, 1, 2, 3, 4), "CONDITIONS": (0, 1, 2, 3, 4, 5, 6, 7, 8),
        "NO_RULE": 0, "BY_SETPOINT": 1, "BY_DAMP": 2, "BY_FLUSH": 3, "BY_GUARD": 4, "BY_TRIAL": 5,
    },
    # By rule, by limit; a rule that a phase does not have is idle.
    reasons: {
        "CHARGE_REASONS": (0, 4, 6, 0, 0, 11), "DISCHARGE_REASONS": (0, 7, 0, 9, 10, 11),
        "LIMIT_REASONS": (0, 15, 16, 17, 18, 19, 2),
    },
}  # fmt: skip


def test_numbers():
    for module, numbers in NUMBERS.items():
        assert {name: getattr(module, name) for name in numbers} == numbers
