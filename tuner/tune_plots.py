"""Figures of a search: the trade-off, the coldest night, the timeline, the cost map. As SVG text, for a report.

Colours and line kinds as in plots.py; each setting keeps its colour and mark through all figures.
"""

import io
from typing import Any

import numpy as np

from controller.core import phases
from tuner import degrees, judge, plots, trials

LOOK = {
    "current": (plots.INK, "s", "-"),
    "pick": (plots.RED, "o", "-"),
    "thriftiest": (plots.GREEN, "v", "--"),
    "safest": (plots.BLUE, "^", ":"),
}
MOST_POINTS = 2000  # a line in the timeline: what its width on paper can show
FIGURES = ("tradeoff", "coldest_night", "timeline", "cost_map")


def draw_all(tuned):
    """Return {name: SVG bytes} of FIGURES."""
    import matplotlib

    matplotlib.use("Agg")
    with matplotlib.rc_context({"svg.hashsalt": "loamstat", "font.size": 9, "svg.fonttype": "none",
                                "font.family": "sans-serif"}):  # fmt: skip
        return {name: _bytes(globals()[name](tuned)) for name in FIGURES}


def _bytes(figure):
    out = io.BytesIO()
    figure.savefig(out, format="svg", metadata={"Date": None})
    return out.getvalue()


def _figure(width, height, rows=1, **how) -> tuple[Any, Any]:
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width, height), layout="constrained")
    axes = figure.subplots(rows, 1, **how)
    for one in np.atleast_1d(axes):
        one.spines[["top", "right"]].set_visible(False)
        one.grid(color=plots.FAINT, linewidth=0.5)
    return figure, axes


def distinct(tuned):
    """Return {name: Settings} without names that mean the same settings, the first kept."""
    kept = {}
    for name, settings in tuned.settings.items():
        if settings not in kept.values():
            kept[name] = settings
    return kept


def _label(tuned, name):
    same = [other for other, s in tuned.settings.items() if s == tuned.settings[name]]
    return " = ".join(same)


def tradeoff(tuned):
    """Money against harm: all that was tried on every plausible house, the front, the named picks marked."""
    figure, axes = _figure(5.2, 4.0)
    site = tuned.trials.fit.grid.site
    scale, unit = degrees.size(site.site.units), degrees.apart_word(site.site.units)
    harm, money = tuned.known[:, 0] * scale, tuned.known[:, 1]
    axes.plot(harm, money, ".", color="#8b9590", markersize=4, label="tried")
    axes.plot(harm[tuned.front], money[tuned.front], "-", color="#8b9590", linewidth=1.0, drawstyle="steps-post",
              label="none is better in both")  # fmt: skip
    near = []
    for name in distinct(tuned):
        colour, mark, _ = LOOK[name]
        x = float(tuned.values[name][3:].sum()) * scale
        y = float(judge.logged_money(tuned.sums[name], tuned.prices).mean())
        axes.plot(x, y, mark, color=colour, markersize=9, label=_label(tuned, name))
        near.append(x)
    low, high = min(near), max(near)
    room = max(1.0, 0.4 * (high - low))
    axes.set_xlim(max(0.0, min(low, harm.min()) - 0.1 * room), high + room)
    axes.set_xlabel(f"harm, all weathers together [{unit} h]")
    axes.set_ylabel(f"money, logged weather [{site.energy.currency}]")
    axes.legend(frameon=False, fontsize=8)
    return figure


def coldest_night(tuned):
    """The coldest night of the logged weather and of the hardest: house and soil under each setting."""
    t = tuned.trials
    shown = [t.weathers[0], t.weathers[-1]] if len(t.weathers) > 1 else [t.weathers[0]]
    figure, axes = _figure(5.2, 2.4 * len(shown) + 0.3, rows=len(shown), sharex=True)
    for place, (weather, one) in enumerate(zip(shown, np.atleast_1d(axes), strict=True)):
        _one_night(one, tuned, weather)
        if place == 0:
            one.legend(frameon=False, fontsize=8, ncols=4, loc="lower left", bbox_to_anchor=(-0.02, 1.1))
    _clock(np.atleast_1d(axes)[-1])
    return figure


def _one_night(axes, tuned, weather):
    t = tuned.trials
    units, zone = t.fit.grid.site.site.units, t.fit.grid.site.site.zone
    every = max(1, round(300 / t.fit.grid.dt))
    night = None
    for name, settings in distinct(tuned).items():
        one = trials.course(t, settings, weather)
        night = one.night[int(one.house.argmin())] if night is None else night
        inside = np.flatnonzero(one.night == night)
        inside = inside[: len(inside) // every * every]
        times = one.times[inside[::every]].tz_convert(zone).tz_localize(None)
        colour, _, line = LOOK[name]
        for values, width in ((one.house, 1.5), (one.soil, 0.8)):
            mean = values[inside].reshape(-1, every).mean(1)
            axes.plot(times, degrees.in_units(mean, units), line, color=colour, linewidth=width,
                      label=_label(tuned, name) if width > 1 else None)  # fmt: skip
    floor = degrees.in_units(t.fit.grid.site.needs.frost_floor_c, units)
    axes.axhline(floor, color=plots.RED, linewidth=0.8, linestyle="-.")
    axes.annotate("plants' floor", (times[-1], floor), fontsize=8, color=plots.RED, va="bottom", ha="right")
    axes.set_ylabel(f"house thick, soil thin, {units}")
    low = degrees.marked(float(one.outside[inside].min()), units)
    axes.set_title(f"{weather.name}; outside down to {low}", fontsize=9, loc="left")


def _clock(axes):
    from matplotlib.dates import AutoDateLocator, ConciseDateFormatter

    places = AutoDateLocator(minticks=3, maxticks=9)
    axes.xaxis.set_major_locator(places)
    axes.xaxis.set_major_formatter(ConciseDateFormatter(places))


def timeline(tuned):
    """The log's own weather: house and soil under the current settings and the pick, and when the fan runs."""
    t = tuned.trials
    units, zone = t.fit.grid.site.site.units, t.fit.grid.site.site.zone
    figure, (upper, lower) = _figure(
        6.4, 4.4, rows=2, sharex=True, gridspec_kw={"height_ratios": (4, 1)}
    )
    shown = [name for name in distinct(tuned) if name in ("current", "pick")]
    for place, name in enumerate(shown):
        one = trials.course(t, tuned.settings[name], t.weathers[0])
        stamp = one.times.tz_convert(zone).tz_localize(None)
        seconds = (stamp.as_unit("s").asi8).astype(float)
        colour = LOOK[name][0]
        for values, width in ((one.house, 1.1), (one.soil, 2.0)):
            x, y = plots.thinned(seconds, degrees.in_units(values, units), MOST_POINTS)
            upper.plot(x.astype("datetime64[s]"), y, color=colour, linewidth=width, alpha=0.9,
                       label=_label(tuned, name) if width < 2 else None)  # fmt: skip
        bars = plots.bars_by_code(np.where(one.fan_pct > 0, one.phase, phases.REST), seconds.astype(np.int64))
        for code, spans in bars.items():
            if code == phases.REST:
                continue
            fill = plots.PHASE_COLOURS.get(code, (plots.INK, "on"))[0]
            days = [(a / 86400.0, b / 86400.0) for a, b in spans]
            lower.broken_barh(days, (place - 0.4, 0.8), facecolors=fill, linewidth=0)
    upper.set_ylabel(f"degrees {units}; house thin, soil thick")
    upper.legend(frameon=False, fontsize=8, ncols=2)
    lower.set_yticks(range(len(shown)), [_label(tuned, name) for name in shown])
    lower.set_ylim(len(shown) - 0.5, -0.5)
    lower.set_title("fan: orange stores heat, light blue brings it back", fontsize=8, loc="left")
    _clock(lower)
    return figure


def cost_map(tuned):
    """Money and harm over the two setpoints, all else as picked; the pick and the current pair are framed."""
    from matplotlib.patches import Rectangle

    site = tuned.trials.fit.grid.site
    units, c = site.site.units, tuned.chart
    scale = degrees.size(units)
    figure, axes = _figure(5.2, 4.0)
    axes.grid(False)
    shades = axes.imshow(c.money, aspect="auto", cmap="cividis_r", origin="lower")
    middle = np.nanmin(c.money) + 0.55 * (np.nanmax(c.money) - np.nanmin(c.money))
    for (i, k), value in np.ndenumerate(c.harm):
        if np.isfinite(value):
            ink = "white" if c.money[i, k] > middle else plots.INK
            axes.text(k, i, f"{value * scale:.0f}", ha="center", va="center", fontsize=8, color=ink)
    for name in ("current", "pick"):
        one = tuned.found if name == "pick" else tuned.settings[name]
        at = (c.warm.index(one.charge_above_centi_c) - 0.5, c.cold.index(one.discharge_below_centi_c) - 0.5)
        axes.add_patch(Rectangle(at, 1, 1, fill=False, edgecolor=LOOK[name][0], linewidth=2.5, clip_on=False,
                                 label="found" if name == "pick" else name))  # fmt: skip
    axes.set_xticks(range(len(c.warm)), [degrees.short(value / 100, units) for value in c.warm])
    axes.set_yticks(range(len(c.cold)), [degrees.short(value / 100, units) for value in c.cold])
    axes.set_xlabel(f"charge_above_c [{units}]")
    axes.set_ylabel(f"discharge_below_c [{units}]")
    axes.legend(frameon=False, fontsize=8, ncols=2, loc="lower left", bbox_to_anchor=(0, 1.0))
    figure.colorbar(shades, ax=axes, shrink=0.9).set_label(f"money, logged weather [{site.energy.currency}]")
    return figure
