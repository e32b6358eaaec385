"""Figures of a fit: one-step errors, their autocorrelation, the hold-out, the exchange by week."""

import io
from pathlib import Path

import numpy as np

from tuner import degrees, learned
from tuner.files import write_whole
from tuner.plots import BLUE, FAINT, GREEN, INK, ORANGE, PAPER, check_kind

LAGS_H = 6.0


def autocorrelation(values, lags):
    """Return the autocorrelation at lags 1..lags, shape (lags,); values may hold NaN."""
    centred = values - np.nanmean(values)
    spread = np.nanmean(centred**2)
    if not spread > 0:
        return np.zeros(lags)
    return np.array([np.nanmean(centred[:-lag] * centred[lag:]) / spread for lag in range(1, lags + 1)])


def write_figure(path, fit):
    """Draw the fit into a file; its ending names the kind. Raises OutputError."""
    check_kind(path)
    import matplotlib

    matplotlib.use("Agg")
    out = io.BytesIO()
    kind = Path(path).suffix.lower()[1:]
    figure(fit).savefig(out, format=kind, dpi=110, metadata={"Date": None} if kind == "svg" else None)
    write_whole(path, out.getvalue())


def figure(fit):
    """Return the matplotlib Figure of a Fit."""
    from matplotlib.figure import Figure

    drawn = Figure(figsize=(13, 9), facecolor=PAPER, layout="constrained")
    axes = drawn.subplot_mosaic([["errors", "errors", "lags"], ["held", "held", "weeks"]])
    _errors(axes["errors"], axes["lags"], fit)
    _held(axes["held"], fit)
    _weeks(axes["weeks"], fit)
    for axis in axes.values():
        axis.grid(color=FAINT, linewidth=0.5)
        for side in ("top", "right"):
            axis.spines[side].set_visible(False)
    drawn.suptitle(f"{fit.grid.site.site.name}: the fitted house", x=0.01, ha="left", fontsize=14, fontweight="bold")
    return drawn


def _errors(axis, lags, fit):
    errors, variances = fit.errors()
    scaled = errors / np.sqrt(variances)
    days = np.arange(len(scaled)) * fit.grid.dt / 86400.0
    for column, name, colour in ((0, "house", INK), (1, "soil", GREEN), (2, "outlet", ORANGE)):
        if np.isnan(scaled[:, column]).all():
            continue
        every = max(1, len(days) // 6000)
        axis.plot(days[::every], scaled[::every, column], ".", markersize=1.5, color=colour, label=name)
        count = max(2, min(int(LAGS_H * 3600 / (fit.grid.dt * fit.grid.parts)), len(scaled) // 4))
        seen = scaled[:: fit.grid.parts, column]
        found = autocorrelation(seen, count)
        hours = np.arange(1, count + 1) * fit.grid.dt * fit.grid.parts / 3600.0
        lags.plot(hours, found, color=colour, label=name)
    axis.set(title="one-step errors, in standard deviations", xlabel="day of the log", ylim=(-6, 6))
    axis.legend(frameon=False, ncols=3, loc="upper right")
    lags.axhspan(-0.05, 0.05, color=FAINT, alpha=0.6)
    lags.set(title="their autocorrelation (grey: as good as none)", xlabel="lag, h", ylim=(-0.5, 1))


def _held(axis, fit):
    held = fit.held_out
    if held is None:
        axis.text(0.5, 0.5, "no part of the log could be held out", transform=axis.transAxes, ha="center")
        return
    units = fit.grid.site.site.units
    hours = np.arange(len(held["measured"])) * held["dt"] / 3600.0
    axis.plot(hours, degrees.in_units(held["measured"], units), color=INK, label="house, measured")
    axis.plot(hours, degrees.in_units(held["predicted"], units), color=BLUE, label="house, predicted unseen")
    axis.set(
        title="hold-out: learned from the first two thirds, running free over the rest",
        xlabel="hours since the last reading that the model saw", ylabel=f"temperature, {units}",
    )  # fmt: skip
    low, high = axis.get_ylim()
    axis.set_ylim(low, high + 0.15 * (high - low))  # room for the legend above the lines
    axis.legend(frameon=False, loc="upper right", ncols=2)


def _weeks(axis, fit):
    weeks = learned.weekly_effectiveness(fit)
    axis.set(title="how far the pipe air comes\nfrom house to soil probe", xlabel="week of the log")
    axis.set(ylabel="%", ylim=(0, 110))
    if not weeks:
        axis.text(0.5, 0.5, "no outlet probe, or too few\nsteady hours of fan", transform=axis.transAxes, ha="center")
        return
    axis.bar([day // 7 + 1 for day, _ in weeks], [100 * share for _, share in weeks], color=GREEN, width=0.6)
    warned = 80 * max(share for _, share in weeks)
    axis.axhline(warned, color=ORANGE, linestyle="--", linewidth=1, label="a fifth below the best: look at the pipes")
    axis.legend(frameon=False, loc="upper left", fontsize=9)
    axis.set_xticks([day // 7 + 1 for day, _ in weeks])
