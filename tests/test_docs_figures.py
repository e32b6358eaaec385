"""Are the numbers in the pages those that their formulas, sources and code give?"""

import pytest

from controller.board import light
from controller.core import alarms, limits, phases, reasons, rows, screen, units, wants
from tests.docs_help import NOTES, flat

PIPES, PARTS, TROUBLE = (flat(NOTES / f"{name}.md") for name in ("pipes-and-air", "parts", "trouble"))
PHASES, PROBES, LOST = (flat(NOTES / f"{name}.md") for name in ("phases-and-reasons", "probes", "lost-probes"))
SETTINGS, CHOOSING, SAFETY = (flat(NOTES / f"{name}.md") for name in ("settings", "choosing", "mains-safety"))


def test_bag_and_vane():
    """3600 s an hour, 1000 l a cubic metre; area of a circle."""
    assert 3.6 * 120 / 6 == 72 and "120 l that fills in 6 s: 72 m³/h" in PIPES
    area = 3.14159 / 4 * 0.1**2
    assert area == pytest.approx(0.00785, abs=5e-6) and round(3600 * 2.5 * area) == 71
    assert "0.00785 m²: at 2.5 m/s that is 71 m³/h" in PIPES


def test_pressure_of_ten_metres_of_pipe():
    """Darcy and Weisbach with rho 1.2 kg/m3; end losses 1.5 velocity heads."""
    head = 1.2 * 3.0**2 / 2
    assert round(0.07 * 10 / 0.1 * head) == 38 and round(1.5 * head) == 8
    assert "friction factor of 0.07: 38 Pa, and about 8 Pa more" in PIPES
    assert round(0.1 * 60 / 0.3, 9) == 20 and "0.1 m³/s against 60 Pa takes 20 W" in PIPES


def test_condensate():
    """28 degC at 85 % cooled to saturated 18 degC, for 100 m3/h of the warm air.

    Humidity ratio 0.622 e / (p - e), volume of moist air by the gas law; psychrolib gives 0.845 l/h (own inputs).
    """
    vapour, full = (units.vapour_deci_pa(c) / 10 for c in (2800, 1800))
    wet, dry = (0.622 * e / (101325 - e) for e in (0.85 * vapour, full))
    volume = 287.04 * 301.15 / (101325 - 0.85 * vapour)
    litres = (wet - dry) * 100 / volume
    assert litres == pytest.approx(0.845, rel=0.01) and "gives 0.8 l an hour for each 100 m³/h" in PIPES


def test_relay_life():
    """Operations over starts a day."""
    assert [round(n / 48 / 365.25, 1) for n in (30000, 100000)] == [1.7, 5.7]
    assert "30,000 to 100,000" in PARTS and "that is 1.7 to 5.7 years" in PARTS


def test_fan_law():
    assert round(0.8**3, 9) == 0.512 and "80 % of the speed takes about half the power" in PARTS


def test_constants_of_the_rules():
    """Each figure in the text is the code's."""
    assert (wants.GUARD_START, wants.GUARD_STOP) == (100, 50)
    assert "at least 1.0 K warmer than the house (or unknown), until the difference is under 0.5 K" in PHASES
    assert wants.OUTLET_AFTER_S == 600 and wants.OUTLET_GAIN == 100 and limits.OUTLET_RETRY_S == 3600
    assert "less than 1 K warmer than the house after ten minutes" in LOST and "an hour later" in LOST
    assert limits.MILD == 500 and "`discharge_below_c` plus 5 K or more" in LOST
    assert (wants.DAMP_START, wants.DAMP_STOP, wants.DAMP_GAIN) == (100, 30, 100)
    assert "dew point at least 1.0 K above the soil and the house at least 1.0 K" in SETTINGS
    assert "ends when the dew point is less than 0.3 K above" in SETTINGS
    assert wants.FLUSH_HOUSE == 500 and "at least 5 K above `discharge_below_c`" in SETTINGS
    assert alarms.HOLD_S == 60 and "Each stands at least 60 s" in PHASES
    assert (alarms.NO_FLOW_AFTER_S, alarms.NO_FLOW_APART, alarms.NO_FLOW_SHARE) == (600, 500, 5)
    assert "run 10 minutes, house and soil are 5 K apart" in PIPES
    assert (screen.JUMP_CENTI_C, screen.JUMP_PER_S, screen.STAND_S, screen.STAND_READINGS) == (500, 10, 30, 3)
    assert "more than 5 K plus 0.1 K for each second" in PROBES and "30 s and three readings" in PROBES
    assert (screen.AIR_LOWEST, screen.AIR_HIGHEST, screen.SOIL_LOWEST, screen.SOIL_HIGHEST) == (
        -4000,
        7000,
        -2000,
        5000,
    )
    assert "air -40 to 70 °C, soil -20 to 50 °C" in PROBES
    assert screen.STUCK_S == 10800 and screen.STUCK_MOVED == 200 and "not moved for three hours" in PROBES
    assert (wants.TRIAL_RUN_S, wants.TRIAL_REST_S, wants.TRIAL_MARGIN) == (1800, 1800, 200)
    assert len(rows.TABLE) == 32 and SETTINGS.startswith("# Settings Thirty-two numbers")


def test_the_status_light_blinks_as_the_page_says():
    """Counted from the code: rising edges in one cycle."""
    for phase in phases.PHASES:
        levels = [light.level(phase, 0, 0, ms) for ms in range(0, light.CYCLE_MS, 10)]
        rises = sum(now > before for before, now in zip([0, *levels], levels, strict=False))
        assert f"| {rises} | {reasons.PHASE_WORDS[phase]} |" in TROUBLE
    with_alarm = [light.level(phases.REST, 1, 0, ms) for ms in range(light.LONG_FROM_MS, light.LONG_TO_MS, 10)]
    assert all(with_alarm) and light.CYCLE_MS == 4000 and "Every four seconds" in TROUBLE


def test_the_watchdog_of_the_safety_page():
    from tests.tools.write_tables import literal_number

    assert literal_number("chooser.py", "WATCHDOG_MS") == 8000 and "the watchdog resets it after 8 s" in SAFETY
    assert literal_number("hardware.py", "BUS_HZ") == 50_000 and "the 50 kHz that the board uses" in PARTS
    assert literal_number("sensors.py", "OFFSET_LIMIT") == 300 and "More than 3 K is refused" in PROBES
    assert literal_number("safe.py", "RUN_S") == 600 and "runs the fan 10 minutes and rests 30" in TROUBLE


def test_plant_limits_in_degrees_f():
    """28 F and 50 to 55 F as the sources give them."""
    assert round((28 - 32) / 1.8, 1) == -2.2 and "-2.2 °C (28 °F)" in CHOOSING
    assert [round((f - 32) / 1.8) for f in (50, 55)] == [10, 13] and "10 to 13 °C (50 to 55 °F)" in CHOOSING
