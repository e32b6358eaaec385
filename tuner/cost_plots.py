"""The figures of `loamstat cost`: when the fan ran, what each price band cost, heat into and out of the store by day.

Never here: sums. Colours as in plots.py; each figure reads without them too: hours by depth of one colour, bands by
their names, heat by going up or down.
"""

import io

import numpy as np

from tuner.cost_text import SLIVER_H
from tuner.files import write_whole
from tuner.plots import FAINT, INK, ORANGE, PAPER, SKY

BAND_COLOURS = ("#0072b2", "#e69f00", "#009e73", "#cc79a7", "#56b4e9", "#d55e00", "#f0e442")  # Okabe & Ito, 2008
QUIET = "#8b9590"
FEW_DAYS = 45  # up to here the map shows every cell
DEPTHS = ("#eef3ef", "#9cc9d8", "#3b83b5", "#123a63")  # light to dark, read in grey as well
JOULES_PER_KWH = 3.6e6


def write_all(folder, results, site):
    """Draw the figures of the first result, the log, into a folder; return {what it shows: path}.

    results : list of cost.Cost; with more than one, the map and the bands of each further one are drawn too.
    Raises OutputError when a file cannot be written.
    """
    import matplotlib

    matplotlib.use("Agg")
    written = {}
    for nth, result in enumerate(results):
        tail = "" if nth == 0 else f"-{nth}"
        drawn = {"Running by day and hour": ("running", running_map), "Cost by price band": ("bands", by_band)}
        if not result.tree["total"]["known_h"] + result.tree["total"]["unknown_h"]:
            drawn = {}  # a single reading tells of no time
        if result.tree["total"]["heat_known_h"]:
            drawn["Heat by day"] = ("heat", heat_by_day)
        for words, (name, draw) in drawn.items():
            path = folder / f"{name}{tail}.png"
            out = io.BytesIO()
            draw(result, site).savefig(out, format="png", dpi=120)
            write_whole(path, out.getvalue())
            written[words if nth == 0 else f"{words}, {result.name}"] = path
    return written


def by_day(result):
    """Return (days, first day to last without a break, datetime64[D]; place of each stretch's day among them)."""
    times, booked = result.book.calendar, result.book.stretches
    covered = (booked["known_s"] + booked["gap_s"]).to_numpy()
    days, nth = np.unique(times.day, return_inverse=True)
    shown = days[np.bincount(nth, weights=covered) >= SLIVER_H * 3600]
    first, last = (shown[0], shown[-1]) if len(shown) else (days[0], days[-1])
    touched = (covered > 0) & (times.day >= first) & (times.day <= last)
    return np.arange(first, last + 1), (times.day - first).astype(int), touched


def shares(result):
    """Return the share of each local hour that the fan ran, shape (days, 24): NaN where the hour is not known."""
    days, day, touched = by_day(result)
    booked, hour = result.book.stretches, result.book.calendar.hour
    ran, known = np.zeros((len(days), 24)), np.zeros((len(days), 24))
    np.add.at(ran, (day[touched], hour[touched]), booked["fan_s"].to_numpy()[touched])
    np.add.at(known, (day[touched], hour[touched]), booked["known_s"].to_numpy()[touched])
    with np.errstate(invalid="ignore"):
        return days, np.where(known > 0, ran / np.maximum(known, 1e-9), np.nan)


def running_map(result, site):
    """Return the day-by-hour map of running as a Figure; what is not known is hatched."""
    from matplotlib.colors import LinearSegmentedColormap
    from matplotlib.figure import Figure
    from matplotlib.patches import Patch

    days, share = shares(result)
    few = len(days) <= FEW_DAYS
    figure = Figure(
        figsize=(9.5, min(16, 2.6 + (0.25 if few else 0.11) * len(days))), facecolor=PAPER, layout="constrained"
    )
    axis = figure.subplots()
    axis.patch.set(facecolor=PAPER, hatch="////", edgecolor=FAINT)
    colours = LinearSegmentedColormap.from_list("running", DEPTHS)
    lines = {"edgecolors": PAPER, "linewidth": 0.6} if few else {}
    edges = np.arange(len(days) + 1) - 0.5
    mesh = axis.pcolormesh(np.arange(25), edges, np.ma.masked_invalid(share), cmap=colours, vmin=0, vmax=1, **lines)
    axis.set_ylim(len(days) - 0.5, -0.5)
    _day_ticks(axis.yaxis, days, 16 if few else 26)
    axis.set_xticks(range(0, 25, 2), [f"{hour:02d}" for hour in range(0, 25, 2)])
    axis.set_xlabel(f"hour of the day ({site.site.time_zone})", color=INK)
    _plain(axis)
    bar = figure.colorbar(mesh, ax=axis, location="bottom", shrink=0.4, aspect=34, anchor=(0.0, 0.5), pad=0.02)
    bar.set_ticks([0, 0.25, 0.5, 0.75, 1], labels=["0", "15", "30", "45", "60"])
    bar.ax.tick_params(labelsize=8, length=0)
    bar.set_label("minutes the fan ran in the hour", color=INK, fontsize=9)
    bar.outline.set_visible(False)
    if np.isnan(share).any():
        unknown = Patch(facecolor=PAPER, edgecolor=FAINT, hatch="////", label="not in the log")
        figure.legend(handles=[unknown], loc="outside lower right", frameon=False, fontsize=9)
    duty = result.tree["total"]["duty_pct"]
    _title(
        figure, axis, site, f"When the fan ran: {result.name}" + ("" if duty is None else f", {duty:.0f} % of the time")
    )
    return figure


def by_band(result, site):
    """Return the cost of each day, stacked by price band, with the sums beside the names, as a Figure."""
    from matplotlib.figure import Figure

    days, day, touched = by_day(result)
    booked, band = result.book.stretches, result.book.calendar.band
    money = site.energy.currency
    figure = Figure(figsize=(9.5, 4.6), facecolor=PAPER, layout="constrained")
    axis = figure.subplots()
    base = np.zeros(len(days))
    order = sorted(np.unique(band[touched]), key=lambda place: _price(site, place))
    bands = {one["name"]: one for one in result.tree["total"]["bands"]}
    for place in order:
        inside = touched & (band == place)
        height = np.bincount(day[inside], weights=booked["run_cost"].to_numpy()[inside], minlength=len(days))
        name = _band_name(site, place)
        one = bands[name]
        label = f"{name}, {_price(site, place):g} a kWh: {one['fan_cost']:.2f} {money}".rstrip()
        axis.bar(range(len(days)), height, bottom=base, width=0.82, color=_band_colour(place), label=label)
        base += height
    gap = np.bincount(day[touched], weights=booked["most_cost"].to_numpy()[touched], minlength=len(days))
    if gap.any():
        look = {"facecolor": "none", "edgecolor": QUIET, "hatch": "////", "linewidth": 0.6}
        axis.bar(range(len(days)), gap, bottom=base, width=0.82, label="hours not in the log, at most", **look)
    _day_ticks(axis.xaxis, days)
    axis.set_ylabel(f"cost of the day, {money}".rstrip(", "), color=INK)
    axis.grid(axis="y", color=FAINT, linewidth=0.5)
    axis.set_axisbelow(True)
    _plain(axis, keep=("left", "bottom"))
    figure.legend(loc="outside lower left", ncols=2, frameon=False, fontsize=9)
    _title(
        figure, axis, site, f"What the fan cost: {result.name}, {result.tree['total']['fan_cost']:.2f} {money}".rstrip()
    )
    return figure


def heat_by_day(result, site):
    """Return the heat brought back (up) and stored (down) on each local day, with its spread, as a Figure."""
    from matplotlib.figure import Figure

    from tuner import heat

    days, day, touched = by_day(result)
    booked, share_sd = result.book.stretches, result.book.heat_share_sd
    figure = Figure(figsize=(9.5, 4.6), facecolor=PAPER, layout="constrained")
    axis = figure.subplots()
    total = result.tree["total"]
    for way, sign, colour, words in (
        ("out", 1, SKY, f"brought back, {total['heat_out_kwh']:.1f} kWh"),
        ("in", -1, ORANGE, f"stored, {total['heat_in_kwh']:.1f} kWh"),
    ):
        joule = _daily(booked[f"{way}_j"], day, touched, days)
        probes = heat.PROBES_SD * _daily(booked[f"{way}_per_kelvin_j"], day, touched, days)
        spread = np.hypot(share_sd * joule, probes)
        axis.bar(range(len(days)), sign * joule, width=0.82, color=colour, label=words)
        shown = spread > 0
        axis.errorbar(
            np.flatnonzero(shown), sign * joule[shown], yerr=spread[shown], fmt="none", ecolor=INK, elinewidth=0.9,
            capsize=2.5,
        )  # fmt: skip
    axis.axhline(0, color=INK, linewidth=0.9)
    axis.yaxis.set_major_formatter(lambda value, _: f"{abs(value):g}")
    _day_ticks(axis.xaxis, days)
    axis.set_ylabel("heat of the day, kWh", color=INK)
    axis.grid(axis="y", color=FAINT, linewidth=0.5)
    axis.set_axisbelow(True)
    _plain(axis, keep=("left", "bottom"))
    figure.legend(loc="outside lower left", ncols=2, frameon=False, fontsize=9)
    figure.text(0.99, 0.012, "lines: one standard deviation", ha="right", fontsize=8, color=QUIET)
    _title(figure, axis, site, f"Heat out of the store and into it: {result.name}")
    return figure


def _daily(values, day, touched, days):
    return np.bincount(day[touched], weights=values.to_numpy()[touched], minlength=len(days)) / JOULES_PER_KWH


def _price(site, place):
    return site.energy.bands[place].price_per_kwh if place >= 0 else site.energy.price_per_kwh


def _band_name(site, place):
    from tuner import bands

    if not site.energy.bands:
        return "all hours"
    return bands.name_of(site.energy.bands[place], place + 1) if place >= 0 else "other hours"


def _band_colour(place):
    return QUIET if place < 0 else BAND_COLOURS[place % len(BAND_COLOURS)]


def _day_ticks(axis, days, most=16):
    """Name the days along an axis, thinned to `most` or so, whole weeks apart where there are many."""
    every = int(np.ceil(len(days) / most))
    every = every if every <= 3 else 7 * int(np.ceil(every / 7))
    places = range(0, len(days), every)
    axis.set_ticks(list(places), [f"{days[place].astype(object):%a %d %b}" for place in places])
    if axis.axis_name == "x":
        axis.axes.set_xlim(-0.6, max(len(days), 5) - 0.4)
        for label in axis.get_ticklabels():
            label.set(rotation=35, ha="right", rotation_mode="anchor")


def _plain(axis, keep=()):
    """Take away what does not inform."""
    axis.tick_params(length=0, labelsize=9, colors=INK)
    for side, spine in axis.spines.items():
        spine.set_visible(side in keep)
        spine.set_color(FAINT)


def _title(figure, axis, site, words):
    """Write what the figure shows, and below it of which house."""
    figure.suptitle(words, x=0.01, ha="left", fontsize=12.5, fontweight="bold", color=INK)
    axis.set_title(site.site.name, loc="left", fontsize=9, color=QUIET)
