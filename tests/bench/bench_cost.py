"""The cost of a log: a fortnight and a year of 1-min rows, with bands, holidays and measured heat; the figures."""

import io

import numpy as np

from tests.bench.timing import Measure, best_s
from tests.cost_help import make_log, make_site, run_of
from tuner import cost, cost_plots

WORKDAYS = ["mon", "tue", "wed", "thu", "fri"]
ENERGY = {
    "price_per_kwh": 0.2,
    "holidays": "DE",
    "band": [
        {"weekdays": WORKDAYS, "from": "06:00", "to": "10:00", "price_per_kwh": 0.4},
        {"from": "22:00", "to": "05:00", "price_per_kwh": 0.1},
    ],
}


def measures():
    for words, days in (("a fortnight", 14), ("a year", 365)):
        yield from of_log(words, days)


def of_log(words, days):
    """Measure one log with two starts an hour."""
    site = make_site(ENERGY, {"airflow_m3_h": 400}, "Europe/Berlin")
    fan_s = np.tile(np.repeat([0, 60, 0], [10, 10, 10]), 48 * days)
    on = np.roll(np.where(fan_s > 0, 100, 0), -1)
    log = make_log("2026-01-01", 60, fan_s, on, house=5, soil=9, outlet=8, humidity=85)
    run = run_of(log)
    result = cost.cost(log, run, site)
    yield Measure(f"cost of {words} of 1-min rows", f"{best_s(lambda: cost.cost(log, run, site), 3):.2f} s")
    draw = best_s(lambda: cost_plots.running_map(result, site).savefig(io.BytesIO(), format="png"), 2)
    yield Measure(f"map of running, {words}", f"{draw:.2f} s")
