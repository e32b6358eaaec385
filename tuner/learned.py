"""What was learned of a house, in words and numbers a grower can use."""

import numpy as np

from tuner import degrees, house, kalman, trial_worth

KWH = 3.6e6
PASSES = 5  # a time constant must pass this often within the log to count as learned, our choice
DOUBTFUL = 3.0  # a 90 % range wider than this factor is not learned, our choice


def facts(fit):
    """Return {key: (value, low, high)}, 90 % ranges over the plausible houses.

    loss_w_per_k, air_kwh_per_k, house_kwh_per_k (air, mass, floor surface), fan_w_per_k (exchange while the fan
    discharges at full speed), effectiveness (0..1), store_kwh_per_k, quick_min and slow_h (time constants of the
    house alone), sun_m2. Only what the log allows to be claimed.
    """
    table = [one_house(fit, free) for free in fit.plausible]
    kept = [key for key in table[0] if _claimed(fit, key)]
    return {
        key: (table[0][key], *(float(q) for q in np.quantile([one[key] for one in table], [0.05, 0.95])))
        for key in kept
    }


def _claimed(fit, key):
    if key in ("fan_w_per_k", "effectiveness"):
        return fit.fan_known
    return fit.store_known if key == "store_kwh_per_k" else True


def one_house(fit, free):
    """Return the facts of one plausible house, {key: value}."""
    values = dict(zip(house.NAMES, house.natural(free), strict=True))
    quick, slow = time_constants(fit, free)
    inside = values["air_capacity"] + values["mass_capacity"] + values["surface_capacity"]
    return {
        "loss_w_per_k": values["loss"],
        "air_kwh_per_k": values["air_capacity"] / KWH,
        "house_kwh_per_k": inside / KWH,
        "fan_w_per_k": values["air_stream"] * values["effectiveness"],
        "effectiveness": values["effectiveness"],
        "store_kwh_per_k": values["soil_capacity"] / KWH,
        "quick_min": quick / 60.0,
        "slow_h": slow / 3600.0,
        "sun_m2": values["sun_area"],
    }


def time_constants(fit, free):
    """Return (shortest, longest) time constant of the house without the store, fan off [s]."""
    rate = np.zeros((house.STATES, house.STATES))
    house.balance(house.natural(free), fit.problem.shares, fit.problem.links, 0.0, rate)
    nodes = [house.AIR, house.MASS, house.SURFACE, house.FLOOR_1, house.FLOOR_2]
    speeds = -np.linalg.eigvals(rate[np.ix_(nodes, nodes)]).real
    return 1.0 / speeds.max(), 1.0 / speeds.min()


def weekly_effectiveness(fit):
    """Return [(first day, share)] by week: how far the outlet goes from house to soil once the run is 10 min old.

    Straight from the probes, without the model: median of (outlet - house) / (soil - house) where house and soil are
    3 K or more apart. Weeks with less than half an hour of such rows are left out; none without an outlet probe.
    """
    grid = fit.grid
    shares, days = [], []
    need = max(1, round(600 / grid.dt))
    for k, stretch in enumerate(grid.stretches):
        on = stretch.level != kalman.OFF
        steady = np.convolve(on, np.ones(need), "full")[: len(on)] >= need
        steady = np.concatenate(([False], steady[:-1]))
        air, soil, outlet = stretch.seen.T
        with np.errstate(divide="ignore", invalid="ignore"):
            share = (outlet - air) / (soil - air)
        good = steady & (np.abs(soil - air) >= 3.0) & np.isfinite(share)
        shares.append(share[good])
        days.append((int(grid.edges[k]) + np.flatnonzero(good)) * grid.dt / 86400.0)
    share, day = np.concatenate(shares), np.concatenate(days)
    least = 1800.0 / (grid.dt * grid.parts)
    weeks = []
    for week in range(int(day.max() // 7) + 1 if len(day) else 0):
        inside = (day >= 7 * week) & (day < 7 * week + 7)
        if inside.sum() >= least:
            weeks.append((7 * week, float(np.median(share[inside]))))
    return weeks


def weeks_line(weeks):
    """Return the line on weekly_effectiveness, which is told against the soil probe and not the pipe wall."""
    shares = ", ".join(f"{100 * share:.0f} %" for _, share in weeks)
    return (
        f"Straight from the probes, the pipe air came this far from house to soil probe, week by week: {shares}. "
        "The probe lies away from the pipes, so this is less than the way to the wall; only its fall tells something."
    )


def fallen(weeks):
    """Return a sentence where the exchange has fallen by a fifth or more from the best earlier week, else None."""
    for number, (day, share) in enumerate(weeks[1:], 1):
        best = max(one for _, one in weeks[:number])
        if share <= 0.8 * best:
            return (
                f"The exchange of the pipes has fallen from {100 * best:.0f} % to {100 * share:.0f} % in the week from "
                f"day {day}: look for water standing in the pipes, nests, silt or a slipping belt."
            )
    return None


def lines(fit):
    """Return the lines that `loamstat fit` prints about the house."""
    told, units = facts(fit), fit.grid.site.site.units

    def span(key, places=0):
        per = degrees.size(units) if key.endswith("_per_k") else 1.0
        value, low, high = (one / per for one in told[key])
        return f"{value:.{places}f} ({low:.{places}f} to {high:.{places}f})"

    def percent(shares):
        value, low, high = (100 * share for share in shares)
        return f"{value:.0f} % ({low:.0f} to {high:.0f})"

    apart_s = fit.grid.parts * fit.grid.dt
    at_first = (
        f"within {span('quick_min')} min at first"
        if told["quick_min"][0] * 60.0 > apart_s / 4
        else f"at first quicker than rows {apart_s / 60.0:.0f} min apart can show"
    )
    out = [
        "What the log says of this house, with 90 % ranges:",
        f"  loses {span('loss_w_per_k')} W per degree {units} to the outside",
        f"  air, pots, beds and floor surface hold {span('house_kwh_per_k', 2)} kWh per degree {units}",
        f"  answers {at_first}, in full after {span('slow_h')} h",
    ]
    if "fan_w_per_k" in told:
        out.append(
            f"  the fan moves {span('fan_w_per_k')} W per degree {units} between house and pipe wall; at full speed "
            f"the air comes {percent(told['effectiveness'])} of the way to the wall's temperature"
        )
    if "store_kwh_per_k" in told:
        out.append(f"  the soil between the pipes holds {span('store_kwh_per_k', 1)} kWh per degree {units}")
    if not fit.scale_known:
        out.append(
            "Temperatures alone cannot tell a large house from a small one: the figures in W and kWh rest on a guess "
            "of its size. Give airflow_m3_h, floor_m2 and pipes in site.toml to make them firm. What is predicted in "
            "degrees does not depend on it."
        )
    slow, low, high = told["slow_h"]
    if slow > fit.log_hours / PASSES or high > DOUBTFUL * low:
        out.append(
            f"The slow time constant ({slow:.0f} h, {low:.0f} to {high:.0f}) was not learned: a log of "
            f"{fit.log_hours:.0f} h shows it too seldom, or nothing moved it."
        )
    return out


def hold_out_lines(fit):
    """Return the lines about the hold-out: fitted on the first part, running free over the rest."""
    held = fit.held_out
    if held is None:
        return ["Hold-out: the log is too short or too broken to keep a part of it unseen."]

    def apart(value, places):
        return degrees.apart(value, fit.grid.site.site.units, places)

    text = (
        f"Hold-out: learned from the first two thirds and running free over the last {held['hours']:.0f} h, the house "
        f"is off by {apart(held['house_rms'], 1)} (rms)"
    )
    if held["night_rms"] is not None:
        text += f", {apart(held['night_rms'], 1)} without sun"
    if held["soil_rms"] is not None:
        text += f", the soil by {apart(held['soil_rms'], 2)}"
    out = [text + "."]
    if held["night_rms"] is not None and held["night_rms"] > 2.0:
        why = (
            "the sun was not measured" if "solar" not in fit.grid.has else "something in the house changed meanwhile"
        )
        out.append(
            f"That is poor: {why}, or the nights differ in wind and cloud. Replays of this log stay usable, since they "
            "lean on what was measured and predict differences only; forecasts of other weather are not."
        )
    return out


def tree(fit):
    """Return what `fit --json` writes: plain values, keys with their units."""
    held = fit.held_out or {}
    return {
        "facts": {key: {"value": v, "low": lo, "high": hi} for key, (v, lo, hi) in facts(fit).items()},
        "parameters": {
            row.name: {"value": float(v), "unit": row.unit, "sd_fitted_scale": float(s), "meaning": row.meaning}
            for row, v, s in zip(house.PARAMETERS, fit.values, np.sqrt(np.diag(fit.covariance)), strict=True)
        },
        "fan_known": fit.fan_known,
        "store_known": fit.store_known,
        "hold_out": {
            key: held[key] for key in ("hours", "house_rms", "night_rms", "night_bias", "soil_rms") if key in held
        },
        "effectiveness_by_week": [{"from_day": day, "share": share} for day, share in weekly_effectiveness(fit)],
        "notes": trial_worth.notes(fit),
    }
