"""What the plant's probes report and what its log says; the demonstration's log comes out of it again."""

import gzip
from dataclasses import replace

import numpy as np
import pytest

pytest.importorskip("pvlib")

from controller.core import record, units
from tests.plant import GOOD, HOUSES, POOR, WEATHERS, log, make_demo, simulate, write_log

HOUSE, WEATHER = HOUSES["dome"], WEATHERS["hard winter"]


def run(**keys):
    return simulate(HOUSE, WEATHER, days=1, warmup_days=2, **keys)


def test_the_log_is_the_boards_own_format(tmp_path):
    result = run()
    path = write_log(result, tmp_path / "a.csv")
    lines = path.read_text().splitlines()
    assert lines[0] == record.HEADER
    assert len(lines) == 1 + 1440
    assert lines[1].startswith("2025-01-08T05:00:00Z,0,")
    packed = gzip.decompress(write_log(result, tmp_path / "a.csv.gz").read_bytes())
    assert packed.decode() == path.read_text()


def test_the_tuner_reads_it_back(tmp_path):
    from tuner.logs import read_logs

    result = run()
    write_log(result, tmp_path / "a.csv")
    (tmp_path / "site.toml").write_text(make_demo.SITE)
    from tuner.site import load_site

    frame = read_logs([tmp_path / "a.csv"], load_site(tmp_path / "site.toml")).frame
    assert len(frame) == 1440
    # one decimal step of the probe and its noise apart
    assert np.abs(frame["soil"].to_numpy() - result.truth["soil"]).max() < 0.15
    assert frame["fan_s"].sum() == result.fan_s.sum()


def test_fan_seconds_are_those_before_the_row():
    result = run()
    on = result.fan_pct > 0
    assert result.fan_s[0] == 0
    assert np.array_equal(result.fan_s[1:], 60 * on[:-1])


def test_readings_move_in_sixteenths():
    counts = run().raws[:, 0] * 16 / 100
    assert np.abs(counts - np.round(counts)).max() < 0.1  # hundredths, rounded, of sixteenths
    assert len(np.unique(np.round(counts))) > 20


def test_a_lost_probe_is_lost_while_it_is_lost_and_nothing_else_changes():
    whole, holed = run(), run(sensors_of=GOOD.but_lost(("soil", 7200, 10800)))
    gone = holed.raws[:, 1] == units.LOST
    assert gone.sum() == 60 and gone[120:180].all()
    assert np.array_equal(whole.raws[:120], holed.raws[:120])
    assert ",,," not in log.log_text(whole)
    with pytest.raises(ValueError, match='"roof" is not a probe'):
        run(sensors_of=GOOD.but_lost(("roof", 0, 60)))


def test_a_probe_in_the_sun_reads_too_warm_by_day_only():
    shaded, sunny = run(), run(sensors_of=replace(GOOD, sun_k_per_w=0.01), fan_override=np.zeros(1440))
    still = run(fan_override=np.zeros(1440))
    gap = (sunny.raws[:, 0] - still.raws[:, 0]) / 100
    assert gap[720] > 0.5
    assert np.abs(gap[:300]).max() < 0.01
    assert shaded.raws.shape == sunny.raws.shape


def test_poor_probes_are_off_by_their_offset_and_drop_readings():
    result = run(sensors_of=replace(POOR, sun_k_per_w=0.0, lag_s=(1.0,) * 6))
    there = result.raws[:, 0] != units.LOST
    assert 0.001 < 1 - there.mean() < 0.03  # drop_rate 0.01
    gap = result.raws[there, 0] / 100 - result.truth["house"][there]
    assert gap.mean() == pytest.approx(0.4, abs=0.03)


def test_a_plain_thermostat_goes_by_its_setpoints_alone():
    result = run(driver="two_setpoint", settings={"discharge_below_c": 5, "discharge_band_c": 1})
    house = result.raws[:, 0]
    on = result.fan_pct > 0
    assert on[house <= 500].all()
    assert not on[(house >= 600) & (house <= 2200)].any()
    assert set(result.phase) == {4}


def test_a_plain_thermostat_without_its_probe_rests():
    result = run(driver="two_setpoint", sensors_of=GOOD.but_lost(("house", 0, 86400)))
    assert result.fan_s.sum() == 0


def test_the_demonstrations_log_comes_out_again():
    # The first day and a half, after the whole warm-up. Rows may differ in a last place of a reading where another
    # processor rounds differently: none may differ by more than a probe's step, and few may differ at all.
    fresh = log.log_text(make_demo.simulated(days=1.5)).splitlines()
    kept = gzip.decompress((make_demo.HOME / "log.csv.gz").read_bytes()).decode().splitlines()[: len(fresh)]
    differ = [(a, b) for a, b in zip(fresh, kept, strict=True) if a != b]
    assert len(differ) <= 0.01 * len(fresh), differ[:3]


def test_the_demonstration_shows_each_thing():
    lines = gzip.decompress((make_demo.HOME / "log.csv.gz").read_bytes()).decode().splitlines()[1:]
    assert len(lines) == 14 * 1440
    text = "\n".join(lines)
    for word in ("charge", "discharge", "frost-guard", "cold", "hot", "idle"):
        assert f",{word}," in text
    assert (make_demo.HOME / "site.toml").read_text() == make_demo.SITE
    words = (make_demo.HOME / "README.md").read_text()
    assert "does not exist" in words and "python -m tests.plant.make_demo" in words
