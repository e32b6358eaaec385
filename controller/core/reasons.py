"""The reason of each decision and the alarms: their codes, and the words people read.

What lives here: one row a reason, one row an alarm, and the choice of the reason. Words are written nowhere else.
What never does: anything that a decision reads.
"""

from controller.core import allowance, limits, phases, wants

PHASE_WORDS = ("rest", "charge", "discharge", "blind", "hand")

(
    IDLE, REACHED, RESTING, MIN_RUN, CHARGE_HOT, CHARGE_HOT_ALONE, CHARGE_DAMP, DISCHARGE_COLD, DISCHARGE_COLD_ALONE,
    DISCHARGE_FLUSH, GUARD, TRIAL_RUN, TRIAL_REST, NO_COOLTH, NO_WARMTH, FULL, RESERVE, LONGEST, SPARED, OUTLET_SAID,
    SPENT, TURN, CHARGE_FROST, WAKING, CHARGE_UNKNOWN, BLIND_RUN, BLIND_COLD, BLIND_REST, BLIND_MILD, BLIND_SPARED,
    HAND_ON, HAND_OFF, HAND_LEFT,
) = range(33)  # fmt: skip

# (word in logs and files, sentence for people), in the order of the codes.
REASONS = (
    ("idle", "The house is between its setpoints, or the soil has nothing to offer it."),
    ("reached", "The house has reached the end of its band; the fan stops."),
    ("resting", "A run is wanted; the fan first completes its shortest rest."),
    ("min-run", "Nothing is wanted any more; the fan first completes its shortest run."),
    ("hot", "The house is warm and the soil cooler: heat is stored."),
    ("hot-alone", "The house is warm; the soil probe is lost, so the house alone decides."),
    ("damp", "The air is damp and the soil below its dew point: the heat of condensing moisture is stored."),
    ("cold", "The house is cold and the soil warmer: heat is brought back."),
    ("cold-alone", "The house is cold; the soil probe is lost, so the house alone decides."),
    ("flush", "The soil is warmer than wanted and the night is cooler: the soil is cooled."),
    ("frost-guard", "The plants are in danger of frost: the fan runs whatever the limits say."),
    ("trial-run", "Trial: a run, so that the log shows what the fan does."),
    ("trial-rest", "Trial: a rest, so that the log shows the house without the fan."),
    ("no-coolth", "The house is warm, but the soil is not enough cooler to be worth the fan."),
    ("no-warmth", "The house is cold, but the soil is not enough warmer to be worth the fan."),
    ("soil-full", "The soil is at its ceiling: more heat would harm roots."),
    ("soil-reserve", "The soil is at its floor: the rest is kept for frost guard."),
    ("longest-run", "The fan has run its longest run; a rest follows."),
    ("allowance", "The running time allowed for now is used up; it flows back by the hour."),
    (
        "outlet-said",
        "The soil probe is lost, and the outlet showed no gain; the next try follows within the hour.",
    ),
    (
        "store-spent",
        "The plants are in danger of frost and the soil has no heat left: light the backup heater.",
    ),
    ("turn", "A rest between two phases that must not touch."),
    ("frost-stops-charge", "The plants are in danger of frost: charging stops at once."),
    ("waking", "Power came back; the first house reading is awaited."),
    ("house-lost", "The house temperature was lost while charging: the fan stops at once."),
    ("blind-run", "The house temperature is unknown: a timed run."),
    ("blind-cold", "The house temperature is unknown and it is cold outside: long timed runs."),
    ("blind-rest", "The house temperature is unknown: a timed rest."),
    ("blind-mild", "The house temperature is unknown, but it is mild outside: no run is needed."),
    ("blind-spared", "The house temperature is unknown, and the running time allowed for now is used up."),
    ("hand-on", "The switch is on: the fan runs by hand."),
    ("hand-off", "The switch is off: the fan is kept off by hand."),
    ("hand-left", "The switch is back on auto; the fan rests first."),
)

# Alarm bits, lowest first: (word in logs, sentence for people).
ALARMS = (
    ("frost", "The house is at or below the frost alarm."),
    ("hot", "The house is at or above the heat alarm."),
    ("house-lost", "The house probe gives no trusted reading."),
    ("soil-lost", "The soil probe gives no trusted reading."),
    ("stuck", "The house reading has not moved for three hours."),
    ("probes-differ", "The house probe and the humidity probe disagree by 3 K or more."),
    ("no-flow", "The fan should run, but the outlet air hardly changes: belt, blockage, water in the pipes?"),
    ("store-spent", "Danger of frost, and the soil has no heat left: light the backup heater."),
    ("contactor-on", "The contactor reads on though it should be off: welded?"),
    ("contactor-off", "The contactor reads off though it should be on: coil, fuse, overload?"),
)

CHARGE_REASONS = (IDLE, CHARGE_HOT, CHARGE_DAMP, IDLE, IDLE, TRIAL_RUN)  # by rule
DISCHARGE_REASONS = (IDLE, DISCHARGE_COLD, IDLE, DISCHARGE_FLUSH, GUARD, TRIAL_RUN)
LIMIT_REASONS = (IDLE, FULL, RESERVE, LONGEST, SPARED, OUTLET_SAID, RESTING)  # by limit


def running(r, phase, rule):
    """Return the reason of a run under a rule."""
    if rule == phases.BY_SETPOINT and not r.soil_ok:
        return CHARGE_HOT_ALONE if phase == phases.CHARGE else DISCHARGE_COLD_ALONE
    return CHARGE_REASONS[rule] if phase == phases.CHARGE else DISCHARGE_REASONS[rule]


def blind(s, t, r, timed_run):
    """Return the reason while the house temperature is unknown."""
    if t.phase == phases.CHARGE:
        return CHARGE_UNKNOWN
    if timed_run:
        return BLIND_COLD if limits.bitter(s, r) else BLIND_RUN
    if limits.mild(s, r):
        return BLIND_MILD
    return BLIND_REST if allowance.enough(t.allowance, t.fan, s.min_run_s) else BLIND_SPARED


def quiet(s, t, r, limit):
    """Return the reason when nothing is wanted, or limit holds back what is."""
    if limit != limits.FREE:
        return LIMIT_REASONS[limit]
    if t.guard:
        return CHARGE_FROST if t.phase == phases.CHARGE else SPENT
    if wants.trial_owns(s, t, r):
        return TRIAL_REST
    kept = t.rule in (phases.BY_SETPOINT, phases.BY_GUARD)
    if wants.hot(s, r, kept and t.phase == phases.CHARGE):
        return NO_COOLTH if r.soil_ok else OUTLET_SAID
    if wants.cold(s, r, kept and t.phase == phases.DISCHARGE):
        return NO_WARMTH if r.soil_ok else OUTLET_SAID
    return REACHED if t.fan else IDLE


def reason_of(s, t, r, condition, ask):
    """Return the reason of the step from Deciding t under condition; ask is decide's Asked."""
    if condition == phases.SWITCH_OFF or condition == phases.SWITCH_ON:
        return HAND_OFF if condition == phases.SWITCH_OFF else HAND_ON
    if t.phase == phases.HAND:
        return HAND_LEFT
    if condition == phases.UNSEEN:
        return WAKING
    if condition == phases.TIMED_RUN or condition == phases.TIMED_REST:
        return blind(s, t, r, condition == phases.TIMED_RUN)
    if condition == phases.MIN_RUN:
        return MIN_RUN
    if condition == phases.NOTHING:
        return quiet(s, t, r, ask.discharge_limit if ask.discharge else ask.charge_limit)
    phase = phases.next_phase(t.phase, condition)
    if phase == phases.REST:
        return CHARGE_FROST if t.phase == phases.CHARGE and t.guard else TURN
    return running(r, phase, ask.charge if phase == phases.CHARGE else ask.discharge)
