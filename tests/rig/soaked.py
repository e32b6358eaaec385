"""Checks of a soak (inner/soak.py): called by the tests for hours, by `--full` and by hand for days and more.

python -m tests.rig.soaked DAYS calm|busy [SECONDS]

SECONDS: of one turn of the firmware's loop, 1 unless given. More of them make a simulated year a matter of an hour.
"""

import sys
import tempfile
from pathlib import Path

import numpy as np

from controller.core import settings
from tests.rig import replay
from tests.rig.run import inner_json

SETTINGS = {
    "discharge_below_c": 7, "charge_above_c": 18, "heater_fitted": 1, "heat_below_c": 1.5, "vent_fitted": 1,
    "vent_above_c": 24, "frost_guard_c": 2, "humid_charge_pct": 85, "humid_charge_above_c": 14,
}  # fmt: skip


JOURNAL_DAYS = 35  # of more days than these the journal does not hold the first


def soak(days, kind, folder, turn_s=1):
    """Run the firmware for days, a turn of its loop every turn_s; return what inner/soak.py reports."""
    slow = (turn_s,) if turn_s > 1 else ()
    return inner_json("soak.py", folder, days, kind, *slow, heap="900K", timeout_s=400_000)


def differing_seconds(folder, core_settings):
    """Return (steps, how many of them the desktop decides otherwise from the same readings)."""
    rows = replay.seconds(Path(folder) / "seconds.bin")
    wrong = 0
    for row, (state, pct) in zip(rows, replay.decisions(core_settings, replay.raws_of(rows)), strict=True):
        wrong += replay.second_of(state, pct) != row.item()[5:]
    return len(rows), wrong


def minute_replay(folder, core_settings):
    """Replay the journal that the board sent. Return a dict of what a reviewer asks for.

    starts, replayed_starts: numbers; worst_s: largest distance of a start from the nearest of the others; fan_h,
    replayed_fan_h; rows, spoilt: of the journal.
    """
    seconds = replay.seconds(Path(folder) / "seconds.bin")
    said = (Path(folder) / "console.txt").read_bytes().decode(errors="replace")
    rows, spoilt = replay.sent_rows(said)
    rows = [row for row in rows if row.uptime_s <= len(seconds)]
    first_start = next((i for i in range(1, len(rows)) if rows[i].uptime_s < rows[i - 1].uptime_s), len(rows))
    rows = rows[:first_start]  # what follows is the start that sent them
    end = rows[-1].uptime_s
    until = np.cumsum(seconds["raw"].astype(int))
    fan = seconds["pct"] > 0
    true = replay.starts(until.tolist(), seconds["phase"].tolist(), fan.tolist())
    true = [t for t in true if t <= end]
    made = list(replay.decisions(core_settings, replay.raws_of_rows(rows)))
    again = replay.starts(
        [row.uptime_s for row in rows], [s.deciding.phase for s, _ in made], [pct > 0 for _, pct in made]
    )
    held_s = np.append(seconds["raw"][1:], 1)
    worst = 0
    if true and again:
        apart = np.abs(np.subtract.outer(true, again))
        worst = int(max(apart.min(axis=0).max(), apart.min(axis=1).max()))
    return {
        "starts": len(true), "replayed_starts": len(again), "worst_s": worst, "rows": len(rows), "spoilt": spoilt,
        "fan_h": float((held_s * fan)[until < end].sum()) / 3600,
        "replayed_fan_h": sum(60 for _, pct in made[:-1] if pct) / 3600,
        "logged_fan_h": sum(row.fan_s for row in rows) / 3600,
    }  # fmt: skip


def main():
    """Soak and print every figure; exit status 1 when one of them is wrong."""
    days, kind = float(sys.argv[1]), sys.argv[2]
    turn_s = int(sys.argv[3]) if len(sys.argv) > 3 else 1
    with tempfile.TemporaryDirectory() as folder:
        report = soak(days, kind, folder, turn_s)
        core_settings, faults = settings.from_mapping(SETTINGS)
        assert not faults
        print(report)
        heap = report["heap"]
        wrongs = []
        if report["ends"] != ["end", "end"]:
            wrongs.append(f"the board was reset: {report['ends']}")
        third = len(heap) // 3  # it sways with what is in memory; it must not rise
        if third > 1 and max(heap[-third:]) - max(heap[1 : third + 1]) > 4096:
            wrongs.append(f"the heap grew: {heap}")
        if report["both"]:
            wrongs.append("heater and vent were on together")
        if kind == "calm":
            n, differing = differing_seconds(folder, core_settings)
            print(f"steps replayed: {n}, decided otherwise: {differing}")
            if differing:
                wrongs.append("the desktop decides otherwise")
        if kind == "calm" and days <= JOURNAL_DAYS and turn_s == 1:
            found = minute_replay(folder, core_settings)
            print(found)
            if found["starts"] != found["replayed_starts"] or found["worst_s"] > 60:
                wrongs.append("starts replayed from the journal differ")
            if abs(found["replayed_fan_h"] / found["fan_h"] - 1) > 0.01:
                wrongs.append("fan hours replayed from the journal differ")
        print("\n".join(wrongs) or "all as it must be")
        return 1 if wrongs else 0


if __name__ == "__main__":
    sys.exit(main())
