"""Are numbers laid out truly, and do the figures show what the runs hold?

Layout is compared whole; the figures are asked for what they drew, not for pixels.
"""

import numpy as np
import pandas as pd
import pytest
from matplotlib.collections import PolyCollection

from controller.core import phases, reasons
from controller.core.rows import defaults
from controller.core.settings import from_mapping
from tests.tools.made_logs import made_log, wave
from tuner import comparison, logged, plots, report
from tuner.errors import OutputError
from tuner.site import site_from_tree


def made_site(units="C"):
    site, faults = site_from_tree(
        {
            "site": {"name": "Quince shed", "time_zone": "UTC", "units": units},
            "needs": {"frost_floor_c": 2, "hot_limit_c": 35},
            "fan": {"watts": 60},
            "energy": {"price_per_kwh": 0.3, "currency": "SEK"},
        }
    )
    assert not faults
    return site


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [
        (None, 1, "-"),
        (0, 1, "0"),
        (0.0, 2, "0"),
        (0.04, 1, "<0.1"),
        (-0.004, 2, ">-0.01"),
        (0.05, 1, "0.1"),
        (12.34, 1, "12.3"),
        (-3.0, 1, "-3.0"),
    ],
)
def test_zero_is_shown_only_when_it_is_zero(value, places, text):
    assert report.amount(value, places) == text


def test_the_tables_whole():
    night = {"date": "2026-01-11", "house_min_c": 1.5, "soil_end_c": None, "fan_h": 0.02, "starts": 1}
    total = {
        "fan_h": 10.0,
        "charge_h": 0,
        "discharge_h": 10.0,
        "starts": 12,
        "fan_kwh": 0.6,
        "fan_cost": 0.001,
    }
    runs = [
        {"settings": "as logged", "nights": [night], "total": total},
        {"settings": "sub/warm.json", "nights": [night | {"fan_h": 0, "starts": 0}], "total": total},
    ]
    assert "\n".join(report.nights_table(runs, "C")) == (
        "night to    house min C  soil end C  as logged fan h  starts  warm fan h  starts\n"
        "----------  -----------  ----------  ---------------  ------  ----------  ------\n"
        "2026-01-11          1.5           -             <0.1       1           0       0"
    )
    assert "\n".join(report.totals_table(runs, "SEK")) == (
        "in all     fan h  charge h  discharge h  starts   kWh  cost SEK\n"
        "---------  -----  --------  -----------  ------  ----  --------\n"
        "as logged   10.0         0         10.0      12  0.60     <0.01\n"
        "warm        10.0         0         10.0      12  0.60     <0.01"
    )


def test_degrees_f_and_degree_hours_of_them():
    total = {"house_min_c": 0.0, "house_max_c": 30.0, "cold_degree_h": 5.0, "hot_degree_h": 0.0}
    assert report.needs_line(total, made_site("F").needs, "F") == (
        "House, as logged: lowest ten minutes 32.0 F, highest reading 86.0 F; 9.0 degree hours below the plants' floor "
        "of 35.6 F, 0 above their limit of 95 F."
    )


def test_names_are_shortened_only_while_they_differ():
    assert report.short_names(["as logged", "a/x.json", "y.json"]) == ["as logged", "x", "y"]
    assert report.short_names(["a/x.json", "b/x.json"]) == ["a/x.json", "b/x.json"]
    assert report.short_names(["C:\\here\\x.json"]) == ["x"]


def test_spans_cover_the_time_and_stop_at_gaps():
    times = np.array([0, 60, 120, 180, 10_000, 10_060])
    assert plots.spans(np.array([1, 1, 2, 2, 2, 0]), times) == [
        (1, 0, 120),
        (2, 120, 180 + logged.GAP_S),
        (2, 10_000, 10_060),
        (0, 10_060, 10_060),
    ]
    assert plots.spans(np.array([], dtype=int), np.array([], dtype=int)) == []


def test_thinning_keeps_the_extremes_and_the_blanks():
    values = np.sin(np.arange(50_000) / 900)
    values[31_234] = 9.0
    values[10_000:12_000] = np.nan
    times, thin = plots.thinned(np.arange(50_000) * 60, values)
    assert len(thin) <= plots.MOST_POINTS and len(times) == len(thin)
    assert np.nanmax(thin) == 9.0 and np.nanmin(thin) == np.nanmin(values)
    assert np.isnan(thin).sum() > 200
    short = np.arange(5.0)
    assert plots.thinned(short, short)[1] is short


def test_every_reason_has_one_colour():
    told = [code for _, _, codes in plots.REASON_KINDS for code in codes]
    assert sorted(told) == list(range(len(reasons.REASONS)))


@pytest.fixture(scope="module")
def drawn():
    log = made_log(wave(4 * 1440, mean=12, swing=14), start="2026-01-10T05:00Z", soil=14.0, outside=2.0, reason="idle")
    warm, faults = from_mapping({"discharge_below_c": 8})
    assert not faults
    result = comparison.compare(log, [("d/plain.json", defaults()), ("d/warm.json", warm)], made_site("F"))
    return result, plots.timeline(log, result.runs, result.site)


def test_the_figure_says_open_loop_and_names_every_run(drawn):
    _, figure = drawn
    texts = [text.get_text() for axis in figure.axes for text in [*axis.texts, axis.title, axis._left_title]]
    assert plots.replay.OPEN_LOOP in texts
    for name in (" as logged", " plain", " warm"):
        assert name in texts
    assert " discharge at 46.4 (warm)" in texts and " discharge at 41 (plain)" in texts
    assert " charge at 75.2 (plain, warm)" in texts
    assert figure._suptitle.get_text() == "Quince shed"
    assert figure.axes[0].get_ylabel() == "temperature, F"


def test_the_strips_hold_each_runs_phases(drawn):
    """Seconds of coloured band per phase, read back from the drawing, are the run's own."""
    result, figure = drawn
    for axis, run in zip(figure.axes[1:], result.runs, strict=True):
        bands = [one for one in axis.collections if isinstance(one, PolyCollection)]
        wide = {}
        for band in bands:
            for path in band.get_paths():
                (x0, y0), (x1, _) = path.get_extents().get_points()
                if y0 > 0.5:
                    colour = tuple(band.get_facecolor()[0])
                    wide[colour] = wide.get(colour, 0) + x1 - x0
        for code in (phases.CHARGE, phases.DISCHARGE):
            import matplotlib.colors as colours

            colour = colours.to_rgba(plots.PHASE_COLOURS[code][0])
            assert wide.get(colour, 0) == pytest.approx((run.out.phase == code)[:-1].sum() * 60)
    assert result.runs[2].out.discharge_s.sum() > result.runs[1].out.discharge_s.sum() > 0


@pytest.mark.parametrize(("ending", "first"), [("png", b"\x89PNG"), ("svg", b"<?xml"), ("pdf", b"%PDF")])
def test_each_kind_of_figure_is_written(tmp_path, drawn, ending, first):
    result, _ = drawn
    path = tmp_path / f"out.{ending}"
    plots.write_timeline(path, result.log, result.runs, result.site)
    assert path.read_bytes().startswith(first)


def test_odd_logs_are_drawn_too(tmp_path):
    """One row; no reading at all; a gap of a week."""
    minutes = np.concatenate((np.arange(10), 10_000 + np.arange(10)))
    for log in (
        made_log([5.0]),
        made_log([np.nan] * 50),
        made_log([5.0] * 20, times=pd.to_datetime(minutes * 60, unit="s", utc=True)),
    ):
        result = comparison.compare(log, [("a", defaults())], made_site())
        plots.write_timeline(tmp_path / "out.png", log, result.runs, result.site)
        assert comparison.text(result)


def test_an_unknown_kind_is_refused(tmp_path):
    with pytest.raises(OutputError) as caught:
        plots.check_kind("out.jpeg")
    assert str(caught.value) == ("out.jpeg: this kind of figure is not known.\nEnd the name in .png, .svg, .pdf.")
