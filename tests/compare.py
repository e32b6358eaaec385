"""Is the core, with one probe lost, ever worse for the plants than a plain two-setpoint thermostat?

    python -m tests.compare [days]       the demonstration's house and weather, then a year

Closed loop on the plant (tests/plant): the fan's own effect on house and soil is part of every night. The thermostat
has the same setpoints and bands, one probe, and no timers; its own probe lost, it keeps the fan off. Each probe is lost
from the second day on, for good. The longest run is not limited here: its rest of five minutes is care for the
motor that a thermostat lacks, and costs the lowest ten minutes of a night above frost guard up to 0.7 K.
"""

import sys
from dataclasses import replace

import numpy as np

from tests.plant import GOOD, demo_house, simulate

DAY_S = 86400
DANGER_K, NOISE_K = 2.0, 0.1
ALL = ("house", "soil", "outlet", "outside", "humid_air", "humidity")
# name: (probes that are fitted, probe that is lost or None)
LOSSES = {
    "none": (ALL, None),
    "house": (ALL, "house"),
    "house, no stand-in": (ALL[:4], "house"),
    "house, alone with soil": (ALL[:2], "house"),
    "soil": (ALL, "soil"),
    "soil, no outlet": (("house", "soil"), "soil"),
    "outlet": (ALL, "outlet"),
    "outside": (ALL, "outside"),
    "humid_air": (ALL, "humid_air"),
    "humidity": (ALL, "humidity"),
}


def nights(result):
    """Return the lowest 10-minute mean of each night, noon to noon, local standard time. [degC], shape (nights,)"""
    house = result.truth["house"]
    tens = house[: house.size // 10 * 10].reshape(-1, 10).mean(axis=1)
    half, day = 72, 144  # ten-minute means; each run starts at midnight
    whole = (tens.size - half) // day
    return tens[half : half + whole * day].reshape(whole, day).min(axis=1)


def run(days, loss, driver, settings):
    """Return the Result of one closed-loop run."""
    fitted, lost = LOSSES[loss]
    spans = ((lost, DAY_S, (days + 1) * DAY_S),) if lost else ()
    return simulate(
        demo_house.HOUSE, demo_house.WEATHER, settings, days=days, sensors_of=replace(GOOD, fitted=fitted, lost=spans),
        warmup_days=demo_house.WARMUP_DAYS, driver=driver,
    )  # fmt: skip


def table(days, settings):
    """Return one dict a loss: lowest nights, how much colder than the thermostat's, hours of the fan.

    In danger: a night in which house or thermostat came within DANGER_K of frost guard. There no night may be colder
    by more than NOISE_K. Milder nights may: charging by day cools the house, and a small gain is not worth a run.
    """
    out, thermostats = [], {}
    for loss in LOSSES:
        blind = loss.startswith("house")
        if blind not in thermostats:
            result = run(days, "house" if blind else "none", "two_setpoint", settings)
            thermostats[blind] = nights(result), result.fan_s.sum() / 3600
        plain, plain_h = thermostats[blind]
        result = run(days, loss, "core", settings)
        core = nights(result)
        line = result.settings.frost_guard_centi_c / 100
        danger = np.minimum(core, plain) <= line + DANGER_K
        apart = core - plain
        out.append({
            "loss": loss, "nights": core.size, "core_min": core.min(), "plain_min": plain.min(),
            "core_frost": int((core <= 0).sum()), "plain_frost": int((plain <= 0).sum()),
            "danger": int(danger.sum()), "danger_worst": apart[danger].min() if danger.any() else 0.0,
            "danger_colder": int((apart[danger] < -NOISE_K).sum()), "worst": apart.min(), "mean": apart.mean(),
            "core_h": result.fan_s.sum() / 3600, "plain_h": plain_h,
        })  # fmt: skip
    return out


def told(rows):
    """Return the table as text."""
    lines = [
        "lost probe               lowest night   frost nights   in danger: nights,    all nights:      fan hours\n"
        "                         core   plain    core plain    colder, worst K      worst, mean K    core  plain"
    ]
    for r in rows:
        lowest = f"{r['core_min']:5.2f}  {r['plain_min']:5.2f}    {r['core_frost']:4d} {r['plain_frost']:5d}"
        danger = f"{r['danger']:4d} {r['danger_colder']:6d} {r['danger_worst']:7.2f}"
        rest = f"{r['worst']:6.2f} {r['mean']:6.2f}   {r['core_h']:6.0f} {r['plain_h']:6.0f}"
        lines.append(f"{r['loss']:24} {lowest}    {danger}     {rest}")
    return "\n".join(lines)


def main(words):
    """Print a table for the demonstration's fortnight and one for a year; return 1 when the claim fails."""
    settings, failed = {**demo_house.SETTINGS["as-logged"], "max_run_s": 86400}, 0
    for days in [int(word) for word in words] or [demo_house.DAYS, 365]:
        rows = table(days, settings)
        failed += sum(r["danger_colder"] for r in rows)
        print(f"{days} days, {demo_house.WEATHER.name}, longest run not limited\n{told(rows)}\n", flush=True)
    print(f"nights in danger colder than the thermostat's by more than {NOISE_K} K: {failed}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
