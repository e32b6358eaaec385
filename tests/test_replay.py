"""Does the replay do what the board would have done?

Rests on the core itself, driven here row by row in plain Python, and on the log's own definition: a state holds from
its row until the next. Values are invented.
"""

import numpy as np
import pandas as pd
import pytest

from controller.core import decide, phases, reasons, screen, units
from controller.core.rows import defaults
from controller.core.settings import from_mapping
from tests.tools.made_logs import made_log, wave
from tuner import core_numba, logged, replay


def settings(**changes):
    found, faults = from_mapping(changes)
    assert not faults, faults
    return found


def driven(chosen, log, step_s=60):
    """Return one dict per row from the core driven directly, with rows step_s apart."""
    screened, state = screen.start(), decide.start(chosen)
    out = []
    for place, (_, row) in enumerate(log.frame.iterrows()):
        elapsed = step_s if place else 0
        numbers = [
            units.LOST if np.isnan(row[name]) else round(row[name] * 100)
            for name in ("house", "soil", "outlet", "outside")
        ]
        humidity = units.LOST if np.isnan(row["humidity"]) else round(row["humidity"] * 10)
        raw = screen.Raw(elapsed, *numbers, units.LOST, humidity, 0, 0, 0)
        screened = screen.step(screened, raw)
        ran, before = (elapsed if state.deciding.fan else 0), state.deciding.phase
        state = decide.step(chosen, state, screen.reading(chosen, screened, raw))
        out.append(
            {
                "phase": state.deciding.phase,
                "fan_pct": decide.fan_pct(chosen, state),
                "fan_s": ran,
                "charge_s": ran if before == phases.CHARGE else 0,
                "discharge_s": ran if before == phases.DISCHARGE else 0,
                "heater": state.deciding.heater,
                "vent": state.deciding.vent,
                "reason": state.counters.reason,
                "alarms": state.counters.alarms,
            }
        )
    return out


def random_log(count=1500, seed=11):
    """A log that visits much: swings, noise, lost probes, damp air."""
    random = np.random.default_rng(seed)
    house = wave(count, step_s=60 * 12, noise=0.4, seed=seed)
    columns = {
        "soil": 13 + 3 * np.sin(np.arange(count) / 90),
        "outlet": np.where(random.random(count) < 0.2, np.nan, house * 0.3 + 9),
        "outside": house - 6,
        "humidity": random.uniform(40, 100, count),
    }
    for values in (house, columns["soil"], columns["humidity"]):
        for begin in random.integers(0, count, 5):
            values[begin : begin + int(random.integers(1, 30))] = np.nan
    return made_log(house, **columns)


@pytest.mark.parametrize(
    "chosen",
    [
        defaults(),
        settings(
            heater_fitted=1,
            heat_below_c=3,
            vent_fitted=1,
            vent_above_c=26,
            humid_charge_pct=80,
            charge_fan_pct=60,
            discharge_fan_pct=80,
        ),
        settings(day_run_limit_s=7200, max_run_s=3600, flush_above_c=15),
    ],
    ids=["defaults", "all fitted", "tight"],
)
def test_the_replay_is_the_core_driven_row_by_row(chosen):
    log = random_log()
    run = replay.replay(log, chosen, "x")
    for place, row in enumerate(driven(chosen, log)):
        got = {name: int(getattr(run.out, name)[place]) for name in row}
        assert got == row, f"row {place}"
    assert run.out.starts.sum() > 3
    assert (run.out.fan_s == run.out.charge_s + run.out.discharge_s).sum() > 1000


def test_compiled_and_plain_loops_agree(monkeypatch):
    log = random_log(seed=5)
    compiled = replay.replay(log, defaults(), "x")
    monkeypatch.setattr(core_numba, "HAVE_NUMBA", False)
    plain = replay.replay(log, defaults(), "x")
    for name in replay.Outputs._fields:
        assert np.array_equal(getattr(compiled.out, name), getattr(plain.out, name)), name


def test_rows_five_minutes_apart_are_stepped_each_minute_between_interpolated_readings():
    """Equal to the replay of the 1-min log that lies on the same straight lines, to the last second."""
    coarse = np.round(wave(500, step_s=300), 2)
    fine = np.interp(np.arange(499 * 5 + 1) / 5, np.arange(500), coarse)
    chosen = defaults()
    slow = replay.replay(made_log(coarse, step_s=300, soil=13.0), chosen, "x").out
    fast = replay.replay(made_log(np.floor(np.round(fine * 100, 6)) / 100, soil=13.0), chosen, "x").out
    # The core's ints are interpolated with //; a hundredth of a degree is all that the two ways may differ.
    assert np.array_equal(slow.phase, fast.phase[::5])
    assert slow.fan_s.sum() == fast.fan_s.sum() > 0
    assert slow.starts.sum() == fast.starts.sum() > 1
    assert np.array_equal(slow.fan_s[1:], np.add.reduceat(fast.fan_s[1:], np.arange(0, 2495, 5)))


@pytest.mark.parametrize(("gap_s", "parts"), [(60, 1), (61, 2), (120, 2), (150, 3), (3599, 60), (3600, 60)])
def test_parts_of_a_long_step_are_equal_and_fill_it(gap_s, parts):
    """Two rows: what the core is told between them, caught at the door."""
    told = []
    real = screen.step
    log = made_log([8.0, 9.0], times=pd.to_datetime([0, gap_s], unit="s", utc=True))
    rows = replay.Inputs(*(column.tolist() for column in replay.inputs(log)))
    out = replay.Outputs(*([0, 0] for _ in replay.Outputs._fields))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(screen, "step", lambda state, raw: told.append(raw) or real(state, raw))
        replay.walk(defaults(), rows, out)
    steps = [raw.elapsed_s for raw in told[1:]]
    assert (len(steps), sum(steps)) == (parts, gap_s)
    assert max(steps) <= 60 and max(steps) - min(steps) <= 1
    assert told[-1].house_centi_c == 900
    assert [raw.house_centi_c for raw in told[1:]] == [800 + 100 * part // parts for part in range(1, parts + 1)]


def test_nothing_is_invented_between_a_reading_and_a_blank():
    assert replay.between(units.LOST, 500, 1, 5) == units.LOST
    assert replay.between(500, units.LOST, 1, 5) == units.LOST
    assert [replay.between(500, 600, part, 4) for part in (1, 2, 3, 4)] == [525, 550, 575, 600]


@pytest.mark.parametrize("way", ["gap", "restart"])
def test_a_gap_over_an_hour_or_a_restart_is_a_power_up(way):
    """After it the fan rests again for min_rest_s, and no run is booked to the unknown time."""
    first = pd.date_range("2026-01-10", periods=30, freq="60s", tz="UTC")
    second = first + pd.Timedelta(seconds=29 * 60 + (3601 if way == "gap" else 60))
    times = first.append(second)
    restarts = [] if way == "gap" else [second[0]]
    run = replay.replay(made_log([2.0] * 60, times=times, soil=12.0, restarts=restarts), defaults(), "x").out
    assert run.phase[29] == phases.DISCHARGE
    assert list(run.phase[30:36]) == [phases.REST] * 5 + [phases.DISCHARGE]
    assert run.reason[30] == reasons.RESTING
    assert run.fan_s[30] == 0
    assert run.starts.sum() == 2
    whole = replay.replay(made_log([2.0] * 60, soil=12.0), defaults(), "x").out
    assert whole.starts.sum() == 1


def test_the_hand_switch_and_trials_are_taken_from_the_log():
    reason = ["idle"] * 10 + ["hand-on"] * 20 + ["hand-off"] * 10 + ["hand-left"] + ["idle"] * 59
    run = replay.replay(made_log([12.0] * 100, soil=12.0, reason=reason), defaults(), "x").out
    assert list(run.phase[9:41]) == [phases.REST] + [phases.HAND] * 30 + [phases.REST]
    assert list(run.fan_pct[10:40]) == [100] * 20 + [0] * 10
    assert run.fan_s.sum() == 20 * 60 and run.charge_s.sum() == run.discharge_s.sum() == 0
    trial = ["idle"] * 20 + ["trial-rest"] * 40 + ["trial-run"] * 30 + ["idle"] * 40
    run = replay.replay(made_log([18.0] * 130, soil=12.0, reason=trial), defaults(), "x").out
    assert run.charge_s.sum() > 0
    assert set(run.reason[run.fan_pct > 0]) == {reasons.TRIAL_RUN}
    run = replay.replay(made_log([18.0] * 130, soil=12.0, reason="idle"), defaults(), "x").out
    assert run.fan_s.sum() == 0


@pytest.fixture(scope="module")
def second_by_second():
    """Two days of 1 s readings through the core, and the 1-min log the board would have written of them."""
    count = 2 * 86400 + 1
    house = np.round(wave(count, step_s=1, mean=12, swing=14, noise=0.0), 2)
    readings = made_log(house, step_s=1, soil=14.0)
    chosen = settings(max_run_s=5400)
    run = replay.replay(readings, chosen, "1 s")
    kept = slice(None, None, 60)
    logged_s = np.add.reduceat(run.out.fan_s[1:], np.arange(0, count - 1, 60))
    log = made_log(house[kept], soil=14.0, fan_pct=run.out.fan_pct[kept], fan_s=np.append(0, logged_s))
    return chosen, run.out, log


def test_replay_from_the_minute_log_keeps_to_what_the_board_did(second_by_second):
    """Starts within 60 s, fan hours within 1 %."""
    chosen, board, log = second_by_second
    run = replay.replay(log, chosen, "1 min").out
    started = np.flatnonzero(board.starts)
    again = np.flatnonzero(run.starts) * 60
    assert len(started) == len(again) >= 6
    assert np.abs(started - again).max() <= 60
    assert run.fan_s.sum() == pytest.approx(board.fan_s.sum(), rel=0.01)
    for name in ("charge_s", "discharge_s"):
        assert getattr(run, name).sum() == pytest.approx(getattr(board, name).sum(), rel=0.01)


def test_replay_from_the_second_readings_keeps_to_the_second(second_by_second):
    """What the board logged each minute comes back from `as logged`, second for second."""
    _, board, log = second_by_second
    own = logged.as_logged(log).out
    assert own.fan_s.sum() == board.fan_s.sum()
    assert own.starts.sum() == board.starts.sum()


def test_a_log_without_phases_is_told_by_the_air():
    log = made_log(
        [20.0, 20.0, 4.0, 4.0, 9.0],
        soil=[10.0] * 4 + [np.nan],
        fan_pct=[100, 100, 100, 0, 100],
        fan_s=[0, 60, 60, 60, 0],
    )
    own = logged.as_logged(log).out
    assert list(own.phase) == [phases.CHARGE, phases.CHARGE, phases.DISCHARGE, phases.REST, logged.NOT_SAID]
    assert list(own.charge_s) == [0, 60, 60, 0, 0]
    assert list(own.discharge_s) == [0, 0, 0, 60, 0]
    assert list(own.starts) == [1, 0, 0, 0, 1]
    assert set(own.reason) == {logged.NOT_SAID}


def test_a_log_without_run_seconds_takes_the_time_between_rows():
    log = made_log([9.0] * 4, step_s=300, fan_pct=[100, 100, 0, 0], fan_s=np.nan)
    assert list(logged.as_logged(log).out.fan_s) == [0, 300, 300, 0]


def test_words_of_the_log_become_the_cores_codes():
    log = made_log(
        [1.0, 1.0, 1.0],
        phase=["discharge", "blind", ""],
        reason=["frost-guard", "no such reason", "idle"],
        alarms=["frost store-spent", "", "hot"],
        heater=[1.0, np.nan, 0.0],
    )
    own = logged.as_logged(log).out
    names = [word for word, _ in reasons.ALARMS]
    assert list(own.reason) == [reasons.GUARD, logged.NOT_SAID, reasons.IDLE]
    assert own.alarms[0] == 1 << names.index("frost") | 1 << names.index("store-spent")
    assert list(own.heater) == [1, 0, 0]
    assert list(own.phase) == [phases.DISCHARGE, phases.BLIND, phases.REST]
