"""The tuning report: one HTML page that needs nothing else, the JSON tree, and the folder they go into.

Lives here: layout and files. The facts come from explain.py, the sentences from tune_words.py, the figures from
tune_plots.py. A folder is written whole or not at all: everything is made in memory first, then each file is put in
place, settings.json last.
"""

import json
import os
from importlib import resources
from pathlib import Path

from controller.core import settings as core
from tuner import degrees, explain, judge, report, settings_file, tune_plots, tune_words
from tuner.errors import OutputError
from tuner.files import make_folder, write_whole

TEMPLATE = "tune_page.html"
NAMES = {
    "current": "what is on the board now, or the defaults",
    "pick": "cheapest within the allowance",
    "thriftiest": "least money at no more harm than now",
    "safest": "least harm, whatever it costs",
    "no fan": "were the fan never to run",
}
CAPTIONS = {
    "tradeoff": "Each dot is one settings file: left is safer for the plants, down is cheaper. None of those that were "
    "tried lies below the line. The pick also keeps the allowance in each single weather, so a cheaper dot may lie "
    "beside it.",
    "cost_map": "Two setpoints moved, all else as picked. Colour: money in the logged weather; figures: harm in all "
    "weathers together, by the few houses that every settings file is tried on. Empty: the board refuses the pair.",
    "coldest_night": "The coldest night in the logged weather and in the hardest: house thick, soil thin.",
    "timeline": "The logged weather under the current settings and the pick: house thin, soil thick, and the fan.",
}


def tree(tuned):
    """Return the tree of plain values that result.json holds; keys are told in DEVELOPERS.md."""
    t = tuned.trials
    site = t.fit.grid.site
    facts = explain.beyond_the_fan(tuned, tuned.settings["pick"])
    headline, said = tune_words.verdict(tuned)
    return {
        "verdict": headline,
        "verdict_sentences": said,
        "new_settings": tuned.settings["pick"] != tuned.settings["current"],
        "current_given": tuned.given,
        "currency": site.energy.currency,
        "frost_floor_c": site.needs.frost_floor_c,
        "hot_limit_c": site.needs.hot_limit_c,
        "plausible_houses": len(t.draws),
        "settings_tried": tuned.tried,
        "stopped_early": tuned.stopped,
        "allowance": {
            "harm_k_h": judge.ALLOWED_K_H, "share": judge.ALLOWED_SHARE, "most_k_h": judge.ALLOWED_MOST_K_H,
            "share_of_prevented": judge.ALLOWED_PREVENTED,
        },
        "without_fan_harm_k_h": dict(zip([w.name for w in t.weathers], _idle(tuned), strict=True)),
        "best_harm_k_h": dict(zip([w.name for w in t.weathers], tuned.best_harm, strict=True)),
        "gain": {
            "money": tuned.gain.money, "money_spread": tuned.gain.money_spread,
            "harm_k_h": tuned.gain.harm, "harm_spread_k_h": tuned.gain.harm_spread,
        },
        "folds": tuned.folds,
        "weathers": [
            {"name": w.name, "made": w.made, "not_told": w.not_told, "money_weight": w.weight} for w in t.weathers
        ],
        "settings": {name: core.to_mapping(one) for name, one in tuned.settings.items()},
        "found": core.to_mapping(tuned.found),
        "outcomes": explain.table(tuned),
        "changes": [
            {**one, "now": _plain(one["key"], one["now"]), "pick": _plain(one["key"], one["pick"])}
            for one in explain.changes(tuned)
        ],
        "rows": [
            {
                "key": one["key"], "now": _plain(one["key"], one["now"]), "pick": _plain(one["key"], one["pick"]),
                "matters": one["matters"],
                "moved": [{**m, "value": _plain(one["key"], m["value"])} for m in one["moved"]],
            }
            for one in tuned.rows
        ],
        "beyond_the_fan": facts,
        "unmet": tune_words.unmet(tuned, facts),
        "how_sure": tune_words.how_sure(tuned),
        "front": [{"harm_k_h": a, "money": b} for a, b in tuned.known[tuned.front].tolist()],
    }  # fmt: skip


def _idle(tuned):
    """Harm in each weather were the fan never to run, mean over the houses. [K h]"""
    return judge.objectives(tuned.idle, tuned.prices)[3:].tolist()


def _plain(key, value):
    """A setting in file units."""
    return value / 100 if key.endswith("_c") else value


def text(told, tuned):
    """Return the lines that the command prints."""
    site = tuned.trials.fit.grid.site
    units, currency = site.site.units, site.energy.currency
    lines = [told["verdict"], *tune_words.verdict(tuned, units)[1]]
    for picked, promised, others, came in tune_words.held_out(tuned, units):
        lines.append(f"Picked on {picked}: promised {promised}; scored on {others}: {came}.")
    lines += ["", *report.table(_head(tuned, currency, units), _outcome_rows(told, units))]
    if told["changes"]:
        title = "Changed rows" if told["new_settings"] else "What was found, not taken over"
        lines += ["", f"{title}:"]
        for one in explained(tuned, told):
            lines.append(f"  {one[0]}: {one[1]} to {one[2]}: {one[3]}.")
    quiet = tune_words.insensitive(tuned, units)
    lines += [quiet] if quiet else []
    colder = tune_words.store(told, units)
    lines += [colder] if colder else []
    lines += ["", "What the fan alone cannot do:"]
    lines += [f"  {one}" for one in beyond_lines(told, site)]
    unmet = tune_words.unmet(tuned, told["beyond_the_fan"], units)
    lines += [f"  {unmet}"] if unmet else []
    lines += ["", "How sure:", *[f"  {one}" for one in tune_words.how_sure(tuned, units)]]
    return lines


def explained(tuned, told):
    """Return (row, from, to, why) of each changed row."""
    site = tuned.trials.fit.grid.site
    ints = {one["key"]: one for one in tuned.rows}
    return [
        tune_words.change({**one, "now": ints[one["key"]]["now"], "pick": ints[one["key"]]["pick"]},
                          site.energy.currency, site.site.units)
        for one in told["changes"]
    ]  # fmt: skip


def beyond_lines(told, site):
    """Return one sentence for each weather."""
    units = site.site.units
    floor = degrees.short(site.needs.frost_floor_c, units)
    price = site.energy.backup_price_per_kwh
    return [tune_words.beyond(one, floor, units, price, site.energy.currency) for one in told["beyond_the_fan"]]


def _head(tuned, currency, units):
    unit = f"{degrees.apart_word(units)} h"
    head = ["settings", f"harm {unit}"] + [f"{w.name} {unit}" for w in tuned.trials.weathers]
    return [*head, f"money {currency}".rstrip(), "fan kWh", "starts", f"soil end {units}"]


def _outcome_rows(told, units):
    rows = []
    for name, one in told["outcomes"].items():
        each = list(one["weathers"].values())
        harms = [w["cold_k_h"] + w["hot_k_h"] for w in each]
        rows.append(
            [name, *(tune_words.harm(value, units) for value in (sum(harms), *harms))]
            + [report.amount(one["money"], 2), report.amount(each[0]["fan_kwh"], 1), f"{each[0]['starts']:.0f}"]
            + [degrees.degrees(one["soil_end_c"], units)]
        )
    idle = list(told["without_fan_harm_k_h"].values())
    return [*rows, ["no fan", *(tune_words.harm(value, units) for value in (sum(idle), *idle)), "-", "0", "0", "-"]]


def page(told, tuned, figures):
    """Return the report as one HTML text; figures : {name: SVG bytes}."""
    import base64

    import jinja2

    site = tuned.trials.fit.grid.site
    units, currency = site.site.units, site.energy.currency
    source = resources.files("tuner").joinpath(TEMPLATE).read_text(encoding="utf-8")
    made = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    shots = [
        {"name": name, "caption": CAPTIONS[name], "data": base64.b64encode(data).decode("ascii")}
        for name, data in figures.items()
    ]
    index = tuned.trials.fit.grid.log.frame.index.tz_convert(site.site.zone)
    return made.from_string(source).render(
        told=told, site=site, units=units, currency=currency, shots=shots, names=NAMES,
        head=_head(tuned, currency, units), outcomes=_outcome_rows(told, units),
        held_out=tune_words.held_out(tuned, units),
        changes=explained(tuned, told), store=tune_words.store(told, units),
        beyond=beyond_lines(told, site), quiet=tune_words.insensitive(tuned, units),
        floor=degrees.short(site.needs.frost_floor_c, units), limit=degrees.short(site.needs.hot_limit_c, units),
        said=tune_words.verdict(tuned, units)[1], sure=tune_words.how_sure(tuned, units),
        unmet=tune_words.unmet(tuned, told["beyond_the_fan"], units),
        weathers=[{**one, "made": degrees.sentence(one["made"], units)} for one in told["weathers"]],
        first=f"{index[0]:%Y-%m-%d}", last=f"{index[-1]:%Y-%m-%d}",
        prevented=100 * judge.ALLOWED_PREVENTED, allowance=tune_words.harm(judge.ALLOWED_K_H, units, 2),
        most=tune_words.harm(judge.ALLOWED_MOST_K_H, units, 1),
        sensitivity=_sensitivity(tuned, units), settings=json.dumps(told["settings"]["pick"], indent=2),
    )  # fmt: skip


def _sensitivity(tuned, units):
    """Rows of (key, value, text down, text up) on what two steps either way change."""
    out = []
    for one in tuned.rows:
        cells = [
            f"{tune_words.shown(one['key'], m['value'], units)}: {tune_words.gained(m['harm_k_h'], units)}, "
            f"{degrees.fixed(m['money'], 2, '+')}"
            for m in one["moved"]
        ]
        out.append((one["key"], tune_words.shown(one["key"], one["pick"], units), "; ".join(cells) or "at its bounds",
                    one["matters"]))  # fmt: skip
    return out


def check_folder(path):
    """Make the folder and refuse, before any long work, one that cannot be written to. Raises OutputError."""
    folder = make_folder(path)
    probe = folder / f".loamstat.{os.getpid()}"
    try:
        probe.write_bytes(b"0")
        probe.unlink()
    except OSError as fault:
        raise OutputError(
            f"{folder}: cannot be written to ({fault.strerror}).\nCheck the folder's permissions and free space."
        ) from None
    return folder


def write(tuned, folder):
    """Write settings.json, report.html, result.json and the figures into a folder, all of them or none.

    Returns the tree of result.json. Raises OutputError; then the folder holds what it held before.
    """
    folder = Path(folder)
    told = tree(tuned)
    figures = tune_plots.draw_all(tuned)
    files: dict[str, str | bytes] = {f"{name}.svg": data for name, data in figures.items()}
    files["report.html"] = page(told, tuned, figures)
    files["result.json"] = json.dumps(told, indent=2, allow_nan=False) + "\n"
    files["settings.json"] = settings_file.settings_text(tuned.settings["pick"])
    write_together(folder, files)
    return told


def write_together(folder, files):
    """Write {name: data} into a folder: all beside their places first, then moved; on failure all is as before."""
    spare = {name: folder / f".{name}.{os.getpid()}.new" for name in files}
    try:
        for name, data in files.items():
            write_whole(spare[name], data)
        for name in files:
            os.replace(spare[name], folder / name)
    except OSError as fault:
        raise OutputError(f"{folder}: cannot be written to ({fault.strerror}).\nCheck the permissions.") from None
    finally:
        for one in spare.values():
            if one.exists():
                one.unlink()
