"""What the search found, in sentences. Lives here: words. Never here: sums, layout."""

from controller.core import rows
from tuner import degrees, judge, report, space

POOR_K = 1.0  # a hold-out error at night above this is called poor [K], our choice


def shown(key, value, units="C"):
    """Return one setting for people: 7 C, 300 s, 100 %. value in core ints. Bands and gains stay kelvin."""
    unit = space.TABLE[key][4]
    text = rows.text_of(value, unit)
    if unit[0] != "C":
        return f"{text} %" if unit.startswith("pct") else f"{text} s"
    mark = degrees.apart_word(units) if degrees.is_difference(key) else units
    return f"{degrees.setting_text(key, value / 100, units)} {mark}"


def money(value, currency):
    """Return an amount of money for people, cents shown."""
    return f"{report.amount(abs(value), 2)} {currency}".rstrip()


def harm(value_k_h, units, places=1):
    """Return degree-hours for people, in the degrees they read."""
    return report.amount(value_k_h * degrees.size(units), places)


def hours(value_k_h, units):
    """Return degree-hours for people, with the word."""
    return f"{harm(value_k_h, units)} degree hours{_of(units)}"


def gained(value_k_h, units):
    """Return a gain of harm with its sign."""
    return degrees.fixed(value_k_h * degrees.size(units), 1, "+")


def _of(units):
    return " (F)" if units == "F" else ""


def verdict(tuned, units="C"):
    """Return (headline, list of sentences): is there a gain, and how sure is it."""
    gain, site = tuned.gain, tuned.trials.fit.grid.site
    currency = site.energy.currency
    own = "the current settings" if tuned.given else "the defaults (no current settings were given)"
    if tuned.found == tuned.settings["current"]:
        return f"{own[0].upper()}{own[1:]} stand: nothing better was found.", []
    said = [
        f"Against {own}: {hours(abs(gain.harm), units)} {'less' if gain.harm >= 0 else 'more'} harm to the plants in "
        f"all weathers together (give or take {harm(gain.harm_spread, units)}), and {money(gain.money, currency)} "
        f"{'less' if gain.money >= 0 else 'more'} money in the {_days(tuned):.0f} days of the log (give or take "
        f"{report.amount(gain.money_spread, 2)}; both 90 % ranges)."
    ]
    if tuned.settings["pick"] != tuned.settings["current"]:
        return "New settings are worth flashing.", said
    why = "smaller than the spread of its prediction" if not gain.real else "not seen on nights it was not picked on"
    return f"No gain: what was found is {why}, so {own} stand.", said


def held_out(tuned, units="C"):
    """Return rows of text on nights that were not picked on: (picked on, promised, scored on, came to)."""
    currency = tuned.trials.fit.grid.site.energy.currency

    def both(one, when):
        return (
            f"{gained(one[f'harm_gain_{when}'], units)} degree hours{_of(units)}, "
            f"{degrees.fixed(one[f'money_gain_{when}'], 2, '+')} {currency}".rstrip()
        )

    return [
        (f"{one['nights_picked_on']} nights", both(one, "picked"), f"the other {one['nights_scored_on']}",
         both(one, "scored"))
        for one in tuned.folds
    ]  # fmt: skip


def _days(tuned):
    grid = tuned.trials.fit.grid
    return float(grid.edges[-1]) * grid.dt / 86400.0


def how_sure(tuned, units="C"):
    """Return sentences on what the prediction rests on."""
    fit = tuned.trials.fit
    said = [
        f"{tuned.tried} settings were tried on {len(tuned.screened.draws)} plausible houses, the best "
        f"{len(tuned.known)} of them on {len(tuned.trials.draws)}, each in {len(tuned.trials.weathers)} weathers. A "
        "plausible house is one that the log cannot tell from the best fit."
    ]
    if tuned.stopped:
        said.append("The search was stopped before its end: this is the best up to then.")
    if fit.held_out:
        error = fit.held_out["night_rms"] or fit.held_out["house_rms"]
        tail = (
            " That is poor: take the amounts for orders of size, and tune again after two more weeks of log."
            if error > POOR_K
            else ""
        )
        said.append(
            f"Learned from the first part of the log, the house ran free over the last {fit.held_out['hours']:.0f} h, "
            f"unseen, and was {degrees.apart(error, units)} off at night (root mean square).{tail}"
        )
    else:
        said.append("The log is too short to hold a part of it out: the prediction is not proven on unseen days.")
    return said + [degrees.sentence(note, units) for note in fit.notes]


def change(one, currency, units):
    """Return (row, from, to, why) of one changed row, for people."""
    key = one["key"]
    return key, shown(key, one["now"], units), shown(key, one["pick"], units), _why(one, currency, units)


def _why(one, currency, units):
    if not one["alone"]:
        return "goes with the other changes: the board refuses its old value beside them"
    parts = []
    if one["harm_k_h"] > 0.05:
        parts.append(f"protects: the old value would add {hours(one['harm_k_h'], units)} of harm{_when(one, 'harm')}")
    if one["money"] > 0.005:
        parts.append(f"saves {money(one['money'], currency)}{_when(one, 'money')}")
    if one["money"] < -0.005:
        parts.append(f"costs {money(one['money'], currency)}")
    if one["harm_k_h"] < -0.05:
        parts.append(f"gives up {hours(-one['harm_k_h'], units)}, within the allowance")
    return "; ".join(parts) or "matters only together with the other changes"


def _when(one, kind):
    told = one.get(f"most_{kind}")
    if not told:
        return ""
    return f", most in the night to {told['night']} towards {told['hour']} ({told['weather']})"


def beyond(one, floor, units, backup_price, currency):
    """Return the sentence on what the fan alone cannot do in one weather."""
    low = degrees.marked(one["lowest_c"], units)
    ran = "the fan at rest, the soil at " if one["fan_h"] == 0 else ""
    ran = ran or f"though the fan ran {report.amount(one['fan_h'], 1)} h and the soil was at "
    ran += degrees.marked(one["soil_c"], units)
    if one["backup_kwh"] < 0.05:
        return f"{one['weather']}: the fan keeps the floor; coldest {low} at {one['lowest_at']}."
    spent = f"the store is spent by {one['spent']}, " if one["spent"] else ""
    below = f"the house falls below {floor} {units} at {one['below']}, " if one["below"] else ""
    cost = f", about {money(one['backup_kwh'] * backup_price, currency)}" if backup_price else ""
    return (
        f"{one['weather']}: in the night to {one['night']} {spent}{below}coldest {low}, {ran}. "
        f"{one['backup_kwh']:.1f} kWh of backup heat ({one['backup_low']:.1f} to {one['backup_high']:.1f}) would hold "
        f"the floor through it all{cost}, {one['worst_kwh']:.1f} kWh of it in the night to {one['worst_night']}; or "
        "let the frost alarm wake you."
    )


def unmet(tuned, facts, units="C"):
    """Return a sentence when no settings keep the plants' floor in the log's own weather, else ""."""
    first = facts[0]
    if tuned.best_harm[0] < judge.ALLOWED_K_H or first["backup_kwh"] < 0.05:
        return ""
    floor = tuned.trials.fit.grid.site.needs.frost_floor_c
    return (
        f"No settings that were tried keep the floor of {degrees.short(floor, units)} {units} in the logged "
        f"weather: the best possible leaves {hours(tuned.best_harm[0], units)}. With the settings picked here "
        f"{first['backup_kwh']:.1f} kWh of backup heat are missing."
    )


def insensitive(tuned, units):
    """Return the sentence on rows that hardly matter."""
    names = [f"{one['key']} ({shown(one['key'], one['pick'], units)})" for one in tuned.rows
             if not one["matters"] and one["pick"] == one["now"]]  # fmt: skip
    if not names:
        return ""
    return f"Hardly matter, left as they are: {', '.join(names)}."


STORE_K = 0.5  # a store that ends so much colder is told of


def store(told, units):
    """Return a sentence when the pick leaves the store colder at the end than the current settings do, or ""."""
    less = told["outcomes"]["current"]["soil_end_c"] - told["outcomes"]["pick"]["soil_end_c"]
    if less < STORE_K:
        return ""
    return (
        f"The pick leaves the store {degrees.apart(less, units)} colder at the end of the log than the current "
        "settings would. What is not stored now is missing in a longer cold spell than the log's: tune again as the "
        "log grows."
    )
