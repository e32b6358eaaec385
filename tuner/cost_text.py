"""What the fan costs, as lines for people. Nothing here computes a result: it lays out the dict of cost.Cost.tree."""

from tuner import degrees, heat
from tuner.report import amount, table

MOST_NIGHTS = 31  # a longer log is told by week and month; its nights stand in the JSON
MOST_LOSSES = 8  # reasons named
SLIVER_H = 0.1  # a night or month of which the log holds less is left out of the tables, not of the sums


def lines(result, site, heading):
    """Return the lines that `loamstat cost` prints for one run.

    result : cost.Cost; site : Site; heading : list of str, what the run is
    """
    tree, money = result.tree, site.energy.currency
    told = [*heading, ""] if heading else []
    if len(tree["nights"]) <= MOST_NIGHTS:
        told += [*_periods("night to", "date", tree["nights"], money), ""]
    else:
        told += [f"{len(tree['nights'])} nights: each of them is in --json.", ""]
    told += [*_periods("week from", "week_from", tree["weeks"], money), ""]
    told += [*_periods("month", "month", tree["months"], money), ""]
    told += [*_periods("in all", None, [tree["total"]], money), ""]
    told += _phase_lines(tree["total"])
    told += _gap_lines(tree["total"], money)
    if site.energy.bands:
        told += ["", *_bands(tree["total"]["bands"], money)]
    told += ["", *_apart(tree["total"], money)]
    told += [*_wear(tree["wear"])]
    told += [*_heat(tree["total"], result.book.source, money, site)]
    told += [*_losses(tree, money)]
    told += [*_cold(tree, money, site)]
    told += [*_forecast(tree["forecast"], money)]
    return told


def priced(value, money, places=2):
    """Return an amount of money with its currency."""
    return f"{amount(value, places)} {money}".rstrip()


def span(low, high, places):
    """Return "1.2 to 3.4", or one number where both print alike."""
    less, more = amount(low, places), amount(high, places)
    return less if less == more else f"{less} to {more}"


def give_or_take(value, spread, places=1):
    """Return "12.3 +- 1.2"; "-" where the value is not known."""
    return "-" if value is None else f"{amount(value, places)} +- {amount(spread, places)}"


def _periods(word, label, rows, money):
    """Return a table, one row per period. Ranges stand where hours are not known."""
    head = [word, "known h", "fan h", "duty %", "starts", "longest h", "kWh", f"cost {money}".rstrip()]
    rows = [row for row in rows if row["known_h"] + row["unknown_h"] >= SLIVER_H] or rows
    heated = any(row["heat_known_h"] > 0 for row in rows)
    wet = any(row["water_l"] is not None for row in rows)
    head += ["stored kWh", "brought kWh", "COP"] if heated else []
    head += ["water l"] if wet else []
    cells = []
    for row in rows:
        line = ["" if label is None else row[label], amount(row["known_h"], 1), amount(row["fan_h"], 1)]
        line += [amount(row["duty_pct"], 1), str(row["starts"]), amount(row["longest_run_h"], 1)]
        line += [span(row["fan_kwh"], row["fan_kwh_most"], 2), span(row["fan_cost"], row["fan_cost_most"], 2)]
        line += [amount(row[key], 1) for key in ("heat_in_kwh", "heat_out_kwh", "cop_moved")] if heated else []
        line += [amount(row["water_l"], 1)] if wet else []
        cells.append(line)
    return table(head, cells)


def _phase_lines(total):
    words = [
        f"{phase} {amount(total[f'{phase}_h'], 1)} h"
        for phase in ("charge", "discharge", "blind", "hand")
        if total[f"{phase}_h"] or phase in ("charge", "discharge")
    ]
    if total["unnamed_h"]:
        words.append(f"not said {amount(total['unnamed_h'], 1)} h")
    return ["Running by phase: " + ", ".join(words) + "."]


def _gap_lines(total, money):
    if not total["unknown_h"]:
        return []
    return [
        f"{amount(total['unknown_h'], 1)} h are missing from the log. In them the fan took between nothing and full "
        f"power: {span(total['fan_kwh'], total['fan_kwh_most'], 2)} kWh, "
        f"{span(total['fan_cost'], total['fan_cost_most'], 2)} {money}".rstrip()
        + " in all."
    ]


def _bands(bands, money):
    head = ["price band", f"{money} per kWh".strip(), "fan h", "kWh", f"cost {money}".rstrip()]
    rows = [
        [
            band["name"],
            f"{band['price_per_kwh']:g}",
            amount(band["fan_h"], 1),
            amount(band["fan_kwh"], 2),
            span(band["fan_cost"], band["fan_cost_most"], 2),
        ]
        for band in bands
    ]
    return table(head, rows)


def _apart(total, money):
    """What is paid whether or not the fan runs."""
    told = []
    if total["standby_kwh"]:
        cost = priced(total["standby_cost"], money)
        told.append(f"Standby, while the fan rests: {amount(total['standby_kwh'], 2)} kWh, {cost}.")
    if total["daily_charge"]:
        told.append(f"Fixed daily charge, which the fan does not change: {priced(total['daily_charge'], money)}.")
    return told


def _wear(wear):
    if wear["starts_per_day"] is None:
        return []
    told = (
        f"Wear: {amount(wear['starts_per_day'], 1)} starts a day, at most {wear['most_starts_in_an_hour']} in an hour; "
        f"the motor stands {wear['motor_limit_per_hour']:g}."
    )
    if wear["starts_over_limit"]:
        told += f" {wear['starts_over_limit']} starts came too soon: lengthen min_run_s or min_rest_s."
    if wear["relay_life_years"] is None:
        return [told]
    return [
        told,
        f"A relay good for {wear['relay_life_operations']:,} operations lasts "
        f"{amount(wear['relay_life_years'], 1)} years at this rate.".replace(",", " "),
    ]


def _heat(total, source, money, site):
    if not total["heat_known_h"]:
        need = "airflow_m3_h under [fan] in site.toml, and readings of house and outlet"
        return [f"Heat moved: not known. It needs {need}, or a fitted house."]
    known, ran = (f"{amount(total[key], 1)}" for key in ("heat_known_h", "fan_h"))
    stored, back = (give_or_take(total[f"heat_{way}_kwh"], total[f"heat_{way}_sd_kwh"]) for way in ("in", "out"))
    told = [
        f"Heat, known for {known} of {ran} h of running, from {source}:",
        f"  Stored {stored} kWh, brought back {back} kWh (one standard deviation); per kWh of fan "
        f"{amount(total['cop_moved'], 1)} kWh moved, {amount(total['cop_back'], 1)} kWh brought back.",
    ]
    prices = [f"{priced(total['resistance_cost'], money)} from a resistance heater at the prices of those hours"]
    if total["backup_cost"] is not None:
        backup = site.energy.backup_price_per_kwh
        prices.append(f"{priced(total['backup_cost'], money)} from the backup at {backup:g} a kWh of heat")
    if total["resistance_cost"] is not None:
        told.append("  What was brought back would have cost " + ", ".join(prices) + ".")
    if total["water_l"] is not None:
        water = f"at least {amount(total['water_l'], 1)} litres" if total["water_l"] else "nothing that the probes show"
        told.append(f"  Condensed in the pipes: {water}.")
    return told


def _losses(tree, money):
    total = tree["total"]
    if not total["runs_judged"]:
        return []
    if not total["runs_at_a_loss"]:
        return [f"All {total['runs_judged']} runs whose heat is known earned what they cost or more."]
    lost = tree["losses"]
    words = list(lost["by_reason"].items())
    named = ", ".join(f"{word} {count}" for word, count in words[:MOST_LOSSES])
    more = sum(count for _, count in words[MOST_LOSSES:])
    spent = sum(run["fan_cost"] for run in lost["runs"])
    return [
        f"{total['runs_at_a_loss']} of {total['runs_judged']} runs earned less than they cost ({priced(spent, money)} "
        f"in all); started for: {named}{f', others {more}' if more else ''}."
    ]


def _cold(tree, money, site):
    cold = tree["cold"]["outside_cold_degree_h"]
    if cold is None:
        return []
    units = site.site.units
    hours = amount(cold * degrees.size(units), 0)
    return [f"Outside it was below the plants' floor by {hours} degree hours ({units})."]


def _forecast(forecast, money):
    if forecast is None:
        return ["No forecast: no night is known for half of its time or more."]
    told = [
        f"At the rate of {forecast['nights_used']} nights, if the weather stays as in this log "
        f"(nine in ten should fall in the range):"
    ]
    for word in ("month", "winter"):
        one = forecast[word]
        if one["fan_kwh_low"] is None:
            ranges = "range not known from so few nights"
        else:
            ranges = (
                f"{span(one['fan_kwh_low'], one['fan_kwh_high'], 1)} kWh, "
                f"{span(one['fan_cost_low'], one['fan_cost_high'], 2)} {money}".rstrip()
            )
        named = f"{one['days']} days from {one['from']}"
        told.append(f"  {named}: {amount(one['fan_kwh'], 1)} kWh, {priced(one['fan_cost'], money)} ({ranges}).")
    return told


def heat_note():
    """Say what the spread of measured heat rests on."""
    return f"Spread of measured heat: {heat.AIRFLOW_SD:.0%} of the airflow and {heat.PROBES_SD:g} K between the probes."
