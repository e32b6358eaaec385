"""The tree of inspection.inspect laid out as text for people. Computes nothing."""

import pandas as pd

from tuner.degrees import degrees, marked, sentence
from tuner.inspection import HUMID_PCT
from tuner.reader.parts import length_text, number_of
from tuner.report import amount, table

MOST_NIGHTS = 60
_DEGREES = ("house", "soil", "outlet", "outside")
_LABELS = {"fan_pct": "fan", "humidity": "humidity"}


def lines(tree):
    """Return the lines of text of one inspected log."""
    found = [head(tree), ""]
    found += files(tree) + [""]
    found += column_table(tree) + [""]
    found += faults(tree) + [""]
    found += night_table(tree) + [""]
    return found + totals(tree) + [""] + fit(tree)


def local(text, zone):
    return f"{pd.Timestamp(text).tz_convert(zone):%Y-%m-%d %H:%M}"


def head(tree):
    """Return the first line: name, rows, span, step, how much of it is there."""
    zone = tree["time_zone"]
    name = f"{tree['name']}: " if tree["name"] else ""
    return (
        f"{name}{number_of(tree['rows'], 'row')}, {local(tree['from'], zone)} to {local(tree['to'], zone)} ({zone}), "
        f"{length_text(tree['span_h'] * 3600)}; a row each {length_text(tree['step_s'])}, "
        f"{percent(tree['covered_pct'])} of the time covered"
    )


def percent(value):
    """Return a percentage; 0 and 100 only when they are truly 0 and 100."""
    if value in (0, 100):
        return f"{value:.0f} %"
    return f"{min(max(value, 0.1), 99.9):.1f} %"


def files(tree):
    """Return how each file was read."""
    found = ["Files, as understood:"]
    for file in tree["files"]:
        told = file["understood"]
        found.append(f"  {file['file']}: {told.get('layout', '')}")
        found += [f"    {what}: {how}" for what, how in told.items() if what != "layout"]
    return found


def column_table(tree):
    """Return the table of columns; temperatures in the site's units."""
    rows = []
    for column in tree["columns"]:
        shown = degrees if column["column"] in _DEGREES else lambda value, units: amount(value, 1)
        values = [shown(column[key], tree["units"]) for key in ("lowest", "mean", "highest")]
        rows.append([_LABELS.get(column["column"], column["column"]), column["unit"], str(column["readings"]),
                     percent(column["covered_pct"]), *values])  # fmt: skip
    return table(["column", "logged in", "readings", "of rows", "lowest", "mean", "highest"], rows) + [
        f"Temperatures are shown in {tree['units']}."]  # fmt: skip


def faults(tree):
    """Return the faults, the grave ones first, each with what was done and how to have it otherwise."""
    grave = [fault for fault in tree["faults"] if fault["grave"]]
    remarks = [fault for fault in tree["faults"] if not fault["grave"]]
    if not grave and not remarks:
        return ["Faults: none found."]
    found = [f"Faults: {len(grave)} to look at, {number_of(len(remarks), 'remark')}."]
    for number, fault in enumerate(grave + remarks, 1):
        found.append(f"  {number}. {fault['kind']}{'' if fault['grave'] else ' (remark)'}, {fault['where']}:")
        found.append(sentence(f"     {fault['text']}; {fault['done']}.", tree["units"]))
        if fault["overrule"]:
            found.append(sentence(f"     To have it otherwise: {fault['overrule']}.", tree["units"]))
    return found


def night_table(tree):
    """Return the table of nights and days."""
    units = tree["units"]
    head = ["night to", f"house min {units}", f"outside min {units}", f"day max {units}", f"soil end {units}", "fan h",
            "starts", f"h at {HUMID_PCT:.0f} %"]  # fmt: skip
    fan, humid = tree["total"]["fan_h"] is not None, tree["total"]["humid_h"] is not None
    rows = []
    for night in tree["nights"][-MOST_NIGHTS:]:
        keys = ("house_min_c", "outside_min_c", "day_house_max_c", "soil_end_c")
        rows.append([night["date"], *(degrees(night[key], units) for key in keys),
                     amount(night["fan_h"], 1) if fan else "-", str(night["starts"]) if fan else "-",
                     amount(night["humid_h"], 1) if humid else "-"])  # fmt: skip
    left = len(tree["nights"]) - len(rows)
    note = [f"The first {left} nights are left out here; --json has them all."] if left > 0 else []
    lowest = "ten-minute mean" if tree["step_s"] <= 600 else "reading"
    return [f"Nights from noon to noon, named by their morning; the lowest {lowest}, and that day's highest:",
            *table(head, rows), *note]  # fmt: skip


def totals(tree):
    """Return what the log adds up to."""
    total, units = tree["total"], tree["units"]
    lowest = "ten minutes" if tree["step_s"] <= 600 else "reading"
    found = [f"House: lowest {lowest} {marked(total['house_min_c'], units)}, "
             f"highest reading {marked(total['house_max_c'], units)}."]  # fmt: skip
    if total["fan_h"] is not None:
        found.append(f"Fan: {amount(total['fan_h'], 1)} h, {number_of(total['starts'], 'start')}.")
    if total["humid_h"] is not None:
        found.append(f"Air at {HUMID_PCT:.0f} % humidity or more: {amount(total['humid_h'], 1)} h.")
    return found


def fit(tree):
    """Return whether a fit can learn from the log, and what would make it better."""
    told = tree["fit"]
    found = ["A fit can be tried on this log." if told["possible"] else "This log cannot carry a fit:"]
    found += [f"  - {text}" for text in told["lacks"]]
    if told["better"]:
        found += ["What would make it better:", *(f"  - {text}" for text in told["better"])]
    return [sentence(line, tree["units"]) for line in found]
