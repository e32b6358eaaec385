"""Is every reason reached, by the situation that its words describe?"""

import pytest

from controller.core import allowance, decide, phases, reasons, screen
from controller.core.phases import BLIND, CHARGE, DISCHARGE, HAND
from tests.core_help import DEFAULTS, settings, state, step

CHARGING = {"phase": CHARGE, "fan": 1, "rule": phases.BY_SETPOINT, "run_s": 3000}
WARMING = {"phase": DISCHARGE, "fan": 1, "rule": phases.BY_SETPOINT, "run_s": 3000}
SPENT = {"allowance": allowance.Allowance(0, 0, 0)}
DAMP = settings(humid_charge_pct=80)
FLUSH = settings(flush_above_centi_c=2000)
TIGHT = settings(day_run_limit_s=7200)
TRIAL = {"request": screen.REQUEST_TRIAL}

# word: (settings, state before, reading)
SITUATIONS = {
    "idle": (DEFAULTS, {}, {"house": 1500, "soil": 1500}),
    "reached": (DEFAULTS, WARMING, {"house": 700, "soil": 1500}),
    "resting": (DEFAULTS, {"rest_s": 0}, {"house": 400, "soil": 1500}),
    "min-run": (DEFAULTS, {**WARMING, "run_s": 0}, {"house": 700, "soil": 1500}),
    "hot": (DEFAULTS, {}, {"house": 2500, "soil": 1500}),
    "hot-alone": (DEFAULTS, {}, {"house": 2500}),
    "damp": (DAMP, {}, {"house": 1600, "soil": 1400, "humidity": 900, "dew": 1550}),
    "cold": (DEFAULTS, {}, {"house": 400, "soil": 1500}),
    "cold-alone": (DEFAULTS, {}, {"house": 400}),
    "flush": (FLUSH, {}, {"house": 1500, "soil": 2100}),
    "frost-guard": (DEFAULTS, {}, {"house": 50, "soil": 1500}),
    "trial-run": (DEFAULTS, {}, {"house": 1000, "soil": 1500, **TRIAL}),
    "trial-rest": (DEFAULTS, {"rest_s": 0}, {"house": 1000, "soil": 1500, **TRIAL}),
    "no-coolth": (DEFAULTS, {}, {"house": 2500, "soil": 2400}),
    "no-warmth": (DEFAULTS, {}, {"house": 400, "soil": 500}),
    "soil-full": (DEFAULTS, {}, {"house": 3500, "soil": 3000}),
    "soil-reserve": (DEFAULTS, {}, {"house": 200, "soil": 600}),
    "longest-run": (DEFAULTS, {**WARMING, "run_s": 14400}, {"house": 400, "soil": 1500}),
    "allowance": (TIGHT, SPENT, {"house": 400, "soil": 1500}),
    "outlet-said": (DEFAULTS, {**WARMING}, {"house": 400, "outlet": 400}),
    "store-spent": (DEFAULTS, {}, {"house": 50, "soil": 100}),
    "turn": (DEFAULTS, WARMING, {"house": 2500, "soil": 1500}),
    "frost-stops-charge": (DEFAULTS, CHARGING, {"house": 50, "soil": 1500}),
    "waking": (DEFAULTS, {"wake_s": 0}, {}),
    "house-lost": (DEFAULTS, CHARGING, {"soil": 1500}),
    "blind-run": (DEFAULTS, {}, {"soil": 1500}),
    "blind-cold": (DEFAULTS, {}, {"soil": 1500, "outside": 100}),
    "blind-rest": (DEFAULTS, {"rest_s": 0}, {"soil": 1500}),
    "blind-mild": (DEFAULTS, {}, {"soil": 1500, "outside": 1000}),
    "blind-spared": (TIGHT, SPENT, {"soil": 1500}),
    "hand-on": (DEFAULTS, {}, {"house": 1500, "soil": 1500, "hand": screen.HAND_ON}),
    "hand-off": (DEFAULTS, {}, {"house": 1500, "soil": 1500, "hand": screen.HAND_OFF}),
    "hand-left": (DEFAULTS, {"phase": HAND}, {"house": 1500, "soil": 1500}),
}

# Further roads to the same reasons.
MORE = [
    ("no-warmth", DEFAULTS, WARMING, {"house": 600, "soil": 600}),
    ("no-coolth", DEFAULTS, CHARGING, {"house": 2300, "soil": 2300}),
    ("reached", DEFAULTS, {**CHARGING, "rule": phases.BY_DAMP}, {"house": 2300, "soil": 1400}),
    ("reached", DEFAULTS, CHARGING, {"house": 2000, "soil": 1400}),
    ("outlet-said", DEFAULTS, CHARGING, {"house": 2500, "outlet": 2500}),
    ("outlet-said", DEFAULTS, {"retry_s": 0}, {"house": 2500, "outlet": 2500}),
    ("frost-stops-charge", DEFAULTS, CHARGING, {"house": 50, "soil": 50}),
    ("store-spent", DEFAULTS, {**WARMING, "rule": phases.BY_GUARD, "guard": 1}, {"house": 50, "soil": 60}),
    ("turn", DEFAULTS, CHARGING, {"house": 400, "soil": 1500}),
    ("turn", DEFAULTS, {"phase": BLIND, "rest_s": 1800}, {"house": 2500, "soil": 1500}),
    ("soil-full", DEFAULTS, CHARGING, {"house": 3500, "soil": 3000}),
    ("soil-reserve", DEFAULTS, WARMING, {"house": 300, "soil": 600}),
    ("allowance", TIGHT, {**WARMING, **SPENT}, {"house": 400, "soil": 1500}),
    ("trial-run", DEFAULTS, {}, {"house": 1900, "soil": 1500, **TRIAL}),
    ("trial-rest", DEFAULTS, {**WARMING, "rule": phases.BY_TRIAL}, {"house": 1000, "soil": 1500, **TRIAL}),
    ("frost-guard", DEFAULTS, {}, {"house": 50}),
    ("blind-run", DEFAULTS, WARMING, {"soil": 1500}),
    ("hand-on", DEFAULTS, CHARGING, {"hand": screen.HAND_ON}),
    ("hand-left", DEFAULTS, {"phase": HAND, "fan": 1}, {"house": 400, "soil": 1500}),
]


def test_every_reason_has_a_situation():
    assert [word for word, _ in reasons.REASONS] == list(SITUATIONS)


@pytest.mark.parametrize(
    ("word", "s", "before", "read"), [(word, *situation) for word, situation in SITUATIONS.items()] + MORE
)
def test_the_situation_gives_the_reason(word, s, before, read):
    after = step(s, state(s, **before), **read)
    assert reasons.REASONS[after.counters.reason][0] == word


def test_words_are_fit_for_files_and_sentences_for_people():
    words = [word for word, _ in reasons.REASONS + reasons.ALARMS] + list(reasons.PHASE_WORDS)
    assert all(word.replace("-", "").isalpha() and word == word.lower() for word in words)
    sentences = [sentence for _, sentence in reasons.REASONS + reasons.ALARMS]
    assert all(s[0].isupper() and s[-1] in ".?" for s in sentences)
    assert len(set(sentences)) == len(sentences)


def test_totals_are_booked_to_what_was_on():
    on = state(**WARMING, heater=1, vent=0)
    counted = decide.step(DEFAULTS, on, step_reading()).counters
    assert (counted.discharge_s, counted.charge_s, counted.blind_s, counted.hand_s) == (60, 0, 0, 0)
    assert (counted.heater_s, counted.vent_s, counted.guard_s, counted.starts) == (60, 0, 0, 0)


@pytest.mark.parametrize(
    ("before", "field"),
    [
        ({"phase": CHARGE, "fan": 1}, "charge_s"),
        ({"phase": BLIND, "fan": 1}, "blind_s"),
        ({"phase": HAND, "fan": 1}, "hand_s"),
        ({"vent": 1}, "vent_s"),
        ({"guard": 1}, "guard_s"),
    ],
)
def test_each_total_has_its_own_cause(before, field):
    counted = decide.step(DEFAULTS, state(**before), step_reading()).counters
    totals = {name: getattr(counted, name) for name in counted._fields if name.endswith("_s")}
    assert totals == {**dict.fromkeys(totals, 0), field: 60}


def test_no_total_for_a_fan_that_stood():
    for phase in (BLIND, HAND):
        counted = decide.step(DEFAULTS, state(phase=phase), step_reading()).counters
        assert (counted.blind_s, counted.hand_s) == (0, 0)


def test_starts_count_the_boards_own_starts_only():
    assert step(house=400, soil=1500).counters.starts == 1
    assert step(soil=1500).counters.starts == 1  # a blind run
    assert step(house=400, soil=1500, hand=screen.HAND_ON).counters.starts == 0
    assert step(before=state(**WARMING), house=400, soil=1500).counters.starts == 0


def test_totals_stop_at_the_top():
    full = state(**WARMING)
    full = full._replace(counters=full.counters._replace(discharge_s=(1 << 30) - 30))
    assert decide.step(DEFAULTS, full, step_reading()).counters.discharge_s == (1 << 30) - 1


def step_reading():
    """A reading that changes nothing by itself."""
    from tests.core_help import reading

    return reading(house=1500, soil=1500)
