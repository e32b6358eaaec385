"""Figures. Colours are those of Okabe and Ito's set, told apart by people who see few colours; strips are labelled.

Source of the colours: M. Okabe, K. Ito, "Color Universal Design", 2008, figure 16.
"""

import io
from pathlib import Path

import numpy as np

from controller.core import phases, reasons
from tuner import degrees, replay, report
from tuner.errors import OutputError
from tuner.files import write_whole
from tuner.logged import GAP_S, NOT_SAID, seconds

INK, FAINT, PAPER = "#26302b", "#c9cfc9", "#ffffff"
BLUE, SKY, GREEN, YELLOW, ORANGE, RED, PINK = (
    "#0072b2",
    "#56b4e9",
    "#009e73",
    "#f0e442",
    "#e69f00",
    "#d55e00",
    "#cc79a7",
)
LINES = (("outside", "outside", "#8b9590", 0.9), ("soil", "soil", GREEN, 1.6), ("house", "house", INK, 1.1))
PHASE_COLOURS = {
    phases.CHARGE: (ORANGE, "charge"),
    phases.DISCHARGE: (SKY, "discharge"),
    phases.BLIND: (PINK, "blind"),
    phases.HAND: (INK, "hand"),
    NOT_SAID: ("#8b9590", "on"),
}
# Reasons of one kind share a colour on the strip: (what the kind says, colour, codes).
R = reasons
REASON_KINDS = (
    ("stores heat", ORANGE, (R.CHARGE_HOT, R.CHARGE_HOT_ALONE, R.CHARGE_DAMP)),
    ("brings heat back", SKY, (R.DISCHARGE_COLD, R.DISCHARGE_COLD_ALONE, R.DISCHARGE_FLUSH)),
    ("frost", RED, (R.GUARD, R.SPENT, R.CHARGE_FROST)),
    ("soil does not help", GREEN, (R.NO_COOLTH, R.NO_WARMTH, R.FULL, R.RESERVE, R.OUTLET_SAID)),
    ("motor and relay care", YELLOW, (R.RESTING, R.MIN_RUN, R.LONGEST, R.TURN, R.WAKING)),
    ("allowance", BLUE, (R.SPARED, R.BLIND_SPARED)),
    ("house unknown", PINK, (R.CHARGE_UNKNOWN, R.BLIND_RUN, R.BLIND_COLD, R.BLIND_REST, R.BLIND_MILD)),
    ("hand and trial", INK, (R.HAND_ON, R.HAND_OFF, R.HAND_LEFT, R.TRIAL_RUN, R.TRIAL_REST)),
    ("nothing wanted", "#e4e8e4", (R.IDLE, R.REACHED)),
)
KINDS = (".png", ".svg", ".pdf")
MOST_POINTS = 6000  # a line with more rows is drawn as lowest and highest per bucket


def check_kind(path):
    """Refuse a figure's file name that does not end in a kind we draw. path may be None. Raises OutputError."""
    if path is not None and Path(path).suffix.lower() not in KINDS:
        raise OutputError(f"{path}: this kind of figure is not known.\nEnd the name in {', '.join(KINDS)}.")


def spans(codes, times):
    """Return [(code, start, end)] for every stretch of equal codes.

    codes : ndarray of int, shape (n,), each holding from its time to the next row's, but no longer than GAP_S
    times : ndarray of int, shape (n,), ascending [s]
    """
    if len(codes) == 0:
        return []
    step = np.diff(times)
    ends = np.append(times[:-1] + np.minimum(step, GAP_S), times[-1])
    starts = np.flatnonzero(np.concatenate(([True], (codes[1:] != codes[:-1]) | (step > GAP_S))))
    lasts = np.append(starts[1:], len(codes)) - 1
    return [(int(codes[a]), int(times[a]), int(ends[b])) for a, b in zip(starts, lasts, strict=True)]


def bars_by_code(codes, times):
    """Return {code: [(start, length)]} of spans, as matplotlib's broken_barh takes them. Arguments as spans."""
    bars = {}
    for code, start, end in spans(codes, times):
        bars.setdefault(code, []).append((start, end - start))
    return bars


def thinned(times, values, most=MOST_POINTS):
    """Return (times, values) with at most about `most` points that keep each bucket's lowest and highest."""
    count = len(values)
    if count <= most:
        return times, values
    edges = np.linspace(0, count, most // 2 + 1).astype(int)[:-1]
    filled_low = np.where(np.isnan(values), np.inf, values)
    filled_high = np.where(np.isnan(values), -np.inf, values)
    low, high = np.minimum.reduceat(filled_low, edges), np.maximum.reduceat(filled_high, edges)
    both = np.column_stack((low, high)).ravel()
    return np.repeat(times[edges], 2), np.where(np.isfinite(both), both, np.nan)


def broken_at_gaps(times, values):
    """Return (times, values) with a NaN put into every gap, so that no line is drawn across it."""
    gaps = np.flatnonzero(np.diff(times) > GAP_S) + 1
    return np.insert(times.astype(float), gaps, times[gaps] - 1.0), np.insert(values, gaps, np.nan)


def write_timeline(path, log, runs, site, note=replay.OPEN_LOOP, logs=None):
    """Draw temperatures, setpoints, what the fan did and why, over the time of the log, into a file.

    path : its ending names the kind, one of KINDS; log : tuner.logs.Log
    runs : list of logged.Run, the log itself first; site : Site; note : how the replays were made
    logs : list of Log, the temperatures of each run where they differ from the log's (closed loop), or None
    Raises OutputError when the file cannot be written.
    """
    check_kind(path)
    import matplotlib

    matplotlib.use("Agg")
    figure = timeline(log, runs, site, note, logs)
    out = io.BytesIO()
    kind = Path(path).suffix.lower()[1:]
    figure.savefig(out, format=kind, dpi=110, metadata={"Date": None} if kind == "svg" else None)
    write_whole(path, out.getvalue())


def timeline(log, runs, site, note=replay.OPEN_LOOP, logs=None):
    """Return the timeline as a matplotlib Figure. Arguments as write_timeline."""
    from matplotlib.figure import Figure

    strips = len(runs)
    figure = Figure(figsize=(13, 5.4 + 0.62 * strips), facecolor=PAPER, layout="constrained")
    axes = figure.subplots(
        1 + strips, 1, sharex=True, gridspec_kw={"height_ratios": [7.5] + [1] * strips, "hspace": 0.03}
    )
    times = seconds(log.frame.index)
    names = report.short_names([run.name for run in runs])
    _temperatures(axes[0], log, times, runs, site)
    _predicted(axes[0], times, names, logs or [], site)
    kinds = set()
    for axis, run, name in zip(axes[1:], runs, names, strict=True):
        kinds |= _strip(axis, run, times, name)
    _days(axes, times, site.site.zone)
    _legends(figure, axes[0], kinds, names[0])
    figure.suptitle(site.site.name, x=0.01, ha="left", fontsize=14, fontweight="bold", color=INK)
    axes[0].set_title(note, loc="left", fontsize=9, color=INK, pad=24)
    return figure


def _temperatures(axis, log, times, runs, site):
    """Draw the temperatures, the setpoints, and in shades what the fan did while they were logged."""
    units = site.site.units
    for code, bars in bars_by_code(runs[0].out.phase, times).items():
        if code in (phases.CHARGE, phases.DISCHARGE):
            across = axis.get_xaxis_transform()  # time along x, the whole height of the axes along y
            colour = PHASE_COLOURS[code][0]
            axis.broken_barh(bars, (0, 1), facecolor=colour, alpha=0.22, linewidth=0, transform=across, zorder=0.4)
    for column, label, colour, width in LINES:
        values = degrees.in_units(log.frame[column].to_numpy(dtype=float), units)
        if not np.isnan(values).all():
            axis.plot(*thinned(*broken_at_gaps(times, values)), color=colour, linewidth=width, label=label)
    _setpoints(axis, runs, site)
    axis.set_ylabel(f"temperature, {units}", color=INK)
    axis.grid(axis="y", color=FAINT, linewidth=0.5)
    axis.margins(x=0)
    for side in ("top", "right"):
        axis.spines[side].set_visible(False)


PREDICTED = (PINK, BLUE, ORANGE, RED)


def _predicted(axis, times, names, logs, site):
    """Draw house (full) and soil (dashed) of each closed-loop replay."""
    for place, log in enumerate(logs[1:]):
        if log is logs[0]:
            continue
        colour = PREDICTED[place % len(PREDICTED)]
        for column, style in (("house", "-"), ("soil", "--")):
            values = degrees.in_units(log.frame[column].to_numpy(dtype=float), site.site.units)
            label = f"house ({names[1 + place]})" if column == "house" else None
            line = thinned(*broken_at_gaps(times, values))
            axis.plot(*line, style, color=colour, linewidth=0.9, alpha=0.85, label=label)


def _setpoints(axis, runs, site):
    """Draw one dashed line per setpoint, named at the right edge with the settings that share it."""
    told = {(site.needs.frost_floor_c, "plants' floor", RED): [], (site.needs.hot_limit_c, "plants' limit", RED): []}
    names = report.short_names([run.name for run in runs])
    for run, name in zip(runs, names, strict=True):
        if run.settings is not None:
            charge, discharge = run.settings.charge_above_centi_c, run.settings.discharge_below_centi_c
            told.setdefault((charge / 100, "charge at", "#8a5f00"), []).append(name)
            told.setdefault((discharge / 100, "discharge at", BLUE), []).append(name)
    units = site.site.units
    placed = []
    low, high = axis.get_ylim()
    for (value_c, what, colour), names in sorted(told.items()):
        value = degrees.in_units(value_c, units)
        if not low - 0.05 * (high - low) <= value <= high + 0.12 * (high - low):
            continue  # far outside what the house saw: it would only flatten the curves
        axis.axhline(value, color=colour, linewidth=0.9, linestyle=(0, (6, 3)), zorder=1.5)
        height = max([value, *(one + 0.042 * (high - low) for one in placed[-1:])])
        placed.append(height)
        text = f" {what} {degrees.short(value_c, units)}" + (f" ({', '.join(names)})" if names else "")
        axis.annotate(
            text,
            (1, height),
            xycoords=("axes fraction", "data"),
            fontsize=8,
            color=colour,
            va="center",
            annotation_clip=False,
        )


def _strip(axis, run, times, name):
    """Draw one run as two bands, phase above reason; return the kinds of reason that occur."""
    for code, bars in bars_by_code(run.out.phase, times).items():
        if code in PHASE_COLOURS:
            axis.broken_barh(bars, (0.56, 0.44), facecolor=PHASE_COLOURS[code][0], linewidth=0)
    kind_of = np.full(len(R.REASONS) + 1, -1)
    for place, (_, _, codes) in enumerate(REASON_KINDS):
        kind_of[list(codes)] = place
    found = set()
    for kind, bars in bars_by_code(kind_of[run.out.reason], times).items():
        if kind >= 0:
            found.add(kind)
            axis.broken_barh(bars, (0.04, 0.44), facecolor=REASON_KINDS[kind][1], linewidth=0)
    if not found:
        axis.text(
            0.5, 0.26, "this log gives no reasons", transform=axis.transAxes, ha="center", va="center", fontsize=8
        )
    axis.set_ylim(0, 1)
    axis.set_yticks([0.26, 0.78], ["why", "fan"], fontsize=8, color=INK)
    axis.tick_params(axis="y", length=0)
    axis.annotate(f" {name}", (1, 0.5), xycoords="axes fraction", fontsize=9, fontweight="bold", color=INK, va="center")
    for side in axis.spines.values():
        side.set_color(FAINT)
    return found


def _days(axes, times, zone):
    """Mark local midnights on all axes and name the days below the last."""
    import pandas as pd

    ends = pd.to_datetime([times[0], times[-1]], unit="s", utc=True).tz_convert(zone)
    days = pd.date_range(ends[0].normalize(), ends[1].normalize() + pd.Timedelta(days=1), freq="D", tz=zone)
    every = max(1, len(days) // 16)
    at = seconds(days.tz_convert("UTC"))
    inside = [place for place in range(len(days)) if times[0] <= at[place] <= times[-1]]
    for axis in axes:
        for place in inside[::every]:
            axis.axvline(at[place], color=FAINT, linewidth=0.6, zorder=0.5)
    ticks = inside[::every]
    axes[-1].set_xticks([at[place] for place in ticks], [f"{days[place]:%a %d %b}" for place in ticks], fontsize=8)
    axes[-1].set_xlim(times[0], max(times[-1], times[0] + 1))


def _legends(figure, axis, kinds, shown_name):
    """Place the legend of the curves on top and that of the strips below."""
    from matplotlib.patches import Patch

    curves, labels = axis.get_legend_handles_labels()
    for code in (phases.CHARGE, phases.DISCHARGE):
        colour, word = PHASE_COLOURS[code]
        curves.append(Patch(facecolor=colour, alpha=0.4))
        labels.append(f"{word} ({shown_name})")
    axis.legend(curves, labels, loc="lower right", bbox_to_anchor=(1, 1), ncols=len(labels), frameon=False, fontsize=9)
    fan = [Patch(facecolor=colour, label=f"fan: {word}") for colour, word in PHASE_COLOURS.values()][:2]
    why = [Patch(facecolor=REASON_KINDS[kind][1], label=f"why: {REASON_KINDS[kind][0]}") for kind in sorted(kinds)]
    figure.legend(handles=fan + why, loc="outside lower left", ncols=5, frameon=False, fontsize=8)
