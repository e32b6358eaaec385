"""A log drawn: temperatures, humidity, the fan, and every fault where it is."""

import io
from pathlib import Path

import numpy as np

from tuner import degrees
from tuner.files import write_whole
from tuner.logged import GAP_S, seconds
from tuner.plots import BLUE, FAINT, GREEN, INK, ORANGE, PAPER, RED, SKY, broken_at_gaps, check_kind, thinned
from tuner.reader.parts import number_of

_LINES = (("outside", "#8b9590", 0.9), ("outlet", ORANGE, 0.8), ("soil", GREEN, 1.6), ("house", INK, 1.1))
_LEAST_SHARE = 1 / 400  # a fault shorter than this part of the log is drawn this wide, so that it can be seen


def write(path, log, tree):
    """Draw the log into a file; its ending names the kind, one of plots.KINDS.

    log : logs.Log. tree : the tree of inspection.inspect. Raises OutputError when the file cannot be written.
    """
    check_kind(path)
    import matplotlib

    matplotlib.use("Agg")
    figure = draw(log, tree)
    out = io.BytesIO()
    kind = Path(path).suffix.lower()[1:]
    figure.savefig(out, format=kind, dpi=110, metadata={"Date": None} if kind == "svg" else None)
    write_whole(path, out.getvalue())


def draw(log, tree):
    """Return the matplotlib Figure: one panel above the other, the time of the site below."""
    from matplotlib.figure import Figure

    kinds = list(dict.fromkeys(fault.kind for fault in log.faults if fault.start is not None))
    heights = [5, 1.6, 0.6, 0.35 * len(kinds) + 0.3]
    figure = Figure(figsize=(12, 7.2 + 0.3 * len(kinds)), facecolor=PAPER, layout="constrained")
    axes = figure.subplots(4, 1, sharex=True, height_ratios=heights)
    times = seconds(log.frame.index)
    _temperatures(axes[0], log, times, tree["units"])
    _humidity(axes[1], log, times)
    _fan(axes[2], log, times)
    _faults(axes[3], log, kinds, times)
    for axis, name in ((axes[1], "humidity"), (axes[2], "fan_pct")):
        if log.frame[name].isna().all():
            axis.text(0.5, 0.5, "not logged", transform=axis.transAxes, ha="center", va="center", color=INK)
    for axis in axes:
        axis.grid(True, axis="x", color=FAINT, linewidth=0.6)
        for side in ("top", "right"):
            axis.spines[side].set_visible(False)
    _time_axis(axes[-1], times, tree["time_zone"])
    grave = [fault for fault in log.faults if fault.grave]
    name = f"{tree['name']}: " if tree["name"] else ""
    axes[0].set_title(
        f"{name}the log as read, {len(grave)} to look at, {number_of(len(log.faults) - len(grave), 'remark')}",
        loc="left",
        color=INK,
    )
    return figure


def _line(axis, times, values, step_s, **style):
    """Draw a line, broken where rows are missing, but not between the rows of a log that has one an hour or a day."""
    if np.isnan(values).all():
        return
    x, y = thinned(*(broken_at_gaps(times, values) if step_s * 2 < GAP_S else (times, values)))
    axis.plot(x, y, **style)


def _temperatures(axis, log, times, units):
    for name, colour, width in _LINES:
        values = degrees.in_units(log.frame[name].to_numpy(dtype=float), units)
        _line(axis, times, values, log.step_s, color=colour, linewidth=width, label=name)
    axis.autoscale_view()
    low, high = axis.get_ylim()
    label = "left out"
    for name, _, _ in _LINES:
        gone = log.left_out.get(name)
        if gone is not None and len(gone):
            values = np.clip(degrees.in_units(gone.to_numpy(), units), low, high)
            axis.plot(seconds(gone.index), values, "x", color=RED, markersize=5, label=label, clip_on=False)
            label = None
    axis.set_ylim(low, high)
    axis.set_ylabel(f"degrees {units}")
    if axis.get_legend_handles_labels()[0]:
        axis.legend(loc="upper left", ncols=5, frameon=False)


def _humidity(axis, log, times):
    _line(axis, times, log.frame["humidity"].to_numpy(dtype=float), log.step_s, color=BLUE, linewidth=0.9)
    axis.axhline(95, color=RED, linewidth=0.8, linestyle=":")
    axis.set_ylim(0, 102)
    axis.set_ylabel("humidity %")


def _fan(axis, log, times):
    values = np.nan_to_num(log.frame["fan_pct"].to_numpy(dtype=float))
    x, y = thinned(times, values)
    axis.fill_between(x, 0, y, step="post", color=SKY, linewidth=0)
    axis.set_ylim(0, 105)
    axis.set_yticks([0, 100])
    axis.set_ylabel("fan %")


def _faults(axis, log, kinds, times):
    """One row for each kind of fault; orange-red where a number may be wrong, grey for remarks."""
    least = max(1, int((times[-1] - times[0]) * _LEAST_SHARE)) if len(times) else 1
    for fault in log.faults:
        if fault.start is None:
            continue
        row = kinds.index(fault.kind)
        spans = fault.spans or ((fault.start, fault.end),)
        bars = [(first // 1000, max((last - first) // 1000, least)) for first, last in spans[:2000]]
        axis.broken_barh(bars, (row - 0.35, 0.7), color=RED if fault.grave else "#8b9590", linewidth=0)
    axis.set_yticks(range(len(kinds)), kinds)
    axis.set_ylim(max(len(kinds) - 0.5, 0.5), -0.5)
    if not kinds:
        axis.text(0.5, 0.5, "no fault has a place in time", transform=axis.transAxes, ha="center", va="center")
        axis.set_yticks([])
    else:
        axis.set_ylabel("faults")


def _time_axis(axis, times, zone):
    """Label local dates (and hours in a short log) on an axis of Unix seconds."""
    import pandas as pd

    start, end = (pd.Timestamp(int(times[at]), unit="s", tz="UTC").tz_convert(zone) for at in (0, -1))
    hours = max((end - start).total_seconds() / 3600, 1)
    step = next(step for step in (1, 2, 3, 6, 12, 24, 48, 168, 336, 730, 2190, 8760, 10**9) if hours / step <= 10)
    ticks = pd.date_range(start.floor("D") if step >= 12 else start.floor("h"), end, freq=f"{step}h")
    ticks = ticks[ticks >= start]
    form = "%Y-%m-%d" if step >= 24 else "%H:%M\n%d %b"
    axis.set_xticks([tick.timestamp() for tick in ticks], [f"{tick:{form}}" for tick in ticks])
    axis.set_xlabel(f"time ({zone})")
    axis.set_xlim(times[0], max(times[-1], times[0] + 60))
