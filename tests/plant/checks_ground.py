"""Checks of pipes and soil against correlations in other libraries, closed forms, and measurements."""

from math import acosh, exp, pi
from pathlib import Path

import numpy as np

from tests.plant import houses, parts, pipe_alone, pipes, psychro, soil
from tests.plant.checking import between, near, within
from tests.plant.jit import jit

PROFILE = Path(__file__).parents[1] / "data" / "soil_profile_daily.csv"


def exchange():
    """Pipe exchange against ht and fluids, and a case worked with fixed properties."""
    import fluids
    import ht

    rows = []
    for reynolds in (5e3, 1e4, 2e4, 4e4, 6e4):
        f = pipes.petukhov_friction(reynolds)
        expected = ht.conv_internal.turbulent_Gnielinski(Re=reynolds, Pr=0.71, fd=f)
        rows.append(
            within(
                f"Gnielinski at Re {reynolds:g}, share off",
                "ht 1.2",
                1e-6,
                pipes.gnielinski_nusselt(reynolds, 0.71) / expected - 1,
            )
        )
        rows.append(
            within(
                f"Petukhov friction at Re {reynolds:g} against Colebrook, smooth, share off",
                "fluids 1.3",
                0.04,
                f / fluids.friction.Colebrook(reynolds, 0.0) - 1,
            )
        )
    for units in (0.5, 1.0, 2.0, 3.0):
        expected = ht.hx.effectiveness_from_NTU(NTU=units, Cr=0, subtype="boiler")
        out, _, _, _ = pipes.piece(30.0, 0.0, 15.0, 0.1, exp(-units), 1.0, 0.0, 0.0, 0.03)
        rows.append(near(f"effectiveness at NTU {units:g}", "ht 1.2", expected, (30.0 - out) / 15.0, 1e-7))
    h = pipes.gnielinski_nusselt(20000.0, 0.7243) * 0.025 / 0.1
    units = pipes.transfer_units(h, 0.1, 10.0, 0.028274)
    out, _, heat, _ = pipes.piece(30.0, 0.0, 15.0, 0.1, exp(-units), 1.0, 0.0, 0.0, 0.028274)
    source = "worked with rho 1.2, mu 1.8e-5, k 0.025, D 0.1, L 10, v 3, 30 to 15 degC"
    rows += [
        near("fixed properties: NTU", source, 1.445199, units, 1e-4),
        near("fixed properties: outlet [degC]", source, 18.53549, out, 1e-3),
        near("fixed properties: heat [W]", source, 326.096, heat, 0.05),
        near(
            "pressure lost, f 0.07 [Pa]",
            "fluids dP_from_K",
            fluids.dP_from_K(K=0.07 * 10 / 0.1, rho=1.2, V=3.0),
            pipes.pressure_drop(0.07, 10.0, 0.1, 3.0, 1.2, 0.0),
            1e-9,
        ),
        near("laminar flow: Nusselt", "wall at one temperature, any text", 3.66, pipes.nusselt(1500.0, 0.71), 1e-9),
    ]
    return rows + wet_pipe()


def wet_pipe():
    """Cooling to a saturated outlet in a long pipe: water left and heat given."""
    rows = []
    # inlet degC, humidity, wall degC; dw [g/kg], dh [kJ/kg] by psychrolib 2.5
    for t, humidity, wall, dw, dh in (
        (30.0, 0.80, 20.0, 6.8783, 27.920),
        (28.0, 0.85, 18.0, 7.4455, 29.310),
        (25.0, 0.70, 15.0, 3.2745, 18.600),
    ):
        w = psychro.ratio_from_humidity(t, humidity, 101325.0)
        _, w_out, heat, water = pipes.piece(
            t, w, wall, psychro.saturation_ratio(wall, 101325.0), 0.0, 0.0, 1.0, 1.0, 1.0
        )
        rows += [
            near(
                f"long pipe, {t:g} degC {100 * humidity:g} % to {wall:g}: water left [g/kg]",
                "psychrolib 2.5",
                dw,
                1000 * (w - w_out),
                0.002,
            ),
            near(
                "  heat given and carried off by the water [kJ/kg]",
                "psychrolib 2.5",
                dh,
                (heat + water * psychro.CP_WATER * wall) / 1000,
                0.01,
            ),
        ]
    return rows


def published_pipes():
    """Measured pipes: with their length, speed and soil, our outlet falls where theirs did."""
    rows = []
    # Woodson 2012: 25 m, 1.5 m deep, 95 m3/h; outside 39.0, ground 30.4; cooled by 7.6 K. Bore not given: 0.10-0.16 m.
    for bore in (0.10, 0.125, 0.16):
        speed = 95 / 3600 / (pi * bore * bore / 4)
        drop = 39.0 - pipe_alone.outlet_after(6, 39.0, 30.4, speed, bore, 25.0, 1.5, 1.2, 2.2e6)
        rows.append(
            between(
                f"pipe of 25 m, bore {bore:g} m (assumed), 95 m3/h, after 6 h: cooled by [K]",
                "Woodson 2012, J. Constr. Dev. Ctries 17: 7.6 K, +- 10 %",
                6.8,
                8.4,
                drop,
            )
        )
    # Bechar: 66 m, 110 mm, 1.5 m deep, soil 28: warms by up to 10 K. Inlet not in the abstract: assumed.
    warm = pipe_alone.outlet_after(6, 17.5, 28.0, 3.0, 0.11, 66.0, 1.5, 1.2, 2.2e6) - 17.5
    rows.append(
        between(
            "pipe of 66 m, bore 0.11 m, soil 28, air 17.5 degC (assumed): warmed by [K]",
            "Bechar, JTEN 18: up to 10 K",
            8.5,
            10.5,
            warm,
        )
    )
    # Tiwari 2014: 0.10 m x 21 m, 5-6 K. Soil and inlet not in the abstract: 7 K apart assumed.
    drop = 35.0 - pipe_alone.outlet_after(6, 35.0, 28.0, 4.0, 0.10, 21.0, 1.5, 1.2, 2.2e6)
    rows.append(
        between(
            "pipe of 21 m, bore 0.10 m, 7 K apart (assumed), 4 m/s: cooled by [K]", "Tiwari 2014: 5-6 K", 4.8, 6.4, drop
        )
    )
    # Agrawal 2020: 60 m in dry soil cool as much as 28 m in moist soil. Bore, speed, soils assumed.
    lengths = (16.0, 22.0, 28.0, 34.0)
    moist = [40.0 - pipe_alone.outlet_after(6, 40.0, 25.0, 5.0, 0.10, x, 2.0, 2.1, 2.1e6, 12) for x in lengths]
    dry = 40.0 - pipe_alone.outlet_after(6, 40.0, 25.0, 5.0, 0.10, 60.0, 2.0, 0.3, 1.3e6, 12)
    same = float(np.interp(dry, moist, lengths))
    rows.append(
        near(
            "moist sand: length that cools as 60 m in dry sand [m]",
            "Agrawal 2020, Renew. Energy 146: 28 m",
            28.0,
            same,
            5.0,
        )
    )
    return rows


def cylinder():
    """Soil round the pipe against the cylinder and the line source."""
    from scipy.special import exp1

    k, c, q, a = 1.5, 2.5e6, 20.0, 0.05
    g = pipe_alone.grid_for(2 * a, 5.0, 2.0, k, c, thickness=0.0, wall_resistance=0.0)
    ground = pipe_alone.Ground(g, 1, 0.0)
    wall = {1: 1.6117, 6: 2.9205, 12: 3.5352, 24: 4.1917}  # Carslaw & Jaeger 13.5, integrated
    heat, rows, hours = np.array([q]), [], 0
    x = np.cumsum(g.dx) - g.dx / 2
    rest = np.argmin(np.abs(x - 0.30))
    for stop, expected in wall.items():
        ground.step(heat, 5.0, 4, (stop - hours) * 180)
        hours = stop
        got = ground.rings[0, 0] + q / g.wall_g
        rows.append(
            within(
                f"wall after {stop} h of 20 W/m, share off",
                "cylinder source, Carslaw & Jaeger 13.5",
                0.03,
                got / expected - 1,
            )
        )
        if stop >= 12:
            r2 = x[rest] ** 2 + (g.dz[g.axis_row] / 2) ** 2
            line = q / (4 * pi * k) * exp1(r2 / (4 * k / c * stop * 3600))
            got = ground.slices[0, g.axis_row, rest]
            rows.append(
                near(f"soil {r2**0.5:.2f} m away after {stop} h, warmer by [K]", "line source (Theis)", line, got, 0.05)
            )
    return rows + shape_factor()


def shape_factor():
    """Steady heat from a pipe to the surface above it."""
    depth, bore, k = 0.5, 0.1, 1.5
    g = pipe_alone.grid_for(bore, 5.0, depth, k, 2.5e4, spacing=9.0, thickness=0.0, wall_resistance=0.0)
    ground = pipe_alone.Ground(g, 1, 0.0)
    heat = np.array([10.0])
    limit = 0.6 * min(g.ring_limit_s, g.slice_limit_s)  # soil made 100 times lighter: the same steady state, sooner
    ground.step(heat, limit, 1, int(40 * 864 / limit))
    got = 10.0 / (k * (ground.rings[0, 0] + 10.0 / g.wall_g))
    expected = 2 * pi / acosh(2 * depth / bore)
    return [
        within(
            "pipe 0.5 m deep, bore 0.1 m: shape factor, share off",
            "2 pi / acosh(2 z / D), any text",
            0.05,
            got / expected - 1,
        )
    ]


def undisturbed():
    """Undisturbed ground: the printed table, and the equation against a measured profile."""
    rows = []
    # Tm 11, As 9, t0 35, alpha 0.05 m2/day (Kusuda & Achenbach 1965, worked independently)
    table = {
        0.0: (3.498, 10.034, 12.350),
        0.5: (5.866, 8.734, 13.563),
        1.0: (7.790, 8.034, 14.185),
        2.0: (10.391, 7.836, 14.261),
        5.0: (12.002, 10.074, 11.897),
    }
    for depth, values in table.items():
        for day, expected in zip((1, 120, 300), values, strict=True):
            rows.append(
                near(
                    f"ground {depth:g} m deep, day {day} [degC]",
                    "Kusuda & Achenbach 1965, worked table",
                    expected,
                    float(soil.undisturbed(depth, day, 11.0, 9.0, 35.0, 0.05)),
                    0.001,
                )
            )
    out = np.zeros(3)
    soil.undisturbed_now(np.array([0.5, 1.0, 2.0]), 120.0, 11.0, 9.0, 35.0, 0.05, out)
    rows.append(near("the loop's own form, 1 m, day 120", "the same", 8.034, out[1], 0.001))
    return rows + measured_ground()


def read_profile():
    """The measured profile: day of year, and degC at 5, 10, 20, 50, 100 cm, gaps joined. shape (n,), (n, 5)"""
    table = np.genfromtxt(PROFILE, delimiter=",", skip_header=1)
    dates = table[:, 0].astype(int).astype(str)
    day = np.array(
        [(np.datetime64(f"{d[:4]}-{d[4:6]}-{d[6:]}") - np.datetime64("2011-01-01")).astype(int) for d in dates]
    )
    values = table[:, 5:10].copy()
    for i in range(5):
        bad = values[:, i] < -900
        values[bad, i] = np.interp(day[bad], day[~bad], values[~bad, i])
    return day.astype(float), values


@jit
def hold_top(column, top, still, bottom_t, g, capacity, h_s, times):
    """Step the column `times` steps of h_s [s] under each temperature of top."""
    for k in range(top.size):
        for _ in range(times):
            soil.warm_column(column, top[k], still, bottom_t, g, capacity, h_s)


def measured_ground():
    """Five measured years: the yearly wave, and our layers driven by the temperature at 5 cm."""
    from scipy.optimize import least_squares

    source = "NOAA Climate Reference Network, Bedford IN 2011-2015"
    day, t = read_profile()

    def gap(x, depth, measured):
        return soil.undisturbed(depth, day, x[0], x[1], x[2], x[3]) - measured

    fit = least_squares(
        lambda x: np.concatenate([gap(x, 0.10, t[:, 1]), gap(x, 0.50, t[:, 3])]), (12.0, 11.0, 30.0, 0.05)
    )
    left = gap(fit.x, 1.0, t[:, 4])
    rows = [
        between(
            "yearly wave fitted at 10 and 50 cm: diffusivity [m2/day]",
            "moist loam 0.039-0.052, from memory; clay 0.035, sand 0.086 (de Vries 1963)",
            0.02,
            0.09,
            fit.x[3],
        ),
        within("the same wave at 100 cm, rms [K]", source, 1.5, float(np.sqrt((left**2).mean()))),
    ]
    g = soil.build(
        houses.LEAN_TO.but(ground=parts.Ground(1.2, 2.4e6, 1.2, 2.4e6, bottom=6.0), floor={"conductivity": 1.2})
    )
    g = g._replace(edge_g=np.zeros(g.dz.size))
    capacity = np.full(g.dz.size, 2.4e6) * g.dz
    column = soil.undisturbed(g.depth, 0.0, *fit.x)
    still = np.zeros(g.dz.size)
    got = np.zeros((day.size, 2))
    for i in range(day.size):  # top: the reading at 5 cm stands for the middle of the floor layer
        top = np.interp(np.arange(72) / 72.0, (0.0, 1.0), (t[i, 0], t[min(i + 1, day.size - 1), 0]))
        got[i] = np.interp((0.45, 0.95), g.depth, column)
        hold_top(column, top, still, fit.x[0], g, capacity, 40.0, 30)
    after = slice(365, None)
    for j, (name, column_at, limit) in enumerate((("50", 3, 1.0), ("100", 4, 1.2))):
        error = got[after, j] - t[after, column_at]
        rows.append(
            within(
                f"layers of loam (alpha 5e-7, assumed) driven at 5 cm: {name} cm, rms [K]",
                source,
                limit,
                float(np.sqrt((error**2).mean())),
            )
        )
    return rows


def all_checks():
    """Every row of this module."""
    return exchange() + published_pipes() + cylinder() + undisturbed()
