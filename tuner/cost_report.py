"""The costs of a log and of settings tried on it, joined for printing, for JSON and as a table of runs."""

import numpy as np

from tuner import cost, cost_text, heat, logged, replay
from tuner import runs as single_runs
from tuner.files import write_whole

RUN_COLUMNS = "settings,start,end,phase,reason,fan_h,fan_kwh,fan_cost,heat_kwh,worth"


def costs(log, chosen, site, house=None, open_loop=False):
    """Return the list of cost.Cost: the log as it was, then each of the chosen (name, Settings).

    house : fit.Fit of this log, or None. With it heat is known where no probe measured it, and the chosen settings are
    replayed in closed loop, unless open_loop; the fitted heat is brought to what the probes measured.
    Raises SiteError where a time has no price, FitError where the log does not tell what the fan does.
    """
    run = logged.as_logged(log)
    factors = (1.0, 1.0)
    if house is None:
        results = [cost.cost(log, run, site)]
    else:
        first, factors = _fitted_log(log, run, site, house)
        results = [first]
    if house is None or open_loop:
        runs = [replay.replay(log, settings, name) for name, settings in chosen]
        return results + [cost.cost(log, one, site) for one in runs]
    return results + [_closed(settings, name, site, house, factors) for name, settings in chosen]


def _fitted_log(log, run, site, house):
    """Return the Cost of the log with the fitted house's heat, and by how much that was brought to the measured."""
    from tuner import fit_heat

    told, measured = fit_heat.heat_rows(house), cost.cost(log, run, site)
    if told is None:
        return measured, (1.0, 1.0)
    factors = heat.calibration(measured.book.rows, told)
    return cost.cost(log, run, site, heat.calibrated(told, *factors)), factors


def _closed(settings, name, site, house, factors):
    """Return the Cost of one settings file replayed in closed loop. Raises FitError."""
    from tuner import closed_loop, fit_heat, predict

    predict.refuse(house)
    traces = [closed_loop.run(house, settings, draw) for draw in range(len(house.plausible))]
    run, shifted = predict.to_log(house, traces[0], settings, name)
    told = fit_heat.heat_rows(house, traces)
    return cost.cost(shifted, run, site, None if told is None else heat.calibrated(told, *factors))


def text(results, log, site, note=replay.OPEN_LOOP):
    """Return the lines that `loamstat cost` prints. note : how the replays were made."""
    place = site.site
    first, last = (one.tz_convert(place.zone) for one in (log.frame.index[0], log.frame.index[-1]))
    told = [
        f"{place.name}: {len(log.frame)} rows, {first:%Y-%m-%d %H:%M} to {last:%Y-%m-%d %H:%M} ({place.time_zone})",
        f"Fan {_fan_words(site, log)}. {_price_words(site)}",
        "",
    ]
    for nth, result in enumerate(results):
        heading = [f"== {result.name} =="] if len(results) > 1 else []
        heading += [note] if nth else []
        told += [*cost_text.lines(result, site, heading), ""]
    if len(results) > 1:
        told += [*_side_by_side(results, site.energy.currency), ""]
    return told


def tree(results, site, note=replay.OPEN_LOOP):
    """Return what `cost --json` writes; the keys are listed in DEVELOPERS.md with their units."""
    return {
        "site": site.site.name,
        "currency": site.energy.currency,
        "heat_spread_rests_on": cost_text.heat_note(),
        "replay_note": note,
        "runs": [result.tree for result in results],
    }


def write_runs(results, path):
    """Write one CSV row per run of each result. Raises OutputError.

    start and end are local time with its offset; heat_kwh is below 0 where a run went the wrong way; heat and worth
    are empty where they are not known.
    """
    lines = [RUN_COLUMNS]
    for result in results:
        name = '"' + result.name.replace('"', '""') + '"'
        for row in result.runs.itertuples():
            words = [single_runs.phase_word(row.phase), single_runs.reason_word(row.reason)]
            numbers = [(row.fan_h, 4), (row.kwh, 5), (row.cost, 5), (row.heat_kwh, 4), (row.worth, 5)]
            cells = ["" if np.isnan(number) else f"{number:.{places}f}" for number, places in numbers]
            lines.append(",".join([name, row.start.isoformat(), row.end.isoformat(), *words, *cells]))
    write_whole(path, "\n".join(lines) + "\n")


def _fan_words(site, log):
    if "fan_power" in log.frame and log.frame["fan_power"].notna().any():
        return "power as logged"
    words = f"{site.fan.watts:g} W"
    if site.fan.speed_control:
        words += " at full speed, less at part speed"
    return words


def _price_words(site):
    energy = site.energy
    unit = f"{energy.currency} a kWh".strip()
    if not energy.bands:
        return f"Energy {energy.price_per_kwh:g} {unit}."
    rest = "" if energy.price_per_kwh is None else f", {energy.price_per_kwh:g} in other hours"
    return f"Energy by time of use, {len(energy.bands)} bands{rest}, {unit}."


def _side_by_side(results, money):
    from tuner.report import amount, short_names, table

    head = ["in all", "fan h", "starts", "kWh", f"cost {money}".rstrip(), "relay years"]
    rows = []
    for name, result in zip(short_names([one.name for one in results]), results, strict=True):
        total, wear = result.tree["total"], result.tree["wear"]
        rows.append(
            [
                name,
                amount(total["fan_h"], 1),
                str(total["starts"]),
                cost_text.span(total["fan_kwh"], total["fan_kwh_most"], 2),
                cost_text.span(total["fan_cost"], total["fan_cost_most"], 2),
                amount(wear["relay_life_years"], 1),
            ]
        )
    return table(head, rows)
