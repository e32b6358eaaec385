"""Numbers to text for people. Nothing here computes a result: it is handed summaries and lays them out."""

from controller.core.reasons import REASONS
from tuner.degrees import degrees, fixed, short, size
from tuner.terminal import groups_that_fit
from tuner.terminal import width as terminal_width


def amount(value, places):
    """Return a number with so many decimals; "-" for None; "0" only when it is truly 0."""
    if value is None:
        return "-"
    if value == 0:
        return "0"
    text = f"{value:.{places}f}"
    if float(text) == 0:
        return f"<{10**-places:.{places}f}" if value > 0 else f">-{10**-places:.{places}f}"
    return text


def table(head, rows, together=None):
    """Return the lines of a table: the first column flush left, the others flush right, two spaces apart.

    head : list of str; rows : list of lists of str, as long as head
    together : how many columns after the first belong together, in order; each is for itself when not given

    Where the terminal is narrower, the table is told in parts, one below the other, each with the first column.
    """
    widths = [max(len(row[place]) for row in [head, *rows]) for place in range(len(head))]

    def line(cells, columns):
        placed = [cells[0].ljust(widths[0]), *(cells[place].rjust(widths[place]) for place in columns[1:])]
        return "  ".join(placed).rstrip()

    lines = []
    for columns in groups_that_fit(widths, together or [1] * (len(head) - 1), terminal_width()):
        lines += [""] if lines else []
        lines += [line(cells, columns) for cells in [head, ["-" * width for width in widths], *rows]]
    return lines


def nights_table(runs, units):
    """Return lines: one row per night, the log's own temperatures, then each run's fan hours and starts side by side.

    runs : list of the dicts that nights.summary gives, all over the same log; units : "C" or "F"
    """
    names = short_names([run["settings"] for run in runs])
    head = ["night to", f"house min {units}", f"soil end {units}"]
    for name in names:
        head += [f"{name} fan h", "starts"]
    rows = []
    for place, night in enumerate(runs[0]["nights"]):
        cells = [night["date"]]
        cells += [degrees(night[key], units) for key in ("house_min_c", "soil_end_c")]
        for run in runs:
            one = run["nights"][place]
            cells += [amount(one["fan_h"], 1), str(one["starts"])]
        rows.append(cells)
    return table(head, rows, [2] + [2] * len(names))


def closed_nights_table(runs, units):
    """Return lines: one row per night, for each run the minimum with its 90 % range, the difference to the log, the
    soil at the end, fan hours and starts.

    runs : list of the dicts that nights.summary gives, with house_min_sd_c from the second on; units : "C" or "F"
    """
    names = short_names([run["settings"] for run in runs])
    scale = size(units)
    head = ["night to", f"{names[0]}: min {units}", f"soil {units}", "fan h", "starts"]
    for name in names[1:]:
        head += [f"{name}: min {units}", "change", f"soil {units}", "fan h", "starts"]
    rows = []
    for place, night in enumerate(runs[0]["nights"]):
        cells = [night["date"]]
        for number, run in enumerate(runs):
            one = run["nights"][place]
            low, sd = one["house_min_c"], one.get("house_min_sd_c")
            text = degrees(low, units)
            cells.append(text if number == 0 or sd is None else f"{text} ±{1.645 * sd * scale:.1f}")
            if number:
                known = low is not None and night["house_min_c"] is not None
                cells.append(fixed((low - night["house_min_c"]) * scale, 1, "+") if known else "-")
            cells += [degrees(one["soil_end_c"], units), amount(one["fan_h"], 1), str(one["starts"])]
        rows.append(cells)
    return table(head, rows, [4] + [5] * (len(names) - 1))


def totals_table(runs, currency):
    """Return lines: one row per run with what it adds up to over the whole log."""
    head = ["in all", "fan h", "charge h", "discharge h", "starts", "kWh", f"cost {currency}".rstrip()]
    rows = []
    for name, run in zip(short_names([run["settings"] for run in runs]), runs, strict=True):
        total = run["total"]
        hours = [amount(total[key], 1) for key in ("fan_h", "charge_h", "discharge_h")]
        rows.append([name, *hours, str(total["starts"]), amount(total["fan_kwh"], 2), amount(total["fan_cost"], 2)])
    return table(head, rows)


def short_names(names):
    """Return file names without the folder and .json, so long as they stay different."""
    short = [name.replace("\\", "/").rpartition("/")[2].removesuffix(".json") for name in names]
    return short if len(set(short)) == len(short) else list(names)


def needs_line(total, needs, units):
    """Return one line: how cold and hot it was, against what the plants stand."""
    floor, limit = short(needs.frost_floor_c, units), short(needs.hot_limit_c, units)
    low, high = degrees(total["house_min_c"], units), degrees(total["house_max_c"], units)
    per = size(units)
    return (
        f"House, as logged: lowest ten minutes {low} {units}, highest reading {high} {units}; "
        f"{amount(total['cold_degree_h'] * per, 1)} degree hours below the plants' floor of {floor} {units}, "
        f"{amount(total['hot_degree_h'] * per, 1)} above their limit of {limit} {units}."
    )


def why_lines(runs, hours):
    """Return lines: for each run the hours under each reason, the longest first.

    runs : list of logged.Run; hours : ndarray, shape (n,), hours that each row stands for
    """
    lines = []
    for name, run in zip(short_names([run.name for run in runs]), runs, strict=True):
        spent = {code: float(hours[run.out.reason == code].sum()) for code in range(len(REASONS))}
        order = sorted((code for code in spent if spent[code] > 0), key=lambda code: -spent[code])
        words = ", ".join(f"{REASONS[code][0]} {amount(spent[code], 1)} h" for code in order)
        lines.append(f"{name}: {words or 'the log gives no reasons'}")
    return lines
