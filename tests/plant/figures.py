"""Draw each house in each weather, to be looked at.

    python -m tests.plant.figures FOLDER [HOUSE NAME]     five houses x three weathers, PNG

Each picture: the fortnight's temperatures with the fan shaded; the house with and without fan; the heat balance of
the air over the sunniest and the coldest day; water; the soil's section by the day.
"""

import sys
from pathlib import Path

import numpy as np

from tests.plant import HOUSES, WEATHERS, simulate

CHARGE, DISCHARGE = 1, 2
COLOURS = {"house": "#b3261e", "soil": "#8a5a00", "outlet": "#2e7d32", "outside": "#1f5fa8"}


def days_of(r):
    """Days since the first row. shape (rows,)"""
    return (r.unix_s - r.unix_s[0]) / 86400.0


def smooth(values, rows=10):
    """Mean over a few rows, for the eye."""
    return np.convolve(values, np.ones(rows) / rows, mode="same")


def temperatures(axis, r):
    """The four temperatures the log knows, charge and discharge shaded."""
    x = days_of(r)
    for name, colour in COLOURS.items():
        axis.plot(x, r.truth[name], color=colour, lw=0.8, label=name)
    low, high = axis.get_ylim()
    for phase, colour in ((CHARGE, "#f6c344"), (DISCHARGE, "#7fb3e6")):
        axis.fill_between(x, low, high, where=r.phase == phase, color=colour, alpha=0.35, lw=0)
    axis.set(ylim=(low, high), ylabel="degC", title=f"{r.house.name}, {r.weather.name}: yellow charge, blue discharge")
    axis.legend(ncol=4, fontsize=8)


def with_without(axis, r, still):
    """The house with its fan and without."""
    axis.plot(days_of(r), still.truth["house"], color="#888888", lw=0.8, label="house, fan never on")
    axis.plot(days_of(r), r.truth["house"], color=COLOURS["house"], lw=0.8, label="house")
    axis.plot(days_of(r), r.truth["outside"], color=COLOURS["outside"], lw=0.6, label="outside")
    axis.set(ylabel="degC", xlabel="day")
    axis.legend(ncol=3, fontsize=8)


BALANCE = (
    ("from_floor", 1, "from floor"), ("from_leaf", 1, "from leaves"), ("from_mass", 1, "from mass"),
    ("to_cover", -1, "to cover"), ("leak", 1, "leaks (enthalpy)"), ("vent", 1, "vents (enthalpy)"),
    ("to_pipes", -1, "to pipes"), ("heater", 1, "heater"), ("sun", 1, "sun taken up"),
)  # fmt: skip


def balance(axis, r, day, title):
    """Mean hourly flows over one day. [W]"""
    hours = np.arange(24)
    for name, sign, label in BALANCE:
        flow = sign * r.flow[name][day * 1440 : (day + 1) * 1440 - 1]
        mean = [flow[h * 60 : (h + 1) * 60].mean() for h in hours]
        axis.plot(hours + 0.5, mean, label=label, lw=1.2, ls="--" if name == "sun" else "-")
    axis.axhline(0, color="k", lw=0.5)
    axis.set(title=f"{title}: day {day}", xlabel="hour, local standard time", ylabel="W")
    axis.legend(fontsize=6, ncol=2)


def moisture(axis, r):
    """Humidity and where the water goes."""
    axis.plot(days_of(r), r.truth["humidity"], color="#5e35b1", lw=0.6)
    axis.set(ylabel="humidity %", ylim=(0, 105), xlabel="day")
    t = r.totals
    axis.set_title(
        f"kg: leaves {t['transpired']:.0f}, floor {t['floor_water']:.0f}, out {-t['leak_water']:.0f}, "
        f"on cover {t['condensed_cover']:.0f}, in pipes {t['condensed_pipe']:.0f}, drained {t['drained']:.1f}",
        fontsize=7,
    )


def section(axis, r, at, title):
    """Soil section at one snapshot: axis of the pipe at the left, midway to its neighbour at the right."""
    g = r.grid
    t = np.where(g.live > 0, r.sections[at], np.nan)
    first = g.depth[0] - g.dz[0] / 2
    x, z = np.concatenate([[0], np.cumsum(g.dx)]), first + np.concatenate([[0], np.cumsum(g.dz)])
    keep = int(np.searchsorted(z, 1.6))
    mesh = axis.pcolormesh(x, z[: keep + 1], t[:keep], cmap="RdYlBu_r", shading="flat")
    axis.invert_yaxis()
    axis.set_title(title, fontsize=8)
    axis.figure.colorbar(mesh, ax=axis)


def draw(r, still, path):
    """One picture of one run. -> path"""
    import matplotlib

    matplotlib.use("Agg")
    import matplotlib.pyplot as plt

    figure = plt.figure(figsize=(15, 12), layout="constrained")
    grid = figure.add_gridspec(4, 5, height_ratios=(1.3, 1, 1.2, 1))
    temperatures(figure.add_subplot(grid[0, :]), r)
    with_without(figure.add_subplot(grid[1, :3]), r, still)
    moisture(figure.add_subplot(grid[1, 3:]), r)
    sun = r.truth["solar"].reshape(-1, 1440).sum(1)
    cold = r.truth["outside"].reshape(-1, 1440).min(1)
    balance(figure.add_subplot(grid[2, :3]), r, int(sun[:-1].argmax()), "sunniest")
    balance(figure.add_subplot(grid[2, 3:]), r, int(cold[:-1].argmin()), "coldest")
    for k, day in enumerate((0, 3.5, 7, 10.5, 13.9)):
        section(figure.add_subplot(grid[3, k]), r, int(day * 24), f"soil, day {day:g}")
    figure.savefig(path, dpi=75)
    plt.close(figure)
    return path


def main():
    """Draw all, or one house."""
    if len(sys.argv) < 2:
        raise SystemExit("Usage: python -m tests.plant.figures FOLDER [HOUSE NAME]")
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    for house in HOUSES.values():
        if len(sys.argv) > 2 and house.name != sys.argv[2]:
            continue
        for climate in WEATHERS.values():
            r = simulate(house, climate)
            still = simulate(house, climate, fan_override=np.zeros(14 * 1440, dtype=int))
            name = f"{house.name} {climate.name}.png".replace(" ", "-")
            print(draw(r, still, folder / name))


if __name__ == "__main__":
    main()
